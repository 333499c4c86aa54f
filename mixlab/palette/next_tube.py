"""The next tube: what each further one would add to the tubes at hand."""


from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Progress
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.problem import Problem, Tubes, listed, nearest, problem_of
from mixlab.palette.programme import GRAIN
from mixlab.palette.small_sets import misses
from mixlab.palette.work import each_done

MANY = 300
"""Number of targets from which on all are sought together."""

_SENT = 8  # targets to a piece of work


@dataclass(frozen=True, eq=False)
class Addition:
    """What a palette gains by one more tube.

    Attributes
    ----------
    id : of the tube; "" for the palette as it is
    share : of the weight of the targets that is then covered, 0..1
    mean_miss : then, of the best mix for each target, by weight [CIEDE2000]
    """

    id: str
    share: float
    mean_miss: float


def best_next(
    palette: Palette,
    labs: ArrayLike,
    tubes: Tubes | None = None,
    tolerance: float = TOLERANCE,
    max_tubes: int = 3,
    weights: ArrayLike | None = None,
    *,
    must_not: Iterable[str] = (),
    executor: Any = None,
    view: Viewing | None = None,
    progress: Progress | None = None,
) -> list[Addition]:
    """Return what each further tube would add to a palette, the best first.

    Parameters
    ----------
    palette : the tubes at hand
    tubes : where further ones are from; the palette's table unless given
    others as in :func:`mixlab.fewest_tubes`

    Returns
    -------
    the palette as it is, with an empty id, and then an addition for each tube: those that cover
    most first and, of those that cover as much, those that miss least on the average. Of more than
    300 targets all are sought together, as :func:`mixlab.palette.reach` does.

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    if not isinstance(palette, Palette):
        raise ReachError("the tubes at hand must be a palette")
    catalogue = palette.table if tubes is None else listed(tubes)
    more = [p for p in catalogue if p.id not in palette.ids]
    if not more:
        raise ReachError("every tube of the catalogue is on the palette: there is no next one")
    all_ = PigmentTable((*palette.paints, *more), palette.table.path)
    problem = problem_of(
        labs, all_, tolerance, max_tubes, weights, (), must_not, (), view, executor,
        base=palette.ids,
    )  # fmt: skip
    tell = progress or (lambda share: None)
    outside = [i for i in range(len(problem.paints)) if problem.paints.ids[i] not in palette.ids]
    least = (_together if len(problem.labs) > MANY else _one_by_one)(problem, outside, tell)
    tell(1.0)
    shares, means = (least <= problem.tolerance) @ problem.weight, least @ problem.weight
    ids = ["", *(problem.paints.ids[i] for i in outside)]
    made = [Addition(id, float(a), float(b)) for id, a, b in zip(ids, shares, means, strict=True)]
    return [made[0], *sorted(made[1:], key=lambda one: (-round(one.share / GRAIN), one.mean_miss))]


def _one_by_one(problem: Problem, outside: list[int], tell: Progress) -> Array:
    """Return the least miss (1 + t, n): the palette's alone, and with each of the tubes (t,)."""
    kit, labs = problem.kit, problem.labs
    assert kit.base is not None
    members = kit.subsets.members
    own = ~np.delete(members, np.array(kit.base), axis=1).any(axis=1)
    pieces = [np.arange(at, min(at + _SENT, len(labs))) for at in range(0, len(labs), _SENT)]
    least = np.empty((1 + len(outside), len(labs)))
    sent = [(kit, labs[piece]) for piece in pieces]
    for done, (place, found) in enumerate(each_done(misses, sent, problem.executor), start=1):
        least[:, pieces[place]] = found[:, own].min(axis=1)
        for row, i in enumerate(outside, start=1):
            with_it = found[:, members[:, i]].min(axis=1)
            least[row, pieces[place]] = np.minimum(least[0, pieces[place]], with_it)
        tell(done / len(pieces))
    return least


def _together(problem: Problem, outside: list[int], tell: Progress) -> Array:
    """Return the same of many targets, a tube at a time."""
    base = np.array(problem.kit.base)
    alone = nearest((problem.kit.of(base), problem.labs))
    least = np.tile(alone, (1 + len(outside), 1))
    sent = [(problem.kit.of(np.array([*base, i])), problem.labs) for i in outside]
    for done, (place, found) in enumerate(each_done(nearest, sent, problem.executor), start=1):
        least[1 + place] = np.minimum(found, alone)  # a tube more takes nothing away
        tell(done / len(sent))
    return least
