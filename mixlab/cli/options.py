"""Options that several commands share, and what they mean."""

import os
from collections.abc import Callable
from functools import wraps
from typing import Annotated, Any

import typer

from mixlab.colorimetry import Viewing
from mixlab.errors import MixlabError
from mixlab.files import writable
from mixlab.mixtures import Mixture
from mixlab.tables import Palette, PigmentTable, read_palette, read_table

DEFAULT_PALETTE = "studio"
_WRITTEN = ("out", "csv", "plot", "preview", "recipes", "miss")


def apart(command: Callable[..., None], added_to: str = "") -> Callable[..., None]:
    """Return a command that refuses, before any work, to write over what it reads or writes.

    `added_to` is the option whose file may be the one that is written, as it is added to.
    """

    @wraps(command)
    def careful(**given: Any) -> None:
        texts = {name: value for name, value in given.items() if isinstance(value, str)}
        for name in _WRITTEN:
            path = texts.get(name, "")
            if not path or (os.path.exists(path) and not os.path.isfile(path)):
                continue
            real = os.path.realpath(path)
            for other, value in texts.items():
                if other not in (name, added_to) and os.path.realpath(value) == real:
                    does = "written as well" if other in _WRITTEN else "read"
                    raise MixlabError(
                        f"--{name} {path}: this file is {does} ({other}); name another"
                    )
        command(**given)

    return careful


def placed(path: str | None) -> str | None:
    """Return the path of a file to be written; MixlabError, before any work, if it cannot be."""
    if path is not None:
        writable(path, MixlabError)
    return path


def tubes_at_hand(palette: str | None, table: str | None) -> Palette:
    """Return a palette; all paints of a table of the painter's own where none is named."""
    known = read_table(table)
    if palette is None and table is not None:
        return known.palette(known.ids, "all of the table")
    return read_palette(DEFAULT_PALETTE if palette is None else palette, known)


Light = Annotated[
    str, typer.Option(help="CIE light: D65, D50, D75, A, C, FL2, FL11, LED-B1 .. LED-V2.")
]
Observer = Annotated[str, typer.Option(help="CIE observer, 2 or 10 degrees.")]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object and nothing else.")]
Table = Annotated[
    str | None, typer.Option(help="Pigment table, a CSV file; the bundled one unless given.")
]
PaletteName = Annotated[
    str, typer.Option(help="Bundled palette by name (see 'mixlab paints'), or a TOML file.")
]
AtHand = Annotated[
    str | None,
    typer.Option(
        "--palette", help="Bundled palette by name (see 'mixlab paints'), or a TOML file; "
        f"'{DEFAULT_PALETTE}' unless given, or all paints of a --table.",
    ),
]  # fmt: skip
Tubes = Annotated[int, typer.Option(help="Greatest number of tubes in a mix, 1 to 6.")]
Tolerance = Annotated[float, typer.Option(help="Miss that passes for the colour [CIEDE2000].")]
Parts = Annotated[int, typer.Option(help="Greatest total of whole parts.")]
Plot = Annotated[
    str | None, typer.Option(metavar="FILE", help="Draw the report to a .png or .svg file.")
]
GreyReflectance = Annotated[
    float, typer.Option(help="Of the neutral place: 0.18 for a grey card, 0.85 for white paper.")
]
Csv = Annotated[
    str | None,
    typer.Option(metavar="FILE", callback=placed, help="Write the rows to a CSV file."),
]
Mix = Annotated[
    list[str],
    typer.Argument(metavar="MIX", help='A paint, or a mix such as "3 burnt-sienna + 1 PB29".'),
]


def read_mix(known: PigmentTable | Palette, text: str | list[str], view: Viewing) -> Mixture:
    """Return the mix that was typed; a paint by itself stands for one part of it."""
    text = text if isinstance(text, str) else " ".join(text)
    text = text.strip()
    alone = text in known or len(text.split()) == 1
    return known.mix({text: 1.0} if alone else text, view)
