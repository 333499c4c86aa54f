"""Render photographs of painted sheets of which the truth is known, for tests.

A page is printed by an office printer with a gain of its own, painted over the edges of its squares
with a brush, ticked with a pen, laid on a table and photographed aslant by a telephone in a light
that is warm from one side. Nothing of what reads sheets is used: where squares lie is what
``mixlab lesson sheet --json`` says. Invented data: it shows that what was put in is found again.
"""

import io
from dataclasses import dataclass, field

import cv2
import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter

from mixlab.colour.spaces import (
    decode_srgb,
    encode_srgb,
    reflectance_to_lab,
    viewing,
)
from tests.measure.card import Camera

DOTS = 8  # of the page [pixels a millimetre]
INK, PEN = 0.045, 0.06  # reflectance of the printer's black, and of a pen's


def true_lab(mixture, sheen):
    """CIELAB (3,) of a mix, D65 / 2 degree, with a share of its surface's reflection."""
    return reflectance_to_lab(reflectance(mixture, sheen), viewing())


def reflectance(mixture, sheen):
    """Reflectance (36,) of a mix of which a camera sees a share of the surface's reflection."""
    from mixlab.paint import optics

    surface = mixture.paints[0].surface
    body = surface.seen(0.0).measured(optics.opaque(mixture.K, mixture.S))
    return body + surface.outside * sheen


@dataclass
class Scene:
    """How a painted sheet is photographed."""

    tilt: float = 0.0  # degrees
    toward: float = 0.0  # direction of the tilt [degrees]
    turn: float = 0.0  # in the picture [degrees]
    cast: tuple = (1.08, 1.0, 0.82)
    slope: float = 0.2  # how much less light the far side has
    warm: float = 0.06  # how much warmer the near side is
    grain: float = 0.012
    exposure: float = 0.7
    size: tuple = (3000, 4000)  # wide, high
    quality: int = 85
    orientation: int = 1  # EXIF
    blur: float = 0.7  # pixels
    paper: float = 0.86
    colorimetric: bool = True  # whether the camera sees as the observer does
    seed: int = 0
    contrast: float = 1.0  # of the picture's tones
    shadow: tuple | None = None  # left, top, right, bottom [mm], dark by a third
    glare: tuple | None = None  # the same, shining
    away: tuple = field(default=(0.0, 0.0))  # of the sheet's middle from the picture's [share]
    near: float = 0.86  # of the picture that the sheet fills


def print_of(grey, paper=0.86):
    """Reflectance of greys as a printer makes them, whose ink spreads."""
    cover = (1 - np.asarray(grey)) ** 0.8
    return paper * (1 - cover) + INK * cover


