"""How near every small set of tubes comes to each target."""

import numpy as np
import pytest

import mixlab.palette.small_sets
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.nearest.exact import Search
from mixlab.palette.small_sets import Subsets, best_mixes, misses, small_sets
from tests.palette.cases import kit_of, some_targets


def test_subsets_know_their_parents_and_their_place():
    small = Subsets(7, 3)
    sets = [frozenset(map(int, s)) for of_size in small.sizes for s in of_size]
    assert len(sets) == len(small) == 7 + 21 + 35
    assert [frozenset(np.flatnonzero(m)) for m in small.members] == sets
    random = np.random.default_rng(1)
    miss = random.random(len(small)) * 4
    does = {s for s, m in zip(sets, miss, strict=True) if m <= 1.0}
    least = {s for s in does if not any(other < s for other in does)}
    assert {sets[i] for i in small.smallest(miss, 1.0)} == least
    inside = small.inside(np.array([[6, 1, 3], [0, 2, 5]]))
    for tubes, row in zip(([6, 1, 3], [0, 2, 5]), inside, strict=True):
        assert {sets[i] for i in row} == {s for s in sets if s <= set(tubes)}
    assert small_sets(7, 3) == len(small)


def test_seeds_are_kept_for_each_way_of_seeing(eight):
    for view in (viewing(), viewing(finish="matt"), viewing("A", "10"), viewing()):
        own = kit_of(eight.paints[:3], 2, view=view)
        assert {search.medium.view for _, search in own.searches()} == {view}
        assert own.searches() is own.searches()


def test_a_target_has_the_same_figures_in_any_company(eight, scene):
    kit = kit_of(eight.paints)
    together = misses((kit, scene))
    apart = np.concatenate([misses((kit, lab[None])) for lab in scene])
    assert np.array_equal(together, apart)


def test_near_the_tolerance_a_miss_is_the_least(eight, monkeypatch):
    """Held against a look at every set from many more starts, where the verdict hangs on it."""
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 10, 3)
    usual = misses((kit, labs))
    monkeypatch.setattr(mixlab.palette.small_sets, "_STARTS", 40)
    monkeypatch.setattr(mixlab.palette.small_sets, "_ROUNDS", 6)
    monkeypatch.setattr(mixlab.palette.small_sets, "_TOTALS", {2: 60, 3: 24})
    search = Search(kit.medium, [])
    careful, sizes, start = usual.copy(), kit.subsets.sizes[1:], len(kit.subsets.sizes[0])
    for of_size in sizes:
        for row, lab in enumerate(labs):
            # what misses by far more than the tolerance does not get there by another start
            some = np.flatnonzero(usual[row, start : start + len(of_size)] < 2 * kit.tolerance)
            if len(some):
                careful[row, start + some] = mixlab.palette.small_sets._least(
                    search, lab, of_size[some]
                )
        start += len(of_size)
    # of a set that holds a smaller one that will do nothing hangs on the miss
    held = np.array([kit.subsets.holds_better(miss <= kit.tolerance) for miss in careful])
    near = ~held & (np.abs(careful - kit.tolerance) < 0.5)
    assert near.sum() > 10
    assert (usual - careful)[near].max() < mixlab.palette.small_sets.SLACK / 2


def test_what_is_near_the_tolerance_is_looked_at_again(eight, monkeypatch):
    """A descent that ends too soon changes no verdict, as there is a second look."""
    kit = kit_of(eight.paints, view=viewing(finish="matt"))
    labs = some_targets(kit, 16, 11)
    usual = misses((kit, labs))
    monkeypatch.setattr(mixlab.nearest.exact, "_STEPS", 2)
    again = misses((kit, labs))
    ways = [
        [frozenset(kit.subsets.smallest(miss, kit.tolerance)) for miss in found]
        for found in (usual, again)
    ]
    assert ways[0] == ways[1]
    monkeypatch.setattr(mixlab.palette.small_sets, "_look_again", lambda *_: None)
    once = misses((kit, labs))
    assert ways[0] != [frozenset(kit.subsets.smallest(miss, kit.tolerance)) for miss in once]


def test_large_catalogues_are_searched_in_blocks(eight, scene, monkeypatch):
    kit = kit_of(eight.paints)
    whole = misses((kit, scene[:3]))
    monkeypatch.setattr(mixlab.palette.small_sets, "_KEPT", 0)
    monkeypatch.setattr(mixlab.palette.small_sets, "_NEIGHBOURS", 2)
    blocks = misses((kit, scene[:3]))
    near = whole < 4
    assert np.abs(whole - blocks)[near].max() < 0.005


def test_best_mixes_are_what_the_survey_found(eight, scene):
    kit = kit_of(eight.paints)
    shares, miss = best_mixes((kit, scene))
    assert ciede2000(scene, kit.medium.lab(shares)) == pytest.approx(miss, abs=1e-6)
    assert ((shares > 0).sum(axis=1) <= 3).all()
    assert miss == pytest.approx(misses((kit, scene)).min(axis=1), abs=0.005)


def test_a_tube_more_has_to_gain_something(eight):
    """A paint as it is, and mixes of two, are not given a third tube that does nothing."""
    kit = kit_of(eight.paints)
    two = np.zeros((3, 8))
    two[[0, 1, 2], [0, 1, 2]], two[[0, 1, 2], [4, 5, 7]] = 0.8, 0.2
    labs = kit.medium.lab(np.vstack([np.eye(8), two]))
    shares, miss = best_mixes((kit, labs))
    assert miss.max() < 1e-3
    assert list((shares > 0).sum(axis=1)) == [1] * 8 + [2] * 3
