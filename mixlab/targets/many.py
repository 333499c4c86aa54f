"""Many targets at once: the colours of a list in a file, or of a whole photo by area."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.boxes import MERGED, gathered, merged
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import Viewing, viewing
from mixlab.errors import MixlabError, ReachError, suggestion
from mixlab.files import csv_rows, read_text
from mixlab.targets.counting import count_colours
from mixlab.targets.one import from_text, sampled
from mixlab.targets.photo_files import Photo, read_photo
from mixlab.targets.photos import GREY_CARD, photo_lab

MOST_COLOURS = 200_000
"""Greatest number of colours in a list."""


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

_KINDS = (("L", "a", "b"), ("hex",), ("munsell",))
_COLUMNS = ("name", "weight", "L", "a", "b", "hex", "munsell")


def from_list(path: str | PathLike[str], view: Viewing | None = None) -> Colours:
    """Return the colours of a CSV file.

    Its first row names the columns: L, a and b, or hex, or munsell; and, if wanted, name and
    weight. Without such a row each row is one colour: "#8a5a3c", "7.5YR 4/6", or three numbers
    L*, a*, b*.

    Raises
    ------
    ReachError : says what is wrong and in which row
    """
    view, file = view or viewing(), Path(path)
    rows = [
        (line, [cell.strip() for cell in cells])
        for line, cells in csv_rows(file, read_text(file, ReachError), ReachError)
    ]
    known = {name.lower(): name for name in _COLUMNS}
    header = [known.get(cell.lower(), "") for cell in rows[0][1]] if rows else []
    headed = any(header)
    for line, cells in rows:
        if any(";" in cell for cell in cells) and (len(cells) == 1 or not headed):
            raise ReachError(f"{file}, row {line}: write commas between cells, not semicolons")
    if headed:
        _check_header(file, rows[0][1], header)
        rows = rows[1:]
    if not rows:
        raise ReachError(f"{file}: it holds no colours; write one a row, as #8a5a3c or 45,15,20")
    if len(rows) > MOST_COLOURS:
        raise ReachError(f"{file}: {len(rows)} colours; at most {MOST_COLOURS} can be asked about")
    read = []
    for line, cells in rows:
        try:
            read.append(_one(cells, header if headed else [], view))
        except MixlabError as error:
            raise ReachError(f"{file}, row {line}: {error}") from None
    labs, names, weights = zip(*read, strict=True)
    if not 0 < sum(weights) < math.inf:
        what = "are all zero" if sum(weights) == 0 else "add up to more than can be counted"
        raise ReachError(f"{file}: the weights {what}")
    return Colours.of(f"{file}", labs, view, names, weights)


def _check_header(file: Path, cells: list[str], header: list[str]) -> None:
    for cell, name in zip(cells, header, strict=True):
        if not name:
            raise ReachError(
                f"{file}, column {cell[:40]!r}: not a column of a list of colours"
                + suggestion(cell, _COLUMNS) + f" (columns: {', '.join(_COLUMNS)})"
            )  # fmt: skip
        if header.count(name) > 1:
            raise ReachError(f"{file}, column {cell}: it is there twice")
    kinds = [kind for kind in _KINDS if set(kind) & set(header)]
    if len(kinds) != 1 or not set(kinds[0]) <= set(header):
        raise ReachError(f"{file}: its columns must hold L, a and b, or hex, or munsell, one kind")


def _one(cells: list[str], header: list[str], view: Viewing) -> tuple[Array, str, float]:
    """Return CIELAB (3,), name and weight of one row."""
    if header and len(cells) != len(header):
        raise ReachError(f"{len(cells)} cells under {len(header)} columns")
    row = dict(zip(header, cells, strict=True)) if header else {}
    kind = next((kind for kind in _KINDS if kind[0] in row), ())
    text = ",".join([row[column] for column in kind] if kind else cells)
    try:
        weight = float(row.get("weight", "") or 1.0)
    except ValueError:
        weight = math.nan
    if not 0 <= weight < math.inf:
        raise ReachError(f"the weight {row['weight']!r} is not a number from 0 on")
    return from_text(text, view).lab, row.get("name") or text, weight


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
