"""Passages of a picture: each its own recipe, darks first."""

import numpy as np

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import lab_to_value, viewing
from mixlab.picture.passages import from_a_family, in_order, passages
from mixlab.targets.one import Target
from mixlab.targets.places import Place

PALETTE = mixlab.read_palette("mill-pond")
LABS = np.array([[70.0, 5, 20], [25, 2, 3], [45, 15, 20], [45, 0, -60]])


def test_each_gets_the_recipe_that_it_gets_by_itself_in_the_order_given():
    places = [Place(str(lab), Target(lab, viewing(), "given")) for lab in LABS]
    made = passages(places, PALETTE, 2.0, 3, parts=10)
    assert [one.place for one in made] == places
    for one, lab in zip(made, LABS, strict=True):
        alone = mixlab.find_recipe(lab, PALETTE, 2.0, 3, parts=10)
        assert str(one.answer.recipe) == str(alone.recipe)
        wanted, mixed = one.values
        assert wanted == lab_to_value(lab, viewing())
        assert mixed == lab_to_value(alone.recipe.lab, viewing())
    assert [one.order for one in made] == [4, 1, 2, 3]
    assert [one.order for one in in_order(made)] == [1, 2, 3, 4]


def test_a_family_holds_all_passages_and_what_is_out_of_reach_is_said():
    places = [Place(str(lab), Target(lab, viewing(), "given")) for lab in LABS]
    studio = mixlab.read_palette("studio")
    made, held = from_a_family(places, studio)
    free = passages(places, studio, alternatives=0)
    assert held.proven and 1 < len(held.tubes) < len(studio)
    used = set()
    for one, other in zip(made, free, strict=True):
        used |= set(one.answer.recipe.parts)
        assert one.answer.in_reach == other.answer.in_reach or not one.answer.in_reach
        miss = float(ciede2000(one.place.target.lab, one.answer.recipe.lab))
        assert abs(one.answer.recipe.miss - miss) < 1e-6
        if other.answer.in_reach:
            assert one.answer.by_count[-1].miss <= 2
    assert used <= set(held.tubes)
    assert [one.order for one in made] == [4, 1, 2, 3]
    barred, _ = from_a_family(places[:3], studio, must_not=[held.tubes[-1]])
    assert all(held.tubes[-1] not in one.answer.recipe.parts for one in barred)
