"""Signals while commands write: all files are as before, or all are whole, and nothing is left.

``MIXLAB_INTERRUPTIONS=200`` interrupts every writing command in its turn, so many times in all.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
CHEAP = ("add", "recipe", "page", "tints")


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork")
def test_what_is_interrupted_leaves_nothing_half_done(tmp_path):
    count = os.environ.get("MIXLAB_INTERRUPTIONS")
    names = () if count else CHEAP
    done = subprocess.run(
        [sys.executable, "-m", "tests.show.interrupted", count or "12", "7", str(tmp_path / "top"),
         *names],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert not [one for one in told if one["wrong"]]
    ended = [one for one in told if "status" in one]
    assert len(ended) == int(count or 12)
    assert {True, False} == {one["written"] for one in ended}
