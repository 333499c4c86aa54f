"""Pictures of what a palette mixes, and of what is asked of it."""


from textwrap import fill
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import percent
from mixlab.colour.boxes import merged
from mixlab.colour.munsell import FAMILIES
from mixlab.colour.spaces import lab_to_munsell, munsell_to_lab
from mixlab.palette.coverage import Coverage
from mixlab.palette.reach import Reach
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


Array = NDArray[np.float64]

VALUES = (2.5, 4.0, 5.0, 6.0, 7.0, 8.5)
"""Munsell values of the slices."""

_ENDS: tuple[dict[str, Any], ...] = (
    {"color": style.INK, "linewidth": 1.2, "linestyle": (0, (4, 2))},
    {"color": style.INK, "linewidth": 1.2},
)  # of the edge at the darker end of a panel, and at the lighter
_BANDS = ((0, 3), (3, 4.5), (4.5, 5.5), (5.5, 6.5), (6.5, 8), (8, 10))
_PAGE_VALUES = np.arange(2.0, 9.01, 0.25)  # above 9 the renotation shrinks to white
_LOOKS: tuple[dict[str, Any], ...] = (
    {"color": style.INK, "linestyle": "-", "linewidth": 2.0},
    {"color": "#b4531f", "linestyle": "--", "linewidth": 2.0},
)
_SWATCHES = 12.0  # C* from swatch to swatch inside a slice
_MOST_MARKS = 800
_SHARED = 3.0
_LIGHT = 85.0  # L*
_TITLE = 80  # letters to a line of a title


def slices(reaches: list[Reach]) -> "Figure":
    """Return slices by value: the plane of a* and b* with the edge of one palette or two."""
    figure, axes = style.figure(2, 3, _title("Reach by value", reaches), height=3.9, width=3.9)
    width = _widest(reaches)
    for panel, value in zip(axes.ravel(), VALUES, strict=True):
        lightness = float(munsell_to_lab([0.0, value, 0.0], reaches[0].view)[0])
        if len(reaches) == 1:
            _fill(panel, reaches[0], lightness, width)
        for reach, look in zip(reaches, _LOOKS, strict=False):
            _edge(panel, reach, value, look)
        _plane(panel, width, f"value {value:g}, L* {lightness:.0f}")
    _label(axes)
    _legend(axes[0, 0], reaches)
    return figure


def _title(what: str, reaches: list[Reach]) -> str:
    names = " and ".join(reach.palette.name for reach in reaches)
    tubes = reaches[0].tubes
    return f"{what}: {names}" + (f", at most {tubes} tubes in a mix" if tubes else "")


def _widest(reaches: list[Reach]) -> float:
    top = max(float(np.nanmax(reach.greatest, initial=0.0)) for reach in reaches)
    return float(10 * np.ceil((top + 4) / 10))


def _plane(axes: "Axes", width: float, title: str) -> None:
    axes.axhline(0, color=style.QUIET, linewidth=0.8, zorder=1)
    axes.axvline(0, color=style.QUIET, linewidth=0.8, zorder=1)
    axes.set_xlim(-width, width)
    axes.set_ylim(-width, width)
    axes.set_aspect("equal")
    axes.set_title(title)


def _label(axes: NDArray[np.object_]) -> None:
    for panel in axes[-1]:
        panel.set_xlabel("a*  green to red")
    for row in axes:
        row[0].set_ylabel("b*  blue to yellow")


def _edge(axes: "Axes", reach: Reach, value: float, look: dict[str, Any]) -> None:
    hue, chroma = reach.slice(value)
    turn = np.radians(hue)
    hollow = np.nanmax(np.append(chroma[:, 0], 0)) > 1
    for way in (0, 1) if hollow else (1,):
        axes.plot(chroma[:, way] * np.cos(turn), chroma[:, way] * np.sin(turn), **look, zorder=4)
    if hollow:
        # where the gamut stands away from grey it ends at a hue as well
        there = ~np.isnan(chroma[:, 1])
        ends = np.flatnonzero(there & ~(np.roll(there, 1) & np.roll(there, -1)))
        for i in ends:
            axes.plot(chroma[i] * np.cos(turn[i]), chroma[i] * np.sin(turn[i]), **look, zorder=4)


