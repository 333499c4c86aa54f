"""Make ``data/paints.csv``, the bundled pigment table, from the knots and the models.

Run as ``python -m mixlab.making.table``, after ``mixlab.making.fitted``.
"""

import csv
from dataclasses import dataclass

import numpy as np

from mixlab.files import bundled
from mixlab.making import modelled
from mixlab.making.fitted import KNOTS, Curves, spline
from mixlab.paints import SURFACE, Paint, tinting_strength
from mixlab.tables import write_table

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
CHROMIUM = f"contains chromium(III): do not sand dry or spray; {SHEET}"
MANGANESE = f"contains manganese: do not sand dry or spray; {SHEET}"
COPPER = f"contains copper: keep out of drains; {SHEET}"
ZINC = f"zinc oxide harms water life: keep out of drains; {SHEET}"
DUST = f"dust and spray harm the lungs: do not sand dry or spray; {SHEET}"
CYANIDE = f"an iron cyanide: never heat it or bring it to strong acid; {SHEET}"


@dataclass(frozen=True)
class Names:
    """What a paint is called, how it covers (common practice, no source), and its cautions."""

    name: str
    colour_index: str
    transparency: str
    cautions: str = DUST


PAINTS = {
    "titanium-white": Names("titanium white", "PW6", "opaque"),
    "zinc-white": Names("zinc white", "PW4", "semi", ZINC),
    "lemon-yellow": Names("lemon yellow (arylide)", "PY3", "transparent"),
    "arylide-yellow": Names("arylide yellow", "PY74", "semi"),
    "diarylide-yellow": Names("diarylide yellow", "PY83", "transparent"),
    "yellow-ochre": Names("yellow ochre", "PY43", "opaque"),
    "raw-sienna": Names("raw sienna", "PBr7", "semi"),
    "cadmium-orange": Names("cadmium orange", "PO20", "opaque", CADMIUM),
    "cadmium-red-light": Names("cadmium red light", "PR108", "opaque", CADMIUM),
    "pyrrole-red": Names("pyrrole red", "PR254", "semi"),
    "quinacridone-red": Names("quinacridone red", "PV19", "transparent"),
    "quinacridone-magenta": Names("quinacridone magenta", "PR122", "transparent"),
    "red-iron-oxide": Names("red iron oxide", "PR101", "opaque"),
    "burnt-sienna": Names("burnt sienna", "PBr7", "semi"),
    "raw-umber": Names("raw umber", "PBr7", "semi", MANGANESE),
    "burnt-umber": Names("burnt umber", "PBr7", "semi", MANGANESE),
    "ultramarine-blue": Names("ultramarine blue", "PB29", "transparent"),
    "cobalt-blue": Names("cobalt blue", "PB28", "semi", COBALT),
    "phthalo-blue-green-shade": Names("phthalo blue, green shade", "PB15", "transparent", COPPER),
    "prussian-blue": Names("Prussian blue", "PB27", "transparent", CYANIDE),
    "phthalo-green-blue-shade": Names("phthalo green, blue shade", "PG7", "transparent", COPPER),
    "viridian": Names("viridian", "PG18", "transparent", CHROMIUM),
    "chromium-oxide-green": Names("chromium oxide green", "PG17", "opaque", CHROMIUM),
    "bone-black": Names("bone black (ivory black)", "PBk9", "semi"),
    "lamp-black": Names("lamp black", "PBk6", "opaque"),
}

LEMON_SHIFT = -15.0
"""How far the edge of PY3 lies from that of PY74 [nm]; common practice, no source."""

LAMP_STRENGTH = 3.0
"""Absorption of lamp black [bone black]; common practice, no source."""


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


def paint(id: str, curves: Curves, basis: str, source: str, miss: tuple[float, float]) -> Paint:
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
    unknown = (float("nan"), float("nan"))
    made = {id: paint(id, curves, "fitted", FIGURES, miss) for id, (curves, miss) in fitted.items()}
    white, phthalo = made["titanium-white"], made["phthalo-blue-green-shade"]

    def model(id: str, curves: Curves, source: str, miss: tuple[float, float] = unknown) -> None:
        made[id] = paint(id, curves, "modelled", source, miss)

    def of_phthalo(curves: Curves) -> float:
        blue = paint("prussian-blue", curves, "modelled", "", unknown)
        return tinting_strength(blue, phthalo, white)

    for id, facts in modelled.COLOURS.items():
        k, s, miss = modelled.from_colours(facts, (white.K, white.S))
        model(id, (k, s), modelled.FROM_MEMORY, (float(miss[0]), float(miss[1])))
    yellow, black = made["arylide-yellow"], made["bone-black"]
    model(
        "lemon-yellow", modelled.shifted((yellow.K, yellow.S), LEMON_SHIFT),
        "arylide yellow PY74 with its edge 15 nm shorter; common practice, no source",
    )
    model(
        "lamp-black", (LAMP_STRENGTH * black.K, black.S),
        "bone black with three times its absorption; common practice, no source",
    )
    model("zinc-white", modelled.zinc_white(), f"{modelled.FROM_OIL}, two grounds")
    model("viridian", modelled.viridian(), f"{modelled.FROM_OIL}, tint in zinc white")
    model(
        "prussian-blue", modelled.prussian_blue(of_phthalo),
        f"{modelled.FROM_OIL}, tint in zinc white; strength: common practice, no source",
    )  # fmt: skip
    return [made[id] for id in PAINTS]


if __name__ == "__main__":
    write_table(paints(), bundled("paints.csv"))
