"""Curves of paints for which no K and S are published: built from facts, by one method.

For each paint a few facts are written down: where it absorbs, how it scatters, the colour of its
masstone and of its tint of one part in ten of titanium white. Then:

- Absorption is a sum of pigments of known shape. Iron earths are goethite (edge near 530 nm, weak
  band near 650 nm), haematite (band near 535 nm, edge near 580 nm, weak band near 670 nm) and the
  brown-black of manganese oxide; chromium oxide has the two bands of Cr(III) near 460 and 600 nm.
  Band places are those commonly given for these minerals, from memory.
- Scattering falls with wavelength as a power law.
- The amounts, the level of scattering and its power are found by least squares on CIEDE2000 to the
  two colours. They are commonly known colours of such artists' paints, from memory: each is marked
  so in the table, with how far the curves lie from it.

Three paints stand on measured oil paint instead, the drawdowns of Geldof, Proano Gaibor,
Ligterink, Hendriks and Kirchner, "Reconstructing Van Gogh's palette to determine the optical
characteristics of his paints", Heritage Science 6:17 (2018), CC0: zinc white by the two-ground
method, viridian and Prussian blue by their tints in that zinc white. The unit is carried over by
ultramarine, which is in both sets: zinc white scatters 0.155 of what titanium white does at 550 nm
if the tint of one part in ten is to be the same. (Handbooks give about 0.12 by reducing power and
0.26 by Fresnel reflectance at the pigment's boundary.)
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares

from mixlab import optics
from mixlab.colorimetry import WAVELENGTHS, difference, reflectance_to_lab, viewing
from mixlab.paints import SURFACE

Array = NDArray[np.float64]
Curves = tuple[Array, Array]

ZINC_SCATTERING = 0.155
"""Scattering of zinc white at 550 nm [that of titanium white]."""

FROM_MEMORY = "colour of masstone and of 1:9 tint in titanium white commonly known, from memory"
FROM_OIL = "measured oil drawdowns, Geldof et al., Heritage Science 6:17 (2018)"


def log_shape(*points: tuple[float, float]) -> Array:
    """Return a curve (36,) through (wavelength [nm], level), smooth on a log scale, held beyond."""
    at, level = np.array(points).T
    inside = np.clip(WAVELENGTHS, at[0], at[-1])
    return np.asarray(np.exp(PchipInterpolator(at, np.log(level))(inside)))


def power(exponent: float) -> Array:
    """Return (wavelength / 550 nm) to a power, (36,)."""
    return np.asarray((WAVELENGTHS / 550) ** exponent)


def band(centre: float, width: float) -> Array:
    """Return a Gaussian band (36,) of height 1; centre and standard deviation in nm."""
    return np.asarray(np.exp(-0.5 * ((WAVELENGTHS - centre) / width) ** 2))


GOETHITE = log_shape(
    (380, 1.15), (430, 1.0), (480, 0.85), (510, 0.5), (540, 0.2), (570, 0.085), (600, 0.05),
    (640, 0.042), (670, 0.035), (700, 0.025), (730, 0.021),
)  # fmt: skip
HAEMATITE = log_shape(
    (380, 1.05), (430, 1.0), (480, 0.95), (535, 0.9), (560, 0.72), (580, 0.37), (600, 0.155),
    (630, 0.075), (670, 0.06), (700, 0.045), (730, 0.036),
)  # fmt: skip
MANGANESE = power(-1.2)
CHROMIUM_VIOLET = band(457, 37) + 0.9 * band(380, 30)
CHROMIUM_RED = band(602, 32)


PULL = 0.3
"""Weight of the distance to where the search starts, against CIEDE2000."""


@dataclass(frozen=True)
class Facts:
    """What is known of a paint that is modelled from colours.

    Attributes
    ----------
    shapes : relative absorption (36,) of each pigment in it
    amounts : where the search for their amounts starts [absorption at shape 1]
    scattering : where the search for the level of scattering starts [titanium white]
    masstone, tint : CIELAB, D65 / 2 degree, of the masstone and of 1 part in 10 of titanium white
    """

    shapes: tuple[Array, ...]
    amounts: tuple[float, ...]
    scattering: float
    masstone: tuple[float, float, float]
    tint: tuple[float, float, float]


COLOURS = {
    "yellow-ochre": Facts(
        (GOETHITE, HAEMATITE), (0.2, 0.01), 0.20, (59, 15, 43), (90, 3, 19)
    ),
    "raw-sienna": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.2, 0.03, 0.01), 0.08, (47, 15, 34), (86, 4.5, 18)
    ),
    "burnt-sienna": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.05, 0.4, 0.03), 0.06, (33, 18, 16), (77, 11, 13)
    ),
    "raw-umber": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.2, 0.02, 0.1), 0.06, (30, 4, 10), (76, 1.5, 8.5)
    ),
    "burnt-umber": Facts(
        (GOETHITE, HAEMATITE, MANGANESE), (0.1, 0.2, 0.1), 0.06, (28, 6, 6.5), (71, 5.5, 7.5)
    ),
    "red-iron-oxide": Facts(
        (HAEMATITE, MANGANESE), (1.0, 0.02), 0.30, (37, 28, 19), (67, 21, 13.5)
    ),
    "chromium-oxide-green": Facts(
        (CHROMIUM_VIOLET, CHROMIUM_RED, np.ones_like(WAVELENGTHS)), (0.6, 0.5, 0.02), 0.25,
        (44, -16, 18), (80, -10.5, 9.5),
    ),
}  # fmt: skip


def from_colours(facts: Facts, white: Curves) -> tuple[Array, Array, Array]:
    """Return K, S (36,) of a paint modelled from colours, and its misses (2,) [CIEDE2000]."""
    wanted = np.array([facts.masstone, facts.tint], dtype=float)

    def curves(parameters: Array) -> Curves:
        amounts = np.exp(parameters[: len(facts.shapes)])
        level, exponent = np.exp(parameters[-2]), parameters[-1]
        return amounts @ np.array(facts.shapes), level * power(exponent)

    def off(parameters: Array) -> Array:
        return difference(wanted, masstone_and_tint(curves(parameters), white))

    start = np.array([*np.log(facts.amounts), np.log(facts.scattering), -0.5])

    def residuals(parameters: Array) -> Array:
        return np.concatenate([off(parameters).ravel(), PULL * (parameters - start)])

    lower = np.full(len(start), -np.inf)
    upper = np.full(len(start), np.inf)
    lower[-1], upper[-1] = -2.5, 1.0
    best = least_squares(residuals, start, bounds=(lower, upper), x_scale="jac").x
    return *curves(best), np.linalg.norm(off(best), axis=-1)


def masstone_and_tint(paint: Curves, white: Curves) -> Array:
    """Return CIELAB (2, 3) of a paint's masstone and of its tint, one part in ten of white."""
    shares = np.array([[1.0, 0.0], [0.1, 0.9]])
    k, s = (optics.mix(shares, pair) for pair in zip(paint, white, strict=True))
    return reflectance_to_lab(SURFACE.measured(optics.opaque(k, s)), viewing())


