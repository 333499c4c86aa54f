"""Adjusting a mix on the palette: knock it back, clean it up, lighten, darken, warm or cool it.

Paint cannot be taken out of a pile, so that only additions are looked for, and a pile that grows
much is a new pile. A goal is a colour: what is not asked to change, of value, hue and chroma, is
kept. An addition passes when value and chroma come within a tolerance in Munsell steps, and hue
within one in CIEDE2000, of which the hue part fades as the colour nears neutral; degrees of hue
would tell one grey from another there.

For every set of one, two and three paints :mod:`mixlab.nearest.exact` gives the very nearest mix
that holds the pile; of the sets that come near enough all additions in measured parts are tried.

References
----------
.. [1] ASTM D1535, the Munsell system; hue, value and chroma are its.
.. [2] Ou, Luo, Woodcock, Wright, "A study of colour emotion and colour preference. Part I: colour
       emotions for single colours", Color Res. Appl. 29 (2004) 232-240: how warm a colour looks
       grows with C*^1.07 cos(h - 50 degrees). The 50 degrees are quoted from memory.
"""


import math
from dataclasses import astuple, dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE, ciede2000, ways_apart
from mixlab.colour.spaces import lab_to_lch
from mixlab.errors import LadderError
from mixlab.mixing.answers import WORTH, Answer
from mixlab.mixing.goals import WARM_HUE, Goal, Tolerances, goal_of
from mixlab.mixing.ladders import LOOKS_LIKE
from mixlab.mixing.pile_search import HALF_AGAIN, LARGEST_PILE, TIMES, Addition, PileSearch
from mixlab.mixing.recipes import find_recipe
from mixlab.nearest.parts import first_within, rounded
from mixlab.paint.mixtures import Mixture, together
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette

SMALLEST_PART = 0.25
"""The smallest part that is measured with a knife."""

LARGEST = 1.0
"""Greatest addition, in times of the pile; more, and only a new pile makes sense."""

MOST_KINDS = 3
_GREYISH = 8.0  # C*


@dataclass(frozen=True, eq=False)
class PileAddition:
    """One paint added to the pile.

    Attributes
    ----------
    paint : which
    parts : of it
    effect : what it does to the pile by itself, in words, the greatest first
    mixture : the pile after it
    """

    paint: Paint
    parts: float
    effect: tuple[str, ...]
    mixture: Mixture


@dataclass(frozen=True, eq=False)
class Adjustment:
    """What :func:`adjust` found.

    Attributes
    ----------
    start : the mix that was given
    goal : what is wanted of it, with the tolerances that were held to
    times : how many times the mix as given makes the pile, so that the additions can be measured
    parts : of each paint added to that pile, by id; empty where nothing helps, or is needed
    mixture : the adjusted mix
    other : the mix that it was to become, or None
    beyond : where an addition would do it, but one of so many times the pile; else None
    fresh_recipe : where no addition of up to half the pile gets there: the recipe of the goal, or
        of what a greater addition comes to, from the tubes alone
    others : what serves best of up to half the pile: nothing added, then one, two, .. paints
    """

    start: Mixture
    goal: Goal
    times: int
    parts: dict[str, float]
    mixture: Mixture
    other: Mixture | None = None
    beyond: float | None = None
    fresh_recipe: Answer | None = None
    others: "tuple[Adjustment, ...]" = ()

    @property
    def within_tolerance(self) -> bool:
        """Whether the adjusted mix is within the tolerances."""
        return bool(self.goal.met(self.mixture.lab))

    @property
    def fresh(self) -> Mixture | None:
        """The mix to make afresh instead, which comes first; None where there is none, or no need.
        """
        if self.other is not None:
            return self.other if self.share > HALF_AGAIN or not self.within_tolerance else None
        answer = self.fresh_recipe
        return answer.recipe.mixture if answer is not None and answer.in_reach else None

    @property
    def pile(self) -> Mixture:
        """The mix as given, taken `times` over."""
        return _times(self.start, self.times)

    @property
    def share(self) -> float:
        """How much is added, in times of the pile."""
        return sum(self.parts.values()) / sum(self.pile.amounts)

    @property
    def off(self) -> Array:
        """What the mix has more of than the goal (3,): value, chroma [Munsell], hue [CIEDE2000]."""
        return self.goal.off(self.mixture.lab)

    @property
    def miss(self) -> float:
        """CIEDE2000 from the goal to the mix."""
        return float(ciede2000(self.goal.lab, self.mixture.lab))

    @property
    def turn(self) -> float:
        """How far the CIELCh hue is from the goal's [degrees], -180..180; nan near neutral."""
        (_, c1, h1), (_, c2, h2) = lab_to_lch(self.goal.lab), self.mixture.lch
        return float((h2 - h1 + 180) % 360 - 180) if min(c1, c2) >= 2 else math.nan

    @property
    def directions(self) -> tuple[str, ...]:
        """In words, where the mix is not within the tolerances, e.g. ("0.4 value too light",)."""
        value, chroma, hue = self.off
        degrees = "" if math.isnan(self.turn) else f" ({abs(self.turn):.0f} degrees)"
        words = (
            f"{abs(value):.1f} value too {'light' if value > 0 else 'dark'}",
            f"{abs(chroma):.1f} chroma too {'high' if chroma > 0 else 'low'}",
            f"{abs(hue):.1f} CIEDE2000 off in hue{degrees}",
        )
        holds = self.goal.holds(self.mixture.lab)
        return tuple(word for word, held in zip(words, holds, strict=True) if not held)

    @cached_property
    def additions(self) -> tuple[PileAddition, ...]:
        """The additions in order, the one that moves the pile least first."""
        pile = self.pile
        chosen = {paint.id: paint for paint in self.mixture.paints if paint.id in self.parts}

        def moved(id: str) -> tuple[float, str]:
            after = joined(pile, {chosen[id]: self.parts[id]})
            return float(ciede2000(pile.lab, after.lab)), id

        done: dict[Paint, float] = {}
        steps = []
        for id in sorted(chosen, key=moved):
            paint, parts = chosen[id], self.parts[id]
            done[paint] = parts
            alone = joined(pile, {paint: parts})
            steps.append(PileAddition(paint, parts, effect(pile, alone), joined(pile, done)))
        return tuple(steps)


