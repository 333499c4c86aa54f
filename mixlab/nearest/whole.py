"""Every whole-part mix of a palette, indexed, for thousands of colours at once.

The lattice of twelve tubes in up to twelve parts and four tubes holds about 280,000 mixes. It is
laid out by number of tubes, so that "the nearest mix of two tubes" is one question, and not before
it is asked about: one target looks at few sets of tubes, a photo at all.

Within reach the nearest mix is among the few that are nearest in coordinates nearly even in
CIEDE2000. Far out of reach, in the blues above all, no even coordinates know the way. There a
coarse look, by CIEDE2000 itself, along the edge of what the mixes cover finds the valley, and a
walk down its slope finds the mix.
"""


import math
from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import BLOCK, Array, Indices, Mask, in_threads
from mixlab.colour.difference import ciede2000, straight, uniform, with_length
from mixlab.colour.spaces import Viewing
from mixlab.nearest.medium import Medium, medium_of
from mixlab.nearest.sets import compositions, edge_of, subsets_of
from mixlab.paint.tables import Palette

FAR = 2.0
"""Miss beyond which the nearest mix is looked for by CIEDE2000 along the edge."""
_NEAR = 8
"""Mixes near by straight distance that are compared by CIEDE2000: see the tests for how often the
nearest is among them."""

STRAIGHT = 2.6
"""Greatest straight distance between colours 1 CIEDE2000 apart; 2.55 in sRGB."""

_SURE = 4.0  # miss up to which that holds of the mixes of paint as well
_LIGHTNESS = 1.75  # L* that 1 CIEDE2000 comes to at most: its weight at the ends
_MOST_KEPT = 1_500_000  # mixes of one number of tubes
_EDGE = 2.0  # size of the boxes by which the edge of the mixes is found, in uniform coordinates
_CELL = 7.0  # colours out of reach that share a coarse look: boxes of CIELAB
_VALLEYS = 12  # mixes of the edge that a coarse look hands on
_PACES = (0.3, 0.1)  # how far ahead the walk down aims, as shares of the miss
_NUDGE = 1e-4
_NUDGES = _NUDGE * np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])


class Layer:
    """The mixes of one number of tubes; mix i is subset i // c in composition i % c.

    Attributes
    ----------
    subsets : (m, t)
    """

    def __init__(self, medium: Medium, size: int, total: int) -> None:
        self.medium, self.total = medium, total
        self.subsets = subsets_of(len(medium.k), size)

    @cached_property
    def ways(self) -> Indices:
        """Parts (c, t) of each subset."""
        return compositions(self.subsets.shape[1], self.total)

    @cached_property
    def totals(self) -> Indices:
        """Sums of the parts (c,)."""
        return np.asarray(self.ways.sum(axis=1))

    @property
    def large(self) -> bool:
        """Whether the mixes are too many to be kept."""
        return len(self.subsets) * len(self.ways) > _MOST_KEPT

    @cached_property
    def _kept(self) -> tuple[Mask, Array, Array]:
        """Which subsets (m,) are laid out, and what :meth:`colours` returns of them."""
        count = len(self.subsets), len(self.ways)
        return np.zeros(count[0], dtype=bool), np.empty((*count, 3)), np.empty((*count, 4))

    def colours(self, rows: Indices) -> tuple[Array, Array]:
        """Return CIELAB (r, c, 3) of the mixes of subsets (r,), and (r, c, 4) for `straight`."""
        if self.large:
            lab = self.medium.labs(self.subsets[rows], self.ways)
            return lab, with_length(lab)
        done, lab, even = self._kept
        fresh = rows[~done[rows]]
        if len(fresh):
            lab[fresh] = self.medium.labs(self.subsets[fresh], self.ways)
            even[fresh] = with_length(lab[fresh])
            done[fresh] = True
        if len(rows) == len(lab) and (np.diff(rows) > 0).all():
            return lab, even  # no need for a copy
        return lab[rows], even[rows]

    @cached_property
    def cloud(self) -> "Cloud":
        """All mixes."""
        lab, even = self.colours(np.arange(len(self.subsets)))
        return Cloud(lab.reshape(-1, 3), even[..., :3].reshape(-1, 3))

    def within(self, target: Array, rows: Indices, limit: float) -> tuple[Indices, Indices, Array]:
        """Return the mixes of subsets (r,) that miss a target (3,) by at most so much.

        Returns
        -------
        the place in `rows`, the way, and the miss (n,) [CIEDE2000] of each
        """
        lab, even = self.colours(rows)
        near = np.flatnonzero(straight(target, even) <= (STRAIGHT * limit) ** 2)
        miss = ciede2000(target, lab.reshape(-1, 3)[near])
        return *np.divmod(near[miss <= limit], len(self.ways)), miss[miss <= limit]

    def nearest(self, target: Array, rows: Indices) -> tuple[int, int, float]:
        """Return the mix of subsets (r,) that is nearest: place in `rows`, way and miss."""
        lab, even = self.colours(rows)
        lab, off = lab.reshape(-1, 3), straight(target, even)
        near = float(ciede2000(target, lab[off.argmin()]))
        # far off, straight distance cannot tell which it is
        some = np.flatnonzero(
            off <= (STRAIGHT * near) ** 2 + 1e-6 if near <= _SURE else
            np.abs(lab[:, 0] - target[0]) <= (near + 1e-6) * _LIGHTNESS
        )
        miss = ciede2000(target, lab[some])
        place, way = divmod(int(some[miss.argmin()]), len(self.ways))
        return place, way, float(miss.min())


