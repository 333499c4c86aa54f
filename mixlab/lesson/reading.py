"""A photographed sheet: its light, the colours of its squares, the boxes that were ticked.

Colours are read beside the paper: bare paper all over the sheet shows how the light falls and what
cast it has, and is taken for neutral, of reflectance :data:`PAPER`. The greys of the strip come
from any printer and are not known: they show haze, and count as neutrals only where they were
measured. A place is read as one of a swatch card is (:mod:`mixlab.measure.swatches`).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from os import PathLike
from pathlib import Path

import numpy as np

from mixlab.arrays import Array, Pixels
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, encode_srgb, relit, rgb_to_xyz, viewing
from mixlab.errors import CardError, LessonError
from mixlab.lesson import layout
from mixlab.lesson.layout import Box
from mixlab.lesson.marks import SCALE, find_sheet
from mixlab.lesson.sheet import Sheet, sheet_of
from mixlab.measure.card_light import Light, Reference
from mixlab.measure.swatches import NotOne, read_place
from mixlab.paint.tables import PigmentTable
from mixlab.targets.photo_files import Photo, read_photo

# our own choices, no source
PAPER = 0.85
"""Luminous reflectance of white paper, unless told."""

INSIDE = 0.62  # of a square's side that is read: its edges are painted as they come
_OFF = 0.07  # how far a place of paper may lie from its neighbours [logarithm]
_GREY = 0.05  # how far its channels may part where it is a shadow, and not paint [logarithm]
_ENOUGH = 0.6  # of the places of paper that must be bare
_NEAR = 30.0  # from a shadow on the paper to a square that it may reach [mm]
_HAZE, _VEIL = 0.12, 0.3  # black print beside paper: told above the one, refused above the other
_BARE, _DIFFERS = 2.0, 5.0  # from paper: a square that is blank; one that should not be [CIEDE2000]
_AGREE = 4.0  # quarters of a square [CIEDE2000]
_INK, _SECOND = 0.08, 0.5  # of a ticked box; of the next beside it, above which two are ticked


@dataclass(frozen=True, eq=False)
class Square:
    """What was read of a square.

    Attributes
    ----------
    at : on the sheet laid flat [pixels]
    rgb, lab : (3,), linear sRGB, and CIELAB under D65, 2 degree; None where it cannot be read
    spread : 95th percentile of CIEDE2000 between a pixel and the mean
    note : why it cannot be read, or not be relied on; ""
    """

    at: Box
    rgb: Array | None
    lab: Array | None
    spread: float
    note: str


@dataclass(frozen=True, eq=False)
class Painted:
    """A painted sheet as it was read.

    Attributes
    ----------
    path : the photo
    sheet : which it is
    flat : the sheet laid flat
    squares : one for each step
    ticked : the box of each guess; None where none is, or several are
    white : (3,), linear sRGB of a perfect white in the middle of the sheet
    light : greatest light over the least, by the paper
    notes : what was done, and what is doubtful
    """

    path: Path
    sheet: Sheet
    flat: Photo
    squares: tuple[Square, ...]
    ticked: tuple[int | None, ...]
    white: Array
    light: float
    notes: tuple[str, ...]

    def lab(self, view: Viewing) -> list[Array | None]:
        """Return CIELAB (3,) of each square under a light; None where it was not read."""
        return [None if s.lab is None else relit(s.lab, viewing(), view) for s in self.squares]

    @property
    def name_line(self) -> Pixels:
        """The line with the student's name, 8-bit sRGB (h, w, 3), its paper nearly white."""
        left, top, right, bottom = (round(v) for v in layout.scaled(layout.NAME, SCALE))
        seen = self.flat.linear(self.flat.pixels[top:bottom, left:right])
        light = np.percentile(seen.reshape(-1, 3), 80, axis=0)  # ink takes little of it
        return np.asarray(np.rint(250 * encode_srgb(np.clip(seen / light, 0, 1))), dtype=np.uint8)


