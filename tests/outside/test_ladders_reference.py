"""Ladders and the value/chroma report against published figures."""


import numpy as np
import pandas as pd
import pytest

import mixlab
from mixlab.mixing.ladders import ladder
from mixlab.mixing.value_chroma import report

TABLE = mixlab.read_table()
MEASURED = mixlab.viewing(finish="matt")
WHITE = TABLE.mix("1 titanium-white", MEASURED)
GRID = [str(w) for w in range(380, 731, 10)]


@pytest.fixture(scope="module")
def scans(artist_figures):
    """C* (1001,) by share of white, written out anew from the published K and S, by paint."""
    import colour

    rows = pd.read_csv(artist_figures).set_index(["paint", "quantity"])[GRID]
    shares = np.linspace(0, 1, 1001)[:, None]
    white = {q: rows.loc[("titanium-white", q)].to_numpy(float) for q in "KS"}
    view = MEASURED
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
    told = report(TABLE.mix({paint: 1}, MEASURED), WHITE)
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
        told = report(TABLE.mix({paint: 1}, MEASURED), WHITE)
        assert told.peak.chroma == pytest.approx(chroma.max(), abs=0.3), paint
        # a flat top is as high within a tenth of C* over some shares
        top = shares[chroma > chroma.max() - 0.1]
        assert top[0] - 0.02 <= told.peak.share <= top[-1] + 0.02, paint


def test_value_is_that_of_astm_d1535():
    # ASTM D1535-08e1, the quintic from value to luminance, written out anew
    made = ladder(TABLE.mix("1 PB29", MEASURED), WHITE, 9)
    v = made.munsell[:, 1]
    y = v * (1.1914 + v * (-0.22533 + v * (0.23352 + v * (-0.020484 + v * 0.00081939))))
    import colour

    xyz = colour.Lab_to_XYZ(made.lab, colour.XYZ_to_xy(WHITE.view.white / 100))
    under_c = colour.chromatic_adaptation(
        100 * xyz, WHITE.view.white,
        100 * colour.xy_to_XYZ([0.31006, 0.31616]), method="Von Kries", transform="Bradford",
    )  # fmt: skip
    np.testing.assert_allclose(y, under_c[:, 1], atol=0.01)
