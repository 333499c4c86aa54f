"""Piles that grow out of one another: a mix for every mass of a picture.

Each mass gets a fresh pile, or takes parts of another's and adds a tube or two. All masses are
chosen for at once, so that, in this order, every one is within the tolerance and the order of
values holds; fresh piles are few; additions are few and large enough to measure; misses are small.
Shadows grow out of a shadow and lights out of a light wherever that saves no fresh pile too many
(common practice, no source).
"""

from collections import Counter
from collections.abc import Container, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil, lcm

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Mask
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.spaces import Viewing, lab_to_value, viewing
from mixlab.mixing.recipes import as_colours, find_recipe
from mixlab.mixing.two_steps import TwoSteps
from mixlab.nearest.medium import medium_of
from mixlab.nearest.whole import lattice_of
from mixlab.paint.mixtures import Mixture
from mixlab.paint.tables import Palette
from mixlab.picture.growth import (
    FRESH,
    MISSED,
    PER_PART,
    Candidate,
    Wanted,
    forest_of,
    fresh_cost,
    grow_out_of,
)
from mixlab.picture.tree import cheapest

FRESH_OF = 3 / 8
"""Fresh piles that are allowed, as a share of the masses."""

SECONDS = 20.0
"""Time that the integer programme may take."""

_PARTS, _TUBES = 12, 4  # of a fresh pile
_FIRST, _WHITE = 6, (3, 4, 5, 6, 8, 10, 12)  # parts of a first mix; of white in which one is put
_TWO_STEPS = 2.0  # what a second step costs
_FRESH = 20  # fresh candidates of a mass
_SAME_TUBES = 3  # of them
_MANY = 160  # fresh candidates of all masses
_SEEN = (0.5, 2.0)  # least and most that the size of a mass makes of its miss
_WHOLE = 100  # parts up to which a mix is written in whole numbers


@dataclass(frozen=True, eq=False)
class Pile:
    """The pile of one mass.

    Attributes
    ----------
    parent : index of the mass out of whose pile it grows, None for a fresh one
    from_parts : parts of that pile
    add : parts of each tube that is added, by id; of a fresh pile all its parts
    mixture : all that is in it
    wanted : CIELAB (3,)
    miss : CIEDE2000 from what is wanted to the mix
    in_reach : whether the whole palette comes within the tolerance of it
    two_steps : how a fresh pile is mixed in two steps, None where it is mixed at once
    """

    parent: int | None
    from_parts: float
    add: dict[str, float]
    mixture: Mixture
    wanted: Array
    miss: float
    in_reach: bool
    two_steps: TwoSteps | None = None

    @property
    def first(self) -> str:
        """How a fresh pile is mixed in two steps, in words; "" where it is mixed at once."""
        return str(self.two_steps) if self.two_steps else ""

    @property
    def lab(self) -> Array:
        """CIELAB (3,) of the mix."""
        return self.mixture.lab

    @property
    def total(self) -> float:
        """Parts in all, of the parent's pile and of tubes."""
        return self.from_parts + sum(self.add.values())

    @property
    def smallest_share(self) -> float:
        """Share of the smallest part that is measured into it, 0..1."""
        if self.two_steps:
            second = [self.two_steps.taken, *self.two_steps.parts]
            return min(second) / sum(second)
        parts = [*self.add.values(), *([self.from_parts] if self.from_parts else [])]
        return min(parts) / self.total

    def words(self, names: Sequence[str]) -> str:
        """Return how it is mixed, the masses named: "2 of pile 3 + 3 titanium-white"."""
        if self.parent is None:
            return self.first or str(self.mixture)
        added = [f"{n:g} {id}" for id, n in self.add.items()]
        return " + ".join([f"{self.from_parts:g} of {names[self.parent]}", *added])


