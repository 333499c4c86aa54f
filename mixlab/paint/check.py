"""The text of a pigment table to paints, with every fault that there is in it.

A row for each paint: its ``id``, facts about it, then the absorption ``K380`` .. ``K730`` and the
scattering ``S380`` .. ``S730``, one column a wavelength [nm]. Only ``id`` and the curves must be
there.
"""

import math
import re
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from mixlab import limits
from mixlab.colour.spaces import WAVELENGTHS, grid_fault
from mixlab.errors import TableError, suggestion
from mixlab.files import csv_rows
from mixlab.paint.optics import Surface
from mixlab.paint.paints import BASES, ID, SURFACE, TRANSPARENCIES, Paint, common_unit
from mixlab.text import shown

FACTS = (
    "id", "name", "colour_index", "transparency", "basis", "source", "masstone_miss", "tint_miss",
    "uncertainty", "unit", "cautions", "saunderson_k1", "saunderson_k2",
)  # fmt: skip
_CURVE = re.compile(r"^(K|S)(\d+(?:\.\d+)?)$")
_GREATEST = 1e12  # greater figures are in no unit of thickness, and would overflow when squared
_LEAST = 1e-9  # less of K and S together is no paint; S is taken as this much, so that K / S is


@dataclass
class Checked:
    """What stands in a table: its paints, what was done to them on reading, what is wrong."""

    paints: list[Paint] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def check(file: Path, text: str) -> Checked:
    """Return what stands in the text of a table; every fault names `file` and the place in it.

    Raises
    ------
    TableError : if the text is no CSV
    """
    made = Checked()
    rows = csv_rows(file, text, TableError, limits.PAINTS, "paints")
    if not rows:
        made.faults.append(f"{file}: the file is empty; a table has a header and a row per paint")
        return made
    columns = _Columns(file, [name.strip() for name in rows[0][1]])
    made.faults += columns.faults
    if not any(columns.curves.values()) and "id" not in columns.facts:
        return made
    seen: set[str] = set()
    for line, cells in rows[1:]:
        row = _Row(f"{file}, row {line}", cells, columns)
        paint = row.paint()
        if (id := row.fact("id")) in seen and ID.fullmatch(id):
            row.wrong("id", f"{id!r} is there twice")
        seen.add(id)
        made.faults += row.faults
        if len(made.faults) >= limits.FAULTS:
            made.faults.append(f"{file}: more faults may follow; these come first")
            return made
        if paint is not None:
            made.paints.append(paint)
    if len(rows) == 1:
        made.faults.append(f"{file}: it has a header but no paints")
    try:
        common_unit(made.paints)
    except TableError as error:
        made.faults.append(f"{file}: {error}")
    if not made.faults:
        made.notes = _notes(columns.grid)
    return made


def _notes(grid: list[float]) -> list[str]:
    if np.array_equal(grid, WAVELENGTHS):
        return []
    notes = [f"curves on {grid[0]:g}-{grid[-1]:g} nm were brought to the grid 380-730 nm by 10"]
    if grid[0] > WAVELENGTHS[0] or grid[-1] < WAVELENGTHS[-1]:
        notes.append("beyond their ends the curves keep their last values")
    return notes


class _Columns:
    """Where each fact, and each wavelength of K and S, stands; what is wrong with the header."""

    def __init__(self, file: Path, header: list[str]) -> None:
        self.header, self.faults = header, list[str]()
        self.facts: dict[str, int] = {}
        self.curves: dict[str, dict[float, int]] = {"K": {}, "S": {}}
        for mark, other in ((";", "semicolons"), ("\t", "tabs")):
            if len(header) == 1 and mark in header[0]:
                self.faults = [f"{file}: its columns are parted by {other}; save it with commas "
                               "between them, and points in the numbers"]  # fmt: skip
                return
        seen: set[str] = set()
        for place, name in enumerate(header):
            match = _CURVE.match(name) if len(name) <= 12 else None
            if len(self.faults) >= limits.FAULTS:
                return
            if name in seen or (match and float(match[2]) in self.curves[match[1]]):
                self.faults.append(f"{file}, column {name or place + 1}: it is there twice")
            elif match:
                self.curves[match[1]][float(match[2])] = place
            elif name in FACTS:
                self.facts[name] = place
            else:
                self.faults.append(
                    f"{file}, column {shown(name)}: not a column of a pigment table"
                    + suggestion(name, FACTS)
                    + "; curves are K380 .. K730 and S380 .. S730"
                )
            seen.add(name)
        if "id" not in self.facts:
            self.faults.append(f"{file}: the column id is missing")
        for quantity, places in self.curves.items():
            if not places:
                columns = f"{quantity}380 .. {quantity}730"
                self.faults.append(f"{file}: the columns {columns} are missing")
            elif fault := grid_fault(list(places)):
                column = header[list(places.values())[fault[0]]]
                self.faults.append(f"{file}, column {column}: {fault[1]}")
        odd = sorted(set(self.curves["K"]) ^ set(self.curves["S"]))
        if all(self.curves.values()) and odd:
            self.faults.append(
                f"{file}: K and S must stand at the same wavelengths; {odd[0]:g} is in one"
            )

    @property
    def grid(self) -> list[float]:
        """Wavelengths of K [nm]."""
        return list(self.curves["K"])


