"""Mixes under other lights: which keep their relations, which part, which pairs are metameric.

A painting is made in one light and hung in another. The eye adapts to the light as a whole; what is
left when its white is discounted is the mix's own *colour inconstancy*. Two mixes that match in one
light and part in another are *metameric*.

References
----------
.. [1] CIE 15:2018, Colorimetry, 9.2: special metamerism index, change in illuminant: the difference
       of a pair under the test light, its mismatch under the reference light having been taken out
       by factors on X, Y and Z.
.. [2] M. R. Luo, C. J. Li, R. W. G. Hunt, B. Rigg, K. J. Smith, "CMC 2002 colour inconstancy index:
       CMCCON02", Coloration Technology 119 (2003) 280-285: the difference between a colour under
       the reference light and its corresponding colour from the test light. There the adaptation
       is CAT02; here it is Bradford's (Lam 1985), as elsewhere in mixlab, and the difference
       CIEDE2000.
"""


import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.spaces import (
    Viewing,
    adapt,
    lab_to_value,
    reflectance_to_xyz,
    xyz_to_lab,
)
from mixlab.errors import LightError
from mixlab.paint.mixtures import Mixture

PARTS = ("value", "chroma", "hue")
"""The parts of a shift, in the order of :func:`mixlab.colour.difference.difference`."""

SEEN = 0.5
"""A shift of less than this in any part is not named [CIEDE2000]."""

STRAINED = 2.0
"""A change of what lies between two mixes from which on their relation is lost [CIEDE2000]; that
of a painter's tolerance, common practice, no source."""

_SEEN = 0.25  # L* below which no eye sees which of two is the lighter


def seen_under(reflectance: ArrayLike, view: Viewing, reference: Viewing) -> Array:
    """Return CIELAB (..., 3) of reflectances (..., 36) under a light, adapted to a reference light.

    What the eye, adapted to `view`, sees there is told as what looks the same under `reference`.
    """
    xyz = adapt(reflectance_to_xyz(reflectance, view), view.white, reference.white)
    return xyz_to_lab(xyz, reference.white)


def inconstancy(reflectance: ArrayLike, view: Viewing, reference: Viewing) -> Array:
    """Return colour inconstancy (...,) of reflectances (..., 36) [CIEDE2000]; after CMCCON02."""
    return ciede2000(
        seen_under(reflectance, reference, reference), seen_under(reflectance, view, reference)
    )


def metamerism(one: ArrayLike, other: ArrayLike, view: Viewing, reference: Viewing) -> Array:
    """Return the special metamerism index (...,) of pairs of reflectances (..., 36) [CIEDE2000].

    How far the two part under `view`, what parts them under `reference` already having been taken
    out of the second by factors on X, Y and Z; CIE 15:2018, 9.2.
    """
    at_home = [reflectance_to_xyz(r, reference) for r in (one, other)]
    away = [reflectance_to_xyz(r, view) for r in (one, other)]
    mended = away[1] * at_home[0] / at_home[1]
    return ciede2000(xyz_to_lab(away[0], view.white), xyz_to_lab(mended, view.white))


@dataclass(frozen=True, eq=False)
class Pair:
    """Two mixes, and what another light does to what lies between them.

    Attributes
    ----------
    one, other : places of the mixes
    before : CIEDE2000 between them under the reference light
    after : the same under each light (n,)
    metamerism : special metamerism index under each light (n,)
    swapped : (n,), whether the one that was the lighter is now the darker
    """

    one: int
    other: int
    before: float
    after: Array
    metamerism: Array
    swapped: NDArray[np.bool_]

    @property
    def lost(self) -> NDArray[np.bool_]:
        """Whether their relation is lost under each light (n,); see :data:`STRAINED`."""
        return np.asarray(self.swapped | (np.abs(self.after - self.before) >= STRAINED))

    @property
    def strain(self) -> float:
        """The greatest change of what lies between the two [CIEDE2000]."""
        return float(np.abs(self.after - self.before).max())


