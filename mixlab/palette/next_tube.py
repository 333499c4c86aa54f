"""The next tube: what each further one would add to the tubes at hand."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Progress
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.nearest.many import Seeds
from mixlab.nearest.medium import Medium
from mixlab.paint.paints import Paint
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.problem import Problem, Tubes, listed, named, problem_of
from mixlab.palette.programme import GRAIN
from mixlab.palette.work import each_done


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
    excluded: Iterable[str] = (),
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
    most first and, of those that cover as much, those that miss least on the average. All targets
    are sought together, as :func:`mixlab.reach` does.

    Raises
    ------
    ReachError : for settings or targets that make no sense
    """
    if not isinstance(palette, Palette):
        raise ReachError("the tubes at hand must be a palette")
    further = [p for p in (palette.table if tubes is None else listed(tubes))
               if p.id not in palette.ids]  # fmt: skip
    if not further:
        raise ReachError("every tube to choose from is on the palette: there is no next one")
    barred = named(PigmentTable((*palette.paints, *further)), excluded)
    problem = problem_of(
        labs, palette, tolerance, max_tubes, weights, view, executor,
        excluded=barred & set(palette.ids),
    )  # fmt: skip
    problem.begin(progress, None)
    return additions(problem, [p for p in further if p.id not in barred])


def additions(problem: Problem, further: Sequence[Paint]) -> list[Addition]:
    """Return what each of further paints would add to the tubes of a problem; see `best_next`."""
    medium, most, labs = problem.kit.medium, problem.kit.most, problem.labs
    alone = Seeds.of(medium, most).nearest(labs)[2]
    sent = [(medium, paint, most, labs) for paint in further]
    least = [alone]
    for miss in each_done(misses_with, sent, problem.executor):
        least.append(np.minimum(alone, miss))  # a tube more takes nothing away
        problem.tell((len(least) - 1) / len(sent))
    made = [
        Addition(id, problem.weight_of(miss <= problem.tolerance), float(problem.weight @ miss))
        for id, miss in zip(("", *(p.id for p in further)), least, strict=True)
    ]
    return [made[0], *sorted(made[1:], key=lambda one: (-round(one.share / GRAIN), one.mean_miss))]


def misses_with(asked: tuple[Medium, Paint, int | None, Array]) -> Array:
    """Return the least miss (n,) to colours (n, 3) of mixes that a further paint has a part in.

    Of some paints and one more, of at most so many in a mix, None for any [CIEDE2000].
    """
    medium, paint, most, labs = asked
    more = replace(medium, k=np.vstack([medium.k, paint.K]), s=np.vstack([medium.s, paint.S]))
    return Seeds.of(more, most, required=len(medium.k)).nearest(labs)[2]
