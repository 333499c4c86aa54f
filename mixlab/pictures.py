"""A whole photo as a palette gives it, and the recipes of its main colours.

Every colour of the picture is counted once, in 8 bits a channel. Colours that nobody tells apart
are gathered in small boxes of coordinates nearly even in CIEDE2000, and for the mean of each box
the nearest mix that exists is found, shares need not be whole:

1. The means of large boxes are put to the search for the nearest mix (:mod:`mixlab.body`).
2. The small boxes start from the mixes of the large ones about them and go down from there.

Each colour is then measured against the mix of its box, so that what is said of misses leaves
nothing out. How far that lies from the search over every subset of paints the tests say.

A picture file shows eight bits of sRGB. A mix that lies beyond sRGB is not clipped, which would
show a colour that no mix has: the nearest mix that can be shown stands for it.
"""

import io
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixlab.body import Seeds
from mixlab.colorimetry import (
    Viewing,
    ciede2000,
    encode_srgb,
    in_gamut,
    lab_to_rgb,
    relit,
    rgb_to_lab,
    uniform,
    viewing,
    ways_apart,
)
from mixlab.counting import LEVELS, Counted, bands, codes_of, count_colours, gathered
from mixlab.errors import PhotoError
from mixlab.files import writable, write_whole
from mixlab.lattice import Cloud, in_threads
from mixlab.mixtures import Mixture
from mixlab.photos import Photo, corrected_lab
from mixlab.recipes import TOLERANCE, WORTH, Recipes, find_recipe, find_recipes, medium_of
from mixlab.search import one_thread
from mixlab.tables import Palette
from mixlab.targets import GREY_CARD
from mixlab.targets import sampled as sample_at

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Pixels = NDArray[np.uint8]
Progress = Callable[[float], None]
"""Told the share of the work that is done, 0..1, now and then."""

MOST_PIXELS = 100_000_000
"""Greatest picture that is taken whole, which bounds its memory to about 2 GB."""

MOST_MAIN = 64
"""Greatest number of main colours."""

BOXES = (0.5, 0.7)
"""Sizes of the boxes whose colours are answered alike, in coordinates nearly even in CIEDE2000; the
second for pictures of more than MANY colours. In the mean a colour lies 0.2 (0.3) from the mean of
its box, and never as far as 0.9 (1.3). A picture of all of sRGB fills 600,000 of the second."""

MANY = 500_000

WORDS = ("too light", "too dark", "too pure", "too dull", "of another hue")
"""What a colour out of reach is, against the nearest mix."""

_LARGE = 3.0
_MAIN = 1.0  # boxes in which main colours are looked for
_NEAR = 6  # large boxes about a colour whose mixes are tried
_HIT = 0.1  # CIEDE2000 from which a second start is not worth it
_BLOCK = 4_000  # colours at a time
_ROUNDS = 60


def checked(
    palette: Palette,
    tolerance: float,
    tubes: int,
    parts: int,
    number: int,
    view: Viewing,
) -> None:
    """Refuse settings that make no sense, before any work is done with a picture.

    Raises
    ------
    PhotoError : for a number of main colours that makes no sense
    SearchError : as :func:`mixlab.recipes.find_recipes`
    """
    if not 1 <= number <= MOST_MAIN:
        raise PhotoError(f"{number} main colours: it must be 1 to {MOST_MAIN}")
    find_recipes([[50.0, 0.0, 0.0]], palette, tolerance, tubes, parts=parts, view=view)


