"""The few big shapes of a picture, lights apart from darks, and its accents.

The picture is parted into small even patches (superpixels), none of which crosses from the light
family of values into the dark. Patches then join, two at a time: those first whose joining costs
least, which is how far their colours lie apart, by their areas. A patch of one family never joins
one of the other.

References
----------
.. [1] R. Achanta et al., "SLIC superpixels compared to state-of-the-art superpixel methods",
       IEEE Trans. Pattern Analysis and Machine Intelligence 34 (2012) 2274-2282.
.. [2] J. H. Ward, "Hierarchical grouping to optimize an objective function", J. American
       Statistical Association 58 (1963) 236-244: the cost of joining.
"""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Mask
from mixlab.colour.difference import ciede2000, uniform
from mixlab.colour.spaces import lab_to_value, lab_to_xyz, xyz_to_lab
from mixlab.colour.words import named
from mixlab.errors import PhotoError
from mixlab.picture.regions import Map, borders, joined, pieces, smoothed
from mixlab.picture.seen import Seen
from mixlab.picture.values import Values, weak_pairs
from mixlab.targets.places import Place

FEWEST, MOST = 3, 20
"""Numbers of masses in which a picture is planned."""

# tuned by eye on the bundled scene and photographs, in coordinates nearly even in CIEDE2000
_PATCHES = 1500  # superpixels
_COMPACT = 0.05  # their shape against their colour
_BRUSH = 0.004  # of the diagonal
_LIKE = 5.0  # what lies so near to a place given belongs to its patch
_LOOKED_OVER = 60  # groups from which on those that do not touch may join as well
_APART = 4.0  # the cost of joining what does not touch, against what does
_LEAST = 0.012  # of the picture; less is no mass
_ACCENT = 0.0006  # of the picture; less is nothing
_ACCENTS = 3  # at most
_STANDS_OUT = 14.0  # from what it would join
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
    values : the plan of values which they keep to
    bound : Munsell value that parts the light family from the dark
    """

    masses: list[Mass]
    accents: list[Mass]
    map: NDArray[np.int16] = field(repr=False)
    values: Values = field(repr=False)
    bound: float
    weak: list[tuple[int, int]]


def masses_of(
    seen: Seen, count: int = 8, *, values: Values, places: Sequence[Place] = ()
) -> Masses:
    """Return so many masses of a picture; more, where more places are given.

    Parameters
    ----------
    seen : the picture as :func:`mixlab.picture.seen.look` shows it
    values : the picture in a few values, of the same `seen`
    places : that the painter gives: each is a mass of its own, in the colour that was given

    Raises
    ------
    PhotoError : for a number of masses that makes no sense
    """
    if not FEWEST <= count <= MOST:
        raise PhotoError(f"{count} masses: it must be {FEWEST} to {MOST}")
    family, bound = families(values)
    even = uniform(seen.lab)
    patches, given = _patches(seen, even, family, places)
    number = np.unique(patches)
    patches = np.searchsorted(number, patches)
    dark = np.bincount(patches.ravel(), family.ravel()) > np.bincount(patches.ravel()) / 2
    anchors = {int(np.searchsorted(number, one)): places[i].target.lab for one, i in given.items()}
    for one, lab in anchors.items():
        dark[one] = lab_to_value(lab, seen.view) < bound
    root, accents = _grouped(patches, even, dark, {one: uniform(lab) for one, lab in
                             anchors.items()}, max(count, len(places)))  # fmt: skip
    painted, small = _shapes(root[patches], accents)
    of = {int(root[np.searchsorted(number, one)]): places[i] for one, i in given.items()}
    return _listed(seen, painted, small, dark, of, values, bound)


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
    given: dict[int, Place], values: Values, bound: float,
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
                  [one for one in numbered if one.accent], regions, values, bound,
                  [(i + 1, j + 1) for i, j in weak_pairs(regions, value)])  # fmt: skip


def _well_inside(inside: Mask, labs: Array, lab: Array) -> tuple[int, int]:
    """Return row and column of the place well inside a region whose colour is most its own."""
    from scipy.ndimage import distance_transform_edt

    depth = distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1]
    deep = np.flatnonzero(depth.ravel() >= 0.6 * depth.max())
    off = np.linalg.norm(uniform(labs.reshape(-1, 3)[deep]) - uniform(lab), axis=-1)
    row, column = np.unravel_index(deep[off.argmin()], inside.shape)
    return int(row), int(column)


def families(values: Values) -> tuple[Mask, float]:
    """Return where the dark family is (h, w), and the Munsell value that parts it from the light.

    The parting is that of the plan which parts it best in two (Otsu's criterion).
    """
    share, levels = values.shares, values.levels
    below = np.cumsum(share)[:-1]
    first = np.cumsum(share * levels)
    dark = first[:-1] / np.maximum(below, 1e-9)
    light = (first[-1] - first[:-1]) / np.maximum(1 - below, 1e-9)
    best = int((below * (1 - below) * (light - dark) ** 2).argmax())
    return values.map <= best, float(values.bounds[best])


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


class _Groups:
    """Patches that join, two at a time.

    area (n,), mean (n, 3) in even coordinates, dark (n,): of patches, then of what they became
    """

    def __init__(
        self, patches: Map, even: Array, dark: Mask, given: dict[int, Array]
    ) -> None:
        flat = patches.ravel()
        count = np.bincount(flat)
        self.area = count / flat.size
        sums = [np.bincount(flat, even[..., i].ravel()) for i in range(3)]
        self.mean = np.stack(sums, axis=1) / count[:, None]
        for number, colour in given.items():
            self.mean[number] = colour
        self.given, self.dark = set(given), dark
        self.root = np.arange(len(count))
        self.near: list[dict[int, float]] = [{} for _ in count]
        pairs, length = borders(patches)
        for (one, other), shared in zip(pairs.tolist(), length.tolist(), strict=True):
            self.near[one][other] = self.near[other][one] = shared

    def cost(self, one: int, other: int) -> float:
        """Return what joining two costs; infinite where they cannot."""
        if self.dark[one] != self.dark[other] or (one in self.given and other in self.given):
            return np.inf
        off = self.mean[one] - self.mean[other]
        sizes = self.area[one] * self.area[other] / (self.area[one] + self.area[other])
        return float(off @ off * sizes)

    def join(self, one: int, other: int) -> int:
        """Join two; return the number that stands for both."""
        if other in self.given:
            one, other = other, one
        if one not in self.given:
            parts = self.area[[one, other]]
            self.mean[one] = parts @ self.mean[[one, other]] / parts.sum()
        self.area[one] += self.area[other]
        self.root[self.root == other] = one
        for number, shared in self.near[other].items():
            del self.near[number][other]
            if number != one:
                self.near[one][number] = self.near[one].get(number, 0.0) + shared
                self.near[number][one] = self.near[one][number]
        self.near[other] = {}
        return one


def _grouped(
    patches: Map, even: Array, dark: Mask, given: dict[int, Array], count: int
) -> tuple[Map, list[int]]:
    """Return the group of each patch (n,), and which groups are accents."""
    groups = _Groups(patches, even, dark, given)
    _join_neighbours(groups, max(_LOOKED_OVER, 4 * count))
    aside: set[int] = set()
    while True:
        there = np.unique(groups.root)
        open_ = [one for one in there.tolist() if one not in aside]
        if len(open_) <= count:
            break
        cost, one, other = min(
            (groups.cost(one, other) * (1 if other in groups.near[one] else _APART), one, other)
            for i, one in enumerate(there.tolist())
            for other in there[:i].tolist()
            if (one in aside) == (other in aside)
        )
        if not np.isfinite(cost):
            break
        less = one if groups.area[one] < groups.area[other] else other
        off = float(np.linalg.norm(groups.mean[one] - groups.mean[other]))
        if less not in aside and less not in groups.given and (
            groups.area[less] < _LEAST and off > _STANDS_OUT
        ):  # fmt: skip
            aside.add(less)
            continue
        both = {one, other} & aside
        kept = groups.join(one, other)
        if both:
            aside = (aside - {one, other}) | {kept}
    def standing(one: int) -> float:
        away = min(np.linalg.norm(groups.mean[one] - groups.mean[to]) for to in groups.near[one])
        return float(away * groups.area[one] ** (1 / 3))

    ranked = sorted((one for one in aside if groups.area[one] >= _ACCENT), key=standing)
    return groups.root, ranked[::-1][:_ACCENTS]


def _join_neighbours(groups: _Groups, until: int) -> None:
    """Join what touches, cheapest first, until so many are left."""
    queue = [
        (groups.cost(one, other), one, other)
        for one, near in enumerate(groups.near) for other in near if one < other
    ]  # fmt: skip
    heapq.heapify(queue)
    left = len(groups.area)
    while queue and left > until:
        cost, one, other = heapq.heappop(queue)
        if other not in groups.near[one] or cost != groups.cost(one, other):
            continue
        if not np.isfinite(cost):
            break
        kept = groups.join(one, other)
        left -= 1
        for to in groups.near[kept]:
            heapq.heappush(queue, (groups.cost(kept, to), kept, to))
