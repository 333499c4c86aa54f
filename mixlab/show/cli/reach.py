"""``mixlab reach``: what a palette mixes, what is asked of it, and what each tube is for."""


import math
from typing import Annotated, Any

import numpy as np
import typer

from mixlab.arrays import percent
from mixlab.colour.difference import TOLERANCE, uniform
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, lab_to_hex, lab_to_munsell, viewing
from mixlab.errors import ReachError
from mixlab.files import csv_text, write_whole
from mixlab.paint.tables import read_palette, read_table
from mixlab.palette.comparison import Comparison, Gain, compare
from mixlab.palette.coverage import Coverage, Tube, checked_tolerance, coverage, each_tube
from mixlab.palette.reach import Place, Reach, reach
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, bar, counted, number, numbers, print_json
from mixlab.show.plots import style
from mixlab.targets.many import Colours, from_list, from_picture
from mixlab.targets.photos import GREY_CARD
from mixlab.targets.standards import STANDARDS, from_standard, munsell_chips

TARGETS = ("--targets", "--photo", "--chips", "--standard")
_DRAWINGS = ("slices", "pages", "coverage")
_SHOWN = 12
_ONE_OF_A_KIND = 6.0  # in coordinates near to CIEDE2000


Targets = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="Colours asked for: a CSV of Lab, hex or Munsell."),
]
Photo = Annotated[
    str | None, typer.Option(metavar="FILE", help="Colours asked for: a picture, by area.")
]
Grey = Annotated[
    str | None,
    typer.Option(metavar="X,Y", help="A place known to be neutral: takes the cast out."),
]
Chips = Annotated[
    bool, typer.Option("--chips", help="Colours asked for: chips of the Munsell renotation.")
]
Standard = Annotated[
    str | None, typer.Option(metavar="NAME", help=f"Colours asked for: {', '.join(STANDARDS)}.")
]


