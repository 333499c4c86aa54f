"""Readings of drawdowns to K and S of the paints in them, and how well those predict.

All curves are found at once, by least squares on what a painter sees: the cube root of measured
reflectance, which goes in steps of equal lightness. A film has the curves of its paints and a
thickness of its own. The surface constants are found with them, unless they are stated. What
readings leave open is taken from what is known of paints beforehand: scattering changes slowly
along the spectrum, absorption is smooth. A reading counts by how well it can be known: near black,
where a step of the cube root is a sliver of reflectance, the noise of the instrument and what the
gloss of a film does decide. A drawdown that contradicts the others counts less, and is named.

References
----------
.. [1] Tarantola, *Inverse Problem Theory* (SIAM 2005), ch. 3: least squares with a prior, and its
       covariance.
.. [2] Madsen, Nielsen, Tingleff, *Methods for Non-Linear Least Squares Problems* (DTU 2004), 3.2:
       the damping of the steps.
.. [3] Holland, Welsch, "Robust regression using iteratively reweighted least-squares", Commun.
       Statist. A6 (1977) 813-827: Cauchy weights.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab import optics
from mixlab.colorimetry import (
    WAVELENGTHS,
    ciede2000,
    difference,
    reflectance_to_lab,
    viewing,
)
from mixlab.errors import NotationError, ReadingError
from mixlab.optics import Surface
from mixlab.paints import Paint
from mixlab.readings import Reading, Readings
from mixlab.tables import PigmentTable

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

# --- what is taken for granted ------------------------------------------------------------------


@dataclass(frozen=True)
class Beliefs:
    """What is thought of paint and of instruments before a reading; `*_spread` one deviation.

    Attributes
    ----------
    theory : what theory leaves unexplained [hundredths of the cube root of reflectance]
    noise : of a reading: the instrument, and how films differ in gloss [reflectance]
    k1, k2, k1_spread, k2_spread : the surface constants
    dark_loss : how much more the darkest layers seem to absorb; see :class:`mixlab.optics.Surface`
    scattering, level : typical S, and how far others lie from it at each wavelength [logarithm]
    drift, bend : of scattering from one wavelength of the grid to the next, and how the drift
        changes [logarithm]
    edge : how far scattering follows where absorption changes: the index of refraction of a
        pigment rises beside its absorption band (Kramers and Kronig) [share of the logarithm]
    absorption, absorption_spread : typical K and how far others lie from it [logarithm]
    absorption_bend : how the drift of absorption changes [logarithm]
    thickness, thickness_spread : of the usual film [1 / S of the white, logarithm]
    film : thickness of one film about the usual [logarithm]
    together : wavelengths of the grid over which scattering goes together
    """

    theory: float = 0.4
    noise: float = 0.002
    k1: float = 0.039
    k1_spread: float = 0.0004
    k2: float = 0.43
    k2_spread: float = 0.015
    dark_loss: float = 1.2
    scattering: float = 0.3
    level: float = 1.0
    drift: float = 0.07
    bend: float = 0.035
    edge: float = 0.8
    absorption: float = 0.3
    absorption_spread: float = 4.0
    absorption_bend: float = 0.6
    thickness: float = 10.0
    thickness_spread: float = 1.0
    film: float = 0.5
    together: float = 10.0


BELIEFS = Beliefs()
"""Our own choices, as leaving out drawdowns of published oil paint favours them. K1 is what the
darkest glossy films of different paints come down to. K2 and the dark loss are those with which
radiative transfer of forward scattering pigments gives a K/S that grows as absorption does
(``tests/outside/test_dark_layers_reference.py``); a fit of them to so few drawdowns predicts worse
than they do. Neighbouring wavelengths err together, so that readings weigh more here than they
tell; the spreads are narrow to match."""

UNTRIED = 2.0
"""Likely miss of a mix where no drawdown can be left out to tell it [CIEDE2000]; our own guess."""

WHITE = 85.0
"""L* from which a paint is taken for a white."""

STRANGE = 3.0
"""A drawdown that agrees this many times less than is usual is named."""

DISTURBS = 5.0
"""So many times the usual disagreement must go, all in all, for a drawdown to be left out. In sets
simulated from published curves (Berns 2016) honest ones come to 4 at most, mislabelled tints to 9
and more where both grounds were read."""

LACKS = {
    "one ground": 5.0,
    "opaque only": 2.0,
    "no masstone": 8.0,
    "no mix with the others": 7.0,
}
"""What kinds of readings leave open of a paint, beyond what the fit says of itself [CIEDE2000]:
root mean square over masstones, tints and mixes in such sets, simulated from published curves
(Berns 2016). Films over one ground tell K and S apart by little; opaque layers by mixes alone."""

_LEAST_STRANGE = 3.0  # CIEDE2000 by which it must miss as well
_NUDGE = 1e-6
_MAT = 0.004  # less than the surface reflects, beyond what noise does [reflectance]
_AS_LIKELY = 0.8  # of what leaving the worst one out gains
_RICH = 0.5  # share from which a mix tells of the paint by itself
_NO_GLARE = 0.02  # K1 below which the surface cannot have been read
_ROUNDS = 4  # of weighing drawdowns anew
_TRIES = 100
_SETTLED = 2e-2  # gain in the sum of squares
_CLEAR, _DENSE = 1e-3, 1e4  # thinnest and thickest film that is looked at [1 / S of the unit]


# --- readings as arrays -------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Films:
    """Readings of paint as arrays: r readings of d drawdowns of p paints, on the grid.

    Attributes
    ----------
    ids : of the paints
    samples, mixtures : of the drawdowns
    surfaces : of the readings
    sample : (r,) the drawdown of each reading
    shares : (d, p) parts, summing to one
    ground : (r, 36) reflectance of the bare ground beside the film; zero under an opaque layer
    reflectance : (r, 36) as read
    covered : (r, 36) where it was read
    """

    ids: tuple[str, ...]
    samples: tuple[str, ...]
    mixtures: tuple[str, ...]
    surfaces: tuple[str, ...]
    sample: NDArray[np.intp]
    shares: Array
    ground: Array
    reflectance: Array
    covered: Mask

    @cached_property
    def opaque(self) -> Mask:
        """Whether a reading (r,) is of a layer that is said to hide."""
        return np.array([surface == "opaque" for surface in self.surfaces])

    @cached_property
    def shown(self) -> NDArray[np.intp]:
        """The reading (d,) that shows each drawdown: over white, else opaque, else over black."""
        order = {"over-white": 0, "opaque": 1, "over-black": 2}
        rank = np.array([order[surface] for surface in self.surfaces])
        return np.array([
            min(np.flatnonzero(self.sample == d), key=lambda r: rank[r])
            for d in range(len(self.samples))
        ])  # fmt: skip


def films(readings: Readings, ids: Sequence[str] | None = None) -> Films:
    """Return readings as arrays; `ids` orders the paints, as they come unless given.

    Raises
    ------
    ReadingError : if there are no films, a ground is missing, or one sample is two mixtures
    """
    own = [r for r in readings.readings if not r.surface.startswith("bare")]
    if not own:
        raise ReadingError(f"{readings.path}: it holds bare grounds only, and no paint")
    bare: dict[tuple[str, str], Array] = {}
    for reading in readings.readings:
        if reading.surface.startswith("bare"):
            bare.setdefault((reading.sample, reading.surface[5:]), reading.reflectance)
    order = list(ids if ids is not None else dict.fromkeys(id for r in own for id in r.parts))
    first: dict[str, Reading] = {}
    for reading in own:
        one = first.setdefault(reading.sample, reading)
        if one.parts != reading.parts:
            raise ReadingError(
                f"{readings.path}: sample {reading.sample} is {one.mixture} and {reading.mixture}; "
                "a drawdown is one mixture, so give each its own sample"
            )
    parts = np.array([[r.parts.get(id, 0.0) for id in order] for r in first.values()])
    places = {sample: d for d, sample in enumerate(first)}
    ends = np.array([r.covered for r in own])
    return Films(
        ids=tuple(order),
        samples=tuple(first),
        mixtures=tuple(r.mixture for r in first.values()),
        surfaces=tuple(r.surface for r in own),
        sample=np.array([places[r.sample] for r in own]),
        shares=parts / parts.sum(axis=1, keepdims=True),
        ground=np.array([_ground(readings, bare, r) for r in own]),
        reflectance=np.array([r.reflectance for r in own]),
        covered=(ends[:, :1] <= WAVELENGTHS) & (ends[:, 1:] >= WAVELENGTHS),
    )


def _ground(readings: Readings, bare: Mapping[tuple[str, str], Array], reading: Reading) -> Array:
    """Return the bare ground of a film: its own, or the mean of the same ground of the others."""
    if reading.surface == "opaque":
        return np.zeros(len(WAVELENGTHS))
    word = reading.surface[5:]
    if (reading.sample, word) in bare:
        return bare[reading.sample, word]
    others = [ground for (_, other), ground in bare.items() if other == word]
    if not others:
        raise ReadingError(
            f"{readings.path}: sample {reading.sample} was read over {word}, but no bare {word} "
            f"ground was; add its reading as bare-{word}, or call the film opaque if it hides"
        )
    return np.asarray(np.mean(others, axis=0))


def _seen(reflectance: Array) -> Array:
    """Return steps of equal lightness (...): a hundred times the cube root of reflectance."""
    return 100 * np.cbrt(np.maximum(reflectance, 0))


# --- the fit ------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Model:
    """Readings as a function of unknowns, with what is believed of those.

    The unknowns are, one after another: log K (p, m), log S (p, m) over the m wavelengths that
    were read, the log thickness of each drawdown (d,) about the usual, that of the usual film, and
    K1 and K2 of the surface in deviations from what is believed.
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
    def k1(self) -> tuple[float, float]:
        """What K1 is thought to be beforehand, and its spread.

        One film that reads less than a surface is thought to reflect may be mat or lean. Where more
        than one does, the instrument or the binder differs, and K1 is sought near what they read.
        """
        b = self.beliefs
        k1 = min(b.k1, self.floor)
        return k1, math.hypot(b.k1_spread, b.k1 - k1)

    @property
    def floor(self) -> float:
        """What more than one film comes down to; K1 cannot be above it."""
        return float(np.sort(self.darkest)[:2][-1])

    def surface(self, u: Array) -> Surface:
        """Return the surface of unknowns."""
        if self.stated is not None:
            return self.stated
        b, (k1, k1_spread) = self.beliefs, self.k1
        k1, k2 = k1 + k1_spread * u[-2], b.k2 + b.k2_spread * u[-1]
        k1, k2 = float(np.clip(k1, 0, self.floor + b.noise)), float(np.clip(k2, 0, 0.9))
        return Surface(k1, k2, dark_loss=b.dark_loss)

    def curves(self, u: Array) -> tuple[Array, Array]:
        """Return K and S (p, m) of unknowns."""
        p, _, m = self.sizes
        k, s = np.exp(np.clip(u[: 2 * p * m], -18, 18)).reshape(2, p, m)
        return k, s

    def on_grid(self, u: Array) -> tuple[Array, Array]:
        """Return K and S (p, 36); beyond what was read they keep their last values."""
        at = np.flatnonzero(self.read)
        held = np.clip(np.arange(len(WAVELENGTHS)), at[0], at[-1]) - at[0]
        k, s = self.curves(u)
        return k[:, held], s[:, held]

    def thickness(self, u: Array) -> Array:
        """Return the thickness (r, 1) of each reading's layer."""
        p, d, m = self.sizes
        logs = u[2 * p * m : 2 * p * m + d] + u[-3]
        x = np.exp(np.clip(logs, -12, 12))[self.films.sample]
        return np.where(self.films.opaque, np.inf, x)[:, None]

    def gloss(self, surface: Surface) -> Array:
        """Return what each reading's surface reflects less than others (r, 1), none or negative.

        A film that reads less than a surface reflects at all is mat or lean; how much less its
        surface reflects is seen where it is darkest.
        """
        off = self.darkest - surface.outside
        return np.where(off < -_MAT, off, 0.0)[self.films.sample][:, None]

    @cached_property
    def spread(self) -> Array:
        """Likely error (r, m) of each reading, in steps of lightness."""
        slope = 100 / 3 / np.cbrt(np.maximum(self.films.reflectance[:, self.read], 1e-3)) ** 2
        return np.hypot(self.beliefs.theory, self.beliefs.noise * slope)

    def _measured(self, k: Array, s: Array, x: Array, surface: Surface) -> Array:
        ground = np.clip(surface.internal(self.films.ground[:, self.read]), 0, 1)
        return _seen(surface.measured(optics.film(k, s, x, ground)) + self.gloss(surface))

    def off(self, u: Array) -> Array:
        """Return (r, m) how far the model is from the readings, in their spreads."""
        shares = self.films.shares[self.films.sample]
        k, s = self.curves(u)
        seen = self._measured(shares @ k, shares @ s, self.thickness(u), self.surface(u))
        read = self.films.covered[:, self.read]
        return np.where(read, seen - _seen(self.films.reflectance[:, self.read]), 0) / self.spread

    def slopes(self, u: Array) -> Any:
        """Return the sparse Jacobian (r m, unknowns) of :meth:`off`.

        The slopes by K and by S of each film are central differences in the logarithm; all else
        follows from them by the chain rule. By thickness they are the sum of both, as a film knows
        only K X and S X.
        """
        from scipy import sparse

        p, _, m = self.sizes
        shares = self.films.shares[self.films.sample]
        own_k, own_s = self.curves(u)
        k, s, x, surface = shares @ own_k, shares @ own_s, self.thickness(u), self.surface(u)
        up, down = 1 + _NUDGE, 1 - _NUDGE
        weight = self.films.covered[:, self.read] / self.spread
        by_k, by_s = (
            weight * (self._measured(*more, x, surface) - self._measured(*less, x, surface))
            / (2 * _NUDGE)
            for more, less in (((k * up, s), (k * down, s)), ((k, s * up), (k, s * down)))
        )  # fmt: skip
        by_x = np.where(self.films.opaque[:, None], 0.0, by_k + by_s)
        # share of each paint (r, p, m) in the K and in the S of a film
        in_k = shares[:, :, None] * own_k / k[:, None]
        in_s = shares[:, :, None] * own_s / s[:, None]
        r, i = np.nonzero(shares)
        wave = np.arange(m)
        rows, usual = np.arange(len(shares))[:, None] * m + wave, len(u) - 3
        blocks = [
            (rows[r], i[:, None] * m + wave, by_k[r] * in_k[r, i]),
            (rows[r], p * m + i[:, None] * m + wave, by_s[r] * in_s[r, i]),
            (rows, 2 * p * m + self.films.sample[:, None], by_x),
            (rows, np.full((1, 1), usual), by_x),
        ]
        if self.stated is None:
            for place in (-2, -1):
                step = np.zeros_like(u)
                step[place] = 1e-4
                moved = self.off(u + step) - self.off(u - step)
                blocks.append((rows, np.full((1, 1), len(u) + place), moved / 2e-4))
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
        drift, bend = np.diff(np.eye(m), axis=0), np.diff(np.eye(m), 2, axis=0)
        of_k = np.vstack([bend / b.absorption_bend, np.eye(m) / b.absorption_spread])
        aim_k = np.concatenate(
            [np.zeros(len(bend)), np.full(m, math.log(b.absorption) / b.absorption_spread)]
        )
        start = self.start()[: p * m].reshape(p, m)
        follow = b.edge * np.abs(np.diff(start, axis=1))
        # as sure as one figure, though it is laid on all wavelengths: they go together
        level = np.eye(m) / (b.level * math.sqrt(b.together))
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
                    steps = np.hypot(b.drift, follow[i])
                    turns = np.hypot(b.bend, np.maximum(follow[i, 1:], follow[i, :-1]))
                    rows = np.vstack([drift / steps[:, None], bend / turns[:, None]])
                    aim = np.zeros(len(rows))
                    ends = (unit, np.zeros(1)) if i == self.white else (
                        level, level.sum(axis=1) * math.log(b.scattering)
                    )
                    blocks.append((np.vstack([rows, ends[0]]), np.concatenate([aim, ends[1]])))
        usual = math.log(b.thickness) / b.thickness_spread
        blocks += [
            (np.eye(d) / b.film, np.zeros(d)),
            (np.eye(1) / b.thickness_spread, np.full(1, usual)),
            (np.eye(2), np.zeros(2)),
        ]
        matrix: Any = sparse.block_diag([rows for rows, _ in blocks], format="csr")
        return matrix, np.concatenate([aim for _, aim in blocks])

    def start(self) -> Array:
        """Return unknowns to start from: K/S of the fullest opaque-looking reading of a paint."""
        p, d, m = self.sizes
        u = np.zeros(2 * p * m + d + 3)
        surface = self.surface(u)
        share = self.films.shares[self.films.sample]
        log_k, log_s = np.zeros((p, m)), np.zeros((p, m))
        for i in range(p):
            fullest = self.films.reflectance[int(np.argmax(share[:, i])), self.read]
            inside = np.clip(surface.internal(fullest), 0.01, 0.97)
            log_k[i] = np.log(optics.k_over_s(inside))
            if i in self.known:
                log_k[i], log_s[i] = (np.log(np.maximum(c[self.read], 1e-7)) for c in self.known[i])
        u[: 2 * p * m] = np.concatenate([log_k.ravel(), log_s.ravel()])
        u[-3] = math.log(self.beliefs.thickness)
        return u

    def solve(
        self, weights: Array, start: Array | None = None, tries: int = _TRIES
    ) -> "_Solved":
        """Return the most probable unknowns, by damped Gauss-Newton steps.

        `weights` (r,) says how much each reading counts, 1 unless it is doubted.
        """
        from scipy import sparse

        root = np.repeat(np.sqrt(weights), self.sizes[2])
        rows, aim = self.prior
        scale = sparse.diags_array(root)

        def residuals(u: Array) -> Array:
            return np.concatenate([root * self.off(u).ravel(), rows @ u - aim])

        def normal(u: Array) -> tuple[Any, Any]:
            slopes = scale @ self.slopes(u)
            stacked = sparse.vstack([slopes, rows]).tocsc()
            return stacked, (stacked.T @ stacked).tocsc()

        u = self.start() if start is None else start
        off, (slopes, matrix) = residuals(u), normal(u)
        cost, damping = float(off @ off), 1e-2
        for _ in range(tries):
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
        return _Solved(self, u, matrix)


