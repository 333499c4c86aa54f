"""Options that several commands share, and what they mean."""

from typing import Annotated

import typer

from mixlab.colorimetry import Viewing
from mixlab.errors import MixlabError
from mixlab.files import writable
from mixlab.mixtures import Mixture
from mixlab.tables import Palette, PigmentTable


def placed(path: str | None) -> str | None:
    """Return the path of a file to be written; MixlabError, before any work, if it cannot be."""
    if path is not None:
        writable(path, MixlabError)
    return path


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
Tubes = Annotated[int, typer.Option(help="Greatest number of tubes in a mix, 1 to 6.")]
Tolerance = Annotated[float, typer.Option(help="Miss that passes for the colour [CIEDE2000].")]
Parts = Annotated[int, typer.Option(help="Greatest total of whole parts.")]
Plot = Annotated[
    str | None, typer.Option(metavar="FILE", help="Draw the report to a .png or .svg file.")
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