def _fill(axes: "Axes", reach: Reach, lightness: float, width: float) -> None:
    """Draw patches of the colours that are mixed, as far as sRGB can show them."""
    sides = np.arange(-width, width + 1, _SWATCHES)
    a, b = (g.ravel() for g in np.meshgrid(sides, sides))
    labs = np.stack([np.full(a.size, lightness), a, b], axis=1)
    labs = labs[reach.contains(labs)]
    hexes, shown = style.colours(labs, reach.view)
    for (_, x, y), hex, unclipped in zip(labs, hexes, shown, strict=True):
        _patch(axes, (x, y), hex, unclipped, 9.0)


def _patch(
    axes: "Axes", at: tuple[float, float], hex: str, unclipped: bool, size: float
) -> None:
    """Draw a patch of a colour; one that sRGB cannot show is a cross."""
    if unclipped:
        axes.plot(*at, "s", color=hex, markersize=size, markeredgewidth=0, zorder=2)
    else:
        axes.plot(*at, "x", color=hex, markersize=size - 2, markeredgewidth=2.2, zorder=2)


def pages(reaches: list[Reach]) -> "Figure":
    """Return pages by Munsell hue: value against chroma with the edge of one palette or two."""
    figure, axes = style.figure(2, 5, _title("Reach by Munsell hue", reaches), 3.9, 3.0)
    hues = np.arange(5.0, 100.0, 10.0)
    edges = [r.greatest_munsell(hues[:, None], _PAGE_VALUES[None, :]) for r in reaches]
    widest = 2 * np.ceil((np.nanmax([np.nanmax(e, initial=0) for e in edges]) + 1) / 2)
    for i, panel in enumerate(axes.ravel()):
        if len(reaches) == 1:
            _chips(panel, reaches[0], hues[i], edges[0][i])
        for edge, look in zip(edges, _LOOKS, strict=False):
            _page(panel, edge[i], look)
        panel.set_xlim(0, widest)
        panel.set_ylim(0, 10)
        panel.set_yticks(range(0, 11, 2))
        panel.set_xticks(np.arange(0, widest + 1, 4))
        panel.set_title(f"5{FAMILIES[i]}")
    for panel in axes[-1]:
        panel.set_xlabel("chroma [Munsell]")
    for row in axes:
        row[0].set_ylabel("value [Munsell]")
    _legend(axes[0, 4], reaches, "upper right")
    return figure


def _page(axes: "Axes", edge: Array, look: dict[str, Any]) -> None:
    there = np.flatnonzero(~np.isnan(edge))
    if not len(there):
        axes.annotate("nothing", (0.5, 0.5), xycoords="axes fraction", ha="center")
        return
    axes.plot(edge[there], _PAGE_VALUES[there], **look, zorder=3)


def _chips(axes: "Axes", reach: Reach, hue: float, edge: Array) -> None:
    """Draw the chips of the page that are in reach, in their colours."""
    values = np.arange(2.0, 10.0)
    greatest = np.interp(values, _PAGE_VALUES, np.nan_to_num(edge))
    hvc = np.array([
        (hue, value, chroma)
        for value, top in zip(values, greatest, strict=True)
        for chroma in np.arange(2.0, top + 1e-6, 2.0)
    ]).reshape(-1, 3)  # fmt: skip
    if not len(hvc):
        return
    labs = munsell_to_lab(hvc, reach.view)
    inside = reach.contains(labs)
    hexes, shown = style.colours(labs[inside], reach.view)
    for (_, value, chroma), hex, unclipped in zip(hvc[inside], hexes, shown, strict=True):
        _patch(axes, (chroma, value), hex, unclipped, 8.0)


def _legend(axes: "Axes", reaches: list[Reach], where: str = "upper left") -> None:
    looks = [
        {**look, "label": reach.palette.name}
        for reach, look in zip(reaches, _LOOKS, strict=False)
    ]
    if len(reaches) == 1:
        looks = [
            {"marker": "s", "linestyle": "", "color": style.QUIET, "label": "mixed"},
            {"marker": "x", "linestyle": "", "color": style.QUIET, "markeredgewidth": 2,
             "label": "mixed, beyond sRGB"},
        ]  # fmt: skip
    _key(axes, looks, where)


