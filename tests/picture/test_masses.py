"""The big shapes of a picture: fields that are known, the bundled scene passage by passage."""

import csv
from pathlib import Path

import numpy as np
import pytest
import sklearn.datasets
from scipy.ndimage import distance_transform_edt
from skimage.measure import label

from mixlab.colour.difference import ciede2000, uniform
from mixlab.colour.spaces import lab_to_value, lab_to_xyz, munsell_to_lab, viewing
from mixlab.colour.words import named
from mixlab.errors import PhotoError
from mixlab.files import bundled
from mixlab.picture.grouping import grouped
from mixlab.picture.masses import masses_of
from mixlab.picture.seen import Seen, look
from mixlab.picture.values import families
from mixlab.targets.one import Target
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, Place, read_places

VIEW = viewing()
CHINA = Path(sklearn.datasets.__file__).parent / "images" / "china.jpg"
FIELDS = np.array([
    [30.0, 5, 10], [45, -20, 25], [50, 30, 30], [80, -5, -15], [85, 0, 15],
])  # fmt: skip
"""CIELAB: dark earth, green, brick; blue sky, pale sand."""


def picture(path):
    return Picture(read_photo(path), VIEW)


@pytest.fixture(scope="module")
def scene():
    return look(picture(bundled("scene.jpg")))


@pytest.fixture(scope="module")
def found(scene):
    return masses_of(scene, 8)


@pytest.fixture(scope="module")
def by_count(scene, found):
    return {3: masses_of(scene, 3), 8: found, 20: masses_of(scene, 20)}


@pytest.fixture(scope="module")
def known():
    """Five fields with the grain of a canvas, and a small patch of blue in the green one."""
    where = np.zeros((200, 300), dtype=int)
    where[100:, 90:], where[100:, 200:] = 1, 2
    where[:100], where[:100, 180:] = 3, 4
    lab = FIELDS[where]
    lab[140:152, 130:142] = [45, 15, -50]
    grain = np.random.default_rng(0).normal(size=lab.shape) * [2.0, 1.0, 1.0]
    return Seen(lab + grain, VIEW, 4.0), where


@pytest.fixture(scope="module")
def parted(known):
    return masses_of(known[0], 5)


# --- fields that are known ------------------------------------------------------------------------


def test_fields_are_found_with_their_edges(known, parted):
    where = known[1]
    assert len(parted.masses) == 5
    for number, lab in enumerate(FIELDS):
        mass = min(parted.masses, key=lambda one: float(ciede2000(one.lab, lab)))
        inside = parted.map == mass.number - 1
        both = inside & (where == number)
        assert both.sum() / (inside | (where == number)).sum() > 0.96
        assert ciede2000(mass.lab, lab) < 1 and mass.light == (lab[0] > 60)
        assert mass.spread < 8  # of the grain
    assert 5 < parted.bound < 8


def test_what_is_small_and_stands_out_is_an_accent(known, parted):
    (accent,) = parted.accents
    assert accent.accent and accent.number == 6 and accent.name == "blue" and not accent.light
    row, column = known[0].at(accent.place)
    assert 140 <= row < 152 and 130 <= column < 142
    assert accent.share == pytest.approx(144 / 60_000, rel=0.25)


def test_masses_are_numbered_named_and_add_up(known, parted):
    every = [*parted.masses, *parted.accents]
    assert [one.number for one in every] == list(range(1, 7))
    assert (np.diff([one.lab[0] for one in parted.masses]) > 0).all()
    assert sum(one.share for one in every) == pytest.approx(1)
    assert np.bincount(parted.map.ravel()) / parted.map.size == pytest.approx(
        [one.share for one in every]
    )
    assert len({one.name for one in every}) == 6


def test_the_colour_is_the_mean_in_linear_light(known, parted):
    for mass in parted.masses:
        xyz = lab_to_xyz(known[0].lab[parted.map == mass.number - 1], VIEW.white)
        assert lab_to_xyz(mass.lab, VIEW.white) == pytest.approx(xyz.mean(axis=0), rel=2e-3)


def test_the_same_picture_gives_the_same_masses(known, parted):
    again = masses_of(known[0], 5)
    assert (again.map == parted.map).all()


def test_a_soft_edge_is_no_edge_and_a_sharp_one_is():
    """A sky that pales toward the horizon is one mass; two flat halves as far apart are two."""
    rows = np.linspace(0, 1, 240)[:, None] * np.ones((1, 300))
    sky, halves = (
        np.stack([75 + 15 * t, 0 * t, -15 + 15 * t], axis=-1) for t in (rows, (rows > 0.5) * 1.0)
    )
    for upper, expected in ((sky, 1), (halves, 2)):
        lab = np.concatenate([
            upper, np.broadcast_to([40.0, -20, 25], (60, 300, 3)),
            np.broadcast_to([30.0, 20, 20], (60, 300, 3)),
        ])  # fmt: skip
        made = masses_of(Seen(lab, VIEW), 2 + expected)
        assert len(np.unique(made.map[:235])) == expected


def test_groups_join_by_ward_where_nothing_else_counts():
    """Three flat patches: of two pairs as far apart the smaller joins first."""
    patches = np.repeat([0, 1, 2], [40, 10, 30])[None].repeat(60, axis=0)
    even = np.array([[10.0, 0, 0], [20, 0, 0], [30, 0, 0]])[patches]
    root, accents = grouped(patches, even, np.zeros(3, dtype=bool), {}, 2)
    assert root[1] == root[2] != root[0] and not accents
    root, _ = grouped(patches, even, np.array([False, False, True]), {}, 2)
    assert root[0] == root[1] != root[2]  # a shadow never joins a light
    root, _ = grouped(patches, even, np.zeros(3, dtype=bool), {1: even[0, 45], 2: even[0, 70]}, 2)
    assert root[0] == root[1] != root[2]  # nor do two that the painter gave


