"""The fewest tubes that cover: the integer programme, with nothing of colour in it.

For each target there are *ways*: small sets of tubes, any one of which will do. A choice of tubes
covers a target if it holds all tubes of one of its ways. The programme has a variable for each tube
and one for each target, and its demands are laid down as they are needed: where a choice leaves a
target uncovered, the largest choice around it that still does so is found, and any choice that is
to cover that target needs a tube from beyond it. A choice of the programme that covers what it
claims to is the best of all, because every choice that covers meets every demand; and the
programme's own bound is a bound on the answer at any time before that. Few of the demands that
exist are ever laid down, however many the ways are.

Everything is counted exactly; only the weights of the targets, which sum to one, are compared to a
few millionths: the programme's own rows hold no nearer.

References
----------
.. [1] E. Moreno-Centeno, R. M. Karp, "The implicit hitting set approach to solve combinatorial
       optimization problems", Operations Research 61 (2013) 453-468.
.. [2] Q. Huangfu, J. A. J. Hall, "Parallelizing the dual revised simplex method", Math. Prog. Comp.
       10 (2018) 119-142: HiGHS, which scipy.optimize.milp runs.
"""

import math
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from mixlab.arrays import Array, Indices, Mask, Pixels

GRAIN = 1e-6
"""Weight that does not count."""

LACK = 5 * GRAIN
"""What a choice may lack of the weight that is asked: the grain, and the solver's own rounding."""

SOLVER = "integer programme"
"""Name of the thread in which the solver runs; it hears of nothing until it is done."""

_DEMANDS = 3  # laid down at a time for a target that is not covered
_MOST_JOINED = 20_000_000  # choices at a time
_FREE = 1e-4  # what a tube that does not count costs, so that none is chosen in idleness
_WHOLE = 1e-6
_CLAIMED = 2e-6  # of a target; the solver holds a demand to a millionth, and may claim less unmet
_ONES = np.array([byte.bit_count() for byte in range(256)], dtype=np.intp)


@dataclass(frozen=True, eq=False)
class Choice:
    """An answer of the programme.

    Attributes
    ----------
    tubes : (tubes,), which are chosen; None if no choice will do, or none was found in time
    bound : no choice does better: the fewest tubes that count, or the most weight
    done : whether the search came to its end: the choice is the best, or there is none
    """

    tubes: Mask | None
    bound: float
    done: bool


class SetSystem:
    """Targets and what can do for them.

    Parameters
    ----------
    required, free : (tubes,), which tubes have to be chosen, and which do not count
    """

    def __init__(self, required: Mask, free: Mask) -> None:
        self.required, self.free = required, free
        self.tubes = len(required)
        self._ways: list[Mask] = []
        self._weight: list[float] = []  # what each target counts

    def add(self, ways: Mask, weight: float) -> None:
        """Add a target: its ways (w, tubes), the tubes that each needs, and what it counts."""
        self._ways.append(ways)
        self._weight.append(weight)

    @property
    def _open(self) -> Mask:
        """Which targets some choice covers."""
        return np.array([len(ways) > 0 for ways in self._ways], dtype=bool)

    @property
    def weight(self) -> float:
        """Weight of all targets that some choice covers."""
        return math.fsum(np.array(self._weight)[self._open])

    def hit(self, chosen: Mask) -> Mask:
        """Return which targets a choice of tubes (tubes,) covers, in the order they were added."""
        return np.array([(~ways | chosen).all(axis=1).any() for ways in self._ways], dtype=bool)

    def share(self, chosen: Mask) -> float:
        """Return the weight that a choice of tubes covers."""
        return math.fsum(np.array(self._weight)[self.hit(chosen)])

    def _every(self, wanted: float) -> bool:
        """Return whether so much weight takes every target that can be covered, however light."""
        return wanted > max(self.weight - GRAIN, 0.0)

    def _will_do(self, chosen: Mask, wanted: float) -> bool:
        if self._every(wanted):
            return bool(self.hit(chosen)[self._open].all())
        return self.share(chosen) >= wanted - GRAIN

    def _without_idle(self, chosen: Mask, wanted: float) -> Mask:
        """Return the choice without tubes that do not count and are not needed."""
        for tube in np.flatnonzero(chosen & self.free & ~self.required):
            fewer = chosen.copy()
            fewer[tube] = False
            if self._will_do(fewer, wanted):
                chosen = fewer
        return chosen

    def greedy(self, wanted: float) -> Mask | None:
        """Return a choice that covers so much weight, not always the smallest; None if none does.

        From all tubes the one goes, over and over, without which most weight is covered and, of
        several, the one that the fewest ways need.
        """
        chosen = np.ones(self.tubes, dtype=bool)
        if not self._will_do(chosen, wanted):
            return None
        while True:
            can_go = np.flatnonzero(chosen & ~self.required & ~self.free)
            fewer = chosen & ~np.eye(self.tubes, dtype=bool)[can_go]
            left = np.zeros((len(fewer), len(self._ways)), dtype=int)
            for row, one in zip(left, fewer, strict=True):
                row[:] = [(~ways | one).all(axis=1).sum() for ways in self._ways]
            share = np.round((left > 0) @ np.array(self._weight) / GRAIN)
            best = np.lexsort((-left.sum(axis=1), -(left > 0).sum(axis=1), -share))
            if not len(best) or not self._will_do(fewer[best[0]], wanted):
                return self._without_idle(chosen, wanted)
            chosen = fewer[best[0]]


