"""``mixlab demo``: the whole main job on the bundled scene."""

import shlex
from typing import NamedTuple

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.mixing.recipes import check_search
from mixlab.paint.tables import read_palette
from mixlab.picture.key import key_of
from mixlab.picture.passages import passages
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.recipe_output import PLACES, Found, list_passages, tell_one
from mixlab.show.report import Output, Page, Report, show, text
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, read_places


class _Shown(NamedTuple):
    found: Found
    first: Found
    typed: str
    page: str


OUTPUT = Output(
    "demo",
    (
        text("picture", "file of the picture", lambda shown: shown.found.picture.photo.path),
        fields.PALETTE.but(get=lambda shown: shown.found.tubes.name),
        PLACES.of(lambda shown: shown.found),
    ),
)


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
    at_hand, view = read_palette(palette), viewing()
    check_search(tolerance, tubes, parts)
    photo, file = read_photo(bundled("scene.jpg")), bundled("scene.csv")
    key = key_of(photo, at_hand, view)
    picture = Picture(photo, view, set=key.set, notes=(key.words,))
    places = read_places(file, view, picture)
    made = passages(places, at_hand, tolerance, tubes, parts=parts, alternatives=0)
    first = passages(places[:1], at_hand, tolerance, tubes, parts=parts)
    named = ["--places", str(file), "--palette", palette]
    words = ["mixlab", "recipe", "--photo", str(photo.path), *named, "--plot", "sheet.png"]
    page = ["mixlab", "page", str(photo.path), *named, "--out", "pond.html", "--open"]
    for name, value, usual in (
        ("--tubes", tubes, 4), ("--tolerance", tolerance, TOLERANCE), ("--parts", parts, 12),
    ):  # fmt: skip
        words += [name, f"{value:g}"] if value != usual else []
        page += [name, f"{value:g}"] if value != usual else []
    shown = _Shown(Found(made, at_hand, picture), Found(first, at_hand), shlex.join(words),
                   shlex.join(page))  # fmt: skip
    show(Report(OUTPUT, shown, _tell, view), json)


def _tell(page: Page, shown: _Shown) -> None:
    found = shown.found
    page.line("A kiln yard and a birch wood across a mill pond, an October afternoon: "
              f"{len(found.passages)} places in the picture, mixed from {len(found.tubes)} tubes "
              f"({', '.join(found.tubes.ids)}).")  # fmt: skip
    list_passages(page, found.passages)
    page.head(f"In full: {shown.first.passages[0].place.name}")
    page.line()
    tell_one(page, shown.first)
    page.head("The same from a shell, with a sheet to pin up")
    page.say(shown.typed, 4)
    page.head("The picture to touch, in a browser")
    page.say(shown.page, 4)
