import csv
import json

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.boxes import gathered
from mixlab.colour.difference import ciede2000, uniform
from mixlab.colour.spaces import (
    decode_srgb,
    encode_srgb,
    in_gamut,
    lab_to_rgb,
    relit,
    rgb_to_lab,
    viewing,
)
from mixlab.colour.words import WORDS, directions, strongest
from mixlab.errors import PhotoError
from mixlab.files import bundled
from mixlab.nearest.many import Seeds, nearest_mixes
from mixlab.nearest.medium import Medium
from mixlab.nearest.whole import Lattice
from mixlab.picture import rendering as pictures
from mixlab.picture.rendering import render
from mixlab.targets.counting import count_colours
from mixlab.targets.photo_files import read_photo, write_picture

PALETTE = mixlab.read_palette("mill-pond")
EARTHS = mixlab.read_palette("kiln-earths")
MEDIUM = Medium(PALETTE.K, PALETTE.S, PALETTE.paints[0].surface, viewing())
RNG = np.random.default_rng(7)


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """A corner of the bundled picture: kiln, wood and water."""
    file = tmp_path_factory.mktemp("pictures") / "small.png"
    with Image.open(bundled("scene.jpg")) as scene:
        scene.crop((380, 180, 500, 260)).save(file)
    return file


@pytest.fixture(scope="module")
def made(small):
    return render(read_photo(small), PALETTE)


def picture(tmp_path, levels, name="a.png", mode=None):
    file = tmp_path / name
    Image.fromarray(np.asarray(levels, dtype=np.uint8), mode).save(file)
    return file


# --- counting -----------------------------------------------------------------------------------


def test_each_colour_is_counted_once(tmp_path, monkeypatch):
    levels = RNG.integers(0, 6, (40, 30, 3)) * 51
    photo = read_photo(picture(tmp_path, levels))
    monkeypatch.setattr("mixlab.targets.counting._BAND", 100)
    counted = count_colours(photo)
    wanted, area = np.unique(levels.reshape(-1, 3), axis=0, return_counts=True)
    assert (counted.area == area).all() and counted.left_out == 0
    np.testing.assert_allclose(counted.rgb, decode_srgb(wanted / 255), atol=1e-12)


def test_sixteen_bits_are_rounded_by_less_than_anyone_sees(tmp_path):
    import imagecodecs

    levels = RNG.integers(0, 65536, (20, 20, 3)).astype(np.uint16)
    file = tmp_path / "deep.png"
    file.write_bytes(imagecodecs.png_encode(levels))
    counted = count_colours(read_photo(file))
    wanted = np.unique(np.rint(levels.reshape(-1, 3) / 257).astype(int) @ [65536, 256, 1])
    assert (counted.codes == wanted).all()
    # half a level, in all of sRGB and its dark end
    for top in (255, 16):
        whole = RNG.integers(0, top + 1, (100_000, 3))
        off = np.clip(whole + RNG.uniform(-0.5, 0.5, whole.shape), 0, 255)
        one, other = (rgb_to_lab(decode_srgb(v / 255), viewing()) for v in (whole, off))
        assert ciede2000(one, other).mean() < 0.25
        assert ciede2000(one, other).max() < 0.9


def test_what_is_not_opaque_is_left_out(tmp_path):
    levels = np.zeros((4, 5, 4), dtype=np.uint8)
    levels[..., :3], levels[..., 3] = (120, 90, 60), 255
    levels[0, :, :] = (0, 255, 0, 128)
    made = render(read_photo(picture(tmp_path, levels)), PALETTE)
    assert made.colours.left_out == 5 and len(made.lab) == 1
    pixels = made.pixels()
    assert pixels.shape == (4, 5, 4)
    assert (pixels[0] == 0).all() and (pixels[1:, :, 3] == 255).all()
    assert np.isnan(made.miss_map()[0]).all() and np.isfinite(made.miss_map()[1:]).all()
    bare = picture(tmp_path, np.zeros((3, 3, 4)), "bare.png")
    with pytest.raises(PhotoError, match="no pixel of the picture is opaque"):
        count_colours(read_photo(bare))


