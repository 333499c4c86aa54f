"""How the commands print: plain lines within the terminal, swatches where it can show them."""


import json
import math
import os
import signal
import sys
import textwrap
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab.show import report

_WIDEST = 80
_PATCH = 6


class Page(report.Page):
    """Lines of a report.

    A terminal that shows true colour gets swatches; another terminal, or a pipe, gets text alone.
    """

    def __init__(self) -> None:
        super().__init__()
        self.width = _WIDEST
        self.colour = False
        if sys.stdout.isatty():
            from rich.console import Console

            console = Console()
            self.colour = console.color_system == "truecolor" and not console.no_color
            self.width = max(30, min(console.width, _WIDEST))

    def line(self, text: str = "", hang: int = 0, hex: str | None = None) -> None:
        """Print a paragraph, its later lines indented by `hang`."""
        print(self.fold(text, hang))

    def fold(self, text: str, hang: int = 0) -> str:
        """Return text folded to the width, its later lines indented by `hang`."""
        longest = max(map(len, text.split()), default=0)
        hang = min(hang, max(2, self.width - longest))
        return "\n".join(
            textwrap.wrap(
                text, self.width, subsequent_indent=" " * hang,
                drop_whitespace=True, break_on_hyphens=False, break_long_words=False,
                replace_whitespace=False,
            )
        ) or ""  # fmt: skip

    def head(self, text: str) -> None:
        """Print a heading, with an empty line before it."""
        print()
        folded = self.fold(text)
        print(f"\x1b[1m{folded}\x1b[0m" if self.colour else folded)

    def entry(self, label: str, text: str, hex: str | None = None, indent: int = 12) -> None:
        """Print a label and its text beside it, and a swatch after its first line."""
        first, *rest = self.fold(f"{label:<{indent}}{text}", indent).split("\n")
        print(first + self.swatch(hex, len(first)))
        for line in rest:
            print(line)

    def swatch(self, hex: str | None, taken: int) -> str:
        """Return a patch of the colour "#rrggbb" in what is left of a line, where it can be shown.

        `taken` is how many columns of the line are in use.
        """
        room = min(_PATCH, self.width - taken - 2)
        if hex is None or not self.colour or room < 2:
            return ""
        r, g, b = bytes.fromhex(hex[1:])
        return f"  \x1b[48;2;{r};{g};{b}m{' ' * room}\x1b[0m"

    def table(  # type: ignore[override]
        self,
        rows: Iterable[tuple[str, ...]],
        right: str = "",
        hexes: Iterable[str | None] = (),
        indent: int = 2,
    ) -> None:
        """Print rows in columns; `right` names the columns (0, 1, ..) that are set to the right.

        The last column is folded where the terminal is too narrow.
        """
        rows = list(rows)
        patches = list(hexes) or [None] * len(rows)
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        hang = min(indent + sum(w + 2 for w in widths[:-1]), self.width // 2)
        longest = indent + sum(w + 2 for w in widths) - 2
        for row, patch in zip(rows, patches, strict=True):
            cells = [
                cell.rjust(w) if str(i) in right else cell.ljust(w)
                for i, (cell, w) in enumerate(zip(row, widths, strict=True))
            ]
            first, *rest = self.fold(" " * indent + "  ".join(cells).rstrip(), hang).split("\n")
            if self.colour and patch and longest <= self.width:
                first = first.ljust(longest)
            print(first + self.swatch(patch, len(first)))
            for line in rest:
                print(line)


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
def stdout_apart() -> Iterator[None]:
    """Let what a library writes to stdout by itself go nowhere: the integer solver talks at times.

    What stands there is for whoever reads it, and may be JSON.
    """
    import ctypes

    sys.stdout.flush()
    try:
        kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    except OSError:  # closed
        yield
        return
    os.dup2(nowhere, 1)
    os.close(nowhere)
    try:
        yield
    finally:
        with suppress(OSError, TypeError, AttributeError):
            ctypes.CDLL(None).fflush(None)  # C keeps its own lines back
        os.dup2(kept, 1)
        os.close(kept)


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


def number(value: float, digits: int = 4) -> float | None:
    """Return a number for JSON: rounded, without a negative zero; None if it is not finite."""
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def numbers(values: Iterable[float], digits: int = 4) -> list[float | None]:
    """Return numbers for JSON."""
    return [number(v, digits) for v in np.asarray(values)]


def print_json(content: dict[str, Any]) -> None:
    """Print one JSON object and nothing else."""
    print(json.dumps(content, ensure_ascii=False, indent=1))


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


def summary(misses: NDArray[np.float64]) -> dict[str, Any]:
    """Return mean, median and greatest of misses, and how many there are; None without any."""
    if not len(misses):
        return {"mean": None, "median": None, "max": None, "count": 0}
    return {
        "mean": number(float(np.mean(misses))),
        "median": number(float(np.median(misses))),
        "max": number(float(np.max(misses))),
        "count": len(misses),
    }


def in_words(misses: NDArray[np.float64]) -> str:
    """Return mean, median and greatest of misses, for a person."""
    return (
        f"mean {np.mean(misses):.2f}, median {np.median(misses):.2f}, largest {np.max(misses):.2f} "
        "CIEDE2000"
    )
