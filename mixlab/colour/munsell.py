"""Munsell notation to and from CIE xyY, for illuminant C and the 2 degree observer.

Arrays first: a Munsell colour is (..., 3) hue, value, chroma and a CIE colour is (..., 3) x, y, Y
with Y = 100 for the perfect reflecting diffuser. Hue is the hue number of ASTM D1535 on a circle
of 100: 5R = 5, 5YR = 15, 5Y = 25, ... 5RP = 95, and 10RP is both 0 and 100. Value is 0..10. A
neutral has chroma 0, and hue 0 where a hue had to be put.

Chromaticity follows the renotation [2]_, with its extension to very dark colours [3]_, between
whose entries it is interpolated as in [4]_: linear in luminance from value to value, linear from
chroma to chroma, and along the ovoid of one value and chroma linear or radial, place by place.
Below value 0.2 the ovoids stay as they are there. Beyond the greatest chroma of the renotation each
hue goes on along its last ray from the white point in steps of the last one's length.

The renotation ends at value 9. Above, hue and chroma are those of the colour of the same CIELAB a*
and b* at value 9, so that chroma keeps in step with C*; our own choice. To shrink the ovoids to the
white point at value 10, as [4]_ does, makes a tinge of any near white count for endless chroma.

References
----------
Seen as colour-science carries them, with its extrapolation to the optimal colours; not in print.

.. [1] ASTM D1535-08e1, Standard Practice for Specifying Color by the Munsell System.
.. [2] Newhall, Nickerson, Judd, "Final report of the O.S.A. subcommittee on the spacing of the
       Munsell colors", J. Opt. Soc. Am. 33 (1943) 385-418.
.. [3] Judd, Wyszecki, "Extension of the Munsell renotation system to very dark colors",
       J. Opt. Soc. Am. 46 (1956) 281-284.
.. [4] Centore, "An open-source inversion algorithm for the Munsell renotation", Color Res. Appl.
       37 (2012) 455-464.
"""


import csv
import re
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.errors import MunsellError
from mixlab.files import bundled

Plane = NDArray[np.complex128]

FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
"""The ten hue families, each 10 steps of the hue circle."""

WHITE = (0.31006, 0.31616)
"""Chromaticity x, y of illuminant C for the 2 degree observer, where chroma is 0."""

# ASTM D1535-08e1, Y from value
_QUINTIC = np.array([0.00081939, -0.020484, 0.23352, -0.22533, 1.1914, 0.0])
_SLOPE = np.polyder(_QUINTIC)
_VALUES = np.linspace(0.0, 10.0, 1001)

_LEVELS = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1, 2, 3, 4, 5, 6, 7, 8, 9])
_HUES, _RINGS = 40, 26  # hues 2.5 apart, chromas 0, 2, ... 50
_BATCH, _STEPS, _TOLERANCE = 2000, 60, 1e-10  # of the inversion; the last is relative


def luminance(value: ArrayLike) -> Array:
    """Return luminance Y, 0..100, of Munsell value, 0..10; any shape. ASTM D1535-08e1."""
    return np.polyval(_QUINTIC, np.asarray(value, dtype=float))


def value(luminance: ArrayLike) -> Array:
    """Return Munsell value, 0..10, of luminance Y, 0..100; any shape. The inverse of luminance().

    Luminance outside 0..100 counts as 0 or 100.
    """
    target = np.clip(np.asarray(luminance, dtype=float), 0.0, 100.0)
    found = np.interp(target, np.polyval(_QUINTIC, _VALUES), _VALUES)
    for _ in range(2):
        found = found - (np.polyval(_QUINTIC, found) - target) / np.polyval(_SLOPE, found)
    return np.asarray(np.clip(found, 0.0, 10.0))


_TOP = float(luminance(9.0))  # where the renotation ends

# --- the renotation ------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Renotation:
    """Chromaticity about the white point at each level, hue (the first one again last) and ring.

    The entries are x + iy, and radius and angle [rad]; `radial` is the rule from a hue to the
    next; `greatest` (level, hue) is the greatest chroma that has an entry.
    """

    offset: Plane
    radius: Array
    angle: Array
    radial: NDArray[np.bool_]
    greatest: Array


