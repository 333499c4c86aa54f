"""Which further drawdowns would lower the error of mixes most, from the covariance of a fit.

References
----------
.. [1] Chaloner, Verdinelli, "Bayesian experimental design: a review", Statist. Sci. 10 (1995)
       273-304, 2.2: the readings that leave least variance in what is to be predicted.
"""


import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, reflectance_to_lab, viewing
from mixlab.measure.covariance import TOGETHER, Covariance
from mixlab.measure.drawdowns import Model
from mixlab.measure.films import Films
from mixlab.paint import optics

MOST = 3  # pieces of advice
_WORTH = 0.4  # of what the best drawdown of a kind gains: from here on one is advised
_LEAST = 0.01  # share of the error that a piece of advice takes away
_DARK, _GREY = 35.0, 8.0  # L* and C* below which a paint is taken for a black
_GROUNDS = (0.85, 0.05)  # reflectance of a white and a black ground


@dataclass(frozen=True)
class Advice:
    """Drawdowns of a kind, over white and black.

    Attributes
    ----------
    words : what to draw down
    mixtures : each mix, in parts
    likely_error : of mixes once this and the advice before it is followed [CIEDE2000]
    """

    words: str
    mixtures: tuple[str, ...]
    likely_error: float


@dataclass(frozen=True)
class _Kind:
    """Drawdowns of one kind: what they are in words, and the mixes in parts."""

    words: str
    mixes: tuple[dict[str, float], ...]
    each: str = "{}"  # how a mix of the kind is told from others, by its paints

    def advice(self, which: NDArray[np.intp], error: float) -> Advice:
        """Return what is advised of those that are chosen, with the error that would remain."""
        mixes = [self.mixes[d] for d in which]
        *more, last = [self.each.format(*parts) for parts in mixes]
        some = f"{', '.join(more)} and {last}" if more else last
        return Advice(
            self.words.format("each colour" if len(mixes) == len(self.mixes) > 1 else some),
            tuple(" + ".join(f"{n:g} {id}" for id, n in parts.items()) for parts in mixes), error,
        )  # fmt: skip


def advised(covariance: Covariance, white: int) -> Iterator[Advice]:
    """Return the kinds of drawdowns that lower the error most for their number, best first."""
    model = covariance.solved.model
    kinds = list(_kinds(covariance, white))
    drawn = [_Drawn.of(model, covariance.solved.u, kind.mixes) for kind in kinds]
    for _ in range(MOST):
        best, found = 0.0, None
        for kind, films in zip(kinds, drawn, strict=True):
            alone = [films.gain(covariance, np.array([d])) for d in range(len(kind.mixes))]
            which = np.flatnonzero(np.array(alone) >= _WORTH * max(alone))
            gain = films.gain(covariance, which) / len(which)
            if gain > best:
                best, found = gain, (kind, films, which)
        if found is None:
            return
        kind, films, which = found
        before = math.sqrt(covariance.variances.mean())
        covariance = films.followed(covariance, which)
        after = math.sqrt(covariance.variances.mean())
        if after > (1 - _LEAST) * before:
            return
        yield kind.advice(which, after)


def _kinds(covariance: Covariance, white: int) -> Iterator[_Kind]:
    """Return masstones, tints, shades and mixes of two colours that may be drawn down."""
    solved = covariance.solved
    ids = solved.model.films.ids
    k, s, surface = solved.curves()
    light, chroma, _ = lab_to_lch(
        reflectance_to_lab(surface.measured(optics.opaque(k, s)), viewing())
    ).T
    dark = np.where((chroma < _GREY) & (np.arange(len(ids)) != white), light, math.inf)
    black = int(np.argmin(dark)) if dark.min() < _DARK else None
    colours = [id for i, id in enumerate(ids) if i not in (white, black)]
    others = [id for i, id in enumerate(ids) if i != white]
    yield _Kind("{} by itself", tuple({id: 1.0} for id in ids))
    for n in (1.0, 9.0, 99.0):
        words = f"one mix of {{}} with {ids[white]}, 1 to {n:g}"
        yield _Kind(words, tuple({id: 1.0, ids[white]: n} for id in others))
    if black is not None and colours:
        words = f"one mix of {{}} with {ids[black]}, 9 to 1"
        yield _Kind(words, tuple({id: 9.0, ids[black]: 1.0} for id in colours))
    pairs = tuple({one: 1.0, other: 1.0} for one, other in combinations(colours, 2))
    if pairs:
        yield _Kind("two colours, 1 to 1: {}", pairs, "{} with {}")


