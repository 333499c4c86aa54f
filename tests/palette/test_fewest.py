"""The fewest tubes: the programme, the survey, the answer, the same wherever it is found."""

import csv
import itertools
import json
import math
import os
import signal
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mixlab.palette.fewest
import mixlab.palette.problem
import mixlab.palette.trade_off
import mixlab.show.cli.fewest
from mixlab.arrays import percent
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.errors import ReachError
from mixlab.mixing.recipes import find_recipe
from mixlab.nearest.exact import Search
from mixlab.nearest.sets import subsets_of
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.next_tube import best_next
from mixlab.palette.programme import HittingSet
from mixlab.palette.small_sets import Kit, Subsets, best_mixes, misses
from mixlab.palette.trade_off import trade_off
from mixlab.palette.work import cluster, each_done, processes
from mixlab.show.cli.console import one_stop
from mixlab.show.plots.trade_off import trade_off as draw


def kit_of(paints, most=3, tolerance=2.0):
    return Kit(
        np.array([p.K for p in paints]), np.array([p.S for p in paints]), paints[0].surface,
        viewing(), most, tolerance,
    )  # fmt: skip


def some_targets(kit, n, seed):
    """Return mixes of few paints, a third of them shifted."""
    random = np.random.default_rng(seed)
    labs = kit.medium.lab(random.dirichlet(np.full(len(kit.k), 0.2), n))
    labs[::3] += random.normal(0, 4, labs[::3].shape)
    return labs


def all_choices(tubes):
    return (
        np.array(bits, dtype=bool) for bits in itertools.product([False, True], repeat=tubes)
    )  # fmt: skip


@pytest.fixture(scope="module")
def eight(table):
    return table.palette([
        "titanium-white", "yellow-ochre", "cadmium-red-light", "burnt-umber", "ultramarine-blue",
        "phthalo-green-blue-shade", "lemon-yellow", "quinacridone-magenta",
    ])  # fmt: skip


@pytest.fixture(scope="module")
def scene(eight):
    return some_targets(kit_of(eight.paints), 12, 5)


@pytest.fixture(scope="module")
def found(scene, eight):
    return fewest_tubes(scene, eight)


def test_seeds_are_kept_for_each_way_of_seeing(eight):
    kit = kit_of(eight.paints[:3], most=2)
    for view in (viewing(), viewing(finish="matt"), viewing("A", "10"), viewing()):
        own = replace(kit, view=view)
        assert {search.medium.view for _, search in own.searches()} == {view}
        assert own.searches() is own.searches()


# --- the programme ------------------------------------------------------------------------------


def random_cover(random):
    tubes, targets = int(random.integers(4, 10)), int(random.integers(1, 9))
    must, free = (random.random(tubes) < p for p in (0.1, 0.15))
    cover, weights = HittingSet(must, free), random.integers(1, 9, targets).astype(float)
    weights /= weights.sum()
    for weight in weights:
        ways = np.zeros((int(random.integers(0, 12)), tubes), dtype=bool)
        for way in ways:
            way[random.choice(tubes, int(random.integers(1, 4)), replace=False)] = True
        cover.add(ways, float(weight))
    return cover


@pytest.mark.parametrize("seed", range(24))
def test_the_programme_equals_all_choices_compared(seed):
    random = np.random.default_rng(seed)
    cover = random_cover(random)
    wanted = cover.weight * random.choice([1.0, 0.9, 0.6])
    fits = [c for c in all_choices(cover.tubes) if not (cover.must & ~c).any()]
    counts = [int((c & ~cover.free).sum()) for c in fits]
    does = [n for c, n in zip(fits, counts, strict=True) if cover.share(c) >= wanted - 1e-9]
    end = cover.fewest(wanted)
    assert end.done
    assert end.bound == min(does)
    assert (end.tubes & ~cover.free).sum() == min(does)
    assert cover.share(end.tubes) >= wanted - 1e-9
    for count in range(int((cover.must & ~cover.free).sum()), cover.tubes):
        best = max(cover.share(c) for c, n in zip(fits, counts, strict=True) if n <= count)
        end = cover.most(count)
        assert cover.share(end.tubes) == pytest.approx(best, abs=1e-9)
        assert end.bound == pytest.approx(best, abs=5e-6)


@pytest.mark.parametrize("seed", range(40, 60))
def test_all_choices_of_the_fewest_are_found(seed):
    cover = random_cover(np.random.default_rng(seed))
    count = int(cover.fewest(cover.weight).bound)
    does = {
        (c & ~cover.free).tobytes()
        for c in all_choices(cover.tubes)
        if not (cover.must & ~c).any()
        and (c & ~cover.free).sum() == count
        and cover.share(c) >= cover.weight - 1e-9
    }
    joined = cover.all_of(count)
    assert {(c & ~cover.free).tobytes() for c in joined} == does
    assert len(joined) == len(does)
    assert all(cover.share(c) >= cover.weight - 1e-9 for c in joined)
    # and one after another, each shut out once it is found
    one_by_one = []
    while count and (end := cover.fewest(cover.weight, not_these=one_by_one, most=count)).done:
        if end.tubes is None:
            break
        one_by_one.append(end.tubes)
    assert {(c & ~cover.free).tobytes() for c in one_by_one} == (does if count else set())


def test_a_greedy_choice_covers():
    for seed in range(60, 80):
        cover = random_cover(np.random.default_rng(seed))
        for part in (1.0, 0.6):
            wanted = part * cover.weight
            chosen = cover.greedy(wanted)
            assert cover.share(chosen) >= wanted - 1e-5
            assert not (cover.must & ~chosen).any()
            assert (chosen & ~cover.free).sum() >= cover.fewest(wanted).bound
            # nothing in it is idle
            for tube in np.flatnonzero(chosen & ~cover.must):
                fewer = chosen & (np.arange(len(chosen)) != tube)
                assert cover.share(fewer) < wanted


def ways_of(tubes, *sets):
    ways = np.zeros((len(sets), tubes), bool)
    for way, some in zip(ways, sets, strict=True):
        way[some] = True
    return ways


def test_of_a_greedy_choice_tubes_that_count_go_first():
    cover = HittingSet(np.zeros(2, bool), np.array([False, True]))
    cover.add(ways_of(2, [0], [1]), 1.0)
    assert list(cover.greedy(1.0)) == [False, True]


def test_a_target_however_light_is_one_of_all():
    cover = HittingSet(np.zeros(2, bool), np.zeros(2, bool))
    cover.add(ways_of(2, [0]), 1 - 1e-8)
    cover.add(ways_of(2, [1]), 1e-8)
    assert cover.fewest(cover.weight).bound == 2
    assert cover.greedy(cover.weight).all()
    assert cover.fewest(cover.weight - 1e-4).bound == 1


@pytest.mark.parametrize("above", np.linspace(-1e-6, 8e-6, 10))
def test_a_share_at_the_edge_comes_to_an_end(above):
    """A little more is wanted than two of three tubes cover: within the rounding either will do."""
    cover = HittingSet(np.zeros(3, bool), np.zeros(3, bool))
    for tube, weight in enumerate((0.5, 0.3, 0.2)):
        cover.add(ways_of(3, [tube]), weight)
    end = cover.fewest(0.8 + above)
    assert end.done
    assert end.bound in ((2,) if above <= 0 else (2, 3) if above < 6e-6 else (3,))
    assert (end.tubes.sum()) >= end.bound