def _factor(matrix: Any) -> Any:
    """Return a solver of a sparse symmetric positive matrix."""
    from scipy.sparse.linalg import splu

    return splu(
        matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )  # fmt: skip


@dataclass(frozen=True, eq=False)
class _Solved:
    model: _Model
    u: Array
    matrix: Any

    @cached_property
    def agreement(self) -> Array:
        """Root mean square (d,) of each drawdown's residuals, in spreads."""
        off = self.model.off(self.u)
        counted = self.model.films.covered[:, self.model.read].sum(axis=1)
        sample, d = self.model.films.sample, len(self.model.films.samples)
        squares = np.bincount(sample, (off**2).sum(axis=1), minlength=d)
        return np.sqrt(squares / np.maximum(np.bincount(sample, counted, minlength=d), 1))

    def curves(self) -> tuple[Array, Array, Surface]:
        """Return K and S (p, 36) and the surface."""
        return *self.model.on_grid(self.u), self.model.surface(self.u)

    def likely_error(self, shares: Array) -> Array:
        """Return the likely CIEDE2000 (q,) of opaque mixtures (q, p), by the fit's covariance."""
        model = self.model
        p, _, m = model.sizes
        k, s, surface = self.curves()
        mixed_k, mixed_s = shares @ k, shares @ s
        inner = optics.opaque(mixed_k, mixed_s)
        seen = surface.measured(inner)
        lab = reflectance_to_lab(seen, viewing())
        nudged = reflectance_to_lab(seen[:, None, :] + 1e-5 * np.eye(len(WAVELENGTHS)), viewing())
        by_seen = difference(lab[:, None], nudged) / 1e-5  # (q, 36, 3)
        by_k, by_s = optics.opaque_slopes(mixed_k, mixed_s)
        front = surface.measured_slope(inner)
        at = np.flatnonzero(model.read)
        held = np.clip(np.arange(len(WAVELENGTHS)), at[0], at[-1]) - at[0]
        gather = (held[:, None] == np.arange(m)).astype(float)  # ends stand for what lies beyond
        full = np.zeros((len(self.u), len(shares), 3))
        for quantity, (by, curve) in enumerate(((by_k, k), (by_s, s))):
            # slopes of the colour by the logarithm of each paint's curve: (p, q, 36)
            own = shares.T[:, :, None] * curve[:, None, :] * (front * by)[None]
            moved = np.einsum("pqw,qwc,wm->pmqc", own, by_seen, gather)
            full[quantity * p * m : (quantity + 1) * p * m] = moved.reshape(p * m, -1, 3)
        flat = full.reshape(len(self.u), -1)
        variance = (flat * _factor(self.matrix).solve(flat)).sum(axis=0).reshape(-1, 3)
        return np.asarray(np.sqrt(np.maximum(variance.sum(axis=1), 0)))


