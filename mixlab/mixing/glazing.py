"""Which films take a dry ground to a wanted colour, and where a mix cannot do what a film can.

A film has one freedom that a mix lacks, its thickness. With a clear painting medium as one more
paint of a film of one thickness, thinner films are mixes with more of it: the search for the best
mix of every small set (:mod:`mixlab.nearest.exact`) then finds the best film of every small set.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import LayerError
from mixlab.mixing.answers import Answer
from mixlab.mixing.recipes import find_recipe, usual_tubes
from mixlab.nearest.exact import Found, Search
from mixlab.nearest.medium import film_medium, medium_of
from mixlab.nearest.parts import first_within
from mixlab.nearest.sets import all_subsets, compositions
from mixlab.paint.layers import Layer, layer
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import COAT, TRANSPARENCIES, Paint
from mixlab.paint.tables import Palette

MOST_TUBES = 3
THICKEST = 2.0
"""Thickest film that is looked for unless told [coats]."""

_PARTS = 21  # of whole parts in a film: down to one in twenty
_GAIN = 0.05  # CIEDE2000 that a further tube has to bring
_ROUNDED = 0.3  # CIEDE2000 that fewer parts may cost where none is within the tolerance
_CHANGE = 1.0  # CIEDE2000 that a film has to come nearer than the bare ground
_ABOUT = np.geomspace(0.7, 1.4, 36)  # times the exact thickness


@dataclass(frozen=True, eq=False)
class Film:
    """One film over the ground, and how near it comes.

    Attributes
    ----------
    layer : the mix in whole parts, of one thickness
    miss : CIEDE2000 from the target
    exact : the same of the best film that exists of these tubes
    """

    layer: Layer
    miss: float
    exact: float

    @property
    def mixture(self) -> Mixture:
        """The paint of the film."""
        return self.layer.mixture

    @property
    def coats(self) -> float:
        """Thickness, of the paint without any clear medium."""
        return float(self.layer.coats[0])

    @property
    def lab(self) -> Array:
        """CIELAB (3,) of the film over the ground."""
        return np.asarray(self.layer.lab[0])

    @property
    def kind(self) -> str:
        """What it does to the ground; see :data:`mixlab.paint.layers.KINDS`."""
        return self.layer.kind[0]


@dataclass(frozen=True, eq=False)
class Layering:
    """The films that take a ground to a colour.

    Attributes
    ----------
    target : CIELAB (3,) under `view`
    view : light, observer and finish
    tolerance : miss that passes [CIEDE2000]
    bare : CIEDE2000 from the target to the ground itself
    glazes : best film of one, two, .. tubes of which each is transparent or semi-transparent
    films : the same of any tubes
    mix : the recipe for the colour as a mix that hides its ground
    """

    target: Array
    view: Viewing
    tolerance: float
    bare: float
    glazes: tuple[Film, ...]
    films: tuple[Film, ...]
    mix: Answer

    @property
    def film(self) -> Film | None:
        """What to lay: the fewest tubes within tolerance, transparent first; else the nearest.

        None where no film comes nearer than the bare ground.
        """
        both = [*self.glazes, *self.films]
        good = [one for one in both if one.miss <= self.tolerance]
        return good[0] if good else min(both, key=lambda one: one.miss, default=None)

    @property
    def mix_miss(self) -> float:
        """CIEDE2000 from the target to the nearest mix, parts being exact."""
        return min(count.miss for count in self.mix.by_count)

    @property
    def only_a_layer(self) -> bool:
        """Whether a film comes within the tolerance, and no mix of these tubes does."""
        film = self.film
        return film is not None and film.miss <= self.tolerance < self.mix_miss


def is_transparent(paint: Paint) -> bool:
    """Return whether a paint glazes: as its tube says, or else by its curves."""
    return (paint.transparency or paint.opacity_class) in TRANSPARENCIES[:2]


def find_layer(
    target: ArrayLike,
    over: Mixture | ArrayLike,
    palette: Palette,
    tolerance: float = TOLERANCE,
    max_tubes: int = 2,
    *,
    thickest: float = THICKEST,
    view: Viewing | None = None,
) -> Layering:
    """Return the films of few tubes that take a dry ground to a colour.

    Parameters
    ----------
    target : CIELAB (3,) under `view`
    over : the ground; see :func:`mixlab.paint.layers.ground_of`
    palette : the tubes at hand
    tolerance : miss that passes [CIEDE2000]
    max_tubes : greatest number of paints in the film, 1 to 3
    thickest : thickest film [coats]
    view : light, observer and finish; D65, 2 degree, gloss unless told

    Raises
    ------
    LayerError : for a ground, a target or settings that make no sense
    """
    view, goal = view or viewing(), np.asarray(target, dtype=float)
    if goal.shape != (3,) or not np.isfinite(goal).all():
        raise LayerError("the target must be three finite numbers L*, a*, b*")
    if max_tubes not in range(1, MOST_TUBES + 1):
        raise LayerError(f"{max_tubes} tubes in a film: it must be 1 to {MOST_TUBES}")
    if not 0 < thickest <= 100:
        raise LayerError(f"a thickest film of {thickest:g} coats: above 0, and at most 100")
    mix = find_recipe(goal, palette, tolerance, view=view)
    every = _Films(goal, over, palette, thickest, view)
    clear = [paint.id for paint in palette if is_transparent(paint)]
    glazes: tuple[Film, ...] = ()
    if clear:
        some = palette.table.palette(clear, palette.name)
        glazes = _Films(goal, over, some, thickest, view).best(max_tubes, tolerance)
    bare = float(ciede2000(goal, every.bare))
    films = every.best(max_tubes, tolerance)
    return Layering(goal, view, tolerance, bare, glazes, films, mix)


def miss_of_mixes(made: Layer, palette: Palette, also: Iterable[Paint] = ()) -> Array:
    """Return how near mixes come to each film (n,): of the tubes, the film's own and `also`.

    CIEDE2000 to the nearest mix that hides its ground, parts being exact: above the tolerance, the
    colour is one that only a layer gives.
    """
    more = {paint.id for paint in (*made.mixture.paints, *also)} - set(palette.ids)
    tubes = palette.table.palette([*palette.ids, *sorted(more)])
    sizes = min(usual_tubes(len(tubes)), len(tubes))
    search = Search(medium_of(tubes, made.view), all_subsets(len(tubes), sizes))
    return np.array([
        min(found.miss.min() for found in search.solve(lab) if len(found.miss)) for lab in made.lab
    ])  # fmt: skip


class _Films:
    """Films of a palette over one ground, for one target."""

    def __init__(
        self, target: Array, over: Mixture | ArrayLike, palette: Palette, thickest: float,
        view: Viewing,
    ) -> None:  # fmt: skip
        self._target, self._palette, self._thickest = target, palette, thickest
        first = layer(Mixture(palette.paints[:1], (1.0,), view), over)
        self.bare, self._view, self._ground = first.bare, view, first.ground
        self._medium = film_medium(palette, first.ground, thickest * COAT, view)

    def best(self, most: int, tolerance: float) -> tuple[Film, ...]:
        """Return the best film of each number of tubes up to so many, in whole parts."""
        clear = len(self._palette)
        sizes = min(most, clear) + 1
        search = Search(self._medium, all_subsets(clear + 1, sizes, (clear,)))
        made: list[Film] = []
        least = float(ciede2000(self._target, self.bare)) - _CHANGE
        for found in search.solve(self._target)[1:]:
            film = self._rounded(search, found, tolerance)
            if film is not None and film.exact < least:
                made.append(film)
                least = film.exact - _GAIN
        return tuple(made)

    def _rounded(self, search: Search, found: Found, tolerance: float) -> Film | None:
        """Return the best film of one number of tubes in whole parts, its thickness set anew."""
        if not len(found.miss):
            return None
        subset, shares, exact = search.best(self._target, found)
        tubes, amounts = subset[:-1], self._thickest * shares[:-1]
        parts = compositions(len(tubes), _PARTS)
        filled = (parts / parts.sum(axis=1, keepdims=True))[:, None]
        coats = np.minimum(amounts.sum() * _ABOUT, self._thickest)
        full = np.zeros((len(parts), len(coats), len(self._palette) + 1))
        full[..., tubes] = filled * coats[:, None]
        full[..., -1] = self._thickest - coats
        misses = np.asarray(ciede2000(self._target, self._medium.lab(full)))
        limit = tolerance if misses.min() <= tolerance else exact + _ROUNDED
        row = int(first_within(misses.min(axis=1), limit))
        paints = tuple(self._palette.paints[i] for i in tubes)
        mixture = Mixture(paints, tuple(map(float, parts[row])), self._view)
        thickness = float(f"{coats[misses[row].argmin()]:.2g}")
        lay = Layer(mixture, self._ground, np.array([thickness]))
        return Film(lay, float(ciede2000(self._target, lay.lab[0])), float(exact))
