"""The passages of a picture, each with its recipe, in the order in which they are mixed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_value
from mixlab.mixing.answers import Answer
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.tables import Palette
from mixlab.palette.family import Family, family
from mixlab.targets.places import Place


@dataclass(frozen=True, eq=False)
class Passage:
    """A passage of a picture and what mixes it.

    Attributes
    ----------
    place : what it is called, its colour and where it lies
    answer : what was found for it
    order : its turn to be mixed, from 1: darks first
    """

    place: Place
    answer: Answer
    order: int

    @property
    def values(self) -> tuple[float, float]:
        """Munsell value of what is wanted and of its mix."""
        labs = np.array([self.place.target.lab, self.answer.recipe.lab])
        wanted, mixed = lab_to_value(labs, self.answer.view)
        return float(wanted), float(mixed)


APART = 0.3
"""Of two passages so far apart in Munsell value the darker is mixed the darker."""


def passages(
    places: Sequence[Place], palette: Palette, tolerance: float = TOLERANCE, *how: Any, **more: Any
) -> list[Passage]:
    """Return the passages with their recipes, as they were given.

    Each gets the recipe that it would get by itself, or a nearer one where it and another would
    change their order of value. Darks come first (common practice, no source): the eye judges the
    lights against them.

    Parameters
    ----------
    places : under one view
    palette, tolerance, how, more : as in :func:`mixlab.mixing.recipes.find_recipe`

    Raises
    ------
    SearchError : for settings under which there is nothing to search
    """

    def ask(place: Place, within: float) -> Answer:
        found = find_recipe(
            place.target.lab, palette, within, *how, view=place.target.view, **more
        )
        return replace(found, tolerance=tolerance)

    made = _ordered(places, [ask(place, tolerance) for place in places])
    for nearer in (tolerance / 2, tolerance / 4):
        values = np.array([one.values for one in made]).reshape(-1, 2)
        wanted, mixed = values.T
        swapped = (wanted[:, None] < wanted - APART) & (mixed[:, None] >= mixed)
        rows = set(np.flatnonzero(swapped.any(axis=0) | swapped.any(axis=1)).tolist())
        if not rows:
            break
        again = {i: ask(made[i].place, nearer) for i in rows}
        made = [
            replace(one, answer=again[i]) if i in rows and again[i].in_reach else one
            for i, one in enumerate(made)
        ]
    return made


def from_a_family(
    places: Sequence[Place], palette: Palette, tolerance: float = TOLERANCE, max_tubes: int = 4, *,
    parts: int = 12, must: Sequence[str] = (), must_not: Sequence[str] = (),
) -> tuple[list[Passage], Family]:  # fmt: skip
    """Return the passages with recipes from as few tubes as hold them all, and those tubes.

    So they sit together. What the whole palette does not reach comes near to the mix that the
    palette has for it.

    Parameters
    ----------
    places : under one view
    palette, tolerance, max_tubes, parts : as in :func:`mixlab.palette.family.family`
    must, must_not : ids or Colour Index names of tubes that belong to it, or cannot

    Raises
    ------
    SearchError, ReachError : for settings under which there is nothing to search
    """
    barred = {palette[name].id for name in must_not}
    allowed = palette.table.palette([i for i in palette.ids if i not in barred], palette.name)
    labs, view = [place.target.lab for place in places], places[0].target.view
    held = family(labs, allowed, [place.name for place in places], tolerance, max_tubes,
                  parts=parts, required=must, view=view)  # fmt: skip
    answers = []
    for lab, inside, answer, recipe in zip(
        labs, held.in_reach, held.answers, held.recipes, strict=True
    ):
        if not inside:
            own = find_recipe(lab, held.palette, tolerance, max_tubes, parts=parts, view=view,
                              alternatives=0)  # fmt: skip
            answer = replace(own, in_few_parts=recipe, in_finer_parts=None)
        answers.append(answer)
    return _ordered(places, answers), held


def _ordered(places: Sequence[Place], answers: Sequence[Answer]) -> list[Passage]:
    lightness = np.array([place.target.lab[0] for place in places])
    order = np.argsort(np.argsort(lightness, kind="stable")) + 1
    return [
        Passage(place, answer, int(turn))
        for place, answer, turn in zip(places, answers, order, strict=True)
    ]


def in_order(some: Iterable[Passage]) -> list[Passage]:
    """Return passages in the order in which they are mixed."""
    return sorted(some, key=lambda one: one.order)
