"""The picture as it is seen from afar: small, averaged in linear light, set in its key."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices
from mixlab.colour.spaces import Viewing
from mixlab.errors import PhotoError
from mixlab.targets.places import Picture

LONGEST = 800
"""Pixels of the longer side, at most: detail beyond it is none of a plan's."""

_SAMPLES = 2  # along each side of what becomes one pixel; more change no mean that is seen


@dataclass(frozen=True, eq=False)
class Seen:
    """A picture as it is seen from afar.

    Attributes
    ----------
    lab : (h, w, 3), CIELAB of it, as set in the key
    view : light, observer and finish
    step : pixels of the photo that one of its pixels is wide
    """

    lab: Array = field(repr=False)
    view: Viewing
    step: float = 1.0

    def at(self, place: ArrayLike) -> tuple[int, int]:
        """Return row and column of a place x, y of the photo [pixels]."""
        x, y = np.floor((np.asarray(place, dtype=float) + 0.5) / self.step)
        high, wide = self.lab.shape[:2]
        return int(np.clip(y, 0, high - 1)), int(np.clip(x, 0, wide - 1))

    def place(self, row: float, column: float) -> Array:
        """Return x, y (2,) in the photo of the middle of one of its pixels [pixels]."""
        return (np.array([column, row], dtype=float) + 0.5) * self.step - 0.5


def look(picture: Picture, longest: int = LONGEST) -> Seen:
    """Return a picture as it is seen from afar, about so many pixels on its longer side at most.

    What is not opaque takes the colour of the nearest place that is.

    Raises
    ------
    PhotoError : if nothing in it is opaque
    """
    photo = picture.photo
    step = max(1, round(max(photo.width, photo.height) / longest))
    rows, columns = _samples(photo.height, step), _samples(photo.width, step)
    total = np.zeros((len(rows[0]), len(columns[0]), 3))
    count = np.zeros(total.shape[:2])
    for down in rows:
        for across in columns:
            at = np.ix_(down, across)
            opaque = np.ones(count.shape) if photo.opaque is None else photo.opaque[at] * 1.0
            total += photo.linear(photo.pixels[at]) * opaque[..., None]
            count += opaque
    bare = count == 0
    if bare.all():
        raise PhotoError(f"{photo.path}: nothing in it is opaque")
    light = total / np.maximum(count, 1)[..., None]
    if bare.any():
        from scipy.ndimage import distance_transform_edt

        near = distance_transform_edt(bare, return_distances=False, return_indices=True)
        light = light[tuple(near)]
    return Seen(picture.labs_of(light), picture.view, float(step))


def _samples(size: int, step: int) -> list[Indices]:
    """Return the rows (or columns) that are looked at, one list for each sample of a pixel."""
    starts, each = np.arange(0, size, step), min(step, _SAMPLES)
    return [np.minimum(starts + int((i + 0.5) * step / each), size - 1) for i in range(each)]
