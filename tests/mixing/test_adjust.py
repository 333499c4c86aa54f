"""Adjusting a mix: the smallest addition, against every addition there is; the command."""

import csv
import itertools
import json
import math

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000, difference
from mixlab.colour.spaces import lab_to_munsell
from mixlab.errors import LadderError
from mixlab.mixing.adjust import adjust, effect
from mixlab.mixing.goals import WARM_HUE, Tolerances
from mixlab.mixing.pile_search import FURTHER_TUBE, HALF_AGAIN
from mixlab.nearest.medium import medium_of
from mixlab.show.words import in_words

TABLE = mixlab.read_table()
EARTHS = mixlab.read_palette("kiln-earths")
POND = mixlab.read_palette("mill-pond")
GREEN = TABLE.mix("4 viridian + 4 arylide-yellow + 4 titanium-white")


def hvc(mixture):
    return lab_to_munsell(mixture.lab, mixture.view)


def is_there(goal, lab):
    """Whether colours (..., 3) are within the tolerances of a goal in Munsell's terms, anew."""
    _, value, chroma = np.moveaxis(lab_to_munsell(lab, goal.view), -1, 0)
    _, v, c = goal.munsell
    _, pure, hue = np.moveaxis(np.abs(difference(goal.lab, lab)), -1, 0)
    within = goal.within
    near = pure if goal.kind == "shift" else abs(chroma - c)
    return (abs(value - v) <= within.value) & (near <= within.chroma) & (hue <= within.hue)


def every_addition(start, palette, kinds, grains, finest):
    """Return ids and colours (n, 3), and grains (n, kinds), of every addition of so many kinds."""
    ways = [w for w in itertools.product(range(1, grains + 1), repeat=kinds) if sum(w) <= grains]
    pile = np.array([start.parts.get(id, 0) for id in palette.ids])
    assert pile.sum() == sum(start.amounts)
    found = []
    for places in itertools.combinations(range(len(palette)), kinds):
        amounts = np.tile(pile.astype(float), (len(ways), 1))
        amounts[:, places] += finest * np.array(ways)
        lab = medium_of(palette, start.view).lab(amounts)
        found.append(([palette.ids[i] for i in places], np.array(ways), lab))
    return found


NARROW = Tolerances(0.25, 0.5, 3.0)


def cost(start, parts, times=1):
    """What an addition to the pile costs, written out anew."""
    pile = {id: times * n for id, n in start.parts.items()}

    def joined(added):
        return TABLE.mix({id: pile.get(id, 0) + added.get(id, 0) for id in {**pile, **added}}).lab

    slips = [ciede2000(joined(parts), joined({**parts, id: n + 0.25})) for id, n in parts.items()]
    added = sum(parts.values()) / sum(pile.values())
    return added + FURTHER_TUBE * len(parts) + 0.02 * max(slips) + 0.05 * (times - 1)


@pytest.mark.parametrize(
    ("mix", "change"),
    [
        ("8 titanium-white + 8 yellow-ochre", {"chroma_by": -2}),
        ("8 titanium-white + 8 yellow-ochre", {"value_by": -0.7}),
        ("6 yellow-ochre + 2 bone-black", {"cooler": 4}),
        ("8 yellow-ochre + 2 bone-black + 4 titanium-white", {"cooler": 2}),
    ],
)
def test_no_addition_to_the_pile_is_better(mix, change):
    start = TABLE.mix(mix)
    made = adjust(start, EARTHS, within=NARROW, smallest_part=0.5, kinds=2, **change)
    assert made.within_tolerance and made.times in (1, 2)
    assert made.goal.within.value == 0.25  # with nothing given up
    every = (
        cost(start, {id: 0.5 * n for id, n in zip(ids, way, strict=True)})
        for kinds in (1, 2)
        for ids, ways, lab in every_addition(start, EARTHS, kinds, int(sum(start.amounts)), 0.5)
        for way in ways[is_there(made.goal, lab)]
    )
    assert cost(start, made.parts, made.times) <= min(every, default=math.inf) + 1e-9


