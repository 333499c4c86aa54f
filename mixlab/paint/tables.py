"""Pigment tables and palettes: read, check, write.

A table is a CSV file; :mod:`mixlab.paint.check` says what stands in it. A palette is a TOML file:
``name``, ``about`` and ``paints``, a list of names of paints of a table.
"""

import math
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from os import PathLike
from pathlib import Path

import numpy as np

from mixlab import limits
from mixlab.arrays import Array, Indices
from mixlab.colour.spaces import WAVELENGTHS, Viewing, viewing
from mixlab.errors import NotationError, PaletteError, TableError, suggestion
from mixlab.files import bundled, read_text, read_toml
from mixlab.paint.check import FACTS, check
from mixlab.paint.mixtures import Mixture
from mixlab.paint.names import find_name, is_name, names_of, parse_mix
from mixlab.paint.paints import Paint, common_unit, tinting_strength
from mixlab.writing import csv_text, write_whole

_STRENGTH_REFERENCE = "ultramarine-blue"


class _Paints:
    """Paints in an order, found by name; see :mod:`mixlab.paint.names`."""

    paints: tuple[Paint, ...]

    @property
    def ids(self) -> list[str]:
        """Ids of the paints, in order."""
        return [paint.id for paint in self.paints]

    @cached_property
    def names(self) -> dict[str, list[str]]:
        """What each name can stand for; see :mod:`mixlab.paint.names`."""
        return names_of(self.paints)

    @cached_property
    def K(self) -> Array:
        """Absorption (p, 36)."""
        return np.array([paint.K for paint in self.paints])

    @cached_property
    def S(self) -> Array:
        """Scattering (p, 36)."""
        return np.array([paint.S for paint in self.paints])

    @cached_property
    def reserve(self) -> Indices:
        """How far each tube (p,) is held in reserve [parts]; see :attr:`Paint.reserve`."""
        return np.array([paint.reserve for paint in self.paints])

    def __len__(self) -> int:
        return len(self.paints)

    def __iter__(self) -> Iterator[Paint]:
        return iter(self.paints)

    def __contains__(self, name: str) -> bool:
        """Return whether a whole name is that of a paint here, or of several."""
        return is_name(name, self.names)

    @cached_property
    def _by_id(self) -> dict[str, Paint]:
        return {paint.id: paint for paint in self.paints}

    def __getitem__(self, name: str) -> Paint:
        """Return the one paint of that name; NotationError if there is none, or several."""
        return self._by_id[find_name(name, self.names)]

    def mix(self, parts: Mapping[str, float] | str, view: Viewing | None = None) -> Mixture:
        """Return a mix of parts by paint, or of a mix in writing.

        Parameters
        ----------
        parts : e.g. {"titanium-white": 3, "PB29": 1}, "3 titanium-white + 1 PB29", or "PB29"
        view : light, observer and finish; D65, 2 degree, gloss unless told

        Raises
        ------
        NotationError : for a paint that is not here, or parts that are not above zero
        """
        if isinstance(parts, str):
            parts = parse_mix(parts, self.names)
        found = tuple(self[name] for name in parts)
        try:
            return Mixture(found, tuple(map(float, parts.values())), view or viewing())
        except (TypeError, ValueError):
            raise NotationError("the parts of a mix must be numbers") from None


@dataclass(frozen=True, eq=False)
class PigmentTable(_Paints):
    """A pigment table: paints in the unit of one and the same white, by id.

    Attributes
    ----------
    paints : in the order of the file
    path : where it was read from
    notes : what was done to the figures on reading, in words
    own : ids of the painter's own tubes, which come before the bundled paints; see `read_table`
    """

    paints: tuple[Paint, ...]
    path: str = ""
    notes: tuple[str, ...] = ()
    own: tuple[str, ...] = ()

    @cached_property
    def names(self) -> dict[str, list[str]]:
        """What each name can stand for: an id, then a name of an own tube, then any other."""
        own = set(self.own)
        mine = names_of(paint for paint in self.paints if paint.id in own)
        return names_of(self.paints) | {n: of for n, of in mine.items() if n not in self._by_id}

    def palette(self, names: Sequence[str], name: str = "", about: str = "") -> "Palette":
        """Return a palette of paints of this table, by id or Colour Index name.

        Raises
        ------
        PaletteError : if a paint is not in the table, is there twice, or none is given
        """
        paints: dict[str, Paint] = {}
        faults = [] if names else ["it lists no paints"]
        for wanted in names:
            if len(faults) == limits.FAULTS:
                break
            try:
                paint = self[wanted]
                faults += [f"{paint.id} is listed twice"] if paint.id in paints else []
                paints[paint.id] = paint
            except NotationError as error:
                faults.append(str(error))
        if faults:
            faults = [f"palette {name or 'given'}: {fault}" for fault in faults]
            raise PaletteError(faults[0], faults)
        return Palette(tuple(paints.values()), self, name, about)

    @property
    def white(self) -> Paint | None:
        """The first white, in which tints are made unless another is named; None without one."""
        return next((paint for paint in self.paints if paint.is_white), None)

    def strength(self, paint: Paint) -> float:
        """Return tinting strength relative to ultramarine blue, in the first white; ASTM D4838.

        For a white, and in a table without those two paints, nan.
        """
        if self.white is None or _STRENGTH_REFERENCE not in self.ids or paint.is_white:
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


