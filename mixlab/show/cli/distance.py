"""``mixlab distance``: a colour as it is seen farther away, as recipes plane by plane."""

import re
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex
from mixlab.errors import DistanceError, MixlabError, NotationError
from mixlab.mixing.distance import OPTICAL_RANGE, VISUAL_RANGE, Plane, planes, two_piles, veil
from mixlab.mixing.distance import seen_through as veiled
from mixlab.paint.mixtures import Mixture
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.report import Output, Page, amount, column, figures, group, rows, text
from mixlab.targets.one import Target, from_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_THRESHOLDS = {"5": OPTICAL_RANGE, "2": VISUAL_RANGE}

FRACTION = amount("fraction", "0..1", "of the light that is the horizon's", digits=6)
CONTRAST = amount("contrast", "0..1", "in luminance, with the horizon: (Y - Yh) / Yh")
PLANES = rows(
    "planes",
    (
        FRACTION.of(lambda row: row[0]),
        amount("distance", "as visibility", "how far away", lambda row: row[0].distance),
        CONTRAST.of(lambda row: row[0]),
        *fields.colour(lambda row: fields.Colour(row[0].lab, row[1])),
        group("recipe", (*fields.mixture(lambda recipe: recipe.mixture), fields.MISS),
              "what to mix", lambda row: row[0].recipe),
        fields.IN_REACH.of(lambda row: row[0].answer),
    ),
    "from the foreground to the horizon",
    lambda made: [(plane, made["near"].view) for plane in made["planes"]],
)
GIVEN = (text("given", "as it was typed"), *fields.colour())
OUTPUT = Output(
    "distance",
    (
        group("colour", GIVEN, "in the foreground", lambda made: made["near"]),
        group("horizon", GIVEN, "the sky low over the horizon", lambda made: made["far"]),
        amount("visibility", "as typed", "how far one sees"),
        amount("threshold", "0..1", "contrast that is left there",
               lambda made: _THRESHOLDS[made["threshold"]]),
        amount("exponent", "", "Angstrom's: extinction by wavelength to the power of its negative"),
        PLANES,
        group(
            "two_piles",
            (
                text("foreground", "the pile of the foreground", lambda piles: piles.near),
                text("far_pile", "the pile of the horizon", lambda piles: piles.far),
                rows(
                    "steps",
                    (
                        amount("parts_of_mix", "parts", "of the foreground's",
                               lambda step: step.start),
                        amount("parts_added", "parts", "of the horizon's",
                               lambda step: step.toward),
                        fields.MISS,
                        *fields.colour(lambda step: step.mixture),
                    ),
                    "one a plane",
                ),
            ),
            "every plane from two piles alone",
            lambda made: made["piles"],
        ),
    ),
    csv=PLANES,
)  # fmt: skip

_SHOWN = (
    figures("veil", lambda row: _veil(row[0])),
    figures("contrast", lambda row: row[0].contrast, "+.0%"),
    column("Munsell", lambda row: row[0].munsell),
    figures("miss", lambda row: row[0].recipe.miss, ".1f"),
    column("recipe", lambda row: str(row[0].recipe)),
)
_PILES = (
    figures("veil", lambda row: f"{100 * row[0].fraction:.0f}%"),
    figures("parts", lambda row: f"{row[1].start}:{row[1].toward}"),
    column("Munsell", lambda row: row[1].mixture.munsell),
    figures("miss", lambda row: row[1].miss, ".1f"),
)


def _veil(plane: Plane) -> str:
    veil = f"{100 * plane.fraction:.0f}%"
    return veil if plane.distance is None else f"{plane.distance:g}: {veil}"


