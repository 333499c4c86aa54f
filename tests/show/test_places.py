"""Whole passages at once on the command line: list, JSON, CSV, sheet, marked picture."""

import csv
import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.errors import PlotError
from mixlab.files import bundled
from mixlab.paint.paints import Paint
from mixlab.picture.passages import passages
from mixlab.show.plots import sheet, style
from mixlab.targets.photo_files import read_photo
from mixlab.targets.places import Picture, read_places

SCENE, PLACES = str(bundled("scene.jpg")), str(bundled("scene.csv"))
FEW = ("--palette", "kiln-earths")
NAMES = [row["name"] for row in csv.DictReader(Path(PLACES).read_text().splitlines())]


def test_places_of_a_file_in_every_form(run, tmp_path):
    words = ("recipe", "--photo", SCENE, "--places", PLACES, *FEW)
    told = json.loads(run(*words, "--csv", tmp_path / "p.csv", "--json").out)
    assert [one["name"] for one in told["places"]] == NAMES
    with open(tmp_path / "p.csv", newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [row["name"] for row in rows] == NAMES
    out = run(*words).out
    for one, row in zip(told["places"], rows, strict=True):
        assert one["recipe"]["in_words"] == row["recipe_in_words"]
        assert f"{one['order']}. {one['name']}" in out
        assert one["recipe"]["in_words"] in " ".join(out.split())
        mix = mixlab.read_table().mix(one["recipe"]["mix"])
        miss = float(ciede2000(one["target"]["lab"], mix.lab))
        assert one["recipe"]["miss"] == pytest.approx(miss, abs=1e-3)
        assert one["within_tolerance"] == (one["recipe"]["miss"] <= 2)
        assert one["in_reach"] == (one["directions"] is None)
    ordered = sorted(told["places"], key=lambda one: one["order"])
    lightness = [one["target"]["lab"][0] for one in ordered]
    assert lightness == sorted(lightness)
    assert "Cautions" in out


def test_each_place_is_answered_as_by_itself(run):
    many = run("recipe", "--photo", SCENE, "--at", "369,417", "--at", "600,700", "--radius", "6",
               *FEW, "--json")  # fmt: skip
    told = json.loads(many.out)["places"]
    assert [one["at"] for one in told] == [[369, 417], [600, 700]]
    for one in told:
        at = ",".join(f"{n:g}" for n in one["at"])
        alone = json.loads(run("recipe", "--photo", SCENE, "--at", at, "--radius", "6", *FEW,
                               "--json").out)  # fmt: skip
        assert alone["target"] == one["target"]
        assert alone["recipe"] == one["recipe"]


def test_a_family_is_named_in_every_form(run, tmp_path):
    file = tmp_path / "four.csv"
    file.write_text("name,colour\nroof,#8a5a3c\nreeds,#826a3b\npond,#4f3932\npath,#ab7c43\n")
    words = ("recipe", "--places", file, "--palette", "mill-pond", "--family")
    told = json.loads(run(*words, "--json").out)
    tubes, used = told["family"]["paint_ids"], set()
    for one in told["places"]:
        used |= set(one["recipe"]["parts"])
    assert used <= set(tubes) and len(tubes) < 7 and told["family"]["proven"]
    more = told["family"]["one_more"]
    assert told["family"]["lower_bound"] == len(tubes) - more
    out = " ".join(run(*words).out.split())
    proof = "one fewer would do, but not in parts" if more else "fewer do not do"
    assert f"{len(tubes)} tubes: {', '.join(tubes)}; {proof}" in out


def test_photo_and_recipe_agree_on_the_same_colour(run, tmp_path):
    small = tmp_path / "small.png"
    with Image.open(SCENE) as whole:
        whole.resize((120, 80)).save(small)
    told = json.loads(run("photo", small, *FEW, "--colours", "4", "--mark", tmp_path / "m.png",
                          "--json").out)  # fmt: skip
    for one in told["main_colours"]:
        lab = ",".join(map(str, one["lab"]))
        alone = json.loads(run("recipe", "--lab", lab, *FEW, "--json").out)["recipe"]
        assert alone["in_words"] == one["recipe"]["in_words"]
        assert 0 <= one["at"][0] < 120 and 0 <= one["at"][1] < 80
    with Image.open(tmp_path / "m.png") as drawn:
        assert drawn.width > 800


@pytest.mark.parametrize(
    ("words", "wrong"),
    [
        ("--places PLACES", "row 2: x and y are a place in a picture"),
        ("--photo SCENE --places PLACES --at 1,1", "--at X,Y, or --places FILE"),
        ("--photo SCENE", "--at X,Y, or --places FILE"),
        ("--lab 45,15,20 --places PLACES", "--lab and --places were given"),
        ("--photo SCENE --at 1,1 --at 5000,2", "outside the picture"),
        ("--places none.csv", "none.csv: cannot be read"),
        ("--places PLACES --radius 3", "are for places in a picture"),
        ("--photo SCENE --places PLACES --csv PLACES", "this file is read"),
        ("--photo SCENE --at 1,1 --at 2,2 --plot sheet.txt", ".png or .svg"),
    ],
)
def test_bad_input_is_one_line(run, words, wrong):
    given = [{"PLACES": PLACES, "SCENE": SCENE}.get(word, word) for word in words.split()]
    status, out, err = run("recipe", *given)
    assert (status, out) == (2, "") and err.count("\n") == 1
    assert wrong in err


# --- pictures -------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def made():
    picture = Picture(read_photo(SCENE), viewing())
    places = read_places(PLACES, viewing(), picture)
    return passages(places, mixlab.read_palette("kiln-earths"), alternatives=0), picture.photo


def words_of(figure):
    return [text.get_text() for axes in figure.axes for text in axes.texts]


def test_the_sheet_is_a4_and_leaves_no_place_out(made, tmp_path):
    some, photo = made
    figure = sheet.sheet(some, photo, "Kiln earths")
    np.testing.assert_allclose(figure.get_size_inches() * 25.4, (210, 297), atol=0.2)
    words = words_of(figure)
    for one in some:
        assert words.count(str(one.order)) == 2  # on the picture, and before its row
        (row,) = (text for text in words if text.startswith(f"{one.place.name} ("))
        assert str(one.answer.recipe) in " ".join(row.split())
        for value in one.values:
            assert any(text.endswith(f"\n{value:.1f}") for text in words)
    sizes = [text.get_fontsize() for text in figure.axes[1].texts if "miss" in text.get_text()]
    assert min(sizes) >= 9.5
    style.save(figure, tmp_path / "sheet.png", viewing())
    with Image.open(tmp_path / "sheet.png") as drawn:
        found = {rgb for _, rgb in drawn.convert("RGB").getcolors(10**7)}
    for one in some:
        hex = one.answer.recipe.mixture.hex
        assert tuple(bytes.fromhex(hex[1:])) in found


def test_rows_lie_on_the_sheet_and_apart(made):
    some, photo = made
    for count, taken in ((sheet.MOST_ON_A_SHEET, photo), (12, photo), (8, None)):
        figure = sheet.sheet((list(some) * 3)[:count], taken, "Kiln earths")
        panel = figure.axes[-1]
        rows = [patch.get_window_extent() for patch in panel.patches][::2]
        assert len(rows) == count and rows[-1].y0 > 0
        assert all(lower.y1 <= upper.y0 for upper, lower in pairwise(rows))
        words = [text.get_window_extent() for text in panel.texts if "miss" in text.get_text()]
        assert len(words) == count and max(box.x1 for box in words) < figure.bbox.x1
        assert all(lower.y1 <= upper.y0 + 1 for upper, lower in pairwise(words))
        if taken is not None:
            assert figure.axes[0].get_position().height > 0.1


def test_the_sheet_says_what_hurts_and_what_fades(made, monkeypatch):
    some, photo = made
    used = some[0].answer.recipe.mixture.paints[0].id
    monkeypatch.setattr(Paint, "fading", property(lambda paint: paint.id == used))
    note = " ".join(words_of(sheet.sheet(some, photo, "Kiln earths"))[-1].split())
    assert note.startswith("Cautions: read the maker's safety data sheets of ")
    assert note.endswith(f" Doubtful or fugitive in light: {used}.")


def test_more_than_a_sheet_holds_is_refused(made):
    some, photo = made
    with pytest.raises(PlotError, match="a sheet holds 18 passages, and these are 24"):
        sheet.sheet(list(some) * 3, photo, "Kiln earths")


def test_a_marked_picture_bears_a_scale_and_every_number(made):
    some, photo = made
    figure = sheet.marked(photo, [(str(one.order), one.place.at) for one in some])
    assert {str(one.order) for one in some} <= set(words_of(figure))
    panel = figure.axes[0]
    assert 5 <= len(panel.get_xticks()) <= 30 and np.ptp(panel.get_xticks()) < photo.width


def test_passages_are_saved_for_the_page_and_read_again(run, tmp_path):
    saved = tmp_path / "passages.json"
    words = ("recipe", "--photo", SCENE, "--palette", "mill-pond", "--json")
    first = json.loads(run(*words, "--places", PLACES, "--save", saved).out)
    kept = json.loads(saved.read_text(encoding="utf-8"))
    assert kept["mixlab"] == "passages" and kept["picture"]["width"] == 1200
    assert [one["name"] for one in kept["places"]] == [p["name"] for p in first["places"]]
    again = json.loads(run(*words, "--places", saved).out)
    assert [p["recipe"] for p in again["places"]] == [p["recipe"] for p in first["places"]]
    typed = tmp_path / "typed.json"
    given = run("recipe", "--munsell", "5PB 9/2", "--save", typed, "--json")
    assert given.err == "" and json.loads(typed.read_text())["places"][0]["lab"][0] > 90
    assert run("recipe", "--places", typed, "--json").err == ""
