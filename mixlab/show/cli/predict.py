"""``mixlab predict``: how well a pigment table predicts readings that it was not fitted to."""

import math
from typing import Annotated, Any

import numpy as np
import typer

from mixlab.colour.spaces import viewing
from mixlab.paint.tables import read_table
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.console import counted, in_words
from mixlab.show.report import Field, Getter, Output, Page, Report, amount, group, rows, show, text

VIEW = viewing(finish="matt")
"""As instruments read paint, with what its surface reflects."""

SAMPLE = text("sample", "name of the drawdown")
MIXTURE = text("mixture", "what was drawn down, as it was written")
SURFACE = text("surface", "which reading of it: over-white, over-black or opaque")


def misses(key: str, meaning: str, get: Getter) -> Field:
    """Declare mean, median and largest of misses, and how many there are; nothing without any."""
    return group(
        key,
        (
            amount("mean", "CIEDE2000", "mean of the misses", np.mean),
            amount("median", "CIEDE2000", "median of the misses", np.median),
            amount("largest", "CIEDE2000", "largest of the misses", np.max),
            amount("count", "drawdowns", "how many there are", len),
        ),
        meaning,
        lambda made: found if len(found := get(made)) else None,
    )


THICKNESS = amount("thickness", "1 / S of the table's white", "of the film; nothing if opaque")
READINGS = rows(
    "readings",
    (SAMPLE, MIXTURE, SURFACE, fields.MISS.but(meaning="from the reading to the prediction"),
     THICKNESS),
    "the drawdowns in the order of the file",
    lambda made: made[0],
)  # fmt: skip
OUTPUT = Output(
    "predict",
    (misses("misses", "of all drawdowns", lambda made: np.array([p.miss for p in made[0]])),
     READINGS),
    csv=READINGS,
)  # fmt: skip


Samples = Annotated[
    str | None,
    typer.Option(metavar="FILE", help="CSV that says what the instrument's readings are of."),
]


def predict(
    table: Annotated[str, typer.Argument(metavar="TABLE", help="Pigment table, a CSV file.")],
    readings: Annotated[
        str,
        typer.Argument(metavar="READINGS", help="Reflectance of drawdowns: CSV, CGATS.17 or CxF3."),
    ],
    samples: Samples = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Say how well a table predicts readings of mixes of its paints.

    The miss is over the white ground. The thickness of a film, which nobody measured, is the one
    that agrees best with all grounds that it was read over.
    """
    from mixlab.measure.predictions import predict as predictions_of
    from mixlab.measure.readings import read_readings

    known, given = read_table(table), read_readings(readings, samples)
    made = predictions_of(known, given), (*known.notes, *given.notes)
    show(Report(OUTPUT, made, _tell, VIEW), json, csv)


_FIELDS = (
    fields.MISS.shown("miss", ".2f"),
    SAMPLE.shown("sample"),
    MIXTURE.shown("mixture"),
    THICKNESS.shown("film", lambda x: "opaque" if math.isinf(x) else f"{x:.3g}", right=False),
)  # fmt: skip


def _tell(page: Page, results: tuple[Any, ...]) -> None:
    """Lay out predictions, the worst last so that it stands by the summary."""
    made, notes = results
    for i, note in enumerate(notes):
        page.entry("" if i else "Notes", note)
    page.light(VIEW)
    page.head(f"Predictions of {counted(len(made), 'drawdown')}")
    page.table(_FIELDS, sorted(made, key=lambda p: p.miss))
    page.line("  Film: its thickness in units of 1 / S of the table's white.", hang=2)
    page.line()
    page.entry("Miss", in_words(np.array([p.miss for p in made])))
    others = [p.sample for p in made if p.surface != "over-white"]
    if others:
        page.entry("", f"not read over white: {', '.join(others[:8])}"
                   + (f" and {len(others) - 8} more" if len(others) > 8 else ""))  # fmt: skip