def test_where_no_addition_is_there_none_is_claimed():
    start = TABLE.mix("2 titanium-white + 2 red-iron-oxide")
    made = adjust(start, EARTHS, chroma_by=3, kinds=2)
    assert not made.within_tolerance
    every = [lab for n in (1, 2) for _, _, lab in every_addition(start, EARTHS, n, 16, 0.25)]
    assert not is_there(made.goal, np.concatenate(every)).any()


@pytest.mark.parametrize(
    "change",
    [{"chroma": 4}, {"chroma_by": -2}, {"warmer": 5}, {"value": 6.8}, {"value_by": -0.4}],
)
def test_what_is_said_is_what_comes(change):
    made = adjust(GREEN, POND, **change)
    assert made.parts and set(made.parts) <= set(POND.ids)
    parts = {id: made.times * n for id, n in GREEN.parts.items()}
    for id, n in made.parts.items():
        parts[id] = parts.get(id, 0) + n
        assert n / 0.25 == pytest.approx(round(n / 0.25)) and n > 0
    np.testing.assert_allclose(TABLE.mix(parts).lab, made.mixture.lab)
    assert made.within_tolerance == is_there(made.goal, made.mixture.lab)
    assert made.miss == pytest.approx(float(ciede2000(made.goal.lab, made.mixture.lab)))
    assert made.share == pytest.approx(sum(made.parts.values()) / (12 * made.times))
    np.testing.assert_allclose(made.additions[-1].mixture.lab, made.mixture.lab)
    assert [a.parts for a in made.additions] == [made.parts[a.paint.id] for a in made.additions]


def test_the_goal_keeps_what_is_not_asked_to_change():
    hue, value, chroma = hvc(GREEN)
    np.testing.assert_allclose(adjust(GREEN, POND, chroma=4).goal.munsell, [hue, value, 4])
    np.testing.assert_allclose(
        adjust(GREEN, POND, value_by=-0.4).goal.munsell, [hue, value - 0.4, chroma]
    )
    for name, sign in (("warmer", 1), ("cooler", -1)):
        lab = adjust(GREEN, POND, **{name: 5}).goal.lab
        assert lab[0] == pytest.approx(GREEN.lab[0])
        assert float(ciede2000(GREEN.lab, lab)) == pytest.approx(5, abs=0.05)
        turn = math.degrees(math.atan2(*(sign * (lab - GREEN.lab))[:0:-1]))
        assert turn == pytest.approx(WARM_HUE)


def test_a_grey_is_warmed_and_cooled():
    # near neutral a hue in degrees says nothing; the goal is reached all the same
    grey = TABLE.mix("6 titanium-white + 4 ultramarine-blue + 3 burnt-umber")
    for change in ({"warmer": 4}, {"cooler": 4}, {"chroma": 0}):
        made = adjust(grey, mixlab.read_palette("studio"), **change)
        assert made.within_tolerance and abs(made.off[2]) <= 1.5
        # it has gone most of the way
        assert made.miss < 2.5 and float(ciede2000(grey.lab, made.mixture.lab)) > 1
    assert math.isnan(adjust(grey, POND, chroma=0).turn)


def test_nothing_to_do():
    made = adjust(GREEN, POND, chroma_by=0.1)
    assert made.within_tolerance and made.parts == {} and made.additions == ()
    assert made.mixture is GREEN
    assert in_words(made) == ["It is there already, within the tolerances. Add nothing."]


def test_out_of_reach_keeps_the_value():
    pale = TABLE.mix("3 titanium-white + 1 yellow-ochre")
    made = adjust(pale, EARTHS, chroma=9)
    assert not made.within_tolerance
    assert made.fresh_recipe is not None and not made.fresh_recipe.in_reach
    assert abs(made.off[0]) < 0.8 and made.off[1] < -1
    assert "chroma too low" in " ".join(made.directions)
    assert "diarylide-yellow would reach it" in " ".join(in_words(made))
    assert {len(one.parts) for one in made.others} == {0, 1, 2, 3}
    assert all(one.share <= HALF_AGAIN for one in made.others)


RAW = TABLE.mix("6 arylide-yellow + 3 viridian + 2 PW6")


