"""A target from what the painter has: Lab, LCh, hex, Munsell, a spectrum, a place in a photo."""


import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np

from mixlab import limits
from mixlab.arrays import Array
from mixlab.colour.munsell import parse_munsell
from mixlab.colour.spaces import (
    WAVELENGTHS,
    Viewing,
    grid_fault,
    hex_to_lab,
    lch_to_lab,
    munsell_to_lab,
    reflectance_to_lab,
)
from mixlab.errors import TargetError
from mixlab.files import csv_rows, read_text
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.photos import GREY_CARD, Sample, box, photo_lab, place

CHROMA_LIMIT = 200.0
"""Greatest C* that is taken for a surface's."""

_BRIGHTEST = 1.05  # reflectance; a white reads a little above 1 where the reference is off


@dataclass(frozen=True, eq=False)
class Target:
    """A colour to be mixed.

    Attributes
    ----------
    lab : CIELAB (3,) under `view`
    view : light, observer and finish
    given : what it was made from, in words
    notes : what the painter should know about how sure it is
    """

    lab: Array
    view: Viewing
    given: str
    notes: tuple[str, ...] = ()


def numbers(text: str, names: Sequence[str], example: str) -> list[float]:
    """Return the numbers of "a,b,c"; TargetError if they are not as many numbers as names."""
    cells = [cell.strip() for cell in text.split(",")]
    if len(cells) != len(names):
        wanted = ", ".join(names)
        raise TargetError(f"{text!r}: {wanted} are wanted, joined by commas, as {example}")
    numbers = []
    for name, cell in zip(names, cells, strict=True):
        try:
            number = float(cell)
        except ValueError:
            number = math.nan
        if not math.isfinite(number):
            raise TargetError(f"{text!r}: {name} {cell!r} is not a number; write it as {example}")
        numbers.append(number)
    return numbers


def _checked(lab: Array, text: str) -> Array:
    if not 0 <= lab[0] <= 100:
        raise TargetError(f"{text!r}: L* is {lab[0]:g}; it lies between 0 (black) and 100 (white)")
    if math.hypot(lab[1], lab[2]) > CHROMA_LIMIT:
        raise TargetError(f"{text!r}: no surface has a chroma C* above {CHROMA_LIMIT:g}")
    return lab


def from_lab(text: str, view: Viewing) -> Target:
    """Return the target of "L,a,b", CIELAB under `view`; TargetError if it cannot be read."""
    lab = np.array(numbers(text, ("L*", "a*", "b*"), "45,15,20"))
    return Target(_checked(lab, text), view, f"CIELAB {text}")


def from_lch(text: str, view: Viewing) -> Target:
    """Return the target of "L,C,h", CIELCh under `view`, h [degrees]; TargetError if unreadable."""
    lch = numbers(text, ("L*", "C*", "h"), "45,25,53")
    if lch[1] < 0:
        raise TargetError(f"{text!r}: C* is {lch[1]:g}; chroma is not below zero")
    return Target(_checked(lch_to_lab(lch), text), view, f"CIELCh {text}")


def from_hex(text: str, view: Viewing) -> Target:
    """Return the target of an sRGB colour "#rrggbb" or "#rgb"; TargetError if it is not one."""
    try:
        lab = hex_to_lab(text, view)
    except ValueError:
        raise TargetError(
            f"{text!r}: an sRGB colour is six hexadecimal digits, as #8a5a3c, or # and three"
        ) from None
    return Target(lab, view, f"sRGB {text}")


def from_munsell(text: str, view: Viewing) -> Target:
    """Return the target of a Munsell notation; MunsellError if it is not one."""
    return Target(munsell_to_lab(parse_munsell(text), view), view, f"Munsell {text}")


def from_text(text: str, view: Viewing) -> Target:
    """Return the target of "L,a,b", of "#rrggbb" or of a Munsell notation, whichever it is.

    Raises
    ------
    TargetError, MunsellError : if it is none of them, or does not make sense
    """
    plain = text.strip()
    if "," in plain:
        return from_lab(plain, view)
    if "/" in plain or re.match(r"[Nn]\s*\d", plain):
        return from_munsell(plain, view)
    try:
        return from_hex(plain, view)
    except TargetError:
        raise TargetError(
            f'{text!r}: a colour is L*,a*,b* as 45,15,20, or sRGB as #8a5a3c, or Munsell as '
            '"7.5YR 4/6"'
        ) from None


COLUMNS = (("L", "a", "b"), ("hex",), ("munsell",), ("colour",))
"""Columns of a list in which a colour may stand; the last holds any that from_text() reads."""


