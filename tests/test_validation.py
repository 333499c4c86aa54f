"""The validation page, tests/outside/README.md: each row is held by a test that is there."""

import ast
import inspect
import re
from pathlib import Path

from mixlab import limits

TESTS = Path(__file__).resolve().parent
OUTSIDE = TESTS / "outside"
ROWS = [
    line
    for line in (OUTSIDE / "README.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("| ") and not line.startswith(("| ---", "| what was checked"))
]


def held_by(row):
    """Return the file of tests and the name of the test that a row ends with."""
    found = re.search(r"\| `([\w/]+\.py)::(test_\w+)` \|$", row)
    assert found, f"no test is named at the end of: {row}"
    file, test = found.groups()
    return (OUTSIDE / file if (OUTSIDE / file).exists() else TESTS / file), test


def test_every_row_is_held_by_a_test_that_is_there():
    assert len(ROWS) > 30
    for row in ROWS:
        file, test = held_by(row)
        tree = ast.parse(file.read_text(encoding="utf-8"))
        assert test in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}, row
        assert row.count(" | ") == 3, row


def test_every_file_of_checks_is_named():
    named = {held_by(row)[0] for row in ROWS}
    assert set(OUTSIDE.glob("test_*.py")) <= named


def test_checks_that_need_the_published_figures_say_so():
    """A row is marked where its test reads them, itself or by a fixture of its file."""
    for row in ROWS:
        file, test = held_by(row)
        if file.parent != OUTSIDE:
            continue
        tree = ast.parse(file.read_text(encoding="utf-8"))
        takes = {node.name: {one.arg for one in node.args.args}
                 for node in tree.body if isinstance(node, ast.FunctionDef)}  # fmt: skip
        needs = set(takes[test])
        while more := {arg for name in needs for arg in takes.get(name, ())} - needs:
            needs |= more
        published = {"artist_figures", "oil_readings", "all_oil_readings"}
        assert bool(needs & published) == ("(figures)" in row), row


def test_every_limit_of_what_is_read_is_stated():
    page = (OUTSIDE / "README.md").read_text(encoding="utf-8")
    stated = {name: value for name, value in inspect.getmembers(limits) if name.isupper()}
    assert len(stated) > 10
    for name, value in stated.items():
        assert re.search(rf"(?<![\d,]){value:,}(?![\d,])", page), name
