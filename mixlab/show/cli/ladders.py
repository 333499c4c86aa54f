"""``mixlab tints``, ``shades``, ``tones`` and ``blend``: ladders and the value/chroma report."""

from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, NamedTuple

import numpy as np
import typer

from mixlab.errors import LadderError, NotationError
from mixlab.mixing.complements import cancelled, complements, let_down
from mixlab.mixing.ladders import EVEN, Path, black_of, grey_of, ladder, white_of
from mixlab.mixing.value_chroma import at_equal_value, grey_that_holds, report
from mixlab.paint.mixtures import Mixture
from mixlab.show.cli import options
from mixlab.show.cli.ladder_output import OUTPUTS, LadderReport, tell, titled, toward_text
from mixlab.show.cli.ladders_output import SEVERAL, tell_several
from mixlab.show.cli.options import option
from mixlab.show.plots import ladders as pictures
from mixlab.show.plots.forms import Form

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Parts = Annotated[int, typer.Option(help="Greatest total of whole parts of a step.")]
White = Annotated[str | None, option("PAINT", "The white; titanium white unless given.")]
Black = Annotated[str | None, option("PAINT", "The black; bone black unless given.")]
Mixes = Annotated[
    list[str],
    typer.Argument(metavar="MIX", help='A paint, or a mix such as "3 burnt-sienna + 1 PB29"; '
                   "several, each in quotation marks, are set on one chart."),
]  # fmt: skip
MunsellPage = Annotated[
    bool,
    typer.Option("--munsell", help="Draw it on its Munsell page: value against chroma, with the "
                 "neutrals and the chips."),
]  # fmt: skip
Curves = Annotated[bool, typer.Option("--curves", help="Draw the curves of reflectance.")]


@options.usual("plot", "csv")
def tints(
    usual: options.Usual,
    mix: Mixes,
    white: White = None,
    compare: Annotated[
        list[str] | None, option("PAINT", "Another white, compared at equal value.")
    ] = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
    munsell: MunsellPage = False,
    curves: Curves = False,
) -> None:
    """Ladder toward white: value, chroma, hue, and why white lowers chroma."""
    starts, draw = _mixes(usual, mix), _Draw(munsell, curves)
    toward, *others = (
        usual.table.mix({white_of(usual.table, one).id: 1.0}, usual.view)
        for one in (white, *(compare or ()))
    )
    if others and len(starts) > 1:
        raise LadderError("--compare compares the whites of one mix; give one")
    names = [white.paints[0].id for white in (toward, *others)]
    if twice := next((name for i, name in enumerate(names) if name in names[:i]), None):
        raise LadderError(f"--compare: {twice} is among the whites already; name another")
    made = [_report(start, toward, steps, even, parts, "white") for start in starts]
    if others:
        draw = draw._replace(whites=(toward, *others))
        columns = at_equal_value(starts[0], [toward, *others], made[0].ladder.munsell[:, 1])
        made[0].whites.update(zip(names, columns, strict=True))
    _say("tints", made, usual, draw)


@options.usual("plot", "csv")
def shades(
    usual: options.Usual,
    mix: Mixes,
    black: Black = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[0],
    parts: Parts = 100,
    munsell: MunsellPage = False,
    curves: Curves = False,
) -> None:
    """Ladder toward black: value and chroma fall, and yellow turns green."""
    starts, draw = _mixes(usual, mix), _Draw(munsell, curves)
    toward = usual.table.mix({black_of(usual.table, black).id: 1.0}, usual.view)
    made = [_report(start, toward, steps, even, parts, "black") for start in starts]
    _say("shades", made, usual, draw)


@options.usual("plot", "csv")
def tones(
    usual: options.Usual,
    mix: Mixes,
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
    munsell: MunsellPage = False,
    curves: Curves = False,
) -> None:
    """Ladder toward a grey: chroma falls; which grey holds value where half of it is gone."""
    starts, known, draw = _mixes(usual, mix), usual.table, _Draw(munsell, curves)
    if grey is not None and (value, white, black) != (None, None, None):
        raise LadderError("--grey says the whole grey; leave out --value, --white and --black")
    made = []
    for start in starts:
        holds = None
        if grey is not None:
            toward = usual.mix(grey)
        else:
            greys = white_of(known, white), black_of(known, black)
            toward = grey_of(*greys, start, value)
            holds = grey_that_holds(start, *greys) if value is None else None
        one = _report(start, toward, steps, even, parts, "grey")
        made.append(replace(one, holds=holds))
    _say("tones", made, usual, draw)


