"""Colours keep their shape, come back the way they went, and what is not known is told."""

import re
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixlab.colour import munsell
from mixlab.colour import spaces as own
from mixlab.colour.difference import ciede2000, difference, uniform
from mixlab.errors import LightError, MixlabError

untimed = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
VIEWS = [own.viewing(), own.viewing("A", "10"), own.viewing("FL11"), own.viewing("LED-V1", "10")]
lab = st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120)).map(np.array)
rgb = st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1)).map(np.array)
views = st.sampled_from(VIEWS)


# --- light and observer -------------------------------------------------------------------------


def test_every_light_has_weights_for_both_observers():
    assert own.lights()[0] == "D65"
    assert len(own.lights()) == len(set(own.lights())) == 16
    assert own.WAVELENGTHS.shape == (36,)
    assert (own.WAVELENGTHS[0], own.WAVELENGTHS[-1]) == (380, 730)
    for light in own.lights():
        for observer in ("2", "10"):
            view = own.viewing(light, observer)
            assert (view.light, view.observer) == (light, observer)
            assert view.weights.shape == (36, 3)
            np.testing.assert_array_equal(view.white, view.weights.sum(axis=0))
            assert view.white[1] == pytest.approx(100, abs=1e-5)
        assert np.abs(own.viewing(light, "2").white - own.viewing(light, "10").white).max() > 0.1


@pytest.mark.parametrize(
    ("light", "observer", "expected"),
    [
        ("d65", "2", ("D65", "2")),
        (" fl11 ", "10", ("FL11", "10")),
        ("led-rgb1", " 10deg", ("LED-RGB1", "10")),
        ("A", "2 DEG", ("A", "2")),
    ],
)
def test_lights_and_observers_are_read_leniently(light, observer, expected):
    view = own.viewing(light, observer)
    assert (view.light, view.observer) == expected


def test_the_usual_view_is_daylight():
    assert (own.viewing().light, own.viewing().observer) == ("D65", "2")


@pytest.mark.parametrize("light", ["D66", "", "sun\nshine", "65", "FL 2"])
def test_unknown_light_is_told_in_one_line(light):
    with pytest.raises(LightError) as caught:
        own.viewing(light)
    message = str(caught.value)
    assert "\n" not in message
    assert repr(light) in message
    assert "known lights: " + ", ".join(own.lights()) in message
    assert "sunlight" in message
    assert isinstance(caught.value, MixlabError)


@pytest.mark.parametrize("observer", ["4", "", "2\n2", "1931", "10degrees"])
def test_unknown_observer_is_told_in_one_line(observer):
    with pytest.raises(LightError) as caught:
        own.viewing("D65", observer)
    message = str(caught.value)
    assert "\n" not in message
    assert repr(observer) in message
    assert "2 or 10" in message


def test_colour_science_is_not_needed():
    code = (
        "import sys, mixlab.colour.spaces as c; c.hex_to_lab('#445566', c.viewing('A', '10'));"
        "sys.exit('colour' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# --- reflectance to colour ----------------------------------------------------------------------


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: f"{view.light}-{view.observer}")
def test_white_grey_and_black(view):
    greys = np.array([1.0, 0.184186518, 0.0])[:, None] * np.ones(36)
    np.testing.assert_allclose(
        own.reflectance_to_lab(greys, view), [[100, 0, 0], [50, 0, 0], [0, 0, 0]], atol=1e-6
    )
    np.testing.assert_allclose(own.reflectance_to_xyz(greys[0], view), view.white, rtol=1e-14)


def test_light_adds_up():
    rng = np.random.default_rng(1)
    one, other = rng.random((2, 36))
    view = own.viewing("D50", "10")
    np.testing.assert_allclose(
        own.reflectance_to_xyz(0.3 * one + 0.7 * other, view),
        0.3 * own.reflectance_to_xyz(one, view) + 0.7 * own.reflectance_to_xyz(other, view),
        rtol=1e-13,
    )
    # a band counts at its own wavelengths: red cloth is red
    red = np.where(own.WAVELENGTHS > 600, 0.8, 0.05)
    lightness, a, _ = own.reflectance_to_lab(red, view)
    assert 30 < lightness < 70
    assert a > 50


SHAPES = [(), (1,), (5,), (2, 3), (0,), (2, 1, 2)]


