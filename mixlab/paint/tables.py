"""Pigment tables and palettes: read, check, write.

A table is a CSV file, a row for each paint: its ``id``, facts about it, then the absorption
``K380`` .. ``K730`` and the scattering ``S380`` .. ``S730``, one column a wavelength [nm]. Only
``id`` and the curves must be there. A palette is a TOML file: ``name``, ``about`` and ``paints``,
a list of ids or Colour Index names of a table.
"""


import csv
import io
import math
import os
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from os import PathLike
from pathlib import Path

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, Viewing, grid_fault, viewing
from mixlab.errors import NotationError, PaletteError, TableError, suggestion
from mixlab.files import bundled, csv_rows, read_text, write_whole
from mixlab.paint.mixtures import Mixture, find_name, parse_mix
from mixlab.paint.optics import Surface
from mixlab.paint.paints import (
    BASES,
    ID,
    SURFACE,
    TRANSPARENCIES,
    Paint,
    common_unit,
    tinting_strength,
)

_FACTS = (
    "id", "name", "colour_index", "transparency", "basis", "source", "masstone_miss", "tint_miss",
    "uncertainty", "unit", "cautions", "saunderson_k1", "saunderson_k2", "dark_loss",
)  # fmt: skip
_CURVE = re.compile(r"^(K|S)(\d+(?:\.\d+)?)$")
_GREATEST = 1e12  # greater figures are in no unit of thickness, and would overflow when squared
_STRENGTH_REFERENCE = "ultramarine-blue"


def _names(paints: Iterable[Paint]) -> dict[str, list[str]]:
    """Return what each id and Colour Index name, in lower case, can stand for.

    A Colour Index name is that of one pigment: it stands for a blend only where no paint is of that
    pigment alone.
    """
    paints = tuple(paints)
    names: dict[str, list[str]] = {}
    for alone in (True, False):
        borne = dict(names)
        for paint in paints:
            if (len(paint.colour_index) == 1) != alone:
                continue
            for name in map(str.lower, paint.colour_index):
                if name not in borne and paint.id not in names.setdefault(name, []):
                    names[name].append(paint.id)
    # an id stands for its own paint, even where another bears it as a Colour Index name
    return names | {paint.id: [paint.id] for paint in paints}


class _Paints:
    """Paints in an order, found by id or Colour Index name."""

    paints: tuple[Paint, ...]

    @property
    def ids(self) -> list[str]:
        """Ids of the paints, in order."""
        return [paint.id for paint in self.paints]

    @cached_property
    def names(self) -> dict[str, list[str]]:
        """What each id and Colour Index name, in lower case, can stand for."""
        return _names(self.paints)

    @cached_property
    def K(self) -> Array:
        """Absorption (p, 36)."""
        return np.array([paint.K for paint in self.paints])

    @cached_property
    def S(self) -> Array:
        """Scattering (p, 36)."""
        return np.array([paint.S for paint in self.paints])

    def __len__(self) -> int:
        return len(self.paints)

    def __iter__(self) -> Iterator[Paint]:
        return iter(self.paints)

    def __contains__(self, name: str) -> bool:
        return name.lower() in self.names

    def __getitem__(self, name: str) -> Paint:
        """Return the paint of that id or unambiguous Colour Index name; NotationError if none."""
        id = find_name(name, self.names)
        return next(paint for paint in self.paints if paint.id == id)

    def mix(self, parts: Mapping[str, float] | str, view: Viewing | None = None) -> Mixture:
        """Return a mix of parts by paint, or of a mix in writing.

        Parameters
        ----------
        parts : e.g. {"titanium-white": 3, "PB29": 1}, or "3 titanium-white + 1 PB29"
        view : light and observer; D65 / 2 degree unless told

        Raises
        ------
        NotationError : for a paint that is not here, or parts that are not above zero
        """
        if isinstance(parts, str):
            parts = parse_mix(parts, self.names)
        found = [self[name] for name in parts]
        try:
            amounts = tuple(map(float, parts.values()))
        except (TypeError, ValueError):
            raise NotationError("the parts of a mix must be numbers") from None
        return Mixture(tuple(found), amounts, view or viewing())


