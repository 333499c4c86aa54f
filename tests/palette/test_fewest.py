"""The fewest tubes: the answer, the trade-off, the same wherever it is found, the command."""

import csv
import itertools
import json
import math
import os
import signal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import mixlab.palette.fewest
import mixlab.palette.problem
import mixlab.palette.trade_off
from mixlab.arrays import percent
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.errors import ReachError
from mixlab.mixing.recipes import find_recipe
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.next_tube import best_next
from mixlab.palette.programme import HittingSet
from mixlab.palette.selection import select_tubes
from mixlab.palette.small_sets import Kit, misses
from mixlab.palette.trade_off import trade_off
from mixlab.palette.work import cluster, each_done, processes
from mixlab.show.plots.style import SURROUND
from mixlab.show.plots.trade_off import enough
from mixlab.show.plots.trade_off import trade_off as draw
from mixlab.targets.many import Colours
from tests.palette.cases import all_choices, kit_of, some_targets


@pytest.fixture(scope="session")
def found(scene, eight):
    return fewest_tubes(scene, eight)


# --- the answer ---------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_cases_against_all_sets_compared(table, seed, monkeypatch):
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
    with_it = fewest_tubes(scene, eight, required=[must])
    assert must in with_it.tubes
    assert with_it.counted >= found.counted
    gone = found.tubes[-1]
    without = fewest_tubes(scene, eight, excluded=[gone])
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


@pytest.mark.parametrize("first", [1.5, 30.0])
def test_a_share_beyond_reach_is_that_of_what_is_reached(eight, scene, first, monkeypatch):
    """Whether all targets are looked at, or some at first."""
    monkeypatch.setattr(mixlab.palette.fewest, "MERGED", first)
    kit = kit_of(eight.paints)
    labs = np.vstack([scene, some_targets(kit, 12, 9), [[60.0, 120, 0], [99, -40, 10]] * 6])
    answer = fewest_tubes(labs, eight, share=0.8)
    figures = misses((kit, labs)) <= 2
    reach = figures.any(axis=1).mean()
    assert answer.share_in_reach == pytest.approx(reach)
    assert reach < 0.8
    assert answer.proven
    covered = {
        size: max(figures[:, kit.subsets.inside(np.array(tubes))].any(axis=1).mean()
                  for tubes in itertools.combinations(range(8), size))
        for size in range(1, 9)
    }  # fmt: skip
    fewest = min(size for size, share in covered.items() if share >= 0.8 * reach - 1e-6)
    assert answer.counted == fewest < min(s for s, share in covered.items() if share > reach - 1e-6)
    assert answer.share >= 0.8 * reach - 1e-5


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


@pytest.mark.parametrize("change", [{"weights": "last two"}, {"share": 0.3}, {"MERGED": 30.0}, {}])
def test_what_is_reachable_is_known_of_every_target(eight, change, monkeypatch):
    """Also of targets that need not be covered, or were not looked at for the proof."""
    kit = kit_of(eight.paints)
    labs = some_targets(kit, 40, 11)
    labs = np.vstack([labs, labs[:1] + 1e-9, [[60.0, 120, 0]]])
    if "weights" in change:
        change = {"weights": [1.0] * 40 + [0.0] * 2}
    monkeypatch.setattr(mixlab.palette.fewest, "MERGED", change.pop("MERGED", 1.5))
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
    labs = some_targets(kit, 30, 8)
    monkeypatch.setattr(mixlab.palette.fewest, "MERGED", 0.0)
    every = fewest_tubes(labs, eight, sets=999)
    monkeypatch.setattr(mixlab.palette.fewest, "MERGED", 12.0)
    some = fewest_tubes(labs, eight)
    assert some.looked_at < every.looked_at == 30
    assert (some.counted, some.lower_bound, some.proven) == (every.counted, every.counted, True)
    assert some.tubes in {one.tubes for one in every.sets}
    # a target that was not looked at, and is not reached, has been found out all the same
    assert np.array_equal(some.within_tolerance, some.in_reach)
    assert np.array_equal(some.in_reach, every.in_reach)
    share = fewest_tubes(labs, eight, share=0.8, sets=1)
    assert share.counted == every.trade_off(8).count[every.trade_off(8).share >= 0.8][0]
    assert share.share >= 0.8 - 1e-5


def test_light_and_observer_are_those_of_the_view(eight):
    view = viewing("A", "10")
    kit = kit_of(eight.paints, 2, view=view)
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