def read_table(
    path: str | PathLike[str] | None = None, with_bundled: bool = False
) -> PigmentTable:
    """Read a pigment table, the bundled one unless a path is given, and check everything in it.

    Parameters
    ----------
    with_bundled : whether the bundled paints follow those of the file, which are then the
        painter's own; one of the same id stands for the bundled one

    Raises
    ------
    TableError : says what is wrong and where (file, row, column); `faults` holds every such line;
        or that the paints stand in another unit than the bundled ones, beside which they cannot be
    """
    if path is None:
        return _bundled_table()
    file = Path(path)
    table = _table(file, read_text(file, TableError))
    if not with_bundled:
        return table
    own = set(table.ids)
    paints = *table, *(paint for paint in read_table() if paint.id not in own)
    try:
        common_unit(paints)
    except TableError as error:
        raise TableError(f"{file}: {error}; --only keeps to the paints of the file") from None
    return replace(table, paints=paints, own=tuple(table.ids))


@lru_cache(maxsize=1)
def _bundled_table() -> PigmentTable:
    """Return the bundled table, one and the same: what was worked out for its paints is kept."""
    file = bundled("paints.csv")
    return _table(file, read_text(file, TableError))


def _table(file: Path, text: str) -> PigmentTable:
    """Return the table of a text; TableError, which names `file` and holds all faults."""
    made = check(file, text)
    if made.faults:
        raise TableError(made.faults[0], made.faults)
    return PigmentTable(tuple(made.paints), str(file), tuple(made.notes))


def write_table(paints: Iterable[Paint], path: str | PathLike[str]) -> PigmentTable:
    """Write a pigment table, and return it as it is read; the file is whole or untouched.

    Raises
    ------
    TableError : if the file cannot be written, or :func:`read_table` would refuse it
    """
    rows = []
    for p in paints:
        misses = p.masstone_miss, p.tint_miss, p.uncertainty
        rows.append(
            [p.id, p.name, " ".join(p.colour_index), p.transparency, p.basis, p.source,
             *("" if math.isnan(miss) else f"{miss:.3f}" for miss in misses), p.unit, p.cautions,
             f"{p.surface.outside:g}", f"{p.surface.inside:g}",
             *(f"{v:.5g}" for v in (*p.K, *p.S))]
        )  # fmt: skip
    file, curves = Path(path), [f"{q}{w:.0f}" for q in "KS" for w in WAVELENGTHS]
    text = csv_text([*FACTS, *curves], rows)
    written = _table(file, text)
    write_whole(file, text, TableError)
    return written


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
    text, ours = str(name_or_path), palette_names()
    known = table or read_table()
    if text in ours:
        return _bundled_palette(bundled("palettes") / f"{text}.toml", known)
    file = Path(text)
    if not text or not (os.path.exists(file) or file.suffix == ".toml" or file.name != text):
        wrong = f"no palette named {text!r}" if text else "the name of a palette is empty"
        raise PaletteError(
            f"{wrong}; bundled ones: {', '.join(ours)}; or give the path of a TOML file"
            + suggestion(text, ours)
        )
    return _palette(file, known)


def _palette(file: Path, known: PigmentTable) -> Palette:
    """Return the palette of a file, with the paints of a table; PaletteError."""
    content = read_toml(file, PaletteError)
    faults = [
        f"{key!r} is not a key of a palette (name, about, paints)"
        for key in sorted(set(content) - {"name", "about", "paints"})
    ]
    paints = content.get("paints")
    if not isinstance(paints, list) or not all(isinstance(p, str) for p in paints):
        faults.append('paints must be a list, as paints = ["titanium-white", "PB29"]')
        paints = None
    texts = []
    for key in ("name", "about"):
        value = content.get(key, "")
        texts.append(" ".join(value.split()) if isinstance(value, str) else "\0")
        if not texts[-1].isprintable():
            faults.append(f'{key} must be a text, as {key} = "Earths"')
            texts[-1] = ""
    if paints is not None:
        try:
            made = known.palette(paints, texts[0] or file.stem, texts[1])
        except PaletteError as error:
            own = known.path != str(bundled("paints.csv"))
            where = f"; the table is {known.path}" if own else ""
            faults += [f"{fault}{where}" for fault in error.faults]
    if faults:
        faults = [f"{file}: {fault}" for fault in faults]
        raise PaletteError(faults[0], faults)
    return made


_bundled_palette = lru_cache(maxsize=16)(_palette)
