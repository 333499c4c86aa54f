"""Behaviour of the Munsell conversions: notation, errors, edges, and the way there and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import mixlab
from mixlab.colour import munsell
from mixlab.colour.spaces import lab_to_munsell, munsell_to_lab, viewing
from mixlab.errors import MunsellError


def apart(one, other):
    """Return how far apart hvc are, the hue as its arc at that chroma."""
    hue = (one[..., 0] - other[..., 0] + 50) % 100 - 50
    arc = 2 * np.pi / 100 * hue * one[..., 2]
    return np.abs(np.stack([arc, *np.moveaxis((one - other)[..., 1:], -1, 0)])).max()


# --- value --------------------------------------------------------------------------------------


def test_value_inverts_luminance_for_any_shape():
    values = np.linspace(0, 10, 2001).reshape(3, 667)
    np.testing.assert_allclose(munsell.value(munsell.luminance(values)), values, atol=1e-10)


def test_luminance_outside_its_range_counts_as_the_end():
    np.testing.assert_allclose(munsell.value([-3.0, 0.0, 100.0, 140.0]), [0, 0, 10, 10], atol=1e-12)


# --- there and back -----------------------------------------------------------------------------


@given(
    hue=st.floats(0, 100, exclude_max=True),
    value=st.floats(0.05, 9.9999),
    part=st.floats(0, 1),
)
def test_every_colour_of_the_renotation_comes_back(hue, value, part):
    hvc = np.array([hue, value, part * munsell.greatest_chroma(hue, value)])
    assert apart(hvc, munsell.xyY_to_munsell(munsell.munsell_to_xyY(hvc))) < 1e-6


@given(
    x=st.floats(-1, 2), y=st.floats(-1, 2), luminance=st.floats(-5, 130),
)  # fmt: skip
def test_any_numbers_give_a_munsell_colour(x, y, luminance):
    hue, value, chroma = munsell.xyY_to_munsell([x, y, luminance])
    assert 0 <= hue < 100
    assert 0 <= value <= 10
    assert 0 <= chroma < np.inf


@pytest.mark.parametrize("offset", [1e-3, 1e-6, 1e-12])
def test_near_neutrals_keep_their_hue(offset):
    around = np.linspace(0, 2 * np.pi, 50)
    x, y = munsell.WHITE[0] + offset * np.cos(around), munsell.WHITE[1] + offset * np.sin(around)
    xyY = np.stack([x, y, np.full(50, 20.0)], axis=-1)
    hvc = munsell.xyY_to_munsell(xyY)
    assert np.all(hvc[:, 2] > 0)
    assert np.all(hvc[:, 2] < 500 * offset)
    np.testing.assert_allclose(munsell.munsell_to_xyY(hvc), xyY, atol=1e-9 * offset + 1e-15)


@pytest.mark.parametrize("xy", [munsell.WHITE, (0.4, 0.4), (0.0, 0.0), (np.nan, np.nan)])
def test_black_is_neutral_whatever_its_chromaticity(xy):
    np.testing.assert_array_equal(munsell.xyY_to_munsell([*xy, 0.0]), [0, 0, 0])


def test_white_is_neutral():
    for level in (9.0, 9.5, 9.99, 10.0):
        white = [*munsell.WHITE, float(munsell.luminance(level))]
        np.testing.assert_allclose(munsell.xyY_to_munsell(white), [0, level, 0], atol=1e-12)


# --- above value 9, where the renotation ends ----------------------------------------------------

C = viewing("C", "2")


@given(hue=st.floats(0, 100), value=st.floats(9, 10), chroma=st.floats(0.1, 8))
def test_above_value_9_chroma_keeps_in_step_with_cielab(hue, value, chroma):
    light, edge = munsell_to_lab([[hue, value, chroma], [hue, 9.0, chroma]], C)
    # the cube root alone, without the line of CIELAB near black: no near white comes there
    np.testing.assert_allclose(light[1:], edge[1:], atol=0.01)
    back = lab_to_munsell([[light[0], *edge[1:]]], C)[0]
    assert apart(np.array([hue, value, chroma]), back) < 0.003


def test_a_tinge_of_a_near_white_is_a_small_chroma():
    pale = mixlab.read_table().mix("2 lemon-yellow + 9 titanium-white")
    hvc = lab_to_munsell(pale.lab, pale.view)
    assert hvc[1] > 9.5 and 50 < pale.lch[1] < 55
    assert 6 < hvc[2] < 8


def test_no_step_at_value_9():
    hue = np.arange(0, 100, 2.5)
    for chroma in (0.5, 2, 6):
        below, above = (
            munsell.munsell_to_xyY(np.stack(np.broadcast_arrays(hue, 9 + by, chroma), axis=-1))
            for by in (-1e-6, 1e-6)
        )
        np.testing.assert_allclose(below, above, atol=1e-4)
        np.testing.assert_allclose(below[:, :2], above[:, :2], atol=1e-6)


@given(hue=st.floats(0, 100), value=st.floats(9, 9.999))
def test_the_greatest_chroma_above_value_9_is_that_of_value_9(hue, value):
    assert munsell.greatest_chroma(hue, value) == munsell.greatest_chroma(hue, 9.0) > 0
    assert munsell.greatest_chroma(hue, 10.0) == 0


def test_what_is_not_a_number_stays_so():
    assert np.isnan(munsell.xyY_to_munsell([np.nan, 0.3, 20.0])).all()
    assert np.isnan(munsell.munsell_to_xyY([5.0, np.nan, 2.0])).all()


def test_chroma_beyond_the_renotation_is_carried_on():
    hvc = np.array([[5.0, 5.0, 60.0], [25.0, 8.5, 40.0], [55.0, 0.3, 8.0]])
    assert np.all(hvc[:, 2] > munsell.greatest_chroma(hvc[:, 0], hvc[:, 1]))
    assert apart(hvc, munsell.xyY_to_munsell(munsell.munsell_to_xyY(hvc))) < 1e-6
    rungs = munsell.munsell_to_xyY(hvc + np.array([0.0, 0.0, 2.0]) * np.arange(4)[:, None, None])
    from_white = np.linalg.norm(rungs[..., :2] - munsell.WHITE, axis=-1)
    assert np.all(np.diff(from_white, axis=0) > 0)


def test_many_at_once_are_the_same_as_one_by_one():
    rng = np.random.default_rng(4)
    xyY = rng.uniform([0.25, 0.25, 0], [0.45, 0.45, 100], (4001, 3)).reshape(1, 4001, 3)
    together = munsell.xyY_to_munsell(xyY)
    assert together.shape == xyY.shape
    for k in (0, 1999, 2000, 4000):
        np.testing.assert_allclose(munsell.xyY_to_munsell(xyY[0, k]), together[0, k], rtol=1e-7)
    np.testing.assert_allclose(
        munsell.munsell_to_xyY(together)[0, 7], munsell.munsell_to_xyY(together[0, 7])
    )
    assert munsell.xyY_to_munsell(np.empty((0, 3))).shape == (0, 3)


def test_the_hue_circle_closes():
    ends = munsell.munsell_to_xyY([[0.0, 5, 8], [100.0, 5, 8], [1e-9, 5, 8], [-1e-9, 5, 8]])
    np.testing.assert_allclose(ends, np.broadcast_to(ends[0], ends.shape), atol=1e-9)


# --- notation -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "hvc"),
    [
        ("7.5YR 4/6", [17.5, 4, 6]),
        ("5yr 4/6", [15, 4, 6]),
        (" 5R4 / 6 ", [5, 4, 6]),
        ("4.3PB 3.2/8.1", [74.3, 3.2, 8.1]),
        ("10RP 5/4", [0, 5, 4]),
        ("0R 5/4", [0, 5, 4]),
        ("10R 5/4", [10, 5, 4]),
        ("0YR 5/4", [10, 5, 4]),
        ("N 5", [0, 5, 0]),
        ("N 5/", [0, 5, 0]),
        ("n2.5/0", [0, 2.5, 0]),
    ],
)
def test_notation_is_read(text, hvc):
    np.testing.assert_allclose(munsell.parse_munsell(text), hvc, atol=1e-12)


@pytest.mark.parametrize(
    ("text", "wrong", "right"),
    [
        ("", "is empty", "7.5YR 4/6"),
        ("   ", "is empty", "7.5YR 4/6"),
        ("ochre", "cannot read 'ochre'", "7.5YR 4/6"),
        ("N", "cannot read 'N'", "N 5"),
        ("7,5YR 4/6", "cannot read '7,5YR 4/6'", "7.5YR 4/6"),
        ("5R 4/6\na\nb", r"cannot read '5R 4/6\na\nb'", "7.5YR 4/6"),
        ("5RY 4/6", "unknown hue 'RY'", "YR"),
        ("YR 4/6", "no hue number before YR", "7.5YR 4/6"),
        ("12R 4/6", "hue number 12 outside 0 to 10", "7.5YR 4/6"),
        ("5R 14/6", "value 14 outside 0 to 10", "7.5YR 4/6"),
        ("5R -1/6", "value -1 outside 0 to 10", "7.5YR 4/6"),
        ("5R 4", "no chroma", "7.5YR 4/6"),
        ("5R 4/-2", "negative chroma -2", "7.5YR 4/6"),
        ("5R 4/6 warm", "'warm' too much", "7.5YR 4/6"),
        ("5N 5", "a neutral with hue or chroma", "N 5"),
        ("N 5/3", "a neutral with hue or chroma", "N 5"),
        ("5R 5/44", "chroma 44 in '5R 5/44' is beyond the renotation", "write 5R 5/28 or less"),
        ("5R 10/2", "beyond the renotation", "write N 10"),
    ],
)
def test_what_is_not_notation_is_told_in_one_line(text, wrong, right):
    with pytest.raises(MunsellError) as caught:
        munsell.parse_munsell(text)
    message = str(caught.value)
    assert wrong in message
    assert right in message
    assert "\n" not in message


@pytest.mark.parametrize(
    ("hvc", "decimals", "text"),
    [
        ([14.4, 5.1, 4.2], 1, "4.4YR 5.1/4.2"),
        ([17.5, 4, 6], 0, "8YR 4/6"),
        ([20.04, 5, 4], 1, "10.0YR 5.0/4.0"),
        ([20.04, 5, 4], 2, "0.04Y 5.00/4.00"),
        ([99.97, 5, 4], 1, "10.0RP 5.0/4.0"),
        ([0, 5, 4], 1, "10.0RP 5.0/4.0"),
        ([0, 5, 0.04], 1, "N 5.0/"),
        ([30, 5, 0.04], 2, "10.00Y 5.00/0.04"),
        ([0, -0.0, 0], 1, "N 0.0/"),
        ([0, 9.94, 0], 1, "N 9.9/"),
    ],
)
def test_notation_is_written(hvc, decimals, text):
    assert munsell.write_munsell(hvc, decimals) == text


@given(
    hue=st.floats(0, 100), value=st.floats(0.1, 9.8), part=st.floats(0, 0.8),
)  # fmt: skip
def test_written_notation_reads_back(hue, value, part):
    hvc = np.array([hue, value, part * munsell.greatest_chroma(hue, value)])
    back = munsell.parse_munsell(munsell.write_munsell(hvc, decimals=3))
    if hvc[2] < 0.0005:
        hvc[2] = 0.0
    assert apart(hvc, back) < 0.0005 * max(1, 2 * np.pi / 100 * hvc[2]) + 1e-9
