"""Kubelka-Munk against closed forms, the paper's own equations at 60 digits, and Fresnel's.

Published sources stand beside each check; values from memory say so.
"""

from decimal import Context, Decimal, localcontext
from itertools import product

import numpy as np
import pytest
from scipy.integrate import quad

from mixlab.paint import optics

# --- the opaque layer ---------------------------------------------------------------------------

# source: Kubelka and Munk 1931 by hand, K/S = (1 - R)^2 / 2R
CLOSED = [
    (1.0, 0.0),
    (0.9, 1 / 180),
    (0.8, 0.025),
    (0.5, 0.25),
    (1 / 3, 2 / 3),
    (0.25, 1.125),
    (0.2, 1.6),
    (0.1, 4.05),
    (0.01, 49.005),
]


@pytest.mark.parametrize(("reflectance", "ratio"), CLOSED)
def test_closed_forms_both_ways(reflectance, ratio):
    assert optics.k_over_s(reflectance) == pytest.approx(ratio, rel=1e-13)
    for s in (1e-6, 1.0, 37.0):
        assert optics.opaque(ratio * s, s) == pytest.approx(reflectance, rel=1e-13)


def test_opaque_keeps_its_digits():
    # source: Kubelka 1948, 1 + q - sqrt(q^2 + 2q) at 60 digits
    for exponent in range(-18, 19):
        with localcontext(Context(prec=60)):
            q = Decimal(10) ** exponent
            exact = float(1 + q - (q * q + 2 * q).sqrt())
        assert optics.opaque(10.0**exponent, 1.0) == pytest.approx(exact, rel=1e-14)


def test_mixtures_add_up():
    # source: Duncan 1940, K and S of a mixture are the sums over its parts; worked by hand:
    # one part of R = 0.1 (K/S 4.05) and three of R = 0.5 (K/S 0.25, twice the scattering)
    k, s = optics.mix([1, 3], [[4.05], [0.5]]), optics.mix([1, 3], [[1.0], [2.0]])
    np.testing.assert_allclose([k[0], s[0]], [5.55 / 4, 7 / 4], rtol=1e-15)
    ratio = 5.55 / 7
    np.testing.assert_allclose(
        optics.opaque(k, s)[0], 1 + ratio - (ratio**2 + 2 * ratio) ** 0.5, rtol=1e-14
    )


# --- films --------------------------------------------------------------------------------------

EXTREMES = [10.0**e for e in range(-12, 7, 3)]
GROUNDS = [0.0, 0.04, 0.5, 0.999999, 1.0]


def by_the_paper(k, s, x, grounds):
    """Return R over each ground, and R and T of the free film, from a and b of Kubelka 1948."""
    context = Context(prec=80, Emax=10**15, Emin=-(10**15))
    with localcontext(context):
        k, s, x = Decimal(k), Decimal(s), Decimal(x)
        a = (s + k) / s
        b = (a * a - 1).sqrt()
        grow = (b * s * x).exp()
        sinh, cosh = (grow - 1 / grow) / 2, (grow + 1 / grow) / 2
        coth = cosh / sinh
        over = [float((1 - g * (a - b * coth)) / (a - g + b * coth)) for g in map(Decimal, grounds)]
        return over, float(1 / (a + b * coth)), float(b / (a * sinh + b * cosh))


def test_film_and_free_film_over_the_whole_range():
    # source: Kubelka 1948, Part I, R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX) and
    # T = b / (a sinh bSX + b cosh bSX), at 80 digits
    places = np.array(list(product(EXTREMES, repeat=3)))
    exact = [by_the_paper(*place, GROUNDS) for place in places]
    k, s, x = places.T[:, :, None]
    over = optics.film(k, s, x, GROUNDS)
    assert over.shape == (343, 5)
    np.testing.assert_allclose(over, [e[0] for e in exact], rtol=1e-14)
    free, through = optics.film(*places.T, 0.0), optics.transmittance(*places.T)
    np.testing.assert_allclose(free, [e[1] for e in exact], rtol=1e-14)
    np.testing.assert_allclose(through, [e[2] for e in exact], rtol=1e-12, atol=1e-300)
    assert np.all(free + through <= 1 + 1e-15)


