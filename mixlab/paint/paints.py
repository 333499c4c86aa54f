"""One paint: its names, its curves, and what a painter asks of it by itself.

References
----------
.. [1] ASTM D4838, Standard Test Method for Determining the Relative Tinting Strength of Chromatic
       Paints: the ratio of what two paints do to K/S of a white at the wavelength of greatest
       absorption.
.. [2] ISO 6504-3, Paints and varnishes - Determination of hiding power: contrast ratio, the
       luminous reflectance over black divided by that over white; 0.98 counts as hiding.

Opacity as tubes state it is more than hiding. One coat of a dark paint hides whatever it is laid
on, by absorbing; it is transparent all the same, since thinned to a glaze it lets the ground shine
through. So a class takes two contrast ratios: of a drawdown of usual thickness, one coat, and of
the paint let down with clear medium, where absorption is weak and what hides is scattering.
"""


import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import (
    WAVELENGTHS,
    Viewing,
    reflectance_to_lab,
    reflectance_to_xyz,
    viewing,
)
from mixlab.errors import TableError
from mixlab.paint import optics
from mixlab.paint.pigments import EVERYDAY, OVERWHELMING, Pigment, index_base, known_pigments

TRANSPARENCIES = ("transparent", "semi-transparent", "semi-opaque", "opaque")
BASES = ("fitted", "modelled", "measured", "mixture")

COAT = 20.0
"""Thickness of one coat [1 / S of the white in whose unit the table stands]: the thinnest film of
a white that absorbs nothing which hides by ISO 6504-3 (contrast ratio 0.98), with the surface of
the bundled table. A coat of a table in zinc white is the film in which that zinc white hides: a
thicker one than a coat of titanium white, which is the unit of the bundled table."""

COAT_MM = 0.1
"""About how thick a coat of artists' titanium white is [mm]: from memory, and good to a factor of
two. Thicknesses are computed in coats; this is to give the hand an idea of them."""

WHITE_GROUND, BLACK_GROUND = 0.8, 0.0
"""Reflectance under the film of the two grounds of ISO 6504-3 (white 0.80, black below 0.05)."""

HIDES = 0.98
"""Contrast ratio from which a film hides; ISO 6504-3."""

COAT_CLASSES, LET_DOWN_CLASSES = (0.5, 0.78, 0.83), (0.055, 0.08, 0.11)
"""Contrast ratios from which a paint is semi-transparent, semi-opaque and opaque. Our own choice,
set on the labels of the fitted paints (from memory): the two films must both be of the class."""

_LET_DOWN, _ABSORBS = 0.1, 0.5
"""Greatest thickness of a paint let down [coats], and K times thickness where it absorbs most; the
latter was chosen, of 0.35 to 1.4, as the one that parts the same labels widest."""

_COLOUR, _STRONG, _POISON, _FADES = 6, 2, 2, 6
"""How far a tube is held in reserve [parts]: what is not on every palette, what overwhelms, what
must not be swallowed, what fades. Chosen by eye on 200 colours of photographs: our own, no source.
"""

_EVEN = 0.5  # least over greatest K from which a paint is a grey or a black
_SEEN = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)


ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""The id of a paint: lower-case words joined by hyphens."""

INDEX_NAME = re.compile(r"[PN](B|Bk|Br|G|M|O|R|V|W|Y)\d+(:\d+)?", re.IGNORECASE)
"""A Colour Index generic name: P or N (pigment, natural), the letters of the hue, a number, and
perhaps a variety after a colon, as PB29, PBk9, NR4, PR101, PB15:3."""

SURFACE = optics.Surface(0.03, 0.65)
"""The surface of the bundled table's figures, specular included; Berns 2016."""


