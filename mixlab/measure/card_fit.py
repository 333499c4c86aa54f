"""The fit of a swatch card: curves of all tubes, sheen and exposure at once."""


import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array
from mixlab.colour.difference import difference
from mixlab.colour.spaces import (
    adapt,
    reflectance_to_xyz,
    rgb_to_xyz,
    viewing,
    xyz_to_lab,
    xyz_to_rgb,
)
from mixlab.measure.card_layout import Swatch
from mixlab.measure.card_light import balance
from mixlab.measure.card_priors import Prior
from mixlab.paint import optics

# What is taken for granted: our own choices, no source. Spreads are standard deviations.

READING = 0.9
"""Spread of a swatch's reading about its true colour, apart from the causes below [CIEDE2000]."""

SLIP = 0.07  # spread of the parts of a pile [logarithm]

SHEEN, SHEEN_SPREAD = 0.6, 0.25
"""Share of the light turned back by the surface that the camera sees under an open sky."""

EXPOSURE = 0.02  # spread of the reference's stated reflectance [logarithm]

CAST = 0.02
"""Spread of each channel of the references' reading: a JPEG keeps little colour in a dark grey
[logarithm]."""

MATRIX = 0.04
"""Spread of the camera's matrix about that of a true observer [linear sRGB of a white]."""
_EXPLAINED = 0.7  # share of a swatch's distance that other parts must explain to be named
_FAR_OFF = 20.0  # times as much of a tube, or as little: beyond, the slope tells the way alone
NUDGE = 1e-5  # step of forward differences


@dataclass(frozen=True, eq=False)
class CardModel:
    """Swatches as a function of unknowns, each of spread one and mean zero beforehand."""

    swatches: Sequence[Swatch]
    priors: dict[str, Prior]
    white: Array
    surface: optics.Surface

    @cached_property
    def parts(self) -> Array:
        """Parts (q, p) of each tube in each swatch."""
        return np.array([[s.parts.get(id, 0.0) for id in self.priors] for s in self.swatches])

    @cached_property
    def slipping(self) -> NDArray[np.intp]:
        """The swatches (m,) whose pile may be off: those of several tubes."""
        return np.flatnonzero((self.parts > 0).sum(axis=1) > 1)

    @cached_property
    def slip_of(self) -> NDArray[np.intp]:
        """The tube (m,) that slips in each: the one of which there is least."""
        parts = self.parts[self.slipping]
        return np.asarray(np.argmin(np.where(parts > 0, parts, np.inf), axis=1))

    @cached_property
    def ends(self) -> list[int]:
        """Where the unknowns of each kind end: each tube, slips, sheen, exposure, cast, matrix."""
        sizes = [len(p.ways) for p in self.priors.values()] + [len(self.slipping), 1, 1, 3, 6]
        return [int(n) for n in np.cumsum(sizes)]

    @cached_property
    def observed(self) -> Array:
        """CIELAB (q, 3) of the swatches."""
        return np.array([s.lab for s in self.swatches])

    @cached_property
    def maps(self) -> tuple[Array, Array, Array]:
        """Matrices from XYZ to sRGB in balance, from that to the picture, and to XYZ again."""
        to_xyz = balance(self.white)
        in_balance = xyz_to_rgb(adapt(np.eye(3), viewing().white, rgb_to_xyz(np.ones(3))))
        to_picture = np.linalg.inv(in_balance) @ np.linalg.inv(to_xyz)
        return in_balance, to_picture, to_xyz

    def curves(self, unknowns: Array) -> tuple[Array, Array]:
        """Return K and S (..., p, 36) of unknowns (..., u)."""
        own = np.split(unknowns, self.ends, axis=-1)
        logs = np.stack(
            [p.mean + u @ p.ways for p, u in zip(self.priors.values(), own, strict=False)], axis=-2
        )
        k, s = np.split(np.exp(np.clip(logs, -16, 6)), 2, axis=-1)
        return k, s

    def layers(self, unknowns: Array, parts: Array) -> Array:
        """Return internal reflectances (..., q, 36) of mixes of parts (..., q, p)."""
        k, s = self.curves(unknowns)
        return optics.opaque(parts @ k, parts @ s)

    def sheen(self, unknowns: Array) -> Array:
        """Return the share (...,) of the surface's reflection that the camera sees."""
        return np.asarray(SHEEN + SHEEN_SPREAD * unknowns[..., -11])

    def lab(self, unknowns: Array) -> Array:
        """Return CIELAB (..., q, 3) as the picture would show the swatches."""
        start = self.ends[len(self.priors) - 1]
        slips = unknowns[..., start : start + len(self.slipping)]
        parts = np.broadcast_to(self.parts, (*unknowns.shape[:-1], *self.parts.shape)).copy()
        parts[..., self.slipping, self.slip_of] *= np.exp(SLIP * slips)
        body = self.surface.seen(0.0).measured(self.layers(unknowns, parts))
        shine = self.surface.outside * self.sheen(unknowns)
        in_balance, to_picture, to_xyz = self.maps
        camera = np.zeros((*unknowns.shape[:-1], 3, 3))
        camera[..., ~np.eye(3, dtype=bool)] = MATRIX * unknowns[..., -6:]
        # what is left to the channel itself, so that white stays white
        camera += (1 - camera.sum(axis=-2))[..., None, :] * np.eye(3)
        xyz = reflectance_to_xyz(body + shine[..., None, None], viewing())
        channels = np.exp(EXPOSURE * unknowns[..., -10, None] + CAST * unknowns[..., -9:-6])
        rgb = channels[..., None, :] * (xyz @ in_balance @ camera @ to_picture)
        # what lies beyond sRGB is shown at its edge, in the picture and so here
        return xyz_to_lab(np.maximum(rgb, 0) @ to_xyz, viewing().white)

    def off(self, unknowns: Array) -> Array:
        """Return what least squares shortens: readings (..., 3q), then the unknowns themselves."""
        vector = difference(self.observed, self.lab(unknowns)) / READING
        return np.concatenate([vector.reshape(*unknowns.shape[:-1], -1), unknowns], axis=-1)

    def slopes(self, unknowns: Array) -> Array:
        """Return the slopes (3q + u, u) of :meth:`off`, by forward differences."""
        moved = self.off(unknowns + NUDGE * np.eye(len(unknowns)))
        return np.asarray((moved - self.off(unknowns)).T / NUDGE)

    def solve(self, tries: int = 40) -> "SolvedCard":
        """Return the most probable unknowns and how sure they are."""
        from scipy.optimize import least_squares

        found = least_squares(
            self.off, np.zeros(self.ends[-1]), self.slopes, max_nfev=tries,
            xtol=1e-5, ftol=1e-5, gtol=1e-4,
        )  # fmt: skip
        slopes = np.asarray(found.jac)[: 3 * len(self.swatches)]
        return SolvedCard(self, found.x, slopes, float(2 * found.cost))


