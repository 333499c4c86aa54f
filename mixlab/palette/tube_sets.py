"""The smallest sets of tubes that were found, ranked, and what they do for each target."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Mask, Progress
from mixlab.colour.spaces import Viewing
from mixlab.errors import ReachError
from mixlab.mixing.answers import Recipe
from mixlab.mixing.recipes import find_recipe, find_recipes
from mixlab.paint.tables import Palette, PigmentTable
from mixlab.palette.next_tube import Addition, additions
from mixlab.palette.problem import Problem
from mixlab.palette.small_sets import nearest
from mixlab.palette.trade_off import TradeOff, curve_of

_LEVEL = 0.05  # mean misses this near to each other are alike [CIEDE2000]
_SENSITIVITIES = 200  # targets whose recipes are asked for their sensitivity
_AT_ONCE = 10_000  # choices


@dataclass(frozen=True, eq=False)
class TubeSet:
    """Tubes that cover what was asked for.

    Attributes
    ----------
    tubes : ids, in the order of the tubes to choose from
    share : of the weight of the targets that they cover, 0..1
    mean_miss : of the best mix for each target, by weight, the uncovered ones too [CIEDE2000]
    sensitivity : mean over the targets, by weight, of how far a quarter part off moves the
        recipe in whole parts [CIEDE2000]; of the heaviest 200
    """

    tubes: tuple[str, ...]
    share: float
    mean_miss: float
    sensitivity: float


@dataclass(frozen=True, eq=False)
class Fewest:
    """What :func:`fewest_tubes` found, for n targets.

    Attributes
    ----------
    tubes : ids of the best set; empty if none was found in time
    sets : sets of so few tubes, the best first: by mean miss to 0.05, then by sensitivity
    compared : number of sets of so few tubes that the best were taken from
    complete : whether those are all there are
    counted : number of tubes of the best set that count
    lower_bound : no set of fewer that counts will do
    proven : whether the best set has no more tubes than the bound; shares of the weight are
        compared to a few millionths
    proof_has_margin : whether that would hold if the tolerance were 0.02 more: no miss
        so near to it decides about it; None where the time was over before it was known
    stopped : "" if the search ended by itself; "time" or "Ctrl-C" if it was cut short
    share_wanted : as asked; of `share_in_reach` where that is less
    share : of the weight that the best set brings within the tolerance, 0..1
    in_reach : (n,), False where no mix of all the tubes is within the tolerance
    in_reach_known : (n,), whether `in_reach` is known: of all, unless the search was cut short
        or the tubes are so many that it would take long
    within_tolerance : (n,), whether the best set does the target
    shares : (n, k), of the best mix of the set, in the order of `tubes`
    miss : (n,), of that mix [CIEDE2000]
    palette : the best set as a palette; None if none was found
    looked_at : number of targets that were looked at with all the tubes
    """

    tubes: tuple[str, ...]
    sets: tuple[TubeSet, ...]
    compared: int
    complete: bool
    counted: int
    lower_bound: int
    proven: bool
    proof_has_margin: bool | None
    stopped: str
    share_wanted: float
    share: float
    in_reach: Mask
    in_reach_known: Mask
    within_tolerance: Mask
    shares: Array
    miss: Array
    palette: Palette | None
    looked_at: int
    _problem: Problem

    @property
    def labs(self) -> Array:
        """The targets (n, 3)."""
        return self._problem.labs

    @property
    def weight(self) -> Array:
        """What each counts, (n,); they sum to one."""
        return self._problem.weight

    @property
    def view(self) -> Viewing:
        """Light and observer."""
        return self._problem.view

    @property
    def tolerance(self) -> float:
        """Miss that passes [CIEDE2000]."""
        return self._problem.tolerance

    @property
    def max_tubes(self) -> int:
        """Greatest number of paints in a mix."""
        return self._problem.kit.most

    @property
    def share_in_reach(self) -> float:
        """Share of the weight that all the tubes bring within the tolerance, as far as is known."""
        return self._problem.weight_of(self.in_reach)

    @property
    def of(self) -> tuple[str, ...]:
        """Ids of the tubes that the set could be taken from."""
        return tuple(self._problem.paints.ids)

    @property
    def free(self) -> tuple[str, ...]:
        """Ids of the tubes to choose from that do not count."""
        return self._problem.ids(self._problem.free)

    @cached_property
    def recipes(self) -> tuple[Recipe, ...]:
        """Recipes in whole parts from the best set, one a target; see :meth:`recipe`."""
        return tuple(self.recipe(row) for row in range(len(self.labs)))

    def recipe(self, row: int) -> Recipe:
        """Return the recipe in whole parts for one target, of the fewest tubes.

        Up to twelve parts, or in finer ones where that does not come within the tolerance; for a
        target that the set does not cover, within 0.5 of the nearest mix.

        Raises
        ------
        ReachError : if no set was found
        """
        return find_recipe(
            self.labs[row], self._alone, self.tolerance, self.max_tubes, view=self.view,
            out_of_reach="nearest", alternatives=0,
        ).recipe  # fmt: skip

    @cached_property
    def _alone(self) -> Palette:
        """The best set in a table of its own, where nothing else is looked for."""
        if self.palette is None:
            raise ReachError("no set of tubes was found; there are no recipes")
        return PigmentTable(self.palette.paints).palette(self.tubes, self.palette.name)

    def misses_of(self, labs: ArrayLike) -> Array:
        """Return how far the best set misses other colours, CIELAB (n, 3): (n,) [CIEDE2000].

        Infinite if no set was found. Many are sought together, as :func:`mixlab.reach` does.
        """
        labs = np.asarray(labs, dtype=float).reshape(-1, 3)
        if not self.tubes:
            return np.full(len(labs), np.inf)
        return nearest((self._problem.kit.of(np.flatnonzero(np.isin(self.of, self.tubes))), labs))

    def trade_off(
        self,
        most: int | None = None,
        progress: Progress | None = None,
        time_limit: float | None = None,
    ) -> TradeOff:
        """Return what 1, 2, .. tubes can do, up to so many; to those of the best set if None.

        See :func:`mixlab.trade_off`. Of fewer tubes than are needed it is known besides that they
        cover less than was asked.
        """
        most = max(self.counted, 1) if most is None else most
        also = [np.isin(self.of, one.tubes) for one in self.sets]
        self._problem.begin(progress, time_limit)
        curve = curve_of(self._problem, most, also)
        wanted = self._problem.wanted(self.share_wanted)
        most_share = np.where(curve.count < self.lower_bound, wanted, np.inf)
        return replace(curve, bound=np.maximum(np.minimum(curve.bound, most_share), curve.share))

    def next_tubes(self, progress: Progress | None = None) -> list[Addition]:
        """Return what each further tube of the table would add to the tubes to choose from.

        See :func:`mixlab.best_next`. Empty where the table has no further tube; those that were
        excluded are not tried.
        """
        problem = self._problem
        gone = {*problem.paints.ids, *problem.excluded}
        further = [paint for paint in problem.paints.table if paint.id not in gone]
        problem.begin(progress, None)
        return additions(problem, further) if further else []


def ranked(
    problem: Problem, choices: list[Mask], sets: int
) -> list[tuple[Mask, TubeSet]]:
    """Return the best of the choices, by mean miss and then by sensitivity.

    The first of them at least; as many more as there is time for.
    """
    means = _means(problem, choices) if len(choices) > 1 else [0.0] * len(choices)
    order = sorted(range(len(choices)), key=lambda i: (means[i], problem.ids(choices[i])))
    listed: list[tuple[Mask, TubeSet]] = []
    for i in order[:sets]:
        if listed and problem.left() <= 0:
            break
        miss = problem.misses_of(choices[i])
        one = TubeSet(
            problem.ids(choices[i]), problem.weight_of(miss <= problem.tolerance),
            float(problem.weight @ miss), _sensitivity(problem, choices[i]),
        )  # fmt: skip
        listed.append((choices[i], one))
    listed.sort(key=lambda one: (round(one[1].mean_miss / _LEVEL), one[1].sensitivity))
    return listed


def _means(problem: Problem, choices: list[Mask]) -> Array:
    """Return the mean miss (c,) of choices, by weight, of the targets that were looked at."""
    means = np.zeros(len(choices))
    sizes = np.array([int(chosen.sum()) for chosen in choices], dtype=int)
    for size in np.unique(sizes):
        some = np.flatnonzero(sizes == size)
        tubes = np.array([np.flatnonzero(choices[i]) for i in some]).reshape(len(some), -1)
        for at in range(0, len(some), _AT_ONCE):
            inside = problem.kit.subsets.inside(tubes[at : at + _AT_ONCE])
            for row in np.flatnonzero(problem.known):
                least = problem.miss[int(row)][inside].min(axis=1)
                means[some[at : at + _AT_ONCE]] += problem.weight[row] * least
    return means


def _sensitivity(problem: Problem, chosen: Mask) -> float:
    rows = np.argsort(-problem.weight, kind="stable")[:_SENSITIVITIES]
    palette = problem.paints.table.palette(problem.ids(chosen))
    made = find_recipes(
        problem.labs[rows], palette, problem.tolerance, problem.kit.most, view=problem.view
    )
    weight = problem.weight[rows]
    moved = [made[i].sensitivity.miss if w > 0 else 0.0 for i, w in enumerate(weight)]
    return float(np.average(moved, weights=weight))
