"""How two colours lie apart, and what a colour is, in words."""

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ways_apart
from mixlab.colour.spaces import Viewing, lab_to_munsell

WORDS = ("too light", "too dark", "too high in chroma", "too low in chroma", "of another hue")
"""What a target is, against a mix that does not reach it."""


def _sizes(target: Array, mix: Array) -> Array:
    """Return how much of each of :data:`WORDS` the targets (..., 3) are: (..., 5)."""
    light, chroma, hue = np.moveaxis(ways_apart(mix, target), -1, 0)
    return np.stack([light, -light, chroma, -chroma, np.abs(hue)], axis=-1)


def strongest(targets: Array, mixes: Array) -> Indices:
    """Return which of :data:`WORDS` (n,) says best what targets (n, 3) have that mixes lack."""
    return np.asarray(_sizes(targets, mixes).argmax(axis=-1))


def directions(target: Array, mix: Array) -> tuple[str, ...]:
    """Return in words what the target (3,) has that the mix (3,) lacks, the greatest first."""
    size = _sizes(target, mix)
    return tuple(
        WORDS[i] for i in np.argsort(-size, kind="stable") if size[i] > 0.3 * size.max()
    )


SEEN = 1.0
"""A difference of one kind that is told in words [CIEDE2000]; our choice, no source."""


def beside(lab: Array, other: Array) -> tuple[str, ...]:
    """Return in words how a colour (3,) looks beside another, the greatest first.

    Lighter or darker; higher or lower in chroma; redder, yellower, greener or bluer, by which of a*
    and b* its hue moves most. Nothing where no difference reaches :data:`SEEN`.
    """
    light, chroma, hue = (float(v) for v in ways_apart(other, lab))
    turn = (lab[1:] - other[1:]) - (np.hypot(*lab[1:]) - np.hypot(*other[1:])) * other[1:] / max(
        np.hypot(*other[1:]), 1e-9
    )
    at = int(np.abs(turn).argmax())
    toward = (("greener", "redder"), ("bluer", "yellower"))[at][int(turn[at] > 0)]
    sizes = (
        (abs(light), "lighter" if light > 0 else "darker"),
        (abs(chroma), "higher in chroma" if chroma > 0 else "lower in chroma"),
        (abs(hue), toward),
    )
    return tuple(word for size, word in sorted(sizes, reverse=True) if size >= SEEN)


# by Munsell's three attributes; bounds are common practice, no source
_LIGHTNESS = ((2.0, "very dark"), (4.0, "dark"), (6.0, ""), (8.0, "light"), (10.1, "pale"))
_HUES = ("red", "orange", "yellow", "yellow green", "green", "blue green", "blue", "blue",
         "violet", "purple")  # fmt: skip
"""For each of the ten hue families of Munsell."""
_NEUTRAL, _GREYED = 0.8, 2.0  # chroma below which a colour is grey, or a grey of its hue
_EARTH = 8.0  # chroma below which an orange or yellow is an earth


def named(lab: Array, view: Viewing) -> str:
    """Return what a painter would call a colour (3,), CIELAB, by value and hue: "dark green"."""
    hue, value, chroma = (float(number) for number in lab_to_munsell(lab, view))
    lightness = next(word for most, word in _LIGHTNESS if value < most)
    family = int(hue % 100 // 10)
    word = _HUES[family]
    if chroma < _NEUTRAL:
        return "white" if value >= 9 else f"{lightness} grey".strip() if value >= 1 else "black"
    if chroma < _GREYED:
        word = ("brown" if family == 1 else word) + " grey"
    elif family == 1 and (value < 4 or (value < 6 and chroma < _EARTH)):
        word = "red brown" if hue < 14 else "brown"
    elif family == 2 and value < 6 and chroma < _EARTH:
        word = "olive"
    elif family in (1, 2) and chroma < _EARTH:
        word = "ochre" if value < 8 else "cream"
    elif family in (0, 9) and value > 6:
        word = "pink"
    return f"{lightness} {word}".strip()