class Lattice:
    """Whole-part mixes of a medium's paints.

    Parameters
    ----------
    medium : the paints and the light
    total : greatest sum of parts
    tubes : greatest number of paints in a mix
    """

    def __init__(self, medium: Medium, total: int = 12, tubes: int = 4) -> None:
        self.medium = medium
        self.total = total
        self.layers = [
            Layer(medium, size, total) for size in range(1, min(tubes, total, len(medium.k)) + 1)
        ]

    def __len__(self) -> int:
        return sum(len(layer.cloud.lab) for layer in self.layers)

    @property
    def tubes(self) -> int:
        """Greatest number of paints in a mix."""
        return len(self.layers)

    def lab(self, tubes: int) -> Array:
        """Return CIELAB (m, 3) of every mix of that many tubes."""
        return self.layers[tubes - 1].cloud.lab

    def parts(self, tubes: int, index: ArrayLike) -> Indices:
        """Return parts (..., p) of all paints for mixes (...) of that many tubes."""
        layer, index = self.layers[tubes - 1], np.asarray(index)
        subset, way = np.divmod(index, len(layer.ways))
        parts = np.zeros((*index.shape, len(self.medium.k)), dtype=int)
        np.put_along_axis(parts, layer.subsets[subset], layer.ways[way], axis=-1)
        return parts

    def holding(self, tubes: int, paints: Sequence[int]) -> Indices:
        """Return the mixes (n,) of that many tubes that have all of some paints."""
        layer = self.layers[tubes - 1]
        held = np.ones(len(layer.subsets), dtype=bool)
        for paint in paints:
            held &= (layer.subsets == paint).any(axis=1)
        return np.flatnonzero(np.repeat(held, len(layer.ways)))

    def near(
        self, labs: ArrayLike, tubes: int, within: float = math.inf
    ) -> tuple[Indices, Array]:
        """Return what :meth:`nearest` does, sure within reach only, in less time.

        Where no mix of that many tubes has a miss up to `within`, the miss may be infinite.
        """
        return self.layers[tubes - 1].cloud.near(np.asarray(labs, dtype=float), within)

    def nearest(self, labs: ArrayLike, tubes: int) -> tuple[Indices, Array]:
        """Return the nearest mix of that many tubes to each colour, and its miss.

        Parameters
        ----------
        labs : CIELAB (n, 3)
        tubes : number of paints in the mix, exactly

        Returns
        -------
        index : (n,), to be given to :meth:`parts`
        miss : (n,), CIEDE2000
        """
        return self.layers[tubes - 1].cloud.nearest(np.asarray(labs, dtype=float))

    def nearest_of_all(self, labs: ArrayLike) -> tuple[Indices, Indices, Array]:
        """Return the nearest mix of any number of tubes to each colour.

        Parameters
        ----------
        labs : CIELAB (n, 3)

        Returns
        -------
        tubes, index : (n,), to be given to :meth:`parts`
        miss : (n,), CIEDE2000
        """
        index, miss = self._all.nearest(np.asarray(labs, dtype=float))
        return *self._place(index), miss

    @cached_property
    def _all(self) -> "Cloud":
        return Cloud(np.concatenate([layer.cloud.lab for layer in self.layers]))

    def _place(self, index: Indices) -> tuple[Indices, Indices]:
        """Return the number of tubes and the index among their mixes, of mixes of all."""
        ends = np.cumsum([len(layer.cloud.lab) for layer in self.layers])
        layer = np.searchsorted(ends, index, side="right")
        return layer + 1, index - np.concatenate([[0], ends])[layer]


@lru_cache(maxsize=4)
def lattice_of(palette: Palette, view: Viewing, total: int, tubes: int) -> Lattice:
    """Return the lattice of a palette, kept for as long as no four others are asked for."""
    return Lattice(medium_of(palette, view), total, tubes)


