"""Pictures of what a palette mixes, and of what is asked of it."""


from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, percent
from mixlab.colour.boxes import merged
from mixlab.colour.munsell import FAMILIES, write_munsell
from mixlab.colour.spaces import lab_to_munsell, munsell_to_lab
from mixlab.nearest.many import INSIDE
from mixlab.palette.coverage import Coverage
from mixlab.palette.reach import Reach
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row, listing, short_name

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


VALUES = (2.5, 4.0, 5.0, 6.0, 7.0, 8.5)
"""Munsell values of the slices."""

_ON_SCREEN = (2.5, 5.0, 7.0)
_PAGE_VALUES = np.arange(2.0, 9.01, 0.25)  # above 9 the renotation shrinks to white
_LOOKS: tuple[dict[str, Any], ...] = (
    {"color": style.INK, "linestyle": "-"},
    {"color": "#b4531f", "linestyle": "--"},
)
_SQUARE = 10.0  # CIELAB from square to square inside a slice
_NEUTRAL = -0.75  # where the outline of a page is closed, so that chips of neutrals lie inside
_ABOVE = np.array([8.0, 20.0])  # room for the name of a tube
_MOST_MARKS = 800
_SHARED = 3.0
_LISTED = {"screen": 7, "print": 12}
_LIGHT = 85.0  # L*


# --- slices by value ------------------------------------------------------------------------------


@style.drawn
def slices(reaches: list[Reach], *, form: Form = PRINT) -> "Figure":
    """Return slices by value: the plane of a* and b* with the edge of one palette or two."""
    values = _ON_SCREEN if form.on_screen else VALUES
    figure, panels, foot = _panels(len(values), 3 if form.on_screen else 2,
                                   _title("by value", reaches), form)  # fmt: skip
    marks = _tubes(reaches) if len(reaches) == 1 else []
    view = reaches[0].view
    ends = [np.zeros((1, 2)), *(lab[None, 1:] for _, lab, _ in marks)]
    for panel, value in zip(panels, values, strict=True):
        lightness = float(munsell_to_lab([0.0, value, 0.0], view)[0])
        loops = [_loops(reach, value) for reach in reaches]
        if len(reaches) == 1:
            _fill(panel, reaches[0], lightness, loops[0])
        for some, look in zip(loops, _LOOKS, strict=False):
            for loop in some:
                panel.plot(*loop.T, **look, marker="", zorder=4)
            ends += some
        for name, lab, hvc in marks:
            if min(values, key=lambda one: abs(one - hvc[1])) == value:
                _tube(panel, name, (lab[1], lab[2]))
        style.neutral(panel, "")
        panel.set_title(f"value {value:g}")
    every = np.vstack(ends)
    for panel in panels:
        _plane(panel, every.min(axis=0) - 8, every.max(axis=0) + _ABOVE)
    _key(foot, reaches)
    return figure


