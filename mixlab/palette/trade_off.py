"""More tubes or fewer: what 1, 2, .. tubes cover at best.

The best set of each number is found by comparing all where they are few. Elsewhere it grows from
that of a tube less, and from the one that the integer programme of
:mod:`mixlab.palette.programme` proves to cover the most; tubes are then swapped as long as that
gains. Of many targets and tubes that are not few the heaviest of each of 300 boxes stand for all
while sets are sought, with no proof; what a set covers is counted on all of them.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from numbers import Integral
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, Mask, Progress
from mixlab.colour.boxes import MERGED
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.palette.problem import (
    Problem,
    Tubes,
    heaviest,
    number,
    problem_of,
    programme_of,
)
from mixlab.palette.programme import GRAIN, LACK
from mixlab.palette.small_sets import small_sets

_FEW = 300  # targets that are all looked at
_CHEAP = 700_000  # small sets times targets: all are looked at, however many they are
_EVERY = 150_000_000  # figures: sets small enough to be compared one and all
_FIGURES = 2_000_000  # at a time


@dataclass(frozen=True, eq=False)
class TradeOff:
    """What each number of tubes can do at best.

    Attributes
    ----------
    count : (k,), number of tubes that count
    sets : ids, those that do not count among them
    share : (k,), of the weight that the set covers
    bound : (k,), share that no set of so many tubes exceeds
    mean_miss : (k,), of the best mix for each target, by weight [CIEDE2000]
    stopped : "" if all that was asked is here; "time" or "Ctrl-C" if it was cut short
    """

    count: Indices
    sets: tuple[tuple[str, ...], ...]
    share: Array
    bound: Array
    mean_miss: Array
    stopped: str = ""

    @property
    def proven(self) -> Mask:
        """Whether no other set of so many tubes covers more, (k,)."""
        return np.asarray(self.share >= self.bound - LACK)


def trade_off(
    labs: ArrayLike,
    tubes: Tubes,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    weights: ArrayLike | None = None,
    *,
    most: int = 8,
    required: Iterable[str] = (),
    excluded: Iterable[str] = (),
    free: Iterable[str] = (),
    time_limit: float | None = None,
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> TradeOff:
    """Return how much 1, 2, .. tubes cover, each number by the best set of it.

    The best set covers the most weight and, of those that do, misses least on the average; where
    sets are too many to compare them all, as far as swapping tubes finds. Up to 300 targets, or
    2000 out of a dozen tubes, that the set covers the most is proven; of more, the sets are chosen
    by 300 that stand for all, their figures are those of all, and the bound is only what all the
    tubes cover.

    Ctrl-C ends the search and leaves the numbers that were done, as a time limit does.

    Parameters
    ----------
    most : greatest number of tubes
    others as in :func:`mixlab.fewest_tubes`

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    problem = problem_of(
        labs, tubes, tolerance, max_tubes, weights, view, executor,
        required=required, excluded=excluded, free=free,
    )  # fmt: skip
    problem.begin(progress, time_limit)
    return curve_of(problem, most)


def curve_of(problem: Problem, most: int, also: Sequence[Mask] = ()) -> TradeOff:
    """Return the trade-off of a question that was begun; see :func:`trade_off`.

    Choices that are known to be good, of any number of tubes, are tried `also`.
    """
    least = max(problem.counted(problem.required), 1)
    greatest = int((~problem.free).sum())
    number(most, Integral, lambda n: n >= least,
           f"{{}} tubes: it must be {least} or more, and whole")  # fmt: skip
    if not greatest:
        raise ReachError("every tube is free: there is none to count")
    counts = range(least, min(most, greatest) + 1)
    found: list[tuple[Mask, float, float, float]] = []
    with problem.cut_short():
        chooser = _Chooser(problem, also)
        for count in counts:
            if found:
                problem.check_time()
            found.append(chooser.best(count))
            problem.tell(len(found) / len(counts))
    shares, bounds, means = np.array([one[1:] for one in found]).reshape(-1, 3).T
    return TradeOff(
        np.arange(least, least + len(found)), tuple(problem.ids(one[0]) for one in found),
        shares, np.maximum(bounds, shares), means, problem.stopped,
    )  # fmt: skip


