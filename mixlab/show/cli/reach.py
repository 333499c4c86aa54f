"""``mixlab reach``: what a palette mixes, what is asked of it, and what each tube is for."""

from collections.abc import Iterable
from typing import Annotated, Any

import typer

from mixlab.arrays import percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_munsell
from mixlab.errors import ReachError
from mixlab.paint.tables import read_palette
from mixlab.palette.comparison import Comparison, compare
from mixlab.palette.coverage import Coverage, Tube, checked_tolerance, coverage, each_tube
from mixlab.palette.reach import Place, Reach, reach
from mixlab.picture.main_colours import main_places
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import bar, counted
from mixlab.show.cli.reach_output import (
    CHROMA_BEYOND,
    COVERAGE,
    COVERED,
    DIRECTIONS,
    FAMILY,
    HIGHEST,
    MISS_BEYOND,
    MUNSELL,
    NAME,
    OUTPUT,
    ROW,
    SHOWN,
    SHOWN_MIX,
    TUBE,
    VOLUME,
    WEIGHT,
    Made,
    asked_rows,
    in_words,
)
from mixlab.show.plots import reach as pictures
from mixlab.show.plots import style
from mixlab.show.plots.forms import Form
from mixlab.show.plots.sheet import marked
from mixlab.show.report import Page, column, figures
from mixlab.targets.standards import munsell_chips

_DRAWINGS = ("slices", "pages", "coverage")


# --- the command --------------------------------------------------------------------------------


@options.usual("palette", "plot", "csv", "picture")
def reach_(
    usual: options.Usual,
    against: Annotated[
        str | None, typer.Option(metavar="PALETTE", help="Another palette, to compare with.")
    ] = None,
    tubes: Annotated[
        int | None, typer.Option(help="Greatest number of tubes in a mix; any unless given.")
    ] = None,
    targets: asked.Targets = None,
    photo: asked.Photo = None,
    mark: asked.Mark = None,
    chips: asked.Chips = False,
    standard: asked.Standard = None,
    tolerance: options.Tolerance = TOLERANCE,
    each: Annotated[
        bool, typer.Option("--each-tube", help="What is lost without each tube, and substitutes.")
    ] = False,
    draw: Annotated[
        str | None,
        typer.Option(metavar="WHAT", help="What --plot draws: slices, pages, or coverage."),
    ] = None,
) -> None:
    """What a palette mixes, what it lacks, and what each tube is for.

    Colours asked for are optional; give one of --targets, --photo, --chips, --standard.
    """
    if draw is not None and (usual.plot is None or draw not in _DRAWINGS):
        raise ReachError(
            "--draw says what --plot draws; give a file as well" if draw in _DRAWINGS
            else f"no drawing {draw!r}; drawings: {', '.join(_DRAWINGS)}"
        )  # fmt: skip
    view, at_hand = usual.view, usual.tubes
    if mark is not None and photo is None:
        raise ReachError("--mark marks where the colours of a picture lie: --photo FILE")
    if mark is not None:
        style.checked(mark)
    checked_tolerance(tolerance)
    rival = read_palette(against, usual.table) if against is not None else None
    wanted, picture = asked.asked_for(usual, targets, photo, chips, standard)
    if draw == "coverage" and against is not None:
        raise ReachError("--draw coverage draws one palette; leave --against out")
    if draw == "coverage" and wanted is None:
        raise ReachError(f"there is no coverage to draw; give one of {', '.join(asked.TARGETS)}")
    draw = draw or ("coverage" if wanted is not None and against is None else "slices")
    if usual.plot is not None and tubes in (1, 2) and draw != "coverage":
        raise ReachError(f"--tubes {tubes}: so few make no areas to draw; 3 or more do")
    one = reach(at_hand, tubes, view)
    other = reach(rival, tubes, view) if rival is not None else None
    all_chips = coverage(one, munsell_chips(view), tolerance)
    covered = None if wanted is None else all_chips if chips else coverage(one, wanted, tolerance)
    with bar("Looking at tubes") as tell:
        of_tubes = each_tube(covered or all_chips, progress=tell) if each else None
    main = []
    if picture is not None and wanted is not None:
        share, places = main_places(picture.photo, picture.labs, wanted.lab, wanted.weight, view)
        miss = one.nearest([place.target.lab for place in places])[2]
        main = list(zip(share, places, miss, strict=True))
        if mark is not None:
            named = [(place.name, place.at) for place in places]
            style.save(marked(picture.photo, named, form=usual.form), mark, view)
    made = Made(one, all_chips, covered, compare(one, other) if other else None, of_tubes, main)
    usual.tell(COVERED if covered else OUTPUT, made, _tell,
               lambda form: _drawing(draw, [one, other] if other else [one], covered, form)
    )  # fmt: skip


