"""Colour against CIE, ASTM and IEC figures, the test pairs of CIEDE2000, and colour-science.

Published sources stand beside each check; values from memory say so. colour-science
(BSD-3-Clause) carries the CIE's tables of lights, observers and test colour samples.
"""

import math
from dataclasses import replace

import colour
import numpy as np
import pytest
from colour.difference import delta_E_CIE2000
from colour.notation import munsell as notation
from colour.quality.cfi2017 import load_TCS_CIE2017
from colour.quality.datasets import SDS_TCS

from data.making import lights as making
from mixlab.colour import difference as apart
from mixlab.colour import munsell
from mixlab.colour import spaces as own
from mixlab.files import bundled

pytestmark = pytest.mark.filterwarnings("ignore::colour.utilities.ColourUsageWarning")

VIEWS = [(light, observer) for light in making.LIGHTS for observer in making.OBSERVERS]


def labs(seed, count, chroma=110.0):
    """Return CIELAB evenly in lightness and in a*, b* up to `chroma` each way."""
    rng = np.random.default_rng(seed)
    return rng.uniform([0, -chroma, -chroma], [100, chroma, chroma], (count, 3))


# --- weights ------------------------------------------------------------------------------------


def test_data_file_is_what_colour_science_gives():
    # source: ASTM E2022 on the CIE's lights and observers, as carried by colour-science
    assert bundled("lights.csv").read_text(encoding="utf-8") == making.text()
    assert own.lights() == making.LIGHTS


# source: ASTM E308, Table 5, white points (from memory). For C, FL2, FL11 and some others the
# published figures are sums at 5 nm, which lie up to 0.09 from those at 1 nm.
WHITES = [
    ("A", "2", 109.850, 35.585, 0.01),
    ("D50", "2", 96.422, 82.521, 0.01),
    ("D65", "2", 95.047, 108.883, 0.01),
    ("D75", "2", 94.972, 122.638, 0.03),
    ("C", "2", 98.074, 118.232, 0.06),
    ("FL2", "2", 99.186, 67.393, 0.09),
    ("FL11", "2", 100.962, 64.350, 0.09),
    ("A", "10", 111.144, 35.200, 0.01),
    ("D50", "10", 96.720, 81.427, 0.02),
    ("D65", "10", 94.811, 107.304, 0.01),
    ("D75", "10", 94.416, 120.641, 0.03),
    ("C", "10", 97.285, 116.145, 0.06),
    ("FL2", "10", 103.279, 69.027, 0.09),
    ("FL11", "10", 103.863, 65.607, 0.09),
]


@pytest.mark.parametrize(("light", "observer", "x", "z", "tolerance"), WHITES)
def test_white_points(light, observer, x, z, tolerance):
    white = own.viewing(light, observer).white
    np.testing.assert_allclose(white, [x, 100, z], rtol=0, atol=tolerance)


@pytest.mark.parametrize("observer", ["2", "10"])
def test_white_points_of_the_cie(observer):
    # source: CIE 15, as carried by colour-science in TVS_ILLUMINANTS (sums at 5 nm, two decimals)
    published = colour.TVS_ILLUMINANTS[making.OBSERVERS[observer]]
    for light in ("A", "C", "D50", "D65", "D75"):
        white = own.viewing(light, observer).white
        np.testing.assert_allclose(white, published[light], rtol=0, atol=0.06)


