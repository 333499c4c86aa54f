"""``mixlab lights``: mixes under other lights."""


from collections.abc import Iterator
from typing import Annotated, Any

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex, viewing
from mixlab.errors import LightError
from mixlab.files import csv_text, write_whole
from mixlab.mixing.constancy import PARTS, PLACES, STRAINED, Constancy, Pair, constancy, light_of
from mixlab.mixing.ladders import EVEN, ladder
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import read_table
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, number, numbers, print_json
from mixlab.show.plots import style
from mixlab.targets.one import from_text

MATCH = 5.0
"""Two mixes that are nearer than this under the reference light are called a match [CIEDE2000]."""

_PARTED = 1.0  # CIEDE2000 from which a match is said to part


def lights(
    mixes: Annotated[
        list[str] | None,
        typer.Argument(metavar="[MIX]...", help="Mixes or paints, each in quotation marks."),
    ] = None,
    match: Annotated[
        str | None,
        typer.Option(metavar="COLOUR", help="Compare the palette's recipes for this colour."),
    ] = None,
    toward: Annotated[
        str | None,
        typer.Option(metavar="MIX", help="Compare the steps of a ladder from the mix to this one."),
    ] = None,
    steps: options.Steps = 5,
    even: options.Even = EVEN[2],
    under: Annotated[
        str, typer.Option(help=f"Places or CIE lights. Places: {', '.join(PLACES)}.")
    ] = "north-shade,noon,tungsten,gallery-led",
    palette: options.AtHand = None,
    tolerance: options.Tolerance = TOLERANCE,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Show what other lights do to mixes: which hold, which shift, which pairs part.

    Give mixes; or one mix and --toward another, for the ladder between them; or a colour with
    --match, for the palette's recipes of it.
    """
    if plot is not None:
        style.checked(plot)
    reference, known = viewing(light, observer), read_table(table)
    seen = [light_of(name, observer) for name in under.split(",")]
    if (match is None) == (not mixes):
        raise LightError("give mixes, each in quotation marks, or --match COLOUR")
    if toward is not None and (mixes is None or len(mixes) != 1):
        raise LightError("--toward makes a ladder from one mix; give that mix in quotation marks")
    if match is not None:
        target = from_text(match, reference)
        answer = find_recipe(
            target.lab, options.tubes_at_hand(palette, table, known), tolerance, view=reference,
            alternatives=5,
        )  # fmt: skip
        found = [answer.recipe, *answer.alternatives]
        made = [recipe.mixture for recipe in found]
    else:
        made = [options.read_mix(known, mix, reference) for mix in mixes or ()]
    if toward is not None:
        end = options.read_mix(known, toward, reference)
        made = [step.mixture for step in ladder(made[0], end, steps, even).whole]
    told = constancy(made, seen, reference)
    names = [name.strip() for name in under.split(",")]
    if plot is not None:
        from mixlab.show.plots import constancy as pictures

        style.save(pictures.under_lights(told, names), plot)
    if csv is not None:
        write_whole(csv, csv_text(_COLUMNS, _rows(told)))
    if json:
        print_json(as_json(told, names))
    else:
        show(Page(), told, names)


def show(page: Page, told: Constancy, names: list[str]) -> None:
    """Print mixes under lights, and the pairs that part."""
    view = told.reference
    page.entry("Mixed for", f"{view.light}, {view.observer} degree observer")
    page.entry("Seen under", ", ".join(
        name if name.upper() == light.light.upper() else f"{name} ({light.light})"
        for name, light in zip(names, told.lights, strict=True)
    ))  # fmt: skip
    page.head("How far each mix shifts, an eye at home in the light [CIEDE2000]")
    rows = [("", *names, "mix")]
    hexes: list[str | None] = [None]
    for i in told.order:
        shifts = (f"{shift:.1f}" for shift in told.inconstancy[:, i])
        rows.append((f"{i + 1}.", *shifts, str(told.mixtures[i])))
        hexes.append(lab_to_hex(told.home[i], view))
    page.table(rows, right="".join(map(str, range(len(names) + 1))), hexes=hexes)
    page.head("Which part moves most: value, chroma or hue [CIEDE2000]")
    rows = [("", *names)]
    for i in range(len(told.mixtures)):
        rows.append((f"{i + 1}.", *(_moved(told, n, i) for n in range(len(names)))))
    page.table(rows)
    if not told.pairs:
        return
    page.head("Which keep their relations")
    for n, name in enumerate(names):
        said = [
            f"{i + 1} parts from {', '.join(str(j + 1) for j in others)}"
            for i, others in told.parted(n)
        ]
        page.entry(f"  {name}", "; ".join(said) or "all", indent=4 + max(map(len, names)))
    page.line(f"  Kept: the order of value, and what lies between two to {STRAINED:g} CIEDE2000.",
              hang=2)  # fmt: skip
    page.head("What lies between two of them [CIEDE2000]")
    rows = [("pair", view.light, *names, "")]
    for pair in told.pairs[:12]:
        after = (f"{d:.1f}" for d in pair.after)
        rows.append((f"{pair.one + 1} and {pair.other + 1}", f"{pair.before:.1f}", *after,
                     _verdict(pair)))  # fmt: skip
    page.table(rows, right="".join(map(str, range(1, len(names) + 2))))
    matches = [pair for pair in told.pairs if pair.before < MATCH][:12]
    if matches:
        page.head("Metameric pairs: special metamerism index [CIEDE2000]")
        rows = [("pair", *names)]
        rows += [
            (f"{p.one + 1} and {p.other + 1}", *(f"{m:.1f}" for m in p.metamerism)) for p in matches
        ]
        page.table(rows, right="".join(map(str, range(1, len(names) + 1))))


def _moved(told: Constancy, n: int, i: int) -> str:
    part = told.part[n][i]
    return f"{part} {told.shift[n, i, PARTS.index(part)]:+.1f}" if part else "-"


def _verdict(pair: Pair) -> str:
    if pair.swapped.any():
        return "value order turns"
    if pair.before < MATCH and pair.strain >= _PARTED:
        return "a match that parts"
    return "parts" if pair.strain >= STRAINED else "holds"


_COLUMNS = (
    "mix", "light", "value", "L", "a", "b", "inconstancy", "shift_value", "shift_chroma",
    "shift_hue", "keeps_relations",
)  # fmt: skip


def _rows(told: Constancy) -> Iterator[list[object]]:
    for i, mixture in enumerate(told.mixtures):
        yield [str(mixture), told.reference.light, number(told.value[0, i]),
               *numbers(told.home[i]), 0.0, 0.0, 0.0, 0.0, True]  # fmt: skip
        for n, light in enumerate(told.lights):
            yield [str(mixture), light.light, number(told.value[n + 1, i]),
                   *numbers(told.lab[n, i]), number(told.inconstancy[n, i]),
                   *numbers(told.shift[n, i]), bool(told.keeps[n, i])]  # fmt: skip


def as_json(told: Constancy, names: list[str]) -> dict[str, Any]:
    """Return mixes under lights for JSON."""

    def mix(i: int, mixture: Mixture) -> dict[str, Any]:
        return {
            "parts": mixture.parts,
            "lab": numbers(told.home[i]),
            "value": number(told.value[0, i]),
            "under": {
                name: {
                    "lab": numbers(told.lab[n, i]),
                    "value": number(told.value[n + 1, i]),
                    "inconstancy": number(told.inconstancy[n, i]),
                    "shift": dict(zip(PARTS, numbers(told.shift[n, i]), strict=True)),
                    "part": told.part[n][i] or None,
                    "keeps_relations": bool(told.keeps[n, i]),
                }
                for n, name in enumerate(names)
            },
        }  # fmt: skip

    return {
        "reference": told.reference.light,
        "observer": told.reference.observer,
        "lights": {name: light.light for name, light in zip(names, told.lights, strict=True)},
        "mixes": [mix(i, mixture) for i, mixture in enumerate(told.mixtures)],
        "most_constant_first": told.order,
        "parted": {
            name: [{"mix": i, "from": others} for i, others in told.parted(n)]
            for n, name in enumerate(names)
        },
        "pairs": [
            {
                "mixes": [pair.one, pair.other],
                "before": number(pair.before),
                "after": numbers(pair.after),
                "metamerism": numbers(pair.metamerism),
                "value_order_turns": [bool(s) for s in pair.swapped],
            }
            for pair in told.pairs
        ],
    }
