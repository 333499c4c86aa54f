"""The reach against bodies of known volume, random mixes, and published limits.

Outside sources: scipy.spatial.ConvexHull (Qhull: Barber, Dobkin, Huhdanpaa, ACM Trans. Math.
Software 22 (1996) 469-483); scipy.optimize.differential_evolution (Storn and Price, J. Global
Optimization 11 (1997) 341-359); the Munsell renotation with its chips inside the MacAdam limits,
the limits themselves (MacAdam, J. Opt. Soc. Am. 25 (1935) 361-367), and the reflectances of
standards, all as colour-science has them; Pillow. Facts of the trade are marked.
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
    lab_to_lch,
    munsell_to_lab,
    reflectance_to_lab,
    rgb_to_lab,
    viewing,
)
from mixlab.files import bundled
from mixlab.palette.coverage import cover
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


# --- random mixes -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["kiln-earths", "warm-and-cool"])
def test_random_mixes_of_all_the_tubes_lie_within(name):
    made = reach(mixlab.read_palette(name))
    rng = np.random.default_rng(2)
    n, pull = len(made.palette), made.seeds.medium.pull
    shares = np.concatenate([rng.dirichlet(np.full(n, a), 300) for a in (0.05, 0.15, 0.5, 1.0)])
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


# --- facts of the trade -------------------------------------------------------------------------


def strong(family, chroma, value):
    """CIELAB of the middle of a hue family."""
    return munsell_to_lab([10 * FAMILIES.index(family) + 5, value, chroma], viewing())


@pytest.mark.parametrize("family", ["B", "PB", "P"])
def test_earths_reach_no_strong_blue_or_violet(earths, family):
    """Common practice, no source."""
    hue = 10 * FAMILIES.index(family) + 5
    assert np.nanmax(earths.greatest_munsell(hue, [3.0, 4, 5, 6, 7])) < 2
    assert cover(earths, munsell_chips()).by_family()[family][1] < 0.003


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
    assert without.lightest.lab[0] < 75 < 99 < earths.lightest.lab[0]
    assert reflectance_to_lab(TABLE["yellow-ochre"].reflectance, viewing())[0] == pytest.approx(
        without.lightest.lab[0], abs=0.5
    )
