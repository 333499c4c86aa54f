"""Light and observer to weights, reflectance to colour, and colour differences.

Every function takes arrays whose last axis is the colour or the wavelength, with any leading
axes. XYZ is on the scale Y = 100 for the perfect reflecting diffuser. Light and observer travel
together as a :class:`Viewing`. Nothing here needs colour-science at run time: the weights were
made from its data by ``data.making.lights``, and a test holds the two equal.

References
----------
.. [1] ISO/CIE 11664-3 (XYZ), 11664-4 (CIELAB), 11664-6 (CIEDE2000).
.. [2] ASTM E308, Standard Practice for Computing the Colors of Objects by Using the CIE System.
.. [3] IEC 61966-2-1, Default RGB colour space - sRGB.
.. [4] Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula: implementation notes,
       supplementary test data, and mathematical observations", Color Res. Appl. 30 (2005) 21-30.
.. [5] Lam, "Metamerism and colour constancy" (1985), the Bradford transform; ICC.1 Annex E.
"""


import csv
from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour import munsell
from mixlab.errors import LightError
from mixlab.files import bundled

WAVELENGTHS: Array = np.arange(380.0, 731.0, 10.0)
"""The grid of every curve [nm], shape (36,)."""

MUST_COVER = (400.0, 700.0)
"""What curves on another grid must cover [nm]; beyond their ends they keep their last values."""

WIDEST_STEP = 10.0
"""Greatest step of curves on another grid [nm]."""

# sRGB primaries and white as chromaticities, IEC 61966-2-1
_SRGB_PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
_SRGB_WHITE_XY = np.array([0.3127, 0.3290])

# sharpened cone responses, Lam 1985
_BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)

_LAB_EDGE = 6.0 / 29.0
# linear values that a screen of 8 bits shows within half a level
_SHOWN = (-0.5 / 255 / 12.92, ((1 + 0.5 / 255 + 0.055) / 1.055) ** 2.4)


def grid_fault(wavelengths: ArrayLike, widest: float = WIDEST_STEP) -> tuple[int, str] | None:
    """Return what keeps curves at these wavelengths (n,) [nm] from being brought to the grid.

    `widest` is the greatest step that will do [nm].

    Returns
    -------
    The place of the wavelength that is wrong and why, in words; None if all is well, when
    ``np.interp(WAVELENGTHS, wavelengths, values)`` brings them there.
    """
    w = np.asarray(wavelengths, dtype=float)
    step = np.diff(w)
    for wrong, why in (
        (~(step > 0), "{1:g} nm follows {0:g}; wavelengths must rise"),
        (step > widest + 1e-9, "nothing between {0:g} and {1:g} nm; steps of more than "
                               f"{widest:g} nm are too sparse to tell a colour"),
    ):  # fmt: skip
        if wrong.any():
            at = int(np.argmax(wrong)) + 1
            return at, why.format(w[at - 1], w[at])
    if not (w[0] <= MUST_COVER[0] and w[-1] >= MUST_COVER[1]):
        needed = f"at least {MUST_COVER[0]:g}-{MUST_COVER[1]:g} nm are needed"
        at = 0 if not w[0] <= MUST_COVER[0] else len(w) - 1
        return at, f"covers {w[0]:g}-{w[-1]:g} nm; {needed}"
    return None


@dataclass(frozen=True)
class Viewing:
    """A light, an observer and a finish, by which it is compared, and weights to XYZ.

    Attributes
    ----------
    light : CIE name of the light, e.g. "D65"
    observer : "2" (CIE 1931) or "10" (CIE 1964) [degrees]
    finish : of :data:`FINISHES`, how much of the surface's own reflection reaches the eye
    weights : (36, 3), weights on the grid, summing to Y = 100
    white : (3,), XYZ of the perfect reflecting diffuser
    """

    light: str
    observer: str
    finish: str
    weights: Array = field(compare=False, repr=False)
    white: Array = field(compare=False, repr=False)

    def __str__(self) -> str:
        """Return it in words, e.g. "D65, 2 degree observer; gloss"."""
        return f"{self.light}, {self.observer} degree observer; {self.finish}"

    @property
    def specular(self) -> float:
        """Share of the light reflected by the paint's surface that reaches the eye, 0..1."""
        return FINISHES[self.finish]


