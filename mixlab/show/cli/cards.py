"""How ``mixlab characterise`` shows the tubes of a photographed swatch card."""


from typing import TYPE_CHECKING

from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_munsell
from mixlab.show import fields
from mixlab.show.cli.console import counted
from mixlab.show.cli.paints import INDEX, UNCERTAINTY
from mixlab.show.cli.predict import MIXTURE, VIEW
from mixlab.show.report import Output, Page, amount, numbers, rows, text

if TYPE_CHECKING:
    from mixlab.measure.card_layout import Card
    from mixlab.measure.cards import CardFit


HELP = """A card is a TOML file beside its photo:

    photo = "kiln-yard-card.png"
    radius = 16                     # of the disc read around a place [pixels]
    neutral = [{ at = [462, 102], reflectance = 0.18 }]
    paper = [[57, 57], [327, 57]]   # bare paper: is the light even?

    [tubes]                         # Colour Index name, or "" where not known
    kiln-blue = "PB29"
    yard-white = "PW6"

    [swatches]                      # x, y or left, top, right, bottom
    "1 kiln-blue" = [102, 102]
    "1 kiln-blue + 4 yard-white" = [282, 102]

To make a card:

  Paint it on white paper or primed board: for each tube a masstone and tints
  of 1:1, 1:4 and 1:16 with one white, and the white by itself; squares of
  2 cm with bare paper between. Lay the film so thick that the paper does not
  show, above all of transparent tubes. Photograph all cards at the same age.

  Light: even daylight, open shade or a north window; no square may shine. Lay
  a grey card beside it, better two neutrals of unlike reflectance, and name
  three or more places of bare paper.

  Camera: no filter; expose so that the paper is not quite white.

What each way tells of a tube, and what it cannot tell:

  its strength in words    where to start, not your maker's hue
  one tint                 strength, not undertone
  a masstone               the colour thick; not strength, nor K and S apart
  a card by photo          strength, hue of tints, a bent curve; no fine
                           bands, nor how a film hides
  readings, opaque         the curve, tints; not K and S apart: mixes without
                           white are unsure
  readings, one ground     tints; not masstones, nor how it hides
  readings, two grounds    K and S apart, and how it hides
"""
"""What a card says, for the help of the command."""

_LEAST = 3  # swatches that agree least are shown

MASSTONE = text("", "").shown("masstone", get=lambda paint: write_munsell(
    lab_to_munsell(paint.lab, VIEW), decimals=0))  # fmt: skip
COLOUR = fields.colour(lambda one: fields.Colour(one.lab, VIEW))
CROSS_VALIDATED = amount(
    "cross_validated_miss", "CIEDE2000", "of the curves that were fitted to the others alone"
)
LEAST = (
    fields.MISS.shown("", lambda miss: f"{miss:.1f} off", right=False),
    CROSS_VALIDATED.shown("", lambda miss: f"{miss:.1f} by the others alone", right=False),
)
STARTED = text("started_from", "the paint of the table that it was started from",
               lambda row: row[1].started[row[0].id])  # fmt: skip
_PAINTS = tuple(
    one.of(lambda row: row[0]) for one in (text("id", "id of the paint"), INDEX, *COLOUR,
                                           UNCERTAINTY)
)  # fmt: skip
_MIXTURE = MIXTURE.of(lambda one: one.swatch)
_SWATCHES = (
    _MIXTURE,
    numbers("at", "pixels", "where it lies on the picture", lambda one: one.swatch.at),
    *(one.of(lambda one: one.swatch) for one in COLOUR),
    fields.MISS.but(meaning="from the swatch to the curves that were fitted"),
    CROSS_VALIDATED,
)
OUTPUT = Output(
    "characterise",
    (
        text("file", "the card", lambda made: made[0].path),
        text("out", "file of the table that was written", lambda made: made[2]),
        amount("light_ratio", "", "greatest light on the card over the least, by its references",
               lambda made: made[0].light),
        amount("sheen", "0..1", "share of the surface's reflection that the camera saw",
               lambda made: made[1].sheen),
        fields.NOTES.of(lambda made: made[1]),
        rows("paints", (*_PAINTS, STARTED), "its paints, each with its masstone",
             lambda made: [(paint, made[1]) for paint in made[1].paints]),
        rows("swatches", _SWATCHES, "how each swatch agrees", lambda made: made[1].swatches),
    ),
)  # fmt: skip
_TUBES = (
    _PAINTS[0].shown("tube"),
    _PAINTS[1].shown("index", lambda names: " ".join(names) or "-"),
    MASSTONE.of(lambda row: row[0]),
    _PAINTS[-1].shown("error", ".1f"),
    STARTED.shown("started from"),
)


def tell(page: Page, made: "tuple[Card, CardFit, str]") -> None:
    """Lay out what a card told, and where the table is."""
    card, fit, out = made
    tubes, swatches = counted(len(card.tubes), "tube"), counted(len(card.swatches), "swatch", "es")
    page.entry("Card", f"{card.path}: {tubes} in {swatches}")
    for note in fit.notes:
        page.entry("", note)
    page.light(VIEW)
    page.head("Tubes")
    page.table(_TUBES, [(paint, fit) for paint in fit.paints],
               hexes=[lab_to_hex(paint.lab, VIEW) for paint in fit.paints])  # fmt: skip
    page.line(
        "  Error: the likely CIEDE2000 of a prediction with the tube. Three numbers a swatch leave "
        "much of a curve to what is known of other paints.",
        hang=2,
    )
    page.head("Swatches that agree least")
    least = sorted(fit.swatches, key=lambda one: -one.distance)[:_LEAST]
    page.table((_MIXTURE.shown(), *LEAST), least)
    page.line()
    page.entry("Written", out)
