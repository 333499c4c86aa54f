"""From a colour to a recipe: the fewest tubes that hit it, in whole parts.

For every count of tubes the best mix that exists is found (:mod:`mixlab.search`). The recipe is the
whole-part mix within the tolerance that has the fewest tubes and, among those, the smallest total.
Where fewer tubes could do it in finer parts, or no whole parts can, the answer says which parts do.
Where no mix comes near enough it says so, how far off the palette is and in which direction, and
gives the least harmful compromise.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colorimetry import (
    Viewing,
    ciede2000,
    lab_to_lch,
    lch_to_lab,
    viewing,
    ways_apart,
)
from mixlab.errors import NotationError, SearchError
from mixlab.lattice import FAR, Lattice, compositions, size
from mixlab.mixtures import Mixture, Slip, Step
from mixlab.search import Found, Indices, Medium, Search, all_subsets, seeds_of, subsets_of
from mixlab.tables import Palette, PigmentTable

if TYPE_CHECKING:
    from pandas import DataFrame

Array = NDArray[np.float64]

TOLERANCE = 2.0
"""Miss that passes for the colour itself in a painting [CIEDE2000]; common practice, no source."""

MOST_TUBES = 6
MOST_PARTS = 40
MOST_SEEDS = 5_000_000
"""Greatest number of seeds that a search lays out, which bounds its memory to about 1 GB."""

MOST_MIXES = 5_000_000
"""Greatest number of mixes in a lattice, which bounds its memory to about 1 GB."""

POLICIES = ("value", "nearest")
"""How a colour out of reach is approached: "value" keeps value first, then hue, and gives up
chroma; "nearest" is the nearest by CIEDE2000."""

VALUE_FIRST = 0.5
"""Factor kl of CIEDE2000 by which whole parts are chosen that are to keep the value."""

WORTH = 0.5
"""Where no whole-part mix is within the tolerance, what a further tube must gain to be worth using
[CIEDE2000]; and how near a mix must come to a paler colour for that to be within reach."""

FINEST = 240
"""Greatest total in which a finer recipe is looked for."""

_GAIN = 1e-4
_LEVEL = 0.05  # CIEDE2000 that is not worth a finer total
_LOOKED_AT = 40
_HELPED_TUBES = 4


@dataclass(frozen=True, eq=False)
class Count:
    """The best mix that exists with at most so many tubes.

    Attributes
    ----------
    tubes : greatest number of paints
    shares : of each paint that it uses, by id; they sum to one
    miss : CIEDE2000 to the target
    lab : (3,)
    """

    tubes: int
    shares: dict[str, float]
    miss: float
    lab: Array


@dataclass(frozen=True, eq=False)
class Recipe:
    """A mix in whole parts, and how near it comes.

    Attributes
    ----------
    mixture : the mix
    miss : CIEDE2000 from the target to it
    exact_shares : what the same tubes come to if parts need not be whole, by id
    exact_miss : CIEDE2000 from the target to that
    """

    mixture: Mixture
    miss: float
    exact_shares: dict[str, float]
    exact_miss: float

    @property
    def parts(self) -> dict[str, int]:
        """Whole parts by id."""
        return {paint: round(n) for paint, n in self.mixture.parts.items()}

    @property
    def tubes(self) -> int:
        """Number of paints."""
        return len(self.mixture.paints)

    @property
    def lab(self) -> Array:
        """CIELAB (3,)."""
        return self.mixture.lab

    @property
    def steps(self) -> list[Step]:
        """The additions in order; see :attr:`mixlab.mixtures.Mixture.steps`."""
        return self.mixture.steps

    @property
    def slip(self) -> Slip:
        """How far a quarter part moves it; see :attr:`mixlab.mixtures.Mixture.slip`."""
        return self.mixture.slip


@dataclass(frozen=True, eq=False)
class OutOfReach:
    """Why the palette does not reach the target, and what would help.

    Attributes
    ----------
    miss : CIEDE2000 from the target to the nearest mix that exists
    lightness, chroma, hue : what the target has more of than that mix: L*, C*, degrees
    directions : in words, the greatest first, e.g. ("too pure", "too dark")
    between : ids of the two paints of the palette between whose hues the target lies, or None
    policy : under which the recipe was chosen
    nearest : the nearest recipe under no policy
    paint : id of the one paint of the table that would bring it within reach, or None
    paint_tubes, paint_miss : with so many tubes, so near
    """

    miss: float
    lightness: float
    chroma: float
    hue: float
    directions: tuple[str, ...]
    between: tuple[str, str] | None
    policy: str
    nearest: Recipe
    paint: str | None
    paint_tubes: int | None
    paint_miss: float | None


@dataclass(frozen=True, eq=False)
class Answer:
    """What :func:`find_recipe` found.

    Attributes
    ----------
    target : CIELAB (3,) under `view`
    view : light and observer
    tolerance : CIEDE2000
    reached : whether a mix within the tolerance exists
    recipe : the recipe; out of reach, the compromise
    by_count : the best mix that exists with at most 1, 2, .. tubes
    alternatives : recipes with other tubes, within the tolerance
    finer : with more parts than were allowed, a recipe of fewer tubes than `recipe`, or of as many
        where `recipe` misses the tolerance for want of parts; where not even 240 parts hold the
        tolerance, the nearest in so many if that is nearer. Out of reach, one that comes within 0.5
        of the nearest mix, where `recipe` does not
    out_of_reach : None where it is reached
    """

    target: Array
    view: Viewing
    tolerance: float
    reached: bool
    recipe: Recipe
    by_count: list[Count]
    alternatives: list[Recipe]
    finer: Recipe | None
    out_of_reach: OutOfReach | None

    @property
    def best(self) -> Recipe:
        """The recipe; in finer parts where the parts that were allowed miss the tolerance.

        The nearer of the two where neither is within it.
        """
        coarse = self.recipe.miss > self.tolerance
        return self.finer if coarse and self.finer is not None else self.recipe


@dataclass(frozen=True, eq=False)
class Recipes:
    """What :func:`find_recipes` found, for n colours and a palette of p paints.

    Attributes
    ----------
    palette : whose paints the columns of `parts` are
    parts : (n, p), whole parts
    tubes : (n,), number of paints
    miss : (n,), CIEDE2000
    lab : (n, 3), of the recipes
    reached : (n,), whether the miss is within the tolerance
    """

    palette: Palette
    view: Viewing
    parts: NDArray[np.int8]
    tubes: Indices
    miss: Array
    lab: Array
    reached: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.parts)

    def __getitem__(self, i: int) -> Mixture:
        row = self.parts[i]
        return self.palette.mix(
            {self.palette.ids[j]: float(row[j]) for j in np.flatnonzero(row)}, self.view
        )

    def frame(self) -> "DataFrame":
        """Return a pandas table, a row for each colour: parts by paint, tubes, miss, reached."""
        import pandas as pd

        frame = pd.DataFrame(self.parts, columns=self.palette.ids)
        return frame.assign(tubes=self.tubes, miss=self.miss, reached=self.reached)


def find_recipe(
    target: ArrayLike,
    palette: Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 4,
    *,
    parts: int = 12,
    must: Iterable[str] = (),
    must_not: Iterable[str] = (),
    view: Viewing | None = None,
    policy: str = "value",
    alternatives: int = 3,
) -> Answer:
    """Return the recipe with the fewest tubes that hits a colour.

    Parameters
    ----------
    target : CIELAB (3,) under `view`
    palette : the tubes at hand
    tolerance : miss that passes [CIEDE2000]
    max_tubes : greatest number of paints in the mix, 1 to 6
    parts : greatest total of whole parts
    must, must_not : ids or Colour Index names of paints that have to be in the mix, or must not be
    view : light and observer; D65 / 2 degree unless told
    policy : a key of :data:`POLICIES`, for a colour out of reach
    alternatives : greatest number of recipes with other tubes

    Raises
    ------
    SearchError : for settings under which there is nothing to search
    """
    view = view or viewing()
    goal = np.asarray(target, dtype=float)
    if goal.shape != (3,) or not np.isfinite(goal).all():
        raise SearchError("the target must be three finite numbers L*, a*, b*")
    if policy not in POLICIES:
        raise SearchError(f"no policy {policy!r}; policies: {', '.join(POLICIES)}")
    _check(tolerance, max_tubes, parts)
    must, must_not = (
        tuple(dict.fromkeys([names] if isinstance(names, str) else names))
        for names in (must, must_not)
    )
    usable, needed = _choose(palette, must, must_not, max_tubes, parts)
    search = _search(usable, view, needed, min(max_tubes, len(usable)))
    kitchen = _Kitchen(usable, view, search, goal, parts)

    found = search.solve(goal)
    by_count = kitchen.counts(found)
    within = [count for count in by_count if count.miss <= tolerance]
    if not within:
        return _out_of_reach(kitchen, by_count, found, palette, must_not, needed, tolerance, policy)

    recipe, finer = kitchen.fewest(found, within[0].tubes, tolerance)
    tubes = max(recipe.tubes, within[0].tubes)
    others = kitchen.others(found[tubes - 1 : tubes + 1], recipe, tolerance, alternatives)
    return Answer(goal, view, tolerance, True, recipe, by_count, others, finer, None)


def find_recipes(
    labs: ArrayLike,
    palette: Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 4,
    *,
    parts: int = 12,
    view: Viewing | None = None,
) -> Recipes:
    """Return whole-part recipes for many colours at once, through the lattice.

    For each colour the nearest whole-part mix with the fewest tubes that is within the tolerance;
    where none is, the nearest of all. See :mod:`mixlab.lattice` for how sure "nearest" is. The
    lattice is built once for a palette and kept. The answer for a colour does not depend on which
    others are asked about with it; colours that stand sorted, light by light, take less time.

    Parameters
    ----------
    labs : CIELAB (n, 3) under `view`
    palette, tolerance, max_tubes, parts, view : as in :func:`find_recipe`; at most 4 tubes

    Raises
    ------
    SearchError : for settings or an array that make no sense
    """
    view = view or viewing()
    labs = np.asarray(labs, dtype=float)
    if labs.ndim != 2 or labs.shape[1] != 3 or not np.isfinite(labs).all():
        raise SearchError("the colours must be an array (n, 3) of finite L*, a*, b*")
    _check(tolerance, max_tubes, parts)
    if max_tubes > 4:
        raise SearchError(f"{max_tubes} tubes: the lattice holds mixes of at most 4")
    largest = min(max_tubes, parts, len(palette))
    if (mixes := size(len(palette), parts, largest)) > MOST_MIXES:
        raise SearchError(
            f"{mixes} mixes of {largest} of {len(palette)} tubes in {parts} parts are too many "
            "for a lattice; allow fewer tubes or parts, or take a smaller palette"
        )
    lattice = _lattice(palette, view, parts, largest)
    n = len(labs)
    tubes, index = np.zeros(n, dtype=int), np.zeros(n, dtype=int)
    miss = np.full(n, np.inf)
    open_ = np.arange(n)
    for count in range(1, lattice.tubes + 1):
        # what is sure within reach will do while reach is asked about
        if tolerance <= FAR:
            near, off = lattice.near(labs[open_], count, within=tolerance)
        else:
            near, off = lattice.nearest(labs[open_], count)
        hit = off <= tolerance
        rows = open_[hit]
        tubes[rows], index[rows], miss[rows] = count, near[hit], off[hit]
        open_ = open_[~hit]
    tubes[open_], index[open_], miss[open_] = lattice.nearest_of_all(labs[open_])
    whole = np.zeros((n, len(palette)), dtype=np.int8)
    lab = np.zeros((n, 3))
    for count in range(1, lattice.tubes + 1):
        rows = np.flatnonzero(tubes == count)
        whole[rows] = lattice.parts(count, index[rows])
        lab[rows] = lattice.lab(count)[index[rows]]
    return Recipes(palette, view, whole, tubes, miss, lab, miss <= tolerance)


# --- settings -----------------------------------------------------------------------------------


def usual_tubes(palette: Palette) -> int:
    """Return how many tubes in a mix can be searched in so large a palette, at most four."""
    fit = (n for n in range(4, 1, -1) if seeds_of(len(palette), min(n, len(palette))) <= MOST_SEEDS)
    return next(fit, 1)


def _check(tolerance: float, max_tubes: int, parts: int) -> None:
    if not (math.isfinite(tolerance) and tolerance > 0):
        raise SearchError(f"a tolerance of {tolerance:g}: it must be above zero; 2 is usual")
    if max_tubes not in range(1, MOST_TUBES + 1):
        raise SearchError(f"{max_tubes} tubes in a mix: it must be 1 to {MOST_TUBES}")
    if parts not in range(1, MOST_PARTS + 1):
        raise SearchError(f"a total of {parts} parts: it must be 1 to {MOST_PARTS}")


def _choose(
    palette: Palette, must: tuple[str, ...], must_not: tuple[str, ...], max_tubes: int, parts: int
) -> tuple[Palette, tuple[int, ...]]:
    """Return the palette without what must not be used, and where in it the must-use paints are."""
    try:
        needed = {palette[name].id: None for name in must}
        barred = {palette[name].id for name in must_not}
    except NotationError as error:
        raise SearchError(f"{error}; the palette holds {', '.join(palette.ids)}") from None
    both = barred.intersection(needed)
    if both:
        raise SearchError(f"{sorted(both)[0]} is both to be used and not to be used")
    usable = palette
    if barred:
        rest = [id for id in palette.ids if id not in barred]
        if not rest:
            raise SearchError("every paint of the palette is excluded")
        usable = _part_of(palette, tuple(rest))
    if len(needed) > min(max_tubes, parts):
        raise SearchError(
            f"{len(needed)} paints must be used, but the mix may hold {min(max_tubes, parts)}"
        )
    if seeds_of(len(usable), min(max_tubes, len(usable))) > MOST_SEEDS:
        fit = max(n for n in range(1, max_tubes) if seeds_of(len(usable), n) <= MOST_SEEDS)
        raise SearchError(
            f"mixes of {max_tubes} tubes out of {len(usable)} are too many to search; "
            f"allow {fit}, or take a smaller palette"
        )
    return usable, tuple(usable.ids.index(id) for id in needed)


def medium_of(paints: Palette | PigmentTable, view: Viewing) -> Medium:
    """Return the paints of a palette or a table as plain arrays."""
    return Medium(paints.K, paints.S, paints.paints[0].surface, view)


@lru_cache(maxsize=8)
def _part_of(palette: Palette, ids: tuple[str, ...]) -> Palette:
    return palette.table.palette(ids, palette.name)


@lru_cache(maxsize=8)
def _search(palette: Palette, view: Viewing, must: tuple[int, ...], largest: int) -> Search:
    return Search(medium_of(palette, view), all_subsets(len(palette), largest, must))


@lru_cache(maxsize=2)
def _lattice(palette: Palette, view: Viewing, parts: int, tubes: int) -> Lattice:
    return Lattice(medium_of(palette, view), parts, tubes)


# --- one target ---------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Kitchen:
    """What every question about one target needs.

    `value` is the parametric factor kl by which whole parts are chosen: below 1, an error of value
    counts for more. As misses only grow by it, what the exact search found still bounds them.
    """

    palette: Palette
    view: Viewing
    search: Search
    target: Array
    total: int
    value: float = 1.0

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
        finer = self.finer(found[tubes - 1], tolerance)
        if finer is None and recipe.miss > tolerance:
            # not even in the finest parts; the nearest of those may still be nearer by far
            finest = self.finest(found)
            return recipe, finest if finest and finest.miss < recipe.miss - _LEVEL else None
        return recipe, finer

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
        return ciede2000(self.target, self.search.medium.labs(subsets, ways), kl=self.value)

    def recipe(self, found: Found, row: int, parts: Indices) -> Recipe:
        """Return the recipe of one subset in the parts given."""
        subset = found.subsets[row]
        paints = tuple(self.palette.paints[i] for i in subset)
        mixture = Mixture(paints, tuple(float(n) for n in parts), self.view)
        exact, miss = self.search.polish(self.target, subset, found.shares[row])
        by_id = {p.id: float(s) for p, s in zip(paints, exact, strict=True)}
        return Recipe(mixture, float(ciede2000(self.target, mixture.lab)), by_id, miss)

    def finer(self, found: Found, tolerance: float) -> Recipe | None:
        """Return the mix of the smallest total beyond the usual that is within tolerance."""
        rows, parts, miss = self._fine(found, tolerance)
        sums = parts.sum(axis=-1)
        good = (miss <= tolerance) & (sums > self.total)
        if not good.any():
            return None
        row, way = np.unravel_index(
            np.lexsort((miss.ravel(), np.where(good, sums, FINEST * 2).ravel()))[0], miss.shape
        )
        return self.recipe(found, int(rows[row]), parts[row, way])

    def finest(self, found: Sequence[Found]) -> Recipe | None:
        """Return the nearest mix beyond the usual total, of any of the sizes; None if none is.

        Of those that are as near to 0.05 that of the smallest total, and of the fewest tubes.
        """
        nearest: Recipe | None = None
        for of_size in found[1:]:  # a paint by itself has no finer parts
            rows, parts, miss = self._fine(of_size)
            sums = parts.sum(axis=-1)
            miss = np.where(sums > self.total, miss, np.inf)
            least = float(miss.min(initial=math.inf))
            if least < math.inf and (nearest is None or least < nearest.miss - _LEVEL):
                best = np.where(miss <= least + _LEVEL, sums, FINEST * 2).argmin()
                row, way = np.unravel_index(best, miss.shape)
                nearest = self.recipe(of_size, int(rows[row]), parts[row, way])
        return nearest

    def _fine(self, found: Found, limit: float = math.inf) -> tuple[Indices, Indices, Array]:
        """Return subsets of one size (r,), the nearest by exact shares, each in finer parts.

        `limit` is the greatest miss of exact shares [CIEDE2000].

        Returns
        -------
        their rows, the parts (r, totals, t), which are the exact shares rounded to each total in
        turn, and the misses (r, totals)
        """
        rows = np.argsort(found.miss, kind="stable")[:_LOOKED_AT]
        rows = rows[found.miss[rows] <= limit]
        totals = np.arange(self.total + 1, FINEST + 1)
        parts = np.maximum(np.rint(found.shares[rows][:, None] * totals[:, None]), 1).astype(int)
        miss = np.array(
            [self._miss(found.subsets[[row]], own)[0] for row, own in zip(rows, parts, strict=True)]
        ).reshape(len(rows), len(totals))
        return rows, parts, miss

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
            ][:_LOOKED_AT]
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


# --- out of reach -------------------------------------------------------------------------------


def _out_of_reach(
    kitchen: _Kitchen,
    by_count: list[Count],
    found: list[Found],
    palette: Palette,
    must_not: tuple[str, ...],
    needed: tuple[int, ...],
    tolerance: float,
    policy: str,
) -> Answer:
    target, view = kitchen.target, kitchen.view
    nearest = kitchen.nearest(found)
    best = by_count[-1]
    recipe, finer = nearest, None
    if policy == "nearest" and nearest.miss > best.miss + WORTH:
        near = best.miss + WORTH
        tubes = next(count.tubes for count in by_count if count.miss <= near)
        finer = kitchen.fewest(found, tubes, near)[1]
    elif policy == "value":
        aim = _paler(kitchen)
        if aim is not None:
            recipe, finer = _toward(kitchen, aim, tolerance)
    more = lab_to_lch(target) - lab_to_lch(best.lab)
    barred = {palette[name].id for name in must_not}
    helper = _helping_paint(kitchen, palette, barred, needed, len(found), tolerance)
    out = OutOfReach(
        miss=best.miss,
        lightness=float(more[0]),
        chroma=float(more[1]),
        hue=float((more[2] + 180) % 360 - 180),
        directions=directions(target, best.lab),
        between=_between(kitchen.palette, target, view),
        policy=policy,
        nearest=nearest,
        paint=helper[0] if helper else None,
        paint_tubes=helper[1] if helper else None,
        paint_miss=helper[2] if helper else None,
    )
    return Answer(target, view, tolerance, False, recipe, by_count, [], finer, out)


def _paler(kitchen: _Kitchen) -> Array | None:
    """Return the purest colour within reach that has the target's value and hue.

    Where the palette has no grey of that value, the value moves toward its nearest grey first.
    None for a palette that mixes no grey at all.
    """
    lightness, chroma, hue = lab_to_lch(kitchen.target)

    def reached(lightness: float, chroma: float) -> bool:
        lab = lch_to_lab([lightness, chroma, hue])
        return any(len(f.miss) and f.miss.min() <= WORTH for f in kitchen.search.solve(lab))

    if not reached(lightness, 0.0):
        shift = next((s for s in _SHIFTS if reached(lightness + s, 0.0)), None)
        if shift is None:
            return None
        lightness += _bisect(lambda share: reached(lightness + share * shift, 0.0)) * shift
    chroma *= 1 - _bisect(lambda share: reached(lightness, (1 - share) * chroma))
    return lch_to_lab([lightness, chroma, hue])


_SHIFTS = [sign * step for step in range(4, 64, 4) for sign in (1, -1)]


def _bisect(holds: Callable[[float], bool]) -> float:
    """Return the least share 0..1, to 1/128, for which something holds that holds for 1."""
    low, high = 0.0, 1.0
    for _ in range(7):
        middle = (low + high) / 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def _toward(kitchen: _Kitchen, aim: Array, tolerance: float) -> tuple[Recipe, Recipe | None]:
    """Return recipes for another colour, with their misses to the kitchen's target."""
    there = replace(kitchen, target=aim, value=VALUE_FIRST)
    found = kitchen.search.solve(aim)
    near = max(tolerance, 2 * WORTH)
    tubes = next(n for n, f in enumerate(found, 1) if len(f.miss) and f.miss.min() <= near)

    def seen_from_target(recipe: Recipe) -> Recipe:
        exact = kitchen.palette.mix(recipe.exact_shares, kitchen.view)
        return replace(
            recipe,
            miss=float(ciede2000(kitchen.target, recipe.lab)),
            exact_miss=float(ciede2000(kitchen.target, exact.lab)),
        )

    recipe, finer = there.fewest(found, tubes, near)
    recipe, finer = seen_from_target(recipe), seen_from_target(finer) if finer else None
    return recipe, finer if finer and finer.miss < recipe.miss else None