@options.usual("palette", "plot", "csv")
def distance(
    usual: options.Usual,
    colour: Annotated[
        str, typer.Argument(metavar="COLOUR", help="A mix, a paint, L,a,b, #rrggbb, or Munsell.")
    ],
    horizon: Annotated[
        str, typer.Option(metavar="COLOUR", help="The sky low over the horizon, written likewise.")
    ],
    fractions: Annotated[
        str | None,
        typer.Option(metavar="f,f,..", help="Fractions of the way to the horizon, 0 to 1."),
    ] = None,
    at: Annotated[
        str | None, typer.Option(metavar="d,d,..", help="Distances, in the visibility's unit.")
    ] = None,
    visibility: Annotated[
        float | None, typer.Option(help="How far one sees: little contrast is left there.")
    ] = None,
    threshold: Annotated[
        str, typer.Option(help="Percent of contrast left there: 5 (WMO) or 2 (Koschmieder).")
    ] = "5",
    exponent: Annotated[
        float,
        typer.Option(help="Angstrom's: 0 fog, all wavelengths alike; 1.3 haze; 4 the clearest."),
    ] = 0.0,
    steps: Annotated[
        int, typer.Option(help="Planes, the horizon included, unless the above says.")
    ] = 5,
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 24,
) -> None:
    """Give the recipes of one colour from the foreground to the horizon.

    The air veils it with the horizon's light: a fraction of the way, or by distance and visibility
    after Koschmieder's law.
    """
    view = usual.view
    (near, mixed), (far, sky) = (_colour(usual, text) for text in (colour, horizon))
    ways, distances = _ways(fractions, at, visibility, threshold, steps)
    seen = None
    if exponent != 0:
        if distances is None or visibility is None:
            raise DistanceError("--exponent needs distances and their --visibility: --at 0,1,2")
        seen = veiled(mixed or near.lab, sky or far.lab, distances, visibility, view, exponent,
                      _THRESHOLDS[threshold])  # fmt: skip
    how: Any = {"tolerance": tolerance, "max_tubes": tubes, "parts": parts, "view": view}
    found = planes(near.lab, far.lab, usual.tubes, ways, distances, seen=seen, **how)
    piles = two_piles(found, mixed or near.lab, sky or far.lab, usual.tubes, **how)
    made = {"near": near, "far": far, "planes": found, "visibility": visibility,
            "threshold": threshold, "exponent": exponent, "piles": piles}  # fmt: skip

    def draw() -> "Figure":
        from mixlab.show.plots import distance as pictures

        title = f"{near.given} toward {far.given}"
        return pictures.planes(found, far.lab, view, title, seen is None)

    usual.tell(OUTPUT, made, _tell, draw)


def _colour(usual: options.Usual, text: str) -> tuple[Target, Mixture | None]:
    """Return a colour that was typed as a mix, a paint, or in figures, and the mix if it is one."""
    figures: MixlabError | None = None
    if text.strip() not in usual.table:
        try:
            return from_text(text, usual.view), None
        except MixlabError as error:
            figures = error
    try:
        mixture = usual.mix(text)
    except NotationError as error:
        if figures is None or " + " in text:
            raise
        if re.search(r"[,#/]", text):
            raise figures from None
        raise DistanceError(f"{error}; {figures}") from None
    return Target(mixture.lab, usual.view, str(mixture)), mixture


def _ways(
    fractions: str | None, at: str | None, visibility: float | None, threshold: str, steps: int
) -> tuple[list[float], list[float] | None]:
    if threshold not in _THRESHOLDS:
        raise DistanceError(f"a threshold of {threshold} percent: give 5 (WMO) or 2 (Koschmieder)")
    if at is not None:
        if fractions is not None:
            raise DistanceError("give --fractions or --at, not both")
        if visibility is None:
            raise DistanceError("distances need the --visibility, in the same unit")
        distances = _numbers("--at", at)
        return [float(f) for f in veil(distances, visibility, _THRESHOLDS[threshold])], distances
    if visibility is not None:
        raise DistanceError("--visibility needs distances: --at 0,1,2")
    if fractions is not None:
        return _numbers("--fractions", fractions), None
    if not 2 <= steps <= 40:
        raise DistanceError(f"{steps} steps: give from 2 to 40")
    return [i / (steps - 1) for i in range(steps)], None


def _numbers(option: str, text: str) -> list[float]:
    try:
        numbers = [float(cell) for cell in text.split(",")]
    except ValueError:
        raise DistanceError(f"{option} {text!r}: write numbers joined by commas") from None
    if len(numbers) > 40:
        raise DistanceError(f"{option}: at most 40 planes")
    return numbers


def _tell(page: Page, made: dict[str, Any]) -> None:
    near, found, piles = made["near"], made["planes"], made["piles"]
    view = near.view
    for label, target in (("Colour", near), ("Horizon", made["far"])):
        seen = fields.Colour(target.lab, view)
        page.entry(label, f"{target.given}: {seen.munsell}", seen.hex)
    if made["visibility"] is not None:
        page.entry("Visibility", f"{made['visibility']:g}, where {made['threshold']} % of contrast "
                                 "is left")  # fmt: skip
        if made["exponent"]:
            page.entry("", "at 550 nm; extinction as wavelength to the power of "
                           f"{-made['exponent']:g}")  # fmt: skip
    page.light(view)
    page.head("From the foreground to the horizon")
    page.table(_SHOWN, PLANES.read(made), hexes=[lab_to_hex(p.lab, view) for p in found])
    if any(not plane.answer.in_reach for plane in found):
        page.say("A miss above the tolerance: out of reach of these tubes; the least harmful "
                 "compromise, value first.")  # fmt: skip
    page.say("Veil: how much of the light is the horizon's. Contrast: in luminance, with the "
             "horizon.")  # fmt: skip
    if piles is not None:
        page.head("From two piles alone (parts of the foreground's : of the horizon's)")
        page.say(str(piles.near), 4)
        page.say(str(piles.far), 4)
        page.table(_PILES, zip(found, piles.steps, strict=True),
                   hexes=[step.mixture.hex for step in piles.steps])  # fmt: skip
