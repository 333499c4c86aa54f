"""Pictures of ladders and of the value/chroma report."""

from typing import TYPE_CHECKING

import numpy as np

from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, lab_to_value
from mixlab.mixing.ladders import Ladder, drift
from mixlab.mixing.stages import NAMED, Stage
from mixlab.mixing.value_chroma import Report
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


_FINE = np.geomspace(1e-4, 1, 80)
_CLOSE = np.unique(np.concatenate([np.linspace(0, 1, 101), _FINE, 1 - _FINE]))


def ladder(made: Ladder, report: Report, title: str) -> "Figure":
    """Return the whole report as a page: swatches, value against chroma, curves, hue."""
    layout = [["steps"] * 2, ["value", "hue"], ["reflectance", "K/S"]]
    figure, axes = style.figure(title=title, layout=layout, heights=[0.55, 1, 1])
    whole = [f"{i}\n{step.start}:{step.toward}" for i, step in enumerate(made.whole, start=1)]
    style.swatches(axes["steps"], made.lab, made.path.start.view, whole,
                   "Steps, and their whole parts")  # fmt: skip
    value_chroma(axes["value"], made, report)
    hue(axes["hue"], made)
    reflectance(axes["reflectance"], made, report)
    k_over_s(axes["K/S"], made)
    figure.set_layout_engine("constrained", h_pad=0.08, w_pad=0.08)
    return figure


def value_chroma(axes: "Axes", made: Ladder, report: Report) -> None:
    """Draw value against chroma: the path bends out where chroma rises, and back.

    Chroma is that of CIELAB, which goes to nought at white; Munsell's does not above value 9.5,
    where the renotation ends.
    """
    view = made.path.start.view
    labs = made.path.lab(_CLOSE)
    axes.plot(lab_to_lch(labs)[:, 1], lab_to_value(labs, view), color=style.QUIET, linewidth=1.5,
              zorder=1)  # fmt: skip
    places = np.stack([made.lch[:, 1], lab_to_value(made.lab, view)], axis=-1)
    for i, lab in enumerate(made.lab):
        style.dots(axes, lab, view, places[i : i + 1], [str(i + 1)], _aside(places, i))
    if 0 < report.peak.share < 1:
        axes.annotate(
            f"peak, {100 * report.peak.share:.3g} %", (report.peak.chroma, report.peak.value),
            (-40, 0), textcoords="offset points", ha="right", va="center", fontsize=10,
            arrowprops={"arrowstyle": "-", "color": style.INK},
        )  # fmt: skip
    axes.margins(x=0.12)
    axes.set(xlabel="C* [CIELAB]", ylabel="value [Munsell]", title="Value against C*",
             xlim=(0, None), ylim=(0, 10))  # fmt: skip


