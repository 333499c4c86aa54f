"""``mixlab recipe``: from a colour to a recipe."""


from typing import Annotated, Any

import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, lab_to_hex, lab_to_munsell, viewing
from mixlab.errors import TargetError
from mixlab.mixing.answers import FINEST, OUT_OF_REACH, Answer, OutOfReach, Recipe
from mixlab.mixing.recipes import find_recipe, usual_tubes
from mixlab.paint.tables import Palette
from mixlab.show.cli import options
from mixlab.show.cli.mix import show_care, show_steps, show_trust, steps_json
from mixlab.show.cli.page import Page, counted, lab_text, number, numbers, print_json
from mixlab.targets.one import (
    Target,
    from_hex,
    from_lab,
    from_lch,
    from_munsell,
    from_photo,
    from_spectrum,
)
from mixlab.targets.photos import GREY_CARD

_OPTIONS = ("--lab", "--lch", "--hex", "--munsell", "--spectrum", "--photo")


def recipe(
    lab: Annotated[str | None, typer.Option(metavar="L,a,b", help="Target in CIELAB.")] = None,
    lch: Annotated[str | None, typer.Option(metavar="L,C,h", help="Target in CIELCh.")] = None,
    hex: Annotated[str | None, typer.Option(metavar="RRGGBB", help="Target in sRGB.")] = None,
    munsell: Annotated[
        str | None, typer.Option(metavar="NOTATION", help='Target as "7.5YR 4/6".')
    ] = None,
    spectrum: Annotated[
        str | None, typer.Option(metavar="FILE", help="Target as a CSV of nm, reflectance.")
    ] = None,
    photo: Annotated[
        str | None, typer.Option(metavar="FILE", help="Target in a picture, with --at.")
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(metavar="X,Y", help="Place in the picture: x,y or left,top,right,bottom."),
    ] = None,
    radius: Annotated[
        float, typer.Option(help="Average over a disc of this radius [pixels].")
    ] = 0.0,
    grey: Annotated[
        str | None,
        typer.Option(metavar="X,Y", help="A place known to be neutral: takes the cast out."),
    ] = None,
    grey_reflectance: options.GreyReflectance = GREY_CARD,
    palette: options.AtHand = None,
    table: options.Table = None,
    tubes: Annotated[
        int | None,
        typer.Option(help="Greatest number of tubes in a mix, 1 to 6; 4, or 3 of very many."),
    ] = None,
    tolerance: options.Tolerance = TOLERANCE,
    parts: options.Parts = 12,
    with_: Annotated[
        list[str] | None, typer.Option("--with", metavar="PAINT", help="Must be in the mix.")
    ] = None,
    without: Annotated[
        list[str] | None, typer.Option(metavar="PAINT", help="Must not be in the mix.")
    ] = None,
    policy: Annotated[
        str,
        typer.Option(
            help="Out of reach: 'value' keeps value, then hue, and gives up chroma; 'nearest'."
        ),
    ] = OUT_OF_REACH[0],
    light: options.Light = "D65",
    observer: options.Observer = "2",
    json: options.Json = False,
) -> None:
    """Find the recipe with the fewest tubes that hits a colour.

    Give one target: --lab, --lch, --hex, --munsell, --spectrum, or --photo with --at.
    """
    view = viewing(light, observer)
    given = dict(zip(_OPTIONS, (lab, lch, hex, munsell, spectrum, photo), strict=True))
    target = _target(given, at, radius, grey, grey_reflectance, view)
    tubes_at_hand = options.tubes_at_hand(palette, table)
    most = usual_tubes(tubes_at_hand) if tubes is None else tubes
    answer = find_recipe(
        target.lab, tubes_at_hand, tolerance, most,
        parts=parts, must=with_ or (), must_not=without or (), view=view, out_of_reach=policy,
    )  # fmt: skip
    if json:
        print_json(as_json(target, answer))
    else:
        show(Page(), target, answer, tubes_at_hand)


