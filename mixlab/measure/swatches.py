"""A photographed swatch card: where everything lies, the light on it, and the colours of its paint.

Everything is checked from the card itself. The light on it is a smooth field that its references
show, the neutral places and the bare paper; colours are read in linear light, the field evened out
and the cast removed. What cannot be trusted is refused, each place by name.

References
----------
.. [1] Rasmussen, Williams, *Gaussian Processes for Machine Learning* (MIT Press 2006), ch. 2 and
       5.4.2: smooth fields from few data; what the others say of one that is left out.
.. [2] Lam, "Metamerism and colour constancy" (1985): the Bradford transform.
"""


import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from os import PathLike
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import rgb_to_xyz, viewing, xyz_to_lab
from mixlab.errors import CardError, PhotoError
from mixlab.measure.card_layout import Card, Place, Swatch, read_layout, where_it_lies
from mixlab.measure.card_light import HALVES, Light, Reference, balance, kind_of_neutral, middle_of
from mixlab.targets import photos
from mixlab.targets.photo_files import Photo, read_photo

# --- what is taken for granted ------------------------------------------------------------------
# Our own choices, no source.

CLIPPED = 0.02  # share of a place's pixels at the top of a channel above which it is refused

HIGHLIGHT, SHADOW = 12.0, 14.0
"""How far the lightest and the darkest fiftieth of a swatch may lie from its middle [L*]."""

SPAN = 0.3  # share of the spread of the swatches that references must have, in every direction

UNLIKE = 0.4
"""How far the greatest reflectance of the neutrals must be from the least to tell the contrast
[logarithm]."""

DULL, DAZZLING = 0.6, 1.3
"""What white paint reads at least, and anything at most, where the neutrals are what they say."""

DARKER = 3.0  # how much darker than the same paint with less white a tint may read [L*]
AGREE = 4.0  # how far two places of one mix may lie apart [CIEDE2000]
_BLACK, _PALE = 0.005, 0.03  # luminance, channel below which halves are not compared: noise, flare
_FINE = 16  # of a place's width, over which grain is averaged: one part
_MOVED = 3  # places that are off, from which on it is all of them
_WAYS = np.stack([f(np.linspace(0, math.pi, 36, endpoint=False)) for f in (np.cos, np.sin)])


def read_card(path: str | PathLike[str]) -> Card:
    """Return the card that a TOML file describes, its colours read and its light checked.

    The file says::

        photo = "kiln-yard-card.png"      # beside this file
        radius = 16                       # of the disc averaged around a place [pixels]
        neutral = [{ at = [430, 102], reflectance = 0.18 }]
        paper = [[57, 57], [327, 57], [507, 57]]     # one white paper, reflectance not known

        [tubes]                           # id and Colour Index name, "" where it is not known
        kiln-blue = "PB29"
        yard-white = "PW6"

        [swatches]                        # a place x, y, or a box left, top, right, bottom
        "1 kiln-blue" = [102, 102]
        "1 kiln-blue + 4 yard-white" = [[282, 102], [282, 192]]

    Raises
    ------
    CardError, PhotoError : say which part of the card is wrong and what would be right
    """
    file = Path(path)
    layout = read_layout(file)
    photo = read_photo(layout.photo)
    neutrals = [(kind_of_neutral(value), at) for value, at in layout.neutrals]
    read = _read_all(file, photo, neutrals, layout.radius)
    references = [
        Reference(at, value, rgb)
        for (value, at), (rgb, _) in zip(layout.neutrals, read, strict=True)
    ]
    light = Light.of(file, references, (photo.width, photo.height))
    painted = [(repr(mixture), at) for mixture, _, at in layout.swatches]
    read = _read_all(file, photo, painted, layout.radius, light)
    swatches = tuple(
        Swatch(*one, rgb, light.lab(rgb), spread)
        for one, (rgb, spread) in zip(layout.swatches, read, strict=True)
    )
    unseen = tuple(_unseen(references, np.array([middle_of(swatch.at) for swatch in swatches])))
    notes = (*photo.notes, *light.notes, *unseen)
    card = Card(file, layout.photo, layout.tubes, swatches, light.white, light.ratio, unseen, notes)
    _in_range(card, references, light)
    _agree(card)
    _in_order(card)
    return card


# --- reading a place ----------------------------------------------------------------------------


class NotOne(CardError):
    """A place that is not of one colour, or not in the picture."""


