"""The value/chroma report, and the reason in words."""

import numpy as np
import pytest

import mixlab
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch
from mixlab.errors import LadderError
from mixlab.mixing.ladders import Path, grey_of
from mixlab.mixing.value_chroma import PARTS, at_equal_value, report
from mixlab.show.why import ADDITIONS, why

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
    assert 430 <= first.maximum <= 470 and 540 <= first.minimum <= 640
    assert (last.scattering_dominates == (last.k_over_s < 1)).all()
    assert last.scattering_dominates.sum() > first.scattering_dominates.sum()
    place = np.flatnonzero(first.maximum == WAVELENGTHS)[0]
    assert first.at(first.maximum) == first.reflectance[place]


def test_whites_are_compared_at_equal_value():
    zinc = TABLE.mix("1 PW4")
    columns = at_equal_value(TABLE.mix("1 PB29"), [WHITE, zinc], [4, 6, 8, 11])
    assert [len(points) for points in columns] == [3, 3]
    for titanium, other in zip(*columns, strict=True):
        assert titanium.value == pytest.approx(other.value, abs=1e-3)
        assert other.share > titanium.share  # zinc white is the weaker
    with pytest.raises(LadderError, match="no value in common"):
        at_equal_value(TABLE.mix("1 PB29"), [WHITE], [11])


@pytest.mark.parametrize("paint", COLOURED)
def test_the_reason_says_what_the_figures_say(paint):
    start = TABLE.mix({paint: 1})
    grey = grey_of(TABLE["PW6"], TABLE["PBk9"], start)
    umber = TABLE.mix("1 burnt-umber")
    for addition, toward in zip(ADDITIONS, (WHITE, BLACK, grey, umber), strict=True):
        try:
            told = report(start, toward)
        except LadderError:  # from the black to itself
            continue
        said = why(told, addition)
        assert said and all(s[-1] == "." and "  " not in s and "nan" not in s for s in said)


def test_the_reason_for_white_tells_rising_from_falling():
    rises = " ".join(why(report(TABLE.mix("1 PB29"), WHITE), "white"))
    falls = " ".join(why(report(TABLE.mix("1 PO20"), WHITE), "white"))
    assert "lighter, and higher in chroma too" in rises
    assert "takes chroma from the first part on" in falls
    assert "Scattering dominates now" in rises and "Scattering dominates now" in falls
    grey = " ".join(why(report(TABLE.mix("1 bone-black"), WHITE), "white"))
    assert "hardly any chroma to lose" in grey
