"""The page's modules: each takes what others offer, and joined they are one script."""

import json
import re
from itertools import chain
from pathlib import Path

import pytest

from mixlab.colour import munsell, spaces
from mixlab.paint.tables import read_palette
from mixlab.show import page
from mixlab.show.page import lesson
from mixlab.show.page.render import SHARED, VIEW

HERE = Path(page.__file__).parent
IMPORT = re.compile(r'^import \{([^}]*)\} from "\./([\w.]+)";$', re.MULTILINE)
EXPORT = re.compile(r"^export (?:async )?(?:const|let|function) (\w+)", re.MULTILINE)
SCRIPTS = {
    "worker": page.WORKER, "page": (*SHARED, *VIEW), "lesson": (*lesson.ENGINE, *lesson.VIEW),
}  # fmt: skip
NAME = re.compile(r"^(?:export )?(?:async )?(?:const|let|function) (\w+)", re.MULTILINE)


def text(name):
    return (HERE / name).read_text(encoding="utf-8")


def taken(name):
    """Return (module, name) of all that a module takes from others."""
    return [(other, one.strip()) for names, other in IMPORT.findall(text(name))
            for one in names.split(",") if one.strip()]  # fmt: skip


@pytest.mark.parametrize("script", SCRIPTS.values(), ids=SCRIPTS)
def test_a_module_takes_from_those_before_it(script):
    for place, name in enumerate(script):
        assert text(name).startswith("// ")
        for other, one in taken(name):
            assert other in script[:place], f"{name} takes {one} from {other}, which comes later"
            assert one in EXPORT.findall(text(other)), f"{other} does not export {one}"
            rest = IMPORT.sub("", text(name))
            assert re.search(rf"\b{one}\b", rest), f"{name} does not use {one} of {other}"


@pytest.mark.parametrize("script", SCRIPTS.values(), ids=SCRIPTS)
def test_joined_they_are_one_script(script):
    """The script is the sources, word for word, but for the lines that tie modules together."""
    names = list(chain.from_iterable(NAME.findall(text(name)) for name in script))
    assert sorted(names) == sorted(set(names))
    made = page.joined(script)
    assert not re.search(r"^(import|export)\b", made, re.MULTILINE)
    lines = (line.removeprefix("export ") for name in script
             for line in IMPORT.sub("", text(name)).splitlines())  # fmt: skip
    assert [line for line in made.splitlines() if line] == [line for line in lines if line]


def test_every_module_is_in_a_script():
    assert {file.name for file in HERE.glob("*.js")} == set(chain(*SCRIPTS.values()))


def test_what_is_packed_is_what_python_has():
    palette, view = read_palette("mill-pond"), spaces.viewing("A", "10", "satin")
    data = json.loads(json.dumps(page.pack(palette, view, all_paints=True, tolerance=1.5)))
    paints = {paint["id"]: paint for paint in data["paints"]}
    assert data["palette"]["tubes"] == palette.ids == list(paints)[: len(palette)]
    assert set(paints) == set(palette.table.ids)
    for paint in palette.table:
        assert paints[paint.id]["K"] == paint.K.tolist()
        assert paints[paint.id]["S"] == paint.S.tolist()
        both = "; ".join(filter(None, (paint.fading, paint.cautions)))
        assert paints[paint.id]["cautions"] == both
    assert data["view"] == {"light": "A", "observer": "10", "finish": "satin"}
    assert data["weights"] == view.weights.tolist()
    assert data["settings"]["tolerance"] == 1.5
    # a byte of base64 holds six bits: 2 + 2 bytes for each entry of the renotation
    entries = int(munsell.renotation().greatest[1:, :-1].sum() / 2)
    assert len(data["munsell"]["xy"]) == pytest.approx(4 * entries * 4 / 3, abs=4)
