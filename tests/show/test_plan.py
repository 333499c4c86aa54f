"""``mixlab plan``: what it prints can be checked from its JSON alone."""

import csv
import json
import math

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.files import bundled

TABLE = mixlab.read_table()
PLACES = "name,x,y,radius\nkiln brick in light,92,104,2\nsky,71,30,3\npond shadow,135,130,2\n"

FEW = 'paints = ["titanium-white", "yellow-ochre", "pyrrole-red", "ultramarine-blue", "viridian"]'


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    from PIL import Image

    made = tmp_path_factory.mktemp("motif")
    with Image.open(bundled("scene.jpg")) as whole:
        whole.resize((300, 200)).save(made / "scene.png")
    (made / "places.csv").write_text(PLACES)
    (made / "few.toml").write_text(FEW)
    return made


def asked(run, folder, *words):
    status, out, err = run("plan", folder / "scene.png", "--palette", folder / "few.toml", *words)
    assert (status, err) == (0, "")
    return out


_TOLD = {}


@pytest.fixture
def told(run, folder):
    """The JSON of a plan with places of the painter's own; its CSV and pictures are written."""
    if not _TOLD:
        _TOLD.update(json.loads(asked(
            run, folder, "--masses", "8", "--values", "4", "--panel", "30x40", "--json",
            "--places", folder / "places.csv", "--csv", folder / "plan.csv",
            "--plot", folder / "plan.svg", "--pattern", folder / "pattern.png",
        )))  # fmt: skip
    return _TOLD


def test_every_child_is_its_parent_and_what_is_added(told):
    masses = {mass["number"]: mass for mass in [*told["masses"], *told["accents"]]}
    for mass in masses.values():
        made = TABLE.mix(mass["mix"])
        assert ciede2000(made.lab, mass["lab"]) < 0.01
        assert ciede2000(mass["wanted"], mass["lab"]) == pytest.approx(mass["miss"], abs=0.001)
        assert mass["miss"] <= told["tolerance"] or not mass["in_reach"]
        parts = dict(mass["add"])
        assert all(n >= 0.25 for n in parts.values())
        if mass["from"] is not None:
            parent = TABLE.mix(masses[mass["from"]]["mix"]).shares
            assert len(parts) <= 2 and max(parts.values()) <= 12 * mass["from_parts"]
            for id, share in parent.items():
                parts[id] = parts.get(id, 0.0) + mass["from_parts"] * share
        assert ciede2000(TABLE.mix(parts).lab, mass["lab"]) < 0.01


def test_what_a_check_from_outside_reads(told):
    masses = told["masses"]
    numbers = [mass["number"] for mass in masses]
    assert numbers == list(range(1, 9)) and sorted(told["order"]) == numbers
    lightness = [mass["wanted"][0] for mass in masses]
    assert lightness == sorted(lightness)
    mixed = [mass["lab"][0] for mass in masses]
    assert mixed == sorted(mixed)
    assert sum(mass["from"] is None for mass in masses) <= 3
    assert len(told["tubes"]) <= 6 and set(told["squeeze"]) == set(told["tubes"])
    assert {id for mass in masses for id in mass["add"]} <= set(told["tubes"])
    assert len(told["values"]) == 4
    assert sum(one["share"] for one in told["values"]) == pytest.approx(1, abs=1e-4)
    whole = sum(mass["share"] for mass in [*masses, *told["accents"]])
    assert whole == pytest.approx(1, abs=1e-4)
    for mass in masses:
        x, y = mass["place"]
        assert 0 <= x < 300 and 0 <= y < 200 and 0 < mass["share"] < 1


def test_the_painters_places_are_masses(told):
    given = {mass["name"]: mass for mass in told["masses"] if mass["by_painter"]}
    assert set(given) == {"kiln brick in light", "sky", "pond shadow"}
    assert given["sky"]["place"] == [71, 30]


def test_amounts_of_parents_cover_their_children(told):
    everything = [*told["masses"], *told["accents"]]
    total = {mass["number"]: mass["from_parts"] + sum(mass["add"].values()) for mass in everything}
    for mass in everything:
        on_panel = 30 * 40 * 0.015 * mass["share"]
        taken = sum(child["ml"] * child["from_parts"] / total[child["number"]]
                    for child in everything if child["from"] == mass["number"])  # fmt: skip
        assert mass["own_ml"] == pytest.approx(1.3 * on_panel, abs=1e-3)
        assert mass["ml"] >= mass["own_ml"] + taken - 1e-3
    for id, ml in told["squeeze"].items():
        held = sum(mass["ml"] * mass["add"].get(id, 0) / total[mass["number"]]
                   for mass in everything)  # fmt: skip
        assert ml == pytest.approx(held, abs=0.01)
        assert told["strings"][id] == pytest.approx(ml / (math.pi * 0.16), abs=0.01)


def test_the_rows_and_the_pictures_are_written(told, folder):
    with (folder / "plan.csv").open(newline="", encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == len(told["masses"]) + len(told["accents"])
    assert rows[0]["mix"] == told["masses"][0]["mix"]
    assert "sky" in {row["name"] for row in rows}
    assert (folder / "plan.svg").read_text().count("<svg") == 1
    assert (folder / "pattern.png").stat().st_size > 1000


def test_the_page_is_read_at_the_easel(run, folder):
    out = asked(run, folder, "--thickness", "impasto", "--panel", "20x30", "--far", "5",
                "--without", "viridian", "--against", folder / "scene.png", "--masses", "5",
                "--values", "2")  # fmt: skip
    for words in (
        "2 values, dark to light", "Masses", "Piles, in the order in which they are mixed",
        "of pile ", "Order of painting", "lean under fat", "Thin under thick",
        "Squeeze out, for 20 x 30 cm under 0.5 mm of paint", "Against the other",
        "It is there already", "Cautions",
    ):  # fmt: skip
        assert words in out
    assert "viridian" not in out
    assert all(len(line) <= 80 for line in out.splitlines())


def test_what_earths_cannot_mix_is_named(run, folder):
    from PIL import Image

    picture = np.full((60, 90, 3), 120, dtype=np.uint8)
    picture[:, 45:] = (40, 90, 230)
    picture[:20] = (230, 225, 215)
    Image.fromarray(picture).save(folder / "blue.png")
    status, out, _ = run("plan", folder / "blue.png", "--palette", "kiln-earths", "--masses", "3")
    assert status == 0
    assert "is out of reach of these tubes" in out
    told = json.loads(run("plan", folder / "blue.png", "--palette", "kiln-earths", "--masses", "3",
                          "--json").out)  # fmt: skip
    off = [mass for mass in told["masses"] if not mass["in_reach"]]
    assert len(off) == 1 and off[0]["miss"] > 2


def test_a_family_that_runs_through_everything_is_told_once(run, folder):
    (folder / "grey.toml").write_text('paints = ["titanium-white", "bone-black"]')
    out = run("plan", folder / "scene.png", "--palette", folder / "grey.toml", "--masses", "3").out
    assert "All of them run through every mass." in out and "through every shadow" not in out
