"""Films over a dry ground against Kubelka's closed forms, and against measured films.

Sources: Kubelka, "New contributions to the optics of intensely light-scattering materials. Part I",
J. Opt. Soc. Am. 38 (1948) 448-457; Saunderson, J. Opt. Soc. Am. 32 (1942) 727-736; Geldof, Proano
Gaibor, Ligterink, Hendriks, Kirchner, "Reconstructing Van Gogh's palette to determine the optical
characteristics of his paints", Heritage Science 6:17 (2018), CC0.
"""

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import reflectance_to_lab, viewing
from mixlab.files import bundled
from mixlab.measure.films import films
from mixlab.measure.readings import read_readings
from mixlab.paint.layers import layer
from mixlab.paint.paints import COAT

TABLE = mixlab.read_table()
COATS = np.array([0.01, 0.1, 0.5, 2.0])


def arcoth(x):
    """Of above 1, or the artanh of below: their differences are the same."""
    return 0.5 * np.log(np.abs((x + 1) / (x - 1)))


@pytest.mark.parametrize("mix", ["transparent-red-oxide", "4 titanium-white + 1 PY43", "PB29"])
@pytest.mark.parametrize(("finish", "share"), [("gloss", 0.05), ("matt", 1.0)])
def test_a_layer_is_that_of_kubelka(mix, finish, share):
    # R = (1 - Rg (a - b coth bSX)) / (a - Rg + b coth bSX), a = 1 + K/S, b = sqrt(a^2 - 1); and
    # R' = share K1 + (1 - K1)(1 - K2) R / (1 - K2 R), K1 = 0.03 and K2 = 0.65, for film and ground
    view = viewing(finish=finish)
    mixture, ground = TABLE.mix(mix, view), TABLE.mix("2 PBr24 + 1 burnt-umber", view)
    parts = sum(mixture.parts.values())
    k, s = (
        sum(n * getattr(TABLE[id], curve) for id, n in mixture.parts.items()) / parts
        for curve in "KS"
    )
    seen = ground.reflectance - share * 0.03
    below = seen / (0.97 * 0.35 + 0.65 * seen)
    a = 1 + k / s
    b = np.sqrt(a * a - 1)
    coth = 1 / np.tanh(b * s * COATS[:, None] * COAT)
    film = (1 - below * (a - b * coth)) / (a - below + b * coth)
    made = layer(mixture, ground.reflectance, COATS)
    expected = share * 0.03 + 0.97 * 0.35 * film / (1 - 0.65 * film)
    np.testing.assert_allclose(made.reflectance, expected, rtol=1e-9)
    # and back: SX = (arcoth((a - R) / b) - arcoth((a - Rg) / b)) / b, or artanh below the masstone
    thin = slice(0, 2)
    back = (arcoth((a - film[thin]) / b) - arcoth((a - below) / b)) / (b * s) / COAT
    np.testing.assert_allclose(back, np.broadcast_to(COATS[thin, None], back.shape), rtol=1e-5)


def test_films_over_two_grounds_predict_each_other(all_oil_readings):
    """Thickness from the reading over one ground, then the colour over the other.

    K and S are those of the bundled oils, fitted to 26 of these 62 drawdowns; the others are mixes
    that the fit did not see. Only where a ground shows can it be told: readings over white and
    over black more than 1 apart, and a quarter of thickness worth 0.5 or more.
    """
    view, oils = viewing(finish="matt"), mixlab.read_table(bundled("oils.csv"))
    read = films(read_readings(all_oil_readings))
    told, unfit = [], []
    for drawdown in range(len(read.samples)):
        rows = {read.surfaces[i]: i for i in np.flatnonzero(read.sample == drawdown)}
        seen = {ground: reflectance_to_lab(read.reflectance[i], view) for ground, i in rows.items()}
        apart = float(ciede2000(seen["over-white"], seen["over-black"]))
        shares = read.shares[drawdown]
        mixture = oils.mix({read.ids[j]: shares[j] for j in np.flatnonzero(shares)}, view)
        over = {ground: layer(mixture, read.ground[i]) for ground, i in rows.items()}
        for one, other in (("over-white", "over-black"), ("over-black", "over-white")):
            coats, miss = over[one].nearest(seen[one])
            (moved,) = layer(mixture, read.ground[rows[one]], [min(coats, 100)]).moved_by()
            if apart > 1 and moved > 0.5:
                unfit.append(apart)
                told.append((miss, ciede2000(over[other].lab_at(coats), seen[other])))
    fitted, predicted = np.array(told).T
    # measured: 25 predictions, mean 1.9, median 1.1, nine in ten below 3.7, the largest 10.7 for
    # the ultramarine that dried mat; over the ground that the thickness was fitted on, mean 0.9. To
    # say that the film looks the same on both grounds is 5.2 off
    assert len(predicted) >= 20
    assert predicted.mean() < 2.4 and np.median(predicted) < 1.4
    assert np.percentile(predicted, 90) < 5 and fitted.mean() < 1.5
    assert np.mean(unfit) > 2 * predicted.mean()
