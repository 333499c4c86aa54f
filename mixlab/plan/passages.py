"""The passages of a picture, each with its recipe, in the order in which they are mixed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from mixlab.colour.spaces import lab_to_value
from mixlab.mixing.answers import Answer
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.tables import Palette
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


def passages(places: Sequence[Place], palette: Palette, *how: Any, **more: Any) -> list[Passage]:
    """Return the passages with their recipes, as they were given.

    Each gets the recipe that it would get by itself. Darks come first (common practice, no source):
    the eye judges the lights against them.

    Parameters
    ----------
    places : under one view
    palette, how, more : as in :func:`mixlab.mixing.recipes.find_recipe`

    Raises
    ------
    SearchError : for settings under which there is nothing to search
    """
    lightness = np.array([place.target.lab[0] for place in places])
    order = np.argsort(np.argsort(lightness, kind="stable")) + 1
    return [
        Passage(place, find_recipe(place.target.lab, palette, *how, view=place.target.view, **more),
                int(turn))
        for place, turn in zip(places, order, strict=True)
    ]  # fmt: skip


def in_order(some: Iterable[Passage]) -> list[Passage]:
    """Return passages in the order in which they are mixed."""
    return sorted(some, key=lambda one: one.order)
