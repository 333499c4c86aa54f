"""``mixlab recipe``: from a colour to a recipe, or from the passages of a picture to theirs."""

from typing import Annotated, Any

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.errors import TargetError
from mixlab.mixing.answers import OUT_OF_REACH
from mixlab.mixing.recipes import looked_at, usual_tubes
from mixlab.picture.passages import from_a_family, passages
from mixlab.show.cli import asked, options
from mixlab.show.cli.options import option
from mixlab.show.cli.recipe_output import MANY, ONE, Found, tell_many, tell_one
from mixlab.show.plots.sheet import sheet
from mixlab.targets.one import from_hex, from_lab, from_lch, from_munsell, from_spectrum
from mixlab.targets.places import Place, read_places, typed_places, write_places

_READERS = {"--lab": from_lab, "--lch": from_lch, "--hex": from_hex, "--munsell": from_munsell,
            "--spectrum": from_spectrum}  # fmt: skip


Colour = Annotated[
    list[str] | None,
    typer.Argument(metavar="COLOUR", show_default=False,
                   help='Target as "7.5YR 4/6", 8a5a3c or 45,15,20; or a mix for other tubes.'),
]  # fmt: skip
At = Annotated[
    list[str] | None,
    typer.Option(metavar="X,Y", help="Place in the picture: x,y or left,top,right,bottom; more "
                 "of them make a list."),
]  # fmt: skip
Places = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="Passages, a CSV: name, x, y and, if wanted, radius; or name "
                 "and colour, hex, munsell, or L, a, b."),
]  # fmt: skip
Tubes = Annotated[
    int | None, option("", "Greatest number of tubes in a mix, 1 to 6; 4, or 3 of very many.")
]
OutOfReach = Annotated[
    str,
    typer.Option(
        help="Out of reach: 'value' keeps value and the hue family, and gives up chroma; 'nearest'."
    ),
]


def _option(metavar: str, help: str, *names: str) -> Any:
    return typer.Option(*names, metavar=metavar, help=help)


@options.usual("palette", "plot", "csv", "picture")
def recipe(
    usual: options.Usual,
    colour: Colour = None,
    lab: Annotated[str | None, _option("L,a,b", "Target in CIELAB.")] = None,
    lch: Annotated[str | None, _option("L,C,h", "Target in CIELCh.")] = None,
    hex: Annotated[str | None, _option("RRGGBB", "Target in sRGB.")] = None,
    munsell: Annotated[str | None, _option("NOTATION", 'Target as "7.5YR 4/6".')] = None,
    spectrum: Annotated[str | None, _option("FILE", "Target as a CSV of nm, reflectance.")] = None,
    photo: Annotated[str | None, _option("FILE", "Picture of --at or --places.")] = None,
    at: At = None,
    places: Places = None,
    radius: options.Radius = 0.0,
    tubes: Tubes = None,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
    with_: Annotated[list[str] | None, _option("PAINT", "Must be in the mix.", "--with")] = None,
    without: Annotated[list[str] | None, _option("PAINT", "Must not be in the mix.")] = None,
    out_of_reach: OutOfReach = OUT_OF_REACH[0],
    family: options.Family = False,
    save: Annotated[
        str | None,
        _option("FILE", "Write the passages to a small JSON file; the page and --places read it."),
    ] = None,
) -> None:
    """Find the recipe with the fewest tubes that hits a colour, or the passages of a picture.

    Give one target: a COLOUR, --lab, --lch, --hex, --munsell, --spectrum, or --photo with --at.
    Several --at, or --places, give a list: the darks first. --plot draws a sheet to pin up.
    """
    typed = " ".join(colour) if colour else None
    ways = (repr(typed), *_READERS, "--photo", "--places")
    values = zip(ways, (typed, lab, lch, hex, munsell, spectrum, photo, places), strict=True)
    given = {option: value for option, value in values if value is not None}
    if len(given) != 1 and set(given) != {"--photo", "--places"}:
        what = f"{' and '.join(given)} were given" if given else "no target was given"
        raise TargetError(f"{what}; give a COLOUR or one of {', '.join(ways[1:])}")
    if photo is not None and (at is None) == (places is None):
        raise TargetError("--photo needs a place in the picture, --at X,Y, or --places FILE")
    picture = asked.picture(usual, photo, at, radius)
    if places is not None:
        wanted = read_places(places, usual.view, picture)
    elif picture is not None:
        wanted = typed_places(picture, at or ())
    elif typed is not None:
        wanted = [Place(typed, asked.named(usual.table, typed, usual.view)[0])]
    else:
        ((option, words),) = given.items()
        wanted = [Place(words, _READERS[option](words, usual.view))]
    most = usual_tubes(looked_at(usual.all_tubes)) if tubes is None else tubes
    one, held = places is None and len(wanted) == 1, None
    if one and family:
        raise TargetError("--family is for several places; give --at more than once, or --places")
    how: Any = {"parts": parts, "must": with_ or (), "must_not": without or ()}
    if not family:
        made = passages(wanted, usual.all_tubes, tolerance, most, out_of_reach=out_of_reach,
                        alternatives=3 if one else 0, **how)  # fmt: skip
    else:
        made, held = from_a_family(wanted, usual.tubes, tolerance, most, **how)
    if save is not None:
        write_places(save, wanted, usual.view, picture.photo if picture else None)
    found = Found(made, usual.all_tubes, picture, held)
    name = (held.palette if held else usual.all_tubes).name
    usual.tell(ONE if one else MANY, found, tell_one if one else tell_many,
               lambda form: sheet(made, picture.photo if picture else None, name, form=form)
    )  # fmt: skip
