"""Pictures of ladders and of the value/chroma report."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.munsell import greatest_chroma, write_munsell
from mixlab.colour.spaces import (
    Viewing,
    lab_to_lch,
    lab_to_munsell,
    lab_to_value,
    munsell_to_lab,
    munsell_to_xyz,
)
from mixlab.mixing.ladders import Ladder, Path
from mixlab.mixing.stages import NAMED, Stage, points, stage
from mixlab.mixing.value_chroma import Report
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.listing import Row, listing
from mixlab.show.plots.spectra import spectra
from mixlab.show.plots.text import fitted
from mixlab.show.why import per_cent
from mixlab.targets.standards import inside_optimal

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


_FINE = np.geomspace(1e-4, 1, 80)
_CLOSE = np.unique(np.concatenate([np.linspace(0, 1, 101), _FINE, 1 - _FINE]))
_LIGHTER = 5.0  # L*
_LIKE_GREY = 8.0  # L* from the grey of the page, within which a grey print needs an edge
_BESIDE = (1.5, 1.0)  # widths of a chart and of the list beside it
_GLYPHS = "\u25cf\u25a0\u25b2\u25c6\u25bc\u271a"  # the marks of lines, as letters
MOST_TOGETHER = 6
"""Ladders on one picture, told apart by their marks."""


@dataclass(frozen=True, eq=False)
class Lane:
    """One of several ladders that are drawn together: its name, its way, and its steps (n, 3)."""

    name: str
    path: Path
    lab: Array


@style.drawn
def ladder(
    made: Ladder, report: Report, title: str = "", *, across: bool = False, form: Form = PRINT
) -> "Figure":
    """Return a ladder: for the screen its steps and one chart, in print the whole report.

    The chart is value against C*, or where it goes `across` to another mix the plane of a* and b*.
    """
    first, other = ("plane", "value") if across else ("value", "plane")
    layout, heights = [[first, "steps"]], [1.0]
    if not form.on_screen:
        layout += [[other, "reflectance"], [other, "K/S"]]
        heights = [1, 0.7, 0.7]
    figure, axes = style.figure(title=title, layout=layout, heights=heights, form=form,
                                widths=_BESIDE)  # fmt: skip
    if "value" in axes:
        value_chroma(axes["value"], made, report)
    if "plane" in axes:
        plane(axes["plane"], made, across)
    if not form.on_screen:
        reflectance(axes["reflectance"], made)
        k_over_s(axes["K/S"], made)
    _steps(axes["steps"], made, form)
    return figure


@style.drawn
def curves(made: Ladder, title: str = "", *, form: Form = PRINT) -> "Figure":
    """Return the reflectance of the steps of a ladder, beside their swatches; in print K/S too."""
    form = form.wide
    panels = ["reflectance"] if form.on_screen else ["reflectance", "K/S"]
    figure, axes = style.figure(title=title, layout=[[panel, "steps"] for panel in panels],
                                form=form, widths=_BESIDE)  # fmt: skip
    reflectance(axes["reflectance"], made)
    if not form.on_screen:
        k_over_s(axes["K/S"], made)
    _steps(axes["steps"], made, form)
    return figure


def _steps(axes: "Axes", made: Ladder, form: Form) -> None:
    """List the steps, the lighter end above: parts, and Munsell notation."""
    view = made.path.start.view
    rows = [
        Row(str(i), lab, words=f"{step.start}:{step.toward},  {colour}")
        for i, (lab, step, colour) in enumerate(
            zip(made.lab, made.whole, style.munsell(made.lab, view), strict=True), start=1
        )
    ]  # fmt: skip
    if made.lab[-1, 0] > made.lab[0, 0] + _LIGHTER:
        rows.reverse()
    listing(axes, rows, view, form, touching=True)


def value_chroma(axes: "Axes", made: Ladder, report: Report) -> None:
    """Draw value against chroma: the path bends out where chroma rises, and back.

    Chroma is that of CIELAB, which goes to nought at white; Munsell's does not above value 9.5,
    where the renotation ends.
    """
    view = made.path.start.view
    labs = made.path.lab(_CLOSE)
    way = np.stack([lab_to_lch(labs)[:, 1], lab_to_value(labs, view)], axis=-1)
    axes.plot(*way.T, color=style.QUIET, zorder=1)
    places = np.stack([made.lch[:, 1], lab_to_value(made.lab, view)], axis=-1)
    for i, lab in enumerate(made.lab):
        style.dots(axes, lab, view, places[i : i + 1], [str(i + 1)], aside(places, i, way))
    peak, toward = report.peak, made.path.toward.paints
    if 0 < peak.share < 1:
        right = peak.chroma < 0.5 * made.lch[:, 1].max()
        axes.annotate(
            f"peak: C* {peak.chroma:.0f}, {per_cent(peak.share)} "
            + ("white" if len(toward) == 1 and toward[0].is_white else "added"),
            (peak.chroma, peak.value), (2.5 if right else -2.5, 0), textcoords="offset fontsize",
            ha="left" if right else "right", va="center", fontsize="small",
            arrowprops={"arrowstyle": "-", "color": style.INK},
        )  # fmt: skip
    _value_axis(axes)
    axes.set(xlabel="chroma, C*", xlim=(0, max(1.12 * made.lch[:, 1].max(), 5)))


def _value_axis(axes: "Axes") -> None:
    from matplotlib import rcParams

    axes.set(ylim=(0, 10), yticks=range(0, 11, 2), ylabel="Munsell value")
    axes.tick_params(axis="y", pad=0.6 * rcParams["font.size"])  # clear of a mark on the axis


def aside(places: Array, at: int, line: Array | None = None) -> Array:
    """Return where the number of a step stands, beside its mark [letters], clear of other marks.

    places : (n, 2), chroma and value; to the right unless another mark is near there
    line : (m, 2), the way that the number does not lie on either
    """
    ways = np.array([(1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (-1.0, 0.0)])
    size = max(places[:, 0].max(), 1.0), 10.0
    there = places[at] / size + 0.05 * ways
    room = _from(there, np.delete(places, at, axis=0) / size)
    if line is not None:
        room = np.minimum(room, _from(there, line / size) + 0.025)
        room[(there[:, 0] < 0) | (there[:, 1] > 1)] = 0.0  # beyond the axes
    way = ways[0] if room[0] > 0.05 else ways[room.argmax()]
    return np.asarray(way * (1.1, 1.5))


def _from(places: Array, others: Array) -> Array:
    """Return how far each of places (n, 2) lies from the nearest of others (m, 2)."""
    return np.asarray(np.linalg.norm(places[:, None] - others, axis=-1).min(axis=1))


def plane(axes: "Axes", made: Ladder, across: bool = True) -> None:
    """Draw the way on the plane of a* and b*, where neutral is the middle.

    Unless it goes `across`, with the line of the first hue that is worth a name, from which hue
    drifts.
    """
    view, labs = made.path.start.view, made.path.lab(_CLOSE)
    axes.axhline(0, color=style.FAINT, zorder=0)
    axes.axvline(0, color=style.FAINT, zorder=0)
    named = np.flatnonzero(np.hypot(*labs[:, 1:].T) >= NAMED)
    if not across and len(named):
        first = labs[named[0], 1:]
        ray = first / np.hypot(*first) * 1.1 * np.hypot(*labs[:, 1:].T).max()
        axes.plot([0, ray[0]], [0, ray[1]], "--", color=style.QUIET, label="no drift of hue",
                  linewidth=1.2)  # fmt: skip
        axes.legend(loc="best")
    axes.plot(labs[:, 1], labs[:, 2], color=style.QUIET, zorder=1)
    places = made.lab[:, 1:]
    for i, lab in enumerate(made.lab):
        style.dots(axes, lab, view, places[i : i + 1], [str(i + 1)], aside(np.abs(places), i))
    style.neutral(axes, aside=(-0.9, 0.0) if across else (0.0, 1.3))
    axes.margins(0.12)
    axes.set_aspect("equal", adjustable="datalim")
    axes.set(xlabel="a*, green to red", ylabel="b*, blue to yellow")


def reflectance(axes: "Axes", made: Ladder) -> None:
    """Draw the reflectance of the steps, and on each where it is greatest and least."""
    curves = 100 * made.path.reflectance(made.shares)
    top = next(top for top in (25, 50, 100) if curves.max() < top or top == 100)
    axes.set(ylabel="reflectance [%]", ylim=(0, top))
    spectra(axes, curves, made.lab, made.path.start.view, _numbers(made))
    for point in points(made.path, made.shares):
        _extremes(axes, stage(made.path, point))
    axes.set_title("\N{BLACK UP-POINTING TRIANGLE} maximum  \N{BLACK DOWN-POINTING TRIANGLE} "
                   "minimum of what is seen", weight="normal", fontsize="small")  # fmt: skip


def _extremes(axes: "Axes", at: Stage) -> None:
    """Mark the maxima and minima of a curve."""
    for marker, found in (("^", at.maxima), ("v", at.minima)):
        for one in found:
            axes.plot(one.nm, 100 * one.height, marker, color=style.INK, markeredgecolor="white",
                      zorder=4, clip_on=False)  # fmt: skip


def k_over_s(axes: "Axes", made: Ladder) -> None:
    """Draw K/S of the steps; below 1 the mix scatters more than it absorbs."""
    k, s = made.path.curves(made.shares)
    with np.errstate(divide="ignore"):  # a paint may scatter nothing at all
        ratio = np.clip(k / s, 1e-4, 1e4)
    axes.set_yscale("log")
    axes.set(ylim=(0.7 * ratio.min(), 1.5 * ratio.max()))
    spectra(axes, ratio, made.lab, made.path.start.view, _numbers(made))
    axes.axhline(1, color=style.INK, linewidth=1, linestyle="--", zorder=0)
    axes.set_ylabel("absorption / scattering, K/S")
    decades = [one for one in (1e-4, 0.001, 0.01, 0.1, 1, 10, 100, 1000, 1e4)
               if 0.7 * ratio.min() <= one <= 1.5 * ratio.max()]  # fmt: skip
    axes.set_yticks(decades, ["K = S" if one == 1 else f"{one:g}" for one in decades])
    axes.minorticks_off()


def _numbers(made: Ladder) -> list[str]:
    count = len(made.shares)
    return [str(i + 1) if i % (1 + count // 20) == 0 else "" for i in range(count)]


# --- several --------------------------------------------------------------------------------------


@style.drawn
def together(lanes: Sequence[Lane], title: str = "", *, form: Form = PRINT) -> "Figure":
    """Return several ladders: a row of swatches for each, and value against C* for all."""
    form, view = form.wide, lanes[0].path.start.view
    figure, axes = style.figure(title=title, layout=[["value", str(i)] for i in range(len(lanes))],
                                form=form, widths=(1.5, 1.0))  # fmt: skip
    panel = axes["value"]
    for i, (lane, look) in enumerate(zip(lanes, style.lines(), strict=False)):
        values = lab_to_value(lane.lab, view)
        row = axes[str(i)]
        style.swatches(row, lane.lab, view, [f"{value:.1f}" for value in values])
        room = 72 * form.size[0] * 0.36
        words, size = fitted(f"{_GLYPHS[i]} {lane.name}", room, [form.letters, form.least], 1, True)
        row.set_title(words, fontsize=size)
        labs = lane.path.lab(_CLOSE)
        panel.plot(lab_to_lch(labs)[:, 1], lab_to_value(labs, view), **look | {"marker": ""},
                   zorder=1)  # fmt: skip
        places = np.stack([lab_to_lch(lane.lab)[:, 1], values], axis=-1)
        style.dots(panel, lane.lab, view, places, [""] * len(values), marker=look["marker"])
    widest = max(lab_to_lch(lane.path.lab(_CLOSE))[:, 1].max() for lane in lanes)
    _value_axis(panel)
    panel.set(xlabel="chroma, C*", xlim=(0, 1.08 * widest))
    axes[str(len(lanes) - 1)].set_xlabel("Munsell value")
    return figure


# --- on the Munsell page --------------------------------------------------------------------------


@style.drawn
def munsell_page(made: Ladder, title: str = "", *, form: Form = PRINT) -> "Figure":
    """Return a ladder on the page of its hue: value against chroma, neutrals, chips, the steps.

    The page is that of the step of highest chroma. Where the way goes over to the opposite hue its
    page lies to the left.
    """
    view, form = made.path.start.view, form.wide
    hvc = lab_to_munsell(made.path.lab(_CLOSE), view)
    hvc = hvc[hvc[:, 1] <= 9.5]  # above it the renotation is neutral
    hue = _page(hvc)
    steps, way = (np.stack([_signed(one, hue), one[:, 1]], axis=-1) for one in (made.munsell, hvc))
    far = hvc[way[:, 0] < -1]
    opposite = _page(far) if len(far) else None
    most = 2 * np.ceil(way[:, 0].max() / 2) + 2
    least = 0.0 if opposite is None else 2 * np.floor(way[:, 0].min() / 2) - 2
    figure, axes = style.figure(title=title, layout=[["page", "steps"]], form=form, widths=_BESIDE)
    panel = axes["page"]
    _chips(panel, {hue: most} | ({} if opposite is None else {opposite: least}), view)
    panel.plot(*way.T, color="white", linewidth=0.4 * form.letters, zorder=1.8)
    panel.plot(*way.T, color=style.INK, zorder=2)
    style.dots(panel, made.lab, view, steps, [""] * len(steps))
    for i, place in enumerate(steps):
        panel.annotate(
            str(i + 1), place, 1.3 * aside(np.abs(steps), i), textcoords="offset fontsize",
            va="center", ha="center", fontsize="small", zorder=4,
            bbox={"boxstyle": "round,pad=0.1", "facecolor": "white", "edgecolor": "none"},
        )  # fmt: skip
    _value_axis(panel)
    panel.grid(False)
    panel.set_xlim(least - 1, most + 1)
    ticks = np.arange(least, most + 1, 2 if most - least < 24 else 4)
    panel.set_xticks(ticks, [f"{abs(tick):g}" for tick in ticks])
    panel.set_xlabel(f"Munsell chroma, hue {_named(hue)}" if opposite is None else
                     f"Munsell chroma: {_named(opposite)} to the left, {_named(hue)} to the right")
    _steps(axes["steps"], made, form)
    return figure


def _page(hvc: Array) -> float:
    """Return the hue of the page on which the colour of highest chroma of some (n, 3) lies."""
    return float(np.round(hvc[hvc[:, 2].argmax(), 0] / 2.5) * 2.5) % 100


def _named(hue: float) -> str:
    return write_munsell([hue, 5.0, 5.0]).split()[0]


def _signed(hvc: Array, hue: float) -> Array:
    """Return chroma, negative where the hue is nearer to the opposite one."""
    away = np.abs((hvc[:, 0] - hue + 50) % 100 - 50)
    return np.where(away > 25, -hvc[:, 2], hvc[:, 2])


def _chips(axes: "Axes", pages: Mapping[float, float], view: Viewing) -> None:
    """Draw the chips that a surface can have of pages, hue to widest chroma, and the neutrals.

    Of a page to the left the chroma is negative.
    """
    from matplotlib.patches import Rectangle

    axes.set_facecolor(style.SURROUND)
    values = np.arange(1.0, 10.0)
    places = [(0.0, value, 0.0, 1.0) for value in values]
    for hue, widest in pages.items():
        places += [(hue, value, chroma, np.sign(widest)) for value in values
                   for chroma in np.arange(2.0, abs(widest) + 1, 2.0)]  # fmt: skip
    chips = np.array(places)
    hvc = chips[:, :3]
    there = (hvc[:, 2] <= greatest_chroma(hvc[:, 0], hvc[:, 1]) + 1e-6) & inside_optimal(
        munsell_to_xyz(hvc, view), view)  # fmt: skip
    for (_, value, chroma, side), lab in zip(
        chips[there], munsell_to_lab(hvc[there], view), strict=True
    ):
        (hex,), _ = style.colours(lab, view)
        seen = style.edge(lab, view)
        if abs(lab[0] - 50) < _LIKE_GREY:
            seen["edgecolor"] = "white"
        axes.add_patch(Rectangle((side * chroma - 0.62, value - 0.34), 1.24, 0.68, facecolor=hex,
                                 zorder=1, **seen))  # fmt: skip


# --- the reason -----------------------------------------------------------------------------------


@style.drawn
def reason(report: Report, title: str = "", *, form: Form | None = None) -> "Figure":
    """Return the reason as a picture: the reflectance maximum and minimum at each stage."""
    stages = report.stages
    figure, axes = style.figure(1, len(stages), title, width=4.2, form=form)
    for panel, at in zip(axes[0], stages, strict=True):
        _reason(panel, at, report.path.start.view)
    axes[0, 0].set_ylabel("reflectance [%]")
    return figure


def _reason(axes: "Axes", at: Stage, view: Viewing) -> None:
    highest, lowest = 100 * at.maximum.height, 100 * at.minimum.height
    axes.set(ylim=(0, 100))
    spectra(axes, [100 * at.reflectance], at.point.lab, view, [""])
    _extremes(axes, at)
    axes.axhspan(0, lowest, facecolor=style.FAINT, zorder=0)
    axes.annotate("", (395, highest), (395, lowest), arrowprops={"arrowstyle": "<->"})
    for name, one, aside in (("maximum", at.maximum, "bottom"),
                             ("minimum", at.minimum, "top" if lowest > 12 else "bottom")):
        axes.annotate(f"{name} {100 * one.height:.0f} %, at {one.nm:.0f} nm",
                      (402, 100 * one.height), va=aside, fontsize="small")  # fmt: skip
    share = at.point.share
    what = "by itself" if share == 0 else f"with {per_cent(share)} added"
    axes.set_title(f"{what}: C* {at.point.chroma:.0f}, value {at.point.value:.1f}",
                   fontsize="small")  # fmt: skip