# --- predicting ---------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Prediction:
    """What curves say of a drawdown that was read.

    Attributes
    ----------
    sample, mixture : of the drawdown
    surface : which reading the miss is of: over white, else opaque, else over black
    miss : CIEDE2000 from the reading, D65 / 2 degree
    thickness : of the film, the one free number [1 / S of the unit]; inf of an opaque layer
    """

    sample: str
    mixture: str
    surface: str
    miss: float
    thickness: float


def predict(table: PigmentTable, readings: Readings) -> tuple[Prediction, ...]:
    """Return how well a table predicts the drawdowns of readings, in the order of the file.

    The thickness of each film is the one that agrees best with all grounds it was read over.

    Raises
    ------
    ReadingError : if the readings hold a paint that the table lacks, or films without grounds
    """
    named: dict[str, str] = {}
    for name in dict.fromkeys(id for r in readings.readings for id in r.parts):
        try:
            named[name] = table[name].id
        except NotationError as error:
            raise ReadingError(f"{readings.path}: {error} in {table.path}") from None
    if doubled := {id for id in named.values() if list(named.values()).count(id) > 1}:
        raise ReadingError(f"{readings.path}: {min(doubled)} goes by two names; write its id")
    told = replace(
        readings,
        readings=tuple(
            replace(r, parts={named[i]: n for i, n in r.parts.items()}) for r in readings.readings
        ),
    )
    order = list(named.values())
    chosen = [table[id] for id in order]
    return _predict(
        films(told, order), np.array([p.K for p in chosen]), np.array([p.S for p in chosen]),
        chosen[0].surface,
    )  # fmt: skip


