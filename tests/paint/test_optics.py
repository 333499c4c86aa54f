"""Films and mixtures behave as paint does, for any amounts and any shape of arrays."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mixlab.paint import optics

untimed = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
positive = st.floats(1e-9, 1e6)
amount = st.just(0.0) | positive
thickness = st.just(np.inf) | amount
share = st.floats(0, 1)
# where double precision can tell neighbours apart
moderate = st.floats(1e-3, 1e3)
factor = st.floats(1.01, 100)
surfaces = st.builds(
    optics.Surface, st.floats(0, 0.2), st.floats(0, 0.9), st.booleans()
)


pairs = st.tuples(amount, amount).filter(lambda pair: sum(pair) > 0)


# --- the opaque layer ---------------------------------------------------------------------------


@untimed
@given(pairs)
def test_an_opaque_layer_reflects_a_share(pair):
    assert 0 <= optics.opaque(*pair) <= 1


@untimed
@given(moderate, moderate, factor)
def test_absorption_darkens_and_scattering_lightens(k, s, more):
    r = optics.opaque(k, s)
    assert optics.opaque(k * more, s) < r < optics.opaque(k, s * more)
    assert optics.opaque(k * more, s * more) == pytest.approx(r, rel=1e-13)


@untimed
@given(st.floats(1e-4, 1), positive)
def test_ratio_and_reflectance_are_inverse(r, s):
    assert optics.opaque(optics.k_over_s(r) * s, s) == pytest.approx(r, rel=1e-9)


def test_ends_of_the_scale():
    np.testing.assert_array_equal(optics.opaque([0.0, 3.0], [2.0, 0.0]), [1, 0])
    np.testing.assert_array_equal(optics.k_over_s([0.0, 1.0]), [np.inf, 0])


def test_slopes_are_finite_where_nothing_scatters():
    by_k, by_s = optics.opaque_slopes([4.0, 2.0], [0.0, 0.0])
    np.testing.assert_array_equal(by_k, [0, 0])
    np.testing.assert_allclose(by_s, [0.125, 0.25], rtol=1e-15)


# --- mixtures -----------------------------------------------------------------------------------


@untimed
@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=6), st.randoms(), st.floats(1e-3, 1e3))
def test_order_and_scale_of_shares_do_not_count(shares, random, scale):
    curves = np.random.default_rng(len(shares)).uniform(0, 5, (len(shares), 36))
    order = list(range(len(shares)))
    random.shuffle(order)
    mixed = optics.mix(shares, curves)
    np.testing.assert_allclose(
        optics.mix(scale * np.array(shares)[order], curves[order]), mixed, rtol=1e-12
    )
    assert np.all(mixed >= curves.min(axis=0) - 1e-12)
    assert np.all(mixed <= curves.max(axis=0) + 1e-12)


def test_a_mix_of_one_paint_is_that_paint():
    curves = np.random.default_rng(1).uniform(0, 5, (4, 36))
    np.testing.assert_array_equal(optics.mix(2 * np.eye(4), curves), curves)
    np.testing.assert_array_equal(optics.mix([7.0], curves[:1]), curves[0])
    twice = optics.mix([1, 1, 2], curves[[0, 0, 1]])
    np.testing.assert_allclose(twice, optics.mix([1, 1], curves[:2]), rtol=1e-15)


def test_mixes_over_leading_axes():
    rng = np.random.default_rng(2)
    shares, curves = rng.random((2, 3, 4)), rng.random((4, 5))
    mixed = optics.mix(shares, curves)
    assert mixed.shape == (2, 3, 5)
    for place in np.ndindex(2, 3):
        np.testing.assert_allclose(mixed[place], optics.mix(shares[place], curves), rtol=1e-14)


# --- films --------------------------------------------------------------------------------------


@untimed
@given(amount, amount, thickness, share)
def test_a_film_reflects_and_transmits_a_share(k, s, x, ground):
    assert 0 <= optics.film(k, s, x, ground) <= 1 + 1e-12
    free, through = optics.film(k, s, x, 0.0), optics.transmittance(k, s, x)
    assert 0 <= through <= 1
    assert free + through <= 1 + 1e-12
    if k == 0:
        assert free + through == pytest.approx(1, abs=1e-12)


@untimed
@given(pairs, amount, factor, share)
def test_a_film_lies_between_its_ground_and_its_masstone(pair, x, more, ground):
    masstone = optics.opaque(*pair)
    thin, thick = optics.film(*pair, x, ground), optics.film(*pair, x * more, ground)
    low, high = sorted([ground, masstone])
    assert low - 1e-12 <= thin <= high + 1e-12
    assert abs(thick - masstone) <= abs(thin - masstone) + 1e-12


@untimed
@given(moderate, moderate, st.floats(1e-3, 10), factor, share)
def test_a_film_darkens_with_absorption_and_lightens_with_scattering(k, s, x, more, ground):
    seen = optics.film(k, s, x, ground)
    assert optics.film(k * more, s, x, ground) <= seen + 1e-12
    assert optics.film(k, s * more, x, ground) >= seen - 1e-12
    assert optics.transmittance(k * more, s, x) <= optics.transmittance(k, s, x)
    assert optics.transmittance(k, s * more, x) <= optics.transmittance(k, s, x)


@untimed
@given(moderate, moderate, st.floats(1e-3, 1e3), share)
def test_only_amount_of_paint_counts(k, s, x, ground):
    np.testing.assert_allclose(
        [optics.film(k, s, x, ground), optics.transmittance(k, s, x)],
        [optics.film(k * x, s * x, 1.0, ground), optics.transmittance(k * x, s * x, 1.0)],
        rtol=1e-10, atol=1e-300,
    )  # fmt: skip


def test_an_endless_film_is_the_opaque_layer():
    k, s = np.array([1.0, 2.0, 0.0, 1e-12]), np.array([1.0, 0.0, 3.0, 1e6])
    np.testing.assert_allclose(
        optics.film(k, s, np.inf, [[0.0], [0.7], [1.0]]), [optics.opaque(k, s)] * 3, rtol=1e-15
    )
    np.testing.assert_allclose(optics.transmittance(k, s, np.inf), 0, atol=1e-100)


@pytest.mark.parametrize("x", [0.0, 1.0, 1e6, np.inf])
def test_a_film_of_nothing_leaves_its_ground(x):
    np.testing.assert_allclose(optics.film(0.0, 0.0, x, [0, 0.3, 1]), [0, 0.3, 1], rtol=1e-15)
    assert optics.transmittance(0.0, 0.0, x) == 1


def test_films_over_leading_axes():
    rng = np.random.default_rng(3)
    k, s = rng.random((2, 1, 4)), rng.random(4)
    x, ground = rng.random((3, 1)), np.array([0.1, 0.2, 0.8, 0.9])
    seen, through = optics.film(k, s, x, ground), optics.transmittance(k, s, x)
    assert seen.shape == through.shape == (2, 3, 4)
    for i, j, n in np.ndindex(2, 3, 4):
        one = k[i, 0, n], s[n], x[j, 0]
        assert seen[i, j, n] == pytest.approx(optics.film(*one, ground[n]), rel=1e-15)
        assert through[i, j, n] == pytest.approx(optics.transmittance(*one), rel=1e-15)
    assert optics.film(1, 1, 1, 0).shape == optics.opaque(1, 1).shape == ()


# --- surface ------------------------------------------------------------------------------------


@untimed
@given(surfaces, share, share)
def test_seen_through_the_surface_and_back(surface, one, other):
    seen = surface.measured(one)
    assert surface.internal(seen) == pytest.approx(one, abs=1e-12)
    assert 0 <= seen <= 1 + 1e-15
    assert (surface.measured(other) > seen) == (other > one) or abs(other - one) < 1e-12
    assert surface.measured_slope(one) > 0


@given(surfaces, st.floats(1e-4, 0.999))
def test_the_slope_of_what_is_measured(surface, internal):
    step = 1e-5 * internal * (1 - internal)
    rise = surface.measured(internal + step) - surface.measured(internal - step)
    assert surface.measured_slope(internal) == pytest.approx(rise / (2 * step), rel=1e-3)


def test_the_glare_is_added_whole():
    r = np.linspace(0, 1, 5)
    matt, glossy = optics.Surface(0.05, 0.6, specular=0.0), optics.Surface(0.05, 0.6)
    np.testing.assert_allclose(glossy.measured(r) - matt.measured(r), 0.05, rtol=1e-13)
    np.testing.assert_array_equal(glossy.measured_slope(r), matt.measured_slope(r))
    assert glossy.internal(0.03) < 0
    assert glossy.measured(np.zeros((2, 3, 36))).shape == (2, 3, 36)
