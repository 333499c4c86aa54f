"""Distance: what a colour looks like farther away, through the air before the horizon.

The air takes light out of the beam and puts light of the horizon in. After Koschmieder [1]_ what is
left of a colour's contrast with the horizon falls as exp(-sigma d), so that at a fraction f of the
way the light that is seen is (1 - f) of the colour and f of the horizon, mixed as light is, in XYZ.
A *visibility* V states sigma: the meteorological optical range of the WMO [2]_ is the distance at
which contrast has fallen to 5 %; Koschmieder's own visual range takes 2 %.

Thick haze and fog veil all wavelengths alike. Clear air takes more of the blue, and puts more of it
in: after Angstrom [4]_ sigma goes as a power of the wavelength. Dark things at middle distance then
turn bluer than the horizon itself, and snow warmer.

References
----------
.. [1] H. Koschmieder, "Theorie der horizontalen Sichtweite", Beitr. Phys. freien Atmosphaere 12
       (1924) 33-53, 171-181.
.. [2] WMO, Guide to Instruments and Methods of Observation (WMO-No. 8), chapter 9, measurement of
       visibility: meteorological optical range, threshold of 5 %.
.. [3] W. E. K. Middleton, Vision through the Atmosphere, University of Toronto Press (1952).
.. [4] A. Angstrom, "On the atmospheric transmission of sun radiation and on dust in the air",
       Geografiska Annaler 11 (1929) 156-166.
"""


import math
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.reconstruction import smoothest
from mixlab.colour.spaces import (
    WAVELENGTHS,
    Viewing,
    lab_to_xyz,
    reflectance_to_lab,
    xyz_to_lab,
)
from mixlab.errors import DistanceError
from mixlab.paint.mixtures import Mixture

OPTICAL_RANGE = 0.05
"""Contrast left at the meteorological optical range; WMO-No. 8."""

VISUAL_RANGE = 0.02
"""Contrast left at Koschmieder's visual range; Koschmieder 1924, Middleton 1952."""

RAYLEIGH = 4.0
"""Greatest Angstrom exponent, that of air without haze. A summer haze over land has about 1.3,
fog 0: common practice, no source."""

MIDDLE = 550.0
"""Wavelength for which a visibility is stated [nm], where the eye is most sensitive; WMO-No. 8."""


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
        raise DistanceError(f"a visibility of {visibility:g}: it must be above zero, and finite")
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


def seen_through(
    colour: ArrayLike | Mixture,
    horizon: ArrayLike | Mixture,
    distance: ArrayLike,
    visibility: float,
    view: Viewing,
    exponent: float = 0.0,
    threshold: float = OPTICAL_RANGE,
) -> Array:
    """Return CIELAB (..., 3) of a colour seen through air whose extinction goes with wavelength.

    Parameters
    ----------
    colour, horizon : mixes, whose reflectance is known, or CIELAB (3,), of which the smoothest
        reflectance is taken (:mod:`mixlab.colour.reconstruction`)
    distance : (...,), in the unit of the visibility
    visibility : at :data:`MIDDLE`; see :func:`extinction`
    view : light, observer and finish
    exponent : Angstrom's, 0 (grey, all wavelengths alike) to 4 (:data:`RAYLEIGH`)
    threshold : contrast left at the visibility

    Raises
    ------
    DistanceError : for a distance, a visibility or an exponent that makes no sense
    """
    if not 0 <= exponent <= RAYLEIGH:
        raise DistanceError(f"an Angstrom exponent of {exponent:g}: it lies between 0 and 4")
    gone = veil(distance, visibility, threshold)
    near, far = (
        replace(one, view=view).reflectance if isinstance(one, Mixture) else smoothest(one, view)
        for one in (colour, horizon)
    )
    # (1 - veil) is exp(-sigma d) at the middle wavelength; a power of it at the others
    clear = (1 - gone)[..., None] ** ((WAVELENGTHS / MIDDLE) ** -exponent)
    return reflectance_to_lab(clear * near + (1 - clear) * far, view)
