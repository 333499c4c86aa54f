"""The demo scene and the places in it: what the file is, and what its colours promise."""

import csv
import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from mixlab.colour.spaces import decode_srgb, lab_to_lch, rgb_to_lab, viewing
from mixlab.files import bundled

SIZE = (1200, 800)
NAMES = {
    "kiln brick in light", "kiln brick in shadow", "far birches", "birch bark", "pond shadow",
    "sky near the horizon", "wet clay path", "reeds in the foreground",
}


def pixels(source):
    with Image.open(source) as picture:
        return np.asarray(picture.convert("RGB"), float)


@pytest.fixture(scope="module")
def scene():
    return pixels(bundled("scene.jpg"))


@pytest.fixture(scope="module")
def places():
    with open(bundled("scene.csv"), newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    return {row["name"]: tuple(int(row[k]) for k in ("x", "y", "radius")) for row in rows}


def disc(scene, x, y, radius):
    rows, columns = np.ogrid[: scene.shape[0], : scene.shape[1]]
    return scene[(columns - x) ** 2 + (rows - y) ** 2 <= radius**2]


def lab_of(encoded):
    return rgb_to_lab(decode_srgb(encoded / 255), viewing("D65", "2"))


@pytest.fixture(scope="module")
def lch(scene, places):
    """Mean L*, C*, h of each place, averaged as light."""
    view = viewing("D65", "2")
    means = {name: decode_srgb(disc(scene, *at) / 255).mean(0) for name, at in places.items()}
    return {name: lab_to_lch(rgb_to_lab(rgb, view)) for name, rgb in means.items()}


def test_the_file_is_a_small_srgb_jpeg():
    path = bundled("scene.jpg")
    assert path.stat().st_size < 500_000
    with Image.open(path) as picture:
        assert (picture.format, picture.mode, picture.size) == ("JPEG", "RGB", SIZE)
        profile = ImageCms.ImageCmsProfile(io.BytesIO(picture.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)


def test_the_picture_has_a_full_range_and_clips_nowhere_to_speak_of(scene):
    assert np.percentile(scene.mean(-1), 1) < 60 and np.percentile(scene.mean(-1), 99) > 205
    assert ((scene >= 254) | (scene <= 1)).mean() < 0.002


def test_the_places_lie_inside_and_do_not_touch(places):
    assert set(places) == NAMES
    spots = np.array(list(places.values()))
    at, radius = spots[:, :2], spots[:, 2:]
    assert (radius >= 3).all()
    assert (at - radius >= 0).all() and (at + radius < SIZE).all()
    gap = np.linalg.norm(at[:, None] - at, axis=-1) - radius - radius.T
    assert (gap[~np.eye(len(at), dtype=bool)] > 0).all()


@pytest.mark.parametrize("name", sorted(NAMES))
def test_each_place_is_an_even_patch(scene, places, name):
    spread = np.sqrt(lab_of(disc(scene, *places[name])).var(axis=0).sum())
    assert spread < 8  # CIELAB units; a leafy or grassy passage as a whole spreads over 15


@pytest.mark.parametrize(
    ("name", "value", "chroma", "hue"),
    [
        ("kiln brick in light", (50, 70), (38, 60), (38, 62)),
        ("kiln brick in shadow", (22, 40), (10, 30), (25, 60)),
        ("far birches", (45, 70), (30, 60), (60, 100)),
        ("birch bark", (78, 95), (0, 28), (70, 110)),
        ("pond shadow", (15, 33), (0, 18), (0, 360)),
        ("sky near the horizon", (80, 95), (4, 20), (80, 110)),
        ("wet clay path", (32, 50), (18, 40), (45, 75)),
        ("reeds in the foreground", (35, 60), (20, 45), (70, 105)),
    ],
)
def test_colours_are_of_the_family_their_names_promise(lch, name, value, chroma, hue):
    for amount, (low, high) in zip(lch[name], (value, chroma, hue), strict=True):
        assert low <= amount <= high


def test_light_and_shadow_fall_as_they_should(lch):
    light, shadow = lch["kiln brick in light"], lch["kiln brick in shadow"]
    assert light[0] > shadow[0] + 20 and light[1] > shadow[1] + 15
    assert min(lch, key=lambda name: lch[name][0]) == "pond shadow"
    assert lch["sky near the horizon"][0] > lch["pond shadow"][0] + 45
    assert lch["birch bark"][0] > lch["far birches"][0] > lch["wet clay path"][0]


def test_distance_greys_and_blues(scene):
    hills = lab_of(scene[262:300, 500:630]).mean((0, 1))
    leaves = lab_of(scene[40:120, 20:180]).mean((0, 1))
    reeds = lab_of(scene[700:790, 950:1150]).mean((0, 1))
    assert hills[2] < 0 and np.hypot(*hills[1:]) < 10
    assert np.hypot(*leaves[1:]) > np.hypot(*hills[1:]) + 10
    assert np.hypot(*reeds[1:]) > np.hypot(*hills[1:]) + 10
    assert hills[0] > reeds[0]


def test_the_sky_runs_from_cool_to_warm(scene):
    high = lab_of(scene[:8, 520:560]).mean((0, 1))
    low = lab_of(scene[225:240, 220:300]).mean((0, 1))
    assert high[2] < -2 and low[2] > 4 and low[0] > high[0]


@pytest.mark.slow
def test_the_script_paints_the_bundled_picture(scene):
    from data.making.scene import jpeg_of, paint

    again = pixels(io.BytesIO(jpeg_of(paint())))
    assert again.shape == scene.shape
    assert np.abs(again - scene).mean() < 1
