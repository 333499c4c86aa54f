"""A toned ground under a thin block-in."""

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.errors import LayerError
from mixlab.picture.ground import on_ground

TABLE = mixlab.read_table()
LIGHT, DARK, EARTH = (
    TABLE.mix(mix)
    for mix in ("8 PW6 + 1 PY43", "2 burnt-umber + 1 PB29", "3 PY43 + 1 burnt-sienna")
)


def test_lights_sink_and_darks_hold_over_a_toned_ground():
    # common practice, no source
    made = on_ground([LIGHT, DARK, EARTH], TABLE.mix("2 burnt-sienna + 1 PW6"), 3.0)
    light, dark, _ = made.block_ins
    assert light.lighter < -0.5 and dark.lighter > 0 and light.miss > dark.miss
    assert light.miss > 3 and dark.stands < 0.25 < light.stands < 1
    for one in made.block_ins:
        assert one.miss == pytest.approx(float(ciede2000(one.layer.mixture.lab, one.lab)))
        at = one.layer.lab_at([0.95 * one.stands, 1.05 * one.stands])
        assert (ciede2000(at, one.layer.mixture.lab) <= 3.0).tolist() == [False, True]
        assert not one.left_bare
    np.testing.assert_allclose(made.lab, TABLE.mix("2 burnt-sienna + 1 PW6").lab)


def test_the_ground_may_do_for_a_mass():
    made = on_ground([LIGHT, EARTH], EARTH.lab + np.array([1, 0, 0]))
    assert [one.left_bare for one in made.block_ins] == [False, True]
    assert made.block_ins[1].stands == 0
    with pytest.raises(LayerError):
        on_ground([LIGHT], [50, 150, 0])
