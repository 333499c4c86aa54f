"""Where the bundled data lie, and how files are written."""

import csv
import io
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def bundled(name: str) -> Path:
    """Return the path of a bundled data file, e.g. ``bundled("paints.csv")``.

    An installed package carries the data inside itself; in a checkout they lie beside it.
    """
    inside = _PACKAGE / "data" / name
    return inside if inside.exists() else _PACKAGE.parent / "data" / name


def write_whole(path: str | os.PathLike[str], content: str | bytes) -> None:
    """Write a file so that it is either there whole or not changed at all."""
    import tempfile

    target = Path(path)
    data = content.encode() if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(dir=target.parent or ".", prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(temporary, 0o644)
        os.replace(temporary, target)
    except BaseException:
        os.unlink(temporary)
        raise


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return rows as CSV text; numbers stand as they are, an empty cell for None.

    A text that a spreadsheet would run as a formula (it starts with = + - @, a tab or a return) is
    made harmless by an apostrophe before it; common practice, no source.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    for row in (header, *rows):
        writer.writerow([
            "'" + cell if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
            for cell in row
        ])  # fmt: skip
    return text.getvalue()


_FORMULA = ("=", "+", "-", "@", "\t", "\r")
