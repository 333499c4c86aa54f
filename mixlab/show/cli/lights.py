"""``mixlab lights``: mixes under other lights."""

from collections.abc import Callable, Iterator
from functools import partial
from typing import Annotated, Any, NamedTuple

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import PLACES, viewing
from mixlab.errors import LightError
from mixlab.mixing.constancy import PARTS, STRAINED, Constancy, Pair, constancy
from mixlab.mixing.ladders import EVEN, ladder
from mixlab.mixing.recipes import find_recipe
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.options import option
from mixlab.show.plots.constancy import under_lights
from mixlab.show.report import (
    Field,
    Output,
    Page,
    amount,
    column,
    figures,
    numbers,
    rows,
    text,
    truth,
)
from mixlab.targets.one import from_text

MATCH = 5.0
"""Two mixes that are nearer than this under the reference light are called a match [CIEDE2000]."""

_PARTED = 1.0  # CIEDE2000 from which a match is said to part


class _Seen(NamedTuple):
    """A mix under a light: n counts the lights, i the mixes; n = -1 is what it was mixed for."""

    told: Constancy
    names: list[str]
    n: int
    i: int

    @property
    def light(self) -> tuple[str, str]:
        """The light as it was asked for, and its CIE name."""
        home = self.told.reference.light
        return (home, home) if self.n < 0 else (self.names[self.n], self.told.lights[self.n].light)

    @property
    def colour(self) -> fields.Colour:
        """The colour after adaptation, told under the light that it was mixed for."""
        labs = self.told.home if self.n < 0 else self.told.lab[self.n]
        return fields.Colour(labs[self.i], self.told.reference)

    def of(self, values: Any) -> Any:
        """Return what stands in (n, m, ..) for it; None under the light it was mixed for."""
        return None if self.n < 0 else values[self.n][self.i]


_SEEN = (
    text("name", "the light as it was asked for", lambda seen: seen.light[0]),
    text("under", "its CIE name", lambda seen: seen.light[1]),
    *fields.colour(lambda seen: seen.colour),
    amount("inconstancy", "CIEDE2000", "how far the mix shifts after adaptation",
           lambda seen: seen.of(seen.told.inconstancy)),
    numbers("shift", "CIEDE2000", "its parts: value, chroma, hue",
            lambda seen: seen.of(seen.told.shift),
            columns=("shift_value", "shift_chroma", "shift_hue")),
    text("part", "the part that moves most; null where none is seen to",
         lambda seen: seen.of(seen.told.part) or None),
    truth("keeps_relations", "to every other mix, in value order and difference",
          lambda seen: seen.of(seen.told.keeps)),
)  # fmt: skip


def _under(row: tuple[Constancy, list[str], int]) -> list[_Seen]:
    told, names, i = row
    return [_Seen(told, names, n, i) for n in range(len(names))]


def _each(found: tuple[Constancy, list[str]]) -> Iterator[tuple[Constancy, list[str], int]]:
    return ((*found, i) for i in range(len(found[0].mixtures)))


OUTPUT = Output(
    "lights",
    (
        rows("mixes",
             (*fields.mixture(lambda row: row[0].mixtures[row[2]]),
              *fields.colour(lambda row: row[0].mixtures[row[2]]),
              rows("seen", _SEEN, "the mix under each light", _under)),
             "the mixes, in the order given", _each),
        numbers("most_constant_first", "", "mixes, counted from 0", lambda found: found[0].order),
        rows("parted",
             (text("name", "the light as it was asked for", lambda row: row[0]),
              amount("mix_number", "", "counted from 0", lambda row: row[1]),
              numbers("parts_from", "", "mixes, counted from 0", lambda row: row[2])),
             "under which light which mix loses its relation to which",
             lambda found: [(name, i, others) for n, name in enumerate(found[1])
                            for i, others in found[0].parted(n)]),
        rows("pairs",
             (numbers("mix_numbers", "", "the two, counted from 0",
                      lambda pair: (pair.one, pair.other)),
              amount("before", "CIEDE2000", "between them under the light they were mixed for"),
              numbers("after", "CIEDE2000", "under each light, in the order given"),
              numbers("metamerism", "CIEDE2000", "special metamerism index under each light"),
              Field("value_order_turns", "truths", "under each light, in the order given",
                    get=lambda pair: pair.swapped)),
             "every two mixes, those that part most first", lambda found: found[0].pairs),
    ),
    csv=rows("rows",
             (*fields.mixture(lambda seen: seen.told.mixtures[seen.i]), *_SEEN),
             "a row a mix and light, the one that it was mixed for first",
             lambda found: [_Seen(told, names, n, i) for told, names, i in _each(found)
                            for n in range(-1, len(names))]),
)  # fmt: skip