@cache
def _weights() -> dict[tuple[str, str], Array]:
    rows: dict[tuple[str, str], list[list[float]]] = {}
    with open(bundled("lights.csv"), newline="", encoding="utf-8") as stream:
        reader = csv.reader(stream)
        next(reader)
        for light, observer, _channel, *numbers in reader:
            rows.setdefault((light, observer), []).append([float(n) for n in numbers])
    return {key: np.array(value).T for key, value in rows.items()}


PLACES = {
    "daylight": "D65",
    "north-shade": "D75",
    "sunlight": "D50",
    "tungsten": "A",
    "gallery-led": "LED-B2",
    "cool-led": "LED-B5",
    "shop-tube": "FL2",
}
"""CIE lights for the places where paintings are made and hung: average daylight, a north sky in
shade, direct sunlight, an incandescent lamp, warm and cool white LEDs, a fluorescent tube.
Which light stands for which place is common practice, no source; the lights are CIE 15:2018's."""

FINISHES = {"gloss": 0.05, "satin": 0.5, "matt": 1.0}
"""Share of the surface's own reflection that reaches the eye. Matt: all of it, as an instrument
with the specular component included reads any paint (CIE 15:2018, di:8). Gloss: wet, oiled out or
varnished paint with the glare turned away (45:0, de:8); 0.05 takes the blackest bundled paints to
N 0.5, where the glossy Munsell neutrals end, as 1 takes them to the N 2 of the matt ones (both
from memory). Satin lies between: common practice, no source."""


def lights() -> list[str]:
    """Return the names of the lights that are known."""
    return list(dict.fromkeys(light for light, _ in _weights()))


def viewing(light: str = "D65", observer: str = "2", finish: str = "gloss") -> Viewing:
    """Return how paint is seen: a light, an observer and a finish.

    Parameters
    ----------
    light : CIE name, see :func:`lights`, or one of :data:`PLACES`; case does not matter
    observer : "2" or "10" [degrees]
    finish : "gloss", "satin" or "matt", see :data:`FINISHES`

    Raises
    ------
    LightError : if one of them is not known
    """
    known = lights()
    asked = str(light).strip().lower()
    asked = PLACES.get(asked, asked).lower()
    name = next((k for k in known if k.lower() == asked), None)
    if name is None:
        raise LightError(
            f"no light named {light!r}; known lights: {', '.join(known)}; or {', '.join(PLACES)}"
        )
    degrees = str(observer).strip().lower().removesuffix("deg").strip()
    if degrees not in ("2", "10"):
        raise LightError(f"no observer {observer!r}; the observer is 2 or 10 (degrees)")
    coat = str(finish).strip().lower()
    if coat not in FINISHES:
        raise LightError(f"no finish {finish!r}; the finish is {', '.join(FINISHES)}")
    return _viewing(name, degrees, coat)


@cache
def _viewing(light: str, observer: str, finish: str) -> Viewing:
    weights = _weights()[light, observer]
    return Viewing(light, observer, finish, weights, weights.sum(axis=0))


# --- reflectance, XYZ, CIELAB -------------------------------------------------------------------


def reflectance_to_xyz(reflectance: ArrayLike, view: Viewing) -> Array:
    """Return XYZ (..., 3) of reflectances (..., 36), 0..1 on the grid; ASTM E308 for 10 nm data."""
    return np.asarray(np.asarray(reflectance, dtype=float) @ view.weights)


def xyz_to_lab(xyz: ArrayLike, white: ArrayLike) -> Array:
    """Return CIELAB (..., 3) of XYZ (..., 3) under `white` (3,); ISO/CIE 11664-4."""
    t = np.asarray(xyz, dtype=float) / np.asarray(white, dtype=float)
    linear = t / (3 * _LAB_EDGE**2) + 4.0 / 29.0
    f = np.where(t > _LAB_EDGE**3, np.cbrt(t), linear)
    lab: Array = np.empty_like(f)
    lab[..., 0] = 116 * f[..., 1] - 16
    lab[..., 1] = 500 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200 * (f[..., 1] - f[..., 2])
    return lab


def xyY_to_xyz(xyY: ArrayLike) -> Array:
    """Return XYZ (..., 3) of chromaticity and luminance (..., 3); CIE 15."""
    x, y, luminance = np.moveaxis(np.asarray(xyY, dtype=float), -1, 0)
    return np.stack([x * luminance / y, luminance, (1 - x - y) * luminance / y], axis=-1)


