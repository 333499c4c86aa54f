"""How well the models of ``modelled.py`` predict: tried on paints whose curves are published.

Each of the eighteen fitted colours is modelled as if nothing were published of it: by facts alone
(places of edges and bands, refractive index, the colours of masstone and tint, all from memory),
and fourteen also beside a published neighbour of like chemistry. The facts of fifteen were written
down before their published colours were looked at; those of pyrrole orange, of cerulean PB36 and
of bismuth yellow by one who had seen the figures go by, which flatters these three.

What mixes then miss, against the same mixes of the published curves, is the uncertainty of a paint
modelled that way, by kind (:func:`doubt`). Each paint is left out in turn, from the share that
remembered tints stand for and from the uncertainty of its kind, to see whether misses lie within
what is stated (:func:`foretold`). Earths and blacks have no kind of their
own: no earth is published and only one black; they bear what all eighteen missed by.

The label's class of opacity, which the table's models use as a fact, is left out here: the labels
of the fitted paints were written beside their curves. Two numbers of the method were chosen with
twelve of the paints in view: the factor of :func:`data.making.modelled.by_index` and the weight of
the scattering it says.

The mixes stand for what painters do: the paint with every other fitted paint at three ratios of
effect, by itself and in two amounts of white; and its tints.

A fitted paint misses its figures by next to nothing, but those are of one maker's tube. Another
tube of the same Colour Index name is easily stronger or weaker by a third, and twice as strong at
times (common practice, no source): :func:`of_makers` is what that does to the same mixes.
"""


import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.making.modelled import (
    FLAT,
    ORGANIC,
    SCATTERING_PULL,
    Beside,
    Curves,
    Facts,
    band,
    by_index,
    edge,
    from_colours,
    power,
    tint,
)
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.spaces import reflectance_to_lab, viewing
from mixlab.paint import optics
from mixlab.paint.paints import SURFACE, Paint, tinting_strength
from mixlab.paint.trust import THEORY, likely_error

Array = NDArray[np.float64]

WHITE = "titanium-white"

MAKERS = 0.35
"""Standard deviation of the strength of one tube against another's [natural logarithm]."""

_RATIOS = (1 / 3, 1.0, 3.0)
_WHITES = (0.0, 1.0, 4.0)
_TINTS = (0.25, 1.0, 4.0, 16.0)


def facts(share: float) -> dict[str, Facts]:
    """Return what memory holds of the eighteen paints, tints standing for a share in our white."""

    def of(
        shapes: tuple[Array, ...], amounts: tuple[float, ...], scattering: float,
        masstone: tuple[float, float, float], tint: tuple[float, float, float],
    ) -> Facts:  # fmt: skip
        return Facts(shapes, amounts, scattering, masstone, tint, share, 8.0, SCATTERING_PULL)

    return {
        "bone-black": of((FLAT, power(-1.0)), (0.3, 0.1), by_index(1.67, 2.29),
                         (25, 0, -0.5), (55, -0.5, -3)),
        "arylide-yellow": of((edge(510), FLAT), (1, 1e-3), 0.2, (82, 6, 85), (92, -3, 60)),
        "diarylide-yellow": of((edge(530), FLAT), (1, 1e-3), 0.1, (74, 22, 80), (86, 9, 60)),
        "cadmium-orange": of((edge(565), FLAT), (0.6, 1e-3), by_index(2.5, 4.5),
                             (65, 46, 74), (82, 20, 43)),
        "cadmium-red-light": of((edge(595), FLAT), (0.5, 1e-3), by_index(2.7, 4.5),
                                (49, 57, 42), (72, 34, 19)),
        "pyrrole-red": of((edge(595), band(535, 30), FLAT), (0.4, 0.4, 1e-3), 0.1,
                          (42, 57, 35), (67, 43, 19)),
        "quinacridone-red": of(
            (band(500, 28), band(535, 20), band(570, 14), band(400, 40), FLAT),
            (0.6, 1, 0.9, 0.15, 3e-3), ORGANIC, (35, 47, 20), (68, 38, 2)),
        "quinacridone-magenta": of(
            (band(510, 28), band(535, 20), band(568, 16), band(400, 40), FLAT),
            (0.6, 0.9, 1, 0.15, 3e-3), ORGANIC, (29, 29, 3), (66, 36, -14)),
        "ultramarine-blue": of((band(600, 45), band(380, 20), FLAT), (0.5, 0.05, 5e-3),
                               by_index(1.57, 2.34), (25, 17, -33), (69, 2, -33)),
        "cobalt-blue": of(
            (band(545, 22), band(588, 22), band(625, 20), FLAT), (0.15, 0.25, 0.25, 5e-3),
            by_index(1.74, 3.83), (34, 8, -45), (71, -3, -27)),
        "phthalo-blue-green-shade": of(
            (band(615, 35), band(700, 40), band(350, 40), FLAT), (3, 2.7, 3, 0.03), ORGANIC,
            (25, 3, -13), (53, -16, -39)),
        "phthalo-green-blue-shade": of(
            (band(640, 38), band(710, 40), band(380, 45), FLAT), (3, 2, 1.5, 0.03), ORGANIC,
            (26, -12, -1), (63, -40, -2)),
        "dioxazine-violet": of(
            (band(530, 25), band(575, 22), band(620, 18), band(400, 40), FLAT),
            (3, 3, 3, 0.5, 0.02), ORGANIC, (23, 9, -9), (46, 22, -36)),
        "phthalo-blue-red-shade": of(
            (band(615, 35), band(700, 40), band(350, 40), FLAT), (3, 2.7, 3, 0.03), ORGANIC,
            (24, 14, -24), (52, -8, -43)),
        "phthalo-green-yellow-shade": of(
            (band(650, 38), band(715, 40), band(390, 45), FLAT), (3, 2, 1.8, 0.03), ORGANIC,
            (27, -18, 5), (65, -43, 9)),
        "pyrrole-orange": of((edge(575), band(520, 30), FLAT), (0.4, 0.4, 1e-3), 0.1,
                             (58, 60, 55), (77, 37, 30)),
        "cerulean-blue-chromium": of(
            (band(590, 35), band(645, 25), band(450, 35), FLAT), (0.2, 0.2, 0.02, 0.01),
            by_index(1.84, 4.6), (42, -9, -35), (74, -12, -24)),
        "bismuth-yellow": of((edge(505), FLAT), (1, 1e-3), by_index(2.45, 6.5),
                             (90, -4, 88), (95, -9, 55)),
    }  # fmt: skip


