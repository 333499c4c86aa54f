"""Where the bundled data lie, and how files are read."""


import csv
import io
import re
from collections.abc import Sequence
from pathlib import Path

from mixlab.errors import MixlabError, suggestion

_PACKAGE = Path(__file__).resolve().parent


def bundled(name: str) -> Path:
    """Return the path of a bundled data file, e.g. ``bundled("paints.csv")``.

    An installed package carries the data inside itself; in a checkout they lie beside it.
    """
    inside = _PACKAGE / "data" / name
    return inside if inside.exists() else _PACKAGE.parent / "data" / name


# --- reading ------------------------------------------------------------------------------------

LARGEST_FILE = 64_000_000  # bytes of a text file
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")


def read_bytes(file: Path, mistake: type[MixlabError]) -> bytes:
    """Return a file whole; raise `mistake` if it is missing or larger than LARGEST_FILE."""
    try:
        with open(file, "rb") as stream:  # may be a pipe or a device, whose size is not known
            content = stream.read(LARGEST_FILE + 1)
    except IsADirectoryError:
        empty = ", or the name that was given is empty" if file == Path() else ""
        raise mistake(f"{file}: it is a folder, and no file{empty}") from None
    except OSError as error:
        raise mistake(f"{file}: cannot be read: {error.strerror}") from None
    except ValueError as error:  # a null character in the path
        raise mistake(f"{str(file)!r}: cannot be read: {error}") from None
    if len(content) > LARGEST_FILE:
        raise mistake(f"{file}: larger than {LARGEST_FILE // 1_000_000} MB")
    return content


def read_text(file: Path, mistake: type[MixlabError]) -> str:
    """Return a text file whole; raise `mistake` if it is missing, too large, or not UTF-8 text."""
    try:
        text = read_bytes(file, mistake).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise mistake(
            f"{file}: byte {error.start + 1} is not UTF-8 text; save the file as UTF-8"
        ) from None
    if _CONTROL.search(text):
        raise mistake(f"{file}: it is not a text file")
    return text


def csv_rows(file: Path, text: str, mistake: type[MixlabError]) -> list[tuple[int, list[str]]]:
    """Return the rows of CSV text that hold anything, each with its line number in the file."""
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        return [(reader.line_num, cells) for cells in reader if any(c.strip() for c in cells)]
    except csv.Error as error:
        raise mistake(f"{file}, row {reader.line_num}: {error}") from None


def named_rows(
    file: Path, rows: Sequence[tuple[int, list[str]]], columns: Sequence[str], what: str,
    mistake: type[MixlabError],
) -> list[tuple[int, dict[str, str]]]:  # fmt: skip
    """Return rows of CSV by the columns that the first of them names, each with its line number.

    Raises
    ------
    `mistake` : if a column is none of those of `what`, in capitals or not, or is there twice, or a
        row has another number of cells
    """
    known = {name.lower(): name for name in columns}
    header: list[str] = []
    for cell in map(str.strip, rows[0][1]):
        name = known.get(cell.lower(), "")
        if not name or name in header:
            wrong = "it is there twice" if name else (
                f"not a column of {what}" + suggestion(cell, columns)
                + f" (columns: {', '.join(columns)})"
            )  # fmt: skip
            raise mistake(f"{file}, column {cell[:40]!r}: {wrong}")
        header.append(name)
    for line, cells in rows[1:]:
        if len(cells) != len(header):
            raise mistake(f"{file}, row {line}: {len(cells)} cells under {len(header)} columns")
    return [(line, dict(zip(header, map(str.strip, cells), strict=True)))
            for line, cells in rows[1:]]  # fmt: skip
