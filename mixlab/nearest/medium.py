"""The paints of a palette as plain arrays: the colours and slopes of their mixes, and of films."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Indices, one_thread
from mixlab.colour.spaces import Viewing, xyz_to_lab
from mixlab.paint import optics
from mixlab.paint.tables import Palette, PigmentTable

_BLOCK = 4_000  # mixes at a time: their curves stay in the processor's cache
_TINY = 1e-9

_LAB_FROM_F = np.array([[0.0, 116, 0], [500, -500, 0], [0, 200, -200]])


@dataclass(frozen=True, eq=False)
class Medium:
    """Paints as plain arrays, with the light that they are seen under.

    Attributes
    ----------
    k, s : (p, 36), curves of the paints
    surface : what the boundary does
    view : light, observer and finish
    """

    k: Array
    s: Array
    surface: optics.Surface
    view: Viewing

    @cached_property
    def seen(self) -> optics.Surface:
        """The surface as the finish shows it."""
        return self.surface.seen(self.view.specular)

    @cached_property
    def even(self) -> "Medium":
        """The same paints, each in the unit in which it pulls a mix as the others do."""
        pull = self.pull[:, None]
        return replace(self, k=self.k / pull, s=self.s / pull)

    @cached_property
    def _channels(self) -> tuple[Array, Array]:
        """Weights times curves, (36, 3p): turn slopes by wavelength into slopes of XYZ by paint."""
        weights = self.view.weights[:, :, None]
        by_k, by_s = (weights * q.T[:, None, :] for q in (self.k, self.s))
        return by_k.reshape(len(weights), -1), by_s.reshape(len(weights), -1)

    def internal(self, k: Array, s: Array) -> Array:
        """Return the internal reflectance (..., 36) of what is looked at: an opaque layer."""
        return optics.opaque(k, s)

    def internal_slopes(self, k: Array, s: Array) -> tuple[Array, Array]:
        """Return the derivatives of :meth:`internal` by K and by S, each (..., 36)."""
        return optics.opaque_slopes(k, s)

    def lab(self, shares: ArrayLike) -> Array:
        """Return CIELAB (..., 3) of mixes (..., p), amounts in any unit."""
        shares = np.asarray(shares, dtype=float)
        return self.lab_of(shares @ self.k, shares @ self.s)

    def lab_of(self, k: Array, s: Array) -> Array:
        """Return CIELAB (..., 3) of mixes of which K and S (..., 36) are known."""
        r = self.seen.measured(self.internal(k, s))
        return xyz_to_lab(r @ self.view.weights, self.view.white)

    def labs(self, subsets: Indices, amounts: ArrayLike) -> Array:
        """Return CIELAB (m, c, 3) of every subset (m, t) in every one of the amounts (c, t)."""
        amounts = np.asarray(amounts, dtype=float)
        lab = np.empty((len(subsets), len(amounts), 3))
        step = max(1, _BLOCK // max(len(amounts), 1))
        with one_thread():
            for start in range(0, len(subsets), step):
                some = subsets[start : start + step]
                full = np.zeros((len(some), len(amounts), len(self.k)))
                rows = np.arange(len(some))[:, None, None]
                full[rows, np.arange(len(amounts))[None, :, None], some[:, None, :]] = amounts
                lab[start : start + step] = self.lab(full)
        return lab

    def lab_slopes(self, shares: Array) -> tuple[Array, Array]:
        """Return CIELAB (n, 3) of mixes (n, p), and its slopes (n, 3, p) by each amount."""
        k, s = np.maximum(shares @ self.k, _TINY), shares @ self.s
        r = self.internal(k, s)
        by_k, by_s = self.internal_slopes(k, s)
        # summed over wavelength before they are spread over paints
        front = self.seen.measured_slope(r)
        channels_k, channels_s = self._channels
        slopes = (front * by_k) @ channels_k + (front * by_s) @ channels_s
        white = self.view.white
        xyz = self.seen.measured(r) @ self.view.weights
        # d f / d t of CIELAB, then L*, a*, b* from f
        t = np.maximum(xyz / white, (6 / 29) ** 3)
        f_slope = np.where(t > (6 / 29) ** 3, np.cbrt(t) ** -2 / 3, 841 / 108) / white
        by_paint = slopes.reshape(len(shares), 3, len(self.k))
        return xyz_to_lab(xyz, white), (f_slope[:, None, :] * _LAB_FROM_F) @ by_paint

    @cached_property
    def pull(self) -> Array:
        """How strongly each paint (p,) colours a mix, so that seeds can be even in effect."""
        return np.asarray(np.sqrt(np.mean((self.k + self.s) ** 2, axis=1)))


@dataclass(frozen=True, eq=False)
class FilmMedium(Medium):
    """Paints in a clear painting medium, the last of them, as one film over a ground.

    The film is of one thickness: more of the clear medium is less of the paint, as in a thinner
    film. K and S are those of the whole film, per unit of volume.

    Attributes
    ----------
    ground : (36,), internal reflectance below the film
    volume : (p,), of a unit of each paint
    """

    ground: Array
    volume: Array

    @cached_property
    def even(self) -> "FilmMedium":
        """The same paints, each in the unit in which it pulls a mix as the others do."""
        pull = self.pull[:, None]
        return replace(self, k=self.k / pull, s=self.s / pull, volume=self.volume / pull[:, 0])

    @cached_property
    def pull(self) -> Array:
        """How strongly each paint (p,) colours a film; the clear medium as what just colours it."""
        pull = np.array(super().pull)
        pull[-1] = 1.0
        return pull

    def internal(self, k: Array, s: Array) -> Array:
        """Return the internal reflectance (..., 36) of films over the ground."""
        return optics.film(k, s, 1.0, self.ground)

    def internal_slopes(self, k: Array, s: Array) -> tuple[Array, Array]:
        """Return the derivatives of :meth:`internal` by K and by S, each (..., 36)."""
        return optics.film_slopes(k, s, 1.0, self.ground)

    def lab(self, shares: ArrayLike) -> Array:
        """Return CIELAB (..., 3) of films of mixes (..., p), amounts in any unit."""
        shares = np.asarray(shares, dtype=float)
        return super().lab(shares / (shares @ self.volume)[..., None])

    def lab_slopes(self, shares: Array) -> tuple[Array, Array]:
        """Return CIELAB (n, 3) of films of mixes (n, p), and its slopes (n, 3, p)."""
        whole = (shares @ self.volume)[:, None]
        filled = shares / whole
        lab, slopes = super().lab_slopes(filled)
        # more of one paint is less of all in a film that stays as thick
        less = np.einsum("nip,np->ni", slopes, filled)
        return lab, (slopes - less[:, :, None] * self.volume) / whole[:, None]


def film_medium(
    paints: Palette | PigmentTable, ground: Array, thickness: float, view: Viewing
) -> FilmMedium:
    """Return the paints and a clear medium, the last, as films over a ground.

    `thickness` [1/S] is that of the film of any of them; `ground` (36,) reflects internally.
    """
    clear = np.zeros((1, paints.K.shape[1]))
    k, s = (thickness * np.vstack([curves, clear]) for curves in (paints.K, paints.S))
    return FilmMedium(k, s, paints.paints[0].surface, view, ground, np.ones(len(k)))


def medium_of(paints: Palette | PigmentTable, view: Viewing) -> Medium:
    """Return the paints of a palette or a table as plain arrays."""
    return Medium(paints.K, paints.S, paints.paints[0].surface, view)
