"""The nearest mix to each of many colours, from seeds all over what a palette mixes.

Right for many colours at once where parts need not be whole: of a colour that some mix makes it
promises a mix within 0.05 in 99.9 of 100, none 0.5 off; tests hold it to random mixes and to the
exact search.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array, Indices, Progress, in_threads, one_thread
from mixlab.colour.boxes import gathered
from mixlab.colour.difference import ciede2000, uniform
from mixlab.nearest.descent import descend_mixes, difference_slopes
from mixlab.nearest.medium import Medium
from mixlab.nearest.sets import compositions, edge_of, subsets_of

INSIDE = 0.5
"""A colour to which a mix comes so near counts as mixed [CIEDE2000]: nobody sees the rest."""

_TOTALS = {1: 1, 2: 24, 3: 12, 4: 8}  # of the seeds, by number of tubes
_MUCH = (6, 36)  # times as much of one paint in further seeds, for tints and the like
_SEEDS = 200_000  # of one number of tubes
_BLOCK = 4_000
_WINDOW = 2.0  # in uniform coordinates
_BOX = 8.0  # CIELAB
# tuned on the mixes that were missed by 0.05 or more of 1.3 million, four palettes, gloss and matt:
# 747 of them, the worst 5.1 off
_OTHERS = 60  # sets of paints
_LOOKED_AT = 1024  # seeds
_HOPELESS = 7.0  # CIEDE2000
_STEPS, _LAST_STEPS = 10, 40  # of a descent
_ACROSS = 3
_GREYISH = 2.0  # C*
_UNSEEN = 0.02  # CIEDE2000
_FAR = 1.0  # CIEDE2000, beyond which no even coordinates know the way
_EXTREMES = 64
PINCH = 0.02  # of a paint that a mix does without, in effect


def _one_each(window: Indices) -> Indices:
    """Return the first row of each window (n, 3) of whole numbers that occurs."""
    return np.asarray(np.unique(window, axis=0, return_index=True)[1])


def _ways(size: int, most: int) -> Array:
    """Return up to so many ways (c, size) to part a mix of so many paints, tints among them."""
    total = _TOTALS[size]
    while True:
        ways = compositions(size, total).astype(float)
        much = [np.where(np.arange(size) == i, n, 1) for i in range(size) for n in _MUCH]
        with_much = np.concatenate([ways, *(ways * m for m in much if size > 1)])
        if len(with_much) <= most:
            return with_much
        if total == size:
            return ways
        total -= 1


@dataclass(frozen=True, eq=False)
class Seeds:
    """Mixes all over what a palette makes, and the search that starts from them.

    Attributes
    ----------
    medium : the paints and the light
    shares : (n, p), sum to one
    lab : (n, 3)
    any_number : whether the search may use any number of paints in a mix
    """

    medium: Medium
    shares: Array
    lab: Array
    any_number: bool

    @classmethod
    def of(cls, medium: Medium, tubes: int | None, required: int | None = None) -> "Seeds":
        """Lay out mixes of up to so many paints (None: any), even in tinting strength.

        With `required`, only mixes that have this paint.
        """
        needed = () if required is None else (required,)
        pull, even = medium.pull, medium.even
        shares, labs = [], []
        for size in range(1, min(tubes or 4, 4, len(pull)) + 1):
            if math.comb(len(pull), size) > _SEEDS:
                break
            subsets = subsets_of(len(pull), size, needed)
            ways = _ways(size, _SEEDS // len(subsets))
            labs.append(even.labs(subsets, ways).reshape(-1, 3))
            full = np.zeros((len(subsets), len(ways), len(pull)))
            rows = np.arange(len(subsets))[:, None, None]
            full[rows, np.arange(len(ways))[None, :, None], subsets[:, None, :]] = (
                ways[None] / pull[subsets][:, None, :]
            )
            shares.append(full.reshape(-1, len(pull)))
        all_ = np.concatenate(shares)
        return cls(medium, all_ / all_.sum(axis=1, keepdims=True), np.concatenate(labs),
                   tubes is None or tubes >= len(pull))

    def some(self, rows: NDArray[np.bool_]) -> "Seeds":
        """Return those seeds (n,) that are True."""
        return replace(self, shares=self.shares[rows], lab=self.lab[rows])

    def at_most(self, tubes: int) -> "Seeds":
        """Return the seeds of at most so many paints, whose mixes keep to as many."""
        kept = self.some(self.count <= tubes)
        return replace(kept, any_number=tubes >= len(self.medium.k))

    def without(self, paint: int) -> "Seeds":
        """Return the seeds that do without a paint, which is no longer there."""
        rest = np.arange(len(self.medium.k)) != paint
        medium = replace(self.medium, k=self.medium.k[rest], s=self.medium.s[rest])
        rows = self.shares[:, paint] == 0
        return Seeds(medium, self.shares[rows][:, rest], self.lab[rows], self.any_number)

    def lightest(self, sign: float = 1.0) -> Array:
        """Return the shares (p,) of the lightest mix, or with sign -1 of the darkest."""

        def residual(lab: Array, rows: Indices) -> tuple[Array, Array]:
            off, slopes = np.zeros_like(lab), np.zeros((len(lab), 3, 3))
            off[:, 0], slopes[:, 0, 0] = lab[:, 0] - (50 + 100 * sign), 1.0
            return off, slopes

        order = np.argsort(-sign * self.lab[:, 0])[:_EXTREMES]
        shares, lab, _ = descend_mixes(self.medium, self.shares[order], residual, 40)
        return np.asarray(shares[(sign * lab[:, 0]).argmax()])

    @cached_property
    def count(self) -> Indices:
        """Number of paints (n,) in each."""
        return np.asarray((self.shares > 0).sum(axis=1))

    @cached_property
    def _trees(self) -> list[tuple[Indices, Any]]:
        """Rows and tree of the mixes of most paints, then of all."""
        from scipy.spatial import cKDTree

        trees = []
        for rows in (np.flatnonzero(self.count == self.count.max()), np.arange(len(self.lab))):
            even = uniform(self.lab[rows])
            trees.append((rows, cKDTree(even, balanced_tree=False, compact_nodes=False)))
        return trees

    @cached_property
    def outer(self) -> Indices:
        """Seeds of the edge: the outermost in each small window of lightness, hue and chroma."""
        # mixes of one or two paints cannot move about
        rows = np.flatnonzero(self.count >= min(3, self.count.max()))
        window, edge = edge_of(uniform(self.lab[rows]) / _WINDOW)
        # the purest of each window stands for it
        edge = edge[np.argsort(-np.hypot(*self.lab[rows[edge], 1:].T), kind="stable")]
        return np.asarray(rows[edge[_one_each(window[edge])]])

    @cached_property
    def thin(self) -> Indices:
        """Fewer seeds of the edge, twice as far apart."""
        window = np.floor(uniform(self.lab[self.outer]) / (2 * _WINDOW)).astype(int)
        return np.asarray(self.outer[_one_each(window)])

    def nearest(self, labs: ArrayLike) -> tuple[Array, Array, Array]:
        """Return the mix that comes nearest to each colour, if parts need not be whole.

        Parameters
        ----------
        labs : CIELAB (n, 3)

        Returns
        -------
        shares (n, p), which sum to one; CIELAB (n, 3) of the mixes; misses (n,) [CIEDE2000]
        """
        labs = np.asarray(labs, dtype=float).reshape(-1, 3)
        shares, lab = np.empty((len(labs), len(self.medium.k))), np.empty((len(labs), 3))
        miss = np.empty(len(labs))
        self._trees, self.thin  # noqa: B018  made before the threads want them

        def fill(block: slice) -> None:
            shares[block], lab[block], miss[block] = self._nearest(labs[block])

        with one_thread():
            for _ in in_threads(fill, len(labs)):
                pass
        return shares, lab, miss

    def _nearest(self, labs: Array) -> tuple[Array, Array, Array]:
        # mixes of most paints can go anywhere: a colour within reach is nearly always hit from them
        many, all_ = self._trees
        best = downhill(self.medium, labs, self.shares[self._near(labs, many, 16)[:, 0]])
        rows = np.flatnonzero(best[2] > _UNSEEN)
        self._better(labs, rows, self.shares[self._near(labs[rows], all_, 16)[:, 0]], best)
        rows = np.flatnonzero(best[2] > _FAR)
        for column in self._across(labs[rows]).T:
            self._better(labs, rows, self.shares[column], best)
        # of the paints that make colours near by, the right ones may not be the nearest
        rows = np.flatnonzero((best[2] > _UNSEEN) & (best[2] < _HOPELESS))
        for column, fresh in self._others(self._about(labs[rows], many, _LOOKED_AT)):
            self._better(labs, rows[fresh], self.shares[column[fresh]], best)
        if self.any_number:
            # a paint that was driven out does not come back by itself
            rows = np.flatnonzero(best[2] > _UNSEEN)
            pinch = PINCH / self.medium.pull / (1 / self.medium.pull).sum()
            self._better(labs, rows, (1 - PINCH) * best[0][rows] + pinch, best)
        rows = np.flatnonzero((best[2] > _UNSEEN) & (best[2] < _HOPELESS))
        self._better(labs, rows, best[0][rows], best, _LAST_STEPS)
        return best

    def _about(self, labs: Array, tree: tuple[Indices, Any], count: int) -> Indices:
        """Return so many seeds (n, count) by straight distance in coordinates near to CIEDE2000."""
        shape = len(labs), min(count, len(tree[0]))
        found = tree[1].query(uniform(labs), k=shape[1])[1] if len(labs) else np.zeros(0, int)
        return np.asarray(tree[0][found.reshape(shape)])

    def _near(self, labs: Array, tree: tuple[Indices, Any], count: int) -> Indices:
        """Return so many seeds near to each colour (n, count), the nearest by CIEDE2000 first."""
        found = self._about(labs, tree, count)
        order = ciede2000(labs[:, None], self.lab[found]).argsort(axis=1)
        return np.take_along_axis(found, order, axis=1)

    def _others(self, near: Indices) -> Iterator[tuple[Indices, NDArray[np.bool_]]]:
        """Yield for each row of `near` (n, k) the next seed (n,) of other paints, and if any is."""
        paints, none = self._paints[near], near.shape[1]
        order = np.argsort(paints, axis=1, kind="stable")
        paints = np.take_along_axis(paints, order, axis=1)
        order[:, 1:][paints[:, 1:] == paints[:, :-1]] = none  # those of the same paints as another
        for place in np.sort(order, axis=1)[:, 1 : _OTHERS + 1].T:
            found = place < none
            if not found.any():
                return
            yield near[np.arange(len(near)), np.where(found, place, 0)], found

    @cached_property
    def _paints(self) -> Indices:
        """A number (n,) for each set of paints."""
        mark = (self.shares > 0) @ np.random.default_rng(0).random(len(self.medium.k))
        return np.unique(mark, return_inverse=True)[1].astype(np.int32)

    def _across(self, labs: Array) -> Indices:
        """Return the few seeds of the edge (n, v) that are nearest by CIEDE2000."""
        if not len(labs):
            return np.zeros((0, _ACROSS), dtype=int)
        # looked for once for all colours in a box, along an edge thinned out
        boxes, box = np.unique(np.floor(labs / _BOX), axis=0, return_inverse=True)
        edge = self.thin
        off = ciede2000((boxes[:, None] + 0.5) * _BOX, self.lab[edge])
        few = min(_ACROSS, len(edge))
        return np.asarray(edge[np.argpartition(off, few - 1, axis=1)[:, :few]][box.ravel()])

    def _better(
        self, labs: Array, rows: Indices, starts: Array, best: tuple[Array, Array, Array],
        steps: int = _STEPS,
    ) -> None:  # fmt: skip
        """Descend from other starts (r, p), and keep in `best` what comes nearer."""
        still = best[2][rows] > _UNSEEN
        if not len(rows := rows[still]):
            return
        found = downhill(self.medium, labs[rows], starts[still], steps)
        won = found[2] < best[2][rows]
        for whole, part in zip(best, found, strict=True):
            whole[rows[won]] = part[won]


def downhill(
    medium: Medium, labs: Array, starts: Array, steps: int = _STEPS
) -> tuple[Array, Array, Array]:
    """Return shares (n, p), lab (n, 3) and miss (n,) where descents from mixes (n, p) end."""

    def straight(lab: Array, rows: Indices) -> tuple[Array, Array]:
        return lab - labs[grey][rows], np.broadcast_to(np.eye(3), (len(rows), 3, 3))

    def residual(lab: Array, rows: Indices) -> tuple[Array, Array]:
        return difference_slopes(labs[rows], lab)

    # about a grey CIEDE2000 knows chroma but no hue, and has no slope to go by
    grey = np.flatnonzero(np.hypot(*labs[:, 1:].T) < _GREYISH)
    if len(grey):
        starts = starts.copy()
        starts[grey] = descend_mixes(medium, starts[grey], straight, 10, _UNSEEN / 2)[0]
    return descend_mixes(medium, starts, residual, steps, _UNSEEN)


_LARGE = 3.0
_NEAR = 6  # large boxes about a colour whose mixes are tried
_HIT = 0.1  # CIEDE2000 from which a second start is not worth it


def nearest_mixes(
    labs: Array, seeds: Seeds, progress: Progress | None = None
) -> tuple[Array, Array]:
    """Return the nearest mix to each of many colours that lie close together.

    Parameters
    ----------
    labs : CIELAB (n, 3)
    seeds : of the paints, for so many in a mix

    Returns
    -------
    shares : (n, p), sum to one
    lab : (n, 3), CIELAB of the mixes
    """
    from scipy.spatial import cKDTree

    tell = progress or (lambda share: None)
    paints = len(seeds.medium.k)
    _, corners = gathered(labs, np.ones(len(labs)), _LARGE)
    start, start_lab = np.empty((len(corners), paints)), np.empty((len(corners), 3))
    # the large boxes take most of a small picture's time, and a third of a large one's
    part = 25 * len(corners) / (25 * len(corners) + len(labs))
    for at in range(0, len(corners), _BLOCK // 4):
        block = slice(at, at + _BLOCK // 4)
        start[block], start_lab[block], _ = seeds.nearest(corners[block])
        tell(part * min(at + _BLOCK // 4, len(corners)) / len(corners))
    tree = cKDTree(uniform(corners))
    subset = np.unique(start > 0, axis=0, return_inverse=True)[1].reshape(-1)
    shares, lab = np.empty((len(labs), paints)), np.empty((len(labs), 3))

    def fill(block: slice) -> int:
        goals = labs[block]
        _, about = tree.query(uniform(goals), k=min(_NEAR, len(corners)))
        about = about.reshape(len(goals), -1)
        order = np.argsort(ciede2000(goals[:, None], start_lab[about]), axis=1, kind="stable")
        about = np.take_along_axis(about, order, axis=1)
        best, found, miss = downhill(seeds.medium, goals, start[about[:, 0]])
        # the nearest mix of other paints may lead into another valley
        other = subset[about] != subset[about[:, :1]]
        rows = np.flatnonzero((miss > _HIT) & other.any(axis=1))
        if len(rows):
            second = about[rows, other[rows].argmax(axis=1)]
            again = downhill(seeds.medium, goals[rows], start[second])
            better = again[2] < miss[rows]
            best[rows[better]], found[rows[better]] = again[0][better], again[1][better]
        shares[block], lab[block] = best, found
        return int(block.stop)

    with one_thread():
        for done in in_threads(fill, len(labs)):
            tell(part + (1 - part) * done / len(labs))
    return shares, lab
