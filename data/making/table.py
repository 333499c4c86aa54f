"""Make ``data/paints.csv``, the bundled pigment table, from the knots and the models.

Run as ``python -m data.making.table``, after ``data.making.fitted``.

A paint's uncertainty is the likely CIEDE2000 between what the table predicts and the paint of that
name in a painter's box, two times in three: what the theory misses
(:data:`mixlab.paint.trust.THEORY`), and, adding by squares,

- fitted: what the strength of another maker's tube does to mixes of it;
- modelled on measured oil paint: that, twice: from their tubes to the unit of this table, which is
  another maker's paint, and from there to the painter's;
- modelled from colours and other facts from memory: what the method missed on twelve paints whose
  curves are published. Memory's paint differs from theirs as it does from the painter's, so
  makers do not count once more.
"""


import csv
import math
from dataclasses import dataclass, replace

import numpy as np

from data.making import modelled, trial
from data.making.fitted import KNOTS, Curves, spline
from mixlab.files import bundled
from mixlab.paint.paints import SURFACE, Paint, tinting_strength
from mixlab.paint.tables import write_table
from mixlab.paint.trust import THEORY

FIGURES = (
    "smooth fit to K and S of R. S. Berns, Artist Paint Spectral Database, "
    "24th Color and Imaging Conference (IS&T 2016)"
)
SHEET = "read the maker's safety data sheet"
CADMIUM = (
    f"contains cadmium: do not sand dry, spray, heat or swallow; no food near it; {SHEET} "
    "and follow local rules for waste"
)
COBALT = f"contains cobalt: do not sand dry, spray or swallow; {SHEET}"
COBALT_CHROMIUM = f"contains cobalt and chromium(III): do not sand dry, spray or swallow; {SHEET}"
CHROMIUM = f"contains chromium(III): do not sand dry or spray; {SHEET}"
MANGANESE = f"contains manganese: do not sand dry or spray; {SHEET}"
COPPER = f"contains copper: keep out of drains; {SHEET}"
ZINC = f"zinc oxide harms water life: keep out of drains; {SHEET}"
DUST = f"dust and spray harm the lungs: do not sand dry or spray; {SHEET}"
NAPLES = (
    "contains antimony and chromium(III); some tubes of this name hold lead antimonate, which is "
    f"poisonous: read the label; do not sand dry, spray or swallow; {SHEET}"
)
CYANIDE = f"an iron cyanide: never heat it or bring it to strong acid; {SHEET}"


@dataclass(frozen=True)
class Names:
    """What a paint is called, its class as on tubes, and its cautions.

    The class is the usual one of such tubes, from memory; makers differ by a step. A test holds
    that the curves are of that class (:func:`mixlab.paint.paints.opacity_class`). Of a pigment with
    varieties, the Colour Index names are those that tubes of such paint may bear.
    """

    name: str
    colour_index: str
    transparency: str
    cautions: str = DUST


