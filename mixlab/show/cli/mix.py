"""``mixlab mix``: what a mix looks like."""


import math
from typing import Annotated

import typer

from mixlab.colour.spaces import WAVELENGTHS
from mixlab.mixing.answers import Recipe
from mixlab.paint.mixtures import Mixture
from mixlab.paint.trust import about
from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.cli.console import counted, lab_text
from mixlab.show.report import Output, Page, amount, by_name

OUTPUT = Output(
    "mix",
    (
        *fields.mixture(lambda made: made[0]),
        by_name("shares", "0..1", "shares by paint", lambda made: made[0].shares),
        *fields.colour(lambda made: made[0]),
        by_name(
            "reflectance", "0..1", "of a layer that hides its ground, by wavelength [nm]",
            lambda made: {
                f"{w:.0f}": r for w, r in zip(WAVELENGTHS, made[0].reflectance, strict=True)
            },
            digits=6,
        ),
        amount("coats", "coats", "film of the contrast ratio; 1 of the white just hides",
               lambda made: made[1]),
        fields.CONTRAST.but(get=lambda made: made[0].contrast_ratio(made[1])),
        fields.LET_DOWN.of(lambda made: made[0]),
        fields.OPACITY.but(get=lambda made: made[0].opacity_class(made[1])),
        *(field.of(lambda made: made[0]) for field in fields.PREDICTION),
    ),
)  # fmt: skip


@options.usual()
def mix(
    usual: options.Usual,
    mix: options.Mix,
    coats: Annotated[
        float, typer.Option(help="Film of the contrast ratio; 1 coat of the white just hides.")
    ] = 1.0,
) -> None:
    """Show the colour of a mix, the steps to it, and its sensitivity to a quarter part."""
    if not 0 < coats < 1000:
        raise typer.BadParameter(f"{coats:g} coats: it must be above 0 and below 1000")
    usual.tell(OUTPUT, (usual.mix(mix), coats, usual.table.notes), _tell)


def _tell(page: Page, asked: tuple[Mixture, float, tuple[str, ...]]) -> None:
    made, coats, notes = asked
    page.entry("Mix", str(made))
    for note in notes:
        page.entry("", note)
    seen = f"{made.munsell}   {made.hex}" + ("" if made.in_gamut else " (clipped: beyond sRGB)")
    page.entry("Colour", seen, made.hex)
    lch = made.lch
    page.entry("", f"{lab_text(made.lab)}   C* {lch[1]:.1f}  h {lch[2]:.0f}")
    page.light(made.view)
    page.entry("Opacity", f"{made.opacity_class(coats)}: {hiding(made, coats)}")
    if made.paints[0].unit:
        page.entry("", f"a coat is the film in which {made.paints[0].unit} hides")
    if len(made.paints) > 1:
        show_steps(page, made)
    else:
        page.line()
        show_trust(page, made)
    show_care(page, made)


def hiding(made: Mixture, coats: float = 1.0) -> str:
    """Return both contrast ratios of a mix in words.

    What the latter leaves to one is due to the ground: of all light over white, that which is gone
    over black.
    """
    thin = made.let_down_contrast_ratio
    return (f"contrast ratio {made.contrast_ratio(coats):.2f} in {counted(coats, 'coat')}; "
            f"{thin:.2f} let down with clear medium: then {1 - thin:.0%} of its light is the "
            "ground's")  # fmt: skip


_STEPS = (
    fields.AMOUNT.shown(text=".3g", get=lambda row: row[0].parts),
    *(one.shown() for one in fields.STEPS.fields if one.key in ("paint", "munsell", "hex")),
)


def show_steps(page: Page, made: Mixture | Recipe) -> None:
    """Lay out the additions in order, the colour after each, the sensitivity, the likely error."""
    way = None if isinstance(made, Mixture) else made.two_steps
    for head, mix in (
        (("In this order", made),) if way is None
        else (("First mix", way.first),
              (f"Then a fresh pile with {counted(way.taken, 'part')} of it", way.second))
    ):  # fmt: skip
        page.head(head)
        steps = fields.STEPS.read(mix)
        page.table(_STEPS, steps, hexes=[step.hex for step, _ in steps], numbered=True)
    page.say("First the paint of which a part moves the mix least; the strong ones last, "
             "half by half.")  # fmt: skip
    most = made.sensitivity
    page.say(f"Sensitivity: a quarter part of {most.paint} more or less moves it by "
             f"{most.miss:.1f} CIEDE2000.")  # fmt: skip
    show_trust(page, made if isinstance(made, Mixture) else made.mixture)


_GUIDES = {
    "close": "a close guide",
    "fair": "a fair guide",
    "rough": "a rough guide",
    "guess": "no more than a guess",
}


def show_trust(page: Page, made: Mixture) -> None:
    """Lay out how near the paint itself will likely come."""
    if made.trust in _GUIDES:
        text = (
            f"  The paint itself likely comes within {about(made.likely_error)} of this: "
            f"{_GUIDES[made.trust]}."
        )
    else:
        of = ", ".join(p.id for p in made.paints if math.isnan(p.uncertainty))
        text = f"  How near the paint itself comes is not known: no uncertainty is stated for {of}."
    page.line(text, hang=2)
    value, chroma = made.sinking
    changes = [
        words for change, words in (
            (value, f"{value:.1f} of value lighter"), (-chroma / 10, f"{-chroma:.0f} lower in C*")
        ) if change >= 0.05
    ]  # fmt: skip
    if changes:
        page.say(f"Sunk in (dried matt) it is {' and '.join(changes)}; oiling out or varnish "
                 "brings it back.")  # fmt: skip


def show_care(page: Page, *made: Mixture) -> None:
    """Lay out how far the curves can be trusted, and the cautions: light, then hazards."""
    paints = {paint.id: paint for mix in made for paint in mix.paints}.values()
    modelled = [paint.id for paint in paints if paint.basis == "modelled"]
    if modelled:
        page.head("Trust")
        page.say(f"Modelled, not fitted to measured figures: {', '.join(modelled)}. "
                 "Mix a test patch before a large pile.")  # fmt: skip
    cautions: dict[str, list[str]] = {}
    for text, paint in (*((p.fading, p) for p in paints), *((p.cautions, p) for p in paints)):
        if text:
            cautions.setdefault(text, []).append(paint.id)
    if cautions:
        page.head("Cautions")
        for text, ids in cautions.items():
            page.say(f"{', '.join(ids)}: {text}.")