def test_the_trade_off_is_that_of_all_sets(found, scene, eight):
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
    assert list(curve.mean_miss) == sorted(curve.mean_miss)[::-1]


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


@pytest.fixture
def boxed(monkeypatch):
    """Make ten targets many."""
    monkeypatch.setattr(mixlab.palette.trade_off, "_FEW", 10)
    monkeypatch.setattr(mixlab.palette.trade_off, "_CHEAP", 0)


def test_of_many_targets_a_tube_more_never_covers_less(eight, boxed):
    kit = kit_of(eight.paints)
    for seed in (1, 2):
        labs = some_targets(kit, 40, seed)
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
    found = fewest_tubes(scene, eight, required=must)
    for curve in (trade_off(scene, eight, required=must), found.trade_off(8)):
        assert curve.count[0] == len(must)
        assert set(curve.sets[0]) == {eight[name].id for name in must}
        for i, count in enumerate(curve.count):
            best = max(
                (figures[:, kit.subsets.inside(np.array(tubes))].min(axis=1) <= 2).mean()
                for tubes in itertools.combinations(range(8), int(count))
                if set(needed) <= set(tubes)
            )
            assert curve.share[i] == pytest.approx(best)


def test_few_sets_are_compared_one_and_all_however_many_the_targets(eight, monkeypatch):
    monkeypatch.setattr(mixlab.palette.trade_off, "_FEW", 10)
    labs = some_targets(kit_of(eight.paints), 40, 1)
    assert trade_off(labs, eight, most=8).proven.all()


def test_fewer_tubes_than_are_needed_cover_less(eight, boxed):
    labs = some_targets(kit_of(eight.paints), 40, 1)
    answer = fewest_tubes(labs, eight, share=0.6)
    curve = answer.trade_off(8)
    fewer = curve.count < answer.counted
    assert fewer.any()
    assert (curve.bound[fewer] <= 0.6 + 1e-9).all()
    assert (curve.bound >= curve.share).all()


def test_a_set_that_was_proven_is_tried_for_the_trade_off(eight, boxed, monkeypatch):
    answer = fewest_tubes(some_targets(kit_of(eight.paints), 40, 1), eight, share=0.6)

    monkeypatch.setattr(
        mixlab.palette.trade_off._Chooser, "_filled", lambda self, start, n: np.arange(8) < n
    )
    monkeypatch.setattr(mixlab.palette.trade_off._Chooser, "_swapped", lambda self, chosen: chosen)
    curve = answer.trade_off(8)
    row = list(curve.count).index(answer.counted)
    assert set(curve.sets[row]) in [set(one.tubes) for one in answer.sets]
    assert curve.share[row] == max(one.share for one in answer.sets)
    assert curve.sets[0] == ("titanium-white",)


def test_a_trade_off_that_is_cut_short_keeps_what_was_done(scene, eight, monkeypatch):
    assert len(trade_off(scene, eight, time_limit=1e-9).count) == 0
    usual, whole = mixlab.palette.trade_off._Chooser.best, trade_off(scene, eight, most=5)
    assert whole.stopped == ""

    def stop(self, count):
        if count == 3:
            raise KeyboardInterrupt
        return usual(self, count)

    monkeypatch.setattr(mixlab.palette.trade_off._Chooser, "best", stop)
    curve = trade_off(scene, eight, most=5)
    assert curve.stopped == "Ctrl-C"
    assert list(curve.count) == [1, 2]
    assert curve.sets == whole.sets[:2]
    assert curve.share == pytest.approx(whole.share[:2])


# --- cut short ----------------------------------------------------------------------------------


def stop(*_, **__):
    raise KeyboardInterrupt


def test_when_the_time_is_over_the_bound_is_said(scene, eight, found):
    answer = fewest_tubes(scene, eight, time_limit=1e-6)
    assert answer.stopped == "time"
    assert not answer.proven
    assert 1 <= answer.lower_bound <= found.counted
    assert 1 <= answer.looked_at < len(scene)
    assert answer.within_tolerance.any()
    # what was not looked at is not taken for known
    looked_at = np.isin(np.arange(len(scene)), list(answer._problem.miss))
    assert np.array_equal(answer.in_reach_known, answer.within_tolerance | looked_at)
    assert not answer.in_reach_known.all()


