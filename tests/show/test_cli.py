"""The command line: what it prints, what each option does, and how it refuses."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import typer

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.files import bundled
from mixlab.show.cli import app, console, options
from mixlab.targets.one import from_hex, from_photo

ROOT = Path(mixlab.__file__).parents[1]
SCENE = str(bundled("scene.jpg"))
FEW = ("--palette", "kiln-earths")
BRICK = ("--lab", "45,15,20")
OCHRE = ("--lab", "45,10,25")
# no mix of the kiln's earths comes near to this blue
BLUE = ("--lab", "57,13,-49")


def answer(run, *words):
    """Return what ``recipe --json`` prints, read."""
    status, out, err = run("recipe", *words, "--json")
    assert (status, err) == (0, "")
    return json.loads(out)


def started(*words, **environment):
    """Run the command line in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "mixlab", *words],
        cwd=ROOT, env=os.environ | environment, capture_output=True, check=False,
    )  # fmt: skip


# --- recipe: the answer as JSON -----------------------------------------------------------------


def check_recipe(recipe):
    assert recipe["tubes"] == len(recipe["parts"])
    assert all(isinstance(n, int) and n > 0 for n in recipe["parts"].values())
    mix = mixlab.read_table().mix(recipe["parts"])
    np.testing.assert_allclose(recipe["lab"], mix.lab, atol=1e-4)
    assert (recipe["munsell"], recipe["hex"]) == (mix.munsell, mix.hex)
    assert sum(recipe["exact"]["shares"].values()) == pytest.approx(1, abs=1e-5)
    assert recipe["sensitivity"]["paint"] in recipe["parts"]
    added = dict.fromkeys(recipe["parts"], 0)
    for step in recipe["steps"]:
        added[step["paint"]] += step["amount"]
        assert re.fullmatch(r"#[0-9a-f]{6}", step["hex"])
    assert added == pytest.approx(recipe["parts"])
    assert recipe["steps"][-1]["lab"] == recipe["lab"]
    for id, caution in recipe["cautions"].items():
        assert caution == mixlab.read_table()[id].cautions


def test_a_colour_is_typed_as_it_is_called(run):
    ways = (("--munsell", "5GY 4/3"), ("--hex", "8a5a3c"), ("--lab", "45,15,20"))
    for option, words in ways:
        plain, told = (answer(run, *one, "--palette", "mill-pond")
                       for one in (words.split(), (option, words)))  # fmt: skip
        assert plain["recipe"]["parts"] == told["recipe"]["parts"]
    of_a_mix = answer(run, "2 PY43 + 1 PB29", "--palette", "mill-pond")
    assert of_a_mix["recipe"]["parts"] == {"yellow-ochre": 2, "ultramarine-blue": 1}


def test_recipe_as_json(run):
    found = answer(run, *BRICK, "--palette", "mill-pond")
    target = found["target"]
    assert target["lab"] == [45, 15, 20]
    assert (found["command"], found["light"], found["observer"]) == ("recipe", "D65", "2")
    assert (found["palette"], found["units"]["miss"]) == ("Mill pond", "CIEDE2000")
    assert found["tolerance"] == 2.0
    assert found["in_reach"] is True
    assert found["out_of_reach"] is None
    check_recipe(found["recipe"])
    assert found["recipe"]["miss"] <= 2
    assert found["recipe"]["miss"] == pytest.approx(
        float(ciede2000(target["lab"], found["recipe"]["lab"])), abs=1e-3
    )
    assert [count["tubes"] for count in found["by_count"]] == [1, 2, 3, 4]
    misses = [count["miss"] for count in found["by_count"]]
    assert misses == sorted(misses, reverse=True)
    for count in found["by_count"]:
        assert len(count["shares"]) <= count["tubes"]
        assert sum(count["shares"].values()) == pytest.approx(1, abs=1e-5)
        assert len(count["lab"]) == 3
    assert found["alternatives"]
    for other in found["alternatives"]:
        check_recipe(other)
        assert other["miss"] <= 2
        assert set(other["parts"]) != set(found["recipe"]["parts"])


def test_recipe_out_of_reach_as_json(run):
    found = answer(run, *BLUE, *FEW)
    assert found["in_reach"] is False
    check_recipe(found["recipe"])
    out = found["out_of_reach"]
    assert out["miss"] == found["by_count"][-1]["miss"] > 2
    assert out["approach"] == "value"
    assert out["directions"]
    check_recipe(out["nearest"])
    assert out["helper"]["paint"] in mixlab.read_table().ids
    assert out["helper"]["paint"] not in mixlab.read_palette("kiln-earths").ids
    assert out["helper"]["miss"] <= 2


