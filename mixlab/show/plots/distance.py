"""Pictures of a colour on its way: toward the horizon, or to where an addition takes it."""

import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colour.spaces import Viewing, lab_to_munsell
from mixlab.mixing.distance import seen_from
from mixlab.mixing.planes import Plane
from mixlab.show.plots import style
from mixlab.show.terminal import fold

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def planes(
    found: list[Plane], horizon: NDArray[np.float64], view: Viewing, title: str, grey: bool = True
) -> "Figure":
    """Return a page: what is to be mixed over what the recipes give; value, chroma, contrast.

    `grey` tells whether the air veils all wavelengths alike, so that the way between the planes is
    known.
    """
    layout = [["seen"] * 2, ["made"] * 2, ["value", "contrast"]]
    figure, axes = style.figure(title=title, layout=layout, heights=[0.4, 0.4, 1])
    names = [
        f"{100 * plane.fraction:.0f} %" if plane.distance is None
        else f"{plane.distance:g}\n{100 * plane.fraction:.0f} %" for plane in found
    ]  # fmt: skip
    style.swatches(axes["seen"], [p.lab for p in found], view, names, "Seen through the air (veil)")
    misses = [f"{p.miss:.1f}" for p in found]
    style.swatches(axes["made"], [p.mixture.lab for p in found], view, misses,
                   "What the recipes give (miss)")  # fmt: skip

    labs = np.array([plane.lab for plane in found])
    way = np.vstack([labs, horizon])
    if grey:
        way = seen_from(labs[0], horizon, np.linspace(0, 1, 101), view)
    _, value, chroma = lab_to_munsell(way, view).T
    left, right = axes["value"], axes["contrast"]
    left.plot(chroma, value, color=style.QUIET)
    places = lab_to_munsell(labs, view)[:, :0:-1]
    style.dots(left, labs, view, places, [name.split("\n")[0] for name in names])
    left.plot(chroma[-1], value[-1], "s", color="white", markeredgecolor=style.INK, markersize=9)
    left.annotate("horizon", (chroma[-1], value[-1]), (9, 6), textcoords="offset points",
                  fontsize=9)  # fmt: skip
    left.margins(x=0.15)
    left.set(xlabel="chroma [Munsell]", ylabel="value [Munsell]", title="Value against chroma",
             xlim=(0, None))  # fmt: skip

    far = [plane.distance for plane in found]
    x = [100 * plane.fraction for plane in found] if None in far else far
    contrast = [plane.contrast for plane in found]
    look = next(style.lines())
    last = found[-1]
    if grey and last.distance and 0 < last.fraction < 1:
        # between the planes too it falls exponentially
        lengths = np.linspace(0, last.distance, 101)
        clear = (1 - last.fraction) ** (lengths / last.distance)
        right.plot(lengths, last.contrast / (1 - last.fraction) * clear, color=look["color"])
        look["linestyle"] = ""
    right.plot(x, contrast, **look)
    right.axhline(0, color=style.QUIET, linewidth=1)
    right.set(
        xlabel="veil [%]" if None in far else "distance [unit of the visibility]",
        ylabel="luminance contrast with the horizon [-]", title="Contrast",
    )  # fmt: skip
    return figure


def path(
    labs: ArrayLike, goal: ArrayLike, view: Viewing, names: Sequence[str], title: str = ""
) -> "Figure":
    """Return swatches of colours in turn over their path of Munsell value against chroma.

    Parameters
    ----------
    labs : CIELAB (n, 3) seen under `view`
    goal : CIELAB (3,) of where it should end, marked by a cross
    names : of each of the n
    """
    every = np.vstack([labs, goal])
    figure, axes = style.figure(
        title="\n".join(fold(title, 56)), width=7, height=3.2, layout=[["steps"], ["value"]],
        heights=[0.5, 1],
    )  # fmt: skip
    under = [f"{i}\n{textwrap.fill(name, 12)}" for i, name in enumerate(names, start=1)]
    style.swatches(axes["steps"], every, view, [*under, "×\nwanted"])

    below, hvc = axes["value"], lab_to_munsell(every, view)
    places = hvc[:-1, :0:-1]
    below.plot(*places.T, color=style.QUIET, linewidth=1.5, zorder=1)
    numbered = [str(i) for i in range(1, len(places) + 1)]
    style.dots(below, every[:-1], view, places, numbered, (8, -15))
    below.plot(hvc[-1, 2], hvc[-1, 1], "x", color=style.INK, markersize=12, markeredgewidth=2.5,
               zorder=3)  # fmt: skip
    # a step of value and two of chroma at least, so that a small change looks small
    (low, left), (high, right) = hvc[:, 1:].min(axis=0), hvc[:, 1:].max(axis=0)
    below.set(xlabel="chroma [Munsell]", ylabel="value [Munsell]", title="Value against chroma",
              xlim=(max(0, left - 1), right + 1), ylim=(max(0, low - 0.5), min(10, high + 0.5)))
    return figure
