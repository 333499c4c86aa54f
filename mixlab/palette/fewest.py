"""The fewest tubes that do: which to carry, and the proof of it.

Every small set of tubes of a catalogue is searched for the mix nearest to each target
(:mod:`mixlab.palette.small_sets`); the smallest sets within the tolerance are the target's ways.
The fewest tubes that hold a way of every target are found by an integer programme
(:mod:`mixlab.palette.programme`), whose bound proves that no fewer will do.

Of many targets only some are looked at with the whole catalogue. They give a bound that holds for
all, since to cover all is to cover some; the set found for them is then tried on every other
target, and those that it misses are looked at as well, until none is missed. So the answer is that
of all targets, whichever were looked at first.

Misses are those of exact shares. Recipes in whole parts are given besides.
"""


import math
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Indices, Mask, Progress, clock
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
    real,
    whole,
)
from mixlab.palette.programme import GRAIN, Choice, HittingSet
from mixlab.palette.small_sets import SLACK
from mixlab.palette.tube_sets import Fewest, ranked

_FIRST = 64  # targets looked at first
_MORE = 24  # targets looked at next, and twice as many each time
_LOOKED_AT = 60  # sets as small as the best, of which the best are listed
_GRACE = 2.0  # seconds beyond the time limit to put together what was found