def reach_(
    palette: options.AtHand = None,
    against: Annotated[
        str | None, typer.Option(metavar="PALETTE", help="Another palette, to compare with.")
    ] = None,
    tubes: Annotated[
        int | None, typer.Option(help="Greatest number of tubes in a mix; any unless given.")
    ] = None,
    targets: Targets = None,
    photo: Photo = None,
    grey: Grey = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    chips: Chips = False,
    standard: Standard = None,
    tolerance: options.Tolerance = TOLERANCE,
    each: Annotated[
        bool, typer.Option("--each-tube", help="What is lost without each tube, and substitutes.")
    ] = False,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
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
    view, known = viewing(light, observer), read_table(table)
    asked = asked_for(targets, photo, chips, standard, view, grey, grey_reflectance)
    if plot is not None and tubes in (1, 2) and (draw or "slices") != "coverage" and (
        draw is not None or asked is None
    ):  # fmt: skip
        raise ReachError(f"--tubes {tubes}: so few make no areas to draw; 3 or more do")
    if draw == "coverage" and against is not None:
        raise ReachError("--draw coverage draws one palette; leave --against out")
    if draw == "coverage" and asked is None:
        raise ReachError(f"there is no coverage to draw; give one of {', '.join(TARGETS)}")
    checked_tolerance(tolerance)
    at_hand = options.tubes_at_hand(palette, table, known)
    rival = read_palette(against, known) if against is not None else None
    made = reach(at_hand, tubes, view)
    other = reach(rival, tubes, view) if rival is not None else None
    every = coverage(made, munsell_chips(view), tolerance)
    told = coverage(made, asked, tolerance) if asked is not None and not chips else None
    with bar("Looking at tubes") as tell:
        of_tubes = each_tube(told or every, progress=tell) if each else None
    both = compare(made, other) if other else None
    told = every if chips else told
    if plot is not None:
        _draw(made, other, told, draw or ("coverage" if told and not other else "slices"), plot)
    if csv is not None:
        write_whole(csv, _csv(told) if told else _edge_csv(made))
    if json:
        print_json(as_json(made, every, told, both, of_tubes, tolerance))
    else:
        show(Page(), made, every, told, both, of_tubes, tolerance)


def asked_for(
    targets: str | None, photo: str | None, chips: bool, standard: str | None, view: Viewing,
    grey: str | None, grey_reflectance: float,
) -> Colours | None:  # fmt: skip
    """Return the colours asked for, in the one way that was given; None if in none."""
    given = [
        option
        for option, value in zip(TARGETS, (targets, photo, chips or None, standard), strict=True)
        if value is not None
    ]
    if len(given) > 1:
        raise ReachError(f"{' and '.join(given)} were given; colours are asked for in one way")
    if grey is not None and photo is None:
        raise ReachError("--grey is a place in a picture; give --photo as well")
    if grey is None and grey_reflectance != GREY_CARD:
        raise ReachError("--grey-reflectance needs a place in the picture: --grey X,Y")
    if targets is not None:
        return from_list(targets, view)
    if photo is not None:
        return from_picture(photo, view, grey, grey_reflectance)
    if standard is not None:
        return from_standard(standard, view)
    return munsell_chips(view) if chips else None


def _draw(
    made: Reach, other: Reach | None, told: Coverage | None, what: str, plot: str
) -> None:
    from mixlab.show.plots import reach as pictures

    reaches = [made, other] if other else [made]
    if what == "coverage" and told is not None:
        figure = pictures.coverage(told)
    else:
        figure = pictures.pages(reaches) if what == "pages" else pictures.slices(reaches)
    style.save(figure, plot)


# --- for a person -------------------------------------------------------------------------------


def show(
    page: Page,
    made: Reach,
    every: Coverage,
    told: Coverage | None,
    both: Comparison | None,
    of_tubes: list[Tube] | None,
    tolerance: float,
) -> None:
    """Print what a palette mixes, and what is asked of it."""
    palette, view = made.palette, made.view
    page.entry("Palette", f"{palette.name}, {counted(len(palette), 'tube')}")
    for note in palette.table.notes:
        page.entry("", note)
    page.entry("Mixes", f"of at most {counted(made.tubes, 'tube')}" if made.tubes else
               "of any number of tubes")  # fmt: skip
    page.entry("Light", f"{view.light}, {view.observer} degree observer")
    _show_reach(page, made, every, tolerance)
    if both is not None:
        _show_comparison(page, both)
    if told is not None:
        _show_coverage(page, told)
    if of_tubes is not None:
        _show_tubes(page, of_tubes, told or every)


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
                   f"{_mix(place)}", lab_to_hex(place.lab, made.view), indent=13)  # fmt: skip
    page.head("Highest chroma of each hue family, up to value 9 (shares need not be whole)")
    if made.highest_chroma:
        places = list(made.highest_chroma.values())
        page.table(
            [(name, write_munsell(p.munsell), _mix(p)) for name, p in made.highest_chroma.items()],
            hexes=[lab_to_hex(p.lab, made.view) for p in places],
        )
    lacking = [
        name for name in every.by_family() if name not in ("N", *made.highest_chroma)
    ]
    if lacking:
        page.line(f"  No chroma of 1 in {', '.join(lacking)}.", hang=2)


def _show_comparison(page: Page, both: Comparison) -> None:
    one, other = both.one.palette.name, both.other.palette.name
    page.head(f"{one} against {other}")
    if both.solid:
        page.table([
            (f"in reach of {who}", _thousands(size))
            for who, size in (("both", both.both), (f"{one} alone", both.only_one),
                              (f"{other} alone", both.only_other))
        ], right="1")  # fmt: skip
    else:
        page.line("  Mixes of so few tubes have no volume; beyond: how near the other comes.",
                  hang=2)  # fmt: skip
    for who, lacks, gains in (
        (one, other, both.gains_one), (other, one, both.gains_other)
    ):  # fmt: skip
        page.head(f"What {who} has that {lacks} lacks")
        if not gains:
            page.line("  Nothing.")
            continue
        by = "by C*" if both.solid else "CIEDE2000"
        rows = [("", "volume", "farthest beyond", by, ""), *map(_gain, gains)]
        page.table(
            rows if both.solid else [(row[0], *row[2:]) for row in rows],
            right="13" if both.solid else "2",
            hexes=[None, *(lab_to_hex(g.place.lab, both.one.view) for g in gains)],
        )  # fmt: skip


