"""Planes: one colour from the foreground to the horizon, as recipes that grow out of each other.

Plane 0 is the pile that was typed. Each other takes a part of the one before and adds white and one
or two tubes, the same all the way, so that the planes sit together as one family.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, lab_to_munsell, lab_to_xyz, viewing
from mixlab.errors import DistanceError
from mixlab.mixing.adjust import joined
from mixlab.mixing.answers import WORTH, Recipe
from mixlab.mixing.distance import seen_from
from mixlab.mixing.ladders import Path
from mixlab.mixing.recipes import find_recipe
from mixlab.mixing.two_steps import STEP, in_two_steps, ways
from mixlab.nearest.exact import Search
from mixlab.nearest.medium import Medium
from mixlab.nearest.parts import first_within
from mixlab.nearest.sets import STEEPEST, all_subsets, compositions
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette

FURTHER = 2
"""Greatest number of tubes beside white that a family adds to its pile."""

WITHIN = 3.0
"""Miss of a plane beyond which a family is said to want a tube [CIEDE2000]; our own, no source."""

_HOPEFUL = 16, 4  # sets of tubes that are looked at again
_NEARER = 1.0, 0.5, 0.2, 0.0
_CHAINS = 10  # of additions that are followed from plane to plane
_TUBE = 1.0  # CIEDE2000


@dataclass(frozen=True, eq=False)
class Plane:
    """One plane of a picture, and the mix for it.

    Attributes
    ----------
    fraction : of the light that is the horizon's
    distance : how far away, in the unit that was given, or None
    lab : CIELAB (3,) to be mixed
    contrast : luminance contrast with the horizon, (Y - Yh) / Yh
    mixture : what to mix
    words : how to mix it
    taken : parts of the plane before that it is made of; None where it is mixed from the tubes
    added : parts of what is added to those, by id
    """

    fraction: float
    distance: float | None
    lab: Array
    contrast: float
    mixture: Mixture
    words: str
    taken: float | None
    added: dict[str, float]

    @property
    def munsell(self) -> str:
        """Munsell notation of what is to be mixed."""
        return write_munsell(lab_to_munsell(self.lab, self.mixture.view))

    @property
    def miss(self) -> float:
        """CIEDE2000 from the colour to the mix."""
        return float(ciede2000(self.lab, self.mixture.lab))


Step = tuple[Mixture, str, float | None, dict[str, float]]


def planes(
    near: ArrayLike | Mixture,
    horizon: ArrayLike,
    palette: Palette,
    fractions: Sequence[float],
    distances: Sequence[float] | None = None,
    *,
    family: bool = True,
    seen: ArrayLike | None = None,
    tolerance: float = TOLERANCE,
    max_tubes: int = 4,
    parts: int = 12,
    view: Viewing | None = None,
) -> list[Plane]:
    """Return a ladder of recipes for one colour from the foreground to the horizon.

    Parameters
    ----------
    near : a pile, or CIELAB (3,) under `view` to find a recipe for
    horizon : CIELAB (3,) under `view`
    palette : the tubes at hand
    fractions : of the light that is the horizon's, rising; see :func:`mixlab.mixing.distance.veil`
    distances : as many, to be told with them
    family : whether each plane grows out of the one before; else each is mixed from the tubes
    seen : CIELAB (n, 3) of the planes where the air is not grey; see
        :func:`mixlab.mixing.distance.seen_through`
    tolerance, parts, view : as in :func:`mixlab.find_recipe`
    max_tubes : of a mix; of a family, its pile included, though white and one more may always be
        added

    Raises
    ------
    DistanceError : if the horizon is black, or the fractions make no sense
    SearchError : for settings under which there is nothing to search
    """
    view = view or viewing()

    def recipe(lab: ArrayLike) -> Step:
        made = find_recipe(
            lab, palette, tolerance, max_tubes, parts=parts, view=view, alternatives=0
        ).recipe
        return made.mixture, str(made), None, {}

    lab = near.lab if isinstance(near, Mixture) else np.asarray(near, dtype=float)
    labs = seen_from(lab, horizon, np.asarray(fractions, dtype=float), view)
    if seen is not None:
        labs = np.asarray(seen, dtype=float).reshape(labs.shape)
    luminance = lab_to_xyz(labs, view.white)[:, 1]
    behind = float(lab_to_xyz(np.asarray(horizon, dtype=float), view.white)[1])
    if behind <= 0:
        raise DistanceError("the horizon is black: it veils nothing")
    if family:
        if np.any(np.diff(fractions) < 0):
            raise DistanceError("planes that grow out of each other go farther each time; put the "
                                "nearest first")
        first = (near, str(near), None, {}) if isinstance(near, Mixture) else recipe(lab)
        steps = _family(first, labs, fractions[0] == 0, palette, tolerance, max_tubes)
    else:
        steps = [recipe(lab) for lab in labs]
    told: Sequence[float | None] = distances or [None] * len(labs)
    return [
        Plane(float(fraction), distance, at, float(y / behind - 1), *step)
        for fraction, distance, at, y, step in zip(
            fractions, told, labs, luminance, steps, strict=True
        )
    ]


@dataclass(frozen=True, eq=False)
class Wanting:
    """What a family of planes lacks.

    Attributes
    ----------
    plane : which of its planes is the worst, from 0
    miss : of that plane [CIEDE2000]
    fresh : that plane mixed from the tubes
    exact : of the worst plane of the best family of as many tubes, if parts need not be measured
    tubes : ids of the best family of one tube more, its worst plane nearer by more than 0.1; or
        none
    then : miss of its worst plane, in parts as the others
    """

    plane: int
    miss: float
    fresh: Recipe
    exact: float
    tubes: tuple[str, ...]
    then: float


def wanting(
    found: Sequence[Plane], palette: Palette, tolerance: float = TOLERANCE, max_tubes: int = 4,
    parts: int = 12,
) -> Wanting | None:  # fmt: skip
    """Return what planes that grew out of each other lack; None if all are within :data:`WITHIN`.

    `palette` and what follows as they were given to :func:`planes`.
    """
    at = max(range(len(found)), key=lambda i: found[i].miss)
    worst = found[at].miss
    if worst <= WITHIN or all(plane.taken is None for plane in found):
        return None
    pile, labs = found[0].mixture, np.array([plane.lab for plane in found])
    used = {paint.id for plane in found for paint in plane.mixture.paints}
    step = pile, found[0].words, None, dict[str, float]()
    more = [one[0] for one in _family(step, labs, True, palette, tolerance, len(used) + 1,
                                      FURTHER + 1)]  # fmt: skip
    then = float(ciede2000(labs, [mixture.lab for mixture in more]).max())
    tubes = dict.fromkeys(paint.id for mixture in more for paint in mixture.paints)
    exact = max(found[0].miss, _exactly(pile, labs[1:], palette, len(used)))
    fresh = find_recipe(labs[at], palette, tolerance, max_tubes, parts=parts, view=pile.view,
                        alternatives=0).recipe  # fmt: skip
    return Wanting(at, worst, fresh, exact, tuple(tubes) if then < worst - 0.1 else (),
                   min(then, worst))  # fmt: skip


def _exactly(pile: Mixture, labs: Array, palette: Palette, most: int) -> float:
    """Return the worst miss of colours (n, 3) by the best family of so many tubes, parts exact."""
    own = {paint.id: paint for paint in (*palette, *pile.paints)}
    ids, first = list(own), next(iter(own.values()))
    medium = Medium(np.array([p.K for p in own.values()]), np.array([p.S for p in own.values()]),
                    first.surface, pile.view)  # fmt: skip
    kept = {ids.index(paint.id) for paint in pile.paints}
    kept |= {i for i, paint in enumerate(palette) if paint.is_white}
    rest = sorted(set(range(len(ids))) - kept)
    further = max(0, min(most - len(kept), len(rest)))
    held = np.zeros((math.comb(len(rest), further), len(ids)), dtype=bool)
    held[:, sorted(kept)] = True
    for row, some in enumerate(itertools.combinations(rest, further)):
        held[row, list(some)] = True
    search = Search(medium, all_subsets(len(ids), min(4, len(ids))))
    worst = np.zeros(len(held))
    for lab in labs:
        least = np.full(len(held), np.inf)
        for of_size in search.solve(lab):
            inside = held[:, of_size.subsets].all(axis=2)
            least = np.minimum(least, np.where(inside, of_size.miss, np.inf).min(axis=1))
        worst = np.maximum(worst, least)
    return float(worst.min())


def _family(
    first: Step, labs: Array, starts: bool, palette: Palette, tolerance: float, max_tubes: int,
    most: int = FURTHER,
) -> list[Step]:  # fmt: skip
    """Return the steps to colours (n, 3); the first is the pile itself if it `starts`.

    At most so many tubes beside white are added.
    """
    pile = first[0]
    white = [i for i, paint in enumerate(palette) if paint.is_white][:1]
    rest = [i for i in range(len(palette)) if i not in white]
    sets = [
        [palette.paints[i] for i in (*white, *more)]
        for further in range(1, most + 1) for more in itertools.combinations(rest, further)
    ]  # fmt: skip
    if not sets:
        raise DistanceError("a palette of one tube has nothing to add to a pile")

    def grown(paints: list[Paint], nearer: Sequence[float], fine: bool) -> tuple[float, list[Step]]:
        """Return how ill the family serves, and its steps, the best of the chains that are kept."""
        # the worst plane decides; a tube more than was allowed must be worth it
        tubes = len({*pile.parts, *(paint.id for paint in paints)})
        more = _TUBE * max(0, tubes - max(max_tubes, len(pile.paints) + 2))
        chains: list[tuple[float, tuple[float, ...], list[Step]]] = [
            (0.0, (), [first] if starts else [])
        ]
        for lab in labs[int(starts):]:
            longer = []
            for _, misses, steps in chains:
                grows_from = steps[-1][0] if steps else pile
                for miss, step in _grown(
                    grows_from, lab, paints, [near * tolerance for near in nearer], fine
                ):
                    all_ = (*misses, miss)
                    harm = max(max(all_), tolerance) + 0.1 * sum(all_)
                    longer.append((harm + more, all_, [*steps, step]))
            # to come nearer than need be may help the planes beyond
            longer.sort(key=lambda one: one[0])
            chains = longer[: _CHAINS if fine else 1]
        return chains[0][0], chains[0][2]

    # a coarse look at all sets of tubes, a finer one at some, and every chain of the best
    looks = zip(_HOPEFUL, (_NEARER[:1], _NEARER[1:2]), (False, True), strict=True)
    for hopeful, nearer, fine in looks:
        harms = [grown(paints, nearer, fine)[0] for paints in sets]
        sets = [sets[i] for i in np.argsort(harms, kind="stable")[:hopeful]]
    tried = [grown(paints, _NEARER, True) for paints in sets]
    return min(tried, key=lambda one: one[0])[1]


def _grown(
    pile: Mixture, lab: Array, paints: list[Paint], limits: Sequence[float], fine: bool
) -> list[tuple[float, Step]]:
    """Return what a pile becomes by the fewest parts added that come to a colour, else nearest.

    For each of some limits of its miss, if that is not the same; with the miss.
    """
    first = paints[0]
    medium = Medium(
        np.array([pile.K, *(paint.K for paint in paints)]),
        np.array([pile.S, *(paint.S for paint in paints)]), first.surface, pile.view,
    )  # fmt: skip
    whole = _additions(len(paints), fine, STEP)
    misses = ciede2000(lab, medium.lab(whole))
    if fine and misses.min() > TOLERANCE:
        whole = _additions(len(paints), fine, STEEPEST)
        misses = ciede2000(lab, medium.lab(whole))
    found: list[tuple[float, Step]] = []
    for row in dict.fromkeys(int(first_within(misses, limit)) for limit in limits):
        taken, *parts = map(float, whole[row])
        added = {paint.id: n for paint, n in zip(paints, parts, strict=True) if n}
        words = " + ".join([f"{taken:g} of that", *(f"{n:g} {id}" for id, n in added.items())])
        amounts = tuple(taken * share for share in pile.shares.values())
        put = {paint: n for paint, n in zip(paints, parts, strict=True) if n}
        step = joined(replace(pile, amounts=amounts), put), words, taken, added
        found.append((float(misses[row]), step))
    return found


@lru_cache(maxsize=8)
def _additions(kinds: int, fine: bool, most: int) -> Array:
    """Return parts of a pile and of paints added (n, 1 + kinds), up to `most` in all.

    The first paint in whole parts, the others in finer ones too if `fine`; none more than
    :data:`STEEPEST` times another. Few paints first; then those that add little to much of the
    pile.
    """
    whole = np.arange(most, dtype=float)
    some = np.array([0, 0.25, 0.5, 1, 1.5, 2, 3, 4, 6]) if fine else whole
    each = np.meshgrid(whole[1:], whole, *[some] * (kinds - 1), indexing="ij")
    ways = np.stack(each, axis=-1).reshape(-1, 1 + kinds)
    total = ways.sum(axis=1)
    steep = ways.max(axis=1) / np.where(ways > 0, ways, np.inf).min(axis=1)
    ways = ways[(total > ways[:, 0]) & (total <= most) & (steep <= STEEPEST)]
    total = ways.sum(axis=1)
    order = np.lexsort((total / ways[:, 0] + total / most, (ways > 0).sum(axis=1)))
    return np.asarray(ways[order])


# --- two piles ------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class PileMix:
    """A plane mixed from two piles.

    Attributes
    ----------
    words : how, in parts of the piles
    share : of the horizon's pile in it
    mixture : the mix
    miss : CIEDE2000 from the plane
    """

    words: str
    share: float
    mixture: Mixture
    miss: float


@dataclass(frozen=True, eq=False)
class TwoPiles:
    """Every plane mixed from two piles alone, the foreground's and the horizon's.

    Attributes
    ----------
    near, far : how the piles are mixed
    steps : one a plane
    """

    near: str
    far: str
    steps: tuple[PileMix, ...]


def two_piles(
    found: Sequence[Plane],
    near: ArrayLike | Mixture,
    far: ArrayLike | Mixture,
    palette: Palette,
    *,
    tolerance: float = TOLERANCE,
    max_tubes: int = 4,
    parts: int = 12,
    view: Viewing | None = None,
) -> TwoPiles | None:
    """Return the planes mixed from two piles; None if both would be one and the same mix.

    Paint does not mix as light does in the air, so that some planes cannot be had like this: the
    miss says how near each comes.

    Parameters
    ----------
    found : the planes
    near, far : foreground and horizon, as mixes or as CIELAB (3,) to find recipes for
    palette, tolerance, max_tubes, parts, view : as for :func:`planes`

    Returns
    -------
    for each plane the fewest parts within the tolerance, in two steps where one cannot measure
    them, else the nearest
    """
    view = view or viewing()

    def pile(one: ArrayLike | Mixture) -> tuple[Mixture, str]:
        if isinstance(one, Mixture):
            return one, str(one)
        same = (p for p in found if p.taken is None and np.allclose(p.lab, one, atol=1e-6))
        if (plane := next(same, None)) is not None:
            return plane.mixture, plane.words
        made = find_recipe(
            one, palette, tolerance, max_tubes, parts=parts, view=view, alternatives=0
        ).recipe
        return made.mixture, str(made)

    (start, how_near), (end, how_far) = pile(near), pile(far)
    if start.shares == end.shares:
        return None
    path = Path(start, end)
    surface, unit = start.paints[0].surface, start.paints[0].unit
    as_paints = tuple(
        Paint(name, name, (), one.K, one.S, surface=surface, unit=unit)
        for name, one in zip(("foreground", "horizon"), (start, end), strict=True)
    )
    once = np.array([*np.eye(2, dtype=int), *compositions(2, STEP)])
    twice = ways(2)
    shares = np.concatenate([once[:, 1] / once.sum(axis=1), twice.shares[:, 1]])
    labs = path.lab(shares)
    steps = []
    for plane in found:
        misses = ciede2000(plane.lab, labs)
        i = int(first_within(misses, max(tolerance, float(misses.min()) + WORTH)))
        if i < len(once):
            how = " + ".join(f"{n} {p.id}" for n, p in zip(once[i], as_paints, strict=True) if n)
        else:
            row = i - len(once)
            how = str(in_two_steps(as_paints, twice.first[row], twice.then[row], view))
        share = float(shares[i])
        steps.append(PileMix(how, share, path.mixture(share), float(misses[i])))
    return TwoPiles(how_near, how_far, tuple(steps))
