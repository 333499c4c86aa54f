"""Adjusting a mix on the palette: knock it back, clean it up, lighten, darken, warm or cool it.

Paint cannot be taken out of a pile, so that only additions are looked for: the fewest paints and,
among those, the least paint. A goal is a Munsell colour: what is not asked to change, of value, hue
and chroma, is kept. An addition passes when value and chroma come within a tolerance in Munsell
steps, and hue within one in CIEDE2000, of which the hue part fades as the colour nears neutral;
degrees of hue would tell one grey from another there.

For every set of one, two and three paints :mod:`mixlab.nearest.exact` gives the very nearest mix
that holds the pile; only sets that come near enough are looked at in measured parts. Of those,
every addition to the pile as it stands is tried, the least first, up to a million mixes; then those
around the exact one, in quarter parts to a pile taken several times over.

References
----------
.. [1] ASTM D1535, the Munsell system; hue, value and chroma are its.
.. [2] Ou, Luo, Woodcock, Wright, "A study of colour emotion and colour preference. Part I: colour
       emotions for single colours", Color Res. Appl. 29 (2004) 232-240: how warm a colour looks
       grows with C*^1.07 cos(h - 50 degrees). The 50 degrees are quoted from memory.
"""


import math
from dataclasses import dataclass, replace
from functools import cached_property

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import TOLERANCE, ciede2000, difference, ways_apart
from mixlab.colour.spaces import lab_to_lch
from mixlab.errors import LadderError
from mixlab.mixing.answers import VALUE_FIRST, WORTH, Answer
from mixlab.mixing.goals import WARM_HUE, Goal, Tolerances, goal_of
from mixlab.mixing.pile_search import PileSearch
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette

SMALLEST_PART = 0.25
"""The smallest part that is measured with a knife."""

