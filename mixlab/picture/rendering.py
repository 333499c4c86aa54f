"""A whole photo as a palette gives it, and the recipes of its main colours.

Every colour of the picture is counted once, in 8 bits a channel. Colours that nobody tells apart
are gathered in small boxes of coordinates nearly even in CIEDE2000, and for the mean of each box
the nearest mix that exists is found, shares need not be whole:

1. The means of large boxes are put to the search for the nearest mix (:mod:`mixlab.palette.edge`).
2. The small boxes start from the mixes of the large ones about them and go down from there.

Each colour is then measured against the mix of its box, so that what is said of misses leaves
nothing out. How far that lies from the search over every subset of paints the tests say.

A picture file shows eight bits of sRGB. A mix that lies beyond sRGB is not clipped, which would
show a colour that no mix has: the nearest mix that can be shown stands for it.
"""


from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np

from mixlab.arrays import Array, Indices, Pixels, Progress, in_threads
from mixlab.colour.boxes import gathered
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.spaces import (
    Viewing,
    encode_srgb,
    in_gamut,
    lab_to_rgb,
    viewing,
)
from mixlab.colour.words import WORDS, strongest
from mixlab.nearest.many import Seeds, nearest_mixes
from mixlab.nearest.medium import medium_of
from mixlab.nearest.whole import Cloud
from mixlab.paint.tables import Palette
from mixlab.picture.key import Key
from mixlab.targets.counting import LEVELS, Counted, bands, codes_of, count_colours
from mixlab.targets.one import sampled as sample_at
from mixlab.targets.photo_files import Photo
from mixlab.targets.photos import GREY_CARD, photo_lab

BOXES = (0.5, 0.7)
"""Sizes of the boxes whose colours are answered alike, in coordinates nearly even in CIEDE2000; the
second for pictures of more than MANY colours. In the mean a colour lies 0.2 (0.3) from the mean of
its box, and never as far as 0.9 (1.3). A picture of all of sRGB fills 600,000 of the second."""

MANY = 500_000


def grey_of(photo: Photo, where: str | None, radius: float, reflectance: float) -> Array | None:
    """Return linear sRGB (3,) of a place "x,y" (or a box) that is known to be neutral, if told.

    Raises
    ------
    PhotoError, TargetError : for a place that cannot be read, or cannot be a grey
    """
    if where is None:
        return None
    rgb = sample_at(photo, where, radius).rgb
    photo_lab(rgb, rgb, reflectance)
    return rgb


# --- the palette's version ----------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Rendering:
    """A picture as a palette gives it.

    Attributes
    ----------
    photo : the picture
    palette, view, tolerance, tubes : as in :func:`render`
    colours : its distinct colours, n of them
    lab : (n, 3), CIELAB of them under `view`, as set in the key
    box : (n,), the box that each is in, of m
    means : (m, 3), CIELAB, the mean by area of each box
    shares : (m, p), of the paints in the mix that answers each box; they sum to one
    mixes : (m, 3), CIELAB of those mixes
    shown : (m, 3), CIELAB of what stands for each in the picture
    miss : (n,), CIEDE2000 from the colour to its mix
    lightened : share of the area that a grey made brighter than a perfect white, 0..1
    key : in which it is painted; None where colours stay
    """

    photo: Photo = field(repr=False)
    palette: Palette
    view: Viewing
    tolerance: float
    tubes: int
    colours: Counted = field(repr=False)
    lab: Array = field(repr=False)
    box: Indices = field(repr=False)
    means: Array = field(repr=False)
    shares: Array = field(repr=False)
    mixes: Array = field(repr=False)
    shown: Array = field(repr=False)
    miss: Array = field(repr=False)
    lightened: float
    key: Key | None = None

    @cached_property
    def weight(self) -> Array:
        """Share of the area (n,) of each colour; they sum to one."""
        return np.asarray(self.colours.area / self.colours.area.sum())

    @property
    def mean_miss(self) -> float:
        """Mean miss by area [CIEDE2000]."""
        return float(self.weight @ self.miss)

    @property
    def out_of_reach(self) -> float:
        """Share of the area whose miss is beyond the tolerance, 0..1."""
        return float(self.weight @ (self.miss > self.tolerance))

    @property
    def replaced(self) -> float:
        """Share of the area whose mix is beyond sRGB, so that another stands for it, 0..1."""
        other = (self.shown != self.mixes).any(axis=1)
        return float(self.weight @ other[self.box])

    @cached_property
    def by_direction(self) -> dict[str, float]:
        """Share of the area out of reach by what it is most, a word of WORDS: 0..1."""
        out = np.flatnonzero(self.miss > self.tolerance)
        word = strongest(self.lab[out], self.mixes[self.box[out]])
        area = np.bincount(word, self.weight[out], minlength=len(WORDS))
        return {WORDS[i]: float(area[i]) for i in np.argsort(-area, kind="stable") if area[i] > 0}

    def pixels(self) -> Pixels:
        """Return the picture, 8-bit sRGB (h, w, 3); (h, w, 4) where not all of it is opaque."""
        levels = np.zeros((LEVELS, 3), dtype=np.uint8)
        levels[self.colours.codes] = _levels(self.shown, self.view)[self.box]
        opaque = self.photo.opaque
        made = np.empty((self.photo.height, self.photo.width, 3 if opaque is None else 4), np.uint8)
        for rows in bands(self.photo):
            made[rows, :, :3] = np.take(levels, codes_of(self.photo.pixels[rows]), axis=0)
        if opaque is not None:
            made[..., 3] = np.where(opaque, 255, 0)
            made[~opaque] = 0
        return made

    def miss_map(self, most: int = 1_000_000) -> Array:
        """Return the miss over the picture (h, w), the mean of blocks, at most about `most` places.

        Not a number where nothing is opaque.
        """
        photo = self.photo
        step = max(1, int(np.ceil(np.sqrt(photo.width * photo.height / most))))
        by_code = np.zeros(LEVELS, dtype=np.float32)
        by_code[self.colours.codes] = self.miss
        columns = np.arange(0, photo.width, step)
        rows = np.arange(0, photo.height, step)
        made = np.empty((len(rows), len(columns)))
        for i, top in enumerate(rows):
            band = slice(top, top + step)
            miss = by_code[codes_of(photo.pixels[band])].astype(float)
            seen = np.ones_like(miss) if photo.opaque is None else photo.opaque[band].astype(float)
            total, seen = (
                np.add.reduceat(a.sum(axis=0), columns) for a in (miss * seen, seen)
            )
            made[i] = np.where(seen > 0, total / np.maximum(seen, 1), np.nan)
        return made


