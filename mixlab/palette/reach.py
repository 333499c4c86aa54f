"""What a palette mixes: its reach.

The reach is the gamut of all mixes, a solid in CIELAB. Its edge is known along rays of one
lightness and one hue (:mod:`mixlab.palette.edge`), each place with the mix that makes it, and
everything else follows. A colour is in reach where a mix comes as near as
:data:`~mixlab.nearest.many.INSIDE`.

Mixes of three tubes are sheets and mixes of two are lines: they have no volume of their own, and
:meth:`Reach.by_tubes` says how much of the gamut they come near to.
"""

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import FAMILIES, hue_family
from mixlab.colour.spaces import (
    Viewing,
    lab_to_lch,
    lab_to_munsell,
    lch_to_lab,
    munsell_to_lab,
    viewing,
)
from mixlab.errors import ReachError
from mixlab.nearest.many import INSIDE, Seeds
from mixlab.nearest.medium import medium_of
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette
from mixlab.palette.edge import Edge, Rays, volume

LIGHTNESS: Array = np.arange(1.25, 100.0, 2.5)
"""Levels at which the edge is known [L*], in the middle of slabs of equal thickness."""

HUES: Array = np.arange(0.0, 360.0, 5.0)
"""Hues at which the edge is known, CIELCh [degrees]."""

MOST_PAINTS = 60
"""Greatest number of tubes in a palette whose reach is looked for, which bounds time and memory."""

_TRACE = 1e-3  # effect of a paint in a mix that is not worth a mention
_WHITISH = 9.0  # Munsell value above which the renotation shrinks, and chroma says little
_ROUNDS = 3
_TOPS = 3  # of a family: at its border the grid of the edge ranks them falsely
_CLOSER = (1.0, 0.4)  # L*, and twice as many degrees, from ray to ray about the top
_TRIED = 12  # places for the top of a family, or for the farthest gain
_SPACING = 5.0  # CIELAB, of colours all over the gamut


@dataclass(frozen=True, eq=False)
class Place:
    """A colour of the edge, with the mix that makes it.

    Attributes
    ----------
    lab : CIELAB (3,)
    munsell : hue, value and chroma (3,)
    mixture : the mix, in shares that need not be whole
    """

    lab: Array
    munsell: Array
    mixture: Mixture


