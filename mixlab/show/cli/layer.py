"""``mixlab layer``: a film of a mix over a dry ground, glaze or scumble."""

from typing import Annotated, Any

import numpy as np
import typer

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_hex
from mixlab.errors import LayerError
from mixlab.mixing.glazing import Film, Layering, find_layer, miss_of_mixes
from mixlab.paint.layers import Layer
from mixlab.paint.layers import layer as films_of
from mixlab.paint.mixtures import Mixture
from mixlab.paint.paints import COAT_MM
from mixlab.show import fields
from mixlab.show.cli import asked, options
from mixlab.show.cli.console import counted
from mixlab.show.cli.mix import show_care
from mixlab.show.cli.options import option
from mixlab.show.plots import layers as pictures
from mixlab.show.report import (
    Output,
    Page,
    amount,
    column,
    figures,
    group,
    rows,
    text,
    texts,
    truth,
)

ADVICE = (
    "Fat over lean: no layer with less oil than the one below it, and the ground dried through, "
    "not to the touch alone: weeks at least, months where it is thick or holds slow paint (blacks, "
    "lakes, cadmiums). Acrylics wait an hour. Common practice, no source.",
    "Glazing mediums and solvents: little, closed vessels, the window open, no flame; spread rags "
    "out to dry, as oil heats them. The maker's safety data sheet and local rules have the last "
    "word.",
)

FILM = (
    amount("coats", "coats", "thickness of the paint, without medium; in 1 a white that absorbs "
           "nothing just hides"),
    amount("medium_parts", "parts", "of clear medium to 1 of paint, laid as thick as a coat; 0 "
           "from a coat on", lambda row: _medium(row.coats)),
    text("does", "what it does to the ground: glaze (darkens it), scumble (pales it) or covers"),
    fields.CONTRAST,
    amount("moved_by", "CIEDE2000", "how far a quarter more or less of thickness moves it"),
)  # fmt: skip
FILMS = rows(
    "films",
    (
        *FILM,
        amount("mix_miss", "CIEDE2000", "from the film to the nearest mix of the tubes, the film's "
               "own and the ground's, parts being exact"),
        *fields.colour(),
    ),
    "of the mix, thin to thick",
    lambda made: made["films"],
)  # fmt: skip
FOUND = (
    *fields.mixture(lambda row: row.made.mixture),
    *FILM,
    fields.MISS.but(meaning="from the target to the film"),
    amount("exact_miss", "CIEDE2000", "if parts need not be whole"),
    *fields.colour(),
)
GIVEN = (text("given", "as it was typed"), *fields.colour())
OUTPUT = Output(
    "layer",
    (
        fields.PALETTE.but(get=lambda made: made["tubes"].name),
        group("ground", GIVEN, "dry, below the film"),
        *(one.but(get=lambda row, one=one: one.read(row["film"])) for one in fields.mixture()),
        group("masstone", fields.colour(), "the mix by itself", lambda made: made["film"]),
        fields.TOLERANCE,
        amount("stands", "coats", "from which on the film has its own colour on this ground, "
               "within the tolerance; null where it never does",
               lambda made: made["layer"] and made["layer"].stands(made["tolerance"])),
        amount("hides", "coats", "from which on it hides black from white, ISO 6504-3",
               lambda made: made["layer"] and made["layer"].hides),
        FILMS,
        group(
            "wanted",
            (
                group("target", GIVEN, "the colour that is wanted"),
                amount("bare_miss", "CIEDE2000", "from the target to the ground itself",
                       lambda wanted: wanted["found"].bare),
                rows("glazes", FOUND, "the best film of one, two, .. transparent tubes"),
                rows("any_tubes", FOUND, "the same of any tubes"),
                amount("nearest_coats", "coats", "thickness at which the mix that was given comes "
                       "nearest; null without one",
                       lambda wanted: wanted["own"] and wanted["own"][0]),
                amount("nearest_miss", "CIEDE2000", "from the target to that film",
                       lambda wanted: wanted["own"] and wanted["own"][1]),
                group("as_mix", (*fields.mixture(lambda recipe: recipe.mixture), fields.MISS),
                      "the recipe for it as a mix that hides",
                      lambda wanted: wanted["found"].mix.recipe),
                amount("mix_miss", "CIEDE2000", "from the target to the nearest mix, parts being "
                       "exact", lambda wanted: wanted["found"].mix_miss),
                truth("only_a_layer", "whether a film comes within the tolerance and no mix does",
                      lambda wanted: wanted["found"].only_a_layer),
            ),
            "what takes the ground to a colour; null unless it was asked",
        ),
        texts("advice", "how layers are laid"),
        fields.CAUTIONS.but(
            get=lambda made: made["film"] and fields.CAUTIONS.read(made["film"]),
        ),
    ),
    csv=FILMS,
)  # fmt: skip


