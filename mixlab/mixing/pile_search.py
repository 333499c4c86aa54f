"""The search for the smallest addition to a pile, in parts that a knife can measure."""

import itertools
import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.mixing.goals import Goal
from mixlab.nearest.exact import Found, Search
from mixlab.nearest.medium import Medium
from mixlab.nearest.parts import parts_around
from mixlab.nearest.sets import subsets_of
from mixlab.paint.mixtures import SLIP, Mixture
from mixlab.paint.tables import Palette

HALF_AGAIN = 0.5
"""Addition, in times of the pile, beyond which a fresh mix comes first; common practice, no
source."""

FURTHER_TUBE = 0.15
"""What a further tube must save to be worth opening, in times of the pile; common practice, no
source."""

_TAKEN = 0.05  # the same, for taking the mix as given more times over
LARGEST_PILE = 40.0
"""Parts, when the mix as given is taken several times over."""

TIMES = (1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96)
_EVERY, _RATIO = 8, 1.2  # smallest parts up to which all are tried, and their ratio from there
_SETS = 40
_AROUND = {1: 6, 2: 3, 3: 2}  # smallest parts to either side of the exact addition, by kinds
_ROUGH, _SKIPPED = 1.7, 4.0  # such a ratio, for a first look, and what it may miss by [CIEDE2000]
_LOOSE = 0.6  # times the pile, for keeping less well what was to be kept
_GROWTH = 2.0  # weighted CIEDE2000 that an addition as great as the pile must gain
_TOUCHY, _SLIPPED = 0.02, 2.0  # times the pile, weighted CIEDE2000, for a slip of one CIEDE2000
_LOOKED_AT, _PAIRS, _OFFERED = 200, 12, 2

Addition = tuple[int, Indices, Array]
"""How many times the mix as given makes the pile, the paints added, and parts of each."""


