"""Kubelka-Munk: mixing, the opaque layer, a film over a ground, the surface, and the way back.

Plain numpy, no colour and no files. Curves are arrays (..., n) over n wavelengths. Absorption K
and scattering S are per unit of film thickness, in whatever unit the thickness is stated in;
reflectance is 0..1. "Internal" reflectance is that of the layer by itself; "measured" is what is
seen from outside, through the surface of the binder.

References
----------
.. [1] Kubelka, "New contributions to the optics of intensely light-scattering materials. Part I",
       J. Opt. Soc. Am. 38 (1948) 448-457.
.. [2] Duncan, "The colour of pigment mixtures", Proc. Phys. Soc. 52 (1940) 390-401: K and S of a
       mixture are the sums over its parts.
.. [3] Saunderson, "Calculation of the color of pigmented plastics", J. Opt. Soc. Am. 32 (1942)
       727-736: the surface.
.. [4] Judd, "Fresnel reflection of diffusely incident light", J. Res. Natl. Bur. Stand. 29 (1942)
       329-332: 0.092 from outside and 0.596 from inside for n = 1.5.
.. [5] Mudgett, Richards, "Multiple scattering calculations for technology", Appl. Opt. 10 (1971)
       1485-1502: two fluxes hold where light has been scattered often, and not in dark layers
       (cited from memory).
"""


from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array


@dataclass(frozen=True)
class Surface:
    """What lies between the theory of a layer and a reading.

    The boundary between binder and air, after Saunderson. Plain two-flux theory: what dark layers
    lose beside it [5] was tried, and predicts measured paint no better than K2 that suits.

    Attributes
    ----------
    outside : K1, share of the incident light that the surface reflects [0..1]
    inside : K2, share of the diffuse light from within that it turns back [0..1]
    specular : share of the light reflected by the surface that the reading includes [0..1]
    """

    outside: float = 0.04
    inside: float = 0.596
    specular: float = 1.0

    def measured(self, internal: ArrayLike) -> Array:
        """Return measured reflectance (...) of internal reflectance (...)."""
        r = np.asarray(internal, dtype=float)
        body = (1 - self.outside) * (1 - self.inside) * r / (1 - self.inside * r)
        return np.asarray(body + self.specular * self.outside)

    def seen(self, specular: float) -> "Surface":
        """Return the same surface, so much of its own reflection reaching the eye [0..1]."""
        return self if specular == self.specular else replace(self, specular=specular)

    def measured_slope(self, internal: ArrayLike) -> Array:
        """Return the derivative of measured by internal reflectance (...)."""
        r = np.asarray(internal, dtype=float)
        front = (1 - self.outside) * (1 - self.inside)
        return np.asarray(front / (1 - self.inside * r) ** 2)

    def internal(self, measured: ArrayLike) -> Array:
        """Return internal reflectance (...) of measured reflectance (...).

        A reading below what the surface alone reflects gives a negative result, which no paint
        has: the caller decides what noise is.
        """
        body = np.asarray(measured, dtype=float) - self.specular * self.outside
        return np.asarray(body / ((1 - self.outside) * (1 - self.inside) + self.inside * body))


SURFACE = Surface()
"""A smooth binder of n = 1.5 lit near the normal: Fresnel gives 0.04, Judd 1942 gives 0.596."""


def mix(shares: ArrayLike, curves: ArrayLike) -> Array:
    """Return the K or the S of mixtures: the sum over paints of share times curve (Duncan 1940).

    Parameters
    ----------
    shares : (..., p), amounts of p paints, in any unit; they are made to sum to one
    curves : (p, n), the same quantity of each paint

    Returns
    -------
    (..., n)
    """
    amounts = np.asarray(shares, dtype=float)
    return np.asarray(amounts / amounts.sum(axis=-1, keepdims=True) @ np.asarray(curves))


def opaque(k: ArrayLike, s: ArrayLike) -> Array:
    """Return the internal reflectance (...) of a layer too thick to see through.

    ``1 + q - sqrt(q^2 + 2q)`` with ``q = K/S``, in the form ``1 / (1 + q + sqrt(q^2 + 2q))`` that
    keeps its digits where K/S is large. Where S = 0 it is 0, where K = 0 it is 1.
    """
    k, s = np.asarray(k, dtype=float), np.asarray(s, dtype=float)
    return np.asarray(s / (k + s + np.sqrt(k * (k + 2 * s))))


