"""Finish against Saunderson's and Fresnel's equations, and the ends of published grey scales."""

import colour
import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import FINISHES, reflectance_to_lab, reflectance_to_xyz, viewing
from mixlab.paint import optics
from mixlab.paint.optics import Surface

TABLE = mixlab.read_table()


@pytest.mark.parametrize("share", [0.0, 0.05, 0.5, 1.0])
@pytest.mark.parametrize(("k1", "k2"), [(0.03, 0.65), (0.04, 0.6), (0.092, 0.596)])
def test_saunderson_with_a_share_of_the_specular(k1, k2, share):
    # J. L. Saunderson, J. Opt. Soc. Am. 32 (1942), 727: R = s k1 + (1 - k1)(1 - k2) r / (1 - k2 r),
    # s being the share of the specular component that is seen
    r = np.linspace(0, 1, 41)
    seen = share * k1 + (1 - k1) * (1 - k2) * r / (1 - k2 * r)
    surface = Surface(k1, k2).seen(share)
    np.testing.assert_allclose(surface.measured(r), seen, rtol=1e-14, atol=1e-16)
    np.testing.assert_allclose(surface.internal(seen), r, atol=1e-13)
    # the rest of the surface does as before
    assert (surface.outside, surface.inside) == (k1, k2)


def fresnel(n, degrees):
    """Share of unpolarised light that a surface of index n reflects at an angle [degrees]."""
    into = np.radians(degrees)
    through = np.arcsin(np.sin(into) / n)
    across = (np.cos(into) - n * np.cos(through)) / (np.cos(into) + n * np.cos(through))
    along = (np.cos(through) - n * np.cos(into)) / (np.cos(through) + n * np.cos(into))
    return float((across**2 + along**2) / 2)


def test_a_black_glass_is_seen_by_its_surface_alone():
    # n = 1.5: ((n - 1) / (n + 1))^2 = 4 % at right angles, and the same to 1e-5 at the 8 degrees of
    # di:8; L* = 116 Y^(1/3) - 16 and below 216 / 24389 24389 / 27 Y (CIE 15)
    assert fresnel(1.5, 1e-6) == pytest.approx(0.04, abs=1e-9)
    assert fresnel(1.5, 8) == pytest.approx(0.04, abs=1e-5)
    glass = Surface(fresnel(1.5, 8), 0.596)
    black = optics.opaque(np.full(36, 1e9), np.ones(36))
    expected = {0.0: 0.0, 0.05: 24389 / 27 * 0.002, 0.5: 116 * 0.02 ** (1 / 3) - 16,
                1.0: 116 * 0.04 ** (1 / 3) - 16}  # fmt: skip
    for share, lightness in expected.items():
        lab = reflectance_to_lab(glass.seen(share).measured(black), viewing())
        np.testing.assert_allclose(lab, [lightness, 0, 0], atol=0.01)
    assert expected[1.0] == pytest.approx(24, abs=0.5)  # specular included; excluded, 0


NEUTRALS = {"gloss": (0.5, 0.6), "matt": (2.0, 3.1)}
"""Where the neutral scales of the Munsell collections end: value, and Y [%]; from memory."""


@pytest.mark.parametrize(("finish", "end"), NEUTRALS.items())
def test_the_blackest_paints_end_where_published_neutrals_do(finish, end):
    view = viewing("C", "2", finish)
    value, luminance = end
    assert colour.munsell_value(luminance, method="ASTM D1535") == pytest.approx(value, abs=0.05)
    made = [TABLE.mix({paint.id: 1}, view) for paint in TABLE]
    y = np.array([reflectance_to_xyz(mix.reflectance, view)[1] for mix in made])
    values = colour.munsell_value(y, method="ASTM D1535")
    assert TABLE.ids[int(np.argsort(values)[1])] == "lamp-black"  # Prussian blue is darker yet
    assert values.min() == pytest.approx(value, abs=0.15)
    assert np.sort(values)[1] == pytest.approx(value, abs=0.2)


def test_satin_lies_between():
    assert list(FINISHES) == ["gloss", "satin", "matt"]
    seen = [
        [TABLE.mix({paint.id: 1}, viewing(finish=finish)).lab[0] for paint in TABLE]
        for finish in FINISHES
    ]
    assert (np.diff(seen, axis=0) > 0).all()
