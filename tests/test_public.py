"""The public surface: what an import reaches, what is documented, and what is shipped."""

import ast
import doctest
import importlib.util
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

import mixlab

ROOT = Path(mixlab.__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

PUBLIC = [
    "Addition",
    "Adjustment",
    "Answer",
    "Family",
    "Fewest",
    "Ladder",
    "Layer",
    "Layering",
    "MixlabError",
    "Mixture",
    "Paint",
    "Palette",
    "PigmentTable",
    "Plan",
    "Reach",
    "Recipes",
    "Report",
    "TradeOff",
    "adjust",
    "add_paint",
    "best_next",
    "ciede2000",
    "family",
    "fewest_tubes",
    "find_layer",
    "find_recipe",
    "find_recipes",
    "ladder",
    "layer",
    "lights",
    "palette_names",
    "plan",
    "reach",
    "read_palette",
    "read_table",
    "report",
    "trade_off",
    "viewing",
    "write_table",
]
HEAVY = ["scipy", "pandas", "PIL", "colour", "matplotlib", "rich", "typer", "imagecodecs"]


def fresh(code, *options, cwd=ROOT):
    """Return what code prints in a fresh interpreter."""
    done = subprocess.run(
        [sys.executable, *options, "-c", code], cwd=cwd, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_names_are_these():
    assert sorted(mixlab.__all__) == sorted(PUBLIC)
    for name in PUBLIC:
        assert getattr(mixlab, name).__doc__


def test_a_bare_import_is_light():
    loaded = set(fresh("import sys, mixlab; print(*sys.modules)").split())
    assert "numpy" in loaded and "mixlab.mixing.recipes" in loaded
    assert not {module.split(".")[0] for module in loaded} & set(HEAVY)


def test_the_example_of_the_package_runs():
    failed, tried = doctest.testmod(mixlab)
    assert tried >= 9
    assert failed == 0


def definitions():
    """Yield every public function, class and method of the package, and its place."""
    for path in sorted((ROOT / "mixlab").rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        yield f"{path.relative_to(ROOT)}", tree
        inside = [tree, *(node for node in tree.body if isinstance(node, ast.ClassDef))]
        for holder in inside:
            for node in holder.body:
                if isinstance(
                    node, ast.FunctionDef | ast.ClassDef
                ) and not node.name.startswith("_"):
                    yield f"{path.relative_to(ROOT)}:{node.lineno} {node.name}", node


def test_everything_public_has_a_docstring():
    places = dict(definitions())
    assert len(places) > 100
    bare = [
        place
        for place, node in places.items()
        if not ast.get_docstring(node) and not (isinstance(node, ast.Module) and not node.body)
    ]
    assert bare == []


def test_every_mistake_is_a_mixlab_error():
    from mixlab import errors

    kinds = [
        kind
        for kind in vars(errors).values()
        if isinstance(kind, type) and kind.__module__ == errors.__name__
    ]
    assert len(kinds) >= 9
    assert all(issubclass(kind, mixlab.MixlabError) for kind in kinds)


def test_the_version_is_that_of_the_project():
    done = subprocess.run(
        [sys.executable, "-m", "mixlab", "--version"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"mixlab {PROJECT['project']['version']}\n"


# --- what is shipped ----------------------------------------------------------------------------


def shipped():
    """Return where each file of the project goes in a wheel, as pyproject.toml says."""
    wheel = PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]
    places = {package: package for package in wheel["packages"]} | wheel["force-include"]
    found = {}
    for here, there in places.items():
        whole = [ROOT / here] if (ROOT / here).is_file() else (ROOT / here).rglob("*")
        for path in whole:
            if path.is_file() and "__pycache__" not in path.parts:
                found[path] = Path(there) / path.relative_to(ROOT / here)
    return found


def test_the_data_go_where_the_package_looks_for_them(tmp_path):
    for path, place in shipped().items():
        (tmp_path / place).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, tmp_path / place)
    assert (tmp_path / "mixlab" / "py.typed").exists()
    code = f"""
import sys
sys.path.insert(0, {str(tmp_path)!r})
import mixlab
from mixlab.files import bundled
palettes = [mixlab.read_palette(name) for name in mixlab.palette_names()]
mixlab.find_recipe([45, 15, 20], palettes[0], max_tubes=2)
print(mixlab.__file__, bundled("scene.jpg"), palettes[0].table.path, sep="\\n")
print(len(palettes))
"""
    *paths, count = fresh(code, "-I", cwd=tmp_path).splitlines()
    assert all(path.startswith(str(tmp_path)) for path in paths)
    assert int(count) == 4


def test_a_wheel_holds_the_data(tmp_path):
    if importlib.util.find_spec("hatchling") is None:
        pytest.skip("hatchling is not installed")
    subprocess.run(
        [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--no-build-isolation",
         "--no-index", "--quiet", "--wheel-dir", str(tmp_path)],
        check=True, capture_output=True,
    )  # fmt: skip
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    assert {str(place) for place in shipped().values()} <= names
    assert not any("making" in name for name in names)
    assert {"mixlab/py.typed", "mixlab/data/paints.csv", "mixlab/data/lights.csv"} <= names
    (entry,) = [name for name in names if name.endswith("entry_points.txt")]
    with zipfile.ZipFile(wheel) as archive:
        assert "mixlab = mixlab.show.cli:main" in archive.read(entry).decode()


def test_the_command_is_declared():
    assert PROJECT["project"]["scripts"] == {"mixlab": "mixlab.show.cli:main"}


def test_what_is_imported_is_required():
    known = {"PIL": "pillow", "colour": "colour-science", "colour_cxf": "colour-cxf",
             "skimage": "scikit-image", "cv2": "opencv-python-headless"}  # fmt: skip
    project = PROJECT["project"]
    optional = project["optional-dependencies"]
    extras = [*optional["cluster"], *optional["cxf"]]
    required = {
        re.split(r"[<>=~\[ ]", need)[0].lower() for need in (*project["dependencies"], *extras)
    }
    used = set()
    for path in (ROOT / "mixlab").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module:
                names = [node.module]
            used |= {name.split(".")[0] for name in names}
    foreign = {known.get(n, n).lower() for n in used - set(sys.stdlib_module_names) - {"mixlab"}}
    assert foreign <= required
