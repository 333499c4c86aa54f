"""Targets, a catalogue, and what is known so far about the one in the mixes of the other.

A target that was *looked at* has had every small set of the catalogue searched for it
(:mod:`mixlab.palette.small_sets`): its misses are known, and with them its ways, the smallest sets
within the tolerance. Of any other target only the nearest mix of one set of tubes is sought, which
costs far less; near the tolerance such a verdict can be made sure.
"""


import math
import operator
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, Mask, Progress, clock
from mixlab.colour.difference import uniform
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import NotationError, ReachError
from mixlab.nearest.many import Seeds
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.programme import HittingSet
from mixlab.palette.small_sets import Kit, best_mixes, misses
from mixlab.palette.work import each_done

Tubes = PigmentTable | Palette | Sequence[Paint]

MOST_TUBES = 4
MOST_SETS = 2_000_000
"""Greatest number of small sets of a catalogue: 4 in a mix of 83 tubes, or 3 of 228."""

MERGE = 1.5
"""Size of the boxes, in coordinates near to CIEDE2000, of whose targets the heaviest is looked at
first."""

_FARTHEST = 1000.0  # a coordinate of CIELAB that no colour has
_BULK = 16  # targets up to which they are searched one by one, and that make a piece of work
_DETAILED = 500  # targets whose best mixes are found one by one
_TOGETHER = 64  # targets looked at in one round
_SENT = 4  # targets to a piece of work, of many
_SENT_LARGE = 8  # of a large catalogue
_DOUBT = 1.0  # CIEDE2000; near the tolerance a search of many targets is hardly ever so far off
_KEPT = 64  # sets whose misses are kept


class TimeIsOver(Exception):
    """What was asked for is not done, and the time for it is over."""


