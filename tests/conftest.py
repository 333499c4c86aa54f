"""Fixtures that several test files share."""

import os
import sys
from typing import NamedTuple

# as many workers as cores: each on one thread, also in what it starts; before numpy is loaded
for pool in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(pool, "1")

import pytest
from hypothesis import settings

import mixlab
from mixlab.show.cli import main

# no test is timed, and a busy machine is no fault of the code
settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")


class Ran(NamedTuple):
    """What a command ended with."""

    status: int
    out: str
    err: str


@pytest.fixture(scope="session")
def table():
    """The bundled pigment table."""
    return mixlab.read_table()


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the command line in this process: ``run("recipe", "--lab", "45,15,20")``."""

    def run(*words):
        monkeypatch.setattr(sys, "argv", ["mixlab", *map(str, words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as end:
            main()
        return Ran(end.value.code, *capsys.readouterr())

    return run
