"""Pictures of a colour on its way: toward the horizon, or to where an addition takes it."""


import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colour.spaces import Viewing, lab_to_munsell
from mixlab.mixing.distance import Plane, seen_from
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def planes(
    found: list[Plane], horizon: NDArray[np.float64], view: Viewing, title: str, grey: bool = True
) -> "Figure":
    """Return a page: what is to be mixed over what the recipes give; value, chroma, contrast.

    `grey` tells whether the air veils all wavelengths alike, so that the way between the planes is
    known.
    """
    figure, axes = style.figure(3, 2, title)
    grid = axes[0, 0].get_gridspec()
    for panel in axes[:2].flat:
        panel.remove()
    names = [
        f"{100 * plane.fraction:.0f} %" if plane.distance is None
        else f"{plane.distance:g}\n{100 * plane.fraction:.0f} %" for plane in found
    ]  # fmt: skip
    upper, lower = figure.add_subplot(grid[0, :]), figure.add_subplot(grid[1, :])
    style.swatches(upper, [p.lab for p in found], view, names, "Seen through the air (veil)")
    misses = [f"{p.recipe.miss:.1f}" for p in found]
    style.swatches(lower, [p.recipe.lab for p in found], view, misses,
                   "What the recipes give (miss)")  # fmt: skip
    grid.set_height_ratios([0.4, 0.4, 1])

    labs = np.array([plane.lab for plane in found])
    way = np.vstack([labs, horizon])
    if grey:
        way = seen_from(labs[0], horizon, np.linspace(0, 1, 101), view)
    _, value, chroma = lab_to_munsell(way, view).T
    left, right = axes[2]
    left.plot(chroma, value, color=style.QUIET)
    hexes, _ = style.colours(labs, view)
    for i, ((_, v, c), hex) in enumerate(zip(lab_to_munsell(labs, view), hexes, strict=True)):
        left.plot(c, v, "o", color=hex, markeredgecolor=style.INK, markersize=11)
        left.annotate(names[i].split("\n")[0], (c, v), (9, 0), textcoords="offset points",
                      va="center", fontsize=9)  # fmt: skip
    left.plot(chroma[-1], value[-1], "s", color="white", markeredgecolor=style.INK, markersize=9)
    left.annotate("horizon", (chroma[-1], value[-1]), (9, 6), textcoords="offset points",
                  fontsize=9)  # fmt: skip
    left.set(xlabel="chroma [Munsell]", ylabel="value [Munsell]", title="Value against chroma")
    left.set_xlim(0, None)
    left.margins(x=0.15)

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
    title = textwrap.fill(title, 56)
    figure, axes = style.figure(2, 1, title, width=7, height=3.2)
    under = [f"{i}\n{textwrap.fill(name, 16)}" for i, name in enumerate(names, start=1)]
    style.swatches(axes[0, 0], every, view, [*under, "×\nwanted"])
    axes[0, 0].get_gridspec().set_height_ratios([0.5, 1])

    below = axes[1, 0]
    hvc = lab_to_munsell(every, view)
    hexes, _ = style.colours(every, view)
    below.plot(hvc[:-1, 2], hvc[:-1, 1], color=style.QUIET, linewidth=1.5, zorder=1)
    for i, ((_, value, chroma), hex) in enumerate(zip(hvc[:-1], hexes, strict=False), start=1):
        below.plot(chroma, value, "o", color=hex, markeredgecolor=style.INK, markersize=12)
        below.annotate(str(i), (chroma, value), (8, -15), textcoords="offset points",
                       fontsize=10)  # fmt: skip
    below.plot(hvc[-1, 2], hvc[-1, 1], "x", color=style.INK, markersize=12, markeredgewidth=2.5,
               zorder=3)  # fmt: skip
    # a step of value and two of chroma at least, so that a small change looks small
    (low, left), (high, right) = hvc[:, 1:].min(axis=0), hvc[:, 1:].max(axis=0)
    below.set_xlim(max(0, left - 1), right + 1)
    below.set_ylim(max(0, low - 0.5), min(10, high + 0.5))
    below.set(xlabel="chroma [Munsell]", ylabel="value [Munsell]", title="Value against chroma")
    return figure
