"""Render a photograph of a swatch card of which the truth is known, for tests.

The card is painted at an invented brick kiln yard: a row for each tube with its masstone and its
tints, a grey card, and the white paper between the rows. An invented camera sees it: sensitivities
of its own, a matrix to sRGB, the cast of the light, a darker edge, grain, 8 bits. What comes out
proves nothing about paint: it shows that what was put in is found again.

References
----------
.. [1] ISO 17321-1, Colour characterisation of digital still cameras: a matrix from the camera's
       sensitivities to the colours that an observer sees can never be exact.
"""


from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.ndimage import gaussian_filter

from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import (
    SRGB_WHITE,
    WAVELENGTHS,
    adapt,
    encode_srgb,
    reflectance_to_lab,
    reflectance_to_xyz,
    viewing,
    xyz_to_rgb,
)
from mixlab.paint import optics
from mixlab.paint.paints import Paint

Array = NDArray[np.float64]
Place = tuple[float, float]

PAPER, GREY, SHEET = 0.86, 0.18, 0.30
"""Reflectance of the paper between the swatches, of the grey card, and of the board beneath."""

SIDE, GAP, MARGIN = 56, 34, 40
"""Side of a swatch, gap between two, and the board around the card [pixels]."""


def own_tube(
    paint: Paint, id: str, load: float = 1.0, shift: float = 0.0, bend: float = 0.0
) -> Paint:
    """Return the tube of another maker: K and S of `paint`, changed.

    Parameters
    ----------
    load : pigment in the tube [that of `paint`]
    shift : of the whole curve toward the red [nm]
    bend : by how much log K rises over log S from 380 to 730 nm, in a smooth slope
    """
    slope = np.exp(bend * np.linspace(-0.5, 0.5, len(WAVELENGTHS)))

    def moved(curve: Array) -> Array:
        return np.asarray(np.exp(np.interp(WAVELENGTHS - shift, WAVELENGTHS, np.log(curve))))

    return replace(
        paint, id=id, name=id.replace("-", " "), K=load * moved(paint.K) * slope,
        S=load * moved(paint.S),
    )  # fmt: skip


def smooth_reflectances(count: int, seed: int = 0) -> Array:
    """Return invented reflectances (count, 36) without sharp bends, dark to light."""
    random = np.random.default_rng(seed)
    waves = gaussian_filter(random.normal(size=(count, 3 * len(WAVELENGTHS))), (0, 5))
    waves = waves[:, len(WAVELENGTHS) : 2 * len(WAVELENGTHS)] / waves.std()
    return np.asarray(1 / (1 + np.exp(-1.5 * waves - random.normal(0, 1, (count, 1)))))


def _bells(*bands: tuple[float, float]) -> Array:
    """Return sensitivities (36, 3), one bell a channel: its peak and standard deviation [nm]."""
    peaks, widths = np.array(bands).T
    return np.asarray(np.exp(-0.5 * ((WAVELENGTHS[:, None] - peaks) / widths) ** 2))