# --- boxes --------------------------------------------------------------------------------------


@pytest.mark.parametrize(("size", "mean", "most"), [(0.5, 0.25, 0.9), (0.7, 0.35, 1.3)])
def test_colours_of_a_box_lie_close(size, mean, most):
    # all of sRGB where it is dense: a few pieces of it, each with every colour of 8 bits
    off = []
    for corner in RNG.integers(0, 224, (12, 3)):
        levels = np.stack(np.meshgrid(*(c + np.arange(32) for c in corner)), axis=-1)
        lab = rgb_to_lab(decode_srgb(levels.reshape(-1, 3) / 255), viewing())
        box, means = gathered(lab, np.ones(len(lab)), size)
        away = np.linalg.norm(uniform(lab) - uniform(means)[box], axis=1)
        assert away.max() < size * 3**0.5 * 1.05
        off.append(ciede2000(lab, means[box]))
    assert np.concatenate(off).mean() < mean
    assert np.concatenate(off).max() < most


# --- the palette's version ----------------------------------------------------------------------


def test_every_pixel_is_a_mix_within_half_a_level(made):
    np.testing.assert_allclose(made.shares.sum(axis=1), 1, atol=1e-12)
    assert ((made.shares > 0).sum(axis=1) <= 4).all()
    np.testing.assert_allclose(MEDIUM.lab(made.shares), made.mixes, atol=1e-7)
    np.testing.assert_allclose(ciede2000(made.lab, made.mixes[made.box]), made.miss, atol=1e-12)
    assert in_gamut(made.shown, made.view).all()
    pixels, photo = made.pixels(), made.photo.pixels
    assert pixels.shape == photo.shape and pixels.dtype == np.uint8
    encoded = 255 * encode_srgb(lab_to_rgb(made.shown, made.view))
    levels = photo.astype(int)
    row = np.searchsorted(made.colours.codes, levels @ [65536, 256, 1])
    assert np.abs(pixels - encoded[made.box[row]]).max() <= 0.5 + 1e-9


def test_the_answer_does_not_depend_on_the_blocks(made, monkeypatch):
    monkeypatch.setattr("mixlab.targets.counting._BAND", 1000)
    monkeypatch.setattr("mixlab.arrays.BLOCK", 700)
    again = render(made.photo, PALETTE)
    assert (again.box == made.box).all()
    # sums over blocks of another size round otherwise, and a flat valley is left a hair elsewhere
    np.testing.assert_allclose(again.miss, made.miss, atol=5e-4)
    assert np.abs(again.pixels().astype(int) - made.pixels()).max() <= 1
    assert (again.pixels() == made.pixels()).mean() > 0.999


def test_no_mix_of_a_lattice_comes_nearer(made):
    # brute force over every whole-part mix of four tubes of the seven, and all of the seven
    rows = RNG.choice(len(made.means), 150, replace=False)
    whole = Lattice(MEDIUM, total=12)
    every = np.vstack([whole.lab(n) for n in range(1, 5)])
    least = np.array([ciede2000(lab, every).min() for lab in made.means[rows]])
    miss = ciede2000(made.means[rows], made.mixes[rows])
    assert (miss - least).mean() < 0
    assert (miss < least + 0.05).mean() > 0.97 and (miss - least).max() < 1.5


def test_mixes_of_one_tube_are_the_nearest_masstone():
    labs = rgb_to_lab(decode_srgb(RNG.random((50, 3))), viewing())
    shares, lab = nearest_mixes(labs, Seeds.of(MEDIUM, 1))
    assert set(np.unique(shares)) == {0.0, 1.0}
    masstones = MEDIUM.lab(np.eye(len(PALETTE)))
    least = ciede2000(labs[:, None], masstones).min(axis=1)
    # CIEDE2000 leaps where hues are opposite, so that two may change places far away
    more = ciede2000(labs, lab) - least
    assert more.max() < 3 and (more < 1e-9).mean() > 0.9


