"""``mixlab paints``: the pigment table, one paint, or a check of a file."""


import math
from pathlib import Path
from typing import Annotated, Any

import typer

from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import WAVELENGTHS, lab_to_munsell
from mixlab.errors import CheckError, MixlabError
from mixlab.paint.paints import Paint
from mixlab.paint.tables import PigmentTable, palette_names, read_palette, read_table
from mixlab.paint.trust import about, grade
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, counted, lab_text, number, numbers, print_json


def paints(
    paint: Annotated[
        str | None, typer.Argument(metavar="[PAINT]", help="Id or Colour Index name: show it.")
    ] = None,
    check: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Check a pigment table (CSV) or a palette (TOML)."),
    ] = None,
    table: options.Table = None,
    json: options.Json = False,
) -> None:
    """List the paints of the table and the palettes, show one paint, or check a file.

    'mixlab paints add PAINT ID' puts one under your own name, at your tube's strength.
    """
    if check is not None:
        _check(check, table, json)
        return
    known = read_table(table)
    if paint is None:
        _list_json(known) if json else _list(Page(), known)
        return
    one = known[paint]
    print_json(_paint_json(known, one, curves=True)) if json else _show(Page(), known, one)


def _check(file: str, table: str | None, json: bool) -> None:
    notes: tuple[str, ...] = ()
    known = read_table(table) if Path(file).suffix.lower() == ".toml" else None
    try:
        if known is not None:
            kind, paints = "palette", read_palette(file, known).ids
        else:
            checked = read_table(file)
            kind, paints, notes = "pigment table", checked.ids, checked.notes
    except MixlabError as error:
        raise CheckError(str(error), error.faults) from None
    if json:
        print_json({"file": file, "kind": kind, "paints": paints, "notes": list(notes)})
        return
    print(f"{file}: a {kind} of {counted(len(paints), 'paint')}, nothing wrong")
    for note in notes:
        print(note)


def _list(page: Page, table: PigmentTable) -> None:
    rows = [("paint", "index", "covers", "tint", "basis", "Munsell")]
    hexes: list[str | None] = [None]
    for paint in table:
        masstone = table.mix({paint.id: 1.0})
        coarse = write_munsell(lab_to_munsell(masstone.lab, masstone.view), decimals=0)
        rows.append((
            paint.id, " ".join(paint.colour_index), paint.transparency,
            _strength(table, paint), f"{paint.basis or '-'} {_within(paint)}", coarse,
        ))  # fmt: skip
        hexes.append(masstone.hex)
    page.table(rows, right="3", hexes=hexes, indent=0)
    page.line()
    if table.white is not None:
        page.line(
            "Tint: tinting strength relative to ultramarine blue, one part in ten of "
            f"{table.white.id} (after ASTM D4838)."
        )
    page.line(
        "Basis: where the curves are from, and how near a prediction with them likely comes to "
        "the tube in your box [CIEDE2000]. Munsell: of the masstone. Cautions: 'mixlab paints "
        "PAINT'."
    )
    if unit := table.paints[0].unit:
        page.line(f"K and S stand in the unit of {unit}.")
    palettes = {name: read_palette(name) for name in palette_names()}
    held = {name: one for name, one in palettes.items() if set(one.ids) <= set(table.ids)}
    if not held:
        page.line("The bundled palettes name paints that this table does not hold.")
        return
    page.head("Palettes")
    for name, palette in held.items():
        page.entry(f"  {name}", palette.about, indent=17)
        page.line(" " * 17 + ", ".join(palette.ids), hang=17)


def _strength(table: PigmentTable, paint: Paint) -> str:
    strength = table.strength(paint)
    return "-" if math.isnan(strength) else f"{strength:.1f}"


def _within(paint: Paint) -> str:
    return "" if math.isnan(paint.uncertainty) else f"{max(1, round(paint.uncertainty))}"


def _show(page: Page, table: PigmentTable, paint: Paint) -> None:
    masstone = table.mix({paint.id: 1.0})
    page.entry("Paint", f"{paint.id}: {paint.name}")
    page.entry("Index", " ".join(paint.colour_index) or "-")
    page.entry("Masstone", f"{masstone.munsell}   {masstone.hex}", masstone.hex)
    page.entry("", lab_text(paint.lab))
    if table.white is not None and table.white is not paint:
        for parts in (1.0, 9.0, 49.0):
            tint = table.mix({paint.id: 1.0, table.white.id: parts})
            page.entry(f"Tint 1:{parts:.0f}", f"{tint.munsell}   {tint.hex}", tint.hex)
    ratio = masstone.contrast_ratio()
    coat = f"a coat ({paint.unit} just hides in it)" if paint.unit else "a coat"
    page.entry("Covers", f"{paint.transparency or 'not stated'}; contrast ratio {ratio:.2f} "
                         f"in {coat}")  # fmt: skip
    if not math.isnan(table.strength(paint)):
        page.entry("Strength", f"{_strength(table, paint)} times that of ultramarine blue, in a "
                               "tint of 1:9")  # fmt: skip
    page.entry("Basis", f"{paint.basis or 'not stated'}: {paint.source or 'no source'}")
    for what, miss in (("masstone", paint.masstone_miss), ("tints", paint.tint_miss)):
        if not math.isnan(miss):
            page.entry("", f"{what} within {max(miss, 0.01):.2f} CIEDE2000 of that")
    if math.isnan(paint.uncertainty):
        page.entry("Trust", "not known: no uncertainty is stated for it")
    else:
        page.entry(
            "Trust", f"{grade(paint.uncertainty)}: a prediction with it likely comes within "
            f"{about(paint.uncertainty)} of the tube in your box",
        )  # fmt: skip
    if paint.cautions:
        page.entry("Cautions", paint.cautions)


def _list_json(table: PigmentTable) -> None:
    print_json({
        "table": table.path,
        "paints": [_paint_json(table, paint, curves=False) for paint in table],
        "palettes": palette_names(),
    })  # fmt: skip


def _paint_json(table: PigmentTable, paint: Paint, curves: bool) -> dict[str, Any]:
    masstone = table.mix({paint.id: 1.0})
    content: dict[str, Any] = {
        "id": paint.id,
        "name": paint.name,
        "colour_index": list(paint.colour_index),
        "transparency": paint.transparency,
        "strength": number(table.strength(paint)),
        "basis": paint.basis,
        "source": paint.source,
        "masstone_miss": number(paint.masstone_miss),
        "tint_miss": number(paint.tint_miss),
        "uncertainty": number(paint.uncertainty, 1),
        "trust": grade(paint.uncertainty),
        "unit": paint.unit,
        "cautions": paint.cautions,
        "lab": numbers(paint.lab),
        "munsell": masstone.munsell,
        "hex": masstone.hex,
    }
    if curves:
        for quantity, curve in (("K", paint.K), ("S", paint.S)):
            content[quantity] = {
                f"{w:.0f}": number(v, 8) for w, v in zip(WAVELENGTHS, curve, strict=True)
            }
    return content