@dataclass(frozen=True, eq=False)
class Reach:
    """What a palette mixes with at most so many tubes.

    Attributes
    ----------
    palette : the tubes
    view : light, observer and finish
    tubes : greatest number of tubes in a mix; None for any
    seeds : mixes all over it, for :meth:`nearest`
    lightness, hue : (levels,), (hues,), where the edge is known: L* and CIELCh [degrees]
    greatest, least : (levels, hues), C* of the edge away from the neutral axis and toward it; nan
        where nothing is mixed. `least` is 0 where grey itself is mixed.
    shares : (levels, hues, p), the mixes of `greatest`
    """

    palette: Palette
    view: Viewing
    tubes: int | None
    seeds: Seeds
    lightness: Array
    hue: Array
    greatest: Array
    least: Array
    shares: Array

    @property
    def solid(self) -> bool:
        """Whether its mixes have a volume: those of three tubes or fewer do not."""
        return min(self.tubes or len(self.palette), len(self.palette)) > 3

    @property
    def edge_volume(self) -> float:
        """Volume [CIELAB, cubed] between the edges; 0 where mixes have none."""
        return volume(self.lightness, self.greatest, self.least) if self.solid else 0.0

    @cached_property
    def filled(self) -> float:
        """Share of what lies between the edges that is mixed, 0..1.

        All of it, but for dents: where a ray leaves the gamut and enters it again farther out, as
        it may between two blues.
        """
        labs = self.samples()
        return float(self.contains(labs).mean()) if len(labs) else 1.0

    @cached_property
    def volume(self) -> float:
        """Volume [CIELAB, cubed], dents taken off; 0 where mixes have none."""
        return self.edge_volume * self.filled if self.solid else 0.0

    @cached_property
    def volume_error(self) -> float:
        """How far `volume` may be off: the spacing of the rays, and of the colours in the dents.

        The first is half of what every second level or hue alone would change, the second one
        standard error.
        """
        if not self.solid:
            return 0.0
        halves = [
            volume(self.lightness[rows], self.greatest[rows, hues], self.least[rows, hues])
            for rows in (slice(0, None, 2), slice(1, None, 2))
            for hues in (slice(0, None, 2), slice(1, None, 2))
        ]
        rays = max(abs(half - self.edge_volume) for half in halves) / 2
        dents = math.sqrt(self.filled * (1 - self.filled) / max(len(self.samples()), 1))
        return rays + dents * self.edge_volume

    @cached_property
    def lab(self) -> Array:
        """CIELAB (levels, hues, 3) of the mixes of `greatest`; nan where there are none."""
        lab = self.seeds.medium.lab(np.nan_to_num(self.shares, nan=1.0))
        return np.where(np.isnan(self.greatest)[..., None], np.nan, lab)

    def nearest(self, labs: ArrayLike) -> tuple[Array, Array, Array]:
        """Return shares (n, p), CIELAB (n, 3) and miss (n,) of the nearest mix to colours (n, 3).

        Within reach the miss is below 0.1 nearly always; tests say how often.
        """
        return self.seeds.nearest(labs)

    def contains(self, labs: ArrayLike, within: float = INSIDE) -> NDArray[np.bool_]:
        """Return whether a mix comes so near to each colour (n, 3) [CIEDE2000]."""
        return np.asarray(self.nearest(labs)[2] <= within)

    def place(self, shares: ArrayLike) -> Place:
        """Return the colour and the mix of shares (p,), without traces."""
        shares = np.asarray(shares, dtype=float)
        effect = shares * self.seeds.medium.pull
        kept = np.flatnonzero(effect > _TRACE * effect.sum())
        paints = tuple(self.palette.paints[i] for i in kept)
        mixture = Mixture(paints, tuple(shares[kept] / shares[kept].sum()), self.view)
        return Place(mixture.lab, lab_to_munsell(mixture.lab, self.view), mixture)

    @cached_property
    def darkest(self) -> Place:
        """The darkest mix."""
        return self.place(self.seeds.lightest(-1.0))

    @cached_property
    def lightest(self) -> Place:
        """The lightest mix."""
        return self.place(self.seeds.lightest(1.0))

    @cached_property
    def highest_chroma(self) -> dict[str, Place]:
        """The mix of greatest Munsell chroma of each hue family; none where none has chroma 1."""
        return _highest_chroma(self)

    def greatest_chroma(self, lightness: ArrayLike, hue: ArrayLike) -> Edge:
        """Return the greatest chroma at lightness (n,) [L*] and hue (n,) [degrees], solved anew.

        The starts are the mixes at the four rays around, and seeds. C* is nan where nothing is
        mixed. Of random mixes one in some thousands lies beyond it by more than 0.3 C*.
        """
        lightness, hue = (
            np.asarray(v, dtype=float).ravel() for v in np.broadcast_arrays(lightness, hue)
        )
        rays = Rays(self.seeds, lightness, hue, _near(self.palette, self.tubes))
        rows = np.arange(len(rays))
        edge = rays.from_seeds(rows, 1.0)
        step, turn = self.lightness[1] - self.lightness[0], 360 / len(self.hue)
        level = (lightness - self.lightness[0]) / step
        around = hue / turn
        for up in (np.floor, np.ceil):
            i = np.clip(up(level), 0, len(self.lightness) - 1).astype(int)
            for side in (np.floor, np.ceil):
                j = side(around).astype(int) % len(self.hue)
                known = np.flatnonzero(~np.isnan(self.greatest[i, j]))
                rays.better(edge, self.shares[i[known], j[known]], rows[known], 1.0)
        return edge

    def greatest_munsell(self, hue: ArrayLike, value: ArrayLike) -> Array:
        """Return the greatest Munsell chroma at Munsell hue (0..100) and value (0..10), any shape.

        Nan where nothing is mixed. Lines of one Munsell hue bend in CIELAB: the ray is turned
        after each solve until the mix lies on the line.
        """
        hue, value = np.broadcast_arrays(
            np.asarray(hue, dtype=float), np.asarray(value, dtype=float)
        )
        wanted = np.stack([hue.ravel(), value.ravel(), np.full(hue.size, 4.0)], axis=1)
        for _ in range(_ROUNDS):
            lch = lab_to_lch(munsell_to_lab(wanted, self.view))
            found = self.greatest_chroma(lch[:, 0], lch[:, 2])
            there = ~np.isnan(found.chroma)
            lch[:, 1] = np.where(there, found.chroma, 1.0)
            chroma = lab_to_munsell(lch_to_lab(lch), self.view)[:, 2]
            wanted[:, 2] = np.where(there, chroma, wanted[:, 2])
        return np.where(there, wanted[:, 2], np.nan).reshape(hue.shape)

    def slice(self, value: float, step: float = 3.0) -> tuple[Array, Array]:
        """Return a slice at the lightness of a grey of one Munsell value.

        Returns
        -------
        hue : (n,), CIELCh [degrees], from 0 to 360
        chroma : (n, 2), least and greatest C*; nan where nothing is mixed
        """
        hue = np.arange(0.0, 360.0 + step / 2, step)
        lightness = munsell_to_lab([0.0, value, 0.0], self.view)[0]
        greatest = self.greatest_chroma(lightness, hue).chroma
        level = int(np.abs(self.lightness - lightness).argmin())
        least = np.interp(hue, np.append(self.hue, 360.0), _closed(self.least[level]))
        return hue, np.stack([np.where(np.isnan(greatest), np.nan, least), greatest], axis=1)

    # --- parts of it ----------------------------------------------------------------------------

    def by_tubes(self, tolerance: float = TOLERANCE) -> dict[int, float]:
        """Return how much of the gamut mixes of at most 1, 2, 3 and 4 tubes come near to, 0..1.

        Colours evenly all over the gamut are asked for, and the share of them to which a mix comes
        within the tolerance is counted. Empty for a palette of three tubes or fewer.
        """
        whole = self if self.solid else reach(self.palette, None, self.view)
        labs = whole.samples()
        if not (whole.solid and len(labs)):
            return {}
        most = min(self.tubes or 4, 4, len(self.palette))
        return {
            n: float((whole.seeds.at_most(n).nearest(labs)[2] <= tolerance).mean())
            for n in range(1, most + 1)
        }

    def samples(self) -> Array:
        """Return colours (n, 3) evenly all over the gamut."""
        return _samples(self, _SPACING)

    def without(self, id: str) -> "Reach":
        """Return the reach of the palette without one of its tubes.

        Only what that tube had a part in is looked for anew.

        Raises
        ------
        ReachError : for a tube that is not on the palette, or the only one
        """
        return _without(self, id)


