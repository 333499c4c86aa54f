"""Sets of paints, and the ways to part a mix in whole parts."""

import itertools
import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from mixlab.arrays import Array, Indices

STEEPEST = 20
"""Greatest number of parts of one paint to one of another that a knife measures in one mix.
Common practice, no source."""


def subsets_of(paints: int, size: int, required: Sequence[int] = ()) -> Indices:
    """Return the subsets (m, size) of so many paints that hold all that are required."""
    chosen = [c for c in itertools.combinations(range(paints), size) if set(required) <= set(c)]
    return np.array(chosen, dtype=int).reshape(len(chosen), size)


def all_subsets(paints: int, largest: int, required: Sequence[int] = ()) -> list[Indices]:
    """Return the subsets of each size 1 .. largest; see :func:`subsets_of`."""
    return [subsets_of(paints, size, required) for size in range(1, largest + 1)]


def places_among(sets: Indices, some: Indices) -> Indices:
    """Return where some sets (n, t) stand among others (m, t); all of them in rising order."""
    base = int(max(sets.max(initial=0), some.max(initial=0))) + 1
    number = base ** np.arange(sets.shape[1] - 1, -1, -1)
    return np.asarray(np.searchsorted(sets @ number, some @ number), dtype=np.intp)


@lru_cache(maxsize=64)
def compositions(tubes: int, total: int) -> Indices:
    """Return the ways (c, tubes) to share whole parts, each one or more, without common factor.

    Ordered by their sum, which is at most `total`: 1:1 stands, 2:2 is the same mix and does not.
    No part is more than :data:`STEEPEST` times another.
    """
    ways = [
        parts
        for parts in itertools.product(range(1, total - tubes + 2), repeat=tubes)
        if sum(parts) <= total
        and max(parts) <= STEEPEST * min(parts)
        and math.gcd(*parts) == 1
    ]
    ways.sort(key=lambda parts: (sum(parts), parts))
    return np.array(ways, dtype=int).reshape(-1, tubes)


def size(paints: int, total: int, tubes: int) -> int:
    """Return the most mixes that a lattice can hold, those with a common factor counted too."""
    return sum(math.comb(paints, t) * math.comb(total, t) for t in range(1, tubes + 1))


def edge_of(points: Array) -> tuple[Indices, Indices]:
    """Return the unit box (n, 3) of each point, from 1 on, and which (m,) are at the edge.

    Those are the points (n, 3) whose box has an empty one beside it.
    """
    box = np.floor(points).astype(int)
    box -= box.min(axis=0) - 1
    full = np.zeros(tuple(box.max(axis=0) + 2), dtype=bool)
    full[tuple(box.T)] = True
    inside = np.logical_and.reduce(
        [np.roll(full, step, axis) for axis in range(3) for step in (1, -1)]
    )
    return box, np.flatnonzero(~inside[tuple(box.T)])
