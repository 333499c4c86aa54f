"""The best mix of every small set of paints at once: the numbers behind a recipe.

For a target colour and many subsets of paints, the shares that bring each subset closest to the
target by CIEDE2000 are found together, in three moves:

1. *Seeds.* Each subset is laid out once as a grid of mixes, even in tinting strength rather than
   in parts, so that the seeds spread evenly over the colours it makes. Every seed that is nearer
   to the target than its neighbours on the grid is a start: a valley the search must look into.
2. *Descent.* All starts of all subsets go down together (:mod:`mixlab.nearest.descent`). A start
   that runs to the edge of its simplex is let go: the smaller subset has that mix as its own.
3. *Polish.* The best mix of each count, and its close rivals, go down to the last digits.

Whoever wants to know no more than which subsets come near says how near: no descent starts from a
seed that is so far off that nothing near is in its sight.

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
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, one_thread
from mixlab.colour.difference import ciede2000, straight, with_length
from mixlab.nearest.descent import descend, difference_slopes
from mixlab.nearest.medium import Medium

_GRID = {1: 1, 2: 28, 3: 12, 4: 6, 5: 4, 6: 3}
"""Steps of the seed grid along each edge of the simplex, by number of paints."""

_STEPS, _LAST_STEPS = 14, 60  # of a descent, and of one to the last digits
_LAST_GAIN = 1e-8
_LEAST_DAMPING = 1e-5
_MANY = 20_000  # seeds
_NEAR = 3.0  # straight distance
_UNSEEN = 0.005  # CIEDE2000 for e times as much of a paint: the mix does without it
_HIT = 1e-3  # CIEDE2000
_LEVEL = 0.01  # CIEDE2000 that nobody sees
_RIVALRY = 1.05  # subsets whose miss is within this of the least may still come first ...
_RIVALS = 12  # ... but no more of them are looked at
# Of a subset that comes within 6 of a target the best mix lies no farther from some seed than 1.0
# times what lies between that seed and its neighbours, whatever the number of paints: tuned on 240
# targets in and out of reach, three palettes, gloss and matt. Of four paints a few lay beyond.
_SIGHT = 1.5
# Of 30,000 seeds in sight of seven targets one lay farther off than so many times limit and sight
_FAR = 2.0


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


@dataclass(frozen=True, eq=False)
class _Seeds:
    """The grids of m subsets of t paints: g mixes of each."""

    medium: Medium
    subsets: Indices

    @cached_property
    def _points(self) -> tuple[Array, Indices]:
        size = self.subsets.shape[1]
        return _grid(size, _GRID[size])

    @cached_property
    def shares(self) -> Array:
        """Shares (m, g, t)."""
        amounts = self._points[0][None] / self.medium.pull[self.subsets][:, None, :]
        return np.asarray(amounts / amounts.sum(axis=-1, keepdims=True))

    @cached_property
    def lab(self) -> Array:
        """Colours (m, g, 3)."""
        return self.medium.even.labs(self.subsets, self._points[0])

    @cached_property
    def even(self) -> Array:
        """The colours in coordinates near to CIEDE2000 (m, g, 4); see :func:`with_length`."""
        return with_length(self.lab)

    @cached_property
    def sight(self) -> Array:
        """How far from each seed (m, g) its mix may yet be moved, by the distance of the next."""
        even = self.even[..., :3]
        most = np.zeros(even.shape[:2])
        for one in self._points[1].T:
            off = even[:, one] - even
            np.maximum(most, np.einsum("mgi,mgi->mg", off, off), out=most)
        return _SIGHT * np.sqrt(most)

    def valleys(
        self, target: Array, within: float, above: float
    ) -> tuple[Indices, Array, float]:
        """Return subsets (n,) and shares (n, t) of the seeds to start from; see `Search.solve`.

        And the miss up to which a mix is of interest.
        """
        # CIEDE2000 is costly; near the target the straight distance has the same valleys
        distance = np.sqrt(straight(target, self.even)).reshape(self.lab.shape[:2])
        if distance.size <= _MANY or distance.min() >= _NEAR:
            some = np.isfinite(distance) if above > 0 else distance <= _FAR * (within + self.sight)
            distance = np.full_like(distance, math.inf)
            distance[some] = ciede2000(target, self.lab[some])
        limit = within if above < 0 else max(within, distance.min(initial=math.inf) + above)
        neighbours = self._points[1]
        if math.isinf(limit):
            rows, seeds = np.nonzero(distance <= distance[:, neighbours].min(axis=-1))
        else:
            rows, seeds = np.nonzero(distance - self.sight <= limit)
            lowest = distance[rows[:, None], neighbours[seeds]].min(axis=-1)
            valley = distance[rows, seeds] <= lowest
            rows, seeds = rows[valley], seeds[valley]
        return rows, self.shares[rows, seeds], limit


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
        self._seeds = [_Seeds(medium, of_size) for of_size in self.subsets]

    def solve(
        self, target: ArrayLike, within: float = 0.0, above: float = math.inf,
        sizes: slice = slice(None),
    ) -> list[Found]:  # fmt: skip
        """Return the best mix of every subset, by size.

        Parameters
        ----------
        target : CIELAB (3,) under the medium's light
        within, above : the miss of a subset is of interest up to so much, or so much above the
            nearest seed of its size if that is more [CIEDE2000]; of other subsets a mix is told
            that is not their best, or none, with an infinite miss
        sizes : those of the list of subsets that are asked for

        Returns
        -------
        one :class:`Found` for each size, in the order of the subsets. The miss of a subset whose
        best mix leaves a paint out is that of a smaller subset, and is found there.
        """
        target, seeds = np.asarray(target, dtype=float), self._seeds[sizes]
        valleys = [of_size.valleys(target, within, above) for of_size in seeds]
        starts = [(of_size.subsets[rows], shares)
                  for of_size, (rows, shares, _) in zip(seeds, valleys, strict=True)]  # fmt: skip
        goal = np.repeat([limit for *_, limit in valleys], [len(rows) for rows, *_ in valleys])
        ends = self._descend(target, starts, _STEPS, unseen=_UNSEEN, goal=goal)
        found = []
        for of_size, (rows, *_), end in zip(seeds, valleys, ends, strict=True):
            count = len(of_size.subsets)
            # of several starts of a subset, the best: they stand together, best first
            order = np.lexsort((end.miss, rows))
            reached, first = np.unique(rows[order], return_index=True)
            size = of_size.subsets.shape[1]
            shares, miss = np.full((count, size), 1 / size), np.full(count, np.inf)
            shares[reached], miss[reached] = end.shares[order[first]], end.miss[order[first]]
            found.append(Found(of_size.subsets, shares, miss))
        return found

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

    def slopes(self, target: ArrayLike, subsets: Indices, shares: Array) -> tuple[Array, Array]:
        """Return the differences (n, 3) of mixes of paints (n, t), and their slopes (n, 3, t).

        A difference is as long as the miss [CIEDE2000]; slopes are by logarithms of shares.
        """
        return self._at(np.asarray(target, dtype=float), subsets, np.log(shares))

    def _descend(
        self, target: ArrayLike, starts: Sequence[tuple[Indices, Array]], steps: int, **how: Any
    ) -> list[Found]:
        """Return where mixes of several sizes, subsets (n, t) and shares (n, t), end together."""
        aim = np.asarray(target, dtype=float)
        # an absent paint stands in for those that a small subset lacks
        absent, most = len(self.medium.k), max(of.shape[1] for of, _ in starts)
        lacks = [((0, 0), (0, most - of.shape[1])) for of, _ in starts]
        subsets, shares = (
            np.concatenate([
                np.pad(one[i], lack, constant_values=filler)
                for one, lack in zip(starts, lacks, strict=True)
            ])
            for i, filler in enumerate((absent, 0))
        )  # fmt: skip
        if not len(subsets):
            return [Found(of, own, np.empty(0)) for of, own in starts]

        def at(there: Array, rows: Indices) -> tuple[Array, Array]:
            return self._at(aim, subsets[rows], there)

        with one_thread(), np.errstate(divide="ignore"):
            logs, miss = descend(at, np.log(shares), steps, _HIT, least=_LEAST_DAMPING, **how)
        ends = np.cumsum([len(of) for of, _ in starts])[:-1]
        return [
            Found(of, np.exp(there[:, : of.shape[1]]), left)
            for (of, _), there, left in zip(
                starts, np.split(logs, ends), np.split(miss, ends), strict=True
            )
        ]

    def again(self, target: ArrayLike, found: Found) -> Found:
        """Return the same subsets after a second descent from where the first one stopped.

        The first stops before the last digits; where a miss has to be told from a tolerance they
        count.
        """
        return self._descend(target, [(found.subsets, found.shares)], _STEPS, unseen=_UNSEEN)[0]

    def best(self, target: ArrayLike, found: Found) -> tuple[Indices, Array, float]:
        """Return the best subset (t,) of one size, its shares (t,) and its miss, polished.

        Of subsets that all hit the target, the one whose least share is easiest to measure.
        """
        return self.bests(target, [found])[0]

    def bests(
        self, target: ArrayLike, found: Sequence[Found]
    ) -> list[tuple[Indices, Array, float]]:
        """Return what :meth:`best` does, for several sizes at once."""
        rivals = []
        for of_size in found:
            least = of_size.miss.min()
            if least < _LEVEL:
                level = np.flatnonzero(of_size.miss <= _LEVEL)
                rows = level[[of_size.shares[level].min(axis=1).argmax()]]
            else:
                # the descent stops before the last digits: whatever could still come first
                rows = np.argsort(of_size.miss, kind="stable")[:_RIVALS]
                rows = rows[of_size.miss[rows] <= least * _RIVALRY]
            rivals.append((of_size.subsets[rows], of_size.shares[rows]))
        best = []
        for ends in self.polish(target, rivals):
            first = int(ends.miss.argmin())
            best.append((ends.subsets[first], ends.shares[first], float(ends.miss[first])))
        return best

    def polish(
        self, target: ArrayLike, mixes: Sequence[tuple[Indices, Array]]
    ) -> list[Found]:
        """Return mixes, subsets (n, t) and shares (n, t), brought down to the last digits."""
        return self._descend(target, mixes, _LAST_STEPS, settled=_LAST_GAIN)