def effect(before: Mixture, after: Mixture) -> tuple[str, ...]:
    """Return what a change of a pile does to it, in words, the greatest first."""
    (_, c1, h1), (_, c2, h2) = before.lch, after.lch
    lightness, chroma, turn = map(float, ways_apart(before.lab, after.lab))
    if min(c1, c2) < _GREYISH:  # all of the move along the warm axis
        warmth = (c2 * _warm(h2) - c1 * _warm(h1)) / (1 + 0.015 * (c1 + c2) / 2)
    else:  # only the turn of hue: a blue that is knocked back is not warmer for that
        warmth = math.copysign(turn, _warm(h2) - _warm(h1))
    words = (
        (lightness, "lightens", "darkens"),
        (chroma, "raises chroma", "knocks back"),
        (warmth, "warms", "cools"),
    )
    largest = max(abs(amount) for amount, _, _ in words)
    return tuple(
        more if amount > 0 else less
        for amount, more, less in sorted(words, key=lambda word: -abs(word[0]))
        if abs(amount) > max(0.35 * largest, 0.05)
    )


def _warm(hue: float) -> float:
    return math.cos(math.radians(hue - WARM_HUE))


def adjust(
    mix: Mixture,
    palette: Palette,
    *,
    hue: str | None = None,
    chroma: float | None = None,
    chroma_by: float | None = None,
    value: float | None = None,
    value_by: float | None = None,
    warmer: float | None = None,
    cooler: float | None = None,
    to: ArrayLike | Mixture | None = None,
    within: Tolerances | None = None,
    smallest_part: float = SMALLEST_PART,
    largest: float = LARGEST,
    kinds: int = MOST_KINDS,
) -> Adjustment:
    """Return the smallest addition that changes a mix as asked and keeps the rest of its colour.

    Parameters
    ----------
    mix : what is on the palette, as it is seen
    palette : the tubes that may be added
    hue, chroma, value : to this Munsell hue such as "5GY", chroma, value; one, two or all three
    chroma_by, value_by : the same by so much
    warmer, cooler : by so much [CIEDE2000], toward orange or away from it (:data:`WARM_HUE`);
        value is kept
    to : another colour, CIELAB (3,), or another mix, whose paints may be added too
    within : tolerances; :class:`Tolerances` as they are unless told
    smallest_part : the smallest part that is measured, in the unit of the mix's parts
    largest : greatest addition, in times of the pile
    kinds : greatest number of paints added, 1 to 3

    Returns
    -------
    The least paint that does it; a further tube must save something (:data:`FURTHER_TUBE`). Where
    that is much, less paint that keeps the rest less well (:meth:`Goal.looser`); more than
    :data:`HALF_AGAIN` only where nothing else does, with the fresh recipe that comes first, and
    of two paints at most.
    Where none does it, what of no more than that serves best: what was asked, then value, then hue.
    To another mix that holds all paints of this one: what this one lacks.

    Raises
    ------
    LadderError : for a change that is none, or cannot be: none is asked or too many, the colour
        lies outside the Munsell system, or the chroma of a neutral is to be raised
    TableError : if the paints come from tables that cannot be mixed
    """
    other = to if isinstance(to, Mixture) else None
    within = within or Tolerances()
    _check(within, smallest_part, largest, kinds)
    if other is not None and other.view != mix.view:
        raise LadderError("a mix and the one that it is to become must be seen under one light")
    goal = goal_of(mix, {
        "hue": hue, "chroma": chroma, "chroma by": chroma_by, "value": value, "value by": value_by,
        "warmer": warmer, "cooler": cooler, "to": other.lab if other else to,
    }, within)  # fmt: skip
    made = Adjustment(mix, goal, 1, {}, mix, other)
    joined(mix, {palette.paints[0]: smallest_part})  # refuses paints that cannot be mixed
    if made.within_tolerance:
        return made
    if other is not None:
        if mix.parts.keys() <= other.parts.keys():
            return _completed(made, other, smallest_part)
        palette = palette.table.palette(list(dict.fromkeys([*other.parts, *palette.ids])))
    return _searched(made, palette, smallest_part, largest, kinds)


