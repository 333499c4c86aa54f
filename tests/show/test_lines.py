"""Random command lines: whatever is asked, an answer or one line of what was wrong.

Of each command 500 lines are drawn. Most hold a word that is wrong where it stands, and refusing
one takes milliseconds; as many as take little time hold what may be answered. ``MIXLAB_LINES=500``
draws so many of those as well, which takes an hour.
"""

import json
import os
import random
import zlib
from itertools import pairwise

import pytest

from mixlab.show.cli.options import WRITTEN
from tests.show.lines import COMMANDS, prepare, random_line, wrong_lines

LINES = 500
_OPEN = {"reach": 5, "fewest": 30, "demo": 10, "photo": 20, "plan": 20, "help outputs": 15}
_FREE = 40
"""Lines that may be answered: of those that draw or search long, and of the others."""


def contents(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


@pytest.fixture
def asked(run, tmp_path, monkeypatch):
    """Ask a line, in a folder with files to read, and hold it to what is promised of any."""
    prepare(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("typer.launch", lambda *_: 0)
    before = contents(tmp_path)

    def asked(command, words):
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
            return ran
        if "--json" in words and "--help" not in words:
            assert json.loads(ran.out)["command"], words
        options = {word: one.name for one in COMMANDS[command].params for word in one.opts}
        given = {value for option, value in pairwise(words) if options.get(option) in WRITTEN}
        changed = {name for name in after if after[name] != before.get(name)}
        assert changed <= given and set(before) <= set(after), (words, changed)
        for name in changed:
            if name in before:
                (tmp_path / name).write_bytes(before[name])
            else:
                (tmp_path / name).unlink()
        return ran

    return asked


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore::Warning:matplotlib")
@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_every_line_is_answered_or_refused(asked, command):
    draw = random.Random(zlib.crc32(command.encode()))
    count = int(os.environ.get("MIXLAB_LINES") or _OPEN.get(command, _FREE))
    answered = sum(not asked(command, random_line(draw, command)).status for _ in range(count))
    assert answered or command == "lesson score", count  # which is answered a photograph alone
    assert answered < count


@pytest.mark.slow
@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_a_wrong_word_is_refused_whatever_else_is_asked(asked, command):
    draw = random.Random(f"{command} wrong")
    drawn = 0
    for words in wrong_lines(draw, command, LINES - _OPEN.get(command, _FREE)):
        ran = asked(command, words)
        assert ran.status == 2 and ran.out == "", (words, ran)
        drawn += 1
    assert drawn > 400 or command == "help outputs"  # which takes no word
