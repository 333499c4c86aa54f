"""The pattern of values, to be taped to the easel: of the picture, and of the mixes."""

from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import percent
from mixlab.colour.spaces import Viewing, munsell_to_lab
from mixlab.picture.values import Values
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.shapes import draw_regions

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@style.drawn
def value_plan(
    values: Values, view: Viewing, title: str = "", mixes: Values | None = None,
    *, form: Form = PRINT,
) -> "Figure":  # fmt: skip
    """Return the picture in a few values, and under it how light each is and what share it has.

    With `mixes`, the pattern that the mixes make stands beside it.
    """
    views = [values] if mixes is None else [values, mixes]
    high, wide = values.map.shape
    names = ["as wanted", "as mixed"][: len(views)]
    over = mixes is not None and wide > high and not form.on_screen  # two wide ones on a page
    if over:
        layout = [[f"{what} {name}"] for name in names for what in ("picture", "scale")]
        heights = [1.0, 0.16] * len(names)
    else:
        form = form.wide if mixes is not None or wide > high else form
        layout = [[f"{what} {name}" for name in names] for what in ("picture", "scale")]
        heights = [1.0, 0.16]
    made, axes = style.figure(title=title, layout=layout, heights=heights, form=form)
    for one, name in zip(views, names, strict=True):
        draw_values(axes[f"picture {name}"], one, view)
        scale(axes[f"scale {name}"], one, view)
        if mixes is not None:
            axes[f"picture {name}"].set_title(name)
    return made


def greys(values: Values, view: Viewing) -> list[str]:
    """Return the grey "#rrggbb" of each level."""
    neutral = np.zeros((len(values.levels), 3))
    neutral[:, 1] = values.levels
    return style.colours(munsell_to_lab(neutral, view), view)[0]


def draw_values(axes: "Axes", values: Values, view: Viewing) -> None:
    """Fill axes with the pattern."""
    draw_regions(axes, values.map, greys(values, view), values.step)
    for spine in axes.spines.values():
        spine.set(visible=True, color=style.QUIET)


def scale(
    axes: "Axes", values: Values, view: Viewing, size: float | str = "small"
) -> None:
    """Draw the levels from dark to light, the value of each and its share of the picture in it."""
    from matplotlib.patches import Rectangle

    count = len(values.levels)
    axes.set(xlim=(0, count), ylim=(0, 1))
    axes.set_axis_off()
    for i, (grey, value, share) in enumerate(
        zip(greys(values, view), values.levels, values.shares, strict=True)
    ):
        axes.add_patch(Rectangle((i, 0), 1, 1, facecolor=grey, edgecolor="none"))
        axes.text(i + 0.5, 0.5, f"{value:.1f}\n{percent(share)}", ha="center", va="center",
                  fontsize=size, color="white" if value < 5.5 else "black")  # fmt: skip
