"""Munsell conversions against the renotation, ASTM D1535 and colour-science.

colour-science (BSD-3-Clause) carries the renotation of Newhall, Nickerson and Judd (1943), with
its extrapolation, and the inversion of Centore (2012), as ported from the author's own programs.
"""

import colour
import numpy as np
import pytest
from colour.notation import MUNSELL_COLOURS
from colour.notation import munsell as reference

from data.making import munsell as making
from mixlab.colour import munsell
from mixlab.files import bundled

pytestmark = pytest.mark.filterwarnings("ignore::colour.utilities.ColourUsageWarning")


def from_specification(specification):
    """Return hvc of colour-science's hue in family, value, chroma, number of the family."""
    hue, value, chroma, code = np.moveaxis(np.asarray(specification), -1, 0)
    return np.stack([10 * ((7 - code) % 10) + hue, value, chroma], axis=-1)


def to_specification(hvc):
    family, hue = divmod(hvc[0], 10)
    return np.array([hue, hvc[1], hvc[2], (6 - family) % 10 + 1])


def published(name, least):
    """Return hvc and xyY of the entries of a set from value `least` to 9."""
    entries = [
        (from_specification(reference.munsell_colour_to_munsell_specification(
            f"{hue} {value}/{chroma}")), xyY)
        for (hue, value, chroma), xyY in MUNSELL_COLOURS[name]
        if least <= value <= 9
    ]  # fmt: skip
    return tuple(np.array(column) for column in zip(*entries, strict=True))


def inside(seed, count, fullest):
    """Return hvc inside the renotation, clear of the places that colour-science rounds to.

    The renotation ends at value 9. Colour-science takes a hue, or a value, within 0.001 of an entry
    for that entry, and a colour within 0.001 of the white point in x, y for neutral.
    """
    rng = np.random.default_rng(seed)
    hvc = rng.uniform([0, 1, 0.05], [100, 9, fullest], (3 * count, 3))
    hvc[:, 2] *= munsell.greatest_chroma(hvc[:, 0], hvc[:, 1])
    clear = np.abs(hvc[:, 1] - np.round(hvc[:, 1])) > 0.002
    clear &= np.abs(hvc[:, 0] / 2.5 - np.round(hvc[:, 0] / 2.5)) > 0.002
    xy = munsell.munsell_to_xyY(hvc)[:, :2]
    clear &= np.hypot(*(xy - munsell.WHITE).T) > 0.002
    return hvc[clear][:count]


def test_data_file_is_what_colour_science_holds():
    # source: colour-science, MUNSELL_COLOURS_ALL and interpolation_method_from_renotation_ovoid
    assert bundled("munsell.csv").read_text(encoding="utf-8") == making.text()


def test_entries_of_the_grid_are_met_exactly():
    # source: colour-science, MUNSELL_COLOURS["all"]: 2734 entries are those of real
    # colours (below); the others are a later extrapolation to the optimal limits, with Judd and
    # Wyszecki (1956) below value 1
    hvc, xyY = published("all", 0.2)
    assert len(hvc) == 4746
    np.testing.assert_allclose(munsell.munsell_to_xyY(hvc)[:, :2], xyY[:, :2], atol=1e-12)


def test_entries_of_real_colours_are_met_exactly():
    # source: Newhall, Nickerson, Judd (1943), as carried by colour-science in
    # MUNSELL_COLOURS["real"], which differs from "all" in the x of 10Y 4/2 (0.3436 for 0.3476)
    # and 2.5R 9/2 (0.321 for 0.322); those of "all", which the conversions use, lie evenly
    # between their neighbours
    hvc, xyY = published("real", 1)
    assert len(hvc) == 2734
    apart = np.abs(munsell.munsell_to_xyY(hvc)[:, :2] - xyY[:, :2]).max(axis=1) > 1e-12
    np.testing.assert_array_equal(sorted(hvc[apart].tolist()), [[2.5, 9, 2], [30, 4, 2]])


def test_luminance_is_that_of_the_renotation():
    # source: Newhall, Nickerson, Judd (1943), as carried by colour-science: Y relative to
    # magnesium oxide, which ASTM D1535-08e1 puts at 0.975 of the perfect diffuser
    hvc, xyY = published("real", 1)
    np.testing.assert_allclose(munsell.luminance(hvc[:, 1]), 0.975 * xyY[:, 2], atol=0.005)


def test_worked_example():
    # source: Centore's worked example, printed in the colour-science manual under
    # munsell_colour_to_xyY and xyY_to_munsell_specification
    xyY = munsell.munsell_to_xyY(munsell.parse_munsell("4.2YR 8.1/5.3"))
    np.testing.assert_allclose(xyY, [0.38736945, 0.35751656, 59.362], atol=1e-6)
    hvc = munsell.xyY_to_munsell([0.38736945, 0.35751656, 59.362])
    assert munsell.write_munsell(hvc, 4) == "4.2000YR 8.1000/5.3000"


