"""The picture in a few values: steps against brute force and Otsu, islands, what will not read."""

from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pytest
import sklearn.datasets
from skimage.filters import threshold_multiotsu
from skimage.measure import label

from mixlab.colour.spaces import lab_to_value, munsell_to_lab, viewing
from mixlab.errors import PhotoError
from mixlab.files import bundled
from mixlab.picture.regions import borders, joined, pieces, smoothed
from mixlab.picture.seen import Seen, look
from mixlab.picture.values import (
    SMALLEST,
    best_steps,
    even_steps,
    families,
    partition,
    values_of,
    values_of_mixes,
    weak_pairs,
)
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture

CHINA = Path(sklearn.datasets.__file__).parent / "images" / "china.jpg"
VIEW = viewing()


@pytest.fixture(scope="module")
def china():
    return look(Picture(read_photo(CHINA), VIEW))


@pytest.fixture(scope="module")
def scene():
    return look(Picture(read_photo(bundled("scene.jpg")), VIEW))


def greys(values):
    """Return CIELAB (..., 3) of Munsell greys."""
    values = np.asarray(values, dtype=float)
    return munsell_to_lab(np.stack([0 * values, values, 0 * values], axis=-1), VIEW)


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_classes_are_those_of_brute_force(count):
    rng = np.random.default_rng(count)
    for _ in range(8):
        at, weight = np.sort(rng.normal(size=11)), rng.uniform(0.1, 3, 11)

        def within(edges, at=at, weight=weight):
            parts = [slice(i, j) for i, j in pairwise(edges)]
            means = [np.average(at[part], weights=weight[part]) for part in parts]
            return sum((weight[part] * (at[part] - mean) ** 2).sum()
                       for part, mean in zip(parts, means, strict=True))  # fmt: skip

        best = min(within([0, *cut, 11]) for cut in combinations(range(1, 11), count - 1))
        assert within(partition(at, weight, count)) == pytest.approx(best)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_the_best_steps_are_otsus(china, count):
    value = np.rint(lab_to_value(china.lab, VIEW) / 0.02).astype(int)
    otsu = threshold_multiotsu(hist=np.bincount(value.ravel()), classes=count)
    _, bounds = best_steps(value * 0.02, count)

    def within(classes):
        return sum(value[classes == i].var() * (classes == i).sum() for i in range(count))

    # a threshold of Otsu's is the last bin of its class, a bound lies above it; theirs is found in
    # single precision, so that the best of two that nearly tie may be missed
    theirs = within(np.digitize(value, otsu, right=True))
    assert theirs * (1 - 1e-4) <= within(np.digitize(value * 0.02, bounds)) <= theirs * (1 + 1e-9)
    assert bounds == pytest.approx((otsu + 0.5) * 0.02, abs=0.1)


def test_greys_of_a_known_value_are_found():
    """ASTM D1535: four greys of Munsell's scale, as large as each other."""
    known = np.repeat(np.repeat([[2.0, 4.5], [6.0, 8.5]], 60, axis=0), 60, axis=1)
    made = values_of(Seen(greys(known), VIEW), 4, place="best")
    assert made.levels == pytest.approx([2.0, 4.5, 6.0, 8.5], abs=0.02)
    assert made.shares == pytest.approx([0.25] * 4, abs=0.01)
    assert (made.map == np.searchsorted([2, 4.5, 6, 8.5], known)).mean() > 0.97
    assert not made.weak


def test_even_steps_are_even(china):
    levels, bounds = even_steps(lab_to_value(china.lab, VIEW), 5)
    assert np.ptp(np.diff(levels)) < 1e-9
    assert bounds == pytest.approx((levels[1:] + levels[:-1]) / 2)


@pytest.mark.parametrize("place", ["even", "best"])
@pytest.mark.parametrize("count", [2, 4, 9])
def test_a_pattern_has_no_islands_and_rises_with_the_picture(scene, count, place):
    made = values_of(scene, count, place=place)
    assert made.shares.sum() == pytest.approx(1)
    least = np.bincount(label(made.map, background=-1, connectivity=1).ravel())[1:].min()
    assert least >= SMALLEST * made.map.size
    value = lab_to_value(scene.lab, VIEW)
    means = [value[made.map == i].mean() for i in np.unique(made.map)]
    assert (np.diff(means) > 0).all()
    if count <= 4:  # of nine values, leaves and grass hold several; of four, it is the picture's
        plain = np.digitize(value, made.bounds)
        assert (np.abs(plain - made.map) <= 1).mean() > 0.9


def test_larger_islands_are_joined_where_it_is_asked(scene):
    coarse, fine = (values_of(scene, 4, smallest=size).map for size in (0.03, 0.002))
    assert pieces(coarse).max() < pieces(fine).max()


def test_of_one_value_there_is_one():
    levels, bounds = best_steps(np.full((5, 5), 4.2), 3)
    assert levels == pytest.approx([4.2] * 3) and (bounds > 4.2).all()


def test_what_makes_no_sense_is_refused(scene):
    for wrong, says in (({"count": 1}, "2 to 9"), ({"count": 10}, "2 to 9"),
                        ({"place": "odd"}, "even or best"),
                        ({"smallest": 0.5}, "0 to 20")):  # fmt: skip
        with pytest.raises(PhotoError, match=says):
            values_of(scene, **wrong)