def test_a_cover_that_asks_too_much_has_no_choice():
    cover = HittingSet(np.zeros(3, bool), np.zeros(3, bool))
    cover.add(np.zeros((0, 3), bool), 0.5)
    cover.add(np.array([[True, False, False]]), 0.5)
    assert cover.fewest(0.9).tubes is None
    assert cover.fewest(0.5).bound == 1
    assert cover.fewest(0.5, lambda: -1.0).done is False


def test_more_than_64_tubes_fit():
    cover = HittingSet(np.zeros(130, bool), np.zeros(130, bool))
    for tubes in ([[3, 90], [4]], [[129], [4, 5]], [[90, 129], [70]]):
        ways = np.zeros((2, 130), bool)
        for way, some in zip(ways, tubes, strict=True):
            way[some] = True
        cover.add(ways, 1 / 3)
    assert cover.fewest(1.0).bound == 3
    assert sorted(tuple(np.flatnonzero(c)) for c in cover.all_of(3)) == [
        (3, 90, 129), (4, 5, 70), (4, 70, 129), (4, 90, 129),
    ]  # fmt: skip


# --- the survey ---------------------------------------------------------------------------------


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
    near = Subsets(7, 3, base=(0, 1, 2))
    assert {frozenset(map(int, s)) for of_size in near.sizes for s in of_size} == {
        s for s in sets if len(s - {0, 1, 2}) <= 1
    }


def test_a_target_has_the_same_figures_in_any_company(eight, scene):
    kit = kit_of(eight.paints)
    together = misses((kit, scene))
    apart = np.concatenate([misses((kit, lab[None])) for lab in scene])
    assert np.array_equal(together, apart)


def test_near_the_tolerance_a_miss_is_the_least(eight, monkeypatch):
    """Held against a look at every set from many more starts, where the verdict hangs on it."""
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 16, 3)
    usual = misses((kit, labs))
    monkeypatch.setattr(mixlab.palette.small_sets, "_STARTS", 60)
    monkeypatch.setattr(mixlab.palette.small_sets, "_ROUNDS", 6)
    monkeypatch.setattr(mixlab.palette.small_sets, "_TOTALS", {2: 60, 3: 24})
    search = Search(kit.medium, [])
    careful = usual.copy()
    for row, lab in enumerate(labs):
        sets = [
            mixlab.palette.small_sets._least(search, lab, of_size)
            for of_size in kit.subsets.sizes[1:]
        ]
        careful[row, 8:] = np.concatenate(sets)
    # of a set that holds a smaller one that will do nothing hangs on the miss
    held = np.array([kit.subsets.holds_better(miss <= kit.tolerance) for miss in careful])
    near = ~held & (np.abs(careful - kit.tolerance) < 0.5)
    assert near.sum() > 20
    assert (usual - careful)[near].max() < mixlab.palette.small_sets.SLACK / 2


def test_what_is_near_the_tolerance_is_looked_at_again(eight, monkeypatch):
    """A descent that ends too soon changes no verdict, as there is a second look."""
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 16, 3)
    usual = misses((kit, labs))
    monkeypatch.setattr(mixlab.nearest.exact, "_ITERATIONS", 2)
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


def test_blocks_hold_every_set_once_and_few_tubes():
    sets = subsets_of(30, 3)
    seen = []
    for rows, tubes, own in mixlab.palette.small_sets._blocks(sets):
        np.testing.assert_array_equal(tubes[own], sets[rows])
        assert len(tubes) <= 3 * mixlab.palette.small_sets._NEIGHBOURS
        seen.append(rows)
    assert len(seen) > 3
    np.testing.assert_array_equal(np.sort(np.concatenate(seen)), np.arange(len(sets)))


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


def test_a_tube_more_takes_nothing_away(table, eight, monkeypatch):
    """Whatever the search of many targets misses, a palette with one more does no less."""
    random, usual = np.random.default_rng(1), mixlab.palette.problem.nearest

    def rough(asked):
        miss = usual(asked)
        return miss + np.where(random.random(len(miss)) < 0.3, 3.0, 0.0)

    monkeypatch.setattr(mixlab.palette.next_tube, "MANY", 10)
    monkeypatch.setattr(mixlab.palette.next_tube, "nearest", rough)
    own, labs = table.palette(eight.ids[:5]), some_targets(kit_of(eight.paints), 60, 4)
    more = best_next(own, labs, eight)
    assert all(one.share >= more[0].share and one.mean_miss <= more[0].mean_miss for one in more)


# --- the answer ---------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(50))
def test_fifty_cases_against_all_sets_compared(table, seed, monkeypatch):
    """Eight paints, six targets, three in a mix: every set of tubes is tried."""
    monkeypatch.setattr(
        mixlab.palette.tube_sets, "_sensitivity", lambda *_: 0.0
    )  # ranks only, and is slow
    random = np.random.default_rng(seed)
    palette = table.palette([table.ids[i] for i in random.choice(len(table), 8, replace=False)])
    kit = kit_of(palette.paints)
    labs = some_targets(kit, 6, seed)
    within = misses((kit, labs)) <= 2.0
    reach = within.any(axis=1)
    fits: dict[int, list[frozenset[str]]] = {}
    for chosen in all_choices(8):
        inside = ~(kit.subsets.members & ~chosen).any(axis=1)
        if inside.any() and within[reach][:, inside].any(axis=1).all():
            ids = frozenset(np.array(palette.ids)[chosen])
            fits.setdefault(len(ids), []).append(ids)
    answer = fewest_tubes(labs, palette, sets=1000)
    fewest = min(fits)
    assert answer.counted == answer.lower_bound == fewest
    assert answer.proven
    assert np.array_equal(answer.in_reach, reach)
    assert {frozenset(one.tubes) for one in answer.sets} == set(fits[fewest])


def test_the_answer_holds_together(found, scene, eight):
    assert found.proven
    assert found.complete
    assert found.compared >= len(found.sets) >= 1
    assert found.tubes == found.sets[0].tubes
    assert found.palette.ids == list(found.tubes)
    assert np.array_equal(found.within_tolerance, found.in_reach)
    assert found.share == pytest.approx(found.weight[found.within_tolerance].sum())
    medium = kit_of(found.palette.paints).medium
    assert ciede2000(scene, medium.lab(found.shares)) == pytest.approx(found.miss, abs=1e-6)
    assert (found.miss[found.within_tolerance] <= 2.0).all()
    assert ((found.shares > 0).sum(axis=1) <= 3).all()
    assert [round(one.mean_miss / 0.05) for one in found.sets] == sorted(
        round(one.mean_miss / 0.05) for one in found.sets
    )
    assert found.sets[0].mean_miss == pytest.approx(found.weight @ found.miss, abs=0.01)


def test_every_recipe_is_of_the_set_and_as_the_single_search_has_it(found, scene):
    for row in range(len(scene)):
        recipe = found.recipes[row]
        assert set(recipe.parts) <= set(found.tubes)
        assert recipe.tubes <= 3
        alone = find_recipe(scene[row], found.palette, max_tubes=3, out_of_reach="nearest")
        assert alone.by_count[-1].miss == pytest.approx(found.miss[row], abs=0.005)