def reach(palette: Palette, tubes: int | None = None, view: Viewing | None = None) -> Reach:
    """Return what a palette mixes.

    Parameters
    ----------
    palette : the tubes
    tubes : greatest number of tubes in a mix; None for any number
    view : light, observer and finish; D65, 2 degree, gloss unless told

    Returns
    -------
    Reach : ``.volume``, ``.greatest``, ``.highest_chroma``, ``.darkest`` and more

    Raises
    ------
    ReachError : for a number of tubes below one, or a palette that is too large
    """
    if tubes is not None and tubes < 1:
        raise ReachError(f"{tubes} tubes in a mix: it must be 1 or more")
    if len(palette) > MOST_PAINTS:
        raise ReachError(
            f"{len(palette)} tubes are too many for a reach; name up to {MOST_PAINTS} of them"
        )
    most = None if tubes is None or tubes >= len(palette) else tubes
    return _known(palette, view or viewing(), most)


@lru_cache(maxsize=4)
def _known(palette: Palette, view: Viewing, tubes: int | None) -> Reach:
    medium = medium_of(palette, view)
    return _reach(palette, view, tubes, Seeds.of(medium, tubes))


def _reach(
    palette: Palette,
    view: Viewing,
    tubes: int | None,
    seeds: Seeds,
    start: Edge | None = None,
    anew: Indices | None = None,
) -> Reach:
    near = _near(palette, tubes)
    lightness, hue = np.meshgrid(LIGHTNESS, HUES, indexing="ij")
    rays = Rays(seeds, lightness.ravel(), hue.ravel(), near)
    edge = rays.solve(_beside(lightness.shape), 1.0, start, anew)
    greatest = edge.chroma.reshape(lightness.shape)
    least = np.where(np.isnan(greatest), np.nan, 0.0)
    # where grey is not mixed, the gamut stands away from the axis
    greys = np.stack([LIGHTNESS, 0 * LIGHTNESS, 0 * LIGHTNESS], axis=1)
    away = (seeds.nearest(greys)[2] > near) & ~np.isnan(greatest).all(axis=1)
    if away.any():
        some = lightness[away].shape
        rays = Rays(seeds, lightness[away].ravel(), hue[away].ravel(), near)
        inner = rays.solve(_beside(some), -1.0).chroma.reshape(some)
        inner = np.where(np.isnan(inner), greatest[away], inner)
        least[away] = np.minimum(inner, greatest[away])
    shares = edge.shares.reshape(*lightness.shape, -1)
    return Reach(palette, view, tubes, seeds, LIGHTNESS, HUES, greatest, least, shares)


def first_of(reach: Reach, family: int, mixes: Array) -> tuple[int, Place] | None:
    """Return row and place of the first of mixes (n, p) that is of a Munsell hue family.

    Without traces a mix may be of the family beside; a dozen are tried.
    """
    for row, shares in enumerate(mixes[:_TRIED]):
        place = reach.place(shares)
        if hue_family(place.munsell[0]) == family:
            return row, place
    return None


