"""The fewest tubes that do: which to carry, and the proof of it.

Every small set of the tubes to choose from is searched for the mix nearest to each target
(:mod:`mixlab.palette.small_sets`); the smallest sets within the tolerance are the target's ways.
The fewest tubes that hold a way of every target are found by an integer programme
(:mod:`mixlab.palette.programme`), whose bound proves that no fewer will do.

Of many targets only some are looked at with all the tubes. They give a bound that holds for all,
since to cover all is to cover some; the set found for them is then tried on every other target,
and those that it misses are looked at as well, until none is missed. So the answer is that of all
targets, whichever were looked at first.

Misses are those of exact shares. Recipes in whole parts are given besides.
"""

from collections.abc import Iterable
from numbers import Integral, Real
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Indices, Mask, Progress, clock
from mixlab.colour.boxes import MERGED
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing
from mixlab.palette.problem import (
    Problem,
    TimeIsOver,
    Tubes,
    heaviest,
    number,
    problem_of,
    programme_of,
)
from mixlab.palette.programme import GRAIN, HittingSet
from mixlab.palette.small_sets import SLACK
from mixlab.palette.tube_sets import Fewest, ranked

MOST_LISTED = 1000

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
    required: Iterable[str] = (),
    excluded: Iterable[str] = (),
    free: Iterable[str] = (),
    sets: int = 10,
    time_limit: float | None = None,
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> Fewest:
    """Return the fewest tubes from which every target can be mixed, and the proof.

    Targets that no mix of all the tubes reaches are left out and named (`in_reach`); the answer
    is for the rest. Where a share is asked that is not within reach, it is that share of what is.
    Ctrl-C ends the search and leaves what was found, as a time limit does.

    Parameters
    ----------
    labs : CIELAB (n, 3) under `view`
    tubes : to choose from: a pigment table, a palette, or a plain list of paints
    tolerance : miss that passes, of exact shares [CIEDE2000]
    max_tubes : greatest number of paints in one mix, 1 to 4
    share : of the weight that is to be within the tolerance, 0..1
    weights : (n,), what each target counts; alike unless given. One that counts nothing need not
        be covered
    required, excluded : ids or Colour Index names of tubes that are in the set, or cannot be
    free : of tubes that are not counted, such as a white that is there anyway
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
        labs, tubes, tolerance, max_tubes, weights, view, executor,
        required=required, excluded=excluded, free=free,
    )  # fmt: skip
    number(share, Real, lambda x: 0 < x <= 1,
           "a share of {} to cover: it must be above 0, and 1 at most")  # fmt: skip
    number(sets, Integral, lambda n: 1 <= n <= MOST_LISTED,
           f"{{}} sets to list: it must be 1 to {MOST_LISTED}, and whole")  # fmt: skip
    problem.begin(progress, time_limit)
    return _Search(problem, share, sets).answer()


class _Search:
    """The search for the fewest tubes, and what it has come to so far."""

    def __init__(self, problem: Problem, share_wanted: float, sets: int) -> None:
        self.problem, self.share_wanted, self.sets = problem, share_wanted, sets
        self._programme = HittingSet(problem.required, problem.free)
        self._laid = 0  # targets that the programme has
        self.choices: list[Mask] = []
        self.complete = False

    def answer(self) -> Fewest:
        """Search, and return what was found; see :func:`fewest_tubes`."""
        problem = self.problem
        with problem.cut_short():
            problem.look_at(heaviest(problem, MERGED, _FIRST)[0])
            best = self._best()
            if best is not None:
                self.choices.append(best)
                self.complete = self._others()
        try:
            return self._put_together()
        except KeyboardInterrupt:
            if problem.stopped == "Ctrl-C":  # it was said twice
                raise
            problem.stopped = "Ctrl-C"
            return self._put_together()

    @property
    def programme(self) -> HittingSet:
        """The targets that were looked at so far, as a programme."""
        problem = self.problem
        for row in list(problem.ways)[self._laid :]:
            if problem.counting[row]:
                self._programme.add(problem.ways[row], float(problem.weight[row]))
        self._laid = len(problem.ways)
        return self._programme

    def _wanted(self) -> float:
        """Return the weight to be covered, as far as is known what is within reach."""
        return self.problem.wanted(self.share_wanted)

    def _least(self) -> float:
        """Return the weight that the targets looked at must give, whatever the others turn out.

        What has not been looked at may be covered by anything, or be beyond every mix: a bound
        holds all the same.
        """
        problem = self.problem
        sure = problem.weight_of(problem.known & ~problem.lost)
        return max(problem.wanted(self.share_wanted, sure) - problem.not_known, 0.0)

    def _done(self, within: Mask) -> bool:
        problem, wanted = self.problem, self._wanted()
        if problem.not_known == 0:
            return True  # the programme has seen to it
        open_ = problem.counting & ~problem.lost
        if wanted > problem.weight_of(open_) - GRAIN:
            return bool(within[open_].all())
        return problem.weight_of(within) >= wanted - GRAIN

    def _best(self, most: int | None = None) -> Mask | None:
        """Return a choice of fewest tubes that covers enough and is not among those found."""
        problem, more = self.problem, _MORE
        while True:
            end = self.programme.fewest(self._least(), problem.left, self.choices, most)
            if not end.done:
                raise TimeIsOver
            if end.tubes is None:
                return None
            within = problem.within_tolerance(end.tubes)
            if self._done(within):
                return end.tubes
            open_ = problem.counting & ~problem.known
            # where it misses none of these, what is within reach has to be known of them
            missed = np.flatnonzero(open_ & ~within if (open_ & ~within).any() else open_)
            problem.look_at(self._next(missed, more))
            more *= 2
            problem.check_time()

    def _next(self, missed: Indices, most: int) -> Indices:
        """Return which of the targets that a choice misses to look at next."""
        # of a share the heaviest decide; of all one here and one there
        merge = 0.0 if self.share_wanted < 1 else MERGED
        return heaviest(self.problem, merge, most, missed)[0][:most]

    def _others(self) -> bool:
        """Find the other choices of as few tubes; return whether all were found."""
        problem = self.problem
        count = problem.counted(self.choices[0])
        if count == 0:
            return True
        all_known = problem.not_known == 0
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

    def _put_together(self) -> Fewest:
        problem, stopped = self.problem, self.problem.stopped
        problem.left = clock(_GRACE if stopped else max(problem.left(), _GRACE))
        choices = [chosen for chosen in self.choices if chosen.any()]
        if not choices and stopped and problem.miss:
            choices = self._so_far()
        listed = ranked(problem, choices, self.sets)
        in_reach, settled = (~problem.lost, problem.known) if stopped else problem.in_reach()
        problem.tell(1.0)
        best = listed[0][0] if listed else np.zeros(len(problem.paints), dtype=bool)
        within = problem.within_tolerance(best)
        counted, bound = problem.counted(best), self.programme.bound
        proven = counted <= bound and bool(self.choices or not stopped)
        shares, miss = problem.mixes_of(best, within, quick=bool(stopped))
        tubes = problem.ids(best)
        return Fewest(
            tubes=tubes,
            sets=tuple(one for _, one in listed),
            compared=len(choices),
            complete=self.complete,
            counted=counted,
            lower_bound=bound,
            proven=proven,
            proof_has_margin=self._has_margin(counted) if proven and not stopped else None,
            stopped=stopped,
            share_wanted=self.share_wanted,
            share=problem.weight_of(within),
            in_reach=in_reach | within,
            in_reach_known=settled | within,
            within_tolerance=within,
            shares=shares,
            miss=miss,
            palette=problem.paints.table.palette(tubes, "the fewest") if tubes else None,
            looked_at=len(problem.miss),
            _problem=problem,
        )

    def _so_far(self) -> list[Mask]:
        """Return a set for what was looked at before the search was cut short, if there is one.

        It covers as great a part of them as was asked of all, and is not proven to be of the
        fewest. No other target is looked at for it: the time is over.
        """
        problem, programme = self.problem, self.programme
        part = min(self._wanted() * (1 - problem.not_known), programme.weight)
        some = None
        if problem.stopped == "time":
            some = programme.fewest(self._least(), clock(_GRACE / 2)).tubes
        if some is None or programme.share(some) < part - GRAIN:
            some = programme.greedy(part)
        return [some] if some is not None and some.any() else []

    def _has_margin(self, counted: int) -> bool | None:
        """Return whether fewer tubes would not do at a tolerance a little greater either."""
        problem = self.problem
        if counted == 0 or counted == problem.counted(problem.required):
            return True
        # beyond the tolerance a colour that has to be left out now may count toward a share
        rows = [row for row, ways in problem.ways.items()
                if problem.counting[row] and (len(ways) or self.share_wanted < 1)]  # fmt: skip
        loose = programme_of(problem, rows, problem.weight[rows], slack=SLACK)
        end = loose.fewest(self._least(), problem.left, most=counted - 1)
        return end.tubes is None if end.done else None
