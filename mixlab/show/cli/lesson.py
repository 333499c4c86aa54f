"""``mixlab lesson sheet`` and ``mixlab lesson score``: a sheet to paint, and what was painted."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

import numpy as np
import typer

from mixlab.errors import LessonError, MixlabError
from mixlab.lesson import layout
from mixlab.lesson.reading import PAPER, Square, read_sheet
from mixlab.lesson.scoring import Scored, painted_tube, score
from mixlab.lesson.sheet import PARTS, Guess, Sheet, lesson_sheet, numbered
from mixlab.mixing.ladders import EVEN, white_of
from mixlab.paint.add import add_to_table
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.console import counted
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.options import option
from mixlab.show.lesson_words import PREDICTS, came_out, guesses, next_time
from mixlab.show.plots import lesson_score as pictures
from mixlab.show.plots import lesson_sheet as drawing
from mixlab.show.plots import pages as printing
from mixlab.show.plots import style
from mixlab.show.plots.forms import Form
from mixlab.show.report import (
    Output,
    Page,
    amount,
    column,
    figures,
    group,
    numbers,
    rows,
    text,
    texts,
    truth,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# --- the sheet ------------------------------------------------------------------------------------

_Row = tuple[int, Sheet]

SQUARE = amount("square", "", "its number, from 1", lambda row: row[0] + 1)
PARTS_OF_MIX = amount("parts_of_mix", "parts", "of the first pile",
                      lambda row: row[1].parts[row[0]][0])  # fmt: skip
PARTS_ADDED = amount("parts_added", "parts", "of the second pile",
                     lambda row: row[1].parts[row[0]][1])  # fmt: skip
MIX = fields.mixture(lambda row: row[1].mixtures[row[0]])
PREDICTED = fields.colour(
    lambda row: fields.Colour(row[1].lab[row[0]], row[1].start.view, row[1].munsell[row[0]])
)
_SHEET_SQUARES = rows(
    "squares",
    (SQUARE, PARTS_OF_MIX, PARTS_ADDED, *MIX, *PREDICTED,
     numbers("box", "mm", "left, top, right, bottom on the page",
             lambda row: layout.square(row[0]), csv=False)),
    "the squares, each with what is predicted of it",
    lambda sheet: [(i, sheet) for i in range(sheet.steps)],
)  # fmt: skip
QUESTION = text("question", "what is asked beforehand", lambda row: row[1].question)
ANSWER = texts("right_answers", "which of the choices are right by the prediction",
               lambda row: [row[1].choices[i] for i in row[1].right])  # fmt: skip
CODE = text("code", "the line that its QR code holds: both piles, and parts of each")
SHEET = Output(
    "lesson sheet",
    (
        text("from", "the first pile", lambda sheet: str(sheet.start)),
        text("toward", "the second pile", lambda sheet: str(sheet.toward)),
        CODE,
        rows("guesses",
             (QUESTION, texts("choices", "the words beside the boxes", lambda row: row[1].choices),
              ANSWER,
              rows("boxes", (numbers("box", "mm", "left, top, right, bottom on the page",
                                     lambda box: box),),
                   "where they are ticked",
                   lambda row: layout.ticks(row[0], len(row[1].choices)))),
             "what is guessed beforehand", lambda sheet: list(enumerate(sheet.guesses))),
        _SHEET_SQUARES,
    ),
    csv=_SHEET_SQUARES,
)  # fmt: skip
_SHOWN = (
    PARTS_OF_MIX.shown("parts of it", "g"),
    PARTS_ADDED.shown("added", "g"),
    fields.one(PREDICTED, "munsell").shown("predicted"),
    column("C*", lambda row: np.hypot(*row[1].lab[row[0], 1:]), ".0f", right=True),
)


@options.usual("csv", finish="satin")
def sheet(
    usual: options.Usual,
    mix: options.Mix,
    toward: Annotated[
        str | None, option("MIX", "What it goes toward; titanium white unless given.")
    ] = None,
    steps: Annotated[int, typer.Option(help="Squares, 3 to 12, both ends included.")] = 7,
    even: options.Even = EVEN[0],
    parts: Annotated[int, typer.Option(help="Greatest total of parts of a square.")] = PARTS,
    copies: Annotated[int, typer.Option(help="Sheets, numbered, for a class; in one .pdf.")] = 1,
    out: Annotated[
        str | None, option("FILE", "The page to print: .pdf, .png or .svg; A4.")
    ] = None,
) -> None:
    """A page to print: squares to paint by parts, and guesses to tick before."""
    other = white_of(usual.table).id if toward is None else toward
    made = lesson_sheet(usual.mix(mix), usual.mix(other), steps, even, parts)
    sheets = numbered(made, copies)
    if out is not None:
        printing.checked(out, copies)
        printing.save([drawing.lesson_sheet(one) for one in sheets], out)
    usual.tell(SHEET, made, lambda page, _: _tell_sheet(page, made, out, copies))


def _tell_sheet(page: Page, made: Sheet, out: str | None, copies: int) -> None:
    page.entry("Sheet", f"{made.start} toward {made.toward}, {made.steps} squares")
    page.entry("Code", made.code)
    page.light(made.start.view)
    page.head("Squares (for the teacher: the page does not tell what is predicted)")
    page.table(_SHOWN, [(i, made) for i in range(made.steps)],
               hexes=[mixture.hex for mixture in made.mixtures], numbered=True)  # fmt: skip
    page.head("Guesses, and what the prediction says")
    for guess in made.guesses:
        page.say(f"{guess.question} {' or '.join(guess.choices[i] for i in guess.right)}")
    show_care(page, made.mixtures[made.steps // 2])
    page.line()
    if out is None:
        page.say("Nothing was written; --out sheet.pdf writes the page to print.")
    else:
        page.entry("Written", f"{out}, {counted(copies, 'page')}; any printer, any size")


# --- what was painted -----------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Class:
    """What came of the photos: sheets that were read, and why others were not."""

    scored: tuple[Scored, ...]
    refused: tuple[tuple[str, str], ...]
    kept: str | None


_Read = tuple[int, Scored]


def _square(row: _Read) -> Square:
    return row[1].painted.squares[row[0]]


def _seen(row: _Read) -> fields.Colour | None:
    lab = row[1].lab[row[0]]
    return None if lab is None else fields.Colour(lab, row[1].painted.sheet.start.view)


def _of_sheet(row: _Read) -> _Row:
    return row[0], row[1].painted.sheet


_READ = (
    SQUARE,
    PARTS_OF_MIX.of(_of_sheet),
    PARTS_ADDED.of(_of_sheet),
    *(one.of(_of_sheet) for one in MIX),
    group("predicted", PREDICTED, "what the table's paints give", _of_sheet),
    group("painted", fields.colour(), "what the photo shows, beside the paper", _seen),
    fields.MISS.but(meaning="from the prediction to what was painted",
                    get=lambda row: row[1].misses[row[0]]),
    texts("looks", "beside the prediction: lighter, darker, higher or lower in chroma, redder ..",
          lambda row: row[1].words[row[0]], csv=False),
    amount("spread", "CIEDE2000", "95th percentile from a pixel to the mean",
           lambda row: None if np.isnan(_square(row).spread) else _square(row).spread),
    text("note", "why it cannot be read, or not be relied on",
         lambda row: _square(row).note or None),
)  # fmt: skip
_ANSWERS = (
    QUESTION,
    text("guess", "the choice that was ticked",
         lambda row: None if row[2] is None else row[1].choices[row[2]]),
    ANSWER,
    truth("guessed_right", "whether the guess is right by the prediction", lambda row: row[3]),
)  # fmt: skip
_MISMEASURED = group(
    "mismeasured",
    (
        amount("square", "", "its number, from 1"),
        text("paint_or_pile", "which was mismeasured", lambda one: one.pile),
        amount("parts_too_many", "parts", "below zero: too few", lambda one: one.parts),
        texts("same", "other parts too many or too few that make the very same mix"),
    ),
    "the part that was likely mismeasured, if one stands out",
)


def _answers(one: Scored) -> list[tuple[int, Guess, int | None, bool | None]]:
    columns = zip(one.painted.sheet.guesses, one.painted.ticked, one.guessed, strict=True)
    return [(i, *row) for i, row in enumerate(columns)]


_STUDENTS = rows(
    "sheets",
    (
        text("file", "the picture", lambda one: one.painted.path),
        CODE.of(lambda one: one.painted.sheet),
        texts("came_out", "what most squares came out as", lambda one: one.came_out),
        _MISMEASURED,
        amount("light_ratio", "", "greatest light on the sheet over the least, by its paper",
               lambda one: one.painted.light),
        amount("sheen", "0..1", "share of the surface's reflection that the camera saw"),
        amount("times_as_strong", "", "as the table's, the first paint, by all squares; "
               "ASTM D4838; none unless it goes toward a white", lambda one: one.strength),
        rows("guesses", _ANSWERS, "what was guessed beforehand", _answers),
        rows("squares", _READ, "the squares as they were painted",
             lambda one: [(i, one) for i in range(one.painted.sheet.steps)]),
        fields.NOTES.of(lambda one: one.painted),
    ),
    "every sheet that was read",
    lambda made: made.scored,
)  # fmt: skip
_ROWS = rows(
    "squares",
    (text("file", "the picture", lambda row: row[1].painted.path), *_READ),
    "every square",
    lambda made: [(i, one) for one in made.scored for i in range(one.painted.sheet.steps)],
)
SCORE = Output(
    "lesson score",
    (
        _STUDENTS,
        rows("not_read", (text("file", "the picture", lambda row: row[0]),
                          text("reason", "what is wrong, and what would be right",
                               lambda row: row[1])),
             "pictures that could not be read", lambda made: made.refused),
        text("out", "file of the table that was written", lambda made: made.kept),
    ),
    csv=_ROWS,
)  # fmt: skip

_TABLE = (
    figures("parts", lambda row: ":".join(map(str, row[1].painted.sheet.parts[row[0]]))),
    fields.one(PREDICTED, "munsell").of(_of_sheet).shown("predicted"),
    column("painted", lambda row: "not read" if (c := _seen(row)) is None else c.munsell),
    fields.MISS.but(get=lambda row: row[1].misses[row[0]]).shown("miss", ".1f"),
    column("looks", lambda row: ", ".join(row[1].words[row[0]][:2]) or "-"),
)  # fmt: skip


@options.usual("plot", "csv", finish="satin")
def score_(
    usual: options.Usual,
    photos: Annotated[
        list[str], typer.Argument(metavar="PHOTO", help="Photographs of painted sheets.")
    ],
    pages: Annotated[
        str | None, option("FILE", "A page for each student: .pdf, or .png for one.")
    ] = None,
    paper: Annotated[
        float, typer.Option(help="Reflectance of the paper, which is taken for neutral.")
    ] = PAPER,
    neutrals: Annotated[
        str | None, option("R,R,..", "Of the five printed greys, measured, black first.")
    ] = None,
    code: Annotated[
        str | None, option("TEXT", "The line beneath the strip, where the QR code is painted over.")
    ] = None,
    keep: Annotated[
        str | None, option("FILE", "Keep what was painted as a tube of your own in this table.")
    ] = None,
    id: Annotated[str | None, option("ID", "Its name there, as my-blue.")] = None,
) -> None:
    """Photographs of painted sheets beside the prediction; likely wrong parts told.

    --plot draws the page of one student, or the chart of a class.
    """
    if pages is not None:
        printing.checked(pages, len(photos))
    if keep is not None and len(photos) > 1:
        raise LessonError("--keep takes one photo: a tube is that of one sheet")
    known = _known(neutrals)
    scored: list[Scored] = []
    refused: list[tuple[str, str]] = []
    for photo in photos:
        try:
            painted = read_sheet(photo, usual.table, usual.view, paper=paper, neutrals=known,
                                 code=code or "")  # fmt: skip
            scored.append(score(painted))
        except MixlabError as error:
            if len(photos) == 1:
                raise
            refused.append((photo, str(error).removeprefix(f"{photo}: ")))
    if not scored:
        raise LessonError(f"none of {len(photos)} photos can be read; {refused[0][0]}: "
                          f"{refused[0][1]}")  # fmt: skip
    chart = None if usual.plot is None else _chart(scored, len(photos) == 1, usual.form)
    if keep is not None:
        add_to_table(painted_tube(scored[0], usual.table, id or _own(scored[0])), keep)
    if pages is not None:
        printing.save([pictures.student_page(one) for one in scored], pages)
    if chart is not None and usual.form.on_screen:
        style.save(chart, usual.plot or "", usual.view)
    elif chart is not None:
        printing.save([chart], usual.plot or "")
    usual.tell(SCORE, Class(tuple(scored), tuple(refused), keep), _tell)


def _chart(scored: Sequence[Scored], alone: bool, form: Form) -> "Figure":
    """Return the page of one student, or the chart of a class."""
    if alone and form.on_screen:
        raise LessonError("--for screen draws the chart of a class; name several photos")
    if alone:
        return pictures.student_page(scored[0])
    _one_kind(scored)
    return pictures.class_chart(scored, form=form)


def _known(neutrals: str | None) -> Sequence[float]:
    try:
        return [float(part) for part in neutrals.split(",")] if neutrals is not None else []
    except ValueError:
        raise LessonError(
            f"--neutrals {neutrals}: five reflectances, as 0.04,0.09,0.2,0.37,0.6"
        ) from None


def _own(one: Scored) -> str:
    return f"my-{one.painted.sheet.start.paints[0].id}"


def _one_kind(scored: Sequence[Scored]) -> None:
    first = scored[0].painted.sheet
    for one in scored:
        other = one.painted.sheet
        if (str(other.start), str(other.toward), other.parts) != (
            str(first.start), str(first.toward), first.parts
        ):  # fmt: skip
            raise LessonError(
                f"{one.painted.path} is of another sheet than {scored[0].painted.path}; a chart "
                "shows one kind, so name the photos of one at a time"
            )


def _tell(page: Page, made: Class) -> None:
    for n, one in enumerate(made.scored):
        if n:
            page.line()
        _tell_one(page, one)
    if len(made.scored) > 1:
        _tell_class(page, made.scored)
    if made.refused:
        page.head("Not read")
        for photo, reason in made.refused:
            page.say(f"{photo}: {reason}", 4)
    if made.kept is not None:
        page.line()
        page.entry("Written", made.kept)


def _tell_one(page: Page, one: Scored) -> None:
    sheet = one.painted.sheet
    page.entry("Photo", str(one.painted.path))
    page.entry("Sheet", f"{sheet.start} toward {sheet.toward}"
               + ("" if sheet.number is None else f", number {sheet.number}"))  # fmt: skip
    for note in one.painted.notes:
        page.entry("", note)
    page.light(sheet.start.view)
    page.head("Squares")
    squares = [(i, one) for i in range(sheet.steps)]
    seen = map(_seen, squares)
    hexes = [None if colour is None else colour.hex for colour in seen]
    page.table(_TABLE, squares, numbered=True, hexes=hexes)
    page.say(PREDICTS)
    for head, lines in (("What came out", came_out(one)), ("Guesses", guesses(one)),
                        ("Next time", next_time(one))):  # fmt: skip
        page.head(head)
        for line in lines:
            page.say(line, 2)


def _tell_class(page: Page, scored: Sequence[Scored]) -> None:
    page.head("The class")
    slips = [one for one in scored if one.mismeasured is not None]
    page.say(f"{counted(len(scored), 'sheet')} read; a part was likely mismeasured on "
             f"{len(slips)}.")  # fmt: skip
    for i, guess in enumerate(scored[0].painted.sheet.guesses):
        made = [one.guessed[i] for one in scored if i < len(one.guessed)]
        told = [right for right in made if right is not None]
        best = " or ".join(guess.choices[n] for n in guess.right)
        page.say(f"{guess.question} {best[:1].upper()}{best[1:]}: {sum(told)} of {len(told)} "
                 "guessed it.", 4)  # fmt: skip


HELP = """The sheet is read relative to its paper:

  Paper counts as white and neutral (--paper says how light); bare paper all
  over the sheet evens the light out. The printed greys come from any printer
  and are not known: they show haze. Measured, they also correct the
  picture's contrast (--neutrals).

  A telephone bends contrast and colour to please: trust what squares show
  beside one another before what they miss the prediction by. Shown on
  rendered photographs; tried on no real one yet.

  Photograph the dry sheet from above, in even daylight, without shine, with
  all four corner marks; send the picture as the camera saved it.
"""
"""For the help of the command."""