def test_a_set_that_nearly_would_do_is_told(eight, scene):
    """Where a tube less would do at a tolerance 0.02 greater, the answer is not firm."""
    kit = kit_of(eight.paints)
    labs = kit.medium.lab(np.random.default_rng(2).dirichlet(np.full(8, 0.3), 3))
    figures = misses((kit, labs))
    pairs = kit.subsets.inside(np.array(list(itertools.combinations(range(8), 4))))
    edge = figures[:, pairs].min(axis=2).max(axis=0).min()
    for below, firm in ((0.01, False), (0.1, True)):
        answer = fewest_tubes(labs, eight, tolerance=edge - below)
        assert answer.counted == 5
        assert answer.proven
        assert answer.proof_has_margin is firm
    assert fewest_tubes(labs, eight, tolerance=edge + 0.001).counted == 4


def test_a_heavy_target_just_beyond_the_tolerance_makes_a_share_unsure(eight):
    """Let in by the slack it would count for so much that fewer tubes would do."""
    kit = kit_of(eight.paints)
    tries = some_targets(kit, 60, 21)
    least = misses((kit, tries)).min(axis=1)
    heavy = int(np.flatnonzero((least > 0.5) & (least < 2))[0])
    edge = least[heavy]
    # five tubes as they are need five tubes
    labs = np.vstack([tries[heavy], kit.medium.lab(np.eye(8)[:5])])
    weights = [0.5, *[0.1] * 5]
    near, far, beyond = (
        fewest_tubes(labs, eight, tolerance=edge + shift, share=0.5, weights=weights)
        for shift in (-0.01, -0.1, 0.001)
    )
    assert not near.in_reach[0]
    assert near.counted == far.counted == 5
    assert beyond.counted <= 3
    assert near.proven and far.proven
    assert near.proof_has_margin is False
    assert far.proof_has_margin is True


def test_tubes_that_must_be_must_not_be_and_do_not_count(scene, eight, found):
    must = next(id for id in eight.ids if id not in found.tubes)
    with_it = fewest_tubes(scene, eight, must=[must])
    assert must in with_it.tubes
    assert with_it.counted >= found.counted
    gone = found.tubes[-1]
    without = fewest_tubes(scene, eight, must_not=[gone])
    assert gone not in without.tubes
    assert without.in_reach.sum() < found.in_reach.sum() or without.counted >= found.counted
    free = fewest_tubes(scene, eight, free=["PW6"])
    assert free.counted == len(free.tubes) - ("titanium-white" in free.tubes)
    assert found.counted - 1 <= free.counted <= found.counted
    assert free.free == ("titanium-white",)


def test_a_share_needs_no_more_tubes_than_all(scene, eight, found):
    weights = np.arange(1.0, len(scene) + 1)
    counts = []
    for cover in (0.3, 0.6, 0.9):
        some = fewest_tubes(scene, eight, share=cover, weights=weights)
        assert some.share >= min(cover, weights[found.in_reach].sum() / weights.sum()) - 1e-5
        assert some.proven
        counts.append(some.counted)
    assert counts == sorted(counts)
    assert counts[0] < counts[-1] <= found.counted


def test_targets_beyond_all_paints_are_named_and_left_out(eight, scene):
    labs = np.vstack([scene, [[60.0, 120, 0], [99, -40, 10]]])
    answer = fewest_tubes(labs, eight)
    assert not answer.in_reach[-2:].any()
    assert not answer.within_tolerance[-2:].any()
    assert answer.share < 1
    assert answer.proven
    none = fewest_tubes(labs[-2:], eight)
    assert none.tubes == none.sets == ()
    assert none.counted == none.lower_bound == 0
    assert none.palette is None
    assert not none.in_reach.any()
    with pytest.raises(ReachError, match="no set of tubes"):
        none.recipe(0)


def test_a_target_that_weighs_nothing_need_not_be_covered(eight):
    kit = kit_of(eight.paints)
    labs = kit.medium.lab(np.eye(8)[[0, 4]])
    answer = fewest_tubes(labs, eight, weights=[1, 0])
    assert answer.tubes == ("titanium-white",)
    assert list(answer.within_tolerance) == [True, False]


@pytest.mark.parametrize("change", [{"weights": "last two"}, {"share": 0.3}, {"merge": 30.0}, {}])
def test_what_is_reachable_is_known_of_every_target(eight, change, monkeypatch):
    """Also of targets that need not be covered, or were not looked at for the proof."""
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 40, 11)
    labs = np.vstack([labs, labs[:1] + 1e-9, [[60.0, 120, 0]]])
    if "weights" in change:
        change = {"weights": [1.0] * 40 + [0.0] * 2}
    answer = fewest_tubes(labs, eight, **change)
    reach = (misses((kit, labs)) <= 2.0).any(axis=1)
    assert 0 < reach.sum() < len(labs) - 1
    assert np.array_equal(answer.in_reach, reach)
    assert answer.in_reach_known.all()
    assert not (answer.within_tolerance & ~answer.in_reach).any()


def test_of_a_large_catalogue_it_may_stay_open_what_is_reachable(eight, monkeypatch):
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 40, 11)
    reach = (misses((kit, labs)) <= 2.0).any(axis=1)
    monkeypatch.setattr(Kit, "large", True)
    answer = fewest_tubes(labs, eight, weights=[1] * 10 + [0] * 30)
    assert answer.proven
    assert 0 < (~answer.in_reach_known).sum() <= (~reach[10:]).sum()
    assert not reach[~answer.in_reach_known].any()
    assert np.array_equal(answer.in_reach[answer.in_reach_known], reach[answer.in_reach_known])


def test_looking_at_some_targets_first_changes_no_count(eight, monkeypatch):
    monkeypatch.setattr(mixlab.palette.tube_sets, "_sensitivity", lambda *_: 0.0)
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 45, 8)
    every = fewest_tubes(labs, eight, merge=0.0, sets=999)
    some = fewest_tubes(labs, eight, merge=12.0)
    assert some.looked_at < every.looked_at == 45
    assert (some.counted, some.lower_bound, some.proven) == (every.counted, every.counted, True)
    assert some.tubes in {one.tubes for one in every.sets}
    # a target that was not looked at, and is not reached, has been found out all the same
    assert np.array_equal(some.within_tolerance, some.in_reach)
    assert np.array_equal(some.in_reach, every.in_reach)
    share = fewest_tubes(labs, eight, merge=12.0, share=0.8, sets=1)
    assert share.counted == every.trade_off(8).count[every.trade_off(8).share >= 0.8][0]
    assert share.share >= 0.8 - 1e-5


def test_light_and_observer_are_those_of_the_view(eight):
    view = viewing("A", "10")
    kit = Kit(eight.K, eight.S, eight.paints[0].surface, view, 2, 2.0)
    labs = kit.medium.lab(np.array([[1.0, 0, 0, 0, 0, 0, 0, 0], [3.0, 1, 0, 0, 0, 0, 0, 0]]))
    answer = fewest_tubes(labs, eight, tolerance=0.5, max_tubes=2, view=view)
    assert set(answer.tubes) == {"titanium-white", "yellow-ochre"}
    assert answer.view is view
    assert answer.miss.max() < 0.01


@settings(max_examples=5)
@given(st.integers(0, 10_000))
def test_a_greater_tolerance_or_larger_mixes_need_no_more_tubes(eight, seed):
    labs = some_targets(kit_of(eight.paints), 5, seed)
    usual = fewest_tubes(labs, eight, tolerance=1.5, max_tubes=2)
    for other in (
        fewest_tubes(labs[usual.in_reach], eight, tolerance=3.0, max_tubes=2)
        if usual.in_reach.any() else usual,
        fewest_tubes(labs[usual.in_reach], eight, tolerance=1.5, max_tubes=3)
        if usual.in_reach.any() else usual,
    ):  # fmt: skip
        assert other.counted <= usual.counted
        assert other.in_reach.all() or other is usual


