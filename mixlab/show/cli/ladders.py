"""``mixlab tints``, ``shades``, ``tones`` and ``blend``: ladders and the value/chroma report."""


from typing import Annotated

import typer

from mixlab.colour.spaces import viewing
from mixlab.errors import LadderError
from mixlab.mixing.ladders import (
    EVEN,
    Ladder,
    black_of,
    complements,
    grey_of,
    ladder,
    white_of,
)
from mixlab.mixing.value_chroma import Point, at_equal_value, report
from mixlab.mixing.value_chroma import Report as Summary
from mixlab.paint.tables import read_table
from mixlab.show.cli import options
from mixlab.show.cli.ladder_output import OUTPUTS, LadderReport, tell, toward_text
from mixlab.show.plots import style
from mixlab.show.report import (
    Report,
    show,
)  # fmt: skip

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
    finish: options.Finish = "gloss",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder toward white: value, chroma, hue, and why white lowers chroma."""
    view, known = viewing(light, observer, finish), read_table(table)
    start = options.read_mix(known, mix, view)
    toward = known.mix({white_of(known, white).id: 1.0}, view)
    others = [known.mix({white_of(known, other).id: 1.0}, view) for other in compare or ()]
    made = ladder(start, toward, steps, even, parts)
    told = report(start, toward)
    columns = at_equal_value(start, [toward, *others], made.munsell[:, 1]) if others else []
    whites = dict(zip([str(w.paints[0].id) for w in (toward, *others)], columns, strict=False))
    _say("tints", made, told, "white", whites, plot, csv, json)


def shades(
    mix: options.Mix,
    black: Black = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    finish: options.Finish = "gloss",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder toward black: value and chroma fall, and yellow turns green."""
    view, known = viewing(light, observer, finish), read_table(table)
    start = options.read_mix(known, mix, view)
    toward = known.mix({black_of(known, black).id: 1.0}, view)
    _say("shades", ladder(start, toward, steps, even, parts), report(start, toward), "black", {},
         plot, csv, json)  # fmt: skip


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
    finish: options.Finish = "gloss",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder toward a grey: chroma falls, and value holds if the grey is of the same."""
    view, known = viewing(light, observer, finish), read_table(table)
    start = options.read_mix(known, mix, view)
    if grey is not None:
        if (value, white, black) != (None, None, None):
            raise LadderError("--grey says the whole grey; leave out --value, --white and --black")
        toward = options.read_mix(known, grey, view)
    else:
        toward = grey_of(white_of(known, white), black_of(known, black), start, value)
    _say("tones", ladder(start, toward, steps, even, parts), report(start, toward), "grey", {},
         plot, csv, json)  # fmt: skip


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
    finish: options.Finish = "gloss",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Ladder from one mix to another, and the neutral point where complements cancel."""
    view, known = viewing(light, observer, finish), read_table(table)
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
    _say("blend", made, report(start, other), "mix", {}, plot, csv, json, ranked)


def _say(
    command: str,
    made: Ladder,
    told: Summary,
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
        title = f"{made.path.start} toward {toward_text(made)}"
        style.save(pictures.ladder(made, told, title), plot)
    given = LadderReport(made, told, addition, whites, ranked or [])
    show(Report(OUTPUTS[command], given, tell, made.path.start.view), json, csv)
