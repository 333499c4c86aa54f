"""The picture in a few values: the pattern of light and dark that a painter decides first.

Values are Munsell's. Steps are even over the range of the picture, or placed where they part it
best: the exact partition of values into classes of least variance within, which is what Otsu's
criterion of the greatest variance between asks for.

References
----------
.. [1] ASTM D1535, Munsell value.
.. [2] N. Otsu, "A threshold selection method from gray-level histograms", IEEE Trans. Systems,
       Man, and Cybernetics 9 (1979) 62-66.
.. [3] W. D. Fisher, "On grouping for maximum homogeneity", J. American Statistical Association 53
       (1958) 789-798: classes in one dimension are intervals, found exactly.
"""

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array, Mask
from mixlab.colour.spaces import lab_to_value
from mixlab.errors import PhotoError
from mixlab.picture.regions import Map, borders, joined, smoothed
from mixlab.picture.seen import Seen

FEWEST, MOST = 2, 9
"""Numbers of values in which a picture is planned."""

SMALLEST = 0.004
"""Share of the picture below which an island is joined to what is round it; tuned by eye."""

WEAK = 0.5
"""Neighbours whose values lie nearer than this do not read apart; common practice, no source."""

_TOUCH = 0.03  # of the longer side; what touches along less is hardly seen to
_BIN = 0.02  # of value, in which the best steps are looked for
_ENDS = (0.5, 99.5)  # percentiles between which even steps lie
_NEAR, _VALLEY = 0.35, 2.0  # how near to a bound counts as at it, and how much that counts
_TRUNK = 0.001  # of the picture: as little as the sunlit side of a birch is of another family
_BRUSH = 0.003  # of the diagonal: edges are made smooth with it


@dataclass(frozen=True, eq=False)
class Values:
    """A picture in a few values.

    Attributes
    ----------
    levels : (k,), Munsell value of each, dark first
    bounds : (k - 1,), values at which one goes over into the next
    map : (h, w), the number of the level at each place, 0 the darkest
    step : pixels of the photo that a place of the map is wide
    """

    levels: Array
    bounds: Array
    map: NDArray[np.int8] = field(repr=False)
    step: float = 1.0

    @property
    def shares(self) -> Array:
        """Share of the picture (k,) that each has, 0..1."""
        return np.bincount(self.map.ravel(), minlength=len(self.levels)) / self.map.size

    @property
    def weak(self) -> list[tuple[int, int]]:
        """Pairs of levels that touch and do not read apart."""
        return weak_pairs(self.map, self.levels)


def values_of(
    seen: Seen, count: int = 4, *, place: str = "even", smallest: float = SMALLEST
) -> Values:
    """Return a picture in so many values, its edges simplified.

    Parameters
    ----------
    seen : the picture as :func:`mixlab.picture.seen.look` shows it
    place : "even", or "best": where steps part the picture best
    smallest : share of the picture below which an island is joined to what is round it, 0..1

    Raises
    ------
    PhotoError : for a number of values, a kind of steps or a size of islands that makes no sense
    """
    if not FEWEST <= count <= MOST:
        raise PhotoError(f"{count} values: it must be {FEWEST} to {MOST}")
    if place not in ("even", "best"):
        raise PhotoError(f"steps of value {place!r}: they are even or best")
    if not 0 <= smallest <= 0.2:
        raise PhotoError(f"islands below {100 * smallest:g}% of the picture: 0 to 20 make sense")
    value = lab_to_value(seen.lab, seen.view)
    levels, bounds = best_steps(value, count) if place == "best" else even_steps(value, count)
    return Values(levels, bounds, _pattern(value, bounds, smallest), seen.step)


def families(seen: Seen) -> tuple[Mask, float]:
    """Return where the dark family of a picture lies (h, w), and the value where the light begins.

    Of all values it is the one that parts the picture best in two (Otsu's criterion) and at which
    little of it lies: a light that the bound went through would be parted in two.
    """
    value = lab_to_value(seen.lab, seen.view)
    area, edges = np.histogram(value, np.arange(0, 10 + _BIN, _BIN))
    share, middle = area / area.sum(), (edges[1:] + edges[:-1]) / 2
    below, first = np.cumsum(share)[:-1], np.cumsum(share * middle)
    mean = first[-1]
    between = (mean * below - first[:-1]) ** 2 / np.maximum(below * (1 - below), 1e-9)
    reach = round(_NEAR / _BIN)
    near = np.convolve(share, np.ones(2 * reach + 1), "same")[:-1]
    bound = float(edges[1:-1][(between * (1 - np.minimum(_VALLEY * near, 1))).argmax()])
    return _pattern(value, np.array([bound]), _TRUNK, _BRUSH / 2) == 0, bound