def painted_page(page, squares, mixtures, sheen, ticked=(), seed=0, paper=0.86, spill=2.0):
    """Return reflectances (h, w, 36 as few materials): a label image and materials (m, 36).

    `page` is the printed page in grey (h, w), `squares` boxes [mm], `ticked` boxes that a pen
    crosses.
    """
    random = np.random.default_rng(seed)
    high, wide = page.shape
    printed = print_of(page, paper)
    bluish = np.linspace(0.97, 1.01, 36)
    coat = np.zeros((high, wide), dtype=np.int32)
    brush = np.ones((high, wide), dtype=np.float32)
    rough = gaussian_filter(random.normal(size=(high, wide)).astype(np.float32), 6)
    rough /= rough.std()
    y, x = np.mgrid[:high, :wide] / DOTS
    for number, (left, top, right, bottom) in enumerate(squares, start=1):
        about = (slice(int((top - 6) * DOTS), int((bottom + 6) * DOTS)),
                 slice(int((left - 6) * DOTS), int((right + 6) * DOTS)))  # fmt: skip
        u, v = x[about], y[about]
        inside = np.minimum.reduce([u - left, right - u, v - top, bottom - v])
        box = inside > -(spill * 0.4 + rough[about] * 0.8).clip(-0.5, 4)
        coat[about][box] = number
        stripes = gaussian_filter(random.normal(size=(high // 8, wide // 8)), (0.7, 8))
        stripes = cv2.resize(stripes.astype(np.float32) / stripes.std(), (wide, high))
        brush[about][box] = 1 + 0.025 * stripes[about][box].clip(-2.5, 2.5)
    pen = np.zeros((high, wide), dtype=bool)
    for left, top, right, bottom in ticked:
        inside = (x > left - 1) & (x < right + 1) & (y > top - 1) & (y < bottom + 1)
        for sign in (1, -1):
            across = np.abs((x - (left + right) / 2) - sign * (y - (top + bottom) / 2))
            pen |= inside & (across < 0.45)
    materials = np.array([bluish, *(reflectance(m, sheen) for m in mixtures)])
    return coat, np.where(pen, PEN, printed), brush, materials


def photograph(painted, scene, path=None):
    """Return the bytes of a JPEG, or write them."""
    coat, printed, brush, materials = painted
    random = np.random.default_rng(scene.seed)
    camera = Camera()
    if scene.colorimetric:
        view = viewing()
        from mixlab.colour.spaces import adapt, reflectance_to_xyz, xyz_to_rgb

        white = xyz_to_rgb(view.white)
        raw_of = xyz_to_rgb(adapt(reflectance_to_xyz(materials, view), view.white, view.white))
        raw_of, matrix = raw_of / white, np.eye(3)
    else:
        raw_of, matrix = camera.raw(materials), camera.matrix()
    base = np.where((coat == 0)[..., None], printed[..., None] * raw_of[0], 0).astype(np.float32)
    on = coat > 0
    base[on] = (raw_of[coat[on]] * brush[on][:, None]).astype(np.float32)
    high, wide = coat.shape
    y, x = np.mgrid[:high, :wide] / DOTS
    if scene.shadow:
        left, top, right, bottom = scene.shadow
        base[(x > left) & (x < right) & (y > top) & (y < bottom)] *= 0.66
    if scene.glare:
        left, top, right, bottom = scene.glare
        base[(x > left) & (x < right) & (y > top) & (y < bottom)] += 0.35
    size = scene.size
    to_picture = _perspective(scene, wide, high)
    table = np.array([0.16, 0.11, 0.075], dtype=np.float32)
    seen = cv2.warpPerspective(
        base, to_picture, size, flags=cv2.INTER_AREA, borderMode=cv2.BORDER_CONSTANT,
        borderValue=tuple(map(float, table)),
    )  # fmt: skip
    v, u = np.mgrid[-1 : 1 : size[1] * 1j, -1 : 1 : size[0] * 1j].astype(np.float32)
    angle = np.radians(scene.toward + 40)
    along = u * np.cos(angle) + v * np.sin(angle)
    light = (1 - scene.slope * (along + 1.4) / 2.8) * (1 - 0.05 * (u**2 + v**2) / 2)
    warm = scene.warm * along
    field_ = np.stack([light * (1 - warm), light, light * (1 + warm)], axis=-1)
    cast = np.array(scene.cast) / max(scene.cast)
    raw = (seen + 0.002) * field_ * cast * scene.exposure
    if scene.blur:
        raw = cv2.GaussianBlur(raw, (0, 0), scene.blur)
    grain = random.standard_normal(raw.shape, dtype=np.float32)
    raw += grain * scene.grain * np.sqrt(np.maximum(raw, 0) + 0.01)
    rgb = np.clip(raw @ matrix.astype(np.float32), 0, 1) ** scene.contrast
    pixels = np.rint(255 * encode_srgb(rgb)).astype(np.uint8)
    image, exif = Image.fromarray(pixels), Image.Exif()
    if scene.orientation != 1:  # as the sensor lay
        back = {3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90,
                8: Image.Transpose.ROTATE_270}[scene.orientation]  # fmt: skip
        image = image.transpose(back)
        exif[274] = scene.orientation
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=scene.quality, exif=exif)
    if path is not None:
        path.write_bytes(stream.getvalue())
    return stream.getvalue()


def _perspective(scene, wide, high):
    """The matrix from pixels of the page to those of the picture."""
    corners = np.array([[0, 0], [wide, 0], [wide, high], [0, high]], dtype=float)
    flat = (corners - [wide / 2, high / 2]) / high
    turn, axis, tilt = np.radians([scene.turn, scene.toward, scene.tilt])
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    flat = flat @ spin.T
    across = np.array([np.cos(axis), np.sin(axis)])
    depth = 1.5 + np.sin(tilt) * (flat @ across)  # a telephone's lens at 1.5 heights of the page
    shrunk = flat - np.outer(flat @ across, across) * (1 - np.cos(tilt))
    seen = shrunk / depth[:, None]
    seen -= (seen.max(axis=0) + seen.min(axis=0)) / 2
    size = np.array(scene.size)
    by = scene.near * (size / np.ptp(seen, axis=0)).min()
    seen = seen * by + size / 2 + np.array(scene.away) * size
    return cv2.getPerspectiveTransform(corners.astype(np.float32), seen.astype(np.float32))


def grey_page(png):
    """Return the printed page in grey (h, w), linear share of white, at DOTS a millimetre."""
    with Image.open(png) as image:
        page = image.convert("L").resize((210 * DOTS, 297 * DOTS), Image.Resampling.LANCZOS)
    return decode_srgb(np.asarray(page) / 255)
