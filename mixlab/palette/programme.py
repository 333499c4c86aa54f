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
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Mask

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
    """Targets and what can do for them; targets can be added while questions are asked.

    Parameters
    ----------
    must, free : (tubes,), which tubes have to be chosen, and which do not count
    """

    def __init__(self, must: Mask, free: Mask) -> None:
        self.must, self.free = must, free
        self.tubes = len(must)
        self._targets: list[tuple[Mask, float]] = []  # the ways of each, and what it counts
        self._demands: list[tuple[Mask, int]] = []  # and the target of each
        self._random = np.random.default_rng(0)

    def add(self, ways: Mask, weight: float) -> None:
        """Add a target: its ways (w, tubes), the tubes that each needs, and what it counts."""
        self._targets.append((ways, weight))

    @property
    def _ways(self) -> list[Mask]:
        return [ways for ways, _ in self._targets]

    @property
    def _weight(self) -> list[float]:
        return [weight for _, weight in self._targets]

    @property
    def weight(self) -> float:
        """Weight of all targets that some choice covers."""
        return math.fsum(weight for ways, weight in self._targets if len(ways))

    def hit(self, chosen: Mask) -> Mask:
        """Return which targets a choice of tubes (tubes,) covers, in the order they were added."""
        return np.array([_does(ways, chosen) for ways in self._ways], dtype=bool)

    def share(self, chosen: Mask) -> float:
        """Return the weight that a choice of tubes covers."""
        return math.fsum(np.array(self._weight)[self.hit(chosen)]) if self._targets else 0.0

    def _every(self, wanted: float) -> bool:
        """Return whether so much weight takes every target that can be covered, however light."""
        return wanted > max(self.weight - GRAIN, 0.0)

    def _will_do(self, chosen: Mask, wanted: float) -> bool:
        if self._every(wanted):
            open_ = [len(ways) > 0 for ways in self._ways]
            return bool(self.hit(chosen)[open_].all())
        return self.share(chosen) >= wanted - GRAIN

    def _without_idle(self, chosen: Mask, wanted: float) -> Mask:
        """Return the choice without tubes that do not count and are not needed."""
        for tube in np.flatnonzero(chosen & self.free & ~self.must):
            fewer = chosen.copy()
            fewer[tube] = False
            if self._will_do(fewer, wanted):
                chosen = fewer
        return chosen

    def shrinking(self) -> Iterator[Mask]:
        """Yield choices, each of one tube less that counts than the one before, from all tubes on.

        The tube goes without which most weight is covered and, of several, the one that the fewest
        ways need. No choice on the way is sure to be the best of so many tubes.
        """
        chosen = np.ones(self.tubes, dtype=bool)
        alive = [ways for ways in self._ways if len(ways)]
        weight = np.array([weight for ways, weight in self._targets if len(ways)])
        while True:
            yield chosen.copy()
            can_go = np.flatnonzero(chosen & ~self.must & ~self.free)
            if not len(can_go):
                return
            # ways that are left to each target without each tube
            left = np.array([(~ways).sum(axis=0) for ways in alive]).reshape(-1, self.tubes)
            left = left[:, can_go]
            share, count = np.round(weight @ (left > 0) / GRAIN), (left > 0).sum(axis=0)
            gone = can_go[np.lexsort((-left.sum(axis=0), -count, -share))[0]]
            chosen[gone] = False
            alive = [ways[~ways[:, gone]] for ways in alive]

    def greedy(self, wanted: float) -> Mask | None:
        """Return a choice that covers so much weight, not always the smallest; None if none does.

        The last of :meth:`shrinking` that will do.
        """
        best: Mask | None = None
        for chosen in self.shrinking():
            if not self._will_do(chosen, wanted):
                break
            best = chosen
        return None if best is None else self._without_idle(best, wanted)


