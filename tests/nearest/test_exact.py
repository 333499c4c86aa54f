import itertools

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.spaces import viewing
from mixlab.nearest.exact import Search, difference_slopes
from mixlab.nearest.medium import Medium, medium_of
from mixlab.nearest.sets import all_subsets, subsets_of

PALETTE = mixlab.read_palette("mill-pond")
MEDIUM = Medium(PALETTE.K, PALETTE.S, PALETTE.paints[0].surface, viewing())


@pytest.fixture(scope="module")
def search():
    return Search(MEDIUM, all_subsets(len(PALETTE), 4))


def mixes(n, seed, spread=0.4):
    return np.random.default_rng(seed).dirichlet(np.full(len(PALETTE), spread), n)


def test_medium_agrees_with_mixture():
    parts = {"titanium-white": 3.0, "ultramarine-blue": 1.0, "burnt-sienna": 0.5}
    shares = [parts.get(id, 0.0) for id in PALETTE.ids]
    np.testing.assert_allclose(MEDIUM.lab(shares), PALETTE.mix(parts).lab, atol=1e-9)


def test_slopes_of_lab_by_share_are_those_of_finite_differences():
    shares = mixes(6, seed=1)
    lab, slopes = MEDIUM.lab_slopes(shares)
    np.testing.assert_allclose(lab, MEDIUM.lab(shares), atol=1e-9)
    h = 1e-6
    for paint in range(len(PALETTE)):
        nudge = h * np.eye(len(PALETTE))[paint]
        numeric = (MEDIUM.lab(shares + nudge) - MEDIUM.lab(shares - nudge)) / (2 * h)
        np.testing.assert_allclose(slopes[:, :, paint], numeric, rtol=1e-4, atol=1e-4)
    # more of everything is the same mix
    np.testing.assert_allclose(np.einsum("ncp,np->nc", slopes, shares), 0, atol=1e-8)


def test_slopes_of_the_difference_are_those_of_finite_differences():
    rng = np.random.default_rng(2)
    lab = rng.uniform([20, -40, -40], [90, 40, 40], (20, 3))
    target = np.array([50.0, 10.0, -20.0])
    off, slopes = difference_slopes(target, lab)
    np.testing.assert_allclose(off, difference(target, lab))
    h = 1e-4
    for i in range(3):
        nudge = h * np.eye(3)[i]
        up, down = (difference(target, lab + s * nudge) for s in (1, -1))
        np.testing.assert_allclose(slopes[:, :, i], (up - down) / (2 * h), atol=1e-4)


def test_subsets_hold_what_must_be_used():
    assert len(subsets_of(12, 4)) == 495
    assert [len(s) for s in all_subsets(12, 4)] == [12, 66, 220, 495]
    holding = subsets_of(7, 3, required=[2, 5])
    assert len(holding) == 5 and all({2, 5} <= set(row) for row in holding)


def test_every_subset_finds_its_own_mix(search):
    # the target is a mix of the subset: its miss must vanish
    for seed, size in itertools.product(range(8), (2, 3, 4)):
        rng = np.random.default_rng([seed, size])
        subset = np.sort(rng.choice(len(PALETTE), size, replace=False))
        shares = np.zeros(len(PALETTE))
        shares[subset] = rng.dirichlet(np.ones(size))
        found = search.solve(MEDIUM.lab(shares))[size - 1]
        row = np.flatnonzero((found.subsets == subset).all(axis=1))[0]
        assert found.miss[row] < 0.05, (subset, shares[subset])


def test_shares_and_miss_belong_together(search):
    target = np.array([45.0, 15.0, 20.0])
    for found in search.solve(target):
        full = np.zeros((len(found.subsets), len(PALETTE)))
        np.put_along_axis(full, found.subsets, found.shares, axis=1)
        np.testing.assert_allclose(found.shares.sum(axis=1), 1)
        np.testing.assert_allclose(ciede2000(target, MEDIUM.lab(full)), found.miss, atol=1e-9)


@pytest.mark.parametrize("palette, finish", [("mill-pond", "gloss"), ("warm-and-cool", "matt")])
def test_what_is_of_interest_is_found_as_by_the_whole_search(palette, finish):
    palette, view = mixlab.read_palette(palette), viewing(finish=finish)
    medium = medium_of(palette, view)
    search, rng = Search(medium, all_subsets(len(palette), 4)), np.random.default_rng(21)
    near = medium.lab(rng.dirichlet(np.full(len(palette), 0.4), 12)) + rng.normal(0, 2, (12, 3))
    for target in [*near, *rng.uniform([10, -70, -70], [95, 70, 70], (6, 3))]:
        whole = search.solve(target)
        for one, two in zip(whole, search.solve(target, within=2.0, above=-np.inf), strict=True):
            np.testing.assert_array_equal(one.miss <= 2, two.miss <= 2)
            np.testing.assert_allclose(two.miss[one.miss <= 2], one.miss[one.miss <= 2], atol=2e-3)
        for one, two in zip(whole, search.solve(target, within=2.0, above=1.0), strict=True):
            assert two.miss.min() <= one.miss.min() + 2e-3
        only = search.solve(target, within=2.0, above=-np.inf, sizes=slice(2, 3))
        assert len(only) == 1 and only[0].subsets.shape[1] == 3


def test_polish_only_ever_comes_nearer(search):
    for target in ([45, 15, 20], [80, 60, -60], [20, 0, 0], [60, -30, 30]):
        for found in search.solve(target):
            best = found.miss.argmin()
            end = search.polish(target, [(found.subsets[[best]], found.shares[[best]])])[0]
            assert end.miss[0] <= found.miss[best] + 1e-12
            assert end.shares.sum() == pytest.approx(1) and (end.shares >= 0).all()


def test_the_same_answer_every_time(search):
    again = Search(MEDIUM, all_subsets(len(PALETTE), 4))
    for one, two in zip(search.solve([52, 8, 30]), again.solve([52, 8, 30]), strict=True):
        np.testing.assert_array_equal(one.shares, two.shares)
        np.testing.assert_array_equal(one.miss, two.miss)


def test_no_whole_part_mix_beats_the_search(search):
    lattice = mixlab.nearest.whole.Lattice(MEDIUM)
    rng = np.random.default_rng(7)
    targets = np.vstack([
        MEDIUM.lab(mixes(20, seed=3)) + rng.normal(0, 2, (20, 3)),
        rng.uniform([10, -70, -70], [95, 70, 70], (30, 3)),
    ])  # fmt: skip
    for target in targets:
        exact = np.minimum.accumulate([search.best(target, f)[2] for f in search.solve(target)])
        whole = np.minimum.accumulate(
            [ciede2000(target, lattice.lab(n)).min() for n in (1, 2, 3, 4)]
        )
        assert (exact <= whole + 0.02).all(), target
