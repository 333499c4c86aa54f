"""The lessons: each runs from a clean kernel, asserts what it claims, and tells right from wrong.

They are stored without outputs: pictures in a notebook go stale unseen and make every change of a
lesson unreadable, and running one takes seconds.
"""

import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

import mixlab

LESSONS = sorted((Path(mixlab.__file__).parents[1] / "notebooks").glob("*.ipynb"))

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")


def test_there_are_five():
    assert [lesson.name[:2] for lesson in LESSONS] == ["1-", "2-", "3-", "4-", "5-"]


def tagged(notebook, tag):
    """Return the places of the cells that bear a tag."""
    return [i for i, cell in enumerate(notebook.cells) if tag in cell.metadata.get("tags", [])]


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda lesson: lesson.stem)
def test_lesson_is_stored_clean_and_has_its_parts(lesson):
    notebook = nbformat.read(lesson, as_version=4)
    nbformat.validate(notebook)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(not cell.outputs and cell.execution_count is None for cell in code)
    words = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    parts = ("The question", "Guess first", "The computation", "The picture", "With real paint",
             "Exercise", "To take along", "Handout")  # fmt: skip
    assert [part for part in re.findall("^## (.*)$", words, re.M) if part in parts] == list(parts)
    for tag in ("guess", "picture", "exercise", "check", "handout"):
        assert len(tagged(notebook, tag)) == 1
    assert sum(cell.source.count("\nassert ") for cell in code) >= 3
    assert not re.search(r"\bpip install\b", words)


@pytest.mark.parametrize("lesson", LESSONS, ids=lambda lesson: lesson.stem)
def test_lesson_runs_from_a_clean_kernel(lesson):
    notebook = nbformat.read(lesson, as_version=4)
    client = NotebookClient(
        notebook, timeout=300, resources={"metadata": {"path": str(lesson.parent)}}
    )

    def printed(place):
        return "".join(o.get("text", "") for o in notebook.cells[place].outputs)

    with client.setup_kernel():
        for place, cell in enumerate(notebook.cells):
            if cell.cell_type == "code":
                client.execute_cell(cell, place)
        for tag in ("picture", "handout"):
            drawn = [out["data"]["image/png"] for place in tagged(notebook, tag)
                     for out in notebook.cells[place].outputs if "image/png" in out.get("data", {})]
            assert len(drawn) == 1
        assert printed(*tagged(notebook, "handout")).splitlines()[-1].startswith("To print: ")
        (exercise,), (check,) = tagged(notebook, "exercise"), tagged(notebook, "check")
        assert "Write your answer" in printed(check)
        answers = notebook.cells[exercise].metadata["mixlab"]
        for answer, right in ((answers["wrong"], False), (answers["right"], True)):
            notebook.cells[exercise].source = answer
            for place in (exercise, check):
                client.execute_cell(notebook.cells[place], place)
            assert printed(check).startswith("Yes") == right
