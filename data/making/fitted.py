"""Fit smooth curves of few numbers to published K and S, and write them to ``data/knots.csv``.

Run as ``python -m data.making.fitted FIGURES.csv``, with the figures of R. S. Berns, "Artist
Paint Spectral Database", 24th Color and Imaging Conference (IS&T, 2016), as columns ``paint``,
``colour_index``, ``quantity`` (K or S) and one a wavelength. The figures themselves are not kept.

Each curve is a monotone cubic (PCHIP) through knots on a log scale. The knots are found by least
squares on what a painter sees, the measured reflectance of the masstone and of tints in titanium
white, in steps of equal lightness. Where the figures are noise (a masstone that reflects next to
nothing says K/S is large, not how large K and S are; K below 1e-4 of the white's S is beyond the
instrument) a light pull toward the figures' own running level and toward few bends decides.
"""


import sys

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares

from mixlab.arrays import one_thread
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.files import bundled
from mixlab.paint import optics
from mixlab.paint.paints import SURFACE
from mixlab.writing import write_whole

Array = NDArray[np.float64]
Curves = tuple[Array, Array]
"""K and S of one paint, each (36,)."""

KNOTS: Array = np.array(
    [380, 390, 400, 414, 430, 446, 465, 485, 505, 523, 539, 553, 567, 582, 600, 620, 645, 680, 730],
    dtype=float,
)
"""Wavelengths of the knots [nm]: denser in the violet, where the edge of titanium white lies, and
where yellows, oranges and reds have theirs. Mixes of three paints, which are not fitted, then miss
their figures by 0.07 CIEDE2000 in the mean; sixteen knots came to 0.11 for the same nineteen
paints, eighteen to 0.07 to 0.10."""

SHARES = (1.0, 0.8, 0.5, 0.25, 0.1, 0.05, 0.02, 0.005)
"""Shares of paint in titanium white that are fitted."""

FLOOR = 3e-6
"""K below this is not told from zero by the figures [S of titanium white]."""

BEND, PULL = 0.02, 0.02
"""Weights of bends between knots and of distance to the figures' level [natural logarithm]."""

VIOLET_PULL = 0.2
"""That of the distance below 410 nm, where the white absorbs and tints tell little of a paint."""


def spline(log_knots: Array) -> Array:
    """Return curves (..., 36) through natural logarithms at the knots (..., 19)."""
    return np.asarray(np.exp(PchipInterpolator(KNOTS, log_knots, axis=-1)(WAVELENGTHS)))


def seen(k: Array, s: Array, white_k: Array, white_s: Array) -> Array:
    """Return lightness-like reflectance (8, 36) of masstone and tints: the cube root."""
    shares = np.array([[c, 1 - c] for c in SHARES])
    mixed_k, mixed_s = optics.mix(shares, [k, white_k]), optics.mix(shares, [s, white_s])
    return np.cbrt(SURFACE.measured(optics.opaque(mixed_k, mixed_s)))


def fit(k: Array, s: Array, white: Curves | None = None) -> tuple[Array, Array]:
    """Return the log knots (19,) of K and of S for one paint's published curves (36,).

    Without a `white` the paint is the white itself: its S is the unit, and only K is found.
    """
    white_k, white_s = white or (k, s)
    wanted = seen(k, s, white_k, white_s)
    level = np.log(np.maximum([k, s], [[FLOOR], [1e-4]]))
    # three readings wide: the level of the figures without their noise
    smooth = [np.convolve(np.pad(row, 1, "edge"), np.ones(3) / 3, "valid") for row in level]
    start = np.array([np.interp(KNOTS, WAVELENGTHS, row) for row in smooth])
    fixed = start[1:] if white is None else start[:0]
    start = start[:1] if white is None else start
    pull = np.where(KNOTS < 410, VIOLET_PULL, PULL)

    def residuals(flat: Array) -> Array:
        knots = flat.reshape(start.shape)
        log_k, log_s = np.concatenate([knots, fixed])
        off = 100 * (seen(spline(log_k), spline(log_s), white_k, white_s) - wanted)
        return np.concatenate(
            [off.ravel(), BEND * np.diff(knots, 2).ravel(), (pull * (knots - start)).ravel()]
        )

    with one_thread():
        found = least_squares(residuals, start.ravel(), x_scale="jac", xtol=1e-10, ftol=1e-10)
    log_k, log_s = np.concatenate([found.x.reshape(start.shape), fixed])
    return np.maximum(log_k, np.log(FLOOR)), log_s


def read_figures(path: str) -> dict[str, Curves]:
    """Return published K and S (36,) on the grid by paint."""
    figures = pd.read_csv(path)
    columns = [f"{w:.0f}" for w in WAVELENGTHS]
    curves = figures.set_index(["paint", "quantity"])[columns]
    return {
        str(paint): (
            curves.loc[(paint, "K")].to_numpy(float),
            curves.loc[(paint, "S")].to_numpy(float),
        )
        for paint in dict.fromkeys(figures["paint"])
    }


def misses(published: Curves, fitted: Curves, white: Curves, fitted_white: Curves) -> Array:
    """Return CIEDE2000 (4,) from published to fitted: masstone and tints 1:1, 1:9 and 1:49."""
    shares = np.array([[1.0, 0.0], [0.5, 0.5], [0.1, 0.9], [0.02, 0.98]])
    labs = []
    for paint, of_white in ((published, white), (fitted, fitted_white)):
        k, s = (optics.mix(shares, pair) for pair in zip(paint, of_white, strict=True))
        labs.append(reflectance_to_lab(SURFACE.measured(optics.opaque(k, s)), viewing()))
    return ciede2000(labs[0], labs[1])


def text(figures: dict[str, Curves]) -> str:
    """Return the whole file: a row of knots (not logarithms) for each paint, and its misses."""
    columns = [f"{q}{w:g}" for q in "KS" for w in KNOTS]
    lines = ["id,masstone_miss,tint_miss," + ",".join(columns)]
    white = figures["titanium-white"]
    fitted_white = spline(fit(*white)[0]), np.ones_like(WAVELENGTHS)
    for paint, curves in figures.items():
        log_k, log_s = fit(*curves, None if paint == "titanium-white" else white)
        numbers = [f"{v:.4g}" for v in np.exp([*log_k, *log_s])]
        fitted = spline(np.log(np.array(numbers, dtype=float).reshape(2, -1)))
        miss = misses(curves, (fitted[0], fitted[1]), white, fitted_white)
        lines.append(f"{paint},{miss[0]:.3f},{miss[1:].max():.3f}," + ",".join(numbers))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    write_whole(bundled("knots.csv"), text(read_figures(sys.argv[1])))
