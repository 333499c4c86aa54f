"""Where the bundled data lie, and how files are read."""


import csv
import ctypes
import io
import os
import re
import sys
import tomllib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from mixlab import limits
from mixlab.errors import MixlabError, suggestion
from mixlab.text import shown

_PACKAGE = Path(__file__).resolve().parent


def bundled(name: str) -> Path:
    """Return the path of a bundled data file, e.g. ``bundled("paints.csv")``.

    An installed package carries the data inside itself; in a checkout they lie beside it.
    """
    inside = _PACKAGE / "data" / name
    return inside if inside.exists() else _PACKAGE.parent / "data" / name


@contextmanager
def stream_apart(number: int) -> Iterator[None]:
    """Let what a library writes by itself to stdout (1) or stderr (2), below Python, go nowhere.

    The integer solver talks at times, and libtiff of every tag it does not know; what stands on
    stdout is for whoever reads it, and may be JSON.
    """
    stream = sys.stdout if number == 1 else sys.stderr
    stream.flush()
    try:
        kept, nowhere = os.dup(number), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # closed
        yield
        return
    os.dup2(nowhere, number)
    os.close(nowhere)
    try:
        yield
    finally:
        stream.flush()
        with suppress(OSError, TypeError, AttributeError):
            ctypes.CDLL(None).fflush(None)  # C keeps its own lines back
        os.dup2(kept, number)
        os.close(kept)


# --- reading ------------------------------------------------------------------------------------

_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f]")
FORMULA = re.compile(r"'*[=+\-@\t\r]")  # what a spreadsheet would run, or what stands for it
_KEY = r"""(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')"""
_DEEP_KEY = re.compile(rf"(?<![\w-]){_KEY}(?:[ \t]*+\.[ \t]*+{_KEY}){{{limits.DEPTH},}}")


def read_bytes(
    file: Path, mistake: type[MixlabError], most: int = limits.TEXT_BYTES
) -> bytes:
    """Return a file whole; raise `mistake` if it is missing or larger than so many bytes."""
    try:
        with open(file, "rb") as stream:  # may be a pipe or a device, whose size is not known
            content = stream.read(most + 1)
    except IsADirectoryError:
        empty = ", or the name that was given is empty" if file == Path() else ""
        raise mistake(f"{file}: it is a folder, and no file{empty}") from None
    except OSError as error:
        raise mistake(f"{file}: cannot be read: {error.strerror}") from None
    except ValueError as error:  # a null character in the path
        raise mistake(f"{str(file)!r}: cannot be read: {error}") from None
    if len(content) > most:
        raise mistake(f"{file}: larger than {most / 1e6:g} MB")
    return content


def read_text(file: Path, mistake: type[MixlabError], most: int = limits.TEXT_BYTES) -> str:
    """Return a text file whole; raise `mistake` if it is missing, too large, or not UTF-8 text."""
    try:
        text = read_bytes(file, mistake, most).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise mistake(
            f"{file}: byte {error.start + 1} is not UTF-8 text; save the file as UTF-8"
        ) from None
    if _CONTROL.search(text):
        raise mistake(f"{file}: it is not a text file")
    return text


def read_toml(file: Path, mistake: type[MixlabError]) -> dict[str, Any]:
    """Return what a TOML file holds; raise `mistake` if it is too large, or no TOML."""
    text = read_text(file, mistake, limits.TOML_BYTES)
    if _DEEP_KEY.search(text):  # tomllib's time and memory grow with the square of them
        raise mistake(f"{file}: a key of more than {limits.DEPTH} parts")
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # TOMLDecodeError, and what its numbers raise
        raise mistake(f"{file}: not TOML: {error}") from None


def csv_rows(
    file: Path, text: str, mistake: type[MixlabError], most: int, what: str = "rows",
    mark: str = ",", skipped: int = 0,
) -> list[tuple[int, list[str]]]:  # fmt: skip
    """Return the rows of CSV text that hold anything, each with its line number in the file.

    `mark` parts the cells, and `skipped` lines stood before the text. The apostrophe by which
    :func:`mixlab.writing.csv_text` makes a formula harmless is taken off.

    Raises
    ------
    `mistake` : if it is no CSV, or there are more than `most` rows (`what` they are) beside a
        header, or more than :data:`mixlab.limits.COLUMNS`
    """
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
    rows: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            line = reader.line_num + skipped
            if len(cells) > limits.COLUMNS:
                raise mistake(f"{file}, row {line}: more than {limits.COLUMNS} columns")
            if any(cell.strip() for cell in cells):
                rows.append((line, [
                    cell[1:] if cell[:1] == "'" and FORMULA.match(cell) else cell for cell in cells
                ]))  # fmt: skip
            if len(rows) > most + 1:
                raise mistake(f"{file}: more than {most} {what}")
    except csv.Error as error:
        raise mistake(f"{file}, row {reader.line_num + skipped}: {error}") from None
    return rows


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
            raise mistake(f"{file}, column {shown(cell)}: {wrong}")
        header.append(name)
    for line, cells in rows[1:]:
        if len(cells) != len(header):
            raise mistake(f"{file}, row {line}: {len(cells)} cells under {len(header)} columns")
    return [(line, dict(zip(header, map(str.strip, cells), strict=True)))
            for line, cells in rows[1:]]  # fmt: skip
