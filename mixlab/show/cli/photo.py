"""``mixlab photo``: a whole photo as a palette gives it, and the recipes of its main colours."""


from typing import Annotated, Any

import typer

from mixlab.arrays import percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_munsell, viewing
from mixlab.errors import TargetError
from mixlab.files import csv_text, write_whole
from mixlab.mixing.answers import FINEST
from mixlab.plan.main_colours import MainColours, checked, main_colours
from mixlab.plan.rendering import MOST_PIXELS, Rendering, grey_of, render
from mixlab.show.cli import options
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.page import Page, bar, counted, number, numbers, print_json
from mixlab.show.plots import style
from mixlab.targets.photo_files import checked_picture, read_photo, write_picture
from mixlab.targets.photos import GREY_CARD


def photo(
    file: Annotated[str, typer.Argument(metavar="FILE", help="The picture.")],
    palette: options.AtHand = None,
    preview: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Write the palette's version of the picture, a PNG."),
    ] = None,
    recipes: Annotated[
        str | None,
        typer.Option(
            metavar="FILE", callback=options.placed, help="Write the main colours' recipes, a CSV."
        ),
    ] = None,
    miss: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Draw the map of the miss to a .png or .svg file."),
    ] = None,
    colours: Annotated[int, typer.Option(help="Number of main colours, 1 to 64.")] = 12,
    grey: Annotated[
        str | None,
        typer.Option(metavar="X,Y", help="A place known to be neutral: takes the cast out."),
    ] = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    radius: Annotated[
        float, typer.Option(help="Average the grey over a disc of this radius [pixels].")
    ] = 0.0,
    table: options.Table = None,
    tubes: options.Tubes = 4,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    json: options.Json = False,
) -> None:
    """Show a photo as a palette gives it, and mix its main colours.

    Every pixel becomes the nearest colour that the palette mixes.
    """
    view = viewing(light, observer)
    if grey is None and (radius, grey_reflectance) != (0.0, GREY_CARD):
        raise TargetError("--radius and --grey-reflectance need a place: --grey X,Y")
    if preview is not None:
        checked_picture(preview)
    if miss is not None:
        style.checked(miss)
    at_hand = options.tubes_at_hand(palette, table)
    checked(at_hand, tolerance, tubes, parts, colours, view)
    taken = read_photo(file, MOST_PIXELS)
    neutral = grey_of(taken, grey, radius, grey_reflectance)
    with bar("Mixing") as tell:
        made = render(
            taken, at_hand, tolerance, tubes, view=view, grey=neutral,
            grey_reflectance=grey_reflectance, progress=tell,
        )  # fmt: skip
    main = main_colours(made, colours, parts)
    written = []
    if preview is not None:
        write_picture(preview, made.pixels())
        written.append(("preview", preview, "sRGB, with its profile"))
    if recipes is not None:
        write_whole(recipes, csv_text(_HEADER, _rows(main)))
        written.append(("recipes", recipes, "of the main colours"))
    if miss is not None:
        from mixlab.show.plots.photo import miss_map

        style.save(miss_map(made), miss)
        written.append(("map", miss, "of the miss"))
    if json:
        print_json(as_json(made, main))
    else:
        show(Page(), made, main, written)


# --- for a person -------------------------------------------------------------------------------