def test_recipe_for_a_person(run):
    status, out, err = run("recipe", *BRICK, "--palette", "mill-pond")
    assert (status, err) == (0, "")
    found = answer(run, *BRICK, "--palette", "mill-pond")["recipe"]
    assert " + ".join(f"{n} {id}" for id, n in found["parts"].items()) in out
    assert f"miss {found['miss']:.1f}" in out
    for word in ("CIELAB 45,15,20", "Mill pond, 7 tubes", "D65, 2 degree", "In this order",
                 found["munsell"], found["hex"], "Cautions", "safety data sheet"):  # fmt: skip
        assert word in out
    assert "\x1b" not in out


def test_out_of_reach_for_a_person(run):
    status, out, err = run("recipe", *BLUE, *FEW)
    assert (status, err) == (0, "")
    for word in ("Out of reach", "would bring it within reach", "The least harmful compromise",
                 "Value first, then hue"):  # fmt: skip
        assert word in out


# --- recipe: every option -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("option", "text", "lab"),
    [
        ("--lab", "45,15,20", [45, 15, 20]),
        ("--lab", "45,-15,20", [45, -15, 20]),
        ("--lch", "45,25,90", [45, 0, 25]),
        ("--hex", "#808080", [53.585, 0, 0]),
        ("--hex", "8a5a3c", from_hex("8a5a3c", viewing()).lab),
        ("--munsell", "N 5", [51.0, 0, 0]),
    ],
)
def test_a_target_in_every_notation(run, option, text, lab):
    target = answer(run, option, text, *FEW, "--tubes", 2)["target"]
    np.testing.assert_allclose(target["lab"], lab, atol=0.02)
    assert target["given"].endswith(text)


def test_a_spectrum_as_target(run, tmp_path):
    path = tmp_path / "bark.csv"
    path.write_text("nm,%\n" + "".join(f"{w},20\n" for w in range(380, 731, 10)))
    target = answer(run, "--spectrum", path, *FEW, "--tubes", 2)["target"]
    np.testing.assert_allclose(target["lab"], [51.837, 0, 0], atol=1e-3)
    assert target["notes"] == ["read as percent"]


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--at", "369,417"), {"at": "369,417"}),
        (("--at", "369,417", "--radius", "6"), {"at": "369,417", "radius": 6}),
        (("--at", "360,400,380,420"), {"at": "360,400,380,420"}),
        (("--at", "369,417", "--grey", "300,300"), {"at": "369,417", "grey": "300,300"}),
        (
            ("--at", "369,417", "--grey", "300,300", "--grey-reflectance", "0.3"),
            {"at": "369,417", "grey": "300,300", "grey_reflectance": 0.3},
        ),
    ],
)
def test_a_place_in_a_photo_as_target(run, words, named):
    words = (*words, "--key", "none", *FEW, "--tubes", 2)
    target = answer(run, "--photo", SCENE, *words)["target"]
    expected = from_photo(SCENE, view=viewing(), **named)
    np.testing.assert_allclose(target["lab"], expected.lab, atol=1e-4)
    assert target["notes"] == list(expected.notes)
    plain = from_photo(SCENE, "369,417", viewing())
    assert (named == {"at": "369,417"}) == np.allclose(target["lab"], plain.lab, atol=1e-3)


def test_with_and_without(run):
    plain = answer(run, *OCHRE, *FEW)["recipe"]["parts"]
    absent = next(id for id in mixlab.read_palette("kiln-earths").ids if id not in plain)
    assert absent in answer(run, *OCHRE, *FEW, "--with", absent)["recipe"]["parts"]
    both = answer(run, *OCHRE, *FEW, "--with", "PW6", "--with", "PBk9")
    assert {"titanium-white", "bone-black"} <= set(both["recipe"]["parts"])
    assert [count["tubes"] for count in both["by_count"]] == [2, 3, 4]

    present = next(iter(plain))
    less = answer(run, *OCHRE, *FEW, "--without", present)
    assert present not in less["recipe"]["parts"]
    least = answer(run, *OCHRE, *FEW, *(f"--without={id}" for id in ("PW6", "PY43", "PBk9")))
    assert set(least["recipe"]["parts"]) == {"red-iron-oxide"}


