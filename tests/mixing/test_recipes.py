import itertools
import json
import pickle

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import lab_to_lch, lch_to_lab, viewing
from mixlab.errors import SearchError
from mixlab.mixing.adjust import adjust
from mixlab.mixing.recipes import find_recipe, find_recipes
from mixlab.nearest.whole import lattice_of
from mixlab.show.words import in_words

TABLE = mixlab.read_table()
STUDIO = mixlab.read_palette("studio", TABLE)
EARTHS = mixlab.read_palette("kiln-earths", TABLE)


def whole_part_mixes(n, seed):
    """Whole-part mixes of two or three of the twelve tubes."""
    rng = np.random.default_rng(seed)
    for _ in range(n):
        tubes = int(rng.integers(2, 4))
        ids = rng.choice(STUDIO.ids, tubes, replace=False)
        parts = rng.integers(1, 12 // tubes + 1, tubes)
        yield tubes, STUDIO.mix(dict(zip(ids, map(float, parts), strict=True)))


def test_never_more_tubes_than_a_mix_was_made_of():
    for tubes, mixture in whole_part_mixes(70, seed=20):
        answer = find_recipe(mixture.lab, STUDIO, tolerance=0.5, max_tubes=tubes + 1,
                             alternatives=0)  # fmt: skip
        assert answer.in_reach
        assert answer.in_few_parts.tubes <= tubes, str(mixture)
        assert answer.in_few_parts.miss <= 0.5
        assert answer.by_count[tubes - 1].miss < 0.05, str(mixture)


@pytest.mark.parametrize("lab", [[45, 15, 20], [30, 40, -75]])
def test_an_answer_that_was_stored_tells_what_it_would_have_told(lab):
    stored = pickle.loads(pickle.dumps(find_recipe(lab, STUDIO)))
    answer = find_recipe(lab, STUDIO)
    assert str(stored.recipe) == str(answer.recipe)
    assert stored.recipe.exact_shares == answer.recipe.exact_shares
    assert [one.shares for one in stored.by_count] == [one.shares for one in answer.by_count]
    assert [*map(str, stored.alternatives)] == [*map(str, answer.alternatives)]
    assert str(stored.simpler) == str(answer.simpler)
    assert (stored.out_of_reach is None) == (answer.out_of_reach is None) == answer.in_reach


def test_an_answer_holds_together():
    answer = find_recipe([45, 15, 20], STUDIO)
    assert answer.in_reach and answer.out_of_reach is None
    recipe = answer.in_few_parts
    assert recipe.miss <= answer.tolerance
    assert recipe.miss == pytest.approx(float(ciede2000([45, 15, 20], recipe.lab)))
    assert sum(recipe.parts.values()) <= 12
    assert recipe.exact_miss <= recipe.miss
    assert sum(recipe.exact_shares.values()) == pytest.approx(1)
    assert recipe.steps[-1].hex == recipe.mixture.hex
    misses = [count.miss for count in answer.by_count]
    assert misses == sorted(misses, reverse=True)
    assert [count.tubes for count in answer.by_count] == [1, 2, 3, 4]
    for count in answer.by_count:
        mixture = STUDIO.mix(count.shares)
        np.testing.assert_allclose(mixture.lab, count.lab, atol=1e-6)
        assert float(ciede2000([45, 15, 20], count.lab)) == pytest.approx(count.miss, abs=1e-6)
    # fewest tubes: no mix of fewer comes within the tolerance
    assert all(count.miss > answer.tolerance for count in answer.by_count[: recipe.tubes - 1])


def test_the_least_effort_within_the_tolerance():
    lattice = lattice_of(STUDIO, viewing(), 12, 4)
    for target in ([45, 15, 20], [60, 5, 30], [35, -10, 5], [65, 15, 25]):
        answer = find_recipe(target, STUDIO)
        tubes = answer.in_few_parts.tubes
        miss = ciede2000(target, lattice.lab(tubes))
        parts = lattice.parts(tubes, np.flatnonzero(miss <= 2.0))
        effort = parts.sum(axis=1) + (parts > 0) @ STUDIO.reserve
        own = answer.in_few_parts.parts
        assert sum(own.values()) + sum(STUDIO[id].reserve for id in own) == effort.min()
        # and no whole-part mix of fewer tubes would have done
        for fewer in range(1, tubes):
            assert ciede2000(target, lattice.lab(fewer)).min() > 2.0


def test_fewer_tubes_in_finer_parts_are_named():
    # thirteen parts: twelve cannot hold the three tubes to half a unit
    mixture = STUDIO.mix("3 bone-black + 8 yellow-ochre + 2 viridian")
    answer = find_recipe(mixture.lab, STUDIO, tolerance=0.5)
    assert answer.in_few_parts.miss <= 0.5 and answer.in_few_parts.tubes == 4
    assert answer.by_count[2].miss < 0.05
    assert answer.in_finer_parts.parts == {"yellow-ochre": 8, "viridian": 2, "bone-black": 3}
    whole = find_recipe(mixture.lab, STUDIO, tolerance=0.5, parts=13)
    assert whole.in_few_parts.parts == answer.in_finer_parts.parts and whole.in_finer_parts is None


def test_alternatives_use_other_tubes_and_hit():
    answer = find_recipe([45, 15, 20], STUDIO)
    sets = [frozenset(r.parts) for r in [answer.in_few_parts, *answer.alternatives]]
    assert len(answer.alternatives) == 3 and len(set(sets)) == 4
    for other in answer.alternatives:
        assert other.miss <= 2.0
        assert not set(answer.in_few_parts.parts) <= set(other.parts)
    assert len(find_recipe([45, 15, 20], STUDIO, alternatives=1).alternatives) == 1


def test_must_and_must_not():
    answer = find_recipe([45, 15, 20], STUDIO, must=["PB29"], must_not=["bone-black"])
    for recipe in [answer.in_few_parts, *answer.alternatives]:
        assert "ultramarine-blue" in recipe.parts
        assert "bone-black" not in recipe.parts
    for count in answer.by_count:
        assert "bone-black" not in count.shares
    forced = find_recipe([45, 15, 20], STUDIO, must=["viridian", "bone-black"])
    assert forced.by_count[0].tubes == 2
    assert {"viridian", "bone-black"} <= set(forced.in_few_parts.parts)


def test_fewer_tubes_allowed():
    answer = find_recipe([45, 15, 20], STUDIO, max_tubes=2)
    assert not answer.in_reach and len(answer.by_count) == 2
    assert answer.in_few_parts.tubes <= 2
    assert find_recipe([45, 15, 20], STUDIO, parts=5).in_few_parts.tubes <= 4


def test_five_and_six_tubes():
    for target in ([45, 15, 20], [60, -60, -60]):
        answer = find_recipe(target, STUDIO.table.palette(STUDIO.ids[:8]), max_tubes=6)
        four = find_recipe(target, STUDIO.table.palette(STUDIO.ids[:8]), max_tubes=4)
        assert len(answer.by_count) == 6
        assert answer.by_count[3].miss == pytest.approx(four.by_count[3].miss, abs=1e-6)
        assert answer.by_count[5].miss <= answer.by_count[3].miss
        assert answer.in_reach == four.in_reach


@pytest.mark.parametrize("parts", [1, 2, 3])
def test_hardly_any_parts(parts):
    for target in ([45, 15, 20], [80, 60, -60]):
        answer = find_recipe(target, STUDIO, parts=parts)
        assert sum(answer.in_few_parts.parts.values()) <= parts
        assert len(answer.by_count) == 4
        assert find_recipes([target], STUDIO, parts=parts).parts.sum() <= parts


def test_a_pale_colour_needs_finer_parts():
    pale = STUDIO.mix({"titanium-white": 60, "ultramarine-blue": 1}).lab
    answer = find_recipe(pale, STUDIO, tolerance=1.0)
    assert answer.in_reach and answer.by_count[1].miss < 0.05
    assert answer.in_few_parts.miss > 1.0
    assert answer.in_finer_parts is not None and answer.in_finer_parts.miss <= 1.0
    assert str(answer.recipe).startswith("first ")


def test_out_of_reach_is_said_with_direction_and_help():
    answer = find_recipe([45, -15, -30], EARTHS)
    out = answer.out_of_reach
    assert not answer.in_reach and out is not None
    assert out.miss == answer.by_count[-1].miss > 10
    assert out.directions[0] == "too high in chroma" and out.chroma > 20
    helper = out.helper
    assert helper.paint in TABLE.ids and helper.paint not in EARTHS.ids
    assert helper.paint in helper.mixture.parts
    assert set(helper.mixture.parts) <= {*EARTHS.ids, helper.paint}
    assert helper.miss == pytest.approx(float(ciede2000([45, -15, -30], helper.mixture.lab)))
    assert helper.miss <= 2.5 and sum(helper.mixture.amounts) <= 12
    dark = find_recipe([3, 0, 0], STUDIO, view=viewing(finish="matt"))
    assert dark.out_of_reach.directions == ("too dark",) and dark.out_of_reach.helper is None
    light = find_recipe([90, 2, 20], TABLE.palette(["yellow-ochre", "burnt-sienna", "bone-black"]))
    assert light.out_of_reach.directions[0] == "too light"
    assert light.out_of_reach.helper is not None


def test_the_compromise_keeps_value_then_hue():
    for lch in ([60, 70, 250], [50, 90, 40], [70, 90, 330]):
        target = lch_to_lab(lch)
        kept = find_recipe(target, STUDIO, max_tubes=3, parts=24)
        plain = find_recipe(target, STUDIO, max_tubes=3, parts=24, out_of_reach="nearest")
        assert not kept.in_reach
        got, near = lab_to_lch(kept.in_few_parts.lab), lab_to_lch(plain.in_few_parts.lab)
        assert abs(got[0] - lch[0]) < 3.0
        assert abs(got[0] - lch[0]) <= abs(near[0] - lch[0]) + 1.0
        assert abs((got[2] - lch[2] + 180) % 360 - 180) < 12
        assert got[1] < lch[1]
        # nearest overall is nearer, by plain difference
        assert plain.in_few_parts.miss <= kept.in_few_parts.miss + 1e-9
        assert plain.in_few_parts.miss <= kept.by_count[-1].miss + 1.5


def test_a_palette_without_grey_still_answers():
    answer = find_recipe([50, 0, -40], TABLE.palette(["diarylide-yellow"]))
    assert not answer.in_reach and answer.in_few_parts.parts == {"diarylide-yellow": 1}


def test_other_lights_travel_with_the_answer():
    warm = viewing("A", "10")
    mixture = STUDIO.mix({"titanium-white": 3, "burnt-sienna": 2}, warm)
    answer = find_recipe(mixture.lab, STUDIO, tolerance=0.5, view=warm)
    assert answer.in_few_parts.miss <= 0.5
    assert answer.in_few_parts.mixture.view is warm


def test_the_same_answer_to_the_last_digit():
    one, two = (find_recipe([52, 8, 30], mixlab.read_palette("studio")) for _ in range(2))
    assert one.in_few_parts.parts == two.in_few_parts.parts
    assert [c.miss for c in one.by_count] == [c.miss for c in two.by_count]
    assert [c.shares for c in one.by_count] == [c.shares for c in two.by_count]


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"tolerance": 0}, "tolerance"),
        ({"tolerance": float("nan")}, "tolerance"),
        ({"max_tubes": 0}, "tubes"),
        ({"max_tubes": 7}, "tubes"),
        ({"parts": 0}, "parts"),
        ({"parts": 41}, "parts"),
        ({"out_of_reach": "best"}, "out of reach"),
        ({"must": ["cobalt-blue"]}, "cobalt-blue"),
        ({"must_not": ["no-such-paint"]}, "no-such-paint"),
        ({"must": ["viridian"], "must_not": ["viridian"]}, "both"),
        ({"must": ["viridian", "PY43"], "max_tubes": 1}, "must be used"),
        ({"max_tubes": 2.5}, "tubes"),
        ({"must": "no-such-paint"}, "no-such-paint"),
        ({"must_not": STUDIO.ids}, "excluded"),
        ({"target": [50, 0]}, "three"),
        ({"target": [50, 0, float("inf")]}, "finite"),
    ],
)
def test_settings_that_make_no_sense(change, word):
    settings = {"target": [50, 0, 0], **change}
    with pytest.raises(SearchError, match=word) as caught:
        find_recipe(settings.pop("target"), STUDIO, **settings)
    assert "\n" not in str(caught.value)


