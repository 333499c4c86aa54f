"""Two steps where one would take a trace, against every way there is."""

import itertools
from functools import cache

import numpy as np
import pytest

import mixlab
from mixlab.mixing.recipes import find_recipe
from mixlab.mixing.two_steps import STEP, thinnest, ways
from mixlab.nearest.medium import medium_of
from mixlab.paint.mixtures import SLIP
from mixlab.targets.one import from_hex, from_munsell

TABLE = mixlab.read_table()
FOUR = TABLE.palette(["titanium-white", "ultramarine-blue", "burnt-sienna", "yellow-ochre"])
STUDIO = mixlab.read_palette("studio", TABLE)


def test_a_step_takes_no_more_than_a_knife_measures():
    for tubes in (2, 3, 4):
        of = ways(tubes)
        assert (of.first.sum(axis=1) <= STEP).all() and (of.then.sum(axis=1) <= STEP).all()
        assert ((of.first > 0).sum(axis=1) >= 2).all() and (of.then[:, 0] >= 1).all()
        assert np.allclose(of.shares.sum(axis=1), 1) and (of.shares > 0).all()


@cache
def every_colour(tubes):
    """The colours (n, 3) of all ways of so many of the four paints, subset by subset."""
    medium, of = medium_of(FOUR, mixlab.viewing()), ways(tubes)
    found = []
    for subset in itertools.combinations(range(4), tubes):
        amounts = np.zeros((len(of.shares), 4))
        amounts[:, subset] = of.shares
        found.append(medium.lab(amounts))
    return found


def least_of_all(lab, tubes, tolerance):
    """Additions and parts of the simplest of all ways of so many of the four paints."""
    of, found = ways(tubes), []
    for labs in every_colour(tubes):
        # SL of CIEDE2000 is at most 1.75: what lies farther apart in lightness is farther apart
        near = np.flatnonzero(np.abs(labs[:, 0] - lab[0]) <= 1.75 * tolerance)
        hits = near[mixlab.ciede2000(lab, labs[near]) <= tolerance]
        parts = of.first[hits].sum(axis=1) + of.then[hits].sum(axis=1)
        found += zip(of.additions[hits].tolist(), parts.tolist(), strict=True)
    return min(found, default=None)


def test_no_way_of_two_steps_is_simpler():
    rng, seen = np.random.default_rng(1), 0
    for _ in range(16):
        traces = rng.choice([1, 2, 3], rng.integers(1, 3), replace=False)
        amounts = np.array([1.0, 0, 0, 0])
        amounts[traces] = np.exp(rng.uniform(np.log(0.004), np.log(0.05), len(traces)))
        lab = medium_of(FOUR, mixlab.viewing()).lab(amounts)
        recipe = find_recipe(lab, FOUR, tolerance=1.0).recipe
        way = recipe.two_steps
        thin = way is not None and max(sum(m.amounts) for m in (way.first, way.second)) > STEP
        if recipe.miss > 1.0 or thin:
            # a mere hint, for which no way is thin enough
            assert not any(least_of_all(lab, tubes, 1.0) for tubes in (2, 3))
            continue
        if way is not None:
            parts = sum(way.first.amounts) + way.taken + sum(way.parts)
            additions = len(way.first.paints) + len(way.added)
            assert (additions, parts) == least_of_all(lab, recipe.tubes, 1.0)
            seen += 1
    assert seen > 8


@pytest.mark.parametrize(("given", "read"), [
    ("dce4e8", from_hex), ("5PB 9/2", from_munsell), ("ece7dc", from_hex),
])  # fmt: skip
@pytest.mark.parametrize("name", ["studio", "mill-pond"])
def test_pale_skies_and_birch_bark_are_no_bare_white(name, given, read):
    answer = find_recipe(read(given, mixlab.viewing()).lab, mixlab.read_palette(name, TABLE))
    assert answer.recipe.miss <= 2.5 and answer.recipe.tubes > 1
    for step in [answer.recipe.two_steps.first, answer.recipe.two_steps.second]:
        assert max(step.amounts) <= 20 * min(step.amounts)


