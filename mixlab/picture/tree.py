"""The integer programme of piles that grow out of one another, with nothing of colour in it.

Each mass of a picture is to get one of many candidate mixes. A candidate is fresh, or grows out of
one certain other candidate, its parent, which has to be taken then. As every candidate has one
parent at most, the candidates are a forest by themselves: no choice can go round in a circle.

References
----------
.. [1] Q. Huangfu, J. A. J. Hall, "Parallelizing the dual revised simplex method", Math. Prog. Comp.
       10 (2018) 119-142: HiGHS, which scipy.optimize.milp runs.
"""

from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.palette.programme import in_a_thread

SWAPPED = 1e4
"""What it costs to mix a pair of masses against their order of value, and again for each step of
value: more than any number of piles."""

TOO_MANY = 1e3
"""What a fresh pile costs beyond those that are allowed."""

_CLEAR = 0.05  # of value by which a pair that should be told apart is mixed apart
_SOLVED = 1e-5  # of value: the solver holds its rows no nearer


@dataclass(frozen=True, eq=False)
class Forest:
    """Candidates, parents before children.

    Attributes
    ----------
    mass : (m,), for which mass each is; every mass has a fresh one at least
    parent : (m,), the candidate that it grows out of, -1 for a fresh one
    cost : (m,)
    value : (m,), Munsell value
    """

    mass: Indices
    parent: Indices
    cost: Array
    value: Array

    @property
    def masses(self) -> int:
        """Number of masses."""
        return int(self.mass.max()) + 1

    def total(self, chosen: Indices, wanted: Array, fresh: int) -> float:
        """Return what a choice (masses,) costs in all; see :func:`cheapest`."""
        early, late, clear = _pairs(wanted)
        values = self.value[chosen]
        short = np.maximum(clear - (values[late] - values[early]), 0)
        piles = int((self.parent[chosen] < 0).sum())
        return float(
            self.cost[chosen].sum() + TOO_MANY * max(piles - fresh, 0)
            + SWAPPED * ((short > _SOLVED).sum() + short.sum())
        )  # fmt: skip


@dataclass(frozen=True, eq=False)
class Chosen:
    """A candidate for each mass.

    Attributes
    ----------
    of : (masses,), its candidate
    cost : of all
    bound : no choice of these candidates costs less
    """

    of: Indices
    cost: float
    bound: float

    @property
    def proven(self) -> bool:
        """Whether no choice of these candidates is better."""
        return self.cost <= self.bound + 1e-3


def cheapest(forest: Forest, wanted: Array, fresh: int, seconds: float) -> Chosen:
    """Return the cheapest choice of a candidate for each mass, parents included.

    Parameters
    ----------
    forest : the candidates
    wanted : (masses,), Munsell value that is wanted of each: the mixes keep this order
    fresh : number of fresh piles beyond which each costs :data:`TOO_MANY`
    seconds : after so long the best that was found is taken
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    nodes, masses = len(forest.mass), forest.masses
    early, late, clear = _pairs(wanted)
    pairs = len(early)
    every = np.arange(nodes)
    grown = np.flatnonzero(forest.parent >= 0)
    # of the children of one candidate for one mass at most one is taken, and only with it
    kin, family = np.unique(
        forest.parent[grown] * masses + forest.mass[grown], return_inverse=True
    )
    # rows: a candidate for each mass; kin; order of value (short by s, which turns on z); fresh
    at_kin, at_order = masses, masses + len(kin)
    at_switch = at_order + pairs
    entries = [
        (forest.mass, every, np.ones(nodes)),
        (at_kin + family.reshape(-1), grown, np.ones(len(grown))),
        (at_kin + np.arange(len(kin)), kin // masses, -np.ones(len(kin))),
        (at_order + np.arange(pairs), nodes + np.arange(pairs), np.ones(pairs)),
        (at_switch + np.arange(pairs), nodes + np.arange(pairs), np.ones(pairs)),
        (at_switch + np.arange(pairs), nodes + pairs + np.arange(pairs), -10 * np.ones(pairs)),
        (np.full(nodes, at_switch + pairs), every, (forest.parent < 0).astype(float)),
        (np.array([at_switch + pairs]), np.array([nodes + 2 * pairs]), -np.ones(1)),
    ]
    for i, (one, other) in enumerate(zip(early, late, strict=True)):
        for mass, sign in ((one, -1.0), (other, 1.0)):
            mine = np.flatnonzero(forest.mass == mass)
            entries.append((np.full(len(mine), at_order + i), mine, sign * forest.value[mine]))
    row, column, entry = (np.concatenate(some) for some in zip(*entries, strict=True))
    rows, columns = at_switch + pairs + 1, nodes + 2 * pairs + 1
    matrix = coo_array((entry, (row, column)), shape=(rows, columns)).tocsr()
    low, high = np.full(rows, -np.inf), np.zeros(rows)
    low[:masses], high[:masses] = 1.0, 1.0
    low[at_order:at_switch], high[at_order:at_switch] = clear, np.inf
    high[-1] = fresh
    cost = np.concatenate(
        [forest.cost, np.full(pairs, SWAPPED), np.full(pairs, SWAPPED), [TOO_MANY]]
    )
    top = np.concatenate([np.ones(nodes), np.full(pairs, 10.0), np.ones(pairs), [masses]])
    whole = np.concatenate([np.ones(nodes), np.zeros(pairs), np.ones(pairs + 1)])
    options: dict[str, Any] = {"mip_rel_gap": 0.0, "time_limit": max(seconds, 0.01)}
    end: Any = in_a_thread(
        lambda: milp(
            cost, constraints=LinearConstraint(matrix, low, high), integrality=whole,
            bounds=Bounds(np.zeros(columns), top), options=cast("Any", options),
        )
    )  # fmt: skip
    by_itself = _all_fresh(forest)
    tried = [by_itself]
    if end.x is not None:
        taken = np.flatnonzero(end.x[:nodes] > 0.5)
        tried.append(taken[np.argsort(forest.mass[taken])])
    of = min(tried, key=lambda one: forest.total(one, wanted, fresh))
    bound = -np.inf if end.mip_dual_bound is None else float(end.mip_dual_bound)
    return Chosen(of, forest.total(of, wanted, fresh), bound)


def _pairs(wanted: Array) -> tuple[Indices, Indices, Array]:
    """Return pairs of masses, neighbours in value, the darker first, and how far to mix them apart.
    """
    order = np.argsort(wanted, kind="stable")
    gaps = np.diff(wanted[order])
    return order[:-1], order[1:], np.minimum(gaps / 2, _CLEAR)


def _all_fresh(forest: Forest) -> Indices:
    fresh = np.where(forest.parent < 0, forest.cost, np.inf)
    return np.array([
        int(np.where(forest.mass == mass, fresh, np.inf).argmin()) for mass in range(forest.masses)
    ])  # fmt: skip
