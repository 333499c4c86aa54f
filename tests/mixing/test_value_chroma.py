"""The value/chroma report."""

from dataclasses import replace

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, lab_to_value
from mixlab.errors import LadderError
from mixlab.mixing.ladders import Path, grey_of
from mixlab.mixing.value_chroma import PARTS, at_equal_value, grey_that_holds, report
from mixlab.paint.mixtures import Mixture

TABLE = mixlab.read_table()
MATT = mixlab.viewing(finish="matt")
WHITE = TABLE.mix("1 titanium-white")
BLACK = TABLE.mix("1 bone-black")
COLOURED = [paint.id for paint in TABLE if not paint.is_white]


@pytest.mark.parametrize("toward", ["titanium-white", "zinc-white"])
@pytest.mark.parametrize("paint", COLOURED)
def test_the_peak_is_that_of_a_brute_force_scan(paint, toward):
    told = report(TABLE.mix({paint: 1}, MATT), TABLE.mix({toward: 1}, MATT))
    shares = np.linspace(0, 1, 1001)
    k = (1 - shares[:, None]) * TABLE[paint].K + shares[:, None] * TABLE[toward].K
    s = (1 - shares[:, None]) * TABLE[paint].S + shares[:, None] * TABLE[toward].S
    r = k / s
    r = 1 + r - np.sqrt(r * (r + 2))
    r = 0.03 + 0.97 * 0.35 * r / (1 - 0.65 * r)
    chroma = lab_to_lch(mixlab.colour.spaces.reflectance_to_lab(r, MATT))[:, 1]
    assert told.peak.chroma == pytest.approx(chroma.max(), abs=0.3)
    assert told.peak.chroma >= chroma.max() - 1e-6
    assert told.peak.share == pytest.approx(shares[chroma.argmax()], abs=0.02)


def test_half_of_the_chroma_is_half_of_the_peak():
    told = report(TABLE.mix("1 PB29"), WHITE)
    assert told.half.chroma == pytest.approx(told.peak.chroma / 2, abs=1e-3)
    assert told.half.share > told.peak.share
    assert told.half.parts == pytest.approx(told.half.share / (1 - told.half.share))


def test_parts_buy_what_they_come_to():
    told = report(TABLE.mix("1 PB29"), WHITE)
    assert [row.parts for row in told.gained_per_part] == list(PARTS)
    gained, before = told.start.value, 0
    for row in told.gained_per_part:
        gained += row.value_gain * (row.parts - before)
        before = row.parts
        assert gained == pytest.approx(row.point.value)
        made = TABLE.mix({"PB29": 1, "PW6": row.parts})
        np.testing.assert_allclose(row.point.lab, made.lab, atol=1e-9)


def test_no_doubling_costs_more_than_the_steepest():
    told = report(TABLE.mix("1 PO20"), WHITE)
    path = Path(TABLE.mix("1 PO20"), WHITE)
    parts = np.geomspace(1e-3, 400, 400)
    chroma = [lab_to_lch(path.lab(n / (1 + n)))[..., 1] for n in (parts, 2 * parts)]
    assert told.per_doubling >= (chroma[0] - chroma[1]).max() - 0.01
    at = told.steepest.parts
    lost = told.steepest.chroma - lab_to_lch(path.lab(2 * at / (1 + 2 * at)))[1]
    assert told.per_doubling == pytest.approx(lost)


def test_complements_cancel_at_the_neutral_point():
    told = report(TABLE.mix("1 PB29"), TABLE.mix("1 burnt-sienna"))
    shares = np.linspace(0.001, 0.999, 999)
    chroma = lab_to_lch(told.path.lab(shares))[:, 1]
    assert told.neutral.chroma <= chroma.min() + 1e-6
    assert told.neutral.share == pytest.approx(shares[chroma.argmin()], abs=0.002)


def test_stages_read_the_curves():
    told = report(TABLE.mix("1 PB29"), WHITE)
    assert [stage.point for stage in told.stages] == [told.start, told.peak, told.half]
    first, _, last = told.stages
    np.testing.assert_allclose(first.k_over_s, TABLE["PB29"].K / TABLE["PB29"].S)
    assert 430 <= first.maximum.nm <= 470 and 540 <= first.minimum.nm <= 640
    assert (last.scattering_dominates == (last.k_over_s < 1)).all()
    assert last.scattering_dominates.sum() > first.scattering_dominates.sum()
    place = np.flatnonzero(first.maximum.nm == WAVELENGTHS)[0]
    assert first.maximum.height == first.reflectance[place]
    np.testing.assert_allclose(told.added.reflectance, WHITE.reflectance)


def test_whites_are_compared_at_equal_value():
    zinc = TABLE.mix("1 PW4")
    columns = at_equal_value(TABLE.mix("1 PB29"), [WHITE, zinc], [4, 6, 8, 11])
    assert [len(points) for points in columns] == [3, 3]
    for titanium, other in zip(*columns, strict=True):
        assert titanium.value == pytest.approx(other.value, abs=1e-3)
        assert other.share > titanium.share  # zinc white is the weaker
    with pytest.raises(LadderError, match="no value in common"):
        at_equal_value(TABLE.mix("1 PB29"), [WHITE], [11])


@pytest.mark.parametrize(("strength", "expected"), [(0.5, 0.041), (2.0, 0.148)])
def test_a_weaker_tube_peaks_sooner_and_a_stronger_one_later(strength, expected):
    blue = TABLE["PB29"]
    told = report(TABLE.mix("1 PB29", MATT), TABLE.mix("1 PW6", MATT))
    tube = replace(blue, K=strength * blue.K, S=strength * blue.S)
    peak = report(Mixture((tube,), (1.0,), MATT), TABLE.mix("1 PW6", MATT)).peak
    assert told.peak_at_strength(strength) == pytest.approx(peak.share, abs=2e-4)
    assert peak.share == pytest.approx(expected, abs=0.003) and told.peak.share > 0.075


def test_a_grey_of_its_own_value_darkens_an_orange_and_a_lighter_one_holds_it():
    orange = TABLE.mix("1 cadmium-orange")
    value = float(lab_to_value(orange.lab, orange.view))
    own = report(orange, grey_of(TABLE["PW6"], TABLE["PBk9"], orange))
    assert own.half.value < value - 0.9
    assert own.darkest.value == pytest.approx(
        lab_to_value(own.path.lab(np.linspace(0, 1, 2001)), orange.view).min(), abs=0.01
    )
    grey, half = grey_that_holds(orange, TABLE["PW6"], TABLE["PBk9"])
    there = report(orange, grey).half
    assert there.value == pytest.approx(value, abs=0.05) and half.share == there.share
    assert lab_to_value(grey.lab, grey.view) > value + 1
    assert grey_that_holds(BLACK, TABLE["PW6"], TABLE["lamp-black"]) is None


@pytest.mark.parametrize("paint", ["PO20", "PR254", "PY43", "chromium-oxide-green"])
def test_a_grey_that_holds_value_is_found(paint):
    start = TABLE.mix({paint: 1})
    _, half = grey_that_holds(start, TABLE["PW6"], TABLE["PBk9"])
    assert half.value == pytest.approx(lab_to_value(start.lab, start.view), abs=0.05)
    assert half.chroma == pytest.approx(start.lch[1] / 2, rel=0.03)
