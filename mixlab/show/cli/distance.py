"""``mixlab distance``: a colour as it is seen farther away, as recipes plane by plane."""

from typing import Annotated, Any

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex
from mixlab.colour.words import beside
from mixlab.errors import DistanceError
from mixlab.mixing.distance import OPTICAL_RANGE, VISUAL_RANGE, veil
from mixlab.mixing.distance import seen_through as veiled
from mixlab.mixing.planes import WITHIN, Plane, Wanting, planes, two_piles, wanting
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import counted
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.options import option
from mixlab.show.plots import distance as pictures
from mixlab.show.report import (
    Output,
    Page,
    amount,
    by_name,
    column,
    figures,
    group,
    rows,
    text,
    texts,
)

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
        group("recipe", (*fields.mixture(lambda plane: plane.mixture), fields.MISS),
              "what to mix", lambda row: row[0]),
        text("how", "how to mix it; \"that\" is the plane before", lambda row: row[0].words),
        amount("taken", "parts", "of the plane before; null where it is mixed from the tubes",
               lambda row: row[0].taken),
        by_name("added", "parts", "put to those, by paint", lambda row: row[0].added),
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
            "wanting",
            (
                fields.MISS.but(meaning="of the worst plane"),
                text("mixed_fresh", "that plane mixed from the tubes",
                     lambda lack: str(lack.fresh)),
                amount("miss_mixed_fresh", "CIEDE2000", "of that mix",
                       lambda lack: lack.fresh.miss),
                amount("exact_miss", "CIEDE2000",
                       "of the worst plane by the best of as many tubes, in exact shares",
                       lambda lack: lack.exact),
                texts("paint_ids", "of the best family of a tube more, if that comes nearer",
                      lambda lack: lack.tubes),
                amount("miss_with_more", "CIEDE2000", "of its worst plane",
                       lambda lack: lack.then),
            ),
            "what a family lacks that misses a plane by more than 3; else null",
        ),
        group(
            "two_piles",
            (
                text("foreground", "the pile of the foreground", lambda piles: piles.near),
                text("far_pile", "the pile of the horizon", lambda piles: piles.far),
                rows(
                    "steps",
                    (
                        text("how", "how to mix it", lambda step: step.words),
                        fields.SHARE.but(meaning="of the horizon's pile in it"),
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
    figures("miss", lambda row: row[0].miss, ".1f"),
    column("mix", lambda row: row[0].words),
)
_PILES = (
    figures("veil", lambda row: f"{100 * row[0].fraction:.0f}%"),
    column("Munsell", lambda row: row[1].mixture.munsell),
    figures("miss", lambda row: row[1].miss, ".1f"),
    column("mix", lambda row: row[1].words),
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
    horizon: Annotated[str, option("COLOUR", "The sky low over the horizon, written likewise.")],
    fractions: Annotated[
        str | None, option("f,f,..", "Fractions of the way to the horizon, 0 to 1.")
    ] = None,
    at: Annotated[str | None, option("d,d,..", "Distances, in the visibility's unit.")] = None,
    visibility: Annotated[
        float | None, typer.Option(help="How far one sees: little contrast is left there.")
    ] = None,
    threshold: Annotated[
        str, typer.Option(help="Percent of contrast left there: 5 (WMO) or 2 (Koschmieder).")
    ] = "5",
    exponent: Annotated[
        float, option("", "Angstrom's: 0 fog, all wavelengths alike; 1.3 haze; 4 the clearest.")
    ] = 0.0,
    steps: Annotated[int, option("", "Planes, the horizon included, unless the above says.")] = 5,
    family: Annotated[
        bool, typer.Option(help="Each plane grows out of the one before, by white and one or two "
                           "tubes; else each is mixed from the tubes.")
    ] = True,
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
) -> None:
    """Give the mixes of one colour from the foreground to the horizon.

    The air veils it with the horizon's light: a fraction of the way, or by distance and visibility
    after Koschmieder's law.
    """
    view = usual.view
    (near, mixed), (far, sky) = (
        asked.named(usual.table, text, view) for text in (colour, horizon)
    )
    ways, distances = _ways(fractions, at, visibility, threshold, steps)
    seen = None
    if exponent != 0:
        if distances is None or visibility is None:
            raise DistanceError("--exponent needs distances and their --visibility: --at 0,1,2")
        seen = veiled(mixed or near.lab, sky or far.lab, distances, visibility, view, exponent,
                      _THRESHOLDS[threshold])  # fmt: skip
    how: Any = {"tolerance": tolerance, "max_tubes": tubes, "parts": parts, "view": view}
    start = near.lab if mixed is None else mixed
    found = planes(start, far.lab, usual.tubes, ways, distances, family=family, seen=seen, **how)
    piles = two_piles(found, start, sky or far.lab, usual.tubes, **how)
    lack = wanting(found, usual.tubes, tolerance, tubes, parts) if family else None
    made = {"tubes": usual.tubes, "near": near, "far": far, "planes": found, "wanting": lack,
            "visibility": visibility, "threshold": threshold, "exponent": exponent, "piles": piles,
            "tolerance": tolerance}  # fmt: skip
    title = f"{near.given} toward {far.given}"
    usual.tell(OUTPUT, made, _tell,
               lambda form: pictures.planes(found, far.lab, view, title, seen is None, form=form)
    )  # fmt: skip


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


def _wants(lack: Wanting, found: list[Plane]) -> str:
    """Return in a sentence or two what a family of planes lacks."""
    own = {paint.id for plane in found for paint in plane.mixture.paints}
    new, gone = (sorted(one) for one in (set(lack.tubes) - own, own - set(lack.tubes)))
    worst, fresh = found[lack.plane], lack.fresh
    off = " and ".join(beside(worst.mixture.lab, worst.lab)[:2])
    said = f"The plane at {100 * worst.fraction:.0f}% comes out {off} by {lack.miss:.1f}. "
    said += (
        f"Mix it fresh: {fresh}; miss {fresh.miss:.1f}." if fresh.miss < lack.miss - 0.1
        else "The palette has no nearer mix of it."
    )
    if lack.exact > WITHIN:
        said += (f" No {counted(len(own), 'tube')} that hold this pile come nearer than "
                 f"{lack.exact:.1f}, whatever the parts.")  # fmt: skip
    if new:
        other = f", for {' and '.join(gone)}," if gone else " as well"
        said += f" With {' and '.join(new)}{other} the worst plane misses by {lack.then:.1f}."
    return said


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
    page.entry("Palette", f"{made['tubes'].name}, {counted(len(made['tubes']), 'tube')}")
    page.light(view)
    page.head("From the foreground to the horizon")
    if found[0].taken is not None and piles is not None:
        page.say(f"First the pile that they grow out of: {piles.near}.")
    page.table(_SHOWN, PLANES.read(made), hexes=[lab_to_hex(p.lab, view) for p in found])
    if any(plane.taken is not None for plane in found):
        page.say("Each grows out of the one before it, \"that\": keep so much of it back.")
    if any(plane.miss > made["tolerance"] for plane in found):
        page.say("A miss above the tolerance: the nearest that can be had like this.")
    if made["wanting"] is not None:
        page.say(_wants(made["wanting"], found))
    page.say("Veil: how much of the light is the horizon's. Contrast: in luminance, with the "
             "horizon.")  # fmt: skip
    if piles is not None:
        page.head("From two piles alone")
        page.say(f"foreground: {piles.near}", 4)
        page.say(f"horizon: {piles.far}", 4)
        page.table(_PILES, zip(found, piles.steps, strict=True),
                   hexes=[step.mixture.hex for step in piles.steps])  # fmt: skip
        if any(step.miss > WITHIN for step in piles.steps):
            page.say("Where they miss by more than 3, grow the plane as above: what two piles give "
                     "does not pass through what the air makes of a colour.")  # fmt: skip
    show_care(page, *(plane.mixture for plane in found))
