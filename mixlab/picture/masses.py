"""The few big shapes of a picture, lights apart from darks, and its accents.

The picture is parted into small even patches (superpixels), none of which crosses from the light
family of values into the dark. Patches then join, two at a time: those first whose joining costs
least, which is how far their colours lie apart, by their areas. A patch of one family never joins
one of the other.

References
----------
.. [1] R. Achanta et al., "SLIC superpixels compared to state-of-the-art superpixel methods",
       IEEE Trans. Pattern Analysis and Machine Intelligence 34 (2012) 2274-2282.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Mask
from mixlab.colour.difference import ciede2000, uniform
from mixlab.colour.spaces import lab_to_value, lab_to_xyz, xyz_to_lab
from mixlab.colour.words import named
from mixlab.errors import PhotoError
from mixlab.picture.grouping import grouped
from mixlab.picture.regions import Map, joined, pieces, smoothed
from mixlab.picture.seen import Seen
from mixlab.picture.values import families, weak_pairs
from mixlab.targets.places import Place

FEWEST, MOST = 3, 20
"""Numbers of masses in which a picture is planned."""

# tuned by eye on the bundled scene and photographs, in coordinates nearly even in CIEDE2000
_PATCHES = 1500  # superpixels
_COMPACT = 0.05  # their shape against their colour
_BRUSH = 0.004  # of the diagonal
_LIKE = 5.0  # what lies so near to a place given belongs to its patch
_ISLAND = 0.002  # of the picture; a smaller piece of a mass is joined to what is round it


@dataclass(frozen=True, eq=False)
class Mass:
    """A big shape of a picture, or an accent.

    Attributes
    ----------
    number : from 1, the darkest; accents come after the masses
    name : by value and hue in words, or what the painter calls it
    lab : (3,), its colour: the mean in linear light, or that of the place which the painter gave
    spread : 95th percentile of CIEDE2000 between a place in it and its colour
    place : (2,), x and y of a point well inside [pixels of the photo]
    share : of the picture, 0..1
    light : whether it is of the light family
    accent : whether it is too small for a mass, but stands out
    given : whether the painter gave it
    """

    number: int
    name: str
    lab: Array
    spread: float
    place: Array
    share: float
    light: bool
    accent: bool = False
    given: bool = False


@dataclass(frozen=True, eq=False)
class Masses:
    """The masses of a picture.

    Attributes
    ----------
    masses : the big shapes, the darkest first
    accents : what is too small for one but stands out, numbered after them
    map : (h, w), the number less one of the mass, or the accent, at each place
    bound : Munsell value that parts the light family from the dark
    """

    masses: list[Mass]
    accents: list[Mass]
    map: NDArray[np.int16] = field(repr=False)
    bound: float
    weak: list[tuple[int, int]]


def masses_of(
    seen: Seen, count: int = 8, *, places: Sequence[Place] = ()
) -> Masses:
    """Return so many masses of a picture; more, where more places are given.

    Parameters
    ----------
    seen : the picture as :func:`mixlab.picture.seen.look` shows it
    places : that the painter gives: each is a mass of its own, in the colour that was given

    Raises
    ------
    PhotoError : for a number of masses that makes no sense
    """
    if not FEWEST <= count <= MOST:
        raise PhotoError(f"{count} masses: it must be {FEWEST} to {MOST}")
    family, bound = families(seen)
    even = uniform(seen.lab)
    patches, given = _patches(seen, even, family, places)
    number = np.unique(patches)
    patches = np.searchsorted(number, patches)
    dark = np.bincount(patches.ravel(), family.ravel()) > np.bincount(patches.ravel()) / 2
    anchors = {int(np.searchsorted(number, one)): places[i].target.lab for one, i in given.items()}
    for one, lab in anchors.items():
        dark[one] = lab_to_value(lab, seen.view) < bound
    root, accents = grouped(patches, even, dark, {one: uniform(lab) for one, lab in
                            anchors.items()}, max(count, len(places)))  # fmt: skip
    painted, small = _shapes(root[patches], accents)
    of = {int(root[np.searchsorted(number, one)]): places[i] for one, i in given.items()}
    return _listed(seen, painted, small, dark, of, bound)


def _shapes(
    groups: Map, accents: list[int]
) -> tuple[Map, dict[int, Mask]]:
    """Return the map of masses with the edges of a brush, and where each accent lies on it."""
    brush = _BRUSH * float(np.hypot(*groups.shape))
    small = {one: smoothed((groups == one).astype(np.int64), brush / 2) > 0 for one in accents}
    on = np.isin(groups, accents)
    if on.any():
        from scipy.ndimage import distance_transform_edt

        near = distance_transform_edt(on, return_distances=False, return_indices=True)
        groups = groups[tuple(near)]
    for _ in range(2):
        groups = joined(smoothed(groups, brush), _ISLAND)
    return groups, small


def _listed(
    seen: Seen, painted: Map, small: dict[int, Mask], dark: Mask,
    given: dict[int, Place], bound: float,
) -> Masses:  # fmt: skip
    """Return masses with their numbers, names, colours and places."""
    xyz = lab_to_xyz(seen.lab, seen.view.white)
    made = []
    for one in [*np.unique(painted).tolist(), *small]:
        inside = small.get(one, painted == one)
        place = given.get(one)
        lab = xyz_to_lab(xyz[inside].mean(axis=0), seen.view.white)
        if place is not None:
            lab = place.target.lab
        off = ciede2000(seen.lab[inside], lab)
        row, column = _well_inside(inside, seen.lab, lab)
        at = seen.place(row, column) if place is None or place.at is None else place.at
        name = place.name if place is not None else named(lab, seen.view)
        made.append((one in small, float(lab[0]), inside, Mass(
            0, name, lab, float(np.percentile(off, 95)), at, float(inside.mean()),
            not dark[one], one in small, place is not None,
        )))  # fmt: skip
    made.sort(key=lambda one: one[:2])
    regions = np.zeros(painted.shape, dtype=np.int16)
    for i, (*_, inside, _mass) in enumerate(made):
        regions[inside] = i
    numbered = [replace(mass, number=i) for i, (*_, mass) in enumerate(made, 1)]
    value = lab_to_value(np.array([mass.lab for mass in numbered]), seen.view)
    return Masses([one for one in numbered if not one.accent],
                  [one for one in numbered if one.accent], regions, bound,
                  [(i + 1, j + 1) for i, j in weak_pairs(regions, value)])  # fmt: skip


def _well_inside(inside: Mask, labs: Array, lab: Array) -> tuple[int, int]:
    """Return row and column of the place well inside a region whose colour is most its own."""
    from scipy.ndimage import distance_transform_edt

    depth = distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1]
    deep = np.flatnonzero(depth.ravel() >= 0.6 * depth.max())
    off = np.linalg.norm(uniform(labs.reshape(-1, 3)[deep]) - uniform(lab), axis=-1)
    row, column = np.unravel_index(deep[off.argmin()], inside.shape)
    return int(row), int(column)


def _patches(
    seen: Seen, even: Array, family: Mask, places: Sequence[Place]
) -> tuple[Map, dict[int, int]]:
    """Return a map (h, w) of even patches within families; which patch each place given is."""
    from scipy.ndimage import median_filter
    from skimage.segmentation import slic

    size = max(3, round(_BRUSH * float(np.hypot(*family.shape))) | 1)
    flat = np.stack([median_filter(even[..., i], size) for i in range(3)], axis=-1)
    found = slic(flat, _PATCHES, compactness=_COMPACT, convert2lab=False, channel_axis=-1,
                 enforce_connectivity=True, start_label=0)  # fmt: skip
    patches = pieces(2 * found.astype(np.int64) + family)
    given, first = {}, int(patches.max()) + 1
    nearest = np.full(family.shape, _LIKE)
    rows, columns = np.ogrid[: family.shape[0], : family.shape[1]]
    for i, place in enumerate(places):
        if place.at is None:
            raise PhotoError(f"{place.name}: a mass needs a place in the picture, x and y")
        row, column = seen.at(place.at)
        radius = max(place.radius / seen.step, 1.5)
        disc = (rows - row) ** 2 + (columns - column) ** 2 <= radius**2
        off = np.where(disc, -1.0, np.linalg.norm(even - uniform(place.target.lab), axis=-1))
        reached = pieces((off < _LIKE).astype(np.int64))
        mine = (reached == reached[row, column]) & (off < nearest)
        nearest[mine], patches[mine] = off[mine], first + i
        given[first + i] = i
    return patches, given
