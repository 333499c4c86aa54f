"""The body of colours that paints mix: the nearest mix to many colours, and the edge.

Numbers only. The body bends inward between paints, as mixing takes light away: no hull of its
corners describes it. It is described by its edge instead, along rays of one lightness and one hue.
Each place of the edge is found with the mix that makes it, in three moves:

1. *Seeds.* Mixes of one to four paints, even in tinting strength, all over the body; from those
   that lie farthest out along a ray the search starts.
2. *Push.* Chroma is driven outward by Levenberg-Marquardt steps on the logarithms of the shares,
   lightness and hue held.
3. *Neighbours.* Each ray tries the mixes of the rays beside it, and a little of each paint that its
   mix does without, until nothing gains.

Where the surface of the body is made by two or three paints is the rule; where the inside of a
simplex bulges beyond its faces the third move follows it. Tests hold random mixes of all paints
against the edge, and the exact search of :mod:`mixlab.search` against the colours beyond it.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colorimetry import ciede2000, uniform
from mixlab.lattice import compositions, edge_of
from mixlab.search import Medium, difference_slopes, one_thread, subsets_of

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Residual = Callable[[Array, Indices], tuple[Array, Array]]
"""Of colours (n, 3) and the rows that they are for: what is to become small (n, 3), and its slopes
(n, 3, 3) by the colours."""

INSIDE = 0.5
"""A colour to which a mix comes so near counts as mixed [CIEDE2000]: nobody sees the rest."""

_TOTALS = {1: 1, 2: 24, 3: 12, 4: 8}  # of the seeds, by number of tubes
_MUCH = (6, 36)  # times as much of one paint in further seeds, for tints and the like
_SEEDS = 200_000  # of one number of tubes
_BLOCK = 4_000
_LONGEST_STEP = 1.5
_TINY = 1e-9
_WINDOW = 2.0  # in uniform coordinates
_BOX = 8.0  # CIELAB
_OTHERS = 12  # sets of paints
_LOOKED_AT = 256
_HOPELESS = 5.0  # CIEDE2000
_ACROSS = 3
_GREYISH = 2.0  # C*
_UNSEEN = 0.02  # CIEDE2000
_FAR = 1.0  # CIEDE2000, beyond which no even coordinates know the way
_SETTLED = 1e-4

_HOLD = 20.0  # how much more it counts to keep lightness and hue than to gain chroma
_GOALS = (20.0, 5.0, 1.0, 0.3)  # how far beyond itself a mix is driven [C*], one after another
_STEPS = 8  # toward each goal
_STARTS = 4  # by each of them; half as many where rays help each other
_WITHIN = 12.0  # how near to a ray a seed must lie for the ray to meet the body
_PASSES = 16
_LIFT = 1e-3  # effect
_OFF = (4.0, 20.0)  # what a unit off the ray counts, in C*, when seeds are chosen
_GAIN = 0.02  # C*
_TRACE = 1e-4  # effect below which a paint counts as left out
_EXTREMES = 64
_PINCH = 0.02  # of a paint that a mix does without, in effect


def _descend(
    medium: Medium, shares: Array, residual: Residual, steps: int, enough: float = 0.0
) -> tuple[Array, Array, Array]:
    """Return shares (n, p), colours (n, 3) and what is left of the residual (n,), made small.

    Levenberg-Marquardt on the logarithms of the shares, as in :mod:`mixlab.search`: paints that a
    mix is without stay out of it.
    """
    now = shares / shares.sum(axis=1, keepdims=True)
    lab, slopes = medium.lab_slopes(now)
    off, by_lab = residual(lab, np.arange(len(now)))
    left = np.linalg.norm(off, axis=1)
    along = by_lab @ (slopes * now[:, None, :])
    damping = np.full(len(now), 1e-2)
    active = np.arange(len(now))
    for _ in range(steps):
        active = active[left[active] > enough]
        if not len(active):
            break
        J = along[active]
        square = J @ J.transpose(0, 2, 1)
        lift = damping[active] * (np.trace(square, axis1=1, axis2=2) / 3) + _TINY
        square[:, range(3), range(3)] += lift[:, None]
        step = -(np.linalg.solve(square, off[active][..., None])[..., 0][:, None] @ J)[:, 0]
        length = np.abs(step).max(axis=1, keepdims=True)
        there = now[active] * np.exp(step * np.minimum(1, _LONGEST_STEP / (length + _TINY)))
        there /= there.sum(axis=1, keepdims=True)
        new_lab, new_slopes = medium.lab_slopes(there)
        new_off, new_by_lab = residual(new_lab, active)
        new_left = np.linalg.norm(new_off, axis=1)
        gain = left[active] - new_left
        better = gain > 0
        won = active[better]
        now[won], lab[won], left[won] = there[better], new_lab[better], new_left[better]
        off[won] = new_off[better]
        along[won] = new_by_lab[better] @ (new_slopes[better] * there[better][:, None, :])
        damping[active] *= np.where(better, 0.2, 6.0)
        settled = better & (gain < _SETTLED * new_left)
        active = active[~settled & (damping[active] < 1e6)]
    return now, lab, left


def _blocks(count: int, work: Callable[[slice], Any]) -> Iterator[tuple[slice, Any]]:
    """Yield blocks of so many rows and what `work` makes of each, in order, on every core."""
    blocks = [slice(at, min(at + _BLOCK, count)) for at in range(0, count, _BLOCK)]
    with one_thread():
        if len(blocks) < 2:
            yield from ((block, work(block)) for block in blocks)
        else:
            with ThreadPoolExecutor() as pool:
                yield from zip(blocks, pool.map(work, blocks), strict=True)


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
    def of(cls, medium: Medium, tubes: int | None, must: int | None = None) -> "Seeds":
        """Lay out mixes of up to so many paints (None: any), even in tinting strength.

        With `must`, only mixes that have this paint.
        """
        needed = () if must is None else (must,)
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
        shares, lab, _ = _descend(self.medium, self.shares[order], residual, 40)
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
        shares : (n, p), sum to one
        lab : (n, 3), of the mixes
        miss : (n,), CIEDE2000
        """
        labs = np.asarray(labs, dtype=float).reshape(-1, 3)
        shares, lab = np.empty((len(labs), len(self.medium.k))), np.empty((len(labs), 3))
        miss = np.empty(len(labs))
        self._trees, self.thin  # noqa: B018  made before the threads want them
        for block, found in _blocks(len(labs), lambda block: self._nearest(labs[block])):
            shares[block], lab[block], miss[block] = found
        return shares, lab, miss

    def _nearest(self, labs: Array) -> tuple[Array, Array, Array]:
        # mixes of most paints can go anywhere: a colour within reach is nearly always hit from them
        many, all_ = self._trees
        best = self.downhill(labs, self.shares[self._near(labs, many, 16)[:, 0]])
        rows = np.flatnonzero(best[2] > _UNSEEN)
        self._better(labs, rows, self.shares[self._near(labs[rows], all_, 16)[:, 0]], best)
        rows = np.flatnonzero(best[2] > _FAR)
        for column in self._across(labs[rows]).T:
            self._better(labs, rows, self.shares[column], best)
        # of the paints that make colours near by, the right ones may not be the nearest
        rows = np.flatnonzero((best[2] > _UNSEEN) & (best[2] < _HOPELESS))
        for column, fresh in self._others(self._near(labs[rows], many, _LOOKED_AT)):
            self._better(labs, rows[fresh], self.shares[column[fresh]], best)
        if self.any_number:
            # a paint that was driven out does not come back by itself
            rows = np.flatnonzero(best[2] > _UNSEEN)
            pinch = _PINCH / self.medium.pull / (1 / self.medium.pull).sum()
            self._better(labs, rows, (1 - _PINCH) * best[0][rows] + pinch, best)
        return best

    def _near(self, labs: Array, tree: tuple[Indices, Any], count: int) -> Indices:
        """Return so many seeds near to each colour (n, count), the nearest by CIEDE2000 first."""
        rows, found = tree[0], np.empty((len(labs), min(count, len(tree[0]))), dtype=int)
        if len(labs):
            found = rows[tree[1].query(uniform(labs), k=found.shape[1])[1].reshape(found.shape)]
        order = ciede2000(labs[:, None], self.lab[found]).argsort(axis=1)
        return np.take_along_axis(found, order, axis=1)

    def _others(self, near: Indices) -> Iterator[tuple[Indices, NDArray[np.bool_]]]:
        """Yield for each row of `near` (n, k) the next seed (n,) of other paints, and if any is."""
        paints = self._paints[near]
        fresh = paints != paints[:, :1]
        for _ in range(_OTHERS):
            place = fresh.argmax(axis=1)[:, None]
            seed, found = (np.take_along_axis(a, place, axis=1) for a in (near, fresh))
            yield seed[:, 0], found[:, 0]
            fresh &= paints != np.take_along_axis(paints, place, axis=1)

    @cached_property
    def _paints(self) -> Array:
        """A number (n,) for each set of paints."""
        marks = np.random.default_rng(0).random(len(self.medium.k))
        return np.asarray((self.shares > 0) @ marks)

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
        self, labs: Array, rows: Indices, starts: Array, best: tuple[Array, Array, Array]
    ) -> None:
        """Descend from other starts (r, p), and keep in `best` what comes nearer."""
        still = best[2][rows] > _UNSEEN
        rows = rows[still]
        if not len(rows):
            return
        found = self.downhill(labs[rows], starts[still])
        won = found[2] < best[2][rows]
        for whole, part in zip(best, found, strict=True):
            whole[rows[won]] = part[won]

    def downhill(self, labs: Array, starts: Array) -> tuple[Array, Array, Array]:
        """Return shares (n, p), lab (n, 3) and miss (n,) where descents from mixes (n, p) end."""
        def straight(lab: Array, rows: Indices) -> tuple[Array, Array]:
            return lab - labs[grey][rows], np.broadcast_to(np.eye(3), (len(rows), 3, 3))

        def residual(lab: Array, rows: Indices) -> tuple[Array, Array]:
            return difference_slopes(labs[rows], lab)

        # about a grey CIEDE2000 knows chroma but no hue, and has no slope to go by
        grey = np.flatnonzero(np.hypot(*labs[:, 1:].T) < _GREYISH)
        if len(grey):
            starts = starts.copy()
            starts[grey] = _descend(self.medium, starts[grey], straight, 10, _UNSEEN / 2)[0]
        return _descend(self.medium, starts, residual, 10, _UNSEEN)