@dataclass(frozen=True, eq=False)
class Constancy:
    """Mixes under several lights.

    Attributes
    ----------
    mixtures : m mixes
    reference : the light that they were mixed for
    lights : n others
    lab : (n, m, 3), as seen under each light by an eye adapted to it, told under the reference
    home : (m, 3), under the reference
    inconstancy : (n, m), CIEDE2000
    pairs : of all mixes, those that part most first
    """

    mixtures: tuple[Mixture, ...]
    reference: Viewing
    lights: tuple[Viewing, ...]
    lab: Array
    home: Array
    inconstancy: Array
    pairs: tuple[Pair, ...]

    @property
    def shift(self) -> Array:
        """How each mix moves under each light, by part (n, m, 3): value, chroma and hue.

        The parts of CIEDE2000, positive for lighter, higher in chroma, and a greater hue
        angle; the length of the three is the inconstancy.
        """
        return difference(self.home, self.lab)

    @property
    def part(self) -> list[list[str]]:
        """The part that moves most, of each mix (m) under each light (n), in words.

        One of :data:`PARTS`; "" where no part moves by as much as :data:`SEEN`.
        """
        return [
            [PARTS[parts.argmax()] if parts.max() >= SEEN else "" for parts in row]
            for row in np.abs(self.shift)
        ]

    @property
    def value(self) -> Array:
        """Munsell value (n + 1, m): under the reference, then under each light."""
        return lab_to_value(np.concatenate([self.home[None], self.lab]), self.reference)

    @property
    def keeps(self) -> NDArray[np.bool_]:
        """Whether each mix keeps its relations under each light (n, m).

        It does where to every other mix the order of value holds and what lies between the two
        changes by less than :data:`STRAINED`. A mix by itself has no relations to lose.
        """
        kept = np.ones(self.inconstancy.shape, dtype=bool)
        for pair in self.pairs:
            kept[:, [pair.one, pair.other]] &= ~pair.lost[:, None]
        return kept

    def parted(self, light: int) -> list[tuple[int, list[int]]]:
        """Return who loses the relation to whom under a light, the one that loses most first.

        Each pair that loses it is told once, with the mix that parts from more of the others.
        """
        lost = [(pair.one, pair.other) for pair in self.pairs if pair.lost[light]]
        told = []
        while lost:
            everyone = sorted({i for pair in lost for i in pair})
            worst = max(everyone, key=lambda i: (
                sum(i in pair for pair in lost), self.inconstancy[light, i]
            ))  # fmt: skip
            others = sorted(i for pair in lost if worst in pair for i in pair if i != worst)
            told.append((worst, others))
            lost = [pair for pair in lost if worst not in pair]
        return told

    @property
    def order(self) -> list[int]:
        """Places of the mixes, the most constant first, by their greatest inconstancy."""
        return [int(i) for i in np.argsort(self.inconstancy.max(axis=0), kind="stable")]


def constancy(
    mixtures: Sequence[Mixture], lights: Sequence[Viewing], reference: Viewing | None = None
) -> Constancy:
    """Return what other lights do to mixes and to what lies between them.

    Parameters
    ----------
    mixtures : one or more
    lights : the other lights, see :func:`mixlab.colour.spaces.viewing`
    reference : that they were mixed for; the view of the first mix unless told. All are seen in
        its finish

    Raises
    ------
    LightError : if there is no mix, or no light
    """
    if not mixtures or not lights:
        raise LightError("give at least one mix and one light to see it under")
    reference = reference or mixtures[0].view
    curves = np.array([replace(mixture, view=reference).reflectance for mixture in mixtures])
    home = seen_under(curves, reference, reference)
    lab = np.array([seen_under(curves, view, reference) for view in lights])
    pairs = []
    for i, j in itertools.combinations(range(len(mixtures)), 2):
        lighter, now = home[i, 0] - home[j, 0], lab[:, i, 0] - lab[:, j, 0]
        pairs.append(Pair(
            i, j, float(ciede2000(home[i], home[j])), ciede2000(lab[:, i], lab[:, j]),
            np.array([metamerism(curves[i], curves[j], view, reference) for view in lights]),
            (lighter * now < 0) & (np.abs(now) > _SEEN) & (abs(lighter) > _SEEN),
        ))  # fmt: skip
    pairs.sort(key=lambda pair: -pair.strain)
    moved = ciede2000(home, lab)
    return Constancy(tuple(mixtures), reference, tuple(lights), lab, home, moved, tuple(pairs))
