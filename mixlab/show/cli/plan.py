"""``mixlab plan``: a picture before the first stroke."""

import re
from typing import Annotated

import typer

from mixlab.errors import PhotoError
from mixlab.files import stream_apart
from mixlab.picture.amounts import BORE, CONTENT, LAID
from mixlab.picture.plan import MOST_TUBES
from mixlab.picture.plan import plan as planned
from mixlab.picture.shifts import read_other, shifts
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import bar
from mixlab.show.cli.options import option
from mixlab.show.cli.plan_output import OUTPUT, Found, tell
from mixlab.show.plots import style
from mixlab.show.plots.plan import pattern as value_pattern
from mixlab.show.plots.plan import plan_sheet

Values = Annotated[int, typer.Option(help="Number of values, 2 to 9.")]
Masses = Annotated[int, typer.Option(help="Number of masses, 3 to 20.")]


@options.usual("palette", "plot", "csv", "picture")
def plan(
    usual: options.Usual,
    photo: Annotated[str, typer.Argument(metavar="PHOTO", help="The picture.")],
    values: Values = 4,
    steps: Annotated[
        str, typer.Option(help="Steps of value: even, or best, where they part the picture best.")
    ] = "even",
    masses: Masses = 8,
    panel: Annotated[str, option("WxH", "Panel, width and height [cm].")] = "30x40",
    thickness: Annotated[
        str, typer.Option(help=f"How thick paint is laid [mm], or {', '.join(LAID)}.")
    ] = "usual",
    places: Annotated[
        str | None,
        option("FILE", "Places that are masses of their own, a CSV: name, x, y and, if wanted, "
               "radius; or what the page saved."),
    ] = None,
    far: Annotated[
        list[str] | None,
        option("MASS", "A mass that lies far away, by name or number; the farthest first."),
    ] = None,
    against: Annotated[
        str | None,
        option("FILE", "The same motif in another light: a picture framed alike, or places named "
               "as the masses are. Tells what shifted, and what to add to which pile."),
    ] = None,
    ground: Annotated[
        str | None,
        option("COLOUR", "A toned ground, dry: a mix, a paint, L,a,b, #rrggbb, or Munsell. Tells "
               "what a thin block-in does over it, and how thick it must be to stand."),
    ] = None,
    pattern: Annotated[
        str | None,
        option("FILE", "Draw the picture in its few values, and in those of the mixes, to a .png "
               "or .svg file."),
    ] = None,
    with_: Annotated[
        list[str] | None, typer.Option("--with", metavar="PAINT", help="Must be among the tubes.")
    ] = None,
    without: Annotated[list[str] | None, option("PAINT", "Must not be among the tubes.")] = None,
    tolerance: Annotated[
        float | None,
        option("", "Miss that passes for a mass [CIEDE2000]; 2, or 3 where that would take more "
               f"than {MOST_TUBES} tubes."),
    ] = None,
    bore: Annotated[float, typer.Option(help="Width of a tube's string [mm].")] = BORE,
    content: Annotated[float, typer.Option(help="What a tube holds [ml].")] = CONTENT,
) -> None:  # fmt: skip
    """Plan a picture: values, masses, few tubes, piles that grow, order of painting, amounts.

    Each mass gets a fresh pile, or takes parts of another's pile and adds a tube or two. --plot
    draws all of it on one A4 page; for a screen, the masses and their piles.
    """
    if pattern is not None:
        style.checked(pattern)
    size, laid = _panel(panel), _laid(thickness)
    below = None if ground is None else asked.named(usual.table, ground, usual.view)
    with stream_apart(1), bar("Planning") as progress:
        picture = asked.picture(usual, photo)
        assert picture is not None
        other = None if against is None else read_other(against, picture)
        made = planned(
            picture, usual.tubes, values=values, steps=steps, masses=masses, panel=size,
            thickness=laid, places=places, tolerance=tolerance, far=far or (), must=with_ or (),
            must_not=without or (), bore=bore, content=content,
            ground=None if below is None else below[1] or below[0].lab, progress=progress,
        )  # fmt: skip
        found = Found(made, None if other is None else shifts(made, other))
    if pattern is not None:
        style.save(value_pattern(made, form=usual.form), pattern, usual.view)
    usual.tell(OUTPUT, found, tell, lambda form: plan_sheet(made, form=form))


def _panel(text: str) -> tuple[float, float]:
    sides = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[xX×]\s*(\d+(?:\.\d+)?)\s*", text)
    if sides is None:
        raise PhotoError(f"panel {text!r}: write width and height in centimetres, as 30x40")
    return float(sides[1]), float(sides[2])


def _laid(text: str) -> float:
    if text in LAID:
        return LAID[text]
    try:
        return float(text)
    except ValueError:
        raise PhotoError(
            f"thickness {text!r}: it is in millimetres, as 0.15, or {', '.join(LAID)}"
        ) from None