class _Row:
    """One film of a layer, as it is written."""

    def __init__(self, made: Layer, i: int, mix_miss: float, film: Film | None = None) -> None:
        self.made, self.view, self.lab = made, made.view, made.lab[i]
        self.coats, self.does = float(made.coats[i]), made.kind[i]
        self.contrast_ratio, self.moved_by = made.contrast_ratio[i], made.moved_by()[i]
        self.mix_miss = mix_miss
        self.miss, self.exact_miss = (film.miss, film.exact) if film else (np.nan, np.nan)


def _medium(coats: float) -> float:
    return max(1 / coats - 1, 0.0)


@options.usual("palette", "plot", "csv")
def layer(
    usual: options.Usual,
    over: Annotated[
        str, option("COLOUR", "The dry ground: a mix, a paint, L,a,b, #rrggbb, or Munsell.")
    ],
    mix: Annotated[
        list[str] | None,
        typer.Argument(metavar="MIX", help='The film: a paint, or a mix such as "4 PW6 + 1 PY43"; '
                       "with --to it may be left to the search."),
    ] = None,
    coats: Annotated[
        str, option("C..C", "Thickness, thin to thick, as 0.05..2, or each: 0.05,0.1. In 1 coat a "
                    "white that absorbs nothing just hides."),
    ] = "0.01..2",
    to: Annotated[
        str | None, option("COLOUR", "The colour to take it to: which tubes do, and how thick.")
    ] = None,
    tubes: Annotated[int, typer.Option(help="Greatest number of tubes in a film, 1 to 3.")] = 2,
    tolerance: options.Tolerance = TOLERANCE,
) -> None:
    """Show a film of a mix over a dry ground: glaze or scumble, by thickness.

    What it looks like, where it hides, and which colours only a layer gives.
    """
    if not mix and to is None:
        raise LayerError("nothing is to be laid: give a MIX, or the colour wanted, --to COLOUR")
    if to is None:
        options.only_with("--to COLOUR", tubes=tubes != 2)
    if not (np.isfinite(tolerance) and tolerance > 0):
        raise LayerError(f"a tolerance of {tolerance:g}: it must be above zero; 2 is usual")
    thickness = _coats(coats)
    ground, below = asked.named(usual.table, over, usual.view)
    film = usual.mix(mix) if mix else None
    lies = ground.lab if below is None else below
    wanted = None
    if to is not None:
        target, _ = asked.named(usual.table, to, usual.view)
        found = find_layer(target.lab, lies, usual.tubes, tolerance, tubes,
                           thickest=max(thickness), view=usual.view)  # fmt: skip
        wanted = _wanted(target, found)
        if film is None and found.film is not None:
            film = found.film.mixture
            thickness = sorted({*thickness, found.film.coats})
        elif film is not None:
            best = films_of(film, lies).nearest(target.lab)
            wanted["own"] = best
            thickness = sorted({*thickness, float(f"{best[0]:.2g}")})
    made = films_of(film, lies, thickness) if film is not None else None
    also = below.paints if below is not None else ()
    near = miss_of_mixes(made, usual.tubes, also) if made is not None else ()
    told = {
        "tubes": usual.tubes, "ground": ground, "typed": below is None, "film": film, "layer": made,
        "tolerance": tolerance, "wanted": wanted, "advice": ADVICE,
        "films": [_Row(made, i, miss) for i, miss in enumerate(near)] if made is not None else [],
    }  # fmt: skip
    white = usual.table.white
    tint = None if white is None else Mixture((white,), (1.0,), usual.view)
    usual.tell(OUTPUT, told, _tell, lambda form: pictures.films(
        made, usual.view, f"{film or 'nothing'} over {ground.given}", tint,
        _pictured(wanted), form=form,
    ))  # fmt: skip