@dataclass(frozen=True, eq=False)
class Piles:
    """A pile for every mass.

    Attributes
    ----------
    piles : by mass
    palette : the tubes that they are mixed from
    view : light, observer and finish
    cost, bound : of the choice, and below which none of the candidates is [tubes put down]; see
        :mod:`mixlab.picture.growth`
    candidates : how many mixes were chosen from
    proven : whether no choice of them is better
    tolerance : miss that passes [CIEDE2000]
    allowed : number of fresh piles
    """

    piles: tuple[Pile, ...]
    palette: Palette
    view: Viewing
    cost: float
    bound: float
    candidates: int
    proven: bool
    tolerance: float
    allowed: int

    @property
    def fresh(self) -> tuple[int, ...]:
        """Masses whose piles are fresh."""
        return tuple(i for i, pile in enumerate(self.piles) if pile.parent is None)

    @property
    def tubes(self) -> tuple[str, ...]:
        """Ids of the tubes that are used, in the order of the palette."""
        used = {id for pile in self.piles for id in pile.add}
        return tuple(id for id in self.palette.ids if id in used)

    @property
    def amiss(self) -> int:
        """How many masses miss though they are in reach, and how many fresh piles are too many."""
        missed = sum(pile.in_reach and pile.miss > self.tolerance for pile in self.piles)
        return missed + max(len(self.fresh) - self.allowed, 0) + (not self.order_holds)

    def children(self, mass: int) -> tuple[int, ...]:
        """Return the masses that grow out of the pile of one."""
        return tuple(i for i, pile in enumerate(self.piles) if pile.parent == mass)

    @cached_property
    def mixing_order(self) -> tuple[int, ...]:
        """Masses in an order in which each pile comes after the one that it grows out of."""
        order: list[int] = []

        def put(mass: int) -> None:
            order.append(mass)
            for child in self.children(mass):
                put(child)

        for mass in self.fresh:
            put(mass)
        return tuple(order)

    @property
    def order_holds(self) -> bool:
        """Whether the mixes are in the order of value of what is wanted."""
        wanted = lab_to_value(np.array([pile.wanted for pile in self.piles]), self.view)
        mixed = lab_to_value(np.array([pile.lab for pile in self.piles]), self.view)
        return bool((np.diff(mixed[np.argsort(wanted, kind="stable")]) >= 0).all())


def grow(
    wanted: ArrayLike, palette: Palette, view: Viewing | None = None, *,
    tolerance: float = TOLERANCE, light: Sequence[bool] | None = None,
    shares: Sequence[float] | None = None, goals: ArrayLike | None = None,
    in_reach: Sequence[bool] | Mask | None = None, barren: Container[int] = (),
    fresh: int | None = None, seconds: float = SECONDS,
) -> Piles:  # fmt: skip
    """Return a pile for each of some colours, grown out of one another.

    Parameters
    ----------
    wanted : CIELAB (n, 3) under `view`
    palette : the tubes to mix them from
    view : light, observer and finish; D65, 2 degree, gloss unless told
    tolerance : miss that passes [CIEDE2000]
    light : (n,), which are in the light; the lighter half unless told
    shares : (n,), of the picture that each covers, 0..1: a miss in a big one costs more
    goals, in_reach : (n, 3) and (n,), as :class:`mixlab.palette.family.Family` has them, where
        some are out of reach
    barren : those out of whose piles none grows
    fresh : greatest number of fresh piles, if that can be; else three in eight
    seconds : that the integer programme may take

    Raises
    ------
    SearchError : for colours or settings that make no sense
    """
    view = view or viewing()
    wanted = as_colours(wanted, 1)
    goals = wanted if goals is None else np.asarray(goals, dtype=float)
    values = lab_to_value(wanted, view)
    lit = values > np.median(values) if light is None else np.asarray(light, dtype=bool)
    mothers = sum(mass not in barren for mass in range(len(wanted)))
    allowed = ceil(FRESH_OF * mothers) if fresh is None else fresh
    weights = MISSED * np.ones(len(wanted))
    if shares is not None:
        weights *= np.clip(np.sqrt(np.asarray(shares) * len(wanted)), *_SEEN)
    fresh_ones, first = _fresh(goals, weights, palette, view, tolerance)
    white = np.array([paint.is_white for paint in palette])
    found = grow_out_of(
        fresh_ones, Wanted(goals, lit, weights, tolerance, medium_of(palette, view), white), barren
    )
    chosen = cheapest(forest_of(found, view), values, allowed, seconds)
    reached = np.ones(len(wanted), dtype=bool) if in_reach is None else np.asarray(in_reach)
    piles = []
    for mass, node in enumerate(chosen.of):
        one = found[node]
        add = {id: float(n) for id, n in zip(palette.ids, one.added, strict=True) if n > 0}
        mixture = palette.mix(_amounts(found, node, palette.ids), view)
        piles.append(Pile(
            found[one.parent].mass if one.parent >= 0 else None, one.taken, add, mixture,
            wanted[mass], float(ciede2000(wanted[mass], mixture.lab)), bool(reached[mass]),
            first.get(int(node)),
        ))  # fmt: skip
    return Piles(tuple(piles), palette, view, chosen.cost, chosen.bound, len(found), chosen.proven,
                 tolerance, allowed)  # fmt: skip