class Cloud:
    """Colours (m, 3) of mixes, and which of them is nearest to a colour."""

    def __init__(self, lab: Array, even: Array | None = None) -> None:
        self.lab = lab
        self._even = uniform(lab) if even is None else even

    @cached_property
    def _tree(self) -> Any:
        from scipy.spatial import cKDTree

        return cKDTree(self._even, balanced_tree=False, compact_nodes=False)

    def near(self, labs: Array, within: float = math.inf) -> tuple[Indices, Array]:
        """Return the nearest of those near by straight distance: index (n,) and miss (n,).

        The miss is infinite where no mix can be within that miss.
        """
        index, miss = np.empty(len(labs), dtype=int), np.empty(len(labs))
        self._tree  # noqa: B018  made before the threads want it

        def fill(block: slice) -> None:
            found, off = self._of_near(uniform(labs[block]), labs[block], STRAIGHT * within)
            index[block], miss[block] = found, off

        for _ in in_threads(fill, len(labs)):
            pass
        return index, miss

    def nearest(self, labs: Array) -> tuple[Indices, Array]:
        """Return the nearest: index (n,) and miss (n,)."""
        index, miss = self.near(labs, FAR)
        far = np.flatnonzero(miss > FAR)
        if not len(far):
            return index, miss
        cells, cell = np.unique(np.floor(labs[far] / _CELL), axis=0, return_inverse=True)
        starts = self._valleys((cells + 0.5) * _CELL)[cell.reshape(-1)]

        def fill(block: slice) -> None:
            rows = far[block]
            found, off = self._best(labs[rows], starts[block])
            worse = off >= miss[rows]
            found[worse], off[worse] = index[rows[worse]], miss[rows[worse]]
            index[rows], miss[rows] = self._walk(labs[rows], found, off)

        for _ in in_threads(fill, len(far)):
            pass
        return index, miss

    def _of_near(
        self, aims: Array, labs: Array, bound: float = math.inf
    ) -> tuple[Indices, Array]:
        """Return the nearest to the colours of those near to the aims, in uniform coordinates.

        Where none is within the bound the miss is infinite.
        """
        near = min(_NEAR, len(self.lab))
        found = self._tree.query(aims, k=near, distance_upper_bound=bound)[1]
        found = found.reshape(-1, near)
        index, miss = np.zeros(len(aims), dtype=int), np.full(len(aims), math.inf)
        rows = np.flatnonzero(found[:, 0] < len(self.lab))
        if len(rows):
            found = found[rows]
            found = np.sort(np.where(found < len(self.lab), found, found[:, :1]), axis=1)
            index[rows], miss[rows] = self._best(labs[rows], found)
        return index, miss

    def _best(self, labs: Array, found: Indices) -> tuple[Indices, Array]:
        """Return which of the mixes (n, k) is nearest to each colour (n, 3), and its miss."""
        off = ciede2000(labs[:, None], self.lab[found])
        best = off.argmin(axis=1)[:, None]
        return (
            np.take_along_axis(found, best, axis=1)[:, 0],
            np.take_along_axis(off, best, axis=1)[:, 0],
        )

    @cached_property
    def _edge(self) -> Indices:
        """Mixes at the edge of the cloud: one in each box that has an empty one beside it."""
        even = self._even / _EDGE
        box, at_edge = edge_of(even)
        boxes = np.ravel_multi_index(tuple(box[at_edge].T), tuple(box.max(axis=0) + 1))
        from_middle = np.square(even[at_edge] % 1 - 0.5).sum(axis=1)
        order = np.lexsort((from_middle, boxes))
        return np.sort(at_edge[order[np.unique(boxes[order], return_index=True)[1]]])

    def _valleys(self, labs: Array) -> Indices:
        """Return the few mixes of the edge (n, v) that are nearest to each colour."""
        edge = self._edge
        count = min(_VALLEYS, len(edge))
        found = np.empty((len(labs), count), dtype=int)

        def fill(block: slice) -> None:
            off = ciede2000(labs[block][:, None], self.lab[edge])
            found[block] = np.sort(edge[np.argpartition(off, count - 1, axis=1)[:, :count]], axis=1)

        for _ in in_threads(fill, len(labs), max(BLOCK * _NEAR // len(edge), 1)):
            pass
        return found

    def _walk(self, labs: Array, index: Indices, miss: Array) -> tuple[Indices, Array]:
        """Return nearer mixes than those given, down the slope of CIEDE2000."""
        for pace in _PACES:
            here = self.lab[index]
            slope = _slope(labs, here)
            length = np.maximum(np.linalg.norm(slope, axis=1), 1e-9)
            aims = uniform(here) - (pace * miss / length)[:, None] * slope
            found, off = self._of_near(aims, labs)
            better = off < miss
            index, miss = np.where(better, found, index), np.where(better, off, miss)
        return index, miss


def _slope(target: Array, lab: Array) -> Array:
    """Return how CIEDE2000 to the target rises with the uniform coordinates (n, 3) of `lab`."""
    there = lab + _NUDGES[:, None, :]
    off, even = ciede2000(target, there), uniform(there)
    rise, moved = off[1:] - off[0], even[1:] - even[0]
    # lightness stands alone; a* and b* move two coordinates each
    (ax, ay), (bx, by) = moved[1, :, 1:].T, moved[2, :, 1:].T
    area = ax * by - ay * bx
    x = (rise[1] * by - rise[2] * ay) / area
    y = (rise[2] * ax - rise[1] * bx) / area
    return np.stack([rise[0] / moved[0, :, 0], x, y], axis=-1)
