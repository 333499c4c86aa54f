"""Make ``data/paints.csv``, the bundled pigment table, from the knots and the models.

Run as ``python -m data.making.table``, after ``data.making.fitted``.

A paint's uncertainty is the likely CIEDE2000 between what the table predicts and the paint of that
name in a painter's box, two times in three: what the theory misses
(:data:`mixlab.paint.trust.THEORY`), and, adding by squares,

- fitted: what the strength of another maker's tube does to mixes of it;
- modelled on measured oil paint: that, twice: from their tubes to the unit of this table, which is
  another maker's paint, and from there to the painter's;
- modelled from facts, or beside a published neighbour: what the method missed on paints of that
  kind whose curves are published (:func:`data.making.trial.doubt`). Memory's paint differs from
  theirs as it does from the painter's, so makers do not count once more;
- a mixture of the table's paints: what is likely missed by that mix, and what another maker's
  proportion does to mixes of it, taken as another strength.
"""


import csv
import math
from dataclasses import dataclass, replace

import numpy as np

from data.making import modelled, trial
from data.making.fitted import KNOTS, Curves, spline
from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.paint.paints import SURFACE, Paint, tinting_strength
from mixlab.paint.tables import PigmentTable, write_table
from mixlab.paint.trust import THEORY

FIGURES = (
    "smooth fit to K and S of R. S. Berns, Artist Paint Spectral Database, "
    "24th Color and Imaging Conference (IS&T 2016)"
)
TOO_WHITE = (
    "; its L* of 99.4 follows from the published K: that of real tubes is 96 to 97.5, from memory"
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
LEAD = (
    "contains lead, which is poisonous: do not sand dry, spray, heat or swallow; no food near it, "
    f"wash hands; keep it from children; {SHEET} and follow local rules for sale and waste"
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
    "lead-white": Names("lead white", "PW1", "semi-opaque", LEAD),
    "lemon-yellow": Names("lemon yellow (arylide)", "PY3", "transparent"),
    "cadmium-yellow-light": Names("cadmium yellow light", "PY35", "opaque", CADMIUM),
    "arylide-yellow": Names("arylide yellow", "PY74", "semi-transparent"),
    "bismuth-yellow": Names("bismuth yellow", "PY184", "opaque"),
    "cadmium-yellow-medium": Names("cadmium yellow medium", "PY37", "opaque", CADMIUM),
    "diarylide-yellow": Names("diarylide yellow", "PY83", "semi-transparent"),
    "naples-yellow": Names("Naples yellow (chrome titanate)", "PBr24", "opaque", NAPLES),
    "yellow-ochre": Names("yellow ochre", "PY43", "opaque"),
    "yellow-iron-oxide": Names("yellow iron oxide (Mars yellow)", "PY42", "opaque"),
    "transparent-yellow-oxide": Names("transparent yellow oxide", "PY42", "transparent"),
    "raw-sienna": Names("raw sienna", "PBr7", "semi-transparent"),
    "cadmium-orange": Names("cadmium orange", "PO20", "opaque", CADMIUM),
    "pyrrole-orange": Names("pyrrole orange", "PO73", "semi-transparent"),
    "cadmium-red-light": Names("cadmium red light", "PR108", "opaque", CADMIUM),
    "cadmium-red-medium": Names("cadmium red medium", "PR108", "opaque", CADMIUM),
    "cadmium-red-deep": Names("cadmium red deep", "PR108", "opaque", CADMIUM),
    "pyrrole-red": Names("pyrrole red", "PR254", "semi-opaque"),
    "quinacridone-red": Names("quinacridone red", "PV19", "transparent"),
    "quinacridone-violet": Names("quinacridone violet", "PV19", "transparent"),
    "quinacridone-magenta": Names("quinacridone magenta", "PR122", "transparent"),
    "alizarin-crimson": Names("alizarin crimson", "PR83", "transparent"),
    "permanent-alizarin": Names(
        "permanent alizarin (pyrrole rubine)", "PR264", "transparent"
    ),
    "red-iron-oxide": Names("red iron oxide", "PR101", "opaque"),
    "venetian-red": Names("Venetian red", "PR101", "opaque"),
    "indian-red": Names("Indian red", "PR101", "opaque"),
    "transparent-red-oxide": Names("transparent red oxide", "PR101", "transparent"),
    "burnt-sienna": Names("burnt sienna", "PBr7", "semi-transparent"),
    "raw-umber": Names("raw umber", "PBr7", "semi-transparent", MANGANESE),
    "burnt-umber": Names("burnt umber", "PBr7", "semi-transparent", MANGANESE),
    "dioxazine-violet": Names("dioxazine violet", "PV23", "transparent"),
    "manganese-violet": Names("manganese violet", "PV16", "semi-transparent", MANGANESE),
    "cobalt-violet": Names("cobalt violet", "PV14", "semi-transparent", COBALT),
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
    "cobalt-teal": Names("cobalt teal", "PG50", "semi-opaque", COBALT),
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
    "paynes-grey": Names("Payne's grey", "PB29 PBk9", "transparent"),
    "sap-green-hue": Names("sap green hue", "PG7 PY83 PBr7", "semi-transparent", COPPER),
    "naples-yellow-hue": Names("Naples yellow hue", "PW6 PY74 PBr7", "opaque"),
    "titanium-buff": Names("titanium buff", "PW6 PY43 PBr7", "opaque", MANGANESE),
}

MIXTURES = {
    "paynes-grey": "3 ultramarine-blue + 1 bone-black",
    "sap-green-hue": "1 phthalo-green-blue-shade + 6 diarylide-yellow + 3 burnt-sienna",
    "naples-yellow-hue": "12 titanium-white + 2 arylide-yellow + 1 burnt-sienna",
    "titanium-buff": "30 titanium-white + 2 yellow-ochre + 1 raw-umber",
}
"""Tubes that are mixtures, in this table's paints: common practice, no source. Makers' differ."""

KINDS = {
    "organic": "alizarin-crimson indanthrone-blue",
    "inorganic": "naples-yellow manganese-violet cobalt-violet cerulean-blue cobalt-teal "
                 "chromium-oxide-green",
    "earth": "yellow-ochre yellow-iron-oxide transparent-yellow-oxide raw-sienna red-iron-oxide "
             "venetian-red indian-red transparent-red-oxide burnt-sienna raw-umber burnt-umber "
             "green-earth",
    "black": "lamp-black mars-black",
    "neighbour": "lemon-yellow cadmium-yellow-light cadmium-yellow-medium cadmium-red-medium "
                 "cadmium-red-deep permanent-alizarin quinacridone-violet",
}  # fmt: skip
"""The modelled paints by the kinds of :data:`data.making.trial.KINDS`."""

LEMON_SHIFT = -17.0
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
    known = {
        id: paint(
            id, pair, "fitted", FIGURES + (TOO_WHITE if id == "titanium-white" else ""), miss
        )
        for id, (pair, miss) in fitted.items()
    }
    white, phthalo = known["titanium-white"], known["phthalo-blue-green-shade"]
    made = {id: doubted(one, trial.of_makers(known, one)) for id, one in known.items()}

    # from facts, by the methods that were tried on the fitted paints
    tried = trial.trials(known)
    doubts = {
        id: trial.doubt(tried, kind) for kind, ids in KINDS.items() for id in ids.split()
    }

    def model(
        id: str, curves: Curves, source: str, miss: tuple[float, float] = (math.nan, math.nan)
    ) -> None:
        made[id] = doubted(paint(id, curves, "modelled", source, miss), doubts[id])

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
        from_facts(id, beside.facts((other.K, other.S)), source)
    yellow, black = known["arylide-yellow"], known["bone-black"]
    model(
        "lemon-yellow",
        modelled.moved_along((LEMON_ABSORBS * yellow.K, LEMON_SCATTERS * yellow.S), LEMON_SHIFT),
        "arylide yellow PY74 with its edge 17 nm shorter, half as strong and transparent; from "
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
    from_oil("lead-white", modelled.lead_white(),
             "two grounds, beside that zinc white; what a volume of paste hides: from memory")
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
    for id, recipe in MIXTURES.items():
        made[id] = mixture(id, recipe, PigmentTable(tuple(made.values())), known)
    return [made[id] for id in PAINTS]


def mixture(id: str, recipe: str, table: PigmentTable, known: dict[str, Paint]) -> Paint:
    """Return a tube that is a mixture of the table's paints, per part of it."""
    mix = table.mix(recipe, viewing(finish="matt"))
    curves = mix.K, mix.S
    one = paint(
        id, curves, "mixture",
        f"mixture of {recipe}; proportion: common practice, no source, and makers' differ",
    )
    spread = trial.of_makers(known, one)
    return replace(one, uncertainty=round(math.hypot(mix.likely_error, spread), 1))


def doubted(one: Paint, doubt: float) -> Paint:
    """Return a paint with its uncertainty: what the theory misses, and the doubt about its curves.

    One decimal is more than anybody knows of it.
    """
    return replace(one, uncertainty=round(math.hypot(THEORY, doubt), 1))


if __name__ == "__main__":
    write_table(paints(), bundled("paints.csv"))
