"""One target in whole parts: the least effort, the nearest, other tubes.

Exact mixes are worked out size by size, and no farther from the target than somebody asks.
"""

from dataclasses import dataclass, field
from functools import cached_property, partial

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing
from mixlab.mixing.answers import WORTH, Count, Later, Recipe
from mixlab.mixing.two_steps import TwoSteps
from mixlab.nearest.exact import Found, Search
from mixlab.nearest.sets import places_among
from mixlab.nearest.whole import Lattice, lattice_of
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette

_GAIN = 1e-4
_NEARLY = 1.05  # of the tolerance: what misses by no more is looked at to the last digits
HOPE = 4.0  # CIEDE2000 by which a set that is easier to measure may miss more than the nearest
LOOKED_AT = 40  # sets of paints
_HOPEFUL = 400  # sets of paints of a large palette, that are laid out in whole parts


@dataclass(frozen=True, eq=False)
class InParts:
    """What every question about one target needs, and its answers in no more than `total` parts."""

    palette: Palette
    view: Viewing
    search: Search
    target: Array
    total: int
    tolerance: float
    _hits: dict[int, tuple[float, Found]] = field(default_factory=dict)

    @property
    def tubes(self) -> int:
        """Greatest number of tubes in a mix."""
        return len(self.search.subsets)

    @cached_property
    def lattice(self) -> Lattice:
        """The whole-part mixes."""
        return lattice_of(self.palette, self.view, self.total, self.tubes)

    @cached_property
    def found(self) -> list[Found]:
        """Exact mixes by size, of the sets that come nearest or hold the tolerance."""
        return self.search.solve(self.target, self.tolerance, HOPE)

    def hits(self, tubes: int, limit: float = 0.0) -> Found:
        """Return exact mixes of so many tubes, of the sets that miss by at most `limit`.

        Those that hold the tolerance are among them in any case.
        """
        limit = max(limit, self.tolerance * _NEARLY)
        if tubes not in self._hits or self._hits[tubes][0] < limit:
            self._solve(0 if tubes <= 2 else tubes - 1, max(tubes, 2), limit)
        return self._hits[tubes][1]

    def _solve(self, start: int, stop: int, limit: float) -> None:
        sizes = slice(start, min(stop, self.tubes))
        found = self.search.solve(self.target, limit, -np.inf, sizes)
        for size, of_size in enumerate(found, start + 1):
            self._hits[size] = limit, of_size

    @cached_property
    def fewest_tubes(self) -> int | None:
        """The smallest number of tubes of which some mix holds the tolerance; None if none does."""
        if self.whole is None:
            # finer parts are looked for next, of mixes nearer than whole parts: in one descent
            self._solve(0, 3, max(self.nearest.miss, self.tolerance * _NEARLY))
        for tubes in range(1, self.tubes + 1):
            if self.whole is not None and self.whole.tubes == tubes:
                return tubes
            hits = self.hits(tubes)
            least = hits.miss.min(initial=np.inf)
            if self.tolerance < least <= self.tolerance * _NEARLY:
                least = self.search.best(self.target, hits)[2]
            if least <= self.tolerance:
                return tubes
        return None

    @cached_property
    def counts(self) -> list[Count]:
        """The best mix with at most 1, 2, .. tubes (from the number that must be used)."""
        counts: list[Count] = []
        least = len(self.found) - sum(len(of_size.miss) > 0 for of_size in self.found)
        best = self.search.bests(self.target, self.found[least:])
        for tubes, (subset, shares, miss) in enumerate(best, start=least + 1):
            if not counts or miss < counts[-1].miss - _GAIN:
                amounts = np.zeros(len(self.palette))
                amounts[subset] = shares
                by_id = {self.palette.ids[i]: float(amounts[i]) for i in subset}
                counts.append(Count(tubes, by_id, miss, self.search.medium.lab(amounts)))
            else:
                last = counts[-1]
                counts.append(Count(tubes, last.shares, last.miss, last.lab))
        return counts

    def effort(self, subsets: Indices, totals: Indices | int = 0) -> Indices:
        """Return what recipes (...) of subsets (..., t) and totals (...) ask of a painter [parts].

        Parts to measure, and more for tubes that are held in reserve: among mixes whose miss
        passes, a part more is less trouble than a tube that is strong, poisonous or fugitive.
        """
        return np.asarray(totals + self.palette.reserve[subsets].sum(axis=-1))

    @cached_property
    def whole(self) -> Recipe | None:
        """The mix within tolerance of the fewest tubes and, among those, of the least effort."""
        within = (self._within(tubes) for tubes in range(1, min(self.tubes, self.total) + 1))
        return next((recipe for recipe in within if recipe is not None), None)

    def _within(self, tubes: int) -> Recipe | None:
        layer = self.lattice.layers[tubes - 1]
        subsets = self.search.subsets[tubes - 1]
        if layer.large:
            found = self.hits(tubes)
            subsets = found.subsets[found.miss <= self.tolerance]
        place, way, miss = layer.within(
            self.target, places_among(layer.subsets, subsets), self.tolerance
        )
        if not len(way):
            return None
        first = np.lexsort((miss, self.effort(subsets[place], layer.totals[way])))[0]
        return self.recipe(subsets[place[first]], layer.ways[way[first]])

    @cached_property
    def nearest(self) -> Recipe:
        """The nearest whole-part mix after which a further tube is not worth it."""
        # each tube takes a part at least
        sizes = map(self.nearest_of_size, range(1, min(self.tubes, self.total) + 1))
        tried = [recipe for recipe in sizes if recipe is not None]
        least = min(recipe.miss for recipe in tried)
        return next(recipe for recipe in tried if recipe.miss <= least + WORTH)

    def nearest_of_size(self, tubes: int, reserve: int | None = None) -> Recipe | None:
        """Return the whole-part mix of so many tubes that comes nearest.

        Of tubes no farther in reserve than that, if it is given. None if there is no set of them.
        """
        if not 0 < tubes <= min(self.tubes, self.total):
            return None
        subsets, layer = self.search.subsets[tubes - 1], self.lattice.layers[tubes - 1]
        if layer.large:
            subsets = subsets[np.sort(np.argsort(self.found[tubes - 1].miss)[:_HOPEFUL])]
        if reserve is not None:
            subsets = subsets[(self.palette.reserve[subsets] <= reserve).all(axis=1)]
        if not len(subsets):
            return None
        place, way, _ = layer.nearest(self.target, places_among(layer.subsets, subsets))
        return self.recipe(subsets[place], layer.ways[way])

    def recipe(self, subset: Indices, parts: Indices, steps: TwoSteps | None = None) -> Recipe:
        """Return the recipe of one subset (t,) in the parts given (t,)."""
        paints = tuple(self.palette.paints[i] for i in subset)
        mixture = Mixture(paints, tuple(float(n) for n in parts), self.view)
        miss = float(ciede2000(self.target, mixture.lab))
        return Recipe(mixture, miss, Later(partial(self._exact, subset, parts)), steps)

    def _exact(self, subset: Indices, parts: Indices) -> tuple[dict[str, float], float]:
        """Return the exact shares near to whole parts of one subset, by id, and their miss."""
        found = self.hits(len(subset))
        row = int(places_among(found.subsets, subset[None])[0])
        if np.isinf(found.miss[row]):
            found = self.found[len(subset) - 1]
        starts = np.array([found.shares[row], parts / parts.sum()])
        ends = self.search.polish(self.target, [(np.array([subset, subset]), starts)])[0]
        best = int(ends.miss.argmin())
        ids = (self.palette.ids[i] for i in subset)
        shares = dict(zip(ids, map(float, ends.shares[best]), strict=True))
        return shares, float(ends.miss[best])

    def others(self, tubes: int, recipe: Recipe, most: int) -> list[Recipe]:
        """Return recipes with other tubes, within tolerance: fewest tubes, then least effort.

        They have so many tubes, or one more.
        """
        taken = [self.palette.ids.index(id) for id in recipe.parts]
        others: list[Recipe] = []
        for count in range(tubes, min(tubes + 1, self.tubes, self.total) + 1):
            if len(others) >= most:
                break
            found, layer = self.hits(count), self.lattice.layers[count - 1]
            rows = np.flatnonzero(found.miss <= self.tolerance)
            # with a tube more, the recipe itself is no news
            held = np.all([(found.subsets[rows] == i).any(axis=1) for i in taken], axis=0)
            rows = rows[~held]
            rows = rows[np.argsort(found.miss[rows], kind="stable")][:LOOKED_AT]
            place, way, miss = layer.within(
                self.target, places_among(layer.subsets, found.subsets[rows]), self.tolerance
            )
            effort = self.effort(found.subsets[rows[place]], layer.totals[way])
            order = np.lexsort((miss, effort))
            first = np.sort(np.unique(place[order], return_index=True)[1])
            others += [self.recipe(found.subsets[rows[place[i]]], layer.ways[way[i]])
                       for i in order[first][: most - len(others)]]  # fmt: skip
        return others