def test_a_name_may_stand_alone_or_be_given_twice():
    one = find_recipe([45, 15, 20], STUDIO, must="viridian")
    assert "viridian" in one.in_few_parts.parts
    twice = find_recipe([45, 15, 20], STUDIO, must=["PG18", "viridian"], max_tubes=1)
    assert twice.in_few_parts.parts == {"viridian": 1}


def test_more_mixes_than_memory_holds_are_refused():
    everything = TABLE.palette(TABLE.ids)
    with pytest.raises(SearchError, match="allow 3"):
        find_recipe([45, 15, 20], everything, max_tubes=6)


# --- many at once -------------------------------------------------------------------------------


def test_many_recipes_agree_with_their_mixes():
    rng = np.random.default_rng(9)
    labs = rng.uniform([20, -30, -30], [90, 40, 50], (400, 3))
    many = find_recipes(labs, STUDIO)
    assert len(many) == 400 and many.parts.shape == (400, 12)
    assert many.parts.sum(axis=1).max() <= 12 and many.parts.sum(axis=1).min() >= 1
    np.testing.assert_array_equal((many.parts > 0).sum(axis=1), many.tubes)
    np.testing.assert_allclose(ciede2000(labs, many.lab), many.miss, atol=1e-9)
    np.testing.assert_array_equal(many.within_tolerance, many.miss <= 2.0)
    assert 0.2 < many.within_tolerance.mean() < 1
    for i in (0, 17, 399):
        np.testing.assert_allclose(many[i].lab, many.lab[i], atol=1e-9)