@dataclass(frozen=True, eq=False)
class Edge:
    """Places of the edge of a reach, each along a ray of one lightness and one hue.

    Attributes
    ----------
    chroma : (n,), C*; nan where no mix lies along the ray
    shares : (n, p), of the mix that is there
    lab : (n, 3), of the mix
    """

    chroma: Array
    shares: Array
    lab: Array

    def __getitem__(self, rows: Any) -> "Edge":
        return Edge(self.chroma[rows], self.shares[rows], self.lab[rows])


def _rank(chroma: Array, sign: float) -> Array:
    return np.where(np.isnan(chroma), -np.inf, sign * chroma)


class Rays:
    """Rays of one lightness and one hue each, and the search for the edge along them.

    Parameters
    ----------
    seeds : where the search starts
    lightness, hue : (n,), L* and CIELCh hue [degrees]
    near : how near to its ray a mix has to be to count as on it [CIEDE2000]
    """

    def __init__(self, seeds: Seeds, lightness: Array, hue: Array, near: float = INSIDE) -> None:
        self.seeds, self.near = seeds, near
        self.lightness, self.hue = lightness, hue
        turn = np.radians(hue)
        self._cos, self._sin = np.cos(turn), np.sin(turn)

    def __len__(self) -> int:
        return len(self.hue)

    def push(self, starts: Array, rows: Indices, sign: float, goals: tuple[float, ...]) -> Edge:
        """Drive mixes (r, p) along the rays `rows` (r,): outward (sign 1) or inward (-1)."""
        parts = [found for _, found in _blocks(
            len(rows), lambda block: self._push(starts[block], rows[block], sign, goals)
        )]  # fmt: skip
        if not parts:
            return self._nothing(0)
        return Edge(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))

    def _push(
        self, shares: Array, rows: Indices, sign: float, goals: tuple[float, ...]
    ) -> tuple[Array, Array, Array]:
        cos, sin, lightness = self._cos[rows], self._sin[rows], self.lightness[rows]
        frame = np.zeros((len(rows), 3, 3))
        frame[:, 0, 0] = _HOLD
        frame[:, 1, 1], frame[:, 1, 2] = -_HOLD * sin, _HOLD * cos
        frame[:, 2, 1], frame[:, 2, 2] = cos, sin
        pull = self.seeds.medium.pull
        present = shares > 0
        for goal in goals:
            # at the corner of a paint by itself the others would never come back
            least = _LIFT * (shares @ pull)[:, None] / pull
            shares = np.where(present, np.maximum(shares, least), 0.0)
            lab = self.seeds.medium.lab(shares)
            out = cos * lab[:, 1] + sin * lab[:, 2]
            aim = np.stack([_HOLD * lightness, np.zeros(len(rows)), out + sign * goal], axis=1)

            def residual(lab: Array, some: Indices, aim: Array = aim) -> tuple[Array, Array]:
                return (frame[some] @ lab[:, :, None])[..., 0] - aim[some], frame[some]

            shares, lab, _ = _descend(self.seeds.medium, shares, residual, _STEPS)
        out = cos * lab[:, 1] + sin * lab[:, 2]
        on_ray = np.stack([lightness, cos * out, sin * out], axis=1)
        there = (ciede2000(on_ray, lab) <= self.near) & (out > -self.near)
        return np.where(there, np.maximum(out, 0.0), np.nan), shares, lab

    def from_seeds(self, rows: Indices, sign: float, thin: bool = False) -> Edge:
        """Return the edge along the rays `rows` (r,) as found from the likeliest seeds.

        With `thin`, from fewer seeds: enough where rays help each other afterwards.
        """
        seeds = self.seeds
        outer = seeds.thin if thin else seeds.outer
        lab = seeds.lab[outer]
        few = min(_STARTS // 2 if thin else _STARTS, len(lab))
        within = np.zeros(len(rows), dtype=bool)
        likely = np.zeros((few * len(_OFF), len(rows)), dtype=int)
        for at in range(0, len(rows), _BLOCK // 8):
            some = rows[at : at + _BLOCK // 8]
            cos, sin = self._cos[some, None], self._sin[some, None]
            off = np.hypot(
                lab[:, 0] - self.lightness[some, None], cos * lab[:, 2] - sin * lab[:, 1]
            )
            out = sign * (cos * lab[:, 1] + sin * lab[:, 2])
            within[at : at + len(some)] = off.min(axis=1) < _WITHIN
            for i, cost in enumerate(_OFF):
                best = np.argpartition(cost * off - out, few - 1, axis=1)[:, :few]
                mine = slice(i * few, (i + 1) * few)
                likely[mine, at : at + len(some)] = outer[best].T
        found = self._nothing(len(rows))
        near = np.flatnonzero(within)
        tried = self.push(
            seeds.shares[likely[:, near].ravel()], np.tile(rows[near], len(likely)), sign, _GOALS
        )
        if len(near):
            won = self._best(tried, len(likely), sign)
            found.chroma[near], found.shares[near], found.lab[near] = (
                won.chroma, won.shares, won.lab
            )  # fmt: skip
        return found

    def _nothing(self, count: int) -> Edge:
        """Return an edge (count,) along which nothing is mixed."""
        paints = len(self.seeds.medium.k)
        return Edge(
            np.full(count, np.nan), np.full((count, paints), 1 / paints), np.zeros((count, 3))
        )

    def _best(self, found: Edge, times: int, sign: float) -> Edge:
        """Return the best of so many tries in a row for each ray."""
        rank = _rank(found.chroma, sign).reshape(times, -1)
        count = rank.shape[1]
        return found[rank.argmax(axis=0) * count + np.arange(count)]

    def better(self, edge: Edge, starts: Array, rows: Indices, sign: float) -> Indices:
        """Try other starts (r, p) for the rays `rows` (r,); return the rays that gained."""
        found = self.push(starts, rows, sign, _GOALS[1:])
        rank = _rank(found.chroma, sign)
        # of several tries for a ray the best
        order = np.lexsort((-rank, rows))
        best = order[np.unique(rows[order], return_index=True)[1]]
        best = best[rank[best] > _rank(edge.chroma[rows[best]], sign) + _GAIN]
        edge.chroma[rows[best]], edge.shares[rows[best]], edge.lab[rows[best]] = (
            found.chroma[best], found.shares[best], found.lab[best]
        )  # fmt: skip
        return np.asarray(rows[best])

    def pinched(self, edge: Edge, sign: float) -> Indices:
        """Try a little of every paint in the mixes of all rays; return the rays that gained."""
        pull = self.seeds.medium.pull
        there = np.flatnonzero(~np.isnan(edge.chroma))
        starts, rows = [], []
        for paint in range(len(pull)):
            shares = edge.shares[there].copy()
            effect = shares @ pull
            absent = shares[:, paint] * pull[paint] < _TRACE * effect
            mine, shares = there[absent], shares[absent]
            shares[:, paint] += _PINCH * effect[absent] / pull[paint]
            # only where the first hair of it goes outward is it worth the way
            worth = self._goes(edge.shares[mine], mine, paint, sign)
            starts.append(shares[worth])
            rows.append(mine[worth])
        return self.better(edge, np.concatenate(starts), np.concatenate(rows), sign)

    def _goes(self, shares: Array, rows: Indices, paint: int, sign: float) -> NDArray[np.bool_]:
        """Return whether a paint that the mixes of the edge are without would lead outward.

        The edge's own normal is what none of the paints in the mix can move along.
        """
        if not len(rows):
            return np.zeros(0, dtype=bool)
        _, slopes = self.seeds.medium.lab_slopes(shares)
        along = slopes * shares[:, None, :]
        normal = np.linalg.svd(along)[0][:, :, 2]
        ray = np.stack([np.zeros(len(rows)), self._cos[rows], self._sin[rows]], axis=1)
        facing = np.sign(np.einsum("ni,ni->n", normal, ray)) * sign
        rise = np.einsum("ni,ni->n", normal, slopes[:, :, paint]) * facing
        return np.asarray(rise > 1e-3 * np.linalg.norm(slopes[:, :, paint], axis=1))

    def solve(
        self,
        beside: Sequence[Indices],
        sign: float,
        start: Edge | None = None,
        anew: Indices | None = None,
    ) -> Edge:
        """Return the edge along all rays, outward (sign 1) or inward (-1).

        Parameters
        ----------
        beside : arrays (n,), each with one neighbour of every ray (itself where it has none)
        start, anew : an edge that is known but for some rays (r,)
        """
        if start is None or anew is None:
            edge = self.from_seeds(np.arange(len(self)), sign, thin=True)
        else:
            edge = Edge(start.chroma.copy(), start.shares.copy(), start.lab.copy())
            fresh = self.from_seeds(anew, sign, thin=True)
            edge.chroma[anew], edge.shares[anew], edge.lab[anew] = (
                fresh.chroma, fresh.shares, fresh.lab
            )  # fmt: skip
        news = np.flatnonzero(~np.isnan(edge.chroma))
        for _ in range(_PASSES if len(news) else 0):
            told = np.zeros(len(self), dtype=bool)
            told[news] = True
            rows = [np.flatnonzero(told[near]) for near in beside]
            starts = [edge.shares[near[some]] for near, some in zip(beside, rows, strict=True)]
            news = self.better(edge, np.concatenate(starts), np.concatenate(rows), sign)
            if not len(news) and self.seeds.any_number:
                news = self.pinched(edge, sign)
            if not len(news):
                break
        return edge


def volume(lightness: Array, greatest: Array, least: Array) -> float:
    """Return the volume between two surfaces about the axis a* = b* = 0, in units of CIELAB cubed.

    Parameters
    ----------
    lightness : (levels,), rising evenly
    greatest, least : (levels, hues), C* at hues evenly all around; nan where there is nothing
    """
    ring = np.nan_to_num(greatest**2 - least**2) / 2
    areas = ring.mean(axis=1) * 2 * np.pi
    return float(areas.sum() * (lightness[1] - lightness[0]))
