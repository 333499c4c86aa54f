"""What is thought of a tube's curves beforehand: a table's paint, and how far off it may be."""


from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.measure.card_light import nearness
from mixlab.paint.paints import Paint
from mixlab.paint.pigments import index_base

_KEPT = 1e-4  # directions of a prior with less than this of its variance are left out
FLAT_K, FLAT_S = 0.1, 0.1  # where a tube of which nothing is known starts [S of titanium white]


@dataclass(frozen=True)
class Spread:
    """How far a tube may lie from the curve it starts from."""

    load: float  # of both curves alike, the amount of pigment [logarithm]
    absorption: float  # of K by itself [logarithm]
    scattering: float  # of S by itself [logarithm]
    shift: float  # along the spectrum [nm]
    bend: float  # of a smooth departure [logarithm]
    length: float = 60.0  # over which a bend changes [nm]


SAME_PIGMENT = Spread(0.6, 0.25, 0.25, 6.0, 0.15)
LIKE_PIGMENT = Spread(1.0, 0.6, 0.6, 25.0, 0.8)
NOTHING_KNOWN = Spread(1.5, 1.0, 0.7, 0.0, 2.0)
A_WHITE = Spread(0.0, 1.0, 0.0, 0.0, 0.05, 80.0)
"""The white of a card is the unit: its scattering stays."""


@dataclass(frozen=True, eq=False)
class Prior:
    """A tube before it is seen: log K and log S, and the directions they may move in."""

    start: Paint | None  # the paint it starts from; None if nothing is known
    near: bool  # whether it is thought to be of the same pigment
    mean: Array  # (72,), log K then log S
    ways: Array  # (m, 72), each of spread one

    @classmethod
    def about(cls, start: Paint | None, spread: Spread, load: float | None = None) -> "Prior":
        """Return the prior about a paint, or a flat curve; `load` in place of the spread's."""
        n = len(WAVELENGTHS)
        k, s = (np.full(n, FLAT_K), np.full(n, FLAT_S)) if start is None else (start.K, start.S)
        logs = np.log(np.maximum([k, s], 1e-7))
        one, none = np.ones(n), np.zeros(n)
        slopes = np.gradient(logs, WAVELENGTHS, axis=1)
        level = np.stack([
            (spread.load if load is None else load) * np.concatenate([one, one]),
            spread.absorption * np.concatenate([one, none]),
            spread.scattering * np.concatenate([none, one]),
            -spread.shift * slopes.ravel(),
        ])  # fmt: skip
        bell = nearness(WAVELENGTHS[:, None], WAVELENGTHS[:, None], spread.length)
        # a K that hardly counts may be off by far more than one that makes the colour
        loose = spread.bend * (1 + 4 / (1 + k / s / 0.02))
        covariance = level.T @ level
        covariance[:n, :n] += bell * np.outer(loose, loose)
        covariance[n:, n:] += bell * spread.bend**2 * (spread.scattering > 0)
        values, vectors = np.linalg.eigh(covariance)
        kept = values > _KEPT * values[-1]
        ways = (vectors[:, kept] * np.sqrt(values[kept])).T
        return cls(start, spread is SAME_PIGMENT, logs.ravel(), ways)


def bears(paint: Paint, index: Sequence[str]) -> bool:
    """Return whether a paint bears one of the names, or a variety of it, as PB15:3 of PB15."""
    own = set(map(index_base, paint.colour_index))
    return any(index_base(name) in own for name in index)