PAINTS = {
    "titanium-white": Names("titanium white", "PW6", "opaque"),
    "zinc-white": Names("zinc white", "PW4", "semi-transparent", ZINC),
    "mixing-white": Names("soft mixing white (titanium and zinc)", "PW6 PW4", "opaque", ZINC),
    "lemon-yellow": Names("lemon yellow (arylide)", "PY3", "transparent"),
    "cadmium-yellow-light": Names("cadmium yellow light", "PY35", "opaque", CADMIUM),
    "arylide-yellow": Names("arylide yellow", "PY74", "semi-transparent"),
    "bismuth-yellow": Names("bismuth yellow", "PY184", "opaque"),
    "cadmium-yellow-medium": Names("cadmium yellow medium", "PY37", "opaque", CADMIUM),
    "diarylide-yellow": Names("diarylide yellow", "PY83", "semi-transparent"),
    "naples-yellow": Names("Naples yellow (chrome titanate)", "PBr24", "opaque", NAPLES),
    "yellow-ochre": Names("yellow ochre", "PY43", "opaque"),
    "raw-sienna": Names("raw sienna", "PBr7", "semi-transparent"),
    "cadmium-orange": Names("cadmium orange", "PO20", "opaque", CADMIUM),
    "pyrrole-orange": Names("pyrrole orange", "PO73", "semi-transparent"),
    "cadmium-red-light": Names("cadmium red light", "PR108", "opaque", CADMIUM),
    "pyrrole-red": Names("pyrrole red", "PR254", "semi-opaque"),
    "quinacridone-red": Names("quinacridone red", "PV19", "transparent"),
    "quinacridone-magenta": Names("quinacridone magenta", "PR122", "transparent"),
    "alizarin-crimson": Names("alizarin crimson", "PR83", "transparent"),
    "red-iron-oxide": Names("red iron oxide", "PR101", "opaque"),
    "venetian-red": Names("Venetian red", "PR101", "opaque"),
    "transparent-red-oxide": Names("transparent red oxide", "PR101", "transparent"),
    "burnt-sienna": Names("burnt sienna", "PBr7", "semi-transparent"),
    "raw-umber": Names("raw umber", "PBr7", "semi-transparent", MANGANESE),
    "burnt-umber": Names("burnt umber", "PBr7", "semi-transparent", MANGANESE),
    "dioxazine-violet": Names("dioxazine violet", "PV23", "transparent"),
    "manganese-violet": Names("manganese violet", "PV16", "semi-transparent", MANGANESE),
    "ultramarine-blue": Names("ultramarine blue", "PB29", "transparent"),
    "cobalt-blue": Names("cobalt blue", "PB28", "semi-transparent", COBALT),
    "cerulean-blue": Names("cerulean blue", "PB35", "semi-opaque", COBALT),
    "cerulean-blue-chromium": Names(
        "cerulean blue, chromium", "PB36", "semi-transparent", COBALT_CHROMIUM
    ),
    "phthalo-blue-red-shade": Names(
        "phthalo blue, red shade", "PB15:1 PB15:6", "transparent", COPPER
    ),
    "phthalo-blue-green-shade": Names(
        "phthalo blue, green shade", "PB15:3 PB15:4", "transparent", COPPER
    ),
    "prussian-blue": Names("Prussian blue", "PB27", "transparent", CYANIDE),
    "indanthrone-blue": Names("indanthrone blue", "PB60", "transparent"),
    "phthalo-green-blue-shade": Names("phthalo green, blue shade", "PG7", "transparent", COPPER),
    "phthalo-green-yellow-shade": Names(
        "phthalo green, yellow shade", "PG36", "transparent", COPPER
    ),
    "viridian": Names("viridian", "PG18", "transparent", CHROMIUM),
    "chromium-oxide-green": Names("chromium oxide green", "PG17", "opaque", CHROMIUM),
    "green-earth": Names("green earth", "PG23", "transparent"),
    "bone-black": Names("bone black (ivory black)", "PBk9", "semi-transparent"),
    "lamp-black": Names("lamp black", "PBk6", "opaque"),
    "mars-black": Names("Mars black", "PBk11", "opaque"),
}

LEMON_SHIFT = -15.0
"""How far the edge of PY3 lies from that of PY74 [nm]; common practice, no source."""

LEMON_ABSORBS, LEMON_SCATTERS = 0.5, 0.34
"""Absorption and scattering of PY3 [PY74]: such tubes are half as strong, and transparent where
those of PY74 are semi-transparent; from memory."""

LAMP_STRENGTH = 3.0
"""Absorption of lamp black [bone black]; common practice, no source."""

MIXING = 0.25
"""Titanium white in soft mixing white, the rest being zinc white; common practice, no source."""