def lab_to_xyz(lab: ArrayLike, white: ArrayLike) -> Array:
    """Return XYZ (..., 3) of CIELAB (..., 3) under `white` (3,); the inverse of xyz_to_lab."""
    lab = np.asarray(lab, dtype=float)
    fy = (lab[..., 0] + 16) / 116
    f = np.stack([fy + lab[..., 1] / 500, fy, fy - lab[..., 2] / 200], axis=-1)
    t = np.where(f > _LAB_EDGE, f**3, 3 * _LAB_EDGE**2 * (f - 4.0 / 29.0))
    return np.asarray(t * np.asarray(white, dtype=float))


def reflectance_to_lab(reflectance: ArrayLike, view: Viewing) -> Array:
    """Return CIELAB (..., 3) of reflectances (..., 36) under a light and observer."""
    return xyz_to_lab(reflectance_to_xyz(reflectance, view), view.white)


def lab_to_lch(lab: ArrayLike) -> Array:
    """Return CIELCh (..., 3), hue 0..360 degrees, of CIELAB (..., 3)."""
    lab = np.asarray(lab, dtype=float)
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1])) % 360
    hue = np.where(hue < 360, hue, 0.0)  # the remainder of a hair below zero is 360 itself
    return np.stack([lab[..., 0], np.hypot(lab[..., 1], lab[..., 2]), hue], axis=-1)


def lch_to_lab(lch: ArrayLike) -> Array:
    """Return CIELAB (..., 3) of CIELCh (..., 3), hue in degrees."""
    lch = np.asarray(lch, dtype=float)
    hue = np.radians(lch[..., 2])
    return np.stack([lch[..., 0], lch[..., 1] * np.cos(hue), lch[..., 1] * np.sin(hue)], axis=-1)


def relit(lab: ArrayLike, view_from: Viewing, view_to: Viewing) -> Array:
    """Return CIELAB (..., 3) under another light: its white becomes that light's (Bradford)."""
    if view_from == view_to:
        return np.asarray(lab, dtype=float)
    xyz = lab_to_xyz(lab, view_from.white)
    return xyz_to_lab(adapt(xyz, view_from.white, view_to.white), view_to.white)


def adapt(xyz: ArrayLike, white_from: ArrayLike, white_to: ArrayLike) -> Array:
    """Return XYZ (..., 3) as seen under another white: von Kries in Bradford's space, Lam 1985."""
    gain = (_BRADFORD @ np.asarray(white_to)) / (_BRADFORD @ np.asarray(white_from))
    matrix = np.linalg.solve(_BRADFORD, gain[:, None] * _BRADFORD)
    return np.asarray(np.asarray(xyz, dtype=float) @ matrix.T)


# --- sRGB ---------------------------------------------------------------------------------------


def _srgb_matrix() -> Array:
    """Linear RGB to XYZ from the primaries and the white, so that RGB 1, 1, 1 is that white."""
    x, y = _SRGB_PRIMARIES.T
    columns = np.stack([x / y, np.ones(3), (1 - x - y) / y])
    wx, wy = _SRGB_WHITE_XY
    white = np.array([wx / wy, 1.0, (1 - wx - wy) / wy])
    return np.asarray(100 * columns * np.linalg.solve(columns, white))


_RGB_TO_XYZ = _srgb_matrix()
_XYZ_TO_RGB = np.linalg.inv(_RGB_TO_XYZ)
SRGB_WHITE: Array = _RGB_TO_XYZ.sum(axis=1)
"""XYZ of sRGB white, Y = 100, shape (3,)."""


def rgb_to_xyz(rgb: ArrayLike) -> Array:
    """Return XYZ (..., 3) under the sRGB white of linear sRGB (..., 3), 0..1; IEC 61966-2-1."""
    return np.asarray(np.asarray(rgb, dtype=float) @ _RGB_TO_XYZ.T)


def xyz_to_rgb(xyz: ArrayLike) -> Array:
    """Return linear sRGB (..., 3), unclipped, of XYZ (..., 3) under the sRGB white."""
    return np.asarray(np.asarray(xyz, dtype=float) @ _XYZ_TO_RGB.T)


def decode_srgb(encoded: ArrayLike) -> Array:
    """Return linear values 0..1 of encoded sRGB values 0..1; IEC 61966-2-1."""
    v = np.asarray(encoded, dtype=float)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.04045) + 0.055) / 1.055) ** 2.4)


