"""The value/chroma report: what white, black, a grey or a complement does to a mix, and why.

Along every share of the addition: where chroma peaks, where it falls fastest, what is gained in
value per part, how far the hue drifts, when half of the chroma is gone, where the mix is nearest to
neutral. Then the curves that show why (:mod:`mixlab.mixing.stages`). *Scattering dominates* where
the mix scatters more than it absorbs (K/S below 1, by Kubelka and Munk a reflectance above 27 %
under the surface).
"""


from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import lab_to_lch, lab_to_value
from mixlab.errors import LadderError
from mixlab.mixing.ladders import Path, at_value, drift, grey_of, hue_steps
from mixlab.mixing.stages import NAMED, Point, Stage, evenly_scattered, points, stage
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import Paint

PARTS = (1, 2, 4, 8, 16, 32)
"""Parts of the addition, to one of the mix, for which the report says what value is gained."""

_ZOOMS, _ROUND = 7, 33
_ROUNDING = 1e-6  # C* above that of the mix by itself that is no peak


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
    darkest : of the least value
    gained_per_part : what parts of the addition come to
    stages : the curves of the mix, at the peak (if that is another), and where half is gone or, if
        it never is, at the middle of the way in value (in parts, if both ends are of one value)
    added : the curves of the addition
    evenly_scattered : the last stage's mix if each end scattered all light alike; see
        :func:`mixlab.mixing.stages.evenly_scattered`
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
    darkest: Point
    gained_per_part: tuple[Gained, ...]
    stages: tuple[Stage, ...]
    added: Stage
    evenly_scattered: Point | None

    def peak_at_strength(self, strength: float) -> float:
        """Return the share at which the mix would peak if its tubes were so much as strong.

        A tube of half the tinting strength is taken for one of half the K and S.
        """
        parts = self.peak.parts * strength
        return parts / (1 + parts) if np.isfinite(parts) else 1.0

    @property
    def hue_steps(self) -> float:
        """How far the hue has drifted at its farthest [Munsell hue steps, 100 the circle]."""
        if self.farthest is None:
            return float("nan")
        return float(hue_steps(self.start.hue, self.farthest.hue))

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
    if greatest - chroma[0] < _ROUNDING:
        top = 0.0
    # the addition itself may be grey: that a mix nears it is no cancelling
    inside = np.flatnonzero((shares > 0) & (shares <= 0.999))
    least = _zoomed(path, int(inside[chroma[inside].argmin()]), np.argmin)
    halved = _halved(path, top, greatest)
    steep, per_doubling = _steepest(path, top)
    turned = np.where(chroma >= NAMED, np.abs(drift(labs[0], labs)), np.nan)
    far = float(shares[np.nanargmax(turned)]) if np.isfinite(turned).any() else None
    mean = _middle(path) if halved is None else None

    dark = float(shares[labs[:, 0].argmin()])

    wanted = (0.0, 1.0, top, steep, halved, least, far, mean, dark)
    told = iter(points(path, [share for share in wanted if share is not None]))
    here, all_of_it, peak, steepest, half, neutral, farthest, middle, darkest = (
        next(told) if share is not None else None for share in wanted
    )
    assert here and all_of_it and peak and neutral and darkest  # these are always asked for
    last = half or middle
    stages = [here, *([peak] if 0 < top < 1 else []), *([last] if last else [])]
    return Report(
        path, here, peak, steepest, per_doubling, half, neutral, farthest,
        float(drift(labs[0], farthest.lab)) if farthest else float("nan"), darkest,
        _gained(path, here), tuple(stage(path, at) for at in stages), stage(path, all_of_it),
        evenly_scattered(path, stages[-1].share),
    )  # fmt: skip


def grey_that_holds(start: Mixture, white: Paint, black: Paint) -> tuple[Mixture, Point] | None:
    """Return the grey with which value holds where half of the chroma is gone, and that mix.

    A grey of the mix's own value darkens it on the way, for its black is the stronger. None for a
    mix of too little chroma to halve, or whose value no grey holds.
    """
    value = float(lab_to_value(start.lab, start.view))
    low, high = max(value, 0.05), 10.0
    found = None
    for _ in range(12):
        try:
            grey = grey_of(white, black, start, (low + high) / 2)
        except LadderError:  # lighter than the white, or darker than the black
            low, high = (low, (low + high) / 2) if low + high > 10 else ((low + high) / 2, high)
            continue
        path = Path(start, grey)
        top = _zoomed(path, int(_chroma(path, path.grid[0]).argmax()), np.argmax)
        half = _halved(path, top, float(_chroma(path, np.array(top))))
        if half is None:
            return None
        (at,) = points(path, [half])
        found = grey, at
        low, high = ((low + high) / 2, high) if at.value < value else (low, (low + high) / 2)
    return found if found and abs(found[1].value - value) < 0.05 else None


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


def _halved(path: Path, peak: float, greatest: float) -> float | None:
    """Return where beyond the peak half of the greatest C* is gone, or None."""
    shares, labs = path.grid
    below = np.flatnonzero((shares > peak) & (lab_to_lch(labs)[:, 1] <= greatest / 2))
    if not below.size or greatest < NAMED:
        return None
    return _zoomed(path, int(below[0]), lambda near: (near <= greatest / 2).argmax())


def _steepest(path: Path, peak: float) -> tuple[float | None, float]:
    """Return where beyond the peak a doubling of the addition costs most C*, and how much."""
    shares = path.grid[0][1:-1]
    shares = shares[(shares >= peak) & (shares <= 0.999)]
    # shares before and after a doubling of the parts: t / (1 - t) becomes 2 t / (1 - t)
    lost = _chroma(path, shares) - _chroma(path, 2 * shares / (1 + shares))
    if not lost.size or lost.max() <= 0:
        return None, 0.0
    return float(shares[lost.argmax()]), float(lost.max())


def _middle(path: Path) -> float:
    """Return the share halfway in value; a half where the two ends are of one value."""
    ends = lab_to_value(np.stack([path.start.lab, path.toward.lab]), path.start.view)
    return at_value(path, float(ends.mean())) if abs(ends[1] - ends[0]) >= 0.1 else 0.5


def _gained(path: Path, here: Point) -> tuple[Gained, ...]:
    parts = np.array(PARTS, dtype=float)
    rows, before, had = [], here, 0
    for n, now in zip(PARTS, points(path, parts / (1 + parts)), strict=True):
        each = n - had
        rows.append(Gained(n, now, (now.value - before.value) / each,
                           (now.chroma - before.chroma) / each))  # fmt: skip
        before, had = now, n
    return tuple(rows)