def _panels(count: int, columns: int, title: str, form: Form) -> tuple["Figure", list[Any], Any]:
    """Return a figure with so many panels, and the axes of the key at its foot."""
    rows = [[str(i * columns + j) for j in range(columns)] for i in range(count // columns)]
    figure, axes = style.figure(
        title=title, layout=[*rows, ["key"] * columns], form=form,
        heights=[*[1.0] * len(rows), (0.14 if form.on_screen else 0.2) * len(rows) / 2],
    )  # fmt: skip
    return figure, [axes[str(i)] for i in range(count)], axes["key"]


def _title(what: str, reaches: list[Reach]) -> str:
    names = " and ".join(reach.palette.name for reach in reaches)
    tubes = reaches[0].tubes
    return f"What {names} can mix, {what}" + (f"; at most {tubes} tubes in a mix" if tubes else "")


def _tubes(reaches: list[Reach]) -> list[tuple[str, Array, Array]]:
    """Return a short name, CIELAB and Munsell of each tube."""
    found = []
    for reach in reaches:
        for paint in reach.palette.paints:
            lab = reach.palette.mix({paint.id: 1.0}, reach.view).lab
            found.append((short_name(paint), lab, lab_to_munsell(lab, reach.view)))
    return found


def _tube(axes: "Axes", name: str, place: tuple[float, float]) -> None:
    from matplotlib import rcParams

    size = rcParams["font.size"]
    axes.plot(*place, "D", color="white", markeredgecolor=style.INK, markersize=0.6 * size,
              markeredgewidth=0.1 * size, zorder=6)  # fmt: skip
    axes.annotate(name, place, (0, 0.75), textcoords="offset fontsize", ha="center", zorder=7,
                  fontsize="small", bbox={"boxstyle": "round,pad=0.05", "facecolor": "white",
                                          "alpha": 0.8, "edgecolor": "none"})  # fmt: skip


def _plane(axes: "Axes", low: Array, high: Array) -> None:
    """Set the ends (2,) of a plane of a* and b*."""
    axes.axhline(0, color=style.FAINT, zorder=0)
    axes.axvline(0, color=style.FAINT, zorder=0)
    axes.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]), aspect="equal",
             xlabel="a*, green to red", ylabel="b*, blue to yellow")  # fmt: skip
    step = 50 if np.max(high - low) > 120 else 25
    for ends, name in ((axes.get_xlim(), "xticks"), (axes.get_ylim(), "yticks")):
        axes.set(**{name: np.arange(step * np.ceil(ends[0] / step), ends[1] + 1, step)})


def _loops(reach: Reach, value: float) -> list[Array]:
    """Return the closed outlines (m, 2) of a slice: a* and b*."""
    hue, chroma = (one[:-1] for one in reach.slice(value))  # the last is the first again
    turn = np.radians(hue)
    inner, outer = (
        chroma[:, way, None] * np.stack([np.cos(turn), np.sin(turn)], axis=-1) for way in (0, 1)
    )
    there = ~np.isnan(chroma[:, 1])
    if there.all():
        loops = [outer, *([inner] if chroma[:, 0].max() > 1 else [])]
    else:
        gap = int(np.flatnonzero(~there)[0])
        order = np.roll(np.arange(len(hue)), -gap)
        runs = np.split(order, np.flatnonzero(np.diff(there[order])) + 1)
        loops = [np.vstack([outer[run], inner[run][::-1]]) for run in runs if there[run[0]]]
    return [np.vstack([loop, loop[:1]]) for loop in loops]


def _fill(axes: "Axes", reach: Reach, lightness: float, loops: list[Array]) -> None:
    """Draw squares of the colours that are mixed, those that lie whole inside the outline."""
    from matplotlib.path import Path

    width = 10 * np.ceil(max(float(np.abs(loop).max()) for loop in loops) / 10) if loops else 0.0
    sides = np.arange(-width + _SQUARE / 2, width, _SQUARE)
    a, b = (g.ravel() for g in np.meshgrid(sides, sides))
    half = 0.42 * _SQUARE
    corners = np.array([(x, y) for x in (-half, half) for y in (-half, half)])
    inside = np.zeros(len(a), dtype=bool)
    for loop in loops:  # a hole inside an outline turns it over
        found = Path(loop).contains_points((np.stack([a, b], -1)[:, None] + corners).reshape(-1, 2))
        inside ^= found.reshape(-1, 4).all(axis=1)
    labs = np.stack([np.full(a.size, lightness), a, b], axis=1)[inside]
    if len(labs):
        for lab in labs[reach.contains(labs)]:
            style.patch(axes, (lab[1] - half, lab[2] - half), (2 * half, 2 * half), lab, reach.view)


