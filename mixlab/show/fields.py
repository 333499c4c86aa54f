"""Fields that several commands write, each declared once: colours, mixes, misses, steps."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, in_gamut, lab_to_hex, lab_to_lch, lab_to_munsell
from mixlab.show.report import (
    Field,
    Getter,
    amount,
    by_name,
    group,
    numbers,
    rows,
    text,
    texts,
    truth,
)


@dataclass(frozen=True, eq=False)
class Colour:
    """A colour (3,) in CIELAB under a light, observer and finish, as it is written."""

    lab: Array
    view: Viewing
    known: Array | None = field(default=None, repr=False)

    @cached_property
    def hue_value_chroma(self) -> Array:
        """Munsell hue, value and chroma (3,)."""
        return lab_to_munsell(self.lab, self.view) if self.known is None else self.known

    @property
    def munsell(self) -> str:
        """Munsell notation."""
        return write_munsell(self.hue_value_chroma)

    @property
    def hex(self) -> str:
        """The nearest sRGB colour, "#rrggbb"."""
        return lab_to_hex(self.lab, self.view)


def colours(labs: Array, view: Viewing) -> list[Colour]:
    """Return colours (n, 3) to be written, their Munsell notation found at once."""
    return [
        Colour(lab, view, hvc)
        for lab, hvc in zip(labs, lab_to_munsell(np.asarray(labs), view), strict=True)
    ]


_COLOUR = (
    numbers("lab", "CIELAB", "L*, a*, b*", columns=("L", "a", "b")),
    numbers("lch", "CIELCh", "L*, C*, h [degrees]", lambda one: lab_to_lch(one.lab),
            columns=("", "C", "h")),
    text("munsell", "Munsell notation"),
    amount("munsell_value", "Munsell", "Munsell value, 0 black to 10 white",
           lambda one: one.hue_value_chroma[1]),
    amount("munsell_chroma", "Munsell", "Munsell chroma", lambda one: one.hue_value_chroma[2]),
    text("hex", "the nearest sRGB colour, #rrggbb"),
    truth("in_gamut", "whether sRGB shows the colour unclipped",
          lambda one: in_gamut(one.lab, one.view)),
)  # fmt: skip


def colour(of: Getter = lambda row: row) -> tuple[Field, ...]:
    """Declare a colour: of anything with a `lab` and a `view` that `of` reads off the row.

    In a CSV: L, a, b, C, h, munsell, munsell_value, munsell_chroma, hex, in_gamut.
    """

    def seen(row: Any) -> Colour | None:
        one = of(row)
        return one if one is None or isinstance(one, Colour) else Colour(one.lab, one.view)

    return tuple(one.of(seen) for one in _COLOUR)


PARTS = by_name("parts", "parts", "parts by paint", digits=9, csv=False)


def mixture(of: Getter = lambda row: row) -> tuple[Field, ...]:
    """Declare a mix: of a Mixture that `of` reads off the row. A CSV has the notation alone."""
    return text("mix", "the mix in the notation", of), PARTS.of(of)


MISS = amount("miss", "CIEDE2000", "from the target to the mix")
SHARE = amount("share", "0..1", "share of the whole", digits=6)
TOLERANCE = amount("tolerance", "CIEDE2000", "miss that passes for the colour")
TUBES = amount("tubes", "", "number of paints")
PALETTE = text("palette", "name of the palette")
NOTES = texts("notes", "what to know of it")
WITHIN = truth("within_tolerance", "whether the mix comes within the tolerance")
IN_REACH = truth("in_reach", "whether the tubes reach the colour within the tolerance")
CONTRAST = amount("contrast_ratio", "0..1", "of a film, over black by over white, ISO 6504-3")
LET_DOWN = amount("let_down_contrast_ratio", "0..1", "of a thin film let down with clear medium")
OPACITY = text("opacity_class", "opaque .. transparent: by a coat and let down, the lower of both")
PAINT = text("paint", "id of the paint")
SENSITIVITY = group(
    "sensitivity",
    (PAINT, amount("moved_by", "CIEDE2000", "how far a quarter part more or less moves the mix",
                   lambda sensitivity: sensitivity.miss)),
    "the paint that the mix is most sensitive to",
)  # fmt: skip
LIKELY_ERROR = amount("likely_error", "CIEDE2000", "of the prediction, beside the paint", digits=1)
TRUST = text("trust", "the likely error in a word: close, fair, rough, guess or unknown")

AMOUNT = amount("amount", "parts", "parts of one paint")
STEPS = rows(
    "steps",
    (
        PAINT.but(get=lambda row: row[0].paint.id),
        AMOUNT.but(get=lambda row: row[0].parts),
        *colour(lambda row: Colour(row[0].lab, row[1])),
    ),
    "the additions in order, with the colour after each",
    lambda mix: [(step, mix.view) for step in mix.steps],
)
CAUTIONS = Field(
    "cautions", "texts by name", "cautions by paint",
    get=lambda mix: {paint.id: paint.cautions for paint in mix.paints if paint.cautions},
)  # fmt: skip
SUNK_IN = group(
    "sunk_in",
    (
        amount("value_change", "Munsell", "of value", lambda mix: mix.sinking[0]),
        amount("C_change", "CIELCh", "of C*", lambda mix: mix.sinking[1]),
        *colour(lambda mix: mix.sunk),
    ),
    "the same mix dried matt",
    lambda mix: mix,
)  # fmt: skip
FADING = Field(
    "fading", "texts by name", "what light does to doubtful and fugitive paints, by paint",
    get=lambda mix: {paint.id: paint.fading for paint in mix.paints if paint.fading},
)  # fmt: skip
PREDICTION = (SENSITIVITY, LIKELY_ERROR, TRUST, SUNK_IN, STEPS, CAUTIONS, FADING)
"""What goes with the mix that is to be made."""


def one(fields: tuple[Field, ...], key: str) -> Field:
    """Return the field of a key."""
    return next(field for field in fields if field.key == key)
