"""Real photographs as a palette gives them, against Pillow and the search over every subset."""

import io
from pathlib import Path

import numpy as np
import pytest
import sklearn.datasets
from PIL import Image, ImageCms

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import decode_srgb, lab_to_value, rgb_to_lab, viewing
from mixlab.mixing.beyond import turned
from mixlab.nearest.exact import Search
from mixlab.nearest.medium import Medium
from mixlab.nearest.sets import all_subsets
from mixlab.picture.key import key_of
from mixlab.picture.main_colours import main_colours
from mixlab.picture.rendering import render
from mixlab.targets.counting import count_colours
from mixlab.targets.photo_files import read_photo, write_picture

# two photographs (427 x 640) that scikit-learn carries, see its images/README.txt
PICTURES = Path(sklearn.datasets.__file__).parent / "images"
PALETTE = mixlab.read_palette("mill-pond")
LOOKED_AT = 60


@pytest.fixture(scope="module", params=["china.jpg", "flower.jpg"])
def made(request):
    photo = read_photo(PICTURES / request.param)
    return render(photo, PALETTE, key=key_of(photo, PALETTE, viewing()))


@pytest.fixture(scope="module")
def search():
    medium = Medium(PALETTE.K, PALETTE.S, PALETTE.paints[0].surface, viewing())
    return Search(medium, all_subsets(len(PALETTE), 4))


def exact(search, lab):
    """Return the least miss over every subset of up to four tubes, exact shares."""
    return min(search.best(lab, found)[2] for found in search.solve(lab) if len(found.miss))


def test_colours_are_counted_as_pillow_counts_them(made):
    with Image.open(made.photo.path) as image:
        counted = image.getcolors(maxcolors=1 << 24)
    counted = sorted((r << 16 | g << 8 | b, area) for area, (r, g, b) in counted)
    found = count_colours(made.photo)
    assert found.codes.tolist() == [code for code, _ in counted]
    assert found.area.tolist() == [area for _, area in counted]


def test_the_file_is_what_pillow_reads_back(made, tmp_path):
    pixels = made.pixels()
    write_picture(tmp_path / "made.png", pixels)
    with Image.open(tmp_path / "made.png") as image:
        assert (np.asarray(image) == pixels).all()
        profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)


def test_the_mean_miss_is_that_of_the_exact_search(made, search):
    rng = np.random.default_rng(0)
    rows = rng.choice(len(made.lab), LOOKED_AT, p=made.weight)  # by area
    over = made.miss[rows] - [exact(search, made.lab[row]) for row in rows]
    assert over.min() > -0.01  # nothing beats it
    assert over.mean() < 0.5
    # and well below that limit: the colours of a box share a mix, and that is nearly all of it
    assert over.mean() < 0.2


def test_no_pixel_is_outside_the_reach(made, search):
    # each pixel of the preview, taken as a colour of its own, is within the reach to what rounding
    # to 8 bits moves it, at most half a level
    rng = np.random.default_rng(1)
    pixels = made.pixels().reshape(-1, 3)
    chosen = pixels[rng.choice(len(pixels), LOOKED_AT)]
    view = viewing()
    for rgb in chosen:
        lab = rgb_to_lab(decode_srgb(rgb / 255), view)
        corners = np.stack(np.meshgrid(*([[-0.5, 0.5]] * 3)), axis=-1).reshape(-1, 3)
        around = rgb_to_lab(decode_srgb(np.clip(rgb + corners, 0, 255) / 255), view)
        assert exact(search, lab) <= ciede2000(lab, around).max() + 0.01


def test_in_the_key_darks_are_mixed_and_keep_their_order_and_hue(made):
    assert made.out_of_reach <= 0.05
    main = main_colours(made, 24)
    asked = np.array([one.passage.place.target.lab for one in main])
    mixed = np.array([one.passage.answer.recipe.lab for one in main])
    wanted, values = (lab_to_value(lab, made.view) for lab in (asked, mixed))
    darker = wanted[:, None] < wanted - 0.3
    assert darker.sum() > 200 and (values[:, None] < values)[darker].all()
    coloured = [i for i, lab in enumerate(asked) if lab[0] < 35 and np.hypot(*lab[1:]) > 6]
    assert len(coloured) > 4
    assert max(float(turned(asked[i], mixed[i])) for i in coloured) < 30
