"""The reach against bodies of known volume, a global optimiser, and published limits.

Outside sources: scipy.spatial.ConvexHull (Qhull: Barber, Dobkin, Huhdanpaa, ACM Trans. Math.
Software 22 (1996) 469-483); scipy.optimize.differential_evolution (Storn and Price, J. Global
Optimization 11 (1997) 341-359); the Munsell renotation with its chips inside the MacAdam limits,
the limits themselves (MacAdam, J. Opt. Soc. Am. 25 (1935) 361-367), and the reflectances of
standards, all as colour-science has them; Pillow.
"""

import re

import colour
import numpy as np
import pytest
from PIL import Image
from scipy.optimize import differential_evolution
from scipy.spatial import ConvexHull

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.munsell import FAMILIES
from mixlab.colour.spaces import (
    decode_srgb,
    rgb_to_lab,
    viewing,
)
from mixlab.files import bundled
from mixlab.palette.edge import volume
from mixlab.palette.reach import HUES, LIGHTNESS, reach
from mixlab.targets.many import from_picture
from mixlab.targets.standards import STANDARDS, from_standard, munsell_chips

TABLE = mixlab.read_table()
EARTHS = mixlab.read_palette("kiln-earths")


@pytest.fixture(scope="module")
def earths():
    return reach(EARTHS)


# --- volumes of known bodies --------------------------------------------------------------------


def surfaces(inside, most=120.0):
    """Least and greatest distance from the axis at which `inside` holds, along every ray."""
    lightness, hue, out = np.meshgrid(
        LIGHTNESS, np.radians(HUES), np.linspace(0, most, 4801), indexing="ij", sparse=True
    )
    held = inside(lightness, out * np.cos(hue), out * np.sin(hue))
    any_ = held.any(axis=-1)
    step = most / 4800
    least, greatest = held.argmax(axis=-1) * step, most - held[..., ::-1].argmax(axis=-1) * step
    return (np.where(any_, edge, np.nan) for edge in (least, greatest))


BODIES = {
    "a ball about grey": lambda x, y, z: (x - 50) ** 2 + y**2 + z**2 <= 40**2,
    "a ball beside the axis": lambda x, y, z: (x - 50) ** 2 + (y - 50) ** 2 + z**2 <= 30**2,
    "a cube": lambda x, y, z: (abs(x - 50) <= 30) & (abs(y - 5) <= 30) & (abs(z + 5) <= 30),
}


@pytest.mark.parametrize("name", BODIES)
def test_volume_is_that_of_the_hull_of_a_convex_body(name):
    inside = BODIES[name]
    if "ball" in name:
        radius, middle = (30, [50, 50, 0]) if "beside" in name else (40, [50, 0, 0])
        rng = np.random.default_rng(0)
        points = rng.normal(size=(20_000, 3))
        points = middle + radius * points / np.linalg.norm(points, axis=1, keepdims=True)
    else:
        points = np.array(np.meshgrid([20, 80], [-25, 35], [-35, 25])).reshape(3, -1).T
    least, greatest = surfaces(inside)
    assert volume(LIGHTNESS, greatest, least) == pytest.approx(ConvexHull(points).volume, rel=0.01)


def test_a_hull_would_overstate_the_reach(earths):
    """Mixing takes light away: the body bends inward, and a hull counts what is not mixed."""
    seven = reach(mixlab.read_palette("mill-pond"))
    assert ConvexHull(earths.seeds.lab).volume > 1.1 * earths.volume
    assert ConvexHull(seven.seeds.lab).volume > 1.3 * seven.volume


# --- a global optimiser -------------------------------------------------------------------------