@options.usual("palette", "plot", "csv")
def blend(
    usual: options.Usual,
    mix: Annotated[str, typer.Argument(metavar="MIX", help="The one mix, or paint.")],
    toward: Annotated[
        str | None,
        typer.Argument(metavar="OTHER", help="The other; the nearest complement unless given."),
    ] = None,
    steps: options.Steps = 9,
    even: options.Even = EVEN[2],
    parts: Parts = 100,
    munsell: MunsellPage = False,
    curves: Curves = False,
) -> None:
    """Ladder from one mix to another, and the neutral point where complements cancel.

    A complement is looked for among the tubes at hand.
    """
    start, draw = usual.mix(mix), _Draw(munsell, curves)
    ranked = [] if toward is not None else complements(start, usual.tubes)
    if toward is None and not ranked:
        raise LadderError("none of the paints can be a complement; name the other mix")
    other = ranked[0][0].id if toward is None else toward
    made = _report(start, usual.mix(other), steps, even, parts, "mix")
    white = next((p for p in (*usual.tubes, *usual.table) if p.is_white), None)
    path = made.ladder.path
    if white is not None:
        tint = let_down(path, made.report.neutral.share, white)
        made = replace(made, with_white=(tint, cancelled(path, white)))
    _say("blend", [replace(made, ranked=ranked)], usual, draw)


def _report(
    start: Mixture, toward: Mixture, steps: int, even: str, parts: int, addition: str
) -> LadderReport:
    made = ladder(start, toward, steps, even, parts)
    return LadderReport(made, report(start, toward), addition)


def _mixes(usual: options.Usual, typed: list[str]) -> list[Mixture]:
    """Return the mix that was typed in words, or each of several that are mixes by themselves."""
    try:
        return [usual.mix(typed)]
    except NotationError:
        if len(typed) == 1 or any(word == "+" or (word[:1].isdigit() and " " not in word)
                                  for word in typed):  # fmt: skip
            raise
        if len(typed) > pictures.MOST_TOGETHER:
            raise LadderError(
                f"{len(typed)} mixes: at most {pictures.MOST_TOGETHER} are set on one chart"
            ) from None
        return [usual.mix(one) for one in typed]


class _Draw(NamedTuple):
    """What of a ladder is drawn: its Munsell page, its curves, or its steps and a chart."""

    munsell: bool
    curves: bool
    whites: tuple[Mixture, ...] = ()  # that are compared

    def __call__(self, made: list[LadderReport], form: Form) -> "Figure":
        """Return the picture."""
        one, *more = made
        path = one.ladder.path
        start, toward = titled(path.start), titled(path.toward)
        if one.addition == "grey" and form.on_screen:
            toward = "grey"
        title = f"{start[:1].upper()}{start[1:]} toward {toward}"
        if self.munsell:
            return pictures.munsell_page(one.ladder, title, form=form)
        if self.curves:
            return pictures.curves(one.ladder, title, form=form)
        if more:
            ladders = [each.ladder for each in made]
            lanes = [pictures.Lane(titled(each.path.start), each.path, each.lab)
                     for each in ladders]  # fmt: skip
            same = len({toward_text(each) for each in ladders}) == 1
            return pictures.together(lanes, f"Toward {toward if same else 'grey'}", form=form)
        if one.whites:
            lanes = [
                pictures.Lane(titled(white), Path(path.start, white),
                              np.array([point.lab for point in points]))
                for points, white in zip(one.whites.values(), self.whites, strict=True)
            ]
            title = f"{start[:1].upper()}{start[1:]} let down with whites, at equal values"
            return pictures.together(lanes, title, form=form)
        return pictures.ladder(one.ladder, one.report, title, across=one.addition == "mix",
                               form=form)  # fmt: skip


def _say(command: str, made: list[LadderReport], usual: options.Usual, draw: _Draw) -> None:
    """Draw, write and print a ladder and its report, or several."""
    if draw.munsell and draw.curves:
        raise LadderError("--munsell and --curves are two pictures; give one")
    alone = draw.munsell or draw.curves
    if alone and usual.plot is None:
        raise LadderError("--munsell and --curves say what --plot draws; give a file as well")
    if alone and (len(made) > 1 or made[0].whites):
        raise LadderError("--munsell and --curves draw one ladder; give one mix, without --compare")

    def drawn(form: Form) -> "Figure":
        return draw(made, form)

    if len(made) == 1:
        usual.tell(OUTPUTS[command], made[0], tell, drawn)
    else:
        usual.tell(SEVERAL[command], made, tell_several, drawn)