# --- the trade-off and the next tube ------------------------------------------------------------


def test_the_trade_off_is_that_of_all_sets(found, scene, eight, monkeypatch):
    curve = found.trade_off(8)
    kit = kit_of(eight.paints)
    figures = misses((kit, scene))
    for i, count in enumerate(curve.count):
        best = []
        for tubes in itertools.combinations(range(8), int(count)):
            least = figures[:, kit.subsets.inside(np.array(tubes))].min(axis=1)
            best.append((-(least <= 2).mean().round(9), least.mean()))
        share, mean = min(best)
        assert curve.share[i] == pytest.approx(-share)
        assert curve.mean_miss[i] == pytest.approx(mean)
        assert len(curve.sets[i]) == count
    assert curve.proven.all()
    reach = found.share
    assert curve.count[curve.share >= reach - 1e-9].min() == found.counted
    # by the programme, where sets are too many to compare: the same shares, and their bound
    monkeypatch.setattr(mixlab.palette.trade_off, "_EVERY", 0)
    other = trade_off(scene, eight, most=8)
    assert other.share == pytest.approx(curve.share)
    assert other.bound == pytest.approx(curve.share, abs=1e-5)
    assert (other.mean_miss >= curve.mean_miss - 1e-9).all()


def test_the_next_tube_is_the_one_that_covers_most(table, eight, scene):
    own = table.palette(eight.ids[:4])
    more = best_next(own, scene, eight)
    assert more[0].id == ""
    assert {one.id for one in more[1:]} == set(eight.ids[4:])
    for one in more:
        ids = own.ids + ([one.id] if one.id else [])
        least = misses((kit_of(table.palette(ids).paints), scene)).min(axis=1)
        assert one.share == pytest.approx((least <= 2).mean(), abs=1e-9)
        assert one.mean_miss == pytest.approx(least.mean(), abs=0.02)
    order = [(-round(one.share, 6), one.mean_miss) for one in more[1:]]
    assert order == sorted(order)
    with pytest.raises(ReachError, match="no next one"):
        best_next(eight, scene, eight)


def test_many_targets_are_tried_together_for_the_next_tube(table, eight, monkeypatch):
    own = table.palette(eight.ids[:5])
    labs = some_targets(kit_of(eight.paints), 60, 4)
    one_by_one = best_next(own, labs, eight)
    monkeypatch.setattr(mixlab.palette.next_tube, "MANY", 10)
    together = {one.id: one for one in best_next(own, labs, eight)}
    assert set(together) == {one.id for one in one_by_one}
    for one in one_by_one:
        assert together[one.id].share == pytest.approx(one.share, abs=1 / 60 + 1e-9)
        assert together[one.id].mean_miss == pytest.approx(one.mean_miss, abs=0.05)
        assert together[one.id].share >= together[""].share


@pytest.fixture
def boxed(monkeypatch):
    """Make ten targets many."""
    monkeypatch.setattr(mixlab.palette.trade_off, "_FEW", 10)
    monkeypatch.setattr(mixlab.palette.trade_off, "_CHEAP", 0)


def test_of_many_targets_a_tube_more_never_covers_less(eight, boxed, monkeypatch):
    kit = kit_of(eight.paints)
    for seed, every in ((1, 30_000_000), (2, 0), (3, 0)):
        monkeypatch.setattr(mixlab.palette.trade_off, "_EVERY", every)
        labs = some_targets(kit, 60, seed)
        curve = trade_off(labs, eight, most=8)
        figures = misses((kit, labs))
        reach = (figures <= 2.0).any(axis=1).mean()
        assert (np.diff(curve.share) >= -1e-9).all()
        for i, ids in enumerate(curve.sets):
            chosen = np.isin(eight.ids, ids)
            inside = kit.subsets.inside(np.flatnonzero(chosen))
            within = figures[:, inside].min(axis=1) <= 2.0
            assert curve.share[i] == pytest.approx(within.mean(), abs=1 / 60 + 1e-9)
            best = max(
                (figures[:, kit.subsets.inside(np.array(tubes))].min(axis=1) <= 2.0).mean()
                for tubes in itertools.combinations(range(8), int(curve.count[i]))
            )
            assert curve.bound[i] >= best - 1e-9
            assert curve.bound[i] <= 1.0 + 1e-12
        # of all tubes there is but one set
        assert curve.proven[-1]
        assert curve.share[-1] == curve.bound[-1] == pytest.approx(reach, abs=1 / 60 + 1e-9)
        assert not curve.proven[0]


@pytest.mark.parametrize("must", [["PW6"], ["PW6", "PB29"], "all"])
def test_the_trade_off_begins_with_the_tubes_that_must_be(scene, eight, must):
    must = eight.ids if must == "all" else must
    kit = kit_of(eight.paints)
    figures = misses((kit, scene))
    needed = [eight.ids.index(eight[name].id) for name in must]
    found = fewest_tubes(scene, eight, must=must)
    for curve in (trade_off(scene, eight, must=must), found.trade_off(8)):
        assert curve.count[0] == len(must)
        assert set(curve.sets[0]) == {eight[name].id for name in must}
        for i, count in enumerate(curve.count):
            best = max(
                (figures[:, kit.subsets.inside(np.array(tubes))].min(axis=1) <= 2).mean()
                for tubes in itertools.combinations(range(8), int(count))
                if set(needed) <= set(tubes)
            )
            assert curve.share[i] == pytest.approx(best)


def test_what_is_told_of_many_targets_is_sure(eight, boxed, monkeypatch):
    """The nearest mixes sought together may miss; what is printed does not rest on that."""
    usual = mixlab.palette.problem.nearest
    random = np.random.default_rng(3)

    def rough(asked):
        miss = usual(asked)
        return miss + np.where(random.random(len(miss)) < 0.3, 3.0, 0.0)

    monkeypatch.setattr(mixlab.palette.problem, "nearest", rough)
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 60, 2)
    figures = misses((kit, labs))
    curve = trade_off(labs, eight, most=8)
    assert (np.diff(curve.share) >= -1e-9).all()
    for share, ids in zip(curve.share, curve.sets, strict=True):
        inside = kit.subsets.inside(np.flatnonzero(np.isin(eight.ids, ids)))
        within = figures[:, inside].min(axis=1) <= 2
        assert share == pytest.approx(within.mean(), abs=1 / 60 + 1e-9)


def test_few_sets_are_compared_one_and_all_however_many_the_targets(eight, monkeypatch):
    monkeypatch.setattr(mixlab.palette.trade_off, "_FEW", 10)
    labs = some_targets(kit_of(eight.paints), 60, 1)
    assert trade_off(labs, eight, most=8).proven.all()


def test_fewer_tubes_than_are_needed_cover_less(eight, boxed):
    labs = some_targets(kit_of(eight.paints), 60, 1)
    answer = fewest_tubes(labs, eight, share=0.6)
    curve = answer.trade_off(8)
    fewer = curve.count < answer.counted
    assert fewer.any()
    assert (curve.bound[fewer] <= 0.6 + 1e-9).all()
    assert (curve.bound >= curve.share).all()


