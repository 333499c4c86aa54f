"""Where the published figures lie that the project does not hold itself."""

from pathlib import Path

import pytest

_BESIDE = Path(__file__).resolve().parents[3] / "shared" / "reference"


def published(name: str) -> Path:
    """The path of a file of published figures beside the checkout; skips where it is absent."""
    path = _BESIDE / name
    if not path.exists():
        pytest.skip(f"the published figures {name} are not beside this checkout")
    return path


@pytest.fixture(scope="session")
def artist_figures():
    """R. S. Berns, "Artist Paint Spectral Database", IS&T 24th Color and Imaging Conf. (2016)."""
    return published("artist_paint_ks.csv")


@pytest.fixture(scope="session")
def oil_readings():
    """Geldof et al., Heritage Science 6:17 (2018), CC0."""
    return published("oil_readings.csv")