@dataclass(frozen=True, eq=False)
class PileSearch:
    """What every question about one pile and one goal needs.

    The pile stands in the medium as one paint more, the last.
    """

    mix: Mixture
    palette: Palette
    goal: Goal
    smallest_part: float

    @cached_property
    def medium(self) -> Medium:
        """The palette's paints, and the pile beside them."""
        return Medium(
            np.vstack([self.palette.K, self.mix.K]), np.vstack([self.palette.S, self.mix.S]),
            self.palette.paints[0].surface, self.mix.view,
        )  # fmt: skip

    @cached_property
    def parts(self) -> float:
        """Parts of the mix as given."""
        return sum(self.mix.amounts)

    @cached_property
    def times(self) -> list[int]:
        """How many times over the mix may be taken."""
        return [n for n in TIMES if n == 1 or n * self.parts <= LARGEST_PILE]

    @cached_property
    def found(self) -> list[Found]:
        """The nearest mix of the pile and each set of one, two, .. paints that may get there."""
        radius = max(self.goal.radius, self.goal.looser().radius)
        own = {i for i, id in enumerate(self.palette.ids) if id in self.mix.parts}
        found = []
        for kinds in range(1, min(3, len(self.palette)) + 1):
            sets = subsets_of(len(self.palette), kinds)
            if len(own) == len(self.mix.paints):
                # to add all of a pile's paints is to make more of it, and to need one of them less
                sets = sets[[not own <= set(one) for one in sets]]
            if len(sets):
                subsets = np.pad(sets, ((0, 0), (0, 1)), constant_values=len(self.palette))
                found += Search(self.medium, [subsets]).solve(self.goal.lab, radius, -math.inf)
        return found

    def _exact(self, found: Found, radius: float) -> tuple[Indices, Array]:
        """Return sets (n, t) that may get there, the nearest first, and their additions (n, t).

        The latter in times of the pile.
        """
        rows = np.argsort(found.miss, kind="stable")[:_SETS]
        rows = rows[found.miss[rows] <= radius]
        shares = found.shares[rows]
        return found.subsets[rows, :-1], shares[:, :-1] / np.maximum(shares[:, -1:], 1e-12)

    def beyond(self, kinds: int) -> float | None:
        """Return the least addition of the nearest mixes that get there, in times of the pile.

        None if none does.
        """
        least = math.inf
        for found in self.found[:kinds]:
            sets, added = self._exact(found, self.goal.radius)
            there = self.goal.met(self._labs(sets, added, 1.0))
            least = min([least, *added[there].sum(axis=-1)])
        return least if math.isfinite(least) else None

    def least(self, kinds: int, largest: float) -> Addition | None:
        """Return the smallest addition that gets there, or to the looser goal; None if none does.

        At most `kinds` of paint, and `largest` times the pile. A further tube, taking the mix more
        times over, and paint of which a slip of the knife is seen must be worth it; more than
        :data:`HALF_AGAIN` and what is less well kept are put up with where nothing else does.
        """
        best, cost = None, math.inf
        looser = self.goal.looser()
        for found, (order, times) in itertools.product(self.found[:kinds], enumerate(self.times)):
            sets, exact = self._exact(found, looser.radius)
            count, pile = sets.shape[1], times * self.parts
            fixed = FURTHER_TUBE * count + _TAKEN * order
            most = largest if count < 3 else min(largest, HALF_AGAIN)  # else a new mix by far
            limit = min(most, cost - fixed) * pile + 1e-9
            # a coarse look first: most sets come nowhere near
            ways = self._ways(count, limit, _ROUGH)
            if not len(ways) or not len(sets):
                continue
            rows, way = (n.ravel() for n in np.indices((len(sets), len(ways))))
            rough = ciede2000(self.goal.lab, self._labs(sets[rows], ways[way], pile))
            near = rough.reshape(len(sets), -1).min(axis=1) <= looser.radius + _SKIPPED
            sets, exact, ways = sets[near], exact[near], self._ways(count, limit)
            for parts in (
                np.broadcast_to(ways, (len(sets), *ways.shape)),
                parts_around(exact * pile, _AROUND[count], 1, self.smallest_part),
            ):
                rows, way = np.nonzero(parts.sum(axis=-1) <= limit)
                labs = self._labs(sets[rows], parts[rows, way], pile)
                good = np.flatnonzero(looser.met(labs))
                costs = fixed + parts[rows[good], way[good]].sum(axis=-1) / pile
                costs += costs - fixed > HALF_AGAIN + 1e-9
                costs += _LOOSE * ~self.goal.met(labs[good])
                first = np.argsort(costs, kind="stable")[:_LOOKED_AT]
                good, costs = good[first], costs[first]
                chosen, amounts = sets[rows[good]], parts[rows[good], way[good]]
                costs += _TOUCHY * self._slip(chosen, amounts, pile, labs[good])
                if len(good) and costs.min() < cost - 1e-9:
                    i = int(costs.argmin())
                    best, cost = (times, chosen[i], amounts[i]), float(costs[i])
        return best

    def nearest(self, kinds: int, largest: float) -> list[tuple[float, Addition]]:
        """Return what serves the goal best: nothing, then the best sets of one, two, .. paints.

        Each with its harm, a slip of the knife counted in. Sets of three are looked at that hold
        one of the best of two.
        """
        times = max(n for n in self.times if n == 1 or n * self.parts <= LARGEST_PILE / 3)
        pile = times * self.parts
        tried = [(float(self.goal.harm(self.mix.lab)), (1, np.zeros(0, dtype=int), np.zeros(0)))]
        best = np.zeros((0, 0), dtype=int)
        for found in self.found[:kinds]:
            sets = found.subsets[:, :-1]
            if sets.shape[1] > 2:
                sets = sets[[any(set(pair) <= set(one) for pair in best) for one in sets]]
            parts = self._ways(sets.shape[1], largest * pile + 1e-9)
            if not len(parts) or not len(sets):
                continue
            rows, way = (n.ravel() for n in np.indices((len(sets), len(parts))))
            labs = self._labs(sets[rows], parts[way], pile)
            harm = self.goal.harm(labs) + _GROWTH * parts[way].sum(axis=-1) / pile
            # the best of each set, and how far it can be relied on
            i = harm.reshape(len(sets), -1).argmin(axis=1) + len(parts) * np.arange(len(sets))
            harm = harm[i] + _SLIPPED * self._slip(sets, parts[way[i]], pile, labs[i])
            order = np.argsort(harm, kind="stable")
            tried += [
                (float(harm[n]), (times, sets[n], parts[way[i[n]]])) for n in order[:_OFFERED]
            ]
            best = sets[order[:_PAIRS]]
        return tried

    def _slip(self, sets: Indices, parts: Array, pile: float, labs: Array) -> Array:
        """Return how far a slip with any one of parts (n, t) moves colours (n, 3): CIEDE2000."""
        moved = [
            ciede2000(labs, self._labs(sets, parts + SLIP * one, pile))
            for one in np.eye(sets.shape[1])
        ]
        return np.asarray(np.max(moved, axis=0))

    def _ways(self, kinds: int, limit: float, ratio: float = _RATIO) -> Array:
        """Return parts (c, kinds) of so many paints that come to `limit` parts at most."""
        most = math.floor(limit / self.smallest_part)
        return np.asarray(self.smallest_part * _measured(kinds, most, ratio), dtype=float)

    def _labs(self, sets: Indices, parts: Array, pile: float) -> Array:
        """Return CIELAB (n, 3) of so many parts of the pile with parts (n, t) of sets added."""
        labs = np.empty((len(sets), 3))
        for start in range(0, len(sets), 4_000):
            some = slice(start, start + 4_000)
            amounts = np.zeros((len(labs[some]), len(self.medium.k)))
            np.put_along_axis(amounts, sets[some], parts[some], axis=1)
            amounts[:, -1] = pile
            labs[some] = self.medium.lab(amounts)
        return labs


@lru_cache(maxsize=64)
def _measured(kinds: int, total: int, ratio: float) -> Indices:
    """Return numbers (c, kinds) of smallest parts, one or more each, that sum to `total` at most.

    All small ones, and of the greater ones as many as a painter tells apart.
    """
    if total < kinds:
        return np.zeros((0, kinds), dtype=int)
    levels = list(range(1, min(total, _EVERY) + 1)) if ratio == _RATIO else [1]
    while (more := math.ceil(levels[-1] * ratio)) <= total:
        levels.append(more)
    ways = np.stack(np.meshgrid(*[levels] * kinds, indexing="ij"), -1).reshape(-1, kinds)
    return np.asarray(ways[ways.sum(axis=1) <= total])
