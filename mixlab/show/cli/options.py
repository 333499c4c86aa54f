"""Options that several commands share, and what they mean."""

import os
from collections.abc import Callable, Iterator, Mapping
from functools import cached_property, wraps
from inspect import Parameter, signature
from typing import TYPE_CHECKING, Annotated, Any

import typer

from mixlab.colour.spaces import PLACES, viewing
from mixlab.errors import MixlabError, PaletteError
from mixlab.files import bundled
from mixlab.mixing.recipes import MOST_PAINTS
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette, PigmentTable, palette_names, read_palette, read_table
from mixlab.show.plots import style
from mixlab.show.plots.forms import Form, form_named
from mixlab.show.report import Output, Page, Report, show
from mixlab.targets.photos import GREY_CARD
from mixlab.writing import together, writable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

DEFAULT_PALETTE = "studio"
WRITTEN = ("out", "csv", "plot", "preview", "mark", "save", "pattern", "pages", "keep")
"""Options, of any command, that name a file to write."""

READ = (
    "table", "palette", "against", "readings", "samples", "targets", "spectrum", "photo", "file",
    "check", "places", "photos",
)  # fmt: skip
"""Options and arguments, of any command, that name a file to read."""


def apart(command: Callable[..., None], added_to: str = "") -> Callable[..., None]:
    """Return a command that writes all of its files or none.

    It refuses, before any work, what cannot be written, an empty name of a file, and to write over
    what it reads or writes. A link, or another way to the same place, is the same file; a pipe or
    a device is none. `added_to` is the option whose file may be the one that is written, as it is
    added to.
    """

    @wraps(command)
    def careful(**given: Any) -> None:
        for name in (*WRITTEN, *READ):
            if given.get(name) == "":
                raise MixlabError(f"the name that was given for {name} is empty; name a file")
        if given.get("form") is not None and not any(given.get(name) for name in _DRAWN):
            raise MixlabError("--for says what a picture is drawn for; name its file with --plot")
        written = {name: path for name in WRITTEN if (path := given.get(name)) is not None}
        for name, path in written.items():
            writable(path, MixlabError)
            if os.path.exists(path) and not os.path.isfile(path):
                continue
            for other, place in (*written.items(), *_read(given)):
                if other not in (name, added_to) and _same(path, place):
                    does = "written as well" if other in WRITTEN else "read"
                    raise MixlabError(
                        f"--{name} {path}: this file is {does} ({other}); name another"
                    )
        with together():
            command(**given)

    return careful


