"""Main colours: chosen by area and by how far they stand out, found again in the picture."""

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import encode_srgb, lab_to_rgb, viewing
from mixlab.files import bundled
from mixlab.picture.main_colours import main_colours, standing_out
from mixlab.picture.rendering import render
from mixlab.targets.one import from_photo
from mixlab.targets.photo_files import read_photo

PALETTE = mixlab.read_palette("mill-pond")
RNG = np.random.default_rng(7)


def picture(tmp_path, levels):
    file = tmp_path / "a.png"
    Image.fromarray(np.asarray(levels, dtype=np.uint8)).save(file)
    return read_photo(file)


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A corner of the bundled picture: kiln, wood and water."""
    file = tmp_path_factory.mktemp("pictures") / "small.png"
    with Image.open(bundled("scene.jpg")) as scene:
        scene.crop((380, 180, 500, 260)).save(file)
    return render(read_photo(file), PALETTE)


def test_blobs_are_found_whatever_their_order():
    centres = np.array([[30, 0, 0], [60, 40, 20], [60, -40, 20], [85, 0, 60], [45, 10, -45]])
    weights = np.array([0.4, 0.25, 0.2, 0.1, 0.05])
    lab = np.vstack([c + RNG.normal(0, 1, (200, 3)) for c in centres])
    weight = np.repeat(weights / 200, 200)
    label, found, share = standing_out(lab, weight, 5)
    np.testing.assert_allclose(share, weights, atol=1e-9)
    np.testing.assert_allclose(found, centres, atol=0.5)
    assert (label == np.repeat(range(5), 200)).all()
    mixed = RNG.permutation(len(lab))
    _, again, again_share = standing_out(lab[mixed], weight[mixed], 5)
    np.testing.assert_allclose(again, found, atol=1e-9)
    np.testing.assert_allclose(again_share, share, atol=1e-12)


def test_an_accent_comes_before_one_more_of_the_greens_and_a_speck_does_not():
    greens = np.array([[40 + 0.2 * i, -20 + 0.1 * i, 20] for i in range(100)])
    lab = np.vstack([greens, [[45, 60, 40]], [[60, 20, 70]]])
    weight = np.array([*[0.00994] * 100, 0.002, 0.0001])
    _, found, share = standing_out(lab, weight / weight.sum(), 3)
    assert (ciede2000(found, [45, 60, 40]) < 1e-6).sum() == 1
    assert (found[:, 2] < 60).all() and len(share) == 3


def test_no_more_than_there_are():
    _, lab, share = standing_out(np.array([[50.0, 0, 0], [70, 5, 5]]), np.array([1.0, 3.0]), 12)
    assert lab.tolist() == [[70, 5, 5], [50, 0, 0]] and share.tolist() == [0.75, 0.25]


def test_each_has_the_recipe_that_is_found_for_it_by_itself(made):
    main = main_colours(made, 6, parts=10)
    assert len(main) == 6
    share = np.array([one.share for one in main])
    assert share.sum() == pytest.approx(1) and (np.diff(share) <= 0).all()
    for one in main:
        answer = mixlab.find_recipe(one.passage.place.target.lab, PALETTE, parts=10)
        assert str(one.passage.answer.recipe) == str(answer.recipe)
        assert one.least_miss <= answer.recipe.miss + 0.02
    assert sorted(one.passage.order for one in main) == [1, 2, 3, 4, 5, 6]


def test_each_is_found_again_where_it_is_said_to_lie(tmp_path):
    levels = np.full((60, 90, 3), (90, 110, 60))
    levels[:, 45:] = (200, 205, 215)
    levels[10:14, 20:26] = (180, 50, 40)
    made = render(picture(tmp_path, levels), PALETTE)
    main = main_colours(made, 3)
    assert len(main) == 3
    for one in main:
        x, y = one.passage.place.at
        again = from_photo(made.photo.path, f"{x:g},{y:g}", made.view, one.passage.place.radius)
        assert ciede2000(again.lab, one.passage.place.target.lab) < 0.01
    x, y = main[-1].passage.place.at
    assert 20 <= x < 26 and 10 <= y < 14


def test_what_is_not_opaque_is_no_place(tmp_path):
    levels = np.full((40, 40, 4), 255)
    levels[:, :30] = (0, 0, 0, 0)
    levels[5:9, 32:36] = (10, 10, 10, 255)
    made = render(picture(tmp_path, levels), PALETTE)
    for one in main_colours(made, 2):
        assert one.passage.place.at[0] >= 30


def test_of_a_colour_within_reach_of_no_whole_parts_the_least_miss_is_told(tmp_path):
    """A pale tint that twelve parts do not hold is reached all the same, in two steps."""
    pale = mixlab.read_table().mix({"titanium-white": 90, "phthalo-blue-green-shade": 1})
    level = np.rint(255 * encode_srgb(np.clip(lab_to_rgb(pale.lab, viewing()), 0, 1)))
    made = render(picture(tmp_path, np.tile(level, (4, 4, 1))), mixlab.read_palette("studio"))
    (one,) = main_colours(made, 1)
    answer = one.passage.answer
    assert one.least_miss < 1 and answer.in_reach
    assert mixlab.find_recipes([answer.target], made.palette).miss[0] > made.tolerance
    assert answer.recipe.miss <= made.tolerance