def _pattern(
    value: Array, bounds: Array, smallest: float, brush: float = _BRUSH
) -> NDArray[np.int8]:
    """Return which level each place (h, w) is in, islands joined and edges as of a brush."""
    from scipy.ndimage import gaussian_filter

    brush *= float(np.hypot(*value.shape))
    made: Map = np.digitize(gaussian_filter(value, brush / 2), bounds)
    for _ in range(2):
        made = joined(smoothed(made, brush), smallest)
    return made.astype(np.int8)


def even_steps(value: ArrayLike, count: int) -> tuple[Array, Array]:
    """Return levels (count,) and bounds (count - 1,) in even steps over the range of values."""
    low, high = np.percentile(np.asarray(value, dtype=float), _ENDS)
    edges = np.linspace(low, high, count + 1)
    return (edges[1:] + edges[:-1]) / 2, edges[1:-1]


def best_steps(value: ArrayLike, count: int) -> tuple[Array, Array]:
    """Return levels (count,) and bounds (count - 1,) of the classes of least variance within.

    Exact for values rounded to 0.02. Where there are fewer different values, levels repeat the
    last.
    """
    binned, weight = np.unique(
        np.rint(np.asarray(value, dtype=float).ravel() / _BIN), return_counts=True
    )
    at = binned * _BIN
    edges = partition(at, weight.astype(float), min(count, len(at)))
    levels = np.array([np.average(at[i:j], weights=weight[i:j])
                       for i, j in pairwise(edges)])  # fmt: skip
    bounds = (at[edges[1:-1]] + at[edges[1:-1] - 1]) / 2
    short = count - len(levels)
    return np.pad(levels, (0, short), "edge"), np.pad(
        bounds, (0, short), constant_values=float(at[-1]) + _BIN
    )


def partition(at: Array, weight: Array, count: int) -> NDArray[np.intp]:
    """Return where the classes (count + 1,) begin and end that part rising numbers best.

    The sum of squares within classes, by weight, is the least that there is: by dynamic
    programming over all intervals.
    """
    mass, first, second = (
        np.concatenate([[0.0], np.cumsum(weight * at**power)]) for power in (0, 1, 2)
    )
    m, f, s = (sums[None, :] - sums[:, None] for sums in (mass, first, second))
    with np.errstate(invalid="ignore", divide="ignore"):
        within = np.where(m > 0, s - f * f / np.where(m > 0, m, 1), np.inf)  # [i, j): i < j
    best, back = within[0], []
    for _ in range(count - 1):
        through = best[:, None] + within
        back.append(through.argmin(axis=0))
        best = through.min(axis=0)
    edges = [len(at)]
    for step in back[::-1]:
        edges.append(int(step[edges[-1]]))
    return np.array([0, *edges[::-1]])


def weak_pairs(
    regions: NDArray[np.integer], values: ArrayLike, least: float = WEAK
) -> list[tuple[int, int]]:
    """Return the pairs of regions that touch and whose values lie nearer than `least`.

    Parameters
    ----------
    regions : (h, w), the number of the region at each place, from 0
    values : (n,), Munsell value of each region
    """
    levels = np.asarray(values, dtype=float)
    pairs, length = borders(regions)
    pairs = pairs[length >= _TOUCH * max(regions.shape)]
    near = np.abs(levels[pairs[:, 0]] - levels[pairs[:, 1]]) < least
    return [(int(one), int(other)) for one, other in pairs[near]]


def values_of_mixes(values: Values, regions: NDArray[np.integer], mixed: ArrayLike) -> Values:
    """Return the pattern that mixes make: each region in the level nearest to its mix's value.

    Parameters
    ----------
    values : the plan of the picture
    regions : (h, w), the number of the mass at each place, from 0
    mixed : (n,), Munsell value of the mix of each mass
    """
    level = np.digitize(np.asarray(mixed, dtype=float), values.bounds)
    return Values(values.levels, values.bounds, level[regions].astype(np.int8), values.step)
