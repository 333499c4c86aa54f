"""How much of each pile, and of each tube, a panel takes.

An area times the thickness of the paint is the paint that stays on the panel. What stays on the
palette, the knife and the brush comes to it, and what other piles take. Parts are taken for heaps
of equal size. Nothing is mixed so small that its smallest part could not be measured: of the first
mix of a pale tint some is left over.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixlab.arrays import Array
from mixlab.errors import PhotoError
from mixlab.picture.piles import Pile, Piles

LAID = {"thin": 0.05, "usual": 0.15, "impasto": 0.5}
"""Thickness of paint by name [mm]; common practice, no source."""

WASTE = 0.3
"""What stays on palette, knife and brush, as a share of what is on the panel; common practice, no
source."""

SMALLEST = 0.05
"""Least paint that a knife measures, a peppercorn of it [ml]; common practice, no source."""

BORE = 8.0
"""Width of the string that a tube lets out [mm]; common practice, no source."""

CONTENT = 37.0
"""What a usual tube holds [ml]; from memory."""

_PANEL = (2.0, 500.0)  # cm
_THICK = (0.01, 5.0)  # mm


@dataclass(frozen=True, eq=False)
class Amounts:
    """Paint for a panel.

    Attributes
    ----------
    panel : width and height [cm]
    thickness : of the paint [mm]
    on_panel : (n,), what lies on the panel of each mass [ml]
    own : (n,), that with what is wasted [ml]
    ml : (n,), of each pile in all, with what other piles take of it
    squeeze : of each tube, by id [ml]
    bore, content : of a tube [mm], [ml]
    """

    panel: tuple[float, float]
    thickness: float
    on_panel: Array
    own: Array
    ml: Array
    squeeze: dict[str, float]
    bore: float = BORE
    content: float = CONTENT

    @property
    def strings(self) -> dict[str, float]:
        """Length of the string of each tube, by id [cm]."""
        across = math.pi * (self.bore / 20) ** 2
        return {id: ml / across for id, ml in self.squeeze.items()}

    @property
    def of_a_tube(self) -> dict[str, float]:
        """Share of a tube's content, by id: above 1 it takes more than one tube."""
        return {id: ml / self.content for id, ml in self.squeeze.items()}


def checked(panel: tuple[float, float], thickness: float, bore: float, content: float) -> None:
    """Refuse measures that make no sense; PhotoError."""
    for what, number, (low, high), unit in (
        ("panel", panel[0], _PANEL, "cm"), ("panel", panel[1], _PANEL, "cm"),
        ("thickness", thickness, _THICK, "mm"), ("bore", bore, (1.0, 50.0), "mm"),
        ("tube", content, (1.0, 2000.0), "ml"),
    ):  # fmt: skip
        if not low <= number <= high:
            raise PhotoError(f"{what}: {number:g} {unit}; {low:g} to {high:g} {unit} make sense")


def amounts_of(
    piles: Piles, shares: Sequence[float], panel: tuple[float, float] = (30.0, 40.0),
    thickness: float = LAID["usual"], bore: float = BORE, content: float = CONTENT,
) -> Amounts:  # fmt: skip
    """Return how much of each pile and tube a panel takes.

    Parameters
    ----------
    piles : n of them
    shares : (n,), of the panel that each covers, 0..1
    panel : width and height [cm]
    thickness : of the paint [mm]
    bore, content : of a tube [mm], [ml]

    Raises
    ------
    PhotoError : for measures that make no sense
    """
    checked(panel, thickness, bore, content)
    on_panel = np.array(shares) * panel[0] * panel[1] * thickness / 10
    own = on_panel * (1 + WASTE)
    ml, squeeze = own.copy(), dict.fromkeys(piles.tubes, 0.0)
    for mass in reversed(piles.mixing_order):  # children before parents
        pile = piles.piles[mass]
        ml[mass] = max(ml[mass], SMALLEST / pile.smallest_share)
        part = ml[mass] / pile.total
        for id, parts in pile.add.items():
            squeeze[id] += parts * part
        for id, over in left_over(pile, ml[mass]).items():
            squeeze[id] += over
        if pile.parent is not None:
            ml[pile.parent] += pile.from_parts * part
    return Amounts(panel, thickness, on_panel, own, ml, squeeze, bore, content)


def left_over(pile: Pile, ml: float) -> dict[str, float]:
    """Return what is left of the first mix of so much of a pile, of each tube by id [ml]."""
    if pile.two_steps is None:
        return {}
    first, taken = pile.two_steps.first.shares, pile.two_steps.taken
    used = ml * taken / (taken + sum(pile.two_steps.parts))
    over = max(SMALLEST / min(share for share in first.values() if share) - used, 0.0)
    return {id: over * share for id, share in first.items()}
