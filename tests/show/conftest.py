"""What several tests of the command line share."""

from dataclasses import replace

import pytest

import mixlab


@pytest.fixture
def own(table, tmp_path):
    """A table of the painter's own, of three paints, without those of the bundled palettes."""
    path = tmp_path / "own.csv"
    names = ("titanium-white", "burnt-sienna", "ultramarine-blue")
    mixlab.write_table([replace(table[id], id=f"my-{id}") for id in names], path)
    return path
