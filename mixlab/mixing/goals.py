"""What a pile is to become: a Munsell colour, and how near to it passes."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.munsell import greatest_chroma
from mixlab.colour.spaces import Viewing, lab_to_munsell, lab_to_value, munsell_to_lab
from mixlab.errors import LadderError
from mixlab.paint.mixtures import Mixture

WARM_HUE = 50.0
"""CIELAB hue toward which a colour is warmed, an orange [degrees]; cooled, it goes away from it."""

NEUTRAL_CHROMA = 0.5
"""Munsell chroma below which a mix has no hue that could be kept while its chroma is raised."""
_MARGIN = 1.3


@dataclass(frozen=True)
class Tolerances:
    """How near an adjusted mix must come to its goal.

    Attributes
    ----------
    value, chroma : Munsell steps
    hue : hue part of CIEDE2000
    """

    value: float = 0.15
    chroma: float = 0.3
    hue: float = 1.5


@dataclass(frozen=True, eq=False)
class Goal:
    """The colour that is wanted of the pile.

    Attributes
    ----------
    words : what is to be done to it, e.g. ("knock back",)
    munsell : hue number, value and chroma (3,)
    lab : CIELAB (3,) under `view`
    view : light, observer and finish
    asked : how far it is to be warmed or cooled [CIEDE2000]; None for another change
    """

    words: tuple[str, ...]
    munsell: Array
    lab: Array
    view: Viewing
    asked: float | None = None

    def off(self, labs: ArrayLike) -> Array:
        """Return how far CIELAB colours (..., 3) are from the goal, each positive for more.

        Value and chroma in Munsell steps, hue as the hue part of CIEDE2000: (..., 3).
        """
        labs = np.asarray(labs, dtype=float)
        hvc = lab_to_munsell(labs, self.view)
        hue = difference(self.lab, labs)[..., 2]
        return np.stack([hvc[..., 1] - self.munsell[1], hvc[..., 2] - self.munsell[2], hue], -1)

    def met(self, labs: ArrayLike, within: Tolerances) -> NDArray[np.bool_]:
        """Return whether CIELAB colours (n, 3) are within the tolerances: (n,).

        Warmed or cooled, a colour may be off in its chroma and hue parts of CIEDE2000 by the
        tolerance of hue, but not by more than a third of the shift that was asked.
        """
        labs = np.asarray(labs, dtype=float)
        good = np.abs(lab_to_value(labs, self.view) - self.munsell[1]) <= within.value
        parts = np.abs(difference(self.lab, labs))
        good &= parts[..., 2] <= self.hue_within(within)
        if self.asked is not None:
            return np.asarray(good & (parts[..., 1] <= self.hue_within(within)))
        rows = np.flatnonzero(good)  # chroma last: it takes the longest
        if rows.size:
            good[rows] = np.abs(self.off(labs[rows])[:, 1]) <= within.chroma
        return np.asarray(good)

    def hue_within(self, within: Tolerances) -> float:
        """Return how far the hue part of CIEDE2000 may be off."""
        return within.hue if self.asked is None else min(within.hue, self.asked / 3)

    def radius(self, within: Tolerances) -> float:
        """Return the CIEDE2000 from the goal beyond which nothing is within the tolerances."""
        steps = np.array([(v, c) for v in (-1, 0, 1) for c in (-1, 0, 1)])
        edge = self.munsell + np.insert(steps * (within.value, within.chroma), 0, 0.0, axis=1)
        edge[:, 2] = np.maximum(edge[:, 2], 0)
        miss = ciede2000(self.lab, munsell_to_lab(edge, self.view)).max()
        pure = within.hue if self.asked is not None else 0.0
        return float(_MARGIN * math.hypot(miss, within.hue, pure))


# --- the goal -----------------------------------------------------------------------------------


def goal_of(
    mix: Mixture,
    chroma: float | None,
    chroma_by: float | None,
    value: float | None,
    value_by: float | None,
    warmer: float | None,
    cooler: float | None,
) -> Goal:
    """Return the goal of a change that was asked; LadderError if it is none or cannot be."""
    asked = {
        "chroma": chroma, "chroma by": chroma_by, "value": value, "value by": value_by,
        "warmer": warmer, "cooler": cooler,
    }  # fmt: skip
    given = [name for name, number in asked.items() if number is not None]
    if len(given) != 1:
        what = f"{' and '.join(given)} are asked at once" if given else "no change is asked"
        raise LadderError(f"{what}; ask for one of {', '.join(asked)}")
    amount = asked[given[0]]
    if amount is None or not math.isfinite(amount):
        raise LadderError(f"{given[0]} {amount}: it must be a finite number")
    hue, level, purity = map(float, lab_to_munsell(mix.lab, mix.view))
    if given[0] in ("warmer", "cooler"):
        if not 0 < amount <= 50:
            raise LadderError(f"{given[0]} by {amount:g} CIEDE2000: it must be above 0, to 50")
        lab = _shifted(mix.lab, amount if given[0] == "warmer" else -amount)
        word = "warm" if given[0] == "warmer" else "cool"
        return Goal((word,), lab_to_munsell(lab, mix.view), lab, mix.view, amount)
    if given[0].startswith("chroma"):
        wanted = amount if given[0] == "chroma" else purity + amount
        if wanted < 0:
            raise LadderError(f"chroma {wanted:.1f}: the mix has {purity:.1f}, and none is below 0")
        if wanted > purity and purity < NEUTRAL_CHROMA:
            raise LadderError(
                f"a mix of chroma {purity:.1f} has no hue in which to raise it; "
                "warm or cool it, or find a recipe for the colour"
            )
        greatest = float(greatest_chroma(hue, level))
        if wanted > max(greatest, purity):
            raise LadderError(
                f"chroma {wanted:.1f} at value {level:.1f} is beyond the Munsell system; "
                f"in this hue it ends at {greatest:.0f}"
            )
        word, munsell = ("knock back" if wanted < purity else "clean up"), (hue, level, wanted)
    else:
        wanted = amount if given[0] == "value" else level + amount
        if not 0 < wanted < 10:
            raise LadderError(f"value {wanted:.1f}: it must be between 0 (black) and 10 (white)")
        word, munsell = ("lighten" if wanted > level else "darken"), (hue, wanted, purity)
    hvc = np.array(munsell)
    return Goal((word,), hvc, munsell_to_lab(hvc, mix.view), mix.view)


def _shifted(lab: Array, amount: float) -> Array:
    """Return CIELAB (3,) moved along the warm axis by so much CIEDE2000, at the same L*."""
    turn = math.radians(WARM_HUE)
    along = math.copysign(1.0, amount) * np.array([0.0, math.cos(turn), math.sin(turn)])
    far = np.linspace(0, 200, 4001)
    gone = ciede2000(lab, lab + far[:, None] * along)
    return np.asarray(lab + np.interp(abs(amount), np.maximum.accumulate(gone), far) * along)
