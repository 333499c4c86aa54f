"""Passages of a picture: each its own recipe, darks first."""

import numpy as np

import mixlab
from mixlab.colour.spaces import lab_to_value, viewing
from mixlab.plan.passages import in_order, passages
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
