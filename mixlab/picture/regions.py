"""Maps of regions, whole numbers (h, w): which touch, islands joined, edges made smooth."""

import heapq

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Indices

Map = NDArray[np.integer]
"""The number of the region that each place belongs to, (h, w), from 0."""


def borders(regions: Map, height: Array | None = None) -> tuple[Indices, Array]:
    """Return the pairs (m, 2) of regions that touch, the lower first, and how long (m,) [pixels].

    Places touch that share a side. With a height (h, w), the sum of it along the border as well:
    (m, 2).
    """
    size = int(regions.max()) + 1
    ways = (np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])
    one, other = (np.concatenate([regions[way[i]].ravel() for way in ways]) for i in (0, 1))
    apart = one != other
    low, high = np.minimum(one, other)[apart], np.maximum(one, other)[apart]
    code, which, length = np.unique(
        low.astype(np.int64) * size + high, return_inverse=True, return_counts=True
    )
    measured = length.astype(float)
    if height is not None:
        along = np.concatenate([(height[a] + height[b]).ravel() / 2 for a, b in ways])[apart]
        measured = np.stack([measured, np.bincount(which, along, len(code))], axis=1)
    return np.stack([code // size, code % size], axis=1), measured


def pieces(regions: Map) -> NDArray[np.int64]:
    """Return a map (h, w) of the connected pieces of regions, from 0."""
    from skimage.measure import label

    found = label(regions, background=-1, connectivity=1)  # type: ignore[no-untyped-call]
    return np.asarray(found, dtype=np.int64) - 1


def joined(regions: Map, smallest: float, apart: Array | None = None) -> Map:
    """Return a map in which no piece is smaller than a share of the picture, 0..1.

    The smallest goes first, to the neighbour with which it shares the longest border; of
    neighbours in `apart`, a number for each region, one with the same number comes first.
    """
    parts = pieces(regions)
    area = np.bincount(parts.ravel()).astype(float)
    least = smallest * parts.size
    if area.min() >= least:
        return regions
    of = np.zeros(len(area), dtype=np.int64)
    of[parts.ravel()] = regions.ravel()
    near: list[dict[int, float]] = [{} for _ in area]
    pairs, length = borders(parts)
    for (one, other), shared in zip(pairs.tolist(), length.tolist(), strict=True):
        near[one][other] = near[other][one] = shared
    queue = [(size, i) for i, size in enumerate(area.tolist()) if size < least]
    heapq.heapify(queue)
    root = np.arange(len(area))
    gone = np.zeros(len(area), dtype=bool)
    while queue:
        size, part = heapq.heappop(queue)
        if gone[part] or size != area[part] or not near[part]:
            continue
        shared = near[part]
        kind = None if apart is None else apart[of[part]]
        to = max(shared, key=lambda one: (kind is not None and apart[of[one]] == kind,  # type: ignore[index]
                                          shared[one]))  # fmt: skip
        # all that has the neighbour's number becomes one piece with it
        into = [to, *(one for one in shared if one != to and of[one] == of[to])]
        for other in [part, *into[1:]]:
            gone[other], root[other] = True, to
            area[to] += area[other]
            for one, many in near[other].items():
                near[one].pop(other, None)
                if one != to:
                    near[one][to] = near[one].get(to, 0.0) + many
                    near[to][one] = near[to].get(one, 0.0) + many
            near[other] = {}
        near[to].pop(to, None)
        if area[to] < least:
            heapq.heappush(queue, (area[to], to))
    while (root[root] != root).any():
        root = root[root]
    return np.asarray(of[root][parts], dtype=regions.dtype)


def smoothed(regions: Map, radius: float) -> Map:
    """Return a map whose edges are those of a round brush: each place as most of what is near it.

    Parameters
    ----------
    radius : standard deviation of what counts as near [pixels]
    """
    from scipy.ndimage import gaussian_filter

    best = np.full(regions.shape, -1.0, dtype=np.float32)
    made = np.zeros_like(regions)
    for number in np.unique(regions):
        near = gaussian_filter((regions == number).astype(np.float32), radius, mode="nearest")
        wins = near > best
        best[wins] = near[wins]
        made[wins] = number
    return made
