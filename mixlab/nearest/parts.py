"""Exact amounts in parts that can be measured: the one rounding."""

import itertools
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices


def rounded(amounts: ArrayLike, least: int, smallest: float = 1.0) -> Array:
    """Return amounts (...,) as multiples of the smallest part, each of at least so many of them.

    Parameters
    ----------
    amounts : exact, in any unit
    least : 0, or 1 where a paint that is named must be there
    smallest : the smallest part that is measured, in the unit of the amounts
    """
    return np.asarray(smallest * np.maximum(np.rint(np.asarray(amounts) / smallest), least))


def parts_around(amounts: ArrayLike, reach: int, least: int, smallest: float = 1.0) -> Array:
    """Return the multiples of the smallest part (n, w, t) to `reach` of them around amounts (n, t).

    Each amount is moved by itself, so that w is (2 reach + 1) ** t; `least` and `smallest` as in
    :func:`rounded`. What would be less than the least stands as the least, more than once.
    """
    amounts = np.asarray(amounts, dtype=float)
    steps = range(-reach, reach + 1)
    moves = np.array(list(itertools.product(steps, repeat=amounts.shape[1])), dtype=float)
    nearest = rounded(amounts, 0, smallest)
    return rounded(nearest[:, None] + smallest * moves, least, smallest)


def first_within(misses: Array, limit: float) -> Indices:
    """Return the first (...,) of misses (..., n) that is within the limit, else the nearest."""
    good = misses <= limit
    found: Any = np.where(good.any(axis=-1), good.argmax(axis=-1), misses.argmin(axis=-1))
    return np.asarray(found)