def test_too_much_is_a_fresh_mix():
    made = adjust(RAW, POND, chroma=4)
    assert not made.within_tolerance and made.beyond > 1 and made.fresh_recipe.in_reach
    assert in_words(made)[0] == f"Better a fresh mix: {made.fresh}."
    more = adjust(TABLE.mix("4 burnt-sienna + 4 PW6"), POND, value_by=1.2)
    assert more.within_tolerance and HALF_AGAIN < more.share <= 1
    assert in_words(more)[0] == f"Better a fresh mix: {more.fresh}."


def test_a_raw_green_is_not_drowned_in_white():
    # common practice, no source: a green is knocked back with burnt sienna or a red
    made = adjust(RAW, POND, chroma=4)
    ways = (made, *made.others)
    assert all(one.share <= HALF_AGAIN for one in ways)
    assert all(one.parts.get("titanium-white", 0) < 4 * one.times for one in ways)
    assert any("burnt-sienna" in one.parts for one in ways)
    assert {"burnt-sienna", "pyrrole-red"} & set(made.parts)
    assert made.mixture.lch[1] < 0.7 * RAW.lch[1]
    assert made.fresh is not None  # there is no such addition, and it says so
    assert "No addition of up to half the pile" in " ".join(in_words(made))


@pytest.mark.parametrize("change", [{"warmer": 12}, {"value": 1.5}])
def test_a_pile_that_cannot_go_there(change):
    made = adjust(RAW, POND, **change)
    assert not made.within_tolerance and made.share <= HALF_AGAIN
    # as far as it goes it stays of its hue: a green is a green
    assert abs(made.turn) < 20
    assert abs(made.off[0]) <= max(0.3, abs(made.goal.off(RAW.lab)[0]))


def test_a_shadow_is_cooled_with_blue_and_a_sky_warmed_with_red_or_earth():
    # common practice, no source
    shadow = adjust(TABLE.mix("6 burnt-sienna + 4 PB29"), POND, cooler=3)
    assert shadow.within_tolerance and set(shadow.parts) == {"ultramarine-blue"}
    sky = adjust(TABLE.mix("12 PW6 + 1 PB29"), POND, warmer=4)
    assert sky.within_tolerance and sky.share < 0.1
    assert {"burnt-sienna", "pyrrole-red", "yellow-ochre"} & set(sky.parts)


def test_what_is_kept_may_be_kept_half_as_well():
    made = adjust(GREEN, POND, chroma=4)
    assert made.within_tolerance and made.share <= HALF_AGAIN
    assert made.goal.within.value == 2 * Tolerances().value
    assert made.goal.within.chroma == Tolerances().chroma  # that was asked
    assert abs(made.off[1]) <= 0.3


def test_value_chroma_and_hue_together():
    buff = TABLE.mix("6 yellow-ochre + 6 titanium-white")
    made = adjust(buff, POND, hue="7.5YR", chroma=5, value=6.5)
    np.testing.assert_allclose(made.goal.munsell, [17.5, 6.5, 5])
    assert made.goal.words == ("turn", "darken", "knock back")
    assert made.within_tolerance and made.share < HALF_AGAIN
    one = adjust(buff, POND, chroma_by=-0.5, value_by=-0.7).goal.munsell
    np.testing.assert_allclose(one, lab_to_munsell(buff.lab, buff.view) - [0, 0.7, 0.5])


def test_to_a_colour():
    buff, wanted = TABLE.mix("6 yellow-ochre + 6 titanium-white"), [69, 8, 30]
    made = adjust(buff, POND, to=wanted)
    np.testing.assert_allclose(made.goal.lab, wanted)
    assert made.within_tolerance and made.miss <= 2 and made.share < HALF_AGAIN
    assert adjust(buff, POND, to=buff.lab).parts == {}


