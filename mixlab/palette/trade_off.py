"""More tubes or fewer: what 1, 2, .. tubes of a catalogue cover at best.

The best set of each number is found by comparing all where they are few, and by the integer
programme of :mod:`mixlab.palette.programme` elsewhere. Of many targets and a catalogue that is not
small the heaviest of each of 300 boxes stand for all while sets are sought, from several starts by
swapping tubes, with no proof; what a set covers is counted on all of them.
"""


import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, Mask, Progress
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.palette.problem import (
    MERGE,
    Problem,
    TimeIsOver,
    Tubes,
    checked_limit,
    heaviest,
    problem_of,
    programme_of,
    whole,
)
from mixlab.palette.programme import GRAIN, LACK

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
    must: Iterable[str] = (),
    must_not: Iterable[str] = (),
    free: Iterable[str] = (),
    time_limit: float | None = None,
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> TradeOff:
    """Return how much 1, 2, .. tubes of a catalogue cover, each number by the best set of it.

    The best set covers the most weight and, of those that do, misses least on the average. Up to
    300 targets, or 2000 out of a dozen tubes, that the set covers the most is proven; of more, the
    sets are chosen by 300 that stand for all, their figures are those of all, and the bound is only
    what the whole catalogue covers. That no other set of as much share misses less is proven where
    there are few enough sets to compare them all.

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
        labs, tubes, tolerance, max_tubes, weights, must, must_not, free, view, executor
    )
    return curve_of(problem, most, progress, checked_limit(time_limit))


def curve_of(
    problem: Problem, most: int, progress: Progress | None, left: Callable[[], float],
    also: Sequence[Mask] = (),
) -> TradeOff:  # fmt: skip
    """Return the trade-off of a question; see :func:`trade_off`.

    Choices that are known to be good, of any number of tubes, are tried `also`.
    """
    least = max(int((problem.must & ~problem.free).sum()), 1)
    greatest = int((~problem.free).sum())
    if (number := whole(most)) is None or number < least:
        raise ReachError(f"{most} tubes: it must be {least} or more, and whole")
    if not greatest:
        raise ReachError("every tube is free: there is none to count")
    tell = progress or (lambda share: None)
    counts = range(least, min(number, greatest) + 1)
    found: list[tuple[Mask, float, float, float]] = []
    stopped = ""
    try:
        problem.begin(lambda share: tell(share / 2))
        sought = _Sought(problem, left, also)
        for count in counts:
            found.append(sought.best(count))
            tell(0.5 + 0.5 * len(found) / len(counts))
            if left() <= 0 and len(found) < len(counts):
                raise TimeIsOver
    except TimeIsOver:
        stopped = "time"
    except KeyboardInterrupt:
        stopped = "Ctrl-C"
    shares, bounds, means = np.array([one[1:] for one in found]).reshape(-1, 3).T
    return TradeOff(
        np.arange(least, least + len(found)), tuple(problem.ids(one[0]) for one in found),
        shares, np.maximum(bounds, shares), means, stopped,
    )  # fmt: skip


class _Sought:
    """The targets by which sets are chosen, and the choosing."""

    def __init__(
        self, problem: Problem, left: Callable[[], float], also: Sequence[Mask]
    ) -> None:
        self.problem, self.left = problem, left
        self.last: tuple[Mask | None, Array] = (None, np.empty(0))
        self.also = [chosen | problem.must | problem.free for chosen in also]
        count = int(problem.counting.sum())
        few = count <= _FEW or count * len(problem.kit.subsets) <= _CHEAP
        self.rows, self.weight = heaviest(problem, 0.0 if few else MERGE, _FEW)
        problem.look_at(self.rows, left)
        self.all = len(self.rows) == count  # a bound of boxes is none of their targets
        self.figures = np.stack([problem.miss[int(row)] for row in self.rows])
        self.programme = programme_of(problem, self.rows, self.weight)
        self.shrinking = [] if self.all else list(self.programme.shrinking())

    def best(self, count: int) -> tuple[Mask, float, float, float]:
        """Return the best choice of so many tubes: what it covers of all, a bound, its mean miss.

        It covers no less than the choice before it, of a tube less.
        """
        problem = self.problem
        tries, bound = self._chosen(count)
        tries += [chosen for chosen in self.also if (chosen & ~problem.free).sum() == count]
        if not self.all:
            bound = 1.0 - math.fsum(problem.weight[problem.lost & problem.counting])
        chosen = min(tries, key=lambda one: self._order(self._misses(one)))
        miss = self._misses(chosen, sure=True)
        self.last = chosen, miss
        share = math.fsum(problem.weight[miss <= problem.tolerance])
        if count == (~problem.free).sum():  # there is no other
            bound = share
        return chosen, share, bound, float(problem.weight @ miss)

    def _misses(self, chosen: Mask, sure: bool = False) -> Array:
        """Return the least misses (n,) of a choice: no greater than those of one that it holds."""
        miss = self.problem.misses_of(chosen, sure)
        before, least = self.last
        return miss if before is None or (before & ~chosen).any() else np.minimum(miss, least)

    def _order(self, miss: Array) -> tuple[int, float]:
        share = math.fsum(self.problem.weight[miss <= self.problem.tolerance])
        return -round(share / GRAIN), float(self.problem.weight @ miss)

    def _chosen(self, count: int) -> tuple[list[Mask], float]:
        """Return choices of so many tubes that may be the best, and a bound on these rows."""
        problem = self.problem
        fixed = np.flatnonzero(problem.must | problem.free)
        open_ = np.flatnonzero(~problem.must & ~problem.free)
        add = min(count - int((problem.must & ~problem.free).sum()), len(open_))
        size = len(fixed) + add
        work = math.comb(len(open_), add) * len(self.rows) * sum(
            math.comb(size, t) for t in range(1, len(problem.kit.subsets.sizes) + 1)
        )  # fmt: skip
        tries: list[Mask] = []
        if work <= _EVERY:
            sets = math.comb(len(open_), add)
            added = np.array(list(combinations(open_, add)), dtype=int).reshape(sets, add)
            chosen, share, _ = self._first(np.hstack([np.tile(fixed, (sets, 1)), added]))
            if self.all:
                return [chosen], share
            tries.append(chosen)
        # with a tube more the set of a tube less does no less
        if self.last[0] is not None:
            tries.append(self._filled(self.last[0], count))
        if not self.all:
            tries += [one for one in self.shrinking if (one & ~problem.free).sum() == count]
            return [*map(self._swapped, tries), *tries], 1.0
        end = self.programme.most(count, self.left)
        if end.tubes is not None:
            tries.append(self._filled(end.tubes, count))
        if not tries:
            raise TimeIsOver
        return [*map(self._swapped, tries)], end.bound

    def _filled(self, start: Mask, count: int) -> Mask:
        """Return a choice filled up to so many tubes, each time by what does most."""
        problem = self.problem
        chosen = start | problem.must | problem.free
        while int((chosen & ~problem.free).sum()) < count and not chosen.all():
            spare = np.flatnonzero(~chosen)
            chosen, *_ = self._first(np.array([[*np.flatnonzero(chosen), i] for i in spare]))
        return chosen

    def _swapped(self, chosen: Mask) -> Mask:
        """Return the choice after one tube was swapped for another as long as that gains."""
        problem = self.problem
        found = self._first(np.flatnonzero(chosen)[None])
        while True:
            chosen = found[0]
            inside = np.flatnonzero(chosen & ~problem.must & ~problem.free)
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
