"""Make ``data/munsell.csv``: the Munsell renotation, one row for each place of its grid.

Run as ``python -m data.making.munsell``. The entries are those of colour-science.
Of those from value 0.2 to 9, 4746 in all, 2734 are the renotation of real colours of Newhall,
Nickerson and Judd (1943); the others are a later extrapolation to the MacAdam limits, and below
value 1 the extension to very dark colours by Judd and Wyszecki (1956). The rows of a value and hue
have chroma 2, 4, ... up to the greatest one there, without a gap.

The last column is the rule by which chromaticity runs from the hue of the row to the next one,
2.5 hue steps on (Centore 2012): "linear", a straight line, or "radial", polar coordinates about
the white point. The rule is not defined below value 1, where that of value 1 is written. The
renotation ends at value 9: the ovoids of value 10, which have shrunk to the white point, are left
out.
"""


from mixlab.colour.munsell import FAMILIES
from mixlab.files import bundled
from mixlab.writing import write_whole

HEADER = "value,hue,chroma,x,y,to_next_hue"


def rule(value: float, hue: float, chroma: float) -> str:
    """Return "linear" or "radial" from the hue number 0..100 to the next of the 40 hues."""
    from colour.notation.munsell import interpolation_method_from_renotation_ovoid

    family, step = divmod(hue + 1.25, 10)
    # colour-science counts the families from R = 7 down to RP = 8, round the circle of 10
    code = (7 - family % 10 - 1) % 10 + 1
    method = interpolation_method_from_renotation_ovoid([step, max(value, 1.0), chroma, code])
    return str(method).lower()


def text() -> str:
    """Return the whole file, sorted by value, hue and chroma."""
    from colour.notation import MUNSELL_COLOURS_ALL

    rows = []
    for (name, value, chroma), (x, y, _) in MUNSELL_COLOURS_ALL:
        letters = name.lstrip("0123456789.")
        hue = 10 * FAMILIES.index(letters) + float(name.removesuffix(letters))
        if value <= 9:
            rows.append((value, hue, chroma, name, x, y))
    lines = [
        f"{value:g},{name},{chroma:g},{x:g},{y:g},{rule(value, hue, chroma)}"
        for value, hue, chroma, name, x, y in sorted(rows)
    ]
    return "\n".join([HEADER, *lines]) + "\n"


if __name__ == "__main__":
    write_whole(bundled("munsell.csv"), text())
