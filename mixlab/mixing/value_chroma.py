"""The value/chroma report: what white, black, a grey or a complement does to a mix, and why.

Along every share of the addition: where chroma peaks, where it falls fastest, what is gained in
value per part, how far the hue drifts, when half of the chroma is gone, where the mix is nearest to
neutral. Then the reason, read off the curves: chroma is what lies between the *maximum* and the
*minimum* of reflectance. *Scattering dominates* where the mix scatters more than it absorbs (K/S
below 1, by Kubelka and Munk a reflectance above 27 % under the surface).
"""


from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, lab_to_munsell, lab_to_value
from mixlab.errors import LadderError
from mixlab.mixing.ladders import Path, at_value, drift
from mixlab.paint.mixtures import Mixture

PARTS = (1, 2, 4, 8, 16, 32)
"""Parts of the addition, to one of the mix, for which the report says what value is gained."""

SEEN = (WAVELENGTHS >= 430) & (WAVELENGTHS <= 650)
"""Where the eye sees enough for a maximum or a minimum to count: a tenth of its best in daylight to
the red, and nearly all that it has of blue."""

NAMED = 5.0
"""Chroma that a painter gives a name to [C*]; a hue drifts, and halves, only above it."""

_ZOOMS, _ROUND = 7, 33


@dataclass(frozen=True, eq=False)
class Point:
    """One mix on the way.

    Attributes
    ----------
    share : of the addition, 0..1
    lab : (3,)
    value : Munsell
    chroma : C*
    munsell : notation
    """

    share: float
    lab: Array
    value: float
    chroma: float
    munsell: str

    @property
    def parts(self) -> float:
        """Parts of the addition to one part of the mix; infinite at share 1."""
        return self.share / (1 - self.share) if self.share < 1 else float("inf")


@dataclass(frozen=True, eq=False)
class Stage:
    """The curves at one point of the way.

    Attributes
    ----------
    point : where
    reflectance : (36,), measured, 0..1
    k_over_s : (36,)
    maximum, minimum : wavelengths of the greatest and the least reflectance that is seen [nm]
    scattering_dominates : (36,), where the mix absorbs less than it scatters
    """

    point: Point
    reflectance: Array
    k_over_s: Array
    maximum: float
    minimum: float
    scattering_dominates: NDArray[np.bool_]

    def at(self, wavelength: float) -> float:
        """Return the reflectance at a wavelength of the grid [nm]."""
        return float(np.interp(wavelength, WAVELENGTHS, self.reflectance))


@dataclass(frozen=True, eq=False)
class Gained:
    """What so many parts of the addition to one of the mix come to, and what is gained per part.

    Attributes
    ----------
    parts : of the addition, to one of the mix
    point : the mix
    value_gain, chroma_gain : since the row before, for each part of the addition
    """

    parts: int
    point: Point
    value_gain: float
    chroma_gain: float


@dataclass(frozen=True, eq=False)
class Report:
    """What an addition does to value, chroma and hue.

    Attributes
    ----------
    path : from the mix to the addition
    start : the mix by itself
    peak : where C* is greatest
    steepest : where, beyond the peak, one more doubling of the addition costs most C*; None if it
        nowhere falls
    per_doubling : how much that is
    half : where C* has come down to half of the peak's; None if it never does
    neutral : where C* is least, the addition by itself left out
    farthest : where the hue has drifted farthest while C* is at least :data:`NAMED`, or None
    drift : how far that is, CIELCh [degrees]
    gained_per_part : what parts of the addition come to
    stages : the curves of the mix, at the peak (if that is another), and where half is gone or, if
        it never is, at the middle of the way in value
    """

    path: Path
    start: Point
    peak: Point
    steepest: Point | None
    per_doubling: float
    half: Point | None
    neutral: Point
    farthest: Point | None
    drift: float
    gained_per_part: tuple[Gained, ...]
    stages: tuple[Stage, ...]

    @property
    def rises(self) -> bool:
        """Whether chroma rises at first: the peak has at least 1 C* more than the mix by itself."""
        return self.peak.chroma > self.start.chroma + 1


