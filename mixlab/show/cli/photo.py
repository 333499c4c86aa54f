"""``mixlab photo``: a whole photo as a palette gives it, and the recipes of its main colours."""

from typing import Annotated, NamedTuple

import typer

from mixlab.arrays import Array, percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing, lab_to_hex
from mixlab.errors import TargetError
from mixlab.mixing.answers import Answer
from mixlab.palette.family import Family
from mixlab.picture.key import key_of
from mixlab.picture.main_colours import MainColour, checked, in_a_family, main_colours
from mixlab.picture.rendering import Rendering, grey_of, render
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import bar, counted
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.options import option
from mixlab.show.cli.recipe_output import FAMILY, PLACES, RECIPE, tell_family
from mixlab.show.plots import style
from mixlab.show.plots.photo import miss_map
from mixlab.show.plots.sheet import marked
from mixlab.show.report import (
    Output,
    Page,
    amount,
    by_name,
    column,
    figures,
    group,
    numbers,
    rows,
    text,
    texts,
)
from mixlab.targets.photo_files import checked_picture, read_photo, write_picture
from mixlab.targets.photos import GREY_CARD


class _Found(NamedTuple):
    """What a palette makes of a picture, its main colours, and the files that were written."""

    made: Rendering
    main: list[MainColour]
    family: Family | None
    written: list[tuple[str, str, str]]


MAIN = rows(
    "main_colours",
    (
        fields.SHARE.but(meaning="of the area that is nearest to it"),
        *(field.of(lambda one: one.passage) for field in (
            *(one for one in PLACES.fields if one.key in ("at", "radius", "order")),
            *fields.colour(lambda passage: passage.place.target),
            group("recipe", RECIPE, "what to mix", lambda passage: passage.answer.recipe),
        )),
        amount("least_miss", "CIEDE2000",
               "of the nearest mix that exists, if parts need not be whole"),
        fields.IN_REACH.of(lambda one: one.passage.answer),
    ),
    "the main colours, the largest area first",
    lambda found: found.main,
)  # fmt: skip

OUTPUT = Output(
    "photo",
    (
        group(
            "photo",
            (text("file", "name of the file", lambda made: made.photo.path),
             numbers("size", "pixels", "width and height",
                     lambda made: (made.photo.width, made.photo.height)),
             fields.NOTES.but(get=lambda made: _notes(made))),
            "the picture",
            lambda found: found.made,
        ),
        *(field.of(lambda found: found.made) for field in (
            fields.PALETTE.but(get=lambda made: made.palette.name),
            texts("paint_ids", "of the palette", lambda made: made.palette.ids),
            fields.TOLERANCE,
            amount("distinct_colours", "", "how many the picture has", lambda made: len(made.lab)),
            amount("mean_miss", "CIEDE2000", "of the picture, by area"),
            group(
                "beyond_reach",
                (fields.SHARE.but(meaning="of the area", get=lambda made: made.out_of_reach),
                 by_name("by_direction", "0..1", "share of the area by what it is most",
                         lambda made: made.by_direction, digits=6)),
                "what no mix comes within the tolerance of",
                lambda made: made,
            ),
            amount("beyond_srgb", "0..1", "share of the area whose mix sRGB does not show",
                   lambda made: made.replaced, digits=6),
            amount("not_opaque", "pixels", "left out", lambda made: made.colours.left_out),
        )),
        FAMILY,
        MAIN,
    ),
    csv=MAIN,
)  # fmt: skip

_TABLE = (
    figures("area", lambda one: one.share, ".1%"),
    figures("at", lambda one: one.passage.place.at, lambda at: f"{at[0]:.0f},{at[1]:.0f}"),
    column("wanted", lambda one: fields.Colour(*_seen(one)).munsell),
    column("", lambda one: lab_to_hex(*_seen(one)), spare=True),
    figures("miss", lambda one: _marked(one.passage.answer)),
    column("recipe", lambda one: one.passage.answer.recipe, str),
)


def _seen(one: MainColour) -> tuple[Array, Viewing]:
    return one.passage.place.target.lab, one.passage.place.target.view


def _marked(answer: Answer) -> str:
    """Return a miss, and a mark of what is to be said of it."""
    mark = "-" if not answer.in_reach else "+" if answer.recipe.miss > answer.tolerance else " "
    return f"{answer.recipe.miss:.1f}{mark}"


