"""Aerial perspective against its law in closed form."""

import math

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import WAVELENGTHS, hex_to_lab, lab_to_xyz, viewing
from mixlab.mixing.distance import (
    OPTICAL_RANGE,
    VISUAL_RANGE,
    extinction,
    seen_from,
    seen_through,
    veil,
)

VIEW = viewing()
SKY_LOW, SKY_HIGH = hex_to_lab("#cdd6dc", VIEW), hex_to_lab("#6f9bcc", VIEW)


def contrast(lab, horizon):
    """Luminance contrast with the horizon; Middleton 1952."""
    y, behind = (lab_to_xyz(c, VIEW.white)[..., 1] for c in (lab, horizon))
    return y / behind - 1


@pytest.mark.parametrize("visibility", [0.2, 8.0, 60.0])
def test_koschmieder(visibility):
    # H. Koschmieder, Beitr. Phys. freien Atmosphaere 12 (1924): C = C0 exp(-sigma d)
    green = mixlab.read_table().mix("1 chromium-oxide-green").lab
    sigma = extinction(visibility)
    near = contrast(green, SKY_LOW)
    for lengths, left in ((1, 1 / math.e), (2, math.e**-2)):
        away = seen_from(green, SKY_LOW, veil(lengths / sigma, visibility), VIEW)
        assert contrast(away, SKY_LOW) / near == pytest.approx(left)


@pytest.mark.parametrize(
    ("threshold", "left", "optical"),
    # WMO-No. 8: 5 % at the meteorological optical range, V = 2.996 / sigma;
    # Koschmieder 1924, Middleton 1952: 2 % at the visual range, V = 3.912 / sigma
    [(OPTICAL_RANGE, 0.05, 2.996), (VISUAL_RANGE, 0.02, 3.912)],
)
def test_what_is_left_at_the_range(threshold, left, optical):
    assert 1 - veil(10.0, 10.0, threshold) == pytest.approx(left)
    assert extinction(10.0, threshold) * 10 == pytest.approx(optical, abs=1e-3)


@pytest.mark.parametrize("exponent", [1.3, 4.0])
def test_extinction_goes_as_a_power_of_wavelength(exponent):
    # A. Angstrom, Geografiska Annaler 11 (1929): sigma ~ wavelength^-exponent; the beam written out
    # with the CIE's observer and D65 as colour-science has them, at 10 nm
    import colour

    shape = colour.SpectralShape(380, 730, 10)
    cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(shape).values
    power = colour.SDS_ILLUMINANTS["D65"].copy().align(shape).values
    near, far = (mixlab.read_table().mix(m) for m in ("1 viridian + 1 PY43", "9 PW6 + 1 PB28"))
    sigma = -np.log(0.05) / 20 * (WAVELENGTHS / 550) ** -exponent
    light = power * (near.reflectance * np.exp(-5 * sigma)
                     + far.reflectance * (1 - np.exp(-5 * sigma)))  # fmt: skip
    scale = power @ cmfs[:, 1]
    white = colour.XYZ_to_xy(power @ cmfs / scale)
    expected = colour.XYZ_to_Lab(light @ cmfs / scale, white)
    assert colour.delta_E(
        expected, seen_through(near, far, 5, 20, VIEW, exponent), method="CIE 2000"
    ) < 0.15  # fmt: skip