@pytest.mark.parametrize("shape", SHAPES)
def test_any_leading_axes(shape):
    rng = np.random.default_rng(2)
    view = own.viewing("A", "10")
    curves = rng.random((*shape, 36))
    labs = rng.uniform([5, -30, -30], [95, 30, 30], (*shape, 3))
    triples = rng.random((*shape, 3))
    for function, values in [
        (lambda v: own.reflectance_to_xyz(v, view), curves),
        (lambda v: own.reflectance_to_lab(v, view), curves),
        (lambda v: own.xyz_to_lab(100 * v, view.white), triples),
        (lambda v: own.lab_to_xyz(v, view.white), labs),
        (own.lab_to_lch, labs),
        (own.lch_to_lab, labs),
        (lambda v: own.adapt(v, view.white, own.SRGB_WHITE), triples),
        (own.rgb_to_xyz, triples),
        (own.xyz_to_rgb, triples),
        (own.decode_srgb, triples),
        (own.encode_srgb, triples),
        (lambda v: own.lab_to_rgb(v, view), labs),
        (lambda v: own.rgb_to_lab(v, view), triples),
        (lambda v: own.lab_to_munsell(v, view), labs),
        (lambda v: own.munsell_to_lab(v * [1, 0.05, 0.02] + [0, 2, 1], view), abs(labs)),
        (uniform, labs),
        (lambda v: difference(v, v[..., ::-1]), labs),
    ]:
        together = function(values)
        assert together.shape == (*shape, 3)
        for place in np.ndindex(shape):
            np.testing.assert_allclose(
                together[place], function(values[place]), rtol=1e-7, atol=1e-9
            )
    assert ciede2000(labs, labs[..., ::-1]).shape == shape
    assert own.in_gamut(labs, view).shape == shape


# --- there and back -----------------------------------------------------------------------------


@untimed
@given(lab, views)
def test_cielab_comes_back(colour, view):
    xyz = own.lab_to_xyz(colour, view.white)
    np.testing.assert_allclose(own.xyz_to_lab(xyz, view.white), colour, atol=1e-9)
    np.testing.assert_allclose(own.lch_to_lab(own.lab_to_lch(colour)), colour, atol=1e-12)
    seen = own.lab_to_rgb(colour, view)
    np.testing.assert_allclose(own.rgb_to_lab(seen, view), colour, atol=1e-8)


@untimed
@given(st.floats(-120, 120), st.floats(-120, 120))
def test_chroma_and_hue_are_polar(a, b):
    _, chroma, hue = own.lab_to_lch([50, a, b])
    assert 0 <= hue <= 360
    assert chroma == pytest.approx(np.hypot(a, b), abs=1e-12)


def test_hue_angles_of_the_axes():
    hues = own.lab_to_lch([[50, 1, 0], [50, 0, 1], [50, -1, 0], [50, 0, -1]])[:, 2]
    np.testing.assert_allclose(hues, [0, 90, 180, 270], atol=1e-12)


@untimed
@given(rgb)
def test_srgb_comes_back(colour):
    np.testing.assert_allclose(own.xyz_to_rgb(own.rgb_to_xyz(colour)), colour, atol=1e-12)
    np.testing.assert_allclose(own.decode_srgb(own.encode_srgb(colour)), colour, atol=1e-7)
    np.testing.assert_allclose(own.encode_srgb(own.decode_srgb(colour)), colour, atol=1e-7)


def test_encoding_rises_and_is_clipped():
    levels = own.encode_srgb(np.linspace(-0.5, 1.5, 2001))
    assert np.all(np.diff(levels) >= 0)
    assert np.all(np.diff(levels[501:1500]) > 0)
    assert (levels[:500] == 0).all()
    np.testing.assert_allclose(levels[1500:], 1, rtol=1e-15)


@untimed
@given(rgb, views, views)
def test_adaptation_comes_back_and_carries_white_to_white(colour, one, other):
    xyz = own.rgb_to_xyz(colour)
    there = own.adapt(xyz, one.white, other.white)
    np.testing.assert_allclose(own.adapt(there, other.white, one.white), xyz, atol=1e-10)
    np.testing.assert_allclose(
        own.adapt(one.white, one.white, other.white), other.white, rtol=1e-12
    )
    np.testing.assert_allclose(own.adapt(xyz, one.white, one.white), xyz, atol=1e-12)


# --- sRGB ---------------------------------------------------------------------------------------