def test_value_is_that_of_astm_d1535():
    # source: colour-science munsell_value_ASTMD1535, which reads a table in steps of 0.001 linearly
    luminances = np.linspace(0, 99.9, 5000)
    expected = reference.munsell_value_ASTMD1535(luminances)
    np.testing.assert_allclose(munsell.value(luminances), expected, atol=1e-6)


def test_greatest_chroma():
    # source: colour-science maximum_chroma_from_renotation (Centore 2012)
    hvc = inside(11, 300, 1)
    hvc = np.concatenate([hvc, [[h, v, 2] for h in (2.5, 25, 77.5) for v in (1, 5, 9)]])
    expected = [
        reference.maximum_chroma_from_renotation(to_specification(place)[[0, 1, 3]])
        for place in hvc
    ]
    np.testing.assert_allclose(munsell.greatest_chroma(*hvc[:, :2].T), expected, atol=1e-9)


def test_chromaticity_is_that_of_colour_science():
    # source: colour-science munsell_specification_to_xyY (Centore 2012)
    hvc = inside(12, 200, 1)
    assert len(hvc) == 200
    specifications = np.array([to_specification(place) for place in hvc])
    expected = reference.munsell_specification_to_xyY(specifications) * [1, 1, 100]
    np.testing.assert_allclose(munsell.munsell_to_xyY(hvc), expected, atol=1e-6)


def object_colours(count):
    """Return x, y, Y of reflectances 0..1 under C, optimal ones and darker and greyer ones."""
    shape = colour.SpectralShape(380, 780, 5)
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
    weights = observer * colour.SDS_ILLUMINANTS["C"].copy().align(shape).values[:, None]
    weights *= 100 / weights[:, 1].sum()
    rng = np.random.default_rng(14)
    start, stop = np.sort(rng.uniform(0, len(weights), (2, count, 1)), axis=0)
    steps = np.arange(len(weights))
    band = np.clip(stop - steps, 0, 1) - np.clip(start - steps, 0, 1)
    reflectance = np.where(rng.random((count, 1)) < 0.5, band, 1 - band)
    grey = rng.random((count, 1)) * (rng.random((count, 1)) < 0.5)
    reflectance = (reflectance * (1 - grey) + grey) * rng.random((count, 1)) ** 4
    xyz = reflectance @ weights
    return np.column_stack([xyz[:, :2] / xyz.sum(axis=1, keepdims=True), xyz[:, 1]])


def test_inversion_is_that_of_colour_science():
    # source: colour-science munsell_specification_to_xyY (Centore 2012): its inversion looks for
    # the place whose x, y are within 1e-7 of those asked for; so are those of this inversion
    xyY = object_colours(600)
    level = munsell.value(xyY[:, 2])
    hvc = munsell.xyY_to_munsell(xyY)
    within = hvc[:, 2] < 0.95 * munsell.greatest_chroma(*hvc[:, :2].T)
    some = within & (level > 1) & (level < 9) & (hvc[:, 2] > 0.5)
    some &= np.abs(hvc[:, 0] / 2.5 - np.round(hvc[:, 0] / 2.5)) > 0.002
    some = np.flatnonzero(some)[:100]
    assert len(some) == 100
    specifications = np.array([to_specification(place) for place in hvc[some]])
    seen = reference.munsell_specification_to_xyY(specifications) * [1, 1, 100]
    np.testing.assert_allclose(seen[:, :2], xyY[some, :2], atol=1e-7)


def test_inversion_by_colour_science():
    # source: colour-science xyY_to_munsell_specification (Centore 2012). It stops within 1e-7 of
    # x, y, which is some 1e-5 of chroma; it does not always arrive near the greatest chroma.
    xyY = munsell.munsell_to_xyY(inside(13, 40, 0.8))
    xyY = xyY[colour.is_within_macadam_limits(xyY / [1, 1, 100], "C")][:3]
    expected = from_specification(reference.xyY_to_munsell_specification(xyY / [1, 1, 100]))
    hvc = munsell.xyY_to_munsell(xyY)
    arc = 2 * np.pi / 100 * hvc[:, 2] * ((hvc[:, 0] - expected[:, 0] + 50) % 100 - 50)
    np.testing.assert_allclose(arc, 0, atol=2e-4)
    np.testing.assert_allclose(hvc[:, 1:], expected[:, 1:], atol=2e-4)


def test_every_object_colour_comes_back():
    # source: MacAdam (1935), the limits are reached by reflectances of 0 and 1 with two steps;
    # observer and light C from CIE, as carried by colour-science
    xyY = object_colours(5000)
    assert np.mean(xyY[:, 2] < munsell.luminance(1.0)) > 0.1
    hvc = munsell.xyY_to_munsell(xyY)
    np.testing.assert_allclose(munsell.munsell_to_xyY(hvc), xyY, atol=1e-9)
    again = munsell.xyY_to_munsell(munsell.munsell_to_xyY(hvc))
    arc = 2 * np.pi / 100 * hvc[:, 2] * ((hvc[:, 0] - again[:, 0] + 50) % 100 - 50)
    np.testing.assert_allclose(arc, 0, atol=1e-6)
    np.testing.assert_allclose(hvc[:, 1:], again[:, 1:], atol=1e-6)
