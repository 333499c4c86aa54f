"""Interrupt commands that write, again and again; a program, so that nothing else runs in it.

``python -m tests.show.interrupted COUNT SEED FOLDER [COMMAND ..]`` forks a child for each, sends it
SIGINT or SIGTERM, at a random moment or within the writing, and prints one line of JSON for each:
what was asked, how it ended, and what is wrong with what it left.
"""

import json
import os
import random
import shutil
import signal
import sys
import time
from pathlib import Path

from mixlab.show.cli import main
from tests.show.lines import prepare

WRITING = {
    "add": "paints add PB29 mine --out own.csv",
    "tints": "tints PB29 --csv a.csv --plot a.svg",
    "recipe": "recipe --places named.csv --palette few.toml --csv a.csv --save a.json",
    "page": "page picture.png --palette few.toml --out a.html",
    "photo": "photo picture.png --palette few.toml --colours 2 --preview a.png --csv a.csv",
    "characterise": "characterise readings.csv --out a.csv --quick --csv b.csv",
    "sheet": "recipe --places named.csv --palette few.toml --csv a.csv --plot a.png",
    "marked": "photo picture.png --palette few.toml --colours 2 --preview a.png --csv a.csv "
              "--mark b.png --plot c.png",
    "distance": "distance 45,15,20 --horizon 80,0,-5 --palette few.toml --csv a.csv --plot a.png",
    "lights": "lights PB29 --csv a.csv --plot a.png",
    "layer": "layer PB29 --over PW6 --csv a.csv --plot a.png",
    "adjust": "adjust PB29 --chroma-by -5 --palette few.toml --csv a.csv --plot a.png",
    "reach": "reach --palette few.toml --photo picture.png --csv a.csv --mark b.png",
    "predict": "predict own.csv readings.csv --csv a.csv",
    "plan": "plan picture.png --palette few.toml --masses 3 --values 2 --csv a.csv --pattern b.png",
}  # fmt: skip
"""Commands that write, one file or several, some of them there before."""

_MOMENTS = ("open", "fsync", "replace", "link", "unlink", "chmod")


def contents(folder):
    """Return the files of a folder, by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def child(folder, words, number, moment):
    """Run a command in a child, which signals itself at a moment of its writing if one is given."""
    pid = os.fork()
    if pid:
        return pid
    os.chdir(folder)
    for stream, name in ((1, "../out"), (2, "../err")):
        os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), stream)
    signal.signal(signal.SIGINT, signal.SIG_DFL)  # as the command starts
    if moment is not None:
        does, last = getattr(os, moment), iter(random.choice(([True], [False, True])))

        def interrupted(*given, **named):
            if next(last, False):
                os.kill(os.getpid(), number)
            return does(*given, **named)

        setattr(os, moment, interrupted)
    sys.argv = ["mixlab", *words]
    try:
        main()
    except SystemExit as end:
        sys.stdout.flush()
        os._exit(end.code or 0)
    os._exit(99)


def ran(top, name, number=0, moment=None, wait=None):
    """Return how a command ended that was interrupted, and what it left in its folder."""
    folder = top / "at"
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(top / "made", folder, symlinks=True)
    begun = time.monotonic()
    pid = child(folder, WRITING[name].split(), number, moment)
    if wait is not None:
        time.sleep(wait)
        os.kill(pid, number)
    status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    return status, time.monotonic() - begun, contents(folder)


def wrong(before, whole, after, status, number):
    """Return what is wrong with what was left, and with how the command ended."""
    if after not in (before, whole):
        other = {name for name in {*after, *whole} if after.get(name) != whole.get(name)}
        return f"neither as before nor whole: {sorted(other)}"
    if status not in (0, 130, -number):
        return f"ended with {status}"
    return "" if status or after == whole else "ended well, and wrote nothing"


def interrupt(count, seed, top, names):
    """Interrupt commands so many times, each in its turn, and print what came of it."""
    draw = random.Random(seed)
    random.seed(seed)
    (top / "made").mkdir(parents=True)
    prepare(top / "made")
    (top / "made" / "a.csv").write_text("kept\n")
    before = contents(top / "made")
    known = {}
    for i in range(count):
        name = names[i % len(names)]
        if name not in known:
            status, took, whole = ran(top, name)
            print(json.dumps({"asked": name, "wrong": f"ended with {status}" if status else ""}))
            known[name] = took, whole
        took, whole = known[name]
        number = draw.choice((signal.SIGINT, signal.SIGTERM))
        moment = draw.choice(_MOMENTS) if draw.random() < 0.5 else None
        wait = draw.uniform(0, took) if moment is None else None
        status, _, after = ran(top, name, number, moment, wait)
        fault = wrong(before, whole, after, status, number)
        err = (top / "err").read_text()
        if err not in ("", "mixlab: stopped\n"):
            fault = fault or f"said {err[:200]!r}"
        told = {"asked": name, "signal": int(number), "moment": moment or wait, "status": status,
                "written": after == whole, "wrong": fault}  # fmt: skip
        print(json.dumps(told), flush=True)


if __name__ == "__main__":
    _count, _seed, _top, *_names = sys.argv[1:]
    interrupt(int(_count), int(_seed), Path(_top), _names or list(WRITING))
