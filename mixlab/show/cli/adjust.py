"""``mixlab adjust``: knock a mix back, clean it up, lighten, darken, warm or cool it."""


from collections.abc import Iterator
from typing import Annotated, Any

import typer

from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import lab_to_hex, lab_to_lch, lab_to_munsell, viewing
from mixlab.files import csv_text, write_whole
from mixlab.mixing.adjust import LARGEST, MOST_KINDS, SMALLEST_PART, Adjustment
from mixlab.mixing.adjust import adjust as adjusted
from mixlab.mixing.goals import Tolerances
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import read_table
from mixlab.show.cli import options
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.page import Page, counted, number, numbers, print_json
from mixlab.show.plots import style
from mixlab.show.words import in_words

_WITHIN = Tolerances()


def adjust(
    mix: options.Mix,
    chroma: Annotated[
        float | None, typer.Option(help="Knock back, or clean up, to this Munsell chroma.")
    ] = None,
    chroma_by: Annotated[
        float | None, typer.Option(help="The same by so much: -3 knocks it back by 3.")
    ] = None,
    value: Annotated[
        float | None, typer.Option(help="Lighten or darken to this Munsell value.")
    ] = None,
    value_by: Annotated[float | None, typer.Option(help="The same by so much.")] = None,
    warmer: Annotated[
        float | None, typer.Option(help="Warm it, toward orange, by so much [CIEDE2000].")
    ] = None,
    cooler: Annotated[
        float | None, typer.Option(help="Cool it, away from orange, by so much [CIEDE2000].")
    ] = None,
    palette: Annotated[
        str | None,
        typer.Option(
            help="Tubes that may be added: a bundled palette or a TOML file; 'studio' unless "
            "given, or all paints of a --table."
        ),
    ] = None,
    kinds: Annotated[int, typer.Option(help="Greatest number of paints added, 1 to 3.")] = (
        MOST_KINDS
    ),
    finest: Annotated[
        float, typer.Option(help="The finest part that you measure: 0.25, or 1 for whole parts.")
    ] = SMALLEST_PART,
    most: Annotated[
        float, typer.Option(help="Greatest addition, in times of the pile.")
    ] = LARGEST,
    value_within: Annotated[
        float, typer.Option(help="How near value must come [Munsell].")
    ] = _WITHIN.value,
    chroma_within: Annotated[
        float, typer.Option(help="How near chroma must come [Munsell].")
    ] = _WITHIN.chroma,
    hue_within: Annotated[
        float, typer.Option(help="How near hue must come [hue part of CIEDE2000].")
    ] = _WITHIN.hue,
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    plot: options.Plot = None,
    csv: options.Csv = None,
    json: options.Json = False,
) -> None:
    """Change a mix on the palette by adding to it: chroma, value, or warmth.

    Give one of --chroma, --chroma-by, --value, --value-by, --warmer, --cooler. What is not asked
    to change is kept.
    """
    view, known = viewing(light, observer), read_table(table)
    start = options.read_mix(known, mix, view)
    tubes = options.tubes_at_hand(palette, table, known)
    if plot is not None:
        style.checked(plot)
    made = adjusted(
        start, tubes, chroma=chroma, chroma_by=chroma_by, value=value, value_by=value_by,
        warmer=warmer, cooler=cooler, within=Tolerances(value_within, chroma_within, hue_within),
        smallest_part=finest, largest=most, kinds=kinds,
    )  # fmt: skip
    if plot is not None:
        from mixlab.show.plots.distance import path

        labs = [mixture.lab for _, _, mixture in _stages(made)]
        names = ["the pile", *(f"+ {a.parts:g} {a.paint.id}" for a in made.additions)]
        title = f"{' and '.join(made.goal.words).capitalize()} {start}"
        style.save(path(labs, made.goal.lab, view, names, title), plot)
    if csv is not None:
        write_whole(csv, csv_text(_COLUMNS, _rows(made)))
    if json:
        print_json(as_json(made, tubes.name))
    else:
        show(Page(), made, tubes.name)


def _stages(made: Adjustment) -> Iterator[tuple[str, float, Mixture]]:
    """Return the pile, and the pile after each addition: what was added, parts, mix."""
    yield "", sum(made.pile.amounts), made.pile
    for addition in made.additions:
        yield addition.paint.id, addition.parts, addition.mixture


# --- for a person -------------------------------------------------------------------------------