def test_from_one_mix_to_another():
    sky = TABLE.mix("4 PW6 + 2 PB29")
    cloud = TABLE.mix("8 PW6 + 3 PB29 + 1 burnt-sienna")
    made = adjust(sky, POND, to=cloud)
    assert made.within_tolerance and made.miss < 1 and set(made.mixture.parts) <= set(cloud.parts)
    assert set(made.parts) == {"titanium-white", "burnt-sienna"}  # it has blue enough
    assert made.fresh is None
    # where little of the pile is left in it the other is mixed afresh
    pale = TABLE.mix("30 PW6 + 1 PB29")
    far = adjust(sky, POND, to=pale)
    assert far.parts == {"titanium-white": 56 * far.times} and far.fresh is pale
    # a paint that the other mix does not hold cannot be taken out
    green = adjust(TABLE.mix("4 viridian + 2 yellow-ochre"), EARTHS, to=cloud)
    assert not green.within_tolerance and green.fresh is cloud


def test_near_white_keeps_its_chroma():
    # above value 9 the ovoids of the renotation shrink to nothing; chroma is that of a* and b*
    pale = TABLE.mix("40 PW6 + 1 PY3")
    _, value, chroma = lab_to_munsell(pale.lab, pale.view)
    assert value > 9 and chroma == pytest.approx(pale.lch[1] / 6.5, rel=0.35)
    made = adjust(pale, POND, value_by=-0.5)
    assert made.goal.munsell[2] == pytest.approx(chroma)
    assert np.hypot(*made.goal.lab[1:]) == pytest.approx(pale.lch[1], rel=0.15)


def test_a_small_pile_is_taken_several_times_over():
    made = adjust(TABLE.mix("1 PB29"), POND, chroma=4)
    assert made.within_tolerance and made.times > 1
    assert made.pile.parts == {"ultramarine-blue": made.times}
    whole = adjust(TABLE.mix("1 PB29"), POND, chroma=4, smallest_part=1)
    assert whole.within_tolerance and all(n == round(n) for n in whole.parts.values())


def test_facts_of_the_trade():
    # common practice, no source
    def does(before, added):
        start = TABLE.mix(before)
        return effect(start, TABLE.mix(f"{before} + {added}"))

    assert "knocks back" in does("4 viridian + 4 titanium-white", "1 pyrrole-red")
    assert does("4 pyrrole-red + 4 titanium-white", "1 viridian")[0] in ("knocks back", "darkens")
    grey = "6 titanium-white + 2 ultramarine-blue + 2 burnt-umber"
    assert "warms" in does(grey, "1 burnt-sienna")
    assert "cools" in does("6 titanium-white + 2 yellow-ochre", "1 ultramarine-blue")
    assert does("2 ultramarine-blue + 2 burnt-umber", "2 titanium-white")[0] == "lightens"
    assert "darkens" in does("4 titanium-white + 1 yellow-ochre", "1 bone-black")


# --- the command ---------------------------------------------------------------------------------

ASKED = ["adjust", str(GREEN), "--palette", "mill-pond"]


def test_a_page(run):
    out = run(*ASKED, "--chroma-by", "-3").out
    assert "knock back to" in out and "\nAdd\n" in out and "the pile" in out
    assert "\nPalette     Mill pond, 7 tubes\n" in out
    assert "Fewer tubes" in out and "\nCautions" in out
    assert max(map(len, out.splitlines())) <= 80
    beyond = run("adjust", str(RAW), "--palette", "mill-pond", "--chroma", "4").out
    assert "This pile cannot go there" in beyond and "As far as it goes" in beyond
    assert "Better a fresh mix" in beyond
    assert max(map(len, beyond.splitlines())) <= 80
    assert "Add nothing" in run(*ASKED, "--chroma-by", "0").out


def test_json_csv_and_picture(run, tmp_path):
    ran = run(*ASKED, "--chroma", "4", "--json", "--csv", tmp_path / "a.csv", "--plot",
              tmp_path / "a.png")  # fmt: skip
    told = json.loads(ran.out)
    made = adjust(GREEN, POND, chroma=4)
    assert told["within_tolerance"] and told["added"] == made.parts and told["times"] == made.times
    assert told["goal"]["munsell_chroma"] == 4 and told["goal"]["words"] == ["knock back"]
    assert told["off"]["munsell_value"] == pytest.approx(made.off[0], abs=1e-3)
    assert told["result"]["munsell"] == made.mixture.munsell
    rows = list(csv.DictReader((tmp_path / "a.csv").open()))
    assert [row["paint"] for row in rows] == ["the pile", *(a.paint.id for a in made.additions)]
    assert float(rows[-1]["munsell_chroma"]) == pytest.approx(4, abs=0.31)
    assert (tmp_path / "a.png").stat().st_size > 20_000


