"""The smoothest reflectance of a colour, free and between bounds."""

import numpy as np
import pytest

from mixlab.colour.difference import ciede2000
from mixlab.colour.reconstruction import smoothest
from mixlab.colour.spaces import reflectance_to_lab, viewing

VIEW = viewing()


@pytest.mark.parametrize("view", [VIEW, viewing("A", "10")])
def test_the_smoothest_curve_has_the_colour(view):
    for lab in ([50, 20, 30], [85, -2, -8], [30, -30, 10], [50, 0, 0]):
        curve = smoothest(lab, view)
        np.testing.assert_allclose(reflectance_to_lab(curve, view), lab, atol=1e-8)
    assert np.ptp(curve) < 1e-9  # a grey's is flat


@pytest.mark.parametrize("lab", [[35, 60, 45], [35, 60, -90], [80, 5, 95]])
def test_between_bounds_a_pure_colour_is_still_met(lab):
    free, held = smoothest(lab, VIEW), smoothest(lab, VIEW, (0.002, 0.97))
    assert free.min() < 0.002 or free.max() > 0.97
    assert held.min() >= 0.002 - 1e-12 and held.max() <= 0.97 + 1e-12
    assert ciede2000(reflectance_to_lab(held, VIEW), lab) < 0.01
    # no curve that has the colour is smoother: mending any three places to a metamer bends it more
    cost = np.square(np.diff(held)).sum()
    rng = np.random.default_rng(0)
    null = np.linalg.svd(VIEW.weights.T)[2][3:]
    for way in rng.normal(size=(200, len(null))) @ null:
        other = held + 0.01 * way
        if other.min() >= 0.002 and other.max() <= 0.97:
            assert np.square(np.diff(other)).sum() > cost - 1e-9


def test_a_colour_beyond_all_surfaces_is_met_as_nearly_as_can_be():
    held = smoothest([100, 0, 0], VIEW, (0.0, 0.9))
    np.testing.assert_allclose(held, 0.9, atol=1e-6)
