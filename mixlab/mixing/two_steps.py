"""Two steps: a first mix, and then a part of it in more paint.

A tint of one part in fifty cannot be measured with a knife. A first mix of the strong paint in
white can, and so can a part of that in more white. Each step is of at most :data:`STEP` parts.
"""

import itertools
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from mixlab.arrays import Array, Indices
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing
from mixlab.nearest.sets import STEEPEST, compositions
from mixlab.paint.mixtures import SLIP, Mixture, Sensitivity, Step, together
from mixlab.paint.paints import Paint

STEP = 12
"""Greatest total of parts of each step."""

ADDITIONS = 4
"""Greatest number of times that paint is put down, both steps together: more is no recipe."""

FIRST = "first-mix"
"""What the first mix is called where it stands among paints."""


@dataclass(frozen=True, eq=False)
class TwoSteps:
    """A first mix, and parts of it with more paint.

    Attributes
    ----------
    first : the first mix, in whole parts
    taken : parts of it that go on
    added : the paints that are put to those
    parts : of each of them
    """

    first: Mixture
    taken: int
    added: tuple[Paint, ...]
    parts: tuple[int, ...]

    @property
    def then(self) -> dict[str, int]:
        """Parts of each paint that is added, by id."""
        return {paint.id: n for paint, n in zip(self.added, self.parts, strict=True)}

    def __str__(self) -> str:
        rest = " + ".join(f"{n} {paint}" for paint, n in self.then.items())
        return f"first {self.first}; then {self.taken} of that + {rest}"

    @cached_property
    def second(self) -> Mixture:
        """The second step, the first mix standing in it as one paint more."""
        own = self.first.paints[0]
        pile = Paint(
            FIRST, FIRST, (), self.first.K, self.first.S, surface=own.surface, unit=own.unit
        )
        return Mixture((pile, *self.added), (self.taken, *self.parts), self.first.view)

    def whole(self, first: Array | None = None) -> Mixture:
        """Return the mix of both steps, with other amounts of the first mix if they are given."""
        amounts = np.array(self.first.amounts) if first is None else first
        begun = zip(self.first.paints, self.taken * amounts / amounts.sum(), strict=True)
        return together([*begun, *zip(self.added, self.parts, strict=True)], self.first.view)

    @property
    def steps(self) -> list[Step]:
        """The additions of both steps in order, the colour after each."""
        return [*self.first.steps, *self.second.steps]

    @cached_property
    def sensitivity(self) -> Sensitivity:
        """How far a quarter part moves the mix, in the step in which it moves it more."""
        moved = dict(self.second.sensitivity.by_paint)
        amounts = np.array(self.first.amounts)
        for i, paint in enumerate(self.first.paints):
            nudge = SLIP * np.eye(len(amounts))[i]
            labs = [
                self.whole(np.clip(amounts + way * nudge, 1e-12, None)).lab for way in (1, -1)
            ]
            most = float(ciede2000(self.second.lab, np.array(labs)).max())
            moved[paint.id] = max(most, moved.get(paint.id, 0.0))
        worst = max(moved, key=lambda paint: moved[paint])
        return Sensitivity(worst, moved[worst], moved)


@dataclass(frozen=True, eq=False)
class Ways:
    """The ways to mix so many paints in two steps, the fewest additions and parts first.

    Attributes
    ----------
    first : (n, t), parts of the first mix
    then : (n, t + 1), parts of the second step, of the first mix before those of paints
    shares : (n, t), what they come to; they sum to one
    additions : (n,), how often paint is put down
    """

    first: Indices
    then: Indices
    shares: Array
    additions: Indices

    @cached_property
    def logs(self) -> Array:
        """Logarithms of the shares."""
        return np.log(self.shares)

    @cached_property
    def by_additions(self) -> list[slice]:
        """Where those of each number of additions stand, the fewest first."""
        ends = np.flatnonzero(np.diff(self.additions, prepend=0, append=0))
        return [slice(*each) for each in itertools.pairwise(ends.tolist())]

    @cached_property
    def parts(self) -> Indices:
        """Parts of both steps together (n,)."""
        return np.asarray(self.first.sum(axis=1) + self.then.sum(axis=1))