class HittingSet(SetSystem):
    """The integer programme over a set system: choices of tubes, and bounds on all of them."""

    def fewest(
        self,
        wanted: float,
        clock: Callable[[], float] = lambda: math.inf,
        not_these: Sequence[Mask] = (),
        most: int | None = None,
        tell: Callable[[float], None] = lambda bound: None,
    ) -> Choice:
        """Return the choice of fewest tubes that covers so much weight.

        Parameters
        ----------
        wanted : weight to be covered
        clock : how many seconds are left
        not_these : choices found before; of the tubes of each that count, one has to be left out
        most : no more tubes that count than this
        tell : told each bound as it is found
        """
        cost = np.where(self.free, _FREE, 1.0)
        rows: list[tuple[Array, float, float]] = []
        for old in not_these:
            counted = old & ~self.free
            rows.append((self._row(counted), -math.inf, float(counted.sum() - 1)))
        if most is not None:
            rows.append((self._row(~self.free), -math.inf, float(most)))
        bound = 0.0

        def better(low: float) -> None:
            nonlocal bound
            count = math.ceil(low - _FREE * (self.free.sum() + 1) - _WHOLE)
            bound = max(bound, float(count))
            tell(bound)

        if wanted > self.weight + GRAIN:
            return Choice(None, math.inf, True)
        while True:
            end = self._solve(cost, np.zeros(len(self._targets)), rows, wanted, clock())
            if end.status == 2:
                return Choice(None, math.inf, True)
            if end.mip_dual_bound is not None:
                better(float(end.mip_dual_bound))
            if end.status != 0 or clock() <= 0:
                return Choice(None, bound, False)
            chosen = self._chosen(end.x)
            if self._will_do(chosen, wanted) or not self._lay_down(chosen, end.x[self.tubes :]):
                return Choice(self._without_idle(chosen, wanted), bound, True)

    def all_of(self, count: int) -> list[Mask] | None:
        """Return every choice of so many tubes that count, of which fewer do not cover all targets.

        Such a choice is a union of ways, one for each target: they are joined target by target, and
        what grows too large is dropped. None where that would be too much to hold. Of choices that
        differ in tubes that do not count, the one of fewest stands for all.
        """
        counts = _bits(~self.free[None])[0]
        joined = _bits(self.must[None])
        open_ = sorted((ways for ways in self._ways if len(ways)), key=len)
        for ways in map(_bits, open_):
            does = np.zeros(len(joined), dtype=bool)
            for way in ways:
                does |= ((joined & way) == way).all(axis=1)
            rest = joined[~does]
            if len(rest) * len(ways) > _MOST_JOINED:
                return None
            grown = [joined[does]]
            for way in ways:
                more = rest | way
                grown.append(more[_ones(more & counts) <= count])
            joined = _distinct(np.concatenate(grown))
        by_tubes: dict[bytes, tuple[int, Mask]] = {}
        for row, size in zip(joined, _ones(joined), strict=True):
            key, mask = (row & counts).tobytes(), _mask(row, self.tubes)
            if key not in by_tubes or size < by_tubes[key][0]:
                by_tubes[key] = int(size), mask
        return [mask for _, mask in by_tubes.values()]

    def most(self, tubes: int, clock: Callable[[], float] = lambda: math.inf) -> Choice:
        """Return the choice of at most so many tubes that count that covers the most weight."""
        rows = [(self._row(~self.free), -math.inf, float(tubes))]
        weight = np.array(self._weight)
        cost = np.full(self.tubes, 0.1 * GRAIN / self.tubes)
        best: Mask | None = None
        bound = self.weight
        if (self.must & ~self.free).sum() > tubes:
            return Choice(None, 0.0, True)
        while True:
            end = self._solve(cost, -weight, rows, 0.0, clock())
            if end.mip_dual_bound is not None:
                bound = min(bound, -float(end.mip_dual_bound) + GRAIN)
            if end.status != 0 or clock() <= 0:
                return Choice(best, bound, False)
            chosen = self._chosen(end.x)
            if best is None or self.share(chosen) > self.share(best):
                best = chosen
            if self.share(best) >= bound - LACK or not self._lay_down(chosen, end.x[self.tubes :]):
                return Choice(best, bound, True)

    # --- the programme --------------------------------------------------------------------------

    def _row(self, tubes: Mask) -> Array:
        return np.concatenate([tubes.astype(float), np.zeros(len(self._targets))])

    def _chosen(self, values: Array) -> Mask:
        return np.asarray(values[: self.tubes] > 0.5)

    def _lay_down(self, chosen: Mask, claimed: Array) -> bool:
        """Add demands that a choice does not meet, of the targets that it claims to cover.

        Return whether there are any.
        """
        missed = np.flatnonzero(~self.hit(chosen) & (claimed > _CLAIMED))
        for target in missed:
            for _ in range(_DEMANDS):
                demand = self._demand(self._targets[target][0], chosen)
                self._demands.append((demand, int(target)))
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
        cost: Array,
        cost_targets: Array,
        rows: Iterable[tuple[Array, float, float]],
        wanted: float,
        seconds: float,
    ) -> Any:
        """Return scipy's result: status 0 optimal, 1 out of time, 2 no choice will do."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        n = len(self._targets)
        demands = np.zeros((len(self._demands), self.tubes + n))
        for row, (demand, target) in zip(demands, self._demands, strict=True):
            row[: self.tubes] = demand
            row[self.tubes + target] = -1
        rows = list(rows)
        covering = np.concatenate([np.zeros(self.tubes), self._weight])
        rows.append((covering, wanted - GRAIN, math.inf))
        matrix = np.vstack([demands, *(row for row, _, _ in rows)])
        low = np.concatenate([np.zeros(len(demands)), [low for _, low, _ in rows]])
        high = np.concatenate([np.full(len(demands), np.inf), [high for _, _, high in rows]])
        least = np.concatenate([self.must.astype(float), np.zeros(n)])
        open_ = [len(ways) > 0 for ways in self._ways]
        greatest = np.concatenate([np.ones(self.tubes), np.array(open_, dtype=float)])
        if self._every(wanted):
            least[self.tubes :] = greatest[self.tubes :]
        options: dict[str, Any] = {"mip_rel_gap": 0.0}
        if math.isfinite(seconds):
            options["time_limit"] = max(seconds, 0.01)
        return _apart(
            lambda: milp(
                np.concatenate([cost, cost_targets]),
                constraints=LinearConstraint(csr_array(matrix), low, high),
                integrality=np.concatenate([np.ones(self.tubes), np.zeros(n)]),
                bounds=Bounds(least, greatest),
                options=cast("Any", options),
            )
        )


def _bits(masks: Mask) -> NDArray[np.uint64]:
    """Return masks (n, tubes) as words of 64 bits (n, w)."""
    short = -masks.shape[1] % 64
    packed = np.packbits(np.pad(masks, ((0, 0), (0, short))), axis=1, bitorder="little")
    return np.ascontiguousarray(packed).view(np.uint64)


def _mask(words: NDArray[np.uint64], tubes: int) -> Mask:
    return np.unpackbits(words.view(np.uint8), bitorder="little")[:tubes].astype(bool)


def _ones(words: NDArray[np.uint64]) -> NDArray[np.intp]:
    """Return how many bits of each row (n, w) are set."""
    return np.asarray(_ONES[np.ascontiguousarray(words).view(np.uint8)].sum(axis=1), dtype=np.intp)


_ONES = np.array([byte.bit_count() for byte in range(256)], dtype=np.intp)


def _distinct(words: NDArray[np.uint64]) -> NDArray[np.uint64]:
    """Return the rows (n, w), each once, in order."""
    order = np.lexsort(words.T)
    words = words[order]
    first = np.ones(len(words), dtype=bool)
    first[1:] = (words[1:] != words[:-1]).any(axis=1)
    return words[first]


def _does(ways: Mask, chosen: Mask) -> bool:
    return bool((~ways | chosen).all(axis=1).any())


def _apart(work: Callable[[], Any]) -> Any:
    """Return what `work` returns; it runs in a thread, so that Ctrl-C is heard meanwhile."""
    ends: list[Any] = []

    def run() -> None:
        try:
            ends.append(work())
        except BaseException as error:
            ends.append(error)

    thread = threading.Thread(target=run, daemon=True, name=SOLVER)
    thread.start()
    thread.join()
    if isinstance(ends[0], BaseException):
        raise ends[0]
    return ends[0]
