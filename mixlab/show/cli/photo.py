"""``mixlab photo``: a whole photo as a palette gives it, and the recipes of its main colours."""

from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from mixlab.arrays import percent
from mixlab.colour.difference import TOLERANCE
from mixlab.errors import TargetError
from mixlab.mixing.answers import FINEST
from mixlab.paint.mixtures import Mixture
from mixlab.plan.key import key_of
from mixlab.plan.main_colours import MainColours, checked, main_colours
from mixlab.plan.rendering import MOST_PIXELS, Rendering, grey_of, render
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import bar, counted
from mixlab.show.cli.mix import show_care
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

if TYPE_CHECKING:
    from matplotlib.figure import Figure


class _Main(NamedTuple):
    """One of the main colours."""

    main: MainColours
    i: int

    @property
    def recipe(self) -> Mixture:
        """What mixes it."""
        return self.main.recipes[self.i]

    @property
    def colour(self) -> fields.Colour:
        """The colour itself."""
        return fields.Colour(self.main.lab[self.i], self.recipe.view)

    @property
    def marked(self) -> str:
        """Its miss, and a mark of what is to be said of it."""
        main, i = self
        if not main.in_reach[i]:
            mark = "-"
        elif main.miss[i] > main.tolerance:
            mark = "+"
        else:
            mark = "*" if main.finer[i] else " "
        return f"{main.miss[i]:.1f}{mark}"


class _Found(NamedTuple):
    """What a palette makes of a picture, its main colours, and the files that were written."""

    made: Rendering
    main: MainColours
    written: list[tuple[str, str, str]]

    @property
    def colours(self) -> list[_Main]:
        """The main colours, one by one."""
        return [_Main(self.main, i) for i in range(len(self.main))]


MAIN = rows(
    "main_colours",
    (
        fields.SHARE.but(meaning="of the area", get=lambda one: one.main.share[one.i]),
        *fields.colour(lambda one: one.colour),
        group(
            "recipe",
            (
                *fields.mixture(lambda one: one.recipe),
                fields.TUBES.but(get=lambda one: len(one.recipe.paints)),
                fields.MISS.but(get=lambda one: one.main.miss[one.i]),
                *fields.colour(lambda one: one.recipe),
            ),
            "what mixes it",
            lambda one: one,
        ),
        amount("least_miss", "CIEDE2000", "of the nearest mix that exists, if parts need not be "
               "whole", lambda one: one.main.least[one.i]),
        fields.IN_REACH.but(get=lambda one: one.main.in_reach[one.i]),
    ),
    "the main colours, the largest area first",
    lambda found: found.colours,
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
        MAIN,
    ),
    csv=MAIN,
)  # fmt: skip

_TABLE = (
    figures("area", lambda one: one.main.share[one.i], ".1%"),
    column("wanted", lambda one: one.colour.munsell),
    column("", lambda one: one.colour.hex, spare=True),
    figures("miss", lambda one: one.marked),
    column("recipe", lambda one: one.recipe, str),
)


@options.usual("palette", "plot", "csv")
def photo(
    usual: options.Usual,
    file: Annotated[str, typer.Argument(metavar="FILE", help="The picture.")],
    preview: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Write the palette's version of the picture, a PNG."),
    ] = None,
    colours: Annotated[int, typer.Option(help="Number of main colours, 1 to 64.")] = 12,
    grey: asked.Grey = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    key: asked.Key = "fit",
    scene: asked.Scene = None,
    radius: Annotated[
        float, typer.Option(help="Average the grey over a disc of this radius [pixels].")
    ] = 0.0,
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
) -> None:
    """Show a photo as a palette gives it, and mix its main colours.

    Every pixel becomes the nearest colour that the palette mixes. --csv writes the recipes of the
    main colours, --plot draws the map of the miss.
    """
    view = usual.view
    if grey is None and (radius, grey_reflectance) != (0.0, GREY_CARD):
        raise TargetError("--radius and --grey-reflectance need a place: --grey X,Y")
    if preview is not None:
        checked_picture(preview)
    checked(usual.tubes, tolerance, tubes, parts, colours, view)
    taken = read_photo(file, MOST_PIXELS)
    neutral = grey_of(taken, grey, radius, grey_reflectance)
    in_key = key_of(taken, usual.tubes, view, key, scene, neutral, grey_reflectance)
    with bar("Mixing") as tell:
        made = render(
            taken, usual.tubes, tolerance, tubes, view=view, grey=neutral,
            grey_reflectance=grey_reflectance, key=in_key, progress=tell,
        )  # fmt: skip
    main = main_colours(made, colours, parts)
    if preview is not None:
        write_picture(preview, made.pixels())
    written = [("preview", preview, "sRGB, with its profile"),
               ("recipes", usual.csv, "of the main colours"), ("map", usual.plot, "of the miss")]
    found = _Found(made, main, [(name, path, what) for name, path, what in written if path])

    def draw() -> "Figure":
        from mixlab.show.plots.photo import miss_map

        return miss_map(made)

    usual.tell(OUTPUT, found, _tell, draw)


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

    page.head("Main colours")
    colours = found.colours
    page.table(_TABLE, colours, hexes=[one.colour.hex for one in colours])
    if main.finer.any():
        page.say(f"* in finer parts than {main.parts}: fewer do not come near enough.", 4)
    if (main.in_reach & (main.miss > main.tolerance)).any():
        page.say(f"+ a mix within the tolerance exists, but not in up to {FINEST} parts; the "
                 "recipe is the nearest in so many.", 4)  # fmt: skip
    if not main.in_reach.all():
        page.say("- out of reach; the recipe is the nearest.", 4)
    if found.written:
        page.head("Written")
        for name, path, about in found.written:
            page.say(f"{name:<9}{path} ({about})", hang=11)
    used = dict.fromkeys(id for mix in main.recipes for id in mix.parts)
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