def _searched(
    made: Adjustment, palette: Palette, smallest_part: float, largest: float, kinds: int
) -> Adjustment:
    """Return the adjustment of the best addition of the palette's paints."""
    goal, view = made.goal, made.start.view
    search = PileSearch(made.start, palette, goal, smallest_part)
    tried = search.nearest(kinds, min(largest, HALF_AGAIN))
    made = replace(made, others=tuple(_added(made, palette, one) for _, one in tried))
    found = search.least(kinds, largest)
    best = made if found is None else _added(made, palette, found)
    wanted = goal.lab
    if found is not None and not best.within_tolerance:
        best, wanted = replace(best, goal=goal.looser()), best.mixture.lab
    if made.other is None and (found is None or best.share > HALF_AGAIN):
        fresh = find_recipe(wanted, palette, TOLERANCE, min(4, len(palette)), view=view)
        best = replace(best, fresh_recipe=fresh)
    if found is not None:
        return best
    least = min(harm for harm, _ in tried) + WORTH  # a further paint must be worth it
    one = next(one for harm, one in tried if harm <= least)
    return replace(_added(best, palette, one), beyond=search.beyond(kinds))


def _check(within: Tolerances, smallest_part: float, largest: float, kinds: int) -> None:
    if not all(math.isfinite(t) and t > 0 for t in astuple(within)):
        raise LadderError("the tolerances must be above zero")
    if not (0.01 <= smallest_part <= 100):
        raise LadderError(f"{smallest_part:g} as the smallest part: it must be from 0.01 to 100")
    if not (0 < largest <= 100):
        raise LadderError(f"an addition of {largest:g} times the pile: it must be above 0, to 100")
    if kinds not in range(1, MOST_KINDS + 1):
        raise LadderError(f"{kinds} kinds of paint added: it must be 1 to {MOST_KINDS}")


def _added(made: Adjustment, palette: Palette, addition: Addition) -> Adjustment:
    """Return the adjustment of so many parts added to the mix taken so many times over."""
    times, paints, parts = addition
    added = {palette.paints[i]: float(n) for i, n in zip(paints, parts, strict=True)}
    mixture = joined(_times(made.start, times), added)
    by_id = {paint.id: n for paint, n in added.items()}
    return replace(made, times=times, parts=by_id, mixture=mixture)


def _completed(made: Adjustment, other: Mixture, smallest_part: float) -> Adjustment:
    """Return the additions of what a mix lacks to be another that holds all its paints."""
    most = max(n / other.parts[id] for id, n in made.start.parts.items())
    lacks = most * np.array(other.amounts) - [made.start.parts.get(id, 0) for id in other.parts]
    tried = []
    for times in (n for n in TIMES if n == 1 or n * sum(made.start.amounts) <= LARGEST_PILE):
        parts = rounded(times * lacks, 0, smallest_part)
        added = {p: float(n) for p, n in zip(other.paints, parts, strict=True) if n > 0}
        mixture = joined(_times(made.start, times), added)
        by_id = {paint.id: n for paint, n in added.items()}
        tried.append(replace(made, times=times, parts=by_id, mixture=mixture))
    return tried[int(first_within(np.array([one.miss for one in tried]), LOOKS_LIKE))]


def _times(mix: Mixture, times: int) -> Mixture:
    return replace(mix, amounts=tuple(times * n for n in mix.amounts)) if times != 1 else mix


def joined(pile: Mixture, added: dict[Paint, float]) -> Mixture:
    """Return a pile with paints added to it."""
    return together([*zip(pile.paints, pile.amounts, strict=True), *added.items()], pile.view)
