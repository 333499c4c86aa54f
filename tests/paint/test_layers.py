"""A film of a mix over a dry ground: its ends, where it stands, and what painters know of it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import hex_to_lab, lab_to_lch, reflectance_to_lab, viewing
from mixlab.errors import LayerError
from mixlab.paint.layers import COVERS, GLAZE, SCUMBLE, ground_of, layer

TABLE = mixlab.read_table()
VIEW = viewing()
GREY_GREEN, DARK_WOOD = hex_to_lab("#a9b5a4", VIEW), hex_to_lab("#3a2a1e", VIEW)
WARM_WHITE = TABLE.mix("4 titanium-white + 1 yellow-ochre")
RED_OXIDE = TABLE.mix("transparent-red-oxide")


@pytest.mark.parametrize("finish", ["gloss", "satin", "matt"])
@pytest.mark.parametrize("light", ["D65", "A"])
def test_from_the_ground_to_the_mix_itself(finish, light):
    mixture = RED_OXIDE.under(light, finish=finish)
    ground = TABLE.mix("burnt-umber")
    for over, bare in (
        (ground, ground.under(light, finish=finish).lab),
        ([70, -6, 7], np.array([70, -6, 7])),
        (ground.under(light, finish=finish).reflectance, ground.under(light, finish=finish).lab),
    ):
        made = layer(mixture, over, [1e-9, 100])
        np.testing.assert_allclose(made.bare, bare, atol=1e-4)
        np.testing.assert_allclose(made.lab, [bare, mixture.lab], atol=1e-3)
        assert made.view.finish == finish


@given(st.floats(0.001, 5), st.floats(0.001, 5))
def test_two_films_of_a_mix_are_one_of_both_thicknesses(first, second):
    under = layer(WARM_WHITE, DARK_WOOD, [first])
    over = layer(WARM_WHITE, under.reflectance[0], [second])
    np.testing.assert_allclose(over.lab, layer(WARM_WHITE, DARK_WOOD, [first + second]).lab,
                               atol=1e-6)  # fmt: skip


def test_a_thin_film_counts_by_what_it_holds_on_an_area():
    # let out 1 : 9 with a medium that neither absorbs nor scatters, and laid ten times as thick
    from mixlab.paint import optics
    from mixlab.paint.paints import COAT

    made = layer(RED_OXIDE, GREY_GREEN, [0.05])
    let_out = optics.film(RED_OXIDE.K / 10, RED_OXIDE.S / 10, 0.5 * COAT, made.ground)
    np.testing.assert_allclose(RED_OXIDE.surface.measured(let_out), made.reflectance[0])


@pytest.mark.parametrize("mix", ["burnt-umber", "zinc-white", "4 titanium-white + 1 PB29"])
def test_where_it_stands_and_where_it_hides(mix):
    mixture = TABLE.mix(mix)
    made = layer(mixture, GREY_GREEN)
    for tolerance in (1.0, 2.0):
        stands = made.stands(tolerance)
        off = ciede2000(made.lab_at(stands * np.array([0.98, 1, 2, 10, 100])), mixture.lab)
        assert off[0] > tolerance and (off[1:] <= tolerance).all()
    assert mixture.contrast_ratio(made.hides) == pytest.approx(0.98, abs=2e-4)
    assert made.contrast_ratio[3] == pytest.approx(mixture.contrast_ratio(0.1))
    # over its own colour it stands at once
    assert layer(mixture, mixture).stands() == 0


def test_how_far_a_quarter_more_moves_it():
    made = layer(RED_OXIDE, GREY_GREEN, [0.05, 2.0])
    thin, thick = made.moved_by()
    assert thin == pytest.approx(
        max(ciede2000(made.lab[0], made.lab_at(0.05 * by)) for by in (0.75, 1.25))
    )
    assert thin > 3 and thick < 0.1


def test_a_glaze_darkens_and_glows():
    # common practice, no source: a glaze takes a pale ground down and to its own hue, and glows
    # higher in chroma than the paint by itself or its tints in white
    made = layer(RED_OXIDE, GREY_GREEN, [0.002, 0.01, 0.05, 0.1, 2.0])
    lightness, chroma, hue = lab_to_lch(made.lab).T
    assert (np.diff(lightness) < 0).all()
    assert lab_to_lch(made.bare)[1] < chroma[0] < chroma[1] < chroma[2] < chroma[3]
    assert chroma[3] > 1.4 * RED_OXIDE.lch[1] and 30 < hue[3] < 70
    assert made.kind == [GLAZE] * 4 + [COVERS]
    # the undertone over white is purer than any tint
    white = layer(RED_OXIDE, TABLE.mix("titanium-white"), np.geomspace(0.01, 1, 30))
    tints = mixlab.ladder(RED_OXIDE, TABLE.mix("titanium-white"), steps=30)
    assert lab_to_lch(white.lab)[:, 1].max() > lab_to_lch(tints.lab)[:, 1].max() + 10


def test_a_scumble_pales_and_cools():
    # common practice, no source: a warm white dragged thin over a dark turns cooler than the ground
    # and than itself (the turbid medium of the old books)
    made = layer(WARM_WHITE, DARK_WOOD, [0.02, 0.05, 0.1, 3.0])
    assert (np.diff(made.lab[:, 0]) > 0).all()
    assert made.lab[0, 2] < made.bare[2] and made.lab[0, 2] < WARM_WHITE.lab[2]
    assert made.kind == [SCUMBLE] * 3 + [COVERS]
    # zinc white is thin beside titanium white
    zinc, titanium = (layer(TABLE.mix(id), DARK_WOOD) for id in ("zinc-white", "titanium-white"))
    assert zinc.hides > 4 * titanium.hides and zinc.stands() > 2 * titanium.stands()


def test_the_curve_of_a_typed_ground_matters_little():
    """Films over grounds of which only the colour is known, beside films over the paint itself."""
    films = ["transparent-red-oxide", "ultramarine-blue", "4 titanium-white + 1 yellow-ochre"]
    grounds = ["2 PW6 + 1 PY43", "PBr24", "8 PW6 + 1 PG18", "burnt-umber", "10 PW6 + 1 PB29"]
    off = [
        ciede2000(layer(TABLE.mix(film), mixture).lab, layer(TABLE.mix(film), mixture.lab).lab)
        for film in films for mixture in map(TABLE.mix, grounds)
    ]  # fmt: skip
    # measured: mean 0.49, the largest 4.5 for ultramarine over Naples yellow; dense earths below 1
    assert np.mean(off) < 0.6 and np.max(off) < 5


def test_what_no_ground_looks_like():
    for wrong, why in (
        ([50, 150, 0], "no dry surface seen gloss has the colour 50,150,0: the nearest is"),
        ([50, 10], "a ground is a mix, a colour"),
        ([np.nan, 0, 0], "a ground is a mix, a colour"),
        (np.full(36, 1.2), "reflects 0.0015 to"),
        (np.full(36, -0.1), "reflects 0.0015 to"),
    ):
        with pytest.raises(LayerError, match=why):
            layer(RED_OXIDE, wrong)
    for coats in (0, -1, [0.1, np.nan], np.inf, [[0.1]], 1e9):
        with pytest.raises(LayerError, match="thickness of a film is above 0"):
            layer(RED_OXIDE, GREY_GREEN, coats)
    # paper white is as near as a glossy surface comes
    curve = ground_of([100, 0, 0], VIEW, RED_OXIDE.paints[0].surface)
    assert reflectance_to_lab(RED_OXIDE.surface.measured(curve), VIEW)[0] > 98.5
