"""The fewest tubes that do: which to carry, what one more would add, and the proof of it.

Every small set of tubes of a catalogue is searched for the mix nearest to each target
(:mod:`mixlab.survey`); the smallest sets within the tolerance are the target's ways. The fewest
tubes that hold a way of every target are found by an integer programme (:mod:`mixlab.cover`),
whose bound proves that no fewer will do.

Of many targets only some are looked at with the whole catalogue. They give a bound that holds for
all, since to cover all is to cover some; the set found for them is then tried on every other
target, and those that it misses are looked at as well, until none is missed. So the answer is that
of all targets, whichever were looked at first.

Misses are those of exact shares. Recipes in whole parts are given besides.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.body import Seeds
from mixlab.colorimetry import Viewing, uniform, viewing
from mixlab.cover import GRAIN, Choice, Cover, clock
from mixlab.errors import NotationError, ReachError
from mixlab.recipes import TOLERANCE, Recipe, find_recipe, find_recipes
from mixlab.spread import spread
from mixlab.survey import SLACK, Kit, best_mixes, misses
from mixlab.tables import Palette, PigmentTable

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]
Progress = Callable[[float], None]

MERGE = 1.5
"""Size of the boxes, in coordinates near to CIEDE2000, of whose targets the heaviest is looked at
first."""

MOST_TUBES = 4
MOST_SETS = 2_000_000
"""Greatest number of small sets of a catalogue: 4 in a mix of 83 tubes, or 3 of 229."""

_FIRST = 64  # targets looked at first
_MORE = 24  # targets looked at next, and twice as many each time
_BULK = 16  # targets from which on they are searched together
_DETAILED = 500  # targets whose best mixes are found one by one
_LOOKED_AT = 60  # sets as small as the best, of which the best are listed
_FEW = 300  # targets that are all looked at for the trade-off
_EVERY = 30_000_000  # figures: choices small enough to be compared one and all
_GRACE = 2.0  # seconds beyond the time limit for a bound
_AT_ONCE = 10_000  # choices
_LEVEL = 0.05  # mean misses this near to each other are alike [CIEDE2000]
_SLIPS = 200  # targets whose recipes are asked for their slip
_SENT = 4  # targets to a piece of work, of many
_SENT_LARGE = 8  # of a large catalogue


@dataclass(frozen=True, eq=False)
class TubeSet:
    """Tubes that cover what was asked.

    Attributes
    ----------
    tubes : ids, in the order of the catalogue
    share : of the weight of the targets that they cover, 0..1
    mean_miss : of the best mix for each target, by weight, the uncovered ones too [CIEDE2000]
    slip : mean over the targets, by weight, of how far a quarter part off moves the recipe in
        whole parts [CIEDE2000]; of the heaviest 200
    """

    tubes: tuple[str, ...]
    share: float
    mean_miss: float
    slip: float


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
    """

    count: Indices
    sets: tuple[tuple[str, ...], ...]
    share: Array
    bound: Array
    mean_miss: Array

    @property
    def proven(self) -> Mask:
        """Whether no other set of so many tubes covers more, (k,)."""
        return np.asarray(self.share >= self.bound - 4 * GRAIN)


@dataclass(frozen=True, eq=False)
class Addition:
    """What a palette gains by one more tube.

    Attributes
    ----------
    id : of the tube; "" for the palette as it is
    share : of the weight of the targets that is then covered, 0..1
    mean_miss : then, of the best mix for each target, by weight [CIEDE2000]
    """

    id: str
    share: float
    mean_miss: float


