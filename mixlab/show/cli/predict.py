"""``mixlab predict``: how well a pigment table predicts readings that it was not fitted to."""


import math
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np
import typer

from mixlab.files import csv_text, write_whole
from mixlab.paint.tables import read_table
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, counted, in_words, number, print_json, summary

if TYPE_CHECKING:
    from mixlab.measure.drawdowns import Prediction


def predict(
    table: Annotated[str, typer.Argument(metavar="TABLE", help="Pigment table, a CSV file.")],
    readings: Annotated[
        str,
        typer.Argument(
            metavar="READINGS", help="Reflectance of drawdowns: CSV, CGATS.17 or CxF3."
        ),
    ],
    samples: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="CSV that says what the instrument's readings are of."),
    ] = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Say how well a table predicts readings of mixes of its paints.

    The miss is over the white ground. The thickness of a film, which nobody measured, is the one
    that agrees best with all grounds that it was read over.
    """
    from mixlab.measure.drawdowns import predict as said
    from mixlab.measure.readings import read_readings

    known, given = read_table(table), read_readings(readings, samples)
    made = said(known, given)
    if csv is not None:
        rows = [[p.sample, p.mixture, p.surface, number(p.miss), number(p.thickness)] for p in made]
        write_whole(csv, csv_text(["sample", "mixture", "surface", "miss", "thickness"], rows))
    if json:
        print_json(as_json(made))
    else:
        show(Page(), made, [*known.notes, *given.notes])


def as_json(made: "tuple[Prediction, ...]") -> dict[str, Any]:
    """Return predictions, for JSON."""
    return {
        **summary(np.array([p.miss for p in made])),
        "readings": [
            {
                "sample": p.sample,
                "mixture": p.mixture,
                "miss": number(p.miss),
                "surface": p.surface,
                "thickness": number(p.thickness),
            }
            for p in made
        ],
    }


def show(page: Page, made: "tuple[Prediction, ...]", notes: list[str]) -> None:
    """Print predictions, the worst last so that it stands by the summary."""
    for i, note in enumerate(notes):
        page.entry("" if i else "Notes", note)
    page.head(f"Predictions of {counted(len(made), 'drawdown')}")
    page.table(
        [("miss", "sample", "mixture", "film")]
        + [
            (f"{p.miss:.2f}", p.sample, p.mixture,
             "opaque" if math.isinf(p.thickness) else f"{p.thickness:.3g}")
            for p in sorted(made, key=lambda p: p.miss)
        ],
        right="0",
    )  # fmt: skip
    page.line("  Film: its thickness in units of 1 / S of the table's white.", hang=2)
    misses = np.array([p.miss for p in made])
    page.line()
    page.entry("Miss", in_words(misses))
    others = [p.sample for p in made if p.surface != "over-white"]
    if others:
        page.entry("", f"not read over white: {', '.join(others[:8])}"
                   + (f" and {len(others) - 8} more" if len(others) > 8 else ""))  # fmt: skip