@dataclass(frozen=True, eq=False)
class PigmentTable(_Paints):
    """A pigment table: paints in the unit of one and the same white, by id.

    Attributes
    ----------
    paints : in the order of the file
    path : where it was read from
    notes : what was done to the figures on reading, in words
    """

    paints: tuple[Paint, ...]
    path: str = ""
    notes: tuple[str, ...] = ()

    def palette(self, names: Sequence[str], name: str = "", about: str = "") -> "Palette":
        """Return a palette of paints of this table, by id or Colour Index name.

        Raises
        ------
        PaletteError : if a paint is not in the table, is there twice, or none is given
        """
        paints: list[Paint] = []
        for wanted in names:
            try:
                paint = self[wanted]
            except NotationError as error:
                raise PaletteError(f"palette {name or 'given'}: {error}") from None
            if paint in paints:
                raise PaletteError(f"palette {name or 'given'}: {paint.id} is listed twice")
            paints.append(paint)
        if not paints:
            raise PaletteError(f"palette {name or 'given'}: it lists no paints")
        return Palette(tuple(paints), self, name, about)

    @property
    def white(self) -> Paint | None:
        """The first white, in which tints are made unless another is named; None without one."""
        return next((paint for paint in self.paints if paint.is_white), None)

    def strength(self, paint: Paint) -> float:
        """Return tinting strength relative to ultramarine blue, in the first white; ASTM D4838.

        For a white, and in a table without those two paints, nan.
        """
        if self.white is None or _STRENGTH_REFERENCE not in self or paint.is_white:
            return math.nan
        return tinting_strength(paint, self[_STRENGTH_REFERENCE], self.white)


@dataclass(frozen=True, eq=False)
class Palette(_Paints):
    """The tubes that a painter has at hand.

    Attributes
    ----------
    paints : in the order of the file
    table : the table that they are from
    name, about : as in the file

    Raises
    ------
    TableError : if K and S of the paints stand in different units
    """

    paints: tuple[Paint, ...]
    table: PigmentTable
    name: str = ""
    about: str = ""

    def __post_init__(self) -> None:
        common_unit(self.paints)


# --- reading a table ----------------------------------------------------------------------------


def read_table(path: str | PathLike[str] | None = None) -> PigmentTable:
    """Read a pigment table, the bundled one unless a path is given, and check everything in it.

    Raises
    ------
    TableError : says what is wrong and where (file, row, column)
    """
    file = Path(path) if path is not None else bundled("paints.csv")
    return _table(file, read_text(file, TableError))


def _table(file: Path, text: str) -> PigmentTable:
    """Return the table of a text; TableError, which names `file`, if it does not make sense."""
    rows = csv_rows(file, text, TableError)
    if not rows:
        raise TableError(f"{file}: the file is empty; a table has a header and a row per paint")
    header = [name.strip() for name in rows[0][1]]
    facts, curves = _columns(file, header)
    notes: list[str] = []
    by_id: dict[str, Paint] = {}
    for line, cells in rows[1:]:
        paint = _paint(file, line, header, cells, facts, curves)
        if paint.id in by_id:
            raise TableError(f"{file}, row {line}, column id: {paint.id!r} is there twice")
        by_id[paint.id] = paint
    if not by_id:
        raise TableError(f"{file}: it has a header but no paints")
    if len({paint.surface for paint in by_id.values()}) > 1:
        raise TableError(
            f"{file}: saunderson_k1, saunderson_k2 and dark_loss must be the same for all paints"
        )
    try:
        common_unit(by_id.values())
    except TableError as error:
        raise TableError(f"{file}, column unit: {error}") from None
    grid = np.array(list(curves["K"]))
    if not np.array_equal(grid, WAVELENGTHS):
        notes.append(
            f"curves on {grid[0]:g}-{grid[-1]:g} nm were brought to the grid 380-730 nm by 10"
        )
        if grid[0] > WAVELENGTHS[0] or grid[-1] < WAVELENGTHS[-1]:
            notes.append("beyond their ends the curves keep their last values")
    return PigmentTable(tuple(by_id.values()), str(file), tuple(notes))