@dataclass(frozen=True, eq=False)
class Paint:
    """A paint of a pigment table.

    Attributes
    ----------
    id : short name used in mixes, e.g. "burnt-sienna"
    name : common name
    colour_index : Colour Index generic names, e.g. ("PBr7",)
    K, S : (36,), absorption and scattering on the grid, per unit of thickness of the table
    transparency : one of :data:`TRANSPARENCIES`, as tubes are labelled, or "" where not known
    basis : "fitted" to published figures, "modelled" from facts, "measured", or a "mixture" of
        other paints of the table
    source : where the figures or the facts come from
    masstone_miss, tint_miss : CIEDE2000 to the published masstone, and the greatest to its tints
        in white; nan where there is none to compare with
    cautions : what can hurt; the maker's safety data sheet has the last word
    surface : what the boundary to the air does in this table's figures
    uncertainty : likely CIEDE2000 of a prediction with this paint; nan where nobody knows
    unit : id of the white in whose unit K and S stand, its S being 1 near 550 nm; "" is the
        titanium white of the bundled table. Paints of different units cannot be mixed
    """

    id: str
    name: str
    colour_index: tuple[str, ...]
    K: Array
    S: Array
    transparency: str = ""
    basis: str = ""
    source: str = ""
    masstone_miss: float = float("nan")
    tint_miss: float = float("nan")
    cautions: str = ""
    surface: optics.Surface = SURFACE
    uncertainty: float = float("nan")
    unit: str = ""

    @cached_property
    def reflectance(self) -> Array:
        """Measured reflectance (36,) of the masstone."""
        return self.surface.measured(optics.opaque(self.K, self.S))

    @cached_property
    def lab(self) -> Array:
        """CIELAB (3,) of the masstone as measured: D65, 2 degree, matt."""
        return reflectance_to_lab(self.reflectance, viewing(finish="matt"))

    @cached_property
    def opacity_class(self) -> str:
        """The class, one of :data:`TRANSPARENCIES`, that the curves speak for."""
        view = viewing()
        return opacity_class(
            float(contrast_ratio(self.K, self.S, self.surface, view)),
            float(let_down_contrast_ratio(self.K, self.S, view)),
        )

    @cached_property
    def pigments(self) -> tuple[Pigment, ...]:
        """What is known of its pigments, that which light changes most first."""
        return known_pigments(self.colour_index)

    @property
    def fading(self) -> str:
        """What light does to a doubtful or fugitive paint, as a caution; "" for any other."""
        return self.pigments[0].fading if self.pigments else ""

    @cached_property
    def reserve(self) -> int:
        """How many parts more a painter would rather measure than reach for this tube.

        0 of what stands on every palette: whites, earths, blacks, ultramarine. More of any other
        colour, and of one that overwhelms, that must not be swallowed, or that fades.
        """
        names = set(map(index_base, self.colour_index))
        everyday = self.is_white or (names and names <= EVERYDAY)
        return (
            _COLOUR * (not everyday) + _STRONG * bool(names & OVERWHELMING)
            + _POISON * ("swallow" in self.cautions) + _FADES * bool(self.fading)
        )

    @property
    def is_white(self) -> bool:
        """Whether the masstone is white: L* of 90 or more and C* below 8."""
        return bool(self.lab[0] >= 90 and np.hypot(*self.lab[1:]) < 8)


def common_unit(paints: Iterable[Paint]) -> str:
    """Return the unit that paints share; TableError if units, or surface constants, differ."""
    paints = tuple(paints)
    whites: dict[str, str] = {}
    for paint in paints:
        whites.setdefault(paint.unit, paint.id)
    if len(whites) > 1:
        (one, first), (other, second) = [
            (unit or "the bundled table's titanium white", id) for unit, id in whites.items()
        ][:2]
        raise TableError(
            f"K and S of {first} stand in the unit of {one}, those of {second} in that of {other}; "
            "such paints cannot be mixed"
        )
    for paint in paints:
        if paint.surface != paints[0].surface:
            raise TableError(
                "saunderson_k1 and saunderson_k2 must be the same for all paints; those "
                f"of {paints[0].id} and {paint.id} differ, and such paints cannot be mixed"
            )
    return next(iter(whites), "")


