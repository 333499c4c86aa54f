"""How much pigments scatter, against handbooks: some read, some from memory, as each check says."""

import csv

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import spearmanr

import mixlab
from data.making import modelled
from mixlab.colour.spaces import WAVELENGTHS

TABLE = mixlab.read_table()
SEEN = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)



def reducing(white):
    """Parts of titanium white that lighten a black as far as one part of another does."""

    def lightness(parts):
        return TABLE.mix({"bone-black": 1.0, **parts}, mixlab.viewing(finish="matt")).lab[0]

    wanted = lightness({white: 9.0})
    return brentq(lambda n: lightness({"titanium-white": n}) - wanted, 0.1, 20) / 9.0


def test_reducing_power_of_whites_is_in_the_handbooks_order():
    # reducing power in the trade's tables, from memory: zinc oxide about 200-210, rutile 1600-1850,
    # that is 0.11-0.13; reflectivity at the boundary to a binder of 1.5 (Fresnel), as a course on
    # polymer coatings tabulates it: rutile 8.26 %, relative opacity 100; zinc oxide 2.11 %, 26
    zinc, soft = reducing("zinc-white"), reducing("mixing-white")
    print(f"zinc white {zinc:.3f}, soft mixing white {soft:.3f} of titanium white")
    assert 0.10 < zinc < 0.26
    assert 1.5 * zinc < soft < 0.6


def test_fresnels_reflectivities_are_those_of_the_handbook():
    # the same table: index, reflectivity [%]; what by_index stands on
    for index, percent in ((2.71, 8.26), (2.55, 6.72), (2.20, 3.58), (2.01, 2.11), (1.65, 0.23)):
        assert 100 * ((index - 1.5) / (index + 1.5)) ** 2 == pytest.approx(percent, abs=0.02)
        ratio = modelled.by_index(index, 4.2) / modelled.by_index(2.71, 4.2)
        assert ratio == pytest.approx(percent / 8.26, abs=0.005)


def test_scattering_goes_with_the_refractive_index(oil_readings):
    # Gettens and Stout 1942 and, where marked so, from memory; the file lies beside the readings
    properties = oil_readings.with_name("pigment_properties.csv")
    with open(properties, newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    ids = {
        "zinc oxide": "zinc-white", "burnt sienna": "burnt-sienna", "raw sienna": "raw-sienna",
        "burnt umber": "burnt-umber", "raw umber": "raw-umber",
        "artificial ultramarine": "ultramarine-blue", "Prussian blue": "prussian-blue",
        "viridian": "viridian", "chromium oxide": "chromium-oxide-green",
        "cobalt blue": "cobalt-blue", "cadmium yellow": "cadmium-yellow-medium",
        "cadmium red": "cadmium-red-light", "red iron oxide": "red-iron-oxide",
        "yellow ochre": "yellow-ochre", "green earth": "green-earth", "bone black": "bone-black",
        "cerulean blue": "cerulean-blue", "basic lead carbonate": "lead-white",
    }  # fmt: skip
    said, found = [], []
    for row in rows:
        if row["pigment"] in ids:
            index = (float(row["refractive_index_low"]) + float(row["refractive_index_high"])) / 2
            gravity = float(row["specific_gravity"] or 3.5)
            said.append(modelled.by_index(index, gravity))
            found.append(TABLE[ids[row["pigment"]]].S[SEEN].mean())
            if row["pigment"] == "basic lead carbonate":  # by mass, as the index has it
                found[-1] *= modelled.LEAD_BY_MASS / modelled.LEAD_SCATTERING
    assert len(said) == len(ids)
    rank = spearmanr(said, found).statistic
    print(f"rank correlation {rank:.2f} over {len(said)} paints")
    assert rank > 0.7
    # those whose scattering is published or measured, on which the factor of by_index stands
    order = [ids[row["pigment"]] for row in rows if row["pigment"] in ids]
    apart = np.log(np.array(found) / said)
    standing = [order.index(id) for id in (
        "zinc-white", "ultramarine-blue", "cobalt-blue", "cadmium-red-light", "bone-black",
    )]  # fmt: skip
    assert abs(apart[standing].mean()) < 0.25
    # a tube holds more or less pigment, fine or coarse: the order of magnitude is the same. Less so
    # for viridian and Prussian blue, whose own scattering is lost beside that of the zinc white
    assert np.median(np.abs(apart)) < np.log(2) and np.abs(apart).max() < np.log(7)
