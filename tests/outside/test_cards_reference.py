"""Swatch cards of published figures, seen through the published sensitivities of a camera.

The paint is measured, of other hands than ours; the card and the light on it are rendered. Camera:
spectral sensitivities measured at the National Physical Laboratory, as colour-science holds them.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from PIL import Image

import mixlab
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.measure import cards, swatches
from mixlab.paint.tables import PigmentTable
from tests.measure import card as making

TABLE = mixlab.read_table()


@pytest.fixture(scope="module")
def camera():
    import colour

    curves = colour.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"]
    light = colour.SDS_ILLUMINANTS["D65"]
    energy = np.interp(WAVELENGTHS, light.wavelengths, light.values)
    seen = [np.interp(WAVELENGTHS, curves.wavelengths, one) for one in curves.values.T]
    return making.Camera(sensitivity=np.stack(seen, axis=1).clip(0) * energy[:, None])


def photographed(folder, painted, camera, index, table):
    """What a card of these swatches tells, by tube."""
    Image.fromarray(camera.photograph(painted.reflectance, seed=2)).save(folder / "card.png")
    (folder / "card.toml").write_text(painted.toml("card.png", index))
    return cards.characterise_card(swatches.read_card(folder / "card.toml"), table)


def without(*ids):
    return PigmentTable(tuple(p for p in TABLE if p.id not in ids), TABLE.path)


# --- modern paint: K and S as published ---------------------------------------------------------

TUBES = [
    "ultramarine-blue", "phthalo-green-blue-shade", "cadmium-red-light", "arylide-yellow",
    "quinacridone-magenta", "bone-black",
]  # fmt: skip


@pytest.fixture(scope="module")
def figures(artist_figures):
    """K and S of tubes as published, not as our table's curves run: Berns 2016."""
    rows = pd.read_csv(artist_figures).set_index(["paint", "quantity"])
    grid = [f"{w:.0f}" for w in WAVELENGTHS]
    return {
        id: replace(
            TABLE[id],
            K=np.maximum(rows.loc[(id, "K"), grid].to_numpy(float), 1e-7),
            S=np.maximum(rows.loc[(id, "S"), grid].to_numpy(float), 1e-7),
        )
        for id in [*TUBES, "titanium-white"]
    }


def misses_of(found, truth):
    return making.misses_of(found, truth, np.random.default_rng(9))


def test_tubes_are_found_from_a_table_that_is_off(figures, camera, tmp_path):
    # the table's paints of the same index names are half as strong, their edges 6 nm off
    altered = tuple(
        making.own_tube(p, p.id, load=0.5, shift=6.0, bend=0.2) if p.id in TUBES else p
        for p in TABLE
    )
    painted = making.paint_card([figures[id] for id in TUBES], figures["titanium-white"], seed=1)
    index = {id: " ".join(paint.colour_index) for id, paint in figures.items()}
    fit = photographed(tmp_path, painted, camera, index, PigmentTable(altered))
    misses = misses_of({p.id: p for p in fit.paints}, figures)
    making.say("published K and S, table altered", misses)
    # the bar: mean CIEDE2000 3 in random mixes
    assert misses.mean() < 2
    off = misses_of({p.id: p for p in altered if p.id in figures}, figures)
    making.say("the altered table as it is", off)
    assert off.mean() > 3 * misses.mean()


def test_tubes_are_found_that_the_table_does_not_have(figures, camera, tmp_path):
    painted = making.paint_card([figures[id] for id in TUBES], figures["titanium-white"], seed=1)
    index = dict.fromkeys(TUBES, "") | {"titanium-white": "PW6"}
    fit = photographed(tmp_path, painted, camera, index, without(*TUBES))
    misses = misses_of({p.id: p for p in fit.paints}, figures)
    making.say("published K and S, withheld from the table", misses)
    assert misses.mean() < 3


# --- oil paint: measured reflectance of drawdowns, no model in between --------------------------

# Geldof et al. 2018. Drawdowns whose readings over white and black differ by less than 2.9
# CIEDE2000 stand for paint that hides; zinc white by itself (07A) lets the white ground show
ROWS = [
    ["04A", "04B"], ["06A", "06B"], ["09A", "09B"], ["12A", "12B"], ["13A", "13B"],
    ["14A", "14B"], ["15A", "15C"], ["07A", "07C", "07D", "07F"],
]  # fmt: skip
INDEX = {
    "zinc-white": "PW4", "bone-black": "PBk9", "viridian": "PG18", "cobalt-blue": "PB28",
    "prussian-blue": "PB27", "vermilion": "PR106", "cochineal-lake": "NR4",
    "chrome-yellow": "PY34", "chrome-yellow-light": "PY34",
}  # fmt: skip
# what our table has from these very readings is withheld
OTHERS = without("zinc-white", "mixing-white", "viridian", "prussian-blue")


@pytest.fixture(scope="module")
def oil(oil_readings):
    """Mixture and reflectance (36,) of each drawdown over white."""
    rows = pd.read_csv(oil_readings)
    rows = rows[rows["surface"] == "over-white"].set_index("sample")
    grid = np.arange(400, 701, 10)
    values = rows[[str(w) for w in grid]].to_numpy(float)
    return {
        sample: (mixture, np.interp(WAVELENGTHS, grid, reflectance))
        for sample, mixture, reflectance in zip(rows.index, rows["mixture"], values, strict=True)
    }


def of_oil(oil, camera, folder, leave=()):
    # the instrument took in the light that the surface reflects; the camera takes half of it
    rows = [{oil[one][0]: oil[one][1] - 0.015 for one in row if one not in leave} for row in ROWS]
    fit = photographed(folder, making.lay_card(rows), camera, INDEX, OTHERS)
    return PigmentTable(fit.paints)


def test_curves_of_oil_paint_hold_under_other_lights(oil, camera, tmp_path):
    # the photograph told nothing of these lights: that the colours under them come out too
    # is in the curves
    table = of_oil(oil, camera, tmp_path)
    assert {paint.unit for paint in table} == {"zinc-white"}
    for light, bar in (("D65", 2.5), ("A", 3.0), ("FL11", 3.5)):
        view = viewing(light, finish="matt")
        misses = np.array([
            mixlab.ciede2000(table.mix(mixture, view).lab, reflectance_to_lab(reflectance, view))
            for mixture, reflectance in (oil[one] for row in ROWS for one in row)
        ])  # fmt: skip
        making.say(f"oil paint under {light}", misses)
        assert misses.mean() < bar


@pytest.mark.parametrize("sample", ["07C", "07D"])
def test_greys_of_oil_paint_are_predicted(oil, camera, tmp_path, sample):
    table = of_oil(oil, camera, tmp_path, leave=[sample])
    mixture, reflectance = oil[sample]
    view = viewing(finish="matt")
    miss = mixlab.ciede2000(table.mix(mixture, view).lab, reflectance_to_lab(reflectance, view))
    print(f"{sample}: {miss:.2f}, bone black stated {table['bone-black'].uncertainty:.2f}")
    assert miss < 3.5