def test_many_recipes_as_a_pandas_table():
    many = find_recipes([[45, 15, 20], [60, 5, 30]], STUDIO)
    frame = many.frame()
    assert list(frame.columns) == [*STUDIO.ids, "tubes", "miss", "within_tolerance"]
    np.testing.assert_array_equal(frame[STUDIO.ids].to_numpy(), many.parts)


def test_many_recipes_use_the_tubes_that_one_recipe_does():
    rng = np.random.default_rng(10)
    shares = rng.dirichlet(np.full(12, 0.3), 25)
    labs = np.array([STUDIO.mix(dict(zip(STUDIO.ids, s + 1e-9, strict=True))).lab for s in shares])
    many = find_recipes(labs, STUDIO)
    compared = 0
    for i, lab in enumerate(labs):
        one = find_recipe(lab, STUDIO)
        assert one.by_count[many.tubes[i] - 1].miss <= many.miss[i] + 0.02
        # the lattice knows whole parts only: where they hold the colour, both agree
        if one.in_few_parts.miss <= 2.0:
            assert many.within_tolerance[i] and one.in_few_parts.tubes == many.tubes[i]
            compared += 1
    assert compared > 10


def test_many_recipes_refuse_what_makes_no_sense():
    for labs in ([50, 0, 0], [[50, 0]], [[50, 0, float("nan")]]):
        with pytest.raises(SearchError):
            find_recipes(labs, STUDIO)
    with pytest.raises(SearchError, match="at most 4"):
        find_recipes([[50, 0, 0]], STUDIO, max_tubes=5)
    with pytest.raises(SearchError, match="too many for a lattice"):
        find_recipes([[50, 0, 0]], STUDIO, parts=40)
    assert len(find_recipes(np.zeros((0, 3)), STUDIO)) == 0