@untimed
@given(st.integers(0, 0xFFFFFF), views)
def test_hex_comes_back(number, view):
    text = f"#{number:06x}"
    colour = own.hex_to_lab(text, view)
    assert own.lab_to_hex(colour, view) == text
    assert own.in_gamut(colour, view)


def test_hex_is_read_leniently():
    expected = own.hex_to_lab("#ab12cd", own.viewing())
    for text in ("ab12cd", "AB12CD", " #Ab12cD\n"):
        np.testing.assert_array_equal(own.hex_to_lab(text, own.viewing()), expected)
    # CSS Color 4, 5.2: of three digits each stands twice
    expected = own.hex_to_lab("#00ffaa", own.viewing())
    for text in ("#0fa", " #0Fa "):
        np.testing.assert_array_equal(own.hex_to_lab(text, own.viewing()), expected)


@pytest.mark.parametrize(
    "text", ["", "#", "#12345", "#1234567", "#12345g", "##123456", "#1 2 3 4", "0x1234", "+12345",
             "#١٢٣٤٥٦", "fff", "#ffff", "##fff", "#ff", "#ffg"],
)  # fmt: skip
def test_what_is_not_hex_is_refused(text):
    with pytest.raises(ValueError, match="^" + re.escape(text) + "$"):
        own.hex_to_lab(text, own.viewing())


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: f"{view.light}-{view.observer}")
def test_paper_white_is_screen_white(view):
    assert own.lab_to_hex([100, 0, 0], view) == "#ffffff"
    assert own.lab_to_hex([0, 0, 0], view) == "#000000"
    np.testing.assert_allclose(own.hex_to_lab("#ffffff", view), [100, 0, 0], atol=1e-9)
    grey = own.lab_to_hex([50, 0, 0], view)
    assert grey[1:3] == grey[3:5] == grey[5:]


def test_colours_beyond_the_screen_are_clipped_and_said_to_be():
    view = own.viewing()
    beyond = [[50, 90, 0], [90, -90, 90], [60, -70, -40], [110, 0, 0], [20, 60, -120], [-5, 0, 0]]
    assert not own.in_gamut(beyond, view).any()
    assert own.lab_to_hex([110, 0, 0], view) == "#ffffff"
    assert own.lab_to_hex([-5, 0, 0], view) == "#000000"
    for colour in beyond:
        code = own.lab_to_hex(colour, view)
        assert "00" in (code[1:3], code[3:5], code[5:]) or "ff" in (code[1:3], code[3:5], code[5:])
        assert own.in_gamut(own.hex_to_lab(code, view), view)
    for channel in range(3):
        # half a level of 255 is 1.5e-4 of linear light at black and 4.5e-3 at white, IEC 61966-2-1
        for level, shown in ((-0.0003, False), (-0.0001, True), (1.004, True), (1.006, False)):
            triple = np.full(3, 0.5)
            triple[channel] = level
            assert own.in_gamut(own.rgb_to_lab(triple, view), view) == shown


# --- Munsell ------------------------------------------------------------------------------------


@untimed
@given(st.floats(0, 100), st.floats(0.5, 9.8), st.floats(0.01, 0.95), views)
def test_munsell_comes_back(hue, value, part, view):
    hvc = np.array([hue, value, part * munsell.greatest_chroma(hue, value)])
    back = own.lab_to_munsell(own.munsell_to_lab(hvc, view), view)
    turn = (back[0] - hvc[0] + 50) % 100 - 50
    assert abs(turn) * hvc[2] < 1e-4
    np.testing.assert_allclose(back[1:], hvc[1:], atol=1e-5)


@untimed
@given(lab, views)
def test_any_colour_has_a_munsell_notation(colour, view):
    hue, value, chroma = own.lab_to_munsell(colour, view)
    assert 0 <= hue < 100
    assert 0 <= value <= 10
    assert 0 <= chroma < np.inf


def test_a_dark_that_no_light_makes_is_neutral():
    # its X, Y and Z add up to less than nothing
    hvc = own.lab_to_munsell([5, -120, 120], own.viewing())
    assert hvc[2] == 0
    assert 0.3 < hvc[1] < 0.6


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: f"{view.light}-{view.observer}")
def test_neutrals_are_neutral_under_any_light(view):
    hvc = own.lab_to_munsell([[0, 0, 0], [50, 0, 0], [100, 0, 0]], view)
    np.testing.assert_allclose(hvc[:, 2], 0, atol=1e-6)
    np.testing.assert_allclose(hvc[:, 1], munsell.value([0, 18.4186518, 100]), atol=1e-6)
    np.testing.assert_allclose(
        own.munsell_to_lab([[0, 0, 0], [0, 10, 0]], view), [[0, 0, 0], [100, 0, 0]], atol=1e-9
    )


