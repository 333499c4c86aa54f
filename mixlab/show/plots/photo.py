"""Where in a photo a palette falls short, and by how much."""


from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import percent
from mixlab.picture.rendering import Rendering
from mixlab.show.plots import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure


_STEPS = (1.0, 2.0, 4.0, 8.0)  # ends of the bands, in tolerances
_TONES = ("#f6f2e9", "#e3c48f", "#c98242", "#8a3a1c", "#2c0f0c")  # ever darker: no hue is needed
_BARE = "#b9bdc4"


def miss_map(it: Rendering) -> "Figure":
    """Return the map of the miss: the darker, the farther off, with the share of each band."""
    from matplotlib.colors import BoundaryNorm, ListedColormap
    from matplotlib.patches import Patch

    wide = it.photo.width / it.photo.height
    width = float(np.clip(5.2 * wide, 5.0, 9.0))
    picture = float(np.clip(width / wide, 1.5, 9.0))
    title = f"The miss of {it.palette.name}, {it.photo.path.name}"
    figure, axes = style.figure(title=title, width=width, height=picture + 1.7)
    panel = axes[0, 0]
    ends = [step * it.tolerance for step in _STEPS]
    tones = ListedColormap(_TONES).with_extremes(bad=_BARE)
    panel.imshow(
        np.ma.masked_invalid(it.miss_map()), cmap=tones, norm=BoundaryNorm([0, *ends, 1e9], 5),
        interpolation="nearest", extent=(0, it.photo.width, it.photo.height, 0),
    )  # fmt: skip
    panel.grid(False)
    panel.set_xticks([])
    panel.set_yticks([])
    for spine in panel.spines.values():
        spine.set_visible(True)
    panel.set_title(
        f"{percent(it.out_of_reach)} of the area is out of reach; "
        f"mean miss {it.mean_miss:.1f} CIEDE2000",
        loc="left",
    )
    band = np.digitize(it.miss, ends, right=True)
    share = np.bincount(band, it.weight, minlength=len(_TONES))
    names = [
        f"up to {ends[0]:g}, within reach",
        *(f"{low:g} to {high:g}" for low, high in pairwise(ends)),
        f"above {ends[-1]:g}",
    ]
    marks = [
        Patch(facecolor=tone, edgecolor=style.QUIET, label=f"{name}: {part:.1%}")
        for tone, name, part in zip(_TONES, names, share, strict=True)
    ]
    if it.photo.opaque is not None:
        marks.append(Patch(facecolor=_BARE, edgecolor=style.QUIET, label="not opaque: left out"))
    figure.legend(
        handles=marks, loc="outside lower left", ncols=3, title="Miss [CIEDE2000] and its area",
        alignment="left", frameon=False,
    )  # fmt: skip
    return figure
