"""The integer programme of the fewest tubes."""

import numpy as np
import pytest

from mixlab.palette.programme import HittingSet
from tests.palette.cases import all_choices


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


@pytest.mark.parametrize("seed", range(12))
def test_the_programme_equals_all_choices_compared(seed):
    random = np.random.default_rng(seed)
    cover = random_cover(random)
    wanted = cover.weight * random.choice([1.0, 0.9, 0.6])
    fits = [c for c in all_choices(cover.tubes) if not (cover.required & ~c).any()]
    counts = [int((c & ~cover.free).sum()) for c in fits]
    does = [n for c, n in zip(fits, counts, strict=True) if cover.share(c) >= wanted - 1e-9]
    end = cover.fewest(wanted)
    assert end.done
    assert end.bound == min(does)
    assert (end.tubes & ~cover.free).sum() == min(does)
    assert cover.share(end.tubes) >= wanted - 1e-9
    for count in range(int((cover.required & ~cover.free).sum()), cover.tubes):
        best = max(cover.share(c) for c, n in zip(fits, counts, strict=True) if n <= count)
        end = cover.most(count)
        assert cover.share(end.tubes) == pytest.approx(best, abs=1e-9)
        assert end.bound == pytest.approx(best, abs=5e-6)


@pytest.mark.parametrize("seed", range(40, 50))
def test_all_choices_of_the_fewest_are_found(seed):
    cover = random_cover(np.random.default_rng(seed))
    count = int(cover.fewest(cover.weight).bound)
    does = {
        (c & ~cover.free).tobytes()
        for c in all_choices(cover.tubes)
        if not (cover.required & ~c).any()
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
            assert not (cover.required & ~chosen).any()
            assert (chosen & ~cover.free).sum() >= cover.fewest(wanted).bound
            # nothing in it is idle
            for tube in np.flatnonzero(chosen & ~cover.required):
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
