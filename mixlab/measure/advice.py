"""Which further drawdowns would lower the error of mixes most, from the covariance of a fit.

References
----------
.. [1] Chaloner, Verdinelli, "Bayesian experimental design: a review", Statist. Sci. 10 (1995)
       273-304, 2.2: the readings that leave least variance in what is to be predicted.
"""


import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, reflectance_to_lab, viewing
from mixlab.measure.covariance import Covariance
from mixlab.measure.drawdowns import Model
from mixlab.measure.films import Films
from mixlab.paint import optics

MOST = 6  # drawdowns that are advised
_GREY = 8.0  # C* below which the darkest paint is taken for a black
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


def advised(covariance: Covariance, white: int) -> Iterator[Advice]:
    """Return the drawdowns that lower the error most, one after another, those of a kind together.
    """
    mixes, kinds = zip(*_candidates(covariance, white), strict=True)
    drawn = _Drawn.of(covariance.solved.model, covariance.solved.u, mixes)
    every, chosen, left = covariance, dict[str, list[int]](), list(range(len(mixes)))
    while left and sum(map(len, chosen.values())) < MOST:
        best = max(left, key=lambda d: drawn.gain(every, d))
        left.remove(best)
        chosen.setdefault(kinds[best], []).append(best)
        every = drawn.followed(every, best)
    for kind, some in chosen.items():
        for d in some:
            covariance = drawn.followed(covariance, d)
        *more, last = [" with ".join(mixes[d]) if "two" in kind else next(iter(mixes[d]))
                       for d in some]  # fmt: skip
        yield Advice(
            kind.format(f"{', '.join(more)} and {last}" if more else last),
            tuple(" + ".join(f"{n:g} {id}" for id, n in mixes[d].items()) for d in some),
            math.sqrt(covariance.variances.mean()),
        )


def _candidates(covariance: Covariance, white: int) -> Iterator[tuple[dict[str, float], str]]:
    """Return masstones that were not read, tints, shades and mixes of two colours, each with its
    kind in words."""
    solved = covariance.solved
    of = solved.model.films
    k, s, surface = solved.curves()
    light, chroma, _ = lab_to_lch(
        reflectance_to_lab(surface.measured(optics.opaque(k, s)), viewing())
    ).T
    dark = np.where((chroma < _GREY) & (np.arange(len(of.ids)) != white), light, math.inf)
    black = int(np.argmin(dark)) if np.isfinite(dark.min()) else None
    colours = [id for i, id in enumerate(of.ids) if i not in (white, black)]
    for i, id in enumerate(of.ids):
        if of.shares[:, i].max() < 1:
            yield {id: 1.0}, "{} by itself"
        for n in (1.0, 9.0, 99.0) if i != white else ():
            yield {id: 1.0, of.ids[white]: n}, f"one mix of {{}} with {of.ids[white]}, 1 to {n:g}"
    if black is not None:
        shade = f"one mix of {{}} with {of.ids[black]}, 9 to 1"
        yield from (({id: 9.0, of.ids[black]: 1.0}, shade) for id in colours)
    for pair in combinations(colours, 2):
        yield dict.fromkeys(pair, 1.0), "two colours, 1 to 1: {}"


@dataclass(frozen=True, eq=False)
class _Drawn:
    """Films that were not drawn: their slopes by the curves (d, r, n), and how their readings err
    together (d, r, r), both in the spreads of a reading."""

    slopes: Array
    errors: Array

    @classmethod
    def of(cls, model: Model, u: Array, mixes: Sequence[dict[str, float]]) -> "_Drawn":
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
        curves = 2 * p * m
        slips = np.zeros(len(one.slipping[0]))
        start = np.concatenate([u[:curves], np.zeros(count), [u[curves + d]], slips])
        blank[:, model.read] = (one.seen(start) / 100) ** 3
        slopes = replace(one, films=replace(made, reflectance=blank)).slopes(start).toarray()
        own = np.repeat([model.beliefs.film, model.beliefs.slip], [count, len(slips)])
        nuisance = np.delete(slopes[:, curves:], count, axis=1) * own
        nuisance = nuisance.reshape(count, 2 * m, -1)
        return cls(
            slopes[:, :curves].reshape(count, 2 * m, -1),
            np.eye(2 * m) + nuisance @ np.swapaxes(nuisance, 1, 2),
        )

    def _seen(self, covariance: Covariance, d: int) -> tuple[Array, Array]:
        """Return the slopes (r, n) of one, and the factor of the covariance (r, r) of its readings.
        """
        slopes = self.slopes[d]
        used = np.flatnonzero(slopes.any(axis=0))
        few = slopes[:, used]
        by_curves = few @ covariance.curves[np.ix_(used, used)] @ few.T
        return slopes, np.asarray(np.linalg.cholesky(self.errors[d] + by_curves))

    def gain(self, covariance: Covariance, d: int) -> float:
        """Return by how much one lowers the mean of the variances of mixes."""
        slopes, factor = self._seen(covariance, d)
        used = np.flatnonzero(slopes.any(axis=0))
        seen = covariance.moved.reshape(-1, slopes.shape[1])[:, used] @ slopes[:, used].T
        return float((np.linalg.solve(factor, seen.T) ** 2).sum()) / len(covariance.mixes)

    def followed(self, covariance: Covariance, d: int) -> Covariance:
        """Return the covariance with one read as well."""
        slopes, factor = self._seen(covariance, d)
        part = np.linalg.solve(factor, slopes @ covariance.curves)
        return replace(covariance, curves=covariance.curves - part.T @ part)