@cache
def renotation() -> Renotation:
    """Return the renotation as it is bundled, its gaps filled and its rays drawn out."""
    shape = (len(_LEVELS), _HUES, _RINGS)
    offset = np.full(shape, np.nan, dtype=complex)
    radial = np.zeros(shape, dtype=bool)
    levels = {f"{level:g}": k for k, level in enumerate(_LEVELS)}
    hues = {f"{n:g}{f}": round(4 * k + n / 2.5) % _HUES
            for k, f in enumerate(FAMILIES) for n in (2.5, 5.0, 7.5, 10.0)}
    with open(bundled("munsell.csv"), newline="", encoding="utf-8") as stream:
        rows = csv.reader(stream)
        next(rows)
        for level, hue, chroma, x, y, rule in rows:
            place = levels[level], hues[hue], int(chroma) // 2
            offset[place] = complex(float(x) - WHITE[0], float(y) - WHITE[1])
            radial[place] = rule == "radial"
    offset[..., 0] = 0.0
    # 10Y 0.2/2 alone is missing from the grid
    gap = levels["0.2"], hues["10Y"], 1
    offset[gap] = (offset[gap[0], gap[1] - 1, 1] + offset[gap[0], gap[1] + 1, 1]) / 2
    greatest = 2.0 * np.isfinite(offset[..., 1:].real).sum(axis=-1)

    radius, angle = np.abs(offset), np.angle(offset)
    for ring in range(2, _RINGS):
        beyond = np.isnan(radius[..., ring])
        going_on = 2 * radius[..., ring - 1] - radius[..., ring - 2]
        radius[..., ring] = np.where(beyond, going_on, radius[..., ring])
        angle[..., ring] = np.where(beyond, angle[..., ring - 1], angle[..., ring])
        radial[..., ring] = np.where(beyond, radial[..., ring - 1], radial[..., ring])
    angle[..., 0] = angle[..., 1]
    for table in radius, angle, radial, greatest:
        table[0] = table[1]
    radius, angle, greatest = (np.concatenate([t, t[:, :1]], 1) for t in (radius, angle, greatest))
    angle = np.unwrap(angle, axis=1)
    return Renotation(radius * np.exp(1j * angle), radius, angle, radial, greatest)


def _between_levels(value: Array) -> tuple[NDArray[np.intp], Array]:
    """Return the level below, and how far luminance is from it to the level above, 0..1."""
    value = np.clip(value, 0.0, _LEVELS[-1])
    below = np.clip(np.searchsorted(_LEVELS, value, side="right") - 1, 0, len(_LEVELS) - 2)
    edges = luminance(_LEVELS)
    return below, (luminance(value) - edges[below]) / (edges[below + 1] - edges[below])


def _at_luminance(offset: Plane, now: Array, then: Array) -> Plane:
    """Return the offsets from the white point of colours (...) brought to another luminance Y.

    CIELAB a* and b* stay: the cube roots of X, Y and Z by the white's change by the same amount.
    """
    offset = np.array(offset)
    rows = (now != then) & (offset != 0)
    now, then, white = now[rows] / 100, then[rows] / 100, np.array([*WHITE, 1 - sum(WHITE)])
    x, y = WHITE[0] + offset[rows].real, WHITE[1] + offset[rows].imag
    xyz = np.stack([x, y, 1 - x - y], axis=-1)
    roots = np.cbrt(xyz / white * (now * WHITE[1] / np.where(np.abs(y) > 1e-9, y, 1e-9))[:, None])
    xyz = (roots + (np.cbrt(then) - np.cbrt(now))[:, None]) ** 3 * white
    offset[rows] = (xyz[:, :2] / xyz.sum(axis=1, keepdims=True) - WHITE) @ [1, 1j]
    return offset


def _on_ovoid(level: NDArray[np.intp], hue: Array, ring: NDArray[np.intp]) -> Plane:
    """Return the offset from the white point on an ovoid; hue is 0..40."""
    table = renotation()
    start = np.minimum(hue.astype(int), _HUES - 1)
    share = hue - start
    here, there = (level, start, ring), (level, start + 1, ring)
    straight = (1 - share) * table.offset[here] + share * table.offset[there]
    radius = (1 - share) * table.radius[here] + share * table.radius[there]
    angle = (1 - share) * table.angle[here] + share * table.angle[there]
    return np.asarray(np.where(table.radial[here], radius * np.exp(1j * angle), straight))


