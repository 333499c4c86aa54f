"""Where in a photo a palette falls short, and by how much."""


from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import percent
from mixlab.picture.rendering import Rendering
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, Form

if TYPE_CHECKING:
    from matplotlib.figure import Figure


_STEPS = (1.0, 2.0, 4.0, 8.0)  # ends of the bands, in tolerances
_TONES = ("#f6f2e9", "#e3c48f", "#c98242", "#8a3a1c", "#2c0f0c")  # ever darker: no hue is needed
_BARE = "#b9bdc4"


@style.drawn
def miss_map(it: Rendering, *, form: Form = PRINT) -> "Figure":
    """Return the map of the miss: the darker, the farther off, with the share of each band."""
    from matplotlib.colors import BoundaryNorm, ListedColormap

    title = (f"Where {it.palette.name} misses {it.photo.path.name}: "
             f"{percent(it.out_of_reach)} of the area is out of reach")  # fmt: skip
    if it.photo.width > it.photo.height:
        form = form.wide
    figure, axes = style.figure(
        title=title, form=form, layout=[["map", "key"]] if form.on_screen else [["map"], ["key"]],
        widths=(2.2, 1.0) if form.on_screen else None, heights=() if form.on_screen else (5.0, 1.0),
    )  # fmt: skip
    panel = axes["map"]
    ends = [step * it.tolerance for step in _STEPS]
    tones = ListedColormap(_TONES).with_extremes(bad=_BARE)
    panel.imshow(
        np.ma.masked_invalid(it.miss_map()), cmap=tones, norm=BoundaryNorm([0, *ends, 1e9], 5),
        interpolation="nearest", extent=(0, it.photo.width, it.photo.height, 0),
    )  # fmt: skip
    panel.grid(False)
    panel.set(xticks=[], yticks=[])
    for spine in panel.spines.values():
        spine.set_visible(True)
    band = np.digitize(it.miss, ends, right=True)
    share = np.bincount(band, it.weight, minlength=len(_TONES))
    names = [
        f"to {ends[0]:g}, in reach",
        *(f"{low:g} to {high:g}" for low, high in pairwise(ends)),
        f"above {ends[-1]:g}",
    ]
    tones_named = [*zip(_TONES, (f"{name}: {part:.1%}" for name, part in
                                 zip(names, share, strict=True)), strict=True)]  # fmt: skip
    if it.photo.opaque is not None:
        tones_named.append((_BARE, "not opaque"))
    looks = [
        {"marker": "s", "linestyle": "", "color": tone, "markeredgecolor": style.INK, "label": name,
         "markersize": form.letters} for tone, name in tones_named
    ]  # fmt: skip
    gap = "\n" if form.on_screen else " "
    style.key(axes["key"], looks, 1 if form.on_screen else 3,
              f"Miss [CIEDE2000]{gap}and its area;{gap}mean {it.mean_miss:.1f}")  # fmt: skip
    return figure
