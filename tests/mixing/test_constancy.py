"""Mixes under other lights: shifts, pairs, the command and its picture."""

import csv
import json
from dataclasses import dataclass, replace

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import PLACES, Viewing, lights, viewing
from mixlab.errors import LightError
from mixlab.mixing.constancy import (
    STRAINED,
    Pair,
    constancy,
    inconstancy,
    metamerism,
    seen_under,
)
from mixlab.show.cli.lights import _verdict

TABLE = mixlab.read_table()
D65 = viewing()
A = viewing("A")
MIXES = [TABLE.mix(text) for text in ("1 PB29 + 2 PW6", "1 PB28 + 1 PW6", "1 burnt-sienna")]


def test_places_are_known_lights():
    assert set(PLACES.values()) <= set(lights())
    assert viewing("Tungsten").light == "A" and viewing("fl11", "10").light == "FL11"
    with pytest.raises(LightError, match=r"no light named 'moon'; known lights: .*; or daylight, "):
        viewing("moon")
    with pytest.raises(LightError, match="no observer"):
        viewing("tungsten", "5")


def test_the_reference_light_changes_nothing():
    told = constancy(MIXES, [D65, A])
    np.testing.assert_allclose(told.inconstancy[0], 0, atol=1e-9)
    np.testing.assert_allclose(told.lab[0], told.home)
    np.testing.assert_allclose(told.home[0], MIXES[0].lab)
    for pair in told.pairs:
        assert pair.after[0] == pytest.approx(pair.before)
        assert pair.metamerism[0] == pytest.approx(0, abs=1e-9)


def test_all_are_seen_in_the_finish_of_the_reference():
    matt = viewing(finish="matt")
    told = constancy(MIXES, [A], matt)
    np.testing.assert_allclose(told.home, [replace(mix, view=matt).lab for mix in MIXES])
    same = constancy([replace(mix, view=matt) for mix in MIXES], [viewing("A", "2", "matt")])
    np.testing.assert_allclose(told.lab, same.lab)
    assert not np.allclose(told.home, constancy(MIXES, [A]).home)


def test_a_grey_is_constant_and_so_is_white():
    flat = np.full((2, 36), [[0.2], [0.9]])
    for view in (A, viewing("FL2"), viewing("LED-B1")):
        np.testing.assert_allclose(inconstancy(flat, view, D65), 0, atol=1e-6)
        np.testing.assert_allclose(seen_under(flat, view, D65)[:, 1:], 0, atol=1e-6)


def test_a_curve_is_no_metamer_of_itself_nor_of_its_darker_self():
    curve = MIXES[0].reflectance
    assert metamerism(curve, curve, A, D65) == pytest.approx(0, abs=1e-9)
    # factors on X, Y, Z take out what is there under the reference already
    assert metamerism(curve, 0.8 * curve, A, D65) == pytest.approx(0, abs=1e-6)
    assert metamerism(curve, MIXES[1].reflectance, A, D65) > 0.5


def test_pairs_and_order():
    told = constancy(MIXES, [A, viewing("LED-B2")])
    assert len(told.pairs) == 3
    strains = [pair.strain for pair in told.pairs]
    assert strains == sorted(strains, reverse=True)
    worst = told.inconstancy.max(axis=0)
    assert [worst[i] for i in told.order] == sorted(worst)


def test_a_value_order_that_turns_is_seen():
    red, green = np.full(36, 0.2), np.full(36, 0.2)
    red[22:], green[10:20] = 0.6, 0.33

    @dataclass
    class Plain:
        reflectance: np.ndarray
        view: Viewing = D65

    told = constancy([Plain(red), Plain(green)], [A, D65])
    home, lamp = told.home[:, 0], told.lab[0, :, 0]
    assert home[0] < home[1] and lamp[0] > lamp[1]  # the red is the lighter one by lamplight
    assert told.pairs[0].swapped.tolist() == [True, False]


def test_the_parts_of_a_shift_make_up_its_size():
    told = constancy(MIXES, [A, viewing("LED-B2"), D65])
    assert told.shift.shape == (3, 3, 3)
    np.testing.assert_allclose(np.linalg.norm(told.shift, axis=-1), told.inconstancy, atol=1e-9)
    np.testing.assert_allclose(
        told.value[0], [float(m.munsell.split()[1].split("/")[0]) for m in MIXES], atol=0.05
    )
    for row, moved in zip(told.part, told.shift, strict=True):
        for word, parts in zip(row, np.abs(moved), strict=True):
            assert (word == "") == (parts.max() < 0.5)
            assert not word or word == ("value", "chroma", "hue")[parts.argmax()]


