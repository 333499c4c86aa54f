"""The colours of places in a photo.

A photograph's colour is what the camera made of the light, not a measurement of the surface: a
place of known grey in the picture takes its cast and exposure out, see :func:`photo_lab`.
"""


import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Mask
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import (
    Viewing,
    adapt,
    relit,
    rgb_to_lab,
    rgb_to_xyz,
    viewing,
    xyz_to_lab,
)
from mixlab.errors import PhotoError
from mixlab.targets.photo_files import Photo

GREY_CARD = 0.18
"""Reflectance of a photographer's grey card."""

_BAND = 1 << 20  # pixels taken into floating point at a time
_SPREAD_PIXELS = 20_000  # enough for a 95th percentile

# a grey below this in its darkest channel (linear; 15 of 255 encoded) is too coarse to divide by;
# above the upper limit (254 of 255) the channel may have been cut off. Our own choice, no source.
_GREY_RANGE = (0.005, 0.99)
_LIGHTNESS_SLACK = 0.01


@dataclass(frozen=True, eq=False)
class Sample:
    """The colour of a place in a picture.

    Attributes
    ----------
    rgb : (3,), mean in linear light, linear sRGB; beyond 0..1 where it is outside sRGB
    lab : (3,), CIELAB of that mean under D65, 2 degree observer
    count : how many pixels were averaged
    spread : 95th percentile of CIEDE2000 between a pixel and the mean; small where it is even
    clipped : share of pixels, 0..1, with a channel at 0 or at its maximum, to half a step of 8
        bits: their colour is unsure
    """

    rgb: Array
    lab: Array
    count: int
    spread: float
    clipped: float


# --- places -------------------------------------------------------------------------------------


def place(photo: Photo, x: float, y: float, radius: float = 0.0) -> Sample:
    """Return the colour of the pixel at column x, row y, or of the disc around it.

    Parameters
    ----------
    x, y : 0, 0 is the upper left pixel as a viewer shows it; rounded to the nearest pixel
    radius : pixels whose centres are within it belong to the disc [pixels]; what lies outside the
        picture is left out

    Raises
    ------
    PhotoError : if x, y is outside the picture, the radius makes no sense, or the place is
        transparent in part
    """
    _check_numbers(x, y, radius)
    if not (0 <= x <= photo.width - 1 and 0 <= y <= photo.height - 1):
        raise PhotoError(f"the place {x:g}, {y:g} is outside the picture: {_extent(photo)}")
    if not 0 <= radius <= max(photo.width, photo.height):
        raise PhotoError(
            f"a radius of {radius:g} pixels makes no sense; "
            f"0 to {max(photo.width, photo.height)} is possible"
        )
    column, row, reach = math.floor(x + 0.5), math.floor(y + 0.5), math.floor(radius)
    return _sample(
        photo,
        range(max(column - reach, 0), min(column + reach + 1, photo.width)),
        range(max(row - reach, 0), min(row + reach + 1, photo.height)),
        (column, row, radius),
    )


def box(photo: Photo, left: float, top: float, right: float, bottom: float) -> Sample:
    """Return the colour of the columns left to right and the rows top to bottom.

    `right` and `bottom` are the first column and row outside; all four are rounded. What lies
    outside the picture is left out.

    Raises
    ------
    PhotoError : if the centre is outside the picture, the box holds no pixel, or it is transparent
        in part
    """
    _check_numbers(left, top, right, bottom)
    where = f"the box {left:g}, {top:g}, {right:g}, {bottom:g}"
    if not (left < right and top < bottom):
        raise PhotoError(
            f"{where} is empty; left must be less than right, and top less than bottom"
        )
    if not (0 <= (left + right) / 2 <= photo.width and 0 <= (top + bottom) / 2 <= photo.height):
        raise PhotoError(f"{where} has its centre outside the picture: {_extent(photo)}")
    columns = range(round(max(left, 0)), round(min(right, photo.width)))
    rows = range(round(max(top, 0)), round(min(bottom, photo.height)))
    if not columns or not rows:
        raise PhotoError(f"{where} holds no pixel; make it larger")
    return _sample(photo, columns, rows)


def _check_numbers(*numbers: float) -> None:
    for number in numbers:
        if not math.isfinite(number):
            raise PhotoError(f"{number} is no number of pixels")


def _extent(photo: Photo) -> str:
    return (
        f"it is {photo.width} x {photo.height} pixels, "
        f"x 0 to {photo.width - 1}, y 0 to {photo.height - 1}"
    )