def directions(target: Array, reached: Array) -> tuple[str, ...]:
    """Return in words what the target has that the mix lacks, the greatest first."""
    more = ways_apart(reached, target)
    words = (
        ("too light", "too dark"),
        ("too pure", "too dull"),
        ("of another hue", "of another hue"),
    )
    size = np.abs(more)
    return tuple(
        words[i][0] if more[i] > 0 else words[i][1]
        for i in np.argsort(-size, kind="stable")
        if size[i] > 0.3 * size.max()
    )


def _between(palette: Palette, target: Array, view: Viewing) -> tuple[str, str] | None:
    """Return the two chromatic paints whose hues lie on both sides of the target's."""
    wanted = lab_to_lch(target)
    masstones = lab_to_lch(medium_of(palette, view).lab(np.eye(len(palette))))
    coloured = np.flatnonzero(masstones[:, 1] > 10)
    if len(coloured) < 2 or wanted[1] < 5:
        return None
    turn = (masstones[coloured, 2] - wanted[2]) % 360
    return palette.ids[coloured[turn.argmax()]], palette.ids[coloured[turn.argmin()]]


def _helping_paint(
    kitchen: _Kitchen,
    palette: Palette,
    barred: set[str],
    needed: tuple[int, ...],
    largest: int,
    tolerance: float,
) -> tuple[str, int, float] | None:
    """Return the one paint of the table that brings the target within reach: id, tubes, miss.

    Mixes of at most four tubes are looked at: their shares have as many freedoms as colour has, and
    more tubes hardly widen what can be reached.
    """
    table = palette.table
    own = [table.ids.index(id) for id in kitchen.palette.ids]
    extra = [i for i, id in enumerate(table.ids) if id not in palette.ids and id not in barred]
    if not extra:
        return None
    medium = medium_of(table, kitchen.view)
    # few tubes first: larger mixes are looked at only where no smaller one does
    for tubes in range(1, min(largest, _HELPED_TUBES) + 1):
        rest = subsets_of(len(own), tubes - 1, needed)
        if not len(rest):
            continue
        base = np.array(own)[rest]
        best: tuple[float, int] | None = None
        for i in extra:  # one paint at a time, so that a long table does not fill the memory
            search = Search(medium, [np.insert(base, 0, i, axis=1)])
            miss = float(search.solve(kitchen.target)[0].miss.min())
            if miss <= tolerance and (best is None or miss < best[0]):
                best = miss, i
        if best is not None:
            return table.ids[best[1]], tubes, best[0]
    return None