def show(page: Page, made: Adjustment, palette: str) -> None:
    """Print an adjustment."""
    view, goal = made.start.view, made.goal
    page.entry("Mix", str(made.start))
    page.entry("", f"{made.start.munsell}   {made.start.hex}", made.start.hex)
    page.entry("Wanted", f"{' and '.join(goal.words)} to {write_munsell(goal.munsell)}")
    page.entry("Palette", palette)
    page.entry("Light", f"{view.light}, {view.observer} degree observer")
    said = in_words(made)
    if said:
        page.head("There" if made.within_tolerance else "Out of reach of any addition")
        for sentence in said:
            page.line(f"  {sentence}", hang=2)
    if made.parts:
        page.head("Add" if made.within_tolerance else "The least harmful addition")
        page.line("  " + _pile(made), hang=2)
        rows = [("", "parts", "", "Munsell", "hex", "L*", "C*", "h")]
        for i, (id, parts, mixture) in enumerate(_stages(made)):
            lightness, chroma, hue = mixture.lch
            rows.append((
                f"{i}." if i else "", f"{parts:g}", id or "the pile", mixture.munsell, mixture.hex,
                f"{lightness:.1f}", f"{chroma:.1f}", f"{hue:.0f}",
            ))  # fmt: skip
        page.table(rows, right="01567", hexes=[None, *(m.hex for _, _, m in _stages(made))])
        for addition in made.additions:
            page.line(f"  {addition.paint.id} by itself {' and '.join(addition.effect)}.", hang=4)
        value, chroma, hue = made.off
        turn = "" if made.turn != made.turn else f", {made.turn + 0.0:+.0f} degrees"
        page.line(
            f"  Off by {value + 0.0:+.2f} value, {chroma + 0.0:+.2f} chroma (Munsell), "
            f"{hue + 0.0:+.1f} in hue (CIEDE2000{turn}); miss {made.miss:.1f}. Added: "
            f"{100 * made.share:.0f} % of the pile.",
            hang=2,
        )
        page.line(f"  In all: {made.mixture}", hang=4)
    others = [
        one for one in made.by_kinds
        if not made.within_tolerance or len(one.parts) < len(made.parts)
    ]  # fmt: skip
    if len(others) > 1:
        page.head("The nearest with fewer kinds of paint" if made.within_tolerance
                  else "The nearest, by kinds of paint added")  # fmt: skip
        lines: list[tuple[str, ...]] = [("kinds", "value", "chroma", "hue", "add")]
        lines += [(str(len(one.parts)), *_offs(one), _added(one)) for one in others]
        page.table(lines, right="0123")
        page.line("  Off in value and chroma (Munsell) and in hue (CIEDE2000).", hang=2)
    show_care(page, made.mixture)


def _pile(made: Adjustment) -> str:
    if made.times == 1:
        return "To the pile as it stands:"
    parts = counted(sum(made.pile.amounts), "part")
    return f"To {parts} of the pile, {made.times} times the mix as given:"


def _offs(made: Adjustment) -> tuple[str, ...]:
    value, chroma, hue = made.off + 0.0
    return f"{value:+.2f}", f"{chroma:+.2f}", f"{hue:+.1f}"


def _added(made: Adjustment) -> str:
    if not made.parts:
        return "the mix as it is"
    added = " + ".join(f"{n:g} {id}" for id, n in made.parts.items())
    return added if made.times == 1 else f"{added} to {made.times} times the mix"


# --- for a program ------------------------------------------------------------------------------

_COLUMNS = (
    "step", "paint", "parts", "mix", "value", "chroma", "munsell", "L", "a", "b", "C", "h", "hex",
    "in_gamut",
)  # fmt: skip


def _rows(made: Adjustment) -> Iterator[list[object]]:
    """Return the rows of the CSV: the pile, then one an addition."""
    for i, (id, parts, mixture) in enumerate(_stages(made)):
        _, value, chroma = lab_to_munsell(mixture.lab, mixture.view)
        yield [
            i, id or "the pile", number(parts), str(mixture), number(value), number(chroma),
            mixture.munsell, *numbers(mixture.lab), *numbers(mixture.lch[1:]), mixture.hex,
            mixture.in_gamut,
        ]  # fmt: skip


def as_json(made: Adjustment, palette: str) -> dict[str, Any]:
    """Return an adjustment for JSON."""
    view, goal, fresh = made.start.view, made.goal, made.fresh_recipe
    return {
        "mix": made.start.parts,
        "palette": palette,
        "light": view.light,
        "observer": view.observer,
        "start": _colour(made.start),
        "goal": {
            "words": list(goal.words),
            "munsell": write_munsell(goal.munsell),
            "value": number(goal.munsell[1]),
            "chroma": number(goal.munsell[2]),
            "lab": numbers(goal.lab),
            "lch": numbers(lab_to_lch(goal.lab)),
            "hex": lab_to_hex(goal.lab, view),
        },
        "within": {"value": made.within.value, "chroma": made.within.chroma,
                   "hue": made.within.hue},
        "reached": made.within_tolerance,
        **_result(made),
        "steps": [
            {"paint": a.paint.id, "parts": a.parts, "effect": list(a.effect), **_colour(a.mixture)}
            for a in made.additions
        ],
        "said": in_words(made),
        "beyond": number(made.beyond) if made.beyond is not None else None,
        "afresh": fresh.recipe.parts if fresh and fresh.in_reach else None,
        "by_kinds": [{"reached": one.within_tolerance, **_result(one)} for one in made.by_kinds],
    }  # fmt: skip


def _result(made: Adjustment) -> dict[str, Any]:
    value, chroma, hue = made.off
    return {
        "times": made.times,
        "pile": made.pile.parts,
        "added": made.parts,
        "share": number(made.share),
        "result": {"parts": made.mixture.parts, **_colour(made.mixture)},
        "off": {"value": number(value), "chroma": number(chroma), "hue": number(hue),
                "degrees": number(made.turn)},
        "miss": number(made.miss),
    }  # fmt: skip


def _colour(mixture: Mixture) -> dict[str, Any]:
    _, value, chroma = lab_to_munsell(mixture.lab, mixture.view)
    return {
        "munsell": mixture.munsell, "value": number(value), "chroma": number(chroma),
        "lab": numbers(mixture.lab), "lch": numbers(mixture.lch), "hex": mixture.hex,
        "in_gamut": mixture.in_gamut,
    }  # fmt: skip