@pytest.mark.parametrize("where", ["programme", "others", "ranking"])
def test_stopped_anywhere_what_was_found_is_left(where, scene, eight, found, monkeypatch):
    """Before a set is proven, while others as small are looked for, while they are ranked."""
    usual, stops = mixlab.palette.tube_sets._sensitivity, [KeyboardInterrupt]

    def once(problem, chosen):
        if stops:
            raise stops.pop()
        return usual(problem, chosen)

    stopped = {"programme": (HittingSet, "fewest", stop),
               "others": (mixlab.palette.fewest._Search, "_others", stop),
               "ranking": (mixlab.palette.tube_sets, "_sensitivity", once)}  # fmt: skip
    monkeypatch.setattr(*stopped[where])
    answer = fewest_tubes(scene, eight)
    assert answer.stopped == "Ctrl-C"
    assert answer.tubes
    assert answer.proof_has_margin is None
    assert answer.proven is (where != "programme")
    assert answer.complete is (where == "ranking")
    assert np.array_equal(answer.within_tolerance, found.within_tolerance)
    if where == "programme":
        assert answer.counted >= found.counted
        assert answer.lower_bound == 0
        half = fewest_tubes(scene, eight, share=0.5)
        assert half.share >= 0.5
        assert half.counted < answer.counted
    else:
        assert answer.counted == found.counted
    if where == "ranking":  # said twice, it is meant
        stops[:] = [KeyboardInterrupt, KeyboardInterrupt]
        with pytest.raises(KeyboardInterrupt):
            fewest_tubes(scene, eight)


def test_when_the_time_is_over_sets_are_ranked_as_far_as_there_is_time(scene, eight, monkeypatch):
    """The first at least, whatever the clock says."""
    whole = fewest_tubes(scene, eight, share=0.5)
    assert len(whole.sets) > 1
    monkeypatch.setattr(mixlab.palette.fewest, "clock", lambda seconds: lambda: -1.0)
    answer = fewest_tubes(scene, eight, share=0.5)
    assert len(answer.sets) == 1
    assert answer.counted == whole.counted
    assert answer.proof_has_margin is None


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
            list(each_done(refuse, [1], executor))
        assert list(each_done(lost_elsewhere, range(8), executor)) == [n**2 for n in range(8)]
        # the pool is broken by now, and takes no more: the work is done here
        assert list(each_done(square, [1, 2], executor)) == [1, 4]
    with processes(1) as executor:
        assert executor is None
        assert list(each_done(square, [1, 2], executor)) == [1, 4]
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
        ({"tolerance": "2"}, "tolerance of 2"),
        ({"tolerance": None}, "tolerance of None"),
        ({"labs": [[1e200, 0, 0]]}, "within 1000"),
        ({"tubes": [1]}, "a pigment table, a palette, or a list of paints"),
        ({"tubes": []}, "a pigment table, a palette, or a list of paints"),
        ({"tubes": None}, "a pigment table, a palette, or a list of paints"),
        ({"share": "all"}, "share of all"),
        ({"sets": 1.5}, "1.5 sets to list"),
        ({"time_limit": "long"}, "time limit of long"),
        ({"view": "D65"}, r"view 'D65': it must be as mixlab.viewing\('D65'\) gives it"),
        ({"share": 0}, "share of 0"),
        ({"share": 1.2}, "share of 1.2"),
        ({"weights": [1, 2]}, "weights must be 1"),
        ({"weights": [-1]}, "weights must be 1"),
        ({"weights": [0]}, "all zero"),
        ({"required": ["mud"]}, "no paint 'mud'"),
        ({"excluded": ["mud"]}, "no paint 'mud'"),
        ({"free": ["mud"]}, "no paint 'mud'"),
        ({"required": ["PW6"], "excluded": ["titanium-white"]}, "both required and excluded"),
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
    with pytest.raises(ReachError, match="titanium-white is among the tubes twice"):
        fewest_tubes(scene, [eight.paints[0], eight.paints[1], eight.paints[0]])


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
    asked = mixlab.palette.problem.problem_of(labs, eight, 2.0, 3, weights, None, None)
    rows, weight = mixlab.palette.problem.heaviest(asked, 5.0, 10)
    assert list(rows) == [4, 1, 2]
    assert weight == pytest.approx([0.4, 0.4, 0.2])
    rows, weight = mixlab.palette.problem.heaviest(asked, 0.0, 10)
    assert list(rows) == [4, 1, 2, 0]
    assert len(mixlab.palette.problem.heaviest(asked, 1.0, 1)[0]) == 1


