"""Colours that lie close together, gathered in even boxes."""

import numpy as np

from mixlab.arrays import Array, Indices, in_threads
from mixlab.colour.difference import uniform

MERGED = 1.5
"""Size of the boxes in which the colours of a photo are taken together, in coordinates that are
near to CIEDE2000: none is moved by more than about 1."""


def merged(lab: Array, weight: Array, size: float = MERGED) -> tuple[Array, Array]:
    """Return the mean CIELAB (m, 3) and the weight (m,) of colours that share a box."""
    box, means = gathered(lab, weight, size)
    return means, np.bincount(box, weight).astype(float)


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
