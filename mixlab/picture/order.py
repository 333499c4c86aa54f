"""The order of painting: darks, then the middle, lights and accents last.

The darks come first, because the eye judges the lights against them. Within each stage what is far
comes before what is near, where the painter says so, and big before small. All of it is common
practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixlab.colour.spaces import Viewing, lab_to_value
from mixlab.errors import PhotoError
from mixlab.picture.masses import Mass, Masses
from mixlab.picture.piles import Piles
from mixlab.picture.values import Values

STAGES = ("darks", "middle", "lights", "accents")

CAUTIONS = (
    "In oils, lean under fat: the first layers with little oil or a little solvent, each later one "
    "with no less oil than what it lies on.",
    "Thin under thick: the darks thin, the lights with body.",
)
"""Of the trade, for oils; common practice, no source."""


@dataclass(frozen=True, eq=False)
class Order:
    """What goes down after what.

    Attributes
    ----------
    numbers : of the masses, then of the accents, in the order of painting
    stages : one of :data:`STAGES` for each of those
    keep : numbers of the piles to keep for restating darks, the darkest first
    """

    numbers: tuple[int, ...]
    stages: tuple[str, ...]
    keep: tuple[int, ...]


def order_of(
    masses: Masses, piles: Piles, values: Values, view: Viewing, far: Sequence[str] = ()
) -> Order:
    """Return the order in which masses and accents are painted.

    Parameters
    ----------
    masses : of the picture
    piles : for masses, then accents
    values : the picture in a few values; a shadow of the darker half of them is a dark, what is
        in the light and of the lightest is a light
    far : numbers or names of masses that lie far away, the farthest first

    Raises
    ------
    PhotoError : if no mass bears such a number or name
    """
    away = distances(masses, far)
    every = [*masses.masses, *masses.accents]
    value = lab_to_value(np.array([mass.lab for mass in every]), view)
    half, top = values.bounds[len(values.levels) // 2 - 1], values.bounds[-1]

    def stage(mass: Mass) -> int:
        if mass.accent:
            return 3
        if not mass.light and value[mass.number - 1] < half:
            return 0
        # a far light, as the sky, is laid in early and thin
        light = mass.light and value[mass.number - 1] > top
        return 2 if light and mass.number not in away else 1

    def turn(mass: Mass) -> tuple[int, int, float]:
        return stage(mass), away.get(mass.number, len(every)), -mass.share

    ordered = sorted(every, key=turn)
    return Order(
        tuple(mass.number for mass in ordered), tuple(STAGES[stage(mass)] for mass in ordered),
        _kept(masses, piles),
    )  # fmt: skip


def distances(masses: Masses, far: Sequence[str]) -> dict[int, int]:
    """Return the rank of each mass that lies far away, 0 the farthest, by its number."""
    every = [*masses.masses, *masses.accents]
    found: dict[int, int] = {}
    for rank, text in enumerate(far):
        mine = [mass.number for mass in every
                if text.strip().lower() in (str(mass.number), mass.name.lower())]  # fmt: skip
        if not mine:
            known = ", ".join(f"{mass.number} {mass.name}" for mass in every)
            raise PhotoError(f"no mass is {text!r}; name those far away by number or name: {known}")
        for number in mine:
            found.setdefault(number, rank)
    return found


def _kept(masses: Masses, piles: Piles) -> tuple[int, ...]:
    """Return the piles that restate the darks: the darkest, and what its family grows out of."""
    dark = [mass.number for mass in masses.masses if not mass.light]
    if not dark:
        return ()
    mothers = [number for number in dark if piles.children(number - 1)]
    return tuple(dict.fromkeys([dark[0], *mothers]))[:3]