def _gain(gain: Gain) -> tuple[str, ...]:
    volume = "" if math.isnan(gain.volume) else _thousands(gain.volume)
    return (gain.family, volume, write_munsell(gain.place.munsell),
            f"{gain.beyond:.0f}", _mix(gain.place))  # fmt: skip


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
    families = told.by_family()
    page.table(
        [("", "asked", "within")]
        + [(name, percent(all_), percent(part))
           for name, (all_, part) in families.items()],
        right="12",
    )  # fmt: skip
    rows = _worst(told)
    if len(rows):
        page.head("Farthest beyond, by weight times miss")
        munsell = lab_to_munsell(colours.lab[rows], colours.view)
        page.table(
            [
                (colours.names[i][:24] if colours.names else "", write_munsell(hvc),
                 f"{100 * colours.weight[i]:.3g}%", f"miss {told.miss[i]:.1f}",
                 ", ".join(told.directions(i)))
                for i, hvc in zip(rows, munsell, strict=True)
            ],
            right="2", hexes=[lab_to_hex(colours.lab[i], colours.view) for i in rows],
        )  # fmt: skip


def _worst(told: Coverage) -> list[int]:
    """Return the rows of the colours beyond the tolerance that matter most, one of a kind."""
    rows = np.flatnonzero(~told.within_tolerance)
    rows = rows[np.argsort(-(told.colours.weight * told.miss)[rows], kind="stable")]
    if told.colours.by_area:
        boxes = np.floor(uniform(told.colours.lab[rows]) / _ONE_OF_A_KIND)
        rows = rows[np.sort(np.unique(boxes, axis=0, return_index=True)[1])]
    return [int(row) for row in rows[:_SHOWN]]


def _show_tubes(page: Page, of_tubes: list[Tube], asked: Coverage) -> None:
    page.head("What each tube is for")
    rows = [("", "used in", "lost without it", "volume lost", "substitutes")] + [
        (tube.id, percent(tube.used), percent(tube.lost), percent(tube.volume_lost),
         _substitutes(tube))
        for tube in sorted(of_tubes, key=lambda tube: -tube.lost)
    ]  # fmt: skip
    if asked.reach.solid:
        page.table(rows, right="123")
    else:
        page.table([(*row[:3], row[4]) for row in rows], right="12")
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


def _substitutes(tube: Tube) -> str:
    if not tube.used:
        return ""
    own = ", ".join(f"{id} {100 * part:.0f}%" for id, part in tube.substitutes[:2])
    table = ", ".join(f"{id} {100 * part:.0f}%" for id, part in tube.from_table[:2])
    return (own or "none") + (f" [{table}]" if table else "")


def _mix(place: Place) -> str:
    shares = sorted(place.mixture.shares.items(), key=lambda item: -item[1])
    if len(shares) == 1:
        return shares[0][0]
    return " + ".join(f"{_percent(part)} {id}" for id, part in shares)


def _percent(share: float) -> str:
    percent = 100 * share
    return f"{percent:.2g}%" if percent < 10 else f"{percent:.0f}%" if percent < 99 else (
        f"{percent:.4g}%"
    )


def _thousands(volume: float) -> str:
    return f"{volume:,.0f}".replace(",", " ")


# --- for a program ------------------------------------------------------------------------------


def as_json(
    made: Reach,
    every: Coverage,
    told: Coverage | None,
    both: Comparison | None,
    of_tubes: list[Tube] | None,
    tolerance: float,
) -> dict[str, Any]:
    """Return a report for JSON."""
    return {
        "palette": {"name": made.palette.name, "paints": made.palette.ids},
        "tubes": made.tubes,
        "light": made.view.light,
        "observer": made.view.observer,
        "tolerance": tolerance,
        "volume": number(made.volume, 1),
        "volume_error": number(made.volume_error, 1),
        "chips": {"in_reach": int(every.within_tolerance.sum()), "of": len(every.colours)},
        "by_tubes": {str(n): number(part) for n, part in made.by_tubes(tolerance).items()},
        "darkest": _place_json(made.darkest),
        "lightest": _place_json(made.lightest),
        "highest_chroma": {name: _place_json(place) for name, place in made.highest_chroma.items()},
        "edge": {
            "lightness": numbers(made.lightness),
            "hue": numbers(made.hue),
            "greatest_chroma": [numbers(row, 2) for row in made.greatest],
            "least_chroma": [numbers(row, 2) for row in made.least],
        },
        "against": _comparison_json(both) if both else None,
        "coverage": _coverage_json(told) if told else None,
        "each_tube": [_tube_json(tube, told or every) for tube in of_tubes] if of_tubes else None,
    }


