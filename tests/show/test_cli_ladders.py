"""tints, shades, tones and blend on the command line, and their pictures."""

import csv
import json
import re

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.errors import PlotError
from mixlab.mixing.ladders import ladder
from mixlab.mixing.value_chroma import report
from mixlab.paint import optics
from mixlab.show.plots import ladders as pictures
from mixlab.show.plots import style

TABLE = mixlab.read_table()
VIEW = mixlab.viewing()
KEYS = {"peak", "steps", "start", "half", "neutral", "gained_per_part",
        "why", "curves", "even", "toward"}


def read(ran):
    assert (ran.status, ran.err) == (0, "")
    return json.loads(ran.out)


def test_tints_as_json(run):
    told = read(run("tints", "PB29", "--json"))
    assert set(told) >= KEYS
    assert told["toward"] == "1 titanium-white" and len(told["steps"]) == 9
    peak = told["peak"]
    assert set(peak) >= {"share", "lch", "lab"} and len(peak["lab"]) == 3
    expected = report(TABLE.mix("1 PB29"), TABLE.mix("1 PW6")).peak
    assert peak["share"] == pytest.approx(expected.share, abs=1e-6)
    assert peak["lch"][1] == pytest.approx(np.hypot(*peak["lab"][1:]), abs=1e-3)
    for step in told["steps"]:
        assert set(step) >= {"share", "parts", "lab", "munsell", "hex", "drift"}
    values = [step["munsell_value"] for step in told["steps"]]
    np.testing.assert_allclose(np.diff(values), np.diff(values)[0], atol=0.02)


def test_it_is_said_where_value_turns(run):
    said = "even along the way there and back"
    assert said in " ".join(run("shades", "PB15:1").out.split())
    assert "Value turns" not in run("shades", "PY74").out
    assert "Value turns" not in run("shades", "PB15:1", "--even", "parts").out


@pytest.mark.parametrize(
    ("words", "toward"),
    [
        (["shades", "PY74"], "bone-black"),
        (["shades", "PY74", "--black", "lamp-black"], "lamp-black"),
        (["tones", "PR254"], "titanium-white"),
        (["tones", "PR254", "--grey", "burnt-umber"], "burnt-umber"),
        (["tones", "PR254", "--value", "6"], "bone-black"),
        (["blend", "PB29", "burnt-sienna"], "burnt-sienna"),
        (["blend", "PB29"], "burnt-umber"),
        (["tints", "PB29", "--white", "PW4"], "zinc-white"),
        (["tints", "3", "burnt-sienna", "+", "1", "PB29"], "titanium-white"),
    ],
)
def test_each_goes_toward_what_was_asked(run, words, toward):
    told = read(run(*words, "--json", "--steps", "5"))
    assert toward in told["toward"] and len(told["steps"]) == 5
    assert all("share" in step for step in told["steps"]) and "share" in told["peak"]


def test_a_report_for_a_person(run):
    out = run("tints", "PB29", "--compare", "zinc-white").out
    for heading in ("Ladder", "Value and chroma", "Gained per part", "Why",
                    "Whites at equal value", "Cautions"):  # fmt: skip
        assert f"\n{heading}" in out
    assert re.search(r"^  peak .*, at 3\.\d% of white \(about 1 to 2\d\);", out, re.M)
    assert max(map(len, out.splitlines())) <= 80
    falls = run("tints", "PO20").out
    assert "its chroma only falls" in falls
    cancels = " ".join(run("blend", "PB29", "burnt-sienna").out.split())
    assert "The two cancel: let down with white" in cancels
    assert "Complements on the palette" in run("blend", "PB29").out


def test_darkness_is_not_hiding(run):
    # a coat of either covers a black and white card nearly, or wholly; thinned they part
    orange, blue = (read(run("tints", id, "--json", "--steps", "3"))["steps"][0]
                    for id in ("cadmium-orange", "prussian-blue"))  # fmt: skip
    assert (orange["opacity_class"], blue["opacity_class"]) == ("opaque", "transparent")
    assert orange["contrast_ratio"] < blue["contrast_ratio"]
    assert orange["let_down_contrast_ratio"] > 0.1 > 0.01 > blue["let_down_contrast_ratio"]
    words = " ".join(run("tints", "cadmium-orange").out.split())
    thin = 100 * (1 - orange["let_down_contrast_ratio"])
    assert f"{thin:.0f}% of its light is the ground's" in words
    # what is left to one is the ground: of the light over white, that which is gone over black
    paint = TABLE["cadmium-orange"]
    seen = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)
    thickness = min(0.5 / paint.K[seen].max(), 2.0)
    black, white = (optics.film(paint.K, paint.S, thickness, ground) for ground in (0.0, 0.8))
    weights = (VIEW.weights / VIEW.white).sum(axis=1) * white
    assert weights @ (white - black) / (weights @ white) == pytest.approx(thin / 100, abs=1e-4)


