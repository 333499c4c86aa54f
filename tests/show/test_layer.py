"""``mixlab layer``: what it tells, writes and draws."""

import csv
import json

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.files import bundled

GLAZE = ("layer", "transparent-red-oxide", "--over", "#a9b5a4", "--palette", "mill-pond")


def test_a_glaze_in_words(run):
    status, out, err = run(*GLAZE)
    assert (status, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    for words in ("Only a layer gives these: 0.1, 0.2 coats", "0.05  glaze   7.3YR 5.2/7.3",
                  "1 : 19", "from 0.98 coats on", "Fat over lean", "safety data sheet",
                  "do not sand dry", "the smoothest curve", "Modelled, not fitted"):  # fmt: skip
        assert words in " ".join(out.split()) or words in out
    assert "smoothest" not in run("layer", "PB29", "--over", "PW6", "--coats", "0.1").out


def test_the_figures_are_those_of_the_package(run, tmp_path):
    file = tmp_path / "films.csv"
    told = json.loads(run(*GLAZE, "--coats", "0.05..0.3", "--finish", "matt", "--light", "A",
                          "--json", "--csv", file).out)  # fmt: skip
    view = mixlab.viewing("A", "2", "matt")
    ground = told["ground"]["lab"]
    made = mixlab.layer(
        mixlab.read_table().mix("transparent-red-oxide", view), ground, [0.05, 0.1, 0.2, 0.3]
    )
    np.testing.assert_allclose([row["lab"] for row in told["films"]], made.lab, atol=2e-4)
    assert [row["coats"] for row in told["films"]] == [0.05, 0.1, 0.2, 0.3]
    assert [row["does"] for row in told["films"]] == made.kind
    assert told["stands"] == pytest.approx(made.stands(), abs=1e-4)
    assert told["hides"] == pytest.approx(made.hides, abs=1e-4)
    assert told["wanted"] is None and (told["light"], told["finish"]) == ("A", "matt")
    assert told["cautions"] and len(told["advice"]) == 2
    with file.open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert [float(row["mix_miss"]) for row in rows] == [row["mix_miss"] for row in told["films"]]
    assert rows[0]["medium_parts"] == "19.0" and rows[0]["light"] == "A"


def test_the_film_that_takes_it_there(run, tmp_path):
    picture = tmp_path / "films.svg"
    words = ("layer", "--over", "2 burnt-umber + 1 PW6", "--to", "60,2,6", "--palette", "mill-pond",
             "--plot", picture)  # fmt: skip
    told = json.loads(run(*words, "--json").out)
    wanted, view = told["wanted"], mixlab.viewing()
    best = wanted["any_tubes"][-1]
    ground = mixlab.read_table().mix("2 burnt-umber + 1 PW6")
    again = mixlab.layer(mixlab.read_table().mix(best["mix"], view), ground, [best["coats"]])
    assert best["miss"] == pytest.approx(float(ciede2000([60, 2, 6], again.lab[0])), abs=1e-3)
    assert best["miss"] < 2 < wanted["bare_miss"] and best["does"] == "scumble"
    assert told["mix"] == best["mix"] and best["coats"] in [r["coats"] for r in told["films"]]
    out = run(*words).out
    assert "Any tubes:" in out and "As a mix:" in out and best["mix"] in out
    assert picture.read_text(encoding="utf-8").startswith("<?xml")


def test_a_mix_that_is_given_comes_nearest_somewhere(run):
    out = " ".join(run(*GLAZE, "--to", "52.94,17.26,41.46").out.split())
    assert "1 transparent-red-oxide, comes nearest at 0.05 coats: miss 0.0" in out
    told = json.loads(run(*GLAZE, "--to", "52.94,17.26,41.46", "--json").out)["wanted"]
    assert told["nearest_coats"] == pytest.approx(0.05, rel=0.02) and told["nearest_miss"] < 0.15
    # nothing to be laid where the ground has the colour already
    ran = run("layer", "--over", "50,5,5", "--to", "50,5,5", "--palette", "kiln-earths")
    assert ran.status == 0 and "no film comes nearer than the bare ground" in ran.out


def test_a_plan_over_a_toned_ground(run, tmp_path):
    from PIL import Image

    with Image.open(bundled("scene.jpg")) as whole:
        whole.resize((60, 40)).save(tmp_path / "small.png")
    words = ("plan", tmp_path / "small.png", "--palette", "kiln-earths", "--masses", "3",
             "--values", "2", "--ground", "2 burnt-sienna + 1 PW6", "--thickness",
             "0.01")  # fmt: skip
    told = json.loads(run(*words, "--json").out)
    table, ground = mixlab.read_table(), told["ground"]
    masses = [*told["masses"], *told["accents"]]
    assert len(ground["block_ins"]) == len(masses) >= 3
    for mass, film in zip(masses, ground["block_ins"], strict=True):
        made = mixlab.layer(table.mix(mass["mix"]), table.mix("2 burnt-sienna + 1 PW6"), [0.1])
        np.testing.assert_allclose(film["lab"], made.lab[0], atol=1e-3)
        assert film["stands"] == pytest.approx(made.stands(told["tolerance"]), rel=1e-3)
    out = run(*words).out
    assert "Over the toned ground" in out and "Under 0.01 mm of paint the ground likely" in out
    ran = run(*words[:-4], "--ground", "50,150,0")
    assert ran.status == 2 and "no dry surface" in ran.err and len(ran.err.splitlines()) == 1