def test_tubes(run):
    two = answer(run, *BRICK, *FEW, "--tubes", 2)
    assert [count["tubes"] for count in two["by_count"]] == [1, 2]
    assert two["recipe"]["tubes"] <= 2
    six = answer(run, "--lab", "40,10,20", "--palette", "mill-pond", "--tubes", 6)
    assert [count["tubes"] for count in six["by_count"]] == [1, 2, 3, 4, 5, 6]


def test_tolerance(run):
    wide = answer(run, *BRICK, *FEW, "--tolerance", 12)
    narrow = answer(run, *BRICK, *FEW, "--tolerance", 2)
    assert (wide["tolerance"], narrow["tolerance"]) == (12, 2)
    assert wide["in_reach"] and wide["recipe"]["tubes"] < narrow["recipe"]["tubes"]
    assert wide["recipe"]["miss"] <= 12


def test_parts(run):
    for parts in (4, 30):
        found = answer(run, *BRICK, *FEW, "--parts", parts, "--tolerance", "0.4")
        assert sum(found["in_few_parts"]["parts"].values()) <= parts
    assert sum(found["in_few_parts"]["parts"].values()) > 4


def test_light_and_observer(run):
    found = answer(run, *BRICK, *FEW, "--light", "a", "--observer", "10")
    assert (found["light"], found["observer"]) == ("A", "10")
    mix = mixlab.read_table().mix(found["recipe"]["parts"], mixlab.viewing("A", "10"))
    np.testing.assert_allclose(found["recipe"]["lab"], mix.lab, atol=1e-4)
    for option, value, word in (("--light", "A", "A, 2 deg"), ("--observer", "10", "D65, 10 deg")):
        assert word in run("mix", "1 PB28", option, value).out


def test_out_of_reach(run):
    target = ("--lab", "45,40,-45")
    value, nearest = (
        answer(run, *target, "--palette", "mill-pond", "--out-of-reach", approach)
        for approach in ("value", "nearest")
    )
    assert (value["in_reach"], nearest["in_reach"]) == (False, False)
    assert nearest["recipe"]["miss"] < value["recipe"]["miss"]
    assert abs(value["recipe"]["lab"][0] - 45) < abs(nearest["recipe"]["lab"][0] - 45)
    assert nearest["recipe"]["parts"] == value["out_of_reach"]["nearest"]["parts"]


def test_palette_and_table_from_files(run, tmp_path):
    palette = tmp_path / "two.toml"
    palette.write_text('name = "Two"\npaints = ["PW6", "burnt-sienna"]\n')
    found = answer(run, *BRICK, "--palette", palette)
    assert set(found["recipe"]["parts"]) <= {"titanium-white", "burnt-sienna"}
    assert "Two, 2 tubes" in run("recipe", *BRICK, "--palette", palette).out

    table = tmp_path / "mine.csv"
    header = [f"{q}{w}" for q in "KS" for w in range(400, 701, 10)]
    rows = [",".join([id, *[k] * 31, *["1"] * 31]) for id, k in (("ash", "0.01"), ("soot", "9"))]
    table.write_text("\n".join([",".join(["id", *header]), *rows]))
    palette.write_text('name = "Grey"\npaints = ["ash", "soot"]\n')
    words = ("--lab", "50,0,0", "--palette", palette, "--table", table)
    found = answer(run, *words)
    assert found["in_reach"] and set(found["recipe"]["parts"]) == {"ash", "soot"}
    assert "400-700 nm were brought to the grid" in run("recipe", *words).out
    out = run("mix", "1 ash + 1 soot", "--table", table).out
    assert "400-700 nm were brought to the grid" in out and "1 ash + 1 soot" in out
    assert run("paints", "--check", palette, "--table", table).status == 0
    assert "ash" in run("paints", "--table", table).out


# --- mix, paints, demo --------------------------------------------------------------------------