def _by_chroma(hvc: Array, family: int) -> Indices:
    """Return the rows of colours (n, 3) of a hue family of chroma 1 or more, the highest first."""
    mine = np.flatnonzero(
        (hue_family(hvc[:, 0]) == family) & (hvc[:, 1] <= _WHITISH) & (hvc[:, 2] >= 1)
    )
    return np.asarray(mine[np.argsort(-hvc[mine, 2], kind="stable")])


def _near(palette: Palette, tubes: int | None) -> float:
    """Return how near to a ray a mix must come: of one or two tubes hardly any lies on it."""
    return INSIDE if min(tubes or 3, len(palette)) > 2 else TOLERANCE


def _beside(shape: tuple[int, ...]) -> list[Indices]:
    """Return for each ray of a grid the ones above, below, left and right of it."""
    grid = np.arange(np.prod(shape)).reshape(shape)
    return [
        np.asarray(near.ravel(), dtype=int)
        for near in (
            np.roll(grid, 1, 1), np.roll(grid, -1, 1),
            np.vstack([grid[1:], grid[-1:]]), np.vstack([grid[:1], grid[:-1]]),
        )
    ]  # fmt: skip


def _closed(around: Array) -> Array:
    return np.append(around, around[:1])


def _highest_chroma(reach: Reach) -> dict[str, Place]:
    there = tuple(np.argwhere(~np.isnan(reach.greatest)).T)
    outer = reach.seeds.outer
    shares = np.concatenate([
        reach.shares[there], reach.seeds.shares[outer], np.eye(len(reach.palette))
    ])  # fmt: skip
    families = range(len(FAMILIES))
    for span in _CLOSER:
        # the grid of the edge is coarse: look about the tops in ever smaller steps
        lab = reach.seeds.medium.lab(shares)
        hvc = lab_to_munsell(lab, reach.view)
        rows = np.concatenate([_by_chroma(hvc, i)[:_TOPS] for i in families])
        if not len(rows):
            return {}
        L, _, hue = lab_to_lch(lab[rows]).T
        about = np.arange(-2, 3)
        edge = reach.greatest_chroma(
            L[:, None, None] + span * about[:, None], hue[:, None, None] + 2 * span * about
        )
        fresh = ~np.isnan(edge.chroma)
        shares = np.concatenate([shares[rows], edge.shares[fresh]])
    hvc = lab_to_munsell(reach.seeds.medium.lab(shares), reach.view)
    found = [first_of(reach, i, shares[_by_chroma(hvc, i)]) for i in families]
    return {name: one[1] for name, one in zip(FAMILIES, found, strict=True) if one is not None}


def _without(reach: Reach, id: str) -> Reach:
    if id not in reach.palette.ids:
        raise ReachError(f"{id} is not on the palette; it holds {', '.join(reach.palette.ids)}")
    if len(reach.palette) == 1:
        raise ReachError(f"{id} is the only tube of the palette")
    gone = reach.palette.ids.index(id)
    rest = [i for i in range(len(reach.palette)) if i != gone]
    names = [reach.palette.ids[i] for i in rest]
    palette = reach.palette.table.palette(names, f"{reach.palette.name} without {id}")
    pull = reach.seeds.medium.pull
    effect = reach.shares * pull
    used = effect[..., gone] > _TRACE * effect.sum(axis=-1)
    anew = used & ~np.isnan(reach.greatest)
    start = Edge(
        np.where(anew, np.nan, reach.greatest).ravel(),
        reach.shares[..., rest].reshape(-1, len(rest)), reach.lab.reshape(-1, 3),
    )  # fmt: skip
    seeds = reach.seeds.without(gone)
    return _reach(palette, reach.view, reach.tubes, seeds, start, np.flatnonzero(anew))


def _samples(reach: Reach, step: float) -> Array:
    top = np.nanmax(reach.greatest, initial=0.0)
    sides = np.arange(-np.ceil(top / step), np.ceil(top / step) + 1) * step
    levels = reach.lightness[:: max(1, round(step / (reach.lightness[1] - reach.lightness[0])))]
    labs = np.stack(np.meshgrid(levels, sides, sides, indexing="ij"), -1).reshape(-1, 3)
    _, chroma, hue = lab_to_lch(labs).T
    i = np.searchsorted(reach.lightness, labs[:, 0])
    share, j = np.modf(hue / (360 / len(reach.hue)))
    j = j.astype(int) % len(reach.hue)
    beside = (j + 1) % len(reach.hue)
    low, high = (
        (1 - share) * edge[i, j] + share * edge[i, beside]
        for edge in (reach.least, reach.greatest)
    )
    return np.asarray(labs[(low <= chroma) & (chroma <= high)])