class Problem:
    """Targets and the catalogue they are to be mixed from.

    Attributes
    ----------
    labs : (n, 3), the targets
    weight : (n,), what each counts; they sum to one
    counting : (n,), which count at all
    paints : the catalogue, without the tubes that must not be used
    kit : the same as plain arrays, with the tolerance and the greatest number in a mix
    must, free : (p,), tubes that have to be in a set, and that do not count
    miss : by target that was looked at, the least miss (M,) of every small set
    ways : by the same, its smallest sets within the tolerance (w, p)
    """

    def __init__(
        self, labs: Array, weight: Array, paints: Palette, kit: Kit, must: Mask, free: Mask,
        executor: Any,
    ) -> None:  # fmt: skip
        self.labs, self.weight, self.paints, self.kit = labs, weight, paints, kit
        self.must, self.free = must, free
        self.executor = executor
        self.counting = weight > 0
        self.miss: dict[int, Array] = {}
        self.ways: dict[int, Mask] = {}
        self.tell: Progress = lambda share: None
        self._told = 0.0
        self._near: dict[bytes, Array] = {}

    @property
    def view(self) -> Viewing:
        """Light and observer."""
        return self.kit.view

    @property
    def tolerance(self) -> float:
        """Miss that passes [CIEDE2000]."""
        return self.kit.tolerance

    def ids(self, chosen: Mask) -> tuple[str, ...]:
        """Return the ids of chosen tubes (p,)."""
        return tuple(self.paints.ids[i] for i in np.flatnonzero(chosen))

    # --- looking at targets ---------------------------------------------------------------------

    def look_at(self, rows: Indices, left: Callable[[], float] = lambda: math.inf) -> None:
        """Find what every small set of the catalogue can do for some targets.

        Raises
        ------
        TimeIsOver : with what is known by then kept, if there is no time left
        """
        rows = np.array([row for row in rows if int(row) not in self.miss], dtype=int)
        # a large catalogue is laid out afresh for each piece of work
        size = _SENT_LARGE if self.kit.large else 1 if len(rows) <= _TOGETHER else _SENT
        pieces = _pieces(rows, size)
        sent = [(self.kit, self.labs[piece]) for piece in pieces]
        ended: dict[int, Array] = {}
        try:
            for place, found in each_done(misses, sent, self.executor):
                ended[place] = found
                self.told(len(ended) / len(pieces))
                if left() <= 0:
                    raise TimeIsOver
        finally:
            for place in sorted(ended):  # in their own order, whichever was done first
                for row, miss in zip(pieces[place], ended[place], strict=True):
                    self.miss[int(row)] = miss
                    small = self.kit.subsets
                    self.ways[int(row)] = small.members[small.smallest(miss, self.tolerance)]

    def begin(self, tell: Progress | None) -> None:
        """Tell of progress from here on, from nothing."""
        self.tell, self._told = tell or (lambda share: None), 0.0

    def told(self, share: float) -> None:
        """Tell the share of the work that is done, of each of several rounds as of the last."""
        self._told = max(self._told, 0.95 * share)
        self.tell(self._told)

    @property
    def known(self) -> Mask:
        """Which targets (n,) were looked at."""
        known = np.zeros(len(self.labs), dtype=bool)
        known[list(self.miss)] = True
        return known

    @property
    def lost(self) -> Mask:
        """Which targets (n,) are known to be beyond every mix of the catalogue."""
        lost = np.zeros(len(self.labs), dtype=bool)
        lost[[row for row, ways in self.ways.items() if not len(ways)]] = True
        return lost

    @property
    def not_known(self) -> float:
        """Weight of the targets that were not looked at."""
        return math.fsum(self.weight[~self.known])

    def in_reach(self, left: Callable[[], float] = lambda: math.inf) -> tuple[Mask, Mask]:
        """Return which targets (n,) some mix of the catalogue reaches, and of which that is known.

        Those that were not looked at are sought together, and looked at where the verdict is near
        and the catalogue is not so large that each would take long: known is what that search is
        sure of, see :meth:`mixlab.palette.reach.Reach.nearest`.
        """
        every = np.ones(len(self.paints), dtype=bool)
        miss = self.misses_of(every)
        open_ = (miss > self.tolerance) & ~self.known
        if self.kit.large:
            return np.asarray(miss <= self.tolerance), ~open_
        near = open_ & (miss <= self.tolerance + _DOUBT)
        with suppress(TimeIsOver):
            self.look_at(np.flatnonzero(near), left)
        return np.asarray(self.misses_of(every) <= self.tolerance), ~near | self.known

    # --- what a set of tubes does ---------------------------------------------------------------

    def misses_of(self, chosen: Mask, sure: bool = False) -> Array:
        """Return the least miss (n,) of a choice of tubes (p,) to every target.

        Of a target that was not looked at and is near the tolerance it may be too great, unless it
        is to be sure; never too small.
        """
        known = self.known
        miss = np.full(len(self.labs), np.inf)
        if not chosen.any():
            return miss
        inside = self.kit.subsets.inside(np.flatnonzero(chosen))
        rows = np.flatnonzero(known)
        miss[rows] = [self.miss[int(row)][inside].min() for row in rows]
        rest = np.flatnonzero(~known)
        if not len(rest):
            return miss
        key = chosen.tobytes()
        near = self._near.setdefault(key, np.full(len(self.labs), np.nan))
        while len(self._near) > _KEPT:
            self._near.pop(next(iter(self._near)))
        fresh = rest[np.isnan(near[rest])]
        if len(fresh):
            near[fresh] = self._nearest(chosen, fresh)
        if sure:
            self._make_sure(chosen, rest[near[rest] > self.tolerance], near)
        miss[rest] = near[rest]
        return miss

    def _nearest(self, chosen: Mask, rows: Indices) -> Array:
        kit = self.kit.of(np.flatnonzero(chosen))
        if len(rows) <= _BULK:
            return np.asarray(misses((kit, self.labs[rows])).min(axis=1))
        return nearest((kit, self.labs[rows]))

    def _make_sure(self, chosen: Mask, rows: Indices, near: Array) -> None:
        """Lower the misses `near` (n,) of the targets `rows`, in place, by a search of each."""
        kit = self.kit.of(np.flatnonzero(chosen))
        pieces = _pieces(rows, _TOGETHER)
        sent = [(kit, self.labs[piece]) for piece in pieces]
        for place, found in each_done(misses, sent, self.executor):
            near[pieces[place]] = np.minimum(near[pieces[place]], found.min(axis=1))

    def within_tolerance(self, chosen: Mask, sure: bool = False) -> Mask:
        """Return which targets (n,) a choice of tubes (p,) covers; see :meth:`misses_of`."""
        return np.asarray(self.misses_of(chosen, sure) <= self.tolerance)

    def mixes_of(self, chosen: Mask, within: Mask, quick: bool = False) -> tuple[Array, Array]:
        """Return the best mix (n, k) of a choice for every target, and its miss (n,).

        `within` says which are known to be covered. All are sought together if it is to be quick
        or they are many, but for those that are then not seen to be covered.
        """
        kit = self.kit.of(np.flatnonzero(chosen))
        if len(self.labs) <= _DETAILED and not quick:
            shares, miss = np.zeros((len(self.labs), len(kit.k))), np.zeros(len(self.labs))
            rows = np.arange(len(self.labs))
        else:
            shares, _, miss = Seeds.of(kit.medium, kit.most).nearest(self.labs)
            rows = np.flatnonzero(within & (miss > kit.tolerance))
        pieces = _pieces(rows, _BULK)
        sent = [(kit, self.labs[piece]) for piece in pieces]
        for place, found in each_done(best_mixes, sent, self.executor):
            shares[pieces[place]], miss[pieces[place]] = found
        return shares, miss

    # --- the programme --------------------------------------------------------------------------


