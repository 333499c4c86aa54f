"""Passages of a picture, each with a name: places that were typed, or a list in a file."""

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mixlab import limits
from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, relit, viewing
from mixlab.errors import MixlabError, TargetError
from mixlab.files import csv_rows, named_rows, read_text
from mixlab.targets.many import Colours, from_picture
from mixlab.targets.one import COLUMNS, Target, from_columns, from_lab, from_photo, sampled
from mixlab.targets.photo_files import Photo
from mixlab.targets.photos import GREY_CARD, photo_lab
from mixlab.text import json_text
from mixlab.writing import write_whole

_COLUMNS = ("name", "x", "y", "radius", *(column for kind in COLUMNS for column in kind))


@dataclass(frozen=True, eq=False)
class Place:
    """A passage that wants its own mix.

    Attributes
    ----------
    name : what the painter calls it
    target : its colour
    at : (2,), x and y of its middle in the picture [pixels]; None for a colour of no place
    radius : of the disc that was averaged [pixels]
    """

    name: str
    target: Target
    at: Array | None = None
    radius: float = 0.0


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture in which places are named.

    Attributes
    ----------
    photo : the picture
    view : light, observer and finish
    grey : place known to be neutral, to take cast and exposure out, see :func:`from_photo`; or None
    grey_reflectance : of that place, 0..1
    radius : of the disc that is averaged, where a place has none of its own [pixels]
    set : what is done to colours (..., 3), CIELAB, as by a key
    notes : what is to be said of that
    """

    photo: Photo
    view: Viewing
    grey: str | None = None
    grey_reflectance: float = GREY_CARD
    radius: float = 0.0
    set: Callable[[Array], Array] = lambda lab: lab
    notes: tuple[str, ...] = ()

    def place(self, at: str, name: str = "", radius: float | None = None) -> Place:
        """Return the place "x,y", or "left,top,right,bottom"; TargetError, PhotoError if none."""
        around = self.radius if radius is None else radius
        target = from_photo(self.photo, at, self.view, around, self.grey, self.grey_reflectance)
        edges = np.array([float(cell) for cell in at.split(",")]).reshape(-1, 2)
        middle, around = edges.mean(axis=0), around if len(edges) == 1 else 0.0
        target = replace(target, lab=self.set(target.lab), notes=(*target.notes, *self.notes))
        return Place(name or at, target, middle, around)

    @property
    def colours(self) -> Colours:
        """Its colours by area."""
        found = from_picture(self.photo, self.view, self.grey, self.grey_reflectance)
        return replace(found, lab=self.set(found.lab), notes=(*found.notes, *self.notes))

    def labs(self, pixels: NDArray[np.unsignedinteger]) -> Array:
        """Return CIELAB (..., 3) of pixels (..., 3), encoded as those of the picture."""
        return self.labs_of(self.photo.linear(pixels))

    def labs_of(self, light: Array) -> Array:
        """Return CIELAB (..., 3) of linear sRGB (..., 3) of the picture."""
        neutral = None if self.grey is None else sampled(self.photo, self.grey, self.radius).rgb
        lab = photo_lab(light, neutral, self.grey_reflectance, view=self.view, highlights=True)
        lab[..., 0] = np.minimum(lab[..., 0], 100.0)
        return self.set(lab)


def typed_places(picture: Picture, ats: Sequence[str]) -> list[Place]:
    """Return places that were typed as "x,y" or "left,top,right,bottom"; TargetError for many."""
    _check_number(len(ats), "")
    return [picture.place(at) for at in ats]


def read_places(
    path: str | PathLike[str], view: Viewing, picture: Picture | None = None
) -> list[Place]:
    """Return the passages of a CSV file, a row each, or of a JSON file that a page saved.

    Its first row names the columns: name; x, y and, if wanted, radius [pixels]; and, or instead, a
    colour: L, a and b, or hex, or munsell, or colour, which holds any of them. A row has a place or
    a colour. What a page saved has both for a place: where there is a picture, the place counts.

    Raises
    ------
    TargetError : says what is wrong and in which row
    """
    file = Path(path)
    text = read_text(file, TargetError, limits.TOML_BYTES)
    if text.lstrip().startswith("{"):
        saved = enumerate(_saved(file, text, view, picture), 1)
        return _placed(file, "passage", saved, view, picture)
    # what it is comes first: of a file of something else nobody wants to know its number of rows
    first = csv_rows(file, next(iter(text.strip().splitlines()), ""), TargetError, 0)
    known = {name.lower() for name in _COLUMNS}
    rows: list[tuple[int, list[str]]] = []
    if first and known & {cell.strip().lower() for cell in first[0][1]}:
        rows = csv_rows(file, text, TargetError, limits.PLACES, "passages")
    if len(rows) < 2:
        raise TargetError(
            f"{file}: it holds no passages; the first row names the columns, as name,x,y,radius or "
            "name,colour, and a row for each follows"
        )
    named = named_rows(file, rows, _COLUMNS, "a list of passages", TargetError)
    return _placed(file, "row", named, view, picture)


def _placed(
    file: Path, what: str, rows: Iterable[tuple[int, dict[str, str]]], view: Viewing,
    picture: Picture | None,
) -> list[Place]:  # fmt: skip
    places = []
    for number, row in rows:
        try:
            places.append(_place(row, view, picture))
        except MixlabError as error:
            raise TargetError(f"{file}, {what} {number}: {error}") from None
    return places


def _saved(
    file: Path, text: str, view: Viewing, picture: Picture | None
) -> Iterator[dict[str, str]]:
    """Yield the rows that a page saved as JSON: each the place, or its colour without a picture."""
    try:
        saved = json.loads(text)
        places = [dict(one) for one in saved["places"] if saved["mixlab"] == "passages"]
        under = viewing(saved["light"], saved["observer"], view.finish)
    except (ValueError, KeyError, TypeError, RecursionError, MixlabError):
        raise TargetError(f"{file}: it is no list of passages that a page saved") from None
    _check_number(len(places), f"{file}: ")
    if not places:
        raise TargetError(f"{file}: it holds no passages")
    for number, one in enumerate(places, 1):
        row = {key: str(one[key]) for key in ("name", "x", "y", "radius") if key in one}
        lab = one.get("lab")
        if isinstance(lab, list) and (picture is None or "x" not in row):
            try:
                there = from_lab(",".join(map(str, lab)), under).lab
            except MixlabError as error:
                raise TargetError(f"{file}, passage {number}: {error}") from None
            row = {"name": row.get("name", "")}
            row |= zip(("L", "a", "b"), map(str, relit(there, under, view)), strict=True)
        yield row


def write_places(
    path: str | PathLike[str], places: Iterable[Place], view: Viewing, photo: Photo | None
) -> None:
    """Write passages as the page does, for it and for :func:`read_places` to read.

    A place in a picture is kept as a place, any other passage as its colour, CIELAB.
    """
    kept = [
        {"name": one.name, "x": float(one.at[0]), "y": float(one.at[1]), "radius": one.radius}
        if one.at is not None
        else {"name": one.name, "lab": [round(float(number), 4) for number in one.target.lab]}
        for one in places
    ]  # fmt: skip
    of = None if photo is None else {
        "name": photo.path.name, "width": photo.width, "height": photo.height
    }  # fmt: skip
    head = {"mixlab": "passages", "light": view.light, "observer": view.observer, "picture": of}
    write_whole(path, json_text(head | {"places": kept}, indent=1) + "\n")


def _check_number(number: int, where: str) -> None:
    if number > limits.PLACES:
        raise TargetError(f"{where}more than {limits.PLACES} passages")


def _place(row: dict[str, str], view: Viewing, picture: Picture | None) -> Place:
    name, x, y = (row.get(column, "") for column in ("name", "x", "y"))
    colour = from_columns(row, view)
    if (colour is None) != bool(x or y):
        raise TargetError("a row has one place, x and y, or one colour")
    if colour is not None:
        return Place(name or colour.given, colour)
    if picture is None:
        raise TargetError("x and y are a place in a picture; give it as well: --photo FILE")
    radius = None
    if row.get("radius"):
        try:
            radius = float(row["radius"])
        except ValueError:
            raise TargetError(f"the radius {row['radius']!r} is not a number of pixels") from None
    return picture.place(f"{x},{y}", name, radius)
