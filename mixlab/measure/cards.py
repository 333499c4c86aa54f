"""A swatch card to K and S of the tubes on it.

A photograph gives three numbers for a swatch, and a curve is 72: what the three leave open is taken
from what is known of paints beforehand. Each tube starts from a curve (the table's of the same
Colour Index name, or the one of the table that explains its swatches best, or a flat one), with a
stated spread about it: pigment load, absorption and scattering apart, a shift along the spectrum, a
smooth bend. The most probable curves are found by least squares on CIEDE2000, together with what
else is unsure: the sheen, the exposure, the cast, the camera's idea of colour, and the parts of
each pile.
How uncertain a tube is comes out of the same equations.

References
----------
.. [1] Tarantola, *Inverse Problem Theory* (SIAM 2005), ch. 3: least squares with a prior, its
       covariance, and the evidence for it.
.. [2] Rasmussen, Williams, *Gaussian Processes for Machine Learning* (MIT Press 2006), ch. 2 and
       5.4.2: smooth curves from few data; leaving one out.
"""


import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, one_thread
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import (
    WAVELENGTHS,
    adapt,
    lab_to_lch,
    lab_to_munsell,
    reflectance_to_lab,
    reflectance_to_xyz,
    rgb_to_xyz,
    viewing,
    xyz_to_lab,
    xyz_to_rgb,
)
from mixlab.errors import CardError
from mixlab.measure.swatches import Card, Swatch, balance, nearness
from mixlab.paint import optics
from mixlab.paint.paints import Paint, index_base
from mixlab.paint.tables import PigmentTable

# --- what is taken for granted ------------------------------------------------------------------
# Our own choices, no source. Spreads are standard deviations.

READING = 0.9
"""Spread of a swatch's reading about its true colour, apart from the causes below [CIEDE2000]."""

SLIP = 0.07
"""Spread of the parts of a pile [logarithm]."""

SHEEN, SHEEN_SPREAD = 0.6, 0.25
"""Share of the light turned back by the surface that the camera sees under an open sky."""

EXPOSURE = 0.02
"""Spread of the reference's stated reflectance [logarithm]."""

CAST = 0.02
"""Spread of each channel of the references' reading: a JPEG keeps little colour in a dark grey
[logarithm]."""

MATRIX = 0.04
"""Spread of the camera's matrix about that of a true observer [linear sRGB of a white]."""

DOUBTFUL = 18.0
"""Square of how far a swatch may lie from what the others say of it, in spreads: beyond it chance
takes one swatch in 2000, if all spreads are as stated (chi-square, three degrees of freedom)."""

CLOSER = 0.4
"""Where a card agrees better than the spreads have it, the bound follows, down to this share."""


@dataclass(frozen=True)
class Spread:
    """How far a tube may lie from the curve it starts from.

    Attributes
    ----------
    load : of both curves alike, the amount of pigment [logarithm]
    absorption, scattering : of each by itself [logarithm]
    shift : along the spectrum [nm]
    bend : of a smooth departure [logarithm]
    length : over which a bend changes [nm]
    """

    load: float
    absorption: float
    scattering: float
    shift: float
    bend: float
    length: float


SAME_PIGMENT = Spread(0.6, 0.25, 0.25, 6.0, 0.15, 60.0)
LIKE_PIGMENT = Spread(1.0, 0.6, 0.6, 25.0, 0.8, 60.0)
NOTHING_KNOWN = Spread(1.5, 1.0, 0.7, 0.0, 2.0, 60.0)
A_WHITE = Spread(0.0, 1.0, 0.0, 0.0, 0.05, 80.0)
"""The white of a card is the unit: its scattering stays."""

OTHER_WHITE = 2.0
"""Spread of the load where the card's white is not in the table: it may hide far less than another,
against which every tube looks strong [logarithm]."""

FLAT_K, FLAT_S = 0.1, 0.1
"""Where a tube of which nothing is known starts [S of titanium white]."""