def test_a_mix_beyond_srgb_is_replaced_and_said(tmp_path):
    # blue greens at the edge of sRGB, from a palette whose own go beyond it
    levels = np.zeros((16, 16, 3), dtype=np.uint8)
    levels[..., 1], levels[..., 2] = np.mgrid[40:200:10, 40:200:10]
    made = render(read_photo(picture(tmp_path, levels)), mixlab.read_palette("studio"))
    other = (made.shown != made.mixes).any(axis=1)
    assert 0 < made.replaced < 1
    assert (other == ~in_gamut(made.mixes, made.view)).all()
    assert in_gamut(made.shown, made.view).all()


def test_directions_and_shares_of_area(small):
    made = render(read_photo(small), EARTHS)
    out = made.miss > made.tolerance
    assert made.out_of_reach == pytest.approx(made.weight[out].sum())
    assert sum(made.by_direction.values()) == pytest.approx(made.out_of_reach)
    assert made.mean_miss == pytest.approx(np.average(made.miss, weights=made.colours.area))
    for i in RNG.choice(np.flatnonzero(out), 20):
        word = directions(made.lab[i], made.mixes[made.box[i]])[0]
        found = strongest(made.lab[i : i + 1], made.mixes[made.box[i : i + 1]])[0]
        assert WORDS[found] == word


def test_the_map_is_the_mean_of_blocks(made):
    whole = made.miss_map(most=10**9)
    assert whole.shape == made.photo.pixels.shape[:2]
    assert whole.mean() == pytest.approx(made.mean_miss, rel=1e-5)
    coarse = made.miss_map(most=2400)
    assert coarse.shape == (40, 60)
    assert coarse[3, 5] == pytest.approx(whole[6:8, 10:12].mean(), rel=1e-5)


def test_a_grey_takes_the_cast_out(tmp_path):
    # a warm light over a scale of greys: as surfaces they are grey
    greys = np.linspace(0.03, 0.3, 8)[:, None] * np.array([1.0, 0.85, 0.7])
    levels = np.rint(255 * encode_srgb(greys))[None].repeat(2, axis=0)
    photo = read_photo(picture(tmp_path, levels))
    grey = pictures.grey_of(photo, "4,0", 0.0, 0.18)
    made = render(photo, PALETTE, grey=grey)
    assert np.abs(made.lab[:, 1:]).max() < 1.5
    neutral = made.lab[np.searchsorted(made.colours.codes, int(levels[0, 4] @ [65536, 256, 1]))]
    assert neutral == pytest.approx([49.5, 0, 0], abs=0.02)  # a reflectance of 18 %
    assert made.lightened == 0
    bright = render(photo, PALETTE, grey=grey, grey_reflectance=0.9)
    assert bright.lightened > 0 and bright.lab[:, 0].max() == 100
    assert pictures.grey_of(photo, None, 0.0, 0.18) is None


def test_under_another_light_white_stays_white(tmp_path):
    levels = np.full((2, 2, 3), 200)
    levels[0, 0] = (250, 252, 250)
    made = render(read_photo(picture(tmp_path, levels)), PALETTE, view=viewing("A"))
    assert np.abs(made.lab[:, 1:]).max() < 3
    assert np.abs(made.pixels().astype(int) - levels).max() <= 3


