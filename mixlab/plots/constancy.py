"""Pictures of mixes under several lights."""

from typing import TYPE_CHECKING

import numpy as np

from mixlab.constancy import Constancy
from mixlab.plots import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def under_lights(told: Constancy, names: list[str]) -> "Figure":
    """Return a page: a row of swatches for each light, and how far each mix shifts."""
    count = len(names) + 2
    figure, axes = style.figure(count, 1, "Mixes under other lights", height=1.5, width=9)
    numbered = [str(i) for i in range(1, len(told.mixtures) + 1)]
    rows = [(f"{told.reference.light} (mixed for it)", told.home)]
    rows += [(name, told.lab[n]) for n, name in enumerate(names)]
    for panel, (name, labs) in zip(axes[:-1, 0], rows, strict=True):
        style.swatches(panel, labs, told.reference, numbered, name)
    bars = axes[-1, 0]
    axes[0, 0].get_gridspec().set_height_ratios([1.0] * (count - 1) + [2.2])
    x = np.arange(len(told.mixtures))
    for n, (name, look) in enumerate(zip(names, style.lines(), strict=False)):
        bars.plot(x + 0.12 * (n - (len(names) - 1) / 2), told.inconstancy[n], label=name,
                  **{**look, "linestyle": ""})  # fmt: skip
    bars.set_xticks(x, numbered)
    bars.set_xlim(-0.5, len(x) - 0.5)
    bars.set_ylim(0, None)
    bars.set_xlabel("mix")
    bars.set_ylabel("shift [CIEDE2000]")
    bars.legend(ncols=min(len(names), 4), loc="upper left", bbox_to_anchor=(0, 1.3))
    figure.set_size_inches(9, 1.1 * (count - 1) + 3)
    return figure
