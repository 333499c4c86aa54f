"""The fit of K and S to drawdowns, with what is believed of paint beforehand.

All curves are found at once, by least squares on what a painter sees: the cube root of measured
reflectance, which goes in steps of equal lightness. A film has the curves of its paints and a
thickness of its own, and parts that may have been weighed a little wrong. What readings leave open
is taken from what is known of paints beforehand: scattering changes slowly along the spectrum. A
reading counts by how well it can be known: near black,
where a step of the cube root is a sliver of reflectance, the noise of the instrument and what the
gloss of a film does decide.

References
----------
.. [1] Tarantola, *Inverse Problem Theory* (SIAM 2005), ch. 3: least squares with a prior, and its
       covariance.
.. [2] Madsen, Nielsen, Tingleff, *Methods for Non-Linear Least Squares Problems* (DTU 2004), 3.2:
       the damping of the steps.
"""


import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Mask
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.measure.films import Films
from mixlab.paint import optics
from mixlab.paint.optics import Surface


@dataclass(frozen=True)
class Beliefs:
    """What is thought of paint and of instruments before a reading; `*_spread` one deviation."""

    theory: float = 1.0  # what theory leaves unexplained [hundredths of the cube root of R]
    noise: float = 0.004  # of a reading: the instrument, and how films differ in gloss [R]
    k1: float = 0.039  # of the surface, see mixlab.paint.optics.Surface; less if films read less
    k2: float = 0.43
    slip: float = 0.05  # of the parts of a drawdown [logarithm]
    scattering: float = 0.3  # typical S
    level: float = 3.2  # how far others lie from it at each wavelength [logarithm]
    drift: float = 0.07  # of S from one wavelength of the grid to the next [logarithm]
    absorption: float = 0.3  # typical K
    absorption_spread: float = 4.0  # how far others lie from it [logarithm]
    thickness: float = 10.0  # of the usual film, or far from it [1 / S of the white]
    film: float = 0.5  # thickness of one film about the usual [logarithm]


BELIEFS = Beliefs()
"""Our own choices, those that predict best what was left out in random splits of 62 drawdowns of
oil paint (Geldof et al., Heritage Science 6:17 (2018)), every fit from a cold start. K1 is what the
darkest glossy films of different paints come down to. Neighbouring wavelengths err together, so
that readings weigh more here than they tell; the spreads are narrow to match."""

_NO_GLARE = 0.015  # reflectance that no film has which was read with what its surface reflects
_MAT = 8  # one film in so many, and one at least, may be mat or lean and read less than others
_NUDGE = 1e-6
_TRIES = 100
_SETTLED = 2e-2  # gain in the sum of squares
CLEAR, DENSE = 1e-3, 1e4  # thinnest and thickest film that is looked at [1 / S of the unit]


def _seen(reflectance: Array) -> Array:
    """Return steps of equal lightness (...): a hundred times the cube root of reflectance."""
    return 100 * np.cbrt(np.maximum(reflectance, 0))


