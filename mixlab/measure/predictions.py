"""How well curves predict drawdowns that they were not fitted to."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import reflectance_to_lab, viewing
from mixlab.errors import NotationError, ReadingError
from mixlab.measure.drawdowns import CLEAR, DENSE
from mixlab.measure.films import Films, films
from mixlab.measure.readings import Readings
from mixlab.paint import optics
from mixlab.paint.optics import Surface
from mixlab.paint.tables import PigmentTable


@dataclass(frozen=True, eq=False)
class Prediction:
    """What curves say of a drawdown that was read.

    Attributes
    ----------
    sample, mixture : of the drawdown
    surface : which reading the miss is of: over white, else opaque, else over black
    miss : CIEDE2000 from the reading, D65 / 2 degree
    thickness : of the film, the one free number [1 / S of the unit]; inf of an opaque layer
    """

    sample: str
    mixture: str
    surface: str
    miss: float
    thickness: float


def predict(table: PigmentTable, readings: Readings) -> tuple[Prediction, ...]:
    """Return how well a table predicts the drawdowns of readings, in the order of the file.

    The thickness of each film is the one that agrees best with all grounds it was read over.

    Raises
    ------
    ReadingError : if the readings hold a paint that the table lacks, or films without grounds
    """
    named: dict[str, str] = {}
    for name in readings.paints:
        try:
            named[name] = table[name].id
        except NotationError as error:
            raise ReadingError(f"{readings.path}: {error} in {table.path}") from None
    if doubled := {id for id in named.values() if list(named.values()).count(id) > 1}:
        raise ReadingError(f"{readings.path}: {min(doubled)} goes by two names; write its id")
    by_id = tuple(
        replace(r, parts={named[i]: n for i, n in r.parts.items()}) for r in readings.readings
    )
    chosen = [table[id] for id in named.values()]
    k, s = np.array([[p.K for p in chosen], [p.S for p in chosen]])
    of = films(replace(readings, readings=by_id), [p.id for p in chosen])
    return predicted(of, k, s, chosen[0].surface)


def predicted(
    of: Films, k: Array, s: Array, surface: Surface, only: Sequence[int] | None = None
) -> tuple[Prediction, ...]:
    """Return predictions of drawdowns, all unless `only` some, by curves (p, 36)."""
    return tuple(
        _one(of, d, of.shares[d] @ k, of.shares[d] @ s, surface)
        for d in (range(len(of.samples)) if only is None else only)
    )


def _one(of: Films, d: int, k: Array, s: Array, surface: Surface) -> Prediction:
    from scipy.optimize import minimize_scalar

    own = np.flatnonzero(of.sample == d)
    shown = int(of.shown[d])
    wanted = reflectance_to_lab(of.reflectance[own], viewing())
    ground = np.clip(surface.internal(of.ground[own]), 0, 1)

    def misses(log_x: Any) -> Array:
        x = np.where(of.opaque[own], np.inf, np.exp(np.asarray(log_x))[..., None])[..., None]
        lab = reflectance_to_lab(surface.measured(optics.film(k, s, x, ground)), viewing())
        return ciede2000(wanted, lab)

    def off(log_x: Any) -> Any:
        return (misses(log_x) ** 2).sum(axis=-1)

    # the colour of a film can come and go as it thickens, so a grid finds where to look
    grid = np.log(np.geomspace(CLEAR, DENSE, 141))
    best = int(np.argmin(off(grid)))
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
    found = minimize_scalar(off, bounds=(low, high), method="bounded")
    log_x = found.x if found.fun < off(grid[best]) else grid[best]
    miss = float(misses(log_x)[int(np.flatnonzero(own == shown)[0])])
    hides = bool(of.opaque[own].all())
    return Prediction(
        of.samples[d], of.mixtures[d], of.surfaces[shown], miss,
        math.inf if hides else float(np.exp(log_x)),
    )  # fmt: skip
