"""Progress, Ctrl-C, and the small words that several commands share."""

import math
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray


@contextmanager
def bar(what: str) -> Iterator[Callable[[float], None] | None]:
    """Give a bar on stderr to tell of progress, where it is a terminal, from the second second."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    begun = time.monotonic()
    console = Console(stderr=True)
    with Progress(console=console, transient=True, auto_refresh=False) as shown:
        task = shown.add_task(what, total=1.0, visible=False)

        def tell(share: float) -> None:
            late = time.monotonic() - begun > 1.0
            shown.update(task, completed=share, visible=late, refresh=late)

        yield tell


@contextmanager
def one_stop() -> Iterator[None]:
    """Take Ctrl-C that comes again within a second for the same one: what was found is coming."""
    last = -math.inf

    def pressed(*_: object) -> None:
        nonlocal last
        before, last = last, time.monotonic()
        if last - before > 1.0:
            raise KeyboardInterrupt

    if threading.current_thread() is not threading.main_thread():
        yield
        return
    usual = signal.signal(signal.SIGINT, pressed)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)


def counted(number: float, thing: str, more: str = "s") -> str:
    """Return "1 part", "2 parts", "0.5 parts"."""
    return f"{number:g} {thing}" if number == 1 else f"{number:g} {thing}{more}"


def amount(parts: float) -> str:
    """Return parts in writing: whole, or with the quarters that a knife can divide."""
    return f"{parts:.3g}"


def lab_text(lab: Iterable[float]) -> str:
    """Return CIELAB in writing: "L* 45.0  a* 15.0  b* 20.0"."""
    return "  ".join(
        f"{name} {value + 0.0:.1f}" for name, value in zip(("L*", "a*", "b*"), lab, strict=True)
    )


def in_words(misses: NDArray[np.float64]) -> str:
    """Return mean, median and greatest of misses, for a person."""
    return (
        f"mean {np.mean(misses):.2f}, median {np.median(misses):.2f}, largest {np.max(misses):.2f} "
        "CIEDE2000"
    )
