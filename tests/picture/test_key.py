"""The key: lights and darks of a scene on the range of paint."""

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from scipy.stats import norm

import mixlab
from mixlab.colour.spaces import lab_to_lch, lab_to_value, viewing
from mixlab.errors import PhotoError, TargetError
from mixlab.files import bundled
from mixlab.picture.key import Key, floor_of, key_of
from mixlab.targets.one import from_photo
from mixlab.targets.photo_files import read_photo

VIEW = viewing()
POND = mixlab.read_palette("mill-pond")
FLOOR = floor_of(POND, VIEW)
SCENE = read_photo(bundled("scene.jpg"))
L = np.linspace(0, 100, 1001)


def key(scene, paint, **more):
    return Key(VIEW, scene, paint, FLOOR, **more)


@pytest.fixture(scope="module")
def wide(tmp_path_factory):
    """A picture that runs from black to white, in greys and dark colours."""
    grey = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 3, axis=2).repeat(40, axis=0)
    path = tmp_path_factory.mktemp("key") / "wide.png"
    Image.fromarray(grey).save(path)
    return read_photo(path)


@pytest.mark.parametrize("ends", [(10, 97), (16, 90), (30, 60)])
def test_the_order_of_values_is_kept_and_the_middle_stays(ends):
    made = key((0.0, 100.0), ends).lightness(L)
    assert (np.diff(made) > 0).all()
    assert made[0] == pytest.approx(ends[0]) and made[-1] == pytest.approx(ends[1])
    lift, drop = ends[0], 100 - ends[1]
    if 4 * (lift + drop) <= 100:
        middle = (4 * lift <= L) & (100 - 4 * drop >= L)
        np.testing.assert_allclose(made[middle], L[middle], atol=1e-9)
        assert np.diff(made).min() >= 0.5 * 0.1 - 1e-9  # half of the contrast at the very ends


def cie_156(L, ends):
    """Lightness rescaling of CIE 156:2004 in closed form, for a darkest of L* 15 (from memory)."""
    curve = norm.cdf(L, 58.2, 35.0)
    low, high = norm.cdf([0, 100], 58.2, 35.0)
    return ends[0] + (curve - low) / (high - low) * (ends[1] - ends[0])


def test_against_the_sigmoid_of_cie_156():
    """Both meet the ends and keep the order; ours leaves the middle nearer to where it was."""
    ends = (15.0, 100.0)
    ours, theirs = key((0.0, 100.0), ends).lightness(L), cie_156(L, ends)
    for made in (ours, theirs):
        assert made[[0, -1]] == pytest.approx(ends) and (np.diff(made) > 0).all()
    middle = (L > 40) & (L < 90)
    assert np.abs(ours - L)[middle].max() < 3 < np.abs(theirs - L)[middle].max()


def test_a_scene_of_less_range_than_paint_is_not_stretched():
    mist = key((40.0, 80.0), (10.0, 97.0))
    np.testing.assert_allclose(mist.lightness(L[400:801]), L[400:801])
    assert "nothing has to be moved" in mist.words


def test_hue_is_kept_and_chroma_only_rises():
    rng = np.random.default_rng(3)
    lab = rng.uniform([1, -40, -40], [99, 40, 40], (500, 3))
    made = lab_to_lch(key((0.0, 100.0), (14.0, 97.0)).set(lab))
    given = lab_to_lch(lab)
    turn = np.abs((made[:, 2] - given[:, 2] + 180) % 360 - 180)
    assert turn.max() < 1e-6 and (made[:, 1] >= given[:, 1] - 1e-9).all()
    assert (made[:, 1] <= 1.5 * given[:, 1] + 1e-9).all()


def test_what_the_floor_says_is_mixed():
    """The darkest mixes by hue and chroma, against random mixes of the palette."""
    rng = np.random.default_rng(5)
    shares = rng.dirichlet(np.full(len(POND), 0.3), 4000)
    lab = mixlab.nearest.medium.medium_of(POND, VIEW).lab(shares)
    below = (FLOOR.at(lab) - lab[:, 0])[np.hypot(*lab[:, 1:].T) < 25]
    assert len(below) > 500 and np.quantile(below, 0.995) < 1.0
    assert FLOOR.lightest == pytest.approx(mixlab.read_table().mix("PW6").lab[0])


@pytest.mark.parametrize("finish", ["gloss", "matt"])
def test_a_photo_is_fitted(wide, finish):
    view = viewing(finish=finish)
    made = key_of(wide, POND, view)
    assert made.scene[0] < 2 and made.scene[1] > 98
    assert made.floor.darkest <= made.ends[0] < made.floor.darkest + 10
    assert made.ends[1] == made.floor.lightest
    assert "darks are lifted by up to" in made.words
    none = key_of(wide, POND, view, "none")
    lab = np.array([[3.0, 1.0, 2.0]])
    np.testing.assert_array_equal(none.set(lab), lab)


def test_matt_paint_lifts_more_than_gloss(wide):
    assert key_of(wide, POND, viewing(finish="matt")).ends[0] > key_of(wide, POND, VIEW).ends[0] + 5


def test_high_and_low_key(wide):
    for value in (3, 5, 8):
        made = key_of(wide, POND, VIEW, str(value))
        half = made.lightness(made.middle[0])
        assert float(lab_to_value([float(half), 0, 0], VIEW)) == pytest.approx(value, abs=0.01)
        assert (np.diff(made.lightness(L)) >= 0).all()


def test_the_painter_names_the_ends(wide):
    made = key_of(wide, POND, VIEW, scene="2,8")
    values = lab_to_value([[end, 0, 0] for end in made.scene], VIEW)
    np.testing.assert_allclose(values, [2, 8], atol=0.01)
    places = key_of(wide, POND, VIEW, scene="20,5,240,5")
    assert places.scene == pytest.approx(
        [from_photo(wide, f"{x},5", VIEW).lab[0] for x in (20, 240)], abs=1e-6
    )


@pytest.mark.parametrize(("asked", "scene"), [
    ("2", None), ("low", None), ("nan", None), ("fit", "8,2"), ("fit", "1"), ("fit", "1,11"),
    ("fit", "1,1,9000,1"),
])  # fmt: skip
def test_what_makes_no_sense_is_refused(wide, asked, scene):
    with pytest.raises((TargetError, PhotoError)):
        key_of(wide, POND, VIEW, asked, scene)


def test_of_two_places_the_darker_stays_the_darker():
    made = key_of(SCENE, POND, VIEW)
    narrow = replace(made, paint=(35.0, 80.0))  # a palette of few lights and darks
    rng = np.random.default_rng(2)
    labs = np.array([
        from_photo(SCENE, f"{x},{y}", VIEW).lab
        for x, y in rng.integers([0, 0], [SCENE.width, SCENE.height], (60, 2))
    ])  # fmt: skip
    order = np.argsort(labs[:, 0])
    assert (np.diff(narrow.set(labs)[order, 0]) >= 0).all()