def _target(
    given: dict[str, str | None],
    at: str | None,
    radius: float,
    grey: str | None,
    grey_reflectance: float,
    view: Viewing,
) -> Target:
    """Return the one target that was given; TargetError for none, or several."""
    chosen = {option: value for option, value in given.items() if value is not None}
    if len(chosen) != 1:
        what = f"{' and '.join(chosen)} were given" if chosen else "no target was given"
        raise TargetError(f"{what}; give one of {', '.join(_OPTIONS)}")
    ((option, text),) = chosen.items()
    if option == "--photo":
        if at is None:
            raise TargetError("--photo needs a place in the picture: --at X,Y")
        if grey is None and grey_reflectance != GREY_CARD:
            raise TargetError("--grey-reflectance needs a place in the picture: --grey X,Y")
        return from_photo(text, at, view, radius, grey, grey_reflectance)
    if (at, radius, grey, grey_reflectance) != (None, 0.0, None, GREY_CARD):
        raise TargetError(
            f"--at, --radius and --grey are for places in a picture; {option} has none"
        )
    readers = {
        "--lab": from_lab,
        "--lch": from_lch,
        "--hex": from_hex,
        "--munsell": from_munsell,
        "--spectrum": from_spectrum,
    }
    return readers[option](text, view)


# --- for a person -------------------------------------------------------------------------------


def show(page: Page, target: Target, answer: Answer, palette: Palette) -> None:
    """Print an answer."""
    view = target.view
    hex = lab_to_hex(target.lab, view)
    page.entry("Target", target.given)
    page.entry("", f"{write_munsell(lab_to_munsell(target.lab, view))}   {hex}", hex)
    page.entry("", lab_text(target.lab))
    for note in target.notes:
        page.entry("", note)
    page.entry("Palette", f"{palette.name}, {counted(len(palette), 'tube')}")
    for note in palette.table.notes:
        page.entry("", note)
    page.entry("Light", f"{view.light}, {view.observer} degree observer")

    best = answer.in_few_parts
    if answer.out_of_reach is not None:
        _show_out_of_reach(page, answer.out_of_reach)
    page.head("Recipe" if answer.in_reach else "The least harmful compromise")
    page.line("  " + str(best.mixture), hang=4)
    page.line(f"  {_miss(best)}{_tubes(best)}", hang=2)
    made = best.mixture
    page.table([(made.munsell, made.hex, lab_text(made.lab))], hexes=[made.hex])
    if answer.in_reach and best.miss > answer.tolerance:
        held = answer.in_finer_parts is not None and answer.in_finer_parts.miss <= answer.tolerance
        but = "not in so few parts" if held else f"not even {FINEST} parts hold it"
        page.line(f"  A mix within the tolerance of {answer.tolerance:g} exists, but {but}.",
                  hang=2)  # fmt: skip
    if (finer := answer.in_finer_parts) is not None:
        page.line(f"  In finer parts: {finer.mixture}; {_miss(finer)}.", hang=4)
    if len(made.paints) > 1:
        show_steps(page, made)
    else:
        show_trust(page, made)

    page.head("The best there is, by number of tubes (shares need not be whole)")
    page.table(
        [
            (str(count.tubes), f"{count.miss:.2f}", _shares(count.shares))
            for count in answer.by_count
        ],
        right="01",
    )
    if answer.alternatives:
        page.head("Other tubes that hit it")
        page.table(
            [(f"{other.miss:.1f}", str(other.mixture)) for other in answer.alternatives],
            right="0",
        )
    show_care(page, made)


def _show_out_of_reach(page: Page, out: OutOfReach) -> None:
    page.head("Out of reach")
    page.line(
        f"  The palette comes no nearer than {out.miss:.1f} CIEDE2000. The target is "
        f"{' and '.join(_in_words(out))}.",
        hang=2,
    )
    if out.paint is not None and out.paint_tubes is not None:
        page.line(
            f"  {out.paint} would bring it within reach: {counted(out.paint_tubes, 'tube')}, "
            f"miss {out.paint_miss:.1f}.",
            hang=2,
        )
    else:
        page.line("  No single paint of the table would bring it within reach.", hang=2)
    if out.approach == "value":
        page.line(
            "  Kept below: value first, then hue; chroma is given up. Nearest of all: "
            f"{out.nearest.mixture}; {_miss(out.nearest)}.",
            hang=2,
        )


