"""The plan of the code: folders in one order, no circle, one topic a file."""

import ast
import importlib
import re
from pathlib import Path

import pytest

import mixlab

TOP = Path(__file__).resolve().parents[1]
PACKAGE = TOP / "mixlab"
ORDER = (
    "text", "errors", "limits", "files", "writing", "arrays", "colour", "paint", "targets",
    "nearest", "measure", "mixing", "palette", "picture", "lesson", "show",
)  # fmt: skip
"""A folder uses only those before it, and itself."""

FILES = {path: ast.parse(path.read_text(encoding="utf-8")) for path in PACKAGE.rglob("*.py")}


def module_of(path):
    parts = path.relative_to(TOP).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_of(path) for path in FILES}


def imports(nodes):
    """Return the modules of the package that are imported, wherever in the nodes."""
    found = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            whole = {f"{node.module}.{alias.name}" for alias in node.names} & MODULES
            found |= whole or {node.module}
        elif isinstance(node, ast.ImportFrom) and node.level:
            raise AssertionError("write the whole name of what is imported")
    return {name for name in found if name.split(".")[0] == "mixlab"}


def test_a_folder_uses_only_those_before_it():
    place = {name: i for i, name in enumerate(ORDER)}
    arrows = 0
    for path, tree in FILES.items():
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        if parts[0] in ("__init__", "__main__"):
            continue
        for module in imports(ast.walk(tree)):
            if module == "mixlab":
                raise AssertionError(f"{path}: name the module, not the package")
            folder = module.split(".")[1]
            assert place[folder] <= place[parts[0]], f"{path} imports {module}, which comes later"
            arrows += folder != parts[0]
    assert arrows > 100
    there = {path.relative_to(PACKAGE).with_suffix("").parts[0] for path in FILES}
    assert there - {"__init__", "__main__"} == set(ORDER)


def test_no_module_needs_one_that_needs_it():
    """A circle would show at import only now and then, by which module is asked for first."""
    needs = {module_of(path): imports(tree.body) & MODULES for path, tree in FILES.items()}
    left = dict(needs)
    while free := [name for name, of in left.items() if not of & set(left)]:
        for name in free:
            del left[name]
    assert not left, sorted(left)


def test_a_file_a_class_a_function_holds_one_topic():
    large = []
    for path, tree in FILES.items():
        length = len(path.read_text(encoding="utf-8").splitlines())
        large += [f"{path.name}: {length} lines"] if length > 450 else []
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef | ast.FunctionDef):
                size = (node.end_lineno or 0) - node.lineno + 1
                if size > (200 if isinstance(node, ast.ClassDef) else 80):
                    large.append(f"{path.name}: {node.name}, {size} lines")
    assert not large, large


def test_the_guide_tells_the_same_order():
    guide = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    folders = [name for name in re.findall(r"^\| `(\w+)(?:/|\.py)`", guide, re.M) if name in ORDER]
    assert list(dict.fromkeys(folders)) == list(ORDER)


def test_no_public_name_hides_a_module():
    for name in mixlab.__all__:
        if f"mixlab.{name}" in MODULES:
            raise AssertionError(f"mixlab.{name} is a module and a name")
        with pytest.raises(ModuleNotFoundError):
            importlib.import_module(f"mixlab.{name}")


def test_what_is_known_once_is_written_once():
    """The usual tolerance stands in difference.py alone."""
    for path, tree in FILES.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.Assign) and isinstance(node.value, ast.Constant):
                names = {target.id for target in node.targets if isinstance(target, ast.Name)}
                assert "TOLERANCE" not in names or path.name == "difference.py", path
            if isinstance(node, ast.FunctionDef):
                last, named = node.args.defaults[::-1], node.args.kw_defaults
                given = [*zip(node.args.args[::-1], last, strict=False),
                         *zip(node.args.kwonlyargs, named, strict=True)]  # fmt: skip
                for argument, usual in given:
                    if argument.arg == "tolerance":
                        assert not isinstance(usual, ast.Constant) or usual.value is None, path
