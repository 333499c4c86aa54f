"""Curves by wavelength: each in the colour of its mix, over a strip of the spectrum."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, Viewing, encode_srgb, xyz_to_rgb
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ENDS = 380.0, 730.0


def spectra(
    axes: "Axes", curves: ArrayLike, labs: ArrayLike, view: Viewing, names: Sequence[str]
) -> None:
    """Draw curves (n, 36) in their colours (n, 3), dark-edged, each with its name at its end.

    The names tell them apart in grey. Under the axis lies a strip of the spectrum.
    """
    from matplotlib import rcParams
    from matplotlib.patheffects import Normal, Stroke

    size = rcParams["font.size"]
    curves, (hexes, _) = np.asarray(curves, dtype=float), style.colours(labs, view)
    for curve, hex in zip(curves, hexes, strict=True):
        line = rcParams["lines.linewidth"] * 1.25
        axes.plot(WAVELENGTHS, curve, color=hex, linewidth=line, linestyle="-", marker="",
                  path_effects=[Stroke(linewidth=line + 0.1 * size, foreground=style.INK),
                                Normal()])  # fmt: skip
    axes.set_xlim(*ENDS)
    axes.set_xlabel("wavelength [nm]")
    _strip(axes, view)
    _name_ends(axes, curves[:, -1], names)


def _name_ends(axes: "Axes", ends: Array, names: Sequence[str]) -> None:
    """Write names (n,) to the right of where curves end, apart from each other, with a line to."""
    from matplotlib import rcParams

    made: Any = axes.figure
    made.draw_without_rendering()
    size = rcParams["font.size"]
    high = axes.get_window_extent().height * 72 / made.dpi
    at = axes.transAxes.inverted().transform(
        axes.transData.transform(np.stack([np.full(len(ends), ENDS[1]), ends], axis=-1))
    )[:, 1]
    gap = min(0.9 * size / high, 1.1 / max(len(ends), 1))
    for place, moved, name in zip(at, style.spread(at, gap), names, strict=True):
        axes.annotate(
            name, (1.0, place), (1.04, moved), xycoords="axes fraction", textcoords="axes fraction",
            va="center", fontsize="small", annotation_clip=False,
            arrowprops={"arrowstyle": "-", "color": style.QUIET, "linewidth": 0.05 * size,
                        "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip


def spectrum(view: Viewing) -> Array:
    """Return the sRGB (36, 3) of each wavelength, 0..1, as far as a screen shows its hue."""
    light = view.weights / view.weights.sum(axis=0)
    rgb = xyz_to_rgb(light / light.max())
    rgb -= np.minimum(rgb.min(axis=-1, keepdims=True), 0)  # the least white that makes it one
    return encode_srgb(np.clip(rgb / rgb.max(), 0, 1))


def _strip(axes: "Axes", view: Viewing) -> None:
    from matplotlib import rcParams

    below = axes.inset_axes((0, -0.055, 1, 0.045))
    below.imshow(spectrum(view)[None], aspect="auto", interpolation="bilinear",
                 extent=(*ENDS, 0, 1))  # fmt: skip
    below.set_axis_off()
    made: Any = axes.figure
    high = axes.get_position(True).height * made.get_figheight() * 72
    axes.tick_params(axis="x", length=0, pad=0.075 * high + 0.1 * rcParams["font.size"])