def test_rows_as_csv(run, tmp_path):
    file = tmp_path / "rows.csv"
    run("tints", "PB29", "--csv", file, "--steps", "6")
    rows = list(csv.DictReader(file.open()))
    assert [row["step"] for row in rows] == list("123456")
    assert rows[0]["mix"] == "1 ultramarine-blue" and float(rows[3]["munsell_value"]) > 5
    assert rows[-1]["drift"] == ""  # white has no hue


@pytest.mark.parametrize(
    ("words", "kind"),
    [(["tints", "PB29"], "png"), (["shades", "PY74"], "svg"), (["blend", "PB29"], "png")],
)
def test_reports_are_drawn(run, tmp_path, words, kind):
    file = tmp_path / f"picture.{kind}"
    assert run(*words, "--plot", file).status == 0
    if kind == "png":
        with Image.open(file) as picture:
            assert min(picture.size) > 1000
            assert len(picture.convert("RGB").getcolors(10**7)) > 50
    else:
        text = file.read_text(encoding="utf-8")
        assert text.startswith("<?xml") and "</svg>" in text


def test_pictures_are_the_same_each_time(tmp_path):
    start, white = TABLE.mix("1 PB29"), TABLE.mix("1 PW6")
    told = report(start, white)
    for name in ("a.svg", "b.svg"):
        style.save(pictures.reason(told, "Why"), tmp_path / name, start.view)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


def test_swatches_are_the_true_colours_and_say_what_is_beyond(tmp_path):
    made = ladder(TABLE.mix("1 PY74"), TABLE.mix("1 PBk9"), 5)
    figure, axes = style.figure()
    style.swatches(axes[0, 0], made.lab, made.path.start.view, list("abcde"), "Shades")
    assert "sRGB" in figure.get_label() and not made.in_gamut[0]
    patches = [p for p in axes[0, 0].patches if p.get_width() == 1]
    assert len(patches) == 5
    style.save(figure, tmp_path / "swatches.png", made.path.start.view)
    with Image.open(tmp_path / "swatches.png") as picture:
        found = {f"#{r:02x}{g:02x}{b:02x}" for _, (r, g, b) in
                 picture.convert("RGB").getcolors(10**7)}  # fmt: skip
    assert set(made.hex) <= found


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["tints", "ultramarin"], "no paint 'ultramarin'; near names: ultramarine-blue"),
        (["tints", "PW6"], "a ladder from 1 titanium-white to itself has no steps"),
        (["tints", "PB29", "--white", "PY43"], "yellow-ochre is not a white"),
        (["tints", "PB29", "--even", "eyes"], "give one of value, parts, difference"),
        (["tints", "PB29", "--steps", "1"], "a ladder has from 2 to 60"),
        (["tints", "PB29", "--parts", "0"], "it must be from 1 to 1000"),
        (["tints", "PB29", "--light", "X"], "no light named 'X'"),
        (["tints", "PB29", "--plot", "a.jpg"], "a picture is written as .png or .svg"),
        (["tints", "PB29", "--plot", "nowhere/a.png"], "there is no folder nowhere"),
        (["tints", "PB29", "--csv", "nowhere/a.csv"], "nowhere/a.csv: there is no folder"),
        (["tones", "PB29", "--value", "1"], "value 1.0 is not between"),
        (["tones", "PB29", "--grey", "PBk9", "--value", "5"], "--grey says the whole grey"),
        (["blend", "PB29", "2 PB29"], "to itself has no steps"),
        (["shades", "PB29", "--table", "nowhere.csv"], "nowhere.csv: cannot be read"),
    ],
)
def test_a_mistake_is_one_line(run, words, message):
    ran = run(*words)
    assert ran.status == 2 and ran.out == ""
    assert message in ran.err and ran.err.count("\n") == 1


def test_a_picture_that_cannot_be_written(tmp_path):
    with pytest.raises(PlotError, match="it is a folder"):
        (tmp_path / "a.png").mkdir()
        style.checked(tmp_path / "a.png")


def test_cells_a_spreadsheet_would_run_are_harmless():
    from mixlab.writing import csv_text

    text = csv_text(["a", "b"], [["=1+1", -2.5], ["@x", None], ["+3", "plain"]])
    assert text == "a,b\n'=1+1,-2.5\n'@x,\n'+3,plain\n"