@pytest.mark.parametrize("white", [250, 400, 1000])
def test_where_no_parts_hold_the_colour_the_nearest_of_the_finest_is_given(white):
    """A hint of blue, paler than one part in 240 makes it."""
    pale = STUDIO.mix({"titanium-white": white, "phthalo-blue-green-shade": 1, "bone-black": 1}).lab
    answer = find_recipe(pale, STUDIO, tolerance=0.05)
    assert answer.in_reach
    assert answer.in_few_parts.miss > 0.05
    assert answer.recipe.miss <= answer.in_few_parts.miss
    assert answer.in_finer_parts.miss < answer.in_few_parts.miss
    assert answer.recipe is answer.in_finer_parts and answer.recipe.two_steps is not None
    # by hand: a part of one or two paints in so much white, and of that in as much as can be
    tried = []
    for one, other in itertools.combinations(STUDIO.ids[1:], 2):
        for n, m in itertools.product(range(5), range(5)):
            if n + m:
                first = {"titanium-white": 12 - n - m, one: n, other: m}
                parts = {id: amount / 144 for id, amount in first.items() if amount}
                parts["titanium-white"] += 11 / 12
                tried.append(float(ciede2000(pale, STUDIO.mix(parts).lab)))
    assert answer.recipe.miss <= min(tried) + 0.06