def encode_srgb(linear: ArrayLike) -> Array:
    """Return encoded sRGB values 0..1 of linear values, clipped to 0..1; IEC 61966-2-1."""
    v = np.clip(np.asarray(linear, dtype=float), 0, 1)
    return np.asarray(np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055))


def lab_to_rgb(lab: ArrayLike, view: Viewing) -> Array:
    """Return linear sRGB (..., 3), unclipped, of CIELAB (..., 3) seen under `view`.

    The light's white becomes the screen's white (Bradford adaptation).
    """
    return xyz_to_rgb(adapt(lab_to_xyz(lab, view.white), view.white, SRGB_WHITE))


def rgb_to_lab(rgb: ArrayLike, view: Viewing) -> Array:
    """Return CIELAB (..., 3) under `view` of linear sRGB (..., 3); the inverse of lab_to_rgb."""
    return xyz_to_lab(adapt(rgb_to_xyz(rgb), SRGB_WHITE, view.white), view.white)


def in_gamut(lab: ArrayLike, view: Viewing) -> NDArray[np.bool_]:
    """Return whether CIELAB colours (..., 3) can be shown in sRGB, to half a level of 8 bits."""
    rgb = lab_to_rgb(lab, view)
    return np.asarray(((rgb > _SHOWN[0]) & (rgb < _SHOWN[1])).all(axis=-1))


def lab_to_hex(lab: ArrayLike, view: Viewing) -> str:
    """Return the nearest "#rrggbb" of one CIELAB colour (3,); each channel is clipped."""
    levels = np.rint(255 * encode_srgb(lab_to_rgb(lab, view))).astype(int)
    return "#" + "".join(f"{level:02x}" for level in levels)


def hex_to_lab(text: str, view: Viewing) -> Array:
    """Return CIELAB (3,) under `view` of "#rrggbb" or "rrggbb", or of "#rgb", each digit doubled.

    The short form is that of CSS Color 4, 5.2; without its sign it might be a word.

    Raises
    ------
    ValueError : if the text is neither
    """
    digits = text.strip().removeprefix("#")
    if len(digits) == 3 and digits != text.strip():
        digits = "".join(digit * 2 for digit in digits)
    if len(digits) != 6 or not all(c in "0123456789abcdefABCDEF" for c in digits):
        raise ValueError(text)
    return rgb_to_lab(decode_srgb(np.array(list(bytes.fromhex(digits))) / 255), view)


# --- Munsell ------------------------------------------------------------------------------------

# the white of the Munsell renotation: illuminant C, 2 degree; ASTM D1535
_C_WHITE = xyY_to_xyz([*munsell.WHITE, 100.0])


def lab_to_munsell(lab: ArrayLike, view: Viewing) -> Array:
    """Return Munsell hue, value and chroma (..., 3) of CIELAB (..., 3) seen under `view`.

    The renotation is for illuminant C and the 2 degree observer, so that colours under any other
    light are first adapted to C (Bradford). Hue is the ASTM D1535 hue number, 0..100.
    """
    x, y, z = np.moveaxis(_under_c(lab, view), -1, 0)
    total = np.where(x + y + z > 0, x + y + z, 1.0)
    dark = x + y + z <= 0
    xy = [np.where(dark, c, v / total) for c, v in zip(munsell.WHITE, (x, y), strict=True)]
    return munsell.xyY_to_munsell(np.stack([*xy, y], axis=-1))


def lab_to_value(lab: ArrayLike, view: Viewing) -> Array:
    """Return Munsell value (...,) of CIELAB (..., 3) seen under `view`; see lab_to_munsell."""
    return munsell.value(_under_c(lab, view)[..., 1])


def _under_c(lab: ArrayLike, view: Viewing) -> Array:
    return adapt(lab_to_xyz(lab, view.white), view.white, _C_WHITE)


def munsell_to_lab(hvc: ArrayLike, view: Viewing) -> Array:
    """Return CIELAB (..., 3) seen under `view` of Munsell hue, value and chroma (..., 3)."""
    return xyz_to_lab(munsell_to_xyz(hvc, view), view.white)


def munsell_to_xyz(hvc: ArrayLike, view: Viewing) -> Array:
    """Return XYZ (..., 3) seen under `view` of Munsell hue, value and chroma (..., 3)."""
    return adapt(xyY_to_xyz(munsell.munsell_to_xyY(hvc)), _C_WHITE, view.white)
