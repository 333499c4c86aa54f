"""What the demo scene is painted with: noise, one camera, one light, and a canvas to touch.

Lengths are metres (x right, y up from the pond, z away from the eye); points of the picture are
pixels of the finished size from its top-left corner; colours are linear sRGB, shape (..., 3).
"""


import numpy as np
from numpy.typing import ArrayLike, NDArray
from PIL import Image, ImageDraw, ImageFilter

from mixlab.colour.spaces import decode_srgb, encode_srgb

Array = NDArray[np.float64]
Random = np.random.Generator
Window = tuple[slice, slice]

WIDTH, HEIGHT = 1200, 800
FINE = 2  # painted this many times larger, then reduced
SEED = 1017

FOCAL, HORIZON, EYE = 1150.0, 330.0, 5.5  # px, row, metres above the pond
YARD = 0.9  # height of the land above the pond
UP = np.array([0.0, 1.0, 0.0])

TO_SUN = np.array([-0.90, 0.30, -0.316])  # low at the left, a little behind the painter
SUN = np.array([2.15, 1.62, 0.98])
SKYLIGHT = np.array([0.24, 0.29, 0.385])
BOUNCE = np.array([0.13, 0.085, 0.05])

BLOCK = 1 << 14  # points of noise at a time, which stay in the processor's cache
LATTICE = np.random.default_rng(SEED).random((256, 256))


def tone(code: str) -> Array:
    """Return the linear colour (3,) of an sRGB code such as "b5573a"."""
    return decode_srgb(np.array(list(bytes.fromhex(code))) / 255)


def blend(a: ArrayLike, b: ArrayLike, share: ArrayLike) -> Array:
    """Return colours `a` moved toward `b` by a share (...) of 0..1."""
    part = np.clip(np.asarray(share, float), 0, 1)[..., None]
    return np.asarray(np.asarray(a) * (1 - part) + np.asarray(b) * part)


def smooth(low: ArrayLike, high: ArrayLike, value: ArrayLike) -> Array:
    """Return 0 on the side of `low`, 1 on the side of `high` and a soft step between."""
    low, high = np.asarray(low, float), np.asarray(high, float)
    t = np.clip((np.asarray(value, float) - low) / (high - low), 0, 1)
    return np.asarray(t * t * (3 - 2 * t))


def noise(u: ArrayLike, v: ArrayLike, octaves: int = 4) -> Array:
    """Return fractal value noise 0..1, about 1/2, at (u, v); one cell of the lattice a unit."""
    u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
    total, along, down = np.zeros(u.size), u.ravel(), v.ravel()
    for start in range(0, u.size, BLOCK):
        some = slice(start, start + BLOCK)
        total[some] = _octaves(along[some], down[some], octaves)
    return total.reshape(u.shape)


def _octaves(u: Array, v: Array, octaves: int) -> Array:
    total, weight, corners = np.zeros(u.shape), 0.0, LATTICE.ravel()
    for octave in range(octaves):
        x, y = u * 2.0**octave + 17.3 * octave, v * 2.0**octave + 5.7 * octave
        left, upper = np.floor(x), np.floor(y)
        a, b = (t * t * (3 - 2 * t) for t in (x - left, y - upper))
        i, j = left.astype(int) & 255, upper.astype(int) & 255
        beside, below = i + 1 & 255, (j + 1 & 255) * 256
        j *= 256
        top = corners[j + i] * (1 - a) + corners[j + beside] * a
        low = corners[below + i] * (1 - a) + corners[below + beside] * a
        total += 0.5**octave * (top * (1 - b) + low * b)
        weight += 0.5**octave
    return total / weight


def cells(u: Array, v: Array) -> Array:
    """Return one random number 0..1 for each unit square that the points (u, v) fall in."""
    return np.asarray(LATTICE[np.floor(v).astype(int) & 255, np.floor(u).astype(int) & 255])


def seen(point: ArrayLike) -> Array:
    """Return where in the picture (..., 2) the points (..., 3) of the place appear."""
    x, y, z = np.moveaxis(np.asarray(point, float), -1, 0)
    return np.stack([WIDTH / 2 + FOCAL * x / z, HORIZON - FOCAL * (y - EYE) / z], -1)


def found(x: Array, y: Array, origin: ArrayLike, normal: ArrayLike = (0, 1, 0)) -> Array:
    """Return the points (..., 3) of a plane that are seen at (x, y) of the picture."""
    ray = np.stack([(x - WIDTH / 2) / FOCAL, (HORIZON - y) / FOCAL, np.ones_like(x)], -1)
    slope = ray @ np.asarray(normal, float)
    away = (np.asarray(origin, float) - [0, EYE, 0]) @ np.asarray(normal, float)
    distance = away / np.where(np.abs(slope) < 1e-6, 1e-6, slope)
    return np.asarray(ray * distance[..., None] + [0, EYE, 0])