def test_who_keeps_the_relations():
    told = constancy(MIXES, [A, D65])
    assert told.keeps[1].all() and told.parted(1) == []
    # two blues, so nearly alike by day, draw together by lamplight; the sienna keeps to itself
    day, lamp = (float(ciede2000(*(m.lab for m in by))) for by in (
        MIXES[:2], [TABLE.mix(m.parts, A) for m in MIXES[:2]],
    ))  # fmt: skip
    assert lamp < day / 2
    assert told.keeps[0].tolist() == [False, False, True]
    # of the two it is the second that moves more, and it is named as the one that parts
    assert told.inconstancy[0, 1] > told.inconstancy[0, 0]
    assert told.parted(0) == [(1, [0])]


def test_nothing_to_compare():
    with pytest.raises(LightError, match="at least one mix"):
        constancy([], [A])


# --- the command ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "after", "swapped", "words"),
    [
        (9.0, 9.0, True, "value order turns"), (4.9, 6.0, False, "match parts"),
        (4.9, 5.8, False, "holds"), (9.0, 9.0 + STRAINED, False, "parts"),
        (9.0, 8.9 + STRAINED, False, "holds"), (9.0, 8.9 - STRAINED, False, "draws nearer"),
        (3.7, 1.3, False, "draws nearer"), (3.7, 2.0, False, "holds"),
    ],
)  # fmt: skip
def test_what_is_said_of_a_pair(before, after, swapped, words):
    pair = Pair(0, 1, before, np.array([before, after]), np.zeros(2), np.array([False, swapped]))
    assert _verdict(pair) == words


def test_a_page(run):
    words = ["lights", "1 PB29 + 2 PW6", "1 PB28 + 1 PW6", "burnt-sienna"]
    out = run(*words).out
    assert "Which keep their relations" in out and "Which part moves most" in out
    assert "draws nearer" in out and "match parts" not in out
    assert "special metamerism index" in out
    assert "match parts" in run(*words, "--light", "A", "--under", "D65").out
    assert max(map(len, out.splitlines())) <= 80


def test_recipes_for_one_colour_are_compared(run, tmp_path):
    ran = run("lights", "--match", "45,15,20", "--under", "A,gallery-led", "--json",
              "--csv", tmp_path / "l.csv", "--plot", tmp_path / "l.png")  # fmt: skip
    told = json.loads(ran.out)
    assert len(told["mixes"]) >= 3
    under = [(seen["name"], seen["under"]) for seen in told["mixes"][0]["seen"]]
    assert under == [("A", "A"), ("gallery-led", "LED-B2")]
    assert all(pair["before"] < 5 for pair in told["pairs"])
    assert sorted(told["most_constant_first"]) == list(range(len(told["mixes"])))
    rows = list(csv.DictReader((tmp_path / "l.csv").open()))
    assert len(rows) == 3 * len(told["mixes"])
    assert (tmp_path / "l.png").stat().st_size > 20_000


def test_a_ladder_under_other_lights(run):
    words = ["--under", "tungsten,gallery-led", "--json"]
    told = json.loads(run("lights", "PB29", "--toward", "PW6", "--steps", "4", *words).out)
    assert len(told["mixes"]) == 4
    assert told["mixes"][0]["parts"] == {"ultramarine-blue": 1}
    assert told["mixes"][3]["parts"] == {"titanium-white": 1}
    one = json.loads(run("lights", "PB29", *words).out)
    alone, first = one["mixes"][0], told["mixes"][0]
    assert {**alone, "seen": None} == {**first, "seen": None}
    for one_seen, seen in zip(alone["seen"], first["seen"], strict=True):
        assert {**one_seen, "keeps_relations": seen["keeps_relations"]} == seen


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["PB29", "PB28", "--toward", "PW6"], "a ladder from one mix; give that mix"),
        (["--match", "45,15,20", "--toward", "PW6"], "a ladder from one mix; give that mix"),
        (["PB29", "--toward", "PB29"], "to itself has no steps"),
        ([], "give mixes, each in quotation marks, or --match COLOUR"),
        (["PB29", "--match", "45,15,20"], "give mixes"),
        (["PB29", "--under", "moon"], "no light named 'moon'"),
        (["PB29", "--plot", "x.bmp"], ".png or .svg"),
        (["--match", "nothing"], "a colour is"),
        (["PB2"], "no paint 'PB2'"),
    ],
)
def test_a_mistake_is_one_line(run, words, message):
    ran = run("lights", *words)
    assert ran.status == 2 and ran.out == ""
    assert message in ran.err and ran.err.count("\n") == 1
