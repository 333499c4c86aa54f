"""What every command writes is what it declares: keys, kinds, columns, light, observer, units."""

import csv
import json
import re
from collections import defaultdict

import pytest

import mixlab
from mixlab.files import bundled
from mixlab.show.cli.outputs import declared
from mixlab.show.report import Output

TABLE = mixlab.read_table()
ANSWERED = [
    ("adjust", "6,yellow-ochre,+,1,viridian --chroma-by -2 --kinds 1"),
    ("blend", "burnt-sienna --palette mill-pond --steps 3"),
    ("characterise", "READINGS --out OUT --quick"),
    ("demo", "--palette kiln-earths --tubes 2 --parts 6"),
    ("distance", "burnt-sienna --horizon #c0d0e0 --palette kiln-earths --steps 3 --tubes 2"),
    ("fewest", "--targets TARGETS --palette kiln-earths --tubes 2 --tolerance 12"),
    ("help outputs", ""),
    ("layer", "--over #a9b5a4 --to #9a5f40 --palette kiln-earths"),
    ("lesson score", "SHEET"),
    ("lesson sheet", "PB29 --steps 3"),
    ("lights", "PB29 PB28"),
    ("mix", "2,PB29,+,PW6"),
    ("page", "SMALL --palette kiln-earths --places PLACES --out PAGE"),
    ("page", "--lesson grey --out PAGE"),
    ("paints", ""),
    ("paints", "PB29"),
    ("paints", "--check TABLE"),
    ("paints add", "PB29 my-blue --strength half --out OUT"),
    ("photo", "SMALL --palette kiln-earths --colours 2 --tubes 2"),
    ("plan", "SMALL --palette kiln-earths --masses 3 --values 2 --against SMALL --ground #a07a58"),
    ("predict", "TABLE READINGS"),
    ("reach", "--palette kiln-earths --targets TARGETS --against mill-pond"),
    ("recipe", "--hex 006fb6 --palette kiln-earths"),
    ("recipe", "--places PLACES --palette kiln-earths"),
    ("shades", "PY43 --steps 3"),
    ("tints", "PB29 --steps 3 --compare PW4"),
    ("tints", "PB29 PB28 --steps 3"),
    ("shades", "PB29 PB28 --steps 3"),
    ("tones", "PB29 PB28 --steps 3"),
    ("tones", "PB29 --steps 3"),
]
"""A question for every form of output that is declared; commas stand for spaces."""

BY_COMMAND: dict[str, list[Output]] = defaultdict(list)
for _output in declared():
    BY_COMMAND[_output.command].append(_output)

PLAIN = {"number": (int, float), "text": str, "true/false": bool}
LISTS = {"numbers": (int, float), "texts": str, "truths": bool}
NAMED = {"by name": (int, float), "texts by name": str}


def hold(fields, content, path=""):
    """Hold that an object has the keys that are declared, in order, and each its kind."""
    fields = [one for one in fields if one.key]
    assert list(content) == [one.key for one in fields], path
    for one in fields:
        value, where = content[one.key], f"{path}.{one.key}"
        if value is None:
            continue
        if one.kind == "group":
            hold(one.fields, value, where)
        elif one.kind == "rows":
            assert isinstance(value, list), where
            for row in value:
                hold(one.fields, row, where)
        elif one.kind in PLAIN:
            assert isinstance(value, PLAIN[one.kind]), where
            assert one.kind == "true/false" or not isinstance(value, bool), where
        else:
            some = value.values() if one.kind in NAMED else value
            kind = {**LISTS, **NAMED}[one.kind]
            assert all(v is None or isinstance(v, kind) for v in some), where


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """Small files by the word that stands for them."""
    from PIL import Image

    folder = tmp_path_factory.mktemp("asked")
    with Image.open(bundled("scene.jpg")) as whole:
        whole.resize((36, 24)).save(folder / "small.png")
    (folder / "targets.csv").write_text("name,L,a,b\nbrick,45,15,20\npond,40,-3,-4\n")
    (folder / "places.csv").write_text("name,L,a,b\nbrick,45,15,20\npond,40,-3,-4\n")
    mixes = ["1 PW6", "1 PB29", "1 PBr7", "1 PB29 + 4 PW6", "1 PBr7 + 4 PW6", "1 PB29 + 1 PBr7"]
    mixes = [mix.replace("PBr7", "burnt-sienna") for mix in mixes]
    with (folder / "readings.csv").open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(["sample", "mixture", "surface", *range(380, 731, 10)])
        for number, mix in enumerate(mixes):
            made = TABLE.mix(mix, mixlab.viewing(finish="matt"))
            writer.writerow([f"D{number}", str(made), "opaque", *made.reflectance])
    return {"SMALL": folder / "small.png", "TARGETS": folder / "targets.csv",
            "PLACES": folder / "places.csv", "READINGS": folder / "readings.csv",
            "TABLE": bundled("paints.csv"), "SHEET": painted_sheet(folder)}  # fmt: skip