def _predict(
    of: Films, k: Array, s: Array, surface: Surface, only: Sequence[int] | None = None
) -> tuple[Prediction, ...]:
    """Return predictions of drawdowns, all unless `only` some, by curves (p, 36)."""
    return tuple(
        _predict_one(of, d, of.shares[d] @ k, of.shares[d] @ s, surface)
        for d in (range(len(of.samples)) if only is None else only)
    )


def _predict_one(of: Films, d: int, k: Array, s: Array, surface: Surface) -> Prediction:
    from scipy.optimize import minimize_scalar

    own = np.flatnonzero(of.sample == d)
    shown = int(of.shown[d])
    wanted = reflectance_to_lab(of.reflectance[own], viewing())
    ground = np.clip(surface.internal(of.ground[own]), 0, 1)

    def misses(log_x: Any) -> Array:
        x = np.where(of.opaque[own], np.inf, np.exp(np.asarray(log_x))[..., None])[..., None]
        lab = reflectance_to_lab(surface.measured(optics.film(k, s, x, ground)), viewing())
        return ciede2000(wanted, lab)

    def off(log_x: Any) -> Any:
        return (misses(log_x) ** 2).sum(axis=-1)

    # the colour of a film can come and go as it thickens, so a grid finds where to look
    grid = np.log(np.geomspace(_CLEAR, _DENSE, 141))
    best = int(np.argmin(off(grid)))
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
    found = minimize_scalar(off, bounds=(low, high), method="bounded")
    log_x = found.x if found.fun < off(grid[best]) else grid[best]
    miss = float(misses(log_x)[int(np.flatnonzero(own == shown)[0])])
    hides = bool(of.opaque[own].all())
    return Prediction(
        of.samples[d], of.mixtures[d], of.surfaces[shown], miss,
        math.inf if hides else float(np.exp(log_x)),
    )  # fmt: skip