def test_a_hint_of_one_paint_comes_before_more_tubes():
    """Of pale whites: where any hint of one paint in white holds, it is no mix of three."""
    rng, of, medium = np.random.default_rng(4), thinnest(2), medium_of(STUDIO, mixlab.viewing())
    seen = 0
    white = STUDIO.ids.index("titanium-white")
    amounts = np.zeros((len(STUDIO), len(of.shares), len(STUDIO)))
    for other in range(len(STUDIO)):
        amounts[other, :, other] = of.shares[:, 0]
        amounts[other, :, white] = of.shares[:, 1]
    hints = medium.lab(np.delete(amounts, white, axis=0))
    pale = rng.uniform([90, -4, -9], [96, 3, 6], (24, 3))
    for lab in [[93.1, -0.8, -4.7], *pale]:
        if (mixlab.ciede2000(lab, hints) <= 1.9).any():
            assert find_recipe(lab, STUDIO).recipe.tubes <= 2
            seen += 1
    assert seen > 5


def test_a_trace_that_gains_nothing_is_no_recipe():
    """A white that is a little violet takes one part of magenta in 5,000; black is no help."""
    answer = find_recipe([97.55, 1.24, -2.29], STUDIO)
    assert answer.in_reach and answer.recipe.parts == {"titanium-white": 1}
    assert 2 < answer.recipe.miss < 4 and min(count.miss for count in answer.by_count) < 1


def test_both_steps_come_to_the_mix():
    answer = find_recipe(from_hex("dce4e8", mixlab.viewing()).lab, STUDIO)
    recipe, way = answer.recipe, answer.recipe.two_steps
    assert str(recipe) == str(way) and str(way).startswith("first ") and " of that + " in str(way)
    np.testing.assert_allclose(way.second.lab, recipe.lab, atol=1e-9)
    np.testing.assert_allclose(way.whole().lab, recipe.lab, atol=1e-9)
    np.testing.assert_allclose(recipe.steps[-1].lab, recipe.lab, atol=1e-9)
    # a quarter part in the first step, by hand
    for id, n in way.first.parts.items():
        others = {other: m for other, m in way.first.parts.items() if other != id}
        more = {id: n + SLIP, **others}
        pile = {i: way.taken * m / sum(more.values()) for i, m in more.items()}
        for other, m in way.then.items():
            pile[other] = pile.get(other, 0) + m
        moved = float(mixlab.ciede2000(recipe.lab, STUDIO.mix(pile).lab))
        assert recipe.sensitivity.by_paint[id] >= moved - 1e-9


def test_a_tube_less_is_offered_where_the_table_cannot_tell():
    seen = 0
    for hex in ("8a6a50", "7a8a70", "4f3932", "a08060", "6f7f8f"):
        answer = find_recipe(from_hex(hex, mixlab.viewing()).lab, STUDIO)
        if (simpler := answer.simpler) is not None:
            if simpler.tubes == answer.recipe.tubes:
                continue
            assert simpler.tubes == answer.recipe.tubes - 1
            assert answer.recipe.miss < simpler.miss <= simpler.mixture.likely_error
            seen += 1
    assert seen


@pytest.mark.parametrize(
    ("wanted", "earths"),
    [("7.5YR 4/6", {"yellow-ochre", "burnt-umber"}),
     ("5PB 5.4/3.3", {"titanium-white", "ultramarine-blue", "bone-black"})],
)  # fmt: skip
def test_everyday_tubes_are_offered_where_the_table_cannot_tell(wanted, earths):
    # lemon yellow with a trace of sienna is nearer to a brown; a painter takes ochre and umber
    answer = find_recipe(from_munsell(wanted, mixlab.viewing()).lab, STUDIO)
    plain = answer.simpler
    assert set(plain.parts) == earths and len(earths) == answer.recipe.tubes
    assert answer.tolerance < plain.miss <= min(4, plain.mixture.likely_error)
    assert sum(paint.reserve for paint in answer.recipe.mixture.paints) > 0


def test_two_steps_are_told_as_two_piles(run):
    out = run("recipe", "85,-1,-8", "--palette", "studio").out
    assert out.index("\nFirst mix\n") < out.index("\nThen a fresh pile with 1 part of it\n")