def read_sheet(
    path: str | PathLike[str], table: PigmentTable, view: Viewing, *, paper: float = PAPER,
    neutrals: Sequence[float] = (), code: str = "",
) -> Painted:  # fmt: skip
    """Return what a photograph of a painted sheet shows.

    Parameters
    ----------
    table : where the sheet's paints are found
    view : light, observer and finish of the prediction
    paper : luminous reflectance of the paper, 0..1
    neutrals : of the five printed greys, black first, where they were measured
    code : of the sheet; read from the picture unless given

    Raises
    ------
    PhotoError, LessonError, CardError : if it cannot be read, or its light cannot be trusted
    """
    if not 0.5 <= paper <= 1:
        raise LessonError(f"--paper {paper:g}: white paper reflects 0.7 to 0.95")
    wrong = len(neutrals) != len(layout.STRIP) or not all(0.01 < n <= 1 for n in neutrals)
    if neutrals and wrong:
        raise LessonError(
            f"the strip has {len(layout.STRIP)} printed greys, black first: give as many "
            "reflectances from 0.02 to 1, as 0.04,0.09,0.2,0.37,0.6"
        )
    photo = read_photo(path)
    found = find_sheet(photo)
    sheet = sheet_of(code or found.code(), table, view)
    flat = found.flat()
    bare, shadows = _bare_paper(photo.path, flat, sheet, paper)
    strip = [_place(photo.path, "printed grey", flat, layout.inner(box, 0.6), None)[0]
             for box in layout.STRIP]  # fmt: skip
    known = [
        Reference(_pixels(box), r, rgb, f"printed grey {i + 1}")
        for i, (box, r, rgb) in enumerate(zip(layout.STRIP, neutrals, strip, strict=False))
    ]
    light = Light.of(photo.path, [*bare, *known], (flat.width, flat.height))
    squares = tuple(_squares(photo.path, flat, sheet, light, paper, shadows))
    unread = [square.note for square in squares if square.lab is None]
    if 2 * len(unread) > len(squares):
        raise LessonError(
            f"{photo.path}: {len(unread)} of {len(squares)} squares cannot be read: {unread[0]}"
        )
    ticked, doubts = _ticked(flat, sheet, light, paper)
    haze = _haze(photo.path, strip, light, paper)
    notes = (*photo.notes, *light.notes, *haze, *doubts)
    return Painted(photo.path, sheet, flat, squares, ticked, light.white, light.ratio, notes)


def _pixels(box: Box) -> Box:
    left, top, right, bottom = (float(round(v)) for v in layout.scaled(box, SCALE))
    return left, top, right, bottom


def _place(
    file: Path, what: str, flat: Photo, box: Box, light: Light | None
) -> tuple[Array, float]:
    return read_place(f"{file}: {what}", flat, _pixels(box), np.inf, light)


# --- the light ----------------------------------------------------------------------------------


def _bare_paper(
    file: Path, flat: Photo, sheet: Sheet, paper: float
) -> tuple[list[Reference], list[Box]]:
    """Return places of bare paper, and those that a shadow seems to lie on."""
    from scipy.optimize import least_squares

    boxes, read = layout.paper(sheet.steps), []
    for box in list(boxes):
        try:
            read.append(_place(file, "the bare paper", flat, box, None)[0])
        except NotOne:
            boxes.remove(box)
    count = len(layout.paper(sheet.steps))
    if len(boxes) >= 6:
        rgb = np.log(np.maximum(read, 1e-4))
        x, y = np.array([layout.scaled(b, 1 / layout.HIGH)[:2] for b in boxes]).T
        smooth = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=1)

        def fall(c: Array, seen: Array) -> Array:
            return np.asarray(smooth @ c - seen)

        off = -np.stack([
            least_squares(fall, np.zeros(6), loss="cauchy", f_scale=0.02, max_nfev=100, args=(one,))
            .fun for one in rgb.T
        ], axis=1)  # fmt: skip
        bare = np.abs(off).max(axis=1) < _OFF
    else:
        bare = np.zeros(len(boxes), dtype=bool)
    if bare.sum() < _ENOUGH * count:
        raise LessonError(
            f"{file}: only {bare.sum()} of {count} places between the squares are bare paper in "
            "even light; is a shadow or shine on the sheet, or paint all over it?"
        )
    references = [
        Reference(_pixels(box), paper, rgb, f"the paper at {box[0]:.0f}, {box[1]:.0f} mm")
        for box, rgb, one in zip(boxes, read, bare, strict=True) if one
    ]  # fmt: skip
    dark = ~bare & (off.max(axis=1) < 0) & (np.ptp(off, axis=1) < _GREY)
    return references, [box for box, one in zip(boxes, dark, strict=True) if one]


