"""Complements: paints that cancel a mix, judged where a painter sees it, let down with white."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import lab_to_value, reflectance_to_lab, viewing
from mixlab.mixing.ladders import Path
from mixlab.paint import optics
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import Paint

MID_VALUE = 5.0
"""Munsell value to which mixes are let down with white to see whether they cancel."""


@dataclass(frozen=True, eq=False)
class Cancelled:
    """The mix of two that is nearest to neutral where painters see it: let down with white.

    Attributes
    ----------
    share : of the mix that is added, 0..1
    lab : CIELAB (3,) of that mix undiluted
    let_down : CIELAB (3,) of it let down to :data:`MID_VALUE`
    ends : C* (2,) of the two mixes by themselves, let down
    """

    share: float
    lab: Array
    let_down: Array
    ends: Array

    @property
    def left(self) -> float:
        """C* that is left, let down."""
        return float(np.hypot(*self.let_down[1:]))


def let_down(path: Path, shares: ArrayLike, white: Paint) -> Array:
    """Return CIELAB (..., 3) at shares (...,), let down with white to :data:`MID_VALUE`.

    What is lighter by itself stays as it is.
    """
    k, s = path.curves(shares)
    low, high = np.zeros((*k.shape[:-1], 1)), np.ones((*k.shape[:-1], 1))
    for _ in range(30):
        much = (low + high) / 2
        curves = optics.opaque((1 - much) * k + much * white.K, (1 - much) * s + much * white.S)
        lab = reflectance_to_lab(path.start.surface.measured(curves), path.start.view)
        light = lab_to_value(lab, path.start.view)[..., None] > MID_VALUE
        low, high = np.where(light, low, much), np.where(light, much, high)
    return lab


def cancelled(path: Path, white: Paint | None) -> Cancelled:
    """Return where two mixes cancel, let down with white; without one as they are."""
    shares = path.grid[0][1:-1:4]
    for _ in range(3):  # each looks closer about the least
        labs = path.lab(shares) if white is None else let_down(path, shares, white)
        at = int(np.hypot(labs[:, 1], labs[:, 2]).argmin())
        share, seen = float(shares[at]), labs[at]
        shares = np.linspace(shares[max(at - 1, 0)], shares[min(at + 1, len(shares) - 1)], 33)
    ends = path.lab([0, 1]) if white is None else let_down(path, [0, 1], white)
    return Cancelled(share, path.lab(share), seen, np.hypot(ends[:, 1], ends[:, 2]))


def complements(start: Mixture, palette: Iterable[Paint]) -> list[tuple[Paint, Cancelled]]:
    """Return the paints that take a mix nearest to neutral, and where, best first.

    They are judged let down with the palette's first white (undiluted without one). Only a paint
    that cancels is a complement: somewhere on the way there must be less chroma than at either end.
    Paints of the mix, whites, and paints too grey to cancel anything (C* below 5 in the
    masstone and in all tints, such as blacks) are none.
    """
    ranked, palette = [], list(palette)
    white = next((paint for paint in palette if paint.is_white), None)
    for paint in palette:
        if paint.id in start.parts or paint.is_white or is_grey(paint):
            continue
        found = cancelled(Path(start, Mixture((paint,), (1.0,), start.view)), white)
        if found.left < 0.9 * found.ends.min():
            ranked.append((round(found.left, 6), paint.id, paint, found))
    return [(paint, found) for *_, paint, found in sorted(ranked, key=lambda row: row[:2])]


def is_grey(paint: Paint) -> bool:
    """Return whether a paint is too grey to cancel anything, by itself and in tints."""
    tints = np.array([0.0, 0.5, 0.9])[:, None]
    k, s = (1 - tints) * paint.K, (1 - tints) * paint.S + tints  # in an ideal white
    lab = reflectance_to_lab(paint.surface.measured(optics.opaque(k, s)), viewing())
    return bool(np.hypot(lab[:, 1], lab[:, 2]).max() < 5)
