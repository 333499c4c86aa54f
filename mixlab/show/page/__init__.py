"""The page: one HTML file that is the whole recipe tool, and what is packed into it."""

import base64
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.colour import munsell
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import FINISHES, Viewing, lights, viewing
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette

ENGINE = (
    "colour.js", "munsell.js", "optics.js", "mixes.js", "lattice.js", "exact.js", "steps.js",
    "beyond.js", "helper.js", "search.js", "key.js", "piles.js",
)  # fmt: skip
"""The modules that answer, each after those that it takes from; without a document."""

WORKER = (*ENGINE, "pixels.js", "values.js", "eye.js", "worker.js")
"""What runs beside the page: the engine, the eye for the picture, and their ear."""

_HERE = Path(__file__).resolve().parent
_IMPORT = re.compile(r'^import\s[^;]*?from\s+"[^"]+";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (?=const |let |function |class |async )", re.MULTILINE)
_GRAIN, _BELOW = 20_000, 0.5  # of packed chromaticities: whole steps of 1 / _GRAIN above -_BELOW


def joined(names: Iterable[str]) -> str:
    """Return modules of this folder as one script: their names are all distinct."""
    texts = ((_HERE / name).read_text(encoding="utf-8") for name in names)
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", text)) for text in texts)


def pack(
    palette: Palette,
    view: Viewing,
    *,
    all_paints: bool = False,
    picture: Mapping[str, str] | None = None,
    places: Sequence[Mapping[str, Any]] = (),
    plan: Mapping[str, Any] | None = None,
    tolerance: float = TOLERANCE,
    tubes: int = 4,
    parts: int = 12,
) -> dict[str, Any]:
    """Return what the page is told, ready for JSON.

    Parameters
    ----------
    palette : the tubes at hand
    view : light, observer and finish
    all_paints : whether the other paints of the table, which go along as one of them may be the
        one that would help, are offered as tubes
    picture : its `src`, a data URL, and its `name`; None without one
    places : those that the painter named: `name`, and `x`, `y` and `radius`, or `lab`
    plan : of the picture, see :func:`mixlab.show.page.planned.planned`; its masses are places too
    tolerance, tubes, parts : as in :func:`mixlab.mixing.recipes.find_recipe`
    """
    others = [paint for paint in palette.table.paints if paint.id not in palette.ids]
    surface = palette.paints[0].surface
    return {
        "palette": {"name": palette.name, "tubes": palette.ids},
        "paints": [
            *(_paint(paint, palette) for paint in palette.paints),
            *(_paint(paint, palette, offered=all_paints) for paint in others),
        ],
        "surface": {"outside": surface.outside, "inside": surface.inside},
        "view": {"light": view.light, "observer": view.observer, "finish": view.finish},
        "finishes": FINISHES,
        "weights": view.weights.tolist(),
        "white": view.white.tolist(),
        "whites": {
            light: {degrees: viewing(light, degrees).white.tolist() for degrees in ("2", "10")}
            for light in lights()
        },
        "munsell": renotation(),
        "picture": None if picture is None else dict(picture),
        "places": [dict(place) for place in places],
        "plan": None if plan is None else dict(plan),
        "settings": {"tolerance": tolerance, "tubes": tubes, "parts": parts},
    }  # fmt: skip


def _paint(paint: Paint, palette: Palette, *, offered: bool = True) -> dict[str, Any]:
    white = palette.table.white
    tint = [] if white is None else [palette.table.mix({paint.id: 1, white.id: 4}).lab]
    return {
        "offered": offered,
        "labs": [lab.round(6).tolist() for lab in (paint.lab, *tint)],
        "id": paint.id,
        "name": paint.name,
        "index": list(paint.colour_index),
        "K": paint.K.tolist(),
        "S": paint.S.tolist(),
        "white": paint.is_white,
        "reserve": paint.reserve,
        "uncertainty": None if np.isnan(paint.uncertainty) else paint.uncertainty,
        "transparency": paint.opacity_class,
        "basis": paint.basis,
        "cautions": "; ".join(filter(None, (paint.fading, paint.cautions))),
    }


def renotation() -> dict[str, str]:
    """Return the Munsell renotation, packed small: each a base64 of whole numbers.

    By level from 0.2 to 9, then by hue from 2.5R on: `rings`, how many chromas there are (8 bits);
    for each of those x and y in `xy` (16 bits, the low byte first), and in `radial` a bit, whether
    the ovoid is radial to the next hue.
    """
    table = munsell.renotation()
    rings = (table.greatest[1:, :-1] / 2).astype(np.uint8)
    there = np.arange(table.radial.shape[2] - 1) < rings[..., None]
    offset = table.offset[1:, :-1, 1:][there]
    xy = np.stack([offset.real, offset.imag], axis=-1) + munsell.WHITE
    whole = np.rint(_GRAIN * (xy + _BELOW)).astype("<u2")
    radial = np.packbits(table.radial[1:, :, 1:][there])
    return {"rings": base64_of(rings), "xy": base64_of(whole), "radial": base64_of(radial)}


def base64_of(numbers: ArrayLike) -> str:
    """Return the bytes of an array as text."""
    return base64.b64encode(np.asarray(numbers).tobytes()).decode()