# --- characterising -----------------------------------------------------------------------------


def _silent(share: float) -> None:
    return None


@dataclass(frozen=True, eq=False)
class DrawdownFit:
    """How a drawdown agrees.

    Attributes
    ----------
    sample, mixture, surface : as in :class:`Prediction`
    miss : of the curves that were fitted to it and all others [CIEDE2000]
    left_out : of the curves that were fitted to the others alone; nan if it was not tried
    told : whether the others hold each of its paints at least twice, so that they can tell it
    strange : whether it contradicts the others, or theory
    """

    sample: str
    mixture: str
    surface: str
    miss: float
    left_out: float
    told: bool
    strange: bool


@dataclass(frozen=True, eq=False)
class Characterised:
    """Paints that were fitted to readings.

    Attributes
    ----------
    paints : with `uncertainty` the likely CIEDE2000 of a prediction
    drawdowns : how each agrees
    surface : the constants, stated or found
    notes : what was done, and what the readings cannot tell, in words
    """

    paints: tuple[Paint, ...]
    drawdowns: tuple[DrawdownFit, ...]
    surface: Surface
    notes: tuple[str, ...]

    @property
    def misses(self) -> Array:
        """Misses (d,) of the fit [CIEDE2000]."""
        return np.array([one.miss for one in self.drawdowns])

    @property
    def left_out(self) -> Array:
        """Misses of the drawdowns that the others tell, each left out in turn [CIEDE2000]."""
        return np.array([
            one.left_out for one in self.drawdowns
            if one.told and not one.strange and not math.isnan(one.left_out)
        ])  # fmt: skip


