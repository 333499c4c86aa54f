"""How two colours lie apart, in words."""

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.difference import ways_apart


def directions(target: Array, reached: Array) -> tuple[str, ...]:
    """Return in words what the target has that the mix lacks, the greatest first."""
    more = ways_apart(reached, target)
    words = (
        ("too light", "too dark"),
        ("too high in chroma", "too low in chroma"),
        ("of another hue", "of another hue"),
    )
    size = np.abs(more)
    return tuple(
        words[i][0] if more[i] > 0 else words[i][1]
        for i in np.argsort(-size, kind="stable")
        if size[i] > 0.3 * size.max()
    )
