"""A film of a mix over a dry ground: glaze, scumble, and the thickness at which it stands.

The film lies in optical contact with the dry paint: their boundary is gone, and the one surface of
what is seen is that of the film. What is below counts by its internal reflectance, and the film by
what it holds on an area: a paint let out with nine times its volume of clear medium, and laid as
thick as a coat, is the same film as a tenth of a coat of it. A medium that has yellowed, or a film
that is not even, is not foreseen. The theory is of diffuse light: through a film that hardly
scatters light goes straighter, and a clear glaze looks like a somewhat thinner one (from memory, by
up to half); the colours on its way are the same.

References
----------
.. [1] Kubelka, "New contributions to the optics of intensely light-scattering materials. Part I",
       J. Opt. Soc. Am. 38 (1948) 448-457: a film over a ground (:func:`mixlab.paint.optics.film`).
.. [2] ISO 6504-3: contrast ratio, 0.98 of which hides.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.reconstruction import smoothest
from mixlab.colour.spaces import WAVELENGTHS, Viewing, reflectance_to_lab
from mixlab.errors import LayerError
from mixlab.paint import optics
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import COAT, HIDES, contrast_ratio

THICKNESSES = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0)
"""Coats that are shown unless told: from a glaze to what hides."""

THIN = 0.1
"""A thin block-in [coats]: a wash, or paint scrubbed on. Common practice, no source."""

GLAZE, SCUMBLE, COVERS = KINDS = ("glaze", "scumble", "covers")
"""What a film does to its ground: darkens it, pales it, or hides it (ISO 6504-3)."""

_LIGHTER = 0.25  # L* above the ground that makes a scumble
_MET = 1.0  # CIEDE2000 from a typed colour to a ground that a surface can have
_LEAST, _FILM, _MOST = 1e-4, 100.0, 1e3  # coats: the least film, the most laid, the most known


def ground_of(over: Mixture | ArrayLike, view: Viewing, surface: optics.Surface) -> Array:
    """Return the internal reflectance (36,) of a dry ground below a film.

    Parameters
    ----------
    over : a mix; or a colour, CIELAB (3,) as seen under `view`, of which the smoothest curve that a
        surface can have is taken; or a reflectance (36,) as seen
    view, surface : light, observer and finish, and the surface, of the ground when it was seen

    Raises
    ------
    LayerError : for what no dry surface looks like
    """
    if isinstance(over, Mixture):
        return optics.opaque(over.K, over.S)
    seen = surface.seen(view.specular)
    ends = float(seen.measured(0.0)), float(seen.measured(1.0))
    given = np.asarray(over, dtype=float)
    if given.shape not in ((3,), WAVELENGTHS.shape) or not np.isfinite(given).all():
        raise LayerError("a ground is a mix, a colour L*, a*, b*, or a reflectance of 36 numbers")
    if given.shape == (3,):
        curve = smoothest(given, view, ends)
        met = reflectance_to_lab(curve, view)
        if ciede2000(met, given) > _MET:
            raise LayerError(
                f"no dry surface seen {view.finish} has the colour {_lab(given)}: the nearest is "
                f"{_lab(met)}"
            )
    elif given.min() < ends[0] - 1e-6 or given.max() > ends[1] + 1e-6:
        raise LayerError(
            f"a ground seen {view.finish} reflects {ends[0]:.4f} to {ends[1]:.4f}, not "
            f"{given.min():.4f} to {given.max():.4f}"
        )
    else:
        curve = given
    return np.clip(seen.internal(np.clip(curve, *ends)), 0.0, 1.0)


def _lab(lab: Array) -> str:
    return ",".join(f"{value + 0.0:.0f}" for value in lab)


@dataclass(frozen=True, eq=False)
class Layer:
    """A mix over a dry ground, as films of several thicknesses.

    Attributes
    ----------
    mixture : the film's paint, with how it is seen
    ground : (36,), internal reflectance below the film
    coats : (n,), thickness of the films; see :data:`mixlab.paint.paints.COAT`
    """

    mixture: Mixture
    ground: Array
    coats: Array

    @property
    def view(self) -> Viewing:
        """Light, observer and finish."""
        return self.mixture.view

    def reflectance_at(self, coats: ArrayLike) -> Array:
        """Return the reflectance (..., 36), as seen, of films of so many coats (...,)."""
        thickness = np.asarray(coats, dtype=float)[..., None] * COAT
        film = optics.film(self.mixture.K, self.mixture.S, thickness, self.ground)
        return self.mixture.surface.measured(film)

    def lab_at(self, coats: ArrayLike) -> Array:
        """Return CIELAB (..., 3) of films of so many coats (...,)."""
        return reflectance_to_lab(self.reflectance_at(coats), self.view)

    @cached_property
    def reflectance(self) -> Array:
        """Reflectance (n, 36) of the films, as seen."""
        return self.reflectance_at(self.coats)

    @cached_property
    def lab(self) -> Array:
        """CIELAB (n, 3) of the films."""
        return reflectance_to_lab(self.reflectance, self.view)

    @cached_property
    def bare(self) -> Array:
        """CIELAB (3,) of the ground without a film."""
        return self.lab_at(0.0)

    @cached_property
    def contrast_ratio(self) -> Array:
        """Contrast ratio (n,) of the films; ISO 6504-3."""
        return self._contrast(self.coats)

    @property
    def kind(self) -> list[str]:
        """What each film does to the ground, of :data:`KINDS`."""
        paler = self.lab[:, 0] > self.bare[0] + _LIGHTER
        return [
            COVERS if ratio >= HIDES else SCUMBLE if up else GLAZE
            for ratio, up in zip(self.contrast_ratio, paler, strict=True)
        ]

    @cached_property
    def hides(self) -> float:
        """Coats from which the film hides black from white (contrast ratio 0.98); inf if none."""
        return _from(lambda coats: HIDES - self._contrast(coats))

    def stands(self, tolerance: float = TOLERANCE) -> float:
        """Return the coats from which the film has its own colour on this ground; inf if none.

        From there on, however thick, it is within the tolerance [CIEDE2000] of the mix by itself.
        """
        return _from(lambda coats: ciede2000(self.lab_at(coats), self.mixture.lab) - tolerance)

    def nearest(self, lab: ArrayLike) -> tuple[float, float]:
        """Return the coats whose film comes nearest to a CIELAB (3,), and its miss [CIEDE2000]."""
        coats = np.geomspace(_LEAST, _FILM, 161)
        for _ in range(3):
            best = int(ciede2000(lab, self.lab_at(coats)).argmin())
            coats = np.geomspace(coats[max(best - 1, 0)], coats[min(best + 1, len(coats) - 1)], 41)
        miss = ciede2000(lab, self.lab_at(coats))
        return float(coats[miss.argmin()]), float(miss.min())

    def moved_by(self, share: float = 0.25) -> Array:
        """Return how far films (n,) that much too thick or too thin move [CIEDE2000], the most."""
        off = self.coats * np.array([[1 - share], [1 + share]])
        return np.asarray(ciede2000(self.lab, self.lab_at(off)).max(axis=0))

    def _contrast(self, coats: ArrayLike) -> Array:
        made = self.mixture
        return contrast_ratio(made.K, made.S, made.paints[0].surface, self.view, coats)


def _from(lacking: Callable[[Array], Array]) -> float:
    """Return the coats from which on nothing is lacking; inf where that is beyond all films."""
    coats = np.geomspace(_LEAST, _MOST, 281)
    for _ in range(3):
        short = np.flatnonzero(lacking(coats) > 0)
        if not len(short):
            return 0.0
        if short[-1] == len(coats) - 1:
            return float("inf")
        coats = np.geomspace(coats[short[-1]], coats[short[-1] + 1], 41)
    return float(coats[-1])


def layer(
    mixture: Mixture, over: Mixture | ArrayLike, coats: ArrayLike = THICKNESSES
) -> Layer:
    """Return films of a mix over a dry ground: their colour, and from where on they stand.

    Parameters
    ----------
    mixture : the film's paint; its view is how ground and film are seen
    over : the dry ground: a mix, CIELAB (3,), or a reflectance (36,); see :func:`ground_of`
    coats : (n,), thickness of the films; 1 is the film in which a white that absorbs nothing just
        hides (:data:`mixlab.paint.paints.COAT`)

    Raises
    ------
    LayerError : for a thickness that is not above zero, or a ground that no surface looks like
    """
    thickness = np.atleast_1d(np.asarray(coats, dtype=float))
    if thickness.ndim != 1 or not ((thickness > 0) & (thickness <= _FILM)).all():
        raise LayerError(f"the thickness of a film is above 0, and at most {_FILM:g} coats")
    if isinstance(over, Mixture):
        over = replace(over, view=mixture.view)
    ground = ground_of(over, mixture.view, mixture.paints[0].surface)
    return Layer(mixture, ground, thickness)