@dataclass(frozen=True, eq=False)
class Camera:
    """A camera, and how it stands in the light.

    Attributes
    ----------
    sensitivity : (36, 3), of its three channels to the energy of each band of D65
    cast : (3,), the light's colour that its white balance left in [channel of white]
    exposure : of a perfect white [full scale]
    edge : how much darker the corners of the picture are than its middle, 0..1
    slope : how much darker the right side is than the left, 0..1
    grain : standard deviation of a pixel of a perfect white [full scale]; falls as a root
    flare : light that the lens spreads over all [perfect white]
    """

    sensitivity: Array = field(default_factory=lambda: _bells((598, 36), (537, 40), (459, 29)))
    cast: tuple[float, float, float] = (1.08, 1.0, 0.86)
    exposure: float = 0.72
    edge: float = 0.06
    slope: float = 0.0
    grain: float = 0.012
    flare: float = 0.002

    def raw(self, reflectance: ArrayLike) -> Array:
        """Return what the channels (..., 3) take up of reflectances (..., 36); 1 for white."""
        return np.asarray(np.asarray(reflectance) @ (self.sensitivity / self.sensitivity.sum(0)))

    def matrix(self) -> Array:
        """Return the maker's matrix (3, 3) to linear sRGB: least squares that keeps white white."""
        view = viewing()
        known = smooth_reflectances(200)
        seen = self.raw(known)
        wanted = xyz_to_rgb(adapt(reflectance_to_xyz(known, view), view.white, SRGB_WHITE))
        # rows that sum to one: solved for the differences to the last channel
        free = np.linalg.lstsq(
            seen[:, :2] - seen[:, 2:], wanted - seen[:, 2:], rcond=None
        )[0]  # fmt: skip
        return np.vstack([free, 1 - free.sum(axis=0)])

    def photograph(self, reflectance: Array, seed: int = 0) -> NDArray[np.uint8]:
        """Return the picture (h, w, 3), encoded sRGB, of a card of reflectances (h, w, 36)."""
        random = np.random.default_rng(seed)
        high, wide = reflectance.shape[:2]
        y, x = np.mgrid[-1 : 1 : high * 1j, -1 : 1 : wide * 1j]
        light = (1 - self.edge * (x**2 + y**2) / 2) * (1 - self.slope * (x + 1) / 2)
        raw = (self.raw(reflectance) + self.flare) * light[..., None] * self.cast
        raw = raw * self.exposure / max(self.cast)
        noise = self.grain * np.sqrt(np.maximum(raw, 0) + 0.01)
        raw = raw + random.normal(size=raw.shape) * noise
        return np.asarray(np.rint(255 * encode_srgb(raw @ self.matrix())), dtype=np.uint8)


@dataclass(frozen=True, eq=False)
class Card:
    """A painted card: what lies where, and the reflectance of everything.

    Attributes
    ----------
    reflectance : (h, w, 36)
    swatches : places of each mix, by its notation
    grey, paper : places of the two references
    """

    reflectance: Array
    swatches: dict[str, list[Place]]
    grey: list[Place]
    paper: list[Place]

    def toml(self, photo: str, tubes: Mapping[str, str], radius: float = 16) -> str:
        """Return the description that ``mixlab characterise`` reads; `tubes` by index name."""

        def at(place: Place) -> str:
            return f"[{place[0]:g}, {place[1]:g}]"

        neutral = ", ".join(f"{{ at = {at(p)}, reflectance = {GREY:g} }}" for p in self.grey)
        return "\n".join([
            f'photo = "{photo}"',
            f"radius = {radius:g}",
            f"neutral = [{neutral}]",
            f"paper = [{', '.join(map(at, self.paper))}]",
            "", "[tubes]", *(f'{id} = "{index}"' for id, index in tubes.items()),
            "", "[swatches]",
            *(f'"{mix}" = [{", ".join(map(at, places))}]' for mix, places in self.swatches.items()),
            "",
        ])  # fmt: skip


def seen(k: ArrayLike, s: ArrayLike, surface: optics.Surface, sheen: float) -> Array:
    """Return reflectances (..., 36) of opaque paint as a camera meets them.

    `sheen` is the share of the light that the surface turns back which reaches it, 0..1.
    """
    body = surface.seen(0.0).measured(optics.opaque(k, s))
    return np.asarray(body + sheen * surface.outside)


