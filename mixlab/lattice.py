"""Every whole-part mix of a palette, indexed, for thousands of colours at once.

The lattice of twelve tubes in up to twelve parts and four tubes holds about 280,000 mixes. It is
laid out by number of tubes, so that "the nearest mix of two tubes" is one question.
"""

import itertools
import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colorimetry import ciede2000, uniform
from mixlab.search import Medium, all_subsets

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

_BLOCK = 4_000
_NEAR = 8
"""Mixes near by straight distance that are compared by CIEDE2000: see the tests for how often the
nearest is among them."""


@lru_cache(maxsize=64)
def compositions(tubes: int, total: int) -> Indices:
    """Return the ways (c, tubes) to share whole parts, each one or more, without common factor.

    Ordered by their sum, which is at most `total`: 1:1 stands, 2:2 is the same mix and does not.
    """
    ways = [
        parts
        for parts in itertools.product(range(1, total - tubes + 2), repeat=tubes)
        if sum(parts) <= total and math.gcd(*parts) == 1
    ]
    ways.sort(key=lambda parts: (sum(parts), parts))
    return np.array(ways, dtype=int).reshape(-1, tubes)


def size(paints: int, total: int, tubes: int) -> int:
    """Return the most mixes that a lattice can hold, those with a common factor counted too."""
    return sum(math.comb(paints, t) * math.comb(total, t) for t in range(1, tubes + 1))


@dataclass(frozen=True, eq=False)
class _Layer:
    """The mixes of one number of tubes; mix i is subset i // c in composition i % c."""

    subsets: Indices
    ways: Indices
    lab: Array
    tree: object


class Lattice:
    """Whole-part mixes of a medium's paints.

    Parameters
    ----------
    medium : the paints and the light
    total : greatest sum of parts
    tubes : greatest number of paints in a mix
    """

    def __init__(self, medium: Medium, total: int = 12, tubes: int = 4) -> None:
        from scipy.spatial import cKDTree

        self.medium = medium
        self.total = total
        self._layers = []
        for subsets in all_subsets(len(medium.k), min(tubes, total, len(medium.k))):
            ways = compositions(subsets.shape[1], total)
            lab = medium.labs(subsets, ways).reshape(-1, 3)
            tree = cKDTree(uniform(lab), balanced_tree=False, compact_nodes=False)
            self._layers.append(_Layer(subsets, ways, lab, tree))

    def __len__(self) -> int:
        return sum(len(layer.lab) for layer in self._layers)

    @property
    def tubes(self) -> int:
        """Greatest number of paints in a mix."""
        return len(self._layers)

    def lab(self, tubes: int) -> Array:
        """Return CIELAB (m, 3) of every mix of that many tubes."""
        return self._layers[tubes - 1].lab

    def parts(self, tubes: int, index: ArrayLike) -> Indices:
        """Return parts (..., p) of all paints for mixes (...) of that many tubes."""
        layer, index = self._layers[tubes - 1], np.asarray(index)
        subset, way = np.divmod(index, len(layer.ways))
        parts = np.zeros((*index.shape, len(self.medium.k)), dtype=int)
        np.put_along_axis(parts, layer.subsets[subset], layer.ways[way], axis=-1)
        return parts

    def nearest(self, labs: ArrayLike, tubes: int) -> tuple[Indices, Array]:
        """Return the nearest mix of that many tubes to each colour, and its miss.

        Parameters
        ----------
        labs : CIELAB (n, 3)
        tubes : number of paints in the mix, exactly

        Returns
        -------
        index : (n,), to be given to :meth:`parts`
        miss : (n,), CIEDE2000
        """
        labs = np.asarray(labs, dtype=float)
        layer = self._layers[tubes - 1]
        index = np.empty(len(labs), dtype=int)
        miss = np.empty(len(labs))
        near = min(_NEAR, len(layer.lab))
        for start in range(0, len(labs), _BLOCK):
            block = slice(start, start + _BLOCK)
            _, found = layer.tree.query(uniform(labs[block]), k=near, workers=-1)  # type: ignore[attr-defined]
            found = np.sort(found.reshape(-1, near), axis=1)
            off = ciede2000(labs[block][:, None], layer.lab[found])
            best = off.argmin(axis=1)[:, None]
            index[block] = np.take_along_axis(found, best, axis=1)[:, 0]
            miss[block] = np.take_along_axis(off, best, axis=1)[:, 0]
        return index, miss