def _place_json(place: Place) -> dict[str, Any]:
    return {
        "lab": numbers(place.lab),
        "munsell": write_munsell(place.munsell),
        "shares": {id: number(part, 6) for id, part in place.mixture.shares.items()},
    }


def _comparison_json(both: Comparison) -> dict[str, Any]:
    def gains(some: tuple[Gain, ...]) -> list[dict[str, Any]]:
        return [
            {"family": gain.family, "volume": number(gain.volume, 1),
             "beyond": number(gain.beyond, 2), **_place_json(gain.place)}
            for gain in some
        ]  # fmt: skip

    return {
        "palette": {"name": both.other.palette.name, "paints": both.other.palette.ids},
        "both": number(both.both, 1),
        "only_first": number(both.only_one, 1),
        "only_second": number(both.only_other, 1),
        "first_has": gains(both.gains_one),
        "second_has": gains(both.gains_other),
    }


def _coverage_json(told: Coverage) -> dict[str, Any]:
    colours = told.colours
    return {
        "given": colours.given,
        "notes": list(colours.notes),
        "by_area": colours.by_area,
        "colours": len(colours),
        "within_tolerance": int(told.within_tolerance.sum()),
        "share": number(told.share, 6),
        "mean_miss": number(told.mean_miss),
        "by_direction": {word: number(part, 6) for word, part in told.by_direction().items()},
        "by_family": {
            name: {"asked": number(all_, 6), "within_tolerance": number(part, 6)}
            for name, (all_, part) in told.by_family().items()
        },
        "beyond": [
            {"name": colours.names[i] if colours.names else None,
             "lab": numbers(colours.lab[i]), "weight": number(colours.weight[i], 6),
             "miss": number(told.miss[i]), "directions": list(told.directions(i))}
            for i in _worst(told)
        ],
    }  # fmt: skip


def _tube_json(tube: Tube, asked: Coverage) -> dict[str, Any]:
    return {
        "paint": tube.id,
        "used": number(tube.used, 6),
        "lost": number(tube.lost, 6),
        "volume_lost": number(tube.volume_lost) if asked.reach.solid else None,
        "substitutes": {id: number(part) for id, part in tube.substitutes},
        "from_table": {id: number(part) for id, part in tube.from_table},
        "only_for": [numbers(asked.colours.lab[i]) for i in tube.only_for[:_SHOWN]],
        "only_for_count": len(tube.only_for),
    }


def _csv(told: Coverage) -> str:
    """Return the rows of the coverage: one a colour, with its nearest mix."""
    colours, ids = told.colours, told.reach.palette.ids
    munsell = lab_to_munsell(colours.lab, colours.view)
    header = ("name", "weight", "L", "a", "b", "munsell", "miss", "within_tolerance", "direction",
              *(f"share {id}" for id in ids))  # fmt: skip
    rows = (
        [colours.names[i] if colours.names else None, number(colours.weight[i], 8),
         *numbers(colours.lab[i], 3), write_munsell(munsell[i]), number(told.miss[i]),
         bool(told.within_tolerance[i]),
         None if told.within_tolerance[i] else ", ".join(told.directions(i)),
         *numbers(told.shares[i], 5)]
        for i in range(len(colours))
    )  # fmt: skip
    return csv_text(header, rows)


def _edge_csv(made: Reach) -> str:
    """Return the rows of the edge: one a lightness and hue where something is mixed."""
    header = ("L", "h", "greatest_chroma", "least_chroma",
              *(f"share {id}" for id in made.palette.ids))  # fmt: skip
    rows = (
        [number(made.lightness[i]), number(made.hue[j]), number(made.greatest[i, j], 3),
         number(made.least[i, j], 3), *numbers(made.shares[i, j], 5)]
        for i, j in np.argwhere(~np.isnan(made.greatest))
    )  # fmt: skip
    return csv_text(header, rows)