def test_mix_as_json(run):
    status, out, err = run("mix", "2 ultramarine-blue + 1 burnt-umber + 4 PW6", "--json")
    assert (status, err) == (0, "")
    found = json.loads(out)
    mix = mixlab.read_table().mix("2 PB29 + 1 burnt-umber + 4 PW6")
    assert found["parts"] == {"ultramarine-blue": 2, "burnt-umber": 1, "titanium-white": 4}
    np.testing.assert_allclose(found["lab"], mix.lab, atol=1e-4)
    np.testing.assert_allclose(found["lch"], mix.lch, atol=1e-4)
    assert (found["munsell"], found["hex"]) == (mix.munsell, mix.hex)
    assert list(found["reflectance"]) == [str(w) for w in range(380, 731, 10)]
    np.testing.assert_allclose(list(found["reflectance"].values()), mix.reflectance, atol=1e-6)
    assert found["contrast_ratio"] == pytest.approx(mix.contrast_ratio(), abs=1e-4)
    assert [step["paint"] for step in found["steps"]] == [step.paint.id for step in mix.steps]


def test_mix_for_a_person(run):
    status, out, err = run("mix", "2", "PB29", "+", "1", "PW6", "--coats", 0.1)
    assert (status, err) == (0, "")
    mix = mixlab.read_table().mix("2 PB29 + 1 PW6")
    assert "2 ultramarine-blue + 1 titanium-white" in out
    assert f"contrast ratio {mix.contrast_ratio(0.1):.2f} in 0.1 coat" in out
    as_json = json.loads(run("mix", "2 PB29 + 1 PW6", "--coats", 0.1, "--json").out)
    assert as_json["contrast_ratio"] == pytest.approx(mix.contrast_ratio(0.1), abs=1e-4)
    assert as_json["contrast_ratio"] < mix.contrast_ratio() - 0.01
    for word in (mix.munsell, mix.hex, "In this order", "a quarter part of", "Cautions"):
        assert word in out


def test_paints(run, table):
    status, out, err = run("paints")
    assert (status, err) == (0, "")
    for paint in table:
        assert re.search(rf"^{paint.id} .*{paint.colour_index[0]}.*{paint.basis}", out, re.M)
    for name in mixlab.palette_names():
        assert name in out
    listed = json.loads(run("paints", "--json").out)
    assert [paint["id"] for paint in listed["paints"]] == table.ids
    assert listed["palettes"] == mixlab.palette_names()


def test_one_paint(run, table):
    out = run("paints", "po20").out
    for word in ("cadmium-orange", "PO20", "opaque", "contains cadmium", "fitted"):
        assert word in out
    shown = json.loads(run("paints", "cadmium-orange", "--json").out)
    np.testing.assert_allclose(list(shown["K"].values()), table["PO20"].K, rtol=1e-4, atol=1e-8)
    np.testing.assert_allclose(list(shown["S"].values()), table["PO20"].S, rtol=1e-4, atol=1e-8)


def test_check_of_files(run, tmp_path):
    status, out, err = run("paints", "--check", bundled("paints.csv"))
    assert (status, err) == (0, "")
    assert "57 paints, nothing wrong" in out
    palette = tmp_path / "mine.toml"
    palette.write_text('paints = ["PW6"]')
    assert "a palette of 1 paint" in run("paints", "--check", palette).out


def test_demo(run):
    words = ("demo", *FEW, "--tubes", 2, "--parts", 6)
    status, out, err = run(*words)
    assert (status, err) == (0, "")
    found = json.loads(run(*words, "--json").out)
    assert len(found["places"]) >= 6
    for place in found["places"]:
        assert place["name"] in out
        assert place["target"]["hex"] in out
        check_recipe(place["recipe"])


# --- help, version ------------------------------------------------------------------------------

COMMANDS = [
    "demo", "recipe", "mix", "tints", "shades", "tones", "blend", "adjust", "layer", "distance",
    "lights", "reach", "fewest", "photo", "plan", "page", "lesson sheet", "lesson score",
    "paints", "paints add", "characterise", "predict", "help outputs",
]  # fmt: skip


@pytest.mark.parametrize("flag", ["--help", "-h"])
@pytest.mark.parametrize("command", [(), *((*name.split(),) for name in COMMANDS)])
def test_help(run, command, flag):
    status, out, err = run(*command, flag)
    assert (status, err) == (0, "")
    assert out.startswith("Usage: ")
    assert max(map(len, out.splitlines())) <= 80
    if command == ("recipe",):
        assert re.findall(r"^  (--[a-z-]+) ", out.split("Options:")[1], re.M) == [
            "--lab", "--lch", "--hex", "--munsell", "--spectrum", "--photo", "--at", "--places",
            "--radius", "--tubes", "--tolerance", "--parts", "--with", "--without",
            "--out-of-reach", "--family", "--save", "--grey", "--grey-reflectance", "--key",
            "--scene", "--palette", "--table", "--only", "--light", "--observer", "--finish",
            "--plot", "--for", "--csv", "--json",
        ]  # fmt: skip
    elif not command:
        assert re.findall(r"^  ([a-z]+(?: [a-z]+)?)  ", out, re.M) == COMMANDS
        assert not any(line.endswith("...") for line in out.splitlines()[1:])