class _Row:
    """One row of a table, with what is wrong in it."""

    def __init__(self, place: str, cells: list[str], columns: _Columns) -> None:
        self.place, self.cells, self.columns = place, cells, columns
        self.faults: list[str] = []
        self.whole = len(cells) == len(columns.header)
        if not self.whole:
            self.faults.append(f"{place}: {len(cells)} cells under {len(columns.header)} columns")

    def wrong(self, column: str, why: str) -> None:
        """Note what is wrong in a column."""
        self.faults.append(f"{self.place}, column {column}: {why}")

    def fact(self, name: str) -> str:
        """Return the text of a fact, "" where there is none."""
        place = self.columns.facts.get(name)
        return "" if place is None or not self.whole else " ".join(self.cells[place].split())

    def number(self, column: str, cell: str, below: float = math.inf) -> float:
        """Return the number of a cell; nan, which is noted, if it makes no sense."""
        try:
            value = float(cell)
        except ValueError:
            self.wrong(column, f"{cell.strip()!r} is not a number")
            return math.nan
        if not 0 <= value <= _GREATEST:
            self.wrong(column, f"{value:g} is not between 0 and {_GREATEST:g}")
        elif value >= below:
            self.wrong(column, f"{value:g} is not a share below {below:g}")
        else:
            return value
        return math.nan

    def known(self, name: str, default: float = math.nan, below: float = math.inf) -> float:
        """Return the number of a fact, or the default."""
        return self.number(name, cell, below) if (cell := self.fact(name)) else default

    def curve(self, quantity: str) -> list[float]:
        """Return K or S at the wavelengths of the table."""
        places = self.columns.curves[quantity].values()
        return [self.number(self.columns.header[at], self.cells[at]) for at in places]

    def paint(self) -> Paint | None:
        """Return the paint; None if anything is wrong."""
        if not self.whole:
            return None
        id, unit = self.fact("id"), self.fact("unit")
        if "id" in self.columns.facts and not ID.fullmatch(id):
            self.wrong("id", f"{id!r}: an id is lower-case words joined by hyphens, as burnt-umber")
        if unit and not ID.fullmatch(unit):
            self.wrong("unit", f"{unit!r} is not the id of a white, as zinc-white")
        for name, words in (("transparency", TRANSPARENCIES), ("basis", BASES)):
            if (word := self.fact(name)) and word not in words:
                self.wrong(name, f"{word!r} is not one of {', '.join(words)}")
        k, s = self.curve("K"), self.curve("S")
        s_at = dict(zip(self.columns.curves["S"], s, strict=True))
        for w, absorbed in zip(self.columns.grid, k, strict=True):
            if absorbed + s_at.get(w, math.inf) < _LEAST:
                self.wrong(self.columns.header[self.columns.curves["S"][w]],
                           "K and S are both zero, or nearly: such a paint is not there")
                break
        surface = Surface(
            self.known("saunderson_k1", SURFACE.outside, below=1),
            self.known("saunderson_k2", SURFACE.inside, below=1),
        )
        misses = [self.known(name) for name in ("masstone_miss", "tint_miss", "uncertainty")]
        if self.faults or not id or not k or list(s_at) != self.columns.grid:
            return None
        return Paint(
            id=id, name=self.fact("name") or id.replace("-", " "),
            colour_index=tuple(self.fact("colour_index").split()),
            K=np.interp(WAVELENGTHS, self.columns.grid, k),
            S=np.maximum(np.interp(WAVELENGTHS, self.columns.grid, s), _LEAST),
            transparency=self.fact("transparency"), basis=self.fact("basis"),
            source=self.fact("source"), cautions=self.fact("cautions"), surface=surface, unit=unit,
            masstone_miss=misses[0], tint_miss=misses[1], uncertainty=misses[2],
        )  # fmt: skip