@options.usual("palette", "plot", "csv")
def lights(
    usual: options.Usual,
    mixes: Annotated[
        list[str] | None,
        typer.Argument(metavar="MIX", help="Mixes or paints, each in quotation marks."),
    ] = None,
    match: Annotated[
        str | None, option("COLOUR", "Compare the palette's recipes for this colour.")
    ] = None,
    toward: Annotated[
        str | None, option("MIX", "Compare the steps of a ladder from the mix to this one.")
    ] = None,
    steps: options.Steps = 5,
    even: options.Even = EVEN[2],
    under: Annotated[
        str, typer.Option(help=f"Places or CIE lights. Places: {', '.join(PLACES)}.")
    ] = "north-shade,sunlight,tungsten,gallery-led",
    tolerance: options.Tolerance = TOLERANCE,
) -> None:
    """Show what other lights do to mixes: which hold, which shift, which pairs part.

    Give mixes; or one mix and --toward another, for the ladder between them; or a colour with
    --match, for the palette's recipes of it.
    """
    view, names = usual.view, [name.strip() for name in under.split(",")]
    seen = [viewing(name, view.observer, view.finish) for name in names]
    if (match is None) == (not mixes):
        raise LightError("give mixes, each in quotation marks, or --match COLOUR")
    if toward is None:
        options.only_with("--toward MIX", steps=steps != 5, even=even != EVEN[2])
    if match is None:
        options.only_with("--match COLOUR", tolerance=tolerance != TOLERANCE)
    if toward is not None and (mixes is None or len(mixes) != 1):
        raise LightError("--toward makes a ladder from one mix; give that mix in quotation marks")
    if match is not None:
        target = from_text(match, view)
        answer = find_recipe(target.lab, usual.tubes, tolerance, view=view, alternatives=5)
        made = [recipe.mixture for recipe in (answer.recipe, *answer.alternatives)]
    else:
        made = [usual.mix(mix) for mix in mixes or ()]
    if toward is not None:
        end = usual.mix(toward)
        made = [step.mixture for step in ladder(made[0], end, steps, even).whole]
    told = constancy(made, seen, view)
    usual.tell(OUTPUT, (told, names), _tell, lambda form: under_lights(told, names, form=form))


def _tell(page: Page, found: tuple[Constancy, list[str]]) -> None:
    told, names = found
    view = told.reference
    page.light(view, "Mixed for")
    page.entry("Seen under", ", ".join(
        name if name.upper() == light.light.upper() else f"{name} ({light.light})"
        for name, light in zip(names, told.lights, strict=True)
    ))  # fmt: skip
    home = [fields.Colour(lab, view).hex for lab in told.home]
    page.head("How far each mix shifts after adaptation to the light [CIEDE2000]")
    page.table(
        [figures("", lambda i: f"{i + 1}."),
         *_cells(names, lambda n, i: f"{told.inconstancy[n, i]:.1f}"),
         column("mix", lambda i: str(told.mixtures[i]))],
        told.order, hexes=[home[i] for i in told.order],
    )  # fmt: skip
    page.head("Which part moves most: value, chroma or hue [CIEDE2000]")
    page.table(
        [figures("", lambda i: f"{i + 1}."),
         *_cells(names, lambda n, i: _moved(told, n, i), right=False)],
        range(len(told.mixtures)),
    )  # fmt: skip
    if not told.pairs:
        return
    page.head("Which keep their relations")
    for n, name in enumerate(names):
        said = [
            f"{i + 1} loses that to {', '.join(str(j + 1) for j in others)}"
            for i, others in told.parted(n)
        ]
        page.entry(f"  {name}", "; ".join(said) or "all", indent=4 + max(map(len, names)))
    page.say(f"Kept: the order of value, and what lies between two to {STRAINED:g} CIEDE2000.")
    pair = column("pair", lambda pair: f"{pair.one + 1} and {pair.other + 1}")
    page.head("What lies between two of them [CIEDE2000]")
    page.table(
        [pair, figures(view.light, lambda pair: f"{pair.before:.1f}"),
         *_cells(names, lambda n, pair: f"{pair.after[n]:.1f}"),
         column("", _verdict)],
        told.pairs[:12],
    )  # fmt: skip
    if matches := [pair for pair in told.pairs if pair.before < MATCH][:12]:
        page.head("Metameric pairs: special metamerism index [CIEDE2000]")
        page.table(
            [pair, *_cells(names, lambda n, pair: f"{pair.metamerism[n]:.1f}")], matches
        )


def _cells(names: list[str], get: Callable[[int, Any], str], **more: Any) -> list[Field]:
    """Return a column of text alone for each light."""
    return [figures(name, partial(get, n), **more) for n, name in enumerate(names)]


def _moved(told: Constancy, n: int, i: int) -> str:
    part = told.part[n][i]
    return f"{part} {told.shift[n, i, PARTS.index(part)]:+.1f}" if part else "-"


def _verdict(pair: Pair) -> str:
    if pair.swapped.any():
        return "value order turns"
    grown, drawn = (pair.after - pair.before).max(), (pair.before - pair.after).max()
    if pair.before < MATCH and grown >= _PARTED:
        return "match parts"
    if grown < STRAINED:
        return "draws nearer" if drawn >= STRAINED else "holds"
    return "parts"
