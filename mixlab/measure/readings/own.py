"""Readings in our own CSV: sample, mixture, surface, then one column a wavelength."""


import csv
import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from mixlab.errors import ReadingError, suggestion
from mixlab.measure.readings.curves import (
    MOST_COLUMNS,
    MOST_READINGS,
    Curve,
    columns_fault,
    curve_of,
    listed,
    shown,
    wavelength,
)

_WORDS = ("sample", "mixture", "surface")
_PARTED = {",": "commas", ";": "semicolons", "\t": "tabs"}


def rows(file: Path, text: str) -> tuple[Iterator[tuple[int, list[str]]], str]:
    """Return the rows that hold anything, each with its line number, and the mark between cells.

    The mark is the one of comma, semicolon and tab that parts the first row most; a first line
    ``sep=;``, as spreadsheets write it, says it outright.

    Raises
    ------
    ReadingError : while the rows are drawn, if one is not CSV
    """
    skipped = 0
    start = text.lstrip()
    if told := re.match(r"sep=([,;\t])[ \t]*(\r\n|\r|\n)", start, re.IGNORECASE):
        mark, text, skipped = told[1], start[told.end() :], 1
    else:
        header = next(iter(start.splitlines()), "")
        mark = max(",;\t", key=lambda m: len(re.sub(r'"[^"]*"', "", header).split(m)))

    def drawn() -> Iterator[tuple[int, list[str]]]:
        reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark)
        try:
            for cells in reader:
                if any(cell.strip() for cell in cells):
                    yield reader.line_num + skipped, cells
        except csv.Error as error:
            raise ReadingError(f"{file}, row {reader.line_num + skipped}: {error}") from None

    return drawn(), mark


def heads(
    file: Path, header: list[str], words: tuple[str, ...]
) -> tuple[dict[str, int], list[str]]:
    """Return where the named columns stand, and every column's name; ReadingError if one is twice.

    Names are read in any case, and without the spaces about them.
    """
    if len(header) > MOST_COLUMNS:
        raise ReadingError(f"{file}: more than {MOST_COLUMNS} columns")
    header = [" ".join(name.split()) for name in header]
    places: dict[str, int] = {}
    for place, name in enumerate(header):
        if name.lower() in words:
            if name.lower() in places:
                raise ReadingError(f"{file}, column {name}: it is there twice")
            places[name.lower()] = place
    return places, header


def cut_to(file: Path, line: int, cells: list[str], width: int) -> list[str]:
    """Return the cells of a row under `width` columns; ReadingError if there are not as many.

    Spreadsheets leave out empty cells at the end of a row, or write more of them.
    """
    while len(cells) > width and not cells[-1].strip():
        cells = cells[:-1]
    if len(cells) > width or len(cells) < width - 1:
        raise ReadingError(f"{file}, row {line}: {len(cells)} cells under {width} columns")
    return cells + [""] * (width - len(cells))


def read_own(file: Path, text: str, companion: bool) -> tuple[list[Curve], list[str]]:
    """Return the curves of a CSV file, and notes.

    Parameters
    ----------
    file : what messages name
    text : the file's text
    companion : whether another file says what the samples are, so that a sample suffices here

    Raises
    ------
    ReadingError : names the row and the column
    """
    lines, mark = rows(file, text)
    first = next(lines, None)
    if first is None:
        raise ReadingError(f"{file}: the file is empty")
    places, header = heads(file, first[1], _WORDS)
    needed = _WORDS[:1] if companion else _WORDS
    spectral = {i: w for i, name in enumerate(header) if (w := wavelength(name)) is not None}
    others = [
        n for i, n in enumerate(header) if n and i not in spectral and n.lower() not in places
    ]
    if missing := [word for word in needed if word not in places]:
        near = suggestion(missing[0], [name for name in others if name.isprintable()])
        raise ReadingError(
            f"{file}: the column {missing[0]} is missing{near}; a file of readings has the columns "
            "sample, mixture, surface and one a wavelength, as 400, 410 .. 700"
        )
    if not spectral:
        raise ReadingError(
            f"{file}: no column is a wavelength; reflectance stands in columns 400, 410 .. 700"
        )
    columns = [(header[i], w) for i, w in spectral.items()]
    if fault := columns_fault(columns):
        raise ReadingError(f"{file}, {fault}")
    curves: list[Curve] = []
    commas = False
    for line, cells in lines:
        cells = cut_to(file, line, cells, len(header))
        if len(curves) == MOST_READINGS:
            raise ReadingError(f"{file}: more than {MOST_READINGS} readings")
        told = {word: " ".join(cells[place].split()) for word, place in places.items()}
        if not told["sample"] and not told.get("surface", "").lower().startswith("bare"):
            raise ReadingError(f"{file}, row {line}, column sample: it is empty")
        if not companion and not told["surface"]:
            raise ReadingError(
                f"{file}, row {line}, column surface: it is empty; write over-white, over-black, "
                "bare-white, bare-black or opaque"
            )
        figures = [cells[i] for i in spectral]
        commas = commas or "," in figures[0]
        curves.append(
            replace(
                curve_of(file, f"row {line}", columns, figures, None),
                names=(told["sample"],),
                sample=told["sample"],
                mixture=told.get("mixture", ""),
                surface=told.get("surface", ""),
            )
        )
    if not curves:
        raise ReadingError(f"{file}: it has a header but no readings")
    notes = []
    if mark != "," or commas:
        decimals = ", decimals with commas" if commas else ""
        notes.append(f"its columns are parted by {_PARTED[mark]}{decimals}")
    if others:
        notes.append(f"left: columns {listed([shown(name) for name in others], 8)}")
    return curves, notes
