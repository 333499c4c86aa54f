"""A tube from its label: a paint of a table under the painter's own name, at its own strength.

Makers put different amounts of pigment into a tube. Strength here is that amount: K and S grow
with it together, so that a tube of half the strength needs twice the parts for the same tint. In a
tint, where the white does nearly all of the scattering, this is the relative tinting strength of
ASTM D4838; see :func:`mixlab.paint.paints.tinting_strength`.
"""


import math
import os
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, reflectance_to_lab, viewing
from mixlab.errors import MixlabError, TableError
from mixlab.paint import optics
from mixlab.paint.paints import ID, Paint
from mixlab.paint.tables import PigmentTable, read_table, write_table
from mixlab.writing import alone, settle, together

STRENGTHS = (0.02, 50.0)
"""The least and the greatest strength [that of the paint it is compared with]."""

UNLIKE = 6.0
"""A tint that no strength brings nearer than this hardly is of the same pigment [CIEDE2000]."""

_TINTS = (1.0, 4.0, 16.0)  # parts of white


@dataclass(frozen=True)
class Strength:
    """What a tint tells of a tube.

    Attributes
    ----------
    value : pigment in the tube [that of the paint it is compared with]
    miss : CIEDE2000 that is left between the tint and that of the paint at this strength
    """

    value: float
    miss: float


def tint_strength(
    paint: Paint, white: Paint, parts: float, lab: ArrayLike, view: Viewing | None = None
) -> Strength:
    """Return the strength at which a tint of `paint` comes nearest to a colour.

    Parameters
    ----------
    parts : of white to one part of the tube
    lab : (3,), CIELAB of the tint under `view`; D65, 2 degree, matt unless told

    Raises
    ------
    MixlabError : if the parts make no sense, or no strength within :data:`STRENGTHS` is nearest
    """
    from scipy.optimize import minimize_scalar

    if not 0 < parts <= 10_000:
        raise MixlabError(f"{parts:g} parts of white: a tint has more than 0, at most 10000")
    view = view or viewing(finish="matt")

    def miss(logs: ArrayLike) -> Array:
        return ciede2000(lab, _tints(paint, white, parts, logs, view))

    logs = np.log(np.geomspace(*STRENGTHS, 201))
    best = int(np.argmin(miss(logs)))
    if best in (0, len(logs) - 1):
        edge, how = (STRENGTHS[0], "weaker") if best == 0 else (STRENGTHS[1], "stronger")
        raise MixlabError(
            f"the tint would ask for a tube {how} than {edge:g} times {paint.id}; "
            "check its colour, its parts of white, and the paint it is compared with"
        )
    found = minimize_scalar(
        lambda log: float(miss(log)), bounds=(logs[best - 1], logs[best + 1]), method="bounded"
    )
    return Strength(math.exp(float(found.x)), float(found.fun))


def _tints(
    paint: Paint, white: Paint, parts: float, log_strength: ArrayLike, view: Viewing
) -> Array:
    """Return CIELAB (..., 3) of one part in `parts` of white, at strengths (...,)."""
    load = np.exp(log_strength)[..., None]
    k = load * paint.K + parts * white.K
    s = load * paint.S + parts * white.S
    seen = paint.surface.seen(view.specular).measured(optics.opaque(k, s))
    return reflectance_to_lab(seen, view)


_WORDS = {
    "half": 0.5, "a third": 1 / 3, "two thirds": 2 / 3, "a quarter": 0.25, "three quarters": 0.75,
    "a fifth": 0.2, "a tenth": 0.1, "the same": 1.0, "twice": 2.0, "double": 2.0, "thrice": 3.0,
}  # fmt: skip


def strength_of(text: str) -> float:
    """Return the strength that is written: "0.5", "50 %", "half", "twice".

    Raises
    ------
    MixlabError : if it is neither a number, per cent, nor one of a few words
    """
    word = " ".join(text.lower().split())
    for named, value in _WORDS.items():
        if word.removeprefix("a ") == named.removeprefix("a "):
            return value
    number = word.removesuffix("%").removesuffix(" times")
    try:
        return float(number) / (100 if word.endswith("%") else 1)
    except ValueError:
        raise MixlabError(
            f"strength {text!r}: write a number, as 0.5, per cent, as 50%, or one of "
            + ", ".join(_WORDS)
        ) from None


