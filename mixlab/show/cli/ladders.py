"""``mixlab tints``, ``shades``, ``tones`` and ``blend``: ladders and the value/chroma report."""

from dataclasses import replace
from typing import Annotated

import typer

from mixlab.errors import LadderError
from mixlab.mixing.complements import cancelled, complements, let_down
from mixlab.mixing.ladders import EVEN, black_of, grey_of, ladder, white_of
from mixlab.mixing.value_chroma import at_equal_value, grey_that_holds, report
from mixlab.paint.mixtures import Mixture
from mixlab.show.cli import options
from mixlab.show.cli.ladder_output import OUTPUTS, LadderReport, tell, toward_text
from mixlab.show.cli.options import option
from mixlab.show.plots import ladders as pictures

Parts = Annotated[int, typer.Option(help="Greatest total of whole parts of a step.")]
White = Annotated[str | None, option("PAINT", "The white; titanium white unless given.")]
Black = Annotated[str | None, option("PAINT", "The black; bone black unless given.")]


@options.usual("plot", "csv")
def tints(
    usual: options.Usual,
    mix: options.Mix,
    white: White = None,
    compare: Annotated[
        list[str] | None, option("PAINT", "Another white, compared at equal value.")
    ] = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
) -> None:
    """Ladder toward white: value, chroma, hue, and why white lowers chroma."""
    start = usual.mix(mix)
    toward, *others = (
        usual.table.mix({white_of(usual.table, one).id: 1.0}, usual.view)
        for one in (white, *(compare or ()))
    )
    made = _report(start, toward, steps, even, parts, "white")
    if others:
        columns = at_equal_value(start, [toward, *others], made.ladder.munsell[:, 1])
        names = [white.paints[0].id for white in (toward, *others)]
        made.whites.update(zip(names, columns, strict=True))
    _say("tints", made, usual)


@options.usual("plot", "csv")
def shades(
    usual: options.Usual,
    mix: options.Mix,
    black: Black = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
) -> None:
    """Ladder toward black: value and chroma fall, and yellow turns green."""
    toward = usual.table.mix({black_of(usual.table, black).id: 1.0}, usual.view)
    _say("shades", _report(usual.mix(mix), toward, steps, even, parts, "black"), usual)


@options.usual("plot", "csv")
def tones(
    usual: options.Usual,
    mix: options.Mix,
    grey: Annotated[
        str | None, option("MIX", "The grey; white and black at the mix's value unless given.")
    ] = None,
    value: Annotated[
        float | None, typer.Option(help="Munsell value of the grey; that of the mix unless given.")
    ] = None,
    white: White = None,
    black: Black = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[2],
    parts: Parts = 100,
) -> None:
    """Ladder toward a grey: chroma falls; which grey holds value where half of it is gone."""
    start, known, holds = usual.mix(mix), usual.table, None
    if grey is None:
        greys = white_of(known, white), black_of(known, black)
        toward = grey_of(*greys, start, value)
        if value is None:
            holds = grey_that_holds(start, *greys)
    elif (value, white, black) == (None, None, None):
        toward = usual.mix(grey)
    else:
        raise LadderError("--grey says the whole grey; leave out --value, --white and --black")
    made = _report(start, toward, steps, even, parts, "grey")
    _say("tones", replace(made, holds=holds), usual)


@options.usual("palette", "plot", "csv")
def blend(
    usual: options.Usual,
    mix: Annotated[str, typer.Argument(metavar="MIX", help="The one mix, or paint.")],
    toward: Annotated[
        str | None,
        typer.Argument(metavar="[MIX]", help="The other; the nearest complement unless given."),
    ] = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[2],
    parts: Parts = 100,
) -> None:
    """Ladder from one mix to another, and the neutral point where complements cancel.

    A complement is looked for among the tubes at hand.
    """
    start = usual.mix(mix)
    ranked = [] if toward else complements(start, usual.tubes)
    if not (toward or ranked):
        raise LadderError("none of the paints can be a complement; name the other mix")
    made = _report(start, usual.mix(toward or ranked[0][0].id), steps, even, parts, "mix")
    white = next((p for p in (*usual.tubes, *usual.table) if p.is_white), None)
    path = made.ladder.path
    if white is not None:
        tint = let_down(path, made.report.neutral.share, white)
        made = replace(made, with_white=(tint, cancelled(path, white)))
    _say("blend", replace(made, ranked=ranked), usual)


def _report(
    start: Mixture, toward: Mixture, steps: int, even: str, parts: int, addition: str
) -> LadderReport:
    made = ladder(start, toward, steps, even, parts)
    return LadderReport(made, report(start, toward), addition)


def _say(command: str, made: LadderReport, usual: options.Usual) -> None:
    """Draw, write and print a ladder and its report."""
    title = f"{made.ladder.path.start} toward {toward_text(made.ladder)}"
    usual.tell(OUTPUTS[command], made, tell,
               lambda: pictures.ladder(made.ladder, made.report, title))  # fmt: skip
