"""``mixlab page``: the whole recipe tool as one HTML file, to take along."""

from pathlib import Path
from typing import Annotated, Any, NamedTuple

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.errors import MixlabError
from mixlab.mixing.recipes import usual_tubes
from mixlab.paint.tables import Palette
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.console import bar, counted, stdout_apart
from mixlab.show.report import Output, Page, amount, text, texts, truth
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.places import Picture, read_places
from mixlab.writing import writable, write_whole


class _Made(NamedTuple):
    out: Path
    size: int
    tubes: Palette
    paints: list[str]
    photo: str | None
    places: list[str]
    planned: bool


OUTPUT = Output(
    "page",
    (
        text("out", "file of the page that was written"),
        amount("bytes", "bytes", "size of that file", lambda made: made.size),
        fields.PALETTE.but(get=lambda made: made.tubes.name),
        texts("paint_ids", "of the palette", lambda made: made.tubes.ids),
        texts("offered_ids", "of all paints that the page offers as tubes",
              lambda made: made.paints),
        text("picture", "file of the picture", lambda made: made.photo),
        truth("planned", "whether those are the masses of a plan, which it carries"),
        texts("place_names", "of the passages that the page holds", lambda made: made.places),
    ),
)  # fmt: skip


@options.usual("palette")
def page(
    usual: options.Usual,
    out: Annotated[str, typer.Option(metavar="FILE", help="The page, an .html file.")],
    photo: Annotated[
        str | None, typer.Argument(metavar="[PHOTO]", help="A picture that it holds.")
    ] = None,
    places: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Passages that it holds: a CSV, or saved by a page."),
    ] = None,
    plan: Annotated[
        bool, typer.Option("--plan", help="Plan the picture: its masses, their piles, their order.")
    ] = False,
    masses: Annotated[int, typer.Option(help="Number of masses of the plan, 3 to 20.")] = 8,
    values: Annotated[int, typer.Option(help="Number of values of the plan, 2 to 9.")] = 4,
    all_paints: Annotated[
        bool, typer.Option("--all-paints", help="Offer every paint of the table, to swap tubes.")
    ] = False,
    tubes: Annotated[
        int | None, typer.Option(help="Greatest number of tubes in a mix, 1 to 6; 4, or 3 of many.")
    ] = None,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
    open_: Annotated[bool, typer.Option("--open", help="Show it in the browser.")] = False,
) -> None:
    """Write the page: touch a picture, and read the recipe from the tubes at hand.

    One file that any current browser opens, on a phone or a laptop, without a network. The
    picture never leaves the device. Without PHOTO it takes one from the device.
    """
    from mixlab.show.page import pack
    from mixlab.show.page.planned import masses_as_places
    from mixlab.show.page.render import picture, place, render

    if Path(out).suffix.lower() not in (".html", ".htm"):
        raise MixlabError(f"{out}: a page is an HTML file; end its name in .html")
    target = writable(out, MixlabError)
    most = usual_tubes(len(usual.tubes)) if tubes is None else tubes
    for name, value, low, high in (("tubes", most, 1, 6), ("parts", parts, 1, 24),
                                   ("tolerance", tolerance, 0, 20)):  # fmt: skip
        if not low <= value <= high:
            raise MixlabError(f"--{name} {value:g}: it lies between {low} and {high}")
    if photo is None and plan:
        raise MixlabError("--plan: there is no picture to plan; name one, as in: page photo.jpg")
    taken = None if photo is None else read_photo(photo)
    made_plan, named = None, []
    if plan:
        made_plan = _plan(usual, taken, masses, values, places)
        named = masses_as_places(made_plan)
    elif places is not None:
        known = read_places(places, usual.view, Picture(taken, usual.view) if taken else None)
        named = [place(one) for one in known]
    data = pack(
        usual.tubes, usual.view, all_paints=all_paints,
        picture=None if taken is None else picture(taken), places=named,
        plan=made_plan, tolerance=tolerance, tubes=most, parts=parts,
    )  # fmt: skip
    content = render(data).encode()
    write_whole(target, content)
    offered = [paint["id"] for paint in data["paints"] if paint["offered"]]
    made = _Made(target, len(content), usual.tubes, offered, photo,
                 [one["name"] for one in named], plan)  # fmt: skip
    usual.tell(OUTPUT, made, _tell)
    if open_:
        typer.launch(target.resolve().as_uri())


def _plan(
    usual: options.Usual, photo: Photo | None, masses: int, values: int, places: str | None
) -> dict[str, Any]:
    """Return the plan of the picture as the page carries it."""
    from mixlab.picture.plan import plan
    from mixlab.show.page.planned import planned

    assert photo is not None
    with stdout_apart(), bar("Planning") as progress:
        return planned(plan(photo, usual.tubes, masses=masses, values=values, places=places,
                            view=usual.view, progress=progress))  # fmt: skip


def _tell(page: Page, made: _Made) -> None:
    page.entry("Page", f"{made.out}, {made.size / 1000:.0f} kB")
    page.entry("Palette", f"{made.tubes.name}, {counted(len(made.tubes), 'tube')}")
    if len(made.paints) > len(made.tubes):
        page.entry("", f"with {counted(len(made.paints) - len(made.tubes), 'paint')} more to hand")
    if made.photo is not None:
        page.entry("Picture", made.photo)
    if made.places:
        page.entry("Masses" if made.planned else "Passages", str(len(made.places)))
    page.say("Open it in any browser, here or on a phone; it needs no network.")
