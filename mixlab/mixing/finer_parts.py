"""One target in the parts that it needs: finer ones, or two steps, where the usual ones fail."""

import math

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.mixing.answers import FINEST, WORTH, Recipe
from mixlab.mixing.in_parts import LOOKED_AT, InParts
from mixlab.mixing.two_steps import ADDITIONS, Ways, in_two_steps, thinnest, ways
from mixlab.nearest.exact import Found
from mixlab.nearest.parts import rounded
from mixlab.nearest.sets import STEEPEST

_LEVEL = 0.05  # CIEDE2000 that is not worth a finer total
_STEPPED = 12  # sets of paints whose two steps are tried
_TRIED = 600  # ways at a time
_HINTS = 100  # of 972 colours of two photographs, 600 gave no other recipe
# 500 colours of two photographs: of the ways that hold a limit slopes told the same to 1.1 times
# the limit in nearly all, the worst 1.26
_LINEAR = 1.25


class OneTarget(InParts):
    """The same, with more parts than the usual total, or in two steps."""

    @property
    def fewest(self) -> tuple[Recipe, Recipe | None]:
        """The recipe in whole parts, and one in finer parts or two steps where that does better.

        Some exact mix holds the tolerance. The finer recipe is of fewer tubes than the one in whole
        parts; where that misses the tolerance, of the fewest that hold it, else the nearest.
        """
        tubes, recipe = self.fewest_tubes, self.whole or self.nearest
        assert tubes is not None
        if recipe is self.whole:
            return recipe, self._measured(tubes) if recipe.tubes > tubes else None
        nearest, limit = None, recipe.miss - _LEVEL
        for size in range(2, self.tubes + 1):  # a paint by itself has no finer parts
            self.hits(size, limit)  # once, for all that follows
            within = self._measured(size) if size >= tubes else None
            if within is not None:
                return recipe, within
            best = nearest or recipe
            if size > best.tubes:  # a further tube must be worth it
                limit = min(limit, max(best.miss - WORTH, self.tolerance))
            for near in (self.nearest_finer, self.nearest_stepped):
                one = near(size, limit)
                if one is not None:
                    nearest, limit = one, one.miss - _LEVEL
            if nearest is not None and nearest.miss <= self.tolerance:
                break
        return recipe, nearest

    def _measured(self, tubes: int) -> Recipe | None:
        return self.finer(tubes, self.tolerance) or self.stepped(tubes, self.tolerance)

    def finer(self, tubes: int, tolerance: float) -> Recipe | None:
        """Return the mix of the least effort beyond the usual total that is within tolerance."""
        subsets, parts, miss = self._fine(self.hits(tubes, tolerance), tolerance)
        effort = self.effort(subsets[:, None], parts.sum(axis=-1))
        good = miss <= tolerance
        if not good.any():
            return None
        row, way = np.unravel_index(
            np.lexsort((miss.ravel(), effort.ravel(), ~good.ravel()))[0], miss.shape
        )
        return self.recipe(subsets[row], parts[row, way])

    def stepped(self, tubes: int, limit: float) -> Recipe | None:
        """Return the mix in two steps with the fewest additions, then least effort, within a limit.

        Of many ways those are tried that slopes at the exact mix tell to be near. None if none is.
        """
        if not 2 <= tubes <= ADDITIONS:
            return None
        found, of = self.hits(tubes, limit), ways(tubes)
        rows = self._measurable(found, limit)[:_STEPPED]
        for own in of.by_additions:
            at, way = self._promising(found, rows, of, own, _LINEAR * limit)
            effort = self.effort(found.subsets[at], of.parts[way])
            order = np.argsort(effort, kind="stable")
            # the least comes first: nothing beyond the first that are within is looked at
            for some in np.split(order, range(_TRIED, len(order), _TRIED)):
                miss = self._miss_of(found.subsets[at[some]], of.shares[way[some]])
                within = some[miss <= limit]
                if len(within):
                    best = within[np.lexsort((miss[miss <= limit], effort[within]))[0]]
                    then = of.then[way[best]]
                    return self.in_steps(found.subsets[at[best]], of.first[way[best]], then)
        return None

    def _promising(
        self, found: Found, rows: Indices, of: Ways, own: slice, limit: float
    ) -> tuple[Indices, Indices]:
        """Return of which sets (n,) which ways (n,) are near, as slopes at the exact mix tell."""
        off, slopes = self._linear(found.subsets[rows], found.shares[rows])
        light = of.logs[own] @ slopes[:, 0].T + off[:, 0]
        way, at = np.nonzero(np.abs(light) <= limit)
        guess = np.einsum("nij,nj->ni", slopes[at], of.logs[own][way]) + off[at]
        near = np.einsum("ni,ni->n", guess, guess) <= limit**2
        return rows[at[near]], way[near] + own.start

    def nearest_stepped(self, tubes: int, limit: float) -> Recipe | None:
        """Return the nearest mix of one part of a first mix in more of one paint; None if none.

        Where nothing measurable is near enough the mix is to be as thin as can be.
        """
        if not 2 <= tubes < ADDITIONS:
            return None
        found, of = self.hits(tubes, limit), thinnest(tubes)
        rows = self._measurable(found, limit)[:_STEPPED]
        if not len(rows):
            return None
        order = np.argsort(found.shares[rows])
        subsets = np.take_along_axis(found.subsets[rows], order, axis=1)
        shares = np.take_along_axis(found.shares[rows], order, axis=1)
        off, slopes = self._linear(subsets, shares)
        guess = np.square(of.logs @ slopes.transpose(0, 2, 1) + off[:, None]).sum(axis=-1)
        some = np.argpartition(guess, min(_HINTS, guess.shape[1]) - 1)[:, :_HINTS]
        miss = self._miss_of(subsets[:, None], of.shares[some])
        best, least = None, limit + _LEVEL
        for i, own in enumerate(miss.min(axis=1)):  # the easiest to measure first
            if own < least - _LEVEL:
                best, least = i, own
        if best is None:
            return None
        row, order, way = rows[best], order[best], some[best, miss[best].argmin()]
        place = np.argsort(order)  # back to the order of the set
        then = of.then[way]
        return self.in_steps(
            found.subsets[row], of.first[way][place], np.append(then[0], then[1:][place])
        )

    def _linear(self, subsets: Indices, shares: Array) -> tuple[Array, Array]:
        """Return the line that touches the difference at shares (n, t).

        Its value (n, 3) where all logarithms of shares are zero, and its slopes (n, 3, t) by them.
        """
        logs = np.log(np.maximum(shares, 1e-9))
        off, slopes = self.search.slopes(self.target, subsets, np.exp(logs))
        return off - (slopes @ logs[:, :, None])[..., 0], slopes

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

    def nearest_finer(self, tubes: int, limit: float) -> Recipe | None:
        """Return the nearest mix beyond the usual total; of those as near, of the smallest."""
        subsets, parts, miss = self._fine(self.hits(tubes, limit), limit)
        least = float(miss.min(initial=math.inf))
        if least > limit:
            return None
        best = np.where(miss <= least + _LEVEL, parts.sum(axis=-1), FINEST * 2).argmin()
        row, way = np.unravel_index(best, miss.shape)
        return self.recipe(subsets[row], parts[row, way])

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
