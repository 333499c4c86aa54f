"""Fit a table of historic oil paints to published readings, and write it to ``data/oils.csv``.

Run as ``python -m data.making.oils READINGS.csv``, with the readings of Geldof, Proano Gaibor,
Ligterink, Hendriks, Kirchner, "Reconstructing Van Gogh's palette to determine the optical
characteristics of his paints", Heritage Science 6:17 (2018), released as CC0. The readings
themselves are not kept: the table holds curves that :mod:`mixlab.measure.characterise` fitted to
them. Parts are by mass, and the unit of K and S is the zinc white of the same readings.
"""


import sys
from dataclasses import replace

from mixlab.files import bundled
from mixlab.measure.characterise import characterise
from mixlab.measure.readings import read_readings
from mixlab.paint.paints import Paint
from mixlab.paint.tables import write_table

SOURCE = (
    "fit to oil drawdowns of Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, "
    "Heritage Science 6:17 (2018), CC0; parts by mass"
)

_SHEET = "read the maker's safety data sheet"
_LOCAL = f"{_SHEET} and follow local rules for waste"
_LEAD = f"contains lead, which is poisonous: do not sand dry, spray, heat or swallow; {_LOCAL}"
_CHROMATE = (
    "contains lead and chromate, poisonous and known to cause cancer: do not sand dry, spray, heat "
    f"or swallow; {_LOCAL}"
)
_DUST = f"dust and spray harm the lungs: do not sand dry or spray; {_SHEET}"

PAINTS: dict[str, tuple[str, str]] = {
    "zinc-white": ("PW4", f"zinc oxide harms water life: keep out of drains; {_SHEET}"),
    "lead-white": ("PW1", _LEAD),
    "bone-black": ("PBk9", _DUST),
    "vermilion": (
        "PR106",
        "contains mercury, which is poisonous: do not sand dry, spray, heat or swallow; " + _LOCAL,
    ),
    "red-lead": ("PR105", _LEAD),
    "cochineal-lake": ("NR4", _DUST),
    "viridian": ("PG18", f"contains chromium(III): do not sand dry or spray; {_SHEET}"),
    "emerald-green": (
        "PG21",
        "contains arsenic and copper, very poisonous, and gives off a poisonous gas where mould "
        f"grows: better not used at all; do not sand, spray, heat or swallow; {_LOCAL}",
    ),
    "ultramarine-blue": ("PB29", _DUST),
    "cobalt-blue": ("PB28", f"contains cobalt: do not sand dry, spray or swallow; {_SHEET}"),
    "prussian-blue": (
        "PB27", f"an iron cyanide: never heat it or bring it to strong acid; {_SHEET}"
    ),
    "chrome-yellow": ("PY34", _CHROMATE),
    "chrome-yellow-light": ("PY34", _CHROMATE),
}  # fmt: skip
"""Colour Index name and caution of each paint, in the order of the table."""


def oils(path: str) -> list[Paint]:
    """Return the paints of the published readings."""
    fitted = {paint.id: paint for paint in characterise(read_readings(path)).paints}
    return [
        replace(fitted[id], colour_index=(index,), cautions=cautions, source=SOURCE)
        for id, (index, cautions) in PAINTS.items()
    ]


if __name__ == "__main__":
    write_table(oils(sys.argv[1]), bundled("oils.csv"))