def test_a_set_that_was_proven_is_tried_for_the_trade_off(eight, boxed, monkeypatch):
    answer = fewest_tubes(some_targets(kit_of(eight.paints), 60, 1), eight, share=0.6)

    def poor(self, count):
        return [np.arange(8) < count], 1.0

    monkeypatch.setattr(mixlab.palette.trade_off._Sought, "_chosen", poor)
    curve = answer.trade_off(8)
    row = list(curve.count).index(answer.counted)
    assert set(curve.sets[row]) in [set(one.tubes) for one in answer.sets]
    assert curve.share[row] == max(one.share for one in answer.sets)
    assert curve.sets[0] == ("titanium-white",)


def test_a_trade_off_that_is_cut_short_keeps_what_was_done(scene, eight, monkeypatch):
    assert len(trade_off(scene, eight, time_limit=1e-9).count) == 0
    usual, whole = mixlab.palette.trade_off._Sought.best, trade_off(scene, eight, most=5)
    assert whole.stopped == ""

    def stop(self, count):
        if count == 3:
            raise KeyboardInterrupt
        return usual(self, count)

    monkeypatch.setattr(mixlab.palette.trade_off._Sought, "best", stop)
    curve = trade_off(scene, eight, most=5)
    assert curve.stopped == "Ctrl-C"
    assert list(curve.count) == [1, 2]
    assert curve.sets == whole.sets[:2]
    assert curve.share == pytest.approx(whole.share[:2])


def test_a_programme_cut_short_gives_a_bound(scene, eight, monkeypatch):
    whole = trade_off(scene, eight, most=4)
    monkeypatch.setattr(mixlab.palette.trade_off, "_EVERY", 0)
    monkeypatch.setattr(
        HittingSet, "most", lambda self, *_: mixlab.palette.programme.Choice(None, 1.0, False)
    )
    asked = mixlab.palette.problem.problem_of(scene, eight, 2.0, 3, None, (), (), (), None, None)
    sought = mixlab.palette.trade_off._Sought(asked, lambda: math.inf, ())
    with pytest.raises(mixlab.palette.problem.TimeIsOver):
        sought.best(1)
    first = np.isin(eight.ids, whole.sets[0])
    sought.last = first, asked.misses_of(first)
    for count, best in zip((2, 3, 4), whole.share[1:], strict=True):
        chosen, share, bound, _ = sought.best(count)
        assert chosen.sum() == count
        assert share <= best + 1e-9
        assert bound == 1.0


# --- cut short ----------------------------------------------------------------------------------


def test_when_the_time_is_over_the_bound_is_said(scene, eight, found):
    answer = fewest_tubes(scene, eight, time_limit=1e-6)
    assert answer.stopped == "time"
    assert not answer.proven
    assert 1 <= answer.lower_bound <= found.counted
    assert 1 <= answer.looked_at < len(scene)
    assert answer.within_tolerance.any()