def _key(axes: "Axes", reaches: list[Reach]) -> None:
    """Say what the marks mean."""
    looks: list[dict[str, Any]] = [
        {**look, "label": reach.palette.name} for reach, look in
        zip(reaches, _LOOKS, strict=False)
    ]  # fmt: skip
    plain = {"linestyle": "", "color": style.INK}
    if len(reaches) == 1:
        looks = [
            {"marker": "s", "label": f"mixed, to {INSIDE:g} CIEDE2000", **plain,
             "color": "#8a6a00"},
            {**_LOOKS[0], "label": "edge"},
            {"marker": "D", "markerfacecolor": "white", "label": "tube", **plain},
        ]  # fmt: skip
    looks.append({"marker": "+", "label": "neutral", **plain})
    style.key(axes, looks, 4)


# --- pages by hue ---------------------------------------------------------------------------------


@style.drawn
def pages(reaches: list[Reach], *, form: Form = PRINT) -> "Figure":
    """Return pages by Munsell hue: value against chroma with the edge of one palette or two."""
    figure, panels, foot = _panels(10, 5 if form.on_screen else 2,
                                   _title("by Munsell hue", reaches), form)  # fmt: skip
    hues = np.arange(5.0, 100.0, 10.0)
    edges = [r.greatest_munsell(hues[:, None], _PAGE_VALUES[None, :]) for r in reaches]
    widest = 2 * np.ceil((np.nanmax([np.nanmax(e, initial=0) for e in edges]) + 1) / 2)
    tubes = _tubes(reaches) if len(reaches) == 1 else []
    for i, panel in enumerate(panels):
        if len(reaches) == 1:
            _chips(panel, reaches[0], hues[i], edges[0][i])
        for edge, look in zip(edges, _LOOKS, strict=False):
            _page(panel, edge[i], look)
        for name, _, hvc in tubes:
            if abs((hvc[0] - hues[i] + 50) % 100 - 50) <= 5 and hvc[2] >= 1:
                _tube(panel, name, (hvc[2], hvc[1]))
        panel.set(xlim=(-1.2, widest), ylim=(0, 10), yticks=range(0, 11, 2),
                  xticks=np.arange(0, widest + 1, 8 if form.on_screen else 4))  # fmt: skip
        panel.set_title(f"5{FAMILIES[i]}")
        panel.grid(False)
    across = 5 if form.on_screen else 2
    for panel in panels[-across:]:
        panel.set_xlabel("chroma")
    for panel in panels[::across]:
        panel.set_ylabel("value")
    _key(foot, reaches)
    return figure


def _page(axes: "Axes", edge: Array, look: dict[str, Any]) -> None:
    """Draw the outline of a page, closed to the left of the neutrals."""
    there = np.flatnonzero(~np.isnan(edge))
    if not len(there):
        axes.annotate("nothing", (0.5, 0.5), xycoords="axes fraction", ha="center")
        return
    for run in np.split(there, np.flatnonzero(np.diff(there) > 1) + 1):
        chroma = np.concatenate([[_NEUTRAL], edge[run], [_NEUTRAL, _NEUTRAL]])
        value = _PAGE_VALUES[[run[0], *run, run[-1], run[0]]]
        axes.plot(chroma, value, **look, marker="", zorder=3)


def _chips(axes: "Axes", reach: Reach, hue: float, edge: Array) -> None:
    """Draw the chips of the page, and neutrals, that lie whole within the outline."""
    high, wide = 0.3, 0.6  # half of a chip
    ends = np.array([[value - high, value, value + high] for value in np.arange(3.0, 9.0)])
    least = np.interp(ends, _PAGE_VALUES, np.nan_to_num(edge)).min(axis=1)
    hvc = np.array([
        (hue, value, chroma) for value, top in zip(ends[:, 1], least, strict=True)
        for chroma in np.arange(0.0, top - wide + 1e-6, 2.0)
    ]).reshape(-1, 3)  # fmt: skip
    if not len(hvc):
        return
    labs = munsell_to_lab(hvc, reach.view)
    inside = reach.contains(labs)
    for (_, value, chroma), lab in zip(hvc[inside], labs[inside], strict=True):
        style.patch(axes, (chroma - wide, value - high), (2 * wide, 2 * high), lab, reach.view)


