"""The trade-off drawn: number of tubes against share covered, with the sets."""


from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import percent
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.trade_off import TradeOff
from mixlab.palette.tube_sets import Fewest
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row, listing, short_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LITTLE = 0.005  # of the weight: as good as nothing


@style.drawn
def trade_off(
    found: Fewest, curve: TradeOff, tubes: PigmentTable | Palette, *, form: Form = PRINT
) -> "Figure":
    """Return what each number of tubes covers at best, with which, and where more cover no more.

    `tubes` are those that were to choose from.
    """
    white = " and free whites" if found.free else ""
    figure, axes = style.figure(
        title=f"What so many tubes{white} cover at best, at most {found.max_tubes} in a mix",
        form=form, layout=[["covered", "sets"]] if form.on_screen else
        [["covered", "missed"], ["sets", "sets"]],
        widths=(1.0, 1.8) if form.on_screen else None, heights=() if form.on_screen else (1, 1.4),
    )  # fmt: skip
    looks = style.lines()
    for name, values, look in zip(("covered", "missed"), (100 * curve.share, curve.mean_miss),
                                  looks, strict=False):  # fmt: skip
        if name not in axes:
            continue
        panel = axes[name]
        panel.plot(curve.count, values, **look)
        panel.set_xticks(curve.count)
        panel.set(xlabel="tubes that count", xlim=(curve.count[0] - 0.5, curve.count[-1] + 0.5))
        _nothing_more(panel, curve)
    _covered(axes["covered"], found, curve)
    if "missed" in axes:
        axes["missed"].set(ylim=(0, None), ylabel="mean miss [CIEDE2000]")
    listing(axes["sets"], _rows(found, curve, tubes, form), found.view, form)
    return figure


def enough(curve: TradeOff) -> int | None:
    """Return the number of tubes from which on further ones cover no more; None for none."""
    first = int(curve.count[(curve.share[-1] - curve.share < _LITTLE).argmax()])
    return first if first < curve.count[-1] else None


def _nothing_more(axes: "Axes", curve: TradeOff) -> None:
    """Mark the numbers of tubes that cover no more than fewer."""
    if (first := enough(curve)) is not None:
        axes.axvspan(first + 0.1, curve.count[-1] + 0.5, facecolor=style.FAINT, zorder=0)
        axes.annotate("further tubes\ncover no more", (0.98, 0.3), xycoords="axes fraction",
                      ha="right", fontsize="small",
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 2})  # fmt: skip


def _covered(axes: "Axes", found: Fewest, curve: TradeOff) -> None:
    from matplotlib import rcParams

    unproven = ~curve.proven
    if unproven.any():
        axes.plot(curve.count[unproven], 100 * curve.bound[unproven], linestyle="", marker="_",
                  markersize=1.4 * rcParams["font.size"], color=style.QUIET,
                  label="no set does more")  # fmt: skip
    if found.proven and not found.stopped and found.counted:
        wanted = percent(min(found.share_wanted, found.share))
        axes.axvline(found.counted, color=style.QUIET, linestyle=(0, (2, 2)),
                     label=f"{found.counted} for {wanted};\nno fewer will do")  # fmt: skip
    if axes.get_legend_handles_labels()[0]:
        axes.legend(loc="lower right", frameon=True, framealpha=1.0, edgecolor="none")
    axes.set(ylim=(0, 105), ylabel=f"weight within {found.tolerance:g} CIEDE2000 [%]")


def _rows(
    found: Fewest, curve: TradeOff, tubes: PigmentTable | Palette, form: Form
) -> list[Row]:
    """Return a row for each number of tubes: the tubes by themselves, what comes and what goes."""
    rows: list[Row] = []
    before: tuple[str, ...] = ()

    def name(id: str) -> str:
        return short_name(tubes[id]) if form.on_screen else id

    for count, ids, share, miss in zip(
        curve.count, curve.sets, curve.share, curve.mean_miss, strict=True
    ):
        labs = np.array([tubes.mix({id: 1.0}, found.view).lab for id in ids])
        come = [f"+ {name(id)}" for id in ids if id not in before]
        gone = [f"\N{MINUS SIGN} {name(id)}" for id in before if id not in ids]
        more = "" if form.on_screen else f", mean miss {miss:.1f}"
        rows.append(Row(str(count), labs, percent(share) + more,
                        " ".join([*come, *gone]) or "the same"))  # fmt: skip
        before = ids
    return rows
