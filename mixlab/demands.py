"""What a set of colours asks of a palette: how much is within reach, and what each tube is for.

The colours come from a photo, by area; from a list in a file; from all chips of the Munsell
renotation that a surface can have; from the reflectances of a published standard.

References
----------
.. [1] MacAdam, "Maximum visual efficiency of colored materials", J. Opt. Soc. Am. 25 (1935)
       361-367: no surface is purer than one that reflects all or nothing at each wavelength.
.. [2] Centore, "A zonohedral approach to optimal colours", Color Res. Appl. 38 (2013) 110-119: the
       colours of all surfaces are a zonohedron in XYZ, the sum of the weights of each wavelength.
"""

import csv
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.body import Seeds
from mixlab.colorimetry import (
    WAVELENGTHS,
    Viewing,
    ciede2000,
    lab_to_munsell,
    munsell_to_lab,
    munsell_to_xyz,
    reflectance_to_lab,
    rgb_to_lab,
    viewing,
)
from mixlab.counting import count_colours, gathered
from mixlab.errors import MixlabError, ReachError, suggestion
from mixlab.files import bundled, csv_rows, read_text
from mixlab.munsell import FAMILIES, hue_family, parse_munsell, write_munsell
from mixlab.photos import read_photo
from mixlab.reach import Reach
from mixlab.recipes import TOLERANCE, medium_of
from mixlab.recipes import directions as directions_of
from mixlab.targets import from_hex, from_lab, from_munsell

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]

STANDARDS = {
    "iso-17321-1": "24 patches of the test chart of ISO 17321-1",
    "cie-13.3": "14 test colour samples of CIE 13.3-1995",
    "cie-224": "99 test colour samples of CIE 224:2017",
}
"""Reflectances that colour-science bundles, by the standard that they are from."""

MERGED = 1.5
"""Size of the boxes in which the colours of a photo are taken together, in coordinates that are
near to CIEDE2000: none is moved by more than about 1."""

MOST_COLOURS = 200_000
"""Greatest number of colours in a list."""

_TRACE = 1e-3  # effect of a paint that is not worth a mention
_ALIKE = 3  # paints of the table that are tried in a tube's place
_TRIED = 300  # colours for which they are
_TINT = 0.1


@dataclass(frozen=True, eq=False)
class Colours:
    """Colours that a painter wants, and how much each counts.

    Attributes
    ----------
    given : where they are from, in words
    lab : CIELAB (n, 3) under `view`
    weight : (n,), sum to one
    names : of each, or () where they have none
    view : light and observer
    notes : what the painter should know about how sure they are
    by_area : whether the weights are shares of an area
    """

    given: str
    lab: Array
    weight: Array
    names: tuple[str, ...]
    view: Viewing
    notes: tuple[str, ...] = ()
    by_area: bool = False

    def __len__(self) -> int:
        return len(self.lab)

    @property
    def alike(self) -> bool:
        """Whether all count the same."""
        return bool(np.ptp(self.weight) <= 1e-12)


def _colours(
    given: str, lab: ArrayLike, view: Viewing, names: Iterable[str] = (), weight: ArrayLike = 1.0
) -> Colours:
    lab = np.asarray(lab, dtype=float).reshape(-1, 3)
    weight = np.broadcast_to(np.asarray(weight, dtype=float), len(lab))
    return Colours(given, lab, weight / weight.sum(), tuple(names), view)


# --- from a list --------------------------------------------------------------------------------

_COLUMNS = ("name", "weight", "L", "a", "b", "hex", "munsell")