def _drawing(
    what: str, reaches: list[Reach], covered: Coverage | None, form: Form
) -> Any:
    if what == "coverage" and covered is not None:
        return pictures.coverage(covered, form=form)
    return (pictures.pages if what == "pages" else pictures.slices)(reaches, form=form)


# --- for a person -------------------------------------------------------------------------------


def _tell(page: Page, made: Made) -> None:
    one = made.reach
    page.entry("Palette", f"{one.palette.name}, {counted(len(one.palette), 'tube')}")
    for note in one.palette.table.notes:
        page.entry("", note)
    page.entry("Mixes", f"of at most {counted(one.tubes, 'tube')}" if one.tubes else
               "of any number of tubes")  # fmt: skip
    page.light(one.view)
    _show_reach(page, one, made.chips)
    if made.comparison is not None:
        _show_comparison(page, made.comparison)
    if made.covered is not None:
        _show_coverage(page, made.covered)
    if made.main:
        page.head("Main colours of the photo; at x,y in it")
        page.table(_MAIN, made.main, numbered=True,
                   hexes=[lab_to_hex(p.target.lab, p.target.view) for _, p, _ in made.main])
    if made.of_tubes is not None:
        _show_tubes(page, made.tubes)


_MAIN = (
    figures("area", lambda row: row[0], ".1%"),
    figures("at", lambda row: row[1].at, lambda at: f"{at[0]:.0f},{at[1]:.0f}"),
    column("wanted", lambda row: fields.Colour(row[1].target.lab, row[1].target.view).munsell),
    figures("miss", lambda row: row[2], ".1f"),
)


def _show_reach(page: Page, made: Reach, chips: Coverage) -> None:
    def entry(label: str, text: str, hex: str | None = None) -> None:
        page.entry(f"  {label}", text, hex, 13)

    page.head("Reach")
    entry("volume", f"{_thousands(made.volume)} of CIELAB, +/- {_thousands(made.volume_error)}"
          if made.solid else "none of its own: mixes of so few tubes are sheets and lines"
    )  # fmt: skip
    entry("chips", f"{int(chips.within_tolerance.sum())} of the {len(chips.colours)} Munsell chips "
          f"that a surface can have ({percent(chips.share)}), to {chips.tolerance:g} CIEDE2000"
    )  # fmt: skip
    if shares := made.by_tubes(chips.tolerance):
        entry("by tubes", ", ".join(f"{n} in a mix {percent(part)}" for n, part in shares.items())
              + f" of the volume, to {chips.tolerance:g}")  # fmt: skip
    for label, place in (("darkest", made.darkest), ("lightest", made.lightest)):
        entry(label, f"value {place.munsell[1]:.1f}, L* {place.lab[0]:.1f}: {in_words(place)}",
              lab_to_hex(place.lab, made.view))  # fmt: skip
    page.head("Highest chroma of each hue family, up to value 9 (shares need not be whole)")
    page.table(HIGHEST, made.highest_chroma.items(), _hexes(made.highest_chroma.values()))
    lacking = [n for n in chips.by_family() if n not in ("N", *made.highest_chroma)]
    if lacking:
        page.say(f"No chroma of 1 in {', '.join(lacking)}.")