def _haze(file: Path, strip: Sequence[Array], light: Light, paper: float) -> Iterator[str]:
    """Tell of a veil of light over the picture, by the black print."""
    black, white = (float(rgb_to_xyz(one)[1]) for one in (strip[0], paper * light.white))
    share = black / white
    if share > _VEIL:
        raise LessonError(
            f"{file}: the black print reads {share:.0%} of the paper: shine or haze lies over it; "
            "turn the sheet from the window"
        )
    if share > _HAZE:
        yield (
            f"the black print reads {share:.0%} of the paper, and usually about 5%: haze, or "
            "little ink; darks may read too light"
        )


# --- squares ------------------------------------------------------------------------------------


def _squares(
    file: Path, flat: Photo, sheet: Sheet, light: Light, paper: float, shadows: Sequence[Box]
) -> Iterator[Square]:
    white = light.lab(paper * light.white)
    for i, predicted in enumerate(sheet.lab):
        box = layout.inner(layout.square(i), INSIDE)
        rgb, spread, note = _square(file, i, flat, box, light)
        lab = None if rgb is None else light.lab(rgb)
        if lab is not None and ciede2000(lab, white) < _BARE < _DIFFERS < ciede2000(
            relit(predicted, sheet.start.view, viewing()), white
        ):
            rgb, lab, note = None, None, "it is blank"
        middle = np.add(box[:2], box[2:]) / 2
        near = [s for s in shadows if np.hypot(*(np.add(s[:2], s[2:]) / 2 - middle)) < _NEAR]
        if lab is not None and len(near) > 1:
            note = "; ".join(filter(None, [note, "a shadow lies on the paper beside it"]))
        yield Square(_pixels(box), rgb, lab, spread, note)


def _square(
    file: Path, i: int, flat: Photo, box: Box, light: Light
) -> tuple[Array | None, float, str]:
    """Return linear sRGB, spread, and a note of a square; where it is uneven, of its quarters."""
    what = f"square {i + 1}"
    try:
        return *_place(file, what, flat, box, light), ""
    except CardError as error:
        reason = str(error).removeprefix(f"{file}: ")
        for part in (what, "at"):
            reason = reason.removeprefix(part).lstrip(": ")
    read = []
    for quarter in layout.quarters(box):
        try:
            read.append(_place(file, what, flat, quarter, light))
        except CardError:
            continue
    if len(read) > 1:
        labs = light.lab(np.array([rgb for rgb, _ in read]))
        apart = ciede2000(labs[:, None], labs)
        best = int(np.median(apart, axis=1).argmin())
        alike = apart[best] < _AGREE
        if alike.sum() > 1:
            rgb = np.mean([one for (one, _), a in zip(read, alike, strict=True) if a], axis=0)
            return rgb, max(s for _, s in read), "glare or an edge lies on it; read beside that"
    return None, np.nan, reason


# --- boxes that were ticked -----------------------------------------------------------------------


def _ticked(
    flat: Photo, sheet: Sheet, light: Light, paper: float
) -> tuple[tuple[int | None, ...], list[str]]:
    ticked: list[int | None] = []
    doubts = []
    white = float(rgb_to_xyz(paper * light.white)[1])
    for row, guess in enumerate(sheet.guesses):
        ink = []
        for box in layout.ticks(row, len(guess.choices)):
            left, top, right, bottom = (int(v) for v in _pixels(layout.inner(box, 0.7)))
            rgb = flat.linear(flat.pixels[top:bottom, left:right]).reshape(-1, 3).mean(axis=0)
            even = light.even(rgb, np.array([left + right, top + bottom]) / 2)
            ink.append(1 - float(rgb_to_xyz(even)[1]) / white)
        order = np.argsort(ink)[::-1]
        most, second = ink[order[0]], ink[order[1]]
        if most < _INK:
            ticked.append(None)
        elif second > max(_INK, _SECOND * most):
            ticked.append(None)
            doubts.append(f"guess {row + 1}: two boxes are ticked")
        else:
            ticked.append(int(order[0]))
    return tuple(ticked), doubts
