"""A mix: parts to curve to colour; steps; how sensitive it is to a quarter part."""


from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import (
    Viewing,
    in_gamut,
    lab_to_hex,
    lab_to_lch,
    lab_to_munsell,
    lab_to_value,
    reflectance_to_lab,
    viewing,
)
from mixlab.errors import MixlabError, NotationError
from mixlab.paint import optics, trust
from mixlab.paint.names import LEAST_PARTS, MOST_PARTS, POSITIVE
from mixlab.paint.paints import (
    Paint,
    common_unit,
    contrast_ratio,
    let_down_contrast_ratio,
    opacity_class,
)

SLIP = 0.25
"""A painter's slip of the knife [parts]."""

STRONG = 2.0
"""A paint whose quarter part moves the mix by more than this [CIEDE2000] is added in two goes."""


@dataclass(frozen=True, eq=False)
class Step:
    """One addition on the way to a recipe, with the colour to expect after it."""

    paint: Paint
    parts: float
    lab: Array
    munsell: str
    hex: str


@dataclass(frozen=True)
class Sensitivity:
    """How far the colour moves if one paint is off by a quarter part.

    Attributes
    ----------
    paint : id of the paint that the mix is most sensitive to
    miss : how far its slip moves the mix [CIEDE2000]
    by_paint : the same for each paint
    """

    paint: str
    miss: float
    by_paint: dict[str, float]


