"""A family of tubes for the passages of a picture."""

import itertools

import numpy as np
import pytest

import mixlab
from mixlab.errors import ReachError, SearchError
from mixlab.files import bundled
from mixlab.palette.family import family
from mixlab.palette.small_sets import misses
from mixlab.targets.one import from_hex
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, read_places
from tests.palette.cases import kit_of

NAMES = ("brick", "sky", "bank", "sign")


@pytest.fixture(scope="module")
def passages(eight):
    """Three mixes of few tubes, and a colour that no paint comes near."""
    shares = np.zeros((3, 8))
    shares[[0, 0], [1, 2]], shares[[1, 1], [0, 4]], shares[[2, 2, 2], [1, 3, 4]] = 0.5, 0.5, 0.33
    return np.vstack([kit_of(eight.paints).medium.lab(shares), [[60.0, 98, -61]]])


@pytest.fixture(scope="module")
def made(passages, eight):
    return family(passages, eight, NAMES, max_tubes=3)


def test_a_family_holds_all_that_the_palette_reaches(made, passages, eight):
    assert made.out_of_reach == ("sign",)
    assert list(made.in_reach) == [True, True, True, False]
    assert made.proven
    assert set(made.tubes) < set(eight.ids)
    for answer, recipe, lab in zip(made.answers, made.recipes, passages, strict=True):
        assert answer.in_reach
        assert set(recipe.parts) <= set(made.tubes)
        assert recipe.tubes <= 3
        assert recipe.miss == pytest.approx(mixlab.ciede2000(lab, recipe.lab))
    assert all(recipe.exact_miss <= 2 for recipe in made.recipes[:3])
    # out of reach it comes to what the whole palette has, to the tolerance
    alone = mixlab.find_recipe(passages[3], eight, max_tubes=3).recipe
    assert mixlab.ciede2000(alone.lab, made.goals[3]) < 1e-9
    assert made.recipes[3].miss <= alone.miss + 2 * 2


def test_no_smaller_family_does(made, eight):
    """Every smaller set of tubes misses one of the goals."""
    kit = kit_of(eight.paints)
    figures = misses((kit, made.goals))
    smaller = np.array(list(itertools.combinations(range(8), len(made.tubes) - 1)))
    within = figures[:, kit.subsets.inside(smaller)].min(axis=2) <= 2
    assert not within.all(axis=0).any()


def test_what_is_required_belongs_to_it(passages, eight, made):
    other = next(id for id in eight.ids if id not in made.tubes)
    assert other in family(passages[:1], eight, max_tubes=2, required=[other]).tubes


def test_what_cannot_be_a_family(eight):
    with pytest.raises(SearchError, match=r"an array \(n, 3\)"):
        family([], eight)
    with pytest.raises(ReachError, match="2 names for 1 colours"):
        family([[50, 0, 0]], eight, ("a", "b"))


def test_a_family_holds_in_parts_that_a_knife_measures():
    """A pale sky beside darks: the fewest tubes of exact shares would leave it 4 off."""
    palette = mixlab.read_palette("mill-pond")
    colours = [from_hex(hex, mixlab.viewing()).lab for hex in ("4f3932", "826a3b", "e1dac7")]
    made = family(colours, palette)
    assert made.proven and all(recipe.miss <= 2 for recipe in made.recipes)
    assert len(made.tubes) - len(made.found.tubes) == made.one_more


def test_more_sets_are_listed_than_the_eight_that_come_first():
    """The places of the bundled picture, from twelve tubes: sixteen sets of four hold them."""
    palette = mixlab.read_palette("studio")
    photo = Picture(read_photo(bundled("scene.jpg")), mixlab.viewing())
    places = read_places(bundled("scene.csv"), photo.view, photo)
    made = family([one.target.lab for one in places], palette)
    assert len(made.found.sets) > 8
    # among them one that parts hold, so that no tube more is wanted; none is held far in reserve
    assert not made.one_more and all(recipe.miss <= 2 for recipe in made.recipes)
    assert made.palette.reserve.sum() <= min(
        sum(palette[id].reserve for id in one.tubes) for one in made.found.sets
    )