# --- differences --------------------------------------------------------------------------------


@untimed
@given(lab, lab, st.floats(0.3, 3), st.floats(0.3, 3), st.floats(0.3, 3))
def test_difference_is_a_vector_as_long_as_ciede2000(one, other, kl, kc, kh):
    vector = difference(one, other, kl, kc, kh)
    miss = ciede2000(one, other, kl, kc, kh)
    assert np.linalg.norm(vector) == pytest.approx(miss, rel=1e-12, abs=1e-12)
    assert ciede2000(other, one, kl, kc, kh) == pytest.approx(miss, rel=1e-7, abs=1e-9)
    assert ciede2000(one, one, kl, kc, kh) == 0
    assert vector[0] * kl == pytest.approx(difference(one, other)[0], rel=1e-12, abs=1e-12)


def test_components_lie_along_lightness_chroma_and_hue():
    base = np.array([50.0, 30.0, 0.0])
    lighter = difference(base, [52.0, 30.0, 0.0])
    richer = difference(base, [50.0, 32.0, 0.0])
    turned = difference(base, own.lch_to_lab([50.0, 30.0, 4.0]))
    assert lighter[0] > 0
    np.testing.assert_allclose(lighter[1:], 0, atol=1e-12)
    assert richer[1] > 0
    np.testing.assert_allclose(richer[[0, 2]], 0, atol=1e-12)
    assert turned[2] > 0
    assert abs(turned[1]) < 0.1 * turned[2]
    np.testing.assert_allclose(difference([52.0, 30.0, 0.0], base), -lighter, rtol=1e-12)


def test_parametric_factors_divide_their_component():
    one, other = np.array([50.0, 20.0, 30.0]), np.array([52.0, 24.0, 27.0])
    plain = difference(one, other)
    np.testing.assert_allclose(difference(one, other, kl=2)[0], plain[0] / 2)
    # green, where nothing is turned
    green, richer = np.array([50.0, -10.0, 0.0]), np.array([50.0, -14.0, 0.0])
    assert ciede2000(green, richer, kc=2) == pytest.approx(ciede2000(green, richer) / 2)
    around = own.lch_to_lab([50.0, 10.0, 184.0])
    assert ciede2000(green, around, kh=2) == pytest.approx(
        ciede2000(green, around) / 2, rel=0.01
    )


@untimed
@given(st.floats(0, 100), st.floats(0, 2 * np.pi), st.floats(0, 1e-3), st.floats(0, 1e-3))
def test_ciede2000_is_smooth_around_neutral(lightness, angle, one, other):
    near = np.array([lightness, one * np.cos(angle), one * np.sin(angle)])
    far = np.array([lightness, -other * np.cos(angle), other * np.sin(angle)])
    apart = np.linalg.norm(near - far)
    assert apart - 1e-9 <= ciede2000(near, far) <= 1.5 * apart + 1e-9


def test_differences_broadcast():
    many, one = np.random.default_rng(3).uniform(0, 60, (4, 5, 3)), np.array([50.0, 10.0, 10.0])
    miss = ciede2000(many, one)
    assert miss.shape == (4, 5)
    assert difference(many[:, :1], many[:1]).shape == (4, 5, 3)
    np.testing.assert_allclose(ciede2000(one, many), miss, rtol=1e-12)
    assert miss[2, 3] == pytest.approx(ciede2000(many[2, 3], one), rel=1e-14)


@untimed
@given(st.floats(0, 99), st.floats(0, 1e-6))
def test_even_coordinates_are_smooth_at_grey(lightness, chroma):
    grey = uniform([lightness, 0, 0])
    np.testing.assert_allclose(grey[1:], 0, atol=0)
    assert uniform([lightness + 1, 0, 0])[0] > grey[0]
    tinged = uniform([[lightness, chroma, 0], [lightness, 0, -chroma]])
    np.testing.assert_allclose(
        tinged - grey, [[0, 1.5 * chroma, 0], [0, 0, -chroma]], rtol=1e-5, atol=1e-9
    )
