"""Types of arrays, work in threads, the clock, a share in writing."""

import math
import os
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from functools import lru_cache
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def percent(share: float) -> str:
    """Return a share 0..1 in writing, e.g. "83.5%": "100%" only where nothing is lacking."""
    if share >= 1 - 1e-12:  # sums of weights are not sure to the last digit
        return "100%"
    if share >= 0.9995:
        return f"{min(math.floor(1e4 * share), 9999) / 100:.2f}%"
    return f"{100 * share:.1f}%"


Indices = NDArray[np.intp]


@lru_cache(maxsize=1)
def _thread_pools() -> Any:
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


def one_thread() -> AbstractContextManager[Any]:
    """Return a context in which matrix products use one thread.

    The matrices of the search are many and small: handing them to several threads costs more than
    it gains, and several times more where another program is busy.
    """
    return cast("AbstractContextManager[Any]", _thread_pools().limit(limits=1))


_T = TypeVar("_T")

BLOCK = 4_000
"""Rows that a thread works on at a time."""


def in_threads(
    work: Callable[[slice], _T], count: int, size: int | None = None
) -> Iterator[_T]:
    """Yield what `work` makes of each block of so many rows, in order, on every core."""
    size = size or BLOCK
    blocks = [slice(at, min(at + size, count)) for at in range(0, count, size)]
    if len(blocks) < 2:
        yield from map(work, blocks)
        return
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        yield from pool.map(work, blocks)


def clock(seconds: float | None) -> Callable[[], float]:
    """Return a function that says how many seconds are left of so many; None: no end."""
    if seconds is None:
        return lambda: math.inf
    end = time.monotonic() + seconds
    return lambda: end - time.monotonic()


Progress = Callable[[float], None]
Pixels = NDArray[np.uint8]