def _offset(colour: Plane, below: NDArray[np.intp], share: Array) -> Plane:
    """Return the offset from the white point, x + iy, of chroma * exp(i hue) between two levels."""
    hue = np.angle(colour) * (_HUES / (2 * np.pi)) % _HUES
    rings = np.abs(colour) / 2
    below, inner = np.broadcast_arrays(below, np.minimum(rings, _RINGS - 2).astype(int))
    out = rings - inner
    near, far = _on_ovoid(np.stack([below, below + 1]), hue, np.stack([inner, inner + 1])[:, None])
    low, high = (1 - out) * near + out * far
    return np.asarray((1 - share) * low + share * high)


def _plane(hue: Array, chroma: Array) -> Plane:
    return np.asarray(chroma * np.exp(2j * np.pi / 100 * hue))


def greatest_chroma(hue: ArrayLike, value: ArrayLike) -> Array:
    """Return the greatest chroma of the renotation at hue (0..100) and value (0..10); any shape.

    Between the places of the grid this is the least of the greatest chromas around; above value 9
    it is that of value 9, and at 10 and 0 there are neutrals only.
    """
    table = renotation().greatest
    hue = np.asarray(hue, dtype=float) % 100 * (_HUES / 100)
    level = np.asarray(value, dtype=float)
    below, share = _between_levels(level)
    rows = np.stack([below + (share == 1), below + (share > 0)])
    turns = np.stack([np.floor(hue), np.ceil(hue)]).astype(int)[:, None]
    return np.where((level > 0) & (level < 10), table[rows, turns].min(axis=(0, 1)), 0.0)


def munsell_to_xyY(hvc: ArrayLike) -> Array:
    """Return x, y, Y (..., 3), Y 0..100, of hue (0..100), value (0..10), chroma (..., 3).

    Value outside 0..10 and negative chroma count as the nearest end of their range; a colour with
    a nan gives nan.
    """
    hvc = np.asarray(hvc, dtype=float)
    known = np.isfinite(hvc).all(axis=-1, keepdims=True)
    hue, level, chroma = np.moveaxis(np.where(known, hvc, 0.0), -1, 0)
    level = np.clip(level, 0.0, 10.0)
    y = luminance(level)
    offset = _offset(_plane(hue, np.maximum(chroma, 0.0)), *_between_levels(level))
    offset = _at_luminance(offset, np.minimum(y, _TOP), y)
    xyY = np.stack([WHITE[0] + offset.real, WHITE[1] + offset.imag, y], axis=-1)
    return np.where(known, xyY, np.nan)


def xyY_to_munsell(xyY: ArrayLike) -> Array:
    """Return hue (0..100), value (0..10), chroma (..., 3) of x, y, Y (..., 3), Y 0..100.

    The inverse of :func:`munsell_to_xyY` for every colour inside the MacAdam limits and well
    beyond. Black (Y = 0) is N 0 whatever x and y are, even nan; any other colour with a nan gives
    nan.
    """
    xyY = np.asarray(xyY, dtype=float)
    flat = xyY.reshape(-1, 3)
    hvc = np.zeros_like(flat)
    hvc[:, 1] = value(flat[:, 2])
    hvc[~np.isfinite(flat).all(axis=1) & (hvc[:, 1] != 0)] = np.nan
    target = (flat[:, 0] - WHITE[0]) + 1j * (flat[:, 1] - WHITE[1])
    solve = np.flatnonzero((hvc[:, 1] > 0) & (target != 0))
    for part in np.array_split(solve, range(_BATCH, len(solve), _BATCH)):
        y = np.minimum(flat[part, 2], 100.0)
        aim = _at_luminance(target[part], y, np.minimum(y, _TOP))
        colour = _invert(aim, *_between_levels(hvc[part, 1]))
        hvc[part, 0] = np.angle(colour) * (50 / np.pi) % 100
        hvc[part, 2] = np.abs(colour)
    return hvc.reshape(xyY.shape)


@cache
def _starts() -> tuple[Plane, Plane]:
    """Return places all over the hue and chroma plane, (n,), and their offsets at each level."""
    # inside the cells of the grid, as a derivative on an edge may point into the wrong cell
    hue, chroma = np.meshgrid(np.arange(1.25, 100, 5), [1.0, 3, 5, 9, 13, 17, 23, 31, 41])
    places = _plane(hue, chroma).ravel()
    return places, _offset(places[:, None], *_between_levels(_LEVELS))


