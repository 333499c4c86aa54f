"""Readings of paint from an instrument: drawdowns and swatches, by mixture and surface.

Three formats are read, told by what is in the file and not by its name:

- our own CSV: ``sample``, ``mixture``, ``surface``, then one column a wavelength [nm];
- CGATS.17 text (ISO 28178), as hand-held spectrophotometers export it;
- CxF3 (ISO 17972-1), with the packages of the extra ``mixlab[cxf]``.

An instrument knows nothing of mixtures. They are told by its name for the reading, as in
``04B: 9 zinc-white + 1 bone-black, over white`` (sample and surface may be left out), or by a
companion file of samples: see :func:`read_readings`.
"""


from collections import Counter
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.errors import ReadingError
from mixlab.measure.readings.cgats import is_cgats, read_cgats
from mixlab.measure.readings.curves import (
    Curve,
    count,
    decode,
    is_sparse,
    listed,
    on_grid,
    read_whole,
)
from mixlab.measure.readings.cxf import read_cxf
from mixlab.measure.readings.names import SURFACES, Companion, identified, parts_of, written
from mixlab.measure.readings.own import read_own
from mixlab.measure.readings.scale import scaled
from mixlab.text import shown

__all__ = ["SURFACES", "Reading", "Readings", "read_readings"]

@dataclass(frozen=True, eq=False)
class Reading:
    """One measured surface.

    Attributes
    ----------
    sample : the drawdown; films and grounds of one sample belong together
    parts : parts by paint id
    mixture : as written
    surface : "over-white", "over-black", "bare-white", "bare-black" (the ground beside the
        paint), or "opaque" (a film that hides its ground)
    reflectance : (36,) on :data:`mixlab.colour.spaces.WAVELENGTHS`, 0..1 (a little above 1 where
        the file says so); beyond what the file covers the end values are held
    covered : the shortest and the longest wavelength in the file [nm]
    where : place in the file, e.g. "row 7"
    """

    sample: str
    parts: dict[str, float]
    mixture: str
    surface: str
    reflectance: Array
    covered: tuple[float, float]
    where: str = ""


@dataclass(frozen=True, eq=False)
class Readings:
    """The readings of a file.

    Attributes
    ----------
    readings : in the order of the file, then the grounds that the file states once for many
    notes : what was taken and what was left, in words
    path : where they were read from
    """

    readings: tuple[Reading, ...]
    notes: tuple[str, ...]
    path: str

    @property
    def paints(self) -> tuple[str, ...]:
        """Ids of the paints in the mixtures, in the order of the file."""
        return tuple(dict.fromkeys(paint for reading in self.readings for paint in reading.parts))


def read_readings(
    path: str | PathLike[str], samples: str | PathLike[str] | None = None
) -> Readings:
    """Read measured reflectance.

    Parameters
    ----------
    path : a CSV, CGATS.17 or CxF3 file
    samples : a CSV file that says what the readings are, where the first does not: columns
        ``sample`` and ``mixture``; ``surface``, where the instrument's name does not end in it;
        ``id``, what the instrument calls the reading, where that is not the sample

    Returns
    -------
    The readings on the grid 380-730 nm by 10, and what was taken and left, in words.

    Raises
    ------
    ReadingError : one line that names the file, the place in it and what would be right
    """
    file = Path(path)
    content = read_whole(file)
    text, notes = decode(file, content)
    companion = None if samples is None else Companion(Path(samples))
    if text.lstrip().startswith("<"):
        kind, notes = "CxF3", []  # XML says itself how it is encoded
        curves, more = read_cxf(file, content)
    elif is_cgats(text):
        kind, (curves, more) = "CGATS.17", read_cgats(file, text)
    else:
        kind, (curves, more) = "CSV", read_own(file, text, companion is not None)
    notes += more
    curves, left = identified(file, curves, companion)
    if not curves:
        raise ReadingError(
            f"{file}: no reading tells its mixture; name it as in "
            "'3 titanium-white + 1 burnt-umber, over white', or give a file of samples with the "
            f"columns sample, mixture and surface (first left: {left[0]})"
        )
    curves, more = scaled(file, curves)
    notes += more
    if any(is_sparse(curve.wavelengths) for curve in curves):
        widest = max(float(np.diff(curve.wavelengths).max()) for curve in curves)
        notes.append(f"read in steps of {widest:g} nm; what lies between is filled in smoothly")
    found, ground_notes = _with_grounds(file, [_reading(curve) for curve in curves])
    readings, repeat_notes = _without_copies(found)
    notes += _ends(readings)
    if any(curve.label.mixture and not curve.label.sample for curve in curves):
        notes.append("where no sample is named, readings of one mixture are taken as one drawdown")
    if silent := sum(bool(c.label.mixture) and not c.label.surface for c in curves):
        notes.append(
            f"{count(silent, 'reading')} without a surface, taken as opaque: a film that hides "
            "its ground"
        )
    drawdowns = len({reading.sample for reading in readings})
    paints = len({paint for reading in readings for paint in reading.parts})
    notes = [
        f"taken from {kind}: {count(len(readings), 'reading')} of "
        f"{count(drawdowns, 'drawdown')}, {count(paints, 'paint')}",
        *notes,
        *ground_notes,
        *repeat_notes,
    ]
    if left:
        notes.append(f"left, as nothing tells their mixture: {listed(left)}")
    if companion is not None:
        notes += [f"{companion.path}: {note}" for note in companion.notes]
        if companion.unused:
            unused = listed([shown(name) for name in companion.unused])
            notes.append(f"{companion.path}: no reading is named {unused}")
    return Readings(readings, tuple(notes), str(file))