@dataclass(frozen=True, eq=False)
class Fewest:
    """What :func:`fewest_tubes` found, for n targets.

    Attributes
    ----------
    tubes : ids of the best set; empty if none was found in time
    sets : sets of so few tubes, the best first: by mean miss to 0.05, then by slip
    compared : number of sets of so few tubes that the best were taken from
    complete : whether those are all there are
    counted : number of tubes of the best set that count
    lower_bound : no set of fewer that counts will do
    proven : whether the best set has no more tubes than the bound
    firm : whether that would hold if the tolerance were 0.02 more: no miss so near to the tolerance
        decides about it
    stopped : "" if the search ended by itself; "time" or "Ctrl-C" if it was cut short
    tolerance, max_tubes, cover : as asked
    covered : share of the weight that the best set covers, 0..1
    reachable : (n,), False where no mix of the whole catalogue is within the tolerance
    within : (n,), whether the best set covers the target
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
    firm: bool
    stopped: str
    tolerance: float
    max_tubes: int
    cover: float
    covered: float
    reachable: Mask
    within: Mask
    shares: Array
    miss: Array
    palette: Palette | None
    looked_at: int
    _question: "_Question"

    @property
    def labs(self) -> Array:
        """The targets (n, 3)."""
        return self._question.labs

    @property
    def weight(self) -> Array:
        """What each counts, (n,); they sum to one."""
        return self._question.weight

    @property
    def view(self) -> Viewing:
        """Light and observer."""
        return self._question.view

    @property
    def free(self) -> tuple[str, ...]:
        """Ids of the tubes of the catalogue that do not count."""
        return self._question.ids(self._question.free)

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """Recipes in whole parts from the best set, one a target; see :meth:`recipe`."""
        return tuple(self.recipe(row) for row in range(len(self.labs)))

    def recipe(self, row: int) -> Recipe:
        """Return the recipe in whole parts for one target, of the fewest tubes.

        Up to twelve parts, or in finer ones where that does not come within the tolerance. The
        nearest mix for a target that the set does not cover.

        Raises
        ------
        ReachError : if no set was found
        """
        if self._alone is None:
            raise ReachError("no set of tubes was found; there are no recipes")
        return find_recipe(
            self.labs[row], self._alone, self.tolerance, self.max_tubes, view=self.view,
            policy="nearest", alternatives=0,
        ).best  # fmt: skip

    @cached_property
    def _alone(self) -> Palette | None:
        """The best set in a table of its own, where nothing else is looked for."""
        if self.palette is None:
            return None
        return PigmentTable(self.palette.paints).palette(self.tubes, self.palette.name)

    def trade_off(self, most: int | None = None, progress: Progress | None = None) -> TradeOff:
        """Return what 1, 2, .. tubes can do, up to so many; to those of the best set if None."""
        return self._question.trade_off(most or max(self.counted, 1), progress)


def fewest_tubes(
    labs: ArrayLike,
    table_or_palette: PigmentTable | Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    cover: float = 1.0,
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

    Targets that no mix of the catalogue reaches are left out and named (`reachable`); the answer
    is for the rest, or for the share that was asked, whichever is less. Ctrl-C ends the search and
    leaves what was found, as a time limit does.

    Parameters
    ----------
    labs : CIELAB (n, 3) under `view`
    table_or_palette : the catalogue
    tolerance : miss that passes, of exact shares [CIEDE2000]
    max_tubes : greatest number of paints in one mix, 1 to 4
    cover : share of the weight that is to be within the tolerance, 0..1
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
    asked = _Question.of(
        labs, table_or_palette, tolerance, max_tubes, weights, must, must_not, free, view, executor
    )
    if not (math.isfinite(cover) and 0 < cover <= 1):
        raise ReachError(f"a share of {cover:g} to cover: it must be above 0, and 1 at most")
    if not (math.isfinite(merge) and merge >= 0):
        raise ReachError(f"targets merged within {merge:g}: it must be zero or more")
    if sets < 1:
        raise ReachError(f"{sets} sets to list: it must be 1 or more")
    if time_limit is not None and not time_limit > 0:
        raise ReachError(f"a time limit of {time_limit:g} s: it must be above zero")
    return asked.fewest(cover, merge, sets, time_limit, progress)


def trade_off(
    labs: ArrayLike,
    table_or_palette: PigmentTable | Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    weights: ArrayLike | None = None,
    *,
    most: int = 8,
    must: Iterable[str] = (),
    must_not: Iterable[str] = (),
    free: Iterable[str] = (),
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> TradeOff:
    """Return how much 1, 2, .. tubes of a catalogue cover, each number by the best set of it.

    The best set covers the most weight and, of those that do, misses least on the average. Up to
    300 targets that the set covers the most is proven; of more, the sets are chosen by the 300
    that stand for all, and their figures are those of all. That no other set of as much share
    misses less is proven where there are few enough sets to compare them all.

    Parameters
    ----------
    most : greatest number of tubes
    others as in :func:`fewest_tubes`

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    asked = _Question.of(
        labs, table_or_palette, tolerance, max_tubes, weights, must, must_not, free, view, executor
    )
    return asked.trade_off(most, progress)


