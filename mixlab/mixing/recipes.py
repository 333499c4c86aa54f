"""From a colour to a recipe: the fewest tubes that hit it, in whole parts.

For every count of tubes the best mix that exists is found (:mod:`mixlab.nearest.exact`). The recipe
is the whole-part mix within the tolerance that has the fewest tubes and, among those, asks the
least of a painter: few parts, of tubes that stand on every palette. Where fewer tubes could do it
in finer parts, or no whole parts can, the answer says which parts do. Where no mix comes near
enough it says so, how far off the palette is and in which direction, and gives the least harmful
compromise.
"""


import math
from collections.abc import Iterable
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, one_thread
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import NotationError, SearchError
from mixlab.mixing import beyond
from mixlab.mixing.answers import OUT_OF_REACH, Answer, Later, Recipe, Recipes
from mixlab.mixing.finer_parts import OneTarget
from mixlab.nearest.exact import Search, seeds_of
from mixlab.nearest.medium import medium_of
from mixlab.nearest.sets import all_subsets, size
from mixlab.nearest.short_list import short_list
from mixlab.nearest.whole import FAR, lattice_of
from mixlab.paint.tables import Palette

MOST_TUBES = 6
MOST_PARTS = 40
_FARTHEST = 1e4  # of L*, a*, b*: what is farther is no colour, and its square may be no number
FORGIVEN = 4.0
"""Greatest miss of a simpler recipe [CIEDE2000]: more is seen at a glance. Our own, no source."""

MOST_PAINTS = 64
"""Paints of which every small set is searched; of more, the :data:`LOOKED_AT` most promising."""

LOOKED_AT = 20
"""Paints that are searched where there are more than :data:`MOST_PAINTS`."""

MOST_SEEDS = 5_000_000
"""Greatest number of seeds that a search lays out, which bounds its memory to about 1 GB."""

MOST_MIXES = 5_000_000
"""Greatest number of mixes in a lattice, which bounds its memory to about 1 GB."""


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
    out_of_reach: str = "value",
    alternatives: int = 3,
) -> Answer:
    """Return the recipe with the fewest tubes that hits a colour.

    Parameters
    ----------
    target : CIELAB (3,) under `view`
    palette : the tubes at hand; of more than :data:`MOST_PAINTS` only a short list is searched, see
        :mod:`mixlab.nearest.short_list`
    tolerance : miss that passes [CIEDE2000]
    max_tubes : greatest number of paints in the mix, 1 to 6
    parts : greatest total of whole parts
    must, must_not : ids or Colour Index names of paints that have to be in the mix, or must not be
    view : light, observer and finish; D65, 2 degree, gloss unless told
    out_of_reach : one of :data:`OUT_OF_REACH`, how such a colour is approached
    alternatives : greatest number of recipes with other tubes

    Raises
    ------
    SearchError : for settings under which there is nothing to search
    """
    view = view or viewing()
    goal = np.asarray(target, dtype=float)
    if goal.shape != (3,) or not (np.abs(goal) < _FARTHEST).all():
        raise SearchError("the target must be three finite numbers L*, a*, b*")
    if out_of_reach not in OUT_OF_REACH:
        known = ", ".join(OUT_OF_REACH)
        raise SearchError(f"out of reach {out_of_reach!r}: it must be one of {known}")
    check_search(tolerance, max_tubes, parts)
    must, must_not = (
        tuple(dict.fromkeys([names] if isinstance(names, str) else names))
        for names in (must, must_not)
    )
    usable, needed = _choose(palette, must, must_not, max_tubes, parts, view, goal)
    search = _search(usable, view, needed, min(max_tubes, len(usable)))
    asked = OneTarget(usable, view, search, goal, parts, tolerance)
    counts = Later(lambda: asked.counts)

    with one_thread():
        tubes = asked.fewest_tubes
        recipe, finer = (
            beyond.recipes(asked, needed, out_of_reach) if tubes is None
            else asked.fewest
        )
    if tubes is None:
        barred = {palette[name].id for name in must_not}
        return Answer(
            goal, view, tolerance, False, recipe, finer, counts, Later.known([]),
            Later.known(None),
            Later(lambda: beyond.why(asked, palette, barred, needed, out_of_reach)), len(usable),
        )  # fmt: skip

    others = Later(lambda: asked.others(max(recipe.tubes, tubes), recipe, alternatives))
    answer = Answer(goal, view, tolerance, True, recipe, finer, counts, others,
                    Later(lambda: _simpler(asked, answer.recipe)), Later.known(None),
                    len(usable))  # fmt: skip
    return answer


