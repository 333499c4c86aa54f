"""Aerial perspective: the veil, the planes, the command and its picture."""

import csv
import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import mixlab
from mixlab.colour.munsell import parse_munsell
from mixlab.colour.spaces import (
    hex_to_lab,
    lab_to_xyz,
    munsell_to_lab,
    viewing,
)
from mixlab.errors import DistanceError
from mixlab.mixing.distance import (
    RAYLEIGH,
    extinction,
    seen_from,
    seen_through,
    veil,
)

VIEW = viewing()
HAZE = hex_to_lab("#cdd6dc", VIEW)
GREEN = mixlab.read_table().mix("3 chromium-oxide-green + 1 PY43").lab


def test_the_ends_are_the_colour_and_the_horizon():
    np.testing.assert_allclose(seen_from(GREEN, HAZE, [0, 1], VIEW), [GREEN, HAZE], atol=1e-9)


@given(st.floats(0, 1), st.floats(0, 1))
def test_two_veils_are_one(first, second):
    once = seen_from(seen_from(GREEN, HAZE, first, VIEW), HAZE, second, VIEW)
    np.testing.assert_allclose(
        once, seen_from(GREEN, HAZE, 1 - (1 - first) * (1 - second), VIEW), atol=1e-9
    )


def test_light_is_mixed_not_paint():
    half = lab_to_xyz(seen_from(GREEN, HAZE, 0.5, VIEW), VIEW.white)
    ends = lab_to_xyz(np.array([GREEN, HAZE]), VIEW.white)
    np.testing.assert_allclose(half, ends.mean(axis=0))


@pytest.mark.parametrize("wrong", [-1, 0, math.nan, math.inf])
def test_a_visibility_that_makes_no_sense(wrong):
    with pytest.raises(DistanceError, match="must be above zero"):
        extinction(wrong)


def test_distances_and_fractions_that_make_no_sense():
    with pytest.raises(DistanceError, match="zero or more"):
        veil([0, -1], 5)
    with pytest.raises(DistanceError, match="between 0 and 1"):
        seen_from(GREEN, HAZE, 1.2, VIEW)
    with pytest.raises(DistanceError, match="lies between 0 and 1"):
        extinction(5, 1)


def test_grey_air_needs_no_curves():
    mixture = mixlab.read_table().mix("3 chromium-oxide-green + 1 PY43")
    far = [0, 2, 5, 20]
    by_light = seen_from(GREEN, HAZE, veil(far, 8), VIEW)
    np.testing.assert_allclose(seen_through(mixture, HAZE, far, 8, VIEW), by_light, atol=1e-8)
    np.testing.assert_allclose(seen_through(GREEN, HAZE, far, 8, VIEW), by_light, atol=1e-8)


def test_clear_air_is_blue_before_it_is_the_horizon():
    grey = [85, 0, 0]
    dark, snow = [15, 0, 0], [97, 0, 0]
    way = np.linspace(0, 60, 31)
    for exponent in (1.3, RAYLEIGH):
        b = seen_through(dark, grey, way, 20, VIEW, exponent)[:, 2]
        assert b[0] == pytest.approx(0, abs=1e-6) and b.min() < -3
        assert seen_through(snow, grey, way, 20, VIEW, exponent)[1:12, 2].min() > 0
        end = seen_through(dark, grey, 1e5, 20, VIEW, exponent)
        np.testing.assert_allclose(end, grey, atol=0.2)
    with pytest.raises(DistanceError, match="between 0 and 4"):
        seen_through(dark, grey, 1, 20, VIEW, 5)


# --- the command ---------------------------------------------------------------------------------

ASKED = ["distance", "3 chromium-oxide-green + 1 PY43", "--horizon", "#cdd6dc", "--palette",
         "mill-pond"]  # fmt: skip


def test_a_page(run):
    out = run(*ASKED, "--at", "0,1,2", "--visibility", "8").out
    assert "where 5 % of contrast is left" in out and "1: 31%" in out
    assert "of that + " in out and "\nCautions" in out
    assert max(map(len, out.splitlines())) <= 80


def test_the_pile_that_planes_grow_out_of_is_told_before_them(run):
    asked = ["distance", "5GY 3/4", "--horizon", "2.5PB 8/3", "--palette", "mill-pond"]
    out = run(*asked, "--fractions", "0.1,0.8").out
    assert "\nPalette     Mill pond, 7 tubes\n" in out
    pile = out.index("First the pile that they grow out of: ")
    assert pile < out.index("of that + ") < out.index("From two piles alone")
    # paint between two piles misses what the air makes of a green
    assert "Where they miss by more than 3, grow the plane as above" in out
    assert "First the pile" not in run(*asked, "--fractions", "0,0.8").out