def from_list(path: str | PathLike[str], view: Viewing | None = None) -> Colours:
    """Return the colours of a CSV file.

    Its first row names the columns: L, a and b, or hex, or munsell; and, if wanted, name and
    weight. Without such a row each row is one colour: "#8a5a3c", "7.5YR 4/6", or three numbers
    L*, a*, b*.

    Raises
    ------
    ReachError : says what is wrong and in which row
    """
    view, file = view or viewing(), Path(path)
    rows = [
        (line, [cell.strip() for cell in cells])
        for line, cells in csv_rows(file, read_text(file, ReachError), ReachError)
    ]
    known = {name.lower(): name for name in _COLUMNS}
    header = [known.get(cell.lower(), "") for cell in rows[0][1]] if rows else []
    headed = any(header)
    for line, cells in rows:
        if any(";" in cell for cell in cells) and (len(cells) == 1 or not headed):
            raise ReachError(f"{file}, row {line}: write commas between cells, not semicolons")
    if headed:
        _check_header(file, rows[0][1], header)
        rows = rows[1:]
    if not rows:
        raise ReachError(f"{file}: it holds no colours; write one a row, as #8a5a3c or 45,15,20")
    if len(rows) > MOST_COLOURS:
        raise ReachError(f"{file}: {len(rows)} colours; at most {MOST_COLOURS} can be asked about")
    labs, names, weights = [], [], []
    for line, cells in rows:
        try:
            lab, name, weight = _one(cells, header if headed else [], view)
        except MixlabError as error:
            raise ReachError(f"{file}, row {line}: {error}") from None
        labs.append(lab)
        names.append(name)
        weights.append(weight)
    if not 0 < sum(weights) < math.inf:
        what = "are all zero" if sum(weights) == 0 else "add up to more than can be counted"
        raise ReachError(f"{file}: the weights {what}")
    return _colours(f"{file}", labs, view, names, weights)


def _check_header(file: Path, cells: list[str], header: list[str]) -> None:
    for cell, name in zip(cells, header, strict=True):
        if not name:
            raise ReachError(
                f"{file}, column {cell[:40]!r}: not a column of a list of colours"
                + suggestion(cell, _COLUMNS) + f" (columns: {', '.join(_COLUMNS)})"
            )  # fmt: skip
        if header.count(name) > 1:
            raise ReachError(f"{file}, column {cell}: it is there twice")
    kinds = [kind for kind in (("L", "a", "b"), ("hex",), ("munsell",)) if set(kind) & set(header)]
    if len(kinds) != 1 or not set(kinds[0]) <= set(header):
        raise ReachError(f"{file}: its columns must hold L, a and b, or hex, or munsell, one kind")


def _one(cells: list[str], header: list[str], view: Viewing) -> tuple[Array, str, float]:
    """Return CIELAB (3,), name and weight of one row."""
    if not header:
        text = ",".join(cells)
        if len(cells) == 3:
            return from_lab(text, view).lab, text, 1.0
        return _from_word(text, view), text, 1.0
    if len(cells) != len(header):
        raise ReachError(f"{len(cells)} cells under {len(header)} columns")
    row = dict(zip(header, cells, strict=True))
    text = ",".join(row[c] for c in ("L", "a", "b")) if "L" in row else ""
    text = text or row.get("hex", "") or row.get("munsell", "")
    if "L" in row:
        lab = from_lab(text, view).lab
    else:
        lab = (from_hex if "hex" in row else from_munsell)(text, view).lab
    try:
        weight = float(row.get("weight", "") or 1.0)
    except ValueError:
        weight = math.nan
    if not (math.isfinite(weight) and weight >= 0):
        raise ReachError(f"the weight {row['weight']!r} is not a number from 0 on")
    return lab, row.get("name") or text, weight


def _from_word(text: str, view: Viewing) -> Array:
    if text.startswith("#") or re.fullmatch("[0-9a-fA-F]{6}", text):
        return from_hex(text, view).lab
    return from_munsell(text, view).lab


# --- from a photo -------------------------------------------------------------------------------


def from_picture(path: str | PathLike[str], view: Viewing | None = None) -> Colours:
    """Return the colours of a picture file, each weighted by its area.

    Colours that share a box of :data:`MERGED` are taken together. Transparent pixels are left out.
    The picture's white becomes the light's white.

    Raises
    ------
    PhotoError : if the file is no picture that can be read, or nothing in it is opaque
    """
    view = view or viewing()
    photo = read_photo(path)
    counted = count_colours(photo)
    lab, area = rgb_to_lab(counted.rgb, view), counted.area.astype(float)
    lab, area = merged(lab, area)
    order = np.argsort(-area, kind="stable")
    colours = _colours(f"photo {path}, {photo.width} x {photo.height}", lab[order], view,
                       weight=area[order])  # fmt: skip
    return replace(colours, notes=photo.notes, by_area=True)


def merged(lab: Array, weight: Array, size: float = MERGED) -> tuple[Array, Array]:
    """Return the mean CIELAB (m, 3) and the weight (m,) of colours that share a box."""
    box, means = gathered(lab, weight, size)
    return means, np.bincount(box, weight).astype(float)