_KEPT = 1e-4  # directions of a prior with less than this of its variance are left out
_MEDIAN = 2.366  # of chi-square, three degrees of freedom
_EXPLAINED = 0.7  # share of a swatch's distance that other parts must explain to be named
_NUDGE = 1e-5  # step of forward differences
_MANY = 3  # tubes far from their names, if most are: from here on the picture is doubted
_LIKELY = 5  # curves of the table that are tried for a tube without an index name


# --- what is known of a tube beforehand ---------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Prior:
    """A tube before it is seen: log K and log S (72,) and the directions it may move in.

    Attributes
    ----------
    start : the paint it starts from; None if nothing is known
    near : whether it is thought to be of the same pigment
    mean : (72,), log K then log S
    ways : (m, 72), each of spread one
    """

    start: Paint | None
    near: bool
    mean: Array
    ways: Array

    @classmethod
    def about(cls, start: Paint | None, spread: Spread, load: float | None = None) -> "Prior":
        """Return the prior about a paint, or a flat curve; `load` in place of the spread's."""
        n = len(WAVELENGTHS)
        k, s = (np.full(n, FLAT_K), np.full(n, FLAT_S)) if start is None else (start.K, start.S)
        logs = np.log(np.maximum([k, s], 1e-7))
        one, none = np.ones(n), np.zeros(n)
        slopes = np.gradient(logs, WAVELENGTHS, axis=1)
        level = np.stack([
            (spread.load if load is None else load) * np.concatenate([one, one]),
            spread.absorption * np.concatenate([one, none]),
            spread.scattering * np.concatenate([none, one]),
            -spread.shift * slopes.ravel(),
        ])  # fmt: skip
        bell = nearness(WAVELENGTHS[:, None], WAVELENGTHS[:, None], spread.length)
        # a K that hardly counts may be off by far more than one that makes the colour
        loose = spread.bend * (1 + 4 / (1 + k / s / 0.02))
        covariance = level.T @ level
        covariance[:n, :n] += bell * np.outer(loose, loose)
        covariance[n:, n:] += bell * spread.bend**2 * (spread.scattering > 0)
        values, vectors = np.linalg.eigh(covariance)
        kept = values > _KEPT * values[-1]
        ways = (vectors[:, kept] * np.sqrt(values[kept])).T
        return cls(start, spread is SAME_PIGMENT, logs.ravel(), ways)


def _bears(paint: Paint, index: Sequence[str]) -> bool:
    """Whether a paint bears one of the names; a number after a colon is a variety of the same."""
    own = set(map(index_base, paint.colour_index))
    return any(index_base(name) in own for name in index)


# --- the fit ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class SwatchFit:
    """How a swatch agrees: `miss` with the curves found, `left_out` with the others' [CIEDE2000].

    `strange` is the square of its distance from what the others say, in spreads.
    """

    swatch: Swatch
    miss: float
    left_out: float
    strange: float


