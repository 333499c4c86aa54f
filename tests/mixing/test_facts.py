"""What painters know of ladders and distance. Common practice, no source; the bounds are ours."""

from itertools import pairwise

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import hex_to_lab, lab_to_lch, viewing
from mixlab.mixing.complements import complements
from mixlab.mixing.distance import seen_from, seen_through
from mixlab.mixing.ladders import ladder
from mixlab.mixing.value_chroma import at_equal_value, report
from mixlab.targets.one import from_munsell

TABLE = mixlab.read_table()
WHITE = TABLE.mix("1 titanium-white")
BLACK = TABLE.mix("1 bone-black")
VIEW = viewing()
SKY_LOW, SKY_HIGH = hex_to_lab("#cdd6dc", VIEW), hex_to_lab("#6f9bcc", VIEW)



@pytest.mark.parametrize("green", ["viridian", "phthalo-green-blue-shade", "chromium-oxide-green"])
def test_white_lightens_a_green_and_takes_chroma_out(green):
    told = report(TABLE.mix({green: 1}), WHITE)
    rows = [row.point for row in told.gained_per_part if row.point.share > told.peak.share]
    assert len(rows) >= 4
    assert all(a.value < b.value and a.chroma > b.chroma for a, b in pairwise(rows))


@pytest.mark.parametrize("yellow", ["arylide-yellow", "lemon-yellow"])
def test_black_turns_yellow_green(yellow):
    made = ladder(TABLE.mix({yellow: 1}), BLACK, 9)
    hue, value, chroma = made.munsell.T
    assert 20 <= hue[0] <= 32  # 10YR to 2.5GY
    assert (hue[3:8] > 30).all() and (hue[3:8] < 55).all()  # green-yellow to green
    assert (np.diff(value) < 0).all() and (np.diff(chroma) < 0).all()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("ultramarine-blue", "burnt-sienna"),
        ("ultramarine-blue", "burnt-umber"),
        ("cadmium-red-light", "viridian"),
        ("pyrrole-red", "phthalo-green-blue-shade"),
    ],
)
def test_complements_cancel(one, other):
    # as measured: under gloss so dark a neutral is as near to grey, and its C* more
    start, toward = (TABLE.mix({id: 1}, viewing(finish="matt")) for id in (one, other))
    told = report(start, toward)
    assert told.neutral.chroma < 6
    assert told.neutral.chroma < 0.5 * min(told.start.chroma, toward.lch[1])
    assert 0 < told.neutral.share < 1


def test_earths_are_the_complements_of_ultramarine():
    tubes = mixlab.read_palette("studio")
    best = [paint.id for paint, _ in complements(tubes.mix("1 PB29"), tubes)][:2]
    assert set(best) <= {"burnt-umber", "burnt-sienna"}


def test_a_little_burnt_sienna_in_white_is_a_warm_cast():
    lch = TABLE.mix({"burnt-sienna": 1, "titanium-white": 60}).lch
    assert lch[0] > 80 and 3 < lch[1] < 15 and 30 < lch[2] < 80


def test_ochre_blue_and_white_turn_greenish_and_burnt_sienna_takes_the_green_out():
    sky = TABLE.mix({"yellow-ochre": 3, "ultramarine-blue": 1, "titanium-white": 12})
    assert 90 < sky.lch[2] < 200
    mended = TABLE.mix({**sky.parts, "burnt-sienna": 1})
    assert mended.lab[1] > sky.lab[1] + 1


def test_titanium_tints_are_chalkier_than_zinc_tints_at_first():
    # the weaker white leaves the paint its depth: purer at equal value near the masstone

    titanium, zinc = at_equal_value(TABLE.mix("1 PB29"), [WHITE, TABLE.mix("1 PW4")], [3.5])
    assert zinc[0].chroma > titanium[0].chroma



def test_distant_foliage_is_lighter_and_lower_in_chroma():
    for green in ("3 chromium-oxide-green + 1 PY43", "1 viridian + 2 PY74", "1 PG7 + 9 PY74"):
        lab = mixlab.read_table().mix(green).lab
        lch = lab_to_lch(seen_from(lab, SKY_LOW, np.linspace(0, 0.6, 13), VIEW))
        assert (np.diff(lch[:, 0]) > 0).all() and (np.diff(lch[:, 1]) < 0).all()


def test_the_sky_is_lighter_and_less_saturated_toward_the_horizon():
    lch = lab_to_lch(seen_from(SKY_HIGH, SKY_LOW, np.linspace(0, 1, 13), VIEW))
    assert (np.diff(lch[:, 0]) > 0).all() and (np.diff(lch[:, 1]) < 0).all()


def test_a_light_thing_loses_light_and_a_dark_thing_gains_it():
    white, dark = [97, 0, 3], [20, 0, -3]
    assert seen_from(white, SKY_LOW, 0.5, VIEW)[0] < 97
    assert seen_from(dark, SKY_LOW, 0.5, VIEW)[0] > 20


def test_far_woods_in_clear_air_turn_blue():
    green = mixlab.read_table().mix("4 viridian + 4 PY74 + 2 burnt-sienna")
    hue = lab_to_lch(seen_through(green, SKY_LOW, [0, 2, 6], 20, VIEW, 1.3))[:, 2]
    assert 90 < hue[0] < 150 and 200 < hue[2] < 290


BOX = TABLE.palette([
    "PW6", "PY3", "cadmium-yellow-light", "cadmium-orange", "PY43", "raw-sienna",
    "cadmium-red-light", "PR83", "venetian-red", "burnt-sienna", "burnt-umber", "PB29", "PB28",
    "cerulean-blue", "PB27", "PG18", "PBk9",
])  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "tubes"),
    [
        ("5PB 6/2", "titanium-white burnt-umber ultramarine-blue"),  # the shadow of a cloud
        ("5YR 5/8", "yellow-ochre burnt-sienna"),  # beeches in October
        ("2.5Y 6/4", "titanium-white yellow-ochre bone-black"),  # reeds
        ("5PB 5/2", "titanium-white venetian-red ultramarine-blue"),  # a wood far off
    ],
)
def test_earths_stand_before_cadmium_and_cobalt(wanted, tubes):
    recipe = mixlab.find_recipe(from_munsell(wanted, VIEW).lab, BOX).recipe
    assert set(recipe.parts) == set(tubes.split()) and recipe.miss <= 2