def _fresh(
    goals: Array, weights: Array, palette: Palette, view: Viewing, tolerance: float
) -> tuple[list[Candidate], dict[int, TwoSteps]]:
    """Return fresh candidates, and the steps of those that are mixed in two."""
    parts, costs, ways = _whole_parts(palette, view)
    labs, most = medium_of(palette, view).lab(parts), min(_FRESH, max(3, _MANY // len(goals)))
    found: list[Candidate] = []
    first: dict[int, TwoSteps] = {}
    white = [paint for paint in palette if paint.is_white][:1]
    for mass, (goal, weight) in enumerate(zip(goals, weights, strict=True)):
        miss = ciede2000(goal, labs)
        near = np.flatnonzero(miss <= tolerance)
        near = near[np.argsort(costs[near] + weight * miss[near], kind="stable")]
        seen: Counter[tuple[int, ...]] = Counter()
        for i in near.tolist():
            tubes = tuple(np.flatnonzero(parts[i]).tolist())
            if seen[tubes] == _SAME_TUBES or seen.total() == most:
                continue
            seen[tubes] += 1
            if ways[i].any():
                *begun, then = ways[i].tolist()
                tubes_in = {id: n for id, n in zip(palette.ids, begun, strict=True) if n}
                first[len(found)] = TwoSteps(palette.mix(tubes_in, view), 1, (*white,), (then,))
            found.append(Candidate(mass, -1, 0.0, parts[i], parts[i] / parts[i].sum(), labs[i],
                                   float(miss[i]), float(costs[i] + weight * miss[i])))  # fmt: skip
        if not seen:
            made = find_recipe(goal, palette, tolerance, _TUBES, view=view, alternatives=0).recipe
            own = np.array([made.mixture.parts.get(id, 0.0) for id in palette.ids])
            if made.two_steps is not None:
                first[len(found)] = made.two_steps
                own *= sum(made.two_steps.first.amounts)
            own = np.rint(own) / np.gcd.reduce(np.rint(own).astype(int))
            cost = FRESH + len(made.steps) + weight * made.miss
            found.append(Candidate(mass, -1, 0.0, own, own / own.sum(), made.lab, made.miss,
                                   float(cost)))  # fmt: skip
    return found, first


def _whole_parts(palette: Palette, view: Viewing) -> tuple[Array, Array, Array]:
    """Return the mixes that a fresh pile may be: mixed at once, and tints in two steps.

    Returns
    -------
    parts (m, p) of each; what they cost (m,); and parts (m, p + 1) of the first mix of those that
    take two steps, of which one part goes into the last number of parts of white
    """
    lattice = lattice_of(palette, view, _PARTS, min(_TUBES, len(palette)))
    every = np.concatenate([
        lattice.parts(n, np.arange(len(lattice.lab(n)))) for n in range(1, lattice.tubes + 1)
    ])  # fmt: skip
    parts, costs = [every], [fresh_cost(every)]
    ways = [np.zeros((len(every), len(palette) + 1), dtype=int)]
    white = [i for i, paint in enumerate(palette) if paint.is_white][:1]
    total, tubes = every.sum(axis=1), (every > 0).sum(axis=1)
    begun = every[(total <= _FIRST) & (tubes > 1) & (tubes < _TUBES)]
    for n in _WHITE if white else ():
        tint = begun.copy()
        tint[:, white[0]] += n * begun.sum(axis=1)
        parts.append(tint)
        costs.append(fresh_cost(begun) + n * PER_PART + _TWO_STEPS)
        ways.append(np.column_stack([begun, np.full(len(begun), n)]))
    return np.concatenate(parts).astype(float), np.concatenate(costs), np.concatenate(ways)


def _amounts(found: Sequence[Candidate], node: int, ids: Sequence[str]) -> dict[str, float]:
    """Return parts of each tube in a candidate, whole ones where they are not too many."""
    exact = _exactly(found, node)
    whole = lcm(*(n.denominator for n in exact if n))
    if whole * sum(exact) <= _WHOLE:
        exact = [whole * n for n in exact]
    return {id: float(n) for id, n in zip(ids, exact, strict=True) if n}


def _exactly(found: Sequence[Candidate], node: int) -> list[Fraction]:
    """Return parts of each tube in a candidate, its parts as they are measured, exactly."""
    one = found[node]
    own = [Fraction(float(n)).limit_denominator(10_000) for n in one.added]
    if one.parent < 0:
        return own
    before = _exactly(found, one.parent)
    taken = Fraction(one.taken) / sum(before)
    return [taken * n + m for n, m in zip(before, own, strict=True)]
