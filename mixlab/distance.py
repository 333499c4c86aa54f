"""Distance: what a colour looks like farther away, through the air before the horizon.

The air takes light out of the beam and puts light of the horizon in. After Koschmieder [1]_ what is
left of a colour's contrast with the horizon falls as exp(-sigma d), so that at a fraction f of the
way the light that is seen is (1 - f) of the colour and f of the horizon, mixed as light is, in XYZ.
A *visibility* V states sigma: the meteorological optical range of the WMO [2]_ is the distance at
which contrast has fallen to 5 %; Koschmieder's own visual range takes 2 %.

References
----------
.. [1] H. Koschmieder, "Theorie der horizontalen Sichtweite", Beitr. Phys. freien Atmosphaere 12
       (1924) 33-53, 171-181.
.. [2] WMO, Guide to Instruments and Methods of Observation (WMO-No. 8), chapter 9, measurement of
       visibility: meteorological optical range, threshold of 5 %.
.. [3] W. E. K. Middleton, Vision through the Atmosphere, University of Toronto Press (1952).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colorimetry import Viewing, lab_to_munsell, lab_to_xyz, viewing, xyz_to_lab
from mixlab.errors import DistanceError
from mixlab.munsell import write_munsell
from mixlab.recipes import Answer, find_recipe
from mixlab.tables import Palette

Array = NDArray[np.float64]

OPTICAL_RANGE = 0.05
"""Contrast left at the meteorological optical range; WMO-No. 8."""

VISUAL_RANGE = 0.02
"""Contrast left at Koschmieder's visual range; Koschmieder 1924, Middleton 1952."""


def extinction(visibility: float, threshold: float = OPTICAL_RANGE) -> float:
    """Return the extinction coefficient of the air [1 / unit of the visibility].

    Parameters
    ----------
    visibility : distance at which so little contrast is left, above 0
    threshold : how little, 0..1 without the ends

    Raises
    ------
    DistanceError : if either makes no sense
    """
    if not (visibility > 0 and math.isfinite(visibility)):
        raise DistanceError(f"a visibility of {visibility:g}: it must be above zero")
    if not 0 < threshold < 1:
        raise DistanceError(f"a threshold of {threshold:g}: it lies between 0 and 1")
    return -math.log(threshold) / visibility


def veil(
    distance: ArrayLike, visibility: float, threshold: float = OPTICAL_RANGE
) -> Array:
    """Return the fraction (...,) of the light that is the horizon's, at distances (...,).

    0 at the eye, 1 - threshold at the visibility; distance and visibility in one unit.

    Raises
    ------
    DistanceError : for a distance below zero, or a visibility that makes no sense
    """
    distance = np.asarray(distance, dtype=float)
    if not (np.isfinite(distance) & (distance >= 0)).all():
        raise DistanceError("a distance must be zero or more")
    return np.asarray(-np.expm1(-extinction(visibility, threshold) * distance))


def seen_from(lab: ArrayLike, horizon: ArrayLike, fraction: ArrayLike, view: Viewing) -> Array:
    """Return CIELAB (..., 3) of a colour veiled by the horizon's light.

    Parameters
    ----------
    lab, horizon : CIELAB (3,) under `view`
    fraction : (...,), of the light that is the horizon's, 0..1

    Raises
    ------
    DistanceError : for a fraction outside 0..1
    """
    f = np.asarray(fraction, dtype=float)[..., None]
    if not ((f >= 0) & (f <= 1)).all():
        raise DistanceError("a fraction of the way to the horizon lies between 0 and 1")
    near, far = lab_to_xyz(lab, view.white), lab_to_xyz(horizon, view.white)
    return xyz_to_lab((1 - f) * near + f * far, view.white)


@dataclass(frozen=True, eq=False)
class Plane:
    """One plane of a picture, and the recipe for it.

    Attributes
    ----------
    fraction : of the light that is the horizon's
    distance : how far away, in the unit that was given, or None
    lab : CIELAB (3,) to be mixed
    munsell : its notation
    contrast : luminance contrast with the horizon, (Y - Yh) / Yh
    answer : the recipe; see :func:`mixlab.find_recipe`
    """

    fraction: float
    distance: float | None
    lab: Array
    munsell: str
    contrast: float
    answer: Answer


def planes(
    lab: ArrayLike,
    horizon: ArrayLike,
    palette: Palette,
    fractions: Sequence[float],
    distances: Sequence[float] | None = None,
    *,
    tolerance: float = 2.0,
    max_tubes: int = 4,
    parts: int = 40,
    view: Viewing | None = None,
) -> list[Plane]:
    """Return a ladder of recipes for one colour from the foreground to the horizon.

    Parameters
    ----------
    lab, horizon : CIELAB (3,) under `view`
    palette : the tubes at hand
    fractions : of the light that is the horizon's, rising; see :func:`veil`
    distances : as many, to be told with them
    tolerance, max_tubes, parts, view : as in :func:`mixlab.find_recipe`

    Raises
    ------
    DistanceError : if the horizon is black, or the fractions make no sense
    SearchError : for settings under which there is nothing to search
    """
    view = view or viewing()
    labs = seen_from(lab, horizon, np.asarray(fractions, dtype=float), view)
    luminance = lab_to_xyz(labs, view.white)[:, 1]
    behind = float(lab_to_xyz(np.asarray(horizon, dtype=float), view.white)[1])
    if behind <= 0:
        raise DistanceError("the horizon is black: it veils nothing")
    told: Sequence[float | None] = distances or [None] * len(labs)
    return [
        Plane(
            float(fraction), None if distance is None else float(distance), at,
            write_munsell(lab_to_munsell(at, view)), float(y / behind - 1),
            find_recipe(at, palette, tolerance, max_tubes, parts=parts, view=view,
                        alternatives=0),
        )
        for fraction, distance, at, y in zip(fractions, told, labs, luminance, strict=True)
    ]  # fmt: skip
