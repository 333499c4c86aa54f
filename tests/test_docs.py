"""The README's commands and examples are what happens."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import mixlab

TOP = Path(__file__).resolve().parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")


def blocks(language):
    return re.findall(rf"```{language}\n(.*?)```", README, re.S)


def test_the_tests_are_run_as_the_readme_says():
    install, test = (block.strip() for block in blocks("sh"))
    assert "mixlab demo" in install and "pytest" in test
    assert test in (TOP / ".ci" / "run").read_text(encoding="utf-8")


def test_the_recipe_shown_is_the_recipe_found():
    (example,) = blocks("console")
    command, shown = example.split("\n", 1)
    words = command.removeprefix("$ mixlab ").split()
    found = subprocess.run(
        [sys.executable, "-m", "mixlab", *words],
        cwd=TOP, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert found.startswith(shown.rstrip())


def test_the_palette_shown_can_be_read(tmp_path):
    (example,) = blocks("toml")
    (tmp_path / "mine.toml").write_text(example, encoding="utf-8")
    assert len(mixlab.read_palette(tmp_path / "mine.toml")) == 4


def test_the_python_shown_runs():
    (example,) = blocks("python")
    names = {"labs": [[45.0, 15.0, 20.0], [60.0, 5.0, 30.0]]}
    exec(example, names)
    assert names["answer"].in_reach and len(names["many"]) == 2


def test_every_palette_and_command_is_in_the_readme():
    from typer.main import get_command

    from mixlab.show.cli import app

    names = {name.split()[0] for name in get_command(app).commands}
    assert {"recipe", "mix"} <= names
    for name in mixlab.palette_names():
        assert f"`{name}`" in README
    for name in names:
        assert re.search(rf"`(?:mixlab )?{name}\b", README), name


def test_what_the_readme_types_is_there():
    """Each `mixlab COMMAND .. --option` of the README names options that the command has."""
    from typer.main import get_command

    from mixlab.show.cli import app

    commands = get_command(app).commands
    found = 0
    for text in re.findall(r"`(?:\$ )?mixlab ([^`]+)`|^\$? ?mixlab (.+)$", README, re.M):
        words = re.split(r"[|#]| mixlab ", "".join(text))[0].split()
        command = commands.get(words[0])
        if command is None:
            continue
        below = getattr(command, "commands", {})
        options = {name for one in (command, *below.values()) for p in one.params
                   for name in (*p.opts, *p.secondary_opts)}  # fmt: skip
        for word in words[1:]:
            if word.startswith("--") and word != "--help":
                assert word.split("=")[0] in options, " ".join(words)
                found += 1
    assert found > 3


def test_nothing_else_lies_at_the_top():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=TOP, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout: what was built lies beside what is kept")
    top = {name.split("/")[0] for name in listed.stdout.split("\n") if name}
    asked = {"README.md", "DEVELOPERS.md", "pyproject.toml", "mixlab", "data", "tests", "notebooks"}
    assert {name for name in top if not name.startswith(".")} == asked


def test_every_module_is_in_the_guide():
    guide = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
    listed = set(re.findall(r"^\| `([\w/.]+)`", guide.split("## Rules of the house")[0], re.M))
    found = {path.relative_to(TOP / "mixlab") for path in (TOP / "mixlab").rglob("[a-z]*.py")}
    gathered = ("measure/readings/", "show/plots/", "show/cli/")
    files = {name for name in map(Path.as_posix, found) if not name.startswith(gathered)}
    assert {name for name in listed if name.endswith(".py")} == files
