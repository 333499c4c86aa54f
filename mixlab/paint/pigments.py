"""What is known of a pigment by its Colour Index name: lightfastness, refractive index.

The categories are those of ASTM D4302, Standard Specification for Artists' Oil, Resin-Oil, and
Alkyd Paints: I excellent, II very good, both fit for artists' paints; III is not, IV and V fade
within years or months. ``data/pigments.csv`` says of each figure where it is from.
"""


import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from mixlab.files import bundled

LIGHTFASTNESS = {
    "I": "excellent", "II": "very good", "doubtful": "doubtful", "III": "doubtful",
    "IV": "fugitive", "V": "fugitive", "fugitive": "fugitive",
}  # fmt: skip
"""What a category, or a word where nobody has given one, says of a colour in light; worst last."""

EVERYDAY = frozenset((
    "pw1", "pw4", "pw5", "pw6", "py42", "py43", "pr101", "pr102", "pbr6", "pbr7", "pg23", "pbk6",
    "pbk7", "pbk9", "pbk11", "pb29",
))  # fmt: skip
"""What stands on nearly every palette: whites, earths and oxides of iron, blacks, ultramarine.
Common practice, no source; as is the next."""

OVERWHELMING = frozenset(("pb15", "pb27", "pg7", "pg36", "pv23"))
"""What takes a pile over by a trace: phthalocyanines, Prussian blue, dioxazine violet."""


@dataclass(frozen=True)
class Pigment:
    """A pigment by its Colour Index name.

    Attributes
    ----------
    lightfastness : one of :data:`LIGHTFASTNESS`
    lightfastness_source : who says so, and what more there is to know
    refractive_index : least and greatest, near 589 nm; () where none is at hand. Oil and acrylic
        have about 1.5: a pigment near that is transparent in them, whatever its colour
    index_source : who says so
    """

    name: str
    lightfastness: str
    lightfastness_source: str
    refractive_index: tuple[float, ...] = ()
    index_source: str = ""

    @property
    def light(self) -> str:
        """How long it holds in light, in words: "I, excellent (ASTM D4302, from memory)"."""
        word = LIGHTFASTNESS[self.lightfastness]
        both = word if word == self.lightfastness else f"{self.lightfastness}, {word}"
        return f"{both} ({self.lightfastness_source})"

    @property
    def fading(self) -> str:
        """The same of a doubtful or fugitive pigment, as a caution; "" for any other."""
        if self.lightfastness in ("I", "II"):
            return ""
        return f"lightfastness of {self.name}: {self.light}; the maker's label has the last word"


def index_base(name: str) -> str:
    """Return a Colour Index name without its variety, in lower case: "pb15" of "PB15:3"."""
    return name.lower().split(":")[0]


def known_pigments(names: Iterable[str]) -> tuple[Pigment, ...]:
    """Return the pigments of Colour Index names, the least lightfast first; a variety is its own.

    Names of which nothing is known are left out.
    """
    found = dict.fromkeys(map(index_base, names))
    known = (_pigments()[name] for name in found if name in _pigments())
    return tuple(sorted(known, key=lambda one: -_ORDER.index(one.lightfastness)))


_ORDER = list(LIGHTFASTNESS)


@cache
def _pigments() -> dict[str, Pigment]:
    with open(bundled("pigments.csv"), newline="", encoding="utf-8") as stream:
        return {
            row["colour_index"].lower(): Pigment(
                row["colour_index"], row["lightfastness"], row["lightfastness_source"],
                tuple(float(row[f"index_{end}"]) for end in ("low", "high") if row["index_low"]),
                row["index_source"],
            )
            for row in csv.DictReader(stream)
        }  # fmt: skip
