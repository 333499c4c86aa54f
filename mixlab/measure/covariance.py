"""What a fit leaves open: the covariance of its curves, and the likely error of mixes from it.

References
----------
.. [1] Tarantola, *Inverse Problem Theory* (SIAM 2005), 3.2: covariance after the readings.
"""


from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.difference import difference
from mixlab.colour.spaces import reflectance_to_lab, viewing
from mixlab.measure.drawdowns import Solved
from mixlab.paint import optics
from mixlab.paint.trust import THEORY

GLOSS = 0.008
"""How much more or less one film reflects than others of the same paint [R]. With it, what is
stated is what random splits of 62 drawdowns of oil paint show (Geldof et al., Heritage Science 6:17
(2018)), and about what sets simulated from published curves miss by (Berns 2016)."""

_PARTS = (0.1, 0.5, 0.9)  # shares of a paint in the mixes that show it
_NUDGE = 1e-5


@dataclass(frozen=True, eq=False)
class Covariance:
    """Of the curves of a fit.

    Attributes
    ----------
    solved : the fit
    curves : (2 p m, 2 p m) of log K (p, m) and log S (p, m), one after another
    """

    solved: Solved
    curves: Array

    @classmethod
    def of(cls, solved: Solved) -> "Covariance":
        """Return the covariance that the readings of a fit leave."""
        model = solved.model
        p, _, m = model.sizes
        counted = np.repeat(np.sqrt(solved.weights), m)
        slopes = model.slopes(solved.u).multiply(counted[:, None])
        rows: Any = model.prior[0]
        whole = np.linalg.inv((slopes.T @ slopes + rows.T @ rows).toarray())
        return cls(solved, whole[: 2 * p * m, : 2 * p * m])

    @cached_property
    def mixes(self) -> Array:
        """Mixes (q, p) that show the paints: each alone, and in a few parts with each other."""
        p = self.solved.model.sizes[0]
        one = np.eye(p)
        pairs = [c * one[i] + (1 - c) * one[j] for i in range(p) for j in range(i) for c in _PARTS]
        return np.array([*one, *pairs])

    @cached_property
    def slopes(self) -> tuple[Array, Array]:
        """How the colours of :attr:`mixes` go with the curves and with the light of the surface.

        (q, 3, 2 p m) and (q, 3), CIEDE2000 in lightness, chroma and hue.
        """
        model, c = self.solved.model, self.mixes
        k, s = model.curves(self.solved.u)
        mixed_k, mixed_s = c @ k, c @ s
        seen, more = (
            model.surface.measured(optics.opaque(mixed_k * times, mixed_s))
            for times in (1, 1 + _NUDGE)
        )
        bands = np.eye(seen.shape[1])[:, model.held] * _NUDGE
        lab, moved = (
            reflectance_to_lab(r, viewing())
            for r in (seen[:, None, model.held], seen[:, None, model.held] + bands)
        )
        by_band = np.swapaxes(difference(lab, moved), 1, 2) / _NUDGE  # (q, 3, m)
        # an opaque layer knows only K / S
        by_ratio = (by_band * ((more - seen) / _NUDGE)[:, None])[:, :, None]  # (q, 3, 1, m)
        in_k, in_s = (
            (c[..., None] * own / mixed[:, None])[:, None]
            for own, mixed in ((k, mixed_k), (s, mixed_s))
        )
        by_curves = np.concatenate([by_ratio * in_k, -by_ratio * in_s], axis=2)
        return by_curves.reshape(len(c), 3, -1), by_band.sum(axis=2)

    @cached_property
    def moved(self) -> Array:
        """The covariance of the colours of :attr:`mixes` with the curves (q, 3, 2 p m)."""
        return np.asarray(self.slopes[0] @ self.curves)

    @cached_property
    def variances(self) -> Array:
        """Square (q,) of the likely CIEDE2000 between the prediction of :attr:`mixes` and films.

        What the theory misses, what the curves leave open, and how films differ in gloss.
        """
        by_curves, by_gloss = self.slopes
        doubt = (self.moved * by_curves).sum(axis=(1, 2))
        return np.asarray(THEORY**2 + doubt + ((GLOSS * by_gloss) ** 2).sum(axis=1))

    def of_paints(self, variances: Array) -> Array:
        """Return the root mean square (p,) over the mixes that show a paint."""
        shows = self.mixes > 0
        return np.asarray(np.sqrt(variances @ shows / shows.sum(axis=0)))