def paint_card(
    tubes: Sequence[Paint],
    white: Paint,
    ratios: Sequence[float] = (0, 1, 4, 16),
    sheen: float = 0.6,
    slip: float = 0.04,
    seed: int = 0,
) -> Card:
    """Paint a card: a row for each tube, tints of one part in so many of white, and the white.

    Parameters
    ----------
    sheen : see :func:`seen`
    slip : how far a pile is off its stated parts [standard deviation of its logarithm]
    """
    random = np.random.default_rng(seed)
    rows: list[dict[str, Array]] = []
    for tube in tubes:
        row = {}
        for ratio in ratios:
            parts = [1.0, ratio * np.exp(slip * random.normal())]
            k, s = optics.mix(parts, [tube.K, white.K]), optics.mix(parts, [tube.S, white.S])
            name = f"1 {tube.id}" + (f" + {ratio:g} {white.id}" if ratio else "")
            row[name] = seen(k, s, white.surface, sheen)
        rows.append(row)
    rows.append({f"1 {white.id}": seen(white.K, white.S, white.surface, sheen)})
    return lay_card(rows, seed)


def lay_card(rows: Sequence[Mapping[str, Array]], seed: int = 0) -> Card:
    """Lay swatches out in rows, each a reflectance (36,) by its mixture, beside two grey cards."""
    random = np.random.default_rng([seed, 1])
    step, columns = SIDE + GAP, max(map(len, rows)) + 1
    high, wide = step * len(rows) + GAP, step * columns + GAP
    sheet = np.full((high + 2 * MARGIN, wide + 2 * MARGIN, len(WAVELENGTHS)), SHEET)
    sheet[MARGIN:-MARGIN, MARGIN:-MARGIN] = PAPER
    marks = 1 + 0.015 * _strokes((high, wide), random)[..., None]

    def lay(column: int, line: int, curve: Array | float, brushed: bool = True) -> Place:
        left, top = GAP + column * step, GAP + line * step
        mark = marks[top : top + SIDE, left : left + SIDE] if brushed else 1.0
        left, top = left + MARGIN, top + MARGIN
        sheet[top : top + SIDE, left : left + SIDE] = curve * mark
        return left + SIDE / 2, top + SIDE / 2

    swatches: dict[str, list[Place]] = {}
    for line, row in enumerate(rows):
        for column, (mixture, curve) in enumerate(row.items()):
            swatches.setdefault(mixture, []).append(lay(column, line, curve))
    grey = [lay(columns - 1, line, GREY, brushed=False) for line in (0, len(rows) - 1)]
    between = MARGIN + GAP / 2
    paper = [
        (between + column * step, between + line * step)
        for line in (0, len(rows) // 2, len(rows))
        for column in (0, columns // 2, columns)
    ]
    return Card(sheet, swatches, grey, paper)


def _strokes(shape: tuple[int, int], random: np.random.Generator) -> Array:
    """Return brush marks (h, w) along the rows, of mean 0 and standard deviation 1."""
    marks = gaussian_filter(random.normal(size=shape), (1.5, 14))
    return np.asarray(marks / marks.std())


# --- how well tubes were recovered --------------------------------------------------------------


def colours(paints: Sequence[Paint], shares: ArrayLike) -> Array:
    """Return CIELAB (3,) of a mix, as measured."""
    k = optics.mix(shares, [p.K for p in paints])
    s = optics.mix(shares, [p.S for p in paints])
    return reflectance_to_lab(paints[0].surface.measured(optics.opaque(k, s)), viewing())


def misses_of(
    found: Mapping[str, Paint], truth: Mapping[str, Paint], random: np.random.Generator,
    count: int = 300,
) -> Array:  # fmt: skip
    """Return CIEDE2000 (count,) of random mixes of up to three tubes and the white, the last."""
    *tubes, white = truth
    misses = []
    for _ in range(count):
        ids = [*random.choice(tubes, random.integers(1, 4), replace=False), white]
        shares = random.dirichlet(np.ones(len(ids)))
        misses.append(ciede2000(*(colours([of[i] for i in ids], shares) for of in (found, truth))))
    return np.array(misses)


def say(what: str, misses: Array) -> None:
    """Print misses."""
    print(
        f"{what}: mean {misses.mean():.2f}, median {np.median(misses):.2f}, "
        f"95 % below {np.percentile(misses, 95):.2f}, largest {misses.max():.2f}"
    )
