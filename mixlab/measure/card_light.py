"""The light on a swatch card: its fall, cast and contrast, from places known."""


import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import adapt, rgb_to_xyz, viewing, xyz_to_lab
from mixlab.errors import CardError
from mixlab.measure.card_layout import Place, where_it_lies

_LEVEL = 10.0  # spread of the level of the picture: not known at all [logarithm]
_FIELD = 0.3  # spread of the light over the card [logarithm]
_TONES = 0.2  # spread of the picture's contrast
_REFERENCE = 0.01  # spread of a reference's reading [logarithm]

HALVES = 0.25
"""How far the light of one half of a swatch may lie from that of the other [logarithm]."""

UNEVEN, NOTED = 1.6, 1.1
"""Ratio of the greatest to the least light on the card: refused above, told above."""

STRAY = 0.12  # how far one reference may be off what the others say of the light [logarithm]
TONES = 0.35  # how far the contrast of the picture may be off, by references of unlike reflectance
_DARKEST = 0.005  # of a reference, linear; 15 of 255


@dataclass(frozen=True, eq=False)
class Reference:
    """A place of known or of common reflectance: `reflectance` is nan for the paper."""

    at: Place
    reflectance: float
    rgb: Array
    name: str = ""

    def __str__(self) -> str:
        return self.name or f"{kind_of_neutral(self.reflectance)} at {where_it_lies(self.at)}"


@dataclass(frozen=True, eq=False)
class Light:
    """The light on a card, by its references: a cast, and a smooth field about it."""

    white: Array  # (3,), linear sRGB in the picture of a perfect white in the middle of the card
    contrast: float  # of the picture's tones [true]; 1 where no two references could tell
    pivot: Array  # (3,), linear sRGB at which the contrast changes nothing
    places: Array  # (r, 2) of the references
    pull: Array  # (r, 3), what each adds to the field
    reach: float  # over which the field changes [pixels]
    ratio: float  # greatest over least light among the references; nan if none can be compared

    @classmethod
    def of(cls, file: Path, references: Sequence[Reference], size: tuple[int, int]) -> "Light":
        """Return the light by references; CardError if it is uneven, or one of them is off."""
        paper = np.array([math.isnan(one.reflectance) for one in references])
        known = np.where(paper, 1.0, [one.reflectance for one in references])
        places = np.array([middle_of(one.at) for one in references])
        seen = np.array([one.rgb for one in references])
        if seen.min() < _DARKEST:
            dark = references[int(np.argmin(seen.min(axis=1)))]
            raise CardError(f"{file}: {dark} is too dark in the photo to correct by; expose more")
        # the logarithm of what is seen: a level, another for the paper, contrast, and the field
        usual = float(np.log(known[~paper]).mean())
        tones = np.where(paper, 0.0, np.log(known) - usual)
        ways = np.stack([_LEVEL * np.ones(len(known)), 2.0 * paper, _TONES * tones], axis=1)
        reach = 0.7 * float(np.hypot(*size))
        field = _FIELD**2 * nearness(places, places, reach)
        inverse = np.linalg.inv(ways @ ways.T + field + _REFERENCE**2 * np.eye(len(known)))
        pull = inverse @ np.log(seen / known[:, None])
        contrast = 1 + _TONES**2 * float((tones @ pull).mean())
        if abs(contrast - 1) > TONES:
            raise CardError(
                f"{file}: the neutral places do not agree: by them the picture's contrast is "
                f"{contrast:.2f} of true; check their reflectances, and save the photo unedited"
            )
        by_light = ((field + _REFERENCE**2 * np.eye(len(known))) @ pull).mean(axis=1)
        alike = max(paper.sum(), (~paper).sum())  # places that can be compared
        ratio = float(np.exp(np.ptp(by_light))) if alike > 1 else math.nan
        if ratio > UNEVEN:
            low, high = (references[int(pick(by_light))] for pick in (np.argmin, np.argmax))
            raise CardError(
                f"{file}: the light is uneven: {low} gets {1 - 1 / ratio:.0%} less than {high}; "
                "check their places; photograph it in even daylight, without a shadow on it"
            )
        # what the others say of each: Rasmussen and Williams (5.12)
        off, spread = pull.mean(axis=1) / np.diag(inverse), 1 / np.sqrt(np.diag(inverse))
        worst = int(np.argmax(np.where(np.abs(off) > 3 * spread, np.abs(off), 0)))
        if abs(off[worst]) > max(STRAY, 3 * spread[worst]):
            how, why = (
                ("darker", "a shadow or an unlit corner")
                if off[worst] < 0
                else ("lighter", "a shadow on those beside it, shine")
            )
            raise CardError(
                f"{file}: {references[worst]} is {abs(math.expm1(off[worst])):.0%} {how} than the "
                f"other references say; {why}, or another material"
            )
        white = np.asarray(np.exp(_LEVEL**2 * pull.sum(axis=0)), dtype=float)
        pivot = np.asarray(math.exp(usual) * white, dtype=float)
        weights = np.asarray(_FIELD**2 * pull, dtype=float)
        return cls(white, contrast, pivot, places, weights, reach, ratio)

    @property
    def notes(self) -> Iterator[str]:
        """What was found and done, in words."""
        if self.ratio > NOTED:
            off = 1 - 1 / self.ratio
            yield f"the light falls off by {off:.0%} over it; this was evened out"
        if abs(self.contrast - 1) > 0.02:
            yield f"the picture's contrast is {self.contrast:.2f} of true; this was taken out"

    def even(self, rgb: Array, place: ArrayLike) -> Array:
        """Return linear sRGB (3,) as it would be in the middle of the card, contrast taken out."""
        near = nearness(np.atleast_2d(np.asarray(place, dtype=float)), self.places, self.reach)
        rgb = rgb / np.exp(near @ self.pull)[0]
        return np.asarray(self.pivot * (rgb / self.pivot) ** (1 / self.contrast))

    def lab(self, rgb: ArrayLike) -> Array:
        """Return CIELAB (..., 3) of evened linear sRGB (..., 3), cast and exposure taken out."""
        return xyz_to_lab(np.asarray(rgb) @ balance(self.white), viewing().white)


def nearness(one: Array, other: Array, reach: float) -> Array:
    """Return how alike (n, m) places (n, d) and (m, d) are: 1 at the same, 0 far apart."""
    apart = np.linalg.norm(one[:, None] - other, axis=-1) / reach
    return np.asarray(np.exp(-0.5 * apart**2))


def balance(white: Array) -> Array:
    """Return the matrix (3, 3) from rows of the picture's linear sRGB to XYZ under D65.

    Von Kries in Bradford's space: a perfect white becomes the light's white.
    """
    return adapt(rgb_to_xyz(np.eye(3)), rgb_to_xyz(white), viewing().white)


def middle_of(at: Sequence[float]) -> Array:
    """Return the middle (2,) of a place, x,y or a box [pixels]."""
    return np.array(at[:2]) if len(at) == 2 else (np.array(at[:2]) + at[2:]) / 2


def kind_of_neutral(reflectance: float) -> str:
    """Return what a place of this reflectance is, in words; nan is paper."""
    return "the paper" if math.isnan(reflectance) else "the neutral"