def test_stopped_after_the_survey_a_set_is_left_all_the_same(scene, eight, found, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(HittingSet, "fewest", stop)
    answer = fewest_tubes(scene, eight)
    assert answer.stopped == "Ctrl-C"
    assert answer.tubes
    assert not answer.proven
    assert np.array_equal(answer.within_tolerance, found.within_tolerance)
    assert answer.counted >= found.counted
    assert answer.lower_bound == 0


def test_what_is_left_is_for_the_share_that_was_asked(scene, eight, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(HittingSet, "fewest", stop)
    half, whole = (fewest_tubes(scene, eight, share=share) for share in (0.5, 1.0))
    assert half.stopped == whole.stopped == "Ctrl-C"
    assert half.share >= 0.5
    assert half.counted < whole.counted


def test_stopped_at_the_last_the_answer_is_put_together_all_the_same(
    scene, eight, found, monkeypatch
):
    usual, stops = mixlab.palette.tube_sets._sensitivity, [KeyboardInterrupt]

    def stop(problem, chosen):
        if stops:
            raise stops.pop()
        return usual(problem, chosen)

    monkeypatch.setattr(mixlab.palette.tube_sets, "_sensitivity", stop)
    answer = fewest_tubes(scene, eight)
    assert answer.stopped == "Ctrl-C"
    assert answer.proven
    assert answer.proof_has_margin is None
    assert answer.tubes
    assert answer.counted == found.counted
    # said twice, it is meant
    stops[:] = [KeyboardInterrupt, KeyboardInterrupt]
    with pytest.raises(KeyboardInterrupt):
        fewest_tubes(scene, eight)


def test_what_was_not_looked_at_is_not_told_for_reachable(eight):
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 40, 11)
    answer = fewest_tubes(labs, eight, time_limit=1e-6)
    assert answer.looked_at < 40
    assert not answer.in_reach_known.all()
    assert answer.in_reach_known[answer.within_tolerance].all()
    assert (
        answer.in_reach_known.sum()
        == np.unique(
            np.concatenate([np.flatnonzero(answer.within_tolerance), list(answer._problem.miss)])
        ).size
    )


def test_when_the_time_is_over_sets_are_ranked_as_far_as_there_is_time(scene, eight, monkeypatch):
    """The first at least, whatever the clock says."""
    whole = fewest_tubes(scene, eight, share=0.5)
    assert len(whole.sets) > 3
    monkeypatch.setattr(mixlab.palette.fewest, "clock", lambda seconds: lambda: -1.0)
    answer = fewest_tubes(scene, eight, share=0.5)
    assert len(answer.sets) == 1
    assert answer.counted == whole.counted
    assert answer.proof_has_margin is None


def test_stopped_while_others_are_looked_for_the_first_stands(scene, eight, found, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(mixlab.palette.fewest._Search, "_others", stop)
    answer = fewest_tubes(scene, eight)
    assert answer.stopped == "Ctrl-C"
    assert answer.proven
    assert answer.counted == found.counted
    assert not answer.complete


# --- wherever it is done ------------------------------------------------------------------------


def square(number):
    return number**2


def lost_elsewhere(number):
    """End a worker, but not the process that the tests run in."""
    if number == 3 and os.environ["MIXLAB_TEST_HOME"] != str(os.getpid()):
        os.kill(os.getpid(), signal.SIGKILL)
    return number**2


def refuse(number):
    raise ReachError(f"not {number}")


def same(one, other):
    assert one.sets[0].tubes == other.sets[0].tubes
    assert [(s.tubes, s.share, s.mean_miss, s.sensitivity) for s in one.sets] == [
        (s.tubes, s.share, s.mean_miss, s.sensitivity) for s in other.sets
    ]
    assert (one.counted, one.lower_bound, one.proven, one.proof_has_margin, one.compared) == (
        other.counted, other.lower_bound, other.proven, other.proof_has_margin, other.compared
    )  # fmt: skip
    for name in ("in_reach", "within_tolerance", "shares", "miss"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


def test_two_processes_give_the_same_digits_and_outlive_a_lost_one(
    found, scene, eight, monkeypatch
):
    monkeypatch.setenv("MIXLAB_TEST_HOME", str(os.getpid()))
    with processes(2) as executor:
        same(fewest_tubes(scene, eight, executor=executor), found)
        with pytest.raises(ReachError, match="not 1"):
            dict(each_done(refuse, [1], executor))
        made = dict(each_done(lost_elsewhere, range(8), executor))
        assert made == {n: n**2 for n in range(8)}
        # the pool is broken by now, and takes no more: the work is done here
        assert dict(each_done(square, [1, 2], executor)) == {0: 1, 1: 4}
    with processes(1) as executor:
        assert executor is None
        assert dict(each_done(square, [1, 2], executor)) == {0: 1, 1: 4}
    with pytest.raises(ReachError, match="0 processes"), processes(0):
        pass


def test_a_dask_cluster_of_two_gives_the_same_digits_and_outlives_a_lost_worker(
    found, scene, eight
):
    distributed = pytest.importorskip("distributed", reason="Dask is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, host="127.0.0.1",
        dashboard_address=None, worker_dashboard_address=None,
    ) as two:  # fmt: skip
        with cluster(two.scheduler_address) as executor:
            same(fewest_tubes(scene, eight, executor=executor), found)
        with distributed.Client(two.scheduler_address, set_as_default=False) as client:
            workers = list(client.run(os.getpid).values())
            assert len(set(workers)) == 2
            lost = []

            def lose(share):
                if not lost and share > 0:
                    lost.append(workers[0])
                    os.kill(workers[0], signal.SIGKILL)

            same(fewest_tubes(scene, eight, executor=client, progress=lose), found)
            assert lost
    with pytest.raises(ReachError, match="no scheduler answers"), cluster("nonsense"):
        pass


# --- settings -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"labs": [1, 2, 3]}, r"array \(n, 3\)"),
        ({"labs": np.zeros((0, 3))}, r"array \(n, 3\)"),
        ({"labs": [[1, 2, math.nan]]}, r"array \(n, 3\)"),
        ({"labs": "brick"}, r"array \(n, 3\)"),
        ({"tolerance": 0}, "above zero"),
        ({"tolerance": math.nan}, "above zero"),
        ({"max_tubes": 5}, "1 to 4"),
        ({"max_tubes": 2.0}, "2.0 tubes in a mix: it must be 1 to 4, and whole"),
        ({"tolerance": "2"}, "tolerance of '2'"),
        ({"tolerance": None}, "tolerance of None"),
        ({"labs": [[1e200, 0, 0]]}, "within 1000"),
        ({"tubes": [1]}, "a table, a palette, or a list of paints"),
        ({"tubes": []}, "a table, a palette, or a list of paints"),
        ({"tubes": None}, "a table, a palette, or a list of paints"),
        ({"must": [3]}, r"must: names of tubes are wanted, not \[3\]"),
        ({"must_not": None}, "must_not: names of tubes are wanted, not None"),
        ({"share": "all"}, "share of all"),
        ({"merge": None}, "merged within None"),
        ({"sets": 1.5}, "1.5 sets to list"),
        ({"time_limit": "long"}, "time limit of long"),
        ({"view": "D65"}, r"view 'D65': it must be as mixlab.viewing\('D65'\) gives it"),
        ({"share": 0}, "share of 0"),
        ({"share": 1.2}, "share of 1.2"),
        ({"weights": [1, 2]}, "weights must be 1"),
        ({"weights": [-1]}, "weights must be 1"),
        ({"weights": [0]}, "all zero"),
        ({"must": ["mud"]}, "must: no paint 'mud'"),
        ({"must_not": ["mud"]}, "must_not: no paint 'mud'"),
        ({"free": ["mud"]}, "free: no paint 'mud'"),
        ({"must": ["PW6"], "must_not": ["titanium-white"]}, "both to be in the set"),
        ({"merge": -1}, "merged within -1"),
        ({"sets": 0}, "0 sets"),
        ({"time_limit": 0}, "time limit of 0"),
        ({"executor": object()}, "no executor"),
    ],
)
def test_settings_that_make_no_sense_are_refused(eight, change, says):
    given = {"labs": [[50, 0, 0]], "tubes": eight, **change}
    with pytest.raises(ReachError, match=says) as error:
        fewest_tubes(**given)
    assert "\n" not in str(error.value)


def test_a_plain_list_of_paints_is_a_catalogue(scene, eight, found):
    same(fewest_tubes(scene, list(eight.paints)), found)
    with pytest.raises(ReachError, match="titanium-white is in the catalogue twice"):
        fewest_tubes(scene, [eight.paints[0], eight.paints[1], eight.paints[0]])


def test_great_weights_are_weighed(eight, scene):
    plain = fewest_tubes(scene[:3], eight, weights=[1, 2, 1])
    great = fewest_tubes(scene[:3], eight, weights=[0.8e308, 1.6e308, 0.8e308])
    assert great.weight == pytest.approx(plain.weight)
    assert great.tubes == plain.tubes


@pytest.mark.parametrize("most", [0, 1.5, "two", -1])
def test_a_trade_off_of_no_number_of_tubes_is_refused(found, scene, eight, most):
    for ask in (found.trade_off, lambda most: trade_off(scene, eight, most=most)):
        with pytest.raises(ReachError, match=f"{most} tubes: it must be 1 or more, and whole"):
            ask(most)


def test_the_next_tube_is_for_a_palette(scene, eight):
    with pytest.raises(ReachError, match="the tubes at hand must be a palette"):
        best_next(list(eight.paints), scene)
    with pytest.raises(ReachError, match="a list of paints"):
        best_next(eight, scene, [])


def test_the_heaviest_target_of_each_box_stands_for_it(eight):
    labs = np.array([[50.0, 0, 0], [50.1, 0, 0], [80, 0, 0], [20, 0, 0], [20.1, 0.1, 0]])
    weights = np.array([1.0, 3.0, 2.0, 0.0, 4.0])
    asked = mixlab.palette.problem.problem_of(
        labs, eight, 2.0, 3, weights, (), (), (), None, None
    )
    rows, weight = mixlab.palette.problem.heaviest(asked, 5.0, 10)
    assert list(rows) == [4, 1, 2]
    assert weight == pytest.approx([0.4, 0.4, 0.2])
    rows, weight = mixlab.palette.problem.heaviest(asked, 0.0, 10)
    assert list(rows) == [4, 1, 2, 0]
    assert len(mixlab.palette.problem.heaviest(asked, 1.0, 1)[0]) == 1


def test_a_verdict_is_sure_also_once_few_targets_are_left(eight, monkeypatch):
    """What was sought among many is not taken for sure when few remain that were not looked at."""
    labs = some_targets(kit_of(eight.paints), 30, 6)
    asked = mixlab.palette.problem.problem_of(labs, eight, 2.0, 3, None, (), (), (), None, None)
    every = np.ones(8, dtype=bool)
    true = (misses((kit_of(eight.paints), labs)) <= 2.0).any(axis=1)
    monkeypatch.setattr(mixlab.palette.problem, "nearest", lambda sent: np.full(len(sent[1]), 5.0))
    assert not asked.within_tolerance(every).any()
    asked.look_at(np.arange(20))
    assert np.array_equal(asked.within_tolerance(every, sure=True), true)
    assert true[20:].any()


def test_a_verdict_of_many_targets_can_be_made_sure(eight, monkeypatch):
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 30, 6)
    asked = mixlab.palette.problem.problem_of(labs, eight, 2.0, 3, None, (), (), (), None, None)
    chosen = np.arange(8) != 3
    true = misses((kit.of(np.flatnonzero(chosen)), labs)).min(axis=1)
    assert asked.misses_of(chosen) == pytest.approx(true, abs=0.5)
    assert (asked.misses_of(chosen) >= true - 0.02).all()
    monkeypatch.setattr(mixlab.palette.problem, "nearest", lambda sent: np.full(len(sent[1]), 5.0))
    off = mixlab.palette.problem.problem_of(labs, eight, 2.0, 3, None, (), (), (), None, None)
    assert not off.within_tolerance(chosen).any()
    assert np.array_equal(off.within_tolerance(chosen, sure=True), true <= 2.0)
    assert not off.misses_of(np.zeros(8, bool)).min() < math.inf


