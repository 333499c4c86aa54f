"""What every painter knows of mixes. Common practice, no source; the bounds are ours."""

import numpy as np
import pytest

import mixlab

TABLE = mixlab.read_table()


def lch(**parts):
    return TABLE.mix({id.replace("_", "-"): float(n) for id, n in parts.items()}).lch


def hue_between(hue, low, high):
    return (hue - low) % 360 <= (high - low) % 360


def test_ultramarine_and_burnt_sienna_give_a_dark_near_neutral():
    ladder = [lch(ultramarine_blue=n, burnt_sienna=12 - n) for n in range(1, 12)]
    greyest = min(ladder, key=lambda c: c[1])
    assert greyest[1] < 5 and greyest[0] < 35
    # with white it gives greys, cool or warm
    cool = TABLE.mix("6 titanium-white + 4 ultramarine-blue + 1 burnt-sienna").lab
    warm = TABLE.mix("6 titanium-white + 2 ultramarine-blue + 4 burnt-sienna").lab
    assert cool[2] < -4 and warm[2] > 4


@pytest.mark.parametrize("yellow", ["lemon_yellow", "arylide_yellow", "diarylide_yellow"])
@pytest.mark.parametrize("blue", ["ultramarine_blue", "phthalo_blue_green_shade"])
def test_yellow_and_blue_make_green(yellow, blue):
    assert any(
        hue_between(lch(**{yellow: 12 - n, blue: n})[2], 110, 190) for n in range(1, 12)
    )


def test_a_cool_yellow_and_a_green_shade_blue_make_the_purer_green():
    def purest(yellow, blue):
        greens = [lch(**{yellow: 24 - n, blue: n}) for n in range(1, 24)]
        return max(c[1] for c in greens if hue_between(c[2], 125, 175))

    cool = purest("lemon_yellow", "phthalo_blue_green_shade")
    assert cool > purest("diarylide_yellow", "ultramarine_blue") + 10


def test_red_takes_the_green_out():
    green = lch(titanium_white=2, arylide_yellow=3, ultramarine_blue=2)
    for red in ("burnt_sienna", "red_iron_oxide", "pyrrole_red"):
        quieter = lch(titanium_white=2, arylide_yellow=3, ultramarine_blue=2, **{red: 0.5})
        assert quieter[1] < green[1] - 5


def test_ochre_blue_and_white_turn_greenish_and_burnt_sienna_takes_it_out():
    greenish = TABLE.mix("6 titanium-white + 2 yellow-ochre + 1 ultramarine-blue").lab
    assert greenish[1] < 0
    mended = TABLE.mix(
        "6 titanium-white + 2 yellow-ochre + 1 ultramarine-blue + 0.75 burnt-sienna"
    ).lab
    assert mended[1] > greenish[1] + 2


@pytest.mark.parametrize("paint", [p.id for p in TABLE if not p.is_white])
def test_white_raises_value(paint):
    values = [TABLE.mix({paint: 1.0, "titanium-white": n}).lab[0] for n in (0.01, 0.5, 1, 4, 16)]
    assert (np.diff(values) > 0).all()


def test_white_cools_a_red_and_dulls_a_yellow():
    red, pink = lch(cadmium_red_light=1), lch(cadmium_red_light=1, titanium_white=4)
    assert (pink[2] - red[2] + 180) % 360 - 180 < -5 and pink[1] < red[1]
    assert lch(arylide_yellow=1, titanium_white=4)[1] < lch(arylide_yellow=1)[1]


def test_black_makes_yellow_green():
    assert hue_between(lch(arylide_yellow=3, bone_black=2)[2], 95, 150)


def test_phthalos_and_prussian_are_strong_and_viridian_and_cobalt_weak():
    strength = {p.id: TABLE.strength(p) for p in TABLE if not p.is_white}
    for strong in ("phthalo-blue-green-shade", "phthalo-green-blue-shade", "prussian-blue"):
        assert strength[strong] > 4
    for weak in ("viridian", "cobalt-blue", "yellow-ochre"):
        assert strength[weak] < 1
    assert strength["phthalo-green-blue-shade"] > 5 * strength["viridian"]
    assert strength["burnt-umber"] > strength["raw-umber"]


def test_opacity_agrees_with_what_tubes_say():
    # opaque paints hide better, in one coat, than transparent ones of like value
    ratio = {p.id: TABLE.mix({p.id: 1.0}).contrast_ratio() for p in TABLE}
    assert ratio["titanium-white"] > ratio["zinc-white"] + 0.1
    assert ratio["yellow-ochre"] > ratio["arylide-yellow"]
    assert ratio["cadmium-red-light"] > ratio["quinacridone-red"]
    assert ratio["chromium-oxide-green"] > ratio["viridian"]
    assert ratio["red-iron-oxide"] > 0.98 and ratio["chromium-oxide-green"] > 0.98
