"""Many targets at once: the colours of a list in a file, or of a whole photo by area."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from mixlab import limits
from mixlab.arrays import Array
from mixlab.colour.boxes import MERGED, gathered, merged
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import MixlabError, ReachError
from mixlab.files import csv_rows, named_rows, read_text
from mixlab.targets.counting import count_colours
from mixlab.targets.one import COLUMNS, from_columns, sampled
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.photos import GREY_CARD, photo_lab


@dataclass(frozen=True, eq=False)
class Colours:
    """Colours that a painter wants, and how much each counts.

    Attributes
    ----------
    given : where they are from, in words
    lab : CIELAB (n, 3) under `view`
    weight : (n,), sum to one
    names : of each, or () where they have none
    view : light, observer and finish
    notes : what the painter should know about how sure they are
    by_area : whether the weights are shares of an area
    """

    given: str
    lab: Array
    weight: Array
    names: tuple[str, ...]
    view: Viewing
    notes: tuple[str, ...] = ()
    by_area: bool = False

    def __len__(self) -> int:
        return len(self.lab)

    @property
    def alike(self) -> bool:
        """Whether all count the same."""
        return bool(np.ptp(self.weight) <= 1e-12)

    @classmethod
    def of(
        cls, given: str, lab: ArrayLike, view: Viewing, names: Iterable[str] = (),
        weight: ArrayLike = 1.0,
    ) -> "Colours":  # fmt: skip
        """Return colours of CIELAB (n, 3), each with its share of the weights (n,)."""
        lab = np.asarray(lab, dtype=float).reshape(-1, 3)
        weight = np.broadcast_to(np.asarray(weight, dtype=float), len(lab))
        return cls(given, lab, weight / weight.sum(), tuple(names), view)


# --- from a list --------------------------------------------------------------------------------

_COLUMNS = ("name", "weight", *(column for kind in COLUMNS for column in kind))


def from_list(path: str | PathLike[str], view: Viewing | None = None) -> Colours:
    """Return the colours of a CSV file.

    Its first row names the columns: L, a and b, or hex, or munsell, or colour, which holds any of
    them; and, if wanted, name and weight. Without such a row each row is one colour: "#8a5a3c",
    "7.5YR 4/6", or three numbers L*, a*, b*.

    Raises
    ------
    ReachError : says what is wrong and in which row
    """
    view, file = view or viewing(), Path(path)
    rows = csv_rows(file, read_text(file, ReachError), ReachError, limits.COLOURS, "colours")
    headed = bool(rows) and bool({cell.strip().lower() for cell in rows[0][1]} & {
        column.lower() for column in _COLUMNS
    })  # fmt: skip
    for line, cells in rows:
        if any(";" in cell for cell in cells) and (len(cells) == 1 or not headed):
            raise ReachError(f"{file}, row {line}: write commas between cells, not semicolons")
    wanted = [(line, {"colour": ",".join(map(str.strip, cells))}) for line, cells in rows]
    if headed:
        wanted = named_rows(file, rows, _COLUMNS, "a list of colours", ReachError)
    if not wanted:
        raise ReachError(f"{file}: it holds no colours; write one a row, as #8a5a3c or 45,15,20")
    labs, names, weights = [], [], []
    for line, row in wanted:
        try:
            if (target := from_columns(row, view)) is None:
                raise ReachError("it holds no colour: L, a and b, or hex, or munsell, or colour")
            weights.append(_weight(row.get("weight", "")))
        except MixlabError as error:
            raise ReachError(f"{file}, row {line}: {error}") from None
        labs.append(target.lab)
        names.append(row.get("name") or target.given)
    if not 0 < sum(weights) < math.inf:
        what = "are all zero" if sum(weights) == 0 else "add up to more than can be counted"
        raise ReachError(f"{file}: the weights {what}")
    return Colours.of(f"{file}", labs, view, names, weights)


def _weight(text: str) -> float:
    try:
        weight = float(text or 1.0)
    except ValueError:
        weight = math.nan
    if not 0 <= weight < math.inf:
        raise ReachError(f"the weight {text!r} is not a number from 0 on")
    return weight


# --- from a photo -------------------------------------------------------------------------------


def from_picture(
    path: str | PathLike[str] | Photo, view: Viewing | None = None,
    grey: str | None = None, grey_reflectance: float = GREY_CARD,
) -> Colours:  # fmt: skip
    """Return the colours of a picture file, each weighted by its area.

    Colours that share a box of :data:`MERGED` are taken together. Transparent pixels are left out.
    The picture's white becomes the light's white; a place `grey`, as in :func:`from_photo`, takes
    cast and exposure out.

    Raises
    ------
    PhotoError : if the file is no picture that can be read, or nothing in it is opaque
    """
    view = view or viewing()
    photo = path if isinstance(path, Photo) else read_photo(path)
    counted = count_colours(photo)
    neutral = sampled(photo, grey, 0.0).rgb if grey is not None else None
    lab = photo_lab(counted.rgb, neutral, grey_reflectance, view=view, highlights=True)
    lab, area = merged(lab, counted.area.astype(float))
    order = np.argsort(-area, kind="stable")
    given = f"photo {photo.path}, {photo.width} x {photo.height}"
    colours = Colours.of(given, lab[order], view, weight=area[order])
    return replace(colours, notes=photo.notes, by_area=True)


def in_boxes(colours: Colours, most: int) -> tuple[Colours, Array]:
    """Return the means of at most so many boxes of colours, each with the weight of all in it.

    The boxes are as small as that allows, and no smaller than :data:`MERGED`.

    Returns
    -------
    the means, the heaviest first, and how far each colour (n,) is from the mean that stands for it
    [CIEDE2000]
    """
    size = MERGED
    while len((gather := gathered(colours.lab, colours.weight, size))[1]) > most:
        size *= 1.1
    box, means = gather
    off = ciede2000(colours.lab, means[box])
    weight = np.bincount(box, colours.weight).astype(float)
    order = np.argsort(-weight, kind="stable")
    return replace(colours, lab=means[order], weight=weight[order], names=()), off
