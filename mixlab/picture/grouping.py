"""Patches of a picture that join, two at a time, until a few are left. Numbers only.

The cost of joining two is that of Ward, how far their colours lie apart in the square, by their
areas; less where the border between them is soft, as that of a sky which pales toward the horizon.

References
----------
.. [1] J. H. Ward, "Hierarchical grouping to optimize an objective function", J. American
       Statistical Association 58 (1963) 236-244.
"""

import heapq
import math

import numpy as np

from mixlab.arrays import Array, Indices, Mask
from mixlab.picture.regions import Map, borders

# tuned by eye on the bundled scene and photographs, in coordinates nearly even in CIEDE2000
_POWER = 0.8  # of the area; with 1 a large sky is parted before a small kiln is
_SOFT = 0.15  # the least that a soft border makes of the cost
_HEIGHT = 20.0  # what a whole longer side of height in the picture counts: near and far part
_EDGE = 0.003  # of the diagonal: a border is soft that is wider
_LOOKED_OVER = 60  # groups from which on those that do not touch may join as well
_APART = 2.0  # the cost of joining what does not touch, against what does
_LEAST = 0.012  # of the picture; less is no mass
_ACCENT = 0.0006  # of the picture; less is nothing
_ACCENTS = 3  # at most
_STANDS_OUT = 14.0  # from what is round it
_LIKE = 5.0  # what lies so near in colour is painted as one, wherever it lies


class _Groups:
    """Patches, and what they become.

    Attributes
    ----------
    area : (n,), share of the picture
    mean : (n, 3), colour in even coordinates
    height : (n,), of the middle in the picture, in longer sides from the top
    dark : (n,), whether of the dark family
    given : those whose colour the painter gave: it stays, and no two of them join
    root : (n,), the group that each patch is in
    near : for each group, those that it touches, with the length of the border and its steepness
    """

    def __init__(self, patches: Map, even: Array, dark: Mask, given: dict[int, Array]) -> None:
        from scipy.ndimage import gaussian_gradient_magnitude

        flat = patches.ravel()
        count = np.bincount(flat)
        self.area = count / flat.size
        sums = [np.bincount(flat, even[..., i].ravel()) for i in range(3)]
        self.mean = np.stack(sums, axis=1) / count[:, None]
        rows = np.broadcast_to(np.arange(patches.shape[0])[:, None], patches.shape)
        self.height = np.bincount(flat, rows.ravel()) / count / max(patches.shape)
        for number, colour in given.items():
            self.mean[number] = colour
        self.given, self.dark = set(given), dark
        self.root: Indices = np.arange(len(count))
        # a step of height d, blurred by s, is as steep as d / (s sqrt(2 pi))
        blur = _EDGE * float(np.hypot(*patches.shape))
        slopes = [gaussian_gradient_magnitude(even[..., i], blur) for i in range(3)]
        step = np.sqrt(2 * np.pi) * blur * np.linalg.norm(slopes, axis=0)
        self.near: list[dict[int, Array]] = [{} for _ in count]
        for (one, other), shared in zip(*borders(patches, step), strict=True):
            self.near[one][other] = self.near[other][one] = shared

    def off(self, one: int, other: int) -> float:
        """Return how far the colours of two lie apart."""
        apart = self.mean[one] - self.mean[other]
        return math.sqrt(apart @ apart)

    def cost(self, one: int, other: int) -> float:
        """Return what joining two costs; infinite where they cannot."""
        if self.dark[one] != self.dark[other] or (one in self.given and other in self.given):
            return np.inf
        off = self.off(one, other)
        size = self.area[one] * self.area[other] / (self.area[one] + self.area[other])
        shared = self.near[one].get(other)
        if shared is None:
            edge = _APART
        else:
            edge = min(max(shared[1] / shared[0] / max(off, 1e-9), _SOFT), 1.0)
        height = _HEIGHT * float(self.height[one] - self.height[other])
        return float((off**2 * edge + height**2) * size**_POWER)

    def stands_out(self, one: int, other: int) -> bool:
        """Return whether one stands out from another that it is to join, or if that lies apart
        from it and is not its like, from all that it touches.
        """
        if other in self.near[one]:
            return self.off(one, other) > _STANDS_OUT
        around = min(self.off(one, near) for near in self.near[one])
        return self.off(one, other) > _LIKE and around > _STANDS_OUT

    def join(self, one: int, other: int) -> int:
        """Join two; return the number that stands for both."""
        if other in self.given:
            one, other = other, one
        parts = self.area[[one, other]] / self.area[[one, other]].sum()
        self.height[one] = parts @ self.height[[one, other]]
        if one not in self.given:
            self.mean[one] = parts @ self.mean[[one, other]]
        self.area[one] += self.area[other]
        self.root[self.root == other] = one
        for number, shared in self.near[other].items():
            del self.near[number][other]
            if number != one:
                self.near[one][number] = self.near[one].get(number, 0.0) + shared
                self.near[number][one] = self.near[one][number]
        self.near[other] = {}
        return one


def grouped(
    patches: Map, even: Array, dark: Mask, given: dict[int, Array], count: int
) -> tuple[Indices, list[int]]:
    """Return the group of each patch (n,), and which groups are accents, beside so many others.

    Parameters
    ----------
    patches : (h, w), the patch at each place, 0 to n - 1
    even : (h, w, 3), colours, as of :func:`mixlab.colour.difference.uniform`
    dark : (n,), whether a patch is of the dark family; the two families never join
    given : colours (3,) of patches that are groups of their own
    """
    groups = _Groups(patches, even, dark, given)
    _join_neighbours(groups, max(_LOOKED_OVER, 4 * count))
    aside: set[int] = set()
    while True:
        there = np.unique(groups.root).tolist()
        small = {one for one in there if groups.area[one] < _LEAST and one not in groups.given}
        few = len(there) - len(small | aside) <= count
        cost, one, other = min(
            (
                (groups.cost(one, other), one, other)
                for i, one in enumerate(there) for other in there[:i]
                if (one in aside) == (other in aside) and (not few or {one, other} & small)
            ), default=(np.inf, 0, 0),
        )  # fmt: skip
        if not np.isfinite(cost):
            break
        less, more = sorted((one, other), key=lambda group: groups.area[group])
        if less in small - aside and groups.stands_out(less, more):
            aside.add(less)
            continue
        kept = groups.join(one, other)
        if one in aside:
            aside = (aside - {one, other}) | {kept}
    return groups.root, _standing_out(groups, aside)


def _standing_out(groups: _Groups, some: set[int]) -> list[int]:
    """Return those few that stand out most from what is round them, by a power of their area."""

    def away(one: int) -> float:
        near = groups.near[one]
        return float(np.average([groups.off(one, to) for to in near],
                                weights=[shared[0] for shared in near.values()]))  # fmt: skip

    seen = [one for one in some if groups.area[one] >= _ACCENT and away(one) > _STANDS_OUT]
    return sorted(seen, key=lambda one: -away(one) * groups.area[one] ** (1 / 3))[:_ACCENTS]


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
        if not np.isfinite(cost):
            break
        if other not in groups.near[one] or cost != groups.cost(one, other):
            continue
        kept = groups.join(one, other)
        left -= 1
        for to in groups.near[kept]:
            heapq.heappush(queue, (groups.cost(kept, to), kept, to))