@dataclass(frozen=True, eq=False)
class Mixture:
    """Paints and parts, with everything that follows from them, as they are seen.

    Parameters
    ----------
    paints : the paints, of one table
    amounts : parts of each, positive, in any unit
    view : light, observer and finish; D65, 2 degree, gloss unless told

    Raises
    ------
    NotationError : if parts are missing or not above zero, or a paint is there twice
    TableError : if the paints come from tables with different surface constants, or with K and S
        in different units
    """

    paints: tuple[Paint, ...]
    amounts: tuple[float, ...]
    view: Viewing = field(default_factory=viewing)

    def __post_init__(self) -> None:
        if not self.paints or len(self.paints) != len(self.amounts):
            raise NotationError("a mix needs at least one paint, and parts for each")
        for paint, amount in zip(self.paints, self.amounts, strict=True):
            if not LEAST_PARTS <= amount <= MOST_PARTS:
                raise NotationError(f"{amount:g} parts of {paint.id}: {POSITIVE}")
        if len(self.parts) < len(self.paints):
            raise NotationError("a paint is in the mix twice; add its parts together")
        common_unit(self.paints)

    @property
    def parts(self) -> dict[str, float]:
        """Parts of each paint, by id."""
        return {paint.id: n for paint, n in zip(self.paints, self.amounts, strict=True)}

    @property
    def shares(self) -> dict[str, float]:
        """Parts of each paint as shares that sum to one, by id."""
        total = sum(self.amounts)
        return {paint: n / total for paint, n in self.parts.items()}

    @cached_property
    def _curves(self) -> Array:
        """K and S of the paints (2, p, 36)."""
        return np.array([[paint.K, paint.S] for paint in self.paints]).swapaxes(0, 1)

    @cached_property
    def K(self) -> Array:
        """Absorption (36,) of the mix."""
        return optics.mix(self.amounts, self._curves[0])

    @cached_property
    def S(self) -> Array:
        """Scattering (36,) of the mix."""
        return optics.mix(self.amounts, self._curves[1])

    @property
    def surface(self) -> optics.Surface:
        """The surface of the paints, as the finish shows it."""
        return self.paints[0].surface.seen(self.view.specular)

    @cached_property
    def reflectance(self) -> Array:
        """Reflectance (36,) of a layer that hides its ground under the finish, 0..1."""
        return self.surface.measured(optics.opaque(self.K, self.S))

    @cached_property
    def lab(self) -> Array:
        """CIELAB (3,) as the mix is seen: light, observer, finish."""
        return reflectance_to_lab(self.reflectance, self.view)

    def _lab_of(self, amounts: Array) -> Array:
        """Return CIELAB (..., 3) of other amounts (..., p) of the paints."""
        k, s = (optics.mix(amounts, curves) for curves in self._curves)
        return reflectance_to_lab(self.surface.measured(optics.opaque(k, s)), self.view)

    @property
    def lch(self) -> Array:
        """CIELCh (3,), hue in degrees."""
        return lab_to_lch(self.lab)

    @cached_property
    def munsell(self) -> str:
        """Munsell notation (C / 2 degree, adapted from the mix's light)."""
        return write_munsell(lab_to_munsell(self.lab, self.view))

    @property
    def hex(self) -> str:
        """The nearest sRGB colour, "#rrggbb"."""
        return lab_to_hex(self.lab, self.view)

    @property
    def in_gamut(self) -> bool:
        """Whether `hex` shows the colour unclipped."""
        return bool(in_gamut(self.lab, self.view))

    def under(
        self, light: str = "D65", observer: str = "2", finish: str | None = None
    ) -> "Mixture":
        """Return the same mix under another light and observer, in its own finish unless told."""
        return replace(self, view=viewing(light, observer, finish or self.view.finish))

    @cached_property
    def sunk(self) -> "Mixture":
        """The same mix once it has sunk in: dried matt."""
        return self.under(self.view.light, self.view.observer, "matt")

    @property
    def sinking(self) -> tuple[float, float]:
        """How far sinking in takes Munsell value and C*; oiling out or varnish brings them back."""
        value = lab_to_value(np.array([self.lab, self.sunk.lab]), self.view)
        return float(value[1] - value[0]), float(self.sunk.lch[1] - self.lch[1])

    def contrast_ratio(self, coats: float = 1.0) -> float:
        """Return the contrast ratio, 0..1, of a film of so many coats; see `paints.COAT`."""
        if not coats > 0:
            raise MixlabError(f"{coats:g} coats: the thickness of a film is above zero")
        return float(contrast_ratio(self.K, self.S, self.paints[0].surface, self.view, coats))

    @cached_property
    def let_down_contrast_ratio(self) -> float:
        """Contrast ratio, 0..1, let down with clear medium; see `mixlab.paint.paints`."""
        return float(let_down_contrast_ratio(self.K, self.S, self.view))

    def opacity_class(self, coats: float = 1.0) -> str:
        """Return "opaque" .. "transparent", by a film of so many coats and by the mix let down."""
        return opacity_class(self.contrast_ratio(coats), self.let_down_contrast_ratio)

    @cached_property
    def sensitivity(self) -> Sensitivity:
        """How far a quarter part too much or too little moves the colour."""
        base = np.array(self.amounts)
        nudge = SLIP * np.eye(len(base))
        # a paint of which there is less than the slip can at most be left out
        less = np.clip(base - nudge, 1e-12, None)
        shares = np.stack([base + nudge, less]) if len(base) > 1 else base[None, None]
        moved = ciede2000(self.lab, self._lab_of(shares)).max(axis=0)
        by_paint = {p.id: float(m) for p, m in zip(self.paints, moved, strict=True)}
        worst = max(by_paint, key=lambda paint: by_paint[paint])
        return Sensitivity(worst, by_paint[worst], by_paint)

    @cached_property
    def likely_error(self) -> float:
        """Likely CIEDE2000 between this prediction and the paint itself; see `mixlab.paint.trust`.

        nan where the uncertainty of a paint is not known.
        """
        own = [paint.uncertainty for paint in self.paints]
        ks, ss = self._curves
        return float(trust.likely_error(self.amounts, ks, ss, own, self.surface, self.view))

    @property
    def trust(self) -> str:
        """How far to trust the prediction: "close", "fair", "rough", "guess" or "unknown"."""
        return trust.grade(self.likely_error)

    @property
    def steps(self) -> list[Step]:
        """The additions in a sensible order, each with the colour to expect after it.

        The paint of which a part moves the mix least goes first: it is the great or the weak one.
        The strong ones go last, where they can be stopped in time; one whose quarter part is seen
        (see :data:`STRONG`) goes in half by half.
        """
        sensitivity = self.sensitivity.by_paint
        of = [(sensitivity[p.id], -n, p.id) for p, n in zip(self.paints, self.amounts, strict=True)]
        order = sorted(range(len(of)), key=of.__getitem__)
        goes = [2 if i != order[0] and of[i][0] > STRONG else 1 for i in order]
        added = np.repeat(order, goes)
        parts = np.array(self.amounts)[added] / np.repeat(goes, goes)
        labs = self._lab_of(np.cumsum(parts[:, None] * np.eye(len(order))[added], axis=0))
        return [
            Step(self.paints[i], float(n), lab, write_munsell(hvc), lab_to_hex(lab, self.view))
            for i, n, lab, hvc in zip(
                added, parts, labs, lab_to_munsell(labs, self.view), strict=True
            )
        ]

    def __str__(self) -> str:
        return " + ".join(f"{n:g} {paint}" for paint, n in self.parts.items())


def together(parts: Iterable[tuple[Paint, float]], view: Viewing) -> Mixture:
    """Return the mix of paints and their parts, of which one may come twice, or be of no parts."""
    amounts: dict[str, float] = {}
    paints: dict[str, Paint] = {}
    for paint, n in parts:
        if n > 0:
            paints.setdefault(paint.id, paint)
            amounts[paint.id] = amounts.get(paint.id, 0.0) + float(n)
    return Mixture(tuple(paints.values()), tuple(amounts.values()), view)