def test_a_catalogue_can_be_too_large_or_empty(eight, monkeypatch):
    with pytest.raises(ReachError, match="every tube is excluded"):
        fewest_tubes([[50, 0, 0]], eight, excluded=eight.ids)
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
def asked(tmp_path, eight):
    """Four colours, one of them out of reach, and a table of eight tubes."""
    colours, tubes = tmp_path / "colours.csv", tmp_path / "eight.csv"
    colours.write_text(LIST, encoding="utf-8")
    mixlab.write_table(eight.paints, tubes)
    return ["fewest", "--targets", colours, "--table", tubes, "--only"]


def said(ran):
    assert (ran.status, ran.err) == (0, "")
    return " ".join(ran.out.split())


def test_the_command_says_what_was_proven(run, asked, tmp_path, eight):
    plot, rows, own = tmp_path / "curve.png", tmp_path / "rows.csv", tmp_path / "own.toml"
    own.write_text(f'name = "Own"\npaints = {json.dumps(eight.ids[:6])}\n')
    ran = run(*asked, "--palette", own, "--plot", plot, "--csv", rows)
    text = said(ran)
    assert "no fewer will do" in text
    assert "Out of reach of all the tubes, 3 in a mix: 1 colour sign" in text
    assert "The next tube for this palette" in text
    assert "lemon-yellow" in text[text.index("The next tube") :]
    assert all(len(line) <= 80 for line in ran.out.splitlines() if str(tmp_path) not in line)
    assert plot.read_bytes().startswith(b"\x89PNG")
    lines = rows.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("name,weight,L,a,b,C,h,munsell,")
    assert ",in_reach,within_tolerance,miss,shares,recipe_mix,recipe_miss,light," in lines[0]
    assert len(lines) == 5
    last = list(csv.DictReader(lines))[3]
    assert (last["in_reach"], last["within_tolerance"]) == ("False", "False")


def test_the_command_as_json_is_what_python_has(run, asked, eight):
    made = json.loads(run(*asked, "--json", "--free-white", "--share", 60).out)
    colours = mixlab.targets.many.from_list(asked[2])
    tubes = mixlab.read_table(asked[4])
    answer = fewest_tubes(colours.lab, tubes, share=0.6, weights=colours.weight,
                          free=["titanium-white"])  # fmt: skip
    assert made["paint_ids"] == list(answer.tubes)
    assert made["proven"] is True
    assert made["counted"] == made["lower_bound"] == answer.counted
    assert [c["miss"] for c in made["colours"]] == pytest.approx(answer.miss, abs=1e-4)
    assert [c["in_reach"] for c in made["colours"]][-1] is False
    assert made["trade_off"][0]["tubes"] == 1
    assert made["next"] == []
    fewer = json.loads(run(*asked, "--json", "--free-white", "--share", 60, "--sets", 1).out)
    assert fewer["sets"] == made["sets"][:1] != made["sets"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--with", "mud"], "no paint 'mud'"),
        (["--share", 0], "--share 0: write per cent of the weight, as 95, up to 100"),
        (["--share", 101], "--share 101: write per cent"),
        (["--share", 0.95], "--share 0.95: write per cent"),
        (["--share", "nan"], "--share nan: write per cent"),
        (["--sets", 0], "0 sets to list: it must be 1 to 1000"),
        (["--without", "mud"], "no paint 'mud'"),
        (["--tubes", 5], "1 to 4"),
        (["--jobs", 0], "0 processes"),
        (["--scheduler", "nowhere"], "no scheduler answers"),
        (["--time-limit", 0], "time limit of 0"),
    ],
)
def test_the_command_refuses_in_one_line(run, asked, words, says):
    ran = run(*asked, *words)
    assert ran.status == 2
    assert ran.out == ""
    assert says in ran.err
    assert ran.err.count("\n") == 1


def test_without_colours_there_is_nothing_to_find(run):
    ran = run("fewest")
    assert ran.status == 2
    assert "colours are needed; give one of --targets" in ran.err