def _show_comparison(page: Page, both: Comparison) -> None:
    one, other = both.one.palette.name, both.other.palette.name
    page.head(f"{one} against {other}")
    if both.solid:
        page.table(
            (column("", lambda row: f"in reach of {row[0]}"),
             VOLUME.but(get=lambda row: row[1]).shown("", _thousands)),
            (("both", both.both), (f"{one} alone", both.only_one),
             (f"{other} alone", both.only_other)),
        )  # fmt: skip
    else:
        page.say("Mixes of so few tubes have no volume; beyond: how near the other comes.")
    volume, beyond = (
        ([VOLUME.shown("volume", _thousands)], CHROMA_BEYOND.shown("by C*", ".0f"))
        if both.solid else ([], MISS_BEYOND.shown("CIEDE2000", ".0f"))
    )  # fmt: skip
    farthest = MUNSELL.of(lambda gain: gain.place).shown("farthest beyond")
    mix = SHOWN_MIX.of(lambda gain: gain.place)
    for who, lacks, gains in (
        (one, other, both.gains_one), (other, one, both.gains_other)
    ):  # fmt: skip
        page.head(f"What {who} has that {lacks} lacks")
        if not gains:
            page.say("Nothing.")
        page.table((FAMILY.shown(), *volume, farthest, beyond, mix), gains,
                   _hexes(gain.place for gain in gains))  # fmt: skip


def _show_coverage(page: Page, covered: Coverage) -> None:
    colours = covered.colours
    page.head("Colours asked for")
    page.entry("  from", colours.given, indent=13)
    for note in colours.notes:
        page.entry("", note, indent=13)
    page.entry("  colours", f"{len(colours)}"
               + (", those near to each other taken together" if colours.by_area else ""),
               indent=13)  # fmt: skip
    count = int(covered.within_tolerance.sum())
    what = (
        f"{percent(covered.share)} of the area" if colours.by_area
        else f"{count} of {len(colours)} ({percent(covered.share)}"
        + (")" if colours.alike else " of the weight)")
    )  # fmt: skip
    page.entry("  within", f"{what}, to {covered.tolerance:g} CIEDE2000; "
               f"mean miss {covered.mean_miss:.2f}", indent=13)  # fmt: skip
    directions = covered.by_direction()
    if directions:
        page.entry("  beyond", ", ".join(
            f"{word} {percent(part)}" for word, part in directions.items()
        ), indent=13)  # fmt: skip
    page.table(fields.one(COVERAGE, "by_family").fields, covered.by_family().items())
    if worst := asked_rows(covered, covered.worst(SHOWN)):
        page.head("Farthest beyond, by weight times miss")
        page.table(
            (NAME.but(get=lambda row: row["name"] or "").shown("", lambda name: name[:24]),
             fields.one(ROW, "munsell").shown(),
             WEIGHT.shown("", lambda weight: f"{100 * weight:.3g}%"),
             fields.MISS.shown("", lambda miss: f"miss {miss:.1f}", right=False),
             DIRECTIONS.shown("", ", ".join)),
            worst, [row["colour"].hex for row in worst],
        )  # fmt: skip


def _show_tubes(page: Page, tubes: list[tuple[Tube, Coverage]]) -> None:
    page.head("What each tube is for")
    tubes = sorted(tubes, key=lambda row: -row[0].lost)
    asked = tubes[0][1]
    page.table(
        [one for one in TUBE if asked.reach.solid or one.key != "volume_lost"], tubes
    )
    page.say(
        "Used in: the nearest mix has it. Substitutes: tubes of the palette that take its place, "
        "by share of what it is used in; [paints of the table, by share of what is lost]."
    )
    if alone := [tube for tube, _ in tubes if len(tube.only_for)]:
        page.head("The only way to")
        colours = asked.colours
        for tube in alone:
            some = tube.only_for[:4]
            hvc = lab_to_munsell(colours.lab[some], colours.view)
            named = [colours.names[i][:24] if colours.names else write_munsell(one)
                     for i, one in zip(some, hvc, strict=True)]  # fmt: skip
            more = len(tube.only_for) - len(some)
            page.say(f"{tube.id}: " + ", ".join(named)
                     + (f" and {more} more" if more > 0 else ""), hang=4)  # fmt: skip


def _hexes(places: Iterable[Place]) -> list[str | None]:
    return [lab_to_hex(place.lab, place.mixture.view) for place in places]


def _thousands(volume: float) -> str:
    return f"{volume:,.0f}"
