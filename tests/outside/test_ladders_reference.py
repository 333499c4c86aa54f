"""Ladders and the value/chroma report against published figures and facts of the trade."""

from itertools import pairwise

import numpy as np
import pandas as pd
import pytest

import mixlab
from mixlab.mixing.ladders import complements, ladder
from mixlab.mixing.value_chroma import report

TABLE = mixlab.read_table()
WHITE = TABLE.mix("1 titanium-white")
BLACK = TABLE.mix("1 bone-black")
GRID = [str(w) for w in range(380, 731, 10)]


@pytest.fixture(scope="module")
def scans(artist_figures):
    """C* (1001,) by share of white, written out anew from the published K and S, by paint."""
    import colour

    rows = pd.read_csv(artist_figures).set_index(["paint", "quantity"])[GRID]
    shares = np.linspace(0, 1, 1001)[:, None]
    white = {q: rows.loc[("titanium-white", q)].to_numpy(float) for q in "KS"}
    view = mixlab.viewing()
    found = {}
    for paint in dict.fromkeys(rows.index.get_level_values(0)):
        k, s = (
            (1 - shares) * rows.loc[(paint, q)].to_numpy(float) + shares * white[q] for q in "KS"
        )
        r = 1 + k / s - np.sqrt((k / s) ** 2 + 2 * k / s)  # Kubelka 1948
        r = 0.03 + 0.97 * 0.35 * r / (1 - 0.65 * r)  # Saunderson 1942, with the figures' constants
        lab = colour.XYZ_to_Lab(r @ view.weights / 100, colour.XYZ_to_xy(view.white / 100))
        found[paint] = np.hypot(lab[:, 1], lab[:, 2])
    return found


@pytest.mark.parametrize(
    ("paint", "masstone", "peak", "share"),
    # R. S. Berns, Artist Paint Spectral Database, IS&T 2016: C* of the masstone, C* and share of
    # white of the peak, to the precision of the text
    [
        ("ultramarine-blue", 38, 64, 0.08),
        ("phthalo-green-blue-shade", 8, 46, 0.5),
        ("cadmium-orange", 86, 86, 0.0),
    ],
)
def test_published_peaks(scans, paint, masstone, peak, share):
    told = report(TABLE.mix({paint: 1}), WHITE)
    assert told.start.chroma == pytest.approx(masstone, abs=1)
    assert told.peak.chroma == pytest.approx(peak, abs=1)
    assert told.peak.share == pytest.approx(share, abs=0.02)
    assert scans[paint][0] == pytest.approx(masstone, abs=1)
    assert scans[paint].max() == pytest.approx(peak, abs=1)


def test_every_fitted_paint_peaks_where_its_published_figures_do(scans):
    shares = np.linspace(0, 1, 1001)
    for paint, chroma in scans.items():
        if paint == "titanium-white" or chroma.max() < 10:  # a black's is noise
            continue
        told = report(TABLE.mix({paint: 1}), WHITE)
        assert told.peak.chroma == pytest.approx(chroma.max(), abs=0.3), paint
        # a flat top is as high within a tenth of C* over some shares
        top = shares[chroma > chroma.max() - 0.1]
        assert top[0] - 0.02 <= told.peak.share <= top[-1] + 0.02, paint


def test_value_is_that_of_astm_d1535():
    # ASTM D1535-08e1, the quintic from value to luminance, written out anew
    made = ladder(TABLE.mix("1 PB29"), WHITE, 9)
    v = made.munsell[:, 1]
    y = v * (1.1914 + v * (-0.22533 + v * (0.23352 + v * (-0.020484 + v * 0.00081939))))
    import colour

    xyz = colour.Lab_to_XYZ(made.lab, colour.XYZ_to_xy(WHITE.view.white / 100))
    under_c = colour.chromatic_adaptation(
        100 * xyz, WHITE.view.white,
        100 * colour.xy_to_XYZ([0.31006, 0.31616]), method="Von Kries", transform="Bradford",
    )  # fmt: skip
    np.testing.assert_allclose(y, under_c[:, 1], atol=0.01)


# --- facts of the trade; common practice, no source ----------------------------------------------


@pytest.mark.parametrize("green", ["viridian", "phthalo-green-blue-shade", "chromium-oxide-green"])
def test_white_lightens_a_green_and_takes_chroma_out(green):
    told = report(TABLE.mix({green: 1}), WHITE)
    rows = [row.point for row in told.gained_per_part if row.point.share > told.peak.share]
    assert len(rows) >= 4
    assert all(a.value < b.value and a.chroma > b.chroma for a, b in pairwise(rows))


@pytest.mark.parametrize("yellow", ["arylide-yellow", "lemon-yellow"])
def test_black_turns_yellow_green(yellow):
    made = ladder(TABLE.mix({yellow: 1}), BLACK, 9)
    hue, value, chroma = made.munsell.T
    assert 20 <= hue[0] <= 32  # 10YR to 2.5GY
    assert (hue[3:8] > 30).all() and (hue[3:8] < 55).all()  # green-yellow to green
    assert (np.diff(value) < 0).all() and (np.diff(chroma) < 0).all()


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("ultramarine-blue", "burnt-sienna"),
        ("ultramarine-blue", "burnt-umber"),
        ("cadmium-red-light", "viridian"),
        ("pyrrole-red", "phthalo-green-blue-shade"),
    ],
)
def test_complements_cancel(one, other):
    told = report(TABLE.mix({one: 1}), TABLE.mix({other: 1}))
    assert told.neutral.chroma < 6
    assert told.neutral.chroma < 0.5 * min(told.start.chroma, TABLE.mix({other: 1}).lch[1])
    assert 0 < told.neutral.share < 1


def test_earths_are_the_complements_of_ultramarine():
    tubes = mixlab.read_palette("studio")
    best = [paint.id for paint, _ in complements(tubes.mix("1 PB29"), tubes)][:2]
    assert set(best) <= {"burnt-umber", "burnt-sienna"}


def test_a_little_burnt_sienna_in_white_is_a_warm_cast():
    lch = TABLE.mix({"burnt-sienna": 1, "titanium-white": 60}).lch
    assert lch[0] > 80 and 3 < lch[1] < 15 and 30 < lch[2] < 80


def test_ochre_blue_and_white_turn_greenish_and_burnt_sienna_takes_the_green_out():
    sky = TABLE.mix({"yellow-ochre": 3, "ultramarine-blue": 1, "titanium-white": 12})
    assert 90 < sky.lch[2] < 200
    mended = TABLE.mix({**sky.parts, "burnt-sienna": 1})
    assert mended.lab[1] > sky.lab[1] + 1


def test_titanium_tints_are_chalkier_than_zinc_tints_at_first():
    # the weaker white leaves the paint its depth: purer at equal value near the masstone
    from mixlab.mixing.value_chroma import at_equal_value

    titanium, zinc = at_equal_value(TABLE.mix("1 PB29"), [WHITE, TABLE.mix("1 PW4")], [3.5])
    assert zinc[0].chroma > titanium[0].chroma
