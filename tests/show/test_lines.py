"""Random command lines: whatever is asked, an answer or one line of what was wrong.

``MIXLAB_LINES=500`` draws so many of each command, instead of so many as take little time.
"""

import json
import os
import random
import zlib
from itertools import pairwise

import pytest

from mixlab.show.cli.options import WRITTEN
from tests.show.lines import COMMANDS, prepare, random_line

_HEAVY = ("plan", "page", "demo", "fewest", "photo", "help outputs")  # draw or search long


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::Warning:matplotlib")
@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_line_is_answered_or_refused(run, tmp_path, monkeypatch, command):
    if command == "reach" and "MIXLAB_LINES" not in os.environ:
        pytest.skip("one reach takes ten seconds; asked by hand")
    prepare(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("typer.launch", lambda *_: 0)
    draw = random.Random(zlib.crc32(command.encode()))
    options = {word: one.name for one in COMMANDS[command].params for word in one.opts}
    heavy = command in _HEAVY or command.startswith("lesson")
    count = int(os.environ.get("MIXLAB_LINES") or (5 if heavy else 15))
    answered, refused = 0, 0
    for _ in range(count):
        words = random_line(draw, command)
        before = contents(tmp_path)
        ran = run(*words)
        after = contents(tmp_path)
        assert ran.status in (0, 1, 2), words
        assert "Traceback" not in ran.err and "fault in mixlab" not in ran.err, (words, ran.err)
        if ran.status:
            assert ran.out == "" or command == "fewest", (words, ran.out)
            lines = ran.err.splitlines()
            assert lines and all(line.startswith("mixlab: ") for line in lines), (words, ran.err)
            assert len(lines) == 1 or "--check" in words, (words, ran.err)
            assert after == before, (words, set(after) ^ set(before))
            refused += 1
        else:
            if "--json" in words and "--help" not in words:
                assert json.loads(ran.out)["command"], words
            given = {value for option, value in pairwise(words)
                     if options.get(option) in WRITTEN}  # fmt: skip
            changed = {name for name in after if after[name] != before.get(name)}
            assert changed <= given and set(before) <= set(after), (words, changed)
            answered += 1
        for name in set(after) - set(before):
            (tmp_path / name).unlink()
        if after.get("own.csv") != before["own.csv"]:
            (tmp_path / "own.csv").write_bytes(before["own.csv"])
    assert answered + refused == count
    assert (answered and refused) or count < 100