def test_film_that_only_filters():
    # source: Kubelka 1948, S -> 0: Bouguer's law, there and back
    k, x, rg = np.meshgrid([0, 1e-6, 0.3, 7.0, 1e3], [0, 0.02, 1.0, 30.0], GROUNDS)
    np.testing.assert_allclose(optics.film(k, 0.0, x, rg), rg * np.exp(-2 * k * x), rtol=1e-13)
    np.testing.assert_allclose(optics.transmittance(k, 0.0, x), np.exp(-k * x), rtol=1e-13)
    np.testing.assert_allclose(
        optics.film(k, 1e-12 * k, x, rg), rg * np.exp(-2 * k * x), rtol=1e-9, atol=1e-12
    )


def test_film_that_only_scatters():
    # source: Kubelka 1948, K -> 0
    s, x, rg = np.meshgrid([0, 1e-6, 0.3, 7.0, 1e6], [0, 0.02, 1.0, 1e6], GROUNDS)
    lifted = s * x * (1 - rg)
    np.testing.assert_allclose(optics.film(0.0, s, x, rg), (rg + lifted) / (1 + lifted), rtol=1e-13)
    np.testing.assert_allclose(optics.transmittance(0.0, s, x), 1 / (1 + s * x), rtol=1e-13)
    # source: conservation of energy, what is not reflected goes through
    free = optics.film(0.0, s, x, 0.0) + optics.transmittance(0.0, s, x)
    np.testing.assert_allclose(free, 1.0, rtol=1e-15)


def test_thin_and_thick_films():
    # source: Kubelka 1948, X -> 0 is the ground and X -> infinity is R_inf; to the first order
    # dR/dX = S (1 - R)^2 - 2 K R (the differential equation of Kubelka and Munk 1931)
    k, s = np.array([0.02, 1.0, 30.0]), np.array([4.0, 1.0, 0.5])
    for rg in GROUNDS:
        np.testing.assert_allclose(optics.film(k, s, 0.0, rg), rg, rtol=1e-15)
        np.testing.assert_allclose(
            (optics.film(k, s, 1e-7, rg) - rg) / 1e-7,
            s * (1 - rg) ** 2 - 2 * k * rg,
            rtol=1e-4, atol=1e-4,
        )  # fmt: skip
        np.testing.assert_allclose(optics.film(k, s, 200.0, rg), optics.opaque(k, s), rtol=1e-13)
        np.testing.assert_allclose(optics.film(k, s, np.inf, rg), optics.opaque(k, s), rtol=1e-14)


def test_film_over_a_film():
    # source: Kubelka 1948 (1954 for layers that differ): two films are one of both thicknesses;
    # free ones give T = T1 T2 / (1 - R1 R2)
    rng = np.random.default_rng(1)
    k, s, below, above = 10 ** rng.uniform([[-6], [-6], [-4], [-4]], [[2], [2], [1], [1]], (4, 500))
    for rg in GROUNDS:
        stacked = optics.film(k, s, above, optics.film(k, s, below, rg))
        np.testing.assert_allclose(stacked, optics.film(k, s, above + below, rg), rtol=1e-12)
    through = optics.transmittance(k, s, above) * optics.transmittance(k, s, below)
    between = 1 - optics.film(k, s, above, 0.0) * optics.film(k, s, below, 0.0)
    np.testing.assert_allclose(
        optics.transmittance(k, s, above + below), through / between, rtol=1e-10
    )


# --- surface ------------------------------------------------------------------------------------


def fresnel(cosine, ratio):
    """Return the reflectance of unpolarised light; `ratio` is the index beyond by that before."""
    sine = np.sqrt(1 - cosine**2) / ratio
    if sine >= 1:
        return 1.0
    beyond = np.sqrt(1 - sine**2)
    across = (cosine - ratio * beyond) / (cosine + ratio * beyond)
    along = (ratio * cosine - beyond) / (ratio * cosine + beyond)
    return (across**2 + along**2) / 2


def diffuse(ratio):
    edge = np.sqrt(max(0.0, 1 - ratio**2))
    parts = [(0, edge), (edge, 1)] if edge else [(0, 1)]
    return sum(quad(lambda c: 2 * c * fresnel(c, ratio), *part)[0] for part in parts)