def test_no_command_is_answered_with_help(run):
    assert run() == run("--help") == run("help")


def test_help_is_had_by_its_own_word_and_of_the_first_of_two(run):
    assert run("help", "paints", "add") == run("paints", "add", "--help")
    status, out, err = run("lesson")
    assert (status, err) == (0, "")
    assert re.findall(r"^  ([a-z]+ [a-z]+)  ", out, re.M) == ["lesson sheet", "lesson score"]
    assert run("lesson", "--help") == run("help", "lesson") == (status, out, err)


def test_version_is_all_that_is_printed(run):
    assert run("--version", "paints") == run("--version")
    assert re.fullmatch(r"mixlab \d+\.\d+\.\d+\n", run("--version").out)


# --- how it ends ---------------------------------------------------------------------------------


def test_a_fault_of_our_own_is_not_a_traceback(run, monkeypatch):
    def broken(*_):
        raise ZeroDivisionError("of course")

    monkeypatch.setattr("mixlab.show.cli.options.viewing", broken)
    status, out, err = run("mix", "1 PB29")
    assert (status, out) == (1, "")
    assert err == (
        "mixlab: a fault in mixlab itself, please report it: ZeroDivisionError: of course\n"
    )


def test_too_little_memory_is_told(run, monkeypatch):
    def greedy(*_):
        raise MemoryError

    monkeypatch.setattr("mixlab.show.cli.options.viewing", greedy)
    status, out, err = run("mix", "1 PB29")
    assert (status, out) == (1, "")
    assert err.startswith("mixlab: not enough memory") and len(err.splitlines()) == 1


def test_stopping_is_quiet(run, monkeypatch):
    def stopped(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("mixlab.show.cli.options.viewing", stopped)
    status, out, err = run("mix", "1 PB29")
    assert (status, out) == (130, "")
    assert "Traceback" not in err


# --- in a process of its own --------------------------------------------------------------------


def test_the_same_input_gives_the_same_bytes():
    words = ("recipe", *BLUE, *FEW, "--json")
    one, other = (started(*words, PYTHONHASHSEED=seed) for seed in ("1", "2"))
    assert (one.returncode, one.stderr) == (0, b"")
    assert len(one.stdout) > 500
    assert one.stdout == other.stdout


def test_a_pipe_gets_plain_lines_of_80_columns():
    eager = {"COLORTERM": "truecolor", "FORCE_COLOR": "1", "COLUMNS": "200", "TERM": "xterm"}
    for words in (
        ("recipe", "--photo", SCENE, "--at", "369,417", "--radius", "6", *FEW),
        ("paints",),
    ):
        done = started(*words, **eager)
        assert (done.returncode, done.stderr) == (0, b"")
        assert b"\x1b" not in done.stdout
        lines = done.stdout.decode().splitlines()
        assert len(lines) > 10
        assert max(map(len, lines)) <= 80


# what is written at the end and what is written line by line fail in different places
BUFFERED = pytest.mark.parametrize("unbuffered", ["", "1"], ids=["buffered", "unbuffered"])


@pytest.mark.parametrize(
    ("words", "unbuffered"), [(("mix", "1 PB29"), "1"), (("paints", "--json"), "")],
    ids=["short", "long"],
)  # fmt: skip
def test_a_closed_pipe_ends_quietly(words, unbuffered):
    with subprocess.Popen(
        [sys.executable, "-m", "mixlab", *words],
        cwd=ROOT, env=os.environ | {"PYTHONUNBUFFERED": unbuffered},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    ) as process:  # fmt: skip
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait() == 0


@BUFFERED
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device")
def test_a_full_disk_is_told(unbuffered):
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "mixlab", "mix", "1 PB29"],
            cwd=ROOT, env=os.environ | {"PYTHONUNBUFFERED": unbuffered},
            stdout=full, stderr=subprocess.PIPE, check=False,
        )  # fmt: skip
    assert done.returncode == 1
    assert done.stderr.startswith(b"mixlab: the output cannot be written: ")
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.skipif(os.name != "posix", reason="descriptors are closed by a shell")
def test_closed_output_is_no_fault():
    for closed, status in ((">&-", 0), ("2>&-", 2)):
        paint = "PB29" if status == 0 else "none"
        done = subprocess.run(
            f'"{sys.executable}" -m mixlab mix "1 {paint}" {closed}',
            shell=True, cwd=ROOT, capture_output=True, check=False,
        )  # fmt: skip
        assert (done.returncode, done.stdout, done.stderr) == (status, b"", b"")


