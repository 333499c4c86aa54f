"""``mixlab paints``: the pigment table, one paint, or a check of a file."""

import math
from pathlib import Path
from typing import Annotated, Any

import typer

from mixlab.arrays import Array
from mixlab.colour.spaces import WAVELENGTHS, viewing
from mixlab.errors import CheckError, MixlabError
from mixlab.paint.paints import Paint
from mixlab.paint.pigments import index_base
from mixlab.paint.tables import PigmentTable, palette_names, read_palette, read_table
from mixlab.paint.trust import about, grade
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.console import counted, lab_text
from mixlab.show.cli.mix import hiding
from mixlab.show.cli.options import option
from mixlab.show.report import (
    Output,
    Page,
    Report,
    amount,
    by_name,
    column,
    figures,
    numbers,
    rows,
    show,
    text,
    texts,
)

_Seen = tuple[Paint, PigmentTable, fields.Colour]


def _by_wavelength(curve: Array) -> dict[str, float]:
    return {f"{w:.0f}": value for w, value in zip(WAVELENGTHS, curve, strict=True)}


UNCERTAINTY = amount("uncertainty", "CIEDE2000", "likely, of a prediction with the paint")
MASSTONE_MISS = amount("masstone_miss", "CIEDE2000", "from what the masstone was fitted to")
TINT_MISS = amount("tint_miss", "CIEDE2000", "the greatest, from what the tints were fitted to")
INDEX = texts("colour_index", "Colour Index names of its pigments")


def _of_pigment(row: Paint, fact: str) -> Any:
    """Return a fact of the pigment that light changes most; of a paint of one alone, but light."""
    known = row.pigments if fact.startswith("light") or len(row.pigments) == 1 else ()
    return getattr(known[0], fact) if known else ""


FACTS = (
    text("id", "id of the paint"),
    text("name", "common name"),
    INDEX,
    fields.OPACITY,
    text("label_class", "opaque .. transparent, as such tubes are labelled",
         lambda paint: paint.transparency),
    numbers("refractive_index", "", "of its one pigment, least and greatest",
            lambda paint: _of_pigment(paint, "refractive_index")),
    text("refractive_index_source", "who gives it",
         lambda paint: _of_pigment(paint, "index_source")),
    text("lightfastness", "I to V, doubtful or fugitive: of the pigment which light changes most",
         lambda paint: _of_pigment(paint, "lightfastness")),
    text("lightfastness_source", "who says so; the maker's label has the last word",
         lambda paint: _of_pigment(paint, "lightfastness_source")),
    text("basis", "fitted to published figures, modelled from facts, measured, or a mixture"),
    text("source", "where the figures or the facts come from"),
    MASSTONE_MISS,
    TINT_MISS,
    UNCERTAINTY,
    fields.TRUST.but(get=lambda paint: grade(paint.uncertainty)),
    text("unit", "id of the white in whose unit K and S stand; empty for titanium white"),
    text("caution", "what can hurt; the maker's safety data sheet has the last word",
         lambda paint: paint.cautions),
)  # fmt: skip
ABOUT = (
    *(fact.of(lambda row: row[0]) for fact in FACTS),
    amount("strength", "ultramarine blue's", "tinting strength, one part in ten of the first white",
           lambda row: row[1].strength(row[0])),
    *(field.of(lambda row: row[1].mix(row[0].id)) for field in (
        fields.CONTRAST.but(get=lambda mix: mix.contrast_ratio()), fields.LET_DOWN,
    )),
    *fields.colour(lambda row: row[2]),
)  # fmt: skip
TABLE = text("table", "file of the pigment table")
OUTPUT = Output(
    "paints",
    (
        TABLE.but(get=lambda table: table.path),
        rows("paints", ABOUT, "its paints, each with its masstone",
             lambda table: [_seen(paint, table) for paint in table]),
        texts("palettes", "names of the bundled palettes", lambda table: palette_names()),
    ),
)  # fmt: skip
ONE = Output(
    "paints",
    (
        *ABOUT,
        by_name("K", "1 / thickness", "absorption, by wavelength [nm]",
                lambda row: _by_wavelength(row[0].K), digits=8),
        by_name("S", "1 / thickness", "scattering, by wavelength [nm]",
                lambda row: _by_wavelength(row[0].S), digits=8),
    ),
)  # fmt: skip
CHECK = Output(
    "paints",
    (
        text("file", "what was checked"),
        text("kind", "pigment table or palette"),
        texts("ids", "ids of its paints"),
        fields.NOTES,
    ),
    colours=False,
)


def paints(
    paint: Annotated[
        str | None, typer.Argument(metavar="PAINT", help="Id or other name: show it.")
    ] = None,
    check: Annotated[
        str | None, option("FILE", "Check a pigment table (CSV) or a palette (TOML).")
    ] = None,
    table: options.Table = None,
    only: options.Only = False,
    json: options.Json = False,
) -> None:
    """List the paints of the table and the palettes, show one paint, or check a file.

    'mixlab paints add PAINT ID' puts one under your own name, at your tube's strength.
    """
    if check is not None:
        if paint is not None:
            raise MixlabError(f"--check looks at a file, and {paint} would be shown: ask for one")
        show(Report(CHECK, _checked(check, table, only), _tell_check), json)
        return
    known = options.paints_at_hand(table, only)
    if paint is None:
        show(Report(OUTPUT, known, _tell, viewing(finish="matt")), json)
    else:
        show(Report(ONE, _seen(known[paint], known), _tell_one, viewing(finish="matt")), json)