def test_lights_are_parted_from_darks_where_little_lies(scene):
    dark, bound = families(scene)
    value = lab_to_value(scene.lab, VIEW)
    assert value[dark].mean() < bound - 1 and value[~dark].mean() > bound + 1
    near = np.abs(value - bound) < 0.35
    assert near.mean() < 0.1
    assert ((value < bound) == dark).mean() > 0.93


# --- neighbours, and the values of mixes ----------------------------------------------------------


def test_neighbours_of_nearly_one_value_are_named():
    regions = np.repeat(np.arange(4), 20)[None].repeat(80, axis=0)
    assert weak_pairs(regions, [3.0, 3.4, 5.0, 3.1]) == [(0, 1)]  # 0 and 3 do not touch
    assert weak_pairs(regions, [3.0, 3.6, 4.2, 4.8]) == []
    assert weak_pairs(regions, [3.0, 3.6, 4.2, 4.8], least=1.0) == [(0, 1), (1, 2), (2, 3)]


def test_mixes_fall_into_the_values_of_the_plan():
    regions = np.repeat(np.arange(3), 30)[None].repeat(90, axis=0)
    plan = values_of(Seen(greys(np.array([2.0, 5.0, 8.0])[regions]), VIEW), 3, place="best")
    made = values_of_mixes(plan, regions, [5.2, 4.8, 7.9])
    assert (made.map == np.array([1, 1, 2])[regions]).all()
    assert made.shares == pytest.approx([0, 2 / 3, 1 / 3])


# --- maps of regions ------------------------------------------------------------------------------


def test_borders_are_counted_as_by_hand():
    regions = np.array([[0, 0, 1], [0, 2, 1]])
    pairs, length = borders(regions)
    assert pairs.tolist() == [[0, 1], [0, 2], [1, 2]] and length.tolist() == [1, 2, 1]
    _, along = borders(regions, np.ones((2, 3)) * 3)
    assert along.tolist() == [[1, 3], [2, 6], [1, 3]]


def test_an_island_joins_what_it_touches_longest():
    regions = np.zeros((20, 20), dtype=int)
    regions[:, 10:] = 1
    regions[4:7, 8:11] = 2  # six of its places lie on the side of 0
    made = joined(regions, 0.05)
    assert set(np.unique(made)) == {0, 1} and (made[4:7, 8:11] == 0).all()
    assert joined(regions, 0.02) is regions


def test_a_round_brush_leaves_straight_edges_and_takes_corners():
    regions = np.zeros((40, 40), dtype=int)
    regions[:, 20:] = 5
    assert (smoothed(regions, 3.0) == regions).all()
    regions = np.zeros((40, 40), dtype=int)
    regions[20:, 20:] = 5
    made = smoothed(regions, 3.0)
    assert made[20, 20] == 0 and (made[25:, 25:] == 5).all()


# --- the picture as it is seen from afar ----------------------------------------------------------


def test_a_picture_is_averaged_in_linear_light(tmp_path):
    from PIL import Image

    from mixlab.colour.spaces import decode_srgb, rgb_to_lab

    checks = np.zeros((200, 400, 3), dtype=np.uint8)
    checks[::2, ::2] = checks[1::2, 1::2] = 255
    Image.fromarray(checks).save(tmp_path / "checks.png")
    seen = look(Picture(read_photo(tmp_path / "checks.png"), VIEW), 200)
    assert seen.lab.shape == (100, 200, 3) and seen.step == 2
    half = rgb_to_lab(np.full(3, decode_srgb(np.array([0.0, 1.0])).mean()), VIEW)
    assert seen.lab == pytest.approx(np.broadcast_to(half, seen.lab.shape), abs=1e-6)
    assert seen.at((0, 0)) == (0, 0) and seen.at((399, 199)) == (99, 199)
    assert seen.place(99, 199) == pytest.approx([398.5, 198.5])


def test_a_large_picture_is_seen_as_a_small_one_of_it(tmp_path, scene):
    from PIL import Image

    with Image.open(bundled("scene.jpg")) as whole:
        whole.resize((2400, 1600)).save(tmp_path / "large.jpg", quality=95)
    seen = look(Picture(read_photo(tmp_path / "large.jpg"), VIEW))
    assert seen.lab.shape[1] == 800 and seen.step == 3
    means = [lab.reshape(-1, 3).mean(axis=0) for lab in (seen.lab, scene.lab)]
    assert means[0] == pytest.approx(means[1], abs=0.3)


def test_what_is_not_opaque_takes_the_nearest_colour(tmp_path):
    from PIL import Image

    pixels = np.zeros((40, 60, 4), dtype=np.uint8)
    pixels[..., :3], pixels[:, 30:, 3] = (200, 40, 40), 255
    pixels[:, :30, :3] = (0, 0, 255)
    Image.fromarray(pixels).save(tmp_path / "half.png")
    seen = look(Picture(read_photo(tmp_path / "half.png"), VIEW))
    assert np.ptp(seen.lab.reshape(-1, 3), axis=0).max() < 1e-9
    pixels[..., 3] = 0
    Image.fromarray(pixels).save(tmp_path / "bare.png")
    with pytest.raises(PhotoError, match="opaque"):
        look(Picture(read_photo(tmp_path / "bare.png"), VIEW))
