"""A family: the fewest tubes that hold all passages of a picture, and their mixes from these."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Mask
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import ReachError
from mixlab.mixing.answers import Answer, Later, Recipe, Recipes
from mixlab.mixing.recipes import as_colours, find_recipe, find_recipes
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.tube_sets import Fewest

_LISTED = 32  # sets of the fewest tubes, of which those least held in reserve ...
_SETS = 8  # ... are tried in whole parts ...
_LOOKED_AT = 2  # ... the nearest of which are tried in finer ones and in two steps


Judge = Callable[[Palette, Array, Mask], tuple[float, ...]]
"""Returns how ill a set of tubes serves goals (n, 3), which the whole palette reaches or not (n,).
"""


@dataclass(frozen=True, eq=False)
class Family:
    """Few tubes that hold all of n colours, and the mixes from them.

    Attributes
    ----------
    names : of the colours, as given
    labs : (n, 3), the colours, CIELAB
    in_reach : (n,), whether the whole palette comes within the tolerance of the colour
    goals : (n, 3), what the family is to come near: the colour itself or, out of reach of the whole
        palette, the mix that :func:`mixlab.find_recipe` has for it
    palette : the family, as a palette of a table of its own
    recipes : of each colour, from the family alone; misses are those from the colour itself
    answers : what :func:`mixlab.find_recipe` says of each goal with the family
    found : the fewest tubes, with the proof (`proven`, `lower_bound`, `sets`)
    """

    names: tuple[str, ...]
    labs: Array
    in_reach: Mask
    goals: Array
    palette: Palette
    recipes: tuple[Recipe, ...]
    answers: tuple[Answer, ...]
    found: Fewest

    @property
    def tubes(self) -> tuple[str, ...]:
        """Ids of the family."""
        return tuple(self.palette.ids)

    @property
    def one_more(self) -> bool:
        """Whether there is a tube more than exact shares need, so that a knife can measure them."""
        return bool(self.found.sets) and len(self.tubes) > len(self.found.sets[0].tubes)

    @property
    def proven(self) -> bool:
        """Whether it is proven that fewer tubes of the palette would not do."""
        return self.found.proven

    @property
    def out_of_reach(self) -> tuple[str, ...]:
        """Names of the colours that the whole palette does not reach."""
        return tuple(self.names[i] for i in np.flatnonzero(~self.in_reach))


def family(
    labs: ArrayLike,
    palette: Palette,
    names: Sequence[str] = (),
    tolerance: float = TOLERANCE,
    max_tubes: int = 4,
    *,
    parts: int = 12,
    required: Iterable[str] = (),
    judge: Judge | None = None,
    time_limit: float | None = None,
    view: Viewing | None = None,
) -> Family:
    """Return the fewest tubes of a palette that hold all of some colours, and mixes from them.

    Each colour that the whole palette reaches is within the tolerance of a mix of the family, in
    exact shares. One out of reach counts at the mix that the whole palette has for it. Of several
    sets as small, the one whose recipes hold most of them in parts that a knife measures, then with
    the fewest additions and the tubes least held in reserve (:attr:`Paint.reserve`); where none
    holds them all so, but one with a tube more does, it is that.

    Parameters
    ----------
    labs : CIELAB (n, 3) under `view`
    palette : the tubes to choose from
    names : of the colours, or none
    tolerance : miss that passes, of exact shares [CIEDE2000]
    max_tubes : greatest number of paints in one mix, 1 to 4
    parts : greatest total of whole parts
    required : ids or Colour Index names of tubes that belong to it in any case
    judge : says how ill a set serves, first the number of colours that it fails; unless told, by
        its recipes in parts
    time_limit : after so long the smallest set found so far is taken, or the palette [s]
    view : light, observer and finish; D65, 2 degree, gloss unless told

    Raises
    ------
    ReachError, SearchError : for settings or colours that make no sense
    """
    view = view or viewing()
    labs = as_colours(labs, 1)
    names = tuple(names) or tuple(str(i) for i in range(1, len(labs) + 1))
    if len(names) != len(labs):
        raise ReachError(f"{len(names)} names for {len(labs)} colours")
    ask = partial(find_recipe, tolerance=tolerance, max_tubes=max_tubes, parts=parts, view=view,
                  alternatives=0)  # fmt: skip
    alone = [ask(lab, palette) for lab in labs]
    in_reach = np.array([answer.in_reach for answer in alone])
    goals = np.where(in_reach[:, None], labs, [answer.recipe.lab for answer in alone])
    found = fewest_tubes(
        goals, palette, tolerance, max_tubes, required=required, sets=_LISTED,
        time_limit=time_limit, view=view,
    )  # fmt: skip

    best = partial(_in_parts, palette, goals, ask, partial(
        find_recipes, tolerance=tolerance, max_tubes=max_tubes, parts=parts, view=view,
    )) if judge is None else partial(_judged, palette, goals, in_reach, judge)  # fmt: skip
    tried = [one.tubes for one in found.sets] or [tuple(palette.ids)]
    tried.sort(key=lambda ids: sum(palette[id].reserve for id in ids))
    order, own, answers = best(tried[:_SETS])
    if order[0] and len(own) < len(palette):
        more = best([*own.ids, id] for id in palette.ids if id not in own.ids)
        if more[0][0] < (order[0] if judge else 1):
            _, own, answers = more
    answers = answers or [ask(goal, own) for goal in goals]
    recipes = [
        replace(
            answer.recipe,
            miss=float(ciede2000(lab, answer.recipe.lab)),
            exact=Later(partial(_exact, answer.recipe, lab, own, view)),
        )
        for lab, answer in zip(labs, answers, strict=True)
    ]
    return Family(names, labs, in_reach, goals, own, tuple(recipes), tuple(answers), found)


def _exact(
    recipe: Recipe, lab: Array, own: Palette, view: Viewing
) -> tuple[dict[str, float], float]:
    """Return the exact shares of a recipe, and their miss from the passage itself."""
    shares = recipe.exact_shares
    return shares, float(ciede2000(lab, own.mix(shares, view).lab))


def _part_of(palette: Palette, ids: Sequence[str]) -> Palette:
    """Return some tubes of a palette as a palette of a table of its own."""
    paints = PigmentTable(tuple(palette[id] for id in palette.ids if id in ids))
    return paints.palette(paints.ids, f"a family from {palette.name}")


def _judged(
    palette: Palette, goals: Array, in_reach: Mask, judge: Judge, sets: Iterable[Sequence[str]]
) -> tuple[tuple[float, ...], Palette, list[Answer]]:
    """Return how ill the best of some sets serves, the set, and no answers."""
    tried = [_part_of(palette, ids) for ids in sets]
    ill = [judge(own, goals, in_reach) for own in tried]
    best = min(range(len(tried)), key=lambda i: ill[i])
    return ill[best], tried[best], []


def _in_parts(
    palette: Palette, goals: Array, ask: Callable[[Array, Palette], Answer],
    lattice: Callable[[Array, Palette], Recipes], sets: Iterable[Sequence[str]],
) -> tuple[tuple[float, ...], Palette, list[Answer]]:  # fmt: skip
    """Return which of some sets holds goals (n, 3) best in parts that a knife measures.

    Returns
    -------
    its order (goals beyond the tolerance, additions with what is held in reserve, sum of misses),
    the set, and its answers
    """
    rough = []
    for ids in sets:
        own = _part_of(palette, ids)
        made = lattice(goals, own)
        off = float(made.miss.sum()) + own.reserve.sum()
        rough.append((int((~made.within_tolerance).sum()), off, own))
    rough.sort(key=lambda one: one[:2])
    tried = []
    for *_, own in rough[:_LOOKED_AT]:
        answers = [ask(goal, own) for goal in goals]
        recipes = [answer.recipe for answer in answers]
        beyond = sum(answer.recipe.miss > answer.tolerance for answer in answers)
        effort = sum(len(r.steps) for r in recipes) + int(own.reserve.sum())
        order = beyond, effort, sum(r.miss for r in recipes)
        tried.append((order, own, answers))
    return min(tried, key=lambda one: one[0])
