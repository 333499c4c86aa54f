"""Pictures of mixes under several lights."""


from typing import TYPE_CHECKING

import numpy as np

from mixlab.mixing.constancy import Constancy
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row, listing

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


@style.drawn
def under_lights(told: Constancy, names: list[str], *, form: Form = PRINT) -> "Figure":
    """Return the mixes under each light, how far each shifts, and the recipes; in print values too.

    In a column the colours of one mix touch; the figure in each is its shift. Where lines of value
    cross, the order of value turns.
    """
    figure, axes = style.figure(
        title="Mixes under other lights, and how far each shifts [CIEDE2000]", form=form,
        layout=[["lights"], ["recipes"], *([] if form.on_screen else [["value"]])],
        heights=[1.5, 1.0] if form.on_screen else [1.0, 0.8, 0.9],
    )  # fmt: skip
    _matrix(axes["lights"], told, names)
    if not form.on_screen:
        _value(axes["value"], told, names)
    rows = [Row(str(i), lab, words=str(mix))
            for i, (lab, mix) in enumerate(zip(told.home, told.mixtures, strict=True), start=1)]
    listing(axes["recipes"], rows, told.reference, form, columns=1 if len(rows) < 4 else 2)
    return figure


def _matrix(axes: "Axes", told: Constancy, names: list[str]) -> None:
    """Draw a row of swatches for each light, a column for each mix, on the neutral grey."""
    count = len(told.mixtures)
    numbered = [str(i) for i in range(1, count + 1)]
    style.swatches(axes, told.home, told.reference, numbered)
    for n, labs in enumerate(told.lab):
        for i, lab in enumerate(labs):
            style.patch(axes, (i, -1 - n), (1, 1), lab, told.reference)
            axes.annotate(f"{told.inconstancy[n, i]:.1f}", (i + 0.5, -0.5 - n), ha="center",
                          va="center", fontsize="small", zorder=5,
                          color="white" if lab[0] < 55 else "black")  # fmt: skip
    axes.set_ylim(-0.1 - len(names), 1.1)
    axes.set_yticks([0.5, *(-0.5 - np.arange(len(names)))],
                    [f"{told.reference.light}, mixed for", *names])  # fmt: skip


def _value(axes: "Axes", told: Constancy, names: list[str]) -> None:
    """Draw Munsell value of each mix from light to light."""
    x = np.arange(len(names) + 1)
    for i, look in zip(range(told.value.shape[1]), style.lines(), strict=False):
        axes.plot(x, told.value[:, i], **look)
    for i, place in enumerate(style.spread(told.value[-1], 0.45)):
        axes.annotate(str(i + 1), (x[-1], told.value[-1, i]), (x[-1] + 0.15, place),
                      va="center", fontsize="small",
                      arrowprops={"arrowstyle": "-", "color": style.QUIET})  # fmt: skip
    axes.set_xticks(x, [told.reference.light, *names])
    axes.set(ylabel="Munsell value", ylim=(0, 10), yticks=range(0, 11, 2),
             xlim=(-0.2, x[-1] + 0.35))  # fmt: skip
    axes.set_title("Where lines cross, the order of value turns", fontsize="small")