def test_surface_is_that_of_fresnel():
    # source: Judd 1942, table of diffuse reflectance at n = 1.50: 0.092 from outside and 0.596
    # from inside (values from memory, here integrated); normal incidence is ((n - 1) / (n + 1))^2
    outside, inside = diffuse(1.5), diffuse(1 / 1.5)
    assert outside == pytest.approx(0.092, abs=5e-4)
    assert inside == pytest.approx(1 - (1 - outside) / 1.5**2, abs=1e-7)
    assert optics.SURFACE.inside == pytest.approx(inside, abs=5e-4)
    assert optics.SURFACE.outside == pytest.approx(fresnel(1.0, 1.5), abs=1e-12)
    assert optics.SURFACE.specular


SURFACES = [(0.0, 0.0), (0.04, 0.596), (0.03, 0.65), (0.04, 0.4), (0.092, 0.6), (0.0, 0.5)]


@pytest.mark.parametrize(("k1", "k2"), SURFACES)
def test_saunderson(k1, k2):
    # source: Saunderson 1942, light followed from pass to pass: the surface reflects K1, the rest
    # is reflected by the body, and of each return K2 goes back; and the paper's way back
    r = np.linspace(0, 1, 41)
    passes = [(1 - k1) * (1 - k2) * r * (k2 * r) ** n for n in range(200)]
    body = np.sum(passes, axis=0)
    back = optics.Surface(k1, k2).internal
    np.testing.assert_allclose(optics.Surface(k1, k2).measured(r), k1 + body, atol=1e-14)
    np.testing.assert_allclose(optics.Surface(k1, k2, 0.0).measured(r), body, atol=1e-14)
    np.testing.assert_allclose(back(k1 + body), r, atol=1e-13)
    np.testing.assert_allclose(optics.Surface(k1, k2, 0.0).internal(body), r, atol=1e-13)
    seen = np.linspace(0.1, 1, 31)
    np.testing.assert_allclose(
        back(seen), (seen - k1) / (1 - k1 - k2 * (1 - seen)), atol=1e-14
    )  # fmt: skip


def test_saunderson_worked():
    # worked by hand from Saunderson 1942: 0.04 + 0.96 x 0.4 x 0.5 / (1 - 0.6 x 0.5)
    assert optics.Surface(0.04, 0.6).measured(0.5) == pytest.approx(0.04 + 0.192 / 0.7, abs=1e-15)
    # nothing is lost where nothing is absorbed
    assert optics.Surface(0.04, 0.6).measured(1.0) == pytest.approx(1.0, abs=1e-15)
    assert optics.Surface(0.04, 0.6, specular=0.0).measured(1.0) == pytest.approx(0.96, abs=1e-15)
    r = np.linspace(0, 1, 11)
    np.testing.assert_array_equal(optics.Surface(0.0, 0.0).measured(r), r)
    np.testing.assert_array_equal(optics.Surface(0.0, 0.0).internal(r), r)


# --- slopes -------------------------------------------------------------------------------------


def central(function, at, step):
    return (function(at + step) - function(at - step)) / (2 * step)


def test_slopes_of_the_opaque_layer():
    # source: central differences of the closed form
    k, s = 10 ** np.random.default_rng(3).uniform(-3, 3, (2, 1000))
    by_k, by_s = optics.opaque_slopes(k, s)
    np.testing.assert_allclose(by_k, central(lambda v: optics.opaque(v, s), k, 1e-5 * k), rtol=1e-7)
    np.testing.assert_allclose(by_s, central(lambda v: optics.opaque(k, v), s, 1e-5 * s), rtol=1e-7)
    # R tends to S / 2K as S tends to 0
    np.testing.assert_allclose(optics.opaque_slopes(k, 0.0), [0 * k, 1 / (2 * k)], rtol=1e-14)


@pytest.mark.parametrize(("k1", "k2"), SURFACES)
def test_slope_of_the_surface(k1, k2):
    # source: central differences of Saunderson's correction
    surface, r = optics.Surface(k1, k2), np.linspace(0.01, 0.99, 50)
    np.testing.assert_allclose(
        surface.measured_slope(r), central(surface.measured, r, 1e-5), rtol=1e-7
    )
