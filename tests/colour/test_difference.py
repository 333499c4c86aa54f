"""The even coordinates against CIEDE2000 itself; the bounds are measured, and ours."""

import numpy as np
import pytest

from mixlab.colour import difference as apart


def labs(seed, count, chroma):
    """Return CIELAB evenly in lightness and in a*, b* up to `chroma` each way."""
    rng = np.random.default_rng(seed)
    return rng.uniform([0, -chroma, -chroma], [100, chroma, chroma], (count, 3))


@pytest.mark.parametrize(
    ("chroma", "mean", "spread", "low", "high"),
    [(30, 0.984, 0.064, 0.856, 1.227), (80, 0.980, 0.094, 0.762, 1.318)],
)
def test_even_coordinates_are_near_to_ciede2000(chroma, mean, spread, low, high):
    # source: CIEDE2000 itself. Measured over pairs within 5 units: straight distance by CIEDE2000,
    # its mean, its standard deviation, and between what 98 of 100 lie. All lie between 0.6 and
    # 2.5; what is left is the hue weight T and the turn in the blues.
    rng = np.random.default_rng(8)
    one = labs(9, 250000, chroma)
    one = one[np.hypot(one[:, 1], one[:, 2]) < chroma]
    step = rng.normal(size=one.shape)
    step *= rng.uniform(0.5, 8, (len(one), 1)) / np.linalg.norm(step, axis=1, keepdims=True)
    true = apart.ciede2000(one, one + step)
    near = true < 5
    straight = np.linalg.norm(apart.uniform(one) - apart.uniform(one + step), axis=1)
    ratio = straight[near] / true[near]
    assert near.sum() > 100_000
    assert ratio.mean() == pytest.approx(mean, abs=0.003)
    assert ratio.std() == pytest.approx(spread, abs=0.003)
    np.testing.assert_allclose(np.quantile(ratio, [0.01, 0.99]), [low, high], rtol=0, atol=0.02)
    assert 0.55 < ratio.min() < ratio.max() < 2.7


def test_even_coordinates_of_greys_and_along_a_and_b():
    # source: CIEDE2000 itself, in small steps. Along a* its weight of chroma is met exactly near
    # grey, and within 0.07 to chroma 20 and 0.15 to chroma 80.
    steps = np.linspace(0, 80, 161)[:, None]
    for row, tolerance in [
        (steps * [1.25, 0, 0], 0.003),
        (steps * [0, 0.25, 0] + [50, 0, 0], 0.07),
        (steps * [0, 1, 0] + [50, 0, 0], 0.15),
        (steps * [0, 0, 1] + [50, 0, 0], 0.002),
    ]:
        lengths = np.linalg.norm(np.diff(apart.uniform(row), axis=0), axis=1)
        np.testing.assert_allclose(lengths, apart.ciede2000(row[1:], row[:-1]), rtol=tolerance)
