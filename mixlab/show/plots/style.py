"""The look that all pictures share: sizes, lines told apart without hue, true swatches, saving.

Figures are made for a projector and for print: dark ink on white, letters that stay readable when
the picture is half a page wide. No line is told from another by hue alone: every line has its own
dashes and marker as well.
"""


import io
import os
import re
from collections.abc import Iterator, Sequence
from itertools import cycle
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.colour.spaces import Viewing, in_gamut, lab_to_hex
from mixlab.errors import PlotError
from mixlab.writing import writable, write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


INK = "#22252a"
QUIET = "#767b84"
FAINT = "#d9dce1"

# even in lightness steps, so that they part in a grey print and for every kind of colour vision
_COLOURS = ("#14213d", "#b4531f", "#3d7ea6", "#8a6a00", "#7a3b69", "#5f7f3a")
_DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 3)))
_MARKERS = ("o", "s", "^", "D", "v", "P")

KINDS = (".png", ".svg")
_DOTS = 200

_RC: dict[Any, Any] = {
    "font.size": 11.0,
    "axes.titlesize": 12.0,
    "axes.labelsize": 11.0,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "grid.color": FAINT,
    "axes.grid": True,
    "axes.axisbelow": True,
    "lines.linewidth": 2.0,
    "lines.markersize": 6.0,
    "legend.frameon": False,
    "svg.hashsalt": "mixlab",
    "svg.fonttype": "path",
}


def figure(
    rows: int = 1, columns: int = 1, title: str = "", height: float = 3.6, width: float = 5.4,
    layout: Sequence[Sequence[str]] = (), heights: Sequence[float] = (),
) -> tuple["Figure", Any]:  # fmt: skip
    """Return a figure and its axes; no window is opened and no state is kept.

    Parameters
    ----------
    rows, columns : of panels
    height, width : of a panel [in]
    layout : names of the panels row by row; one that stands in several cells spans them
    heights : of the rows, relative to each other

    Returns
    -------
    figure, and axes (rows, columns), or the axes by name where there is a layout
    """
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    if layout:
        rows, columns = len(layout), len(layout[0])
    with rc_context(_RC):
        made = Figure(figsize=(width * columns, height * rows), layout="constrained")
        if layout:
            axes: Any = made.subplot_mosaic([list(row) for row in layout], height_ratios=heights)
        else:
            axes = made.subplots(rows, columns, squeeze=False)
        if title:
            made.suptitle(title, fontsize=14, x=0.01, ha="left", weight="bold")
    return made, axes


def dots(
    axes: "Axes", labs: ArrayLike, view: Viewing, places: ArrayLike, names: Sequence[str],
    aside: tuple[float, float] = (9, 0),
) -> None:  # fmt: skip
    """Draw colours (n, 3) as dots at places (n, 2), names beside them [points]; axes from zero."""
    hexes, _ = colours(labs, view)
    for place, hex, name in zip(np.asarray(places), hexes, names, strict=True):
        axes.plot(*place, "o", color=hex, markeredgecolor=INK, markersize=11, zorder=2,
                  clip_on=False)  # fmt: skip
        axes.annotate(name, place, aside, textcoords="offset points", va="center", fontsize=9)


def lines() -> Iterator[dict[str, Any]]:
    """Return the looks of lines in turn, for ``axes.plot(x, y, **look)``."""
    for colour, dashes, marker in cycle(zip(_COLOURS, _DASHES, _MARKERS, strict=True)):
        yield {"color": colour, "linestyle": dashes, "marker": marker}


def colours(labs: ArrayLike, view: Viewing) -> tuple[list[str], list[bool]]:
    """Return the sRGB colours "#rrggbb" of CIELAB (n, 3), and whether each is shown unclipped."""
    labs = np.atleast_2d(np.asarray(labs, dtype=float))
    return [lab_to_hex(lab, view) for lab in labs], [bool(g) for g in in_gamut(labs, view)]


def swatches(
    axes: "Axes", labs: ArrayLike, view: Viewing, names: Sequence[str] = (), title: str = ""
) -> None:
    """Draw a row of swatches in true sRGB; one beyond sRGB bears a stroke across and says so.

    Parameters
    ----------
    labs : CIELAB (n, 3) seen under `view`
    names : what stands under each; one name may have several lines
    """
    from matplotlib.patches import Rectangle

    hexes, shown = colours(labs, view)
    for i, (hex, unclipped) in enumerate(zip(hexes, shown, strict=True)):
        axes.add_patch(Rectangle((i, 0), 1, 1, facecolor=hex, edgecolor="none"))
        if not unclipped:
            axes.plot([i, i + 1], [0, 1], color="white", linewidth=2.6, marker="", zorder=3)
            axes.plot([i, i + 1], [0, 1], color=INK, linewidth=1.0, marker="", zorder=4)
    axes.set_xlim(0, len(hexes))
    axes.set_ylim(0, 1)
    axes.grid(False)
    axes.set_yticks([])
    axes.set_xticks(np.arange(len(hexes)) + 0.5, list(names) or [""] * len(hexes))
    axes.tick_params(length=0)
    for spine in axes.spines.values():
        spine.set_visible(False)
    if not all(shown):
        title = f"{title}   (stroke: beyond sRGB, shown clipped)".strip()
    axes.set_title(title)


def checked(path: str | os.PathLike[str]) -> Path:
    """Return the path of a picture to be written; PlotError if it cannot be one."""
    if Path(path).suffix.lower() not in KINDS:
        raise PlotError(f"{path}: a picture is written as .png or .svg; end its name so")
    return writable(path, PlotError)


def save(made: "Figure", path: str | os.PathLike[str], view: Viewing) -> None:
    """Write a figure and how its colours are seen, as PNG or SVG by the name; whole or not at all.

    Raises
    ------
    PlotError : for another ending, or a place that cannot be written
    """
    from matplotlib import rc_context

    target = checked(path)
    made.supxlabel(str(view), fontsize=9, x=0.99, ha="right", color=QUIET)
    stream = io.BytesIO()
    kind = target.suffix.lower()[1:]
    with rc_context(_RC):
        made.savefig(
            stream, format=kind, dpi=_DOTS, facecolor="white",
            metadata={"Date": None} if kind == "svg" else {"Software": None},
        )  # fmt: skip
    content = stream.getvalue()
    if kind == "svg":  # a hundredth of a point is finer than any print; half the file
        content = re.sub(rb' d="[^"]*"', lambda d: re.sub(rb"(\.\d\d)\d+", rb"\1", d[0]), content)
    write_whole(target, content, PlotError)