def _wanted(target: Any, found: Layering) -> dict[str, Any]:
    glazes, films = (
        [_Row(film.layer, 0, np.nan, film) for film in some]
        for some in (found.glazes, found.films)
    )
    return {"target": target, "found": found, "glazes": glazes, "any_tubes": films, "own": None}


def _pictured(wanted: dict[str, Any] | None) -> list[tuple[str, Any]]:
    """Return what stands beside the wanted colour in the picture: names and CIELAB."""
    if wanted is None:
        return []
    found = wanted["found"]
    laid = [("layer", found.film.lab)] if found.film is not None else []
    return [("wanted", found.target), *laid, ("nearest mix", found.mix.by_count[-1].lab)]


def _coats(text: str) -> list[float]:
    """Return the thicknesses of "0.05..2", at 1, 2 and 5 of each power of ten, or of "0.05,0.1"."""
    try:
        if ".." in text:
            low, high = (float(cell) for cell in text.split("..", 1))
            if not 0 < low < high <= 100:
                raise LayerError(f"--coats {text}: from above 0 to at most 100, as 0.05..2")
            usual = [float(f"{n}e{power}") for power in range(-5, 3) for n in (1, 2, 5)]
            made = sorted({low, high, *(one for one in usual if low < one < high)})
        else:
            made = sorted({float(cell) for cell in text.split(",")})
    except ValueError:
        raise LayerError(f"--coats {text!r}: write a range as 0.05..2, or 0.05,0.1,0.2") from None
    if len(made) > 40:
        raise LayerError("--coats: at most 40 thicknesses")
    return made


# --- for a person -------------------------------------------------------------------------------


def _parts(coats: float) -> str:
    return f"1 : {_medium(coats):.2g}" if coats < 1 else "-"


_SHOWN = (
    figures("coats", lambda row: row.coats, ".3g"),
    column("does", lambda row: row.does),
    column("Munsell", lambda row: fields.Colour(row.lab, row.view).munsell),
    figures("opacity", lambda row: row.contrast_ratio, ".2f"),
    figures("moved by", lambda row: row.moved_by, ".1f"),
    figures("mix miss", lambda row: row.mix_miss, ".1f"),
    figures("paint : medium", lambda row: _parts(row.coats), spare=True),
)
_FOUND = (
    figures("miss", lambda row: row.miss, ".1f"),
    figures("coats", lambda row: row.coats, ".2g"),
    figures("paint : medium", lambda row: _parts(row.coats), spare=True),
    column("does", lambda row: row.does),
    figures("moved by", lambda row: row.moved_by, ".1f"),
    column("film", lambda row: str(row.made.mixture)),
)


