"""``mixlab characterise``: the painter's own tubes, from an instrument or a photographed card."""


import math
import os
from dataclasses import replace
from typing import Annotated, Any

import typer

from mixlab.colour.spaces import lab_to_hex
from mixlab.errors import CardError, ReadingError
from mixlab.paint.labels import checked, labelled
from mixlab.paint.optics import Surface
from mixlab.paint.tables import read_table, write_table
from mixlab.show import fields
from mixlab.show.cli import cards, options
from mixlab.show.cli.console import bar, counted, in_words
from mixlab.show.cli.paints import MASSTONE_MISS, TINT_MISS, UNCERTAINTY
from mixlab.show.cli.predict import MIXTURE, SAMPLE, SURFACE, VIEW, Samples, misses
from mixlab.show.report import Output, Page, Report, amount, rows, show, text, texts, truth

_SHOWN = 6

HELP = """
Readings as our CSV: a column a wavelength, at most 20 nm apart, from 400 to
700 nm at least; fractions or percent; the bare grounds of each film, or once:

    sample,mixture,surface,400,410,...
    A1,1 kiln-blue,over-white,0.117,0.146,...
    A1,1 kiln-blue,over-black,0.083,0.089,...
    A1,,bare-white,0.555,0.739,...
    A1,,bare-black,0.052,0.052,...
    A2,1 kiln-blue + 9 yard-white,opaque,0.535,0.573,...

CGATS.17 text (ISO 28178) and CxF3 (ISO 17972; pip install '.[cxf]') are read
as well. Films may be of unknown thickness. Drawdowns are left out in turn,
to show how well the others predict them; one that contradicts the others is
named; --advise says which further ones would lower the error most. K1 of the
surface is what the darkest films come down to, and K2 0.43, unless stated.
"""


DRAWDOWNS = rows(
    "drawdowns",
    (
        SAMPLE,
        MIXTURE,
        SURFACE,
        fields.MISS.but(meaning="from the reading to the curves that were fitted"),
        cards.CROSS_VALIDATED,
        truth("predictable", "whether the others hold its paints twice, and as much of them"),
        truth("contradicts", "whether it contradicts the others that could tell it"),
    ),
    "how each agrees",
    lambda made: made[0].drawdowns,
)
ADVICE = (
    text("draw_down", "what to draw down, over white and black", lambda one: one.words),
    texts("mixtures", "each mix of it, in parts"),
    fields.LIKELY_ERROR.but(
        meaning="of mixes of the paints, once this and the advice above it is followed"
    ),
)
PAINTS = (text("id", "id of the paint"), *cards.COLOUR, UNCERTAINTY, MASSTONE_MISS, TINT_MISS)
OUTPUT = Output(
    "characterise",
    (
        text("file", "the readings", lambda made: made[1]),
        text("out", "file of the table that was written", lambda made: made[2]),
        amount("k1", "0..1", "Saunderson K1, of the surface", lambda made: made[0].surface.outside),
        amount("k2", "0..1", "Saunderson K2, of the surface", lambda made: made[0].surface.inside),
        misses("misses", "of all drawdowns", lambda made: made[0].misses),
        misses("cross_validated", "of drawdowns that were left out of the fit",
               lambda made: made[0].cross_validated),
        fields.NOTES.of(lambda made: made[0]),
        rows("paints", PAINTS, "its paints, each with its masstone", lambda made: made[0].paints),
        DRAWDOWNS,
        rows("further_drawdowns", ADVICE, "those that would lower the error most; empty unless "
             "asked for", lambda made: made[0].advice),
    ),
    csv=DRAWDOWNS,
)  # fmt: skip


Known = Annotated[
    str | None,
    typer.Option(
        help="Pigment table whose paints are kept as they are where the readings name them; "
        "for a card, whose paints it starts from (the bundled one)."
    ),
]
Fixed = Annotated[
    list[str] | None,
    typer.Option(
        metavar="PAINT", help="Of --table: this one is known, find the others; all that the "
        "readings name unless given.",
    ),
]  # fmt: skip
Tubes = Annotated[
    list[str] | None,
    typer.Option(
        metavar="ID=INDEX", help="Colour Index name of a paint of the readings, as "
        "kiln-blue=PB29: brings the cautions of such paint.",
    ),
]  # fmt: skip
K1 = Annotated[
    float | None, typer.Option(help="Saunderson K1, stated with --k2; as films tell unless given.")
]
K2 = Annotated[float | None, typer.Option(help="Saunderson K2, stated with --k1.")]
Quick = Annotated[
    bool,
    typer.Option("--quick", help="Do not leave drawdowns out to test the prediction; much faster."),
]
Advise = Annotated[
    bool,
    typer.Option("--advise", help="Say which further drawdowns would lower the error most."),
]
Out = Annotated[
    str,
    typer.Option(metavar="TABLE", help="Pigment table to write, a CSV file."),
]
ReadingsFile = Annotated[
    str,
    typer.Argument(
        metavar="READINGS",
        help="Reflectance of drawdowns (CSV, CGATS.17, CxF3), or the .toml of a swatch card.",
    ),
]