def shifted(paint: Curves, by: float) -> Curves:
    """Return the curves of a paint with its absorption moved along by so many nm."""
    log_k = np.interp(WAVELENGTHS - by, WAVELENGTHS, np.log(paint[0]))
    return np.exp(log_k), paint[1]


# --- from measured oil paint, at few wavelengths, read off the drawdowns ------------------------

# zinc white over two grounds: S relative to that at 550 nm falls as a power of wavelength
_ZINC_S_POWER = -1.75
_ZINC_K = ((380, 0.02), (400, 2.2e-3), (410, 1.35e-3), (430, 9e-4), (450, 5e-4), (500, 2.8e-4),
           (560, 2.5e-4), (620, 2.4e-4), (680, 1.8e-4), (730, 1.7e-4))  # fmt: skip

# K/S of tints in that zinc white: 11.6 parts of viridian, 6.3 of Prussian blue, in a hundred
_VIRIDIAN_TINT = 0.116, (
    (400, 0.064), (420, 0.105), (430, 0.119), (440, 0.121), (460, 0.086),
    (480, 0.056), (500, 0.033), (510, 0.030), (520, 0.037), (540, 0.077), (560, 0.163),
    (580, 0.281), (600, 0.391), (620, 0.442), (630, 0.450), (650, 0.401), (670, 0.332),
    (690, 0.213), (700, 0.187),
)  # fmt: skip
_PRUSSIAN_TINT = 0.063, (
    (400, 0.218), (420, 0.191), (440, 0.169), (450, 0.171), (470, 0.223),
    (490, 0.358), (510, 0.596), (530, 0.981), (550, 1.507), (570, 2.247), (590, 3.085),
    (610, 3.856), (630, 4.593), (650, 5.159), (680, 5.744), (700, 5.992),
)  # fmt: skip

_PRUSSIAN_OF_PHTHALO = 0.6
"""Tinting strength of a tube of Prussian blue [that of phthalo blue]; common practice, no source.
The drawdown of pure ground pigment is far stronger than any tube."""


def zinc_white() -> Curves:
    """Return K and S (36,) of zinc white."""
    return log_shape(*_ZINC_K), ZINC_SCATTERING * power(_ZINC_S_POWER)


def from_tint(share: float, tint: ArrayLike, scattering: Array) -> Curves:
    """Return K and S (36,) of a paint whose tint in zinc white has the K/S given.

    Parameters
    ----------
    share : of the paint in the tint
    tint : (36,), K/S of the tint
    scattering : (36,), S of the paint, known from its refractive index to be small
    """
    white_k, white_s = zinc_white()
    rest = 1 - share
    k = (np.asarray(tint) * (rest * white_s + share * scattering) - rest * white_k) / share
    return held(k), scattering


def held(curve: Array) -> Array:
    """Return a curve (36,) with its values at 400 and 700 nm kept beyond them."""
    return np.asarray(curve[np.clip(np.arange(len(curve)), 2, 32)])


def viridian() -> Curves:
    """Return K and S (36,) of viridian; its refractive index, 1.82-2.12, scatters a little."""
    share, tint = _VIRIDIAN_TINT
    return from_tint(share, log_shape(*tint), 0.02 * power(-0.5))


def prussian_blue(strength: Callable[[Curves], float]) -> Curves:
    """Return K and S (36,) of Prussian blue, at the strength of a tube.

    Parameters
    ----------
    strength : tells the tinting strength of curves, relative to phthalo blue
    """
    share, tint = _PRUSSIAN_TINT
    k, s = from_tint(share, log_shape(*tint), 0.02 * power(-0.5))
    scale = 1.0
    for _ in range(30):
        scale *= _PRUSSIAN_OF_PHTHALO / strength((scale * k, s))
    return scale * k, s