def test_a_catalogue_can_be_too_large_or_empty(eight, monkeypatch):
    with pytest.raises(ReachError, match="every tube of the catalogue is excluded"):
        fewest_tubes([[50, 0, 0]], eight, must_not=eight.ids)
    monkeypatch.setattr(mixlab.palette.problem, "MOST_SETS", 50)
    with pytest.raises(ReachError, match="92 sets of at most 3 of 8 tubes are too many"):
        fewest_tubes([[50, 0, 0]], eight)


@pytest.mark.parametrize(
    ("share", "text"),
    [(1.0, "100%"), (1 - 1e-15, "100%"), (0.9999970, "99.99%"), (0.99961, "99.96%"),
     (0.9994, "99.9%"), (0.9995, "99.95%"), (0.835, "83.5%"), (0.0, "0.0%")],
)  # fmt: skip
def test_all_is_told_only_where_nothing_is_lacking(share, text):
    assert percent(share) == text


# --- the command --------------------------------------------------------------------------------

LIST = "name,hex,weight\nbrick,#9a4b32,2\nsky,#b9c7d2,1\ngrass,#6c7338,1\nsign,#ff00ff,1\n"


@pytest.fixture
def asked(tmp_path):
    file = tmp_path / "colours.csv"
    file.write_text(LIST, encoding="utf-8")
    return file


def test_the_command_says_what_was_proven(run, asked, tmp_path):
    plot, rows = tmp_path / "curve.png", tmp_path / "rows.csv"
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", "--plot", plot,
              "--csv", rows)  # fmt: skip
    assert ran.status == 0
    assert ran.err == ""
    assert "no fewer will do" in ran.out
    assert "Out of reach of all the tubes, 3 in a mix: 2 colours" in ran.out
    assert "The next tube for this palette" in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines() if str(asked) not in line)
    assert plot.read_bytes().startswith(b"\x89PNG")
    lines = rows.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("name,weight,L,a,b,C,h,munsell,")
    assert ",in_reach,within_tolerance,miss,shares,recipe_mix,recipe_miss,light," in lines[0]
    assert len(lines) == 5
    last = list(csv.DictReader(lines))[3]
    assert (last["in_reach"], last["within_tolerance"]) == ("False", "False")


def test_the_command_as_json_is_what_python_has(run, asked, table):
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", "--json",
              "--free-white", "--share", 70)  # fmt: skip
    made = json.loads(ran.out)
    tubes = mixlab.read_palette("mill-pond", table)
    colours = mixlab.targets.many.from_list(asked)
    whites = [p.id for p in tubes if p.is_white]
    answer = fewest_tubes(colours.lab, tubes, share=0.7, weights=colours.weight, free=whites)
    assert made["paint_ids"] == list(answer.tubes)
    assert made["proven"] is True
    assert made["counted"] == made["lower_bound"] == answer.counted
    assert [c["miss"] for c in made["colours"]] == pytest.approx(answer.miss, abs=1e-4)
    assert [c["in_reach"] for c in made["colours"]][-1] is False
    assert made["trade_off"][0]["tubes"] == 1
    assert made["next"][0]["paint"] is None


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--with", "mud"], "--with: no paint 'mud'"),
        (["--share", 0], "--share 0: write per cent of the weight, as 95, up to 100"),
        (["--share", 101], "--share 101: write per cent"),
        (["--share", 0.95], "--share 0.95: write per cent"),
        (["--share", "nan"], "--share nan: write per cent"),
        (["--sets", 0], "--sets 0: it must be 1 to 1000"),
        (["--without", "mud"], "--without: no paint 'mud'"),
        (["--tubes", 5], "1 to 4"),
        (["--jobs", 0], "0 processes"),
        (["--scheduler", "nowhere"], "no scheduler answers"),
        (["--time-limit", 0], "time limit of 0"),
    ],
)
def test_the_command_refuses_in_one_line(run, asked, words, says):
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", *words)
    assert ran.status == 2
    assert ran.out == ""
    assert says in ran.err
    assert ran.err.count("\n") == 1


def test_the_curve_keeps_to_the_time_limit(run, asked, monkeypatch):
    plot = asked.with_name("late.png")
    words = ["fewest", "--targets", asked, "--palette", "mill-pond", "--plot", plot]
    left = iter([-1.0])
    monkeypatch.setattr("mixlab.show.cli.fewest.clock", lambda seconds: lambda: next(left))
    ran = run(*words, "--time-limit", 1000)
    assert ran.status == 0
    assert "is not drawn: the search took all of the time limit" in ran.err
    assert not plot.exists()
    assert "Proven" in ran.out
    assert "What so many tubes do at best" not in ran.out
    # the time is over once the curve is there: no further tubes are tried
    left = iter([1000.0, -1.0])
    ran = run(*words, "--time-limit", 1000)
    assert ran.status == 0
    assert plot.exists()
    assert "What so many tubes do at best" in ran.out
    assert "The next tube" not in ran.out


def test_ctrl_c_leaves_what_was_found(run, asked, monkeypatch):
    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(mixlab.palette.fewest._Search, "_others", stop)
    plot = asked.with_name("curve.png")
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", "--plot", plot)
    assert ran.status == 130
    assert "is not drawn: the search was cut short" in ran.err
    assert not plot.exists()
    assert "Stopped." in ran.out
    assert "Proven" in ran.out
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", "--json")
    made = json.loads(ran.out)
    assert made["stopped"] == "Ctrl-C"
    assert made["paint_ids"]


def test_the_picture_shows_the_curve(found):
    curve = found.trade_off(6)
    figure = draw(found, curve)
    covered, missed = figure.axes
    assert covered.lines[0].get_ydata() == pytest.approx(100 * curve.share)
    assert missed.lines[0].get_ydata() == pytest.approx(curve.mean_miss)
    assert "no fewer will do" in covered.get_legend().get_texts()[0].get_text()