def in_boxes(colours: Colours, most: int) -> tuple[Colours, Array]:
    """Return the means of at most so many boxes of colours, each with the weight of all in it.

    The boxes are as small as that allows, and no smaller than :data:`MERGED`.

    Returns
    -------
    the means, the heaviest first, and how far each colour (n,) is from the mean that stands for it
    [CIEDE2000]
    """
    size = MERGED
    box, means = gathered(colours.lab, colours.weight, size)
    while len(means) > most:
        size *= 1.1
        box, means = gathered(colours.lab, colours.weight, size)
    off = ciede2000(colours.lab, means[box])
    weight = np.bincount(box, colours.weight).astype(float)
    order = np.argsort(-weight, kind="stable")
    return replace(colours, lab=means[order], weight=weight[order], names=()), off


# --- published sets -----------------------------------------------------------------------------


def inside_optimal(xyz: ArrayLike, view: Viewing) -> Mask:
    """Return whether a surface can have these XYZ (..., 3) under a light and observer.

    The colours of all surfaces are the zonohedron of the weights of each wavelength: its faces lie
    across each pair of them (Centore 2013), and its edge is the limit of MacAdam (1935).
    """
    xyz = np.asarray(xyz, dtype=float)
    normals, offsets = _faces(view)
    flat = xyz.reshape(-1, 3) @ normals.T
    return np.asarray((flat <= offsets + 1e-9).all(axis=1).reshape(xyz.shape[:-1]))


@lru_cache(maxsize=4)
def _faces(view: Viewing) -> tuple[Array, Array]:
    """Return normals (f, 3) and offsets (f,) of the zonohedron."""
    first, second = np.triu_indices(len(view.weights), 1)
    normals = np.cross(view.weights[first], view.weights[second])
    length = np.linalg.norm(normals, axis=1)
    normals = normals[length > 1e-12] / length[length > 1e-12, None]
    normals = np.concatenate([normals, -normals])
    return normals, np.maximum(normals @ view.weights.T, 0).sum(axis=1)


@cache
def _chips() -> Array:
    """Return hue, value and chroma (n, 3) of the chips of the renotation that a surface can have.

    At the whole values 1 to 9; the limit is that of the renotation's own light, C and 2 degrees.
    """
    with open(bundled("munsell.csv"), newline="", encoding="utf-8") as stream:
        reader = csv.DictReader(stream)
        notations = [
            f"{row['hue']} {row['value']}/{row['chroma']}"
            for row in reader
            if float(row["value"]) in range(1, 10)
        ]
    hvc = np.array([parse_munsell(notation) for notation in notations])
    home = viewing("C", "2")
    return hvc[inside_optimal(munsell_to_xyz(hvc, home), home)]


def munsell_chips(view: Viewing | None = None) -> Colours:
    """Return the chips of the Munsell renotation at values 1 to 9 that are inside optimal colours.

    As they are in the renotation: hues 2.5 apart, chromas 2 apart, neutrals left out.
    """
    view, hvc = view or viewing(), _chips()
    names = (write_munsell(chip, 1).replace(".0", "") for chip in hvc)
    given = "chips of the Munsell renotation that a surface can have"
    return _colours(given, munsell_to_lab(hvc, view), view, names)


def from_standard(name: str, view: Viewing | None = None) -> Colours:
    """Return the colours of the reflectances of a published standard; a key of STANDARDS.

    Raises
    ------
    ReachError : for a name that is not there, or where colour-science is not installed
    """
    view = view or viewing()
    if name.lower() not in STANDARDS:
        raise ReachError(
            f"no standard {name!r}; standards: {', '.join(STANDARDS)}" + suggestion(name, STANDARDS)
        )
    curves = _standard(name.lower())
    lab = reflectance_to_lab(np.array(list(curves.values())), view)
    return _colours(STANDARDS[name.lower()], lab, view, curves)