def from_columns(row: Mapping[str, str], view: Viewing) -> Target | None:
    """Return the target that stands in :data:`COLUMNS` of a row, which also says its text; or None.

    Raises
    ------
    TargetError, MunsellError : if it is none, or there are two
    """
    kinds = [kind for kind in COLUMNS if any(row.get(column) for column in kind)]
    if len(kinds) > 1:
        raise TargetError("a row has one colour: L, a and b, or hex, or munsell, or colour")
    if not kinds:
        return None
    text = ",".join(row.get(column, "") for column in kinds[0])
    return replace(from_text(text, view), given=text)


# --- a spectrum ---------------------------------------------------------------------------------


def from_spectrum(path: str | PathLike[str], view: Viewing) -> Target:
    """Return the target of a reflectance file.

    A CSV file with a wavelength [nm] and a reflectance on each line, after an optional line of
    headings; reflectance is 0..1, or percent if any is above 2 or the headings say "%".
    Wavelengths rise in steps of at most 10 nm over at least 400-700 nm.

    Raises
    ------
    TargetError : says what is wrong and in which row
    """
    file = Path(path)
    rows = csv_rows(file, read_text(file, TargetError), TargetError, limits.COLUMNS, "wavelengths")
    headings = ""
    if rows and not rows[0][1][0].strip()[:1].isdigit():
        headings = ",".join(rows.pop(0)[1])
    readings = []
    for line, cells in rows:
        what = ",".join(cell.strip() for cell in cells)[:40]
        try:
            wavelength, reflectance = map(float, cells)
        except ValueError:
            raise TargetError(
                f"{file}, row {line}: {what!r} is not a wavelength and a reflectance, "
                "as 400,0.05"
            ) from None
        if not (0 <= wavelength < 10_000 and 0 <= reflectance < math.inf):
            raise TargetError(f"{file}, row {line}: the numbers must be finite and not below zero")
        readings.append((wavelength, reflectance))
    if not readings:
        raise TargetError(f"{file}: it holds no wavelengths and reflectances")
    grid, values = np.array(readings).T
    if fault := grid_fault(grid):
        raise TargetError(f"{file}, row {rows[fault[0]][0]}: {fault[1]}")
    percent = bool(values.max() > 2) or "%" in headings
    values = values / 100 if percent else values
    if values.max() > _BRIGHTEST:
        raise TargetError(
            f"{file}: a reflectance of {values.max():.4g} is no paint's; write 0..1, "
            'or percent under a heading with "%"'
        )
    notes = ("read as percent",) if percent else ()
    lab = reflectance_to_lab(np.interp(WAVELENGTHS, grid, values), view)
    return Target(lab, view, f"spectrum {file}", notes)


# --- a place in a photo -------------------------------------------------------------------------


def from_photo(
    path: str | PathLike[str] | Photo,
    at: str,
    view: Viewing,
    radius: float = 0.0,
    grey: str | None = None,
    grey_reflectance: float = GREY_CARD,
) -> Target:
    """Return the target of a place in a photo.

    Parameters
    ----------
    path : picture file, or the picture where it has been read
    at : "x,y" in pixels from the top left corner, or a box "left,top,right,bottom"
    view : light and observer; the picture's white becomes the light's white
    radius : of the disc around x, y that is averaged [pixels]
    grey : place "x,y" (or a box) known to be neutral, to take cast and exposure out
    grey_reflectance : of that place, 0..1; 0.18 is a grey card, white paper is about 0.85

    Raises
    ------
    PhotoError, TargetError : say what is wrong with the file or the place
    """
    if radius and all(where is None or where.count(",") == 3 for where in (at, grey)):
        raise TargetError(f"a radius of {radius:g} goes with a place x,y; a box has its own size")
    photo = path if isinstance(path, Photo) else read_photo(path)
    sample = sampled(photo, at, radius)
    neutral = sampled(photo, grey, radius) if grey is not None else None
    lab = photo_lab(sample.rgb, neutral.rgb if neutral else None, grey_reflectance, view=view)
    notes = list(photo.notes)
    if sample.count > 1:
        notes.append(f"{sample.count} pixels averaged, spread {sample.spread:.1f} CIEDE2000")
    if sample.clipped > 0.01:
        notes.append(f"{sample.clipped:.0%} of the pixels are clipped: the colour is unsure")
    return Target(lab, view, f"photo {photo.path} at {at}", tuple(notes))


def sampled(photo: Photo, where: str, radius: float) -> Sample:
    """Return a place "x,y", within a radius [pixels], or a box "left,top,right,bottom" of a photo.

    Raises
    ------
    TargetError, PhotoError : if it is written otherwise, or lies outside
    """
    if where.count(",") == 3:
        edges = numbers(where, ("left", "top", "right", "bottom"), "100,80,160,120")
        return box(photo, *edges)
    x, y = numbers(where, ("x", "y"), "369,417")
    return place(photo, x, y, radius)
