"""Other lights against colour-science."""

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import PLACES, WAVELENGTHS, reflectance_to_xyz, viewing
from mixlab.mixing.constancy import inconstancy, metamerism, seen_under

TABLE = mixlab.read_table()
CURVES = np.array([paint.reflectance for paint in TABLE])
D65 = viewing()


@pytest.mark.parametrize("light", sorted(set(PLACES.values()) - {"D65"}))
def test_corresponding_colours_and_inconstancy(light):
    # CIE illuminants by name; Bradford adaptation, CIEDE2000: colour-science
    import colour

    view = viewing(light)
    xyz = reflectance_to_xyz(CURVES, view)
    moved = colour.chromatic_adaptation(
        xyz, view.white, D65.white, method="Von Kries", transform="Bradford"
    )
    white = colour.XYZ_to_xy(D65.white / 100)
    expected = colour.XYZ_to_Lab(moved / 100, white)
    np.testing.assert_allclose(seen_under(CURVES, view, D65), expected, atol=2e-3)
    home = colour.XYZ_to_Lab(reflectance_to_xyz(CURVES, D65) / 100, white)
    np.testing.assert_allclose(
        inconstancy(CURVES, view, D65),
        colour.delta_E(home, expected, method="CIE 2000"), atol=2e-3,
    )  # fmt: skip


def test_inconstancy_ranks_as_with_cat02():
    # M. R. Luo et al., Coloration Technology 119 (2003): CMCCON02 adapts by CAT02. Bradford's is
    # its near kin: the same paints are the inconstant ones
    import colour
    from scipy.stats import spearmanr

    view = viewing("A")
    white = colour.XYZ_to_xy(D65.white / 100)
    moved = colour.chromatic_adaptation(
        reflectance_to_xyz(CURVES, view), view.white, D65.white,
        method="Von Kries", transform="CAT02",
    )  # fmt: skip
    theirs = colour.delta_E(
        colour.XYZ_to_Lab(reflectance_to_xyz(CURVES, D65) / 100, white),
        colour.XYZ_to_Lab(moved / 100, white), method="CIE 2000",
    )  # fmt: skip
    assert spearmanr(inconstancy(CURVES, view, D65), theirs).statistic > 0.75


def test_special_metamerism_index_written_out():
    # CIE 15:2018, 9.2, with the light's spectrum from colour-science and sums at 10 nm
    import colour

    shape = colour.SpectralShape(380, 730, 10)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
    one, other = (TABLE[id].reflectance for id in ("ultramarine-blue", "cobalt-blue"))

    def xyz(curve, light):
        power = colour.SDS_ILLUMINANTS[light].copy().align(shape).values
        return 100 * (curve * power) @ cmfs / (power @ cmfs[:, 1])

    flat = np.ones(len(WAVELENGTHS))
    mended = xyz(other, "A") * xyz(one, "D65") / xyz(other, "D65")
    white = colour.XYZ_to_xy(xyz(flat, "A") / 100)
    expected = colour.delta_E(
        colour.XYZ_to_Lab(xyz(one, "A") / 100, white), colour.XYZ_to_Lab(mended / 100, white),
        method="CIE 2000",
    )  # fmt: skip
    assert metamerism(one, other, viewing("A"), D65) == pytest.approx(float(expected), rel=0.05)
