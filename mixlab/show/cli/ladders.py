"""``mixlab tints``, ``shades``, ``tones`` and ``blend``: ladders and the value/chroma report."""


from collections.abc import Iterator
from typing import Annotated, Any

import typer

from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_lch, lab_to_value, viewing
from mixlab.errors import LadderError
from mixlab.files import csv_text, write_whole
from mixlab.mixing.ladders import (
    EVEN,
    LOOKS_LIKE,
    Ladder,
    black_of,
    complements,
    grey_of,
    ladder,
    white_of,
)
from mixlab.mixing.value_chroma import Point, Report, Stage, at_equal_value, report
from mixlab.paint.tables import read_table
from mixlab.show.cli import options
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.page import Page, amount, number, numbers, print_json
from mixlab.show.plots import style
from mixlab.show.why import why

Parts = Annotated[int, typer.Option(help="Greatest total of whole parts of a step.")]
White = Annotated[
    str | None, typer.Option(metavar="PAINT", help="The white; titanium white unless given.")
]
Black = Annotated[
    str | None, typer.Option(metavar="PAINT", help="The black; bone black unless given.")
]


def tints(
    mix: options.Mix,
    white: White = None,
    compare: Annotated[
        list[str] | None,
        typer.Option(metavar="PAINT", help="Another white, compared at equal value."),
    ] = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder toward white: value, chroma, hue, and why white lowers chroma."""
    view, known = viewing(light, observer), read_table(table)
    start = options.read_mix(known, mix, view)
    toward = known.mix({white_of(known, white).id: 1.0}, view)
    others = [known.mix({white_of(known, other).id: 1.0}, view) for other in compare or ()]
    made = ladder(start, toward, steps, even, parts)
    told = report(start, toward)
    columns = at_equal_value(start, [toward, *others], made.munsell[:, 1]) if others else []
    whites = dict(zip([str(w.paints[0].id) for w in (toward, *others)], columns, strict=False))
    _say(made, told, "white", whites, plot, csv, json)


def shades(
    mix: options.Mix,
    black: Black = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder toward black: value and chroma fall, and yellow turns green."""
    view, known = viewing(light, observer), read_table(table)
    start = options.read_mix(known, mix, view)
    toward = known.mix({black_of(known, black).id: 1.0}, view)
    _say(ladder(start, toward, steps, even, parts), report(start, toward), "black", {}, plot, csv,
         json)  # fmt: skip


def tones(
    mix: options.Mix,
    grey: Annotated[
        str | None,
        typer.Option(
            metavar="MIX", help="The grey; white and black at the mix's value unless given."
        ),
    ] = None,
    value: Annotated[
        float | None, typer.Option(help="Munsell value of the grey; that of the mix unless given.")
    ] = None,
    white: White = None,
    black: Black = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[2],
    parts: Parts = 100,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder toward a grey: chroma falls, and value holds if the grey is of the same."""
    view, known = viewing(light, observer), read_table(table)
    start = options.read_mix(known, mix, view)
    if grey is not None:
        if (value, white, black) != (None, None, None):
            raise LadderError("--grey says the whole grey; leave out --value, --white and --black")
        toward = options.read_mix(known, grey, view)
    else:
        toward = grey_of(white_of(known, white), black_of(known, black), start, value)
    _say(ladder(start, toward, steps, even, parts), report(start, toward), "grey", {}, plot, csv,
         json)  # fmt: skip


def blend(
    mix: Annotated[str, typer.Argument(metavar="MIX", help="The one mix, or paint.")],
    toward: Annotated[
        str | None,
        typer.Argument(metavar="[MIX]", help="The other; the nearest complement unless given."),
    ] = None,
    palette: Annotated[
        str | None,
        typer.Option(
            help="Where a complement is looked for: a bundled palette, or a TOML file; 'studio' "
            "unless given, or all paints of a --table."
        ),
    ] = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[2],
    parts: Parts = 100,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder from one mix to another, and the neutral point where complements cancel."""
    view, known = viewing(light, observer), read_table(table)
    start = options.read_mix(known, mix, view)
    ranked: list[tuple[str, float]] = []
    if toward is not None:
        other = options.read_mix(known, toward, view)
    else:
        tubes = options.tubes_at_hand(palette, table, known)
        ranked = [(paint.id, left) for paint, left in complements(start, tubes)]
        if not ranked:
            raise LadderError("none of the paints can be a complement; name the other mix")
        other = known.mix({ranked[0][0]: 1.0}, view)
    made = ladder(start, other, steps, even, parts)
    _say(made, report(start, other), "mix", {}, plot, csv, json, ranked)


def _say(
    made: Ladder,
    told: Report,
    addition: str,
    whites: dict[str, list[Point]],
    plot: str | None,
    csv: str | None,
    json: bool,
    ranked: list[tuple[str, float]] | None = None,
) -> None:
    """Draw, write and print a ladder and its report."""
    if plot is not None:
        from mixlab.show.plots import ladders as pictures

        style.checked(plot)
        style.save(pictures.ladder(made, told, f"{made.path.start} toward {_toward(made)}"), plot)
    if csv is not None:
        write_whole(csv, csv_text(_COLUMNS, _rows(made)))
    if json:
        print_json(as_json(made, told, addition, whites, ranked or []))
    else:
        show(Page(), made, told, addition, whites, ranked or [])


def _toward(made: Ladder) -> str:
    toward = made.path.toward
    if len(toward.paints) == 1:
        return toward.paints[0].id
    return " + ".join(f"{amount(n)} {id}" for id, n in toward.parts.items())


# --- for a person -------------------------------------------------------------------------------


def show(
    page: Page,
    made: Ladder,
    told: Report,
    addition: str,
    whites: dict[str, list[Point]],
    ranked: list[tuple[str, float]],
) -> None:
    """Print a ladder, the value/chroma report, and the reason."""
    view = made.path.start.view
    page.entry("Mix", str(made.path.start))
    page.entry("Toward", _toward(made))
    page.entry("Steps", f"{len(made.shares)}, even in {_EVEN_WORDS[made.even]}")
    page.entry("Light", f"{view.light}, {view.observer} degree observer")
    page.head("Ladder (parts of the mix : parts added)")
    rows = [("", "parts", "added", "Munsell", "C*", "h", "drift", "hides")]
    lch, drift = made.lch, made.drift
    for i, (step, share) in enumerate(zip(made.whole, made.shares, strict=True)):
        named = drift[i] == drift[i]
        rows.append((
            f"{i + 1}.", f"{step.start}:{step.toward}", _share(float(share)),
            write_munsell(made.munsell[i]), f"{lch[i, 1]:.1f}",
            f"{lch[i, 2]:.0f}" if named else "-", f"{drift[i] + 0.0:+.0f}" if named else "-",
            f"{made.contrast_ratio[i]:.2f}",
        ))  # fmt: skip
    page.table(rows, right="124567", hexes=[None, *made.hex])
    rough = [i + 1 for i, step in enumerate(made.whole) if step.miss > LOOKS_LIKE]
    page.line(
        "  Added: exact share. Drift: of the CIELCh hue, in degrees. Hides: contrast ratio of one "
        "coat.", hang=2,
    )  # fmt: skip
    if rough:
        page.line(f"  Whole parts miss step {', '.join(map(str, rough))} by more than "
                  f"{LOOKS_LIKE:g} CIEDE2000; --parts allows more.", hang=2)  # fmt: skip
    if made.even == EVEN[0] and (turn := made.path.turn) is not None:
        value = float(lab_to_value(made.path.lab(turn), view))
        page.line(f"  Value turns on the way, at {value:.1f} with {_share(turn)} added: the steps "
                  "are even along the way there and back.", hang=2)  # fmt: skip
    if not all(made.in_gamut):
        beyond = [str(i) for i, shown in enumerate(made.in_gamut, start=1) if not shown]
        page.line(f"  Beyond sRGB, swatches clipped: {', '.join(beyond)}.", hang=2)

    page.head("Value and chroma")
    for label, text in _told(told, addition):
        page.entry(f"  {label}", text, indent=17)
    page.head("What parts of it buy, to one part of the mix")
    page.table(
        [("parts", "value", "C*", "value a part", "C* a part")]
        + [
            (str(row.parts), f"{row.point.value:.1f}", f"{row.point.chroma:.1f}",
             f"{row.value_gain + 0.0:+.2f}", f"{row.chroma_gain + 0.0:+.2f}")
            for row in told.gained_per_part
        ],
        right="01234",
    )  # fmt: skip
    page.head("Why")
    for sentence in why(told, addition):
        page.line(f"  {sentence}", hang=2)
    if whites:
        _show_whites(page, whites)
    if ranked:
        page.head("Complements on the palette, by what chroma is left")
        page.table([(id, f"C* {left:.1f}") for id, left in ranked[:5]])
    show_care(page, made.mixtures[len(made.shares) // 2])


_EVEN_WORDS = {"value": "Munsell value", "parts": "parts", "difference": "CIEDE2000"}


def _share(share: float) -> str:
    percent = 100 * share
    return f"{percent:.3g}%" if percent < 99 else f"{percent:.4g}%"


def _told(told: Report, addition: str) -> Iterator[tuple[str, str]]:
    """Return the lines of the report: what, and the figures."""
    what = addition if addition != "mix" else "it"

    def at(point: Point) -> str:
        if point.share == 0:
            return f"{point.munsell}, C* {point.chroma:.1f}, by itself"
        most = point.parts >= 1
        parts = f"{point.parts:.0f} to 1" if most else f"1 to {1 / point.parts:.0f}"
        return (
            f"{point.munsell}, C* {point.chroma:.1f}, at {_share(point.share)} of {what} "
            f"(about {parts})"
        )

    yield "by itself", f"{told.start.munsell}, C* {told.start.chroma:.1f}"
    if told.rises:
        yield "peak", at(told.peak)
    else:
        yield "peak", "the mix by itself: its chroma only falls"
    if told.steepest is not None:
        yield "falls fastest", (
            f"from {_share(told.steepest.share)} of {what} on: the next doubling costs "
            f"{told.per_doubling:.1f} C*"
        )
    yield "half gone", at(told.half) if told.half else "never, or too little to halve"
    if addition == "mix":
        yield "neutral", f"{at(told.neutral)}: the nearest to neutral"
    if told.farthest is not None and abs(told.drift) >= 1:
        yield "hue", (
            f"drifts by {told.drift:+.0f} degrees, to {told.farthest.munsell} at "
            f"{_share(told.farthest.share)} of {what}"
        )


def _show_whites(page: Page, whites: dict[str, list[Point]]) -> None:
    page.head("Whites at equal value: C* (share of white)")
    rows = [("value", *whites)]
    for points in zip(*whites.values(), strict=True):
        cells = (f"{p.chroma:.1f} ({_share(p.share)})" for p in points)
        rows.append((f"{points[0].value:.1f}", *cells))
    page.table(rows, right="0")


# --- for a program ------------------------------------------------------------------------------

_COLUMNS = (
    "step", "share", "parts_of_mix", "parts_added", "mix", "miss", "value", "chroma", "munsell",
    "L", "a", "b", "C", "h", "drift", "contrast_ratio", "hex", "in_gamut",
)  # fmt: skip


def _rows(made: Ladder) -> Iterator[list[object]]:
    """Return the rows of the CSV, one a step."""
    lch, drift = made.lch, made.drift
    for i, step in enumerate(made.whole):
        yield [
            i + 1, number(made.shares[i], 6), step.start, step.toward, str(step.mixture),
            number(step.miss), number(made.munsell[i, 1]), number(made.munsell[i, 2]),
            write_munsell(made.munsell[i]), *numbers(made.lab[i]), *numbers(lch[i, 1:]),
            number(drift[i]), number(made.contrast_ratio[i]), made.hex[i], made.in_gamut[i],
        ]  # fmt: skip


def as_json(
    made: Ladder,
    told: Report,
    addition: str,
    whites: dict[str, list[Point]],
    ranked: list[tuple[str, float]],
) -> dict[str, Any]:
    """Return a ladder and its report for JSON."""
    view = made.path.start.view
    share = f"share_of_{addition}" if addition != "mix" else "share_of_second"
    return {
        "mix": made.path.start.parts,
        "toward": made.path.toward.parts,
        "light": view.light,
        "observer": view.observer,
        "even": made.even,
        "start": _point_json(told.start, share),
        "peak": _point_json(told.peak, share),
        "rises": told.rises,
        "steepest": {
            **_point_json(told.steepest, share), "per_doubling": number(told.per_doubling)
        } if told.steepest else None,
        "half": _point_json(told.half, share) if told.half else None,
        "neutral": _point_json(told.neutral, share),
        "farthest_hue": {
            **_point_json(told.farthest, share), "drift": number(told.drift)
        } if told.farthest else None,
        "gained_per_part": [
            {
                "parts": row.parts, **_point_json(row.point, share),
                "value_gain": number(row.value_gain), "chroma_gain": number(row.chroma_gain),
            }
            for row in told.gained_per_part
        ],
        "why": why(told, addition),
        "curves": [_stage_json(stage, share) for stage in told.stages],
        "whites": {name: [_point_json(p, share) for p in points]
                   for name, points in whites.items()},
        "complements": [{"paint": id, "chroma": number(left)} for id, left in ranked],
        "steps": [
            {
                share: number(made.shares[i], 6),
                "parts": [step.start, step.toward],
                "mix": step.mixture.parts,
                "miss": number(step.miss),
                "lab": numbers(made.lab[i]),
                "lch": numbers(lab_to_lch(made.lab[i])),
                "munsell": write_munsell(made.munsell[i]),
                "value": number(made.munsell[i, 1]),
                "chroma": number(made.munsell[i, 2]),
                "drift": number(made.drift[i]),
                "contrast_ratio": number(made.contrast_ratio[i]),
                "hex": made.hex[i],
                "in_gamut": made.in_gamut[i],
            }
            for i, step in enumerate(made.whole)
        ],
    }  # fmt: skip


def _point_json(point: Point, share: str) -> dict[str, Any]:
    return {
        share: number(point.share, 6),
        "chroma": number(point.chroma),
        "lab": numbers(point.lab),
        "value": number(point.value),
        "munsell": point.munsell,
    }


def _stage_json(stage: Stage, share: str) -> dict[str, Any]:
    return {
        share: number(stage.point.share, 6),
        "hill": {"nm": stage.maximum, "reflectance": number(stage.at(stage.maximum))},
        "floor": {"nm": stage.minimum, "reflectance": number(stage.at(stage.minimum))},
        "reflectance": numbers(stage.reflectance, 5),
        "k_over_s": numbers(stage.k_over_s, 6),
        "swamped": [bool(s) for s in stage.scattering_dominates],
    }
