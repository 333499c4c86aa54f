"""Out of reach a painter keeps the value and does not lose the hue."""

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import lab_to_lch
from mixlab.mixing.beyond import HUE_KEPT, harm, turned
from mixlab.mixing.recipes import find_recipe
from mixlab.nearest.whole import lattice_of
from mixlab.targets.one import from_hex, from_lch, from_munsell

TABLE = mixlab.read_table()
POND = mixlab.read_palette("mill-pond", TABLE)
NINE = TABLE.palette([
    "titanium-white", "lemon-yellow", "yellow-ochre", "pyrrole-red", "quinacridone-magenta",
    "burnt-sienna", "ultramarine-blue", "phthalo-blue-green-shade", "viridian",
])  # fmt: skip
DARKS = ["313427", "1c2a1c", "0b1105", "381f1c", "4f3932"]


def darks(view):
    labs = [from_hex(h, view).lab for h in DARKS]
    return [*labs, from_munsell("5GY 2/2", view).lab]


@pytest.mark.parametrize("finish", ["gloss", "matt"])
@pytest.mark.parametrize("palette", [POND, NINE], ids=["mill-pond", "nine tubes"])
def test_dark_greens_stay_green_and_dark_reds_red(palette, finish):
    view = mixlab.viewing(finish=finish)
    mixed = []
    for lab in darks(view):
        answer = find_recipe(lab, palette, view=view)
        mixed.append(str(answer.recipe))
        assert np.hypot(*answer.recipe.lab[1:]) >= 1
        # "wherever any mix is": none of the nearest but keeps within 30 degrees
        assert float(turned(lab, answer.recipe.lab)) <= 30, (palette.name, lab, mixed[-1])
    # the greens and the reds do not come to one dead pile
    assert not set(mixed[:3]) & set(mixed[3:5])


def test_no_whole_part_mix_does_less_harm():
    view = mixlab.viewing(finish="matt")
    lattice = lattice_of(POND, view, 12, 4)
    for lab in (*darks(view), from_lch("50,90,40", view).lab):
        answer = find_recipe(lab, POND, view=view)
        if answer.out_of_reach is not None:
            least = min(harm(lab, lattice.lab(n)).min() for n in range(1, 5))
            assert float(harm(lab, answer.recipe.lab)) <= least + 0.5 + 1e-9


def test_harm_counts_value_twice_and_the_hue_above_all():
    green = np.array([20.0, -8.0, 8.0])
    lighter = np.array([23.0, -8.0, 8.0])
    assert harm(green, lighter) > 1.5 * mixlab.ciede2000(green, lighter)
    red = np.array([20.0, 8.0, 8.0])
    assert float(turned(green, red)) == pytest.approx(90) and HUE_KEPT < 90
    assert harm(green, red) > 20
    assert harm(green, green / [1, 10, 10]) > 5  # nearly all chroma is lost
    grey = np.array([20.0, -1.0, 1.0])
    assert harm(grey, [20, 1, 1]) < 5  # a grey has no hue to lose


def test_the_paint_that_helps_is_one_to_reach_for():
    """A shadow green is not helped by an orange; the mix with the helper is stated."""
    for lab in ([45, -15, -30], [30, -25, 15], [35, 40, 20], [60, -30, -10], [40, 20, -35]):
        answer = find_recipe(lab, mixlab.read_palette("kiln-earths", TABLE))
        if answer.out_of_reach is None or answer.out_of_reach.helper is None:
            continue
        helper = answer.out_of_reach.helper
        labs = [TABLE[helper.paint].lab, TABLE.mix({helper.paint: 1, "PW6": 4}).lab]
        assert min(float(turned(np.array(lab), one)) for one in labs) <= 45
        assert float(mixlab.ciede2000(lab, helper.mixture.lab)) <= 2.5
        assert lab_to_lch(helper.mixture.lab)[1] > 10


@pytest.mark.parametrize("lab", [
    [40.473022188397586, 80.7757882029575, 21.049831101893023],
    [40.45461565321759, 80.9486790761857, 9.139367205447979],
    [30.116040150201513, 75.41802252916085, 16.538517089389295],
])  # fmt: skip
def test_twenty_away_there_is_a_nearest_mix_all_the_same(lab):
    """Chips of the renotation, seen matt, from four tubes: no descent was near enough once."""
    few = TABLE.palette(["titanium-white", "burnt-sienna", "ultramarine-blue", "yellow-ochre"])
    answer = find_recipe(lab, few, max_tubes=3, view=mixlab.viewing(finish="matt"),
                         out_of_reach="nearest")  # fmt: skip
    assert not answer.in_reach
    assert 10 < answer.recipe.miss <= answer.in_few_parts.miss