def problem_of(
    labs: ArrayLike,
    catalogue: Tubes,
    tolerance: float,
    max_tubes: int,
    weights: ArrayLike | None,
    must: Iterable[str],
    must_not: Iterable[str],
    free: Iterable[str],
    view: Viewing | None,
    executor: Any,
    base: Sequence[str] | None = None,
) -> Problem:
    """Return the question, once it makes sense; ReachError if it does not.

    With `base`, sets hold at most one tube from beyond these ids.
    """
    view = view or viewing()
    if not isinstance(view, Viewing):
        raise ReachError(f"view {view!r}: it must be as mixlab.viewing('D65') gives it")
    goal = _targets(labs)
    weight = _weights(weights, len(goal))
    limit, most = real(tolerance), whole(max_tubes)
    if not (math.isfinite(limit) and limit > 0):
        raise ReachError(
            f"a tolerance of {_said(tolerance)}: it must be above zero; 2 is usual"
        )
    if most is None or most not in range(1, MOST_TUBES + 1):
        raise ReachError(
            f"{_said(max_tubes)} tubes in a mix: it must be 1 to {MOST_TUBES}, and whole"
        )
    catalogue = listed(catalogue)
    needed, barred, spare = (
        _named(catalogue, names, role)
        for names, role in ((must, "must"), (must_not, "must_not"), (free, "free"))
    )
    if both := sorted(set(needed) & set(barred)):
        raise ReachError(f"{both[0]} is both to be in the set and not to be in it")
    ids = [id for id in catalogue.ids if id not in barred]
    if not ids:
        raise ReachError("every tube of the catalogue is excluded")
    own = tuple(ids.index(id) for id in base if id in ids) if base is not None else None
    if own == ():
        raise ReachError("every tube of the palette is excluded")
    if (count := small_sets(len(ids), most, None if own is None else len(own))) > MOST_SETS:
        raise ReachError(
            f"{count} sets of at most {most} of {len(ids)} tubes are too many to look at; "
            "allow fewer tubes in a mix, or take a smaller catalogue"
        )
    table = catalogue.table if isinstance(catalogue, Palette) else catalogue
    paints = table.palette(ids, getattr(catalogue, "name", "") or "catalogue")
    kit = Kit(paints.K, paints.S, paints.paints[0].surface, view, most, limit, own)
    here = np.array(ids)
    return Problem(goal, weight, paints, kit, np.isin(here, needed), np.isin(here, spare), executor)


def heaviest(problem: Problem, merge: float, most: int, rows: Indices | None = None
) -> tuple[Indices, Array]:
    """Return the heaviest target of each of at most so many boxes, and what each box counts.

    `merge` is the size of the boxes, in coordinates near to CIEDE2000, and grows until they are
    few enough; none if it is zero. All targets that count are boxed, or some `rows` of them.
    """
    rows = np.flatnonzero(problem.counting) if rows is None else rows
    order = rows[np.argsort(-problem.weight[rows], kind="stable")]
    if merge == 0:
        return order, problem.weight[order]
    even, size = uniform(problem.labs[order]), merge
    while True:
        _, first, box = np.unique(
            np.floor(even / size), axis=0, return_index=True, return_inverse=True
        )
        if len(first) <= most:
            weight = np.bincount(box.reshape(-1), problem.weight[order])
            by_weight = np.argsort(first)
            return order[first[by_weight]], np.asarray(weight[by_weight], dtype=float)
        size *= 1.25