def _key(axes: "Axes", looks: list[dict[str, Any]], where: Any = "upper left") -> None:
    from matplotlib.lines import Line2D

    handles = [Line2D([], [], **look) for look in looks]
    axes.legend(handles=handles, loc=where, fontsize=8, frameon=True, framealpha=0.9,
                edgecolor="none")  # fmt: skip


def coverage(asked: Coverage) -> "Figure":
    """Return a map of the colours that are asked for: which are within reach, and which are not.

    Colours within the tolerance are discs, colours beyond it hollow squares, each in its own
    colour; a stroke leads from a square toward the nearest mix. Their size tells their weight. The
    edge of the reach is drawn at both ends of each panel's values, as far as 2.4 and 9.
    Colours near to each other share a mark where there are many.
    """
    share = f"{percent(asked.share)} within {asked.tolerance:g} CIEDE2000"
    figure, axes = style.figure(
        2, 3, f"{fill(asked.colours.given, _TITLE)}:\n{share}, {asked.reach.palette.name}", 4.1, 3.9
    )
    does = asked.within_tolerance
    within, beyond = (_marks(asked, rows) for rows in (does, ~does))
    heaviest = max(float(m[2].max(initial=0.0)) for m in (within, beyond)) or 1.0
    widest = max(float(np.hypot(*m[0][:, 1:].T).max(initial=0.0)) for m in (within, beyond))
    width = max(_widest([asked.reach]), 10 * np.ceil((widest + 4) / 10))
    for panel, (low, high) in zip(axes.ravel(), _BANDS, strict=True):
        for level, look in zip((max(low, 2.4), min(high, 9.0)), _ENDS, strict=True):
            if (asked.reach.tubes or 3) > 2:  # fewer make no areas
                _edge(panel, asked.reach, level, look)
        for (labs, mixes, weight), hollow in ((beyond, True), (within, False)):
            value = lab_to_munsell(labs, asked.colours.view)[:, 1]
            rows = np.flatnonzero((value >= low) & (value < high))
            hexes, _ = style.colours(labs[rows], asked.colours.view) if len(rows) else ([], [])
            sizes = np.clip(9 * np.sqrt(weight[rows] / heaviest), 3.0, None)
            for lab, mix, hex, size in zip(labs[rows], mixes[rows], hexes, sizes, strict=True):
                _mark(panel, lab, mix, hex, float(size), hollow)
        _plane(panel, width, f"value {low:g} to {high:g}")
    _label(axes)
    ends = ("the darker end", "the lighter end")
    plain = {"linestyle": "", "color": style.QUIET}
    _key(axes[0, 0], [
        *({**look, "label": f"edge at {end}"} for look, end in zip(_ENDS, ends, strict=True)),
        {"marker": "o", "markeredgewidth": 0, "label": "within", **plain},
        {"marker": "s", "markerfacecolor": "white", "markeredgewidth": 1.4, "label": "beyond",
         **plain},
    ])  # fmt: skip
    return figure


def _marks(asked: Coverage, rows: NDArray[np.bool_]) -> tuple[Array, Array, Array]:
    """Return colours (m, 3), their mixes (m, 3) and weights (m,), near ones together."""
    labs, mixes, weight = asked.colours.lab[rows], asked.lab[rows], asked.colours.weight[rows]
    if len(labs) <= _MOST_MARKS:
        return labs, mixes, weight
    near, total = merged(labs, weight, _SHARED)
    return near, asked.reach.nearest(near)[1], total


def _mark(axes: "Axes", lab: Array, mix: Array, hex: str, size: float, hollow: bool) -> None:
    if hollow:
        axes.plot([lab[1], mix[1]], [lab[2], mix[2]], color=style.FAINT, linewidth=0.8, zorder=1)
    axes.plot(
        lab[1], lab[2], "s" if hollow else "o", markersize=size, zorder=2 if hollow else 3,
        markerfacecolor="white" if hollow else hex,
        # a light colour would be lost on the page
        markeredgecolor=style.QUIET if lab[0] > _LIGHT else hex,
        markeredgewidth=1.2 if hollow else 0.6 if lab[0] > _LIGHT else 0,
    )  # fmt: skip
