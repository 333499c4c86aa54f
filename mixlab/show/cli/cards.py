"""How ``mixlab characterise`` shows the tubes of a photographed swatch card."""


from typing import TYPE_CHECKING, Any

from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_munsell, viewing
from mixlab.show.cli.page import Page, counted, number, numbers, print_json

if TYPE_CHECKING:
    from mixlab.measure.cards import CardFit
    from mixlab.measure.swatches import Card


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


def show(page: Page, card: "Card", fit: "CardFit", out: str) -> None:
    """Print what a card told, and where the table is."""
    tubes, swatches = counted(len(card.tubes), "tube"), counted(len(card.swatches), "swatch", "es")
    page.entry("Card", f"{card.path}: {tubes} in {swatches}")
    for note in fit.notes:
        page.entry("", note)
    page.head("Tubes")
    rows = [("tube", "index", "masstone", "error", "started from")]
    hexes: list[str | None] = [None]
    for paint in fit.paints:
        munsell = write_munsell(lab_to_munsell(paint.lab, viewing()), decimals=0)
        error = f"{fit.uncertainty[paint.id]:.1f}"
        index = " ".join(paint.colour_index) or "-"
        rows.append((paint.id, index, munsell, error, fit.started[paint.id]))
        hexes.append(lab_to_hex(paint.lab, viewing()))
    page.table(rows, right="3", hexes=hexes)
    page.line(
        "  Error: the likely CIEDE2000 of a prediction with the tube. Three numbers a swatch leave "
        "much of a curve to what is known of other paints.",
        hang=2,
    )
    page.head("Swatches that agree least")
    least = sorted(fit.swatches, key=lambda one: -one.strange)[:_LEAST]
    page.table([
        (one.swatch.mixture, f"{one.miss:.1f} off", f"{one.left_out:.1f} by the others alone")
        for one in least
    ])  # fmt: skip
    page.line()
    page.entry("Written", out)


def show_json(card: "Card", fit: "CardFit", out: str) -> None:
    """Print the same as one JSON object."""
    print_json(as_json(card, fit, out))


def as_json(card: "Card", fit: "CardFit", out: str) -> dict[str, Any]:
    """Return what a card told, for JSON."""
    return {
        "card": str(card.path),
        "out": out,
        "light": number(card.light),
        "sheen": number(fit.sheen),
        "notes": list(fit.notes),
        "paints": [
            {
                "id": paint.id,
                "colour_index": list(paint.colour_index),
                "lab": numbers(paint.lab),
                "uncertainty": number(fit.uncertainty[paint.id]),
                "started": fit.started[paint.id],
            }
            for paint in fit.paints
        ],
        "swatches": [
            {
                "mixture": one.swatch.mixture,
                "at": list(one.swatch.at),
                "lab": numbers(one.swatch.lab),
                "miss": number(one.miss),
                "left_out": number(one.left_out),
            }
            for one in fit.swatches
        ],
    }
