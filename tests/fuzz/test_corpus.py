"""Every reader, fed with what it takes, with what once went wrong, and with files made of those.

Always the same files, within 5 s of processor time each and 1 GB. By hand, for hours and with what
the code itself shows: tests/fuzz/run.py. The page's readers: tests/fuzz/browser.py.
"""

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

from tests.fuzz.readers import READERS, fed
from tests.fuzz.seeds import FAULTS, SEEDS, corpus

HAS_CXF = importlib.util.find_spec("colour_cxf") is not None
CHANGED = {"picture": 150, "readings": 120}

_LIMITED = """
import resource
from tests.fuzz.readers import fed
from tests.fuzz.seeds import FAULTS
resource.setrlimit(resource.RLIMIT_DATA, (1_000_000_000, resource.RLIM_INFINITY))
for kind, files in FAULTS.items():
    for i, data in enumerate(files):
        spent = sum(resource.getrusage(resource.RUSAGE_SELF)[:2])
        resource.setrlimit(resource.RLIMIT_CPU, (int(spent) + 6, resource.RLIM_INFINITY))
        print(kind, i, fed(kind, data), flush=True)
"""


@pytest.mark.parametrize("kind", READERS)
def test_what_a_reader_takes_is_taken(kind):
    for data in SEEDS[kind]:
        if HAS_CXF or b"CxF3" not in data:
            assert fed(kind, data) == ""


@pytest.mark.parametrize("kind", READERS)
def test_nothing_comes_out_but_an_answer_or_a_line(kind, capfd):
    for data in corpus(kind, CHANGED.get(kind, 250)):
        if len(data) < 20_000:
            fed(kind, data)
    told = capfd.readouterr()
    assert (told.out, told.err) == ("", "")


def test_nothing_takes_more_than_its_limit():
    """A hang ends by the limit of processor time, too much memory by a MemoryError."""
    done = subprocess.run(
        [sys.executable, "-W", "error::RuntimeWarning", "-c", _LIMITED],
        cwd=Path(__file__).resolve().parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, ""), done.stdout[-500:]
    assert len(done.stdout.splitlines()) == sum(map(len, FAULTS.values()))