def test_stopped_at_the_curve_what_was_proven_is_written(run, tmp_path, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(mixlab.palette.tube_sets.Fewest, "trade_off", stop)
    asked = tmp_path / "c.csv"
    asked.write_text("hex\n#8a5a3c\n#c8d2d8\n")
    ran = run("fewest", "--targets", asked, "--palette", "kiln-earths",
              "--tolerance", "8", "--csv", tmp_path / "o.csv", "--json")  # fmt: skip
    assert ran.status == 130
    assert json.loads(ran.out)["proven"] and (tmp_path / "o.csv").exists()


def test_where_every_tube_is_free_there_is_no_curve(run, tmp_path):
    asked, whites = tmp_path / "c.csv", tmp_path / "w.toml"
    asked.write_text("hex\n#fcfcfa\n")
    whites.write_text('name = "Whites"\npaints = ["titanium-white", "zinc-white"]\n')
    ran = run("fewest", "--targets", asked, "--palette", whites, "--free-white",
              "--tolerance", "5", "--json")  # fmt: skip
    assert (ran.status, ran.err) == (0, "")
    assert json.loads(ran.out)["counted"] == 0


@pytest.fixture
def picture(tmp_path):
    """A small picture of brick, sky and grass, with some noise."""
    from PIL import Image

    random = np.random.default_rng(1)
    pixels = np.empty((40, 60, 3))
    pixels[:14], pixels[14:26], pixels[26:] = (185, 199, 210), (154, 75, 50), (108, 115, 56)
    pixels += random.normal(0, 14, pixels.shape)
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(tmp_path / "wall.png")
    return tmp_path / "wall.png"


def test_of_a_picture_it_is_said_what_was_proven(run, picture, monkeypatch):
    """The proof is for the means of boxes; the picture's own colours are counted besides."""
    monkeypatch.setattr("mixlab.show.cli.fewest._MEANS", (60, 60))
    words = ["fewest", "--photo", picture, "--palette", "mill-pond", "--share", 50]
    ran = run(*words, "--json")
    made = json.loads(ran.out)
    fine = mixlab.targets.many.from_picture(picture)
    boxes = made["merged"]
    assert boxes["colour_count"] == len(fine) > 100
    assert len(made["colours"]) <= 60
    assert 0.5 < boxes["mean_off"] < boxes["greatest_off"]
    palette = mixlab.read_table().palette(made["paint_ids"])
    told = mixlab.palette.coverage.coverage(mixlab.reach(palette, 3), fine)
    assert boxes["share"] == pytest.approx(told.share, abs=0.01)
    assert boxes["share"] != pytest.approx(made["share"], abs=1e-4)
    assert "What so many tubes do at best" in run(*words).out
    monkeypatch.setattr(mixlab.palette.trade_off, "_FEW", 10)
    monkeypatch.setattr(mixlab.palette.trade_off, "_CHEAP", 0)
    ran = run(*words)
    assert "What so many tubes do: the best sets found, and what none exceeds" in ran.out
    text = " ".join(ran.out.split())
    assert f"the {len(fine)} that an eye tells apart lie {boxes['mean_off']:.1f} CIEDE2000" in text
    assert f"the set has {percent(boxes['share'])} of the area within 2" in text


def test_a_grey_place_takes_the_cast_out_of_a_picture(run, tmp_path):
    from PIL import Image

    pixels = np.full((20, 20, 3), (200, 180, 150), dtype=np.uint8)  # a grey card in warm light
    pixels[10:] = (120, 60, 40)
    Image.fromarray(pixels).save(tmp_path / "warm.png")
    ran = run("fewest", "--photo", tmp_path / "warm.png", "--grey", "5,5", "--palette",
              "mill-pond", "--json")  # fmt: skip
    labs = np.array([colour["lab"] for colour in json.loads(ran.out)["colours"]])
    # L* of a luminous reflectance of 0.18 is 49.5
    assert np.abs(labs - [49.496, 0, 0]).max(axis=1).min() < 0.01
    assert len(labs) == 2


def test_without_colours_there_is_nothing_to_find(run):
    ran = run("fewest")
    assert ran.status == 2
    assert "colours are needed; give one of --targets" in ran.err


def test_a_share_beyond_reach_is_said(run, asked):
    words = ["fewest", "--targets", asked, "--palette", "mill-pond", "--share"]
    text = " ".join(run(*words, 95).out.split())
    assert "for every colour that can be mixed at all (" in text
    assert "of the weight; 95.0% is not within reach), to 2 CIEDE2000; no fewer will do" in text
    text = " ".join(run(*words, 20).out.split())
    assert "is not within reach" not in text
    assert "of the weight (20.0% was asked), to 2 CIEDE2000; no fewer will do" in text


def test_as_many_sets_are_listed_as_are_wanted(run, asked):
    words = ["fewest", "--targets", asked, "--palette", "mill-pond", "--share", 20]
    many = json.loads(run(*words, "--json").out)["sets"]
    assert len(many) > 2
    assert json.loads(run(*words, "--json", "--sets", 2).out)["sets"] == many[:2]
    text = " ".join(run(*words).out.split())
    assert "Mean misses that fall in the same step of 0.05 count as alike" in text


def test_what_counts_nothing_is_not_said_to_be_covered(run, tmp_path):
    asked = tmp_path / "c.csv"
    asked.write_text("hex,weight\n#fafafa,1\n#9a4b32,0\n#102060,0\n")
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond")
    assert "for every colour that counts" in " ".join(ran.out.split())
    asked.write_text("hex\n#ff00ff\n")
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", "--with", "PW6")
    assert "None of the colours can be mixed to 2 CIEDE2000." in ran.out


def test_a_table_too_large_for_the_next_tube_keeps_the_answer(run, asked, monkeypatch):
    def refuse(*_, **__):
        raise ReachError("too many to look at")

    monkeypatch.setattr("mixlab.show.cli.fewest.best_next", refuse)
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond")
    assert ran.status == 0
    assert "mixlab: the next tube is not looked for: too many to look at" in ran.err
    assert "no fewer will do" in ran.out


@pytest.mark.parametrize(("tubes", "most", "base"), [(8, 3, None), (8, 3, 5), (6, 4, 2), (3, 4, 3)])
def test_small_sets_are_counted(tubes, most, base):
    own = None if base is None else tuple(range(base))
    assert mixlab.palette.problem.small_sets(tubes, most, base) == len(Subsets(tubes, most, own))


def test_what_a_library_prints_stays_out_of_the_answer(tmp_path):
    """In a process of its own: what C writes to stdout by itself is not seen."""
    code = (
        "import os, ctypes\n"
        "from mixlab.show.cli.console import stdout_apart\n"
        "print('before')\n"
        "with stdout_apart():\n"
        "    os.write(1, b'noise')\n"
        "    ctypes.CDLL(None).puts(b'more noise')\n"
        "print('after')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "before\nafter\n"


def test_ctrl_c_twice_within_a_second_is_once(monkeypatch):
    heard = []
    with one_stop():
        for _ in range(2):
            try:
                signal.raise_signal(signal.SIGINT)
                heard.append("nothing")
            except KeyboardInterrupt:
                heard.append("stop")
        monkeypatch.setattr("mixlab.show.cli.console.time.monotonic", lambda: 1e12)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert heard == ["stop", "nothing"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_where_no_set_is_found_no_rows_are_written(run, tmp_path):
    asked, rows = tmp_path / "c.csv", tmp_path / "rows.csv"
    asked.write_text("hex\n#ff00ff\n")
    ran = run("fewest", "--targets", asked, "--palette", "kiln-earths", "--csv", rows)
    assert ran.status == 0
    assert "is not written: no set of tubes was found" in ran.err
    assert not rows.exists()
    assert "None of the colours can be mixed" in ran.out


def test_cut_short_what_is_not_known_is_not_told(run, asked, tmp_path, monkeypatch):
    rows = tmp_path / "rows.csv"
    usual = mixlab.palette.problem.Problem.look_at

    def look_at(self, some, left):
        usual(self, some[:3])
        raise KeyboardInterrupt

    monkeypatch.setattr(mixlab.palette.problem.Problem, "look_at", look_at)
    ran = run("fewest", "--targets", asked, "--palette", "mill-pond", "--csv", rows,
              "--json")  # fmt: skip
    assert ran.status == 130
    made = json.loads(ran.out)
    assert made["stopped"] == "Ctrl-C"
    assert made["proof_has_margin"] is None
    told = [colour["in_reach"] for colour in made["colours"]]
    assert None in told
    monkeypatch.undo()
    words = ["fewest", "--targets", asked, "--palette", "mill-pond"]
    whole = [colour["in_reach"] for colour in json.loads(run(*words, "--json").out)["colours"]]
    assert all(mine in (None, true) for mine, true in zip(told, whole, strict=True))
    assert {True, False} <= set(told)
    lines = csv.DictReader(rows.read_text(encoding="utf-8").splitlines())
    assert [line["in_reach"] for line in lines] == ["" if t is None else str(t) for t in told]
