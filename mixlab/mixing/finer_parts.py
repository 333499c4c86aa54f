"""One target in the parts that it needs: finer ones, or two steps, where the usual ones fail."""

import math

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.mixing.answers import FINEST, Recipe
from mixlab.mixing.in_parts import HOPE, LOOKED_AT, InParts
from mixlab.mixing.two_steps import ADDITIONS, in_two_steps, thinnest, ways
from mixlab.nearest.exact import Found
from mixlab.nearest.parts import rounded
from mixlab.nearest.sets import STEEPEST

_LEVEL = 0.05  # CIEDE2000 that is not worth a finer total
_STEPPED = 12  # sets of paints whose two steps are tried
_TRIED = 600  # of the ways of a set


class OneTarget(InParts):
    """The same, with more parts than the usual total, or in two steps."""

    def fewest(self, tubes: int, tolerance: float) -> tuple[Recipe, Recipe | None]:
        """Return the recipe in whole parts, and one in finer parts where that does better.

        Parameters
        ----------
        tubes : the smallest size of which some exact mix is within the tolerance
        """
        sizes = range(tubes, self.tubes + 1)
        hits = (self.within(size, tolerance) for size in sizes)
        recipe = next((hit for hit in hits if hit is not None), None) or self.nearest()
        # a mix of so few tubes exists, but may need finer parts than the total allows
        if recipe.tubes <= tubes and recipe.miss <= tolerance:
            return recipe, None
        for size in sizes if recipe.miss > tolerance else sizes[:1]:
            finer = self.finer(size, tolerance) or self.stepped(size, tolerance)
            if finer is not None:
                return recipe, finer
        if recipe.miss <= tolerance:
            return recipe, None
        # nothing holds the tolerance; the nearest of what is finer may still be nearer by far
        finest = self.finest()
        return recipe, finest if finest and finest.miss < recipe.miss - _LEVEL else None

    def finer(self, tubes: int, tolerance: float) -> Recipe | None:
        """Return the mix of the smallest total beyond the usual that is within tolerance."""
        subsets, parts, miss = self._fine(self.near(tubes, tolerance), tolerance)
        sums = parts.sum(axis=-1)
        good = miss <= tolerance
        if not good.any():
            return None
        row, way = np.unravel_index(
            np.lexsort((miss.ravel(), np.where(good, sums, FINEST * 2).ravel()))[0], miss.shape
        )
        return self.recipe(subsets[row], parts[row, way])

    def stepped(self, tubes: int, limit: float) -> Recipe | None:
        """Return the mix in two steps with the fewest additions, then parts, within a limit.

        Of many ways those are tried that slopes at the exact mix tell to be near. None if none is.
        """
        if not 2 <= tubes <= ADDITIONS:
            return None
        found, of = self.near(tubes, limit), ways(tubes)
        rows = self._measurable(found, limit)[:_STEPPED]
        for additions in np.unique(of.additions):
            own = np.flatnonzero(of.additions == additions)
            hits: list[tuple[int, float, int, int]] = []
            for row in rows:
                shares = np.maximum(found.shares[row], 1e-9)
                off, slopes = self.search.slopes(self.target, found.subsets[row], shares)
                guess = of.logs[own] @ slopes.T + (off - slopes @ np.log(shares))
                guess = np.einsum("ni,ni->n", guess, guess)
                few = min(_TRIED, len(own)) - 1
                some = own[np.argpartition(guess, few)[: few + 1]]
                miss = self._miss_of(found.subsets[row], of.shares[some])
                hits += [(int(of.parts[some[i]]), float(miss[i]), int(row), int(some[i]))
                         for i in np.flatnonzero(miss <= limit)]  # fmt: skip
            if hits:
                row, way = min(hits)[2:]
                return self.in_steps(found.subsets[row], of.first[way], of.then[way])
        return None

    def nearest_stepped(self, tubes: int) -> Recipe | None:
        """Return the nearest mix of one part of a first mix in more of one paint; None if none.

        Where nothing measurable is near enough the mix is to be as thin as can be.
        """
        if not 2 <= tubes < ADDITIONS:
            return None
        found, least, of = self.found[tubes - 1], math.inf, thinnest(tubes)
        best = (0, np.arange(tubes), 0)
        near = float(found.miss.min(initial=math.inf)) + HOPE
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
        return self.in_steps(
            found.subsets[row], of.first[way][place], np.append(then[0], then[1:][place])
        )

    def _measurable(self, found: Found, limit: float) -> Indices:
        """Return sets within a limit, those first whose least share is the easiest to measure."""
        rows = np.flatnonzero(found.miss <= limit)
        order = np.argsort(-found.shares[rows].min(axis=1), kind="stable")
        return np.asarray(rows[order][:LOOKED_AT])

    def _miss_of(self, subsets: Indices, shares: Array) -> Array:
        """Return the misses (...) of shares (..., t) of the paints of subsets (..., t)."""
        amounts = np.zeros((*shares.shape[:-1], len(self.palette)))
        np.put_along_axis(amounts, np.broadcast_to(subsets, shares.shape), shares, axis=-1)
        return ciede2000(self.target, self.search.medium.lab(amounts))

    def in_steps(self, subset: Indices, first: Indices, then: Indices) -> Recipe:
        """Return the recipe of one subset (t,) in two steps: parts (t,), then parts (t + 1,)."""
        paints = tuple(self.palette.paints[i] for i in subset)
        whole = then[0] * first + first.sum() * then[1:]
        return self.recipe(
            subset, whole // np.gcd.reduce(whole), in_two_steps(paints, first, then, self.view)
        )

    def finest(self) -> Recipe | None:
        """Return the nearest mix in finer parts or in two steps, of any number of tubes.

        Of those that are as near to 0.05 that of the smallest total, and of the fewest tubes; None
        if there is none.
        """
        nearest: Recipe | None = None
        for of_size in self.found[1:]:  # a paint by itself has no finer parts
            subsets, parts, miss = self._fine(of_size)
            least = float(miss.min(initial=math.inf))
            if least < math.inf and (nearest is None or least < nearest.miss - _LEVEL):
                best = np.where(miss <= least + _LEVEL, parts.sum(axis=-1), FINEST * 2).argmin()
                row, way = np.unravel_index(best, miss.shape)
                nearest = self.recipe(subsets[row], parts[row, way])
            stepped = self.nearest_stepped(of_size.subsets.shape[1])
            if stepped and (nearest is None or stepped.miss < nearest.miss - _LEVEL):
                nearest = stepped
        return nearest

    def _fine(self, found: Found, limit: float = math.inf) -> tuple[Indices, Indices, Array]:
        """Return subsets of one size (r, t), the nearest by exact shares, each in finer parts.

        `limit` is the greatest miss of exact shares [CIEDE2000].

        Returns
        -------
        them, the parts (r, totals, t), which are the exact shares rounded to each total in turn,
        and the misses (r, totals), infinite where parts are too few or too unlike to count
        """
        rows = np.argsort(found.miss, kind="stable")[:LOOKED_AT]
        rows = rows[(found.miss[rows] <= limit) & np.isfinite(found.miss[rows])]
        totals = np.arange(self.total + 1, FINEST + 1)
        parts = rounded(found.shares[rows][:, None] * totals[:, None], least=1).astype(int)
        miss = self._miss_of(found.subsets[rows][:, None], parts)
        unlike = parts.max(axis=-1) > STEEPEST * parts.min(axis=-1)
        coarse = parts.sum(axis=-1) <= self.total
        return found.subsets[rows], parts, np.where(unlike | coarse, np.inf, miss)
