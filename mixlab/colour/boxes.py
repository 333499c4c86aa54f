"""Colours that lie close together, gathered: even boxes, and clusters by weight."""

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Indices, in_threads
from mixlab.colour.difference import uniform

MERGED = 1.5
"""Size of the boxes in which the colours of a photo are taken together, in coordinates that are
near to CIEDE2000: none is moved by more than about 1."""


def merged(lab: Array, weight: Array, size: float = MERGED) -> tuple[Array, Array]:
    """Return the mean CIELAB (m, 3) and the weight (m,) of colours that share a box."""
    box, means = gathered(lab, weight, size)
    return means, np.bincount(box, weight).astype(float)


_MAIN = 1.0  # boxes in which main colours are looked for
_ROUNDS = 60


def clusters(lab: Array, weight: Array, number: int) -> tuple[Array, Array]:
    """Return the mean CIELAB (k, 3) and the weight (k,) of at most so many clusters of colours.

    The cluster with the greatest weighted scatter is parted across its longest axis until there are
    enough; then every colour goes to the nearest mean, over and over, until none moves (Lloyd's
    rule). Nothing in it is random. Distances are those of :func:`mixlab.colour.difference.uniform`.

    References
    ----------
    Lloyd, "Least squares quantization in PCM", IEEE Trans. Inf. Theory 28 (1982) 129-137.
    """
    from scipy.spatial import cKDTree

    box, means = gathered(lab, weight, _MAIN)
    mass = np.bincount(box, weight).astype(float)
    even = uniform(means)
    label = np.zeros(len(even), dtype=int)
    scatter = [_scatter(even, mass)]
    while len(scatter) < number and max(scatter) > 0:
        widest = int(np.argmax(scatter))
        rows = np.flatnonzero(label == widest)
        upper = rows[_upper(even[rows], mass[rows])]
        label[upper] = len(scatter)
        scatter.append(_scatter(even[upper], mass[upper]))
        rows = np.flatnonzero(label == widest)
        scatter[widest] = _scatter(even[rows], mass[rows])
    for _ in range(_ROUNDS):
        moved = np.asarray(cKDTree(_means(even, mass, label)).query(even)[1])
        if np.bincount(moved).min() == 0:  # one that lost all it had
            moved = np.unique(moved, return_inverse=True)[1]
        if (moved == label).all():
            break
        label = moved
    label = np.unique(label, return_inverse=True)[1]
    share = np.bincount(label, mass)
    order = np.argsort(-share, kind="stable")
    return _means(means, mass, label)[order], share[order] / share.sum()


def _means(values: Array, mass: Array, label: Indices) -> Array:
    total = np.bincount(label, mass)
    return np.stack([np.bincount(label, mass * v) / total for v in values.T], axis=1)


def _scatter(even: Array, mass: Array) -> float:
    mean = mass @ even / mass.sum()
    return float(mass @ np.square(even - mean).sum(axis=1)) if len(even) > 1 else 0.0


def _upper(even: Array, mass: Array) -> NDArray[np.bool_]:
    """Return which points lie beyond the mean along the longest axis: some do, and not all."""
    off = even - mass @ even / mass.sum()
    _, axes = np.linalg.eigh((mass[:, None] * off).T @ off)
    axis = axes[:, -1] * np.sign(axes[np.abs(axes[:, -1]).argmax(), -1])
    along = off @ axis
    return np.asarray(along > 0 if 0 < (along > 0).sum() < len(along) else along == along.max())


def gathered(lab: Array, weight: Array, size: float) -> tuple[Indices, Array]:
    """Return which box each colour (n,) is in, and the mean CIELAB (m, 3) of each box.

    Boxes are cubes of :func:`mixlab.colour.difference.uniform`; only those that hold a colour
    count, and they rise with lightness.
    """
    place = np.empty(len(lab), dtype=np.int64)

    def fill(block: slice) -> None:
        cube = np.floor(uniform(lab[block]) / size).astype(np.int64) + 1024
        place[block] = (cube[:, 0] << 24) + (cube[:, 1] << 12) + cube[:, 2]

    for _ in in_threads(fill, len(lab)):
        pass
    _, box = np.unique(place, return_inverse=True)
    total = np.bincount(box, weight)
    means = np.stack([np.bincount(box, weight * column) / total for column in lab.T], axis=1)
    return box, means