def opaque_slopes(k: ArrayLike, s: ArrayLike) -> tuple[Array, Array]:
    """Return the derivatives of :func:`opaque` by K and by S, each (...); K must be positive."""
    k, s = np.asarray(k, dtype=float), np.asarray(s, dtype=float)
    root = np.sqrt(k * (k + 2 * s))
    # R = S / whole; dR/dK = -R / root and dR/dS = R K / (S root)
    whole = k + s + root
    return np.asarray(-s / (whole * root)), np.asarray(k / (whole * root))


def k_over_s(reflectance: ArrayLike) -> Array:
    """Return K/S (...) of an opaque layer of internal reflectance (...): (1 - R)^2 / 2R.

    It is inf where R = 0.
    """
    r = np.asarray(reflectance, dtype=float)
    with np.errstate(divide="ignore"):
        return np.asarray((1 - r) ** 2 / (2 * r))


def _alone(k: ArrayLike, s: ArrayLike, thickness: ArrayLike) -> tuple[Array, Array, Array]:
    """Return reflectance, transmittance, and 1 - reflectance of a film by itself; Kubelka 1948.

    Sums of positive terms, so that no digits are lost, multiplied through by 2 exp(-bSX), so that
    nothing overflows.
    """
    k, s = np.asarray(k, dtype=float), np.asarray(s, dtype=float)
    x = np.minimum(np.asarray(thickness, dtype=float), 1e200)  # endless
    # bS of the paper, written without the division that fails at S = 0
    decay = np.sqrt(k * (k + 2 * s))
    once = np.exp(-decay * x)
    cosh = 1 + once**2
    # sinh(bSX) / bS, which tends to X as its argument tends to 0
    falls = decay > 0
    sinh = np.where(falls, -np.expm1(-2 * decay * x) / np.where(falls, decay, 1.0), 2 * x)
    below = (k + s) * sinh + cosh
    return s * sinh / below, 2 * once / below, (k * sinh + cosh) / below


def film(k: ArrayLike, s: ArrayLike, thickness: ArrayLike, ground: ArrayLike) -> Array:
    """Return the internal reflectance of a film over a ground; Kubelka 1948, hyperbolic solution.

    Stable for S = 0 (the film only filters), K = 0 (it only scatters), and at any thickness.

    Parameters
    ----------
    k, s : (..., n), per unit of thickness
    thickness : broadcastable to (..., n), in the unit of 1/K and 1/S; `inf` is the opaque layer
    ground : broadcastable to (..., n), reflectance of the ground in contact with the film, 0..1

    Returns
    -------
    (..., n)
    """
    rg = np.asarray(ground, dtype=float)
    reflected, transmitted, lost = _alone(k, s, thickness)
    # 1 - Rg R of the light that goes to and fro, as a sum of positive terms
    return np.asarray(reflected + transmitted**2 * rg / (1 - rg + rg * lost))


def film_slopes(
    k: ArrayLike, s: ArrayLike, thickness: ArrayLike, ground: ArrayLike
) -> tuple[Array, Array]:
    """Return the derivatives of :func:`film` by K and by S, each (..., n), as forward differences.

    The film keeps its digits, so that the differences keep half of them.
    """
    k, s = np.asarray(k, dtype=float), np.asarray(s, dtype=float)
    step = _STEP * (k + s) + _LEAST_STEP
    here = film(k, s, thickness, ground)
    by_k = film(k + step, s, thickness, ground) - here
    return by_k / step, (film(k, s + step, thickness, ground) - here) / step


_STEP, _LEAST_STEP = 1e-7, 1e-9  # relative; and where K and S are 0


def transmittance(k: ArrayLike, s: ArrayLike, thickness: ArrayLike) -> Array:
    """Return the internal transmittance of a film by itself; Kubelka 1948.

    Shapes and units as in :func:`film`.
    """
    return _alone(k, s, thickness)[1]