def tinting_strength(paint: Paint, reference: Paint, white: Paint, share: float = 0.1) -> float:
    """Return the tinting strength of `paint` relative to `reference` (1 = as strong); ASTM D4838.

    Each paint is mixed with `white`, one part in ten by default; what its tint adds to K/S of the
    white, at the wavelength where that is greatest, is compared. 0 for a paint that adds nothing,
    nan if the reference adds nothing.
    """

    seen = white.S > 0

    def pull(one: Paint) -> float:
        k, s = share * one.K + (1 - share) * white.K, share * one.S + (1 - share) * white.S
        added = float(np.max(k[seen] / s[seen] - white.K[seen] / white.S[seen]))
        return added if added > 1e-9 else 0.0  # less is the rounding of the white's own K/S

    of_reference = pull(reference)
    return pull(paint) / of_reference if of_reference else float("nan")


def contrast_ratio(
    k: ArrayLike, s: ArrayLike, surface: optics.Surface, view: Viewing, coats: ArrayLike = 1.0
) -> Array:
    """Return the contrast ratio (...,) of films, 0 (clear) to 1 (hides); ISO 6504-3.

    Parameters
    ----------
    k, s : (..., 36), per unit of the table
    surface : of the table's figures
    view : light and observer that weight the reflectance
    coats : (...,), thickness of the films, in coats (see :data:`COAT`)
    """
    thickness = np.asarray(coats, dtype=float)[..., None] * COAT
    black, white = (
        reflectance_to_xyz(surface.measured(one), view)[..., 1]
        for one in _over_grounds(k, s, thickness)
    )
    return np.asarray(black / white)


def let_down_contrast_ratio(k: ArrayLike, s: ArrayLike, view: Viewing) -> Array:
    """Return the contrast ratio (...,) of paints let down with clear medium, 0..1.

    Each film is as thin as takes K times thickness to a half where the paint absorbs most between
    420 and 700 nm, and at most a tenth of a coat; that tenth where it is a grey or a black, which
    has no colour to shine through. What counts is light from within, as under a dark glaze the
    surface would pass for hiding; of X, Y and Z alike, as Y hardly sees what a blue scatters; and
    each wavelength by what it sends back over white, for there the ground shines through.

    Parameters
    ----------
    k, s : (..., 36), per unit of the table
    view : light and observer that weight the reflectance
    """
    k = np.asarray(k, dtype=float)
    most, least = k[..., _SEEN].max(axis=-1), k[..., _SEEN].min(axis=-1)
    thinned = np.where(least < _EVEN * most, _ABSORBS / np.maximum(most, 1e-12), np.inf)
    thickness = np.minimum(thinned, _LET_DOWN * COAT)[..., None]
    black, white = _over_grounds(k, s, thickness)
    weights = white * (view.weights / view.white).sum(axis=1)
    return np.asarray((weights * black).sum(axis=-1) / (weights * white).sum(axis=-1))


def _over_grounds(k: ArrayLike, s: ArrayLike, thickness: ArrayLike) -> tuple[Array, Array]:
    """Return the internal reflectance of films (..., 36) over the black and the white ground."""
    black, white = (optics.film(k, s, thickness, g) for g in (BLACK_GROUND, WHITE_GROUND))
    return black, white


def opacity_class(coat: float, let_down: float) -> str:
    """Return the class, one of :data:`TRANSPARENCIES`, of a paint: the lower of two.

    Parameters
    ----------
    coat : :func:`contrast_ratio` of its drawdown
    let_down : its :func:`let_down_contrast_ratio`
    """
    return TRANSPARENCIES[
        min(bisect_right(COAT_CLASSES, coat), bisect_right(LET_DOWN_CLASSES, let_down))
    ]
