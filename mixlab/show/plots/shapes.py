"""Regions of a picture drawn as shapes with smooth outlines, as a brush would leave them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import Array, Mask
from mixlab.picture.regions import Map

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.path import Path

_BLUR = 1.2  # places; steps of the map are not seen after it
_OFF = 0.35  # places by which an outline may leave the edge, so that it has few corners
_ROUND = 4.0  # places from a corner at which it begins to be rounded
_LEAST = 6.0  # places; a shorter outline is a speck


def draw_regions(axes: "Axes", regions: Map, hexes: Sequence[str], step: float = 1.0) -> None:
    """Fill axes with a map of regions (h, w), each in its colour; x and y in pixels of the photo.

    The last covers all, and each before it is laid over: no gap is left between two.

    Parameters
    ----------
    regions : (h, w), numbers from 0
    hexes : the colour of each, "#rrggbb"
    step : pixels of the photo that a place of the map is wide
    """
    from matplotlib.patches import PathPatch, Rectangle

    high, wide = regions.shape
    left, right, bottom, top = -0.5, wide * step - 0.5, high * step - 0.5, -0.5
    axes.set(xlim=(left, right), ylim=(bottom, top), aspect="equal", xticks=[], yticks=[])
    axes.grid(False)
    there = np.unique(regions).tolist()
    axes.add_patch(Rectangle((left, top), right - left, bottom - top, facecolor=hexes[there[-1]],
                             edgecolor="none"))  # fmt: skip
    for number in there[-2::-1]:
        path = outline(regions <= number, step)
        if path is not None:
            axes.add_patch(PathPatch(path, facecolor=hexes[number], edgecolor="none", clip_on=True))


def outline(inside: Mask, step: float = 1.0) -> "Path | None":
    """Return the smooth outline of a shape (h, w), holes and all, in pixels of the photo.

    None where there is nothing to outline.
    """
    from matplotlib.path import Path
    from scipy.ndimage import gaussian_filter
    from skimage.measure import approximate_polygon, find_contours

    # beyond the edge of the picture the shape goes on, and ends there
    edge = 4
    soft = gaussian_filter(np.pad(inside.astype(float), edge, "edge"), _BLUR)
    soft = np.pad(soft, 1)
    corners: list[Array] = []
    codes: list[int] = []
    for contour in find_contours(soft, 0.5):  # type: ignore[no-untyped-call]
        few = approximate_polygon(contour, _OFF)[:-1]  # type: ignore[no-untyped-call]
        if len(few) < 3 or len(contour) < _LEAST:
            continue
        points, kinds = _rounded(few)
        corners.append(points)
        codes += kinds
    if not corners:
        return None
    places = (np.concatenate(corners)[:, ::-1] - edge - 1 + 0.5) * step - 0.5
    return Path(places, codes)


def _rounded(corners: Array) -> tuple[Array, list[int]]:
    """Return points (m, 2) and their codes for a closed outline with its corners (n, 2) rounded."""
    from matplotlib.path import Path

    ahead = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(*ahead.T)
    cut = np.minimum(0.5, _ROUND / np.maximum(length, 1e-9))[:, None] * ahead
    before, after = corners - np.roll(cut, 1, axis=0), corners + cut
    points = np.stack([before, corners, after], axis=1).reshape(-1, 2)
    kinds = [int(Path.LINETO), int(Path.CURVE3), int(Path.CURVE3)] * len(corners)
    # no line where one corner's rounding meets the next one's
    straight = np.linalg.norm(before - np.roll(after, 1, axis=0), axis=1) > 1e-6
    kept = np.repeat(straight, 3) | (np.arange(len(points)) % 3 > 0)
    points = np.concatenate([points[-1:], points[kept], points[-1:]])
    kinds = [kind for kind, keep in zip(kinds, kept, strict=True) if keep]
    return points, [int(Path.MOVETO), *kinds, int(Path.CLOSEPOLY)]
