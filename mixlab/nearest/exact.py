"""The best mix of every small set of paints at once: the numbers behind a recipe.

For a target colour and many subsets of paints, the shares that bring each subset closest to the
target by CIEDE2000 are found together, in three moves:

1. *Seeds.* Each subset is laid out once as a grid of mixes, even in tinting strength rather than
   in parts, so that the seeds spread evenly over the colours it makes. Every seed that is nearer
   to the target than its neighbours on the grid is a start: a valley the search must look into.
2. *Descent.* All starts of all subsets go down together (:mod:`mixlab.nearest.descent`). A start
   that runs to the edge of its simplex is let go: the smaller subset has that mix as its own.
3. *Polish.* The best mix of each count, and its close rivals, are finished by
   ``scipy.optimize.least_squares``.

That the best mix of each count is the global one is held by tests against the global optimisers of
scipy, against seed grids several times as dense, and against every whole-part mix of the lattice.
Of a subset that comes nowhere near the target (a miss above ten) the best mix may be missed by some
tenths: there CIEDE2000 has spurious valleys where hues pass opposite each other (Sharma, Wu and
Dalal 2005 describe its jumps), and such a subset is nobody's answer.

Right for one colour: it promises the very nearest mix of each number of tubes.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, one_thread
from mixlab.colour.difference import ciede2000, uniform
from mixlab.nearest.descent import descend, difference_slopes
from mixlab.nearest.medium import Medium

_GRID = {1: 1, 2: 28, 3: 12, 4: 6, 5: 4, 6: 3}
"""Steps of the seed grid along each edge of the simplex, by number of paints."""

_ITERATIONS = 14
_LEAST_DAMPING = 1e-5
_MANY = 20_000  # seeds
_NEAR = 3.0  # straight distance
_UNSEEN = 0.005  # CIEDE2000 for e times as much of a paint: the mix does without it
_HIT = 1e-3  # CIEDE2000
_LEVEL = 0.01  # CIEDE2000 that nobody sees
_RIVALRY = 1.05  # subsets whose miss is within this of the least may still come first ...
_RIVALS = 12  # ... but no more of them are looked at


@lru_cache(maxsize=32)
def _grid(paints: int, steps: int) -> tuple[Array, Indices]:
    """Return a simplex grid (g, paints) and the neighbours (g, m) of each point on it.

    Points of the grid are whole numbers that sum to `steps`, moved inward so that no share is
    zero. A point at the edge is its own neighbour where one is missing.
    """
    whole = np.array([
        point for point in itertools.product(range(steps + 1), repeat=paints)
        if sum(point) == steps
    ])  # fmt: skip
    place = {tuple(point): i for i, point in enumerate(whole)}
    moves = [
        np.eye(paints, dtype=int)[i] - np.eye(paints, dtype=int)[j]
        for i in range(paints)
        for j in range(paints)
        if i != j
    ]
    neighbours = [
        [place.get(tuple(point + move), i) for move in moves] or [i]
        for i, point in enumerate(whole)
    ]
    return (whole + 0.15) / (steps + 0.15 * paints), np.array(neighbours)


@dataclass(frozen=True, eq=False)
class Found:
    """The best mix of each of many subsets of one size.

    Attributes
    ----------
    subsets : (m, t), indices of paints
    shares : (m, t), sum to one
    miss : (m,), CIEDE2000 to the target
    """

    subsets: Indices
    shares: Array
    miss: Array


def seeds_of(paints: int, largest: int) -> int:
    """Return how many seeds a search over all mixes of up to so many paints lays out."""
    return sum(
        math.comb(paints, size) * math.comb(_GRID[size] + size - 1, size - 1)
        for size in range(1, largest + 1)
    )


class Search:
    """Seeds of many subsets, laid out once and used for any number of targets.

    Parameters
    ----------
    medium : the paints
    subsets : (m, t) indices for each size t, as from :func:`all_subsets`
    """

    def __init__(self, medium: Medium, subsets: Sequence[Indices]) -> None:
        self.medium = medium
        self.subsets = list(subsets)
        self._seeds = [self._lay_out(s) for s in self.subsets]

    def _lay_out(self, subsets: Indices) -> tuple[Array, Array, Array | None, Indices]:
        """Return logarithms of shares (m, g, t), colours (m, g, 3), neighbours (g, n).

        The third is the colours in coordinates near to CIEDE2000, of many seeds only.
        """
        count = subsets.shape[1]
        points, neighbours = _grid(count, _GRID[count])
        amounts = points[None] / self.medium.pull[subsets][:, None, :]
        shares = amounts / amounts.sum(axis=-1, keepdims=True)
        colours = self.medium.even.labs(subsets, points)
        even = uniform(colours) if colours[..., 0].size > _MANY else None
        return np.log(shares), colours, even, neighbours

    def solve(self, target: ArrayLike) -> list[Found]:
        """Return the best mix of every subset, by size.

        Parameters
        ----------
        target : CIELAB (3,) under the medium's light

        Returns
        -------
        one :class:`Found` for each size, in the order of the subsets. The miss of a subset whose
        best mix leaves a paint out is that of a smaller subset, and is found there.
        """
        with one_thread():
            return self._solve(np.asarray(target, dtype=float))

    def _solve(self, target: Array) -> list[Found]:
        valleys = [self._valleys(target, *seeds) for seeds in self._seeds]
        # sizes go down together: an absent paint stands in for those that a small subset lacks
        absent, most = len(self.medium.k), max(s.shape[1] for s in self.subsets)
        padded, logs = [], []
        for subsets, (rows, log_shares) in zip(self.subsets, valleys, strict=True):
            lack = ((0, 0), (0, most - subsets.shape[1]))
            padded.append(np.pad(subsets[rows], lack, constant_values=absent))
            logs.append(np.pad(log_shares, lack, constant_values=-np.inf))
        ends, misses = self._descend(target, np.concatenate(padded), np.concatenate(logs))
        found, at = [], 0
        for subsets, (rows, _) in zip(self.subsets, valleys, strict=True):
            mine = slice(at, at + len(rows))
            at = mine.stop
            # of several starts of a subset, the best: they stand together, best first
            order = np.lexsort((misses[mine], rows))
            best = order[np.unique(rows[order], return_index=True)[1]]
            shares = np.exp(ends[mine][best, : subsets.shape[1]])
            found.append(Found(subsets, shares, misses[mine][best]))
        return found

    def _valleys(
        self, target: Array, logs: Array, colours: Array, even: Array | None, neighbours: Indices
    ) -> tuple[Indices, Array]:
        """Return rows of subsets (n,) and logarithms of shares (n, t) of every valley's seed."""
        distance = None
        if even is not None:
            # near the target the straight distance has the same valleys, at a tenth of the cost
            off = even - uniform(target)
            straight = np.einsum("mgi,mgi->mg", off, off)
            if straight.min() < _NEAR**2:
                distance = straight
        if distance is None:
            distance = ciede2000(target, colours)
        valley = distance <= distance[:, neighbours].min(axis=-1)
        rows, seeds = np.nonzero(valley)
        return rows, logs[rows, seeds]

    def _descend(self, target: Array, subsets: Indices, logs: Array) -> tuple[Array, Array]:
        """Return logarithms of shares (n, t) where the descent ends, and misses (n,)."""

        def at(there: Array, rows: Indices) -> tuple[Array, Array]:
            return self._at(target, subsets[rows], there)

        return descend(at, logs, _ITERATIONS, _HIT, unseen=_UNSEEN, least=_LEAST_DAMPING)

    def _at(self, target: Array, subsets: Indices, logs: Array) -> tuple[Array, Array]:
        """Return the difference (n, 3) and its slopes (n, 3, t) by logarithm of share."""
        shares = np.exp(logs)
        rows = np.arange(len(subsets))[:, None]
        amounts = np.zeros((len(subsets), len(self.medium.k) + 1))
        amounts[rows, subsets] = shares
        lab, lab_slopes = self.medium.lab_slopes(amounts[:, :-1])
        off, by_lab = difference_slopes(target, lab)
        by_share = np.zeros((len(subsets), 3, len(self.medium.k) + 1))
        np.matmul(by_lab, lab_slopes, out=by_share[:, :, :-1])
        return off, np.take_along_axis(by_share, subsets[:, None, :], axis=2) * shares[:, None, :]

    def slopes(self, target: ArrayLike, subset: Indices, shares: Array) -> tuple[Array, Array]:
        """Return the difference (3,) of a mix of paints (t,), and its slopes (3, t).

        The difference is as long as the miss [CIEDE2000]; slopes are by logarithms of shares.
        """
        off, slopes = self._at(np.asarray(target, dtype=float), subset[None], np.log(shares)[None])
        return off[0], slopes[0]

    def again(self, target: ArrayLike, found: Found) -> Found:
        """Return the same subsets after a second descent from where the first one stopped.

        The first stops before the last digits; where a miss has to be told from a tolerance they
        count.
        """
        with one_thread():
            logs, misses = self._descend(
                np.asarray(target, dtype=float), found.subsets, np.log(found.shares)
            )
        return Found(found.subsets, np.exp(logs), misses)

    def best(self, target: ArrayLike, found: Found) -> tuple[Indices, Array, float]:
        """Return the best subset (t,) of one size, its shares (t,) and its miss, polished.

        Of subsets that all hit the target, the one whose least share is easiest to measure.
        """
        least = found.miss.min()
        if least < _LEVEL:
            level = np.flatnonzero(found.miss <= _LEVEL)
            row = level[found.shares[level].min(axis=1).argmax()]
            return found.subsets[row], *self.polish(target, found.subsets[row], found.shares[row])
        # the descent stops before the last digits: whatever could still come first is polished
        rows = np.argsort(found.miss, kind="stable")[:_RIVALS]
        rows = rows[found.miss[rows] <= least * _RIVALRY]
        rivals = Found(found.subsets[rows], found.shares[rows], found.miss[rows])
        if len(rows) > 1:
            rivals = self.again(target, rivals)
        last = np.flatnonzero(rivals.miss <= rivals.miss.min() + _LEVEL)
        ends = [self.polish(target, rivals.subsets[i], rivals.shares[i]) for i in last]
        first = min(range(len(last)), key=lambda i: ends[i][1])
        return rivals.subsets[last[first]], *ends[first]

    def polish(self, target: ArrayLike, subset: Indices, shares: Array) -> tuple[Array, float]:
        """Return shares (t,) and miss of one subset, finished by scipy's least squares."""
        from scipy.optimize import least_squares

        target = np.asarray(target, dtype=float)
        rows = np.asarray(subset)[None]
        start = np.log(shares[:-1] / shares[-1])

        @lru_cache(maxsize=2)
        def at(free: bytes) -> tuple[Array, Array]:
            logs = np.append(np.frombuffer(free), 0.0)
            off, slopes = self._at(target, rows, (logs - logs.max())[None])
            return off[0], slopes[0, :, :-1]

        def off(free: Array) -> Array:
            return at(free.tobytes())[0]

        def slopes(free: Array) -> Array:
            return at(free.tobytes())[1]

        miss = float(np.linalg.norm(off(start)))
        if len(start) and miss > _HIT:
            # MINPACK wants no more unknowns than the three residuals
            method: Literal["lm", "trf"] = "lm" if len(start) <= 3 else "trf"
            end = least_squares(off, start, slopes, method=method, xtol=1e-8, ftol=1e-8).x
            if np.linalg.norm(off(end)) < miss:
                start, miss = end, float(np.linalg.norm(off(end)))
        logs = np.append(start, 0.0)
        amounts = np.exp(logs - logs.max())
        return amounts / amounts.sum(), miss
