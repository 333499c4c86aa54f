"""Make ``data/lights.csv``: weights on the grid for each light and observer.

Run as ``python -m data.making.lights``. Light and observer come from colour-science; the
weights are those of ASTM E2022 for 10 nm data over 360-780 nm (which ASTM E308 tabulates), with
the weights beyond the grid added to its ends, as E308 directs for shorter data.
"""


import numpy as np
from numpy.typing import NDArray

from mixlab.colour.spaces import WAVELENGTHS
from mixlab.files import bundled
from mixlab.writing import write_whole

LIGHTS = [
    "D65", "D50", "D75", "A", "C", "FL2", "FL11",
    "LED-B1", "LED-B2", "LED-B3", "LED-B4", "LED-B5", "LED-BH1", "LED-RGB1", "LED-V1", "LED-V2",
]  # fmt: skip
OBSERVERS = {
    "2": "CIE 1931 2 Degree Standard Observer",
    "10": "CIE 1964 10 Degree Standard Observer",
}


def weights(light: str, observer: str) -> NDArray[np.float64]:
    """Return weights (36, 3) for a CIE light and an observer, "2" or "10", summing to Y = 100."""
    import colour

    fine = colour.SpectralShape(360, 780, 1)
    sensitivities = colour.MSDS_CMFS[OBSERVERS[observer]].copy().align(fine)
    power = colour.SDS_ILLUMINANTS[light].copy().align(fine)
    wide = colour.colorimetry.tristimulus_weighting_factors_ASTME2022(
        sensitivities, power, colour.SpectralShape(360, 780, 10)
    )
    inside = np.arange(360, 781, 10)
    below, above = inside < WAVELENGTHS[0], inside > WAVELENGTHS[-1]
    table = wide[~below & ~above].copy()
    table[0] += wide[below].sum(axis=0)
    table[-1] += wide[above].sum(axis=0)
    return np.asarray(table)


def text() -> str:
    """Return the whole file: a row for each light, observer and X, Y, Z."""
    lines = ["light,observer,channel," + ",".join(f"{w:.0f}" for w in WAVELENGTHS)]
    for light in LIGHTS:
        for observer in OBSERVERS:
            for channel, row in zip("XYZ", weights(light, observer).T, strict=True):
                numbers = ",".join(f"{n:.6f}" for n in row)
                lines.append(f"{light},{observer},{channel},{numbers}")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    write_whole(bundled("lights.csv"), text())
