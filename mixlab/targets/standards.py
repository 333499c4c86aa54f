"""Published sets of colours: the Munsell chips that a surface can have, reflectances of standards.

References
----------
.. [1] MacAdam, "Maximum visual efficiency of colored materials", J. Opt. Soc. Am. 25 (1935)
       361-367: no surface is purer than one that reflects all or nothing at each wavelength.
.. [2] Centore, "A zonohedral approach to optimal colours", Color Res. Appl. 38 (2013) 110-119: the
       colours of all surfaces are a zonohedron in XYZ, the sum of the weights of each wavelength.
"""

import csv
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array, Mask
from mixlab.colour.munsell import parse_munsell, write_munsell
from mixlab.colour.spaces import (
    WAVELENGTHS,
    Viewing,
    munsell_to_lab,
    munsell_to_xyz,
    reflectance_to_lab,
    viewing,
)
from mixlab.errors import ReachError, suggestion
from mixlab.files import bundled
from mixlab.targets.many import Colours

STANDARDS = {
    "iso-17321-1": "24 patches of the test chart of ISO 17321-1",
    "cie-13.3": "14 test colour samples of CIE 13.3-1995",
    "cie-224": "99 test colour samples of CIE 224:2017",
}
"""Reflectances that colour-science bundles, by the standard that they are from."""


# --- published sets -----------------------------------------------------------------------------


def inside_optimal(xyz: ArrayLike, view: Viewing) -> Mask:
    """Return whether a surface can have these XYZ (..., 3) under a light and observer.

    The colours of all surfaces are the zonohedron of the weights of each wavelength: its faces lie
    across each pair of them (Centore 2013), and its edge is the limit of MacAdam (1935).
    """
    xyz = np.asarray(xyz, dtype=float)
    normals, offsets = _faces(view)
    flat = xyz.reshape(-1, 3) @ normals.T
    return np.asarray((flat <= offsets + 1e-9).all(axis=1).reshape(xyz.shape[:-1]))


@lru_cache(maxsize=4)
def _faces(view: Viewing) -> tuple[Array, Array]:
    """Return normals (f, 3) and offsets (f,) of the zonohedron."""
    first, second = np.triu_indices(len(view.weights), 1)
    normals = np.cross(view.weights[first], view.weights[second])
    length = np.linalg.norm(normals, axis=1)
    normals = normals[length > 1e-12] / length[length > 1e-12, None]
    normals = np.concatenate([normals, -normals])
    return normals, np.maximum(normals @ view.weights.T, 0).sum(axis=1)


@cache
def _chips() -> Array:
    """Return hue, value and chroma (n, 3) of the chips of the renotation that a surface can have.

    At the whole values 1 to 9; the limit is that of the renotation's own light, C and 2 degrees.
    """
    with open(bundled("munsell.csv"), newline="", encoding="utf-8") as stream:
        reader = csv.DictReader(stream)
        notations = [
            f"{row['hue']} {row['value']}/{row['chroma']}"
            for row in reader
            if float(row["value"]) in range(1, 10)
        ]
    hvc = np.array([parse_munsell(notation) for notation in notations])
    home = viewing("C", "2")
    return hvc[inside_optimal(munsell_to_xyz(hvc, home), home)]


def munsell_chips(view: Viewing | None = None) -> Colours:
    """Return the chips of the Munsell renotation at values 1 to 9 that are inside optimal colours.

    As they are in the renotation: hues 2.5 apart, chromas 2 apart, neutrals left out.
    """
    view, hvc = view or viewing(), _chips()
    names = (write_munsell(chip, 1).replace(".0", "") for chip in hvc)
    given = "chips of the Munsell renotation that a surface can have"
    return Colours.of(given, munsell_to_lab(hvc, view), view, names)


def from_standard(name: str, view: Viewing | None = None) -> Colours:
    """Return the colours of the reflectances of a published standard; a key of STANDARDS.

    Raises
    ------
    ReachError : for a name that is not there, or where colour-science is not installed
    """
    view = view or viewing()
    if name.lower() not in STANDARDS:
        raise ReachError(
            f"no standard {name!r}; standards: {', '.join(STANDARDS)}" + suggestion(name, STANDARDS)
        )
    curves = _standard(name.lower())
    lab = reflectance_to_lab(np.array(list(curves.values())), view)
    return Colours.of(STANDARDS[name.lower()], lab, view, curves)


@cache
def _standard(name: str) -> dict[str, Array]:
    """Return reflectances (36,) by the name of the sample."""
    import warnings

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from colour import SDS_COLOURCHECKERS
            from colour.quality.cfi2017 import load_TCS_CIE2017
            from colour.quality.datasets import SDS_TCS
    except ImportError:
        raise ReachError("the reflectances of standards need colour-science installed") from None

    if name == "cie-224":
        from colour import SpectralShape

        sds = load_TCS_CIE2017(SpectralShape(380, 780, 5))
        values = np.asarray(sds.values).T
        return {f"sample {i}": np.interp(WAVELENGTHS, sds.wavelengths, curve)
                for i, curve in enumerate(values, start=1)}  # fmt: skip
    if name == "cie-13.3":
        found = {f"sample {i}": sd for i, sd in enumerate(SDS_TCS["CIE 1995"].values(), 1)}
    else:
        patches = SDS_COLOURCHECKERS["ISO 17321-1"].values()
        found = {f"patch {i}": sd for i, sd in enumerate(patches, 1)}
    return {key: np.interp(WAVELENGTHS, sd.wavelengths, sd.values) for key, sd in found.items()}
