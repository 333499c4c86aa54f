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
_SMALL = 0.01  # of the picture; a given mass below it is laid over the others, as accents are,
# and a piece below it is not told of
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
    elsewhere : points (2,) as `place` in other shapes of it of some size that lie apart
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
    elsewhere: tuple[Array, ...] = ()


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
    dark = np.bincount(patches.ravel(), family.ravel()) > np.bincount(patches.ravel()) / 2
    colours = {}
    for one, place in given.items():
        dark[one] = lab_to_value(place.target.lab, seen.view) < bound
        colours[one] = uniform(place.target.lab)
    # what the painter did not name is not forced into what was named
    root, accents = grouped(patches, even, dark, colours,
                            max(count, len(given) + 2 if given else 0))  # fmt: skip
    named_by = {int(root[one]): place for one, place in given.items()}
    where = _shapes(root[patches], accents, list(named_by))
    return _numbered(seen, where, [
        _mass(seen, inside, bool(dark[one]), named_by.get(one), one in accents, bound)
        for one, inside in where.items()
    ], bound)  # fmt: skip


def _shapes(groups: Map, accents: list[int], given: list[int]) -> dict[int, Mask]:
    """Return where each group lies, with the edges of a brush."""
    brush = _BRUSH * float(np.hypot(*groups.shape))
    over = [*accents, *(one for one in given if (groups == one).mean() < _SMALL)]
    on, small = np.isin(groups, over), {}
    for one in over:
        mine = groups == one
        soft = (smoothed(mine.astype(np.int64), brush / 2) > 0) & (mine | ~on)
        small[one] = soft if soft.any() else mine
    if on.any():
        from scipy.ndimage import distance_transform_edt

        near = distance_transform_edt(on, return_distances=False, return_indices=True)
        groups = groups[tuple(near)]
    for _ in range(2):
        groups = joined(smoothed(groups, brush), _ISLAND)
    for one, inside in small.items():
        groups = np.where(inside, one, groups)
    return {one: groups == one for one in np.unique(groups).tolist()}


def _mass(
    seen: Seen, inside: Mask, dark: bool, given: Place | None, accent: bool, bound: float
) -> Mass:
    """Return what lies `inside` (h, w) as a mass that has no number yet."""
    white = seen.view.white
    if given is not None and given.at is not None:
        lab, at, name = given.target.lab, given.at, given.name
    else:
        lab = xyz_to_lab(lab_to_xyz(seen.lab[inside], white).mean(axis=0), white)
        at, name = seen.place(*_well_inside(inside, seen.lab, lab)), named(lab, seen.view)
    spread = float(np.percentile(ciede2000(seen.lab[inside], lab), 95))
    light = bool(lab_to_value(lab, seen.view) >= bound) if accent else not dark
    return Mass(0, name, lab, spread, at, float(inside.mean()), light, accent, given is not None,
                _elsewhere(seen, inside, at, lab))  # fmt: skip


def _elsewhere(seen: Seen, inside: Mask, at: Array, lab: Array) -> tuple[Array, ...]:
    """Return a point in each other piece of some size of what lies `inside`, the largest first."""
    numbers = np.where(inside, pieces(inside.astype(np.int64)), -1)
    area = np.bincount(numbers[inside]) / inside.size
    return tuple(
        seen.place(*_well_inside(numbers == piece, seen.lab, lab))
        for piece in np.argsort(-area, kind="stable").tolist()
        if area[piece] >= _SMALL and numbers[seen.at(at)] != piece
    )


def _numbered(seen: Seen, where: dict[int, Mask], found: list[Mass], bound: float) -> Masses:
    """Return masses by lightness, accents after them, no two of one name."""
    order = sorted(range(len(found)), key=lambda i: (found[i].accent, found[i].lab[0]))
    regions = np.full(seen.lab.shape[:2], -1, dtype=np.int16)
    turn = {i: number for number, i in enumerate(order)}
    for i, inside in enumerate(where.values()):
        regions[inside] = turn[i]
    names = _told_apart([found[i] for i in order])
    made = [replace(found[i], number=number + 1, name=names[number])
            for number, i in enumerate(order)]  # fmt: skip
    value = lab_to_value(np.array([mass.lab for mass in made]), seen.view)
    return Masses(
        [one for one in made if not one.accent], [one for one in made if one.accent], regions,
        bound, [(i + 1, j + 1) for i, j in weak_pairs(regions, value)],
    )  # fmt: skip


def _told_apart(found: Sequence[Mass]) -> list[str]:
    """Return the names of masses; one that another has is told by where it lies: "left olive"."""
    names = [one.name for one in found]
    made = list(names)
    for name in set(names):
        same = [i for i, other in enumerate(names) if other == name and not found[i].given]
        if len(same) + sum(one.given and one.name == name for one in found) < 2:
            continue
        at = np.array([found[i].place for i in same])
        axis = int(np.ptp(at, axis=0).argmax())
        first, last = (("left", "right"), ("upper", "lower"))[axis]
        words = {2: [first, last], 3: [first, "middle", last]}.get(len(same))
        for turn, place in enumerate(np.argsort(at[:, axis], kind="stable").tolist()):
            made[same[place]] = f"{words[turn]} {name}" if words else f"{name} {turn + 1}"
    return made


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
) -> tuple[Map, dict[int, Place]]:
    """Return a map (h, w) of even patches within families; which of them the painter gave."""
    from scipy.ndimage import median_filter
    from skimage.segmentation import slic

    size = max(3, round(_BRUSH * float(np.hypot(*family.shape))) | 1)
    flat = np.stack([median_filter(even[..., i], size) for i in range(3)], axis=-1)
    found = slic(flat, _PATCHES, compactness=_COMPACT, convert2lab=False, channel_axis=-1,
                 enforce_connectivity=True, start_label=0)  # fmt: skip
    patches = pieces(2 * found.astype(np.int64) + family)
    first = int(patches.max()) + 1
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
        mine[row, column] = True
        nearest[mine], patches[mine] = off[mine], first + i
    numbers = np.unique(patches)
    given = {int(np.searchsorted(numbers, first + i)): place for i, place in enumerate(places)}
    return np.searchsorted(numbers, patches), given
