"""``mixlab mix``: what a mix looks like."""


import math
from collections.abc import Iterable
from typing import Annotated, Any

import typer

from mixlab.colour.spaces import WAVELENGTHS, viewing
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import HIDES
from mixlab.paint.tables import read_table
from mixlab.paint.trust import about
from mixlab.show.cli import options
from mixlab.show.cli.page import Page, amount, counted, lab_text, number, numbers, print_json


def mix(
    notation: Annotated[
        list[str],
        typer.Argument(
            metavar="NOTATION", help='e.g. "2 ultramarine-blue + 1 burnt-umber + 4 PW6".'
        ),
    ],
    table: options.Table = None,
    light: options.Light = "D65",
    observer: options.Observer = "2",
    coats: Annotated[
        float, typer.Option(help="Film for the opacity; 1 coat of the white just hides.")
    ] = 1.0,
    json: options.Json = False,
) -> None:
    """Show the colour of a mix, the steps to it, and how a slip moves it."""
    if not 0 < coats < 1000:
        raise typer.BadParameter(f"{coats:g} coats: it must be above 0 and below 1000")
    view = viewing(light, observer)
    known = read_table(table)
    made = known.mix(" ".join(notation), view)
    if json:
        print_json(as_json(made, coats))
    else:
        show(Page(), made, coats, known.notes)


def show(page: Page, made: Mixture, coats: float, notes: Iterable[str] = ()) -> None:
    """Print a mix; `notes` are those of its table."""
    view = made.view
    page.entry("Mix", str(made))
    for note in notes:
        page.entry("", note)
    seen = f"{made.munsell}   {made.hex}" + ("" if made.in_gamut else " (clipped: beyond sRGB)")
    page.entry("Colour", seen, made.hex)
    lch = made.lch
    page.entry("", f"{lab_text(made.lab)}   C* {lch[1]:.1f}  h {lch[2]:.0f}")
    page.entry("Light", f"{view.light}, {view.observer} degree observer")
    ratio = made.contrast_ratio(coats)
    hides = "hides" if ratio >= HIDES else "lets the ground show"
    page.entry("Opacity", f"contrast ratio {ratio:.2f} in {counted(coats, 'coat')}: {hides}")
    if made.paints[0].unit:
        page.entry("", f"a coat is the film in which {made.paints[0].unit} hides")
    if len(made.paints) > 1:
        show_steps(page, made)
    else:
        page.line()
        show_trust(page, made)
    show_care(page, made)


def show_steps(page: Page, made: Mixture) -> None:
    """Print the additions in order, with the colour after each, the slip, and the likely error."""
    page.head("In this order")
    steps = made.steps
    page.table(
        [
            (f"{i}.", amount(step.parts), step.paint.id, step.munsell, step.hex)
            for i, step in enumerate(steps, start=1)
        ],
        right="01",
        hexes=[step.hex for step in steps],
    )
    page.line(
        "  First the paint of which a part moves the mix least; the strong ones last, "
        "half by half.",
        hang=2,
    )
    sensitivity = made.sensitivity
    page.line(
        f"  A quarter part of {sensitivity.paint} too much or too little moves it by "
        f"{sensitivity.miss:.1f} CIEDE2000.",
        hang=2,
    )
    show_trust(page, made)


_GUIDES = {
    "close": "a close guide",
    "fair": "a fair guide",
    "rough": "a rough guide",
    "guess": "no more than a guess",
}


def show_trust(page: Page, made: Mixture) -> None:
    """Print how near the paint itself will likely come."""
    if made.trust in _GUIDES:
        text = (
            f"  The paint itself likely comes within {about(made.likely_error)} of this: "
            f"{_GUIDES[made.trust]}."
        )
    else:
        of = ", ".join(p.id for p in made.paints if math.isnan(p.uncertainty))
        text = f"  How near the paint itself comes is not known: no uncertainty is stated for {of}."
    page.line(text, hang=2)


def show_care(page: Page, made: Mixture) -> None:
    """Print how far the curves can be trusted, and the cautions of the paints."""
    modelled = [paint.id for paint in made.paints if paint.basis == "modelled"]
    if modelled:
        page.head("Trust")
        page.line(
            f"  Modelled, not fitted to measured figures: {', '.join(modelled)}. "
            "Mix a test patch before a large pile.",
            hang=2,
        )
    cautions: dict[str, list[str]] = {}
    for paint in made.paints:
        if paint.cautions:
            cautions.setdefault(paint.cautions, []).append(paint.id)
    if cautions:
        page.head("Cautions")
        for text, ids in cautions.items():
            page.line(f"  {', '.join(ids)}: {text}.", hang=2)


def as_json(made: Mixture, coats: float = 1.0) -> dict[str, Any]:
    """Return a mix for JSON."""
    sensitivity = made.sensitivity
    return {
        "parts": made.parts,
        "shares": {id: number(s) for id, s in made.shares.items()},
        "light": made.view.light,
        "observer": made.view.observer,
        "lab": numbers(made.lab),
        "lch": numbers(made.lch),
        "munsell": made.munsell,
        "hex": made.hex,
        "in_gamut": made.in_gamut,
        "reflectance": {
            f"{w:.0f}": number(r, 6) for w, r in zip(WAVELENGTHS, made.reflectance, strict=True)
        },
        "contrast_ratio": number(made.contrast_ratio(coats)),
        "sensitivity": {"paint": sensitivity.paint, "miss": number(sensitivity.miss)},
        "likely_error": number(made.likely_error, 1),
        "trust": made.trust,
        "steps": steps_json(made),
    }


def steps_json(made: Mixture) -> list[dict[str, Any]]:
    """Return the steps of a mix for JSON."""
    return [
        {
            "paint": step.paint.id,
            "parts": number(step.parts),
            "lab": numbers(step.lab),
            "munsell": step.munsell,
            "hex": step.hex,
        }
        for step in made.steps
    ]