def _columns(file: Path, header: list[str]) -> tuple[dict[str, int], dict[str, dict[float, int]]]:
    """Return where each fact and each wavelength of K and S stands; TableError if they are off."""
    for mark, other in ((";", "semicolons"), ("\t", "tabs")):
        if len(header) == 1 and mark in header[0]:
            raise TableError(
                f"{file}: its columns are parted by {other}; save it with commas between them, "
                "and points in the numbers"
            )
    facts: dict[str, int] = {}
    curves: dict[str, dict[float, int]] = {"K": {}, "S": {}}
    for place, name in enumerate(header):
        match = _CURVE.match(name)
        if name in header[:place] or (match and float(match[2]) in curves[match[1]]):
            raise TableError(f"{file}, column {name or place + 1}: it is there twice")
        if match:
            curves[match[1]][float(match[2])] = place
        elif name in _FACTS:
            facts[name] = place
        else:
            raise TableError(
                f"{file}, column {name[:40]!r}: not a column of a pigment table"
                + suggestion(name, _FACTS)
                + "; curves are K380 .. K730 and S380 .. S730"
            )
    if "id" not in facts:
        raise TableError(f"{file}: the column id is missing")
    for quantity, places in curves.items():
        if not places:
            raise TableError(f"{file}: the columns {quantity}380 .. {quantity}730 are missing")
        if fault := grid_fault(list(places)):
            column = header[list(places.values())[fault[0]]]
            raise TableError(f"{file}, column {column}: {fault[1]}")
    if list(curves["K"]) != list(curves["S"]):
        odd = sorted(set(curves["K"]) ^ set(curves["S"]))[0]
        raise TableError(f"{file}: K and S must stand at the same wavelengths; {odd:g} is in one")
    return facts, curves


def _paint(
    file: Path,
    line: int,
    header: list[str],
    cells: list[str],
    facts: dict[str, int],
    curves: dict[str, dict[float, int]],
) -> Paint:
    """Return the paint of one row; TableError if a cell does not make sense."""

    def wrong(column: str, why: str) -> TableError:
        return TableError(f"{file}, row {line}, column {column}: {why}")

    if len(cells) != len(header):
        raise TableError(f"{file}, row {line}: {len(cells)} cells under {len(header)} columns")

    def fact(name: str) -> str:
        return " ".join(cells[facts[name]].split()) if name in facts else ""

    def number(column: str, cell: str) -> float:
        try:
            value = float(cell)
        except ValueError:
            raise wrong(column, f"{cell.strip()!r} is not a number") from None
        if not 0 <= value <= _GREATEST:
            raise wrong(column, f"{value:g} is not between 0 and {_GREATEST:g}")
        return value

    def known(name: str) -> float:
        return number(name, fact(name)) if fact(name) else math.nan

    def share(name: str, default: float) -> float:
        value = number(name, fact(name)) if fact(name) else default
        if value >= 1:
            raise wrong(name, f"{value:g} is not a share below 1")
        return value

    id = fact("id")
    if not ID.fullmatch(id):
        raise wrong("id", f"{id!r}: an id is lower-case words joined by hyphens, as burnt-umber")
    if fact("unit") and not ID.fullmatch(fact("unit")):
        raise wrong("unit", f"{fact('unit')!r} is not the id of a white, as zinc-white")
    for name, words in (("transparency", TRANSPARENCIES), ("basis", BASES)):
        if fact(name) and fact(name) not in words:
            raise wrong(name, f"{fact(name)!r} is not one of {', '.join(words)}")
    values = {
        quantity: [number(header[place], cells[place]) for place in places.values()]
        for quantity, places in curves.items()
    }
    grid = list(curves["K"])
    for w, k, s in zip(grid, values["K"], values["S"], strict=True):
        if k == s == 0:
            raise wrong(
                header[curves["S"][w]], "K and S are both zero: such a paint is not there at all"
            )
    surface = Surface(
        share("saunderson_k1", SURFACE.outside),
        share("saunderson_k2", SURFACE.inside),
        dark_loss=number("dark_loss", fact("dark_loss")) if fact("dark_loss") else 0.0,
    )
    return Paint(
        id=id,
        name=fact("name") or id.replace("-", " "),
        colour_index=tuple(fact("colour_index").split()),
        K=np.interp(WAVELENGTHS, grid, values["K"]),
        S=np.interp(WAVELENGTHS, grid, values["S"]),
        transparency=fact("transparency"),
        basis=fact("basis"),
        source=fact("source"),
        masstone_miss=known("masstone_miss"),
        tint_miss=known("tint_miss"),
        cautions=fact("cautions"),
        surface=surface,
        uncertainty=known("uncertainty"),
        unit=fact("unit"),
    )