def best_next(
    palette: Palette,
    labs: ArrayLike,
    table_or_palette: PigmentTable | Palette | None = None,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    weights: ArrayLike | None = None,
    *,
    must_not: Iterable[str] = (),
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> list[Addition]:
    """Return what each further tube would add to a palette, the best first.

    Parameters
    ----------
    palette : the tubes at hand
    table_or_palette : where further ones are from; the palette's table unless given
    others as in :func:`fewest_tubes`

    Returns
    -------
    the palette as it is, with an empty id, and then an addition for each tube: those that cover
    most first and, of those that cover as much, those that miss least on the average

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    catalogue = table_or_palette or palette.table
    more = [p for p in catalogue if p.id not in palette.ids]
    if not more:
        raise ReachError("every tube of the catalogue is on the palette: there is no next one")
    all_ = PigmentTable((*palette.paints, *more), palette.table.path)
    asked = _Question.of(
        labs, all_, tolerance, max_tubes, weights, (), must_not, (), view, executor,
        base=palette.ids,
    )  # fmt: skip
    return asked.additions(progress)


# --- one question -------------------------------------------------------------------------------


class _Stopped(Exception):
    """The time is over."""


class _Question:
    """Targets, a catalogue, and what is known so far about the one in the mixes of the other."""

    def __init__(
        self, labs: Array, weight: Array, paints: Palette, kit: Kit, must: Mask, free: Mask,
        executor: Any,
    ) -> None:  # fmt: skip
        self.labs, self.weight, self.paints, self.kit = labs, weight, paints, kit
        self.must, self.free = must, free
        self.executor = executor
        self.asked = weight > 0
        self.reachable = np.ones(len(labs), dtype=bool)
        self.miss: dict[int, Array] = {}  # of every small set, by target
        self.cover = Cover(must, free)
        self.bound = 0.0
        self.choices: list[Mask] = []
        self.tell: Progress = lambda share: None
        self._told = 0.0

    @classmethod
    def of(
        cls,
        labs: ArrayLike,
        catalogue: PigmentTable | Palette,
        tolerance: float,
        max_tubes: int,
        weights: ArrayLike | None,
        must: Iterable[str],
        must_not: Iterable[str],
        free: Iterable[str],
        view: Viewing | None,
        executor: Any,
        base: Sequence[str] | None = None,
    ) -> "_Question":
        """Return the question, once it makes sense; ReachError if it does not."""
        view = view or viewing()
        try:
            goal = np.array(labs, dtype=float)
        except (TypeError, ValueError):
            goal = np.empty(0)
        if goal.ndim != 2 or goal.shape[1] != 3 or not len(goal) or not np.isfinite(goal).all():
            raise ReachError("the targets must be an array (n, 3) of finite L*, a*, b*")
        weight = _weights(weights, len(goal))
        if not (math.isfinite(tolerance) and tolerance > 0):
            raise ReachError(f"a tolerance of {tolerance:g}: it must be above zero; 2 is usual")
        if max_tubes not in range(1, MOST_TUBES + 1):
            raise ReachError(f"{max_tubes} tubes in a mix: it must be 1 to {MOST_TUBES}")
        needed, barred, spare = (
            _named(catalogue, names, role)
            for names, role in ((must, "must"), (must_not, "must_not"), (free, "free"))
        )
        if both := sorted(set(needed) & set(barred)):
            raise ReachError(f"{both[0]} is both to be in the set and not to be in it")
        ids = [id for id in catalogue.ids if id not in barred]
        if not ids:
            raise ReachError("every tube of the catalogue is excluded")
        if (count := sum(math.comb(len(ids), t) for t in range(1, max_tubes + 1))) > MOST_SETS:
            raise ReachError(
                f"{count} sets of at most {max_tubes} of {len(ids)} tubes are too many to look at; "
                "allow fewer tubes in a mix, or take a smaller catalogue"
            )
        table = catalogue.table if isinstance(catalogue, Palette) else catalogue
        paints = table.palette(ids, getattr(catalogue, "name", "") or "catalogue")
        own = tuple(ids.index(id) for id in base if id in ids) if base is not None else None
        if own == ():
            raise ReachError("every tube of the palette is excluded")
        kit = Kit(
            paints.K, paints.S, paints.paints[0].surface, view, max_tubes, float(tolerance), own
        )
        here = np.array(ids)
        return cls(goal, weight, paints, kit, np.isin(here, needed), np.isin(here, spare), executor)

    @property
    def view(self) -> Viewing:
        """Light and observer."""
        return self.kit.view

    def ids(self, chosen: Mask) -> tuple[str, ...]:
        """Return the ids of chosen tubes (p,)."""
        return tuple(self.paints.ids[i] for i in np.flatnonzero(chosen))

    # --- looking at targets ---------------------------------------------------------------------

    def look_at(self, rows: Indices, left: Callable[[], float] = lambda: math.inf) -> None:
        """Find what every small set of the catalogue can do for some targets."""
        rows = np.array([row for row in rows if int(row) not in self.miss], dtype=int)
        # a large catalogue is laid out afresh for each piece of work
        size = _SENT_LARGE if self.kit.large else 1 if len(rows) <= _FIRST else _SENT
        pieces = [rows[at : at + size] for at in range(0, len(rows), size)]
        sent = [(self.kit, self.labs[piece]) for piece in pieces]
        ended: dict[int, Array] = {}
        try:
            for place, found in spread(misses, sent, self.executor):
                ended[place] = found
                self._tell(len(ended) / len(pieces))
                if left() <= 0:
                    raise _Stopped
        finally:
            for place in sorted(ended):  # in their own order, whichever was done first
                for row, miss in zip(pieces[place], ended[place], strict=True):
                    self._know(int(row), miss)

    def _know(self, row: int, miss: Array) -> None:
        self.miss[row] = miss
        small = self.kit.subsets
        ways = small.members[small.smallest(miss, self.kit.tolerance)]
        self.reachable[row] = len(ways) > 0
        if self.asked[row]:
            self.cover.add(ways, float(self.weight[row]))

    def _tell(self, share: float) -> None:
        # of several rounds of work each is told as if it were the last
        self._told = max(self._told, 0.95 * share)
        self.tell(self._told)

    def covers(self, chosen: Mask, sure: bool = False) -> Mask:
        """Return which targets (n,) a choice of tubes (p,) covers.

        A target that was not looked at and is near the edge may be taken for one that is not
        covered, unless the verdict is to be sure; never the other way.
        """
        known, unknown = self._parted()
        within = np.zeros(len(self.labs), dtype=bool)
        within[known] = self._least(chosen, known) <= self.kit.tolerance
        if len(unknown) and chosen.any():
            kit = self.kit.of(np.flatnonzero(chosen))
            left = unknown if sure or len(unknown) <= _BULK else unknown[:0]
            if len(unknown) > _BULK:
                miss = Seeds.of(kit.medium, kit.most).nearest(self.labs[unknown])[2]
                within[unknown] = miss <= kit.tolerance
                left = left[miss > kit.tolerance] if sure else left
            pieces = [left[at : at + 64] for at in range(0, len(left), 64)]
            sent = [(kit, self.labs[piece]) for piece in pieces]
            for place, found in spread(misses, sent, self.executor):
                within[pieces[place]] = found.min(axis=1) <= kit.tolerance
        return within

    def _known(self) -> Mask:
        """Return which targets (n,) were looked at."""
        known = np.zeros(len(self.labs), dtype=bool)
        known[list(self.miss)] = True
        return known

    def _parted(self) -> tuple[Indices, Indices]:
        """Return the targets that were looked at, and the others."""
        known = self._known()
        return np.flatnonzero(known), np.flatnonzero(~known)

    def _least(self, chosen: Mask, rows: Indices) -> Array:
        """Return the least miss (n,) of a choice of tubes to targets that were looked at."""
        if not len(rows) or not chosen.any():
            return np.full(len(rows), np.inf)
        inside = self.kit.subsets.inside(np.flatnonzero(chosen))
        return np.array([self.miss[int(row)][inside].min() for row in rows])

    def all_misses(self, chosen: Mask) -> Array:
        """Return the least miss (n,) of a choice of tubes to every target."""
        known, unknown = self._parted()
        miss = np.full(len(self.labs), np.inf)
        miss[known] = self._least(chosen, known)
        if len(unknown) and chosen.any():
            kit = self.kit.of(np.flatnonzero(chosen))
            miss[unknown] = Seeds.of(kit.medium, kit.most).nearest(self.labs[unknown])[2]
        return miss

    def _first(self, merge: float, most: int) -> tuple[Indices, Array]:
        """Return the heaviest target of each of at most so many boxes, and what each box counts."""
        rows = np.flatnonzero(self.asked)
        order = rows[np.argsort(-self.weight[rows], kind="stable")]
        if merge == 0:
            return order, self.weight[order]
        even, size = uniform(self.labs[order]), merge
        while True:
            _, first, box = np.unique(
                np.floor(even / size), axis=0, return_index=True, return_inverse=True
            )
            if len(first) <= most:
                weight = np.bincount(box.reshape(-1), self.weight[order])
                by_weight = np.argsort(first)
                return order[first[by_weight]], np.asarray(weight[by_weight], dtype=float)
            size *= 1.25

    # --- the fewest -----------------------------------------------------------------------------

    def fewest(
        self, cover: float, merge: float, sets: int, time_limit: float | None,
        progress: Progress | None,
    ) -> Fewest:  # fmt: skip
        """Answer; see :func:`fewest_tubes`."""
        self.tell = progress or self.tell
        left = clock(time_limit)
        stopped, complete = "", False
        try:
            self.look_at(self._first(merge, _FIRST)[0], left)
            best = self._best(cover, left)
            if best is not None:
                self.choices.append(best)
                complete = self._others(cover, sets, left)
        except _Stopped:
            stopped = "time"
        except KeyboardInterrupt:
            stopped = "Ctrl-C"
        return self._answer(cover, sets, complete, stopped)

    def _wanted(self, cover: float) -> float:
        """Return the weight to be covered: no more than there is within reach, as far as known."""
        lost = math.fsum(self.weight[self.asked & ~self.reachable])
        return min(cover, 1.0 - lost)

    def _not_known(self) -> float:
        return math.fsum(self.weight[self._parted()[1]])

    def _done(self, within: Mask, cover: float) -> bool:
        wanted = self._wanted(cover)
        if self._not_known() == 0:
            return True  # the programme has seen to it
        if wanted > math.fsum(self.weight[self.reachable]) - GRAIN:
            return bool(within[self.asked & self.reachable].all())
        return math.fsum(self.weight[within]) >= wanted - 2 * GRAIN

    def _best(
        self, cover: float, left: Callable[[], float], most: int | None = None
    ) -> Mask | None:
        """Return a choice of fewest tubes that covers enough and is not among those found."""
        more = _MORE
        while True:
            # what has not been looked at may be covered by anything: a bound holds all the same
            wanted = max(self._wanted(cover) - self._not_known(), 0.0)
            end: Choice = self.cover.fewest(
                wanted, left, self.choices, most, self._at_least if most is None else _silent
            )
            if not end.done:
                raise _Stopped
            if end.tubes is None:
                return None
            within = self.covers(end.tubes)
            if self._done(within, cover):
                return end.tubes
            missed = self.asked & ~within
            missed[list(self.miss)] = False
            if not missed.any():
                return end.tubes
            self.look_at(self._to_look_at(np.flatnonzero(missed), more, cover), left)
            more *= 2
            if left() <= 0:
                raise _Stopped

    def _at_least(self, bound: float) -> None:
        self.bound = max(self.bound, bound)

    def _to_look_at(self, missed: Indices, most: int, cover: float) -> Indices:
        """Return which of the targets that a choice misses to look at next."""
        order = missed[np.argsort(-self.weight[missed], kind="stable")]
        if cover < 1:
            return order[:most]  # the heaviest decide
        size = MERGE
        while True:
            first = np.unique(np.floor(uniform(self.labs[order]) / size), axis=0,
                              return_index=True)[1]  # fmt: skip
            if len(first) <= most:
                return np.asarray(order[np.sort(first)])
            size *= 1.5

    def _others(self, cover: float, sets: int, left: Callable[[], float]) -> bool:
        """Find the other choices of as few tubes; return whether all were found."""
        count = int((self.choices[0] & ~self.free).sum())
        if count == 0:
            return True
        all_known = not (self.asked & ~self._known()).any()
        if all_known and self._wanted(cover) > self.cover.weight - GRAIN:
            every = self.cover.all_of(count)
            if every is not None:
                self.choices = every
                return True
        while len(self.choices) < (_LOOKED_AT if all_known else sets):
            other = self._best(cover, left, most=count)
            if other is None:
                return True
            self.choices.append(other)
        return False

    def _answer(self, cover: float, sets: int, complete: bool, stopped: str) -> Fewest:
        choices = [chosen for chosen in self.choices if chosen.any()]
        if not choices and stopped and self.miss:
            some = self._so_far(cover, stopped)
            choices = [some] if some is not None else []
        lower = int(self.bound)
        listed = self._ranked(choices, sets)
        best = listed[0][0] if listed else np.zeros(len(self.paints), dtype=bool)
        counted = int((best & ~self.free).sum())
        reachable = self.reachable
        if not listed:
            empty = np.zeros(len(self.labs), dtype=bool)
            return Fewest(
                (), (), 0, complete, 0, lower, not stopped, not stopped, stopped,
                self.kit.tolerance, self.kit.most, cover, 0.0, reachable, empty,
                np.zeros((len(self.labs), 0)),
                np.full(len(self.labs), np.inf), None, len(self.miss), self,
            )  # fmt: skip
        within = self.covers(best, sure=not stopped)
        proven = bool(self.choices) and counted <= lower
        shares, miss = self._mixes(best, within)
        answer = Fewest(
            listed[0][1].tubes, tuple(one for _, one in listed),
            len(choices), complete, counted, lower, proven,
            proven and not stopped and self._firm(cover, counted), stopped, self.kit.tolerance,
            self.kit.most, cover, math.fsum(self.weight[within]), reachable, within, shares, miss,
            self.paints.table.palette(listed[0][1].tubes, "the fewest"), len(self.miss), self,
        )  # fmt: skip
        self._told = 1.0
        self.tell(1.0)
        return answer

    def _so_far(self, cover: float, stopped: str) -> Mask | None:
        """Return a set for what was looked at before the search was cut short.

        It covers as great a part of them as was asked of all, and is not proven to be of the
        fewest. No other target is looked at for it: the time is over.
        """
        wanted = self._wanted(cover)
        part = min(wanted * (1 - self._not_known()), self.cover.weight)
        some = self.cover.greedy(part)
        if stopped == "time":
            least = max(wanted - self._not_known(), 0.0)
            end = self.cover.fewest(least, clock(_GRACE), tell=self._at_least).tubes
            if end is not None and self.cover.share(end) >= part - GRAIN:
                some = end
        return some if some is not None and some.any() else None

    def _ranked(self, choices: list[Mask], sets: int) -> list[tuple[Mask, TubeSet]]:
        """Return the best of the choices, by mean miss and then by slip."""
        means = self._means(choices)
        order = sorted(range(len(choices)), key=lambda i: (means[i], self.ids(choices[i])))
        listed = []
        for i in order[:sets]:
            share = math.fsum(self.weight[self.covers(choices[i])])
            slip = self._slip(choices[i])
            listed.append((choices[i], TubeSet(self.ids(choices[i]), share, means[i], slip)))
        listed.sort(key=lambda one: (round(one[1].mean_miss / _LEVEL), one[1].slip))
        return listed

    def _means(self, choices: list[Mask]) -> Array:
        """Return the mean miss (c,) of choices, by weight."""
        known, unknown = self._parted()
        if len(unknown):
            return np.array([float(self.weight @ self.all_misses(c)) for c in choices])
        means = np.zeros(len(choices))
        sizes = np.array([int(chosen.sum()) for chosen in choices], dtype=int)
        for size in np.unique(sizes):
            some = np.flatnonzero(sizes == size)
            tubes = np.array([np.flatnonzero(choices[i]) for i in some]).reshape(len(some), -1)
            for at in range(0, len(some), _AT_ONCE):
                inside = self.kit.subsets.inside(tubes[at : at + _AT_ONCE])
                for row in known:
                    least = self.miss[int(row)][inside].min(axis=1)
                    means[some[at : at + _AT_ONCE]] += self.weight[row] * least
        return means

    def _slip(self, chosen: Mask) -> float:
        rows = np.argsort(-self.weight, kind="stable")[:_SLIPS]
        palette = self.paints.table.palette(self.ids(chosen))
        made = find_recipes(
            self.labs[rows], palette, self.kit.tolerance, self.kit.most, view=self.view
        )
        weight = self.weight[rows] / math.fsum(self.weight[rows])
        return math.fsum(w * made[i].slip.miss for i, w in enumerate(weight) if w > 0)

    def _mixes(self, chosen: Mask, within: Mask) -> tuple[Array, Array]:
        """Return the best mix (n, k) of a choice for every target, and its miss (n,)."""
        kit = self.kit.of(np.flatnonzero(chosen))
        if len(self.labs) <= _DETAILED:
            shares, miss = np.zeros((len(self.labs), len(kit.k))), np.zeros(len(self.labs))
            rows = np.arange(len(self.labs))
        else:
            shares, _, miss = Seeds.of(kit.medium, kit.most).nearest(self.labs)
            rows = np.flatnonzero(within & (miss > kit.tolerance))
        pieces = [rows[at : at + 16] for at in range(0, len(rows), 16)]
        sent = [(kit, self.labs[piece]) for piece in pieces]
        for place, found in spread(best_mixes, sent, self.executor):
            shares[pieces[place]], miss[pieces[place]] = found
        return shares, miss

    def _firm(self, cover: float, counted: int) -> bool:
        """Return whether fewer tubes would not do at a tolerance a little greater either."""
        if counted == 0 or counted == (self.must & ~self.free).sum():
            return True
        loose, small = Cover(self.must, self.free), self.kit.subsets
        for row, miss in self.miss.items():
            if self.asked[row] and self.reachable[row]:
                ways = small.members[small.smallest(miss, self.kit.tolerance + SLACK)]
                loose.add(ways, float(self.weight[row]))
        wanted = max(self._wanted(cover) - self._not_known(), 0.0)
        return loose.fewest(wanted, most=counted - 1).tubes is None

    # --- the trade-off --------------------------------------------------------------------------

    def trade_off(self, most: int, progress: Progress | None) -> TradeOff:
        """Answer; see :func:`trade_off`."""
        least = max(int((self.must & ~self.free).sum()), 1)
        greatest = int((~self.free).sum())
        if most < least:
            raise ReachError(f"{most} tubes: it must be {least} or more")
        if not greatest:
            raise ReachError("every tube is free: there is none to count")
        self.tell, self._told = progress or (lambda share: None), 0.0
        rows, weight = self._first(0.0 if self.asked.sum() <= _FEW else MERGE, _FEW)
        self.look_at(rows)
        all_ = len(rows) == self.asked.sum()  # a bound of boxes is none of their targets
        found: list[tuple[Mask, float, float, float]] = []
        for count in range(least, min(most, greatest) + 1):
            before = found[-1][0] if found else None
            chosen, bound = self._most(count, rows, weight, before)
            miss = self.all_misses(chosen)
            share = math.fsum(self.weight[self.covers(chosen)])
            mean = float(self.weight @ miss)
            found.append((chosen, share, bound if all_ else 1.0, mean))
        self.tell(1.0)
        shares, bounds, means = np.array([one[1:] for one in found]).T
        return TradeOff(
            np.arange(least, least + len(found)), tuple(self.ids(one[0]) for one in found),
            shares, np.maximum(bounds, shares), means,
        )  # fmt: skip

    def _most(
        self, count: int, rows: Indices, weight: Array, before: Mask | None
    ) -> tuple[Mask, float]:
        """Return the choice of so many tubes that covers most of some targets, and the bound."""
        figures = np.stack([self.miss[int(row)] for row in rows])
        fixed = np.flatnonzero(self.must | self.free)
        open_ = np.flatnonzero(~self.must & ~self.free)
        add = min(count - int((self.must & ~self.free).sum()), len(open_))
        small = self.kit.subsets
        size = len(fixed) + add
        work = math.comb(len(open_), add) * len(rows) * sum(
            math.comb(size, t) for t in range(1, len(small.sizes) + 1)
        )  # fmt: skip

        def judged(tubes: Indices) -> tuple[Array, Array]:
            """Return the weight (c,) that choices (c, k) cover, and their mean miss (c,)."""
            share, mean = np.empty(len(tubes)), np.empty(len(tubes))
            inside = small.inside(tubes)
            step = max(1, 2_000_000 // (inside.shape[1] * len(rows)))
            for at in range(0, len(tubes), step):
                miss = figures[:, inside[at : at + step]].min(axis=2)
                share[at : at + step] = weight @ (miss <= self.kit.tolerance)
                mean[at : at + step] = weight @ miss
            return share, mean

        def mask(tubes: Indices) -> Mask:
            chosen = np.zeros(len(self.paints), dtype=bool)
            chosen[tubes] = True
            return chosen

        def first(tubes: Indices) -> tuple[Mask, float, float]:
            share, mean = judged(tubes)
            best = np.lexsort((mean, -np.round(share / GRAIN)))[0]
            return mask(tubes[best]), float(share[best]), float(mean[best])

        if work <= _EVERY:
            added = np.array(list(combinations(open_, add)), dtype=int).reshape(-1, add)
            chosen, share, _ = first(np.hstack([np.tile(fixed, (len(added), 1)), added]))
            return chosen, share
        end = self._programme(rows, weight).most(count)
        starts = [end.tubes] if end.tubes is not None else []
        if before is not None:
            starts += [before]
        best: tuple[Mask, float, float] | None = None
        for start in starts:
            chosen = start | self.must | self.free
            spare = [i for i in open_ if not chosen[i]]
            lacking = count - int((chosen & ~self.free).sum())
            while lacking > 0 and spare:  # fill up with what lowers the mean miss most
                chosen, *_ = first(np.array([[*np.flatnonzero(chosen), i] for i in spare]))
                spare = [i for i in spare if not chosen[i]]
                lacking -= 1
            found = first(np.flatnonzero(chosen)[None])
            while True:  # swap one for another while it gains
                inside = [i for i in open_ if chosen[i]]
                outside = [i for i in open_ if not chosen[i]]
                if not inside or not outside:
                    break
                swaps = [[*np.flatnonzero(chosen & (np.arange(len(chosen)) != i)), j]
                         for i in inside for j in outside]  # fmt: skip
                other = first(np.array(swaps))
                if (-round(other[1] / GRAIN), other[2]) >= (-round(found[1] / GRAIN), found[2]):
                    break
                chosen, found = other[0], other
            if best is None or (round(found[1] / GRAIN), -found[2]) > (
                round(best[1] / GRAIN), -best[2]
            ):  # fmt: skip
                best = found
        assert best is not None
        return best[0], max(end.bound, best[1])

    def _programme(self, rows: Indices, weight: Array) -> Cover:
        """Return the targets given, with other weights, as a programme."""
        small, cover = self.kit.subsets, Cover(self.must, self.free)
        for row, counts in zip(rows, weight, strict=True):
            ways = small.members[small.smallest(self.miss[int(row)], self.kit.tolerance)]
            cover.add(ways, float(counts))
        return cover

    # --- the next tube --------------------------------------------------------------------------

    def additions(self, progress: Progress | None) -> list[Addition]:
        """Answer; see :func:`best_next`."""
        self.tell = progress or self.tell
        base = np.array(self.kit.base, dtype=int)
        small = self.kit.subsets
        outside = [i for i in range(len(self.paints)) if i not in base]
        own = ~np.delete(small.members, base, axis=1).any(axis=1)
        size = _SENT_LARGE if self.kit.large else _SENT
        pieces = [np.arange(at, min(at + size, len(self.labs)))
                  for at in range(0, len(self.labs), size)]  # fmt: skip
        sent = [(self.kit, self.labs[piece]) for piece in pieces]
        least = np.empty((len(self.labs), len(self.paints) + 1))
        for done, (place, found) in enumerate(spread(misses, sent, self.executor), start=1):
            alone = found[:, own].min(axis=1)
            least[pieces[place]] = alone[:, None]
            for i in outside:
                least[pieces[place], i] = np.minimum(alone, found[:, small.members[:, i]].min(1))
            self._tell(done / len(pieces))
        counts = self.weight @ (least <= self.kit.tolerance), self.weight @ least
        self.tell(1.0)
        made = [Addition(self.paints.ids[i], float(counts[0][i]), float(counts[1][i]))
                for i in outside]  # fmt: skip
        made.sort(key=lambda one: (-round(one.share / GRAIN), one.mean_miss))
        return [Addition("", float(counts[0][-1]), float(counts[1][-1])), *made]


def _silent(bound: float) -> None:
    return None


def _weights(weights: ArrayLike | None, count: int) -> Array:
    if weights is None:
        return np.full(count, 1 / count)
    try:
        weight = np.array(weights, dtype=float)
    except (TypeError, ValueError):
        weight = np.empty(0)
    if weight.shape != (count,) or not np.isfinite(weight).all() or (weight < 0).any():
        raise ReachError(f"the weights must be {count} finite numbers from 0 on, one a target")
    if not weight.sum() > 0:
        raise ReachError("the weights are all zero: nothing is asked for")
    return np.asarray(weight / weight.sum())


def _named(catalogue: PigmentTable | Palette, names: Iterable[str], role: str) -> list[str]:
    """Return ids of paints by name; ReachError says which is not in the catalogue."""
    try:
        return [catalogue[name].id for name in ([names] if isinstance(names, str) else names)]
    except NotationError as error:
        raise ReachError(f"{role}: {error}") from None