# source: ASTM E308-15, Table 5, weights for light A and the 10 degree observer at 10 nm, from
# 360 nm, as copied in colour-science's tests of tristimulus_weighting_factors_ASTME2022. There
# light A is Planck's law at every nanometre; ours is straight between the CIE's 5 nm figures.
E308_A_10 = """
    .000 .000 .000   .000 .000 .000   .000 .000 .000   .002 .000 .008   .025 .003 .110
    .134 .014 .615   .377 .039 1.792  .686 .084 3.386  .964 .156 4.944  1.080 .259 5.806
    1.006 .424 5.812 .731 .696 4.919  .343 1.082 3.300 .078 1.616 1.973 .022 2.422 1.152
    .218 3.529 .658  .750 4.840 .382  1.642 6.100 .211 2.842 7.250 .102 4.336 8.114 .032
    6.200 8.758 .001 8.262 8.988 .000 10.227 8.760 .000 11.945 8.304 .000 12.746 7.468 .000
    12.337 6.323 .000 10.817 5.033 .000 8.560 3.744 .000 6.014 2.506 .000 3.887 1.560 .000
    2.309 .911 .000  1.276 .499 .000  .666 .259 .000   .336 .130 .000   .166 .065 .000
    .082 .032 .000   .040 .016 .000   .020 .008 .000   .010 .004 .000   .005 .002 .000
    .003 .001 .000   .001 .001 .000   .001 .000 .000
"""


def test_weights_of_e308():
    table = np.array(E308_A_10.split(), dtype=float).reshape(43, 3)
    folded = table[2:38].copy()
    folded[0] += table[:2].sum(axis=0)
    folded[-1] += table[38:].sum(axis=0)
    weights = own.viewing("A", "10").weights
    np.testing.assert_allclose(weights[1:-1], folded[1:-1], rtol=0, atol=0.0012)
    # the ends hold the sum of several rounded figures
    np.testing.assert_allclose(weights[[0, -1]], folded[[0, -1]], rtol=0, atol=0.003)


# --- integration at 10 nm -----------------------------------------------------------------------

FINE = colour.SpectralShape(360, 780, 1)


@pytest.fixture(scope="module")
def samples():
    """Return reflectances (421, n) at 1 nm: the CIE's test colour samples, and 24 of ISO 17321-1.

    The last is the perfect diffuser.
    """
    coarse = [*SDS_TCS["CIE 1995"].values(), *colour.SDS_COLOURCHECKERS["ISO 17321-1"].values()]
    curves = [curve.copy().align(FINE).values for curve in coarse]
    of_2017 = load_TCS_CIE2017(colour.SpectralShape(380, 780, 1)).copy().align(FINE).values.T
    return np.vstack([curves, of_2017, np.ones((1, 421))]).T


@pytest.mark.parametrize(("light", "observer"), VIEWS)
def test_integration_at_10_nm_against_1_nm(samples, light, observer):
    # source: CIE 13.3 (14 samples), ISO 17321-1 (24 samples), CIE 224:2017 (99 samples), summed at
    # 1 nm by colour-science. Measured over the 137: CIEDE2000 of 0.009 to 0.011 in the mean and
    # 0.11 at most by daylight, incandescent and LED light; 0.013 and 0.13 by FL2; 0.021 and 0.13
    # by FL11. Light times observer at every tenth nanometre would miss by 1.5 and 4.1 by FL11.
    assert samples.shape == (421, 138)
    spectra = colour.MultiSpectralDistributions(samples, FINE.wavelengths)
    observed = colour.MSDS_CMFS[making.OBSERVERS[observer]].copy().align(FINE)
    power = colour.SDS_ILLUMINANTS[light].copy().align(FINE)
    xyz = colour.msds_to_XYZ(spectra, observed, power, method="Integration", shape=FINE)
    expected = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(xyz[-1]))[:-1]
    on_grid = samples[20:371:10, :-1].T
    miss = delta_E_CIE2000(expected, own.reflectance_to_lab(on_grid, own.viewing(light, observer)))
    mean, most = {"FL2": (0.0135, 0.13), "FL11": (0.021, 0.13)}.get(light, (0.012, 0.11))
    assert miss.mean() < mean
    assert miss.max() < most


# --- CIELAB, CIELCh -----------------------------------------------------------------------------


