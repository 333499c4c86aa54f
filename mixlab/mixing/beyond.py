"""Beyond reach: the least harmful compromise, and what would help."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, lab_to_lch, lch_to_lab
from mixlab.colour.words import directions
from mixlab.mixing.answers import VALUE_FIRST, WORTH, Answer, Count, OutOfReach, Recipe
from mixlab.mixing.in_parts import OneTarget
from mixlab.nearest.exact import Found, Search
from mixlab.nearest.medium import medium_of
from mixlab.nearest.sets import subsets_of
from mixlab.paint.tables import Palette

_HELPED_TUBES = 4


# --- out of reach -------------------------------------------------------------------------------


def _out_of_reach(
    asked: OneTarget,
    by_count: list[Count],
    found: list[Found],
    palette: Palette,
    must_not: tuple[str, ...],
    needed: tuple[int, ...],
    tolerance: float,
    approach: str,
) -> Answer:
    target, view = asked.target, asked.view
    nearest = asked.nearest(found)
    best = by_count[-1]
    recipe, finer = nearest, None
    if approach == "nearest" and nearest.miss > best.miss + WORTH:
        near = best.miss + WORTH
        tubes = next(count.tubes for count in by_count if count.miss <= near)
        finer = asked.fewest(found, tubes, near)[1]
    elif approach == "value":
        aim = _paler(asked)
        if aim is not None:
            recipe, finer = _toward(asked, aim, tolerance)
    more = lab_to_lch(target) - lab_to_lch(best.lab)
    barred = {palette[name].id for name in must_not}
    helper = _helping_paint(asked, palette, barred, needed, len(found), tolerance)
    out = OutOfReach(
        miss=best.miss,
        lightness=float(more[0]),
        chroma=float(more[1]),
        hue=float((more[2] + 180) % 360 - 180),
        directions=directions(target, best.lab),
        between=_between(asked.palette, target, view),
        approach=approach,
        nearest=nearest,
        paint=helper[0] if helper else None,
        paint_tubes=helper[1] if helper else None,
        paint_miss=helper[2] if helper else None,
    )
    return Answer(target, view, tolerance, False, recipe, by_count, [], finer, out)


def _paler(asked: OneTarget) -> Array | None:
    """Return the colour within reach, highest in chroma, that has the target's value and hue.

    Where the palette has no grey of that value, the value moves toward its nearest grey first.
    None for a palette that mixes no grey at all.
    """
    lightness, chroma, hue = lab_to_lch(asked.target)

    def reached(lightness: float, chroma: float) -> bool:
        lab = lch_to_lab([lightness, chroma, hue])
        return any(len(f.miss) and f.miss.min() <= WORTH for f in asked.search.solve(lab))

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


def _toward(asked: OneTarget, aim: Array, tolerance: float) -> tuple[Recipe, Recipe | None]:
    """Return recipes for another colour, with their misses to the target that was asked."""
    there = replace(asked, target=aim, value=VALUE_FIRST)
    found = asked.search.solve(aim)
    near = max(tolerance, 2 * WORTH)
    tubes = next(n for n, f in enumerate(found, 1) if len(f.miss) and f.miss.min() <= near)

    def seen_from_target(recipe: Recipe) -> Recipe:
        # a share can underflow to zero; what has none of a paint does not hold it
        held = {id: share for id, share in recipe.exact_shares.items() if share > 0}
        exact = asked.palette.mix(held, asked.view)
        return replace(
            recipe,
            miss=float(ciede2000(asked.target, recipe.lab)),
            exact_miss=float(ciede2000(asked.target, exact.lab)),
        )

    recipe, finer = there.fewest(found, tubes, near)
    recipe, finer = seen_from_target(recipe), seen_from_target(finer) if finer else None
    return recipe, finer if finer and finer.miss < recipe.miss else None


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
    asked: OneTarget,
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
    own = [table.ids.index(id) for id in asked.palette.ids]
    extra = [i for i, id in enumerate(table.ids) if id not in palette.ids and id not in barred]
    if not extra:
        return None
    medium = medium_of(table, asked.view)
    # few tubes first: larger mixes are looked at only where no smaller one does
    for tubes in range(1, min(largest, _HELPED_TUBES) + 1):
        rest = subsets_of(len(own), tubes - 1, needed)
        if not len(rest):
            continue
        base = np.array(own)[rest]
        best: tuple[float, int] | None = None
        for i in extra:  # one paint at a time, so that a long table does not fill the memory
            search = Search(medium, [np.insert(base, 0, i, axis=1)])
            miss = float(search.solve(asked.target)[0].miss.min())
            if miss <= tolerance and (best is None or miss < best[0]):
                best = miss, i
        if best is not None:
            return table.ids[best[1]], tubes, best[0]
    return None
