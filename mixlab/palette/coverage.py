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


import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from mixlab.arrays import Array, Indices, Mask
from mixlab.colour.boxes import gathered
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.munsell import FAMILIES, hue_family
from mixlab.colour.spaces import lab_to_munsell
from mixlab.colour.words import directions as directions_of
from mixlab.errors import ReachError
from mixlab.nearest.medium import medium_of
from mixlab.palette.next_tube import misses_with
from mixlab.palette.reach import Reach
from mixlab.targets.many import Colours

_TRACE = 1e-3  # effect of a paint that is not worth a mention
_ALIKE = 3  # paints of the table that are tried in a tube's place
_TRIED = 300  # colours for which they are
_TINT = 0.1
_ONE_OF_A_KIND = 6.0  # in coordinates near to CIEDE2000


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
    def within_tolerance(self) -> Mask:
        """Which colours (n,) are within the tolerance."""
        return np.asarray(self.miss <= self.tolerance)

    @property
    def share(self) -> float:
        """Share of the weight that is within the tolerance, 0..1."""
        return float(self.colours.weight[self.within_tolerance].sum())

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
        for row in np.flatnonzero(~self.within_tolerance):
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
                   float(weight[(names == name) & self.within_tolerance].sum()))
            for name in (*FAMILIES, "N")
            if (names == name).any()
        }  # fmt: skip

    def worst(self, most: int) -> list[int]:
        """Return the rows beyond the tolerance that matter most; of an area, one of a kind."""
        rows = np.flatnonzero(~self.within_tolerance)
        rows = rows[np.argsort(-(self.colours.weight * self.miss)[rows], kind="stable")]
        if self.colours.by_area and len(rows):
            box, _ = gathered(self.colours.lab[rows], self.colours.weight[rows], _ONE_OF_A_KIND)
            rows = rows[np.sort(np.unique(box, return_index=True)[1])]
        return [int(row) for row in rows[:most]]


def checked_tolerance(tolerance: float) -> float:
    """Return the tolerance; ReachError if it is not a number above zero."""
    if not (math.isfinite(tolerance) and tolerance > 0):
        raise ReachError(f"a tolerance of {tolerance:g}: it must be above zero; 2 is usual")
    return tolerance


def coverage(reach: Reach, colours: Colours, tolerance: float = TOLERANCE) -> Coverage:
    """Return how much of a set of colours a palette reaches.

    Raises
    ------
    ReachError : if the colours are for another light, or the tolerance is not above zero
    """
    checked_tolerance(tolerance)
    if colours.view != reach.view:
        raise ReachError("the colours must be seen as the reach is: light, observer, finish")
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
    substitutes : tubes of the palette that take its place where one can, with the share of `used`
        in which each does most, the greatest first
    from_table : paints of the table that would do in its place, each with the share of `lost` that
        it brings back, the greatest first
    """

    id: str
    used: float
    lost: float
    only_for: Indices
    volume_lost: float
    substitutes: tuple[tuple[str, float], ...]
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
    rows = np.flatnonzero(coverage.within_tolerance & (effect[:, i] > _TRACE))
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
    substitutes = tuple(
        (rest.palette.ids[j], float(share[j])) for j in np.argsort(-share) if share[j] >= 0.05
    )
    return Tube(
        palette.ids[i], used, float(weight[only].sum()), only,
        max(0.0, 1 - rest.edge_volume / reach.edge_volume) if reach.solid else 0.0,
        substitutes, _from_table(coverage, i, rest, only) if replacements and len(only) else (),
    )  # fmt: skip


def _from_table(
    coverage: Coverage, i: int, rest: Reach, only: Indices
) -> tuple[tuple[str, float], ...]:
    """Return paints of the table that bring back what is lost, and how much of it."""
    reach, weight = coverage.reach, coverage.colours.weight
    some = only[:_TRIED]
    palette, found = reach.palette, []
    for id in _alike(coverage, i):
        miss = misses_with(
            (rest.seeds.medium, palette.table[id], reach.tubes, coverage.colours.lab[some])
        )
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