def _in_words(out: OutOfReach) -> list[str]:
    amounts = {
        "too light": f"{out.lightness:.0f} L*",
        "too dark": f"{-out.lightness:.0f} L*",
        "too high in chroma": f"{out.chroma:.0f} C*",
        "too low in chroma": f"{-out.chroma:.0f} C*",
    }
    words = []
    for direction in out.directions:
        if direction in amounts:
            words.append(f"{direction} (by {amounts[direction]})")
        elif out.between is not None:
            words.append(f"of a hue between {out.between[0]} and {out.between[1]}")
        else:
            words.append(f"of another hue (by {abs(out.hue):.0f} degrees)")
    return words


def _miss(recipe: Recipe) -> str:
    return f"miss {recipe.miss:.1f} (exact shares {recipe.exact_miss:.1f})"


def _tubes(recipe: Recipe) -> str:
    total = sum(recipe.parts.values())
    return f", {counted(recipe.tubes, 'tube')}, {counted(total, 'part')}"


def _shares(shares: dict[str, float]) -> str:
    def percent(share: float) -> str:
        return f"{100 * share:.1f}" if share >= 0.001 else f"{100 * share:.2g}"

    return ", ".join(f"{percent(share)}% {id}" for id, share in shares.items())


# --- for a program ------------------------------------------------------------------------------


def as_json(target: Target, answer: Answer) -> dict[str, Any]:
    """Return an answer for JSON."""
    return {
        "target": {
            "lab": numbers(target.lab),
            "light": target.view.light,
            "observer": target.view.observer,
            "given": target.given,
            "munsell": write_munsell(lab_to_munsell(target.lab, target.view)),
            "hex": lab_to_hex(target.lab, target.view),
            "notes": list(target.notes),
        },
        "tolerance": answer.tolerance,
        "reached": answer.in_reach,
        "recipe": _recipe_json(answer.in_few_parts),
        "by_count": [
            {
                "tubes": count.tubes,
                "shares": {id: number(s, 6) for id, s in count.shares.items()},
                "miss": number(count.miss),
                "lab": numbers(count.lab),
            }
            for count in answer.by_count
        ],
        "alternatives": [_recipe_json(other) for other in answer.alternatives],
        "finer": _recipe_json(answer.in_finer_parts) if answer.in_finer_parts else None,
        "out_of_reach": _out_json(answer.out_of_reach) if answer.out_of_reach else None,
    }


def _recipe_json(recipe: Recipe) -> dict[str, Any]:
    made, sensitivity = recipe.mixture, recipe.sensitivity
    return {
        "tubes": recipe.tubes,
        "parts": recipe.parts,
        "miss": number(recipe.miss),
        "lab": numbers(recipe.lab),
        "munsell": made.munsell,
        "hex": made.hex,
        "exact": {
            "shares": {id: number(s, 6) for id, s in recipe.exact_shares.items()},
            "miss": number(recipe.exact_miss),
        },
        "sensitivity": {"paint": sensitivity.paint, "miss": number(sensitivity.miss)},
        "likely_error": number(made.likely_error, 1),
        "trust": made.trust,
        "steps": steps_json(made),
        "cautions": {p.id: p.cautions for p in made.paints if p.cautions},
    }


def _out_json(out: OutOfReach) -> dict[str, Any]:
    helper = None
    if out.paint is not None and out.paint_miss is not None:
        helper = {"id": out.paint, "tubes": out.paint_tubes, "miss": number(out.paint_miss)}
    return {
        "miss": number(out.miss),
        "lightness": number(out.lightness),
        "chroma": number(out.chroma),
        "hue": number(out.hue),
        "directions": list(out.directions),
        "between": list(out.between) if out.between else None,
        "policy": out.approach,
        "nearest": _recipe_json(out.nearest),
        "paint": helper,
    }
