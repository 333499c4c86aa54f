"""What all formats share: bytes to text, cells to numbers and wavelengths, and the bare curve."""


import codecs
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixlab.colour import spaces as colorimetry
from mixlab.colour.spaces import WAVELENGTHS, grid_fault
from mixlab.errors import ReadingError
from mixlab.files import read_bytes

Array = NDArray[np.float64]

MOST_READINGS = 50_000
STRAIGHT = colorimetry.WIDEST_STEP  # steps of curves that lines join [nm]
WIDEST_STEP = 20.0  # of readings [nm]: what lies between is filled in, see `on_grid`
MOST_COLUMNS = 5_000

# letters and marks that instruments and spreadsheets put about a wavelength: 400, 400 nm, R400,
# nm400, SPECTRAL_400, SPECTRAL_NM400, SPECTRAL_NM_400, SPEC_400; from memory
_WAVELENGTH = re.compile(
    r"(?:spectral|spec|r)?[ _]?(?:nm)?[ _]?([0-9]{3,4}(?:[.,][0-9]{1,3})?)(?: ?nm)?",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"([+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(%?)")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f]")
_MARKS = (  # the longer first: the mark of UTF-32 begins with that of UTF-16
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)


@dataclass(frozen=True, eq=False)
class Curve:
    """One reading as its file has it, before it is known what was read.

    Attributes
    ----------
    where : place in the file, e.g. "row 7"
    columns : (n,), what the file calls each wavelength
    wavelengths : (n,) [nm], as :func:`mixlab.colour.spaces.grid_fault` accepts them
    values : (n,), as written
    full : what a perfect reflector would read (1, 100), or None if the file does not say
    names : what the file calls the reading, the most telling first
    sample, mixture, surface : "" where the file has no place for them
    """

    where: str
    columns: tuple[str, ...]
    wavelengths: Array
    values: Array
    full: float | None
    names: tuple[str, ...] = ()
    sample: str = ""
    mixture: str = ""
    surface: str = ""


def read_whole(file: Path) -> bytes:
    """Return a file whole; ReadingError if it is missing, empty or too large."""
    content = read_bytes(file, ReadingError)
    if not content.strip():
        raise ReadingError(f"{file}: the file is empty")
    return content


def decode(file: Path, content: bytes) -> tuple[str, list[str]]:
    """Return the text of a file and, if it is not UTF-8, a note that says so.

    UTF-8, UTF-16 and UTF-32 are told by their byte-order mark, UTF-16 without one by its zeros;
    what is none of these is Windows-1252, which holds ISO 8859-1.

    Raises
    ------
    ReadingError : if it is not text
    """
    encoding = next((name for mark, name in _MARKS if content.startswith(mark)), "")
    if not encoding and content[1:2] == b"\0" and content[0:1] != b"\0":
        encoding = "utf-16-le"
    elif not encoding and content[0:1] == b"\0" and content[1:2] != b"\0":
        encoding = "utf-16-be"
    notes: list[str] = []
    try:
        if encoding:
            text = content.decode(encoding)
        else:
            try:
                text = content.decode("utf-8")
            except UnicodeDecodeError:
                text = content.decode("cp1252")
                notes.append("it is not UTF-8 and was read as Windows-1252 text")
    except UnicodeDecodeError:
        raise ReadingError(f"{file}: it is not text; save it as UTF-8 text") from None
    if _CONTROL.search(text):
        raise ReadingError(f"{file}: it is not a text file")
    return text, notes


def shown(text: str) -> str:
    """Return a text from a file as a message can bear it: quoted, on one line, not too long."""
    line = " ".join(text.split())
    return repr(line if len(line) <= 60 else line[:57] + "...")


def listed(words: Sequence[str], most: int = 6) -> str:
    """Return words as a list in a sentence, the first `most` of them."""
    rest = f" and {len(words) - most} more" if len(words) > most else ""
    return ", ".join(words[:most]) + rest


def count(n: int, what: str) -> str:
    """Return a number of things in words, as "2 readings"."""
    return f"{n} {what}{'' if n == 1 else 's'}"


def wavelength(name: str) -> float | None:
    """Return the wavelength [nm] that a column's name bears, or None if it bears none."""
    match = _WAVELENGTH.fullmatch(name.strip())
    return float(match[1].replace(",", ".")) if match else None


def number(cell: str) -> tuple[float, bool] | None:
    """Return the number in a cell, and whether a percent sign follows it; None if it is none.

    Decimals have a point or a comma.
    """
    match = _NUMBER.fullmatch(cell.strip()) if len(cell) <= 80 else None
    return (float(match[1].replace(",", ".")), bool(match[2])) if match else None


def columns_fault(columns: list[tuple[str, float]]) -> str | None:
    """Return what is wrong with columns of wavelengths, in words and with the column's name.

    They rise, or fall from red to violet.
    """
    if columns[0][1] > columns[-1][1]:
        columns = columns[::-1]
    seen: dict[float, str] = {}
    for name, w in columns:
        if w in seen:
            return f"column {shown(name)}: {w:g} nm is there twice"
        seen[w] = name
    fault = grid_fault([w for _, w in columns], WIDEST_STEP)
    return f"column {shown(columns[fault[0]][0])}: {fault[1]}" if fault else None


def curve_of(
    file: Path,
    where: str,
    columns: list[tuple[str, float]],
    cells: list[str],
    full: float | None,
) -> Curve:
    """Return the curve in some cells; ReadingError names the file, the place and the column.

    Cells may be empty at the ends, where the instrument of this reading does not reach, and a
    percent sign after every number says that a perfect reflector reads 100.
    """
    filled = [i for i, cell in enumerate(cells) if cell.strip()]
    if not filled:
        raise ReadingError(f"{file}, {where}: it has no reflectance")
    ends = slice(filled[0], filled[-1] + 1)
    columns, cells = columns[ends], cells[ends]
    if columns[0][1] > columns[-1][1]:  # from red to violet
        columns, cells = columns[::-1], cells[::-1]
    if len(filled) < len(cells):
        at = next(i for i, cell in enumerate(cells) if not cell.strip())
        raise ReadingError(f"{file}, {where}, column {shown(columns[at][0])}: it is empty")
    values, percent = [], []
    for (name, _), cell in zip(columns, cells, strict=True):
        found = number(cell)
        if found is None:
            raise ReadingError(
                f"{file}, {where}, column {shown(name)}: {shown(cell)} is not a number"
            )
        values.append(found[0])
        percent.append(found[1])
    if any(percent):
        if not all(percent):
            at = percent.index(not percent[0])
            raise ReadingError(
                f"{file}, {where}, column {shown(columns[at][0])}: a percent sign follows some of "
                "the numbers only; write it after all or after none"
            )
        full = 100.0
    if fault := columns_fault(columns):
        raise ReadingError(f"{file}, {where}, {fault}")
    return Curve(
        where,
        tuple(name for name, _ in columns),
        np.array([w for _, w in columns]),
        np.array(values),
        full,
    )


def on_grid(wavelengths: Array, values: Array) -> Array:
    """Return a curve (36,) on the grid of the package; beyond its ends it keeps its last values.

    Steps of up to 10 nm are joined by lines, wider ones by a cubic spline, which follows the smooth
    curves of paint better (common practice, no source), and is kept from falling below zero.
    """
    if np.diff(wavelengths).max() <= STRAIGHT:
        return np.interp(WAVELENGTHS, wavelengths, values)
    from scipy.interpolate import CubicSpline

    inside = np.clip(WAVELENGTHS, wavelengths[0], wavelengths[-1])
    return np.maximum(CubicSpline(wavelengths, values)(inside), 0.0)
