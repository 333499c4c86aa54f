"""Pictures of a colour on its way: toward the horizon, or to where an addition takes it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.colour.spaces import Viewing, lab_to_munsell
from mixlab.mixing.distance import seen_from
from mixlab.mixing.planes import Plane
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row, listing

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ROWS = {"screen": 6, "print": 20}  # of a list, at most


@style.drawn
def planes(
    found: list[Plane], horizon: NDArray[np.float64], view: Viewing, title: str, grey: bool = True,
    *, form: Form = PRINT,
) -> "Figure":  # fmt: skip
    """Return the planes with their recipes, wanted beside mixed, and value against chroma.

    In print contrast with the horizon too. Where there are more planes than a list holds some are
    drawn, evenly, both ends among them. `grey` tells whether the air veils all wavelengths alike,
    so that the way between the planes is known.
    """
    most = _ROWS[form.name]
    drawn = found
    if len(found) > most:
        drawn = [found[i] for i in np.linspace(0, len(found) - 1, most).round().astype(int)]
        title += f" ({most} of {len(found)} planes)"
    layout, heights = [["planes", "value"]], [1.0]
    if not form.on_screen:
        layout, heights = [["planes"] * 2, ["value", "contrast"]], [1.5, 1.0]
    figure, axes = style.figure(title=title, layout=layout, heights=heights, form=form,
                                widths=(2.5, 1.0) if form.on_screen else None)  # fmt: skip
    _value(axes["value"], drawn, horizon, view, grey)
    if not form.on_screen:
        _contrast(axes["contrast"], found, grey)
    rows = [
        Row(str(i), [plane.lab, plane.mixture.lab], f"{_where(plane)}: miss {plane.miss:.1f}",
            plane.words)
        for i, plane in enumerate(drawn, start=1)
    ]  # fmt: skip
    axes["planes"].set_title("wanted beside mixed", fontsize="small", weight="normal")
    listing(axes["planes"], rows, view, form)
    return figure


def _where(plane: Plane) -> str:
    veil = f"veil {100 * plane.fraction:.0f} %"
    return veil if plane.distance is None else f"at {plane.distance:g}, {veil}"


def _value(
    axes: "Axes", found: list[Plane], horizon: NDArray[np.float64], view: Viewing, grey: bool
) -> None:
    labs = np.array([plane.lab for plane in found])
    way = np.vstack([labs, horizon])
    if grey:
        way = seen_from(labs[0], horizon, np.linspace(0, 1, 101), view)
    _, value, chroma = lab_to_munsell(way, view).T
    axes.plot(chroma, value, color=style.QUIET, zorder=1)
    places = lab_to_munsell(labs, view)[:, :0:-1]
    style.dots(axes, labs, view, places, [str(i) for i in range(1, len(labs) + 1)])
    axes.plot(chroma[-1], value[-1], "s", color="white", markeredgecolor=style.INK, zorder=3)
    axes.annotate("horizon", (chroma[-1], value[-1]), (0, 1.2), textcoords="offset fontsize",
                  ha="left" if chroma[-1] < 0.3 * chroma.max() else "center",
                  fontsize="small")  # fmt: skip
    axes.set(xlabel="Munsell chroma", ylabel="Munsell value", ylim=(0, 10), yticks=range(0, 11, 2),
             xlim=(0, 1.2 * max(chroma.max(), 2)))  # fmt: skip


def _contrast(axes: "Axes", found: list[Plane], grey: bool) -> None:
    far = [plane.distance for plane in found]
    x: Any = [100 * plane.fraction for plane in found] if None in far else far
    look, last = next(style.lines()), found[-1]
    if grey and last.distance and 0 < last.fraction < 1:
        # between the planes too it falls exponentially
        lengths = np.linspace(0, last.distance, 101)
        clear = (1 - last.fraction) ** (lengths / last.distance)
        axes.plot(lengths, last.contrast / (1 - last.fraction) * clear, color=look["color"])
        look["linestyle"] = ""
    axes.plot(x, [plane.contrast for plane in found], **look)
    axes.axhline(0, color=style.QUIET, linewidth=1)
    axes.set(
        xlabel="veil [%]" if None in far else "distance [unit of the visibility]",
        ylabel="contrast of luminance with the horizon",
    )  # fmt: skip


@style.drawn
def path(
    labs: ArrayLike, goal: ArrayLike, view: Viewing, names: Sequence[str], title: str = "",
    *, form: Form = PRINT,
) -> "Figure":  # fmt: skip
    """Return colours in turn, and their path of Munsell value against chroma.

    Parameters
    ----------
    labs : CIELAB (n, 3) seen under `view`
    goal : CIELAB (3,) of where it should end, marked by a cross
    names : of each of the n
    """
    form = form.wide
    every = np.vstack([labs, goal])
    figure, axes = style.figure(title=title, layout=[["value", "steps"]], widths=(1.0, 1.0),
                                form=form)  # fmt: skip
    panel, hvc = axes["value"], lab_to_munsell(every, view)
    places = hvc[:-1, :0:-1]
    panel.plot(*places.T, color=style.QUIET, zorder=1)
    numbered = [str(i) for i in range(1, len(places) + 1)]
    style.dots(panel, every[:-1], view, places, numbered, (0, -1.2))
    panel.plot(hvc[-1, 2], hvc[-1, 1], "x", color=style.INK, markersize=1.4 * form.letters,
               markeredgewidth=0.2 * form.letters, zorder=3)  # fmt: skip
    # a step of value and two of chroma at least, so that a small change looks small
    (low, left), (high, right) = hvc[:, 1:].min(axis=0), hvc[:, 1:].max(axis=0)
    panel.set(xlabel="Munsell chroma", ylabel="Munsell value",
              xlim=(max(0, left - 1), right + 1), ylim=(max(0, low - 0.5), min(10, high + 0.5)))
    rows = [Row(number, lab, name, colour) for number, lab, name, colour in zip(
        [*numbered, "×"], every, [*names, "wanted"], style.munsell(every, view), strict=True)]
    listing(axes["steps"], rows, view, form)
    return figure
