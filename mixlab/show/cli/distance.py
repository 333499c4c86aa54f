"""``mixlab distance``: a colour as it is seen farther away, as recipes plane by plane."""


import re
from typing import Annotated, Any

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, lab_to_hex, lab_to_lch, lab_to_munsell, viewing
from mixlab.errors import DistanceError, MixlabError, NotationError
from mixlab.files import csv_text, write_whole
from mixlab.mixing.distance import (
    OPTICAL_RANGE,
    VISUAL_RANGE,
    Plane,
    TwoPiles,
    planes,
    seen_through,
    two_piles,
    veil,
)
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import PigmentTable, read_table
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, number, numbers, print_json
from mixlab.show.plots import style
from mixlab.targets.one import Target, from_text

_THRESHOLDS = {"5": OPTICAL_RANGE, "2": VISUAL_RANGE}


def distance(
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
    palette: options.AtHand = None,
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 24,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Give the recipes of one colour from the foreground to the horizon.

    The air veils it with the horizon's light: a fraction of the way, or by distance and visibility
    after Koschmieder's law.
    """
    view, known = viewing(light, observer), read_table(table)
    (near, mixed), (far, sky) = (_colour(known, text, view) for text in (colour, horizon))
    ways, distances = _ways(fractions, at, visibility, threshold, steps)
    seen = None
    if exponent != 0:
        if distances is None or visibility is None:
            raise DistanceError("--exponent needs distances and their --visibility: --at 0,1,2")
        seen = seen_through(
            mixed or near.lab, sky or far.lab, distances, visibility, view, exponent,
            _THRESHOLDS[threshold],
        )  # fmt: skip
    if plot is not None:
        style.checked(plot)
    tubes_at_hand = options.tubes_at_hand(palette, table, known)
    found = planes(
        near.lab, far.lab, tubes_at_hand, ways, distances, seen=seen,
        tolerance=tolerance, max_tubes=tubes, parts=parts, view=view,
    )  # fmt: skip

    piles = two_piles(
        found, mixed or near.lab, sky or far.lab, tubes_at_hand,
        tolerance=tolerance, max_tubes=tubes, parts=parts, view=view,
    )  # fmt: skip
    if plot is not None:
        from mixlab.show.plots import distance as pictures

        title = f"{near.given} toward {far.given}"
        style.save(pictures.planes(found, far.lab, view, title, seen is None), plot)
    if csv is not None:
        write_whole(csv, csv_text(_COLUMNS, [_row(plane, view) for plane in found]))
    if json:
        print_json({
            "colour": near.given, "horizon": {"given": far.given, "lab": numbers(far.lab)},
            "visibility": visibility, "threshold": _THRESHOLDS[threshold], "exponent": exponent,
            "light": view.light, "observer": view.observer,
            "planes": [_json(plane, view) for plane in found],
            "two_piles": _piles_json(piles) if piles else None,
        })  # fmt: skip
    else:
        _show(Page(), near, far, found, visibility, threshold, exponent, piles)


def _colour(known: PigmentTable, text: str, view: Viewing) -> tuple[Target, Mixture | None]:
    """Return a colour that was typed as a mix, a paint, or in figures, and the mix if it is one."""
    figures: MixlabError | None = None
    if text.strip() not in known:
        try:
            return from_text(text, view), None
        except MixlabError as error:
            figures = error
    try:
        mixture = options.read_mix(known, text, view)
    except NotationError:
        if figures is not None and re.search(r"[,#/]", text):
            raise figures from None
        raise
    return Target(mixture.lab, view, str(mixture)), mixture


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


def _show(
    page: Page, near: Target, far: Target, found: list[Plane], visibility: float | None,
    threshold: str, exponent: float, piles: TwoPiles | None,
) -> None:  # fmt: skip
    view = near.view
    for label, target in (("Colour", near), ("Horizon", far)):
        hex = lab_to_hex(target.lab, view)
        seen = write_munsell(lab_to_munsell(target.lab, view))
        page.entry(label, f"{target.given}: {seen}", hex)
    if visibility is not None:
        page.entry("Visibility", f"{visibility:g}, where {threshold} % of contrast is left")
        if exponent:
            page.entry("", f"at 550 nm; extinction as wavelength to the power of {-exponent:g}")
    page.entry("Light", f"{view.light}, {view.observer} degree observer")
    page.head("From the foreground to the horizon")
    rows = [("veil", "contrast", "Munsell", "miss", "recipe")]
    hexes: list[str | None] = [None]
    for plane in found:
        best = plane.recipe
        where = f"{100 * plane.fraction:.0f}%"
        if plane.distance is not None:
            where = f"{plane.distance:g}: {where}"
        rows.append((where, f"{plane.contrast + 0.0:+.0%}", plane.munsell, f"{best.miss:.1f}",
                     str(best.mixture)))  # fmt: skip
        hexes.append(lab_to_hex(plane.lab, view))
    page.table(rows, right="013", hexes=hexes)
    if any(not plane.answer.in_reach for plane in found):
        page.line("  A miss above the tolerance: out of reach of these tubes; the least harmful "
                  "compromise, value first.", hang=2)  # fmt: skip
    page.line("  Veil: how much of the light is the horizon's. Contrast: in luminance, with the "
              "horizon.", hang=2)  # fmt: skip
    if piles is not None:
        page.head("From two piles alone (parts of the foreground's : of the horizon's)")
        page.line(f"  {piles.near}", hang=4)
        page.line(f"  {piles.far}", hang=4)
        page.table(
            [("veil", "parts", "Munsell", "miss")]
            + [
                (f"{100 * plane.fraction:.0f}%", f"{step.start}:{step.toward}",
                 step.mixture.munsell, f"{step.miss:.1f}")
                for plane, step in zip(found, piles.steps, strict=True)
            ],
            right="013",
            hexes=[None, *(step.mixture.hex for step in piles.steps)],
        )  # fmt: skip


_COLUMNS = (
    "fraction", "distance", "contrast", "recipe", "miss", "reached", "value", "chroma", "munsell",
    "L", "a", "b", "C", "h", "hex",
)  # fmt: skip


def _row(plane: Plane, view: Viewing) -> list[object]:
    recipe = plane.recipe
    _, value, chroma = lab_to_munsell(plane.lab, view)
    return [
        number(plane.fraction, 6), plane.distance, number(plane.contrast), str(recipe.mixture),
        number(recipe.miss), plane.answer.in_reach, number(value), number(chroma), plane.munsell,
        *numbers(plane.lab), *numbers(lab_to_lch(plane.lab)[1:]), lab_to_hex(plane.lab, view),
    ]  # fmt: skip


def _json(plane: Plane, view: Viewing) -> dict[str, Any]:
    return {
        "fraction": number(plane.fraction, 6),
        "distance": plane.distance,
        "lab": numbers(plane.lab),
        "lch": numbers(lab_to_lch(plane.lab)),
        "munsell": plane.munsell,
        "hex": lab_to_hex(plane.lab, view),
        "contrast": number(plane.contrast),
        "reached": plane.answer.in_reach,
        "recipe": {"parts": plane.recipe.parts, "miss": number(plane.recipe.miss)},
    }


def _piles_json(piles: TwoPiles) -> dict[str, Any]:
    return {
        "foreground": piles.near.parts,
        "horizon": piles.far.parts,
        "planes": [
            {"parts": [step.start, step.toward], "miss": number(step.miss),
             "lab": numbers(step.mixture.lab), "hex": step.mixture.hex}
            for step in piles.steps
        ],
    }  # fmt: skip
