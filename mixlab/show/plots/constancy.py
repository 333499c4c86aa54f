"""Pictures of mixes under several lights."""


from typing import TYPE_CHECKING

import numpy as np

from mixlab.mixing.constancy import Constancy
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def under_lights(told: Constancy, names: list[str]) -> "Figure":
    """Return a page: a row of swatches for each light, how far each mix shifts, and its value.

    Where lines of value cross, the order of value turns.
    """
    count = len(names) + 3
    figure, axes = style.figure(count, 1, "Mixes under other lights", height=1.5, width=9)
    numbered = [str(i) for i in range(1, len(told.mixtures) + 1)]
    rows = [(f"{told.reference.light} (mixed for it)", told.home)]
    rows += [(name, told.lab[n]) for n, name in enumerate(names)]
    for panel, (name, labs) in zip(axes[:-2, 0], rows, strict=True):
        style.swatches(panel, labs, told.reference, numbered, name)
    bars, order = axes[-2:, 0]
    axes[0, 0].get_gridspec().set_height_ratios([1.0] * (count - 2) + [2.2, 2.6])
    x = np.arange(len(told.mixtures))
    for n, (name, look) in enumerate(zip(names, style.lines(), strict=False)):
        bars.plot(x + 0.12 * (n - (len(names) - 1) / 2), told.inconstancy[n], label=name,
                  **{**look, "linestyle": ""})  # fmt: skip
    bars.set_xticks(x, numbered)
    bars.set(xlabel="mix", ylabel="shift [CIEDE2000]", xlim=(-0.5, len(x) - 0.5),
             ylim=(0, 1.15 * max(1.0, told.inconstancy.max())))  # fmt: skip
    bars.legend(ncols=min(len(names), 4), loc="upper left", bbox_to_anchor=(0, 1.3),
                frameon=False)  # fmt: skip
    _value(order, told, names)
    figure.set_size_inches(9, 1.1 * (count - 2) + 6)
    return figure


def _value(axes: "Axes", told: Constancy, names: list[str]) -> None:
    """Draw Munsell value of each mix from light to light."""
    x = np.arange(len(names) + 1)
    ends = told.value[-1]
    for i, look in zip(range(len(ends)), style.lines(), strict=False):
        axes.plot(x, told.value[:, i], **look)
    # the numbers of lines that end close together stand beside each other
    aside, before = 0, -np.inf
    for i in np.argsort(ends, kind="stable"):
        aside = aside + 1 if ends[i] - before < 0.1 * np.ptp(told.value) + 0.02 else 0
        before = ends[i]
        axes.annotate(str(i + 1), (x[-1], ends[i]), (8 + 14 * aside, 0),
                      textcoords="offset points", va="center", fontsize=10)  # fmt: skip
    axes.set_xticks(x, [told.reference.light, *names])
    low, high = told.value.min(), told.value.max()
    axes.set(ylabel="value [Munsell]", title="Order of value", xlim=(-0.2, x[-1] + 0.35),
             ylim=(max(0, low - 0.3), min(10, high + 0.3)))  # fmt: skip
