"""``mixlab reach``: what a palette mixes, what is asked of it, and what each tube is for."""

from collections.abc import Iterable
from typing import Annotated

import typer

from mixlab.arrays import percent
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_munsell, viewing
from mixlab.errors import ReachError
from mixlab.paint.tables import read_palette
from mixlab.palette.comparison import Comparison, compare
from mixlab.palette.coverage import Coverage, Tube, checked_tolerance, coverage, each_tube
from mixlab.palette.reach import Place, Reach, reach
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
from mixlab.show.plots import style
from mixlab.show.report import Field, Page, Report, show
from mixlab.targets.photos import GREY_CARD
from mixlab.targets.standards import munsell_chips

_DRAWINGS = ("slices", "pages", "coverage")


# --- the command --------------------------------------------------------------------------------


def reach_(
    palette: options.AtHand = None,
    against: Annotated[
        str | None, typer.Option(metavar="PALETTE", help="Another palette, to compare with.")
    ] = None,
    tubes: Annotated[
        int | None, typer.Option(help="Greatest number of tubes in a mix; any unless given.")
    ] = None,
    targets: asked.Targets = None,
    photo: asked.Photo = None,
    grey: asked.Grey = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    key: asked.Key = "fit",
    scene: asked.Scene = None,
    chips: asked.Chips = False,
    standard: asked.Standard = None,
    tolerance: options.Tolerance = TOLERANCE,
    each: Annotated[
        bool, typer.Option("--each-tube", help="What is lost without each tube, and substitutes.")
    ] = False,
    table: options.Table = None,
    only: options.Only = False,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    finish: options.Finish = "gloss",
    plot: options.Plot = None,
    draw: Annotated[
        str | None,
        typer.Option(metavar="WHAT", help="What --plot draws: slices, pages, or coverage."),
    ] = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """What a palette mixes, what it lacks, and what each tube is for.

    Colours asked for are optional; give one of --targets, --photo, --chips, --standard.
    """
    if plot is not None:
        style.checked(plot)
    if draw is not None and (plot is None or draw not in _DRAWINGS):
        raise ReachError(
            "--draw says what --plot draws; give a file as well" if draw in _DRAWINGS
            else f"no drawing {draw!r}; drawings: {', '.join(_DRAWINGS)}"
        )  # fmt: skip
    view, known = viewing(light, observer, finish), options.paints_at_hand(table, only)
    at_hand = options.tubes_at_hand(palette, known, only)
    wanted = asked.asked_for(targets, photo, chips, standard, view, grey, grey_reflectance,
                             at_hand, key, scene)  # fmt: skip
    if plot is not None and tubes in (1, 2) and (draw or "slices") != "coverage" and (
        draw is not None or wanted is None
    ):  # fmt: skip
        raise ReachError(f"--tubes {tubes}: so few make no areas to draw; 3 or more do")
    if draw == "coverage" and against is not None:
        raise ReachError("--draw coverage draws one palette; leave --against out")
    if draw == "coverage" and wanted is None:
        raise ReachError(f"there is no coverage to draw; give one of {', '.join(asked.TARGETS)}")
    checked_tolerance(tolerance)
    rival = read_palette(against, known) if against is not None else None
    made = reach(at_hand, tubes, view)
    other = reach(rival, tubes, view) if rival is not None else None
    every = coverage(made, munsell_chips(view), tolerance)
    told = coverage(made, wanted, tolerance) if wanted is not None and not chips else None
    with bar("Looking at tubes") as tell:
        of_tubes = each_tube(told or every, progress=tell) if each else None
    both = compare(made, other) if other else None
    told = every if chips else told
    if plot is not None:
        _draw(made, other, told, draw or ("coverage" if told and not other else "slices"), plot)
    all_ = Made(made, every, told, both, of_tubes, tolerance)
    show(Report(COVERED if told else OUTPUT, all_, _tell, view), json, csv)


def _draw(
    made: Reach, other: Reach | None, told: Coverage | None, what: str, plot: str
) -> None:
    from mixlab.show.plots import reach as pictures

    reaches = [made, other] if other else [made]
    if what == "coverage" and told is not None:
        figure = pictures.coverage(told)
    else:
        figure = pictures.pages(reaches) if what == "pages" else pictures.slices(reaches)
    style.save(figure, plot, made.view)


# --- for a person -------------------------------------------------------------------------------


def _tell(page: Page, all_: Made) -> None:
    made = all_.made
    palette = made.palette
    page.entry("Palette", f"{palette.name}, {counted(len(palette), 'tube')}")
    for note in palette.table.notes:
        page.entry("", note)
    page.entry("Mixes", f"of at most {counted(made.tubes, 'tube')}" if made.tubes else
               "of any number of tubes")  # fmt: skip
    page.light(made.view)
    _show_reach(page, made, all_.every, all_.tolerance)
    if all_.both is not None:
        _show_comparison(page, all_.both)
    if all_.told is not None:
        _show_coverage(page, all_.told)
    if all_.of_tubes is not None:
        _show_tubes(page, all_.tubes)


def _show_reach(page: Page, made: Reach, every: Coverage, tolerance: float) -> None:
    page.head("Reach")
    if made.solid:
        page.entry("  volume", f"{_thousands(made.volume)} of CIELAB, +/- "
                   f"{_thousands(made.volume_error)}", indent=13)  # fmt: skip
    else:
        page.entry("  volume", "none of its own: mixes of so few tubes are sheets and lines",
                   indent=13)  # fmt: skip
    reached = int(every.within_tolerance.sum())
    page.entry(
        "  chips", f"{reached} of the {len(every.colours)} Munsell chips that a surface can have "
        f"({percent(every.share)}), to {tolerance:g} CIEDE2000", indent=13,
    )  # fmt: skip
    shares = made.by_tubes(tolerance)
    if shares:
        page.entry("  by tubes", ", ".join(
            f"{n} in a mix {percent(part)}" for n, part in shares.items()
        ) + f" of the volume, to {tolerance:g}", indent=13)  # fmt: skip
    for label, place in (("  darkest", made.darkest), ("  lightest", made.lightest)):
        page.entry(label, f"value {place.munsell[1]:.1f}, L* {place.lab[0]:.1f}: "
                   f"{in_words(place)}", lab_to_hex(place.lab, made.view), indent=13)  # fmt: skip
    page.head("Highest chroma of each hue family, up to value 9 (shares need not be whole)")
    page.table(HIGHEST, made.highest_chroma.items(), _hexes(made.highest_chroma.values()))
    lacking = [
        name for name in every.by_family() if name not in ("N", *made.highest_chroma)
    ]
    if lacking:
        page.line(f"  No chroma of 1 in {', '.join(lacking)}.", hang=2)


def _show_comparison(page: Page, both: Comparison) -> None:
    one, other = both.one.palette.name, both.other.palette.name
    page.head(f"{one} against {other}")
    if both.solid:
        page.table(
            (Field("", "text", get=lambda row: f"in reach of {row[0]}", heading=""),
             VOLUME.but(get=lambda row: row[1]).shown("", _thousands)),
            (("both", both.both), (f"{one} alone", both.only_one),
             (f"{other} alone", both.only_other)),
        )  # fmt: skip
    else:
        page.line("  Mixes of so few tubes have no volume; beyond: how near the other comes.",
                  hang=2)  # fmt: skip
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
            page.line("  Nothing.")
        page.table((FAMILY.shown(), *volume, farthest, beyond, mix), gains,
                   _hexes(gain.place for gain in gains))  # fmt: skip


def _show_coverage(page: Page, told: Coverage) -> None:
    colours = told.colours
    page.head("Colours asked for")
    page.entry("  from", colours.given, indent=13)
    for note in colours.notes:
        page.entry("", note, indent=13)
    page.entry("  colours", f"{len(colours)}"
               + (", those near to each other taken together" if colours.by_area else ""),
               indent=13)  # fmt: skip
    count = int(told.within_tolerance.sum())
    what = (
        f"{percent(told.share)} of the area" if colours.by_area
        else f"{count} of {len(colours)} ({percent(told.share)}"
        + (")" if colours.alike else " of the weight)")
    )  # fmt: skip
    page.entry("  within", f"{what}, to {told.tolerance:g} CIEDE2000; "
               f"mean miss {told.mean_miss:.2f}", indent=13)  # fmt: skip
    directions = told.by_direction()
    if directions:
        page.entry("  beyond", ", ".join(
            f"{word} {percent(part)}" for word, part in directions.items()
        ), indent=13)  # fmt: skip
    page.table(fields.one(COVERAGE, "by_family").fields, told.by_family().items())
    if worst := asked_rows(told, told.worst(SHOWN)):
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
    of_tubes = [tube for tube, _ in tubes]
    page.line(
        "  Used in: the nearest mix has it. Substitutes: tubes of the palette that take its place, "
        "by share of what it is used in; [paints of the table, by share of what is lost].", hang=2,
    )  # fmt: skip
    alone = [tube for tube in of_tubes if len(tube.only_for)]
    if alone:
        page.head("The only way to")
        colours = asked.colours
        for tube in sorted(alone, key=lambda tube: -tube.lost):
            some = tube.only_for[:4]
            hvc = lab_to_munsell(colours.lab[some], colours.view)
            named = list(map(write_munsell, hvc))
            if colours.names:
                named = [colours.names[i][:24] for i in some]
            more = len(tube.only_for) - len(some)
            page.line(f"  {tube.id}: " + ", ".join(named)
                      + (f" and {more} more" if more > 0 else ""), hang=4)  # fmt: skip


def _hexes(places: Iterable[Place]) -> list[str | None]:
    return [lab_to_hex(place.lab, place.mixture.view) for place in places]


def _thousands(volume: float) -> str:
    return f"{volume:,.0f}".replace(",", " ")
