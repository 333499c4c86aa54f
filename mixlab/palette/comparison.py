"""What one palette mixes that another does not."""

import math
from dataclasses import dataclass

import numpy as np

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import FAMILIES, hue_family
from mixlab.colour.spaces import lab_to_munsell
from mixlab.errors import ReachError
from mixlab.nearest.many import INSIDE
from mixlab.palette.edge import volume
from mixlab.palette.reach import Place, Reach, first_of


@dataclass(frozen=True, eq=False)
class Gain:
    """What one reach has of a hue family that another lacks.

    Attributes
    ----------
    family : Munsell, e.g. "PB"
    volume : CIELAB, cubed; nan where mixes of so few tubes have none
    place : where it goes farthest beyond the other
    beyond : how far that is [C*]; without volumes, how near the other comes [CIEDE2000]
    """

    family: str
    volume: float
    place: Place
    beyond: float


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two reaches side by side.

    Attributes
    ----------
    one, other : the two
    both, only_one, only_other : volumes [CIELAB, cubed]; nan where mixes of so few tubes have none
    gains_one, gains_other : what each has that the other lacks, the greatest volume first; where
        there is none, what goes farthest beyond
    """

    one: Reach
    other: Reach
    both: float
    only_one: float
    only_other: float
    gains_one: tuple[Gain, ...]
    gains_other: tuple[Gain, ...]

    @property
    def solid(self) -> bool:
        """Whether both reaches have a volume."""
        return self.one.solid and self.other.solid


def compare(one: Reach, other: Reach) -> Comparison:
    """Return what each of two reaches has that the other lacks.

    Raises
    ------
    ReachError : if they are not for the same light, observer and finish
    """
    if one.view != other.view:
        raise ReachError("the two palettes must be seen under the same light, observer and finish")
    gains = _gains(one, other), _gains(other, one)
    if not (one.solid and other.solid):
        return Comparison(one, other, math.nan, math.nan, math.nan, *gains)
    least = np.fmax(one.least, other.least)
    least = np.where(np.isnan(one.greatest) | np.isnan(other.greatest), np.nan, least)
    shared = np.fmax(np.minimum(one.greatest, other.greatest), least)
    both = volume(one.lightness, shared, least)
    return Comparison(
        one, other, both, one.edge_volume - both, other.edge_volume - both, *gains
    )


def _gains(one: Reach, other: Reach) -> tuple[Gain, ...]:
    solid = one.solid and other.solid
    had = np.nan_to_num(other.greatest)
    if solid:
        far = np.nan_to_num(one.greatest) - had
    else:  # sheets and lines pass each other along a ray: what counts is how near the other comes
        there = ~np.isnan(one.greatest)
        far = np.zeros(one.greatest.shape)
        far[there] = other.nearest(one.lab[there])[2]
    places = np.argwhere(far > (INSIDE if solid else TOLERANCE))
    if not len(places):
        return ()
    at = tuple(places.T)
    from_ = np.maximum(had[at], one.least[at])
    cell = (one.lightness[1] - one.lightness[0]) * 2 * np.pi / len(one.hue)
    sizes = np.maximum(one.greatest[at] ** 2 - from_**2, 0) / 2 * cell
    hvc = lab_to_munsell(one.lab[at], one.view)
    family = hue_family(hvc[:, 0])
    gains = []
    for i, name in enumerate(FAMILIES):
        mine = np.flatnonzero((family == i) & (hvc[:, 2] >= 1))
        mine = mine[np.argsort(-far[at][mine], kind="stable")]
        if (first := first_of(one, i, one.shares[at][mine])) is not None:
            row, place = first
            size = float(sizes[mine].sum()) if solid else math.nan
            gains.append(Gain(name, size, place, float(far[at][mine[row]])))
    return tuple(sorted(gains, key=lambda gain: -(gain.volume if solid else gain.beyond)))