def characterise(
    readings: Readings,
    *,
    surface: Surface | None = None,
    known: PigmentTable | None = None,
    hold: Sequence[str] | None = None,
    leave_out: bool = True,
    beliefs: Beliefs = BELIEFS,
    progress: Callable[[float], None] | None = None,
) -> Characterised:
    """Return the paints of readings.

    Parameters
    ----------
    readings : masstones, tints, shades, any mixes
    surface : Saunderson's constants; found with the curves unless stated
    known : a table whose paints are held as they are where the readings name them, by id or by
        Colour Index name, e.g. the white of a tint; its unit and its surface hold
    hold : the paints of it that are held; all that the readings name unless given
    leave_out : whether each drawdown is left out in turn, to tell how well the others predict it
    beliefs : what is thought of paint beforehand
    progress : told the share of the work that is done, 0..1, now and then

    Raises
    ------
    ReadingError : if the readings do not make sense
    """
    from mixlab.search import one_thread

    with one_thread():
        return _characterise(readings, surface, _held(readings, known, hold), leave_out, beliefs,
                             progress or _silent)  # fmt: skip


def _held(
    readings: Readings, known: PigmentTable | None, hold: Sequence[str] | None
) -> dict[str, Paint]:
    """Return the paints of a table that are held, by what the readings call them."""
    if known is None:
        return {}
    ids = dict.fromkeys(id for reading in readings.readings for id in reading.parts)
    held = {id: known[id] for id in ids if id in known}
    if hold is not None:
        wanted = {known[name].id for name in hold}
        held = {id: paint for id, paint in held.items() if paint.id in wanted}
    if not held:
        raise ReadingError(
            f"{known.path}: none of its paints that are to be held is in the readings, which name "
            f"{', '.join(ids)}"
        )
    if len(held) == len(ids):
        raise ReadingError(
            f"{readings.path}: every paint of it is in {known.path} and held as it is there, so "
            "there is none to find; say which to hold (--hold), or give your own another name"
        )
    return held


def _characterise(
    readings: Readings,
    surface: Surface | None,
    held: Mapping[str, Paint],
    leave_out: bool,
    beliefs: Beliefs,
    progress: Callable[[float], None],
) -> Characterised:
    of = films(readings)
    curves = {of.ids.index(id): (paint.K, paint.S) for id, paint in held.items()}
    first = next(iter(held.values()), None)
    white = _unit(of) if first is None else None
    model = _Model(of, beliefs, white, first.surface if first else surface, curves)
    if surface is not None and surface.outside > (usual := float(np.median(model.darkest))):
        raise ReadingError(
            f"K1 {surface.outside:g} is more than half of the films read at their darkest "
            f"({usual:.3f}); a binder's surface reflects about 0.04"
        )
    trial = _Trial.of(model, leave_out, progress=lambda share: progress(share / 2))
    suspects = trial.suspects
    if suspects:
        trial = _Trial.of(model, leave_out, suspects[0], lambda share: progress(0.5 + share / 2))
    progress(1.0)
    k, s, found = trial.whole.curves()
    fits = _fits(trial, k, s, found)
    unit = first.unit if first else of.ids[white or 0]
    scale = 1.0 if white is None else float(np.interp(550, WAVELENGTHS, s[white]))
    lacks = [_lacks(model, i) for i in range(len(of.ids))]
    errors = _uncertainty(trial, fits, lacks)
    own = [_own_misses(of, fits, i) for i in range(len(of.ids))]
    source = f"readings {readings.path.replace(chr(92), '/').rsplit('/', 1)[-1]}"
    paints = tuple(
        held[id] if id in held else Paint(
            id=id, name=id.replace("-", " "), colour_index=(), K=k[i] / scale, S=s[i] / scale,
            basis="measured", source=", ".join([source, *lacks[i]]), uncertainty=errors[i],
            unit=unit, cautions="read the maker's safety data sheet", surface=found,
            masstone_miss=own[i][0], tint_miss=own[i][1],
        )
        for i, id in enumerate(of.ids)
    )  # fmt: skip
    notes = _notes(readings, trial, fits, held, suspects[1:])
    return Characterised(paints, fits, found, tuple(notes))


def _unit(of: Films) -> int:
    """Return the paint whose scattering is the unit: the white in most drawdowns, or the lightest.

    A white here is a paint whose fullest reading has L* of WHITE or more.
    """
    share = of.shares[of.sample]
    fullest = of.reflectance[np.argmax(share, axis=0)]
    light = reflectance_to_lab(fullest, viewing())[:, 0]
    light = np.where(share.max(axis=0) >= 0.5, light, 0)
    if (light >= WHITE).any():
        return int(np.argmax(np.where(light >= WHITE, (of.shares > 0).sum(axis=0), 0)))
    # without a white at hand, the paint that the others are mixed with
    return int(np.argmax((of.shares > 0).sum(axis=0) + light / 1000))


