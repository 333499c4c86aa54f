"""Options that several commands share, and what they mean."""

from typing import Annotated

import typer

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
