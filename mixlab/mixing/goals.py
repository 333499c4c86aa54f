"""What a pile is to become: a colour, what of it was asked for, and how near to it passes."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE, ciede2000, difference
from mixlab.colour.munsell import greatest_chroma, parse_munsell
from mixlab.colour.spaces import Viewing, lab_to_munsell, lab_to_value, munsell_to_lab
from mixlab.errors import LadderError, MunsellError
from mixlab.paint.mixtures import Mixture

WARM_HUE = 50.0
"""CIELAB hue toward which a colour is warmed, an orange [degrees]; cooled, it goes away from it."""

NEUTRAL_CHROMA = 0.5
"""Munsell chroma below which a mix has no hue that could be kept while its chroma is raised."""

ASKED, KEPT = 2.0, (1.0, 0.5, 0.75)
"""What a miss counts in value, chroma and hue [per CIEDE2000]: where that was asked for, and where
it was only to be kept. Value is kept first: common practice, no source."""

LOOSER = (2.0, 4.0, 2.0)
"""How much wider the tolerances of value, chroma and hue are in a painter's second choice; common
practice, no source."""

TURNED = 4.0
"""Hue part of CIEDE2000 from which a colour is of another hue."""

_MARGIN = 1.3


@dataclass(frozen=True)
class Tolerances:
    """How near an adjusted mix must come to its goal.

    Attributes
    ----------
    value, chroma : Munsell steps
    hue : hue part of CIEDE2000
    miss : CIEDE2000, from a colour that was named
    """

    value: float = 0.15
    chroma: float = 0.3
    hue: float = 1.5
    miss: float = TOLERANCE


@dataclass(frozen=True, eq=False)
class Goal:
    """The colour that is wanted of the pile.

    Attributes
    ----------
    words : what is to be done to it, e.g. ("knock back",)
    munsell : hue number, value and chroma (3,)
    lab : CIELAB (3,) under `view`
    view : light, observer and finish
    within : how near to it passes
    kind : "munsell"; "shift" where the mix is warmed or cooled, and `within.chroma` is in CIEDE2000
        as `within.hue` is; "colour" where a colour was named, for which `within.miss` holds alone
    weights : what misses of value, chroma and hue count (3,); see :data:`ASKED`
    loosened : whether it is a :meth:`looser` one
    """

    words: tuple[str, ...]
    munsell: Array
    lab: Array
    view: Viewing
    within: Tolerances
    kind: str = "munsell"
    weights: tuple[float, ...] = (ASKED, 1.0, 1.0)
    loosened: bool = False

    def off(self, labs: ArrayLike) -> Array:
        """Return how far CIELAB colours (..., 3) are from the goal, each positive for more.

        Value and chroma in Munsell steps, hue as the hue part of CIEDE2000: (..., 3).
        """
        labs = np.asarray(labs, dtype=float)
        hvc = lab_to_munsell(labs, self.view)
        hue = difference(self.lab, labs)[..., 2]
        return np.stack([hvc[..., 1] - self.munsell[1], hvc[..., 2] - self.munsell[2], hue], -1)

    def holds(self, labs: ArrayLike) -> NDArray[np.bool_]:
        """Return whether value, chroma and hue of CIELAB colours (..., 3) are within: (..., 3)."""
        labs, within = np.asarray(labs, dtype=float), self.within
        value = np.abs(lab_to_value(labs, self.view) - self.munsell[1]) <= within.value
        _, pure, turn = np.moveaxis(np.abs(difference(self.lab, labs)), -1, 0)
        hue, chroma = turn <= within.hue, pure <= within.chroma
        if self.kind != "shift":
            # Munsell chroma takes the longest; a step of it is less than ten of C*
            near = value & hue & (pure <= 10 * within.chroma)
            chroma = np.zeros(near.shape, dtype=bool)
            chroma[near] = np.abs(self.off(labs[near])[:, 1]) <= within.chroma
        return np.stack([value, chroma, hue], axis=-1)

    def met(self, labs: ArrayLike) -> NDArray[np.bool_]:
        """Return whether CIELAB colours (..., 3) are within the tolerances: (...,)."""
        if self.kind == "colour":
            return np.asarray(ciede2000(self.lab, labs) <= self.within.miss)
        return np.asarray(self.holds(labs).all(axis=-1))

    def harm(self, labs: ArrayLike) -> Array:
        """Return how ill CIELAB colours (..., 3) serve the goal (...,): weighted CIEDE2000.

        A green that has turned brown serves nobody, so that hue beyond :data:`TURNED` weighs more.
        """
        parts = np.abs(difference(self.lab, labs))
        turned = np.maximum(parts[..., 2] - TURNED, 0)
        return np.asarray(np.linalg.norm(parts * self.weights, axis=-1) + ASKED * turned)

    def looser(self) -> "Goal":
        """Return the goal with what is only kept kept less well: a painter's second choice.

        Chroma least: white and black take it, and who warms a blue does not mind.
        """
        value, chroma, hue = (
            1 if weight == ASKED else wider
            for weight, wider in zip(self.weights, LOOSER, strict=True)
        )
        if self.kind == "shift":
            value, chroma, hue = 2, 3, 1.5
        within = self.within
        return replace(self, loosened=True, within=replace(
            within, value=value * within.value, chroma=chroma * within.chroma, hue=hue * within.hue
        ))  # fmt: skip

    @property
    def radius(self) -> float:
        """CIEDE2000 from the goal beyond which nothing is within the tolerances."""
        within = self.within
        if self.kind == "colour":
            return within.miss
        shift = self.kind == "shift"
        steps = np.array([(v, c) for v in (-1, 0, 1) for c in (-1, 0, 1)])
        chroma = 0.0 if shift else within.chroma
        edge = self.munsell + np.insert(steps * (within.value, chroma), 0, 0.0, axis=1)
        edge[:, 2] = np.maximum(edge[:, 2], 0)
        miss = ciede2000(self.lab, munsell_to_lab(edge, self.view)).max()
        return float(_MARGIN * math.hypot(miss, within.hue, within.chroma if shift else 0.0))


# --- the goal -----------------------------------------------------------------------------------


def goal_of(mix: Mixture, asked: dict[str, Any], within: Tolerances) -> Goal:
    """Return the goal of a change; LadderError if it is none or cannot be.

    `asked` holds what :func:`mixlab.mixing.adjust.adjust` takes of it, by name.
    """
    given = {name: amount for name, amount in asked.items() if amount is not None}
    if not given:
        raise LadderError("no change is asked; ask for a hue, for chroma or value (or by how much "
                          "of it), for warmer or cooler, or for a colour")
    twice = [{"chroma", "chroma by"}, {"value", "value by"}]
    alone = {"to", "warmer", "cooler"} & given.keys()
    if (alone and len(given) > 1) or any(pair <= given.keys() for pair in twice):
        raise LadderError(f"{' and '.join(given)} are asked at once; hue, one of chroma and chroma "
                          "by, and one of value and value by go together, the rest alone")
    for name, amount in given.items():
        if name not in ("to", "hue") and not math.isfinite(amount):
            raise LadderError(f"{name} {amount}: it must be a finite number")
    if "to" in given:
        lab = np.asarray(given["to"], dtype=float)
        if lab.shape != (3,) or not np.isfinite(lab).all():
            raise LadderError("the colour to change to must be three finite numbers L*, a*, b*")
        return Goal(("change",), lab_to_munsell(lab, mix.view), lab, mix.view, within, "colour")
    for name, word, sign in (("warmer", "warm", 1), ("cooler", "cool", -1)):
        if (amount := given.get(name)) is not None:
            if not 0 < amount <= 50:
                raise LadderError(f"{name} by {amount:g} CIEDE2000: it must be above 0, to 50")
            lab = _shifted(mix.lab, sign * amount)
            near = min(within.hue, amount / 3)  # nobody is served by less than most of the shift
            within = replace(within, chroma=near, hue=near)
            return Goal((word,), lab_to_munsell(lab, mix.view), lab, mix.view, within, "shift")
    return _munsell_goal(mix, given, within)


def _munsell_goal(mix: Mixture, given: dict[str, Any], within: Tolerances) -> Goal:
    """Return the goal in Munsell's attributes; what is not given is kept."""
    own = lab_to_munsell(mix.lab, mix.view)
    hue, value, chroma = own
    if "hue" in given:
        hue = _hue(given["hue"])
    value = given.get("value", value) + given.get("value by", 0.0)
    chroma = given.get("chroma", chroma) + given.get("chroma by", 0.0)
    if not 0 < value < 10:
        raise LadderError(f"value {value:.1f}: it must be between 0 (black) and 10 (white)")
    if chroma < 0:
        raise LadderError(f"chroma {chroma:.1f}: the mix has {own[2]:.1f}, and none is below 0")
    if "hue" not in given and chroma > own[2] and own[2] < NEUTRAL_CHROMA:
        raise LadderError(
            f"a mix of chroma {own[2]:.1f} has no hue in which to raise it; name the hue, warm or "
            "cool it, or find a recipe for the colour"
        )
    greatest = float(greatest_chroma(hue, value))
    if chroma > max(greatest, own[2]):
        raise LadderError(
            f"chroma {chroma:.1f} at value {value:.1f} is beyond the Munsell system; "
            f"in this hue it ends at {greatest:.0f}"
        )
    changes = {
        "hue": "turn",
        "value": "lighten" if value > own[1] else "darken",
        "chroma": "clean up" if chroma > own[2] else "knock back",
    }
    asked = {name.split()[0] for name in given}
    weights = tuple(
        ASKED if name in asked else kept
        for name, kept in zip(("value", "chroma", "hue"), KEPT, strict=True)
    )
    words = tuple(word for name, word in changes.items() if name in asked)
    wanted = np.array([hue, value, chroma])
    lab = munsell_to_lab(wanted, mix.view)
    return Goal(words, wanted, lab, mix.view, within, weights=weights)


def _hue(text: str) -> float:
    """Return the hue number of "5GY"."""
    try:
        return float(parse_munsell(f"{text} 5/1")[0])
    except MunsellError:
        raise LadderError(f"hue {text!r}: write it as 5GY or 2.5YR, and no more") from None


def _shifted(lab: Array, amount: float) -> Array:
    """Return CIELAB (3,) moved along the warm axis by so much CIEDE2000, at the same L*."""
    turn = math.radians(WARM_HUE)
    along = math.copysign(1.0, amount) * np.array([0.0, math.cos(turn), math.sin(turn)])
    far = np.linspace(0, 200, 4001)
    gone = ciede2000(lab, lab + far[:, None] * along)
    return np.asarray(lab + np.interp(abs(amount), np.maximum.accumulate(gone), far) * along)
