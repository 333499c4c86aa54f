"""One target in whole parts: the smallest total, the nearest, other tubes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing
from mixlab.mixing.answers import WORTH, Count, Recipe
from mixlab.nearest.exact import Found, Search
from mixlab.nearest.sets import compositions
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette

_GAIN = 1e-4
LOOKED_AT = 40  # sets of paints


@dataclass(frozen=True, eq=False)
class InParts:
    """What every question about one target needs, and its answers in no more than `total` parts."""

    palette: Palette
    view: Viewing
    search: Search
    target: Array
    total: int

    def counts(self, found: Sequence[Found]) -> list[Count]:
        """Return the best mix with at most 1, 2, .. tubes (from the number that must be used)."""
        counts: list[Count] = []
        for tubes, of_size in enumerate(found, start=1):
            if len(of_size.miss):
                subset, shares, miss = self.search.best(self.target, of_size)
                if not counts or miss < counts[-1].miss - _GAIN:
                    ids = [self.palette.ids[i] for i in subset]
                    amounts = np.zeros(len(self.palette))
                    amounts[subset] = shares
                    lab = self.search.medium.lab(amounts)
                    by_id = dict(zip(ids, map(float, shares), strict=True))
                    counts.append(Count(tubes, by_id, miss, lab))
                    continue
            if counts:
                last = counts[-1]
                counts.append(Count(tubes, last.shares, last.miss, last.lab))
        return counts

    def within(self, found: Found, limit: float) -> Recipe | None:
        """Return the whole-part mix within `limit` that has the smallest total, if there is one.

        Parameters
        ----------
        found : exact mixes of the subsets of one size
        """
        hopeful = np.flatnonzero(found.miss <= limit)
        ways = compositions(found.subsets.shape[1], self.total)
        totals = ways.sum(axis=1)
        for total in np.unique(totals) if len(hopeful) else ():
            some = ways[totals == total]
            miss = self._miss(found.subsets[hopeful], some)
            row, way = np.unravel_index(miss.argmin(), miss.shape)
            if miss[row, way] <= limit:
                return self.recipe(found, int(hopeful[row]), some[way])
        return None

    def nearest(self, found: Sequence[Found]) -> Recipe:
        """Return the nearest whole-part mix after which a further tube is not worth it."""
        # each tube takes a part at least
        tried = [self.nearest_of_size(f) for f in found[: self.total] if len(f.miss)]
        least = min(recipe.miss for recipe in tried)
        return next(recipe for recipe in tried if recipe.miss <= least + WORTH)

    def nearest_of_size(self, found: Found) -> Recipe:
        """Return the whole-part mix of one size that comes nearest."""
        order = np.argsort(found.miss, kind="stable")
        ways = compositions(found.subsets.shape[1], self.total)
        nearest, best = math.inf, (int(order[0]), ways[0])
        for start in range(0, len(order), 32):
            rows = order[start : start + 32]
            if found.miss[rows[0]] >= nearest:
                break  # no whole-part mix of these subsets can beat what was found
            miss = self._miss(found.subsets[rows], ways)
            row, way = np.unravel_index(miss.argmin(), miss.shape)
            if miss[row, way] < nearest:
                nearest, best = float(miss[row, way]), (int(rows[row]), ways[way])
        return self.recipe(found, *best)

    def _miss(self, subsets: Indices, ways: Indices) -> Array:
        return ciede2000(self.target, self.search.medium.labs(subsets, ways))

    def recipe(self, found: Found, row: int, parts: Indices) -> Recipe:
        """Return the recipe of one subset in the parts given."""
        subset = found.subsets[row]
        paints = tuple(self.palette.paints[i] for i in subset)
        mixture = Mixture(paints, tuple(float(n) for n in parts), self.view)
        exact, miss = self.search.polish(self.target, subset, found.shares[row])
        by_id = {p.id: float(s) for p, s in zip(paints, exact, strict=True)}
        return Recipe(mixture, float(ciede2000(self.target, mixture.lab)), by_id, miss)

    def others(
        self, found: Sequence[Found], recipe: Recipe, tolerance: float, most: int
    ) -> list[Recipe]:
        """Return recipes with other tubes, within tolerance: fewest tubes, then smallest total."""
        taken = {self.palette.ids.index(id) for id in recipe.parts}
        others: list[Recipe] = []
        for of_size in found:
            order = np.argsort(of_size.miss, kind="stable")
            rows = [
                row
                for row in order[of_size.miss[order] <= tolerance]
                # with a tube more, the recipe itself is no news
                if not taken <= set(of_size.subsets[row])
            ][:LOOKED_AT]
            ways = compositions(of_size.subsets.shape[1], self.total)
            totals = ways.sum(axis=1)
            for total in np.unique(totals):
                if len(others) >= most or not rows:
                    break
                some = ways[totals == total]
                miss = self._miss(of_size.subsets[rows], some)
                best = miss.argmin(axis=1)
                least = miss.min(axis=1)
                hits = [i for i in np.argsort(least, kind="stable") if least[i] <= tolerance]
                room = most - len(others)
                others += [self.recipe(of_size, rows[i], some[best[i]]) for i in hits[:room]]
                rows = [row for i, row in enumerate(rows) if i not in hits]
        return others