def _reading(curve: Curve) -> Reading:
    label = curve.label
    parts = parts_of(label.mixture) if label.mixture else {}
    return Reading(
        sample=label.sample or written(parts),
        parts=parts,
        mixture=label.mixture,
        surface=label.surface or "opaque",
        reflectance=on_grid(curve.wavelengths, curve.values),
        covered=(float(curve.wavelengths[0]), float(curve.wavelengths[-1])),
        where=curve.where,
    )


def _with_grounds(file: Path, readings: list[Reading]) -> tuple[list[Reading], list[str]]:
    """Give the bare grounds that bear no mixture to every drawdown that has no ground of its own.

    Raises
    ------
    ReadingError : if there is nothing but grounds
    """
    notes: list[str] = []
    films = [reading for reading in readings if reading.parts]
    if not films:
        raise ReadingError(f"{file}: it holds bare grounds only, and no paint")
    for ground in ("white", "black"):
        bare = f"bare-{ground}"
        shared = [r for r in readings if not r.parts and r.surface == bare]
        if not shared:
            continue
        mean = np.mean([reading.reflectance for reading in shared], axis=0)
        low, high = zip(*(reading.covered for reading in shared), strict=True)
        own = {film.sample for film in films if film.surface == bare}
        over = {film.sample: film for film in films if film.surface == f"over-{ground}"}
        lacking = [film for sample, film in over.items() if sample not in own]
        films += [
            replace(film, surface=bare, reflectance=mean, covered=(max(low), min(high)))
            for film in lacking
        ]
        notes.append(
            f"the bare {ground} ground ({count(len(shared), 'reading')} without a drawdown"
            + (", their mean" if len(shared) > 1 else "")
            + f") stands for {count(len(lacking), 'drawdown')}"
        )
    return films, notes


def _without_copies(readings: list[Reading]) -> tuple[tuple[Reading, ...], list[str]]:
    """Leave out readings that repeat another figure for figure; keep true repeats apart."""
    notes: list[str] = []
    first: dict[tuple[str, str, bytes], Reading] = {}
    copies: list[str] = []
    for reading in readings:
        key = (reading.sample, reading.surface, reading.reflectance.tobytes())
        if first.setdefault(key, reading) is not reading:
            copies.append(f"{reading.where} (as {first[key].where})")
    if copies:
        notes.append(f"left, as they repeat another figure for figure: {listed(copies)}")
    times = Counter((sample, surface) for sample, surface, _ in first)
    repeated = [f"{shown(s)} {surface} {n} times" for (s, surface), n in times.items() if n > 1]
    if repeated:
        notes.append(f"repeated readings are kept apart, not averaged: {listed(repeated)}")
    return tuple(first.values()), notes


def _ends(readings: tuple[Reading, ...]) -> list[str]:
    """Return what the readings cover, if they leave some of the grid open."""
    covered = dict.fromkeys(reading.covered for reading in readings)
    short = [c for c in covered if c[0] > WAVELENGTHS[0] or c[1] < WAVELENGTHS[-1]]
    if not short:
        return []
    spans = listed([f"{low:g}-{high:g} nm" for low, high in sorted(short)])
    return [f"covered: {spans}; beyond that, to 380 and 730 nm, the end values are held"]
