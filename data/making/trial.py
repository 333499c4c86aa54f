"""How well the models of ``modelled.py`` predict: tried on paints whose curves are published.

Twelve fitted paints are modelled as if nothing were published of them: places of edges and bands,
refractive index, and the colours of masstone and tint, all from memory and written down before the
published colours were looked at. What mixes then miss, against the same mixes of the published
curves, is the uncertainty of a paint that is modelled that way, :func:`off`. Three numbers of the
method were chosen with these paints in view, which flatters it a little: the factor of
:func:`data.making.modelled.by_index`, the weight of the scattering it says, and the share that
remembered tints stand for. The last is found anew for each paint without it.

The mixes stand for what painters do: the paint with every other fitted paint at three ratios of
effect, by itself and in two amounts of white; and its tints.

A fitted paint misses its figures by next to nothing, but those are of one maker's tube. Another
tube of the same Colour Index name is easily stronger or weaker by a third, and twice as strong at
times (common practice, no source): :func:`of_makers` is what that does to the same mixes.
"""


from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike, NDArray

from data.making.modelled import (
    FLAT,
    ORGANIC,
    SCATTERING_PULL,
    Curves,
    Facts,
    band,
    by_index,
    edge,
    from_colours,
    power,
    tint,
)
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import reflectance_to_lab, viewing
from mixlab.paint import optics
from mixlab.paint.paints import SURFACE, Paint, tinting_strength

Array = NDArray[np.float64]

WHITE = "titanium-white"

MAKERS = 0.35
"""Standard deviation of the strength of one tube against another's [natural logarithm]."""

_RATIOS = (1 / 3, 1.0, 3.0)
_WHITES = (0.0, 1.0, 4.0)
_TINTS = (0.25, 1.0, 4.0, 16.0)


def facts(share: float) -> dict[str, Facts]:
    """Return what memory holds of the twelve paints, tints standing for a share in our white."""

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
    }  # fmt: skip


def curves(paint: Paint) -> Curves:
    """Return K and S (36,) of a paint."""
    return paint.K, paint.S


def remembered_share(known: Mapping[str, Paint], without: str = "") -> float:
    """Return the share in our white at which tints look as those that memory calls 1:9.

    The geometric mean over the twelve paints, or all but one: memory's white is a stronger one.
    """
    shares = np.geomspace(0.05, 0.7, 80)
    nearest = []
    for id, fact in facts(0.1).items():
        if id != without:
            labs = tint(curves(known[id]), curves(known[WHITE]), shares)
            nearest.append(shares[np.argmin(ciede2000(labs, np.array(fact.tint, dtype=float)))])
    return float(np.exp(np.mean(np.log(nearest))))


def models(known: Mapping[str, Paint]) -> dict[str, Curves]:
    """Return the twelve paints modelled from memory, each as if its own figures did not exist."""
    made = {}
    for id in facts(0.1):
        fact = facts(remembered_share(known, without=id))[id]
        k, s, _ = from_colours(fact, curves(known[WHITE]))
        made[id] = (k, s)
    return made


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


def off(known: Mapping[str, Paint]) -> dict[str, float]:
    """Return the root mean square miss of mixes with each modelled paint [CIEDE2000], by paint."""
    return {id: _mean(moved(known, id, other)) for id, other in models(known).items()}


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