def _read(given: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Return what a command reads: the option, and the path of its file."""
    for name in READ:
        value = given.get(name)
        if name == "table" and name in given and not given.get("only"):
            yield name, str(bundled("paints.csv"))
        if name in ("palette", "against") and value in palette_names():
            yield name, str(bundled("palettes") / f"{value}.toml")
        elif isinstance(value, list):
            yield from ((name, one) for one in value)
        elif value is not None:
            yield name, value


def _same(one: str, other: str) -> bool:
    if os.path.exists(one) and os.path.exists(other):
        return os.path.samefile(one, other)
    try:
        return os.path.realpath(one) == os.path.realpath(other)
    except ValueError:  # a null character is in no file's name; who reads it says so
        return False


def only_with(needed: str, **given: bool) -> None:
    """Refuse options that were given without the one that they are for, `needed`."""
    for name, is_given in given.items():
        if is_given:
            raise MixlabError(f"--{name.replace('_', '-')} says nothing without {needed}")


def paints_at_hand(table: str | None, only: bool) -> PigmentTable:
    """Return the bundled table, the paints of a file before it, or those `only`."""
    if only and table is None:
        raise MixlabError("--only keeps to the paints of a file; name it with --table FILE")
    return read_table(table, with_bundled=not only)


def tubes_at_hand(palette: str | None, known: PigmentTable, only: bool) -> Palette:
    """Return a palette, with the painter's own tubes where it is a bundled one.

    Where none is named, the usual one; all paints of the file if it is those `only`.
    """
    if palette is None and only:
        return known.palette(known.ids, "all of the table")
    made = read_palette(DEFAULT_PALETTE if palette is None else palette, known)
    listed = set(made.ids)
    mine = [id for id in known.own if id not in listed]
    if not mine or palette not in (None, *palette_names()):
        return made
    and_mine = mine[0] if len(mine) == 1 else f"{len(mine)} tubes of your own"
    return known.palette([*mine, *made.ids], f"{made.name} and {and_mine}", made.about)


def option(metavar: str, help: str, *names: str) -> Any:
    """Declare an option by what stands for its value, and its help."""
    return typer.Option(*names, metavar=metavar or None, help=help)


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
    str | None,
    typer.Option(
        help="Pigment table of your own, a CSV file: its paints come before the bundled ones."
    ),
]
Only = Annotated[bool, typer.Option("--only", help="The paints of --table and no others.")]
PaletteName = Annotated[
    str, typer.Option(help="Bundled palette by name (see 'mixlab paints'), or a TOML file.")
]
AtHand = Annotated[
    str | None,
    typer.Option(
        "--palette", help="Bundled palette by name (see 'mixlab paints'), or a TOML file; "
        f"'{DEFAULT_PALETTE}' unless given. The tubes of a --table join a bundled one.",
    ),
]  # fmt: skip
Tubes = Annotated[int, typer.Option(help="Greatest number of tubes in a mix, 1 to 6.")]
Tolerance = Annotated[float, typer.Option(help="Miss that passes for the colour [CIEDE2000].")]
Parts = Annotated[int, typer.Option(help="Greatest total of whole parts.")]
Plot = Annotated[str | None, option("FILE", "Draw the report to a .png or .svg file.")]
For = Annotated[
    str | None,
    option("FORM", "What it is drawn for: print, an A4 page to pin up, readable in grey, which is "
           "usual; or screen, 16:9 for a class, one idea a picture.", "--for"),
]  # fmt: skip
GreyReflectance = Annotated[
    float, option("", "Reflectance of the grey place: 0.18 for a grey card, 0.85 for white paper.")
]
Grey = Annotated[str | None, option("X,Y", "A place known to be neutral: takes the cast out.")]
Key = Annotated[
    str,
    typer.Option(
        metavar="KEY", help="How a photo's range meets the paint's: fit; none; or 3 (low key) to 9 "
        "(high key), the value at which its middle is set.",
    ),
]  # fmt: skip
Scene = Annotated[
    str | None,
    typer.Option(
        metavar="DARK,LIGHT", help="The scene's darkest and lightest: two Munsell values, or two "
        "places x,y,x,y; else 0.5 % of the area lies beyond each.",
    ),
]  # fmt: skip
Radius = Annotated[float, typer.Option(help="Average over a disc of this radius [pixels].")]
Csv = Annotated[str | None, option("FILE", "Write the rows to a CSV file.")]
Family = Annotated[
    bool,
    typer.Option("--family", help="Mix all of it from as few tubes as hold it, so that it sits "
                 "together."),
]  # fmt: skip
Steps = Annotated[int, typer.Option(help="Steps of the ladder, both ends included.")]
Even = Annotated[
    str, typer.Option(help="What the steps are even in: value, parts, or difference (CIEDE2000).")
]
Mix = Annotated[
    list[str],
    typer.Argument(metavar="MIX", help='A paint, or a mix such as "3 burnt-sienna + 1 PB29".'),
]


# --- the usual options ----------------------------------------------------------------------------

_USUAL: dict[str, tuple[Any, Any]] = {
    "grey": (Grey, None),
    "grey_reflectance": (GreyReflectance, GREY_CARD),
    "key": (Key, "fit"),
    "scene": (Scene, None),
    "palette": (AtHand, None),
    "table": (Table, None),
    "only": (Only, False),
    "light": (Light, "D65"),
    "observer": (Observer, "2"),
    "finish": (Finish, "gloss"),
    "plot": (Plot, None),
    "form": (For, None),
    "csv": (Csv, None),
    "json": (Json, False),
}  # fmt: skip
_DRAWN = ("plot", "mark", "pattern")  # options that name a picture of our own
_PICTURE = ("grey", "grey_reflectance", "key", "scene")


class Usual:
    """What was said by the options that most commands end with, and where the answer goes.

    Attributes
    ----------
    view : light, observer and finish
    table : the pigment table
    palette : its name, if one was given
    plot : name of the picture, if one is wanted
    form : what it is drawn for
    grey, grey_reflectance, key, scene : how a photo is taken, see :mod:`mixlab.picture.key`
    """

    def __init__(
        self, table: str | None, only: bool, light: str, observer: str, finish: str, json: bool,
        palette: str | None = None, plot: str | None = None, form: str | None = None,
        csv: str | None = None,
        grey: str | None = None, grey_reflectance: float = GREY_CARD, key: str = "fit",
        scene: str | None = None,
    ) -> None:  # fmt: skip
        self.view, self.table = viewing(light, observer, finish), paints_at_hand(table, only)
        self.plot, self.csv, self._json = plot, csv, json
        self.form = form_named(form)
        self.palette, self._only = palette, only
        self.grey, self.grey_reflectance, self.key, self.scene = grey, grey_reflectance, key, scene
        if plot is not None:
            style.checked(plot)
        if palette is not None:
            _ = self.all_tubes  # refused, also where nothing is asked of it

    @cached_property
    def all_tubes(self) -> Palette:
        """The tubes at hand, however many."""
        return tubes_at_hand(self.palette, self.table, self._only)

    @property
    def tubes(self) -> Palette:
        """The tubes at hand, for what looks at all of them."""
        if len(self.all_tubes) > MOST_PAINTS:
            raise PaletteError(
                f"{self.all_tubes.name}: {len(self.all_tubes)} tubes are more than the "
                f"{MOST_PAINTS} that this can look at; name fewer with --palette"
            )
        return self.all_tubes

    def mix(self, typed: str | list[str]) -> Mixture:
        """Return the mix that was typed; a paint by itself stands for one part of it."""
        return self.table.mix(typed if isinstance(typed, str) else " ".join(typed), self.view)

    def tell(
        self, output: Output, made: Any, page: Callable[[Page, Any], None],
        draw: "Callable[[Form], Figure] | None" = None,
    ) -> None:  # fmt: skip
        """Draw the picture, write the CSV, and print what was made as JSON or on a page."""
        if self.plot is not None and draw is not None:
            style.save(draw(self.form), self.plot, self.view)
        show(Report(output, made, page, self.view), self._json, self.csv)


def usual(*more: str, **instead: Any) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command the table, how paint is seen, JSON; `more` of palette, plot, csv, picture.

    Its first parameter is the :class:`Usual` that they make; `instead` are other defaults.
    """
    left = {"palette", "plot", "csv", *_PICTURE} - {*more, *(_PICTURE if "picture" in more else ())}
    left |= {"form"} - {"form" for name in more if name == "plot"}
    names = [name for name in _USUAL if name not in left]

    def extend(command: Callable[..., None]) -> Callable[..., None]:
        def extended(**given: Any) -> None:
            common = Usual(**{name: given.pop(name) for name in names})
            command(common, **given)

        own = list(signature(command).parameters.values())[1:]
        shared = [
            Parameter(name, Parameter.KEYWORD_ONLY, default=instead.get(name, _USUAL[name][1]),
                      annotation=_USUAL[name][0])
            for name in names
        ]  # fmt: skip
        extended.__doc__, extended.__module__ = command.__doc__, command.__module__
        extended.__signature__ = signature(command).replace(  # type: ignore[attr-defined]
            parameters=[one.replace(kind=Parameter.KEYWORD_ONLY) for one in own] + shared
        )
        extended.__annotations__ = {one.name: one.annotation for one in (*own, *shared)}
        return extended

    return extend