def test_three_paints_that_must_be_used_leave_no_small_sets():
    """Sizes of which no set holds them all are passed over, also in finer parts."""
    must = ["titanium-white", "phthalo-blue-green-shade", "bone-black"]
    answer = find_recipe(STUDIO["titanium-white"].lab, STUDIO, must=must)
    assert set(must) <= set(answer.recipe.parts)
    assert answer.recipe.miss <= answer.in_few_parts.miss
    assert sum(answer.recipe.parts.values()) > 12


def test_a_share_that_comes_to_nothing_is_not_mixed():
    palette = mixlab.read_palette("mill-pond", TABLE)
    target = [89.96972592867104, 36.68261370930999, 8.274723657898441]  # a pink too light for it
    answer = find_recipe(target, palette)
    assert not answer.in_reach
    shown = answer.recipe
    assert min(shown.parts.values()) >= 1
    assert shown.miss == pytest.approx(float(ciede2000(target, shown.lab)))
    held = {id: share for id, share in shown.exact_shares.items() if share > 0}
    exact = float(ciede2000(target, palette.mix(held).lab))
    assert shown.exact_miss == pytest.approx(exact)


def test_out_of_reach_the_nearest_in_whole_parts_is_near_the_nearest():
    random = np.random.default_rng(8)
    seen = 0
    for lab in random.uniform([20, -60, -60], [95, 60, 60], (40, 3)):
        answer = find_recipe(lab, STUDIO, max_tubes=3, out_of_reach="nearest")
        if not answer.in_reach:
            least = answer.by_count[-1].miss
            assert answer.recipe.miss <= max(least + 0.5, answer.in_few_parts.miss - 0.05) + 1e-9
            assert answer.in_finer_parts is None or answer.in_few_parts.miss > least + 0.5
            seen += answer.in_finer_parts is not None
    assert seen > 2


def test_the_recipe_is_the_one_to_mix_wherever_it_is_asked_for(run):
    """Twelve parts miss this pale grey by 6.7; a tenth of that is to be had in finer parts."""
    pale = [92, 0, 6]
    answer = find_recipe(pale, STUDIO)
    assert answer.in_few_parts.miss > 6 and answer.recipe.miss <= 2
    assert answer.recipe is answer.in_finer_parts
    told = json.loads(run("lights", "--match", "92,0,6", "--json").out)
    assert told["mixes"][0]["parts"] == answer.recipe.parts
    # a black that no white on the knife makes so pale
    made = adjust(TABLE.mix("1 bone-black"), STUDIO, value=9.2, largest=1, kinds=1)
    fresh = made.fresh_recipe
    assert fresh.in_few_parts.miss > 2 >= fresh.recipe.miss
    assert str(fresh.recipe) in " ".join(in_words(made))
