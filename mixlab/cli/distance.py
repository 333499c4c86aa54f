"""``mixlab distance``: a colour as it is seen farther away, as recipes plane by plane."""

from typing import Annotated, Any

import typer

from mixlab.cli import options
from mixlab.cli.page import Page, number, numbers, print_json, save_text
from mixlab.colorimetry import Viewing, lab_to_hex, lab_to_munsell, viewing
from mixlab.distance import OPTICAL_RANGE, VISUAL_RANGE, Plane, planes, veil
from mixlab.errors import DistanceError
from mixlab.files import csv_text
from mixlab.munsell import write_munsell
from mixlab.plots import style
from mixlab.tables import PigmentTable, read_palette, read_table
from mixlab.targets import Target, from_text

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
    steps: Annotated[int, typer.Option(help="Planes, unless fractions or distances say.")] = 5,
    palette: options.PaletteName = "studio",
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = 2.0,
    parts: options.Parts = 40,
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
    near, far = _colour(known, colour, view), _colour(known, horizon, view)
    ways, distances = _ways(fractions, at, visibility, threshold, steps)
    if plot is not None:
        style.checked(plot)
    found = planes(
        near.lab, far.lab, read_palette(palette, known), ways, distances,
        tolerance=tolerance, max_tubes=tubes, parts=parts, view=view,
    )  # fmt: skip
    if plot is not None:
        from mixlab.plots import distance as pictures

        style.save(pictures.planes(found, far.lab, view, f"{near.given} toward {far.given}"), plot)
    if csv is not None:
        save_text(csv, csv_text(_COLUMNS, [_row(plane) for plane in found]))
    if json:
        print_json({
            "colour": near.given, "horizon": {"given": far.given, "lab": numbers(far.lab)},
            "visibility": visibility, "threshold": _THRESHOLDS[threshold],
            "planes": [_json(plane, view) for plane in found],
        })  # fmt: skip
    else:
        _show(Page(), near, far, found, visibility, threshold)


def _colour(known: PigmentTable, text: str, view: Viewing) -> Target:
    """Return a colour that was typed as a mix, a paint, or in figures."""
    if text.strip() in known or " + " in text or text.strip().split(" ")[-1] in known:
        mixture = options.read_mix(known, text, view)
        return Target(mixture.lab, view, str(mixture))
    return from_text(text, view)


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
    return [i / steps for i in range(steps)], None


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
    threshold: str,
) -> None:  # fmt: skip
    view = near.view
    for label, target in (("Colour", near), ("Horizon", far)):
        hex = lab_to_hex(target.lab, view)
        seen = write_munsell(lab_to_munsell(target.lab, view))
        page.entry(label, f"{target.given}: {seen}", hex)
    if visibility is not None:
        page.entry("Visibility", f"{visibility:g}, where {threshold} % of contrast is left")
    page.entry("Light", f"{view.light}, {view.observer} degree observer")
    page.head("From the foreground to the horizon")
    rows = [("veil", "Munsell", "miss", "recipe")]
    hexes: list[str | None] = [None]
    for plane in found:
        best = plane.answer.finer or plane.answer.recipe
        if plane.answer.recipe.miss <= plane.answer.tolerance:
            best = plane.answer.recipe
        where = f"{100 * plane.fraction:.0f}%"
        if plane.distance is not None:
            where = f"{plane.distance:g}: {where}"
        rows.append((where, plane.munsell, f"{best.miss:.1f}", str(best.mixture)))
        hexes.append(lab_to_hex(plane.lab, view))
    page.table(rows, right="02")
    if any(not plane.answer.reached for plane in found):
        page.line("  A miss above the tolerance: out of reach of these tubes; the least harmful "
                  "compromise, value first.", hang=2)  # fmt: skip
    page.line("  Veil: how much of the light is the horizon's.", hang=2)


_COLUMNS = (
    "fraction", "distance", "L", "a", "b", "munsell", "contrast", "recipe", "miss", "reached",
)  # fmt: skip


def _row(plane: Plane) -> list[object]:
    recipe = plane.answer.recipe
    return [
        number(plane.fraction, 6), plane.distance, *numbers(plane.lab), plane.munsell,
        number(plane.contrast), str(recipe.mixture), number(recipe.miss), plane.answer.reached,
    ]  # fmt: skip


def _json(plane: Plane, view: Viewing) -> dict[str, Any]:
    answer = plane.answer
    return {
        "fraction": number(plane.fraction, 6),
        "distance": plane.distance,
        "lab": numbers(plane.lab),
        "munsell": plane.munsell,
        "hex": lab_to_hex(plane.lab, view),
        "contrast": number(plane.contrast),
        "reached": answer.reached,
        "recipe": {"parts": answer.recipe.parts, "miss": number(answer.recipe.miss)},
        "finer": {
            "parts": answer.finer.parts, "miss": number(answer.finer.miss)
        } if answer.finer else None,
    }  # fmt: skip
