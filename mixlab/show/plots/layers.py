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
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row, listing

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_APART = 0.03  # of the whole way, below which two dots are as one and have no name


@style.drawn
def films(
    made: Layer | None, view: Viewing, title: str, white: Mixture | None = None,
    beside: Sequence[tuple[str, Array]] = (), *, form: Form = PRINT,
) -> "Figure":  # fmt: skip
    """Return the films over their ground, and value against chroma; in print by thickness too.

    Parameters
    ----------
    made : the films, listed beside their bare ground; None where there is none to be laid
    white : with which the film's mix is let down in the dashed line, to compare
    beside : names and CIELAB (3,) of the wanted colour and what comes near it
    """
    layout = [["beside"] * 2] if beside else []
    heights = [0.3] if beside else []
    short = form.on_screen and bool(beside)  # one idea: what comes near to what is wanted
    if made is not None:
        layout += [["path"] * 2] if short else [["path", "films"]]
        layout += [] if form.on_screen else [["thickness"] * 2]
        heights += [1.0] * (len(layout) - len(heights))
    figure, axes = style.figure(title=title, layout=layout, heights=heights, form=form,
                                widths=(1.25, 1.0))  # fmt: skip
    if beside:
        names, labs = zip(*beside, strict=True)
        under = [f"{name}\n{colour}" for name, colour in
                 zip(names, style.munsell(np.array(labs), view), strict=True)]  # fmt: skip
        style.swatches(axes["beside"], labs, view, under)
    if made is not None:
        _path(axes["path"], made, white)
        if not form.on_screen:
            _by_thickness(axes["thickness"], made)
    if made is not None and not short:
        every = [*(f"{coats:.3g}" for coats in made.coats), "by itself"]
        laid = np.vstack([made.lab, made.mixture.lab])
        rows = [Row("", [made.bare, lab], words=f"{name}: {colour}") for name, lab, colour in
                zip(every, laid, style.munsell(laid, view), strict=True)]  # fmt: skip
        listing(axes["films"], rows, view, form, touching=True)
    return figure


def _path(axes: Any, made: Layer, white: Mixture | None) -> None:
    """Draw value against chroma from the ground to the mix, and the mix let down with white."""
    view = made.view
    ends = max(made.coats.max(), made.stands())
    way = np.geomspace(1e-4, ends if np.isfinite(ends) else made.coats.max(), 200)
    _, value, chroma = lab_to_munsell(np.vstack([made.bare, made.lab_at(way)]), view).T
    axes.plot(chroma, value, color=style.INK, label="film, in coats")
    if white is not None and set(made.mixture.parts) != set(white.parts):
        tints = lab_to_munsell(ladder(made.mixture, white, steps=15).lab, view)
        axes.plot(tints[:, 2], tints[:, 1], "--", color=style.QUIET,
                  label="let down with white")  # fmt: skip
        chroma = np.append(chroma, tints[:, 2])
    labs = np.vstack([made.bare, made.lab])
    places = lab_to_munsell(labs, view)[:, :0:-1]
    names = ["ground", *(f"{coats:.3g}" for coats in made.coats)]
    apart = _APART if axes.figure.get_figwidth() < 12 else 4 * _APART
    steps = np.abs(np.diff(places, axis=0)) / np.maximum(np.ptp(places, axis=0), 1.0)
    clear = np.array([True, *(steps.max(axis=1) > apart), True])
    named = [name if so else "" for name, so in
             zip(names, clear[:-1] & clear[1:], strict=True)]  # fmt: skip
    style.dots(axes, labs, view, places, named)
    axes.set(xlabel="Munsell chroma", ylabel="Munsell value", ylim=(0, 10), yticks=range(0, 11, 2),
             xlim=(0, 1.12 * max(chroma.max(), 2)))  # fmt: skip
    axes.legend(loc="best")


def _by_thickness(axes: Any, made: Layer) -> None:
    """Draw value and chroma by thickness, and where the film stands and hides."""
    way = np.geomspace(min(made.coats.min(), 0.01), max(made.coats.max(), 1.0), 200)
    _, value, chroma = lab_to_munsell(made.lab_at(way), made.view).T
    looks = style.lines()
    for name, line in (("value", value), ("chroma", chroma)):
        axes.plot(way, line, label=name, **next(looks) | {"marker": ""})
    for name, at, side in (("stands", made.stands(), "right"), ("hides", made.hides, "left")):
        if way[0] < at < way[-1]:
            axes.axvline(at, color=style.QUIET, linewidth=1)
            axes.annotate(name, (at, 0.02), (0.4 if side == "left" else -0.4, 0),
                          xycoords=("data", "axes fraction"), textcoords="offset fontsize",
                          rotation=90, fontsize="small", ha=side)  # fmt: skip
    axes.set(xscale="log", xlabel="thickness [coats]", ylabel="Munsell value, chroma",
             ylim=(0, None))  # fmt: skip
    decades = [one for one in (0.0001, 0.001, 0.01, 0.1, 1, 10, 100) if way[0] <= one <= way[-1]]
    axes.set_xticks(decades, [f"{one:g}" for one in decades])
    axes.minorticks_off()
    axes.legend()
