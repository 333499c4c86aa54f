"""``mixlab paints add``: a paint of the table under the painter's own name."""

from typing import Annotated, Any

import typer

from mixlab.colour.spaces import lab_to_hex, viewing
from mixlab.errors import MixlabError, TargetError
from mixlab.paint.add import (
    UNLIKE,
    Strength,
    add_paint,
    add_to_table,
    doubt,
    strength_of,
    tint_strength,
)
from mixlab.paint.paints import Paint
from mixlab.paint.tables import PigmentTable
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import lab_text
from mixlab.show.cli.options import option
from mixlab.show.cli.paints import UNCERTAINTY
from mixlab.show.report import Output, Page, Report, amount, show, text, texts
from mixlab.targets.one import from_photo, from_text
from mixlab.targets.photos import GREY_CARD

OUTPUT = Output(
    "paints add",
    (
        text("out", "file of the table that was written"),
        text("id", "id of the paint", lambda made: made["paint"].id),
        text("from", "id of the paint that it was made from", lambda made: made["from"].id),
        text("name", "common name", lambda made: made["paint"].name),
        amount("tube_strength", "times", "pigment in the tube, to that of the paint of `from`",
               lambda made: made["strength"]),
        fields.MISS.of(lambda made: made["found"]),
        UNCERTAINTY.of(lambda made: made["paint"]),
        text("source", "where the figures or the facts come from",
             lambda made: made["paint"].source),
        *fields.colour(lambda made: fields.Colour(made["paint"].lab, viewing(finish="matt"))),
        texts("ids", "ids of its paints", lambda made: made["written"].ids),
    ),
)  # fmt: skip

Tint = Annotated[
    float | None, option("PARTS", "Find the strength by a tint: parts of white to one.")
]
Swatch = Annotated[str | None, option("COLOUR", 'Of the tint: L*,a*,b*, RRGGBB or "7.5YR 4/6".')]


def add(
    paint: Annotated[str, typer.Argument(metavar="PAINT", help="Id or Colour Index name.")],
    id: Annotated[str, typer.Argument(metavar="ID", help="Your own name for it, as my-umber.")],
    out: Annotated[str, typer.Option(metavar="FILE", help="Your table; made, or added to.")],
    strength: Annotated[
        str | None, option("TIMES", "Of your tube: 0.5, 50%, or half, twice ..")
    ] = None,
    tint: Tint = None,
    swatch: Swatch = None,
    photo: Annotated[
        str | None, typer.Option(metavar="FILE", help="The tint in a picture, with --at, --grey.")
    ] = None,
    at: asked.At = None,
    radius: options.Radius = 0.0,
    grey: options.Grey = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    white: Annotated[str | None, option("PAINT", "White of the tint; the table's first.")] = None,
    name: Annotated[str, typer.Option(metavar="TEXT", help="As on the label.")] = "",
    replace: Annotated[
        bool, typer.Option("--replace", help="Put it in place of the paint of that id.")
    ] = False,
    table: options.Table = None,
    only: options.Only = False,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    finish: options.Finish = "matt",
    json: options.Json = False,
) -> None:
    """Put a paint of the table under your own name, at your tube's strength.

    The strength is stated (--strength 0.5, or half: twice the parts give the same tint), or
    found by the colour of one tint (--tint 9 --swatch "7.5R 8/4").
    """
    known = options.paints_at_hand(table, only)
    start = known[paint]
    view = viewing(light, observer, finish)
    if white is not None:
        _white(known, white)
    found: Strength | None = None
    if strength is not None and tint is not None:
        raise MixlabError("--strength and --tint were given; a strength is stated, or found")
    if swatch is not None and photo is not None:
        raise TargetError("--swatch and --photo were given; give one of them")
    if photo is not None and None in (at, grey):
        raise TargetError("--photo needs the place of the tint, --at X,Y, and one that is neutral, "
                          "--grey X,Y")  # fmt: skip
    target = None if swatch is None else from_text(swatch, view)
    if photo is not None and at is not None:
        target = from_photo(photo, at, view, radius, grey, grey_reflectance)
    elif (at, radius, grey, grey_reflectance) != (None, 0.0, None, GREY_CARD):
        raise TargetError("--at, --radius and --grey are for places in a picture: --photo FILE")
    if tint is None:
        if target is not None:
            raise TargetError("a swatch needs its parts of white to one part of paint: --tint 9")
        load = 1.0 if strength is None else strength_of(strength)
        added, basis = _doubt(known, start, white, load), ""
    elif target is None:
        raise TargetError('--tint needs its colour: --swatch "7.5R 8/4", or --photo with --at')
    else:
        found = tint_strength(start, _white(known, white), tint, target.lab, view)
        load, added = found.value, found.miss
        basis = f"by a tint of 1:{tint:g}, {target.given}"
    mine = add_paint(start, id, load, name, basis, added)
    written = add_to_table(mine, out, replace)
    made = {"out": out, "paint": mine, "from": start, "strength": load, "found": found,
            "target": target, "written": written}  # fmt: skip
    show(Report(OUTPUT, made, _tell, viewing(finish="matt")), json)


def _tell(page: Page, made: dict[str, Any]) -> None:
    mine, start, written = made["paint"], made["from"], made["written"]
    found, target = made["found"], made["target"]
    page.entry("Paint", f"{mine.id}: {mine.name}, from {start.id}")
    page.entry("Masstone", lab_text(mine.lab), lab_to_hex(mine.lab, viewing(finish="matt")))
    page.entry("Strength", f"{made['strength']:.2g} times {start.id}")
    if found is not None and target is not None:
        page.entry("", f"the tint is {found.miss:.1f} CIEDE2000 from that of this strength")
        for note in target.notes:
            page.entry("", note)
        if found.miss > UNLIKE:
            page.entry("Doubt", "no strength explains the tint: another pigment, or a cast")
    page.entry("Source", mine.source)
    page.entry("Written", f"{made['out']}: {', '.join(written.ids)}")
    if not mine.unit:
        page.entry("", f"--table {made['out']} puts its paints before the bundled ones")
    elif written.white is None:
        page.entry("", "it has no white yet, which mixes need: add one to it as well")


def _white(known: PigmentTable, name: str | None) -> Paint:
    white = known[name] if name is not None else known.white
    if white is None:
        raise MixlabError("the table has no white; name the paint of the tint with --white")
    return white


def _doubt(known: PigmentTable, start: Paint, white: str | None, strength: float) -> float:
    """Return what a strength from experience adds to the error.

    Nothing without a white; nor to a paint that was not measured, whose uncertainty holds already
    that makers' tubes differ in strength, and by more.
    """
    stands = start.basis != "measured" or strength == 1 or start.is_white
    if stands or known.white is None:
        return float("nan")
    return doubt(start, _white(known, white))
