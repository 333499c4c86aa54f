"""Pictures of aerial perspective."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from mixlab.colorimetry import Viewing, lab_to_munsell
from mixlab.distance import Plane, seen_from
from mixlab.plots import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def planes(
    found: list[Plane], horizon: NDArray[np.float64], view: Viewing, title: str
) -> "Figure":
    """Return a page: what is to be mixed over what the recipes give; value, chroma, contrast."""
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
    misses = [f"{p.answer.recipe.miss:.1f}" for p in found]
    style.swatches(lower, [p.answer.recipe.lab for p in found], view, misses,
                   "What the recipes give (miss)")  # fmt: skip
    grid.set_height_ratios([0.4, 0.4, 1])

    way = seen_from(found[0].lab, horizon, np.linspace(0, 1, 101), view)
    _, value, chroma = lab_to_munsell(way, view).T
    left, right = axes[2]
    left.plot(chroma, value, color=style.QUIET)
    labs = np.array([plane.lab for plane in found])
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
    look = next(style.lines())
    right.plot(x, [plane.contrast for plane in found], **look)
    right.axhline(0, color=style.QUIET, linewidth=1)
    right.set(
        xlabel="veil [%]" if None in far else "distance [unit of the visibility]",
        ylabel="luminance contrast with the horizon [-]", title="Contrast",
    )  # fmt: skip
    return figure
