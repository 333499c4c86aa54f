"""Photographs and measured surfaces from outside, against Pillow and colour-science."""

from pathlib import Path

import colour
import numpy as np
import pytest
import sklearn.datasets
from PIL import Image

from mixlab.colour.spaces import encode_srgb
from mixlab.targets.photo_files import read_photo
from mixlab.targets.photos import box, photo_lab, place

# two photographs (427 x 640) that scikit-learn carries, see its images/README.txt
PICTURES = Path(sklearn.datasets.__file__).parent / "images"
OBSERVER = "CIE 1931 2 Degree Standard Observer"
D65 = colour.CCS_ILLUMINANTS[OBSERVER]["D65"]


def reference(encoded):
    """Linear sRGB (n, 3) and CIELAB of its mean and its parts, by colour-science alone."""
    linear = colour.cctf_decoding(encoded / 255, "sRGB")  # IEC 61966-2-1
    matrix = colour.RGB_COLOURSPACES["sRGB"].matrix_RGB_to_XYZ
    mean = linear.mean(axis=0)
    return mean, colour.XYZ_to_Lab(matrix @ mean, D65), colour.XYZ_to_Lab(linear @ matrix.T, D65)


@pytest.mark.parametrize("name", ["china.jpg", "flower.jpg"])
def test_photographs_as_they_are(name):
    photo = read_photo(PICTURES / name)
    # both embed this profile, whose rounded primaries move them by 0.07 of a step of 8 bits
    assert photo.notes == ("converted from the colour profile 'sRGB IEC61966-2.1'",)
    pixels = np.asarray(Image.open(PICTURES / name))
    assert (photo.pixels == pixels).all()
    shown = encode_srgb(photo.linear(photo.pixels[::7, ::7]))
    np.testing.assert_allclose(shown, pixels[::7, ::7] / 255, atol=0.1 / 255)
    compare(photo, pixels, 4e-4, 0.05)


@pytest.mark.parametrize("name", ["china.jpg", "flower.jpg"])
def test_photographs_without_their_profile(tmp_path, name):
    # scikit-learn's own reading of the file
    pixels = sklearn.datasets.load_sample_image(name)
    Image.fromarray(pixels).save(tmp_path / "a.png")
    photo = read_photo(tmp_path / "a.png")
    assert (photo.pixels == pixels).all()
    # 0.02: white as 0.3127, 0.3290 there, and from the tabulated D65 here
    compare(photo, pixels, 1e-10, 0.02)


def compare(photo, pixels, rgb_limit, lab_limit):
    rows, columns = np.mgrid[: photo.height, : photo.width]
    for x, y, radius in [(100, 50, 0), (320, 213, 5), (500, 350, 25), (3, 420, 12.5)]:
        chosen = pixels[(columns - x) ** 2 + (rows - y) ** 2 <= radius**2]
        compare_place(place(photo, x, y, radius), chosen, rgb_limit, lab_limit)
    for left, top, right, bottom in [(0, 0, 640, 427), (200, 100, 300, 160), (600, 400, 640, 427)]:
        chosen = pixels[top:bottom, left:right].reshape(-1, 3)
        compare_place(box(photo, left, top, right, bottom), chosen, rgb_limit, lab_limit)


def compare_place(sample, chosen, rgb_limit, lab_limit):
    mean, lab, parts = reference(chosen)
    assert sample.count == len(chosen)
    np.testing.assert_allclose(sample.rgb, mean, atol=rgb_limit)
    np.testing.assert_allclose(sample.lab, lab, atol=lab_limit)
    np.testing.assert_allclose(photo_lab(sample.rgb), lab, atol=lab_limit)
    # colour-science's CIEDE2000 of every pixel; a large place is judged by a part of its pixels
    spread = np.percentile(colour.delta_E(parts, lab, method="CIE 2000"), 95)
    assert sample.spread == pytest.approx(
        spread, rel=0.03 if len(chosen) > 20_000 else 0.002, abs=0.05
    )
    clipped = ((chosen == 0) | (chosen == 255)).any(axis=1).mean()
    assert sample.clipped == pytest.approx(clipped, abs=1e-12)


@pytest.mark.parametrize(
    ("light", "uncorrected", "limit_mean", "limit_greatest"),
    [("A", 20, 2.2, 5.2), ("D50", 12, 0.7, 1.4), ("FL2", 12, 3.5, 10.5)],
)
def test_a_cast_is_taken_out_of_measured_surfaces(light, uncorrected, limit_mean, limit_greatest):
    # the 24 measured reflectances of ISO 17321-1 that colour-science carries, seen under another
    # light at half the exposure and corrected by a middle grey, against the same under D65.
    # What is left is the colour inconstancy that no correction by one grey can take out: little
    # under daylight, more under a lamp (A), much under a fluorescent tube of the old kind (FL2).
    shape = colour.SpectralShape(380, 730, 5)
    chart = colour.SDS_COLOURCHECKERS["ISO 17321-1"]
    curves = np.array([patch.copy().align(shape).values for patch in chart.values()])
    cmfs = colour.MSDS_CMFS[OBSERVER].copy().align(shape).values

    def seen(name):
        weights = colour.SDS_ILLUMINANTS[name].copy().align(shape).values[:, None] * cmfs
        return curves @ weights / weights[:, 1].sum(), weights.sum(axis=0) / weights[:, 1].sum()

    there, _ = seen(light)
    here, white = seen("D65")
    rgb = 0.5 * there @ colour.RGB_COLOURSPACES["sRGB"].matrix_XYZ_to_RGB.T
    true = colour.XYZ_to_Lab(here, colour.XYZ_to_xy(white))
    neutral = 21  # patch 22, a middle grey
    lab = photo_lab(rgb, rgb[neutral], here[neutral, 1])
    left = colour.delta_E(lab, true, method="CIE 2000")
    assert left.mean() < limit_mean
    assert left.max() < limit_greatest
    assert colour.delta_E(photo_lab(rgb), true, method="CIE 2000").mean() > uncorrected