BESIDE = {
    "cadmium-red-light": ("cadmium-orange", 30), "cadmium-orange": ("cadmium-red-light", -30),
    "diarylide-yellow": ("arylide-yellow", 20), "arylide-yellow": ("diarylide-yellow", -20),
    "pyrrole-orange": ("pyrrole-red", -20), "pyrrole-red": ("pyrrole-orange", 20),
    "quinacridone-red": ("quinacridone-magenta", 0),
    "quinacridone-magenta": ("quinacridone-red", 0),
    "phthalo-blue-red-shade": ("phthalo-blue-green-shade", 0),
    "phthalo-blue-green-shade": ("phthalo-blue-red-shade", 0),
    "phthalo-green-yellow-shade": ("phthalo-green-blue-shade", 0),
    "phthalo-green-blue-shade": ("phthalo-green-yellow-shade", 0),
    "cobalt-blue": ("cerulean-blue-chromium", 0), "cerulean-blue-chromium": ("cobalt-blue", 0),
}  # fmt: skip
"""The published neighbour of a paint, and how far along its edge stands [nm], from memory."""

INORGANIC = frozenset(
    ["cadmium-orange", "cadmium-red-light", "ultramarine-blue", "cobalt-blue",
     "cerulean-blue-chromium", "bismuth-yellow"]
)  # fmt: skip
KINDS = ("organic", "inorganic", "earth", "black", "neighbour")


@dataclass(frozen=True, eq=False)
class Trial:
    """A paint modelled as if its figures did not exist.

    Attributes
    ----------
    id : of the paint
    kind : one of :data:`KINDS`: that of the pigment, or "neighbour" if modelled beside one
    curves : its modelled K and S
    misses : (m,), CIEDE2000 of its :func:`mixes`, the others as published
    """

    id: str
    kind: str
    curves: Curves
    misses: Array


def curves(paint: Paint) -> Curves:
    """Return K and S (36,) of a paint."""
    return paint.K, paint.S


def remembered_share(known: Mapping[str, Paint], without: str = "") -> float:
    """Return the share in our white at which tints look as those that memory calls 1:9.

    The geometric mean over the eighteen paints, or all but one: memory's white is a stronger one.
    """
    shares = np.geomspace(0.05, 0.7, 80)
    nearest = []
    for id, fact in facts(0.1).items():
        if id != without:
            labs = tint(curves(known[id]), curves(known[WHITE]), shares)
            nearest.append(shares[np.argmin(ciede2000(labs, np.array(fact.tint, dtype=float)))])
    return float(np.exp(np.mean(np.log(nearest))))


