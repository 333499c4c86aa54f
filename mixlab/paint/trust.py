"""How far a prediction can be trusted: from the uncertainty of the paints to that of a mix.

A paint's uncertainty is the likely CIEDE2000 between prediction and paint, root mean square over
mixes that show it: rather more than half come nearer, and 19 in 20 within twice that. It covers
what the theory itself misses, which all paints of a mix share, and the doubt about this paint's
curves, which counts by how much those curves move the colour of the mix: a trace of a doubtful
paint does little harm, a tint that hangs on it much.

References
----------
.. [1] JCGM 100:2008, Guide to the expression of uncertainty in measurement, 5.1: combined standard
       uncertainty, the root of the sum of squares of sensitivity times uncertainty.
"""


import math

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import WAVELENGTHS, Viewing, reflectance_to_lab
from mixlab.paint import optics

THEORY = 2.0
"""What Kubelka-Munk theory misses where the curves are known [CIEDE2000]: the median over 36
mixes of measured oil paint (Geldof et al., Heritage Science 6:17 (2018)) unseen by a plain fit."""

TYPICAL = 12.2
"""Root mean square of :func:`sensitivities` over the mixes of ``data.making.trial``, each paint's
in the mixes that show what is missed of it."""

GRADES = ((2.5, "close"), (4.5, "fair"), (7.5, "rough"), (math.inf, "guess"))
"""Likely errors up to this [CIEDE2000], and the word for them; the bounds are ours."""

UNKNOWN = "unknown"

_NUDGE = 0.2  # of the logarithm of a curve
_LOW, _HIGH = (1 / (1 + np.exp((WAVELENGTHS - edge) / 15)) for edge in (500, 600))
# what can be wrong with a paint: its amount, its scattering, its absorption in each third
_OF_K = np.stack([np.ones_like(_LOW), np.zeros_like(_LOW), _LOW, _HIGH - _LOW, 1 - _HIGH])
_OF_S = np.stack([np.ones_like(_LOW), np.ones_like(_LOW), *(3 * [np.zeros_like(_LOW)])])


def sensitivities(
    amounts: ArrayLike, ks: ArrayLike, ss: ArrayLike, surface: optics.Surface, view: Viewing
) -> Array:
    """Return how much each paint's curves move the colour of a mix.

    Parameters
    ----------
    amounts : (..., p), parts of the paints
    ks, ss : (p, 36), their curves

    Returns
    -------
    (..., p), CIEDE2000 for a unit of the natural logarithm: the root of the sum of squares over the
    paint's amount, its scattering alone, and its absorption in the short, the middle and the long
    third of the spectrum
    """
    ks, ss = np.asarray(ks, dtype=float), np.asarray(ss, dtype=float)
    amounts = np.asarray(amounts, dtype=float)
    shares = amounts / amounts.sum(axis=-1, keepdims=True)
    k, s = shares @ ks, shares @ ss

    def colour(k: Array, s: Array) -> Array:
        return reflectance_to_lab(surface.measured(optics.opaque(k, s)), view)

    # (..., p, 5, 36)
    more_k = (shares[..., None] * ks)[..., None, :] * np.expm1(_NUDGE * _OF_K)
    more_s = (shares[..., None] * ss)[..., None, :] * np.expm1(_NUDGE * _OF_S)
    there = colour(k, s)[..., None, None, :]
    moved = ciede2000(there, colour(k[..., None, None, :] + more_k, s[..., None, None, :] + more_s))
    return np.asarray(np.sqrt((moved**2).sum(axis=-1)) / _NUDGE)


def likely_error(
    amounts: ArrayLike,
    ks: ArrayLike,
    ss: ArrayLike,
    uncertainties: ArrayLike,
    surface: optics.Surface,
    view: Viewing,
) -> Array:
    """Return the likely CIEDE2000 (...,) between the prediction of a mix and the paint itself.

    Parameters
    ----------
    amounts, ks, ss, surface, view : see :func:`sensitivities`
    uncertainties : (p,), likely CIEDE2000 of a prediction with each paint; where one is nan, so is
        the result

    Notes
    -----
    What the theory misses is in every paint's figure and counts once; the rest adds up by squares,
    each weighted by the paint's sensitivity in this mix against :data:`TYPICAL`.
    """
    own = np.asarray(uncertainties, dtype=float)
    shared = np.minimum(THEORY, own.min())
    weights = sensitivities(amounts, ks, ss, surface, view) / TYPICAL
    return np.asarray(np.sqrt(shared**2 + weights**2 @ (own**2 - shared**2)))


def grade(error: float) -> str:
    """Return the word of :data:`GRADES` for a likely error [CIEDE2000], "unknown" for nan."""
    return next((word for bound, word in GRADES if error <= bound), UNKNOWN)


def about(error: float) -> str:
    """Return a likely error in writing, e.g. "about 5 CIEDE2000": no finer than it is known."""
    return f"about {max(1, round(error))} CIEDE2000"