def test_the_edge_is_that_of_a_global_optimiser(earths):
    """The greatest chroma along a ray, by differential evolution with a heavy toll for straying."""
    medium = earths.seeds.medium
    for lightness, hue in ((45.0, 50.0), (60.0, 75.0), (75.0, 40.0), (60.0, 250.0)):
        turn = np.radians(hue)

        def toll(effect, lightness=lightness, turn=turn):
            lab = medium.lab((effect.T + 1e-9) / medium.pull)
            out = lab[:, 1] * np.cos(turn) + lab[:, 2] * np.sin(turn)
            aside = lab[:, 2] * np.cos(turn) - lab[:, 1] * np.sin(turn)
            return -out + 30 * np.hypot(lab[:, 0] - lightness, aside)

        best = differential_evolution(
            toll, [(0, 1)] * 4, seed=1, tol=1e-9, maxiter=400, popsize=20, vectorized=True,
            updating="deferred", polish=False,
        )  # fmt: skip
        found = earths.greatest_chroma(lightness, hue).chroma[0]
        assert found == pytest.approx(-best.fun, abs=0.25)


# --- published limits ---------------------------------------------------------------------------


def test_chips_are_those_inside_the_macadam_limits():
    """Against "real.dat" of the renotation: 2734 chips that its makers hold to be real.

    They drew the line by the tables of the time; a few chips lie on it.
    """
    real = set()
    for (hue, value, chroma), _ in colour.MUNSELL_COLOURS["Munsell Colours Real"]:
        step, family = re.fullmatch(r"([\d.]+)([A-Z]+)", hue).groups()
        real.add(f"{float(step):g}{family} {value:g}/{chroma:g}")
    ours = set(munsell_chips().names)
    assert len(real) == 2734
    assert len(real - ours) <= 5
    assert len(ours - real) <= 60
    assert {re.sub(r"^[\d.]+|[ /].*", "", name) for name in ours} == set(FAMILIES)


def test_optimal_limits_are_those_of_colour_science():
    from mixlab.targets.standards import inside_optimal

    view = viewing("C", "2")
    rng = np.random.default_rng(3)
    xyz = rng.uniform(0, 110, (4000, 3))
    ours = inside_optimal(xyz, view)
    x, y = xyz[:, 0] / xyz.sum(axis=1), xyz[:, 1] / xyz.sum(axis=1)
    theirs = colour.is_within_macadam_limits(np.stack([x, y, xyz[:, 1] / 100], axis=1), "C")
    assert 0.1 < ours.mean() < 0.6
    # theirs is a hull of some hundred points, and lies a little within
    assert (ours == theirs).mean() > 0.97
    assert (theirs & ~ours).mean() < 0.01


@pytest.mark.filterwarnings("ignore:Aligning")
@pytest.mark.parametrize("name", STANDARDS)
def test_standards_have_the_colours_that_colour_science_gives_them(name):
    ours = from_standard(name)
    assert len(ours) == int(STANDARDS[name].split()[0])
    if name == "iso-17321-1":
        sds = list(colour.SDS_COLOURCHECKERS["ISO 17321-1"].values())
        cmfs = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
        light = colour.SDS_ILLUMINANTS["D65"]
        theirs = [
            colour.XYZ_to_Lab(
                colour.sd_to_XYZ(sd, cmfs, light, method="Integration") / 100,
                colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"],
            )
            for sd in sds
        ]
        assert ciede2000(ours.lab, theirs).max() < 0.35  # 10 nm against 1 nm


def test_areas_of_a_picture_are_those_that_pillow_counts():
    with Image.open(bundled("scene.jpg")) as scene:
        counts = scene.convert("RGB").getcolors(1 << 24)
    area = np.array([count for count, _ in counts], dtype=float)
    lab = rgb_to_lab(decode_srgb(np.array([rgb for _, rgb in counts]) / 255), viewing())
    ours = from_picture(bundled("scene.jpg"))
    assert ours.weight @ ours.lab == pytest.approx(area @ lab / area.sum(), abs=0.15)
    light = lab[:, 0] > 75
    assert ours.weight[ours.lab[:, 0] > 75].sum() == pytest.approx(
        area[light].sum() / area.sum(), abs=0.01
    )