@dataclass(frozen=True, eq=False)
class _Trial:
    """A fit of everything, and a fit without each drawdown where that was asked for."""

    whole: _Solved
    without: dict[int, _Solved]
    dropped: int | None

    @classmethod
    def of(
        cls, model: _Model, leave_out: bool, dropped: int | None = None,
        progress: Callable[[float], None] = _silent,
    ) -> "_Trial":  # fmt: skip
        """Return the fits of a model; the drawdown that is `dropped` counts in none."""
        sample = model.films.sample
        kept = sample != (-1 if dropped is None else dropped)
        weights = kept.astype(float)
        solved = model.solve(weights)
        for _ in range(_ROUNDS):
            usual = max(float(np.median(solved.agreement)), 0.5)
            # Cauchy weights: a drawdown that is usual counts nearly whole
            doubt = 1 / (1 + (solved.agreement / (2 * usual)) ** 2)
            new = doubt[sample] * kept
            if np.allclose(new, weights, atol=0.02):
                break
            weights = new
            solved = model.solve(weights, solved.u)
        without = {}
        for d in range(len(model.films.samples)):
            if leave_out and d != dropped and _rest_tells(model, d, dropped):
                less = np.where(sample == d, 0.0, weights)
                without[d] = model.solve(less, solved.u, _TRIES // 3)
            progress((d + 1) / len(model.films.samples))
        return cls(solved, without, dropped)

    def told(self, d: int) -> bool:
        """Whether every paint of a drawdown is known, or in two others at least."""
        model = self.whole.model
        counted = np.arange(len(model.films.samples)) != d
        if self.dropped is not None:
            counted[self.dropped] = False
        others = (model.films.shares[counted] > 0).sum(axis=0)
        own = np.flatnonzero(model.films.shares[d])
        return all(i in model.known or others[i] >= 2 for i in own)

    @cached_property
    def left_out(self) -> dict[int, float]:
        """Miss of each drawdown by the others [CIEDE2000]."""
        films = self.whole.model.films
        return {d: _predict(films, *s.curves(), only=[d])[0].miss for d, s in self.without.items()}

    @property
    def suspects(self) -> list[int]:
        """Drawdowns without which the others agree far better, and which they do not explain.

        The likeliest first: a mix before a masstone, whose parts cannot be wrong. Of few drawdowns
        of a paint, one may be as likely as another.
        """
        told = [d for d in self.without if self.told(d)]
        if len(told) < 3:
            return []

        def rest(solved: _Solved, d: int) -> float:
            return float((np.delete(solved.agreement, d) ** 2).sum())

        gain = {
            d: rest(self.whole, d) + self.whole.agreement[d] ** 2 - rest(self.without[d], d)
            for d in told
        }
        worst = max(told, key=lambda d: gain[d])
        usual = max(float(np.median(np.delete(self.whole.agreement, worst))), 0.5)
        misses = [self.left_out[d] for d in told if d != worst]
        far = STRANGE * max(float(np.median(misses)), 0.5)
        shares = self.whole.model.films.shares
        # far off alone may be a paint that only this drawdown tells: it must disturb the rest too
        found = [
            d for d in told
            if gain[d] > (DISTURBS * usual) ** 2 and self.left_out[d] > far
            and gain[d] > _AS_LIKELY * gain[worst] and (shares[d] * shares[worst]).any()
        ]  # fmt: skip
        return sorted(found, key=lambda d: (shares[d].max() == 1, -gain[d]))


def _fits(trial: _Trial, k: Array, s: Array, surface: Surface) -> tuple[DrawdownFit, ...]:
    of = trial.whole.model.films
    agreement = trial.whole.agreement
    usual = max(float(np.median(agreement)), 0.5)
    return tuple(
        DrawdownFit(
            p.sample, p.mixture, p.surface, p.miss, trial.left_out.get(d, math.nan),
            trial.told(d),
            d == trial.dropped
            or bool(agreement[d] > STRANGE * usual and p.miss > _LEAST_STRANGE),
        )
        for d, p in enumerate(_predict(of, k, s, surface))
    )  # fmt: skip


def _own_misses(of: Films, fits: Sequence[DrawdownFit], paint: int) -> tuple[float, float]:
    """Return the miss of a paint's masstone, and the greatest of its other mixes."""
    share = of.shares[:, paint]
    alone = [f.miss for f, c in zip(fits, share, strict=True) if c == 1]
    mixed = [f.miss for f, c in zip(fits, share, strict=True) if 0 < c < 1 and not f.strange]
    return (float(np.mean(alone)) if alone else math.nan), max(mixed, default=math.nan)


def _lacks(model: _Model, paint: int) -> list[str]:
    """Return what readings lack to tell a paint, keys of LACKS; none for one that is held."""
    of = model.films
    if paint in model.known:
        return []
    rich = of.shares[of.sample, paint] >= _RICH
    surfaces = {surface for surface, is_rich in zip(of.surfaces, rich, strict=True) if is_rich}
    lacks = []
    if not rich.any() and paint != model.white:
        lacks.append("no masstone")
    elif surfaces == {"opaque"}:
        lacks.append("opaque only")
    elif len(surfaces) == 1:
        lacks.append("one ground")
    if paint not in _linked(model) or (paint == model.white and _unit_is_alone(model)):
        lacks.append("no mix with the others")
    return lacks


def _uncertainty(
    trial: _Trial, fits: Sequence[DrawdownFit], lacks: Sequence[Sequence[str]]
) -> list[float]:
    """Return the likely CIEDE2000 of a prediction with each paint.

    What leaving its drawdowns out shows of theory; what the readings leave open of its curves in
    mixes with the white, alone, 1:1 and 1:4; how far its own drawdowns are missed; and what
    readings of their kind cannot tell.
    """
    model = trial.whole.model
    p, unit = len(model.films.ids), model.white
    if unit is None:  # of the paints that are held, the lightest
        unit = max(model.known, key=lambda i: float(optics.opaque(*model.known[i]).mean()))
    likely = []
    for i in range(p):
        mixes = np.zeros((3, p))
        mixes[:, unit] += (0, 1, 4)
        mixes[:, i] += (1, 1, 1)
        open_ = trial.whole.likely_error(mixes / mixes.sum(axis=1, keepdims=True))
        tried = [
            f.left_out for f, c in zip(fits, model.films.shares[:, i], strict=True)
            if c > 0 and f.told and not f.strange and not math.isnan(f.left_out)
        ]  # fmt: skip
        # the median: a masstone that only itself can tell says nothing of the mixes
        theory = float(np.median(tried)) if len(tried) > 2 else UNTRIED
        own = [f.miss for f, c in zip(fits, model.films.shares[:, i], strict=True) if c > 0]
        lack = max((LACKS[what] for what in lacks[i]), default=0.0)
        parts = theory**2 + np.mean(open_**2) + np.mean(np.square(own)) + lack**2
        likely.append(float(np.sqrt(parts)))
    return likely


def _notes(
    readings: Readings, trial: _Trial, fits: Sequence[DrawdownFit], held: Mapping[str, Paint],
    rivals: Sequence[int],
) -> Iterator[str]:  # fmt: skip
    of, model = trial.whole.model.films, trial.whole.model
    yield from readings.notes
    if held:
        yield "held as the table has them: " + ", ".join(
            id if id == paint.id else f"{id}, its {paint.id}" for id, paint in held.items()
        )
    for fit in fits:
        if fit.strange:
            how = "left out of the fit" if of.samples.index(fit.sample) == trial.dropped else (
                "counted less"
            )
            miss = fit.miss if math.isnan(fit.left_out) else fit.left_out
            yield (
                f"{fit.sample} ({fit.mixture}) contradicts the others: it reads {miss:.1f} "
                f"CIEDE2000 from what they say; {how}. Read it again, or check its parts"
                + (f"; it may as well be {' or '.join(of.samples[d] for d in rivals)} that is off"
                   if rivals and of.samples.index(fit.sample) == trial.dropped else "")
            )  # fmt: skip
    surface = model.surface(trial.whole.u)
    darkest = model.darkest
    for d in np.flatnonzero(darkest < surface.outside - 2 * model.beliefs.noise):
        yield (
            f"{of.samples[d]} reads {darkest[d]:.3f} at its darkest, less than the surface alone "
            f"({surface.outside:.3f}): is its film mat or lean?"
        )
    if model.stated is None and surface.outside < _NO_GLARE:
        yield (
            "the darkest films read almost nothing: taken as read without the light that the "
            "surface reflects (45/0, or the specular excluded)"
        )
    yield from _unlinked(model)
    for i, id in enumerate(of.ids):
        if id not in held and i != model.white and of.shares[:, i].max() < 0.95:
            yield f"no masstone of {id}: its darkest mixes are a guess"
    grounds = {s for s in of.surfaces if s != "opaque"}
    if len(grounds) < 2:
        what = f"all films {grounds.pop()}" if grounds else "all layers opaque"
        yield f"{what}: how well a paint hides is told by its mixes alone"


def _unlinked(model: _Model) -> Iterator[str]:
    """Say which paints no mix links to the unit, by themselves or in groups."""
    of, linked = model.films, _linked(model)
    if model.white is not None and _unit_is_alone(model):
        yield (
            f"no mix of {of.ids[model.white]}: a masstone tells its colour, and not its strength "
            "in mixes, which is a guess"
        )
    left = set(range(len(of.ids))) - linked
    while left:
        group = _linked(model, start={min(left)})
        left -= group
        names = ", ".join(of.ids[i] for i in sorted(group))
        if len(group) == 1:
            yield (
                f"no mix of {names} with the others: a masstone tells its colour, and not its "
                "strength, which is a guess"
            )
        else:
            others = ", ".join(of.ids[i] for i in sorted(linked))
            yield (
                f"no mix links {names} with {others}: how strong they are against those is a "
                "guess; read a mix of one of each"
            )


def _unit_is_alone(model: _Model) -> bool:
    """Whether the unit is a paint that is in no mix, and no white, so that its strength counts."""
    of = model.films
    share = of.shares[:, model.white or 0]
    alone = of.reflectance[share[of.sample] == 1]
    mixed = ((share > 0) & (share < 1)).any()
    return not mixed and float(reflectance_to_lab(alone.max(axis=0), viewing())[0]) < WHITE


def _rest_tells(model: _Model, d: int, dropped: int | None = None) -> bool:
    """Return whether the other drawdowns link every paint of one to the unit."""
    rest = model.films.shares.copy()
    rest[[d] if dropped is None else [d, dropped]] = 0
    present = set(map(int, np.flatnonzero(model.films.shares[d]))) - set(model.known)
    still = (rest[:, sorted(present)] > 0).any(axis=0)
    return present <= _linked(model, rest) and bool(still.all())


def _linked(
    model: _Model, shares: Array | None = None, start: set[int] | None = None
) -> set[int]:
    """Return the paints that mixes link to the unit, each step by a drawdown of several paints."""
    linked = start or set(model.known) or {model.white or 0}
    shares = model.films.shares if shares is None else shares
    while True:
        touched = (shares[:, sorted(linked)] > 0).any(axis=1)
        more = linked | {int(i) for i in np.flatnonzero((shares[touched] > 0).any(axis=0))}
        if more == linked:
            return linked
        linked = more