@dataclass(frozen=True, eq=False)
class CardFit:
    """Tubes recovered from a card.

    Attributes
    ----------
    paints : in the order of the card, with `uncertainty` the likely CIEDE2000 of a prediction
    swatches : how each swatch agrees
    started : what each tube started from, in words, by tube
    uncertainty : likely CIEDE2000 of a prediction with each tube, by tube
    sheen : share of the surface's reflection that the camera saw
    notes : in words
    """

    paints: tuple[Paint, ...]
    swatches: tuple[SwatchFit, ...]
    started: dict[str, str]
    uncertainty: dict[str, float]
    sheen: float
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class _Model:
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
        at = [0, *self.ends]
        logs = np.stack(
            [
                prior.mean + unknowns[..., at[i] : at[i + 1]] @ prior.ways
                for i, prior in enumerate(self.priors.values())
            ],
            axis=-2,
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
        body = replace(self.surface, specular=False).measured(self.layers(unknowns, parts))
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
        moved = self.off(unknowns + _NUDGE * np.eye(len(unknowns)))
        return np.asarray((moved - self.off(unknowns)).T / _NUDGE)

    def solve(self, tries: int = 40) -> "_Solved":
        """Return the most probable unknowns and how sure they are."""
        from scipy.optimize import least_squares

        found = least_squares(
            self.off, np.zeros(self.ends[-1]), self.slopes, max_nfev=tries,
            xtol=1e-5, ftol=1e-5, gtol=1e-4,
        )  # fmt: skip
        slopes = np.asarray(found.jac)[: 3 * len(self.swatches)]
        return _Solved(self, found.x, slopes, float(2 * found.cost))


@dataclass(frozen=True, eq=False)
class _Solved:
    model: _Model
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

    def left_out(self) -> tuple[Array, Array]:
        """Return the miss (q,) of each swatch by the others, and its square in spreads."""
        inverse, pulled = self._pulled
        misses, strange = [], []
        for i in range(len(self.slopes) // 3):
            own = slice(3 * i, 3 * i + 3)
            off = np.linalg.solve(inverse[own, own], pulled[own])
            misses.append(READING * float(np.linalg.norm(off)))
            strange.append(float(off @ pulled[own]))
        return np.array(misses), np.array(strange)

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
        if along**2 < _EXPLAINED * sure * self.left_out()[1][i]:
            return ""
        tube = list(model.priors)[model.slip_of[pile[0]]]
        return f", as if it held {math.exp(SLIP * along / sure):.1g} times the {tube}"


def characterise_card(card: Card, table: PigmentTable) -> CardFit:
    """Return the tubes of a card, starting from the curves of a table.

    Raises
    ------
    CardError : if there is no white, or a swatch contradicts the others
    """
    with one_thread():
        return _characterise(card, table)


def _characterise(card: Card, table: PigmentTable) -> CardFit:
    same = {id: [p for p in table if _bears(p, index)] for id, index in card.tubes.items()}
    white = _white_of(card)
    first = next((p for p in (*same[white], *table) if p.is_white), None)
    if first is None:
        raise CardError(f"{table.path}: the table has no white to start from")
    of_white = Prior.about(first, A_WHITE)
    priors = {
        id: of_white if id == white else _best_start(card, id, white, of_white, same, table)
        for id in card.tubes
    }
    solved = _Model(card.swatches, priors, card.white, first.surface).solve()
    model = solved.model
    misses = ciede2000(model.observed, model.lab(solved.unknowns))
    left_out, strange = solved.left_out()
    worst = int(np.argmax(strange))
    usual = float(np.median(strange)) / _MEDIAN
    if strange[worst] > DOUBTFUL * np.clip(usual, CLOSER, 1):
        unseen = "".join(f"; or the picture is at fault: {one}" for one in card.unseen[:1])
        unseen += "".join(f"; {one}" for one in card.unseen[1:])
        raise CardError(
            f"{card.path}: {card.swatches[worst]} contradicts the others: it reads "
            f"{left_out[worst]:.1f} CIEDE2000 from what they say{solved.as_if(worst)}; "
            "paint or photograph it again, check its parts, its place and its tubes' index names, "
            f"or take it out{unseen}"
        )
    uncertainty = _uncertainty(solved, white)
    named = [id for id in priors if same[id] and id != white]
    far = [id for id in named if not priors[id].near]
    started = {id: _in_words(prior, id == white) for id, prior in priors.items()}
    for id in far:
        started[id] += f", far from {same[id][0].id}: is its index name right?"
    # a white that the table does not have is a unit of its own
    unit = first.unit if first in same[white] else white
    curves = zip(card.tubes, *model.curves(solved.unknowns), strict=True)
    paints = tuple(
        replace(
            _paint(card, id, k, s, priors[id].start or first, started[id]),
            uncertainty=uncertainty[id], unit=unit,
        )
        for id, k, s in curves
    )  # fmt: skip
    fits = tuple(
        SwatchFit(swatch, float(m), float(o), float(c))
        for swatch, m, o, c in zip(card.swatches, misses, left_out, strange, strict=True)
    )
    notes = [*_notes(card, white, unit)]
    if len(far) >= _MANY and 2 * len(far) > len(named):
        notes.insert(0, (
            f"{len(far)} of {len(named)} tubes are far from paint of their index names: rather "
            "than the names, the picture may be at fault; photograph the card without haze or "
            "light on the lens, save it unedited, and check what the neutrals reflect"
        ))  # fmt: skip
    return CardFit(
        paints, fits, started, uncertainty, float(model.sheen(solved.unknowns)), tuple(notes)
    )


def _white_of(card: Card) -> str:
    """Return the white that is in most swatches; CardError if there is none."""
    if not card.whites:
        raise CardError(
            f"{card.path}: no tube is a white; paint the tints with one, and list it under "
            '[tubes], as yard-white = "PW6"'
        )
    return max(card.whites, key=lambda id: sum(id in s.parts for s in card.swatches))


def _best_start(
    card: Card, id: str, white: str, of_white: Prior, same: Mapping[str, Sequence[Paint]],
    table: PigmentTable,
) -> Prior:  # fmt: skip
    """Return the prior under which the swatches of one tube are most probable.

    A paint of the same index name stands for it, unless it lies so far off that another would do.
    """
    own = [s for s in card.swatches if id in s.parts and set(s.parts) <= {id, white}]
    load = None if of_white.start in same[white] else OTHER_WHITE
    alike = same[id]
    if not own:
        return (
            Prior.about(alike[0], SAME_PIGMENT, load) if alike else Prior.about(None, NOTHING_KNOWN)
        )

    def best(tried: Sequence[Prior]) -> Prior:
        def unlikely(prior: Prior) -> float:
            priors = {id: prior, white: of_white}
            return _Model(own, priors, card.white, table.paints[0].surface).solve(12).unlikely

        return min(tried, key=unlikely)

    tried = [Prior.about(p, spread, load) for p in alike for spread in (SAME_PIGMENT, LIKE_PIGMENT)]
    if tried and (of_same := best(tried)).near:
        return of_same
    others = (p for p in table if not p.is_white and p not in alike)
    likely = sorted(others, key=lambda p: _unlike(p, own, id, of_white))[:_LIKELY]
    tried += [Prior.about(paint, LIKE_PIGMENT, load) for paint in likely]
    return best([*tried, Prior.about(None, NOTHING_KNOWN)])


def _unlike(paint: Paint, swatches: Sequence[Swatch], id: str, of_white: Prior) -> float:
    """Return how far the swatches of a tube are from those of a paint [CIEDE2000].

    In the mean, at the best of a few pigment loads.
    """
    k, s = np.split(np.exp(of_white.mean), 2)
    loads = np.exp(np.linspace(-1.2, 1.2, 7))
    own = np.array([swatch.parts[id] / sum(swatch.parts.values()) for swatch in swatches])
    share = np.stack([loads[:, None] * own, np.broadcast_to(1 - own, (7, len(own)))], axis=-1)
    seen = paint.surface.measured(
        optics.opaque(optics.mix(share, [paint.K, k]), optics.mix(share, [paint.S, s]))
    )
    misses = ciede2000(np.array([s.lab for s in swatches]), reflectance_to_lab(seen, viewing()))
    return float(misses.mean(axis=1).min())


def _uncertainty(solved: _Solved, white: str) -> dict[str, float]:
    """Return the likely CIEDE2000 of predictions with each tube.

    By the covariance of the fit, in the mean over the tube alone, in tints, and half and half with
    each of the others in white: root of the mean square.
    """
    model = solved.model
    ids = list(model.priors)
    count = model.ends[len(ids) - 1]
    covariance = solved.covariance()[:count, :count]
    steps = np.eye(len(solved.unknowns))[:count]
    likely = {}
    for id in ids:
        mixes = [{id: 1.0}]
        if id != white:
            mixes += [{id: 1.0, white: n} for n in (1.0, 4.0, 16.0)]
            mixes += [
                {id: 1.0, other: 1.0, white: n}
                for other in ids if other not in (id, white) for n in (1.0, 6.0)
            ]  # fmt: skip
        parts = np.array([[mix.get(one, 0.0) for one in ids] for mix in mixes])

        moved = np.vstack([solved.unknowns, solved.unknowns + _NUDGE * steps])
        labs = reflectance_to_lab(model.surface.measured(model.layers(moved, parts)), viewing())
        slopes = difference(labs[0], labs[1:]) / _NUDGE
        mean_square = np.einsum("uqc,uv,vqc->", slopes, covariance, slopes) / len(mixes)
        likely[id] = float(np.sqrt(mean_square))
    return likely


def _in_words(prior: Prior, white: bool) -> str:
    if prior.start is None:
        return "a flat curve, as no paint of the table explains it"
    if white:
        return f"{prior.start.id}, whose scattering is the unit"
    if prior.near:
        return f"{prior.start.id}, of the same index name"
    return f"{prior.start.id}, which explains it best"


def _paint(card: Card, id: str, k: Array, s: Array, start: Paint, started: str) -> Paint:
    # what a paint of the same name can hurt with, so can this one
    alike = _bears(start, card.tubes[id])
    return Paint(
        id=id, name=id.replace("-", " "), colour_index=card.tubes[id], K=k, S=s,
        transparency=start.transparency if alike else "", basis="measured",
        source=f"photo of the swatch card {card.path.name}, from {started}",
        cautions=start.cautions if alike else "read the maker's safety data sheet",
        surface=start.surface,
    )  # fmt: skip


# CIELCh hues that paint of a Colour Index name may have, generously [degrees, from and to]: green
# gold is PG10, turquoise PB36, maroon PV29; browns, blacks, whites, metals claim none; ours
_HUES = {
    "R": ("red", 320, 80), "O": ("orange", 15, 95), "Y": ("yellow", 40, 130),
    "G": ("green", 75, 250), "B": ("blue", 165, 335), "V": ("violet", 255, 50),
}  # fmt: skip
_COLOURED = 20.0  # C* below which a swatch has no hue to speak of


def _other_hue(card: Card, id: str) -> Iterator[str]:
    """Doubt a name whose hue the purest swatch of a tube and white does not have."""
    own = [s for s in card.swatches if id in s.parts and set(s.parts) <= {id, *card.whites}]
    letters = {re.sub(r"\d.*", "", name[1:]).upper() for name in card.tubes[id]}
    if not own or id in card.whites or len(letters) != 1 or not letters <= set(_HUES):
        return
    name, low, high = _HUES[letters.pop()]
    purest = max(own, key=lambda swatch: float(lab_to_lch(swatch.lab)[1]))
    _, chroma, hue = lab_to_lch(purest.lab)
    if chroma > _COLOURED and (hue - low) % 360 > (high - low) % 360:
        munsell = write_munsell(lab_to_munsell(purest.lab, viewing()), decimals=0)
        yield (
            f"{card.tubes[id][0]} is the name of a {name}, and the purest swatch of {id} is "
            f"{munsell}: is its index name right?"
        )


def _notes(card: Card, white: str, unit: str) -> Iterator[str]:
    yield from card.notes
    for id in card.tubes:
        yield from _other_hue(card, id)
    if unit == white:
        yield (
            f"the table has no white like {white}: strengths are relative to it, and these tubes "
            "cannot be mixed with those of the table"
        )
    else:
        yield f"{white} is taken to hide like the table's: strengths are relative to that"
    for id in card.tubes:
        own = [swatch for swatch in card.swatches if id in swatch.parts]
        alone = any(len(swatch.parts) == 1 for swatch in own)
        if not alone and id == white:
            yield f"no swatch of {id} alone: its colour is taken for the table's"
        elif not alone:
            yield f"no masstone of {id}: its darkest mixes are a guess"
        elif id != white and all(len(swatch.parts) == 1 for swatch in own):
            yield f"no tint of {id}: a masstone does not tell its strength, which is a guess"
