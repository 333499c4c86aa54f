"""Passages listed in a file: places of a picture, colours, and rows that are neither."""

import json

import numpy as np
import pytest

from mixlab import limits
from mixlab.colour.spaces import viewing
from mixlab.errors import TargetError
from mixlab.files import bundled
from mixlab.targets.one import from_hex, from_munsell, from_photo
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, read_places, typed_places

VIEW = viewing()


@pytest.fixture(scope="module")
def scene():
    return Picture(read_photo(bundled("scene.jpg")), VIEW)


def written(tmp_path, text):
    file = tmp_path / "places.csv"
    file.write_text(text, encoding="utf-8")
    return file


def test_the_places_of_the_scene(scene):
    places = read_places(bundled("scene.csv"), VIEW, scene)
    assert len(places) == 8
    first = places[0]
    expected = from_photo(bundled("scene.jpg"), "369,417", VIEW, 6)
    np.testing.assert_array_equal(first.target.lab, expected.lab)
    assert (first.name, first.at.tolist(), first.radius) == ("kiln brick in light", [369, 417], 6)


def test_places_and_colours_stand_in_one_list(scene, tmp_path):
    text = "Name,x,y,colour\npond,500,520,\nroof,,,#8a5a3c\nhill,,,5PB 6/3\nclay,,,\"45,15,20\"\n"
    pond, roof, hill, clay = read_places(written(tmp_path, text), VIEW, scene)
    assert pond.at.tolist() == [500, 520] and roof.at is None
    np.testing.assert_allclose(roof.target.lab, from_hex("#8a5a3c", VIEW).lab)
    np.testing.assert_allclose(hill.target.lab, from_munsell("5PB 6/3", VIEW).lab)
    assert clay.target.lab.tolist() == [45, 15, 20]


@pytest.mark.parametrize("head", ["L,a,b", "name,L,a,b", "name,hex", "munsell"])
def test_colours_by_any_kind_of_column(tmp_path, head):
    cells = {"L": "50", "a": "0", "b": "0", "hex": "777777", "munsell": "N 5", "name": "grey"}
    row = ",".join(cells[column] for column in head.split(","))
    (place,) = read_places(written(tmp_path, f"{head}\n{row}\n"), VIEW)
    assert abs(place.target.lab[0] - 50) < 2 and place.name


def test_places_that_are_typed(scene):
    point, box = typed_places(scene, ["369,417", "360,400,380,420"])
    assert (point.name, box.name) == ("369,417", "360,400,380,420")
    assert box.at.tolist() == [370, 410] and box.radius == 0


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "holds no passages"),
        ("name,x,y\n", "holds no passages"),
        ("brick,369,417\nroof,1,2\n", "the first row names the columns"),
        ("name,x,y,r\nbrick,1,2,3\n", "column 'r': not a column"),
        ("name,x,x\nbrick,1,2\n", "column 'x': it is there twice"),
        ("name,x,y\nbrick,1\n", "row 2: 2 cells under 3 columns"),
        ("name,x,y\nbrick,1,2\nroof,5000,2\n", "row 3: the place 5000, 2 is outside"),
        ("name,x,y\nbrick,1,here\n", "row 2: '1,here': y 'here' is not a number"),
        ("name,x,y,radius\nbrick,1,2,wide\n", "row 2: the radius 'wide' is not a number"),
        ("name,x,y,hex\nbrick,1,2,#123456\n", "row 2: a row has one place, x and y, or one colour"),
        ("name,x,y\nbrick,,\n", "row 2: a row has one place, x and y, or one colour"),
        ("name,hex\nbrick,brown\n", "row 2: 'brown': a colour is"),
        ("name,hex\n" + "a,#123456\n" * (limits.PLACES + 1), "more than 64 passages"),
        # a long file of something else is not one of too many passages
        ("\n# A pond\n" + "It lies behind the kiln, and is cold.\n" * 99, "holds no passages"),
    ],
)
def test_a_bad_row_is_named(scene, tmp_path, text, wrong):
    with pytest.raises(TargetError) as refused:
        read_places(written(tmp_path, text), VIEW, scene)
    assert wrong in str(refused.value) and "places.csv" in str(refused.value)


def test_a_place_needs_a_picture(tmp_path):
    with pytest.raises(TargetError, match=r"row 2.*--photo FILE"):
        read_places(written(tmp_path, "name,x,y\nbrick,1,2\n"), VIEW)


SAVED = {"mixlab": "passages", "light": "D65", "observer": "2", "picture": None}


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ([], "holds no passages"),
        ([5], "passage 1: it is no place"),
        ([{"name": "a"}], "passage 1"),
        ([{"lab": [50, 0, 0]}, {"lab": [500, 0, 0]}], "passage 2"),
        ([{"lab": ["<b>", 0, 0]}], "passage 1"),
        ([{"x": 3, "y": 4}], "passage 1"),
        ([{"lab": [50, 0, 0]}] * 65, "more than 64 passages"),
    ],
)
def test_what_a_page_did_not_save_is_said_in_a_line(tmp_path, places, said):
    file = tmp_path / "saved.json"
    file.write_text(json.dumps({**SAVED, "places": places}))
    with pytest.raises(TargetError, match=said) as error:
        read_places(file, viewing())
    assert "\n" not in str(error.value)


def test_a_saved_colour_keeps_under_another_light(tmp_path):
    file = tmp_path / "saved.json"
    grey = {"name": "grey", "x": 3, "y": 4, "radius": 2, "lab": [50, 0, 0]}
    file.write_text(json.dumps({**SAVED, "places": [grey]}))
    (one,) = read_places(file, viewing("A"))
    assert one.name == "grey" and np.allclose(one.target.lab, [50, 0, 0], atol=1e-3)
