"""The trade-off drawn: number of tubes against share covered and mean miss."""


from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import percent
from mixlab.palette.trade_off import TradeOff
from mixlab.palette.tube_sets import Fewest
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def trade_off(found: Fewest, curve: TradeOff) -> "Figure":
    """Return a figure: what each number of tubes covers at best, and how far it misses."""
    white = " and free whites" if found.free else ""
    figure, axes = style.figure(
        1, 2, f"What so many tubes{white} do, at most {found.max_tubes} in a mix",
        height=4.0,
    )
    looks = style.lines()
    first, second = axes[0]
    _line(first, curve, 100 * curve.share, next(looks))
    unproven = ~curve.proven
    if unproven.any():
        first.plot(
            curve.count[unproven], 100 * curve.bound[unproven], linestyle="", marker="_",
            markersize=14, color=style.QUIET, label="no set does more",
        )  # fmt: skip
    if found.proven and not found.stopped and found.counted:
        wanted = percent(min(found.share_wanted, found.share))
        first.axvline(
            found.counted, color=style.QUIET, linewidth=1, linestyle=(0, (2, 2)),
            label=f"{found.counted} for {wanted}; no fewer will do",
        )  # fmt: skip
    if first.get_legend_handles_labels()[0]:
        first.legend(loc="lower right", fontsize=9, framealpha=1.0)
    first.set_ylim(0, 105)
    first.set_ylabel(f"weight within {found.tolerance:g} [%]")
    first.set_title(f"Covered to {found.tolerance:g} CIEDE2000")
    _line(second, curve, curve.mean_miss, next(looks))
    second.set_ylim(0, None)
    second.set_ylabel("mean miss [CIEDE2000]")
    second.set_title("Mean miss, covered or not")
    return figure


def _line(
    axes: "Axes", curve: TradeOff, values: NDArray[np.float64], look: dict[str, Any]
) -> None:
    axes.plot(curve.count, values, **look)
    axes.set_xticks(curve.count)
    axes.set_xlabel("tubes that count")
