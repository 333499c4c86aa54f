"""One target in the parts that it needs: finer ones, or two steps, where the usual ones fail."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.mixing.answers import FINEST, Recipe
from mixlab.mixing.in_parts import LOOKED_AT, InParts
from mixlab.mixing.two_steps import ADDITIONS, in_two_steps, thinnest, ways
from mixlab.nearest.exact import Found
from mixlab.nearest.parts import rounded
from mixlab.nearest.sets import STEEPEST

_LEVEL = 0.05  # CIEDE2000 that is not worth a finer total
_HOPE = 4.0  # CIEDE2000 by which a set that is easier to measure may miss more
_STEPPED = 12  # sets of paints whose two steps are tried
_TRIED = 600  # of the ways of a set


class OneTarget(InParts):
    """The same, with more parts than the usual total, or in two steps."""

    def fewest(
        self, found: Sequence[Found], tubes: int, tolerance: float
    ) -> tuple[Recipe, Recipe | None]:
        """Return the recipe in whole parts, and one in finer parts where that does better.

        Parameters
        ----------
        found : exact mixes by size
        tubes : the smallest size of which one is within the tolerance
        """
        hits = (self.within(of_size, tolerance) for of_size in found[tubes - 1 :])
        recipe = next((hit for hit in hits if hit is not None), None) or self.nearest(found)
        # a mix of so few tubes exists, but may need finer parts than the total allows
        if recipe.tubes <= tubes and recipe.miss <= tolerance:
            return recipe, None
        sizes = found[tubes - 1 :] if recipe.miss > tolerance else found[tubes - 1 : tubes]
        for of_size in sizes:
            finer = self.finer(of_size, tolerance) or self.stepped(of_size, tolerance)
            if finer is not None:
                return recipe, finer
        if recipe.miss <= tolerance:
            return recipe, None
        # nothing holds the tolerance; the nearest of what is finer may still be nearer by far
        finest = self.finest(found)
        return recipe, finest if finest and finest.miss < recipe.miss - _LEVEL else None

    def finer(self, found: Found, tolerance: float) -> Recipe | None:
        """Return the mix of the smallest total beyond the usual that is within tolerance."""
        rows, parts, miss = self._fine(found, tolerance)
        sums = parts.sum(axis=-1)
        good = miss <= tolerance
        if not good.any():
            return None
        row, way = np.unravel_index(
            np.lexsort((miss.ravel(), np.where(good, sums, FINEST * 2).ravel()))[0], miss.shape
        )
        return self.recipe(found, int(rows[row]), parts[row, way])

    def stepped(self, found: Found, limit: float) -> Recipe | None:
        """Return the mix in two steps with the fewest additions, then parts, within a limit.

        Of many ways those are tried that slopes at the exact mix tell to be near. None if none is.
        """
        tubes = found.subsets.shape[1]
        if not 2 <= tubes <= ADDITIONS:
            return None
        of, logs = ways(tubes), np.log(ways(tubes).shares)
        parts = of.first.sum(axis=1) + of.then.sum(axis=1)
        rows = self._measurable(found, limit)[:_STEPPED]
        for additions in np.unique(of.additions):
            own = np.flatnonzero(of.additions == additions)
            hits: list[tuple[int, float, int, int]] = []
            for row in rows:
                shares = np.maximum(found.shares[row], 1e-9)
                off, slopes = self.search.slopes(self.target, found.subsets[row], shares)
                guess = np.linalg.norm(off + (logs[own] - np.log(shares)) @ slopes.T, axis=1)
                few = min(_TRIED, len(own)) - 1
                some = own[np.argpartition(guess, few)[: few + 1]]
                miss = self._miss_of(found.subsets[row], of.shares[some])
                hits += [(int(parts[some[i]]), float(miss[i]), int(row), int(some[i]))
                         for i in np.flatnonzero(miss <= limit)]  # fmt: skip
            if hits:
                row, way = min(hits)[2:]
                return self.in_steps(found, row, of.first[way], of.then[way])
        return None

    def nearest_stepped(self, found: Found) -> Recipe | None:
        """Return the nearest mix of one part of a first mix in more of one paint; None if none.

        Where nothing measurable is near enough the mix is to be as thin as can be.
        """
        tubes, least = found.subsets.shape[1], math.inf
        if not 2 <= tubes < ADDITIONS:
            return None
        of, best = thinnest(tubes), (0, np.arange(tubes), 0)
        near = float(found.miss.min(initial=math.inf)) + _HOPE
        for row in self._measurable(found, near)[:_STEPPED]:
            if found.miss[row] >= least - _LEVEL:
                continue
            order = np.argsort(found.shares[row])
            miss = self._miss_of(found.subsets[row][order], of.shares)
            if miss.min() < least - _LEVEL:
                least, best = float(miss.min()), (int(row), order, int(miss.argmin()))
        if least == math.inf:
            return None
        row, order, way = best
        place = np.argsort(order)  # back to the order of the set
        then = of.then[way]
        return self.in_steps(found, row, of.first[way][place], np.append(then[0], then[1:][place]))

    def _measurable(self, found: Found, limit: float) -> Indices:
        """Return sets within a limit, those first whose least share is the easiest to measure."""
        rows = np.flatnonzero(found.miss <= limit)
        order = np.argsort(-found.shares[rows].min(axis=1), kind="stable")
        return np.asarray(rows[order][:LOOKED_AT])

    def _miss_of(self, subset: Indices, shares: Array) -> Array:
        amounts = np.zeros((len(shares), len(self.palette)))
        amounts[:, subset] = shares
        return ciede2000(self.target, self.search.medium.lab(amounts))

    def in_steps(self, found: Found, row: int, first: Indices, then: Indices) -> Recipe:
        """Return the recipe of one subset (t,) in two steps: parts (t,), then parts (t + 1,)."""
        paints = tuple(self.palette.paints[i] for i in found.subsets[row])
        whole = then[0] * first + first.sum() * then[1:]
        recipe = self.recipe(found, row, whole // np.gcd.reduce(whole))
        return replace(recipe, two_steps=in_two_steps(paints, first, then, self.view))

    def finest(self, found: Sequence[Found]) -> Recipe | None:
        """Return the nearest mix in finer parts or in two steps, of any of the sizes.

        Of those that are as near to 0.05 that of the smallest total, and of the fewest tubes; None
        if there is none.
        """
        nearest: Recipe | None = None
        for of_size in found[1:]:  # a paint by itself has no finer parts
            rows, parts, miss = self._fine(of_size)
            least = float(miss.min(initial=math.inf))
            if least < math.inf and (nearest is None or least < nearest.miss - _LEVEL):
                best = np.where(miss <= least + _LEVEL, parts.sum(axis=-1), FINEST * 2).argmin()
                row, way = np.unravel_index(best, miss.shape)
                nearest = self.recipe(of_size, int(rows[row]), parts[row, way])
            stepped = self.nearest_stepped(of_size)
            if stepped and (nearest is None or stepped.miss < nearest.miss - _LEVEL):
                nearest = stepped
        return nearest

    def _fine(self, found: Found, limit: float = math.inf) -> tuple[Indices, Indices, Array]:
        """Return subsets of one size (r,), the nearest by exact shares, each in finer parts.

        `limit` is the greatest miss of exact shares [CIEDE2000].

        Returns
        -------
        their rows, the parts (r, totals, t), which are the exact shares rounded to each total in
        turn, and the misses (r, totals), infinite where parts are too few or too unlike to count
        """
        rows = np.argsort(found.miss, kind="stable")[:LOOKED_AT]
        rows = rows[found.miss[rows] <= limit]
        totals = np.arange(self.total + 1, FINEST + 1)
        parts = rounded(found.shares[rows][:, None] * totals[:, None], least=1).astype(int)
        miss = np.array(
            [self._miss(found.subsets[[row]], own)[0] for row, own in zip(rows, parts, strict=True)]
        ).reshape(len(rows), len(totals))
        unlike = parts.max(axis=-1) > STEEPEST * parts.min(axis=-1)
        return rows, parts, np.where(unlike | (parts.sum(axis=-1) <= self.total), np.inf, miss)