@options.usual("palette", "plot", "csv", "picture")
def photo(
    usual: options.Usual,
    file: Annotated[str, typer.Argument(metavar="FILE", help="The picture.")],
    preview: Annotated[
        str | None, option("FILE", "Write the palette's version of the picture, a PNG.")
    ] = None,
    mark: asked.Mark = None,
    colours: Annotated[int, typer.Option(help="Number of main colours, 1 to 64.")] = 12,
    radius: Annotated[
        float, typer.Option(help="Average the grey over a disc of this radius [pixels].")
    ] = 0.0,
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
    family: options.Family = False,
) -> None:
    """Show a photo as a palette gives it, and mix its main colours.

    Every pixel becomes the nearest colour that the palette mixes. --csv writes the recipes of the
    main colours, --plot draws the map of the miss.
    """
    view = usual.view
    if usual.grey is None and (radius, usual.grey_reflectance) != (0.0, GREY_CARD):
        raise TargetError("--radius and --grey-reflectance need a place: --grey X,Y")
    if preview is not None:
        checked_picture(preview)
    if mark is not None:
        style.checked(mark)
    checked(usual.tubes, tolerance, tubes, parts, colours, view)
    taken = read_photo(file)
    grey, reflectance = usual.grey, usual.grey_reflectance
    neutral = grey_of(taken, grey, radius, reflectance)
    in_key = key_of(taken, usual.tubes, view, usual.key, usual.scene, neutral, reflectance)
    with bar("Mixing") as tell:
        made = render(
            taken, usual.tubes, tolerance, tubes, view=view, grey=neutral,
            grey_reflectance=reflectance, key=in_key, progress=tell,
        )  # fmt: skip
    main, held = main_colours(made, colours, parts), None
    if family:
        main, held = in_a_family(made, main, parts)
    if preview is not None:
        write_picture(preview, made.pixels())
    if mark is not None:
        places = [one.passage.place for one in main]
        named = [(place.name, place.at) for place in places]
        style.save(marked(taken, named, form=usual.form), mark, view)
    written = [("marked", mark, "where the main colours lie"),
               ("preview", preview, "sRGB, with its profile"),
               ("recipes", usual.csv, "of the main colours"), ("map", usual.plot, "of the miss")]
    found = _Found(made, main, held, [(name, path, what) for name, path, what in written if path])
    usual.tell(OUTPUT, found, _tell, lambda form: miss_map(made, form=form))


def _tell(page: Page, found: _Found) -> None:
    made, main = found.made, found.main
    view, taken = made.view, made.photo
    page.entry("Photo", f"{taken.path}, {taken.width} x {taken.height} pixels")
    for note in _notes(made):
        page.entry("", note)
    page.entry("Palette", f"{made.palette.name}, {counted(len(made.palette), 'tube')}")
    for note in made.palette.table.notes:
        page.entry("", note)
    page.light(view)

    page.head("As this palette gives it")
    page.say(f"{len(made.lab):,} distinct colour{'s' if len(made.lab) > 1 else ''}; the miss is "
             f"{made.mean_miss:.1f} CIEDE2000 in the mean by area.")  # fmt: skip
    page.say(_reach(made))

    if found.family is not None:
        tell_family(page, found.family)
    page.head("Main colours, by area and by how far they stand out; at x,y in the picture")
    page.table(_TABLE, main, hexes=[lab_to_hex(*_seen(one)) for one in main], numbered=True)
    answers = [one.passage.answer for one in main]
    if any(one.in_reach and one.recipe.miss > one.tolerance for one in answers):
        page.say("+ a mix within the tolerance exists, but parts that a knife can measure do not "
                 "hold it.", 4)  # fmt: skip
    if not all(one.in_reach for one in answers):
        page.say("- out of reach; the least harmful compromise.")
    if found.written:
        page.head("Written")
        for name, path, about in found.written:
            page.say(f"{name:<9}{path} ({about})", hang=11)
    used = dict.fromkeys(id for one in answers for id in one.recipe.parts)
    show_care(page, made.palette.mix(dict.fromkeys(used, 1.0), view))


def _notes(made: Rendering) -> list[str]:
    notes = list(made.photo.notes)
    if made.key is not None and made.key.fits:
        notes.append(made.key.words)
    if made.colours.left_out:
        notes.append(
            f"{made.colours.left_out:,} pixels are not opaque: left out, transparent in the preview"
        )
    if made.lightened > 0:
        notes.append(
            f"{made.lightened:.1%} of the area comes out lighter than a perfect white by that "
            "grey; taken as L* 100"
        )
    if made.replaced > 0:
        notes.append(
            f"{_percent(made.replaced)} of the area has its mix beyond sRGB; the nearest mix that "
            "sRGB shows stands for it in the preview"
        )
    return notes


def _reach(made: Rendering) -> str:
    if not made.by_direction:
        return f"All of it is within reach (miss up to {made.tolerance:g})."
    words = ", ".join(f"{word} {_percent(share)}" for word, share in made.by_direction.items())
    return (
        f"{_percent(made.out_of_reach)} of the area is out of reach (miss above "
        f"{made.tolerance:g}). By what it is most, against the nearest mix: {words}."
    )


def _percent(share: float) -> str:
    return percent(share) if share >= 0.0005 else "less than 0.1%"
