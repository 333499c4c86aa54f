"""``mixlab demo``: the whole main job on the bundled scene."""


import csv
import shlex

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex, viewing
from mixlab.files import bundled
from mixlab.mixing.answers import Answer
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.tables import read_palette
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, number, print_json
from mixlab.show.cli.recipe import as_json, show
from mixlab.targets.one import Target, from_photo


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
    if json:
        print_json({
            "picture": str(picture),
            "palette": tubes_at_hand.ids,
            "places": [{"place": place, **as_json(target, a)} for place, target, a in found],
        })  # fmt: skip
        return

    page = Page()
    page.line(
        "A kiln yard and a birch wood across a mill pond, an October afternoon: "
        f"{len(found)} places in the picture, mixed from {len(tubes_at_hand)} tubes "
        f"({', '.join(tubes_at_hand.ids)})."
    )
    for place, target, answer in found:
        page.head(place[0].upper() + place[1:])
        made = answer.recipe.mixture
        hex = lab_to_hex(target.lab, target.view)
        page.table(
            [("in the picture", hex), ("the mix", f"{made.hex}   {made.munsell}")],
            hexes=[hex, made.hex],
        )
        page.line(f"  {made}", hang=4)
        page.line(f"  {_verdict(answer)}", hang=2)
    place, target, answer = found[0]
    page.head(f"The first of them in full: {place}")
    page.line()
    show(page, target, answer, tubes_at_hand)
    page.head("The same from a shell")
    x, y, radius = places[0]
    words = ["mixlab", "recipe", "--photo", str(picture), "--at", f"{x},{y}", "--radius", radius,
             "--palette", palette]  # fmt: skip
    for name, value, usual in (
        ("--tubes", tubes, 4), ("--tolerance", tolerance, TOLERANCE), ("--parts", parts, 12),
    ):  # fmt: skip
        words += [name, f"{value:g}"] if value != usual else []
    page.line(f"  {shlex.join(words)}", hang=4)


def _verdict(answer: Answer) -> str:
    miss = number(answer.recipe.miss, 1)
    if answer.out_of_reach is not None:
        out = answer.out_of_reach
        helper = f"; {out.paint} would help" if out.paint else ""
        words = ", ".join(out.directions)
        return f"out of reach ({words}), compromise misses by {miss}{helper}"
    if answer.recipe.miss > answer.tolerance:
        return f"miss {miss}: no whole parts come within {answer.tolerance:g}"
    return f"miss {miss}"