def test_the_curve_keeps_to_the_time_limit(run, asked, tmp_path, monkeypatch):
    plot = tmp_path / "late.png"
    monkeypatch.setattr("mixlab.palette.selection.clock", lambda seconds: lambda: -1.0)
    ran = run(*asked, "--plot", plot, "--time-limit", 1000)
    assert ran.status == 0
    assert "is not drawn: the search took all of the time limit" in ran.err
    assert not plot.exists()
    assert "Proven" in ran.out
    assert "What so many tubes do at best" not in ran.out
    # the time is over once the curve is there: no further tubes are tried
    left = iter([1000.0, 1000.0, -1.0])
    monkeypatch.setattr("mixlab.palette.selection.clock", lambda seconds: lambda: next(left))
    ran = run(*asked[:3], "--palette", "kiln-earths", "--plot", plot, "--time-limit", 1000)
    assert (ran.status, ran.err) == (0, "")
    assert plot.exists()
    assert "What so many tubes do at best" in ran.out
    assert "The next tube" not in ran.out


@pytest.mark.parametrize("where", [
    (mixlab.palette.fewest._Search, "_others"), (mixlab.palette.tube_sets.Fewest, "trade_off"),
])  # fmt: skip
def test_ctrl_c_leaves_what_was_found(run, asked, tmp_path, where, monkeypatch):
    monkeypatch.setattr(*where, stop)
    plot, rows = tmp_path / "curve.png", tmp_path / "rows.csv"
    ran = run(*asked, "--plot", plot, "--csv", rows)
    assert ran.status == 130
    assert "is not drawn: the search was cut short" in ran.err
    assert not plot.exists()
    assert rows.exists()
    assert ("Stopped." in ran.out) is (where[1] == "_others")
    assert "Proven" in ran.out
    assert json.loads(run(*asked, "--json").out)["paint_ids"]


def test_cut_short_what_is_not_known_stays_open(run, asked, tmp_path, monkeypatch):
    rows = tmp_path / "rows.csv"
    asked[2].write_text(LIST.replace("sign,#ff00ff,1", "sign,#ff00ff,3") + "lamp,#00ff00,0.5\n")
    usual = mixlab.palette.problem.Problem.look_at

    def look_at(self, some):
        usual(self, some[:3])
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(mixlab.palette.problem.Problem, "look_at", look_at)
        ran = run(*asked, "--csv", rows, "--json")
    assert ran.status == 130
    made = json.loads(ran.out)
    assert made["stopped"] == "Ctrl-C"
    assert made["proof_has_margin"] is None
    known = [colour["in_reach"] for colour in made["colours"]]
    assert None in known
    whole = [colour["in_reach"] for colour in json.loads(run(*asked, "--json").out)["colours"]]
    assert all(mine in (None, true) for mine, true in zip(known, whole, strict=True))
    assert {True, False} <= set(known)
    lines = csv.DictReader(rows.read_text(encoding="utf-8").splitlines())
    assert [line["in_reach"] for line in lines] == ["" if t is None else str(t) for t in known]


def test_the_picture_shows_the_curve_and_names_the_sets(found, table):
    from matplotlib.colors import to_hex

    curve = found.trade_off(6)
    figure = draw(found, curve, table)
    covered, missed, sets = figure.axes
    assert covered.lines[0].get_ydata() == pytest.approx(100 * curve.share)
    assert missed.lines[0].get_ydata() == pytest.approx(curve.mean_miss)
    assert "no fewer will do" in covered.get_legend().get_texts()[0].get_text()
    words = [" ".join(text.get_text().split()) for text in sets.texts]
    for before, ids in pairwise(((), *curve.sets)):
        for id in set(ids) - set(before):
            assert any(f"+ {id}" in word for word in words)
    patches = [patch for patch in sets.patches if to_hex(patch.get_facecolor()) != SURROUND]
    assert len(patches) == sum(map(len, curve.sets))
    at = enough(curve)
    shaded = [patch for patch in covered.patches if patch.get_width() > 0.4]
    assert bool(shaded) == (at is not None)
    if at is not None:
        assert curve.share[list(curve.count).index(at)] >= curve.share[-1] - 0.005


def test_where_every_tube_is_free_there_is_no_curve(run, asked, tmp_path, table):
    asked[2].write_text("hex\n#fcfcfa\n")
    mixlab.write_table([table["titanium-white"], table["zinc-white"]], asked[4])
    ran = run(*asked, "--free-white", "--tolerance", "5", "--json")
    assert (ran.status, ran.err) == (0, "")
    assert json.loads(ran.out)["counted"] == 0


