"""What a swatch card holds and where: its description in TOML, read and checked."""


import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from mixlab.arrays import Array
from mixlab.errors import CardError, NotationError
from mixlab.files import read_toml
from mixlab.paint.names import parse_mix
from mixlab.paint.paints import ID, INDEX_NAME

Place = tuple[float, ...]
"""x, y or left, top, right, bottom in the photo [pixels]."""

KEYS = ("photo", "radius", "neutral", "paper", "tubes", "swatches")

MOST_SWATCHES, MOST_TUBES, MOST_NEUTRALS = 300, 40, 100
"""What one card may hold: the fit of that many takes half a gigabyte, and grows with the cube."""

MOST_TO_ONE = 10_000  # parts of one tube to one of another: no scales at an easel tell more


@dataclass(frozen=True, eq=False)
class Swatch:
    """A place of the card and what was painted there.

    Attributes
    ----------
    mixture : as written, e.g. "1 kiln-blue + 4 yard-white"
    parts : by tube
    at : place in the photo
    rgb : (3,), linear sRGB as in the picture, under the light of the middle of the card
    lab : (3,), CIELAB with cast and exposure taken out, D65 / 2 degree
    spread : 95th percentile of CIEDE2000 between a pixel and the mean
    """

    mixture: str
    parts: dict[str, float]
    at: Place
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
        """The tubes whose Colour Index names are all those of whites, PW and a number."""
        return [
            id for id, index in self.tubes.items()
            if index and all(name.upper().startswith("PW") for name in index)
        ]  # fmt: skip


@dataclass(frozen=True, eq=False)
class Layout:
    """What a card's description says, checked."""

    photo: Path
    radius: float  # of the disc around a place x, y [pixels]
    tubes: dict[str, tuple[str, ...]]  # Colour Index names by id
    neutrals: list[tuple[float, Place]]  # reflectance; nan for the paper, which is not known
    swatches: list[tuple[str, dict[str, float], Place]]  # mixture as written, parts


def read_layout(file: Path) -> Layout:
    """Return what the TOML file of a card says; CardError names the part that is wrong."""
    content = read_toml(file, CardError)
    for key in content:
        if key not in KEYS:
            raise CardError(f"{file}: {key!r} is not a key of a card ({', '.join(KEYS)})")
    radius = content.get("radius", math.inf)
    if "radius" in content and not (_is_number(radius) and 2 <= radius <= 10_000):
        raise CardError(f"{file}: radius must be a number of pixels from 2 to 10000, as 16")
    tubes = _tubes(file, content.get("tubes"))
    neutrals = _neutrals(file, content.get("neutral"))
    neutrals += [(math.nan, at) for at in _places(file, "paper", content.get("paper", []))]
    swatches = _swatches(file, content.get("swatches"), tubes)
    for what, some, most in (
        ("tubes", tubes, MOST_TUBES), ("swatches", swatches, MOST_SWATCHES),
        ("places of neutral and paper", neutrals, MOST_NEUTRALS),
    ):  # fmt: skip
        if len(some) > most:
            raise CardError(f"{file}: {len(some)} {what}, and a card has {most} at most")
    places = [at for _, at in neutrals] + [at for _, _, at in swatches]
    if math.isinf(radius) and 2 in map(len, places):
        raise CardError(
            f"{file}: radius is missing: around a place x, y a disc is averaged, as radius = 16"
        )
    name = content.get("photo")
    if not isinstance(name, str) or not name or "\0" in name:
        raise CardError(f'{file}: photo must name the picture, as photo = "kiln-yard-card.png"')
    return Layout(file.parent / name, radius, tubes, neutrals, swatches)


def _is_number(value: object) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    return abs(value) < 1e12  # and not nan


def _tubes(file: Path, content: object) -> dict[str, tuple[str, ...]]:
    if not isinstance(content, dict) or not content:
        raise CardError(f'{file}: [tubes] is missing; it lists the tubes, as kiln-blue = "PB29"')
    for id, index in content.items():
        unknown = f'{id} = "" where it is not known'
        if not ID.fullmatch(id):
            raise CardError(
                f"{file}: tube {id!r}: an id is lower-case words joined by hyphens, as kiln-blue"
            )
        if not isinstance(index, str) or not index.isprintable():
            raise CardError(
                f'{file}: tube {id}: its Colour Index name must be a text, as {id} = "PB29", '
                f"or {unknown}"
            )
        if wrong := [name for name in index.split() if not INDEX_NAME.fullmatch(name)]:
            raise CardError(
                f"{file}: tube {id}: {wrong[0]!r} is not a Colour Index name, as PB29; write "
                f"{unknown}"
            )
    return {id: tuple(index.split()) for id, index in content.items()}


def _neutrals(file: Path, content: object) -> list[tuple[float, Place]]:
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
        if not _is_number(value) or not 0.02 <= value <= 1:
            raise CardError(f"{file}: neutral: its reflectance lies from 0.02 to 1; {usual}")
        found.append((float(value), _place(file, "neutral", entry["at"])))
    return found


def _swatches(
    file: Path, content: object, tubes: dict[str, tuple[str, ...]]
) -> list[tuple[str, dict[str, float], Place]]:
    if not isinstance(content, dict) or not content:
        raise CardError(
            f'{file}: [swatches] is missing; it says what lies where, as "1 kiln-blue" = [120, 340]'
        )
    names: dict[str, list[str]] = {}
    for id, index in tubes.items():
        for name in index:
            names.setdefault(name.lower(), []).append(id)
    names |= {id: [id] for id in tubes}
    found = []
    for mixture, value in content.items():
        try:
            parts = parse_mix(mixture, names)
        except NotationError as error:
            raise CardError(f"{file}: swatch {mixture!r}: {error}") from None
        if max(parts.values()) / MOST_TO_ONE > min(parts.values()):
            raise CardError(
                f"{file}: swatch {mixture!r}: parts may be {MOST_TO_ONE:,} to 1 at most"
            )
        places = _places(file, f"swatch {mixture!r}", value)
        if not places:
            raise CardError(f"{file}: swatch {mixture!r} has no place")
        found += [(mixture, parts, at) for at in places]
    for id in tubes:
        if not any(id in parts for _, parts, _ in found):
            raise CardError(f"{file}: tube {id} is in no swatch; paint one, or take it out")
    return found


def _places(file: Path, what: str, value: object) -> list[Place]:
    if isinstance(value, list) and all(isinstance(one, list) for one in value):
        return [_place(file, what, one) for one in value]
    return [_place(file, what, value)]


def _place(file: Path, what: str, value: object) -> Place:
    if isinstance(value, list) and len(value) in (2, 4) and all(map(_is_number, value)):
        return tuple(map(float, value))
    raise CardError(
        f"{file}: {what}: a place is [x, y] or [left, top, right, bottom] in pixels, as [120, 340]"
    )


def where_it_lies(at: Sequence[float]) -> str:
    """Return a place [pixels] in writing."""
    return ",".join(f"{v:g}" for v in at)