def show(
    page: Page, made: Rendering, main: MainColours, written: list[tuple[str, str, str]]
) -> None:
    """Print what a palette makes of a picture."""
    view, taken = made.view, made.photo
    page.entry("Photo", f"{taken.path}, {taken.width} x {taken.height} pixels")
    for note in _notes(made):
        page.entry("", note)
    page.entry("Palette", f"{made.palette.name}, {counted(len(made.palette), 'tube')}")
    for note in made.palette.table.notes:
        page.entry("", note)
    page.entry("Light", f"{view.light}, {view.observer} degree observer")

    page.head("As this palette gives it")
    page.line(
        f"  {len(made.lab):,} distinct colour{'s' if len(made.lab) > 1 else ''}; the miss is "
        f"{made.mean_miss:.1f} CIEDE2000 in the mean by area.",
        hang=2,
    )
    page.line(f"  {_reach(made)}", hang=2)

    page.head("Main colours")
    rows = [("area", "wanted", "", "miss", "recipe")]
    hexes: list[str | None] = [None]
    for i in range(len(main)):
        hex = lab_to_hex(main.lab[i], view)
        munsell = write_munsell(lab_to_munsell(main.lab[i], view))
        rows.append(
            (f"{main.share[i]:.1%}", munsell, hex, _miss(main, i), str(main.recipes[i]))
        )
        hexes.append(hex)
    page.table(rows, right="03")
    if main.finer.any():
        page.line(f"  * in finer parts than {main.parts}: fewer do not come near enough.", hang=4)
    if (main.in_reach & (main.miss > main.tolerance)).any():
        page.line(
            f"  + a mix within the tolerance exists, but not in up to {FINEST} parts; the recipe "
            "is the nearest in so many.",
            hang=4,
        )
    if not main.in_reach.all():
        page.line("  - out of reach; the recipe is the nearest.", hang=4)
    if written:
        page.head("Written")
        for name, path, about in written:
            page.line(f"  {name:<9}{path} ({about})", hang=11)
    used = dict.fromkeys(id for mix in main.recipes for id in mix.parts)
    show_care(page, made.palette.mix(dict.fromkeys(used, 1.0), view))


def _notes(made: Rendering) -> list[str]:
    notes = list(made.photo.notes)
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


def _miss(main: MainColours, i: int) -> str:
    if not main.in_reach[i]:
        mark = "-"
    elif main.miss[i] > main.tolerance:
        mark = "+"
    else:
        mark = "*" if main.finer[i] else " "
    return f"{main.miss[i]:.1f}{mark}"


# --- for a program ------------------------------------------------------------------------------

_HEADER = (
    "area_percent", "L", "a", "b", "munsell", "hex", "recipe", "tubes", "parts", "miss",
    "least_miss", "within_reach", "recipe_L", "recipe_a", "recipe_b", "recipe_hex",
)  # fmt: skip


def _rows(main: MainColours) -> list[tuple[object, ...]]:
    rows: list[tuple[object, ...]] = []
    for colour in _colours_json(main):
        lab, mix = colour["lab"], colour["recipe"]
        rows.append((
            number(100 * colour["share"], 3), *lab, colour["munsell"], colour["hex"], mix["text"],
            mix["tubes"], sum(mix["parts"].values()), mix["miss"], colour["least_miss"],
            "yes" if colour["within_reach"] else "no", *mix["lab"], mix["hex"],
        ))  # fmt: skip
    return rows


def _colours_json(main: MainColours) -> list[dict[str, Any]]:
    found = []
    for i, (lab, mixture) in enumerate(zip(main.lab, main.recipes, strict=True)):
        view = mixture.view
        found.append({
            "share": number(main.share[i], 6),
            "lab": numbers(lab),
            "munsell": write_munsell(lab_to_munsell(lab, view)),
            "hex": lab_to_hex(lab, view),
            "recipe": {
                "text": str(mixture),
                "parts": {id: round(n) for id, n in mixture.parts.items()},
                "tubes": len(mixture.paints),
                "miss": number(main.miss[i]),
                "lab": numbers(mixture.lab),
                "hex": mixture.hex,
            },
            "least_miss": number(main.least[i]),
            "within_reach": bool(main.in_reach[i]),
        })  # fmt: skip
    return found


def as_json(made: Rendering, main: MainColours) -> dict[str, Any]:
    """Return what a palette makes of a picture for JSON."""
    return {
        "photo": {
            "file": str(made.photo.path),
            "width": made.photo.width,
            "height": made.photo.height,
            "notes": _notes(made),
        },
        "palette": made.palette.ids,
        "light": made.view.light,
        "observer": made.view.observer,
        "tolerance": made.tolerance,
        "colours": len(made.lab),
        "mean_miss": number(made.mean_miss),
        "out_of_reach": {
            "share": number(made.out_of_reach, 6),
            "by_direction": {word: number(s, 6) for word, s in made.by_direction.items()},
        },
        "beyond_srgb": number(made.replaced, 6),
        "not_opaque": made.colours.left_out,
        "main_colours": _colours_json(main),
    }