@lru_cache(maxsize=8)
def ways(tubes: int) -> Ways:
    """Return the ways for so many paints, of at most :data:`ADDITIONS`."""
    firsts, thens = [np.zeros((0, tubes), int)], [np.zeros((0, tubes + 1), int)]
    paints = range(tubes)
    for size in range(2, ADDITIONS):
        for begun in itertools.combinations(paints, size):
            lacking = set(paints) - set(begun)
            for more in range(max(1, len(lacking)), ADDITIONS - size + 1):
                for added in itertools.combinations(paints, more):
                    if not lacking <= set(added):
                        continue
                    one = np.zeros((len(compositions(size, STEP)), tubes), int)
                    one[:, begun] = compositions(size, STEP)
                    two = np.zeros((len(compositions(more + 1, STEP)), tubes + 1), int)
                    two[:, (0, *(i + 1 for i in added))] = compositions(more + 1, STEP)
                    firsts.append(np.repeat(one, len(two), axis=0))
                    thens.append(np.tile(two, (len(one), 1)))
    first, then = np.concatenate(firsts), np.concatenate(thens)
    additions = (first > 0).sum(axis=1) + (then[:, 1:] > 0).sum(axis=1)
    order = np.lexsort((first.sum(axis=1) + then.sum(axis=1), additions))
    first, then = first[order], then[order]
    amounts = then[:, :1] * first / np.maximum(first.sum(axis=1, keepdims=True), 1) + then[:, 1:]
    shares = amounts / np.maximum(amounts.sum(axis=1, keepdims=True), 1)
    return _once(Ways(first, then, shares, additions[order]))


@lru_cache(maxsize=8)
def thinnest(tubes: int) -> Ways:
    """Return the ways to a mere hint: one part of a first mix in much of the last of the paints.

    For what no way of :func:`ways` is thin enough for; either step may go as far as a knife
    measures, see :data:`mixlab.nearest.sets.STEEPEST`.
    """
    firsts = [np.zeros((0, tubes), int)]
    for begun in (range(tubes), range(tubes - 1)):
        if len(begun) > 1:
            own = compositions(len(begun), STEEPEST + len(begun) - 1)
            if len(begun) == tubes > 2:
                own = own[own[:, -1] > STEP / 2]
            firsts.append(np.pad(own, ((0, 0), (0, tubes - len(begun)))))
    first = np.concatenate(firsts)
    much = np.arange(STEP // 2, STEEPEST + 1)
    then = np.zeros((len(much), tubes + 1), int)
    then[:, 0], then[:, -1] = 1, much
    first, then = np.repeat(first, len(then), axis=0), np.tile(then, (len(first), 1))
    amounts = first / np.maximum(first.sum(axis=1, keepdims=True), 1) + then[:, 1:]
    return _once(Ways(first, then, amounts / amounts.sum(axis=1, keepdims=True),
                      (first > 0).sum(axis=1) + 1))  # fmt: skip


def _once(all_: Ways) -> Ways:
    """Return the first way to each mix."""
    key = (all_.shares @ np.sqrt(np.arange(2, all_.shares.shape[1] + 2))).round(12)
    rows = np.sort(np.unique(key, return_index=True)[1])
    return Ways(all_.first[rows], all_.then[rows], all_.shares[rows], all_.additions[rows])


def in_two_steps(
    paints: tuple[Paint, ...], first: Indices, then: Indices, view: Viewing
) -> TwoSteps:
    """Return a way with so many paints (t,): parts (t,) first, then parts (t + 1,)."""
    begun, added = np.flatnonzero(first), np.flatnonzero(then[1:])
    return TwoSteps(
        Mixture(tuple(paints[i] for i in begun), tuple(map(float, first[begun])), view),
        int(then[0]), tuple(paints[i] for i in added), tuple(int(then[i + 1]) for i in added),
    )  # fmt: skip