@pytest.mark.parametrize(("light", "observer"), [("D65", "2"), ("A", "10"), ("FL11", "2")])
def test_cielab_is_that_of_colour_science(light, observer):
    # source: ISO/CIE 11664-4, by colour-science; dark colours are on the straight part
    white = own.viewing(light, observer).white
    white = white / white[1] * 100
    rng = np.random.default_rng(1)
    xyz = rng.uniform(0, 1.2, (2000, 3)) ** rng.uniform(1, 8, (2000, 1)) * white
    assert np.mean(xyz < (6 / 29) ** 3 * white) > 0.1
    expected = colour.XYZ_to_Lab(xyz / 100, colour.XYZ_to_xy(white))
    lab = own.xyz_to_lab(xyz, white)
    np.testing.assert_allclose(lab, expected, rtol=0, atol=1e-9)
    back = 100 * colour.Lab_to_XYZ(lab, colour.XYZ_to_xy(white))
    np.testing.assert_allclose(own.lab_to_xyz(lab, white), back, rtol=0, atol=1e-9)
    lch = own.lab_to_lch(lab)
    np.testing.assert_allclose(lch, colour.Lab_to_LCHab(lab), rtol=0, atol=1e-9)
    np.testing.assert_allclose(own.lch_to_lab(lch), colour.LCHab_to_Lab(lch), rtol=0, atol=1e-9)


def test_lightness_of_the_cie():
    # source: ISO/CIE 11664-4, L* = 116 (Y/Yn)^(1/3) - 16, and 903.3 Y/Yn below (6/29)^3: by hand
    y = np.array([0.0, 0.5, 0.8856452, 12.5, 18.4186518, 51.2, 100.0])
    lightness = [0, 4.5165, 8.0, 42.0, 50.0, 76.8, 100.0]
    got = own.xyz_to_lab(np.full((7, 3), y[:, None]), [100, 100, 100])
    np.testing.assert_allclose(got, np.outer(lightness, [1, 0, 0]), rtol=0, atol=1e-4)


# --- CIEDE2000 ----------------------------------------------------------------------------------