def programme_of(problem: Problem, rows: Iterable[int], weight: Iterable[float], slack: float = 0.0
) -> HittingSet:
    """Return targets that were looked at, with what each counts, as a programme.

    With `slack`, at a tolerance that is greater by so much.
    """
    cover, small = HittingSet(problem.must, problem.free), problem.kit.subsets
    for row, counts in zip(rows, weight, strict=True):
        ways = problem.ways[int(row)]
        if slack:
            some = small.smallest(problem.miss[int(row)], problem.tolerance + slack)
            ways = small.members[some]
        cover.add(ways, float(counts))
    return cover


def _pieces(rows: Indices, size: int) -> list[Indices]:
    return [rows[at : at + size] for at in range(0, len(rows), size)]


def small_sets(tubes: int, most: int, base: int | None = None) -> int:
    """Return how many sets of at most so many tubes there are.

    With `base`, of at most one from beyond so many of them.
    """
    if base is None:
        return sum(math.comb(tubes, size) for size in range(1, min(most, tubes) + 1))
    return sum(
        math.comb(base, size) + (tubes - base) * math.comb(base, size - 1)
        for size in range(1, min(most, base + 1) + 1)
    )


def nearest(asked: tuple[Kit, Array]) -> Array:
    """Return how near the mixes of a kit come to each of many colours (n, 3): (n,) [CIEDE2000]."""
    kit, labs = asked
    return np.asarray(Seeds.of(kit.medium, kit.most).nearest(labs)[2])


# --- settings -----------------------------------------------------------------------------------


def real(value: Any) -> float:
    """Return a setting as a number; nan if it is none."""
    try:
        return math.nan if isinstance(value, str | bytes) else float(value)
    except (TypeError, ValueError, OverflowError):
        return math.nan


def whole(value: Any) -> int | None:
    """Return a setting as a whole number; None if it is none."""
    try:
        return operator.index(value)
    except TypeError:
        return None


def checked_limit(seconds: float | None) -> Callable[[], float]:
    """Return a clock that ends after so long; ReachError if that is no time."""
    if seconds is not None and not real(seconds) > 0:
        raise ReachError(f"a time limit of {seconds} s: it must be a number above zero")
    return clock(seconds)


def _said(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) and value % 1 else repr(value)[:40]


def listed(catalogue: Any) -> PigmentTable | Palette:
    """Return a catalogue that may be a plain list of paints; ReachError if it is none."""
    if isinstance(catalogue, PigmentTable | Palette):
        return catalogue
    paints = tuple(catalogue) if isinstance(catalogue, Iterable) else ()
    if not paints or not all(isinstance(paint, Paint) for paint in paints):
        raise ReachError("the catalogue must be a table, a palette, or a list of paints")
    if twice := sorted({p.id for p in paints if sum(p.id == other.id for other in paints) > 1}):
        raise ReachError(f"{twice[0]} is in the catalogue twice")
    return PigmentTable(paints)


def _targets(labs: ArrayLike) -> Array:
    try:
        goal = np.array(labs, dtype=float)
    except (TypeError, ValueError):
        goal = np.empty(0)
    if (
        goal.ndim != 2 or goal.shape[1] != 3 or not len(goal)
        or not (np.abs(goal) <= _FARTHEST).all()
    ):  # fmt: skip
        raise ReachError(
            f"the targets must be an array (n, 3) of L*, a*, b*, finite and within {_FARTHEST:g}"
        )
    return goal


def _weights(weights: ArrayLike | None, count: int) -> Array:
    if weights is None:
        return np.full(count, 1 / count)
    try:
        weight = np.array(weights, dtype=float)
    except (TypeError, ValueError):
        weight = np.empty(0)
    if weight.shape != (count,) or not np.isfinite(weight).all() or (weight < 0).any():
        raise ReachError(f"the weights must be {count} finite numbers from 0 on, one a target")
    if not weight.any():
        raise ReachError("the weights are all zero: nothing is asked for")
    weight = weight / weight.max()  # their sum may be more than can be counted
    return np.asarray(weight / weight.sum())


def _named(catalogue: PigmentTable | Palette, names: Any, role: str) -> list[str]:
    """Return ids of paints by name; ReachError says which is not in the catalogue."""
    names = [names] if isinstance(names, str) else names
    names = [*names] if isinstance(names, Iterable) else names
    if not (isinstance(names, list) and all(isinstance(name, str) for name in names)):
        raise ReachError(f"{role}: names of tubes are wanted, not {_said(names)}")
    try:
        return [catalogue[name].id for name in names]
    except NotationError as error:
        raise ReachError(f"{role}: {error}") from None