def grey_of(photo: Photo, where: str | None, radius: float, reflectance: float) -> Array | None:
    """Return linear sRGB (3,) of a place "x,y" (or a box) that is known to be neutral, if told.

    Raises
    ------
    PhotoError, TargetError : for a place that cannot be read, or cannot be a grey
    """
    if where is None:
        return None
    rgb = sample_at(photo, where, radius).rgb
    corrected_lab(rgb, rgb, reflectance)
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
    lab : (n, 3), CIELAB of them under `view`
    box : (n,), the box that each is in, of m
    means : (m, 3), CIELAB, the mean by area of each box
    shares : (m, p), of the paints in the mix that answers each box; they sum to one
    mixes : (m, 3), CIELAB of those mixes
    shown : (m, 3), CIELAB of what stands for each in the picture
    miss : (n,), CIEDE2000 from the colour to its mix
    lightened : share of the area that a grey made brighter than a perfect white, 0..1
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
        """Share of the area out of reach by what it is most; words of :data:`WORDS`, 0..1."""
        out = np.flatnonzero(self.miss > self.tolerance)
        word = _most(self.lab[out], self.mixes[self.box[out]])
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
    progress: Progress | None = None,
) -> Rendering:
    """Return a picture as a palette gives it: every pixel its nearest reachable colour.

    Parameters
    ----------
    photo : the picture; its white becomes the light's white
    palette : the tubes at hand
    tolerance : miss that passes [CIEDE2000]
    max_tubes : greatest number of paints in a mix, 1 to 4
    view : light and observer; D65 / 2 degree unless told
    grey : (3,), linear sRGB of a place known to be neutral, to take cast and exposure out
    grey_reflectance : of that place, 0..1

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
        lab[block] = _lab(rgb[block], view, grey, grey_reflectance)

    for _ in in_threads(fill, len(lab)):
        pass
    above = lab[:, 0] > 100
    lightened = float(colours.area[above & (grey is not None)].sum() / colours.area.sum())
    lab[above, 0] = 100.0
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
        miss, lightened,
    )  # fmt: skip


def _lab(rgb: Array, view: Viewing, grey: Array | None, grey_reflectance: float) -> Array:
    if grey is None:
        return rgb_to_lab(rgb, view)
    return relit(corrected_lab(rgb, grey, grey_reflectance), viewing(), view)


@lru_cache(maxsize=2)
def _seeds(palette: Palette, view: Viewing, tubes: int) -> Seeds:
    return Seeds.of(medium_of(palette, view), tubes)


def nearest_mixes(
    labs: Array, seeds: Seeds, progress: Progress | None = None
) -> tuple[Array, Array]:
    """Return the nearest mix to each of many colours that lie close together.

    Parameters
    ----------
    labs : CIELAB (n, 3)
    seeds : of the paints, for so many in a mix

    Returns
    -------
    shares : (n, p), sum to one
    lab : (n, 3), CIELAB of the mixes
    """
    from scipy.spatial import cKDTree

    tell = progress or (lambda share: None)
    paints = len(seeds.medium.k)
    _, corners = gathered(labs, np.ones(len(labs)), _LARGE)
    start, start_lab = np.empty((len(corners), paints)), np.empty((len(corners), 3))
    # the large boxes take most of a small picture's time, and a third of a large one's
    part = 25 * len(corners) / (25 * len(corners) + len(labs))
    for at in range(0, len(corners), _BLOCK // 4):
        block = slice(at, at + _BLOCK // 4)
        start[block], start_lab[block], _ = seeds.nearest(corners[block])
        tell(part * min(at + _BLOCK // 4, len(corners)) / len(corners))
    tree = cKDTree(uniform(corners))
    subset = np.unique(start > 0, axis=0, return_inverse=True)[1].reshape(-1)
    shares, lab = np.empty((len(labs), paints)), np.empty((len(labs), 3))

    def fill(block: slice) -> int:
        goals = labs[block]
        _, about = tree.query(uniform(goals), k=min(_NEAR, len(corners)))
        about = about.reshape(len(goals), -1)
        order = np.argsort(ciede2000(goals[:, None], start_lab[about]), axis=1, kind="stable")
        about = np.take_along_axis(about, order, axis=1)
        best, found, miss = seeds.downhill(goals, start[about[:, 0]])
        # the nearest mix of other paints may lead into another valley
        other = subset[about] != subset[about[:, :1]]
        rows = np.flatnonzero((miss > _HIT) & other.any(axis=1))
        if len(rows):
            second = about[rows, other[rows].argmax(axis=1)]
            again = seeds.downhill(goals[rows], start[second])
            better = again[2] < miss[rows]
            best[rows[better]], found[rows[better]] = again[0][better], again[1][better]
        shares[block], lab[block] = best, found
        return int(block.stop)

    with one_thread():
        for done in in_threads(fill, len(labs)):
            tell(part + (1 - part) * done / len(labs))
    return shares, lab


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


def _most(target: Array, reached: Array) -> Indices:
    """Return which of WORDS (n,) says best what the target has that the mix lacks."""
    light, pure, hue = ways_apart(reached, target).T
    return np.asarray(np.stack([light, -light, pure, -pure, np.abs(hue)]).argmax(axis=0))


# --- main colours -------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class MainColours:
    """The main colours of a picture and their recipes, the largest area first.

    Attributes
    ----------
    lab : (k, 3), CIELAB, the mean of what each stands for
    share : (k,), of the area; they sum to one
    recipes : k mixes: what :func:`mixlab.recipes.find_recipe` recommends, in finer parts than
        allowed where nothing else is within the tolerance or, beyond reach, near to the nearest mix
    miss : (k,), CIEDE2000 from the colour to its recipe
    least : (k,), miss of the nearest mix that exists, parts need not be whole
    parts : greatest total that was asked for
    tolerance : CIEDE2000
    """

    lab: Array
    share: Array
    recipes: tuple[Mixture, ...]
    miss: Array
    least: Array
    parts: int
    tolerance: float

    def __len__(self) -> int:
        return len(self.lab)

    @property
    def reached(self) -> NDArray[np.bool_]:
        """Whether a mix within the tolerance exists (k,)."""
        return self.least <= self.tolerance

    @property
    def finer(self) -> NDArray[np.bool_]:
        """Whether the recipe is in finer parts than asked for (k,)."""
        return np.array([sum(mix.parts.values()) > self.parts for mix in self.recipes])


def main_colours(rendering: Rendering, number: int = 12, parts: int = 12) -> MainColours:
    """Return at most so many main colours of a picture, by area, with their recipes.

    Parameters
    ----------
    number : of colours
    parts : greatest total of whole parts

    Raises
    ------
    PhotoError : for a number of colours that makes no sense
    SearchError : as :func:`mixlab.recipes.find_recipes`
    """
    it = rendering
    checked(it.palette, it.tolerance, it.tubes, parts, number, it.view)
    lab, share = clusters(it.means, np.bincount(it.box, it.weight).astype(float), number)
    far = find_recipes(lab, it.palette, it.tolerance, it.tubes, parts=parts, view=it.view)
    least = np.minimum(_seeds(it.palette, it.view, it.tubes).nearest(lab)[2], far.miss)
    recipes, miss = [far[i] for i in range(len(lab))], far.miss.copy()
    # beyond reach only where parts so few are far from the nearest mix
    for i in np.flatnonzero((least <= it.tolerance) | (miss > least + WORTH)):
        best = find_recipe(
            lab[i], it.palette, it.tolerance, it.tubes, parts=parts, view=it.view, alternatives=0,
            policy="nearest",
        ).best  # fmt: skip
        if least[i] <= it.tolerance or best.miss < miss[i]:
            recipes[i], miss[i] = best.mixture, best.miss
    return MainColours(lab, share, tuple(recipes), miss, least, parts, it.tolerance)


def every_recipe(rendering: Rendering, parts: int = 12) -> Recipes:
    """Return a whole-part recipe for every colour of a picture, through the lattice.

    Returns
    -------
    One recipe a box: that of colour i is number ``rendering.box[i]``, see :data:`BOXES` for how far
    the colour may lie from what was asked for.
    """
    it = rendering
    return find_recipes(it.means, it.palette, it.tolerance, it.tubes, parts=parts, view=it.view)


def clusters(lab: Array, weight: Array, number: int) -> tuple[Array, Array]:
    """Return the mean CIELAB (k, 3) and the weight (k,) of at most so many clusters of colours.

    The cluster with the greatest weighted scatter is parted across its longest axis until there are
    enough; then every colour goes to the nearest mean, over and over, until none moves (Lloyd's
    rule). Nothing in it is random. Distances are those of :func:`mixlab.colorimetry.uniform`.

    References
    ----------
    Lloyd, "Least squares quantization in PCM", IEEE Trans. Inf. Theory 28 (1982) 129-137.
    """
    from scipy.spatial import cKDTree

    box, means = gathered(lab, weight, _MAIN)
    mass = np.bincount(box, weight).astype(float)
    even = uniform(means)
    label = np.zeros(len(even), dtype=int)
    scatter = [_scatter(even, mass)]
    while len(scatter) < number and max(scatter) > 0:
        widest = int(np.argmax(scatter))
        rows = np.flatnonzero(label == widest)
        upper = rows[_upper(even[rows], mass[rows])]
        label[upper] = len(scatter)
        scatter.append(_scatter(even[upper], mass[upper]))
        rows = np.flatnonzero(label == widest)
        scatter[widest] = _scatter(even[rows], mass[rows])
    for _ in range(_ROUNDS):
        moved = np.asarray(cKDTree(_means(even, mass, label)).query(even)[1])
        if np.bincount(moved).min() == 0:  # one that lost all it had
            moved = np.unique(moved, return_inverse=True)[1]
        if (moved == label).all():
            break
        label = moved
    label = np.unique(label, return_inverse=True)[1]
    share = np.bincount(label, mass)
    order = np.argsort(-share, kind="stable")
    return _means(means, mass, label)[order], share[order] / share.sum()


def _means(values: Array, mass: Array, label: Indices) -> Array:
    total = np.bincount(label, mass)
    return np.stack([np.bincount(label, mass * v) / total for v in values.T], axis=1)


def _scatter(even: Array, mass: Array) -> float:
    mean = mass @ even / mass.sum()
    return float(mass @ np.square(even - mean).sum(axis=1)) if len(even) > 1 else 0.0


def _upper(even: Array, mass: Array) -> NDArray[np.bool_]:
    """Return which points lie beyond the mean along the longest axis: some do, and not all."""
    off = even - mass @ even / mass.sum()
    _, axes = np.linalg.eigh((mass[:, None] * off).T @ off)
    axis = axes[:, -1] * np.sign(axes[np.abs(axes[:, -1]).argmax(), -1])
    along = off @ axis
    return np.asarray(along > 0 if 0 < (along > 0).sum() < len(along) else along == along.max())


# --- files --------------------------------------------------------------------------------------


def checked_picture(path: str | os.PathLike[str]) -> Path:
    """Return the path of a picture to be written; PhotoError if it cannot be one."""
    if Path(path).suffix.lower() != ".png":
        raise PhotoError(f"{path}: the picture is written as PNG; end its name in .png")
    return writable(path, PhotoError)


def write_picture(path: str | os.PathLike[str], pixels: Pixels) -> None:
    """Write 8-bit sRGB pixels (h, w, 3 or 4) as PNG with the sRGB profile, whole or not at all.

    Raises
    ------
    PhotoError : for another ending, or a place that cannot be written
    """
    from PIL import Image, ImageCms

    target = checked_picture(path)
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    stream = io.BytesIO()
    # the first level of compression takes a fifth of the time of the usual, and a tenth more room
    Image.fromarray(pixels).save(stream, "PNG", compress_level=1, icc_profile=profile)
    write_whole(target, stream.getbuffer(), PhotoError)
