"""The promising few of very many paints, for one target.

Every paint is tried in some amounts beside the lightest, the darkest, the nearest paint and the
highest in chroma of each part of the hue circle, and then beside the best mixes that were found so:
who makes a near mix is looked at. That costs as much a paint however many there are, and keeps no
more than one row of curves for each.

Right where the sets of paints are too many to be searched: it promises nothing of the others.
"""

from collections.abc import Sequence

import numpy as np

from mixlab.arrays import Array, Indices, one_thread
from mixlab.colour.difference import ciede2000
from mixlab.nearest.medium import Medium

_Mix = tuple[float, tuple[int, ...], Array, Array]  # miss, paints, K and S
_AMOUNTS = 2.0 ** np.arange(-6, 3)  # in effect, beside one of the mix
_ROUNDS = 3
_HUES = 8  # parts of the hue circle
_BESIDE = 3  # mixes of a round that further paints are put to
_TAKEN = 3  # paints that each of them brings
_KEPT = 8  # mixes of a round whose paints are looked at


def short_list(medium: Medium, target: Array, most: int, needed: Sequence[int] = ()) -> Indices:
    """Return which of the paints (n,), at most so many, make mixes near to a target (3,).

    `needed` are among them in any case.
    """
    k, s = medium.even.k, medium.even.s
    with one_thread():
        alone = medium.lab_of(k, s)
        off = ciede2000(target, alone)
        first = [int(alone[:, 0].argmax()), int(alone[:, 0].argmin()), int(off.argmin())]
        chosen = dict.fromkeys([*needed, *first])
        part = np.floor(np.arctan2(alone[:, 2], alone[:, 1]) * (_HUES / 2 / np.pi))
        chroma = np.hypot(alone[:, 1], alone[:, 2])
        first += [int(np.where(part == one, chroma, -1).argmax()) for one in np.unique(part)]
        mixes: list[_Mix] = [(float(off[i]), (i,), k[i], s[i]) for i in dict.fromkeys(first)]
        for _ in range(_ROUNDS):
            further: list[_Mix] = []
            for _, paints, k_of, s_of in mixes:
                misses = np.array([
                    ciede2000(target, medium.lab_of(k_of + n * k, s_of + n * s)) for n in _AMOUNTS
                ])  # fmt: skip
                for i in np.argsort(misses.min(axis=0), kind="stable")[:_TAKEN].tolist():
                    n = _AMOUNTS[int(misses[:, i].argmin())]
                    made = (k_of + n * k[i]) / (1 + n), (s_of + n * s[i]) / (1 + n)
                    further.append((float(misses[:, i].min()), (*paints, i), *made))
            further.sort(key=lambda one: one[0])
            chosen |= dict.fromkeys(i for _, paints, *_ in further[:_KEPT] for i in paints)
            mixes = further[:_BESIDE]
    return np.sort(list(chosen)[:most])
