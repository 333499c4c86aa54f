"""The main colours of a picture, by area, and their recipes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array
from mixlab.colour.boxes import clusters
from mixlab.colour.spaces import Viewing
from mixlab.errors import PhotoError
from mixlab.mixing.answers import WORTH, Recipes
from mixlab.mixing.recipes import find_recipe, find_recipes
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette
from mixlab.plan.rendering import Rendering, _seeds

MOST_MAIN = 64
"""Greatest number of main colours."""


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
    SearchError : as :func:`mixlab.mixing.recipes.find_recipes`
    """
    if not 1 <= number <= MOST_MAIN:
        raise PhotoError(f"{number} main colours: it must be 1 to {MOST_MAIN}")
    find_recipes([[50.0, 0.0, 0.0]], palette, tolerance, tubes, parts=parts, view=view)


# --- main colours -------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class MainColours:
    """The main colours of a picture and their recipes, the largest area first.

    Attributes ---------- lab : (k, 3), CIELAB, the mean of what each stands for share : (k,), of
    the area; they sum to one recipes : k mixes: what :func:`mixlab.mixing.recipes.find_recipe`
    recommends, in finer parts than
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
    def in_reach(self) -> NDArray[np.bool_]:
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
    SearchError : as :func:`mixlab.mixing.recipes.find_recipes`
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
            out_of_reach="nearest",
        ).recipe  # fmt: skip
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
