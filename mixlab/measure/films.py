"""Drawdowns as arrays: what was read, of which paints in which parts, over which ground."""


from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array, Mask
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.errors import ReadingError
from mixlab.measure.readings import Reading, Readings


@dataclass(frozen=True, eq=False)
class Films:
    """Readings of paint as arrays: r readings of d drawdowns of p paints, on the grid."""

    ids: tuple[str, ...]  # of the paints
    samples: tuple[str, ...]  # of the drawdowns
    mixtures: tuple[str, ...]  # of the drawdowns, as written
    surfaces: tuple[str, ...]  # of the readings
    sample: NDArray[np.intp]  # (r,) the drawdown of each reading
    shares: Array  # (d, p) parts, summing to one
    ground: Array  # (r, 36) reflectance of the bare ground beside the film; 0 under an opaque layer
    reflectance: Array  # (r, 36) as read
    covered: Mask  # (r, 36) where it was read

    @cached_property
    def opaque(self) -> Mask:
        """Whether a reading (r,) is of a layer that is said to hide."""
        return np.array([surface == "opaque" for surface in self.surfaces])

    @cached_property
    def shown(self) -> NDArray[np.intp]:
        """The reading (d,) that shows each drawdown: over white, else opaque, else over black."""
        order = {"over-white": 0, "opaque": 1, "over-black": 2}
        rank = np.array([order[surface] for surface in self.surfaces])
        return np.array([
            min(np.flatnonzero(self.sample == d), key=lambda r: rank[r])
            for d in range(len(self.samples))
        ])  # fmt: skip


def films(readings: Readings, ids: Sequence[str] | None = None) -> Films:
    """Return readings as arrays; `ids` orders the paints, as they come unless given.

    Raises
    ------
    ReadingError : if there are no films, a ground is missing, or one sample is two mixtures
    """
    own = [r for r in readings.readings if not r.surface.startswith("bare")]
    if not own:
        raise ReadingError(f"{readings.path}: it holds bare grounds only, and no paint")
    bare: dict[tuple[str, str], Array] = {}
    for reading in readings.readings:
        if reading.surface.startswith("bare"):
            bare.setdefault((reading.sample, reading.surface[5:]), reading.reflectance)
    order = list(ids if ids is not None else dict.fromkeys(id for r in own for id in r.parts))
    first: dict[str, Reading] = {}
    for reading in own:
        one = first.setdefault(reading.sample, reading)
        if one.parts != reading.parts:
            raise ReadingError(
                f"{readings.path}: sample {reading.sample} is {one.mixture} and {reading.mixture}; "
                "a drawdown is one mixture, so give each its own sample"
            )
    parts = np.array([[r.parts.get(id, 0.0) for id in order] for r in first.values()])
    places = {sample: d for d, sample in enumerate(first)}
    ends = np.array([r.covered for r in own])
    return Films(
        ids=tuple(order),
        samples=tuple(first),
        mixtures=tuple(r.mixture for r in first.values()),
        surfaces=tuple(r.surface for r in own),
        sample=np.array([places[r.sample] for r in own]),
        shares=parts / parts.sum(axis=1, keepdims=True),
        ground=np.array([_ground(readings, bare, r) for r in own]),
        reflectance=np.array([r.reflectance for r in own]),
        covered=(ends[:, :1] <= WAVELENGTHS) & (ends[:, 1:] >= WAVELENGTHS),
    )


def _ground(readings: Readings, bare: Mapping[tuple[str, str], Array], reading: Reading) -> Array:
    """Return the bare ground of a film: its own, or the mean of the same ground of the others."""
    if reading.surface == "opaque":
        return np.zeros(len(WAVELENGTHS))
    word = reading.surface[5:]
    if (reading.sample, word) in bare:
        return bare[reading.sample, word]
    others = [ground for (_, other), ground in bare.items() if other == word]
    if not others:
        raise ReadingError(
            f"{readings.path}: sample {reading.sample} was read over {word}, but no bare {word} "
            f"ground was; add its reading as bare-{word}, or call the film opaque if it hides"
        )
    return np.asarray(np.mean(others, axis=0))
