"""What a swatch card holds and where: its description in TOML, read and checked."""


from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from mixlab.arrays import Array
from mixlab.errors import CardError
from mixlab.paint.paints import ID, INDEX_NAME

KEYS = ("photo", "radius", "neutral", "paper", "tubes", "swatches")


# --- the card -----------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Swatch:
    """A place of the card and what was painted there.

    Attributes
    ----------
    mixture : as written, e.g. "1 kiln-blue + 4 yard-white"
    parts : by tube
    at : place in the photo, x, y or left, top, right, bottom [pixels]
    rgb : (3,), linear sRGB as in the picture, under the light of the middle of the card
    lab : (3,), CIELAB with cast and exposure taken out, D65 / 2 degree
    spread : 95th percentile of CIEDE2000 between a pixel and the mean
    """

    mixture: str
    parts: dict[str, float]
    at: tuple[float, ...]
    rgb: Array
    lab: Array
    spread: float

    def __str__(self) -> str:
        return f"{self.mixture!r} at {where_it_lies(self.at)}"


@dataclass(frozen=True, eq=False)
class Card:
    """A swatch card that was read.

    Attributes
    ----------
    path : of its TOML file
    photo : of the picture
    tubes : Colour Index names of each tube, as written, by id
    swatches : in the order of the file
    white : (3,), linear sRGB in the picture of a perfect white under the same light
    light : greatest light on the card over the least, by its references; nan where it was not seen
    unseen : faults of the picture that the references could not show, in words
    notes : what was done, and what could not be checked
    """

    path: Path
    photo: Path
    tubes: dict[str, tuple[str, ...]]
    swatches: tuple[Swatch, ...]
    white: Array
    light: float
    unseen: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def whites(self) -> list[str]:
        """The tubes whose Colour Index name is that of a white, PW and a number."""
        return [
            id
            for id, index in self.tubes.items()
            if any(name.upper().startswith("PW") for name in index)
        ]


def is_number(value: object) -> bool:
    """Return whether a value of a description is a finite number."""
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return abs(value) < 1e12  # and not nan


def _tubes(file: Path, content: object) -> dict[str, tuple[str, ...]]:
    if not isinstance(content, dict) or not content:
        raise CardError(f'{file}: [tubes] is missing; it lists the tubes, as kiln-blue = "PB29"')
    for id, index in content.items():
        if not ID.fullmatch(id):
            raise CardError(
                f"{file}: tube {id!r}: an id is lower-case words joined by hyphens, as kiln-blue"
            )
        if not isinstance(index, str) or not index.isprintable():
            raise CardError(
                f'{file}: tube {id}: its Colour Index name must be a text, as {id} = "PB29", '
                f'or {id} = "" where it is not known'
            )
        for name in index.split():
            if not INDEX_NAME.fullmatch(name):
                raise CardError(
                    f"{file}: tube {id}: {name!r} is not a Colour Index name, as PB29; write "
                    f'{id} = "" where it is not known'
                )
    return {id: tuple(index.split()) for id, index in content.items()}


def _place(file: Path, what: str, value: object) -> tuple[float, ...]:
    if isinstance(value, list) and len(value) in (2, 4) and all(map(is_number, value)):
        return tuple(map(float, value))
    raise CardError(
        f"{file}: {what}: a place is [x, y] or [left, top, right, bottom] in pixels, as [120, 340]"
    )


def _places(file: Path, what: str, value: object) -> list[tuple[float, ...]]:
    if isinstance(value, list) and all(isinstance(one, list) for one in value):
        return [_place(file, what, one) for one in value]
    return [_place(file, what, value)]


def _neutrals(file: Path, content: object) -> list[tuple[float, tuple[float, ...]]]:
    usual = "a grey card has 0.18, white paper about 0.85"
    example = "neutral = [{ at = [60, 60], reflectance = 0.18 }]"
    entries = [content] if isinstance(content, dict) else content
    if not isinstance(entries, list) or not entries:
        raise CardError(f"{file}: a card needs a neutral reference, as {example}")
    found = []
    for entry in entries:
        if not isinstance(entry, dict) or set(entry) != {"at", "reflectance"}:
            raise CardError(f"{file}: neutral: a place and its reflectance, as {example}; {usual}")
        value = entry["reflectance"]
        if not is_number(value) or not 0.02 <= value <= 1:
            raise CardError(f"{file}: neutral: its reflectance lies from 0.02 to 1; {usual}")
        found.append((float(value), _place(file, "neutral", entry["at"])))
    return found


def where_it_lies(at: Sequence[float]) -> str:
    """Return a place [pixels] in writing."""
    return ",".join(f"{v:g}" for v in at)