def render(
    photo: Photo,
    palette: Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 4,
    *,
    view: Viewing | None = None,
    grey: Array | None = None,
    grey_reflectance: float = GREY_CARD,
    key: Key | None = None,
    progress: Progress | None = None,
) -> Rendering:
    """Return a picture as a palette gives it: every pixel its nearest reachable colour.

    Parameters
    ----------
    photo : the picture; its white becomes the light's white
    palette : the tubes at hand
    tolerance : miss that passes [CIEDE2000]
    max_tubes : greatest number of paints in a mix, 1 to 4
    view : light, observer and finish; D65, 2 degree, gloss unless told
    grey : (3,), linear sRGB of a place known to be neutral, to take cast and exposure out
    grey_reflectance : of that place, 0..1
    key : in which it is painted, see :func:`mixlab.picture.key.key_of`; colours stay unless told

    Raises
    ------
    PhotoError : if nothing in the picture is opaque, or the grey cannot be used
    """
    view = view or viewing()
    tell = progress or (lambda share: None)
    colours = count_colours(photo)
    tell(0.03)
    lab = np.empty((len(colours.codes), 3))
    rgb = colours.rgb

    def fill(block: slice) -> None:
        lab[block] = photo_lab(
            rgb[block], grey, grey_reflectance, view=view, highlights=True
        )

    for _ in in_threads(fill, len(lab)):
        pass
    above = lab[:, 0] > 100
    lightened = float(colours.area[above & (grey is not None)].sum() / colours.area.sum())
    lab[above, 0] = 100.0
    if key is not None:
        lab = key.set(lab)
    size = BOXES[len(lab) > MANY]
    box, means = gathered(lab, colours.area.astype(float), size)
    tell(0.08)
    seeds = _seeds(palette, view, max_tubes)
    shares, mixes = nearest_mixes(means, seeds, lambda share: tell(0.08 + 0.87 * share))
    miss = np.empty(len(lab))

    def measure(block: slice) -> None:
        miss[block] = ciede2000(lab[block], mixes[box[block]])

    for _ in in_threads(measure, len(lab)):
        pass
    shown = _shown(means, mixes, view)
    tell(1.0)
    return Rendering(
        photo, palette, view, tolerance, max_tubes, colours, lab, box, means, shares, mixes, shown,
        miss, lightened, key,
    )  # fmt: skip


@lru_cache(maxsize=2)
def _seeds(palette: Palette, view: Viewing, tubes: int) -> Seeds:
    return Seeds.of(medium_of(palette, view), tubes)


def _shown(labs: Array, mixes: Array, view: Viewing) -> Array:
    """Return CIELAB (m, 3) of the mixes, or of the nearest that sRGB shows in place of others."""
    good = in_gamut(mixes, view)
    shown = mixes.copy()
    if good.any() and not good.all():
        there = mixes[good]
        shown[~good] = there[Cloud(there).nearest(labs[~good])[0]]
    return shown


def _levels(lab: Array, view: Viewing) -> Pixels:
    """Return 8-bit sRGB (n, 3) of CIELAB (n, 3)."""
    made = np.empty(lab.shape, dtype=np.uint8)

    def fill(block: slice) -> None:
        made[block] = np.rint(255 * encode_srgb(lab_to_rgb(lab[block], view)))

    for _ in in_threads(fill, len(lab)):
        pass
    return made