def _simpler(asked: OneTarget, recipe: Recipe) -> Recipe | None:
    """Return the nearest mix of a tube less, if the table cannot tell its miss from the recipe's.

    That is where its miss lies within its likely error, and an eye would forgive it. Else such a
    mix of as many tubes of which none is held in reserve; those within the tolerance are told among
    the others.
    """
    for tubes, reserve, least in (recipe.tubes - 1, None, 0.0), (recipe.tubes, 0, asked.tolerance):
        mix = asked.nearest_of_size(tubes, reserve)
        if mix is not None and max(recipe.miss, least) < mix.miss <= min(
            mix.mixture.likely_error, FORGIVEN
        ):
            return mix
    return None


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
    where none is, the nearest of all. See :mod:`mixlab.nearest.whole` for how sure "nearest" is.
    The lattice is built once for a palette and kept. The answer for a colour does not depend on
    which others are asked about with it; colours that stand sorted, light by light, take less time.

    Parameters
    ----------
    labs : CIELAB (n, 3) under `view`
    palette, tolerance, max_tubes, parts, view : as in :func:`find_recipe`; at most 4 tubes

    Raises
    ------
    SearchError : for settings or an array that make no sense
    """
    view = view or viewing()
    labs = as_colours(labs)
    check_search(tolerance, max_tubes, parts)
    if max_tubes > 4:
        raise SearchError(f"{max_tubes} tubes: the lattice holds mixes of at most 4")
    largest = min(max_tubes, parts, len(palette))
    if (mixes := size(len(palette), parts, largest)) > MOST_MIXES:
        raise SearchError(
            f"{mixes} mixes of {largest} of {len(palette)} tubes in {parts} parts are too many "
            "for a lattice; allow fewer tubes or parts, or take a smaller palette"
        )
    lattice = lattice_of(palette, view, parts, largest)
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


def looked_at(palette: Palette) -> int:
    """Return how many paints of a palette are searched for one colour, at most."""
    return len(palette) if len(palette) <= MOST_PAINTS else LOOKED_AT


def usual_tubes(paints: int) -> int:
    """Return how many tubes in a mix can be searched among so many paints, at most four."""
    fit = (n for n in range(4, 1, -1) if seeds_of(paints, min(n, paints)) <= MOST_SEEDS)
    return next(fit, 1)


def as_colours(labs: ArrayLike, least: int = 0) -> Array:
    """Return CIELAB (n, 3) of at least so many colours; SearchError if they are none."""
    labs = np.asarray(labs, dtype=float)
    if labs.ndim != 2 or labs.shape[1] != 3 or len(labs) < least or not (
        np.abs(labs) < _FARTHEST
    ).all():  # fmt: skip
        raise SearchError("the colours must be an array (n, 3) of finite L*, a*, b*")
    return labs


def check_search(tolerance: float, max_tubes: int, parts: int) -> None:
    """Raise SearchError for settings under which nothing can be searched for."""
    if not (math.isfinite(tolerance) and tolerance > 0):
        raise SearchError(f"a tolerance of {tolerance:g}: it must be above zero; 2 is usual")
    if max_tubes not in range(1, MOST_TUBES + 1):
        raise SearchError(f"{max_tubes} tubes in a mix: it must be 1 to {MOST_TUBES}")
    if parts not in range(1, MOST_PARTS + 1):
        raise SearchError(f"a total of {parts} parts: it must be 1 to {MOST_PARTS}")


def _choose(
    palette: Palette, must: tuple[str, ...], must_not: tuple[str, ...], max_tubes: int, parts: int,
    view: Viewing, goal: Array,
) -> tuple[Palette, tuple[int, ...]]:
    """Return what is searched of the palette, and where in it the must-use paints are."""
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
    ids = usable.ids
    if len(ids) > MOST_PAINTS:
        must_be = [ids.index(id) for id in needed]
        some = short_list(medium_of(usable, view), goal, LOOKED_AT, must_be)
        usable = _part_of(usable, tuple(ids[i] for i in some))
    if seeds_of(len(usable), min(max_tubes, len(usable))) > MOST_SEEDS:
        fit = max(n for n in range(1, max_tubes) if seeds_of(len(usable), n) <= MOST_SEEDS)
        raise SearchError(
            f"mixes of {max_tubes} tubes out of {len(usable)} are too many to search; "
            f"allow {fit}, or take a smaller palette"
        )
    return usable, tuple(usable.ids.index(id) for id in needed)


@lru_cache(maxsize=8)
def _part_of(palette: Palette, ids: tuple[str, ...]) -> Palette:
    return palette.table.palette(ids, palette.name)


@lru_cache(maxsize=8)
def _search(palette: Palette, view: Viewing, must: tuple[int, ...], largest: int) -> Search:
    return Search(medium_of(palette, view), all_subsets(len(palette), largest, must))