# source: Sharma, Wu, Dalal 2005, Table 1. Written from memory; 33 pairs are the same in
# colour-science's tests, which leave out pair 14 as its hues are opposite: whether they count as
# half a turn apart hangs there on how arctan2 rounds.
PAIRS = [
    (50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425),
    (50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615),
    (50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412),
    (50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000),
    (50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669),
    (50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195),
    (50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045),
    (50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461),
    (50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065),
    (50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492),
    (50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977),
    (50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030),
    (50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000),
    (50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000),
    (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
    (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
    (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
    (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
    (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
    (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
    (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
    (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
    (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
    (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
]


def test_ciede2000_of_the_published_pairs():
    pairs = np.array(PAIRS)
    assert pairs.shape == (34, 7)
    one, other, published = pairs[:, :3], pairs[:, 3:6], pairs[:, 6]
    np.testing.assert_allclose(apart.ciede2000(one, other), published, rtol=0, atol=1e-4)
    np.testing.assert_allclose(apart.ciede2000(other, one), published, rtol=0, atol=1e-4)


def test_ciede2000_is_that_of_colour_science():
    # source: colour-science delta_E_CIE2000, of ten thousand pairs far apart, near, and near grey
    one, other = labs(2, 10000), labs(3, 10000)
    near = one + np.random.default_rng(4).normal(0, 2, one.shape)
    grey = [lab * [1, 0.02, 0.02] for lab in (one, other)]
    for pair in ((one, other), (one, near), grey):
        for factors, textiles in (((1, 1, 1), False), ((2, 1, 1), True)):
            np.testing.assert_allclose(
                apart.ciede2000(*pair, *factors),
                delta_E_CIE2000(*pair, textiles=textiles),
                rtol=0, atol=1e-9,
            )  # fmt: skip


def by_the_paper(lab1, lab2, kl, kc, kh):
    """Return CIEDE2000 by the equations of Sharma, Wu, Dalal 2005, in degrees and case by case."""
    (l1, a1, b1), (l2, a2, b2) = lab1, lab2
    mean = (math.hypot(a1, b1) + math.hypot(a2, b2)) / 2
    g = 0.5 * (1 - math.sqrt(mean**7 / (mean**7 + 25**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = math.hypot(a1, b1), math.hypot(a2, b2)
    h1, h2 = (math.degrees(math.atan2(b, a)) % 360 for a, b in ((a1, b1), (a2, b2)))
    half = 180 + 1e-9
    if c1 * c2 == 0:
        dh, hm = 0.0, h1 + h2
    else:
        dh, hm = h2 - h1, (h1 + h2) / 2
        if abs(dh) > half:
            dh += 360 if dh < 0 else -360
            hm += 180 if h1 + h2 < 360 else -180
    dl, dc = l2 - l1, c2 - c1
    dhh = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(dh / 2))
    lm, cm = (l1 + l2) / 2, (c1 + c2) / 2
    terms = [(-0.17, 1, -30), (0.24, 2, 0), (0.32, 3, 6), (-0.20, 4, -63)]
    t = 1 + sum(f * math.cos(math.radians(n * hm + shift)) for f, n, shift in terms)
    turn = 30 * math.exp(-(((hm - 275) / 25) ** 2))
    sl = 1 + 0.015 * (lm - 50) ** 2 / math.sqrt(20 + (lm - 50) ** 2)
    sc, sh = 1 + 0.045 * cm, 1 + 0.015 * cm * t
    rt = -math.sin(math.radians(2 * turn)) * 2 * math.sqrt(cm**7 / (cm**7 + 25**7))
    x, y, z = dl / (kl * sl), dc / (kc * sc), dhh / (kh * sh)
    return math.sqrt(x * x + y * y + z * z + rt * y * z)


def test_ciede2000_is_that_of_the_paper_with_any_factors():
    # source: Sharma, Wu, Dalal 2005, equations (2) to (22), with neutral and opposite colours
    one, other = labs(5, 1500), labs(6, 1500)
    other[:300, 1:] = -one[:300, 1:] * np.linspace(0.1, 2, 300)[:, None]
    one[300:400, 1:] = 0
    other[400:500] = one[400:500] * [0.9, 0, 0]
    factors = np.random.default_rng(7).uniform(0.5, 3, (1500, 3))
    expected = [by_the_paper(*row) for row in zip(one, other, *factors.T, strict=True)]
    np.testing.assert_allclose(apart.ciede2000(one, other, *factors.T), expected, rtol=0, atol=1e-9)


# --- sRGB and adaptation ------------------------------------------------------------------------


def test_srgb_matrix_of_the_iec():
    # source: IEC 61966-2-1, the printed four-decimal matrices (from memory); and colour-science,
    # from the primaries and the white
    printed = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    inverse = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    to_xyz, to_rgb = own.rgb_to_xyz(np.eye(3)).T / 100, own.xyz_to_rgb(100 * np.eye(3)).T
    np.testing.assert_allclose(to_xyz, printed, rtol=0, atol=5.1e-5)
    np.testing.assert_allclose(to_rgb, inverse, rtol=0, atol=5e-4)
    space = colour.RGB_COLOURSPACES["sRGB"]
    exact = colour.normalised_primary_matrix(space.primaries, space.whitepoint)
    np.testing.assert_allclose(to_xyz, exact, rtol=0, atol=1e-12)
    np.testing.assert_allclose(to_rgb @ to_xyz, np.eye(3), rtol=0, atol=1e-14)
    white = 100 * colour.xy_to_XYZ(space.whitepoint)
    np.testing.assert_allclose(own.SRGB_WHITE, white, rtol=0, atol=1e-12)


def test_srgb_transfer_of_the_iec():
    # source: IEC 61966-2-1, by colour-science
    levels = np.arange(256) / 255
    linear = colour.models.eotf_sRGB(levels)
    np.testing.assert_allclose(own.decode_srgb(levels), linear, rtol=0, atol=1e-15)
    fine = np.concatenate([np.linspace(0, 1, 2001), np.linspace(0, 0.01, 2001)])
    np.testing.assert_allclose(
        own.encode_srgb(fine), colour.models.eotf_inverse_sRGB(fine), rtol=0, atol=1e-14
    )
    # source: by hand, encoded 0.5 is ((0.5 + 0.055) / 1.055)^2.4
    assert own.decode_srgb(0.5) == pytest.approx(0.21404114, abs=1e-8)


def test_hex_colours_are_those_of_colour_science():
    # source: colour-science, sRGB to XYZ to CIELAB, without adaptation under the sRGB white
    view = replace(own.viewing(), white=own.SRGB_WHITE)
    matrix, white = own.rgb_to_xyz(np.eye(3)).T / 100, colour.RGB_COLOURSPACES["sRGB"].whitepoint
    for text in ("#000000", "#ffffff", "#8b5a2b", "#2a4b7c", "#e3a857", "#01ff02"):
        linear = colour.models.eotf_sRGB(colour.notation.HEX_to_RGB(text))
        lab = colour.XYZ_to_Lab(matrix @ linear, white)
        np.testing.assert_allclose(own.hex_to_lab(text, view), lab, rtol=0, atol=1e-9)
        assert own.lab_to_hex(lab, view) == text
    # source: sRGB red in CIELAB under D65, 53.24 80.09 67.20 (common knowledge, from memory)
    np.testing.assert_allclose(
        own.hex_to_lab("#ff0000", own.viewing()), [53.24, 80.09, 67.20], rtol=0, atol=0.01
    )


def test_adaptation_is_that_of_bradford():
    # source: Lam 1985, by colour-science
    xyz = np.random.default_rng(10).uniform(0, 100, (200, 3))
    whites = [own.viewing(light, "2").white for light in ("D65", "A", "FL11")]
    for one in whites:
        for other in whites:
            expected = colour.adaptation.chromatic_adaptation_VonKries(
                xyz, one, other, transform="Bradford"
            )
            np.testing.assert_allclose(own.adapt(xyz, one, other), expected, rtol=0, atol=1e-9)
    # source: Lindbloom's table of chromatic adaptation matrices, D65 to D50 (from memory)
    printed = [
        [1.0478112, 0.0228866, -0.0501270],
        [0.0295424, 0.9904844, -0.0170491],
        [-0.0092345, 0.0150436, 0.7521316],
    ]
    matrix = own.adapt(np.eye(3), [95.047, 100, 108.883], [96.422, 100, 82.521]).T
    np.testing.assert_allclose(matrix, printed, rtol=0, atol=1e-7)


# --- Munsell ------------------------------------------------------------------------------------

MUNSELL = ["2.5R 5/8", "7.5YR 4/6", "5Y 8/10", "3G 3/4", "6BG 6/6", "5PB 4/10", "4P 2/4", "8RP 7/3"]


@pytest.mark.parametrize(("light", "observer"), [("D65", "2"), ("C", "2"), ("A", "10")])
def test_munsell_is_that_of_colour_science(light, observer):
    # source: renotation and inversion (Centore 2012) as in colour-science, reached from CIELAB by
    # its own conversions and Bradford adaptation to C
    view = own.viewing(light, observer)
    white = view.white / view.white[1]
    c = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["C"]
    for text in MUNSELL:
        xyz = colour.xyY_to_XYZ(notation.munsell_colour_to_xyY(text))
        adapted = colour.adaptation.chromatic_adaptation_VonKries(
            xyz, colour.xy_to_XYZ(c), white, transform="Bradford"
        )
        lab = colour.XYZ_to_Lab(adapted, colour.XYZ_to_xy(white))
        hvc = munsell.parse_munsell(text)
        np.testing.assert_allclose(own.munsell_to_lab(hvc, view), lab, rtol=0, atol=1e-3)
        assert munsell.write_munsell(own.lab_to_munsell(lab, view), 2) == munsell.write_munsell(
            hvc, 2
        )
