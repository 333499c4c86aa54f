"""What ``mixlab plan --ground`` tells: a thin block-in of each pile over a toned ground."""

import math
from typing import NamedTuple

from mixlab.paint.paints import COAT_MM
from mixlab.picture.ground import BlockIn
from mixlab.picture.masses import Mass
from mixlab.picture.plan import Plan
from mixlab.show import fields
from mixlab.show.report import Page, amount, column, figures, group, rows, text, truth


class _Row(NamedTuple):
    """A mass, and its pile over the ground."""

    mass: Mass
    film: BlockIn


def _rows(plan: Plan) -> list[_Row]:
    made = plan.ground
    return [] if made is None else [
        _Row(mass, film) for mass, film in zip(plan.every, made.block_ins, strict=True)
    ]  # fmt: skip


GROUND = group(
    "ground",
    (
        *fields.colour(lambda plan: fields.Colour(plan.ground.lab, plan.view)),
        amount("coats", "coats", "thickness of the thin block-in; in 1 a white that absorbs "
               "nothing just hides", lambda plan: plan.ground.coats),
        rows(
            "block_ins",
            (
                amount("number", "", "of the mass", lambda row: row.mass.number),
                text("name", "what it is called", lambda row: row.mass.name),
                *fields.colour(lambda row: row.film),
                fields.MISS.but(meaning="from the pile's own colour to the thin film",
                                get=lambda row: row.film.miss),
                amount("value_change", "Munsell", "of value, against the pile itself",
                       lambda row: row.film.lighter),
                amount("stands", "coats", "from which on it has its own colour on this ground, "
                       "within the tolerance", lambda row: row.film.stands),
                truth("left_bare", "whether the ground has its colour already",
                      lambda row: row.film.left_bare),
            ),
            "each pile thin over the ground",
            _rows,
        ),
    ),
    "toned, below the first layer; null unless it was given",
    lambda plan: plan if plan.ground is not None else None,
)  # fmt: skip

_SHOWN = (
    figures("", lambda row: row.mass.number, "g"),
    column("mass", lambda row: row.mass.name),
    column("thin", lambda row: fields.Colour(row.film.lab, row.film.view).munsell),
    figures("miss", lambda row: row.film.miss, ".1f"),
    figures("value", lambda row: row.film.lighter + 0.0, "+.1f"),
    figures("stands from", lambda row: row.film.stands, lambda coats: _coats(coats)),
)


def _coats(coats: float) -> str:
    return f"{coats:.2g} coats" if math.isfinite(coats) else "never"


def tell_ground(page: Page, plan: Plan) -> None:
    """Lay out what a thin block-in does over the ground, and what shows it under the paint."""
    made = plan.ground
    if made is None:
        return
    seen = fields.Colour(made.lab, plan.view)
    page.head("Over the toned ground")
    page.say(f"{seen.munsell}   {seen.hex}", hex=seen.hex)
    every = _rows(plan)
    page.table(_SHOWN, every, hexes=[fields.Colour(row.film.lab, row.film.view).hex
                                     for row in every])  # fmt: skip
    page.say(f"Thin: {made.coats:g} coats, a wash or scrubbed paint; miss and value against the "
             f"pile itself. It stands where it comes within {plan.tolerance:g} of that. A coat is "
             f"the film in which titanium white just hides, about {COAT_MM:g} mm, from "
             "memory.")  # fmt: skip
    bare = [f"{row.mass.number} {row.mass.name}" for row in every if row.film.left_bare]
    if bare:
        page.say(f"The ground has the colour already, and may be left bare: {', '.join(bare)}.")
    show = [f"{row.mass.number} {row.mass.name}" for row in every
            if row.film.stands * COAT_MM > plan.amounts.thickness]  # fmt: skip
    if show:
        page.say(f"Under {plan.amounts.thickness:g} mm of paint the ground likely still shows "
                 f"through: {', '.join(show)}. Lay them thicker, or in two layers.")  # fmt: skip
