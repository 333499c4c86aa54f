"""What the curves of a mix show: where it reflects most and least, in three bands, and the hue.

Chroma lives between the *maximum* and the *minimum* of reflectance. Both move as paint is added:
each stage has its own, and a second one where the curve has it (a purple reflects blue and red).
The hue stands in how three bands of light share what is between: blue, green and red.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour.munsell import FAMILIES, hue_family, write_munsell
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, lab_to_munsell, reflectance_to_lab
from mixlab.mixing.ladders import Path, drift, hue_steps
from mixlab.paint import optics

SEEN = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)
"""Where a maximum or a minimum counts. Below, titanium white itself absorbs."""

FAINT = 0.05
"""Of the light that the eye sees best: what it sees less of than that, it hardly sees."""

BANDS = {"blue": (420, 490), "green": (500, 570), "red": (580, 700)}
"""Three bands of light [nm], both ends included; our own choice."""

NAMED = 5.0
"""Chroma that a painter gives a name to [C*]; a hue turns, and chroma halves, only above it."""

_WITHIN = {
    name: np.clip(WAVELENGTHS, *ends) == WAVELENGTHS for name, ends in BANDS.items()
}

SPARED = 0.25
"""Share of the most that a paint absorbs [K, of its greatest] below which it spares a light."""

_ALIKE = 0.02  # relative: of what is so near to the greatest, the place that the eye sees best
_AGAIN = 0.5  # of the greatest rise above the least, from which a second maximum is told
_FLAT = 0.02  # reflectance between maximum and minimum below which there is no second


@dataclass(frozen=True, eq=False)
class Point:
    """One mix on the way.

    Attributes
    ----------
    share : of the addition, 0..1
    lab : (3,)
    hvc : Munsell hue number, value and chroma (3,)
    """

    share: float
    lab: Array
    hvc: Array

    @property
    def hue(self) -> float:
        """Munsell hue number, 0..100."""
        return float(self.hvc[0])

    @property
    def value(self) -> float:
        """Munsell value."""
        return float(self.hvc[1])

    @property
    def chroma(self) -> float:
        """C*."""
        return float(lab_to_lch(self.lab)[1])

    @property
    def munsell(self) -> str:
        """Munsell notation."""
        return write_munsell(self.hvc)

    @property
    def parts(self) -> float:
        """Parts of the addition to one part of the mix; infinite at share 1."""
        return self.share / (1 - self.share) if self.share < 1 else float("inf")


@dataclass(frozen=True)
class Extreme:
    """A maximum or a minimum of reflectance.

    Attributes
    ----------
    nm : wavelength; of those alike within a fiftieth, the one that the eye sees best
    height : reflectance there, 0..1
    faint : whether the eye hardly sees light of that wavelength (:data:`FAINT`)
    """

    nm: float
    height: float
    faint: bool


@dataclass(frozen=True, eq=False)
class Stage:
    """The curves at one point of the way.

    Attributes
    ----------
    point : where
    reflectance : (36,), as seen under the finish, 0..1
    k, s : (36,)
    maxima : the greatest reflectance, and one on the minimum's other side if it is half as high
    minima : the least reflectance, and one on the maximum's other side if it is half as deep
    bands : (3,), mean reflectance of blue, green and red light, as the eye weighs it, 0..1
    """

    point: Point
    reflectance: Array
    k: Array
    s: Array
    maxima: tuple[Extreme, ...]
    minima: tuple[Extreme, ...]
    bands: Array

    @property
    def k_over_s(self) -> Array:
        """(36,); infinite where nothing is scattered."""
        with np.errstate(divide="ignore"):
            return np.asarray(self.k / self.s)

    @property
    def scattering_dominates(self) -> NDArray[np.bool_]:
        """(36,), where the mix absorbs less than it scatters."""
        return np.asarray(self.k < self.s)

    @property
    def maximum(self) -> Extreme:
        """The greatest reflectance that is seen."""
        return self.maxima[0]

    @property
    def minimum(self) -> Extreme:
        """The least reflectance that is seen."""
        return self.minima[0]


def points(path: Path, shares: ArrayLike) -> list[Point]:
    """Return the mixes at shares (n,) of the addition."""
    shares = np.asarray(shares, dtype=float)
    return seen_as(path, shares, path.lab(shares))


def seen_as(path: Path, shares: Array, labs: Array) -> list[Point]:
    """Return colours CIELAB (n, 3) as mixes at shares (n,) of a path."""
    hvc = lab_to_munsell(labs, path.start.view)
    return [Point(float(share), *one) for share, *one in zip(shares, labs, hvc, strict=True)]


def stage(path: Path, at: Point) -> Stage:
    """Return the curves of the mix at a point."""
    view = path.start.view
    weights = (view.weights / view.white).sum(axis=1)
    reflectance = path.reflectance(at.share)
    return Stage(
        at, reflectance, *path.curves(at.share),
        _extremes(reflectance, 1, weights), _extremes(reflectance, -1, weights),
        np.array([weights[w] @ reflectance[w] / weights[w].sum() for w in _WITHIN.values()]),
    )  # fmt: skip


def _extremes(reflectance: Array, sign: int, weights: Array) -> tuple[Extreme, ...]:
    """Return the maximum (sign 1) or the minimum (-1), and the second one if there is one."""
    curve, seen = sign * reflectance[SEEN], weights[SEEN]
    ends = int(curve.argmax()), int(curve.argmin())
    places = [range(len(curve))]
    if np.ptp(curve) >= _FLAT:
        places.append(range(ends[1]) if ends[0] > ends[1] else range(ends[1] + 1, len(curve)))
    found = []
    for place in places:
        if not place:
            continue
        within = np.array(place)
        top = float(curve[within].max())
        if top - curve.min() >= _AGAIN * np.ptp(curve):
            alike = within[curve[within] >= top - _ALIKE * abs(top)]
            at = int(alike[seen[alike].argmax()])
            found.append(Extreme(float(WAVELENGTHS[SEEN][at]), sign * float(curve[at]),
                                 bool(seen[at] < FAINT * seen.max())))  # fmt: skip
    return tuple(found)


@dataclass(frozen=True, eq=False)
class Turn:
    """How a hue turns.

    Attributes
    ----------
    steps : of the 100 of Munsell's hue circle, from red by yellow, green, blue to purple; -50..50
    degrees : of CIELCh, which bends blues: one Munsell hue is not one angle there
    toward : the Munsell family that it turns to
    gains, on : the bands of which the first comes up, beside the second, as the eye counts
        (cube roots of reflectance, beside all that is between the bands); "" where that does not
        account for the way it turns
    """

    steps: float
    degrees: float
    toward: str
    gains: str
    on: str


def turn(first: Stage, here: Stage) -> Turn | None:
    """Return how the hue turns from one stage to another; None where either hardly has one."""
    if min(first.point.chroma, here.point.chroma) < NAMED:
        return None
    steps = float(hue_steps(first.point.hue, here.point.hue))
    way = 1 if steps > 0 else -1
    before, now = (int(hue_family(at.point.hue)) for at in (first, here))
    toward = FAMILIES[now if now != before else (now + way) % len(FAMILIES)]
    gains, on = _gaining(first.bands, here.bands, way)
    return Turn(steps, float(drift(first.point.lab, here.point.lab)), toward, gains, on)


def _gaining(first: Array, here: Array, way: int) -> tuple[str, str]:
    """Return the band that gains and the one that it gains on, of bands (3,); "" if neither."""
    names = list(BANDS)
    before, now = np.cbrt(first), np.cbrt(here)
    top = int(now.argmax())
    if top != before.argmax():
        return "", ""
    # around Munsell's circle red is followed by green and green by blue
    gains, on = (top - way) % 3, (top + way) % 3
    rise = (now[gains] - now[on]) / np.ptp(now) - (before[gains] - before[on]) / np.ptp(before)
    return (names[gains], names[on]) if rise > 0 else ("", "")


def spared(first: Stage, other: Stage) -> NDArray[np.bool_]:
    """Return where (36,) two mixes both absorb less than :data:`SPARED` of their most."""
    return np.asarray(
        (first.k < SPARED * first.k[SEEN].max()) & (other.k < SPARED * other.k[SEEN].max()) & SEEN
    )


def scattering(at: Stage) -> dict[str, float]:
    """Return the mean S of each band."""
    return {name: float(at.s[within].mean()) for name, within in _WITHIN.items()}


def evenly_scattered(path: Path, share: float) -> Point | None:
    """Return a mix of the path as it were if each of its ends scattered all light alike.

    Each end keeps its own K/S, hence its colour, and the mean of its scattering as the eye weighs
    it (Y). What the mix then lacks is due to scattering that changes with wavelength. None where
    an end scatters nothing.
    """
    view = path.start.view
    mixed = np.zeros((2, len(WAVELENGTHS)))
    for part, end in ((1 - share, path.start), (share, path.toward)):
        if not end.S.min() > 0:
            return None
        mean = float(view.weights[:, 1] @ end.S / view.weights[:, 1].sum())
        mixed += part * mean * np.stack([end.K / end.S, np.ones(len(WAVELENGTHS))])
    lab = reflectance_to_lab(path.start.surface.measured(optics.opaque(*mixed)), view)
    return seen_as(path, np.array([share]), lab[None])[0]