class _Chooser:
    """The targets by which sets of tubes are chosen, and the choosing."""

    def __init__(self, problem: Problem, also: Sequence[Mask] = ()) -> None:
        self.problem, fixed = problem, problem.required | problem.free
        self.also = [chosen | fixed for chosen in also]
        self.last, self.last_miss = fixed, problem.misses_of(fixed)  # of a tube less
        count = int(problem.counting.sum())
        few = count <= _FEW or count * len(problem.kit.subsets) <= _CHEAP
        self.rows, self.weight = heaviest(problem, 0.0 if few else MERGED, _FEW)
        problem.look_at(self.rows)
        self.figures = np.stack([problem.miss[int(row)] for row in self.rows])
        self.programme = programme_of(problem, self.rows, self.weight)
        self.all = len(self.rows) == count  # a bound of boxes is none of their targets

    def best(self, count: int) -> tuple[Mask, float, float, float]:
        """Return the best choice of so many tubes: what it covers of all, a bound, its mean miss.

        It covers no less than the choice before it, of a tube less.
        """
        problem, bound = self.problem, self.problem.within_reach
        starts = [self.last, *self._compared(count)]
        exact = self.all and len(starts) > 1
        if self.all and not exact:
            end = self.programme.most(count, problem.left)
            starts, bound = [self.last, *([] if end.tubes is None else [end.tubes])], end.bound
        tries = [self._filled(start, count) for start in starts]
        tries += [chosen for chosen in self.also if problem.counted(chosen) == count]
        tries += [] if exact else map(self._swapped, tries[:])
        chosen = min(tries, key=lambda one: self._order(self._misses(one)))
        miss = self._misses(chosen)
        self.last, self.last_miss = chosen, miss
        share = problem.weight_of(miss <= problem.tolerance)
        if exact or count == (~problem.free).sum():  # there is no better, or no other
            bound = share
        return chosen, share, bound, float(problem.weight @ miss)

    def _misses(self, chosen: Mask) -> Array:
        """Return the least misses (n,) of a choice: no greater than those of one that it holds."""
        miss = self.problem.misses_of(chosen)
        return miss if (self.last & ~chosen).any() else np.minimum(miss, self.last_miss)

    def _order(self, miss: Array) -> tuple[int, float]:
        share = self.problem.weight_of(miss <= self.problem.tolerance)
        return -round(share / GRAIN), float(self.problem.weight @ miss)

    def _compared(self, count: int) -> list[Mask]:
        """Return the best choice of so many tubes for these rows; none if there are too many."""
        problem = self.problem
        fixed = np.flatnonzero(problem.required | problem.free)
        open_ = np.flatnonzero(~problem.required & ~problem.free)
        add = count - problem.counted(problem.required)
        sets, size = math.comb(len(open_), add), len(fixed) + add
        if sets * len(self.rows) * small_sets(size, problem.kit.most) > _EVERY:
            return []
        added = np.array(list(combinations(open_, add)), dtype=int).reshape(sets, add)
        return [self._first(np.hstack([np.tile(fixed, (sets, 1)), added]))[0]]

    def _filled(self, start: Mask, count: int) -> Mask:
        """Return a choice filled up to so many tubes, each time by what does most."""
        chosen = start | self.problem.required | self.problem.free
        while self.problem.counted(chosen) < count and not chosen.all():
            spare = np.flatnonzero(~chosen)
            chosen, *_ = self._first(np.array([[*np.flatnonzero(chosen), i] for i in spare]))
        return chosen

    def _swapped(self, chosen: Mask) -> Mask:
        """Return the choice after one tube was swapped for another as long as that gains."""
        problem = self.problem
        found = self._first(np.flatnonzero(chosen)[None])
        while True:
            chosen = found[0]
            inside = np.flatnonzero(chosen & ~problem.required & ~problem.free)
            outside = np.flatnonzero(~chosen)
            if not len(inside) or not len(outside):
                return chosen
            kept = [np.flatnonzero(chosen & (np.arange(len(chosen)) != i)) for i in inside]
            other = self._first(np.array([[*rest, j] for rest in kept for j in outside]))
            if (-round(other[1] / GRAIN), other[2]) >= (-round(found[1] / GRAIN), found[2]):
                return chosen
            found = other

    def _first(self, tubes: Indices) -> tuple[Mask, float, float]:
        """Return the best of choices (c, k): the weight that it covers, and its mean miss."""
        share, mean = np.empty(len(tubes)), np.empty(len(tubes))
        inside = self.problem.kit.subsets.inside(tubes)
        step = max(1, _FIGURES // (inside.shape[1] * len(self.rows)))
        for at in range(0, len(tubes), step):
            miss = self.figures[:, inside[at : at + step]].min(axis=2)
            share[at : at + step] = self.weight @ (miss <= self.problem.tolerance)
            mean[at : at + step] = self.weight @ miss
        best = np.lexsort((mean, -np.round(share / GRAIN)))[0]
        chosen = np.zeros(len(self.problem.paints), dtype=bool)
        chosen[tubes[best]] = True
        return chosen, float(share[best]), float(mean[best])