def test_a_share_beyond_reach_is_said(run, asked):
    text = said(run(*asked, "--share", 95))
    assert "of the weight, 100% of what can be reached at all (95.0% was asked; all the" in text
    assert "tubes reach 80.0%, so it is counted against that), to 2 CIEDE2000; no fewer" in text
    text = said(run(*asked, "--share", 60))
    assert "can be reached" not in text
    assert "of the weight (60.0% was asked), to 2 CIEDE2000; no fewer will do" in text
    text = said(run(*asked, "--share", 60, "--free-white"))
    assert "Mean misses that fall in the same step of 0.05 count as alike" in text


def test_what_counts_nothing_is_not_said_to_be_covered(run, asked, tmp_path):
    asked[2].write_text("hex,weight\n#fafafa,1\n#9a4b32,0\n#102060,0\n")
    assert "for every colour that counts" in said(run(*asked))
    asked[2].write_text("hex\n#ff00ff\n")
    assert "None of the colours can be mixed to 2 CIEDE2000." in said(run(*asked, "--with", "PW6"))
    rows = tmp_path / "rows.csv"
    ran = run(*asked, "--csv", rows)
    assert ran.status == 0
    assert "is not written: no set of tubes was found" in ran.err
    assert not rows.exists()


@pytest.fixture
def picture(tmp_path):
    """A small picture of brick, sky and grass, with some noise."""
    from PIL import Image

    random = np.random.default_rng(1)
    pixels = np.empty((12, 18, 3))
    pixels[:4], pixels[4:8], pixels[8:] = (185, 199, 210), (154, 75, 50), (108, 115, 56)
    pixels += random.normal(0, 14, pixels.shape)
    Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).save(tmp_path / "wall.png")
    return tmp_path / "wall.png"


def test_of_a_picture_it_is_said_what_was_proven(run, asked, picture, monkeypatch):
    """The proof is for the means of boxes; the picture's own colours are counted besides."""
    monkeypatch.setattr("mixlab.palette.selection._MEANS", (16, 16))
    monkeypatch.setattr(mixlab.palette.trade_off, "_FEW", 10)
    monkeypatch.setattr(mixlab.palette.trade_off, "_CHEAP", 0)
    words = ["fewest", "--photo", picture, *asked[3:], "--share", 50, "--key", "none"]
    made = json.loads(run(*words, "--json").out)
    fine = mixlab.targets.many.from_picture(picture)
    boxes = made["merged"]
    assert boxes["colour_count"] == len(fine) > 60
    assert len(made["colours"]) <= 16
    assert 0.5 < boxes["mean_off"] < boxes["greatest_off"]
    paints = mixlab.read_table(asked[4]).palette(made["paint_ids"]).paints
    within = misses((kit_of(paints), fine.lab)).min(axis=1) <= 2
    assert boxes["share"] == pytest.approx(fine.weight[within].sum(), abs=0.01)
    assert boxes["share"] != pytest.approx(made["share"], abs=1e-4)
    text = said(run(*words))
    assert "What so many tubes do: the best sets found, and what none exceeds" in text
    assert f"the {len(fine)} that an eye tells apart lie {boxes['mean_off']:.1f} CIEDE2000" in text
    assert f"the set has {percent(boxes['share'])} of the area within 2" in text


def test_a_grey_place_takes_the_cast_out_of_a_picture(run, asked, tmp_path):
    from PIL import Image

    pixels = np.full((20, 20, 3), (200, 180, 150), dtype=np.uint8)  # a grey card in warm light
    pixels[10:] = (120, 60, 40)
    Image.fromarray(pixels).save(tmp_path / "warm.png")
    ran = run("fewest", "--photo", tmp_path / "warm.png", "--grey", "5,5", *asked[3:], "--json",
              "--key", "none")  # fmt: skip
    labs = np.array([colour["lab"] for colour in json.loads(ran.out)["colours"]])
    # L* of a luminous reflectance of 0.18 is 49.5
    assert np.abs(labs - [49.496, 0, 0]).max(axis=1).min() < 0.01
    assert len(labs) == 2


def test_tubes_for_colours_without_anybody_who_is_told_of_progress():
    view = viewing()
    few = mixlab.read_table().palette(["titanium-white", "burnt-sienna", "ultramarine-blue"])
    tints = [few.mix({"titanium-white": 4, id: 1}).lab for id in few.ids]
    made = select_tubes(Colours.of("tints", tints, view), few, max_tubes=2)
    assert list(made.found.tubes) == few.ids and not made.stopped
