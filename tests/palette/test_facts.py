"""What painters know of palettes. Common practice, no source; the bounds are ours."""

import numpy as np
import pytest

import mixlab
from mixlab.colour.munsell import FAMILIES
from mixlab.colour.spaces import lab_to_lch, viewing
from mixlab.palette.coverage import coverage
from mixlab.palette.next_tube import best_next
from mixlab.palette.reach import reach
from mixlab.targets.one import from_munsell
from mixlab.targets.standards import munsell_chips

TABLE = mixlab.read_table()
EARTHS = mixlab.read_palette("kiln-earths")


@pytest.mark.parametrize("name", ["kiln-earths", "warm-and-cool"])
def test_random_mixes_of_all_the_tubes_lie_within(name):
    made = reach(mixlab.read_palette(name))
    rng = np.random.default_rng(2)
    n, pull = len(made.palette), made.seeds.medium.pull
    shares = np.concatenate([rng.dirichlet(np.full(n, a), 150) for a in (0.05, 0.15, 0.5, 1.0)])
    shares = np.concatenate([shares, shares / pull])
    labs = np.array([
        made.palette.mix(dict(zip(made.palette.ids, row + 1e-12, strict=True))).lab
        for row in shares[::20]
    ])  # fmt: skip
    assert np.allclose(labs, made.seeds.medium.lab(shares)[::20], atol=1e-6)
    labs = made.seeds.medium.lab(shares)
    lightness, chroma, hue = lab_to_lch(labs).T
    edge = made.greatest_chroma(lightness, hue)
    assert not np.isnan(edge.chroma).any()
    assert (chroma - edge.chroma < 0.3).mean() > 0.999  # C*
    assert (made.nearest(labs)[2] < 0.1).mean() > 0.99
    assert made.contains(labs).mean() > 0.998


@pytest.mark.parametrize("family", ["B", "PB", "P"])
def test_earths_reach_no_strong_blue_or_violet(earths, family):
    """Common practice, no source."""
    hue = 10 * FAMILIES.index(family) + 5
    assert np.nanmax(earths.greatest_munsell(hue, [3.0, 4, 5, 6, 7])) < 2
    assert coverage(earths, munsell_chips()).by_family()[family][1] < 0.003


@pytest.mark.parametrize("blue", ["ultramarine-blue", "phthalo-blue-green-shade"])
def test_a_blue_opens_that_side(earths, blue):
    """Common practice, no source."""
    made = reach(TABLE.palette([*EARTHS.ids, blue]))
    assert made.volume > 1.5 * earths.volume
    for hue, times in ((65.0, 4), (75.0, 4)):  # 5B, 5PB
        before = np.nanmax(earths.greatest_munsell(hue, [3.0, 4, 5, 6, 7]))
        assert np.nanmax(made.greatest_munsell(hue, [3.0, 4, 5, 6, 7])) > times * before


def test_split_primaries_reach_purer_secondaries():
    """A warm and a cool of each primary against one of each: common practice, no source."""
    single = reach(TABLE.palette(
        ["titanium-white", "diarylide-yellow", "pyrrole-red", "ultramarine-blue"]
    ))  # fmt: skip
    split = reach(TABLE.palette([
        "titanium-white", "lemon-yellow", "diarylide-yellow", "pyrrole-red",
        "quinacridone-magenta", "ultramarine-blue", "phthalo-blue-green-shade",
    ]))  # fmt: skip
    for hue, value in ((45.0, 5.0), (85.0, 4.0)):  # green, violet
        assert split.greatest_munsell(hue, value) > 1.5 * single.greatest_munsell(hue, value)
    # orange is warm on both sides of a single set too
    assert split.greatest_munsell(15.0, 6.0) >= single.greatest_munsell(15.0, 6.0) - 0.1


def test_white_pulls_the_reach_up(earths):
    """Without white there are no light colours but the paints' own: common practice, no source."""
    without = earths.without("titanium-white")
    white = TABLE.mix("1 titanium-white").lab[0]
    assert without.lightest.lab[0] < 75 < 98 < white < earths.lightest.lab[0] + 0.01
    ochre = TABLE.mix("1 yellow-ochre").lab[0]
    assert ochre == pytest.approx(without.lightest.lab[0], abs=0.5)



def test_earths_and_white_want_a_blue_next(table):
    """Common practice, no source: earths, black and white mix no strong blue; a blue opens it."""
    earths = table.palette(["titanium-white", "yellow-ochre", "red-iron-oxide", "bone-black"])
    labs = np.array([from_munsell(chip, viewing()).lab for chip in
                     ("5PB 3/8", "5PB 4/8", "5PB 5/6", "2.5PB 4/6", "7.5PB 3/8")])  # fmt: skip
    more = best_next(earths, labs)
    assert more[0].share == 0
    assert more[1].share > 0.5
    assert "blue" in more[1].id