# --- the bundled scene ----------------------------------------------------------------------------


def at(seen, masses, x, y):
    """Return the mass at a place of the photo."""
    return masses.masses[masses.map[seen.at((x, y))]]


def test_passages_of_the_scene_that_are_painted_apart_are_masses_apart(scene, found):
    with open(bundled("scene.csv"), encoding="utf-8") as file:
        places = {row["name"]: (float(row["x"]), float(row["y"])) for row in csv.DictReader(file)}
    assert len(found.masses) == 8
    kiln, shadow, sky, wood, pond, reeds = (
        at(scene, found, *places[name]) for name in (
            "kiln brick in light", "kiln brick in shadow", "sky near the horizon", "far birches",
            "pond shadow", "reeds in the foreground",
        )
    )  # fmt: skip
    roof = at(scene, found, 600, 338)
    assert kiln is roof  # one red in one light
    apart = {one.number for one in (kiln, shadow, sky, wood, reeds)}
    assert len(apart) == 5 and pond.number not in {kiln.number, sky.number, wood.number}
    assert sky.light and not shadow.light and not wood.light
    assert "red" in kiln.name or "orange" in kiln.name


@pytest.mark.parametrize("count", [3, 8, 20])
def test_a_shadow_never_joins_a_light(scene, by_count, count):
    made = by_count[count]
    dark, bound = families(scene)
    assert made.bound == bound and len(made.masses) == count
    for mass in made.masses:
        inside = made.map == mass.number - 1
        # but for the edges, which a brush rounds
        assert (dark[inside] != mass.light).mean() > 0.9


def test_a_place_lies_well_inside_and_shows_the_colour(scene, found):
    even = uniform(scene.lab)
    for mass in found.masses:
        inside = found.map == mass.number - 1
        row, column = scene.at(mass.place)
        depth = distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1]
        assert depth[row, column] >= 0.5 * depth.max()
        near = even[row - 2 : row + 3, column - 2 : column + 3].reshape(-1, 3).mean(axis=0)
        assert np.linalg.norm(near - uniform(mass.lab)) < 12


def test_shapes_of_a_mass_that_lie_apart_are_told(scene, found):
    apart = [mass for mass in found.masses if mass.elsewhere]
    assert apart
    for mass in found.masses:
        numbers = label(found.map == mass.number - 1, connectivity=1)
        places = [scene.at(at) for at in (mass.place, *mass.elsewhere)]
        assert len({numbers[at] for at in places} - {0}) == len(places)
        large = np.bincount(numbers.ravel())[1:] >= 0.01 * numbers.size
        assert large.sum() <= len(places) <= large.sum() + 1


def test_more_masses_fit_the_picture_better(scene, by_count):
    def off(made):
        labs = np.array([one.lab for one in (*made.masses, *made.accents)])
        return float(ciede2000(scene.lab, labs[made.map]).mean())

    three, eight, twenty = (off(made) for made in by_count.values())
    assert twenty < eight < three and eight < 10


def test_neighbours_that_do_not_read_are_named(found):
    value = lab_to_value(np.array([one.lab for one in (*found.masses, *found.accents)]), VIEW)
    assert found.weak
    for one, other in found.weak:
        assert abs(value[one - 1] - value[other - 1]) < 0.5


def test_no_two_masses_have_a_name(by_count):
    for made in by_count.values():
        names = [one.name for one in (*made.masses, *made.accents)]
        assert len(set(names)) == len(names)


# --- places that the painter gives ----------------------------------------------------------------


def test_places_given_are_masses_of_their_own(scene):
    places = read_places(bundled("scene.csv"), VIEW, picture(bundled("scene.jpg")))
    made = masses_of(scene, 8, places=places)
    given = {one.name: one for one in made.masses if one.given}
    assert set(given) == {one.name for one in places} and len(made.masses) == len(places) + 2
    for place in places:
        mass = given[place.name]
        assert (mass.lab == place.target.lab).all() and (mass.place == place.at).all()
        assert made.map[scene.at(place.at)] == mass.number - 1
        assert mass.share > 0


def test_a_place_needs_a_place(scene):
    with pytest.raises(PhotoError, match="rust: a mass needs a place"):
        masses_of(scene, 4, places=[Place("rust", Target(np.array([40.0, 30, 30]), VIEW, ""))])


@pytest.mark.parametrize("count", [2, 21])
def test_a_number_that_makes_no_sense_is_refused(scene, count):
    with pytest.raises(PhotoError, match="it must be 3 to 20"):
        masses_of(scene, count)


# --- words ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("munsell", "words"), [
    ((0, 0.5, 0), "black"), ((0, 9.5, 0), "white"), ((0, 5, 0), "grey"), ((0, 3, 0.4), "dark grey"),
    ((55, 3, 4), "dark blue green"), ((45, 5, 5), "green"), ((72, 7, 6), "light blue"),
    ((12, 5, 7), "red brown"), ((17, 3, 4), "dark brown"), ((22, 4.5, 3), "olive"),
    ((20, 7, 4), "light ochre"), ((25, 8.5, 10), "pale yellow"), ((15, 6.5, 12), "light orange"),
    ((5, 8.5, 4), "pale pink"), ((5, 4.5, 12), "red"), ((75, 6.5, 1.5), "light blue grey"),
    ((12, 6.5, 1.5), "light brown grey"), ((84, 3, 6), "dark violet"),
])  # fmt: skip
def test_a_colour_is_named_by_value_and_hue(munsell, words):
    assert named(munsell_to_lab(np.array(munsell, dtype=float), VIEW), VIEW) == words
