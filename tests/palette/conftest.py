"""Eight tubes with targets for them, and the reach of two palettes."""

import pytest

import mixlab
from tests.palette.cases import kit_of, some_targets


@pytest.fixture(scope="session")
def eight(table):
    return table.palette([
        "titanium-white", "yellow-ochre", "cadmium-red-light", "burnt-umber", "ultramarine-blue",
        "phthalo-green-blue-shade", "lemon-yellow", "quinacridone-magenta",
    ])  # fmt: skip


@pytest.fixture(scope="session")
def scene(eight):
    return some_targets(kit_of(eight.paints), 12, 5)


@pytest.fixture(scope="session")
def earths():
    """The reach of white, ochre, red earth and black."""
    return mixlab.reach(mixlab.read_palette("kiln-earths"))


@pytest.fixture(scope="session")
def seven():
    """The reach of the seven tubes of mill-pond."""
    return mixlab.reach(mixlab.read_palette("mill-pond"))