LARGEST = 4.0
"""Greatest addition, in times of the pile; more, and a new pile is the shorter way."""

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
    goal : what is wanted of it
    within : the tolerances
    within_tolerance : whether the adjusted mix is within them
    times : how many times the mix as given makes the pile, so that the additions can be measured
    parts : of each paint added to that pile, by id; empty where nothing helps, or is needed
    mixture : the adjusted mix
    beyond : where an addition would do it, but one of so many times the pile; else None
    fresh_recipe : where no addition gets there: the recipe of the goal from the tubes alone
    by_kinds : the nearest with nothing added, and with one, two, .. kinds of paint, value counting
        for more; the same `within_tolerance` tells whether each is within the tolerances
    """

    start: Mixture
    goal: Goal
    within: Tolerances
    within_tolerance: bool
    times: int
    parts: dict[str, float]
    mixture: Mixture
    beyond: float | None = None
    fresh_recipe: Answer | None = None
    by_kinds: "tuple[Adjustment, ...]" = ()

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
        words = []
        if abs(value) > self.within.value:
            words.append(f"{abs(value):.1f} value too {'light' if value > 0 else 'dark'}")
        if not self._chroma_holds:
            words.append(f"{abs(chroma):.1f} chroma too {'high' if chroma > 0 else 'low'}")
        if abs(hue) > self.goal.hue_within(self.within):
            degrees = "" if math.isnan(self.turn) else f" ({abs(self.turn):.0f} degrees)"
            words.append(f"{abs(hue):.1f} CIEDE2000 off in hue{degrees}")
        return tuple(words)

    @property
    def _chroma_holds(self) -> bool:
        if self.goal.asked is None:
            return abs(float(self.off[1])) <= self.within.chroma
        part = difference(self.goal.lab, self.mixture.lab)[1]
        return abs(float(part)) <= self.goal.hue_within(self.within)

    @cached_property
    def additions(self) -> tuple[PileAddition, ...]:
        """The additions in order, the one that moves the pile least first."""
        pile = self.pile
        chosen = {paint.id: paint for paint in self.mixture.paints if paint.id in self.parts}

        def moved(id: str) -> tuple[float, str]:
            after = _joined(pile, {chosen[id]: self.parts[id]})
            return float(ciede2000(pile.lab, after.lab)), id

        done: dict[Paint, float] = {}
        steps = []
        for id in sorted(chosen, key=moved):
            paint, parts = chosen[id], self.parts[id]
            done[paint] = parts
            alone = _joined(pile, {paint: parts})
            steps.append(PileAddition(paint, parts, effect(pile, alone), _joined(pile, done)))
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
    chroma: float | None = None,
    chroma_by: float | None = None,
    value: float | None = None,
    value_by: float | None = None,
    warmer: float | None = None,
    cooler: float | None = None,
    within: Tolerances | None = None,
    smallest_part: float = SMALLEST_PART,
    largest: float = LARGEST,
    kinds: int = MOST_KINDS,
) -> Adjustment:
    """Return the smallest addition that changes a mix as asked and keeps the rest of its colour.

    Parameters
    ----------
    mix : what is on the palette, seen under its light
    palette : the tubes that may be added
    chroma, chroma_by : to this Munsell chroma, or by so much; value and hue are kept
    value, value_by : to this Munsell value, or by so much; chroma and hue are kept
    warmer, cooler : by so much [CIEDE2000], toward orange or away from it (:data:`WARM_HUE`);
        value is kept
    within : tolerances; :class:`Tolerances` as they are unless told
    smallest_part : the smallest part that is measured, in the unit of the mix's parts
    largest : greatest addition, in times of the pile
    kinds : greatest number of paints added, 1 to 3

    Returns
    -------
    The fewest paints that do it; with so many, the pile taken the fewest times over in which they
    can be measured; in that, the least paint. Where none does it, the least harmful: value first,
    then hue, and as much of the chroma as can be had.

    Raises
    ------
    LadderError : for a change that is none, or cannot be: none is asked or too many, the colour
        lies outside the Munsell system, or the chroma of a neutral is to be raised
    TableError : if the paints come from tables that cannot be mixed
    """
    goal = goal_of(mix, chroma, chroma_by, value, value_by, warmer, cooler)
    within = within or Tolerances()
    if not all(math.isfinite(t) and t > 0 for t in (within.value, within.chroma, within.hue)):
        raise LadderError("the tolerances of value, chroma and hue must be above zero")
    if not (0.01 <= smallest_part <= 100):
        raise LadderError(f"{smallest_part:g} as the smallest part: it must be from 0.01 to 100")
    if not (0 < largest <= 100):
        raise LadderError(f"an addition of {largest:g} times the pile: it must be above 0, to 100")
    if kinds not in range(1, MOST_KINDS + 1):
        raise LadderError(f"{kinds} kinds of paint added: it must be 1 to {MOST_KINDS}")
    _joined(mix, {palette.paints[0]: smallest_part})  # refuses paints that cannot be mixed
    if goal.met(mix.lab[None], within)[0]:
        return Adjustment(mix, goal, within, True, 1, {}, mix)
    search = PileSearch.of(mix, palette, goal, within, smallest_part, largest)
    found, beyond = search.least(min(kinds, len(palette)))
    tried = tuple(_adjusted(search, *one) for one in search.nearest(min(kinds, len(palette))))
    if found is not None:
        return replace(_adjusted(search, *found), by_kinds=tried)
    # a further kind of paint must be worth it, the first one too
    harm = [float(ciede2000(goal.lab, one.mixture.lab, kl=VALUE_FIRST)) for one in tried]
    best = next(one for one, h in zip(tried, harm, strict=True) if h <= min(harm) + WORTH)
    fresh_recipe = find_recipe(goal.lab, palette, TOLERANCE, min(4, len(palette)), view=mix.view)
    return replace(best, beyond=beyond, fresh_recipe=fresh_recipe, by_kinds=tried)


def _adjusted(
    search: PileSearch, times: int, paints: Indices, parts: Array
) -> Adjustment:
    """Return the adjustment of so many parts added to the mix taken so many times over."""
    added = {
        search.palette.paints[i]: float(n) for i, n in zip(paints, parts, strict=True) if n > 0
    }
    mixture = _joined(_times(search.mix, times), added)
    there = bool(search.goal.met(mixture.lab[None], search.within)[0])
    by_id = {paint.id: n for paint, n in added.items()}
    return Adjustment(search.mix, search.goal, search.within, there, times, by_id, mixture)


def _times(mix: Mixture, times: int) -> Mixture:
    return replace(mix, amounts=tuple(times * n for n in mix.amounts)) if times != 1 else mix


def _joined(pile: Mixture, added: dict[Paint, float]) -> Mixture:
    """Return a pile with paints added to it."""
    paints = {paint.id: paint for paint in (*pile.paints, *added)}
    amounts = pile.parts
    for paint, parts in added.items():
        amounts[paint.id] = amounts.get(paint.id, 0.0) + parts
    return Mixture(tuple(paints.values()), tuple(amounts[id] for id in paints), pile.view)