def _seen(paint: Paint, table: PigmentTable) -> _Seen:
    return paint, table, fields.Colour(paint.lab, viewing(finish="matt"))


def _checked(file: str, table: str | None, only: bool) -> dict[str, Any]:
    """Return what a file holds; CheckError, with all of its faults, if there are any."""
    try:
        if Path(file).suffix.lower() == ".toml":
            known = options.paints_at_hand(table, only)
            return {"file": file, "kind": "palette", "ids": read_palette(file, known).ids,
                    "notes": ()}  # fmt: skip
        if table is not None or only:
            raise MixlabError("--table and --only are for the paints of a palette; "
                              "a pigment table is checked by itself")  # fmt: skip
        own = read_table(file)
    except MixlabError as error:
        raise CheckError(str(error), error.faults) from None
    return {"file": file, "kind": "pigment table", "ids": own.ids, "notes": own.notes}


def _tell_check(page: Page, made: dict[str, Any]) -> None:
    count = counted(len(made["ids"]), "paint")
    page.line(f"a {made['kind']} of {count}, nothing wrong: {made['file']}")
    for note in made["notes"]:
        page.line(note)


def _basis(paint: Paint) -> str:
    near = "" if math.isnan(paint.uncertainty) else f" {max(1, round(paint.uncertainty))}"
    return f"{paint.basis or '-'}{near}"


def _one_a_pigment(names: tuple[str, ...]) -> list[str]:
    """Return Colour Index names, one of the varieties of each pigment."""
    bases = list(map(index_base, names))
    return [name for i, name in enumerate(names) if bases[i] not in bases[:i]]


def _index(paint: Paint) -> str:
    """Return the Colour Index names of a paint, of a mixture of many the first: "PG7 +2"."""
    names = _one_a_pigment(paint.colour_index)
    return " ".join(names) if len(names) <= 2 else f"{names[0]} +{len(names) - 1}"


_COLUMNS = (
    column("paint", lambda row: row[0].id),
    column("index", lambda row: _index(row[0])),
    column("class", lambda row: row[0].opacity_class),
    figures("tint", lambda row: row[1].strength(row[0]), ".1f"),
    column("basis", lambda row: _basis(row[0])),
)


def _tell(page: Page, table: PigmentTable) -> None:
    seen = [_seen(paint, table) for paint in table]
    page.table(_COLUMNS, seen, hexes=[one[2].hex for one in seen], indent=0)
    page.line()
    if table.white is not None:
        page.line(
            "Tint: tinting strength relative to ultramarine blue, one part in ten of "
            f"{table.white.id} (after ASTM D4838)."
        )
    page.line(
        "Basis: where the curves are from, and how near a prediction with them likely comes to "
        "the tube in your box [CIEDE2000]. Masstone and cautions: 'mixlab paints PAINT'."
    )
    page.line(
        "Class: by the contrast ratio of a coat, and let down with clear medium."
    )
    for paint in table:
        if paint.fading:
            page.line(f"{paint.id}: {paint.fading}.")
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
        page.say("  " + ", ".join(palette.ids), 4)


def _tell_one(page: Page, row: _Seen) -> None:
    paint, table, colour = row
    masstone = table.mix(paint.id)
    page.entry("Paint", f"{paint.id}: {paint.name}")
    page.entry("Index", " ".join(paint.colour_index) or "-")
    page.entry("Masstone", f"{colour.munsell}   {colour.hex}", colour.hex)
    page.entry("", lab_text(paint.lab))
    page.light(colour.view)
    if table.white is not None and table.white is not paint:
        for parts in (1.0, 9.0, 49.0):
            tint = table.mix({paint.id: 1.0, table.white.id: parts})
            page.entry(f"Tint 1:{parts:.0f}", f"{tint.munsell}   {tint.hex}", tint.hex)
    label = "" if paint.transparency in ("", paint.opacity_class) else (
        f" (its label says {paint.transparency})"
    )  # fmt: skip
    page.entry("Opacity", f"{paint.opacity_class}{label}: {hiding(masstone)}")
    if paint.unit:
        page.entry("", f"a coat is the film in which {paint.unit} hides")
    if index := _of_pigment(paint, "refractive_index"):
        both = " to ".join(f"{n:g}" for n in dict.fromkeys(index))
        page.entry("", f"refractive index {both} ({paint.pigments[0].index_source}); oil and "
                       "acrylic have about 1.5")  # fmt: skip
    if paint.pigments:
        page.entry("In light", f"{paint.pigments[0].light}; the maker's label has the last word")
    if not math.isnan(strength := table.strength(paint)):
        page.entry("Strength", f"{strength:.1f} times that of ultramarine blue, in a tint of 1:9")
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