@cache
def _standard(name: str) -> dict[str, Array]:
    """Return reflectances (36,) by the name of the sample."""
    import warnings

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from colour import SDS_COLOURCHECKERS
            from colour.quality.cfi2017 import load_TCS_CIE2017
            from colour.quality.datasets import SDS_TCS
    except ImportError:
        raise ReachError("the reflectances of standards need colour-science installed") from None

    if name == "cie-224":
        from colour import SpectralShape

        sds = load_TCS_CIE2017(SpectralShape(380, 780, 5))
        values = np.asarray(sds.values).T
        return {f"sample {i}": np.interp(WAVELENGTHS, sds.wavelengths, curve)
                for i, curve in enumerate(values, start=1)}  # fmt: skip
    if name == "cie-13.3":
        found = {f"sample {i}": sd for i, sd in enumerate(SDS_TCS["CIE 1995"].values(), 1)}
    else:
        found = dict(SDS_COLOURCHECKERS["ISO 17321-1"])
    return {key: np.interp(WAVELENGTHS, sd.wavelengths, sd.values) for key, sd in found.items()}


# --- coverage -----------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Coverage:
    """How much of a set of colours is within reach.

    Attributes
    ----------
    reach : of the palette
    colours : what is asked
    tolerance : miss that passes [CIEDE2000]
    miss : (n,), CIEDE2000 from each colour to the nearest mix
    lab : (n, 3), of those mixes
    shares : (n, p), of those mixes; parts need not be whole
    """

    reach: Reach
    colours: Colours
    tolerance: float
    miss: Array
    lab: Array
    shares: Array

    @property
    def within(self) -> Mask:
        """Which colours (n,) are within the tolerance."""
        return np.asarray(self.miss <= self.tolerance)

    @property
    def share(self) -> float:
        """Share of the weight that is within the tolerance, 0..1."""
        return float(self.colours.weight[self.within].sum())

    @property
    def mean_miss(self) -> float:
        """Mean miss, weighted [CIEDE2000]."""
        return float(self.colours.weight @ self.miss)

    def directions(self, row: int) -> tuple[str, ...]:
        """Return in words what one colour has that the nearest mix lacks, the greatest first."""
        return directions_of(self.colours.lab[row], self.lab[row])

    def by_direction(self) -> dict[str, float]:
        """Return the weight of the colours beyond the tolerance by their first word, 0..1."""
        found: dict[str, float] = {}
        for row in np.flatnonzero(~self.within):
            word = self.directions(int(row))[0]
            found[word] = found.get(word, 0.0) + float(self.colours.weight[row])
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def by_family(self) -> dict[str, tuple[float, float]]:
        """Return, by Munsell hue family, the weight asked for and the weight within tolerance.

        Colours of a chroma below 1 are neutrals, "N".
        """
        hvc = lab_to_munsell(self.colours.lab, self.colours.view)
        names = np.where(hvc[:, 2] < 1, "N", np.array(FAMILIES)[hue_family(hvc[:, 0])])
        weight = self.colours.weight
        return {
            name: (float(weight[names == name].sum()),
                   float(weight[(names == name) & self.within].sum()))
            for name in (*FAMILIES, "N")
            if (names == name).any()
        }  # fmt: skip


def checked_tolerance(tolerance: float) -> float:
    """Return the tolerance; ReachError if it is not a number above zero."""
    if not (math.isfinite(tolerance) and tolerance > 0):
        raise ReachError(f"a tolerance of {tolerance:g}: it must be above zero; 2 is usual")
    return tolerance


def cover(reach: Reach, colours: Colours, tolerance: float = TOLERANCE) -> Coverage:
    """Return how much of a set of colours a palette reaches.

    Raises
    ------
    ReachError : if the colours are for another light, or the tolerance is not above zero
    """
    checked_tolerance(tolerance)
    if colours.view is not reach.view:
        raise ReachError("the colours must be seen under the light and observer of the reach")
    shares, lab, miss = reach.nearest(colours.lab)
    return Coverage(reach, colours, tolerance, miss, lab, shares)


# --- what each tube is for ----------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Tube:
    """What one tube of a palette is for.

    Attributes
    ----------
    id : of the paint
    used : weight of the colours within the tolerance whose nearest mix has it, 0..1
    lost : weight of the colours that nothing else on the palette brings within the tolerance, 0..1
    only_for : rows of those colours, the heaviest first
    volume_lost : share of the reach's volume that is lost without it, 0..1
    stand_ins : tubes of the palette that take its place where one can, with the share of `used` in
        which each does most, the greatest first
    from_table : paints of the table that would do in its place, each with the share of `lost` that
        it brings back, the greatest first
    """

    id: str
    used: float
    lost: float
    only_for: Indices
    volume_lost: float
    stand_ins: tuple[tuple[str, float], ...]
    from_table: tuple[tuple[str, float], ...]


