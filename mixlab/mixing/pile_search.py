"""The search for the smallest addition to a pile: exact mixes first, then measured parts."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.mixing.answers import VALUE_FIRST
from mixlab.mixing.goals import Goal, Tolerances
from mixlab.nearest.exact import Found, Search
from mixlab.nearest.medium import Medium
from mixlab.nearest.parts import parts_around
from mixlab.nearest.sets import subsets_of
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette

_LARGEST_PILE = 40.0  # parts, when a pile is taken several times over
_TIMES = sorted({n * 10**e for e in range(5) for n in (1, 2, 3, 4, 6, 8, 12, 16, 24, 32)})
_MIXES = 1_000_000  # looked at, at most, to the pile as it stands
_TOTALS = {1: 4000, 2: 400, 3: 150}  # smallest parts added, at most, to the pile as it stands
_BLOCK = 500
_SUBSETS = 300
_AROUND = {1: 12, 2: 5, 3: 2}  # smallest parts to either side of the exact addition, by kinds
_COARSE = {1: 200, 2: 24}  # shares of the greatest addition, by kinds
_LEVEL = 0.3  # CIEDE2000


# --- the search ---------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class PileSearch:
    """What every question about one pile and one goal needs.

    The pile stands in the medium as one paint more, the last.
    """

    mix: Mixture
    palette: Palette
    goal: Goal
    within: Tolerances
    smallest_part: float
    largest: float
    medium: Medium

    @classmethod
    def of(
        cls, mix: Mixture, palette: Palette, goal: Goal, within: Tolerances, smallest_part: float,
        largest: float,
    ) -> "PileSearch":  # fmt: skip
        """Return the search for a pile, the palette's paints beside it."""
        medium = Medium(
            np.vstack([palette.K, mix.K]), np.vstack([palette.S, mix.S]),
            palette.paints[0].surface, mix.view,
        )  # fmt: skip
        return cls(mix, palette, goal, within, smallest_part, largest, medium)

    @cached_property
    def parts(self) -> float:
        """Parts of the mix as given."""
        return sum(self.mix.amounts)

    @cached_property
    def piles(self) -> list[int]:
        """How many times over the mix may be taken."""
        return [n for n in _TIMES if n == 1 or n * self.parts <= _LARGEST_PILE]

    def found(self, kinds: int) -> Found:
        """Return the best mix of the pile and each set of so many paints."""
        sets = subsets_of(len(self.palette), kinds)
        own = [i for i, id in enumerate(self.palette.ids) if id in self.mix.parts]
        if len(own) == len(self.mix.paints):
            # to add all of a pile's paints is to make more of it, and to need one of them less
            sets = sets[[not set(own) <= set(one) for one in sets]]
        pile = np.full((len(sets), 1), len(self.palette))
        subsets = np.hstack([sets, pile])
        if not len(sets):
            return Found(subsets, np.zeros(subsets.shape), np.zeros(0))
        return Search(self.medium, [subsets]).solve(self.goal.lab)[0]

    @cached_property
    def radius(self) -> float:
        """CIEDE2000 from the goal beyond which nothing is within the tolerances."""
        return self.goal.radius(self.within)

    def least(self, kinds: int) -> tuple[tuple[int, Indices, Array] | None, float | None]:
        """Return times, paints and parts of the smallest addition; and how far too large one is.

        The latter is the least addition, in times of the pile, of the exact mixes that reach the
        goal; None if none does.
        """
        beyond = math.inf
        for count in range(1, kinds + 1):
            found = self.found(count)
            rows = np.flatnonzero(found.miss <= self.radius)
            rows = rows[np.argsort(found.miss[rows], kind="stable")][:_SUBSETS]
            if not rows.size:
                continue
            added = found.shares[rows, :-1] / found.shares[rows, -1:]  # in times of the pile
            full = np.zeros((len(rows), len(self.medium.k)))
            np.put_along_axis(full, found.subsets[rows], found.shares[rows], axis=1)
            there = self.goal.met(self.medium.lab(full), self.within)
            beyond = min([beyond, *added[there].sum(axis=1)])
            sets = found.subsets[rows, :-1]
            for times in self.piles:
                hit = self._of_all(sets) if times == 1 else None
                hit = hit or self._around(sets, added, times)
                if hit is not None:
                    return (times, *hit), beyond
        return None, beyond if math.isfinite(beyond) else None

    def _of_all(self, sets: Indices) -> tuple[Indices, Array] | None:
        """Return paints and parts of the smallest addition to the mix as given, or None."""
        kinds = sets.shape[1]
        total = math.floor(self.largest * self.parts / self.smallest_part + 1e-9)
        total = min(total, _TOTALS[kinds])
        while total >= kinds and math.comb(total, kinds) * len(sets) > _MIXES:
            total -= 1
        for ways in _ways(kinds, total):
            labs = self._labs(sets, ways * self.smallest_part, 1)
            good = self.goal.met(labs.reshape(-1, 3), self.within).reshape(labs.shape[:2])
            if good.any():
                # in a block the ways are by their sum
                least = ways[good.any(axis=0)].sum(axis=1).min()
                good &= ways.sum(axis=1) == least
                miss = np.where(good, ciede2000(self.goal.lab, labs), np.inf)
                row, way = np.unravel_index(miss.argmin(), miss.shape)
                return sets[row], ways[way] * self.smallest_part
        return None

    def _around(self, sets: Indices, added: Array, times: int) -> tuple[Indices, Array] | None:
        """Return paints and parts of the smallest addition near the exact ones, or None."""
        rows, parts, labs = self._near(sets, added, times)
        good = np.flatnonzero(self.goal.met(labs, self.within))
        if not good.size:
            return None
        miss = ciede2000(self.goal.lab, labs[good])
        first = good[np.lexsort((miss, np.rint(parts[good].sum(axis=1) / self.smallest_part)))[0]]
        return sets[rows[first]], parts[first]

    def _near(self, sets: Indices, added: Array, times: int) -> tuple[Indices, Array, Array]:
        """Return rows of sets (n,), parts (n, kinds) and colours (n, 3) around the exact ones."""
        pile = times * self.parts
        tried = parts_around(added * pile, _AROUND[sets.shape[1]], 1, self.smallest_part)
        rows, ways = np.nonzero(tried.sum(axis=-1) <= self.largest * pile + 1e-9)
        parts = tried[rows, ways]
        full = np.zeros((len(rows), len(self.medium.k)))
        np.put_along_axis(full, sets[rows], parts, axis=1)
        full[:, -1] = pile
        return rows, parts, self.medium.lab(full)

    def _labs(self, sets: Indices, parts: ArrayLike, times: int) -> Array:
        """Return CIELAB (m, c, 3) of the pile with each of the parts (c, k) of each set (m, k)."""
        pile = np.full((len(sets), 1), len(self.palette))
        own = times * self.parts
        amounts = np.insert(np.asarray(parts, dtype=float), sets.shape[1], own, axis=1)
        return self.medium.labs(np.hstack([sets, pile]), amounts)

    def nearest(self, kinds: int) -> list[tuple[int, Indices, Array]]:
        """Return times, paints and parts of the least harmful addition of 0, 1, .. kinds of paint.

        In the least harmful, value counts for more.
        """
        times = max(n for n in self.piles if n == 1 or n * self.parts <= _LARGEST_PILE / 2)
        tried = [(1, np.zeros(0, dtype=int), np.zeros(0))]
        for count in range(1, kinds + 1):
            found = self.found(count)
            if not found.miss.size:
                continue
            rows = np.argsort(found.miss, kind="stable")[:_SUBSETS]
            sets = found.subsets[rows, :-1]
            added = found.shares[rows, :-1] / np.maximum(found.shares[rows, -1:], 1e-12)
            # what is too much is added only as far as the limit goes
            added *= np.minimum(1, self.largest / added.sum(axis=1))[:, None]
            near, parts, labs = self._near(sets, added, times)
            best = []
            if len(near):
                harm = self._harm(labs)
                # of additions that nobody tells apart, the least
                level = np.flatnonzero(harm <= harm.min() + _LEVEL)
                i = level[parts[level].sum(axis=1).argmin()]
                best.append((float(harm[i]), sets[near[i]], parts[i]))
            if count in _COARSE:  # and a coarse look at all, as the exact mix may be too much
                limit = self.largest * times * self.parts / self.smallest_part
                grain = max(1, math.ceil(limit / _COARSE[count])) * self.smallest_part
                coarse = int(limit * self.smallest_part / grain + 1e-9)
                ways = grain * np.vstack([*_ways(count, coarse), np.zeros((0, count))])
                if len(ways):
                    every = found.subsets[:, :-1]
                    harm = self._harm(self._labs(every, ways, times))
                    row, way = np.unravel_index(harm.argmin(), harm.shape)
                    best.append((float(harm[row, way]), every[row], ways[way]))
            if best:
                _, paints, amounts = min(best, key=lambda one: one[0])
                tried.append((times, paints, amounts))
        return tried

    def _harm(self, labs: Array) -> Array:
        return ciede2000(self.goal.lab, labs, kl=VALUE_FIRST)


def _ways(kinds: int, total: int) -> Iterator[Indices]:
    """Yield the ways (c, kinds) to share 1, 2, .. `total` parts, one or more each, by their sum.

    Blocks of some thousand, each sum whole in one.
    """
    block: list[Indices] = []
    for parts in range(kinds, total + 1):
        cuts = list(itertools.combinations(range(1, parts), kinds - 1))
        edges = np.pad(np.array(cuts, dtype=int).reshape(len(cuts), kinds - 1), ((0, 0), (1, 1)))
        edges[:, -1] = parts
        block.append(np.diff(edges, axis=1))
        if parts == total or sum(map(len, block)) >= _BLOCK:
            yield np.concatenate(block)
            block = []
