"""Options that several commands share, and what they mean."""


import os
from collections.abc import Callable, Iterator, Mapping
from functools import wraps
from typing import Annotated, Any

import typer

from mixlab.colour.spaces import PLACES, Viewing
from mixlab.errors import MixlabError
from mixlab.files import bundled, writable
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette, PigmentTable, palette_names, read_palette, read_table

DEFAULT_PALETTE = "studio"
WRITTEN = ("out", "csv", "plot", "preview")
"""Options, of any command, that name a file to write."""

READ = (
    "table", "palette", "against", "readings", "samples", "targets", "spectrum", "photo", "file",
    "check",
)  # fmt: skip
"""Options and arguments, of any command, that name a file to read."""


def apart(command: Callable[..., None], added_to: str = "") -> Callable[..., None]:
    """Return a command that refuses, before any work, to write over what it reads or writes.

    A link, or another way to the same place, is the same file; a pipe or a device is none. Empty
    names of files are refused as well. `added_to` is the option whose file may be the one that is
    written, as it is added to.
    """

    @wraps(command)
    def careful(**given: Any) -> None:
        for name in (*WRITTEN, *READ):
            if given.get(name) == "":
                raise MixlabError(f"the name that was given for {name} is empty; name a file")
        written = {name: path for name in WRITTEN if (path := given.get(name)) is not None}
        for name, path in written.items():
            if os.path.exists(path) and not os.path.isfile(path):
                continue
            for other, place in (*written.items(), *_read(given)):
                if other not in (name, added_to) and _same(path, place):
                    does = "written as well" if other in WRITTEN else "read"
                    raise MixlabError(
                        f"--{name} {path}: this file is {does} ({other}); name another"
                    )
        command(**given)

    return careful


def _read(given: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Return what a command reads: the option, and the path of its file."""
    for name in READ:
        value = given.get(name)
        if name == "table" and name in given and value is None:
            yield name, str(bundled("paints.csv"))
        elif name in ("palette", "against") and value in palette_names():
            yield name, str(bundled("palettes") / f"{value}.toml")
        elif value is not None:
            yield name, value


def _same(one: str, other: str) -> bool:
    if os.path.exists(one) and os.path.exists(other):
        return os.path.samefile(one, other)
    return os.path.realpath(one) == os.path.realpath(other)


def placed(path: str | None) -> str | None:
    """Return the path of a file to be written; MixlabError, before any work, if it cannot be."""
    if path is not None:
        writable(path, MixlabError)
    return path


def tubes_at_hand(
    palette: str | None, table: str | None, known: PigmentTable | None = None
) -> Palette:
    """Return a palette; all paints of a table of the painter's own where none is named.

    `known` is the table where it was read already: a pipe can be read but once.
    """
    known = read_table(table) if known is None else known
    if palette is None and table is not None:
        return known.palette(known.ids, "all of the table")
    return read_palette(DEFAULT_PALETTE if palette is None else palette, known)


Light = Annotated[
    str,
    typer.Option(
        help=f"CIE light: D65, D50, D75, A, C, FL2, FL11, LED-B1 .. LED-V2; or {', '.join(PLACES)}."
    ),
]
Observer = Annotated[str, typer.Option(help="CIE observer, 2 or 10 degrees.")]
Finish = Annotated[
    str,
    typer.Option(
        help="How the paint is seen: gloss (wet, oiled out or varnished, the glare turned away), "
        "satin, or matt (as an instrument reads it)."
    ),
]
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
    float,
    typer.Option(
        help="Reflectance of the grey place: 0.18 for a grey card, 0.85 for white paper."
    ),
]
Csv = Annotated[
    str | None,
    typer.Option(metavar="FILE", callback=placed, help="Write the rows to a CSV file."),
]
Steps = Annotated[int, typer.Option(help="Steps of the ladder, both ends included.")]
Even = Annotated[
    str, typer.Option(help="What the steps are even in: value, parts, or difference (CIEDE2000).")
]
Mix = Annotated[
    list[str],
    typer.Argument(metavar="MIX", help='A paint, or a mix such as "3 burnt-sienna + 1 PB29".'),
]


def read_mix(known: PigmentTable | Palette, text: str | list[str], view: Viewing) -> Mixture:
    """Return the mix that was typed; a paint by itself stands for one part of it."""
    return known.mix(text if isinstance(text, str) else " ".join(text), view)
