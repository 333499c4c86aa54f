"""What the page carries of a plan: masses with their piles and order, and where they lie."""

import base64
import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab.colour.spaces import lab_to_value
from mixlab.picture.masses import Mass
from mixlab.picture.plan import Plan
from mixlab.show import fields


def planned(plan: Plan) -> dict[str, Any]:
    """Return a plan, ready for JSON.

    Where `values` and `masses` lie is in `value_map` and `mass_map`: grey pictures, as data URLs,
    whose levels count from 0, for the darkest value and for mass 1.
    """
    amounts = plan.amounts
    return {
        "values": [{"value": float(value), "area": float(share)} for value, share
                   in zip(plan.values.levels, plan.values.shares, strict=True)],
        "value_map": _picture(plan.values.map),
        "mass_map": _picture(plan.masses.map),
        "masses": [_mass(plan, mass) for mass in plan.every],
        "order": list(plan.order.numbers),
        "keep": list(plan.order.keep),
        "mixing": [mass + 1 for mass in plan.piles.mixing_order],
        "squeeze": [{"paint": id, "ml": round(float(ml), 1),
                     "cm": round(float(amounts.strings[id]), 1)}
                    for id, ml in amounts.squeeze.items()],
        "panel": list(amounts.panel),
    }  # fmt: skip


def masses_as_places(plan: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the masses of a plan as passages of the page."""
    return [
        {"name": mass["name"], "x": mass["x"], "y": mass["y"], "radius": 6, "plan": mass["number"]}
        for mass in plan["masses"]
    ]


def _mass(plan: Plan, mass: Mass) -> dict[str, Any]:
    pile = plan.pile(mass.number)
    turn = plan.order.numbers.index(mass.number)
    return {
        "number": mass.number, "name": mass.name, "share": mass.share,
        "x": float(mass.place[0]), "y": float(mass.place[1]),
        "stage": plan.order.stages[turn], "turn": turn + 1,
        "wanted": _colour(plan, pile.wanted), "mixed": _colour(plan, pile.lab),
        "notation": str(pile.mixture), "miss": pile.miss, "in_reach": pile.in_reach,
        "from": None if pile.parent is None else pile.parent + 1,
        "from_parts": pile.from_parts, "add": pile.add, "first": pile.first,
        "ml": round(float(plan.amounts.ml[mass.number - 1]), 1),
    }  # fmt: skip


def _colour(plan: Plan, lab: Any) -> dict[str, Any]:
    colour = fields.Colour(np.asarray(lab, dtype=float), plan.view)
    return {
        "lab": colour.lab.tolist(), "hex": colour.hex, "munsell": colour.munsell,
        "value": float(lab_to_value(colour.lab, plan.view)),
    }  # fmt: skip


def _picture(levels: NDArray[Any]) -> str:
    from PIL import Image

    packed = io.BytesIO()
    Image.fromarray(levels.astype(np.uint8)).save(packed, "PNG", optimize=True)
    return f"data:image/png;base64,{base64.b64encode(packed.getvalue()).decode()}"
