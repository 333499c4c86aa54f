import math

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000, uniform
from mixlab.colour.spaces import rgb_to_lab, viewing
from mixlab.nearest.medium import Medium
from mixlab.nearest.sets import compositions, size
from mixlab.nearest.whole import STRAIGHT, Lattice

PALETTE = mixlab.read_palette("mill-pond")
MEDIUM = Medium(PALETTE.K, PALETTE.S, PALETTE.paints[0].surface, viewing())


@pytest.fixture(scope="module")
def lattice():
    return Lattice(MEDIUM)


def test_compositions_are_all_there_once_without_common_factor():
    ways = compositions(3, 12)
    by_hand = {
        (a, b, c)
        for a in range(1, 13) for b in range(1, 13) for c in range(1, 13)
        if a + b + c <= 12 and math.gcd(a, b, c) == 1
    }  # fmt: skip
    assert {tuple(map(int, way)) for way in ways} == by_hand
    assert len(ways) == len(by_hand)
    assert (np.diff(ways.sum(axis=1)) >= 0).all()
    assert compositions(1, 12).tolist() == [[1]]
    assert len(compositions(4, 3)) == 0


def test_a_lattice_holds_every_whole_part_mix(lattice):
    # 7 tubes: 7 + 21 * 45 + 35 * (ways of three) + 35 * (ways of four)
    counts = [len(lattice.lab(n)) for n in (1, 2, 3, 4)]
    assert counts == [7, 21 * len(compositions(2, 12)), 35 * len(compositions(3, 12)),
                      35 * len(compositions(4, 12))]  # fmt: skip
    assert len(lattice) == sum(counts) <= size(7, 12, 4)


def test_parts_and_colour_belong_together(lattice):
    for tubes in (1, 2, 3, 4):
        index = np.linspace(0, len(lattice.lab(tubes)) - 1, 40).astype(int)
        parts = lattice.parts(tubes, index)
        assert ((parts > 0).sum(axis=1) == tubes).all()
        assert parts.sum(axis=1).max() <= 12
        np.testing.assert_allclose(MEDIUM.lab(parts), lattice.lab(tubes)[index], atol=1e-9)


def test_every_mix_is_its_own_nearest(lattice):
    for tubes in (1, 2, 3, 4):
        labs = lattice.lab(tubes)[::97]
        index, miss = lattice.nearest(labs, tubes)
        assert miss.max() < 1e-9
        np.testing.assert_allclose(lattice.lab(tubes)[index], labs, atol=1e-9)


def test_the_nearest_is_the_nearest_within_reach(lattice):
    rng = np.random.default_rng(4)
    shares = rng.dirichlet(np.full(len(PALETTE), 0.5), 300)
    labs = MEDIUM.lab(shares) + rng.normal(0, 1.5, (300, 3))
    for tubes in (2, 3, 4):
        _, miss = lattice.nearest(labs, tubes)
        least = np.array([ciede2000(lab, lattice.lab(tubes)).min() for lab in labs])
        near = least < 2
        excess = (miss - least)[near]
        assert near.sum() > 10
        assert (excess >= -1e-12).all()
        assert (excess < 1e-9).mean() >= 0.97
        assert excess.mean() < 0.005 and excess.max() < 0.5


def of_all(lattice):
    return np.vstack([lattice.lab(n) for n in range(1, lattice.tubes + 1)])


@pytest.mark.parametrize("name", ["studio", "mill-pond", "kiln-earths"])
def test_the_nearest_is_the_nearest_out_of_reach(name):
    # brute force; blues and violets among the colours, where no even coordinates know the way
    palette = mixlab.read_palette(name)
    medium = Medium(palette.K, palette.S, palette.paints[0].surface, viewing())
    lattice = Lattice(medium, total=8)
    every = of_all(lattice)
    rng = np.random.default_rng(8)
    rgb = rng.random((120, 3))
    rgb[:40] = rgb[:40] * [0.4, 0.4, 0.3] + [0, 0, 0.7]
    labs = rgb_to_lab(rgb, viewing())
    least = np.array([ciede2000(lab, every).min() for lab in labs])
    tubes, index, miss = lattice.nearest_of_all(labs)
    mixes = [lattice.lab(t)[i] for t, i in zip(tubes, index, strict=True)]
    np.testing.assert_allclose(ciede2000(labs, mixes), miss, atol=1e-9)
    excess = (miss - least)[least > 2]
    assert len(excess) > 60
    assert excess.min() > -1e-9
    assert (excess < 1e-9).mean() > 0.9
    assert excess.mean() < 0.05 and excess.max() < 2.5
    # by number of tubes as well
    for count in (2, 3):
        least = np.array([ciede2000(lab, lattice.lab(count)).min() for lab in labs])
        assert (lattice.nearest(labs, count)[1] - least).mean() < 0.05


def test_the_answer_does_not_depend_on_the_company(lattice):
    rng = np.random.default_rng(9)
    labs = rgb_to_lab(rng.random((9000, 3)), viewing())
    tubes, index, miss = lattice.nearest_of_all(labs)
    some = rng.permutation(9000)[:50]
    alone = lattice.nearest_of_all(labs[some])
    assert (alone[0] == tubes[some]).all() and (alone[1] == index[some]).all()
    assert (alone[2] == miss[some]).all()


def test_no_colour_within_a_miss_is_farther_than_the_straight_bound():
    # what near() leaves out cannot be within reach
    rng = np.random.default_rng(10)
    labs = rgb_to_lab(rng.random((200_000, 3)) ** 2.2, viewing())
    there = labs + rng.normal(0, 1.5, labs.shape)
    straight = np.linalg.norm(uniform(labs) - uniform(there), axis=1)
    assert (straight <= STRAIGHT * ciede2000(labs, there)).all()


def test_near_says_where_nothing_can_be_within(lattice):
    labs = [[50, 0, 0], [30, 60, -110]]
    index, miss = lattice.near(labs, 4, within=2.0)
    assert miss[0] < 2 and miss[1] == np.inf
    assert index[0] == lattice.nearest(labs, 4)[0][0]


def test_small_palettes_and_totals():
    two = Medium(PALETTE.K[:2], PALETTE.S[:2], PALETTE.paints[0].surface, viewing())
    small = Lattice(two, total=3, tubes=4)
    assert small.tubes == 2
    assert len(small) == 2 + 3  # two masstones, 1:1, 1:2, 2:1
    one = Lattice(two, total=1, tubes=4)
    assert one.tubes == 1
    index, miss = one.nearest([[50, 0, 0]], 1)
    assert index.shape == miss.shape == (1,)
