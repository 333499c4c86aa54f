"""How two colours lie apart, in words."""

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ways_apart

WORDS = ("too light", "too dark", "too high in chroma", "too low in chroma", "of another hue")
"""What a target is, against a mix that does not reach it."""


def _sizes(target: Array, mix: Array) -> Array:
    """Return how much of each of :data:`WORDS` the targets (..., 3) are: (..., 5)."""
    light, chroma, hue = np.moveaxis(ways_apart(mix, target), -1, 0)
    return np.stack([light, -light, chroma, -chroma, np.abs(hue)], axis=-1)


def strongest(targets: Array, mixes: Array) -> Indices:
    """Return which of :data:`WORDS` (n,) says best what targets (n, 3) have that mixes lack."""
    return np.asarray(_sizes(targets, mixes).argmax(axis=-1))


def directions(target: Array, mix: Array) -> tuple[str, ...]:
    """Return in words what the target (3,) has that the mix (3,) lacks, the greatest first."""
    size = _sizes(target, mix)
    return tuple(
        WORDS[i] for i in np.argsort(-size, kind="stable") if size[i] > 0.3 * size.max()
    )
