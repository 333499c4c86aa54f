"""Cases that several tests of the fewest tubes share."""

import itertools

import numpy as np

from mixlab.colour.spaces import viewing
from mixlab.nearest.medium import medium_of
from mixlab.paint.tables import PigmentTable
from mixlab.palette.small_sets import Kit


def kit_of(paints, most=3, tolerance=2.0, view=None):
    return Kit(medium_of(PigmentTable(tuple(paints)), view or viewing()), most, tolerance)


def some_targets(kit, n, seed):
    """Return mixes of few paints, a third of them shifted."""
    random = np.random.default_rng(seed)
    labs = kit.medium.lab(random.dirichlet(np.full(len(kit.medium.k), 0.2), n))
    labs[::3] += random.normal(0, 4, labs[::3].shape)
    return labs


def all_choices(tubes):
    return (
        np.array(bits, dtype=bool) for bits in itertools.product([False, True], repeat=tubes)
    )  # fmt: skip


def fresh_mixes(pull, count, seed):
    """Return shares (count, p) of random mixes: of few paints and of all, in parts and in effect.

    A third is of two to four paints, down to a five-hundredth of one.
    """
    random = np.random.default_rng(seed)
    third, paints = count // 3, len(pull)
    shares = np.concatenate([
        random.dirichlet(np.full(paints, a), -(-(count - third) // 4)) for a in (0.05, 0.15, 0.4, 1)
    ])[: count - third]  # fmt: skip
    few = np.exp(random.uniform(np.log(0.002), 0, (third, paints)))
    rank = random.random(few.shape).argsort(axis=1)
    few[rank >= random.integers(2, 5, (third, 1))] = 0
    shares = np.concatenate([shares, few])
    shares[::2] /= pull
    return shares / shares.sum(axis=1, keepdims=True)