def _aside(places: np.ndarray, at: int) -> tuple[float, float]:
    """Return where the number of a step stands, beside its mark [points], clear of other marks.

    places : (n, 2), chroma and value; to the right unless another mark is near there
    """
    ways = np.array([(1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (-1.0, 0.0)])
    scaled = places / (max(places[:, 0].max(), 1.0), 10.0)
    others = np.delete(scaled, at, axis=0)
    room = np.linalg.norm((scaled[at] + 0.05 * ways)[:, None] - others, axis=-1).min(axis=1)
    way = ways[0] if room[0] > 0.05 else ways[room.argmax()]
    return 12 * float(way[0]), 12 * float(way[1])


def hue(axes: "Axes", made: Ladder) -> None:
    """Draw how far the hue drifts and how C* goes, along the share."""
    labs = made.path.lab(_CLOSE)
    chroma = lab_to_lch(labs)[:, 1]
    turned = np.where(chroma >= NAMED, drift(labs[0], labs), np.nan)
    first, second, *_ = (look for look, _ in zip(style.lines(), range(2), strict=False))
    for look in (first, second):
        look["marker"] = ""
    axes.plot(100 * _CLOSE, turned, **first)
    axes.axhline(0, color=style.QUIET, linewidth=1)
    axes.set(xlabel="share of what is added [%]", ylabel="hue drift, CIELCh [degrees]",
             title="Hue drift (solid), C* (dashed, right)")  # fmt: skip
    right = axes.twinx()
    right.plot(100 * _CLOSE, chroma, **second)
    right.set(ylabel="C*", ylim=(0, None))
    right.grid(False)
    right.spines["right"].set_visible(True)
    right.spines["top"].set_visible(False)
    low, high = axes.get_ylim()
    if high - low < 10:
        axes.set_ylim((low + high) / 2 - 5, (low + high) / 2 + 5)


def reflectance(axes: "Axes", made: Ladder, report: Report) -> None:
    """Draw the reflectance of the steps; marks follow the maximum and the minimum as they move."""
    curves = 100 * made.path.reflectance(made.shares)
    _curves(axes, curves)
    top = next(top for top in (25, 50, 100) if curves.max() < top or top == 100)
    for marker, name in (("^", "maxima"), ("v", "minima")):
        found = [one for at in report.stages for one in getattr(at, name)]
        axes.plot([one.nm for one in found], [100 * one.height for one in found], marker,
                  color=style.INK, markersize=5, clip_on=False, label=name)  # fmt: skip
    axes.legend(loc="upper left", fontsize=8, title="by itself, at the peak, half gone",
                title_fontsize=8)  # fmt: skip
    axes.set(ylabel="reflectance [%]", ylim=(0, top))
    axes.set_title("Reflectance")


def k_over_s(axes: "Axes", made: Ladder) -> None:
    """Draw K/S of the steps; below 1 the mix scatters more than it absorbs."""
    k, s = made.path.curves(made.shares)
    _curves(axes, k / s)
    axes.set_yscale("log")
    axes.axhline(1, color=style.INK, linewidth=1, linestyle="--")
    axes.annotate("K = S", (1.01, 1), xycoords=("axes fraction", "data"), va="center", fontsize=9)
    axes.set_ylabel("absorption / scattering, K/S [-]")
    axes.set_title("K/S")


def _curves(axes: "Axes", curves: np.ndarray) -> None:
    """Draw curves from dark ink to pale, each with the number of its step at its end."""
    for i, curve in enumerate(curves):
        tone = 0.72 * i / max(len(curves) - 1, 1)
        dashes = "-" if i % 2 == 0 else "--"
        axes.plot(WAVELENGTHS, curve, color=str(tone), linestyle=dashes, linewidth=1.8)
        if i % 2 == 0 or len(curves) <= 5:
            axes.annotate(str(i + 1), (WAVELENGTHS[-1], curve[-1]), (3, 0),
                          textcoords="offset points", va="center", fontsize=8)  # fmt: skip
    axes.set_xlim(380, 745)
    axes.set_xlabel("wavelength [nm]")


def reason(report: Report, title: str = "") -> "Figure":
    """Return the reason as a picture: the reflectance maximum and minimum at each stage."""
    stages = report.stages
    figure, axes = style.figure(1, len(stages), title, width=4.2)
    for panel, at in zip(axes[0], stages, strict=True):
        _extremes(panel, at)
    axes[0, 0].set_ylabel("reflectance [%]")
    return figure


def _extremes(axes: "Axes", at: Stage) -> None:
    highest, lowest = 100 * at.maximum.height, 100 * at.minimum.height
    axes.plot(WAVELENGTHS, 100 * at.reflectance, color=style.INK)
    axes.axhspan(0, lowest, facecolor=style.FAINT, zorder=0)
    axes.annotate("", (395, highest), (395, lowest), arrowprops={"arrowstyle": "<->"})
    for marker, found in (("^", at.maxima), ("v", at.minima)):
        axes.plot([one.nm for one in found], [100 * one.height for one in found], marker,
                  color=style.INK, clip_on=False)  # fmt: skip
    axes.annotate(f"maximum {highest:.0f} %, at {at.maximum.nm:.0f} nm", (402, highest),
                  va="bottom", fontsize=10)  # fmt: skip
    axes.annotate(f"minimum {lowest:.0f} %, at {at.minimum.nm:.0f} nm", (402, lowest),
                  va="top" if lowest > 12 else "bottom", fontsize=10)  # fmt: skip
    share = at.point.share
    what = "by itself" if share == 0 else f"with {100 * share:.3g} % added"
    axes.set_title(f"{what}: C* {at.point.chroma:.0f}, value {at.point.value:.1f}")
    axes.set(xlabel="wavelength [nm]", xlim=(380, 730), ylim=(0, 100))
