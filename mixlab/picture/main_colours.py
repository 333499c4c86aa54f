"""The main colours of a picture, where they lie, and their recipes.

A colour counts by its area, and by how far it stands out from the others: a few red roofs in a
green picture are seen before the second green of the trees.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from mixlab.arrays import Array, Indices, Pixels
from mixlab.colour.boxes import gathered
from mixlab.colour.difference import uniform
from mixlab.colour.spaces import Viewing
from mixlab.errors import PhotoError
from mixlab.mixing.recipes import find_recipes
from mixlab.paint.tables import Palette
from mixlab.palette.family import Family
from mixlab.picture.passages import Passage, from_a_family, passages
from mixlab.picture.rendering import Rendering
from mixlab.targets.counting import LEVELS, codes_of
from mixlab.targets.one import Target
from mixlab.targets.photo_files import Photo
from mixlab.targets.places import Place

MOST_MAIN = 64
"""Greatest number of main colours."""

# tuned by eye on the bundled scene and two photographs, in coordinates nearly even in CIEDE2000
_BOX = 4.0  # colours that count as one while main colours are chosen
_ACCENT = 0.0005  # of the area; less is no passage
_NEAR = 6.0  # what lies within it is averaged; the rest is a passage from one colour to another
_POWER = 1 / 3  # of the area, beside the distance: an accent of a thousandth weighs a tenth

_LOOKED_AT = 200_000  # pixels
_DISC = 80  # discs to the shorter side
_EVEN = 4.0  # a disc as uneven as this is taken smaller
_BARE = 1e6  # where nothing is, far from any colour


@dataclass(frozen=True, eq=False)
class MainColour:
    """A main colour of a picture.

    Attributes
    ----------
    share : of the area that is nearer to it than to the others, 0..1
    passage : its name (its number by area), its colour, where it lies, and its recipe
    """

    share: float
    passage: Passage

    @property
    def least_miss(self) -> float:
        """Miss of the nearest mix that exists, if parts need not be whole [CIEDE2000]."""
        return self.passage.answer.by_count[-1].miss


def checked(
    palette: Palette, tolerance: float, tubes: int, parts: int, number: int, view: Viewing
) -> None:
    """Refuse settings that make no sense, before any work is done with a picture.

    Raises
    ------
    PhotoError : for a number of main colours that makes no sense
    SearchError : as :func:`mixlab.mixing.recipes.find_recipes`
    """
    if not 1 <= number <= MOST_MAIN:
        raise PhotoError(f"{number} main colours: it must be 1 to {MOST_MAIN}")
    find_recipes([[50.0, 0.0, 0.0]], palette, tolerance, tubes, parts=parts, view=view)


def main_colours(rendering: Rendering, number: int = 12, parts: int = 12) -> list[MainColour]:
    """Return at most so many main colours of a picture with their recipes, the largest area first.

    Each recipe is that of :func:`mixlab.mixing.recipes.find_recipe` for the colour.

    Parameters
    ----------
    number : of colours
    parts : greatest total of whole parts

    Raises
    ------
    PhotoError : for a number of colours that makes no sense
    SearchError : as :func:`mixlab.mixing.recipes.find_recipe`
    """
    it = rendering
    checked(it.palette, it.tolerance, it.tubes, parts, number, it.view)
    of_code = np.zeros(LEVELS, dtype=np.int32)
    of_code[it.colours.codes] = it.box
    weight = np.bincount(it.box, it.weight).astype(float)
    share, places = main_places(it.photo, lambda pixels: it.means[of_code[codes_of(pixels)]],
                                it.means, weight, it.view, number)  # fmt: skip
    found = passages(places, it.palette, it.tolerance, it.tubes, parts=parts, alternatives=0)
    return [MainColour(float(part), one) for part, one in zip(share, found, strict=True)]


def main_places(
    photo: Photo, labs_of: Callable[[Pixels], Array], lab: Array, weight: Array, view: Viewing,
    number: int = 12,
) -> tuple[Array, list[Place]]:  # fmt: skip
    """Return the main colours of a picture and where each lies, the largest area first.

    Parameters
    ----------
    photo : the picture
    labs_of : CIELAB (h, w, 3) of pixels (h, w, 3), encoded as those of the picture
    lab, weight : its colours, CIELAB (n, 3), and their areas (n,)
    number : at most so many

    Returns
    -------
    share of the area (k,) that is nearest to each, and the places, named by their number
    """
    _, labs, share = standing_out(lab, weight, number)
    discs = _where(photo, labs_of, labs)
    return share, [
        Place(str(i), Target(one, view, f"main colour {i} of {photo.path}"), disc[:2],
              float(disc[2])) for i, (one, disc) in enumerate(zip(labs, discs, strict=True), 1)
    ]  # fmt: skip


def in_a_family(
    rendering: Rendering, main: Sequence[MainColour], parts: int = 12
) -> tuple[list[MainColour], Family]:
    """Return main colours mixed from as few tubes as hold them all, and those tubes.

    Raises
    ------
    ReachError, SearchError : as :func:`mixlab.picture.passages.from_a_family`
    """
    it = rendering
    places = [one.passage.place for one in main]
    found, held = from_a_family(places, it.palette, it.tolerance, it.tubes, parts=parts)
    return [replace(one, passage=new) for one, new in zip(main, found, strict=True)], held


def standing_out(lab: Array, weight: Array, number: int) -> tuple[Indices, Array, Array]:
    """Return at most so many colours that a painter would name first, the largest area first.

    The first is that of the largest area; each next one is the colour whose distance from all that
    are chosen, times a power of its area, is greatest. Distances are those of
    :func:`mixlab.colour.difference.uniform`. Nothing in it is random.

    Parameters
    ----------
    lab : CIELAB (n, 3)
    weight : (n,), areas

    Returns
    -------
    which of them each colour (n,) is nearest to; the mean CIELAB (k, 3) of what is near to each;
    the share of the area (k,) that is nearest to each, which sum to one
    """
    from scipy.spatial import cKDTree

    box, means = gathered(lab, weight, _BOX)
    mass = np.bincount(box, weight).astype(float) / weight.sum()
    even = uniform(means)
    counts = mass >= min(_ACCENT, mass.max())
    chosen = [int(mass.argmax())]
    away = np.linalg.norm(even - even[chosen[0]], axis=1)
    while len(chosen) < number:
        stands_out = np.where(counts, away * mass**_POWER, 0.0)
        chosen.append(int(stands_out.argmax()))
        if stands_out[chosen[-1]] == 0:
            chosen.pop()
            break
        away = np.minimum(away, np.linalg.norm(even - even[chosen[-1]], axis=1))
    off, label = cKDTree(even[chosen]).query(uniform(lab))
    near = off <= _NEAR
    share = np.bincount(label, weight, len(chosen)) / weight.sum()
    order = np.argsort(-share, kind="stable")
    held = np.stack([
        np.average(lab[rows], axis=0, weights=weight[rows])
        for rows in ((label == i) & near for i in order)
    ])  # fmt: skip
    return np.argsort(order)[label], held, share[order]


def _where(photo: Photo, labs_of: Callable[[Pixels], Array], labs: Array) -> Array:
    """Return x, y and radius (k, 3) [pixels] of the disc that shows each main colour best.

    That is the one whose pixels lie nearest to it in the mean square; a smaller one where the
    colour is nowhere as wide.
    """
    from scipy.ndimage import uniform_filter

    step = max(1, int(np.ceil(np.sqrt(photo.width * photo.height / _LOOKED_AT))))
    seen = slice(step // 2, None, step)
    even = uniform(labs_of(photo.pixels[seen, seen]))
    widest = max(1, round(min(even.shape[:2]) / _DISC))
    found = []
    for goal in uniform(labs):
        square = np.square(even - goal).sum(axis=-1)
        if photo.opaque is not None:
            square[~photo.opaque[seen, seen]] = _BARE
        for half in range(widest, -1, -1):
            off = uniform_filter(square, 2 * half + 1, mode="constant", cval=_BARE)
            row, column = np.unravel_index(off.argmin(), off.shape)
            if off[row, column] <= _EVEN**2:
                break
        found.append((column * step + step // 2, row * step + step // 2, half * step))
    return np.array(found, dtype=float)