@dataclass(frozen=True, eq=False)
class _Drawn:
    """Films that were not drawn: their slopes by the curves (d, r, n), and how their readings err
    together (d, r, r), both in the spreads of a reading."""

    slopes: Array
    errors: Array

    @classmethod
    def of(cls, model: Model, u: Array, mixes: tuple[dict[str, float], ...]) -> "_Drawn":
        """Return films of the usual thickness, over white and black, as the fit predicts them."""
        of, (p, d, m), count = model.films, model.sizes, len(mixes)
        shares = np.array([[parts.get(id, 0.0) for id in of.ids] for parts in mixes])
        ground = np.repeat(np.array(_GROUNDS)[None], count, axis=0).ravel()
        blank = np.zeros((2 * count, len(WAVELENGTHS)))
        made = Films(
            of.ids, ("",) * count, ("",) * count, ("over-white", "over-black") * count,
            np.repeat(np.arange(count), 2), shares / shares.sum(axis=1, keepdims=True),
            blank + ground[:, None], blank, (blank == 0) & model.read,
        )  # fmt: skip
        one = Model(made, model.beliefs, model.white, model.surface, model.known)
        usual, curves = u[2 * p * m + d], 2 * p * m
        start = np.concatenate([u[:curves], np.zeros(count), [usual], np.zeros(len(one.slip))])
        blank[:, model.read] = (one.seen(start) / 100) ** 3
        slopes = replace(one, films=replace(made, reflectance=blank)).slopes(start).toarray()
        own = np.concatenate([np.full(count, model.beliefs.film), one.slip])
        nuisance = np.delete(slopes[:, curves:], count, axis=1) * own
        nuisance = nuisance.reshape(count, 2 * m, -1)
        return cls(
            slopes[:, :curves].reshape(count, 2 * m, -1),
            TOGETHER * np.eye(2 * m) + nuisance @ np.swapaxes(nuisance, 1, 2),
        )

    def _seen(self, covariance: Covariance, which: NDArray[np.intp]) -> tuple[Array, Array]:
        """Return the slopes (r, n) of some films, and the factor of their covariance (r, r)."""
        from scipy.linalg import block_diag

        slopes = np.concatenate(self.slopes[which])
        used = np.flatnonzero(slopes.any(axis=0))
        few = slopes[:, used]
        by_curves = few @ covariance.curves[np.ix_(used, used)] @ few.T
        return slopes, np.asarray(np.linalg.cholesky(block_diag(*self.errors[which]) + by_curves))

    def gain(self, covariance: Covariance, which: NDArray[np.intp]) -> float:
        """Return by how much some films lower the mean of the variances of mixes."""
        slopes, factor = self._seen(covariance, which)
        used = np.flatnonzero(slopes.any(axis=0))
        seen = covariance.moved.reshape(-1, slopes.shape[1])[:, used] @ slopes[:, used].T
        return float((np.linalg.solve(factor, seen.T) ** 2).sum()) / len(covariance.mixes)

    def followed(self, covariance: Covariance, which: NDArray[np.intp]) -> Covariance:
        """Return the covariance with some films read as well."""
        slopes, factor = self._seen(covariance, which)
        part = np.linalg.solve(factor, slopes @ covariance.curves)
        return replace(covariance, curves=covariance.curves - part.T @ part)
