"""The fewest tubes held against everything compared, by other means.

Nothing of the search is used: the mixes are laid out on a dense grid and their colours come from
the two-constant equations of Kubelka and Munk, Saunderson's surface, and CIELAB and CIEDE2000 of
colour-science. Where the grid leaves it open whether a set of tubes comes within the tolerance,
scipy's SLSQP goes on from its best points. Then every set of tubes is tried, the small ones first.
``tests/benchmarks/bench_fewest.py`` does the same for fifty cases.
"""

import itertools

import numpy as np
import pytest
from scipy.optimize import minimize

from mixlab.colour.spaces import viewing
from mixlab.palette.fewest import fewest_tubes

colour = pytest.importorskip("colour")

STEPS = {1: 1, 2: 300, 3: 44}
OPEN = 1.0  # CIEDE2000 beyond the tolerance at which SLSQP goes on
STARTS = 2


def lab_of(paints, shares):
    """Return CIELAB (..., 3) of shares (..., p): Kubelka-Munk, Saunderson, colour-science.

    As a painter sees them: of what the surface reflects, so much as the finish lets through.
    """
    k, s = (shares @ np.array([getattr(p, q) for p in paints]) for q in "KS")
    ratio = k / s
    body = 1 + ratio - np.sqrt(ratio**2 + 2 * ratio)
    k1, k2 = paints[0].surface.outside, paints[0].surface.inside
    view = viewing()
    seen = view.specular * k1 + (1 - k1) * (1 - k2) * body / (1 - k2 * body)
    return colour.XYZ_to_Lab(seen @ view.weights / 100, colour.XYZ_to_xy(view.white / 100))


def miss_of(target, lab):
    return colour.delta_E(np.broadcast_to(target, lab.shape), lab, method="CIE 2000")


def within_of(paints, target, tolerance, largest):
    """Return the sets of tubes (as sets of places) that come within the tolerance of a target."""
    strength = np.array([np.sqrt(np.mean((p.K + p.S) ** 2)) for p in paints])
    does = []
    for size in range(1, largest + 1):
        steps = STEPS[size]
        grid = np.array([w for w in itertools.product(range(steps + 1), repeat=size)
                         if sum(w) == steps]) / steps  # fmt: skip
        for tubes in itertools.combinations(range(len(paints)), size):
            if any(small <= set(tubes) for small in does):
                continue  # with a tube more it does as well
            shares = grid / strength[list(tubes)]
            shares /= shares.sum(axis=1, keepdims=True)
            some = [paints[i] for i in tubes]
            miss = miss_of(target, lab_of(some, shares))
            order = np.argsort(miss)[:STARTS]
            if miss[order[0]] <= tolerance or (
                size > 1
                and miss[order[0]] <= tolerance + OPEN
                and any(polished(some, target, shares[i], tolerance) for i in order)
            ):
                does.append(set(tubes))
    return does


def polished(paints, target, shares, tolerance):
    """Return whether SLSQP comes within the tolerance from some shares on."""

    def miss(logs):
        amounts = np.exp(logs - logs.max())
        return float(miss_of(target, lab_of(paints, amounts / amounts.sum())))

    logs = np.log(np.maximum(shares, 1e-4))
    end = minimize(miss, logs, method="SLSQP", bounds=[(-14, 1)] * len(logs))
    return min(float(end.fun), miss(end.x)) <= tolerance


def every_set_tried(paints, labs, tolerance=2.0, largest=3):
    """Return the fewest tubes, all sets of so many that do, and which targets can be mixed."""
    ways = [within_of(paints, lab, tolerance, largest) for lab in labs]
    asked = [w for w in ways if w]
    for count in range(len(paints) + 1):
        does = [
            set(tubes)
            for tubes in itertools.combinations(range(len(paints)), count)
            if all(any(way <= set(tubes) for way in w) for w in asked)
        ]
        if does:
            return count, does, [bool(w) for w in ways]
    raise AssertionError("all tubes together do")


def compared(answer, palette, labs, tolerance=2.0):
    """Return whether an answer is that of every set tried, and how many of its sets that missed.

    SLSQP ends in another valley now and then. A set that it takes for one that will not do is
    then held to the mixes that are claimed of it, by the colours as they are reckoned here.
    """
    count, does, reached = every_set_tried(palette.paints, labs, tolerance)
    sets = {frozenset(palette.ids[i] for i in tubes) for tubes in does}
    own = {frozenset(one.tubes) for one in answer.sets}
    same = answer.counted == count and list(answer.in_reach) == reached and sets <= own
    for ids in own - sets:
        only = palette.table.palette(sorted(ids))
        shares = fewest_tubes(labs, only, tolerance, required=only.ids).shares
        miss = miss_of(labs, lab_of(only.paints, shares))
        same &= ((shares > 0).sum(axis=1) <= 3).all() and (miss[reached] <= tolerance).all()
    return bool(same), len(own - sets)


def a_case(table, seed):
    """Return eight paints and six targets, mixes of few paints, half of them shifted."""
    random = np.random.default_rng(1000 + seed)
    palette = table.palette([table.ids[i] for i in random.choice(len(table), 8, replace=False)])
    shares = random.dirichlet(np.full(8, 0.3), 6)
    labs = lab_of(palette.paints, shares)
    labs[::2] += random.normal(0, 3, labs[::2].shape)
    return palette, labs


@pytest.mark.parametrize("seed", range(3))
def test_fewest_tubes_equals_every_set_tried(table, seed):
    palette, labs = a_case(table, seed)
    answer = fewest_tubes(labs, palette, sets=1000)
    assert answer.proven
    assert compared(answer, palette, labs)[0]
