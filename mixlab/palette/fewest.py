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
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, Mask, Progress, clock
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.mixing.answers import Recipe
from mixlab.mixing.recipes import find_recipe, find_recipes
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.problem import (
    MERGE,
    Problem,
    TimeIsOver,
    Tubes,
    checked_limit,
    nearest,
    real,
    whole,
)
from mixlab.palette.programme import GRAIN, Choice, HittingSet
from mixlab.palette.small_sets import SLACK
from mixlab.palette.trade_off import TradeOff, curve_of

_FIRST = 64  # targets looked at first
_MORE = 24  # targets looked at next, and twice as many each time
_LOOKED_AT = 60  # sets as small as the best, of which the best are listed
_GRACE = 2.0  # seconds beyond the time limit to put together what was found
_AT_ONCE = 10_000  # choices
_LEVEL = 0.05  # mean misses this near to each other are alike [CIEDE2000]
_SENSITIVITIES = 200  # targets whose recipes are asked for their sensitivity


@dataclass(frozen=True, eq=False)
class TubeSet:
    """Tubes that cover what was problem.

    Attributes
    ----------
    tubes : ids, in the order of the catalogue
    share : of the weight of the targets that they cover, 0..1
    mean_miss : of the best mix for each target, by weight, the uncovered ones too [CIEDE2000]
    sensitivity : mean over the targets, by weight, of how far a quarter part off moves the
        recipe in whole parts [CIEDE2000]; of the heaviest 200
    """

    tubes: tuple[str, ...]
    share: float
    mean_miss: float
    sensitivity: float