# --- what is asked --------------------------------------------------------------------------------


@style.drawn
def coverage(asked: Coverage, *, form: Form = PRINT) -> "Figure":
    """Return a map of the colours that are asked for, and a list of those that are farthest beyond.

    On the plane of a* and b* those within the tolerance are discs, those beyond it hollow squares,
    each in its own colour; a stroke leads from a square to the nearest mix. Their size tells their
    weight. Colours near to each other share a mark where there are many. The list has the wanted
    colour beside the nearest mix.
    """
    does, view, most = asked.within_tolerance, asked.colours.view, _LISTED[form.name]
    figure, axes = style.figure(
        title=f"{asked.colours.given}: {percent(asked.share)} within {asked.tolerance:g} CIEDE2000 "
        f"of what {asked.reach.palette.name} mixes", form=form,
        layout=[["map", "list"]] if form.on_screen else [["map"], ["list"]],
        widths=(1.0, 1.7) if form.on_screen else None, heights=() if form.on_screen else (1, 1.1),
    )  # fmt: skip
    panel = axes["map"]
    within, beyond = (_marks(asked, rows) for rows in (does, ~does))
    heaviest = max(float(m[2].max(initial=0.0)) for m in (within, beyond)) or 1.0
    widest = max(float(np.abs(m[0][:, 1:]).max(initial=0.0)) for m in (within, beyond))
    for (labs, mixes, weight), hollow in ((beyond, True), (within, False)):
        hexes = style.colours(labs, view)[0] if len(labs) else []
        sizes = np.clip(1.1 * form.letters * np.sqrt(weight / heaviest), 0.4 * form.letters, None)
        for lab, mix, hex, size in zip(labs, mixes, hexes, sizes, strict=True):
            _mark(panel, lab, mix, hex, float(size), hollow)
    listed = asked.worst(most)
    rest = [int(i) for i in np.argsort(-asked.colours.weight, kind="stable") if i not in listed]
    listed += rest[: most - len(listed)]
    rows = []
    for number, i in enumerate(listed, start=1):
        lab = asked.colours.lab[i]
        panel.annotate(str(number), (lab[1], lab[2]), (0.7, 0.7), textcoords="offset fontsize",
                       fontsize="small", ha="center", zorder=6)  # fmt: skip
        colour = write_munsell(lab_to_munsell(lab, view))
        name = asked.colours.names[i] if asked.colours.names else colour
        words = ", ".join(asked.directions(i)) if not does[i] else "within"
        rows.append(Row(str(number), [lab, asked.lab[i]], name,
                        f"miss {asked.miss[i]:.1f}, {words}"))  # fmt: skip
    style.neutral(panel)
    ends = np.array([widest, widest]) + _ABOVE[1]
    _plane(panel, -ends, ends)
    panel.set_title("\N{BLACK CIRCLE} within   \N{WHITE SQUARE} beyond",
                    fontsize="small", weight="normal")  # fmt: skip
    axes["list"].set_title("wanted beside the nearest mix", fontsize="small", weight="normal")
    listing(axes["list"], rows, view, form)
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
        axes.plot([lab[1], mix[1]], [lab[2], mix[2]], color=style.QUIET, linewidth=0.1 * size,
                  marker="", zorder=1)  # fmt: skip
    # a light colour would be lost on the page
    dark = style.INK if lab[0] > _LIGHT else hex
    axes.plot(
        lab[1], lab[2], "s" if hollow else "o", markersize=size, zorder=2 if hollow else 3,
        markerfacecolor="white" if hollow else hex, markeredgecolor=dark,
        markeredgewidth=0.2 * size if hollow else 0.06 * size,
    )  # fmt: skip