def write_table(paints: Iterable[Paint], path: str | PathLike[str]) -> None:
    """Write a pigment table that :func:`read_table` reads; the file is whole or untouched.

    Raises
    ------
    TableError : if the file cannot be written, or :func:`read_table` would refuse it
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    curve = [f"{q}{w:.0f}" for q in "KS" for w in WAVELENGTHS]
    writer.writerow([*_FACTS, *curve])
    for p in paints:
        misses = [
            "" if math.isnan(m) else f"{m:.3f}"
            for m in (p.masstone_miss, p.tint_miss, p.uncertainty)
        ]
        writer.writerow(
            [p.id, p.name, " ".join(p.colour_index), p.transparency, p.basis, p.source, *misses,
             p.unit, p.cautions, f"{p.surface.outside:g}", f"{p.surface.inside:g}",
             f"{p.surface.dark_loss:g}", *(f"{v:.5g}" for v in (*p.K, *p.S))]
        )  # fmt: skip
    file = Path(path)
    _table(file, text.getvalue())
    write_whole(file, text.getvalue(), TableError)


# --- palettes -----------------------------------------------------------------------------------


def palette_names() -> list[str]:
    """Return the names of the bundled palettes."""
    return sorted(path.stem for path in bundled("palettes").glob("*.toml"))


def read_palette(name_or_path: str | PathLike[str], table: PigmentTable | None = None) -> Palette:
    """Read a palette: a bundled one by name, or a file.

    Parameters
    ----------
    name_or_path : e.g. "studio", or the path of a TOML file
    table : where its paints are looked up; the bundled one unless given

    Raises
    ------
    PaletteError : if there is no such palette, the file cannot be read, or a paint is not found
    """
    text = str(name_or_path)
    file = Path(text)
    if not text:
        raise PaletteError(
            f"the name of a palette is empty; bundled ones: {', '.join(palette_names())}; or give "
            "the path of a TOML file"
        )
    if text in palette_names():
        file = bundled("palettes") / f"{text}.toml"
    elif not os.path.exists(file) and file.suffix != ".toml" and file.name == text:
        raise PaletteError(
            f"no palette named {text!r}; bundled ones: {', '.join(palette_names())}; "
            "or give the path of a TOML file" + suggestion(text, palette_names())
        )
    try:
        content = tomllib.loads(read_text(file, PaletteError))
    except (ValueError, RecursionError) as error:  # TOMLDecodeError, and what its numbers raise
        raise PaletteError(f"{file}: not TOML: {error}") from None
    unknown = set(content) - {"name", "about", "paints"}
    if unknown:
        raise PaletteError(
            f"{file}: {sorted(unknown)[0]!r} is not a key of a palette (name, about, paints)"
        )
    paints = content.get("paints")
    if not isinstance(paints, list) or not all(isinstance(p, str) for p in paints):
        raise PaletteError(f'{file}: paints must be a list, as paints = ["titanium-white", "PB29"]')
    name, about = content.get("name", ""), content.get("about", "")
    for key, value in (("name", name), ("about", about)):
        if not isinstance(value, str) or not " ".join(value.split()).isprintable():
            raise PaletteError(f'{file}: {key} must be a text, as {key} = "Earths"')
    name, about = " ".join(name.split()), " ".join(about.split())
    known = table or read_table()
    try:
        return known.palette(paints, name or file.stem, about)
    except PaletteError as error:
        where = "" if known.path == str(bundled("paints.csv")) else f"; the table is {known.path}"
        raise PaletteError(f"{file}: {error}{where}") from None