def _tell(page: Page, made: dict[str, Any]) -> None:
    film, ground = made["film"], made["ground"]
    view = ground.view
    if film is not None:
        page.entry("Film", f"{film}: {film.munsell} by itself", film.hex)
    seen = fields.Colour(ground.lab, view)
    page.entry("Ground", f"{ground.given}: {seen.munsell}", seen.hex)
    page.entry("Palette", f"{made['tubes'].name}, {counted(len(made['tubes']), 'tube')}")
    page.light(view)
    if made["wanted"] is not None:
        _tell_wanted(page, made)
    if film is not None:
        _tell_films(page, made)
    if made["typed"]:
        page.say("Of the ground only the colour is known: the smoothest curve that has it is "
                 "taken. A ground given as a mix is surer.")  # fmt: skip
    page.head("Layers")
    for advice in made["advice"]:
        page.say(advice)
    if film is not None:
        show_care(page, film)


def _tell_films(page: Page, made: dict[str, Any]) -> None:
    lay, within = made["layer"], made["tolerance"]
    page.head("From thin to thick")
    page.table(_SHOWN, made["films"], hexes=[lab_to_hex(r.lab, r.view) for r in made["films"]])
    stands, hides = lay.stands(within), lay.hides
    page.say(
        f"It stands, within {within:g} of its own colour, from {counted(_two(stands), 'coat')} on "
        "over this ground" if np.isfinite(stands) else "It never stands on this ground"
    )  # fmt: skip
    page.line(f"  and hides black from white (contrast ratio 0.98) from "
              f"{counted(_two(hides), 'coat')} on." if np.isfinite(hides)
              else "  and does not hide black from white however thick.")  # fmt: skip
    alone = [row for row in made["films"] if row.mix_miss > within]
    if alone:
        most = max(alone, key=lambda row: row.mix_miss)
        page.say(f"Only a layer gives {'this' if len(alone) == 1 else 'these'}: "
                 f"{', '.join(f'{row.coats:.3g}' for row in alone)} coats. No mix of the tubes, "
                 f"the film's own and the ground's comes nearer than {most.mix_miss:.1f} to that "
                 f"of {most.coats:.3g}.")  # fmt: skip
    page.say("Opacity: contrast ratio, over black by over white. Moved by: CIEDE2000 for a quarter "
             "more or less of thickness. Mix miss: to the nearest mix, laid thick.")  # fmt: skip
    unit = lay.mixture.paints[0].unit
    page.say(f"A coat: the film in which {unit or 'a white that absorbs nothing'} just hides"
             + ("" if unit else f"; of titanium white about {COAT_MM:g} mm, from memory")
             + ". A thin film may be let out with clear medium: 0.05 coats is 1 part of paint in "
             "19 of medium laid as thick as a coat, or in 4 as thick as a quarter. Thickness is a "
             "guide: lay a test strip.")  # fmt: skip


def _two(coats: float) -> float:
    return float(f"{coats:.2g}")


def _tell_wanted(page: Page, made: dict[str, Any]) -> None:
    wanted, found = made["wanted"], made["wanted"]["found"]
    target = wanted["target"]
    seen = fields.Colour(target.lab, target.view)
    page.head("To the colour that is wanted")
    page.say(f"{target.given}: {seen.munsell}; the ground misses it by {found.bare:.1f}",
             hex=seen.hex)  # fmt: skip
    for words, key in (("Transparent tubes", "glazes"), ("Any tubes", "any_tubes")):
        if some := wanted[key]:
            page.say(f"{words}:")
            page.table(_FOUND, some, hexes=[lab_to_hex(r.lab, r.view) for r in some], indent=4)
        else:
            page.say(f"{words}: no film comes nearer than the bare ground.")
    if wanted["own"] is not None:
        coats, miss = wanted["own"]
        page.say(f"The film asked about, {made['film']}, comes nearest at "
                 f"{counted(_two(coats), 'coat')}: miss {miss:.1f}.")  # fmt: skip
    recipe = found.mix.recipe
    page.say(f"As a mix: {recipe}; miss {recipe.miss:.1f}.", 4)
    if found.only_a_layer:
        page.say(f"Only a layer gives it: no mix of these tubes comes nearer than "
                 f"{found.mix_miss:.1f}.")  # fmt: skip