def test_under_another_light_a_grey_stays_grey(tmp_path):
    greys = np.linspace(0.03, 0.3, 8)[:, None] * np.array([1.0, 0.85, 0.7])
    levels = np.rint(255 * encode_srgb(greys))[None].repeat(2, axis=0)
    photo = read_photo(picture(tmp_path, levels))
    grey = pictures.grey_of(photo, "4,0", 0.0, 0.18)
    home, away = (render(photo, PALETTE, grey=grey, view=v) for v in (None, viewing("A", "10")))
    assert away.view is viewing("A", "10")
    assert np.hypot(*away.lab[:, 1:].T).max() < 3
    # as surfaces they are what they were, and not the same numbers
    np.testing.assert_allclose(away.lab, relit(home.lab, viewing(), away.view), atol=1e-9)
    assert np.abs(away.lab - home.lab).max() > 1e-3


# --- the command --------------------------------------------------------------------------------


def test_photo_writes_what_is_asked(run, small, tmp_path):
    names = {"preview": "p.png", "csv": "r.csv", "plot": "m.png"}
    words = [w for option, name in names.items() for w in (f"--{option}", tmp_path / name)]
    ran = run("photo", small, "--palette", "kiln-earths", "--colours", 5, *words)
    assert ran.status == 0 and ran.err == ""
    assert "Main colours" in ran.out and "of the area is out of reach" in ran.out
    with Image.open(tmp_path / "p.png") as preview:
        assert preview.size == (120, 80) and preview.mode == "RGB"
        assert preview.info["icc_profile"]
    with open(tmp_path / "r.csv", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 5
    assert all(0 <= float(row["x"]) < 120 and 0 <= float(row["y"]) < 80 for row in rows)
    assert sum(float(row["share"]) for row in rows) == pytest.approx(1, abs=1e-4)
    for row in rows:
        mixture = EARTHS.mix(row["recipe_mix"])
        wanted = [float(row[c]) for c in ("L", "a", "b")]
        assert ciede2000(wanted, mixture.lab) == pytest.approx(float(row["recipe_miss"]), abs=0.002)
        assert row["in_reach"] == str(float(row["least_miss"]) <= 2)
    with Image.open(tmp_path / "m.png") as drawn:
        assert drawn.width > 800


def test_photo_json_is_one_object(run, small):
    ran = run("photo", small, "--palette", "kiln-earths", "--colours", 3, "--json")
    told = json.loads(ran.out)
    assert ran.status == 0 and len(told["main_colours"]) == 3
    assert told["photo"]["size"] == [120, 80] and 0 < told["beyond_reach"]["share"] < 1
    assert told["paint_ids"] == mixlab.read_palette("kiln-earths").ids


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--preview", "out.jpg"], "end its name in .png"),
        (["--preview", "nowhere/out.png"], "there is no folder"),
        (["--plot", "out.txt"], ".png or .svg"),
        (["--colours", "0"], "1 to 64"),
        (["--tubes", "5"], "at most 4"),
        (["--tolerance", "0"], "above zero"),
        (["--grey", "500,3"], "outside the picture"),
        (["--grey-reflectance", "0.5"], "--grey X,Y"),
        (["--palette", "mill-pnd"], "mill-pond"),
    ],
)
def test_photo_bad_input_is_one_line(run, small, tmp_path, monkeypatch, words, said):
    monkeypatch.chdir(tmp_path)
    ran = run("photo", small, *words)
    assert ran.status == 2 and ran.out == ""
    assert said in ran.err and ran.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_photo_that_is_none(run, tmp_path):
    ran = run("photo", tmp_path / "none.jpg")
    assert ran.status == 2 and "there is no such file" in ran.err


def test_a_picture_is_written_whole(tmp_path):
    pixels = RNG.integers(0, 256, (5, 6, 3)).astype(np.uint8)
    write_picture(tmp_path / "a.png", pixels)
    assert (np.asarray(Image.open(tmp_path / "a.png")) == pixels).all()
    (tmp_path / "folder.png").mkdir()
    with pytest.raises(PhotoError, match="folder"):
        write_picture(tmp_path / "folder.png", pixels)
    assert sorted(f.name for f in tmp_path.iterdir()) == ["a.png", "folder.png"]
