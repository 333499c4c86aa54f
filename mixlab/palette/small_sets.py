"""How near every small set of tubes comes to each target, so surely that it can be relied on.

The search of :mod:`mixlab.nearest.exact` finds the best mix of every small set at once. Where its
miss is a little above the tolerance the set is looked at a second time, from more starts and to
more digits: a set that will do and is taken for one that will not would make "no fewer will do"
wrong. That a set will do is certain, as its mix is at hand; that one will not is as sure as the
tests say (:data:`SLACK`).

A target is looked at by itself, in the same way wherever it is done: its figures are the same to
the last digit however the targets are shared out.
"""


import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Indices, Mask, one_thread
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing
from mixlab.nearest.exact import Found, Search, seeds_of
from mixlab.nearest.medium import Medium
from mixlab.nearest.sets import compositions, subsets_of
from mixlab.paint.optics import Surface

_T = TypeVar("_T", bound=np.generic)

SLACK = 0.02
"""How far above its least the miss of a set may be, near the tolerance [CIEDE2000]."""

_DOUBTFUL = 0.6  # CIEDE2000 above the tolerance at which a set is looked at again
_GAIN = 1e-3  # CIEDE2000
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

    def __init__(self, paints: int, most: int, base: tuple[int, ...] | None = None) -> None:
        self.paints = paints
        self.sizes = [subsets_of(paints, size) for size in range(1, min(most, paints) + 1)]
        if base is not None:  # at most one tube from beyond the base
            self.sizes = [
                s[np.isin(s, base).sum(axis=1) >= s.shape[1] - 1] for s in self.sizes
            ]
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
        own = self.sizes[subsets.shape[1] - 1]
        places = self.paints ** np.arange(subsets.shape[1] - 1, -1, -1)
        return np.asarray(np.searchsorted(own @ places, subsets @ places), dtype=np.intp)

    def by_size(self, figures: NDArray[_T]) -> list[NDArray[_T]]:
        """Return figures (M,) of the sets as a view for each size."""
        return [figures[a:b] for a, b in zip(self.ends, self.ends[1:], strict=False)]

    def holds_better(self, will_do: Mask) -> Mask:
        """Return which sets (M,) hold a smaller one that will do."""
        held = np.zeros(len(will_do), dtype=bool)
        done, holding = self.by_size(will_do), self.by_size(held)
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


@lru_cache(maxsize=8)
def subsets(paints: int, most: int, base: tuple[int, ...] | None = None) -> Subsets:
    """Return the :class:`Subsets` of so many paints, which are kept."""
    return Subsets(paints, most, base)


@dataclass(frozen=True, eq=False)
class Kit:
    """All that is needed to look at a target, in a form that can be sent to another machine.

    Attributes
    ----------
    k, s : (p, 36), curves of the paints
    surface, view : as in a Medium
    most : greatest number of tubes in a mix
    tolerance : CIEDE2000
    base : sets hold at most one tube from beyond these; any if None
    """

    k: Array
    s: Array
    surface: Surface
    view: Viewing
    most: int
    tolerance: float
    base: tuple[int, ...] | None = None

    @property
    def medium(self) -> Medium:
        """The paints as the search takes them."""
        return Medium(self.k, self.s, self.surface, self.view)

    @property
    def subsets(self) -> Subsets:
        """The sets that are looked at."""
        return subsets(len(self.k), self.most, self.base)

    def of(self, tubes: Indices) -> "Kit":
        """Return the same with some of the tubes only."""
        return replace(self, k=self.k[tubes], s=self.s[tubes], base=None)

    @property
    def large(self) -> bool:
        """Whether the sets are too many for their seeds to be kept between targets."""
        return seeds_of(len(self.k), min(self.most, len(self.k))) > _KEPT

    def searches(self) -> Iterable[tuple[Indices, Search]]:
        """Return the searches of all sets, kept if they are few enough; see :meth:`laid_out`."""
        if self.large:
            return self.laid_out()
        mark = hashlib.sha256()
        for part in (self.k, self.s):
            mark.update(part.tobytes())
        mark.update(repr((self.surface, self.view, self.most, self.base)).encode())
        key = mark.hexdigest()
        if key not in _KEPT_SEARCHES:
            while len(_KEPT_SEARCHES) >= 2:
                _KEPT_SEARCHES.pop(next(iter(_KEPT_SEARCHES)))
            _KEPT_SEARCHES[key] = list(self.laid_out())
        return _KEPT_SEARCHES[key]

    def laid_out(self) -> Iterator[tuple[Indices, Search]]:
        """Yield blocks of sets: where they stand among all (m,), and a search of them.

        The blocks are the same wherever it is done.
        """
        whole = self.subsets
        if len(self.k) <= _TOGETHER and not self.large:
            yield np.arange(len(whole)), Search(self.medium, whole.sizes)
            return
        for start, of_size in zip(whole.ends, whole.sizes, strict=False):
            for rows, tubes, sets in _blocks(of_size):
                yield start + rows, Search(self.of(tubes).medium, [sets])


_KEPT_SEARCHES: dict[str, list[tuple[Indices, Search]]] = {}


def _blocks(sets: Indices) -> Iterator[tuple[Indices, Indices, Indices]]:
    """Yield blocks of sets (m, t) that draw on few tubes between them.

    Curves of paints that are in no set of a block are not carried along in its products: the cost
    of a set does not grow with the catalogue.

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
    shares, miss = np.zeros((len(labs), len(kit.k))), np.full(len(labs), np.inf)
    search = Search(kit.medium, kit.subsets.sizes)
    for row, lab in enumerate(labs):
        for found in search.solve(lab):
            tubes, part, off = search.best(lab, found)
            # a tube more has to gain something
            if off < miss[row] - _GAIN or off <= kit.tolerance < miss[row]:
                miss[row], shares[row] = off, 0.0
                shares[row, tubes] = part
    return shares, miss
