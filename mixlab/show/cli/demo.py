"""``mixlab demo``: the whole main job on the bundled scene."""

import csv
import shlex
from typing import Any

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.mixing.answers import Answer
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.tables import read_palette
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.recipe import FOUND, tell
from mixlab.show.report import Output, Page, Report, rows, show, text
from mixlab.targets.one import Target, from_photo

OUTPUT = Output(
    "demo",
    (
        text("picture", "file of the picture"),
        fields.PALETTE,
        rows(
            "places",
            (text("place", "which place of the picture", lambda found: found[0]),
             *(field.of(lambda found: found[1:]) for field in FOUND)),
            "places of the picture, each with what was found",
        ),
    ),
)  # fmt: skip


def demo(
    palette: options.PaletteName = "mill-pond",
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
    json: options.Json = False,
) -> None:
    """Find recipes for places in the bundled picture.

    The picture is invented: a brick kiln yard and a birch wood across a mill pond, in October.
    """
    tubes_at_hand = read_palette(palette)
    picture = bundled("scene.jpg")
    places: list[tuple[str, str, str]] = []
    found: list[tuple[str, Target, Answer]] = []
    with open(bundled("scene.csv"), newline="", encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            places.append((row["x"], row["y"], row["radius"]))
            at = f"{row['x']},{row['y']}"
            target = from_photo(picture, at, viewing(), float(row["radius"]))
            answer = find_recipe(target.lab, tubes_at_hand, tolerance, tubes, parts=parts)
            found.append((row["place"], target, answer))
    x, y, radius = places[0]
    words = ["mixlab", "recipe", "--photo", str(picture), "--at", f"{x},{y}", "--radius", radius,
             "--palette", palette]  # fmt: skip
    for name, value, usual in (
        ("--tubes", tubes, 4), ("--tolerance", tolerance, TOLERANCE), ("--parts", parts, 12),
    ):  # fmt: skip
        words += [name, f"{value:g}"] if value != usual else []
    made = {"picture": picture, "palette": tubes_at_hand.name, "places": found,
            "tubes": tubes_at_hand, "typed": shlex.join(words)}  # fmt: skip
    show(Report(OUTPUT, made, _tell, viewing()), json)


def _tell(page: Page, made: dict[str, Any]) -> None:
    found, tubes = made["places"], made["tubes"]
    page.line(
        "A kiln yard and a birch wood across a mill pond, an October afternoon: "
        f"{len(found)} places in the picture, mixed from {len(tubes)} tubes "
        f"({', '.join(tubes.ids)})."
    )
    for place, target, answer in found:
        page.head(place[0].upper() + place[1:])
        mix = answer.recipe.mixture
        hex = fields.Colour(target.lab, target.view).hex
        page.entry("  in the picture", hex, hex, indent=18)
        page.entry("  the mix", f"{mix.hex}   {mix.munsell}", mix.hex, indent=18)
        page.say(str(answer.recipe), 4)
        page.say(_verdict(answer))
    place, target, answer = found[0]
    page.head(f"The first of them in full: {place}")
    page.line()
    tell(page, (target, answer, tubes))
    page.head("The same from a shell")
    page.say(made["typed"], 4)


def _verdict(answer: Answer) -> str:
    miss = f"{answer.recipe.miss:.1f}"
    if answer.out_of_reach is not None:
        out = answer.out_of_reach
        helper = f"; {out.helper.paint} would help" if out.helper else ""
        words = ", ".join(out.directions)
        return f"out of reach ({words}), compromise misses by {miss}{helper}"
    if answer.recipe.miss > answer.tolerance:
        return f"miss {miss}: no whole parts come within {answer.tolerance:g}"
    return f"miss {miss}"
