"""How near every small set of tubes comes to each target, so surely that it can be relied on.

The search of :mod:`mixlab.nearest.exact` finds the best mix of every small set at once. Where its
miss is a little above the tolerance the set is looked at a second time, from more starts and to
more digits: a set that will do and is taken for one that will not would make "no fewer will do"
wrong. That a set will do is certain, as its mix is at hand; that one will not is as sure as the
tests say (:data:`SLACK`).

A target is looked at by itself, in the same way wherever it is done: its figures are the same to
the last digit however the targets are shared out.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from mixlab.arrays import Array, Indices, Mask, one_thread
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing
from mixlab.nearest.exact import Found, Search, seeds_of
from mixlab.nearest.many import Seeds
from mixlab.nearest.medium import Medium
from mixlab.nearest.sets import all_subsets, compositions, places_among, subsets_of
from mixlab.paint.optics import Surface

SLACK = 0.02
"""How far above its least the miss of a set may be, near the tolerance [CIEDE2000]."""

_DOUBTFUL = 0.6  # CIEDE2000 above the tolerance at which a set is looked at again
_GAIN = 1e-3  # CIEDE2000
_FEW = 16  # colours up to which they are searched one by one
_STARTS = 10
_ROUNDS = 3
_TOTALS = {2: 30, 3: 14, 4: 9}  # of the starts, by number of tubes
_KEPT = 1_500_000  # seeds that stay laid out between targets
_TOGETHER = 36  # paints
_NEIGHBOURS = 12  # paints


class Subsets:
    """All sets of one to `most` tubes out of so many, the small ones first.

    Attributes
    ----------
    sizes : the sets of each size, (m, t)
    members : (M, paints), which tubes each set holds
    """

    def __init__(self, paints: int, most: int) -> None:
        self.paints = paints
        self.sizes = all_subsets(paints, min(most, paints))
        self.parents = [
            np.stack([self._rows(np.delete(s, i, axis=1)) for i in range(s.shape[1])], axis=1)
            for s in self.sizes[1:]
        ]
        self.ends = np.cumsum([0, *map(len, self.sizes)])
        self.members = np.zeros((self.ends[-1], paints), dtype=bool)
        for start, subsets in zip(self.ends, self.sizes, strict=False):
            self.members[start + np.arange(len(subsets))[:, None], subsets] = True

    def __len__(self) -> int:
        return int(self.ends[-1])

    def _rows(self, subsets: Indices) -> Indices:
        """Return where sets of one size stand among those of that size."""
        return places_among(self.sizes[subsets.shape[1] - 1], subsets)

    def holds_better(self, will_do: Mask) -> Mask:
        """Return which sets (M,) hold a smaller one that will do."""
        held = np.zeros(len(will_do), dtype=bool)
        done, holding = (np.split(which, self.ends[1:-1]) for which in (will_do, held))
        for size, parents in enumerate(self.parents, start=1):
            holding[size][:] = (done[size - 1] | holding[size - 1])[parents].any(axis=1)
        return held

    def smallest(self, miss: Array, tolerance: float) -> Indices:
        """Return the sets whose miss (M,) is within the tolerance and that hold no other such."""
        will_do = miss <= tolerance
        return np.flatnonzero(will_do & ~self.holds_better(will_do))

    def inside(self, tubes: Indices) -> Indices:
        """Return the sets (..., w) that are wholly among the tubes (..., k), in rising order."""
        tubes = np.sort(tubes, axis=-1)
        found = []
        for start, size in zip(self.ends, range(1, len(self.sizes) + 1), strict=False):
            if size <= tubes.shape[-1]:
                chosen = tubes[..., subsets_of(tubes.shape[-1], size)]
                rows = self._rows(chosen.reshape(-1, size)).reshape(chosen.shape[:-1])
                found.append(start + rows)
        return np.concatenate(found, axis=-1)


def small_sets(tubes: int, most: int) -> int:
    """Return how many sets of at most so many tubes there are."""
    return sum(math.comb(tubes, size) for size in range(1, min(most, tubes) + 1))


subsets = lru_cache(maxsize=8)(Subsets)
"""The :class:`Subsets` of so many paints, which are kept."""


@dataclass(frozen=True, eq=False)
class Kit:
    """All that is needed to look at a target, in a form that can be sent to another machine.

    Attributes
    ----------
    medium : the paints (p,) as the search takes them
    most : greatest number of tubes in a mix
    tolerance : CIEDE2000
    """

    medium: Medium
    most: int
    tolerance: float

    @property
    def subsets(self) -> Subsets:
        """The sets that are looked at."""
        return subsets(len(self.medium.k), self.most)

    def of(self, tubes: Indices) -> "Kit":
        """Return the same with some of the tubes only."""
        medium = replace(self.medium, k=self.medium.k[tubes], s=self.medium.s[tubes])
        return replace(self, medium=medium)

    @property
    def large(self) -> bool:
        """Whether the sets are too many for their seeds to be kept between targets."""
        return seeds_of(len(self.medium.k), min(self.most, len(self.medium.k))) > _KEPT

    def searches(self) -> Iterable[tuple[Indices, Search]]:
        """Return blocks of sets: where they stand among all (m,), and a search of them.

        The blocks are the same wherever it is done; kept for the next target if they are few.
        """
        if self.large:
            return _laid_out(self.medium, self.subsets, True)
        medium = self.medium
        return _kept(medium.k.tobytes(), medium.s.tobytes(), medium.surface, medium.view, self.most)


def _laid_out(
    medium: Medium, whole: Subsets, in_blocks: bool
) -> Iterator[tuple[Indices, Search]]:
    if not in_blocks:
        yield np.arange(len(whole)), Search(medium, whole.sizes)
        return
    for start, of_size in zip(whole.ends, whole.sizes, strict=False):
        for rows, tubes, sets in _blocks(of_size):
            some = replace(medium, k=medium.k[tubes], s=medium.s[tubes])
            yield start + rows, Search(some, [sets])


@lru_cache(maxsize=2)
def _kept(
    k: bytes, s: bytes, surface: Surface, view: Viewing, most: int
) -> list[tuple[Indices, Search]]:
    """Return the searches of paints by their curves: those of a kit that was sent are the same."""
    curves = [np.frombuffer(q).reshape(-1, len(view.weights)) for q in (k, s)]
    medium, paints = Medium(curves[0], curves[1], surface, view), len(curves[0])
    return list(_laid_out(medium, subsets(paints, most), paints > _TOGETHER))


def _blocks(sets: Indices) -> Iterator[tuple[Indices, Indices, Indices]]:
    """Yield blocks of sets (m, t) that draw on few tubes between them.

    Curves of paints that are in no set of a block are not carried along in its products: the cost
    of a set does not grow with the number of paints.

    Yields
    ------
    rows of the sets (n,), their tubes (k,), and the sets (n, t) as indices of those
    """
    _, block = np.unique(sets // _NEIGHBOURS, axis=0, return_inverse=True)
    for rows in np.split(np.argsort(block, kind="stable"), np.cumsum(np.bincount(block))[:-1]):
        tubes, own = np.unique(sets[rows], return_inverse=True)
        yield rows, tubes, own.reshape(sets[rows].shape)


def misses(asked: tuple[Kit, Array]) -> Array:
    """Return the least miss (n, M) of every set of a kit to each target (n, 3) of CIELAB."""
    kit, labs = asked
    found = np.empty((len(labs), len(kit.subsets)))
    with one_thread():
        for rows, search in kit.searches():
            for at, lab in enumerate(labs):
                # every set has a start, and they stand in order
                found[at, rows] = np.concatenate([f.miss for f in search.solve(lab)])
        for at, lab in enumerate(labs):
            _look_again(kit, lab, found[at])
    return found


def _look_again(kit: Kit, lab: Array, miss: Array) -> None:
    """Lower the misses (M,) of the sets about which there is doubt, in place."""
    limit = kit.tolerance
    doubtful = (miss > limit) & (miss <= limit + _DOUBTFUL)
    doubtful &= ~kit.subsets.holds_better(miss <= limit)
    start = len(kit.subsets.sizes[0])
    for of_size in kit.subsets.sizes[1:]:
        some = np.flatnonzero(doubtful[start : start + len(of_size)])
        if len(some):
            for rows, tubes, sets in _blocks(of_size[some]):
                again = _least(Search(kit.of(tubes).medium, []), lab, sets)
                at = start + some[rows]
                miss[at] = np.minimum(miss[at], again)
        start += len(of_size)


def _least(search: Search, lab: Array, some: Indices) -> Array:
    """Return the least miss (m,) of sets (m, t), from several starts and to the last digits."""
    medium = search.medium
    tubes = some.shape[1]
    ways = compositions(tubes, _TOTALS[tubes])
    off = ciede2000(lab, medium.even.labs(some, ways))
    count = min(_STARTS, len(ways))
    near = np.sort(np.argpartition(off, count - 1, axis=1)[:, :count], axis=1)
    amounts = ways[near] / medium.pull[some][:, None, :]
    shares = (amounts / amounts.sum(axis=-1, keepdims=True)).reshape(-1, tubes)
    found = Found(np.repeat(some, count, axis=0), shares, np.empty(len(shares)))
    for _ in range(_ROUNDS):
        found = search.again(lab, found)
    return np.asarray(found.miss.reshape(len(some), count).min(axis=1))


def best_mixes(asked: tuple[Kit, Array]) -> tuple[Array, Array]:
    """Return the shares (n, p) of the best mix for each target (n, 3), and its miss (n,)."""
    kit, labs = asked
    shares, miss = np.zeros((len(labs), len(kit.medium.k))), np.full(len(labs), np.inf)
    search = Search(kit.medium, kit.subsets.sizes)
    for row, lab in enumerate(labs):
        found = search.solve(lab, kit.tolerance, 0.0)
        for tubes, part, off in search.bests(lab, found):
            # a tube more has to gain something
            if off < miss[row] - _GAIN or off <= kit.tolerance < miss[row]:
                miss[row], shares[row] = off, 0.0
                shares[row, tubes] = part
    return shares, miss


def nearest(asked: tuple[Kit, Array]) -> Array:
    """Return how near the mixes of a kit come to each colour (n, 3): (n,) [CIEDE2000].

    More than 16 are sought together: of some the miss is then too great, of none too small.
    """
    kit, labs = asked
    if len(labs) <= _FEW:
        return np.asarray(misses(asked).min(axis=1))
    return Seeds.of(kit.medium, kit.most).nearest(labs)[2]
