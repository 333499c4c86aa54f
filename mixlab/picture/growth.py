"""Candidate mixes for the masses of a picture: fresh ones, and those that grow out of others.

A fresh pile is a mix of tubes in whole parts. A pile that grows takes parts of its parent and adds
at most two tubes to them, in parts that a knife can measure. All that come within the tolerance of
a mass are looked at, and the ones that serve best are kept: they are parents in the next round.
"""

import itertools
from collections import Counter
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from mixlab.arrays import Array, Mask, in_threads, one_thread
from mixlab.colour.difference import ciede2000, uniform
from mixlab.colour.spaces import Viewing, lab_to_value
from mixlab.nearest.medium import Medium
from mixlab.picture.tree import Forest

MOST_ADDED = 12.0
"""Greatest addition to a pile, in times of it."""

FRESH = 100.0
"""What a fresh pile costs, in tubes put down."""

STRAINED = 120.0
"""What it costs more to grow out of a pile of the other family of light, and to add more colour
than there is pile, which is a fresh pile in all but name. Shadows share a mother pile and lights
another: common practice, no source."""

MISSED = 1.0
"""What one CIEDE2000 of a miss costs, in tubes put down, for a mass of middling size: a further
tube must gain as much. A big mass is seen more."""

PER_PART = 0.02
"""What a part costs, in tubes put down: of recipes alike the smaller is easier measured."""

_PILE = (1, 2, 3, 4, 6, 8)  # parts of the parent
_ADDED = (0.25, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12)  # parts of a tube
_TOTAL = 20
_QUARTER, _HALF, _OF_PILE, _PER_TIME, _FINE = 0.2, 0.1, 0.03, 0.05, 0.03
_STRAIGHT = 2.6  # greatest straight distance between colours 1 CIEDE2000 apart: 2.55 in sRGB
_PARENTS = 40  # candidates that may have children, in each round
_ROUNDS = 3
_BLOCK, _AT_A_TIME = 1500, 8  # mixes, and parents: what stays in the processor's cache


@dataclass(frozen=True, eq=False)
class Additions:
    """Ways to add to a pile.

    Attributes
    ----------
    taken : (m,), parts of the pile
    added : (m, p), parts of each tube
    cost : (m,), tubes put down, and how awkward their parts are
    """

    taken: Array
    added: Array
    cost: Array


class Candidate(NamedTuple):
    """A mix that will do for a mass.

    Attributes
    ----------
    mass : for which
    parent : index of the candidate that it grows out of, -1 for a fresh one
    taken, added : parts of the parent's pile, and parts (p,) of each tube
    shares : (p,), of each tube in the whole
    lab : (3,), CIELAB
    miss : CIEDE2000 from what is to be come near to
    cost : in tubes put down
    """

    mass: int
    parent: int
    taken: float
    added: Array
    shares: Array
    lab: Array
    miss: float
    cost: float


def forest_of(found: Sequence[Candidate], view: Viewing) -> Forest:
    """Return what the integer programme needs of candidates, parents before children."""
    mass, parent, *_, cost = (np.array(some) for some in zip(*found, strict=True))
    return Forest(mass, parent, cost, lab_to_value([one.lab for one in found], view))


@lru_cache(maxsize=8)
def additions(tubes: int) -> Additions:
    """Return the ways to add at most two of so many tubes to a pile, each proportion once."""
    taken, added, cost = [], [], []
    for kinds in (1, 2)[:tubes]:
        ways: dict[tuple[float, ...], tuple[float, int, tuple[float, ...]]] = {}
        for pile, parts in itertools.product(_PILE, itertools.product(_ADDED, repeat=kinds)):
            if sum(parts) > min(MOST_ADDED * pile, _TOTAL - pile):
                continue
            own = kinds + _awkward(pile, parts)
            proportion = tuple(round(n / pile, 6) for n in parts)
            if proportion not in ways or own < ways[proportion][0]:
                ways[proportion] = own, pile, parts
        costs, piles, all_parts = zip(*ways.values(), strict=True)
        for chosen in itertools.combinations(range(tubes), kinds):
            full = np.zeros((len(ways), tubes))
            full[:, chosen] = all_parts
            taken.append(np.array(piles, dtype=float))
            added.append(full)
            cost.append(np.array(costs))
    return Additions(np.concatenate(taken), np.concatenate(added), np.concatenate(cost))


