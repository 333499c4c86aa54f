"""The paints of a palette as plain arrays, and the colours and slopes of their mixes."""

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

    def lab(self, shares: ArrayLike) -> Array:
        """Return CIELAB (..., 3) of mixes (..., p), amounts in any unit."""
        shares = np.asarray(shares, dtype=float)
        r = self.seen.measured(optics.opaque(shares @ self.k, shares @ self.s))
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
        r = optics.opaque(k, s)
        by_k, by_s = optics.opaque_slopes(k, s)
        # summed over wavelength before they are spread over paints
        front = self.seen.measured_slope(r)
        channels_k, channels_s = self._channels
        slopes = (front * by_k) @ channels_k + (front * by_s) @ channels_s
        white = self.view.white
        xyz = self.seen.measured(r) @ self.view.weights
        # d f / d t of CIELAB, then L*, a*, b* from f
        t = np.maximum(xyz / white, (6 / 29) ** 3)
        f_slope = np.where(t > (6 / 29) ** 3, np.cbrt(t) ** -2 / 3, 841 / 108) / white
        return xyz_to_lab(xyz, white), (f_slope[:, None, :] * _LAB_FROM_F) @ slopes.reshape(
            len(shares), 3, -1
        )

    @cached_property
    def pull(self) -> Array:
        """How strongly each paint (p,) colours a mix, so that seeds can be even in effect."""
        return np.asarray(np.sqrt(np.mean((self.k + self.s) ** 2, axis=1)))


def medium_of(paints: Palette | PigmentTable, view: Viewing) -> Medium:
    """Return the paints of a palette or a table as plain arrays."""
    return Medium(paints.K, paints.S, paints.paints[0].surface, view)