def fewest_tubes(
    labs: ArrayLike,
    tubes: Tubes,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    share: float = 1.0,
    weights: ArrayLike | None = None,
    *,
    must: Iterable[str] = (),
    must_not: Iterable[str] = (),
    free: Iterable[str] = (),
    merge: float = MERGE,
    sets: int = 10,
    time_limit: float | None = None,
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> Fewest:
    """Return the fewest tubes of a catalogue from which every target can be mixed, and the proof.

    Targets that no mix of the catalogue reaches are left out and named (`in_reach`); the answer
    is for the rest, or for the share that was asked, whichever is less. Ctrl-C ends the search and
    leaves what was found, as a time limit does.

    Parameters
    ----------
    labs : CIELAB (n, 3) under `view`
    tubes : the catalogue; a plain list of paints will do
    tolerance : miss that passes, of exact shares [CIEDE2000]
    max_tubes : greatest number of paints in one mix, 1 to 4
    share : of the weight that is to be within the tolerance, 0..1
    weights : (n,), what each target counts; alike unless given. One that counts nothing need not
        be covered
    must, must_not : ids or Colour Index names of tubes that are in the set, or cannot be
    free : of tubes that are not counted, such as a white that is there anyway
    merge : size of the boxes, in coordinates near to CIEDE2000, of whose targets the heaviest is
        looked at first. It changes the time, and not how many tubes are needed
    sets : how many sets of so few tubes to list, at most
    time_limit : after so long the best set and the bound so far are returned [s]
    executor : does the work, split by target: as in concurrent.futures, or a Dask client; this
        process unless given. The answer is the same to the digit
    view : light, observer and finish; D65, 2 degree, gloss unless told
    progress : told the share of the work that is done, 0..1

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    problem = problem_of(
        labs, tubes, tolerance, max_tubes, weights, must, must_not, free, view, executor
    )
    wanted, size = real(share), real(merge)
    if not (math.isfinite(wanted) and 0 < wanted <= 1):
        raise ReachError(f"a share of {share} to cover: it must be above 0, and 1 at most")
    if not (math.isfinite(size) and size >= 0):
        raise ReachError(f"targets merged within {merge}: it must be zero or more")
    if (listed := whole(sets)) is None or listed < 1:
        raise ReachError(f"{sets} sets to list: it must be 1 or more, and whole")
    return _Search(problem, wanted, listed, checked_limit(time_limit), progress).answer(size)


# --- the search ---------------------------------------------------------------------------------


class _Search:
    """The search for the fewest tubes, and what it has come to so far."""

    def __init__(
        self, problem: Problem, share_wanted: float, sets: int, left: Callable[[], float],
        progress: Progress | None,
    ) -> None:  # fmt: skip
        self.problem, self.share_wanted, self.sets, self.left = problem, share_wanted, sets, left
        problem.begin(progress)
        self.programme = HittingSet(problem.must, problem.free)
        self.laid = 0  # targets that the programme has
        self.bound = 0.0
        self.choices: list[Mask] = []
        self.complete = False

    def answer(self, merge: float) -> Fewest:
        """Search, and return what was found; see :func:`fewest_tubes`."""
        stopped = ""
        try:
            self._look_at(heaviest(self.problem, merge, _FIRST)[0])
            best = self._best()
            if best is not None:
                self.choices.append(best)
                self.complete = self._others()
        except TimeIsOver:
            stopped = "time"
        except KeyboardInterrupt:
            stopped = "Ctrl-C"
        try:
            return self._put_together(stopped)
        except KeyboardInterrupt:
            if stopped == "Ctrl-C":  # it was said twice
                raise
            return self._put_together("Ctrl-C")

    def _look_at(self, rows: Indices) -> None:
        try:
            self.problem.look_at(rows, self.left)
        finally:
            self._lay_down()

    def _lay_down(self) -> None:
        """Take the targets that were looked at into the programme."""
        problem = self.problem
        for row in list(problem.ways)[self.laid :]:
            if problem.counting[row]:
                self.programme.add(problem.ways[row], float(problem.weight[row]))
        self.laid = len(problem.ways)

    def _wanted(self) -> float:
        """Return the weight to be covered: no more than there is within reach, as far as known."""
        lost = math.fsum(self.problem.weight[self.problem.counting & self.problem.lost])
        return min(self.share_wanted, 1.0 - lost)

    def _done(self, within: Mask) -> bool:
        problem, wanted = self.problem, self._wanted()
        if problem.not_known == 0:
            return True  # the programme has seen to it
        open_ = problem.counting & ~problem.lost
        if wanted > math.fsum(problem.weight[open_]) - GRAIN:
            return bool(within[open_].all())
        return math.fsum(problem.weight[within]) >= wanted - GRAIN

    def _best(self, most: int | None = None) -> Mask | None:
        """Return a choice of fewest tubes that covers enough and is not among those found."""
        problem, more = self.problem, _MORE
        while True:
            # what has not been looked at may be covered by anything: a bound holds all the same
            wanted = max(self._wanted() - problem.not_known, 0.0)
            end: Choice = self.programme.fewest(
                wanted, self.left, self.choices, most, self._at_least if most is None else _silent
            )
            if not end.done:
                raise TimeIsOver
            if end.tubes is None:
                return None
            within = problem.within_tolerance(end.tubes)
            if self._done(within):
                return end.tubes
            missed = np.flatnonzero(problem.counting & ~within & ~problem.known)
            if not len(missed):
                return end.tubes
            self._look_at(self._next(missed, more))
            more *= 2
            if self.left() <= 0:
                raise TimeIsOver

    def _at_least(self, bound: float) -> None:
        self.bound = max(self.bound, bound)

    def _next(self, missed: Indices, most: int) -> Indices:
        """Return which of the targets that a choice misses to look at next."""
        problem = self.problem
        # of a share the heaviest decide; of all one here and one there
        return heaviest(problem, 0.0 if self.share_wanted < 1 else MERGE, most, missed)[0][:most]

    def _others(self) -> bool:
        """Find the other choices of as few tubes; return whether all were found."""
        problem = self.problem
        count = int((self.choices[0] & ~problem.free).sum())
        if count == 0:
            return True
        all_known = not (problem.counting & ~problem.known).any()
        if all_known and self._wanted() > self.programme.weight - GRAIN:
            every = self.programme.all_of(count)
            if every is not None:
                self.choices = every
                return True
        most = max(_LOOKED_AT, self.sets) if all_known else self.sets
        while len(self.choices) < most:
            other = self._best(most=count)
            if other is None:
                return True
            self.choices.append(other)
        return False

    # --- what it came to ------------------------------------------------------------------------

    def _put_together(self, stopped: str) -> Fewest:
        problem = self.problem
        grace = clock(_GRACE if stopped else max(self.left(), _GRACE))
        choices = [chosen for chosen in self.choices if chosen.any()]
        if not choices and stopped and problem.miss:
            choices = self._so_far(stopped)
        listed = ranked(problem, choices, self.sets, grace)
        reachable, settled = (~problem.lost, problem.known) if stopped else problem.in_reach(grace)
        problem.tell(1.0)
        if not listed:
            n = len(problem.labs)
            return Fewest(
                (), (), 0, self.complete, 0, int(self.bound), not stopped,
                None if stopped else True, stopped, problem.tolerance, problem.kit.most,
                self.share_wanted, 0.0, reachable, settled, np.zeros(n, dtype=bool),
                np.zeros((n, 0)), np.full(n, np.inf), None, len(problem.miss), problem,
            )  # fmt: skip
        best, first = listed[0]
        within = problem.within_tolerance(best, sure=not stopped)
        counted = int((best & ~problem.free).sum())
        proven = bool(self.choices) and counted <= self.bound
        shares, miss = problem.mixes_of(best, within, quick=bool(stopped))
        return Fewest(
            first.tubes, tuple(one for _, one in listed), len(choices), self.complete, counted,
            int(self.bound), proven,
            self._has_margin(counted, grace) if proven and not stopped else None, stopped,
            problem.tolerance, problem.kit.most, self.share_wanted,
            math.fsum(problem.weight[within]), reachable | within, settled | within, within,
            shares, miss, problem.paints.table.palette(first.tubes, "the fewest"),
            len(problem.miss), problem,
        )  # fmt: skip

    def _so_far(self, stopped: str) -> list[Mask]:
        """Return a set for what was looked at before the search was cut short, if there is one.

        It covers as great a part of them as was asked of all, and is not proven to be of the
        fewest. No other target is looked at for it: the time is over.
        """
        wanted = self._wanted()
        part = min(wanted * (1 - self.problem.not_known), self.programme.weight)
        some = None
        if stopped == "time":
            least = max(wanted - self.problem.not_known, 0.0)
            some = self.programme.fewest(least, clock(_GRACE / 2), tell=self._at_least).tubes
        if some is None or self.programme.share(some) < part - GRAIN:
            some = self.programme.greedy(part)
        return [some] if some is not None and some.any() else []

    def _has_margin(self, counted: int, left: Callable[[], float]) -> bool | None:
        """Return whether fewer tubes would not do at a tolerance a little greater either."""
        problem = self.problem
        if counted == 0 or counted == (problem.must & ~problem.free).sum():
            return True
        # beyond the tolerance a colour that has to be left out now may count toward a share
        rows = [row for row, ways in problem.ways.items()
                if problem.counting[row] and (len(ways) or self.share_wanted < 1)]  # fmt: skip
        loose = programme_of(problem, rows, problem.weight[rows], slack=SLACK)
        wanted = max(self._wanted() - problem.not_known, 0.0)
        end = loose.fewest(wanted, left, most=counted - 1)
        return end.tubes is None if end.done else None


def _silent(bound: float) -> None:
    return None