def _read_all(
    file: Path, photo: Photo, places: Sequence[tuple[str, Place]], radius: float,
    light: Light | None = None,
) -> list[tuple[Array, float]]:  # fmt: skip
    """Return linear sRGB (3,) and the spread of places, each with what lies there."""
    read, off = [], []
    for what, at in places:
        try:
            where = f"{file}: {what} at {where_it_lies(at)}"
            read.append(read_place(where, photo, at, radius, light))
        except NotOne as error:
            off.append(error)
    if len(off) >= _MOVED:
        raise CardError(
            f"{off[0]}; {len(off)} places of {len(places)} are off: was the picture turned, "
            "cropped or scaled after they were noted?"
        )
    if off:
        raise off[0]
    return read


def read_place(
    where: str, photo: Photo, at: Place, radius: float, light: Light | None
) -> tuple[Array, float]:
    """Return linear sRGB (3,) and the spread of a place; CardError if it cannot be trusted."""
    try:
        sample = photos.place(photo, *at, radius) if len(at) == 2 else photos.box(photo, *at)
    except PhotoError as error:
        raise NotOne(f"{where}: {error}") from None
    pixels, offsets = _pixels(photo, at, radius)
    top = np.iinfo(pixels.dtype).max
    clipped = float(np.mean((pixels >= top - top // 510).any(axis=1)))
    if clipped > CLIPPED:
        hint = (
            "so that the white paper is not quite white in it"
            if light is None
            else "and without a filter: strong colours are clipped before white paper is"
        )
        raise CardError(
            f"{where}: {clipped:.0%} of its pixels are clipped; expose the photo less, {hint}"
        )
    # of the whitest that the picture can hold, or of the card's white once that is known
    white = np.ones(3) if light is None else light.white
    inside = "read inside it" if light is None else "read inside the swatch, where the paint hides"
    rgb = photo.linear(pixels)
    luminance = rgb_to_xyz(rgb)[:, 1] / float(rgb_to_xyz(white)[1])
    view = viewing()
    smooth = xyz_to_lab(_smoothed(luminance, offsets)[:, None] * view.white, view.white)[:, 0]
    dark, middle, bright = (float(v) for v in np.percentile(smooth, (2, 50, 98)))
    if bright - middle > HIGHLIGHT:
        raise NotOne(
            f"{where}: glare, or an edge: its lightest parts are {bright - middle:.0f} L* above "
            f"its middle; turn the card until no shine is seen, and {inside}"
        )
    # two colours may be equally light, as yellow and paper: each channel by itself
    channels = np.column_stack([luminance + _BLACK, np.maximum(rgb, 0) / white + _PALE])
    if middle - dark > SHADOW or _halves(channels, offsets) > HALVES:
        raise NotOne(
            f"{where}: it is not of one colour: a shadow, shine or an edge lies across it, or the "
            f"ground shows; {inside}"
        )
    return sample.rgb if light is None else light.even(sample.rgb, middle_of(at)), sample.spread


def _pixels(photo: Photo, at: Place, radius: float) -> tuple[NDArray[Any], Array]:
    """Return the pixels (n, 3) of a disc or a box, and how far (n, 2) they are from its middle."""
    if len(at) == 2:
        x, y = (math.floor(v + 0.5) for v in at)
        reach = math.floor(radius)
        left, top, right, bottom = x - reach, y - reach, x + reach + 1, y + reach + 1
    else:
        left, top, right, bottom = (round(v) for v in at)
        x, y, radius = (left + right) // 2, (top + bottom) // 2, math.inf
    left, top = max(left, 0), max(top, 0)
    crop: NDArray[Any] = photo.pixels[top:bottom, left:right]
    rows, columns = np.indices(crop.shape[:2])
    offsets = np.stack([columns + left - x, rows + top - y], axis=-1)
    inside = (offsets**2).sum(axis=-1) <= radius**2
    return np.asarray(crop[inside]), np.asarray(offsets[inside], dtype=float)


def _smoothed(values: Array, offsets: Array) -> Array:
    """Return values (n,) of a place, each averaged with its neighbours there: grain is no glare."""
    from scipy.ndimage import uniform_filter

    column, row = (offsets - offsets.min(axis=0)).astype(int).T
    grid = np.zeros((2, row.max() + 1, column.max() + 1))
    grid[:, row, column] = values, np.ones(len(values))
    width = 1 + 2 * (max(grid.shape) // _FINE)
    sums, counts = uniform_filter(grid, (0, width, width), mode="constant")[:, row, column]
    return np.asarray(sums / counts)


def _halves(values: Array, offsets: Array) -> float:
    """Return how far the halves of a place are apart, the worst of four ways to halve it.

    `values` (n, c) stand at `offsets` (n, 2) from its middle; the result is a logarithm.
    """
    across = offsets @ np.array([[1, 0, 1, 1], [0, 1, 1, -1]])
    means = np.array([
        [values[side].mean(axis=0) for side in (way > 0, way < 0)]
        for way in across.T
        if (way > 0).any() and (way < 0).any()
    ])  # fmt: skip
    return float(np.abs(np.diff(np.log(means), axis=1)).max()) if len(means) else 0.0


# --- what references say of the swatches --------------------------------------------------------


def _unseen(references: Sequence[Reference], swatches: Array) -> Iterator[str]:
    """Yield in words what references could not show of the light on swatches (q, 2)."""
    known = np.array([one.reflectance for one in references])
    places = np.array([middle_of(one.at) for one in references])
    # places of one kind are compared with one another
    kinds = [places[kind] for kind in (np.isnan(known), ~np.isnan(known)) if kind.any()]
    apart = np.vstack([kind - kind.mean(axis=0) for kind in kinds])
    reached = np.ptp(apart @ _WAYS, axis=0)
    short = reached - SPAN * np.ptp(swatches @ _WAYS, axis=0)
    worst = int(np.argmin(short))
    if not reached.any():
        yield (
            "one reference of a kind: whether the light was even could not be seen; "
            "name a second neutral place, or places of bare paper"
        )
    elif short[worst] < 0:
        x, y = np.abs(_WAYS[:, worst])
        way = "from left to right" if x > 2 * y else "from top to bottom" if y > 2 * x else "aslant"
        yield (
            f"the references do not reach over the swatches {way}: a fall of the light that way "
            "could not be seen; name places of bare paper at the corners"
        )
    if np.ptp(np.log(known[~np.isnan(known)])) < UNLIKE:
        yield (
            "no two neutrals of unlike reflectance: whether the picture's contrast is true could "
            "not be seen; name one that is lighter or darker"
        )


def _in_range(card: Card, references: Sequence[Reference], light: Light) -> None:
    """Refuse references by which something is lighter than white, or white paint is dark."""
    papers = [one for one in references if math.isnan(one.reflectance)]
    evened = [light.even(one.rgb, middle_of(one.at)) for one in papers]
    rgb = np.array([*evened, *(swatch.rgb for swatch in card.swatches)])
    reflects = (rgb @ balance(light.white))[:, 1] / 100
    for one, share in zip((*papers, *card.swatches), reflects, strict=True):
        white = isinstance(one, Swatch) and set(one.parts) <= set(card.whites)
        if share > DAZZLING or (white and share < DULL):
            usual = "white paint about 90%" if white else "a perfect white 100%"
            raise CardError(
                f"{card.path}: by the neutral places, {one} reflects {share:.0%}, and {usual}: are "
                "their reflectance and places right, the light even, the picture unedited?"
            )


# --- what swatches say of one another -----------------------------------------------------------


def _agree(card: Card) -> None:
    """Refuse two places of one mix that differ."""
    first: dict[str, Swatch] = {}
    for swatch in card.swatches:
        other = first.setdefault(swatch.mixture, swatch)
        apart = float(ciede2000(other.lab, swatch.lab))
        if apart > AGREE:
            raise CardError(
                f"{card.path}: {swatch.mixture!r} is {apart:.1f} CIEDE2000 apart at "
                f"{where_it_lies(other.at)} and {where_it_lies(swatch.at)}; the light is uneven, "
                "or a pile is off"
            )


def _in_order(card: Card) -> None:
    """Refuse a tint that is darker than the same paint with less of the same white."""
    rows: dict[tuple[str, str], list[tuple[float, Swatch]]] = {}
    for swatch in card.swatches:
        for white in card.whites:
            tubes = [id for id in swatch.parts if id != white]
            if len(tubes) == 1 and tubes[0] not in card.whites:
                ratio = swatch.parts.get(white, 0.0) / swatch.parts[tubes[0]]
                rows.setdefault((tubes[0], white), []).append((ratio, swatch))
    for row in rows.values():
        row.sort(key=lambda pair: pair[0])
        for (less, dark), (most, pale) in pairwise(row):
            if most > less and pale.lab[0] < dark.lab[0] - DARKER:
                raise CardError(
                    f"{card.path}: {pale} is {dark.lab[0] - pale.lab[0]:.0f} L* darker than "
                    f"{dark}, though it has more white; are they exchanged, or one in shadow?"
                )