@dataclass(frozen=True, eq=False)
class SolvedCard:
    """The most probable unknowns of a card (u,), and how sure they are."""

    model: CardModel
    unknowns: Array
    slopes: Array
    cost: float

    @cached_property
    def spread(self) -> Array:
        """Covariance of the readings beforehand, (3q, 3q), about the solution."""
        return np.asarray(self.slopes @ self.slopes.T + np.eye(len(self.slopes)))

    @property
    def unlikely(self) -> float:
        """Return minus twice the logarithm of the evidence, but for a constant; Tarantola ch. 3."""
        return self.cost + float(np.linalg.slogdet(self.spread)[1])

    def covariance(self) -> Array:
        """Return the covariance (u, u) of the unknowns."""
        gain = self.slopes.T @ np.linalg.inv(self.spread)
        return np.asarray(np.eye(len(self.unknowns)) - gain @ self.slopes)

    @cached_property
    def _pulled(self) -> tuple[Array, Array]:
        """The inverse of :attr:`spread`, and that times the readings (3q,) about the solution."""
        n = len(self.slopes)
        # of the linear model: r = d - J x, in units of the reading's spread
        data = -self.model.off(self.unknowns)[:n] + self.slopes @ self.unknowns
        inverse = np.asarray(np.linalg.inv(self.spread))
        return inverse, np.asarray(inverse @ data)

    @cached_property
    def cross_validated(self) -> tuple[Array, Array]:
        """The miss (q,) of each swatch by the others, and its squared Mahalanobis distance (q,)."""
        inverse, pulled = self._pulled
        each = np.arange(len(self.slopes)).reshape(-1, 3)
        off = np.linalg.solve(inverse[each[:, :, None], each[:, None]], pulled[each][..., None])
        off = off[..., 0]
        return READING * np.linalg.norm(off, axis=1), (off * pulled[each]).sum(axis=1)

    def as_if(self, i: int) -> str:
        """Return in words the parts that would explain swatch `i` to the others; "" if none do."""
        model = self.model
        pile = np.flatnonzero(model.slipping == i)
        if not len(pile):
            return ""
        inverse, pulled = self._pulled
        own = slice(3 * i, 3 * i + 3)
        slope = self.slopes[own, model.ends[len(model.priors) - 1] + pile[0]]
        sure, along = float(slope @ inverse[own, own] @ slope), float(slope @ pulled[own])
        if not sure or along**2 < _EXPLAINED * sure * self.cross_validated[1][i]:
            return ""
        tube = list(model.priors)[model.slip_of[pile[0]]]
        if abs(times := SLIP * along / sure) > math.log(_FAR_OFF):
            return f", as if it held far {'more' if times > 0 else 'less'} of the {tube}"
        return f", as if it held {math.exp(times):.1g} times the {tube}"
