"""Where the published figures lie that the project does not hold itself."""

import os
from pathlib import Path

import pytest


def published(name: str) -> Path:
    """The path of a file of published figures in MIXLAB_REFERENCE; skips where it is absent."""
    folder = os.environ.get("MIXLAB_REFERENCE", "")
    path = Path(folder) / name
    if not folder or not path.exists():
        where = folder or "which is not set"
        pytest.skip(f"the published figures {name} are not in MIXLAB_REFERENCE, {where}")
    return path


@pytest.fixture(scope="session")
def artist_figures():
    """R. S. Berns, "Artist Paint Spectral Database", IS&T 24th Color and Imaging Conf. (2016)."""
    return published("artist_paint_ks_19.csv")


@pytest.fixture(scope="session")
def oil_readings():
    """Geldof et al., Heritage Science 6:17 (2018), CC0."""
    return published("oil_readings.csv")


@pytest.fixture(scope="session")
def all_oil_readings():
    """All 62 drawdowns of the same thirteen paints, the 26 of `oil_readings` among them."""
    return published("oil_readings_62.csv")
