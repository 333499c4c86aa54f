"""Targets, the tubes to choose from, and what is known so far of the ones in mixes of the others.

A target that was *looked at* has had every small set of the tubes searched for it
(:mod:`mixlab.palette.small_sets`): its misses are known, and with them its ways, the smallest sets
within the tolerance. Of any other target only the nearest mix of one set of tubes is sought, which
costs far less.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from numbers import Integral, Real
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, Mask, Progress, clock
from mixlab.colour.boxes import gathered
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import NotationError, ReachError
from mixlab.nearest.many import Seeds
from mixlab.nearest.medium import medium_of
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.programme import GRAIN, HittingSet
from mixlab.palette.small_sets import Kit, best_mixes, misses, nearest, small_sets
from mixlab.palette.work import each_done

Tubes = PigmentTable | Palette | Sequence[Paint]
"""Tubes to choose from."""

MOST_TUBES = 4
MOST_SETS = 2_000_000
"""Greatest number of small sets of the tubes: 4 in a mix of 83 tubes, or 3 of 228."""

_FARTHEST = 1000.0  # a coordinate of CIELAB that no colour has
_DETAILED = 500  # targets whose best mixes are found one by one
_TOGETHER = 64  # targets looked at in one round
_SENT = 4  # targets to a piece of work, of many
_SENT_LARGE = 8  # of many tubes, whose sets are laid out afresh for each piece
_SENT_MIXES = 16  # whose best mix of one set of tubes is sought
_DOUBT = 1.0  # CIEDE2000; a search of many targets together is hardly ever so far off
_KEPT = 64  # sets of tubes whose misses are kept


class TimeIsOver(Exception):
    """What was asked for is not done, and the time for it is over."""


class Timed:
    """Work whose progress is told, and that ends when its time is over.

    Attributes
    ----------
    left : how many seconds are left
    stopped : "time" or "Ctrl-C" once the work was cut short
    """

    left: Callable[[], float]
    stopped: str

    def begin(self, progress: Progress | None, time_limit: float | None) -> None:
        """Tell of progress from nothing on; end after so many seconds, ReachError if none."""
        if time_limit is not None:
            number(time_limit, Real, lambda s: s > 0,
                   "a time limit of {} s: it must be a number above zero")  # fmt: skip
        self.left, self.stopped = clock(time_limit), ""
        self._progress, self._told = progress, 0.0

    def tell(self, share: float) -> None:
        """Tell the share of the work that is done, of each of several rounds as of the last."""
        self._told = max(self._told, share)
        if self._progress is not None:
            self._progress(self._told)

    def check_time(self) -> None:
        """Raise TimeIsOver if there is no time left."""
        if self.left() <= 0:
            raise TimeIsOver

    @contextmanager
    def cut_short(self) -> Iterator[None]:
        """Do what is inside until it ends, the time is over, or Ctrl-C: `stopped` says which."""
        try:
            yield
        except TimeIsOver:
            self.stopped = "time"
        except KeyboardInterrupt:
            self.stopped = "Ctrl-C"


class Problem(Timed):
    """Targets and the tubes they are to be mixed from.

    Attributes
    ----------
    labs : (n, 3), the targets
    weight : (n,), what each counts; they sum to one
    counting : (n,), which count at all
    paints : the tubes to choose from, without those that are excluded
    kit : the same as plain arrays, with the tolerance and the greatest number in a mix
    required, free : (p,), tubes that have to be in a set, and that do not count
    excluded : ids of tubes that must not be in one
    executor : does the work
    miss : by target that was looked at, the least miss (M,) of every small set
    ways : by the same, its smallest sets within the tolerance (w, p)
    """

    def __init__(
        self, labs: Array, weight: Array, paints: Palette, kit: Kit, required: Mask, free: Mask,
        excluded: set[str], executor: Any,
    ) -> None:  # fmt: skip
        self.labs, self.weight, self.paints, self.kit = labs, weight, paints, kit
        self.required, self.free, self.excluded = required, free, excluded
        self.executor = executor
        self.counting = weight > 0
        self.miss: dict[int, Array] = {}
        self.ways: dict[int, Mask] = {}
        self._near: dict[bytes, Array] = {}
        self.begin(None, None)

    @property
    def view(self) -> Viewing:
        """Light, observer and finish."""
        return self.kit.medium.view

    @property
    def tolerance(self) -> float:
        """Miss that passes [CIEDE2000]."""
        return self.kit.tolerance

    def ids(self, chosen: Mask) -> tuple[str, ...]:
        """Return the ids of chosen tubes (p,)."""
        return tuple(self.paints.ids[i] for i in np.flatnonzero(chosen))

    def counted(self, chosen: Mask) -> int:
        """Return how many of the chosen tubes (p,) count."""
        return int((chosen & ~self.free).sum())

    # --- looking at targets ---------------------------------------------------------------------

    def _each(
        self, work: Callable[[tuple[Kit, Array]], Any], kit: Kit, rows: Indices, size: int
    ) -> Iterator[tuple[Indices, Any]]:
        """Yield pieces of the targets `rows` with what `work` made of them and a kit, in order."""
        pieces = [rows[at : at + size] for at in range(0, len(rows), size)]
        sent = [(kit, self.labs[piece]) for piece in pieces]
        yield from zip(pieces, each_done(work, sent, self.executor), strict=True)

    def look_at(self, rows: Indices) -> None:
        """Find what every small set of the tubes can do for some targets.

        Raises
        ------
        TimeIsOver : with what is known by then kept, if there is no time left
        """
        rows = np.array([row for row in rows if int(row) not in self.miss], dtype=int)
        size = _SENT_LARGE if self.kit.large else 1 if len(rows) <= _TOGETHER else _SENT
        small, seen = self.kit.subsets, 0
        for piece, found in self._each(misses, self.kit, rows, size):
            for row, miss in zip(piece, found, strict=True):
                self.miss[int(row)] = miss
                self.ways[int(row)] = small.members[small.smallest(miss, self.tolerance)]
            seen += len(piece)
            self.tell(0.95 * seen / len(rows))
            self.check_time()

    @property
    def known(self) -> Mask:
        """Which targets (n,) were looked at."""
        known = np.zeros(len(self.labs), dtype=bool)
        known[list(self.miss)] = True
        return known

    @property
    def lost(self) -> Mask:
        """Which targets (n,) are known to be beyond every mix of the tubes."""
        lost = np.zeros(len(self.labs), dtype=bool)
        lost[[row for row, ways in self.ways.items() if not len(ways)]] = True
        return lost

    @property
    def within_reach(self) -> float:
        """Weight of the targets that count and are not known to be beyond every mix."""
        return 1.0 - self.weight_of(self.lost)

    def wanted(self, share: float, within_reach: float | None = None) -> float:
        """Return the weight to be covered where a share was asked: of what is within reach.

        It is that of all if so much is within reach, as far as is known or as is said.
        """
        reach = self.within_reach if within_reach is None else within_reach
        return share if share <= reach + GRAIN else share * self.within_reach

    @property
    def not_known(self) -> float:
        """Weight of the targets that were not looked at."""
        return self.weight_of(~self.known)

    def weight_of(self, rows: Mask) -> float:
        """Return the weight of some targets (n,)."""
        return math.fsum(self.weight[rows])

    def in_reach(self) -> tuple[Mask, Mask]:
        """Return which targets (n,) some mix of the tubes reaches, and of which that is known.

        Those that were not looked at are sought together, and looked at where the verdict is near
        and the tubes are not so many that each would take long: known is what that search is sure
        of, see :meth:`mixlab.palette.reach.Reach.nearest`.
        """
        every = np.ones(len(self.paints), dtype=bool)
        miss = self.misses_of(every)
        open_ = (miss > self.tolerance) & ~self.known
        if not self.kit.large:
            open_ &= miss <= self.tolerance + _DOUBT
            with suppress(TimeIsOver):
                self.look_at(np.flatnonzero(open_))
        return self.within_tolerance(every), ~open_ | self.known

    # --- what a set of tubes does ---------------------------------------------------------------

    def misses_of(self, chosen: Mask) -> Array:
        """Return the least miss (n,) of a choice of tubes (p,) to every target.

        Of targets that were not looked at as they are found together, see
        :meth:`mixlab.palette.reach.Reach.nearest`; never too small.
        """
        known = self.known
        miss = np.full(len(self.labs), np.inf)
        if not chosen.any():
            return miss
        inside = self.kit.subsets.inside(np.flatnonzero(chosen))
        rows = np.flatnonzero(known)
        miss[rows] = [self.miss[int(row)][inside].min() for row in rows]
        if known.all():
            return miss
        key = chosen.tobytes()
        if key not in self._near:
            self._near[key] = np.zeros(len(self.labs))
            kit = self.kit.of(np.flatnonzero(chosen))
            self._near[key][~known] = nearest((kit, self.labs[~known]))
            while len(self._near) > _KEPT:
                self._near.pop(next(iter(self._near)))
        return np.where(known, miss, self._near[key])

    def within_tolerance(self, chosen: Mask) -> Mask:
        """Return which targets (n,) a choice of tubes (p,) covers; see :meth:`misses_of`."""
        return np.asarray(self.misses_of(chosen) <= self.tolerance)

    def mixes_of(self, chosen: Mask, within: Mask, quick: bool = False) -> tuple[Array, Array]:
        """Return the best mix (n, k) of a choice for every target, and its miss (n,).

        `within` says which are known to be covered. All are sought together if it is to be quick
        or they are many, but for those that are then not seen to be covered.
        """
        n, kit = len(self.labs), self.kit.of(np.flatnonzero(chosen))
        shares, miss = np.zeros((n, int(chosen.sum()))), np.full(n, np.inf)
        if not chosen.any():
            return shares, miss
        rows = np.arange(n)
        if n > _DETAILED or quick:
            shares, _, miss = Seeds.of(kit.medium, kit.most).nearest(self.labs)
            rows = np.flatnonzero(within & (miss > kit.tolerance))
        for piece, found in self._each(best_mixes, kit, rows, _SENT_MIXES):
            shares[piece], miss[piece] = found
        return shares, miss


# --- a part of the targets ----------------------------------------------------------------------


def heaviest(
    problem: Problem, merge: float, most: int, rows: Indices | None = None
) -> tuple[Indices, Array]:
    """Return the heaviest target of each of at most so many boxes, and what each box counts.

    `merge` is the size of the boxes, in coordinates near to CIEDE2000, and grows until they are
    few enough; none if it is zero. Of all targets that count, or of some `rows` of them.
    """
    rows = np.flatnonzero(problem.counting) if rows is None else rows
    order = rows[np.argsort(-problem.weight[rows], kind="stable")]
    weight, size = problem.weight[order], merge
    while merge:
        box, means = gathered(problem.labs[order], weight, size)
        if len(means) <= most:
            first = np.unique(box, return_index=True)[1]
            by_weight = np.argsort(first)
            total = np.bincount(box, weight).astype(float)
            return order[first[by_weight]], total[by_weight]
        size *= 1.25
    return order, weight


def programme_of(
    problem: Problem, rows: Iterable[int], weight: Iterable[float], slack: float = 0.0
) -> HittingSet:
    """Return targets that were looked at, with what each counts, as a programme.

    With `slack`, at a tolerance that is greater by so much.
    """
    cover, small = HittingSet(problem.required, problem.free), problem.kit.subsets
    for row, counts in zip(rows, weight, strict=True):
        ways = problem.ways[int(row)]
        if slack:
            some = small.smallest(problem.miss[int(row)], problem.tolerance + slack)
            ways = small.members[some]
        cover.add(ways, float(counts))
    return cover


def problem_of(
    labs: ArrayLike,
    tubes: Tubes,
    tolerance: float,
    max_tubes: int,
    weights: ArrayLike | None,
    view: Viewing | None,
    executor: Any,
    *,
    required: Iterable[str] = (),
    excluded: Iterable[str] = (),
    free: Iterable[str] = (),
) -> Problem:
    """Return the question, once it makes sense; ReachError if it does not."""
    view = view or viewing()
    if not isinstance(view, Viewing):
        raise ReachError(f"view {view!r}: it must be as mixlab.viewing('D65') gives it")
    goal = _targets(labs)
    weight = _weights(weights, len(goal))
    number(tolerance, Real, lambda x: 0 < x < math.inf,
           "a tolerance of {}: it must be above zero; 2 is usual")  # fmt: skip
    number(max_tubes, Integral, lambda n: 1 <= n <= MOST_TUBES,
           f"{{}} tubes in a mix: it must be 1 to {MOST_TUBES}, and whole")  # fmt: skip
    tubes = listed(tubes)
    needed, barred, spare = (named(tubes, names) for names in (required, excluded, free))
    if both := sorted(needed & barred):
        raise ReachError(f"{both[0]} is both required and excluded")
    ids = [id for id in tubes.ids if id not in barred]
    if not ids:
        raise ReachError("every tube is excluded")
    if (count := small_sets(len(ids), max_tubes)) > MOST_SETS:
        raise ReachError(
            f"{count} sets of at most {max_tubes} of {len(ids)} tubes are too many to look at; "
            "allow fewer tubes in a mix, or choose from fewer"
        )
    table = tubes.table if isinstance(tubes, Palette) else tubes
    paints = table.palette(ids, getattr(tubes, "name", "") or "the table")
    kit = Kit(medium_of(paints, view), int(max_tubes), float(tolerance))
    return Problem(
        goal, weight, paints, kit, np.isin(ids, list(needed)), np.isin(ids, list(spare)), barred,
        executor,
    )  # fmt: skip


# --- settings -----------------------------------------------------------------------------------


def number(value: Any, kind: type, fits: Callable[[Any], bool], says: str) -> None:
    """Raise ReachError with what was said, "{}" the value, for a setting that is no such number."""
    if not (isinstance(value, kind) and fits(value)):
        shown = f"{value:g}" if isinstance(value, float) and value % 1 else str(value)[:40]
        raise ReachError(says.format(shown))


def listed(tubes: Any) -> PigmentTable | Palette:
    """Return tubes that may be a plain list of paints; ReachError if they are none."""
    if isinstance(tubes, PigmentTable | Palette):
        return tubes
    paints = tuple(tubes) if isinstance(tubes, Iterable) else ()
    if not paints or not all(isinstance(paint, Paint) for paint in paints):
        raise ReachError("the tubes must be a pigment table, a palette, or a list of paints")
    ids = [paint.id for paint in paints]
    if twice := sorted({id for id in ids if ids.count(id) > 1}):
        raise ReachError(f"{twice[0]} is among the tubes twice")
    return PigmentTable(paints)


def _floats(values: Any) -> Array:
    with suppress(TypeError, ValueError):
        return np.array(values, dtype=float)
    return np.empty(0)


def _targets(labs: ArrayLike) -> Array:
    goal = _floats(labs)
    if goal.shape[1:] != (3,) or not len(goal) or not (np.abs(goal) <= _FARTHEST).all():
        raise ReachError(
            f"the targets must be an array (n, 3) of L*, a*, b*, finite and within {_FARTHEST:g}"
        )
    return goal


def _weights(weights: ArrayLike | None, count: int) -> Array:
    weight = np.ones(count) if weights is None else _floats(weights)
    if weight.shape != (count,) or not np.isfinite(weight).all() or (weight < 0).any():
        raise ReachError(f"the weights must be {count} finite numbers from 0 on, one a target")
    if not weight.any():
        raise ReachError("the weights are all zero: nothing is asked for")
    weight = weight / weight.max()  # their sum may be more than can be counted
    return np.asarray(weight / weight.sum())


def named(tubes: PigmentTable | Palette, names: Iterable[str]) -> set[str]:
    """Return ids of paints by name; ReachError says which is not among the tubes."""
    try:
        return {tubes[name].id for name in ([names] if isinstance(names, str) else names)}
    except NotationError as error:
        raise ReachError(str(error)) from None
