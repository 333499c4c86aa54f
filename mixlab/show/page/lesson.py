"""The lesson page: white, black, a grey or a complement on a slider, and why chroma changes."""

from typing import Any

import numpy as np

from mixlab.colour.spaces import Viewing
from mixlab.errors import MixlabError
from mixlab.mixing.complements import is_grey
from mixlab.mixing.ladders import black_of, grey_of, white_of
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette
from mixlab.show.page import base64_of, renotation
from mixlab.show.page.render import whole
from mixlab.text import visible

LESSONS = ("white", "black", "grey", "complement")
"""What a lesson adds to a paint: the one that the page begins with."""

ENGINE = ("colour.js", "munsell.js", "optics.js", "ladder.js", "stages.js", "why.js")
"""The modules that compute, each after those that it takes from."""

VIEW = ("dom.js", "charts.js", "study.js", "lesson.js")
"""The modules of what is seen and touched."""

_TITLES = {
    "white": "Why white lowers chroma", "black": "What black does to chroma",
    "grey": "What grey does to chroma", "complement": "What a complement does to chroma",
}  # fmt: skip
_FIRST, _SECOND = "ultramarine-blue", "burnt-sienna"


def pack_lesson(tubes: Palette, view: Viewing, lesson: str) -> dict[str, Any]:
    """Return what the lesson page is told, ready for JSON.

    Every paint of the table goes along that mixes with its white; K and S are base64 of float64.

    Raises
    ------
    LadderError : if the table has no white or no black
    MixlabError : if there is no other paint
    """
    table = tubes.table
    white, black = white_of(table), black_of(table)
    paints = [p for p in table.paints if (p.unit, p.surface) == (white.unit, white.surface)]
    coloured = [paint.id for paint in paints if not (paint.is_white or paint is black)]
    if not coloured:
        raise MixlabError("a lesson needs a paint that is neither white nor black")
    at_hand = [id for id in tubes.ids if id in coloured] or coloured
    first = _FIRST if _FIRST in coloured else at_hand[0]
    second = next((id for id in (_SECOND, *at_hand) if id in coloured and id != first), first)
    return {
        "lesson": lesson, "first": first, "second": second,
        "white_id": white.id, "black_id": black.id,
        "paints": [_paint(paint, paint.id in tubes.ids) for paint in paints],
        "greys": {
            paint.id: grey_of(white, black, table.mix({paint.id: 1.0}, view)).parts
            for paint in paints
        },
        "surface": {"outside": white.surface.outside, "inside": white.surface.inside},
        "specular": view.specular, "weights": view.weights.tolist(), "white": view.white.tolist(),
        "munsell": renotation(),
    }  # fmt: skip


def _paint(paint: Paint, tube: bool) -> dict[str, Any]:
    grey = is_grey(paint)
    return {
        "id": paint.id, "name": paint.name, "tube": tube, "white": paint.is_white,
        "black": grey and bool(paint.lab[0] < 30), "chromatic": not (paint.is_white or grey),
        "curves": base64_of(np.concatenate([paint.K, paint.S]).astype("<f8")),
    }  # fmt: skip


def render_lesson(data: dict[str, Any], tubes: Palette, view: Viewing) -> str:
    """Return the lesson page, HTML, of what was packed for it."""
    table = tubes.table
    paints = [
        {
            "name": visible(paint.name), "index": paint.colour_index,
            "basis": paint.basis or "own curves",
            "uncertainty": None if np.isnan(paint.uncertainty) else paint.uncertainty,
            "cautions": visible("; ".join(filter(None, (paint.fading, paint.cautions)))),
        }
        for paint in (table[one["id"]] for one in data["paints"])
    ]  # fmt: skip
    return whole("lesson.html", ("base.css", "lesson.css"), (*ENGINE, *VIEW), data, {},
                 title=_TITLES[data["lesson"]], lessons=LESSONS, seen=str(view),
                 paints=paints)  # fmt: skip