def trials(known: Mapping[str, Paint]) -> list[Trial]:
    """Return paints modelled from memory and beside neighbours, each without its own figures."""
    made = []

    def model(id: str, kind: str, fact: Facts) -> None:
        k, s, _ = from_colours(fact, curves(known[WHITE]))
        made.append(Trial(id, kind, (k, s), moved(known, id, (k, s))))

    for id in facts(0.1):
        share = remembered_share(known, without=id)
        fact = facts(share)[id]
        kind = "inorganic" if id in INORGANIC else "black" if id == "bone-black" else "organic"
        model(id, kind, fact)
        if id in BESIDE:
            neighbour, by = BESIDE[id]
            beside = Beside(neighbour, by, fact.masstone, fact.tint)
            model(id, "neighbour", beside.facts(curves(known[neighbour]), share))
    return made


def doubt(tried: Iterable[Trial], kind: str, without: str = "") -> float:
    """Return the uncertainty of a paint modelled as a kind, theory apart [CIEDE2000].

    Parameters
    ----------
    kind : one of :data:`KINDS`
    without : id of a paint that is left out

    Notes
    -----
    The root mean square over the paints of the kind, widened as they are few: what n of them say of
    the next has the spread of Student's t with n degrees of freedom.
    """
    by_facts = [one for one in tried if one.id != without]
    alike = [one for one in by_facts if one.kind == kind != "black"]
    if not alike:
        alike = [one for one in by_facts if one.kind != "neighbour"]
    few = len(alike)
    return math.sqrt(few / (few - 2)) * _mean([_mean(one.misses) for one in alike])


def foretold(known: Mapping[str, Paint], tried: list[Trial], one: Trial) -> tuple[Array, Array]:
    """Return what the mixes of a modelled paint miss, and what would have been stated, (m,) each.

    The theory misses on both sides alike, so that it cannot be seen here: it is added to the misses
    as noise in colour of that root mean square. What is stated covers it, and the doubt about a
    kind that knew nothing of this paint; other makers' tubes are on neither side.
    """
    ids, shares = mixes(known, one.id)
    ks, ss = (np.array([curves(known[id])[q] for id in ids]) for q in (0, 1))
    published = colour(shares @ ks, shares @ ss)
    ks[0], ss[0] = one.curves
    rng = np.random.default_rng(len(one.id))
    off = difference(published, colour(shares @ ks, shares @ ss))
    off += rng.normal(0, THEORY / np.sqrt(off.shape[-1]), off.shape)
    doubts = np.full(len(ids), THEORY)
    doubts[0] = np.hypot(THEORY, doubt(tried, one.kind, without=one.id))
    return np.linalg.norm(off, axis=-1), likely_error(shares, ks, ss, doubts, SURFACE, viewing())


def mixes(known: Mapping[str, Paint], id: str) -> tuple[list[str], Array]:
    """Return ids of paints (p), that of `id` first, and their shares (m, p) in its mixes."""
    white = known[WHITE]
    effect = {
        one: 1 / tinting_strength(paint, known["ultramarine-blue"], white)
        for one, paint in known.items()
        if not paint.is_white
    }
    others = [one for one in effect if one != id]
    if known[id].is_white:
        parts = [{id: n, other: effect[other]} for other in others for n in _TINTS[1:]]
    else:
        parts = [
            {id: effect[id], other: ratio * effect[other], WHITE: n}
            for other in others
            for ratio in _RATIOS
            for n in _WHITES
        ]
        parts += [{id: effect[id], WHITE: n} for n in _TINTS]
    ids = list(dict.fromkeys([id, WHITE, *others]))
    amounts = np.array([[one.get(name, 0.0) for name in ids] for one in parts])
    return ids, amounts / amounts.sum(axis=1, keepdims=True)


def moved(known: Mapping[str, Paint], id: str, other: Curves) -> Array:
    """Return CIEDE2000 (m,) between the mixes of a paint as known and with other curves."""
    ids, shares = mixes(known, id)
    ks, ss = (np.array([curves(known[one])[q] for one in ids]) for q in (0, 1))
    there = colour(shares @ ks, shares @ ss)
    ks[0], ss[0] = other
    return np.asarray(ciede2000(there, colour(shares @ ks, shares @ ss)))


def of_makers(known: Mapping[str, Paint], paint: Paint) -> float:
    """Return how far another maker's strength moves mixes of a paint, root mean square."""
    known = {**known, paint.id: paint}
    factors = np.exp([-MAKERS, MAKERS])
    return _mean(
        np.concatenate([moved(known, paint.id, (f * paint.K, f * paint.S)) for f in factors])
    )


def colour(k: Array, s: Array) -> Array:
    """Return CIELAB (..., 3) of an opaque layer of K and S (..., 36)."""
    return reflectance_to_lab(SURFACE.measured(optics.opaque(k, s)), viewing())


def _mean(values: ArrayLike) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