def report(start: Mixture, addition: Mixture) -> Report:
    """Return what adding a mix to another does to it.

    Raises
    ------
    LadderError, TableError : see :class:`mixlab.mixing.ladders.Path`
    """
    path = Path(start, addition)
    shares, labs = path.grid
    chroma = lab_to_lch(labs)[:, 1]

    top = _zoomed(path, int(chroma.argmax()), np.argmax)
    greatest = float(_chroma(path, np.array(top)))
    # the addition itself may be grey: that a mix nears it is no cancelling
    inside = np.flatnonzero((shares > 0) & (shares <= 0.999))
    least = _zoomed(path, int(inside[chroma[inside].argmin()]), np.argmin)
    below = np.flatnonzero((shares > top) & (chroma <= greatest / 2))
    halved = None
    if below.size and greatest >= NAMED:
        halved = _zoomed(path, int(below[0]), lambda near: (near <= greatest / 2).argmax())
    steep, per_doubling = _steepest(path, top)
    turned = np.where(chroma >= NAMED, np.abs(drift(labs[0], labs)), np.nan)
    far = float(shares[np.nanargmax(turned)]) if np.isfinite(turned).any() else None
    mean = _middle(path) if halved is None else None

    wanted = (0.0, top, steep, halved, least, far, mean)
    told = iter(points(path, [share for share in wanted if share is not None]))
    here, peak, steepest, half, neutral, farthest, middle = (
        next(told) if share is not None else None for share in wanted
    )
    assert here is not None and peak is not None and neutral is not None
    last = half or middle
    stages = [here, *([peak] if 0 < top < 1 else []), *([last] if last else [])]
    return Report(
        path, here, peak, steepest, per_doubling, half, neutral, farthest,
        float(drift(labs[0], farthest.lab)) if farthest else float("nan"),
        _gained(path, here), tuple(stage(path, at) for at in stages),
    )  # fmt: skip


def points(path: Path, shares: ArrayLike) -> list[Point]:
    """Return the mixes at shares (n,) of the addition."""
    shares = np.asarray(shares, dtype=float)
    labs = path.lab(shares)
    return [
        Point(float(share), lab, float(hvc[1]), float(lch[1]), write_munsell(hvc))
        for share, lab, lch, hvc in zip(
            shares, labs, lab_to_lch(labs), lab_to_munsell(labs, path.start.view), strict=True
        )
    ]


def stage(path: Path, at: Point) -> Stage:
    """Return the curves of the mix at a point."""
    k, s = path.curves(at.share)
    reflectance = path.reflectance(at.share)
    seen = WAVELENGTHS[SEEN]
    with np.errstate(divide="ignore"):  # a paint may scatter nothing at all
        ratio = k / s
    return Stage(
        at, reflectance, ratio,
        float(seen[reflectance[SEEN].argmax()]), float(seen[reflectance[SEEN].argmin()]), k < s,
    )  # fmt: skip


def at_equal_value(
    start: Mixture, additions: list[Mixture], values: ArrayLike
) -> list[list[Point]]:
    """Return, for each addition, the mixes at Munsell values that all of them reach (..., n).

    For comparing whites: what chroma has the tint of one value in each. Values that not all reach
    are left out.

    Raises
    ------
    LadderError : if no value is reached by all
    """
    paths = [Path(start, addition) for addition in additions]
    rows = []
    for value in np.asarray(values, dtype=float):
        try:
            rows.append([at_value(path, float(value)) for path in paths])
        except LadderError:
            continue
    if not rows:
        raise LadderError("the mixes have no value in common at which to compare them")
    columns = zip(*rows, strict=True)
    return [points(path, shares) for path, shares in zip(paths, columns, strict=True)]


def _chroma(path: Path, shares: Array) -> Array:
    return lab_to_lch(path.lab(shares))[..., 1]


def _zoomed(path: Path, at: int, pick: Callable[[Array], Any]) -> float:
    """Return the share that `pick` finds in C*, ever closer around the grid's place `at`."""
    shares = path.grid[0]
    for _ in range(_ZOOMS):
        ends = shares[max(at - 1, 0)], shares[min(at + 1, len(shares) - 1)]
        shares = np.linspace(*ends, _ROUND)
        at = int(pick(_chroma(path, shares)))
    return float(shares[at])


def _steepest(path: Path, peak: float) -> tuple[float | None, float]:
    """Return where beyond the peak a doubling of the addition costs most C*, and how much."""
    shares = path.grid[0][1:-1]
    shares = shares[(shares >= peak) & (shares <= 0.999)]
    # shares before and after a doubling of the parts: t / (1 - t) becomes 2 t / (1 - t)
    lost = _chroma(path, shares) - _chroma(path, 2 * shares / (1 + shares))
    if not lost.size or lost.max() <= 0:
        return None, 0.0
    return float(shares[lost.argmax()]), float(lost.max())


def _middle(path: Path) -> float | None:
    """Return the share halfway in value, or None where the two ends are of one value."""
    ends = lab_to_value(np.stack([path.start.lab, path.toward.lab]), path.start.view)
    return at_value(path, float(ends.mean())) if abs(ends[1] - ends[0]) >= 0.1 else None


def _gained(path: Path, here: Point) -> tuple[Gained, ...]:
    parts = np.array(PARTS, dtype=float)
    rows, before, had = [], here, 0
    for n, now in zip(PARTS, points(path, parts / (1 + parts)), strict=True):
        each = n - had
        rows.append(Gained(n, now, (now.value - before.value) / each,
                           (now.chroma - before.chroma) / each))  # fmt: skip
        before, had = now, n
    return tuple(rows)