def read_knots() -> dict[str, tuple[Curves, tuple[float, float]]]:
    """Return fitted K and S (36,), and the misses of masstone and tints, by paint."""
    with open(bundled("knots.csv"), newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    curves = {
        row["id"]: [spline(np.log([float(row[f"{q}{w:g}"]) for w in KNOTS])) for q in "KS"]
        for row in rows
    }
    return {
        row["id"]: (
            (curves[row["id"]][0], curves[row["id"]][1]),
            (float(row["masstone_miss"]), float(row["tint_miss"])),
        )
        for row in rows
    }


def paint(
    id: str, curves: Curves, basis: str, source: str,
    miss: tuple[float, float] = (math.nan, math.nan),
) -> Paint:  # fmt: skip
    """Return a paint of the table with its names."""
    names = PAINTS[id]
    return Paint(
        id=id, name=names.name, colour_index=tuple(names.colour_index.split()),
        K=curves[0], S=curves[1], transparency=names.transparency, basis=basis, source=source,
        masstone_miss=miss[0], tint_miss=miss[1], cautions=names.cautions, surface=SURFACE,
    )  # fmt: skip


def paints() -> list[Paint]:
    """Return the paints of the bundled table, in the order of :data:`PAINTS`."""
    fitted = read_knots()
    known = {id: paint(id, pair, "fitted", FIGURES, miss) for id, (pair, miss) in fitted.items()}
    white, phthalo = known["titanium-white"], known["phthalo-blue-green-shade"]
    made = {id: doubted(one, trial.of_makers(known, one)) for id, one in known.items()}

    # from facts, by the method that was tried on the fitted paints
    method = float(np.sqrt(np.mean(np.square(list(trial.off(known).values())))))

    def model(
        id: str, curves: Curves, source: str, miss: tuple[float, float] = (math.nan, math.nan)
    ) -> None:
        made[id] = doubted(paint(id, curves, "modelled", source, miss), method)

    def from_facts(id: str, facts: modelled.Facts, source: str) -> None:
        k, s, miss = modelled.from_colours(
            facts, (white.K, white.S), PAINTS[id].transparency
        )
        model(id, (k, s), source, (float(miss[0]), float(miss[1])))

    for id, facts in modelled.COLOURS.items():
        from_facts(id, facts, facts.source)
    for id, beside in modelled.NEIGHBOURS.items():
        other = known[beside.neighbour]
        source = modelled.FROM_MEMORY_AND_NEIGHBOUR.format(other.name)
        if beside.scattering == modelled.ORGANIC:
            source += modelled.INDEX_UNKNOWN
        from_facts(id, beside.facts((other.K, other.S)), source)
    yellow, black = known["arylide-yellow"], known["bone-black"]
    model(
        "lemon-yellow",
        modelled.shifted((LEMON_ABSORBS * yellow.K, LEMON_SCATTERS * yellow.S), LEMON_SHIFT),
        "arylide yellow PY74 with its edge 15 nm shorter, half as strong and transparent; from "
        "memory",
    )
    model(
        "lamp-black", (LAMP_STRENGTH * black.K, black.S),
        "bone black with three times its absorption; common practice, no source",
    )

    # from measured oil paint
    def from_oil(id: str, curves: Curves, source: str) -> None:
        one = paint(id, curves, "modelled", f"{modelled.FROM_OIL}, {source}")
        spread = trial.of_makers(known, one)
        made[id] = doubted(one, math.hypot(spread, spread))

    def of_phthalo(curves: Curves) -> float:
        blue = paint("prussian-blue", curves, "modelled", "")
        return tinting_strength(blue, phthalo, white)

    zinc = modelled.zinc_white()
    from_oil("zinc-white", zinc, "two grounds")
    from_oil(
        "mixing-white", modelled.blend(MIXING, (white.K, white.S), zinc),
        "two grounds: three parts of that zinc white to one of titanium white; "
        "proportion: common practice, no source",
    )
    from_oil("viridian", modelled.viridian(), "tint in zinc white")
    from_oil(
        "prussian-blue", modelled.prussian_blue(of_phthalo),
        "tint in zinc white; strength: common practice, no source",
    )
    return [made[id] for id in PAINTS]


def doubted(one: Paint, doubt: float) -> Paint:
    """Return a paint with its uncertainty: what the theory misses, and the doubt about its curves.

    One decimal is more than anybody knows of it.
    """
    return replace(one, uncertainty=round(math.hypot(THEORY, doubt), 1))


if __name__ == "__main__":
    write_table(paints(), bundled("paints.csv"))
