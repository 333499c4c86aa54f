"""``mixlab page``: the whole recipe tool as one HTML file, to take along."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.errors import MixlabError
from mixlab.files import stream_apart
from mixlab.mixing.recipes import usual_tubes
from mixlab.paint.tables import Palette
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.console import bar, counted
from mixlab.show.report import Output, Page, amount, text, texts, truth
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.places import Picture, read_places
from mixlab.writing import writable, write_whole


class _Made(NamedTuple):
    tubes: Palette
    paints: list[str]
    places: Sequence[str] = ()
    planned: bool = False
    lesson: str | None = None
    out: Path = Path()
    size: int = 0
    photo: str | None = None


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
        text("lesson", "what the lesson begins with, where it is one"),
    ),
)  # fmt: skip


@options.usual("palette")
def page(
    usual: options.Usual,
    out: Annotated[str, typer.Option(metavar="FILE", help="The page, an .html file.")],
    photo: Annotated[
        str | None, typer.Argument(metavar="PHOTO", help="A picture that it holds.")
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
    lesson: Annotated[
        str | None,
        typer.Option(help="Write a lesson instead, which begins with white, black, grey or "
                     "complement: on a slider, with the curves that say why."),
    ] = None,
    open_: Annotated[bool, typer.Option("--open", help="Show it in the browser.")] = False,
) -> None:
    """Write the page: touch a picture, and read the recipe from the tubes at hand.

    One file that any current browser opens, on a phone or a laptop, without a network. The
    picture never leaves the device. Without PHOTO it takes one from the device. With --lesson it
    is for a class: every paint of the table, two side by side, and the guess comes first.
    """
    if Path(out).suffix.lower() not in (".html", ".htm"):
        raise MixlabError(f"{out}: a page is an HTML file; end its name in .html")
    target = writable(out, MixlabError)
    if lesson is not None:
        unused = {
            "PHOTO": photo is not None, "--places": places is not None, "--plan": plan,
            "--all-paints": all_paints, "--tubes": tubes is not None,
            "--tolerance": tolerance != TOLERANCE, "--parts": parts != 12,
            "--masses": masses != 8, "--values": values != 4,
        }  # fmt: skip
        content, made = _lesson(usual, lesson, [name for name, given in unused.items() if given])
    else:
        most = usual_tubes(len(usual.tubes)) if tubes is None else tubes
        for name, value, low, high in (("tubes", most, 1, 6), ("parts", parts, 1, 24),
                                       ("tolerance", tolerance, 0, 20)):  # fmt: skip
            if not low <= value <= high:
                raise MixlabError(f"--{name} {value:g}: it lies between {low} and {high}")
        if not plan:
            options.only_with("--plan", masses=masses != 8, values=values != 4)
        if photo is None and plan:
            raise MixlabError("--plan: there is no picture to plan; name one, as in: page a.jpg")
        taken = None if photo is None else read_photo(photo)
        planned = _plan(usual, taken, masses, values, places) if plan else None
        content, made = _recipes(
            usual, taken, planned, places, all_paints=all_paints, tolerance=tolerance, tubes=most,
            parts=parts,
        )  # fmt: skip
    write_whole(target, content)
    usual.tell(OUTPUT, made._replace(out=target, size=len(content), photo=photo), _tell)
    if open_:
        typer.launch(target.resolve().as_uri())


def _recipes(
    usual: options.Usual, taken: Photo | None, plan: dict[str, Any] | None, places: str | None,
    **settings: Any,
) -> tuple[bytes, _Made]:  # fmt: skip
    """Return the recipe tool and what is told of it."""
    from mixlab.show.page import pack
    from mixlab.show.page.planned import masses_as_places
    from mixlab.show.page.render import picture, place, render

    named = []
    if plan is not None:
        named = masses_as_places(plan)
    elif places is not None:
        known = read_places(places, usual.view, Picture(taken, usual.view) if taken else None)
        named = [place(one) for one in known]
    data = pack(usual.tubes, usual.view, picture=None if taken is None else picture(taken),
                places=named, plan=plan, **settings)  # fmt: skip
    offered = [paint["id"] for paint in data["paints"] if paint["offered"]]
    made = _Made(usual.tubes, offered, [one["name"] for one in named], plan is not None)
    return render(data).encode(), made


def _lesson(usual: options.Usual, lesson: str, unused: list[str]) -> tuple[bytes, _Made]:
    """Return the lesson page and what is told of it."""
    from mixlab.show.page.lesson import LESSONS, pack_lesson, render_lesson

    if lesson not in LESSONS:
        raise MixlabError(f"--lesson {lesson}: there are {', '.join(LESSONS)}")
    if unused:
        raise MixlabError(f"--lesson: it has neither picture nor recipes; leave out {unused[0]}")
    data = pack_lesson(usual.tubes, usual.view, lesson)
    made = _Made(usual.tubes, [paint["id"] for paint in data["paints"]], lesson=lesson)
    return render_lesson(data, usual.tubes, usual.view).encode(), made


def _plan(
    usual: options.Usual, photo: Photo | None, masses: int, values: int, places: str | None
) -> dict[str, Any]:
    """Return the plan of the picture as the page carries it."""
    from mixlab.picture.plan import plan
    from mixlab.show.page.planned import planned

    assert photo is not None
    with stream_apart(1), bar("Planning") as progress:
        return planned(plan(photo, usual.tubes, masses=masses, values=values, places=places,
                            view=usual.view, progress=progress))  # fmt: skip


def _tell(page: Page, made: _Made) -> None:
    page.entry("Page", f"{made.out}, {made.size / 1000:.0f} kB")
    page.entry("Palette", f"{made.tubes.name}, {counted(len(made.tubes), 'tube')}")
    if made.lesson is not None:
        page.entry("Lesson", f"{made.lesson}, with all {len(made.paints)} paints")
    elif len(made.paints) > len(made.tubes):
        page.entry("", f"with {counted(len(made.paints) - len(made.tubes), 'paint')} more to hand")
    if made.photo is not None:
        page.entry("Picture", made.photo)
    if made.places:
        page.entry("Masses" if made.planned else "Passages", str(len(made.places)))
    page.say("Open it in any browser, here or on a phone; it needs no network.")