@dataclass(frozen=True, eq=False)
class Fewest:
    """What :func:`fewest_tubes` found, for n targets.

    Attributes
    ----------
    tubes : ids of the best set; empty if none was found in time
    sets : sets of so few tubes, the best first: by mean miss to 0.05, then by sensitivity
    compared : number of sets of so few tubes that the best were taken from
    complete : whether those are all there are
    counted : number of tubes of the best set that count
    lower_bound : no set of fewer that counts will do
    proven : whether the best set has no more tubes than the bound; shares of the weight are
        compared to a few millionths
    proof_has_margin : whether that would hold if the tolerance were 0.02 more: no miss
        so near to it decides about it; None where the time was over before it was known
    stopped : "" if the search ended by itself; "time" or "Ctrl-C" if it was cut short
    tolerance, max_tubes, share_wanted : as asked
    share : of the weight that the best set brings within the tolerance, 0..1
    in_reach : (n,), False where no mix of the whole catalogue is within the tolerance
    in_reach_known : (n,), whether `in_reach` is known: of all, unless the search was cut short
        or the table is so large that it would take long
    within_tolerance : (n,), whether the best set does the target
    shares : (n, k), of the best mix of the set, in the order of `tubes`
    miss : (n,), of that mix [CIEDE2000]
    palette : the best set as a palette; None if none was found
    looked_at : number of targets that were looked at with the whole catalogue
    """

    tubes: tuple[str, ...]
    sets: tuple[TubeSet, ...]
    compared: int
    complete: bool
    counted: int
    lower_bound: int
    proven: bool
    proof_has_margin: bool | None
    stopped: str
    tolerance: float
    max_tubes: int
    share_wanted: float
    share: float
    in_reach: Mask
    in_reach_known: Mask
    within_tolerance: Mask
    shares: Array
    miss: Array
    palette: Palette | None
    looked_at: int
    _problem: Problem

    @property
    def labs(self) -> Array:
        """The targets (n, 3)."""
        return self._problem.labs

    @property
    def weight(self) -> Array:
        """What each counts, (n,); they sum to one."""
        return self._problem.weight

    @property
    def view(self) -> Viewing:
        """Light and observer."""
        return self._problem.view

    @property
    def of(self) -> tuple[str, ...]:
        """Ids of the tubes that the set could be taken from."""
        return tuple(self._problem.paints.ids)

    @property
    def free(self) -> tuple[str, ...]:
        """Ids of the tubes of the catalogue that do not count."""
        return self._problem.ids(self._problem.free)

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """Recipes in whole parts from the best set, one a target; see :meth:`recipe`."""
        return tuple(self.recipe(row) for row in range(len(self.labs)))

    def recipe(self, row: int) -> Recipe:
        """Return the recipe in whole parts for one target, of the fewest tubes.

        Up to twelve parts, or in finer ones where that does not come within the tolerance; for a
        target that the set does not cover, within 0.5 of the nearest mix.

        Raises
        ------
        ReachError : if no set was found
        """
        if self._alone is None:
            raise ReachError("no set of tubes was found; there are no recipes")
        return find_recipe(
            self.labs[row], self._alone, self.tolerance, self.max_tubes, view=self.view,
            out_of_reach="nearest", alternatives=0,
        ).recipe  # fmt: skip

    @cached_property
    def _alone(self) -> Palette | None:
        """The best set in a table of its own, where nothing else is looked for."""
        if self.palette is None:
            return None
        return PigmentTable(self.palette.paints).palette(self.tubes, self.palette.name)

    def misses_of(self, labs: ArrayLike) -> Array:
        """Return how far the best set misses other colours, CIELAB (n, 3): (n,) [CIEDE2000].

        All are sought together, as :func:`mixlab.palette.reach` does.

        Raises
        ------
        ReachError : if no set was found
        """
        if self._alone is None:
            raise ReachError("no set of tubes was found; it mixes nothing")
        kit = self._problem.kit
        chosen = np.flatnonzero(np.isin(self._problem.paints.ids, self.tubes))
        return nearest((kit.of(chosen), np.asarray(labs, dtype=float)))

    def trade_off(
        self,
        most: int | None = None,
        progress: Progress | None = None,
        time_limit: float | None = None,
    ) -> TradeOff:
        """Return what 1, 2, .. tubes can do, up to so many; to those of the best set if None.

        See :func:`mixlab.trade_off`.
        """
        most = max(self.counted, 1) if most is None else most
        ids = self._problem.paints.ids
        also = [np.isin(ids, one.tubes) for one in self.sets]
        curve = curve_of(self._problem, most, progress, checked_limit(time_limit), also)
        # fewer tubes than are needed for so much cover less than that
        less = curve.count < self.lower_bound
        lost = self._problem.lost & self._problem.counting
        wanted = min(self.share_wanted, 1.0 - math.fsum(self.weight[lost]))
        bound = np.where(less, np.minimum(curve.bound, wanted), curve.bound)
        return replace(curve, bound=np.maximum(bound, curve.share))


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
    view : light and observer; D65 / 2 degree unless told
    progress : told the share of the work that is done, 0..1

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    problem = Problem.of(
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
            self._look_at(self.problem.heaviest(merge, _FIRST)[0])
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
        return problem.heaviest(0.0 if self.share_wanted < 1 else MERGE, most, missed)[0][:most]

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
        listed = self._ranked(choices, grace)
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

    def _ranked(
        self, choices: list[Mask], left: Callable[[], float]
    ) -> list[tuple[Mask, TubeSet]]:
        """Return the best of the choices, by mean miss and then by sensitivity.

        The first of them at least; as many more as there is time for.
        """
        problem = self.problem
        means = self._means(choices) if len(choices) > 1 else [0.0] * len(choices)
        order = sorted(range(len(choices)), key=lambda i: (means[i], problem.ids(choices[i])))
        listed: list[tuple[Mask, TubeSet]] = []
        for i in order[: self.sets]:
            if listed and left() <= 0:
                break
            miss = problem.misses_of(choices[i])
            share = math.fsum(problem.weight[miss <= problem.tolerance])
            one = TubeSet(
                problem.ids(choices[i]), share, float(problem.weight @ miss),
                self._sensitivity(choices[i]),
            )
            listed.append((choices[i], one))
        listed.sort(key=lambda one: (round(one[1].mean_miss / _LEVEL), one[1].sensitivity))
        return listed

    def _means(self, choices: list[Mask]) -> Array:
        """Return the mean miss (c,) of choices, by weight, of the targets that were looked at."""
        problem = self.problem
        means = np.zeros(len(choices))
        sizes = np.array([int(chosen.sum()) for chosen in choices], dtype=int)
        for size in np.unique(sizes):
            some = np.flatnonzero(sizes == size)
            tubes = np.array([np.flatnonzero(choices[i]) for i in some]).reshape(len(some), -1)
            for at in range(0, len(some), _AT_ONCE):
                inside = problem.kit.subsets.inside(tubes[at : at + _AT_ONCE])
                for row in np.flatnonzero(problem.known):
                    least = problem.miss[int(row)][inside].min(axis=1)
                    means[some[at : at + _AT_ONCE]] += problem.weight[row] * least
        return means

    def _sensitivity(self, chosen: Mask) -> float:
        problem = self.problem
        rows = np.argsort(-problem.weight, kind="stable")[:_SENSITIVITIES]
        palette = problem.paints.table.palette(problem.ids(chosen))
        made = find_recipes(
            problem.labs[rows], palette, problem.tolerance, problem.kit.most, view=problem.view
        )
        weight = problem.weight[rows] / math.fsum(problem.weight[rows])
        return math.fsum(w * made[i].sensitivity.miss for i, w in enumerate(weight) if w > 0)

    def _has_margin(self, counted: int, left: Callable[[], float]) -> bool | None:
        """Return whether fewer tubes would not do at a tolerance a little greater either."""
        problem = self.problem
        if counted == 0 or counted == (problem.must & ~problem.free).sum():
            return True
        # beyond the tolerance a colour that has to be left out now may count toward a share
        rows = [row for row, ways in problem.ways.items()
                if problem.counting[row] and (len(ways) or self.share_wanted < 1)]  # fmt: skip
        loose = problem.programme(rows, problem.weight[rows], slack=SLACK)
        wanted = max(self._wanted() - problem.not_known, 0.0)
        end = loose.fewest(wanted, left, most=counted - 1)
        return end.tubes is None if end.done else None


def _silent(bound: float) -> None:
    return None