def lit(albedo: ArrayLike, normal: ArrayLike, sun: ArrayLike = 1.0, wrap: float = 0.0) -> Array:
    """Return the light from matt surfaces facing `normal` under the sun and the open sky.

    `sun` is the share of sunlight that arrives; `wrap` lets light creep round soft forms.
    """
    normal = np.asarray(normal, float)
    facing = np.clip((normal @ TO_SUN + wrap) / (1 + wrap), 0, None) * sun
    above = np.asarray(0.62 + 0.38 * normal[..., 1])
    light = facing[..., None] * SUN + above[..., None] * SKYLIGHT + BOUNCE
    return np.asarray(np.asarray(albedo) * light)


def aired(colour: Array, distance: ArrayLike, clear: float = 850.0) -> Array:
    """Return colours as they look through `distance` metres of October air."""
    return blend(colour, tone("b6bdc4"), 1 - np.exp(-np.asarray(distance, float) / clear))


def bytes_of(colour: Array) -> NDArray[np.uint8]:
    """Return colours as sRGB bytes, lights rolled off softly instead of clipped."""
    rolled = np.where(colour > 0.75, 0.75 + 0.25 * np.tanh((colour - 0.75) / 0.45), colour)
    return np.rint(encode_srgb(rolled) * 255).astype(np.uint8)


class Canvas:
    """The picture under work: an image FINE times the finished size, and its pixel grid."""

    def __init__(self) -> None:
        self.image = Image.new("RGB", (WIDTH * FINE, HEIGHT * FINE))
        across, down = np.arange(WIDTH * FINE), np.arange(HEIGHT * FINE)
        self.x, self.y = np.meshgrid((across + 0.5) / FINE, (down + 0.5) / FINE)

    def colours(self) -> Array:
        """Return what is painted so far, linear, on the fine grid."""
        return np.asarray(decode_srgb(np.arange(256) / 255)[np.asarray(self.image)])

    def window(self, points: ArrayLike) -> Window:
        """Return the rows and columns of the grid that hold the points (n, 2) of the picture."""
        points = np.asarray(points, float)
        limit = [WIDTH * FINE, HEIGHT * FINE]
        low = np.clip(np.floor(points.min(0) * FINE) - 2, 0, limit).astype(int)
        high = np.clip(np.ceil(points.max(0) * FINE) + 3, 0, limit).astype(int)
        return slice(low[1], high[1]), slice(low[0], high[0])

    def lay(self, colour: Array, cover: Array, at: Window | None = None) -> None:
        """Lay colours (h, w, 3) over the picture, or its window, as far as `cover` says."""
        corner = (at[1].start, at[0].start) if at else (0, 0)
        mask = Image.fromarray(np.rint(np.clip(cover, 0, 1) * 255).astype(np.uint8))
        shown = np.broadcast_to(colour, (*cover.shape, 3))
        self.image.paste(Image.fromarray(bytes_of(shown)), corner, mask)

    def shape(self, points: Array, at: Window, soft: float) -> Array:
        """Return the cover 0..1 of a polygon (n, 2) within a window, its edge blurred by `soft`."""
        rows, columns = at
        mask = Image.new("L", (columns.stop - columns.start, rows.stop - rows.start))
        outline = (points * FINE - [columns.start, rows.start]).ravel().tolist()
        ImageDraw.Draw(mask).polygon(outline, fill=255)
        return np.asarray(mask.filter(ImageFilter.GaussianBlur(soft * FINE)), float) / 255

    def fill(self, outlines: Array, colours: Array) -> None:
        """Fill polygons (n, k, 2) with colours (n, 3), the last one on top."""
        draw = ImageDraw.Draw(self.image)
        flat = (outlines * FINE).reshape(len(outlines), -1).tolist()
        for outline, ink in zip(flat, bytes_of(colours).tolist(), strict=True):
            draw.polygon(outline, fill=tuple(ink))

    def dab(self, at: Array, size: ArrayLike, angle: ArrayLike, colours: Array) -> None:
        """Set oval touches of the brush: centres (n, 2), half axes (n, 2), angles, colours."""
        turn = np.arange(8) * np.pi / 4
        half = np.broadcast_to(np.asarray(size, float), at.shape)[:, None]
        x, y = np.cos(turn) * half[..., 0], np.sin(turn) * half[..., 1]
        c, s = np.cos(angle)[..., None], np.sin(angle)[..., None]
        oval = np.stack([x * c - y * s, x * s + y * c], -1)
        self.fill(at[:, None] + oval, np.broadcast_to(colours, (len(at), 3)))

    def blades(
        self, foot: Array, rise: Array, bend: Array, width: Array, colours: Array
    ) -> None:
        """Draw blades: feet (n, 2), heights, sideways reach of the tips, widths, colours."""
        x, y = foot.T
        half, lean, belly = width / 2, bend * 0.35, y - rise * 0.6
        outline = [(x - half, y), (x + lean - half * 0.8, belly), (x + bend, y - rise),
                   (x + lean + half * 0.8, belly), (x + half, y)]
        self.fill(np.stack([np.stack(corner, -1) for corner in outline], 1), colours)