class HittingSet(SetSystem):
    """The best choices, and bounds on all; targets can be added while questions are asked.

    Attributes
    ----------
    bound : the greatest bound on the number of tubes that :meth:`fewest` has come to; it holds at
        any time, also while the solver is at work
    """

    def __init__(self, required: Mask, free: Mask) -> None:
        super().__init__(required, free)
        self.bound = 0
        self._demands: list[tuple[Mask, int]] = []  # and the target of each
        self._random = np.random.default_rng(0)

    def fewest(
        self,
        wanted: float,
        clock: Callable[[], float] = lambda: math.inf,
        not_these: Sequence[Mask] = (),
        most: int | None = None,
    ) -> Choice:
        """Return the choice of fewest tubes that covers so much weight.

        Parameters
        ----------
        wanted : weight to be covered
        clock : how many seconds are left
        not_these : choices found before; of the tubes of each that count, one has to be left out
        most : no more tubes that count than this
        """
        rows = [(old & ~self.free, int((old & ~self.free).sum()) - 1) for old in not_these]
        rows += [] if most is None else [(~self.free, most)]
        bound = 0
        if wanted > self.weight + GRAIN:
            return Choice(None, math.inf, True)
        while True:
            end = self._solve(np.where(self.free, _FREE, 1.0), 0.0, rows, wanted, clock())
            if end.status == 2:
                return Choice(None, math.inf, True)
            if end.mip_dual_bound is not None:
                low = float(end.mip_dual_bound) - _FREE * (self.free.sum() + 1) - _WHOLE
                bound = max(bound, math.ceil(low))
                self.bound = max(self.bound, 0 if rows else bound)
            if end.status != 0 or clock() <= 0:
                return Choice(None, bound, False)
            chosen = end.x[: self.tubes] > 0.5
            if self._will_do(chosen, wanted) or not self._lay_down(chosen, end.x[self.tubes :]):
                return Choice(self._without_idle(chosen, wanted), bound, True)

    def most(self, tubes: int, clock: Callable[[], float] = lambda: math.inf) -> Choice:
        """Return the choice of at most so many tubes that count that covers the most weight."""
        best: Mask | None = None
        bound = self.weight
        if (self.required & ~self.free).sum() > tubes:
            return Choice(None, 0.0, True)
        while True:
            end = self._solve(0.1 * GRAIN / self.tubes, -1.0, [(~self.free, tubes)], 0.0, clock())
            if end.mip_dual_bound is not None:
                bound = min(bound, -float(end.mip_dual_bound) + GRAIN)
            if end.status != 0 or clock() <= 0:
                return Choice(best, bound, False)
            chosen = end.x[: self.tubes] > 0.5
            if best is None or self.share(chosen) > self.share(best):
                best = chosen
            if self.share(best) >= bound - LACK or not self._lay_down(chosen, end.x[self.tubes :]):
                return Choice(best, bound, True)

    def all_of(self, count: int) -> list[Mask] | None:
        """Return every choice of so many tubes that count, of which fewer do not cover all targets.

        Such a choice is a union of ways, one for each target: they are joined target by target, and
        what grows too large is dropped. None where that would be too much to hold. Of choices that
        differ in tubes that do not count, the one of fewest stands for all.
        """
        counts, joined = np.packbits(~self.free), np.packbits(self.required[None], axis=1)
        for ways in sorted((ways for ways in self._ways if len(ways)), key=len):
            packed = np.packbits(ways, axis=1)
            does = np.zeros(len(joined), dtype=bool)
            for way in packed:
                does |= ((joined & way) == way).all(axis=1)
            rest = joined[~does]
            if len(rest) * len(ways) > _MOST_JOINED:
                return None
            grown = [joined[does]]
            for way in packed:
                more = rest | way
                grown.append(more[_size(more & counts) <= count])
            joined = _distinct(np.concatenate(grown))
        joined = joined[np.argsort(_size(joined), kind="stable")]
        first = np.sort(np.unique(joined & counts, axis=0, return_index=True)[1])
        return list(np.unpackbits(joined[first], axis=1, count=self.tubes).astype(bool))

    # --- the programme --------------------------------------------------------------------------

    def _lay_down(self, chosen: Mask, claimed: Array) -> bool:
        """Add demands that a choice does not meet, of the targets that it claims to cover.

        Return whether there are any.
        """
        missed = np.flatnonzero(~self.hit(chosen) & (claimed > _CLAIMED))
        for target in missed:
            for _ in range(_DEMANDS):
                self._demands.append((self._demand(self._ways[target], chosen), int(target)))
        return len(missed) > 0

    def _demand(self, ways: Mask, chosen: Mask) -> Mask:
        """Return tubes of which one is needed: those beyond a largest choice that fails."""
        failing = chosen.copy()
        lacking = ways & ~failing
        count = lacking.sum(axis=1)
        for tube in self._random.permutation(self.tubes):
            if failing[tube] or (lacking[:, tube] & (count == 1)).any():
                continue
            failing[tube] = True
            count = count - lacking[:, tube]
        return ~failing

    def _solve(
        self,
        cost: Array | float,
        gain: float,
        rows: Sequence[tuple[Mask, int]],
        wanted: float,
        seconds: float,
    ) -> Any:
        """Return scipy's result: status 0 optimal, 1 out of time, 2 no choice will do.

        Parameters
        ----------
        cost : of the tubes, (tubes,) or of each
        gain : cost of a unit of weight that is covered
        rows : tubes (tubes,), and how many of them may be chosen
        wanted : weight to be covered
        """
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        n, weight, open_ = len(self._ways), np.array(self._weight), self._open.astype(float)
        demands = np.zeros((len(self._demands), self.tubes + n))
        for row, (demand, target) in zip(demands, self._demands, strict=True):
            row[: self.tubes] = demand
            row[self.tubes + target] = -1
        limits = [np.append(tubes, np.zeros(n)) for tubes, _ in rows]
        matrix = np.vstack([demands, *limits, np.append(np.zeros(self.tubes), weight)])
        low = np.array([0.0] * len(demands) + [-math.inf] * len(rows) + [wanted - GRAIN])
        high = np.array([math.inf] * len(demands) + [most for _, most in rows] + [math.inf])
        least = open_ if self._every(wanted) else np.zeros(n)
        bounds = Bounds(np.append(self.required, least), np.append(np.ones(self.tubes), open_))
        options: dict[str, Any] = {"mip_rel_gap": 0.0}
        if math.isfinite(seconds):
            options["time_limit"] = max(seconds, 0.01)
        return in_a_thread(
            lambda: milp(
                np.append(np.broadcast_to(cost, self.tubes), gain * weight),
                constraints=LinearConstraint(csr_array(matrix), low, high),
                integrality=np.append(np.ones(self.tubes), np.zeros(n)),
                bounds=bounds,
                options=cast("Any", options),
            )
        )


def _size(packed: Pixels) -> Indices:
    """Return how many tubes each packed choice (n, w) holds."""
    return np.asarray(_ONES[packed].sum(axis=1))


def _distinct(packed: Pixels) -> Pixels:
    """Return the rows (n, w), each once."""
    whole = np.ascontiguousarray(packed).view(f"V{packed.shape[1]}").ravel()
    return packed[np.unique(whole, return_index=True)[1]]


def in_a_thread(work: Callable[[], Any]) -> Any:
    """Return what `work` returns; it runs in a thread, so that Ctrl-C is heard meanwhile."""
    end: Future[Any] = Future()

    def run() -> None:
        try:
            end.set_result(work())
        except BaseException as error:
            end.set_exception(error)

    threading.Thread(target=run, daemon=True, name=SOLVER).start()
    return end.result()