def _invert(target: Plane, below: NDArray[np.intp], share: Array) -> Plane:
    """Return chroma * exp(i hue) whose offset is `target` (n,), by damped Newton steps."""
    places, offsets = _starts()
    near = (1 - share) * offsets[:, below] + share * offsets[:, below + 1]
    colour: Plane = places[np.abs(near - target).argmin(axis=0)]
    best = np.full(target.shape, np.inf)
    step = np.zeros_like(colour)
    for _ in range(_STEPS):
        tried = colour + step
        nudge = 1e-7 * np.abs(tried) + 1e-200
        here, right, up = _offset(tried + np.array([0, 1, 1j])[:, None] * nudge, below, share)
        miss = target - here
        along, across = (right - here) / nudge, (up - here) / nudge
        area = (along.conj() * across).imag
        cramer = (miss.conj() * across).imag + 1j * (along.conj() * miss).imag
        newton = np.divide(cramer, area, out=np.zeros_like(miss), where=area != 0)
        closer = np.abs(miss) < best
        colour = np.where(closer, tried, colour)
        best = np.where(closer, np.abs(miss), best)
        step = np.where(closer, newton, step / 2)
        if np.all(best <= _TOLERANCE * np.abs(target)):
            break
    return colour


# --- notation ------------------------------------------------------------------------------------

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_NOTATION = re.compile(
    rf"({_NUMBER})?\s*([a-z]+)\s*({_NUMBER})\s*(?:/\s*({_NUMBER})?)?\s*(.*)", re.IGNORECASE
)
_LONGEST = 80  # letters; the pattern's time grows with their cube
_EXAMPLE = "write it as 7.5YR 4/6, or N 5 for a neutral"


def parse_munsell(text: str) -> Array:
    """Return hue (0..100), value (0..10), chroma (3,) of a notation such as "7.5YR 4/6" or "N 5".

    Case and spaces do not matter, and numbers may have decimals.

    Raises
    ------
    MunsellError : if the text is not a notation, or its chroma is beyond the renotation
    """
    if not text.strip():
        raise MunsellError(f"the Munsell notation is empty; {_EXAMPLE}")
    match = _NOTATION.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    if match is None:
        raise MunsellError(f"cannot read {text!r} as Munsell notation; {_EXAMPLE}")
    step, letters, level, chroma, rest = match.groups()
    family, wrong = letters.upper(), ""
    if family not in (*FAMILIES, "N"):
        wrong = f"unknown hue {letters!r} (known: {', '.join(FAMILIES)}, N)"
    elif rest:
        wrong = f"{rest!r} too much"
    elif not 0 <= float(level) <= 10:
        wrong = f"value {level} outside 0 to 10"
    elif family == "N":
        wrong = "a neutral with hue or chroma" if step or float(chroma or 0) else ""
    elif step is None or not 0 <= float(step) <= 10:
        wrong = f"hue number {step} outside 0 to 10" if step else f"no hue number before {family}"
    elif chroma is None or float(chroma) < 0:
        wrong = f"negative chroma {chroma}" if chroma else "no chroma"
    if wrong:
        raise MunsellError(f"{wrong} in {text!r}; {_EXAMPLE}")
    if family == "N":
        return np.array([0.0, float(level), 0.0])

    hvc = np.array([(10 * FAMILIES.index(family) + float(step)) % 100, float(level), float(chroma)])
    greatest = float(greatest_chroma(hvc[0], hvc[1]))
    if hvc[2] > greatest:
        most = np.floor(10 * greatest) / 10
        right = f"{step}{family} {level}/{most:g} or less" if most else f"N {level}"
        raise MunsellError(f"chroma {chroma} in {text!r} is beyond the renotation; write {right}")
    return hvc


def hue_family(hue: ArrayLike) -> NDArray[np.intp]:
    """Return which of FAMILIES (...,) hue numbers (...,) are of; 10 counts as of the one before."""
    return np.asarray((np.ceil(np.asarray(hue) / 10).astype(np.intp) - 1) % 10)


def write_munsell(hvc: ArrayLike, decimals: int = 1) -> str:
    """Return the notation, such as "4.4YR 5.1/4.2", of one hue, value, chroma (3,).

    A chroma that rounds to 0 gives a neutral, "N 5.0/". A hue between two families counts as 10 of
    the one before: "10.0R", never "0.0YR".
    """
    hue, level, chroma = (round(float(n), decimals) + 0.0 for n in np.asarray(hvc))
    if chroma <= 0:
        return f"N {level:.{decimals}f}/"
    hue = hue % 100 or 100.0
    family = int(hue_family(hue))
    return (f"{hue - 10 * family:.{decimals}f}{FAMILIES[family]} "
            f"{level:.{decimals}f}/{chroma:.{decimals}f}")