def test_a_table_of_ones_own_is_the_palette(run, tmp_path):
    mixlab.write_table([TABLE["titanium-white"], TABLE["PB29"], TABLE["bone-black"]],
                       tmp_path / "t.csv")  # fmt: skip
    ran = run("adjust", "2 PB29 + 4 PW6", "--chroma-by", "-3", "--table", tmp_path / "t.csv",
              "--only", "--json")  # fmt: skip
    told = json.loads(ran.out)
    assert told["palette"] == "all of the table" and "bone-black" in told["added"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "no change is asked; ask for a hue, for chroma or value"),
        (["--chroma", "4", "--chroma-by", "3"], "chroma and chroma by are asked at once"),
        (["--chroma", "4", "--warmer", "3"], "chroma and warmer are asked at once"),
        (["--hue", "5XY"], "write it as 5GY"),
        (["--to", "#12"], "a colour is L*,a*,b*"),
        (["--to", "5Y 5/4", "--to-mix", "PW6"], "--to and --to-mix are given at once"),
        (["--photo", "a.png"], "--photo needs a place"),
        (["--to", "5Y 5/4", "--radius", "3"], "are for places in a picture"),
        (["--chroma", "nan"], "must be a finite number"),
        (["--chroma", "-1"], "none is below 0"),
        (["--chroma", "60"], "beyond the Munsell system"),
        (["--value", "10.5"], "between 0 (black) and 10 (white)"),
        (["--warmer", "0"], "above 0, to 50"),
        (["--cooler", "-3"], "above 0, to 50"),
        (["--value", "5", "--kinds", "4"], "it must be 1 to 3"),
        (["--value", "5", "--smallest-part", "0"], "from 0.01 to 100"),
        (["--value", "5", "--largest", "-1"], "above 0, to 100"),
        (["--value", "5", "--hue-within", "0"], "must be above zero"),
        (["--value", "5", "--plot", "a.gif"], ".png or .svg"),
        (["--value", "5", "--csv", "/nowhere/a.csv"], "there is no folder"),
    ],
)
def test_a_mistake_is_one_line(run, words, message):
    ran = run(*ASKED, *words)
    assert ran.status == 2 and ran.out == ""
    assert message in ran.err and ran.err.count("\n") == 1


def test_a_goal_that_makes_no_sense():
    with pytest.raises(LadderError, match="three finite numbers"):
        adjust(GREEN, POND, to=[1, 2])
    with pytest.raises(LadderError, match="under one light"):
        adjust(GREEN, POND, to=RAW.under("A"))


def test_a_neutral_cannot_be_made_purer():
    with pytest.raises(LadderError, match="no hue in which to raise it"):
        adjust(TABLE.mix("1 bone-black"), POND, chroma=3)


def test_a_paint_that_is_not_there(run):
    ran = run("adjust", "PB299", "--chroma", "3")
    assert ran.status == 2 and "no paint 'PB299'" in ran.err


@pytest.mark.parametrize("change", [{"value_by": 0.1}, {"value_by": -0.2}, {"chroma_by": -2}])
def test_near_white_chroma_is_of_the_size_of_c_star(change):
    # above value 9, where the renotation ends
    pale = TABLE.mix("2 lemon-yellow + 9 titanium-white")
    palette = TABLE.palette(["titanium-white", "lemon-yellow", "ultramarine-blue"])
    goal = mixlab.adjust(pale, palette, **change).goal
    assert goal.munsell[1] > 9 and 4 < goal.munsell[2] < 8
    chroma = np.hypot(*goal.lab[1:])
    if "value_by" in change:
        assert chroma == pytest.approx(np.hypot(*pale.lab[1:]), abs=0.2)
    else:
        assert 0.6 < chroma / np.hypot(*pale.lab[1:]) < 0.8