def characterise(
    readings: ReadingsFile,
    out: Out,
    samples: Samples = None,
    table: Known = None,
    fixed: Fixed = None,
    tube: Tubes = None,
    k1: K1 = None,
    k2: K2 = None,
    quick: Quick = False,
    advise: Advise = False,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Find the absorption and scattering of your own tubes, and write a pigment table.

    Every other command takes it with --table, and --only where its curves stand in the unit of a
    white of your own.
    """
    if readings.lower().endswith(".toml"):
        if any((samples, fixed, tube, k1 is not None, k2 is not None, csv, quick, advise)):
            raise ReadingError(
                "--samples, --fixed, --tube, --k1, --k2, --quick, --advise and --csv are "
                "for readings, and not for a card"
            )
        _card(readings, out, table, json)
        return
    from mixlab.measure.characterise import characterise as fitted
    from mixlab.measure.readings import read_readings

    surface = _surface(k1, k2)
    known = None if table is None else read_table(table)
    if known is not None and surface is not None:
        raise ReadingError("--table has surface constants of its own; leave out --k1 and --k2")
    if fixed and known is None:
        raise ReadingError("--fixed names paints of a table; give that with --table")
    read = read_readings(readings, samples)
    index = checked(dict(map(_label, tube or ())), read.paints)
    with bar("Fitting") as progress:
        found = fitted(
            read, surface=surface, known=known, fixed=fixed, leave_out=not quick, advise=advise,
            progress=progress,
        )  # fmt: skip
    found = replace(found, paints=tuple(labelled(found.paints, index)))
    write_table(found.paints, out)
    show(Report(OUTPUT, (found, readings, out), _tell, VIEW), json, csv)


def _surface(k1: float | None, k2: float | None) -> Surface | None:
    """Return the surface that was stated, if one was."""
    if (k1 is None) != (k2 is None):
        raise ReadingError("--k1 and --k2 go together, as --k1 0.04 --k2 0.6")
    for name, value in (("--k1", k1), ("--k2", k2)):
        if value is not None and not 0 <= value < 1:
            raise ReadingError(f"{name} {value:g}: it is a share, 0 or more and below 1")
    return None if k1 is None or k2 is None else Surface(k1, k2)


def _label(text: str) -> tuple[str, str]:
    id, mark, index = text.partition("=")
    if not (id and mark and index.strip()):
        raise ReadingError(f"--tube {text!r}: write an id and a name, as kiln-blue=PB29")
    return id.strip(), index.strip()


def _card(path: str, out: str, table: str | None, json: bool) -> None:
    from mixlab.measure.cards import characterise_card
    from mixlab.measure.swatches import read_card

    card = read_card(path)
    if os.path.realpath(out) == os.path.realpath(card.photo):
        raise CardError(f"--out {out}: this file is the card's picture; name another")
    fit = characterise_card(card, read_table(table))
    write_table(fit.paints, out)
    show(Report(cards.OUTPUT, (card, fit, out), cards.tell, VIEW), json)


_ROWS = (
    PAINTS[0].shown("paint"),
    cards.MASSTONE,
    UNCERTAINTY.shown("error", ".1f"),
    text("", "").shown("misses of the fit", get=lambda paint: ", ".join(
        f"{word} {miss:.1f}"
        for word, miss in (("masstone", paint.masstone_miss), ("mixes to", paint.tint_miss))
        if not math.isnan(miss)
    )),
)  # fmt: skip


def _tell(page: Page, made: tuple[Any, ...]) -> None:
    """Lay out what readings told, and where the table is."""
    found, readings, out = made
    tubes = counted(len(found.paints), "paint")
    page.entry("Readings", f"{readings}: {tubes} in {counted(len(found.drawdowns), 'drawdown')}")
    for note in found.notes:
        page.entry("", note)
    of = found.surface
    page.entry("Surface", f"K1 {of.outside:.3f}, K2 {of.inside:.2f}")
    page.light(VIEW)
    page.head("Paints")
    page.table(_ROWS, found.paints, hexes=[lab_to_hex(p.lab, VIEW) for p in found.paints])
    page.line("  Error: the likely CIEDE2000 of a prediction with the paint.", hang=2)
    page.head("Agreement")
    page.entry("  fitted", in_words(found.misses), indent=19)
    tried = found.cross_validated
    page.entry(
        "  cross-validated",
        f"{in_words(tried)}, of {counted(len(tried), 'drawdown')} that the others can tell"
        if len(tried)
        else "none: each paint is in too few drawdowns for the others to tell one", indent=19,
    )  # fmt: skip
    page.head("Drawdowns that agree least")
    least = sorted(found.drawdowns, key=lambda one: -one.miss)[:_SHOWN]
    page.table((SAMPLE.shown(), MIXTURE.shown(), *cards.LEAST), least)
    if found.advice:
        page.head("Further drawdowns that would lower the error most")
        page.table(
            (ADVICE[0].shown("over white and black"), ADVICE[2].shown("error", ".1f")),
            found.advice, numbered=True,
        )  # fmt: skip
        page.line("  Error: the likely CIEDE2000 of mixes, once it and those above it are read.",
                  hang=2)  # fmt: skip
    page.line()
    page.entry("Written", out)