def painted_sheet(folder):
    """The picture of a sheet of three squares, painted as it asks."""
    from PIL import Image, ImageDraw

    from mixlab.lesson import layout
    from mixlab.lesson.sheet import lesson_sheet
    from mixlab.show.plots import lesson_sheet as drawing
    from mixlab.show.plots import pages

    sheet = lesson_sheet(TABLE.mix("PB29"), TABLE.mix("PW6"), 3)
    pages.save([drawing.lesson_sheet(sheet)], folder / "sheet.png")
    with Image.open(folder / "sheet.png") as whole:
        page = whole.convert("RGB").resize((1260, 1782)).point(lambda level: level * 235 // 255)
    for i, mixture in enumerate(sheet.mixtures):
        ImageDraw.Draw(page).rectangle([6 * v for v in layout.square(i)], fill=mixture.hex)
    page.save(folder / "sheet.png")
    return folder / "sheet.png"


@pytest.mark.parametrize(("command", "words"), ANSWERED)
def test_what_is_written_is_what_is_declared(run, files, tmp_path, command, words):
    if command not in BY_COMMAND:
        pytest.skip("it does not declare what it writes yet")
    known = files | {"OUT": tmp_path / "out.csv", "PAGE": tmp_path / "page.html"}
    typed = [known.get(word, word.replace(",", " ")) for word in words.split()]
    output = next((one for one in BY_COMMAND[command] if one.csv), BY_COMMAND[command][0])
    file = tmp_path / "rows.csv"
    ran = run(*command.split(), *typed, *(["--csv", file] if output.csv else []), "--json")
    assert (ran.status, ran.err) == (0, "")
    told = json.loads(ran.out)
    assert told["command"] == command
    head = ["command", "light", "observer", "finish", "units"]
    content = {key: value for key, value in told.items() if key not in head}
    (output,) = [
        one for one in BY_COMMAND[command] if [field.key for field in one.fields] == list(content)
    ]
    assert list(told) == [*(key for key in head if output.colours or key in ("command", "units")),
                          *content]  # fmt: skip
    hold(output.fields, content)
    assert told["units"] == output.units(output.fields)
    if output.colours:
        assert (told["light"], told["observer"]) == ("D65", "2")
        assert told["finish"] in ("gloss", "satin", "matt")
    if output.csv:
        with file.open(newline="", encoding="utf-8") as stream:
            rows = list(csv.DictReader(stream))
        assert rows and list(rows[0]) == output.columns()
        assert rows[0]["light"] == "D65"
        lab = any(name.split("_")[-1] == "L" for name in rows[0])
        assert ("L, a, b CIELAB" in rows[0]["units"]) == lab


def test_every_output_is_asked_for():
    for command, outputs in BY_COMMAND.items():
        assert sum(asked == command for asked, _ in ANSWERED) >= 1, command
        assert len(outputs) == 1 or command in (
            "paints", "characterise", "reach", "recipe", "tints", "shades", "tones"
        )  # fmt: skip


PLAN_ALONE = ("order", "tubes", "value", "from", "wanted")
"""Keys of a plan that mean something else there: its lists, and its trees of piles."""


def test_a_key_means_one_thing_everywhere():
    kinds, columns = defaultdict(dict), defaultdict(dict)
    for output in declared():
        for path, one in output.reference():
            if output.command == "plan" and path.split(".")[-1] in PLAN_ALONE:
                continue
            kinds[one.key].setdefault((one.kind, one.unit), f"{output.command}: {path}")
            assert one.meaning, f"{output.command}: {path}"
        for name in output.columns():
            columns[name].setdefault(output.command, None)
    assert {key: told for key, told in kinds.items() if len(told) > 1} == {}
    assert {"C", "h", "munsell", "hex"} <= set(columns)
    assert not {"C", "h", "L", "chroma", "value", "opacity", "reached", "slip"} & set(kinds)


def test_every_command_is_in_the_reference(run):
    told = json.loads(run("help", "outputs", "--json").out)["outputs"]
    assert [one["of"] for one in told] == [output.command for output in declared()]
    page = run("help", "outputs").out
    for command in BY_COMMAND:
        assert re.search(rf"^mixlab {command}$", page, re.M)
    assert max(map(len, page.splitlines())) <= 80
    keys = {key["key"]: key for one in told if one["of"] == "recipe" for key in one["keys"]}
    assert keys["recipe.miss"]["unit"] == "CIEDE2000" and keys["by_count[].miss"]["meaning"]


def test_numbers_stay_with_what_they_count():
    from mixlab.show.terminal import fold

    for width in range(30, 81):
        lines = fold("  5 burnt-sienna + 11 titanium-white + 2.5 PB15:3; 40% of it: 13 %, "
                     "6.2PB 6.8/9.4", width, 4)  # fmt: skip
        for mix in ("5 burnt-sienna", "11 titanium-white", "2.5 PB15:3", "40% of", "13 %",
                    "6.2PB 6.8/9.4"):  # fmt: skip
            assert sum(mix in line for line in lines) == 1
        assert max(map(len, lines)) <= width
    path = "--photo /a/rather/long/path/of/a/picture/that/is/not/to/be/broken.jpg"
    assert path.split()[1] in "\n".join(fold(path, 30, 12)).split()
    assert TABLE.mix("5 burnt-sienna").parts == {"burnt-sienna": 5}
