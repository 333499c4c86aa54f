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