def each_tube(
    coverage: Coverage,
    replacements: bool = True,
    progress: Callable[[float], None] | None = None,
) -> list[Tube]:
    """Return what each tube of the palette is for, in the order of the palette.

    Parameters
    ----------
    coverage : of the colours that are asked for
    replacements : whether paints of the table are tried in the place of each tube: those of the
        table that look most like it, by itself and in white
    progress : told the share of the work that is done, 0..1

    Raises
    ------
    ReachError : for a palette of one tube
    """
    palette = coverage.reach.palette
    if len(palette) < 2:
        raise ReachError("the palette has one tube: there is no doing without it")
    tubes = []
    for i in range(len(palette)):
        tubes.append(_tube(coverage, i, replacements))
        if progress is not None:
            progress((i + 1) / len(palette))
    return tubes


def _tube(coverage: Coverage, i: int, replacements: bool) -> Tube:
    reach, weight = coverage.reach, coverage.colours.weight
    palette = reach.palette
    effect = coverage.shares * reach.seeds.medium.pull
    effect = effect / effect.sum(axis=1, keepdims=True)
    rows = np.flatnonzero(coverage.within & (effect[:, i] > _TRACE))
    rest = reach.without(palette.ids[i])
    shares, _, miss = rest.nearest(coverage.colours.lab[rows])
    lost = miss > coverage.tolerance
    only = rows[lost]
    only = only[np.argsort(-weight[only], kind="stable")]

    # where others do, the one whose part grows most stands in
    others = shares[~lost] * rest.seeds.medium.pull
    others /= others.sum(axis=1, keepdims=True)
    grown = others - np.delete(effect[rows[~lost]], i, axis=1)
    most = grown.argmax(axis=1) if len(grown) else np.zeros(0, dtype=int)
    used = float(weight[rows].sum())
    share = np.bincount(most, weight[rows[~lost]], len(rest.palette)) / (used or 1.0)
    stand_ins = tuple(
        (rest.palette.ids[j], float(share[j])) for j in np.argsort(-share) if share[j] >= 0.05
    )
    return Tube(
        palette.ids[i], used, float(weight[only].sum()), only,
        max(0.0, 1 - rest.edge_volume / reach.edge_volume) if reach.solid else 0.0,
        stand_ins, _from_table(coverage, i, rest, only) if replacements and len(only) else (),
    )  # fmt: skip


def _from_table(
    coverage: Coverage, i: int, rest: Reach, only: Indices
) -> tuple[tuple[str, float], ...]:
    """Return paints of the table that bring back what is lost, and how much of it."""
    reach, weight = coverage.reach, coverage.colours.weight
    some = only[:_TRIED]
    palette, found = reach.palette, []
    for id in _alike(coverage, i):
        paint = palette.table[id]
        medium = replace(
            rest.seeds.medium,
            k=np.vstack([rest.palette.K, paint.K]), s=np.vstack([rest.palette.S, paint.S]),
        )  # fmt: skip
        seeds = Seeds.of(medium, reach.tubes, must=len(rest.palette))
        miss = seeds.nearest(coverage.colours.lab[some])[2]
        back = float(weight[some[miss <= coverage.tolerance]].sum() / weight[some].sum())
        if back >= 0.05:
            found.append((id, back))
    return tuple(sorted(found, key=lambda item: -item[1]))


def _alike(coverage: Coverage, i: int) -> list[str]:
    """Return the paints of the table, not on the palette, that look most like tube i."""
    palette, view = coverage.reach.palette, coverage.reach.view
    table = palette.table
    if not (outside := [id for id in table.ids if id not in palette.ids]):
        return []
    medium = medium_of(table, view)
    white = next((j for j, paint in enumerate(table) if paint.is_white), None)
    each = np.eye(len(table))
    masstones = medium.lab(each)
    tints = masstones
    if white is not None:
        tints = medium.lab(_TINT * each / medium.pull[:, None] + each[white] / medium.pull[white])
    own = table.ids.index(palette.ids[i])
    off = ciede2000(masstones[own], masstones) + ciede2000(tints[own], tints)
    return sorted(outside, key=lambda id: float(off[table.ids.index(id)]))[:_ALIKE]
