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
from mixlab.show.words import in_words

TABLE = mixlab.read_table()
EARTHS = mixlab.read_palette("kiln-earths")
POND = mixlab.read_palette("mill-pond")
GREEN = TABLE.mix("4 viridian + 4 arylide-yellow + 4 titanium-white")


def hvc(mixture):
    return lab_to_munsell(mixture.lab, mixture.view)


def is_there(made, lab, within=None):
    """Whether a colour is within the tolerances, written out anew."""
    within = within or Tolerances()
    _, value, chroma = lab_to_munsell(lab, made.start.view)
    _, v, c = made.goal.munsell
    _, pure, hue = np.abs(difference(made.goal.lab, lab))
    if made.goal.asked is not None:
        limit = min(within.hue, made.goal.asked / 3)
        return abs(value - v) <= within.value and pure <= limit and hue <= limit
    return (
        abs(value - v) <= within.value and abs(chroma - c) <= within.chroma and hue <= within.hue
    )


def every_addition(start, palette, kinds, grains, finest):
    """Yield ids, grains and colour of every addition of so many kinds, least first."""
    for total in range(kinds, grains + 1):
        ways = [w for w in itertools.product(range(1, total + 1), repeat=kinds) if sum(w) == total]
        for ids in itertools.combinations(palette.ids, kinds):
            for way in ways:
                parts = dict(start.parts)
                for id, n in zip(ids, way, strict=True):
                    parts[id] = parts.get(id, 0) + n * finest
                yield ids, way, TABLE.mix(parts).lab


NARROW = Tolerances(0.25, 0.5, 3.0)


def of_earths(mix, change):
    """Return the adjustment by halves of a part, and the fewest halves there are, if any."""
    start = TABLE.mix(mix)
    made = adjust(
        start, EARTHS, within=NARROW, smallest_part=0.5, largest=1.5, kinds=2, **change
    )
    grains = int(1.5 * sum(start.amounts) / 0.5)
    for kinds in (1, 2):
        for _, way, lab in every_addition(start, EARTHS, kinds, grains, 0.5):
            if is_there(made, lab, NARROW):
                return made, kinds, sum(way)
    return made, 0, 0


@pytest.mark.parametrize(
    ("mix", "change"),
    [
        ("8 titanium-white + 8 yellow-ochre", {"chroma_by": -2}),
        ("8 titanium-white + 8 yellow-ochre", {"value_by": -0.7}),
        ("1 titanium-white + 2 red-iron-oxide + 1 bone-black", {"value_by": 0.8}),
        ("6 yellow-ochre + 2 bone-black", {"cooler": 4}),
        ("8 yellow-ochre + 2 bone-black + 4 titanium-white", {"cooler": 2.5}),
    ],
)
def test_no_addition_to_the_pile_is_smaller(mix, change):
    made, kinds, halves = of_earths(mix, change)
    assert made.within_tolerance and made.times == 1
    assert len(made.parts) == kinds
    assert sum(made.parts.values()) == pytest.approx(0.5 * halves)


def test_where_no_addition_is_there_none_is_claimed():
    made, kinds, _ = of_earths("2 titanium-white + 2 red-iron-oxide", {"warmer": 4})
    assert kinds == 0 and not made.within_tolerance


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
    assert made.within_tolerance == is_there(made, made.mixture.lab)
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
    grey = TABLE.mix("6 titanium-white + 2 ultramarine-blue + 2 burnt-umber")
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
    assert abs(made.off[0]) < 0.5 and made.off[1] < -1
    assert "chroma too low" in " ".join(made.directions)
    assert "diarylide-yellow would reach it" in " ".join(in_words(made))
    assert [len(one.parts) for one in made.by_kinds] == [0, 1, 2, 3]
    harm = [float(ciede2000(made.goal.lab, one.mixture.lab, kl=0.5)) for one in made.by_kinds]
    assert float(ciede2000(made.goal.lab, made.mixture.lab, kl=0.5)) <= min(harm) + 0.51


def test_too_much_is_said_to_be_a_new_pile():
    made = adjust(GREEN, POND, value=4.4)
    assert not made.within_tolerance and made.beyond > 4 and made.fresh_recipe.in_reach
    assert "make a new pile" in " ".join(in_words(made))


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
    assert "The nearest with fewer kinds of paint" in out and "\nCautions" in out
    assert max(map(len, out.splitlines())) <= 80
    beyond = run(*ASKED, "--value", "8").out
    assert "Out of reach of any addition" in beyond and "The least harmful addition" in beyond
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
              "--json")  # fmt: skip
    told = json.loads(ran.out)
    assert told["palette"] == "all of the table" and "bone-black" in told["added"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ([], "no change is asked; ask for one of chroma"),
        (["--chroma", "4", "--value", "3"], "chroma and value are asked at once"),
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


def test_a_neutral_cannot_be_made_purer():
    with pytest.raises(LadderError, match="no hue in which to raise it"):
        adjust(TABLE.mix("1 bone-black"), POND, chroma=3)


def test_a_paint_that_is_not_there(run):
    ran = run("adjust", "PB299", "--chroma", "3")
    assert ran.status == 2 and "no paint 'PB299'" in ran.err
