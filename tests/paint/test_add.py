"""A tube from its label."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import encode_srgb, lab_to_rgb, reflectance_to_lab, viewing
from mixlab.errors import MixlabError, TableError
from mixlab.files import bundled
from mixlab.paint import optics
from mixlab.paint.add import STRENGTHS, add_paint, add_to_table, doubt, strength_of, tint_strength
from mixlab.paint.paints import tinting_strength

TABLE = mixlab.read_table()
MATT = viewing(finish="matt")
WHITE = TABLE["titanium-white"]
BLUE, UMBER = TABLE["ultramarine-blue"], TABLE["burnt-umber"]


# --- strength -----------------------------------------------------------------------------------


@pytest.mark.parametrize("paint", [BLUE, UMBER, TABLE["cadmium-red-light"]], ids=lambda p: p.id)
def test_half_as_strong_needs_twice_the_parts(paint):
    mine = add_paint(paint, "my-own", 0.5)
    theirs = mixlab.Mixture((paint, WHITE), (1, 9))
    ours = mixlab.Mixture((mine, WHITE), (2, 9))
    np.testing.assert_allclose(ours.K / ours.S, theirs.K / theirs.S, rtol=1e-12)
    # the masstone is the same pigment, as thick as it needs to be
    np.testing.assert_allclose(mine.reflectance, paint.reflectance, rtol=1e-12)


@pytest.mark.parametrize("strength", [0.5, 1.5, 2.0])
@pytest.mark.parametrize("paint", [BLUE, TABLE["quinacridone-magenta"]], ids=lambda p: p.id)
def test_it_is_the_tinting_strength_of_the_standard(paint, strength):
    # ASTM D4838 compares K/S of tints; where the white scatters nearly all, that is the load
    mine = add_paint(paint, "my-own", strength)
    for share in (0.1, 0.02):
        assert tinting_strength(mine, paint, WHITE, share) == pytest.approx(strength, rel=0.03)


@pytest.mark.parametrize("load", [0.25, 0.5, 1.0, 1.7, 4.0])
@pytest.mark.parametrize("parts", [1.0, 9.0, 49.0])
def test_a_tint_tells_the_strength(load, parts):
    for paint in (BLUE, UMBER, TABLE["arylide-yellow"], TABLE["bone-black"]):
        tint = mixlab.Mixture((add_paint(paint, "my-own", load), WHITE), (1, parts))
        for view in (viewing(), viewing("A", "10")):
            found = tint_strength(
                paint, WHITE, parts, tint.under(view.light, view.observer).lab, view
            )
            assert found.value == pytest.approx(load, rel=1e-3), (paint.id, view.light)
            assert found.miss < 0.01


def test_a_tint_of_another_pigment_says_so():
    tint = mixlab.Mixture((TABLE["phthalo-green-blue-shade"], WHITE), (1, 9))
    assert tint_strength(BLUE, WHITE, 9, tint.lab).miss > 6


def test_what_no_strength_explains_is_refused():
    with pytest.raises(MixlabError, match=r"weaker than 0\.02 times ultramarine-blue"):
        tint_strength(BLUE, WHITE, 1, WHITE.lab)
    with pytest.raises(MixlabError, match="stronger than 50 times"):
        tint_strength(BLUE, WHITE, 5000, BLUE.lab)
    for parts in (0, -1, math.nan, math.inf):
        with pytest.raises(MixlabError, match="parts of white"):
            tint_strength(BLUE, WHITE, parts, BLUE.lab)


def test_a_strength_from_experience_adds_doubt():
    added = doubt(BLUE, WHITE)
    k, s = (0.25 * getattr(BLUE, q) + getattr(BLUE, q) for q in "KS")
    moved = [
        ciede2000(*(
            reflectance_to_lab(
                BLUE.surface.measured(optics.opaque(a + n * WHITE.K, b + n * WHITE.S)), viewing()
            )
            for a, b in ((BLUE.K, BLUE.S), (k, s))
        ))
        for n in (1, 4, 16)
    ]  # fmt: skip
    assert added == pytest.approx(math.sqrt(np.mean(np.square(moved))))
    assert 1 < added < 6
    mine = add_paint(BLUE, "my-blue", 0.5, uncertainty=3.0)
    known = 0.0 if math.isnan(BLUE.uncertainty) else BLUE.uncertainty
    assert mine.uncertainty == pytest.approx(math.hypot(known, 3.0))
    assert add_paint(BLUE, "my-blue").uncertainty == pytest.approx(BLUE.uncertainty, nan_ok=True)


# --- what is kept -------------------------------------------------------------------------------


def test_where_it_came_from_is_kept():
    mine = add_paint(UMBER, "my-umber", 0.5, "raw earth of the yard", "mine is half as strong")
    assert (mine.id, mine.name) == ("my-umber", "raw earth of the yard")
    assert "strength 0.5 of burnt-umber (mine is half as strong)" in mine.source
    assert UMBER.source in mine.source
    assert (mine.colour_index, mine.cautions, mine.basis, mine.unit) == (
        UMBER.colour_index, UMBER.cautions, UMBER.basis, UMBER.unit
    )  # fmt: skip
    assert math.isnan(mine.masstone_miss) and math.isnan(mine.tint_miss)
    assert add_paint(UMBER, "my-umber").name == UMBER.name


@pytest.mark.parametrize("id", ["", "My-umber", "my umber", "-umber", "umber\n", "ümber", "a_b"])
def test_a_bad_id_is_refused(id):
    with pytest.raises(MixlabError, match="lower-case words"):
        add_paint(UMBER, id)


@pytest.mark.parametrize(
    ("text", "strength"),
    [
        ("0.5", 0.5), ("2", 2), ("half", 0.5), (" Half ", 0.5), ("twice", 2), ("double", 2),
        ("a third", 1 / 3), ("third", 1 / 3), ("two  thirds", 2 / 3), ("80%", 0.8), ("80 %", 0.8),
        ("1.5 times", 1.5), ("the same", 1),
    ],
)  # fmt: skip
def test_a_strength_is_a_number_or_a_word(text, strength):
    assert strength_of(text) == pytest.approx(strength)


@pytest.mark.parametrize("text", ["", "a bit weaker", "not half", "half or a third", "2-3", "1/2"])
def test_what_is_no_strength_is_refused(text):
    with pytest.raises(MixlabError, match=r"write a number, as 0\.5, per cent, .* half, a third"):
        strength_of(text)


@pytest.mark.parametrize("strength", [0, -1, 0.01, 51, math.nan, math.inf])
def test_a_strength_that_makes_no_sense_is_refused(strength):
    with pytest.raises(MixlabError, match=r"it lies from 0\.02 to 50 times burnt-umber"):
        add_paint(UMBER, "my-umber", strength)
    assert STRENGTHS == (0.02, 50.0)


def test_a_reason_is_one_line():
    with pytest.raises(MixlabError, match="one line"):
        add_paint(UMBER, "my-umber", basis="weak\nvery")


# --- the table file -----------------------------------------------------------------------------


def test_a_table_is_made_and_added_to(tmp_path):
    file = tmp_path / "mine.csv"
    assert add_to_table(add_paint(WHITE, "my-white"), file).ids == ["my-white"]
    table = add_to_table(add_paint(BLUE, "my-blue", 2.0), file)
    assert table.ids == ["my-white", "my-blue"]
    np.testing.assert_allclose(table["my-blue"].K, 2 * BLUE.K, rtol=1e-4)
    ours = mixlab.read_table(file).mix("1 my-blue + 18 my-white").lab
    assert ciede2000(ours, TABLE.mix("1 ultramarine-blue + 9 titanium-white").lab) < 0.05


def test_an_id_is_taken_once(tmp_path):
    file = tmp_path / "mine.csv"
    for id in ("my-white", "my-blue", "my-umber"):
        add_to_table(add_paint(BLUE, id), file)
    before = file.read_bytes()
    with pytest.raises(TableError, match="holds a paint my-blue already"):
        add_to_table(add_paint(BLUE, "my-blue", 2.0), file)
    assert file.read_bytes() == before
    table = add_to_table(add_paint(BLUE, "my-blue", 2.0), file, replacing=True)
    assert table.ids == ["my-white", "my-blue", "my-umber"]
    np.testing.assert_allclose(table["my-blue"].K, 2 * BLUE.K, rtol=1e-4)


def test_units_are_not_mixed(tmp_path):
    file = tmp_path / "mine.csv"
    add_to_table(add_paint(BLUE, "my-blue"), file)
    before = file.read_bytes()
    for other in (
        replace(add_paint(UMBER, "my-umber"), surface=optics.Surface(0.04, 0.6)),
        replace(add_paint(UMBER, "my-umber"), unit="lead-white"),
    ):
        with pytest.raises(TableError, match="another unit"):
            add_to_table(other, file)
    assert file.read_bytes() == before


def test_a_table_on_another_grid_is_left_alone(tmp_path):
    file = tmp_path / "mine.csv"
    grid = range(400, 701, 5)
    header = ["id", *(f"K{w}" for w in grid), *(f"S{w}" for w in grid)]
    file.write_text(",".join(header) + "\nash" + ",0.2" * (2 * len(grid)) + "\n")
    before = file.read_bytes()
    with pytest.raises(TableError, match="would change them for good"):
        add_to_table(add_paint(BLUE, "my-blue"), file)
    assert file.read_bytes() == before


def test_a_broken_table_is_left_alone(tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text("id,K380\nash,nothing\n")
    with pytest.raises(TableError):
        add_to_table(add_paint(BLUE, "my-blue"), file)
    assert file.read_text() == "id,K380\nash,nothing\n"
    assert [path.name for path in tmp_path.iterdir()] == ["mine.csv"]


# --- the command --------------------------------------------------------------------------------


def test_a_strength_from_experience(run, tmp_path):
    file = tmp_path / "mine.csv"
    status, out, err = run(
        "paints", "add", "burnt-umber", "my-umber", "--out", file,
        "--strength", "0.5",
    )  # fmt: skip
    assert (status, err) == (0, "")
    assert "0.5 times burnt-umber" in out and "strength 0.5 of burnt-umber" in out
    assert f"--table {file} puts its paints before the bundled ones" in " ".join(out.split())
    mine = run("recipe", "--lab", "60,5,15", "--table", file, "--palette", "kiln-earths", "--json")
    assert json.loads(mine.out)["palette"] == "Kiln earths and my-umber"
    same = run("paints", "add", "burnt-umber", "my-umber", "--out", tmp_path / "same.csv",
               "--strength", "half", "--json")  # fmt: skip
    assert json.loads(same.out)["tube_strength"] == 0.5
    kept = mixlab.read_table(file)["my-umber"]
    np.testing.assert_allclose(kept.K, 0.5 * UMBER.K, rtol=1e-4)
    status, out, err = run("paints", "add", "PW6", "my-white", "--out", file)
    assert (status, err) == (0, "") and "no white yet" not in out
    assert run("recipe", "--lab", "60,5,15", "--table", file).status == 0
    assert "my-umber" in run("paints", "--table", file).out


def test_a_strength_from_experience_is_doubted_where_the_table_did_not_yet(run, tmp_path):
    words = ["--out", tmp_path / "mine.csv", "--strength", "0.5", "--json"]
    # that makers' tubes differ by a third is in the figure of a paint that was not measured
    known = json.loads(run("paints", "add", "burnt-umber", "my-umber", *words).out)
    assert known["uncertainty"] == UMBER.uncertainty
    oils = bundled("oils.csv")
    measured = mixlab.read_table(oils)["vermilion"]
    words = ["--table", oils, "--only", "--out", tmp_path / "oil.csv", "--json"]
    words += ["--strength", "0.5"]
    other = json.loads(run("paints", "add", "vermilion", "my-red", *words).out)
    white = mixlab.read_table(oils)["zinc-white"]
    both = math.hypot(measured.uncertainty, doubt(measured, white))
    assert other["uncertainty"] == pytest.approx(both, abs=0.05)
    assert both > measured.uncertainty


def test_a_tint_swatch(run, tmp_path):
    tint = TABLE.mix("2 ultramarine-blue + 9 titanium-white", MATT)
    words = ("paints", "add", "PB29", "my-blue", "--out", tmp_path / "mine.csv", "--tint", "9")
    for colour in (",".join(f"{v:.2f}" for v in tint.lab), tint.munsell):
        answer = json.loads(run(*words, "--swatch", colour, "--replace", "--json").out)
        assert answer["tube_strength"] == pytest.approx(2, rel=0.05)
        assert answer["miss"] < 1 and answer["from"] == "ultramarine-blue"
        assert colour in answer["source"] and "1:9" in answer["source"]
    another = TABLE.mix("1 phthalo-green-blue-shade + 9 titanium-white", MATT)
    out = run(*words, "--swatch", ",".join(f"{v:.2f}" for v in another.lab), "--replace").out
    assert "another pigment" in out


def test_a_tint_in_a_photo(run, tmp_path):
    tint = TABLE.mix("1 ultramarine-blue + 4 titanium-white", MATT)
    cast = np.array([1.0, 0.9, 0.75])
    pixels = np.zeros((60, 120, 3), np.uint8)
    grey = lab_to_rgb([49.5, 0, 0], viewing())
    for at, rgb in ((slice(0, 60), lab_to_rgb(tint.lab, viewing())), (slice(60, 120), grey)):
        pixels[:, at] = np.rint(255 * encode_srgb(0.8 * cast * rgb))
    Image.fromarray(pixels).save(tmp_path / "tint.png")
    answer = json.loads(
        run(
            "paints", "add", "PB29", "my-blue", "--out", tmp_path / "mine.csv", "--tint", "4",
            "--photo", tmp_path / "tint.png", "--at", "30,30", "--radius", "10",
            "--grey", "90,30", "--json",
        ).out
    )  # fmt: skip
    assert answer["tube_strength"] == pytest.approx(1, rel=0.1)
    assert answer["miss"] < 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("nothing", "mine"), ["no paint 'nothing'"]),
        (("PB29", "My Blue"), ["lower-case words"]),
        (("PB29", "mine", "--strength", "0"), ["strength 0", "0.02 to 50"]),
        (("PB29", "mine", "--strength", "some"), ["strength 'some'", "0.5"]),
        (("PB29", "mine", "--strength", "2", "--tint", "9"), ["--strength and --tint"]),
        (("PB29", "mine", "--tint", "9"), ["--tint needs its colour"]),
        (("PB29", "mine", "--tint", "0", "--swatch", "70,0,-20"), ["0 parts of white"]),
        (("PB29", "mine", "--swatch", "70,0,-20"), ["--tint 9"]),
        (("PB29", "mine", "--tint", "9", "--swatch", "blue"), ["a colour is"]),
        (("PB29", "mine", "--tint", "9", "--photo", "a.png"), ["--at X,Y", "--grey X,Y"]),
        (
            ("PB29", "mine", "--tint", "9", "--swatch", "70,0,-20", "--photo", "a.png"),
            ["give one of them"],
        ),
        (("PB29", "mine", "--tint", "9", "--swatch", "70,0,-20", "--at", "1,1"), ["--photo FILE"]),
        (("PB29", "mine", "--tint", "9", "--swatch", "70,0,-20", "--white", "x"), ["no paint 'x'"]),
        (("PB29", "mine", "--table", "none.csv"), ["none.csv", "cannot be read"]),
        (("PB29",), ["ID"]),
    ],
)
def test_what_makes_no_sense_is_refused(run, tmp_path, words, said):
    file = tmp_path / "mine.csv"
    status, out, err = run("paints", "add", *words, "--out", file)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1 and err.startswith("mixlab: ")
    assert all(word in err for word in said), err
    assert not list(tmp_path.iterdir())


def test_a_place_that_cannot_be_written(run, tmp_path):
    status, _, err = run("paints", "add", "PB29", "mine", "--out", tmp_path / "no" / "mine.csv")
    assert status == 2 and "there is no folder" in err


def test_an_id_twice_is_refused(run, tmp_path):
    words = ("paints", "add", "PB29", "mine", "--out", tmp_path / "mine.csv")
    assert run(*words).status == 0
    status, _, err = run(*words)
    assert status == 2 and "--replace" in err
    assert run(*words, "--replace", "--strength", "2").status == 0


def test_paints_is_as_it_was(run):
    assert run("paints", "add").status == 2
    assert "add" in run("paints", "--help").out
    for words in (("PB29", "--json"), ("--json", "PB29")):
        assert json.loads(run("paints", *words).out)["id"] == "ultramarine-blue"
    assert "unexpected extra argument" in run("paints", "PB29", "PB28").err