def _awkward(pile: int, parts: Sequence[float]) -> float:
    """Return what it costs to measure so many parts of tubes into so many of a pile.

    Small parts, and parts that are small beside the whole, are hard to measure; a small pile is
    easier on the eye; much paint drowns the pile.
    """
    small = sum(_QUARTER if n < 0.5 else _HALF if n % 1 else 0.0 for n in parts)
    whole = pile + sum(parts)
    fine = _FINE * whole / min(pile, *parts)
    return small + fine + _OF_PILE * (pile - 1) + _PER_TIME * sum(parts) / pile


def fresh_cost(parts: Array) -> Array:
    """Return what fresh piles of so many parts (..., p) cost, their misses aside."""
    return np.asarray(FRESH + (parts > 0).sum(axis=-1) + PER_PART * parts.sum(axis=-1))


@dataclass(frozen=True, eq=False)
class Wanted:
    """What piles are grown for, and from what.

    Attributes
    ----------
    goals : CIELAB (n, 3), what each mass is to come near to
    light : (n,), which masses are of the light family
    weights : (n,), what one CIEDE2000 of a miss costs
    tolerance : miss that passes [CIEDE2000]
    medium, white : the tubes, and which (p,) of them are white
    """

    goals: Array
    light: Mask
    weights: Array
    tolerance: float
    medium: Medium
    white: Mask


def grow_out_of(
    fresh: Sequence[Candidate], wanted: Wanted, barren: Container[int] = ()
) -> list[Candidate]:
    """Return fresh candidates with those that grow out of them, and out of these, and so on.

    Out of the piles of masses that are `barren` none grows.
    """
    found, begun = list(fresh), 0
    parents: list[int] = []

    def children(block: slice) -> list[Candidate]:
        with one_thread():
            return [child for node in parents[block] for child in _children(found, node, wanted)]

    for _ in range(min(_ROUNDS, len(wanted.goals) - 1)):
        parents = _parents(found, begun, len(wanted.goals), barren)
        begun = len(found)
        for some in list(in_threads(children, len(parents), _AT_A_TIME)):
            found += some
    return found


def _parents(
    found: Sequence[Candidate], begun: int, masses: int, barren: Container[int]
) -> list[int]:
    """Return which of the candidates from `begun` on have children: a few of each mass.

    The cheapest of each way to come by a mass (out of which mass, with which tubes) go first.
    """
    chosen: list[int] = []
    for mass in range(masses):
        if mass in barren:
            continue
        mine = [i for i in range(begun, len(found)) if found[i].mass == mass]
        seen: Counter[tuple[int, ...]] = Counter()
        rank = {}
        for i in sorted(mine, key=lambda i: found[i].cost):
            parent = found[i].parent
            way = found[parent].mass if parent >= 0 else -1, *np.flatnonzero(found[i].added)
            rank[i] = seen[way]
            seen[way] += 1
        mine.sort(key=lambda i: (rank[i], found[i].cost))
        chosen += mine[: max(2, _PARENTS // masses)]
    return sorted(chosen)


def _children(found: Sequence[Candidate], node: int, wanted: Wanted) -> Iterator[Candidate]:
    """Return what grows out of a candidate."""
    own, medium = found[node], wanted.medium
    table, light, tolerance = additions(len(medium.k)), wanted.light, wanted.tolerance
    amounts = table.taken[:, None] * own.shares + table.added
    lab = np.concatenate([
        medium.lab(amounts[at : at + _BLOCK]) for at in range(0, len(amounts), _BLOCK)
    ])  # fmt: skip
    colour = table.added @ ~wanted.white
    even, above, up = uniform(lab), set(), node
    while up >= 0:
        above.add(found[up].mass)
        up = found[up].parent
    for mass, goal in enumerate(wanted.goals):
        if mass in above:
            continue
        straight = np.square(even - uniform(goal)).sum(axis=1)
        near = np.flatnonzero(straight <= (_STRAIGHT * tolerance) ** 2)
        miss = ciede2000(goal, lab[near])
        near, miss = near[miss <= tolerance], miss[miss <= tolerance]
        if not len(near):
            continue
        strained = (colour[near] > table.taken[near]) | (light[mass] != light[own.mass])
        cost = table.cost[near] + wanted.weights[mass] * miss + STRAINED * strained
        for i in sorted({int(cost.argmin()), int(miss.argmin())}):
            way = near[i]
            yield Candidate(
                mass, node, float(table.taken[way]), table.added[way],
                amounts[way] / amounts[way].sum(), lab[way], float(miss[i]), float(cost[i]),
            )  # fmt: skip