def add_paint(
    paint: Paint, id: str, strength: float = 1.0, name: str = "", basis: str = "",
    uncertainty: float = math.nan,
) -> Paint:  # fmt: skip
    """Return a paint of a table under another id, at another strength; its source says so.

    Parameters
    ----------
    strength : pigment in the tube [that of `paint`]
    name : common name; that of `paint` unless given
    basis : what the strength rests on, in words, e.g. "by a tint of 1:9"
    uncertainty : what the strength adds to that of the paint [CIEDE2000]; nan for nothing

    Raises
    ------
    MixlabError : if the id, the strength or a text makes no sense
    """
    if not ID.fullmatch(id):
        raise MixlabError(f"{id!r}: an id is lower-case words joined by hyphens, as my-umber")
    if not STRENGTHS[0] <= strength <= STRENGTHS[1]:
        raise MixlabError(
            f"strength {strength:g}: it lies from {STRENGTHS[0]:g} to {STRENGTHS[1]:g} times "
            f"{paint.id}"
        )
    for what, text in (("name", name), ("basis", basis)):
        if not text.isprintable():
            raise MixlabError(f"{text!r}: the {what} must be one line of plain text")
    by = f"strength {strength:.3g} of {paint.id}" + (f" ({basis.strip()})" if basis.strip() else "")
    both = [u for u in (paint.uncertainty, uncertainty) if not math.isnan(u)]
    return replace(
        paint, id=id, name=name.strip() or paint.name, K=strength * paint.K, S=strength * paint.S,
        source=f"{by}; {paint.source}" if paint.source else by,
        masstone_miss=math.nan, tint_miss=math.nan,
        uncertainty=math.hypot(*both) if both else math.nan,
    )  # fmt: skip


def doubt(paint: Paint, white: Paint, off: float = 0.25) -> float:
    """Return how far tints move if a strength is off by a share, root mean square [CIEDE2000].

    A strength from experience is hardly known better than to a quarter; our own choice, no source.
    """
    logs, view = [0.0, math.log1p(off)], viewing(finish="matt")
    labs = np.stack([_tints(paint, white, parts, logs, view) for parts in _TINTS])
    return float(np.sqrt(np.mean(ciede2000(labs[:, 0], labs[:, 1]) ** 2)))


def add_to_table(paint: Paint, path: str | PathLike[str], replacing: bool = False) -> PigmentTable:
    """Add a paint to a table file, which is made if it is not there, and return the table.

    The file is whole or untouched. Of several who add to it at once each waits for its turn, so
    that no paint is lost.

    Raises
    ------
    TableError : if the file cannot be read or written, holds a paint of that id (and `replacing`
        is not set), or has its K and S in another unit or under another surface
    """
    file = Path(path)
    with alone(file, TableError), together():
        written = _added(paint, file, replacing)
        settle()
    return written


def _added(paint: Paint, file: Path, replacing: bool) -> PigmentTable:
    """Write the table with the paint, and return it."""
    table = read_table(file) if os.path.exists(file) else PigmentTable(())
    if table.notes:
        raise TableError(
            f"{file}: {table.notes[0]}; adding a paint would change them for good, "
            "so name another file"
        )
    paints = {one.id: one for one in table}
    if paint.id in paints and not replacing:
        raise TableError(
            f"{file}: it holds a paint {paint.id} already; replace it (--replace), or take another "
            "id"
        )
    paints[paint.id] = paint
    if any((one.unit, one.surface) != (paint.unit, paint.surface) for one in paints.values()):
        raise TableError(
            f"{file}: its K and S stand in another unit than those of {paint.id}, "
            "and such paints cannot be mixed; name another file"
        )
    return write_table(paints.values(), file)