def _sample(
    photo: Photo, columns: range, rows: range, disc: tuple[int, int, float] | None = None
) -> Sample:
    """Average a region in bands of rows, so that no large one is held as floating point."""
    top = int(np.iinfo(photo.pixels.dtype).max)
    edge = top // 510
    share = _SPREAD_PIXELS / (len(columns) * len(rows))
    random = np.random.default_rng(0)  # so that the same place gives the same answer
    total, count, clipped, transparent = np.zeros(3), 0, 0, 0
    some = []
    step = max(_BAND // len(columns), 1)
    for start in range(rows.start, rows.stop, step):
        band = slice(start, min(start + step, rows.stop)), slice(columns.start, columns.stop)
        inside = _inside(band, disc)
        chosen = photo.pixels[band][inside]
        if photo.opaque is not None:
            transparent += int(np.count_nonzero(~photo.opaque[band][inside]))
        light = photo.linear(chosen)
        total += light.sum(axis=0)
        count += len(chosen)
        clipped += int(np.count_nonzero(((chosen <= edge) | (chosen >= top - edge)).any(axis=1)))
        some.append(light if share >= 1 else light[random.random(len(light)) < share])
    if transparent:
        raise PhotoError(
            f"{transparent} of the {count} pixels at this place are transparent, "
            "and have no colour of their own; choose an opaque place"
        )
    rgb = total / count
    lab = rgb_to_lab(rgb, viewing())
    spread = np.percentile(ciede2000(rgb_to_lab(np.concatenate(some), viewing()), lab), 95)
    return Sample(rgb, lab, count, float(spread), clipped / count)


def _inside(band: tuple[slice, slice], disc: tuple[int, int, float] | None) -> Mask:
    rows, columns = np.ogrid[band]
    if disc is None:
        return np.ones((rows.size, columns.size), dtype=bool)
    column, row, radius = disc
    return np.asarray((columns - column) ** 2 + (rows - row) ** 2 <= radius**2)


# --- linear sRGB to CIELAB ----------------------------------------------------------------------


def photo_lab(
    linear_rgb: ArrayLike,
    grey: ArrayLike | None = None,
    grey_reflectance: float = GREY_CARD,
    *,
    view: Viewing | None = None,
    highlights: bool = False,
) -> Array:
    """Return CIELAB (..., 3) of linear sRGB (..., 3) of a photo; with a grey, as on its surface.

    Parameters
    ----------
    linear_rgb : e.g. Sample.rgb
    grey : (3,), linear sRGB of a place in the same light that is known to be neutral
    grey_reflectance : its luminous reflectance, 0..1
    view : light and observer of the result, the picture's white becomes its white; D65, 2 degree
        unless given
    highlights : whether a colour may come out above L* 100

    Raises
    ------
    PhotoError : if the grey is too dark or clipped, its reflectance is not in (0, 1], or a colour
        comes out lighter than a perfect white

    Notes
    -----
    Von Kries scaling in the sharpened cone space of the Bradford transform (K. M. Lam, Metamerism
    and colour constancy, thesis, Bradford 1985; ICC.1:2010 Annex E) takes the cast and the exposure
    out at once: the grey becomes exactly the white times its reflectance.
    """
    rgb, encoded = np.asarray(linear_rgb, dtype=float), viewing()
    view = view or encoded
    if rgb.ndim == 0 or rgb.shape[-1] != 3 or not np.isfinite(rgb).all():
        raise PhotoError("a colour is three finite numbers, linear red, green and blue")
    if grey is None:
        return rgb_to_lab(rgb, view)
    neutral = np.asarray(grey, dtype=float)
    if neutral.shape != (3,) or not np.isfinite(neutral).all():
        raise PhotoError("the grey is three finite numbers, linear red, green and blue")
    if not 0 < grey_reflectance <= 1:
        raise PhotoError(
            f"the grey's reflectance is {grey_reflectance:g}; "
            "it must be above 0 and at most 1 (a grey card has 0.18)"
        )
    darkest, lightest = _GREY_RANGE
    if neutral.min() < darkest:
        raise PhotoError("the grey is too dark in the picture to correct by; choose a lighter one")
    if neutral.max() > lightest:
        raise PhotoError("the grey is clipped in the picture; choose a darker one")
    grey_xyz = encoded.white * grey_reflectance
    lab = xyz_to_lab(adapt(rgb_to_xyz(rgb), rgb_to_xyz(neutral), grey_xyz), encoded.white)
    if not highlights and (lab[..., 0] > 100 + _LIGHTNESS_SLACK).any():
        raise PhotoError(
            f"corrected by the grey, the colour has L* {lab[..., 0].max():.1f}, above "
            "a perfect white: it is a highlight, or the grey's reflectance is lower"
        )
    return relit(lab, encoded, view)
