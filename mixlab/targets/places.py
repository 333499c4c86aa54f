"""Passages of a picture, each with a name: places that were typed, or a list in a file."""

import json
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from os import PathLike
from pathlib import Path
from typing import NamedTuple, TypeGuard, TypeVar

import numpy as np
from numpy.typing import NDArray

from mixlab import limits
from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, lights, relit, viewing
from mixlab.errors import MixlabError, TargetError
from mixlab.files import csv_rows, named_rows, read_text
from mixlab.targets.many import Colours, from_picture
from mixlab.targets.one import CHROMA_LIMIT, COLUMNS, Target, from_columns, from_photo, sampled
from mixlab.targets.photo_files import Photo
from mixlab.targets.photos import GREY_CARD, photo_lab
from mixlab.text import json_text
from mixlab.writing import write_whole

_Row = TypeVar("_Row")
_FARTHEST = 1e9  # pixels, of what a page saved
_NO_PICTURE = "x and y are a place in a picture; give it as well: --photo FILE"
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
        under, saved = saved_places(file, text)
        return _placed(file, "passage", enumerate(saved, 1),
                       lambda one: _of_saved(one, under, view, picture))  # fmt: skip
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
    return _placed(file, "row", named, lambda row: _of_row(row, view, picture))


def _placed(
    file: Path, what: str, rows: Iterable[tuple[int, _Row]], made: Callable[[_Row], Place]
) -> list[Place]:
    places = []
    for number, row in rows:
        try:
            places.append(made(row))
        except MixlabError as error:
            raise TargetError(f"{file}, {what} {number}: {error}") from None
    return places


def _of_row(row: dict[str, str], view: Viewing, picture: Picture | None) -> Place:
    name, x, y = (row.get(column, "") for column in ("name", "x", "y"))
    colour = from_columns(row, view)
    if (colour is None) != bool(x or y):
        raise TargetError("a row has one place, x and y, or one colour")
    if colour is not None:
        return Place(name or colour.given, colour)
    if picture is None:
        raise TargetError(_NO_PICTURE)
    radius = None
    if row.get("radius"):
        try:
            radius = float(row["radius"])
        except ValueError:
            raise TargetError(f"the radius {row['radius']!r} is not a number of pixels") from None
    return picture.place(f"{x},{y}", name, radius)


# --- what a page saved --------------------------------------------------------------------------


class Saved(NamedTuple):
    """A passage as a page saves it: a place, a colour, or a place with the colour it had there."""

    name: str
    lab: Array | None
    at: tuple[float, float] | None
    radius: float | None


def saved_places(file: Path, text: str) -> tuple[Viewing, list[Saved]]:
    """Return the passages that a page saved as JSON, and how their colours are seen.

    The twin of readPassages() in show/page/passages.js: the one takes what the other takes.

    Raises
    ------
    TargetError : says what is wrong, and of which passage
    """
    try:
        saved = json.loads(text, parse_int=float, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise TargetError(f"{file}: it is no JSON, as a page saves passages") from None
    places = saved.get("places")
    if saved.get("mixlab") != "passages" or not isinstance(places, list):
        raise TargetError(f"{file}: it is no list of passages that a page saved")
    if not places:
        raise TargetError(f"{file}: it holds no passages")
    _check_number(len(places), f"{file}: ")
    light, observer = saved.get("light"), saved.get("observer")
    if light not in lights() or observer not in ("2", "10"):
        raise TargetError(f"{file}: it names no light and observer that are known")
    if not _is_picture(saved.get("picture")):
        raise TargetError(f"{file}: its picture has no name, or its size is no number of pixels")
    return viewing(light, observer), [
        _checked(one, f"{file}, passage {i}: ") for i, one in enumerate(places, 1)
    ]


def _no_number(word: str) -> float:
    raise ValueError(word)  # NaN and Infinity are not JSON


def _is_number(value: object, high: float, low: float = 0.0) -> TypeGuard[float]:
    return isinstance(value, float) and low <= value <= high


def _is_picture(of: object) -> bool:
    if of is None:
        return True
    if not isinstance(of, dict) or not isinstance(of.get("name"), str):
        return False
    return all(_is_number(of[side], _FARTHEST, 1) for side in ("width", "height") if side in of)


def _checked(place: object, where: str) -> Saved:
    if not isinstance(place, dict):
        raise TargetError(f"{where}it is no place")
    name = place.get("name", "")
    if not isinstance(name, str):
        raise TargetError(f"{where}its name is no text")
    lab = place.get("lab")
    if "lab" in place and not _is_lab(lab):
        raise TargetError(
            f"{where}lab is three numbers, L* 0 to 100, a* and b* of no more chroma than 200"
        )
    if "radius" in place and not _is_number(place["radius"], _FARTHEST):
        raise TargetError(f"{where}the radius is a number of pixels")
    colour = None if lab is None else np.array(lab)
    if not {"x", "y"} & place.keys():
        if colour is None:
            raise TargetError(f"{where}it has neither a place, x and y, nor a colour, lab")
        return Saved(name, colour, None, None)
    x, y = place.get("x"), place.get("y")
    if not (_is_number(x, _FARTHEST) and _is_number(y, _FARTHEST)):
        raise TargetError(f"{where}x and y are pixels of the picture")
    return Saved(name, colour, (x, y), place.get("radius"))


def _is_lab(lab: object) -> bool:
    if not isinstance(lab, list) or len(lab) != 3 or not _is_number(lab[0], 100.0):
        return False
    return (
        all(_is_number(value, CHROMA_LIMIT, -CHROMA_LIMIT) for value in lab[1:])
        and math.hypot(*lab[1:]) <= CHROMA_LIMIT
    )


def _of_saved(saved: Saved, under: Viewing, view: Viewing, picture: Picture | None) -> Place:
    """Return a passage; where there is a picture, its place counts, else its colour."""
    if saved.at is not None and picture is not None:
        x, y = saved.at
        return picture.place(f"{x:.15g},{y:.15g}", saved.name, saved.radius)
    if saved.lab is None:
        raise TargetError(_NO_PICTURE)
    lab = seen(saved.lab, under, view)
    given = ",".join(f"{number:.4g}" for number in lab)
    return Place(saved.name or given, Target(lab, view, given))


def seen(lab: Array, under: Viewing, view: Viewing) -> Array:
    """Return CIELAB (3,) of a colour saved under one light as seen under another."""
    lab = relit(lab, viewing(under.light, under.observer, view.finish), view)
    return np.array([np.clip(lab[0], 0.0, 100.0), *lab[1:]])


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
