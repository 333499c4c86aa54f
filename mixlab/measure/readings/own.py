"""Readings in our own CSV: sample, mixture, surface, then one column a wavelength."""


import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from mixlab import limits
from mixlab.errors import ReadingError, suggestion
from mixlab.files import csv_rows
from mixlab.measure.readings.curves import (
    Curve,
    Label,
    curve_of,
    listed,
    spectral,
)
from mixlab.text import shown

_WORDS = ("sample", "mixture", "surface")
_PARTED = {",": "commas", ";": "semicolons", "\t": "tabs"}


@dataclass(frozen=True)
class Sheet:
    """A CSV file: the mark between cells, the header, and where the `words` of it stand.

    The mark is the one of comma, semicolon and tab that parts the first row most; a first line
    ``sep=;``, as spreadsheets write it, says it outright. Names of columns are read in any case.
    """

    file: Path
    mark: str
    header: list[str]
    places: dict[str, int]
    lines: list[tuple[int, list[str]]]

    @classmethod
    def of(cls, file: Path, text: str, words: tuple[str, ...]) -> "Sheet":
        """Return the sheet of a text; ReadingError if a column is there twice, or none is."""
        skipped, start = 0, text.lstrip()
        if said := re.match(r"sep=([,;\t])[ \t]*(\r\n|\r|\n)", start, re.IGNORECASE):
            mark, text, skipped = said[1], start[said.end() :], 1
        else:
            head = re.sub(r'"[^"]*"', "", re.split(r"[\r\n]", start, maxsplit=1)[0])
            mark = max(",;\t", key=head.count)
        rows = csv_rows(file, text, ReadingError, limits.READINGS, "readings", mark, skipped)
        if not rows:
            raise ReadingError(f"{file}: the file is empty")
        (_, header), *lines = rows
        header = [" ".join(name.split()) for name in header]
        places: dict[str, int] = {}
        for place, name in enumerate(header):
            if places.setdefault(name.lower(), place) != place and name.lower() in words:
                raise ReadingError(f"{file}, column {name}: it is there twice")
        return cls(file, mark, header, {w: places[w] for w in words if w in places}, lines)

    def rows(self) -> Iterator[tuple[str, list[str], dict[str, str]]]:
        """Yield where each row stands, its cells, and what stands under the words.

        Spreadsheets leave out empty cells at the end of a row, or write more of them.

        Raises
        ------
        ReadingError : if a row has another number of cells than the header
        """
        width = len(self.header)
        for line, cells in self.lines:
            while len(cells) > width and not cells[-1].strip():
                cells.pop()
            if not width - 1 <= len(cells) <= width:
                raise ReadingError(
                    f"{self.file}, row {line}: {len(cells)} cells under {width} columns"
                )
            cells += [""] * (width - len(cells))
            said = {word: " ".join(cells[place].split()) for word, place in self.places.items()}
            yield f"row {line}", cells, said


def read_own(file: Path, text: str, companion: bool) -> tuple[list[Curve], list[str]]:
    """Return the curves of a CSV file, and notes.

    `companion` says that another file tells what the samples are, so that a sample suffices here.

    Raises
    ------
    ReadingError : names the row and the column
    """
    sheet = Sheet.of(file, text, _WORDS)
    header = sheet.header
    columns = spectral(str(file), header)
    others = [n for i, n in enumerate(header) if n and i not in columns
              and n.lower() not in sheet.places]  # fmt: skip
    needed = _WORDS[:1] if companion else _WORDS
    if missing := [word for word in needed if word not in sheet.places]:
        near = suggestion(missing[0], [name for name in others if name.isprintable()])
        raise ReadingError(
            f"{file}: the column {missing[0]} is missing{near}; a file of readings has the columns "
            "sample, mixture, surface and one a wavelength, as 400, 410 .. 700"
        )
    if not columns:
        raise ReadingError(
            f"{file}: no column is a wavelength; reflectance stands in columns 400, 410 .. 700"
        )
    curves: list[Curve] = []
    commas = False
    for where, cells, said in sheet.rows():
        if not said["sample"] and not said.get("surface", "").lower().startswith("bare"):
            raise ReadingError(f"{file}, {where}, column sample: it is empty")
        if not companion and not said["surface"]:
            raise ReadingError(
                f"{file}, {where}, column surface: it is empty; write over-white, over-black, "
                "bare-white, bare-black or opaque"
            )
        figures = [cells[i] for i in columns]
        commas = commas or "," in figures[0]
        heads, names = list(columns.values()), (said["sample"],)
        curves.append(curve_of(file, where, heads, figures, None, names, Label(**said)))
    if not curves:
        raise ReadingError(f"{file}: it has a header but no readings")
    notes = []
    if sheet.mark != "," or commas:
        decimals = ", decimals with commas" if commas else ""
        notes.append(f"its columns are parted by {_PARTED[sheet.mark]}{decimals}")
    if others:
        notes.append(f"left: columns {listed([shown(name) for name in others], 8)}")
    return curves, notes
