"""How paint is seen, gloss, satin or matt: asked of every command, told in all that is written."""

import csv
import json

import pytest

import mixlab
from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.show.plots import style

TABLE = mixlab.read_table()
DARK = "2 burnt-umber + 1 ultramarine-blue"
PAINTING = [
    ("adjust", "6 yellow-ochre + 1 viridian", "--chroma-by", "-2"),
    ("blend", "burnt-sienna", "--palette", "kiln-earths"),
    ("distance", "burnt-sienna", "--horizon", "#c0d0e0"),
    ("fewest", "--targets", bundled("scene.csv")),
    ("layer", "PB29", "--over", "#c0d0e0", "--palette", "kiln-earths"),
    ("lights", "PB29"),
    ("mix", "PB29"),
    ("photo", bundled("scene.jpg"), "--palette", "kiln-earths"),
    ("reach", "--palette", "kiln-earths"),
    ("recipe", "--lab", "45,15,20"),
    ("shades", "PY43"),
    ("tints", "PB29"),
    ("tones", "PB29"),
]
MEASURED = [("paints", "add", "PB29", "my-blue", "--tint", "9", "--swatch", "60,0,-30")]


@pytest.mark.parametrize("words", PAINTING + MEASURED, ids=lambda words: words[0])
def test_another_word_is_refused_in_one_line(run, tmp_path, words):
    out = tmp_path / "out.csv"
    written = ("--out", out) if words in MEASURED else ()
    ran = run(*words, *written, "--finish", "dull")
    assert (ran.status, ran.out) == (2, "")
    assert ran.err == "mixlab: no finish 'dull'; the finish is gloss, satin, matt\n"
    assert not out.exists()


@pytest.mark.parametrize("words", PAINTING + MEASURED, ids=lambda words: words[0])
def test_paint_is_seen_glossy_and_a_swatch_as_it_is_measured(run, monkeypatch, words):
    monkeypatch.setenv("COLUMNS", "200")
    lines = run(*words[: 2 if words in MEASURED else 1], "--help").out.split("--finish", 1)[1]
    told = " ".join(lines.split("\n  --", 1)[0].split())
    assert f"[default: {'matt' if words in MEASURED else 'gloss'}]" in told


@pytest.mark.parametrize("finish", ["gloss", "satin", "matt"])
def test_it_stands_in_all_that_is_written(run, tmp_path, finish):
    view = viewing(finish=finish)
    asked = ("--finish", finish) if finish != "gloss" else ()
    told = json.loads(run("mix", DARK, *asked, "--json").out)
    assert (told["light"], told["observer"], told["finish"]) == ("D65", "2", finish)
    assert told["lab"] == pytest.approx(list(TABLE.mix(DARK, view).lab), abs=1e-3)
    file, picture = tmp_path / "tints.csv", tmp_path / "tints.png"
    page = run("tints", "PB29", "--steps", 3, *asked, "--csv", file).out
    assert f"D65, 2 degree observer; {finish}\n" in page
    with file.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert {row["finish"] for row in rows} == {finish}
    assert float(rows[0]["L"]) == pytest.approx(TABLE.mix("1 PB29", view).lab[0], abs=1e-3)
    figure, _ = style.figure()
    style.save(figure, picture, view)
    assert figure.get_supxlabel() == f"D65, 2 degree observer; {finish}"


def test_readings_are_told_matt(run, table):
    told = json.loads(run("paints", "PB29", "--json").out)
    assert told["finish"] == "matt"
    assert told["lab"] == pytest.approx(list(table["PB29"].lab), abs=1e-3)


def held(told, mixture):
    """Hold that what is told of sinking in is what the same mix is when it is seen matt."""
    matt = mixture.under(finish="matt")
    sunk = told["sunk_in"]
    assert sunk["lab"] == pytest.approx(list(matt.lab), abs=1e-3)
    assert sunk["munsell"] == matt.munsell
    assert sunk["C_change"] == pytest.approx(matt.lch[1] - mixture.lch[1], abs=1e-3)
    assert sunk["value_change"] == pytest.approx(
        sunk["munsell_value"] - told["munsell_value"], abs=2e-3
    )


def test_a_mix_says_what_sinking_in_does(run):
    held(json.loads(run("mix", DARK, "--json").out), TABLE.mix(DARK))
    page = " ".join(run("mix", DARK).out.split())
    value, chroma = TABLE.mix(DARK).sinking
    assert value > 0.5 and chroma < -0.5
    assert (
        f"Sunk in (dried matt) it is {value:.1f} of value lighter and {-chroma:.0f} lower in C*; "
        "oiling out or varnish brings it back." in page
    )
    # matt paint has nothing left to lose
    assert "Sunk in" not in run("mix", DARK, "--finish", "matt").out
    still = json.loads(run("mix", DARK, "--finish", "matt", "--json").out)["sunk_in"]
    assert (still["value_change"], still["C_change"]) == (0, 0)


def test_a_recipe_says_what_sinking_in_does(run):
    words = ("recipe", "--lab", "25,8,6", "--palette", "mill-pond")
    told = json.loads(run(*words, "--json").out)
    assert told["finish"] == "gloss"
    held(told["recipe"], TABLE.mix(told["recipe"]["parts"]))
    assert "oiling out or varnish brings it back." in " ".join(run(*words).out.split())


def test_a_dark_that_matt_paint_does_not_give_is_within_reach_of_gloss(run):
    # N 1.5: no matt paint is so dark
    words = ("recipe", "--munsell", "N 1.5", "--palette", "mill-pond", "--json")
    assert json.loads(run(*words).out)["in_reach"] is True
    matt = json.loads(run(*words, "--finish", "matt").out)
    assert matt["in_reach"] is False
    assert matt["out_of_reach"]["directions"][0] == "too dark"