@dataclass(frozen=True, eq=False)
class Model:
    """Readings as a function of unknowns, with what is believed of those.

    The unknowns are, one after another: log K (p, m), log S (p, m) over the m wavelengths that
    were read, the log thickness of each drawdown (d,) about the usual, that of the usual film, and
    how far each part of a drawdown but the largest is off (n,) [logarithm].
    """

    films: Films
    beliefs: Beliefs
    white: int | None  # the paint whose scattering is the unit
    stated: Surface | None
    known: dict[int, tuple[Array, Array]]  # K and S (36,) of paints that are held

    @cached_property
    def read(self) -> Mask:
        """Where on the grid (36,) anything was read."""
        return np.asarray(self.films.covered.any(axis=0))

    @cached_property
    def held(self) -> NDArray[np.intp]:
        """Which of the wavelengths that were read stands for each of the grid (36,).

        Beyond what was read, the ends do.
        """
        at = np.flatnonzero(self.read)
        return np.asarray(np.clip(np.arange(len(WAVELENGTHS)), at[0], at[-1]) - at[0])

    @cached_property
    def sizes(self) -> tuple[int, int, int]:
        """Paints, drawdowns, wavelengths."""
        return len(self.films.ids), len(self.films.samples), int(self.read.sum())

    @cached_property
    def darkest(self) -> Array:
        """Least reflectance (d,) that was read of each drawdown."""
        f = self.films
        least = np.full(len(f.samples), np.inf)
        np.minimum.at(least, f.sample, np.where(f.covered, f.reflectance, np.inf).min(axis=1))
        return least

    @cached_property
    def surface(self) -> Surface:
        """The surface, stated or as the darkest films have it."""
        if self.stated is not None:
            return self.stated
        b = self.beliefs
        dark = np.sort(self.darkest)
        if dark[0] < _NO_GLARE:
            return Surface(0.0, b.k2)
        return Surface(min(b.k1, float(dark[: max(2, len(dark) // _MAT + 1)][-1])), b.k2)

    @cached_property
    def slipping(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """The drawdown and the paint (n,) of each part that may be off: all but the largest."""
        c = self.films.shares
        largest = np.arange(c.shape[1]) == np.argmax(c, axis=1)[:, None]
        drawdown, paint = np.nonzero((c > 0) & ~largest)
        return drawdown, paint

    def shares(self, u: Array) -> Array:
        """Return the parts (d, p) of each drawdown, as they may have been."""
        p, d, m = self.sizes
        c = self.films.shares.copy()
        c[self.slipping] *= np.exp(np.clip(u[2 * p * m + d + 1 :], -2, 2))
        return c

    def curves(self, u: Array) -> tuple[Array, Array]:
        """Return K and S (p, m) of unknowns."""
        p, _, m = self.sizes
        k, s = np.exp(np.clip(u[: 2 * p * m], -18, 18)).reshape(2, p, m)
        return k, s

    def thickness(self, u: Array) -> Array:
        """Return the thickness (r, 1) of each reading's layer."""
        p, d, m = self.sizes
        logs = u[2 * p * m : 2 * p * m + d] + u[2 * p * m + d]
        x = np.exp(np.clip(logs, -12, 12))[self.films.sample]
        return np.where(self.films.opaque, np.inf, x)[:, None]

    @cached_property
    def spread(self) -> Array:
        """Likely error (r, m) of each reading, in steps of lightness."""
        slope = 100 / 3 / np.cbrt(np.maximum(self.films.reflectance[:, self.read], 1e-3)) ** 2
        return np.hypot(self.beliefs.theory, self.beliefs.noise * slope)

    @cached_property
    def ground(self) -> Array:
        """Internal reflectance (r, m) of the grounds."""
        return np.clip(self.surface.internal(self.films.ground[:, self.read]), 0, 1)

    def _measured(self, k: Array, s: Array, x: Array) -> Array:
        return _seen(self.surface.measured(optics.film(k, s, x, self.ground)))

    def seen(self, u: Array) -> Array:
        """Return what the model says of the readings (r, m), in steps of lightness."""
        shares = self.shares(u)[self.films.sample]
        k, s = self.curves(u)
        return self._measured(shares @ k, shares @ s, self.thickness(u))

    def off(self, u: Array) -> Array:
        """Return (r, m) how far the model is from the readings, in their spreads."""
        off = self.seen(u) - _seen(self.films.reflectance[:, self.read])
        return np.where(self.films.covered[:, self.read], off, 0) / self.spread

    def slopes(self, u: Array) -> Any:
        """Return the sparse Jacobian (r m, unknowns) of :meth:`off`.

        The slopes by K and by S of each film are central differences in the logarithm; all else
        follows from them by the chain rule. By thickness they are the sum of both, as a film knows
        only K X and S X.
        """
        from scipy import sparse

        p, d, m = self.sizes
        shares = self.shares(u)[self.films.sample]
        own_k, own_s = self.curves(u)
        k, s, x = shares @ own_k, shares @ own_s, self.thickness(u)
        up, down = 1 + _NUDGE, 1 - _NUDGE
        weight = self.films.covered[:, self.read] / self.spread
        by_k, by_s = (
            weight * (self._measured(*more, x) - self._measured(*less, x))
            / (2 * _NUDGE)
            for more, less in (((k * up, s), (k * down, s)), ((k, s * up), (k, s * down)))
        )  # fmt: skip
        by_x = np.where(self.films.opaque[:, None], 0.0, by_k + by_s)
        # share of each paint (r, p, m) in the K and in the S of a film
        in_k = shares[:, :, None] * own_k / k[:, None]
        in_s = shares[:, :, None] * own_s / s[:, None]
        r, i = np.nonzero(shares)
        wave = np.arange(m)
        rows, usual = np.arange(len(shares))[:, None] * m + wave, 2 * p * m + d
        blocks = [
            (rows[r], i[:, None] * m + wave, by_k[r] * in_k[r, i]),
            (rows[r], p * m + i[:, None] * m + wave, by_s[r] * in_s[r, i]),
            (rows, 2 * p * m + self.films.sample[:, None], by_x),
            (rows, np.full((1, 1), usual), by_x),
        ]
        of_part, part = np.nonzero(self.films.sample == self.slipping[0][:, None])
        i = self.slipping[1][of_part]
        moved = by_k[part] * in_k[part, i] + by_s[part] * in_s[part, i]
        blocks.append((rows[part], (usual + 1 + of_part)[:, None], moved))
        entries = [
            [np.broadcast_to(part, block[2].shape).ravel() for part in block] for block in blocks
        ]
        row, column, value = (np.concatenate(part) for part in zip(*entries, strict=True))
        return sparse.csr_matrix((value, (row, column)), shape=(rows.size, len(u)))

    @cached_property
    def prior(self) -> tuple[Any, Array]:
        """Sparse rows (q, unknowns) and their aims (q,), in spreads: what is believed."""
        from scipy import sparse

        b = self.beliefs
        p, d, m = self.sizes
        drift = np.diff(np.eye(m), axis=0)
        of_k = np.eye(m) / b.absorption_spread
        aim_k = np.full(m, math.log(b.absorption) / b.absorption_spread)
        level = np.eye(m) / b.level
        unit = np.full((1, m), 1 / m) / 1e-3
        blocks: list[tuple[Array, Array]] = []
        for quantity in (0, 1):
            for i in range(p):
                if i in self.known:
                    held = np.log(np.maximum(self.known[i][quantity][self.read], 1e-7))
                    blocks.append((np.eye(m) / 1e-4, held / 1e-4))
                elif quantity == 0:
                    blocks.append((of_k, aim_k))
                else:
                    rows = drift / b.drift
                    aim = np.zeros(len(rows))
                    ends = (unit, np.zeros(1)) if i == self.white else (
                        level, level.sum(axis=1) * math.log(b.scattering)
                    )
                    blocks.append((np.vstack([rows, ends[0]]), np.concatenate([aim, ends[1]])))
        usual, n = math.log(b.thickness) / b.level, len(self.slipping[0])
        blocks += [
            (np.eye(d) / b.film, np.zeros(d)),
            (np.eye(1) / b.level, np.full(1, usual)),
            (np.eye(n) / b.slip, np.zeros(n)),
        ]
        matrix: Any = sparse.block_diag([rows for rows, _ in blocks], format="csr")
        return matrix, np.concatenate([aim for _, aim in blocks])


def start_of(model: Model) -> Array:
    """Return unknowns to start from: K/S of the fullest opaque-looking reading of a paint."""
    p, d, m = model.sizes
    u = np.zeros(2 * p * m + d + 1 + len(model.slipping[0]))
    surface = model.surface
    share = model.films.shares[model.films.sample]
    log_k, log_s = np.zeros((p, m)), np.zeros((p, m))
    for i in range(p):
        fullest = model.films.reflectance[int(np.argmax(share[:, i])), model.read]
        inside = np.clip(surface.internal(fullest), 0.01, 0.97)
        log_k[i] = np.log(optics.k_over_s(inside))
        if i in model.known:
            log_k[i], log_s[i] = (np.log(np.maximum(c[model.read], 1e-7)) for c in model.known[i])
    u[: 2 * p * m] = np.concatenate([log_k.ravel(), log_s.ravel()])
    u[2 * p * m + d] = math.log(model.beliefs.thickness)
    return u


def solve(model: Model, weights: Array, start: Array | None = None) -> "Solved":
    """Return the most probable unknowns, by damped Gauss-Newton steps.

    `weights` (r,) says how much each reading counts, 1 unless it is doubted.
    """
    from scipy import sparse

    root = np.repeat(np.sqrt(weights), model.sizes[2])
    rows, aim = model.prior
    scale = sparse.diags_array(root)

    def residuals(u: Array) -> Array:
        return np.concatenate([root * model.off(u).ravel(), rows @ u - aim])

    def normal(u: Array) -> tuple[Any, Any]:
        slopes = scale @ model.slopes(u)
        stacked = sparse.vstack([slopes, rows]).tocsc()
        return stacked, (stacked.T @ stacked).tocsc()

    u = start_of(model) if start is None else start
    off, (slopes, matrix) = residuals(u), normal(u)
    cost, damping = float(off @ off), 1e-2
    for _ in range(_TRIES):
        damped = matrix + damping * sparse.diags_array(matrix.diagonal())
        step = np.clip(_factor(damped).solve(-(slopes.T @ off)), -2, 2)
        tried = residuals(u + step)
        gain = cost - float(tried @ tried)
        if gain > 0:
            u, off, cost = u + step, tried, cost - gain
            slopes, matrix = normal(u)
            damping = max(damping / 5, 1e-9)
            if gain < _SETTLED and damping < 1e-3:
                break
        else:
            damping *= 4
            if damping > 1e6:
                break
    return Solved(model, u, weights)


def _factor(matrix: Any) -> Any:
    """Return a solver of a sparse symmetric positive matrix."""
    from scipy.sparse.linalg import splu

    return splu(
        matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Solved:
    """A fit: the model, its unknowns `u`, and how much each reading counted (r,)."""

    model: Model
    u: Array
    weights: Array

    @cached_property
    def agreement(self) -> Array:
        """Root mean square (d,) of each drawdown's residuals and slips, in spreads."""
        off = self.model.off(self.u)
        drawdown = self.model.slipping[0]
        slips = self.u[len(self.u) - len(drawdown) :] / self.model.beliefs.slip
        counted = self.model.films.covered[:, self.model.read].sum(axis=1)
        sample, d = self.model.films.sample, len(self.model.films.samples)
        squares = np.bincount(sample, (off**2).sum(axis=1), minlength=d)
        squares += np.bincount(drawdown, slips**2, minlength=d)
        return np.sqrt(squares / np.maximum(np.bincount(sample, counted, minlength=d), 1))

    def curves(self) -> tuple[Array, Array, Surface]:
        """Return K and S (p, 36) and the surface."""
        k, s = self.model.curves(self.u)
        return k[:, self.model.held], s[:, self.model.held], self.model.surface