@pytest.mark.skipif(os.name != "posix", reason="no /dev/stdin")
def test_a_table_may_come_through_a_pipe():
    done = subprocess.run(
        [sys.executable, "-m", "mixlab", "paints", "--check", "/dev/stdin"],
        cwd=ROOT, input=bundled("paints.csv").read_bytes(), capture_output=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"57 paints, nothing wrong" in done.stdout


def on_a_terminal(columns, *words):
    """Return what is printed on a true-colour terminal of so many columns."""
    fcntl, pty, struct, termios = (
        pytest.importorskip(name) for name in ("fcntl", "pty", "struct", "termios")
    )
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    unset = ("COLUMNS", "LINES", "NO_COLOR", "FORCE_COLOR")
    environment = {k: v for k, v in os.environ.items() if k not in unset}
    environment |= {"TERM": "xterm-256color", "COLORTERM": "truecolor"}
    with subprocess.Popen(
        [sys.executable, "-m", "mixlab", *words],
        cwd=ROOT, env=environment, stdin=theirs, stdout=theirs, stderr=theirs,
    ) as process:  # fmt: skip
        os.close(theirs)
        out = b""
        try:
            while some := os.read(ours, 65536):
                out += some
        except OSError:  # the other end is closed
            pass
        os.close(ours)
        assert process.wait() == 0
    return out.decode().replace("\r\n", "\n")


@pytest.mark.skipif(os.name != "posix", reason="no pseudo-terminal")
@pytest.mark.parametrize(
    ("columns", "words"),
    [
        (40, ("recipe", *BLUE, *FEW)), (200, ("mix", "2 phthalo-blue-green-shade + 1 PW6")),
        (40, ("paints",)), (200, ("paints",)),
    ],
    ids=["recipe", "mix", "narrow", "paints"],
)  # fmt: skip
def test_a_terminal_gets_swatches_within_its_width(columns, words):
    out = on_a_terminal(columns, *words)
    patches = re.findall(r"\x1b\[48;2;(\d+;\d+;\d+)m +\x1b\[0m", out)
    assert patches
    plain = re.sub(r"\x1b\[[0-9;]*m", "", out)
    assert "\x1b" not in plain
    assert max(map(len, plain.splitlines())) <= min(columns, 80)
    # every patch is of a colour that is written beside it, or of a paint in the list
    known = set(re.findall(r"#[0-9a-f]{6}", plain))
    if words == ("paints",):
        table = mixlab.read_table()
        measured = mixlab.viewing(finish="matt")
        known = {table.mix({id: 1}, measured).hex for id in table.ids}
    for patch in patches:
        assert "#" + bytes(map(int, patch.split(";"))).hex() in known


def test_a_table_of_ones_own_alone_is_the_palette_unless_one_is_named(run, tmp_path, table):
    file = tmp_path / "mine.csv"
    mixlab.write_table([table["titanium-white"], table["burnt-sienna"]], file)
    answer = json.loads(run("recipe", "--lab", "60,15,18", "--table", file, "--only", "--json").out)
    assert set(answer["recipe"]["parts"]) <= {"titanium-white", "burnt-sienna"}


def test_a_check_for_a_program(run):
    answer = json.loads(run("paints", "--check", bundled("paints.csv"), "--json").out)
    assert answer["kind"] == "pigment table" and len(answer["ids"]) >= 20
    assert answer["notes"] == []


# --- files ----------------------------------------------------------------------------------------


def test_a_word_that_is_no_file_may_be_the_name_of_one(run, own, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = ("--table", own, "--out", "mine")
    assert run("paints", "add", "my-burnt-sienna", "mine", *words).status == 0
    words = ("--palette", "kiln-earths", "--csv", "kiln-earths")
    assert run("distance", "45,10,-10", "--horizon", "80,0,-5", *words).status == 0


def test_every_option_that_names_a_file_is_known_as_one():
    """One that is in neither list would not be kept from harm."""
    commands = typer.main.get_command(app).commands
    assert {"photo", "paints add", "characterise"} <= set(commands)
    for name, command in commands.items():
        for option in command.params:
            if option.metavar in ("FILE", "TABLE", "READINGS"):
                assert option.name in (*options.READ, *options.WRITTEN), f"{name} {option.name}"


def test_a_table_may_be_added_to_and_a_device_written_to(run, own):
    words = ("paints", "add", "my-burnt-sienna", "mine", "--table", own, "--out", own)
    assert run(*words).status == 0
    assert mixlab.read_table(own).ids[-1] == "mine"
    assert run("tints", "PB29", "--csv", "/dev/null", "--plot", "/dev/null").status == 2  # no .png
    assert run("tints", "PB29", "--csv", "/dev/null", "--table", own).status == 0


SEARCHES = [
    ["recipe", "--lab", "45,10,-10"],
    ["distance", "45,10,-10", "--horizon", "80,0,-5"],
    ["layer", "--over", "80,0,-5", "--to", "45,10,-10"],
    ["lights", "--match", "45,10,-10"],
    ["adjust", "1 my-burnt-sienna", "--chroma-by", "-1"],
    ["blend", "my-burnt-sienna"],
    ["reach", "--tubes", "1"],
]


@pytest.mark.parametrize("words", SEARCHES)
def test_tubes_of_ones_own_join_a_bundled_palette(run, own, words):
    mine = len(mixlab.read_table(own))
    for palette, tubes in (("", 12), ("kiln-earths", 4))[words[0] != "recipe":]:
        asked = [*words, "--table", own, *(["--palette", palette] if palette else [])]
        ran = run(*asked, "--json")
        assert ran.status == 0, ran.err
        told = json.loads(ran.out)
        if "palette" in told:
            name = told["palette"] if isinstance(told["palette"], str) else told["palette"]["name"]
            assert name.endswith(f" and {mine} tubes of your own")
        if isinstance(told.get("tubes"), list):
            assert len(told["tubes"]) == mine + tubes and told["tubes"][0].startswith("my-")


def test_only_keeps_to_the_file(run, own):
    assert run("mix", "1 viridian", "--table", own).status == 0
    for words in (["mix", "1 viridian"], ["tints", "viridian"], ["paints", "viridian"]):
        ran = run(*words, "--table", own, "--only")
        assert ran.status == 2 and "no paint 'viridian'" in ran.err
        ran = run(*words, "--only")
        assert ran.status == 2 and "name it with --table FILE" in ran.err
    both = json.loads(run("paints", "--table", own, "--json").out)["paints"]
    mine = json.loads(run("paints", "--table", own, "--only", "--json").out)["paints"]
    assert [one["id"] for one in both[: len(mine)]] == [one["id"] for one in mine]
    assert len(both) == len(mine) + len(mixlab.read_table())


@pytest.mark.skipif(os.name != "posix", reason="no /dev/fd")
@pytest.mark.parametrize("words", [*SEARCHES, ["photo", SCENE, "--colours", "1", "--tubes", "1"]])
def test_every_command_takes_a_table_through_a_pipe(run, own, words):
    content = own.read_bytes()
    assert len(content) < 65_536  # what a pipe holds
    end, start = os.pipe()
    os.write(start, content)
    os.close(start)
    try:
        ran = run(*words, "--table", f"/dev/fd/{end}", "--only")
    finally:
        os.close(end)
    assert ran.status == 0, ran.err
    assert "my-" in ran.out


# --- progress -------------------------------------------------------------------------------------


def test_a_bar_is_shown_on_a_terminal_and_when_the_work_takes_long(monkeypatch, capsys):
    with console.bar("Mixing") as tell:
        assert tell is None  # nobody is there to see it
    now = [0.0]
    monkeypatch.setattr(console.time, "monotonic", lambda: now[0])
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "80")
    capsys.readouterr()
    with console.bar("Mixing") as tell:
        tell(0.25)
        assert "Mixing" not in capsys.readouterr().err
        now[0] = 5.0
        tell(0.5)
        shown = capsys.readouterr()
    assert "Mixing" in shown.err and "50%" in shown.err and not shown.out
