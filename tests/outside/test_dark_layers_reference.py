"""What dark layers lose, against radiative transfer by adding and doubling.

The method: van de Hulst, *Multiple Light Scattering* (Academic Press 1980); de Haan, Bosma,
Hovenier, "The adding method for multiple scattering calculations of polarized light", Astron.
Astrophys. 183 (1987) 371-391. Pigments scatter forward after Henyey and Greenstein, "Diffuse
radiation in the galaxy", Astrophys. J. 93 (1941) 70-83. That the method is carried out rightly is
checked on two published numbers, as Wang, Jacques, Zheng quote them in "MCML: Monte Carlo modeling
of light transport in multi-layered tissues", Comput. Methods Programs Biomed. 47 (1995) 131-146.
"""

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss, legval

from mixlab.measure.drawdowns import BELIEFS
from mixlab.paint.optics import SURFACE, Surface, k_over_s

TERMS = 48  # of the phase function


def directions(index):
    """Cosines within the layer and their flux weights, parted at the angle of total reflection."""
    edge = np.sqrt(1 - 1 / index**2)
    (a, u), (b, v) = leggauss(8), leggauss(16)
    cosine = np.concatenate([edge * (a + 1) / 2, edge + (1 - edge) * (b + 1) / 2])
    return cosine, 2 * cosine * np.concatenate([edge * u / 2, (1 - edge) * v / 2])


def turned_back(cosine, index):
    """Fresnel reflection, from within, of light that is not polarised."""
    sine = index * np.sqrt(1 - cosine**2)
    out = np.sqrt(np.clip(1 - sine**2, 0, None))
    across = ((index * cosine - out) / (index * cosine + out)) ** 2
    along = ((index * out - cosine) / (index * out + cosine)) ** 2
    return np.where(sine < 1, (across + along) / 2, 1.0)


def layer(absorption, scattering, forward, thickness, index):
    """Reflection and transmission matrices of a layer, from a thin one by doubling."""
    cosine, weight = directions(index)
    order = np.arange(TERMS)
    shape = np.array([legval(cosine, one) for one in np.eye(TERMS)])
    moments = (2 * order + 1) * forward**order
    ahead = np.einsum("l,li,lj->ij", moments, shape, shape)
    back = np.einsum("l,li,lj->ij", moments * (-1.0) ** order, shape, shape)
    whole = ((ahead + back) * weight / (2 * cosine)).sum(axis=1, keepdims=True) / 2
    depth = (absorption + scattering) * thickness
    albedo = scattering / (absorption + scattering)
    doublings = max(int(np.ceil(np.log2(depth / 1e-4))), 1)
    thin = depth / 2**doublings / 2 / cosine[:, None]
    unit = np.eye(len(cosine))
    loss = (unit - albedo * ahead / whole * weight / (4 * cosine)) * thin
    gain = albedo * back / whole * weight / (4 * cosine) * thin
    middle = np.linalg.inv(unit + loss)
    through = np.linalg.inv(unit + loss - gain @ middle @ gain)
    reflected, transmitted = 2 * through @ gain @ middle, 2 * through - unit
    for _ in range(doublings):
        between = transmitted @ np.linalg.inv(unit - reflected @ reflected)
        reflected, transmitted = (
            reflected + between @ reflected @ transmitted, between @ transmitted,
        )  # fmt: skip
    return reflected, transmitted


def measured(absorption, scattering, forward, index):
    """Total reflectance of a layer without end under a smooth surface, lit along the normal."""
    cosine, weight = directions(index)
    reflected, _ = layer(absorption, scattering, forward, 400.0, index)
    surface = turned_back(cosine, index)
    falling = np.zeros(len(cosine))
    falling[-1] = (1 - surface[-1]) / weight[-1]
    rising = np.linalg.solve(np.eye(len(cosine)) - reflected * surface, reflected @ falling)
    return (rising * (1 - surface) * weight).sum() + surface[-1]


def test_a_slab_is_that_of_van_de_hulst():
    # albedo 0.9, g = 0.75, optical depth 2, no surface, light along the normal
    cosine, weight = directions(1.00001)
    both = layer(0.1, 0.9, 0.75, 2.0, 1.00001)
    for matrix, published in zip(both, (0.09739, 0.66096), strict=True):
        of_each = (weight[:, None] * matrix / weight).sum(axis=0)[-4:]
        at_normal = np.polyval(np.polyfit(cosine[-4:], of_each, 3), 1.0)
        assert at_normal == pytest.approx(published, abs=2e-5)


def test_a_layer_without_end_is_that_of_giovanelli():
    # albedo 0.9, isotropic, index 1.5
    assert measured(0.1, 0.9, 0.0, 1.5) == pytest.approx(0.2600, abs=1e-4)


@pytest.mark.parametrize("forward", [0.5, 0.7, 0.85])
def test_k_over_s_grows_as_absorption_does(forward):
    """K/S of such layers is in proportion to absorption, as mixing takes for granted, or it is not.

    From white to black; scattering by similarity the same, s (1 - g) = 1.
    """
    absorption = np.geomspace(1e-3, 30, 13)
    seen = np.array([measured(a, 1 / (1 - forward), forward, 1.5) for a in absorption])

    def off(surface):
        ratio = np.log(k_over_s(surface.internal(seen)) / absorption)
        return np.std(ratio)

    ours = off(Surface(0.04, BELIEFS.k2, dark_loss=BELIEFS.dark_loss))
    plain = {k2: off(Surface(0.04, k2)) for k2 in (SURFACE.inside, BELIEFS.k2, 0.3)}
    print(f"g = {forward}: off by {ours:.1%}; plain", {k: f"{v:.1%}" for k, v in plain.items()})
    # measured: 7, 4 and 9 %; of plain theory 34 to 49 % at K2 = 0.596, 18 to 33 % at its best
    assert ours < 0.1
    assert all(off > 2 * ours for off in plain.values())
    assert plain[SURFACE.inside] > 4 * ours
