"""What all formats share: bytes to text, cells to numbers and wavelengths, and the bare curve."""


import codecs
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, WIDEST_STEP, grid_fault
from mixlab.errors import ReadingError
from mixlab.files import read_bytes
from mixlab.text import shown

_WIDEST_STEP = 20.0  # of readings [nm]: what lies between is filled in, see `on_grid`
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


@dataclass(frozen=True)
class Label:
    """What was read: the drawdown, the mixture as written, the surface; "" where it is not said."""

    sample: str = ""
    mixture: str = ""
    surface: str = ""

    def __or__(self, other: "Label") -> "Label":
        """Return a label that says what this one does, and else what the other does."""
        return Label(
            self.sample or other.sample,
            self.mixture or other.mixture,
            self.surface or other.surface,
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
    label : what it says that was read
    """

    where: str
    columns: tuple[str, ...]
    wavelengths: Array
    values: Array
    full: float | None
    names: tuple[str, ...]
    label: Label


# --- text ---------------------------------------------------------------------------------------


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
    first, second = content[0:1] == b"\0", content[1:2] == b"\0"
    without = ("utf-16-be" if first else "utf-16-le") if first != second else ""
    encoding = next((name for mark, name in _MARKS if content.startswith(mark)), without)
    notes: list[str] = []
    for tried in (encoding,) if encoding else ("utf-8", "cp1252"):
        try:
            text = content.decode(tried)
            break
        except UnicodeDecodeError:
            notes = ["it is not UTF-8 and was read as Windows-1252 text"]
    else:
        raise ReadingError(f"{file}: it is not text; save it as UTF-8 text")
    if _CONTROL.search(text):
        raise ReadingError(f"{file}: it is not a text file")
    return text, notes


def listed(words: Sequence[str], most: int = 6) -> str:
    """Return words as a list in a sentence, the first `most` of them."""
    rest = f" and {len(words) - most} more" if len(words) > most else ""
    return ", ".join(words[:most]) + rest


def count(n: int, what: str) -> str:
    """Return a number of things in words, as "2 readings"."""
    return f"{n} {what}{'' if n == 1 else 's'}"


# --- numbers ------------------------------------------------------------------------------------


def number(cell: str) -> tuple[float, bool] | None:
    """Return the number in a cell, and whether a percent sign follows it; None if it is none.

    Decimals have a point or a comma.
    """
    match = _NUMBER.fullmatch(cell.strip()) if len(cell) <= 80 else None
    return (float(match[1].replace(",", ".")), bool(match[2])) if match else None


def spectral(place: str, names: Sequence[str]) -> dict[int, tuple[str, float]]:
    """Return which columns bear a wavelength: name and wavelength [nm] by the column's index.

    Raises
    ------
    ReadingError : if those wavelengths will not do; it begins with `place`
    """
    matches = {i: _WAVELENGTH.fullmatch(name.strip()) for i, name in enumerate(names)}
    found = {i: (names[i], float(m[1].replace(",", "."))) for i, m in matches.items() if m}
    if found:
        _check(place, list(found.values()))
    return found


def _check(place: str, columns: list[tuple[str, float]]) -> None:
    """Raise ReadingError, naming a column, unless wavelengths rise or fall in steps that do."""
    if columns[0][1] > columns[-1][1]:
        columns = columns[::-1]
    seen: set[float] = set()
    for name, w in columns:
        if w in seen:
            raise ReadingError(f"{place}, column {shown(name)}: {w:g} nm is there twice")
        seen.add(w)
    if fault := grid_fault([w for _, w in columns], _WIDEST_STEP):
        raise ReadingError(f"{place}, column {shown(columns[fault[0]][0])}: {fault[1]}")


def curve_of(
    file: Path, where: str, columns: list[tuple[str, float]], cells: list[str],
    full: float | None, names: tuple[str, ...], label: Label = Label(),
) -> Curve:  # fmt: skip
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

    def fault(i: int, why: str) -> ReadingError:
        return ReadingError(f"{file}, {where}, column {shown(columns[i][0])}: {why}")

    if len(filled) < len(cells):
        raise fault([bool(cell.strip()) for cell in cells].index(False), "it is empty")
    values, percent = [], []
    for i, cell in enumerate(cells):
        if (found := number(cell)) is None:
            raise fault(i, f"{shown(cell)} is not a number")
        values.append(found[0])
        percent.append(found[1])
    if any(percent):
        if not all(percent):
            raise fault(percent.index(not percent[0]), "a percent sign follows some of the "
                        "numbers only; write it after all or after none")  # fmt: skip
        full = 100.0
    _check(f"{file}, {where}", columns)
    heads, wavelengths = zip(*columns, strict=True)
    return Curve(where, heads, np.array(wavelengths), np.array(values), full, names, label)


def is_sparse(wavelengths: Array) -> bool:
    """Return whether what lies between wavelengths (n,) [nm] is filled in by more than lines."""
    return bool(np.diff(wavelengths).max() > WIDEST_STEP)


def on_grid(wavelengths: Array, values: Array) -> Array:
    """Return a curve (36,) on the grid of the package; beyond its ends it keeps its last values.

    Steps of up to 10 nm are joined by lines, wider ones by a cubic spline, which follows the smooth
    curves of paint better (common practice, no source), and is kept from falling below zero.
    """
    if not is_sparse(wavelengths):
        return np.interp(WAVELENGTHS, wavelengths, values)
    from scipy.interpolate import CubicSpline

    inside = np.clip(WAVELENGTHS, wavelengths[0], wavelengths[-1])
    return np.maximum(CubicSpline(wavelengths, values)(inside), 0.0)