def test_json_csv_and_picture(run, tmp_path):
    ran = run(*ASKED, "--fractions", "0,0.4", "--json", "--csv", tmp_path / "p.csv",
              "--plot", tmp_path / "p.svg")  # fmt: skip
    told = json.loads(ran.out)
    assert [plane["fraction"] for plane in told["planes"]] == [0, 0.4]
    near, far = told["planes"]
    assert near["taken"] is None and near["how"] == "3 chromium-oxide-green + 1 yellow-ochre"
    assert far["recipe"]["miss"] < 3 and far["taken"] >= 1 and "titanium-white" in far["added"]
    assert far["how"].startswith(f"{far['taken']:g} of that + ")
    rows = list(csv.DictReader((tmp_path / "p.csv").open()))
    assert [row["fraction"] for row in rows] == ["0.0", "0.4"] and rows[0]["distance"] == ""
    assert "</svg>" in (tmp_path / "p.svg").read_text(encoding="utf-8")


def test_clear_air(run):
    words = ["--at", "0,2,6", "--visibility", "20", "--tubes", "2"]
    grey, clear = (
        json.loads(run(*ASKED, *words, "--exponent", e, "--json").out) for e in ("0", "1.3")
    )
    assert clear["exponent"] == 1.3 and clear["planes"][0]["lab"] == grey["planes"][0]["lab"]
    assert clear["planes"][1]["lab"][2] < grey["planes"][1]["lab"][2]
    page = run(*ASKED, *words, "--exponent", "1.3").out
    assert "wavelength to the power of -1.3" in page and "From two piles alone" in page


def test_the_ladder_ends_at_the_horizon(run):
    told = json.loads(run(*ASKED, "--steps", "3", "--json").out)
    assert [plane["fraction"] for plane in told["planes"]] == [0, 0.5, 1]
    assert told["planes"][-1]["contrast"] == 0
    assert len(told["two_piles"]["steps"]) == 3


def test_each_plane_from_the_tubes(run):
    told = json.loads(run(*ASKED, "--steps", "3", "--no-family", "--json").out)
    assert all(plane["taken"] is None and plane["added"] == {} for plane in told["planes"])
    assert all(plane["recipe"]["miss"] <= 2 for plane in told["planes"])


def test_colours_in_any_form(run):
    mix = mixlab.read_table().mix
    few = ("--palette", "kiln-earths", "--tubes", "2", "--steps", "2", "--json")
    for colour, lab in {
        "burnt-sienna": mix("burnt-sienna").lab,
        "1 PB29 + 3 PW6": mix("1 PB29 + 3 PW6").lab,
        "5GY 4/4": munsell_to_lab(parse_munsell("5GY 4/4"), VIEW),
        "45,-10,20": [45, -10, 20],
        "#5a6b3c": hex_to_lab("#5a6b3c", VIEW),
    }.items():
        told = json.loads(run("distance", colour, "--horizon", "N 8", *few).out)
        near, far = (plane["lab"] for plane in told["planes"])
        np.testing.assert_allclose(near, lab, atol=1e-3)
        np.testing.assert_allclose(far, munsell_to_lab(parse_munsell("N 8"), VIEW), atol=1e-3)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--at", "0,1"], "distances need the --visibility"),
        (["--visibility", "8"], "--visibility needs distances"),
        (["--at", "0,x", "--visibility", "8"], "write numbers joined by commas"),
        (["--at", "0,1", "--visibility", "0"], "must be above zero"),
        (["--at", "0,1", "--visibility", "8", "--threshold", "3"], "give 5 (WMO) or 2"),
        (["--fractions", "0,2"], "between 0 and 1"),
        (["--fractions", "0,1", "--at", "1"], "not both"),
        (["--steps", "1"], "give from 2 to 40"),
        (["--fractions", "0.6,0.2"], "put the nearest first"),
        (["--plot", "a.gif"], ".png or .svg"),
        (["--exponent", "1.3"], "--exponent needs distances"),
        (["--at", "0,1", "--visibility", "8", "--exponent", "9"], "between 0 and 4"),
    ],
)
def test_a_mistake_is_one_line(run, words, message):
    ran = run(*ASKED, *words)
    assert ran.status == 2 and ran.out == ""
    assert message in ran.err and ran.err.count("\n") == 1


def test_a_colour_that_is_none(run):
    ran = run("distance", "greenish", "--horizon", "#cdd6dc")
    assert ran.status == 2 and "a colour is L*,a*,b* as 45,15,20" in ran.err
