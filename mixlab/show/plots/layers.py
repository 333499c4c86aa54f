"""A picture of films over a dry ground, thin to thick."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, lab_to_munsell
from mixlab.mixing.ladders import ladder
from mixlab.paint.layers import Layer
from mixlab.paint.mixtures import Mixture
from mixlab.show.plots import style
from mixlab.show.terminal import fold

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_APART = 0.03  # of the whole way, below which two dots are as one and the second has no name


def films(
    made: Layer | None, view: Viewing, title: str, white: Mixture | None = None,
    beside: Sequence[tuple[str, Array]] = (),
) -> "Figure":  # fmt: skip
    """Return a page: the films over their ground, value against chroma, and both by thickness.

    Parameters
    ----------
    made : the films; None where there is none to be laid
    white : with which the film's mix is let down in the dashed line, to compare
    beside : names and CIELAB (3,) of the wanted colour and what comes near it
    """
    layout = [["beside"] * 2] if beside else []
    heights = [0.35] if beside else []
    if made is not None:
        layout += [["films"] * 2, ["path", "thickness"]]
        heights += [0.55, 1]
    figure, axes = style.figure(title="\n".join(fold(title, 90)), layout=layout, heights=heights)
    if beside:
        names, labs = zip(*beside, strict=True)
        style.swatches(axes["beside"], labs, view, names, "Wanted, and what comes near")
    if made is not None:
        _over_the_ground(axes["films"], made)
        _path(axes["path"], made, white)
        _by_thickness(axes["thickness"], made)
    return figure


def _over_the_ground(axes: Any, made: Layer) -> None:
    """Draw the films as patches on the ground, and the mix by itself at the end."""
    from matplotlib.patches import Rectangle

    view = made.view
    labs = np.vstack([made.bare, made.lab, made.mixture.lab])
    names = ["ground", *(f"{coats:.3g}" for coats in made.coats), "by itself"]
    style.swatches(axes, labs, view, names, "Over the ground, in coats")
    (ground,), _ = style.colours(made.bare, view)
    for y in (0.0, 0.82):  # the ground is seen above and below the films
        axes.add_patch(Rectangle((0, y), len(made.coats) + 1, 0.18, facecolor=ground, zorder=5))


def _path(axes: Any, made: Layer, white: Mixture | None) -> None:
    """Draw value against chroma from the ground to the mix, and the mix let down with white."""
    view = made.view
    ends = max(made.coats.max(), made.stands())
    way = np.geomspace(1e-4, ends if np.isfinite(ends) else made.coats.max(), 200)
    _, value, chroma = lab_to_munsell(np.vstack([made.bare, made.lab_at(way)]), view).T
    axes.plot(chroma, value, color=style.INK, linewidth=1.5, label="film, thin to thick")
    if white is not None and set(made.mixture.parts) != set(white.parts):
        tints = lab_to_munsell(ladder(made.mixture, white, steps=15).lab, view)
        axes.plot(tints[:, 2], tints[:, 1], "--", color=style.QUIET, linewidth=1.5,
                  label="the same paint let down with white")  # fmt: skip
    labs = np.vstack([made.bare, made.lab])
    places = lab_to_munsell(labs, view)[:, :0:-1]
    names = ["ground", *(f"{coats:.3g}" for coats in made.coats)]
    steps = np.abs(np.diff(places, axis=0)) / np.maximum(np.ptp(places, axis=0), 1.0)
    apart = steps.max(axis=1) > _APART
    named = [name if so else "" for name, so in zip(names, [True, *apart], strict=True)]
    style.dots(axes, labs, view, places, named)
    axes.margins(x=0.15)
    axes.set(xlabel="chroma [Munsell]", ylabel="value [Munsell]", title="Value against chroma",
             xlim=(0, None))  # fmt: skip
    axes.legend(fontsize=9)


def _by_thickness(axes: Any, made: Layer) -> None:
    """Draw value, chroma and contrast ratio by thickness, and where the film stands and hides."""
    way = np.geomspace(min(made.coats.min(), 0.01), max(made.coats.max(), 1.0), 200)
    _, value, chroma = lab_to_munsell(made.lab_at(way), made.view).T
    looks = style.lines()
    for name, line in (("value", value), ("chroma", chroma)):
        axes.plot(way, line, label=name, **next(looks) | {"marker": ""})
    for name, at, aside in (("stands", made.stands(), -11), ("hides", made.hides, 3)):
        if way[0] < at < way[-1]:
            axes.axvline(at, color=style.QUIET, linewidth=1)
            axes.annotate(name, (at, 0.02), (aside, 0), xycoords=("data", "axes fraction"),
                          textcoords="offset points", rotation=90, fontsize=9)  # fmt: skip
    axes.set(xscale="log", xlabel="thickness [coats]", ylabel="value, chroma [Munsell]",
             title="By thickness", ylim=(0, None))  # fmt: skip
    decades = [one for one in (0.0001, 0.001, 0.01, 0.1, 1, 10, 100) if way[0] <= one <= way[-1]]
    axes.set_xticks(decades, [f"{one:g}" for one in decades])
    axes.legend(fontsize=9)
