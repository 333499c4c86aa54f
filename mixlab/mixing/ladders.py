"""Ladders: from one mix toward another in even steps; tints, shades, tones and blends.

A ladder goes from a mix (share 0) toward white, black, a grey or any other mix (share 1), its steps
even in parts, in Munsell value, or in CIEDE2000. Each step is given as exact shares and in the
smallest whole parts that look like it.
"""


from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mixlab.arrays import Array
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import (
    in_gamut,
    lab_to_hex,
    lab_to_lch,
    lab_to_munsell,
    lab_to_value,
    reflectance_to_lab,
)
from mixlab.errors import LadderError
from mixlab.nearest.parts import first_within, rounded
from mixlab.paint import optics
from mixlab.paint.mixtures import Mixture, together
from mixlab.paint.paints import (
    Paint,
    contrast_ratio,
    let_down_contrast_ratio,
    opacity_class,
)
from mixlab.paint.tables import Palette, PigmentTable

EVEN = ("value", "parts", "difference")
"""What the steps of a ladder are even in: Munsell value, parts, or CIEDE2000."""

MOST_STEPS = 60
MOST_PARTS = 1000

LOOKS_LIKE = 1.0
"""How near whole parts must come to the exact step to pass for it [CIEDE2000]."""

NEUTRAL = 2.0
"""A colour of less chroma [C*] has no hue worth naming."""

WHITE_ID, BLACK_ID = "titanium-white", "bone-black"

# shares even in the odds of one pile against the other, so that a strong paint in much white, and
# a trace of black in a white, are seen as closely as the middle
_GRID = np.concatenate([[0.0], 1 / (1 + np.exp(-np.linspace(-13, 13, 521))), [1.0]])
_TURNS = 60
_SIMPLE = 24  # parts


@dataclass(frozen=True, eq=False)
class Path:
    """Every mix of two piles: share 0 is all `start`, share 1 all `toward`, by mass.

    Raises
    ------
    LadderError : if the two are seen under different lights, or are one and the same mix
    TableError : if their paints come from tables that cannot be mixed
    """

    start: Mixture
    toward: Mixture

    def __post_init__(self) -> None:
        if self.start.view != self.toward.view:
            raise LadderError("the two mixes of a ladder must be seen under the same light")
        if self._same():
            raise LadderError(f"a ladder from {self.start} to itself has no steps")
        self.mixture(0.5)  # refuses paints that cannot be mixed

    def _same(self) -> bool:
        one, other = self.start.shares, self.toward.shares
        return one.keys() == other.keys() and all(abs(one[p] - other[p]) < 1e-9 for p in one)

    def curves(self, shares: ArrayLike) -> tuple[Array, Array]:
        """Return K and S (..., 36) at shares (...,) of `toward`."""
        t = np.asarray(shares, dtype=float)[..., None]
        k = (1 - t) * self.start.K + t * self.toward.K
        s = (1 - t) * self.start.S + t * self.toward.S
        return k, s

    def reflectance(self, shares: ArrayLike) -> Array:
        """Return reflectance (..., 36), 0..1, under the finish, at shares (...,)."""
        return self.start.surface.measured(optics.opaque(*self.curves(shares)))

    def lab(self, shares: ArrayLike) -> Array:
        """Return CIELAB (..., 3) at shares (...,)."""
        return reflectance_to_lab(self.reflectance(shares), self.start.view)

    def mixture(self, share: float) -> Mixture:
        """Return the mix at a share."""
        return self.whole(1 - share, share)

    def whole(self, start: float, toward: float) -> Mixture:
        """Return the mix of so many parts of each pile."""
        # a single paint counts its parts; a pile of several counts shares of itself
        piles = ((start, self.start), (toward, self.toward))
        parts = (
            (paint, weight * share) for weight, pile in piles
            for paint, share in zip(pile.paints, pile.shares.values(), strict=True)
        )  # fmt: skip
        return together(parts, self.start.view)

    @cached_property
    def grid(self) -> tuple[Array, Array]:
        """Shares (n,) from 0 to 1, close wherever a mix changes fast, and CIELAB (n, 3)."""
        return _GRID, self.lab(_GRID)

    @cached_property
    def turn(self) -> float | None:
        """The share at which value turns: the mix there is darker, or lighter, than both ends.

        None where value only rises or only falls.
        """
        light = self.grid[1][:, 0]
        if np.ptp(np.sign(np.diff(light))) <= 1:
            return None
        beyond = [light.argmin(), light.argmax()]
        return float(_GRID[max(beyond, key=lambda at: min(abs(light[at] - light[[0, -1]])))])


@dataclass(frozen=True, eq=False)
class Whole:
    """A step in whole parts: so many of the pile it starts from, so many of the other."""

    start: int
    toward: int
    mixture: Mixture
    miss: float


@dataclass(frozen=True, eq=False)
class Ladder:
    """Steps from one mix to another.

    Attributes
    ----------
    path : the two mixes and all between them
    even : what the steps are even in, one of :data:`EVEN`
    shares : (n,), of the mix it goes toward, rising from 0 to 1
    parts : greatest total of whole parts
    """

    path: Path
    even: str
    shares: Array
    parts: int

    @cached_property
    def lab(self) -> Array:
        """CIELAB (n, 3) of the exact steps."""
        return self.path.lab(self.shares)

    @property
    def lch(self) -> Array:
        """CIELCh (n, 3)."""
        return lab_to_lch(self.lab)

    @cached_property
    def munsell(self) -> Array:
        """Munsell hue number, value and chroma (n, 3)."""
        return lab_to_munsell(self.lab, self.path.start.view)

    @property
    def drift(self) -> Array:
        """How far each hue is from the first one's, CIELCh (n,) [degrees], -180..180.

        nan where either is too near neutral to have a hue (:data:`NEUTRAL`).
        """
        return drift(self.lab[0], self.lab)

    @property
    def hue_steps(self) -> Array:
        """The same in Munsell hue steps (n,), 100 in the circle; nan likewise."""
        turned = hue_steps(self.munsell[0, 0], self.munsell[:, 0])
        return np.where(np.isnan(self.drift), np.nan, turned)

    @cached_property
    def contrast_ratio(self) -> Array:
        """Contrast ratio (n,) of one coat of each step, 0..1; ISO 6504-3."""
        first = self.path.start.paints[0]
        return contrast_ratio(*self.path.curves(self.shares), first.surface, self.path.start.view)

    @cached_property
    def let_down_contrast_ratio(self) -> Array:
        """Contrast ratio (n,) of each step let down with clear medium, 0..1."""
        return let_down_contrast_ratio(*self.path.curves(self.shares), self.path.start.view)

    @property
    def opacity_class(self) -> list[str]:
        """"opaque" .. "transparent", of each step."""
        return list(map(opacity_class, self.contrast_ratio, self.let_down_contrast_ratio))

    @property
    def hex(self) -> list[str]:
        """The nearest sRGB colours, "#rrggbb"."""
        return [lab_to_hex(lab, self.path.start.view) for lab in self.lab]

    @property
    def in_gamut(self) -> list[bool]:
        """Whether `hex` shows each colour unclipped."""
        return [bool(shown) for shown in in_gamut(self.lab, self.path.start.view)]

    @cached_property
    def mixtures(self) -> tuple[Mixture, ...]:
        """The exact steps as mixes."""
        return tuple(self.path.mixture(float(share)) for share in self.shares)

    @cached_property
    def whole(self) -> tuple[Whole, ...]:
        """Each step in the smallest whole parts that look like it (:data:`LOOKS_LIKE`).

        Where none of at most `parts` do, the nearest.
        """
        found = self._in_parts(self.shares, np.arange(1, min(self.parts, _SIMPLE) + 1))
        rest = np.flatnonzero(found[2] > LOOKS_LIKE)
        if rest.size and self.parts > _SIMPLE:  # most steps need no great totals
            finer = self._in_parts(self.shares[rest], np.arange(1, self.parts + 1))
            for simple, fine in zip(found, finer, strict=True):
                simple[rest] = fine
        steps = []
        for total, toward, miss in zip(*found, strict=True):
            pile, other = int(total - toward), int(toward)
            steps.append(Whole(pile, other, self.path.whole(pile, other), float(miss)))
        return tuple(steps)

    def _in_parts(self, shares: Array, totals: NDArray[np.intp]) -> tuple[Array, Array, Array]:
        """Return total, parts of the mix it goes toward, and miss, each (n,), at shares (n,)."""
        toward = rounded(shares[:, None] * totals, least=0)
        # between the ends there is some of both
        inside = ((shares > 0) & (shares < 1))[:, None] & (totals > 1)
        toward = np.where(inside, toward.clip(1, totals - 1), toward)
        miss = ciede2000(self.path.lab(shares)[:, None], self.path.lab(toward / totals))
        at = first_within(miss, LOOKS_LIKE)
        row = np.arange(len(shares))
        return totals[at].astype(float), toward[row, at], miss[row, at]


def ladder(
    start: Mixture, toward: Mixture, steps: int = 9, even: str = "value", parts: int = 100
) -> Ladder:
    """Return a ladder of `steps` mixes, both ends included.

    Parameters
    ----------
    start, toward : the mixes at its ends, under one light
    steps : how many, at least 2
    even : "value", each the same distance in Munsell value; "parts", in shares by mass;
        "difference", each the same CIEDE2000 from the one before. Where value turns on the way
        (:attr:`Path.turn`), steps even in value are so along the way there and back.
    parts : greatest total of whole parts of a step

    Raises
    ------
    LadderError : if the ladder cannot be made so: the ends look alike, or lie at one value
    """
    if not 2 <= steps <= MOST_STEPS:
        raise LadderError(f"{steps} steps: a ladder has from 2 to {MOST_STEPS}")
    if not 1 <= parts <= MOST_PARTS:
        raise LadderError(f"at most {parts} parts: it must be from 1 to {MOST_PARTS}")
    if even not in EVEN:
        raise LadderError(f"steps even in {even!r}: give one of {', '.join(EVEN)}")
    path = Path(start, toward)
    if even == "parts":
        return Ladder(path, even, np.linspace(0, 1, steps), parts)
    labs = path.grid[1]
    if even == "value":
        apart = np.abs(np.diff(lab_to_value(labs, start.view)))
        if apart.sum() < 0.05:
            raise LadderError(
                f"{start} and {toward} are of one value; make the steps even in parts or difference"
            )
    else:
        apart = ciede2000(labs[1:], labs[:-1])
        if apart.sum() < 0.05:
            raise LadderError(f"{start} and {toward} look alike; there are no steps between them")
    along = np.concatenate([[0.0], np.cumsum(apart)])
    return Ladder(path, even, _evened(path, along / along[-1], steps, even), parts)


def _evened(path: Path, along: Array, steps: int, even: str) -> Array:
    """Return shares (steps,) with the same distance from each step to the next.

    `along` (n,) is how much of the way has been gone at each share of the grid.
    """
    grid = _GRID
    place = np.linspace(0, 1, steps)
    turns = even == "value" and path.turn is not None
    for _ in range(0 if turns else _TURNS):
        labs = path.lab(_share(place, along, grid))
        if even == "value":
            apart = np.abs(np.diff(lab_to_value(labs, path.start.view)))
        else:
            apart = ciede2000(labs[1:], labs[:-1])
        if np.ptp(apart) < 1e-4 * apart.mean():
            break
        gone = np.concatenate([[0.0], np.cumsum(apart)])
        place = np.interp(np.linspace(0, 1, steps), gone / gone[-1], place)
    return _share(place, along, grid)


def _share(place: Array, along: Array, grid: Array) -> Array:
    """Return the shares at which so much of the way has been gone, 0..1."""
    shares = np.interp(place, along, grid)
    shares[[0, -1]] = 0.0, 1.0
    return shares


def drift(first: ArrayLike, labs: ArrayLike) -> Array:
    """Return how far CIELAB hues (..., 3) are from that of `first` (3,) [degrees], -180..180.

    nan where either colour is too near neutral to have a hue (:data:`NEUTRAL`).
    """
    one, many = lab_to_lch(first), lab_to_lch(labs)
    turned = (many[..., 2] - one[2] + 180) % 360 - 180
    return np.where((many[..., 1] < NEUTRAL) | (one[1] < NEUTRAL), np.nan, turned)


def hue_steps(first: ArrayLike, hues: ArrayLike) -> Array:
    """Return how far Munsell hue numbers (...,) are from `first` [hue steps], -50..50.

    Of these there are 100 in the circle, even to the eye, while degrees of CIELCh bend blues: one
    Munsell hue has no one angle there.
    """
    turned: Array = np.asarray(hues, dtype=float) - np.asarray(first, dtype=float)
    return np.asarray((turned + 50) % 100 - 50)


# --- what a ladder goes toward --------------------------------------------------------------------


def white_of(table: PigmentTable | Palette, name: str | None = None) -> Paint:
    """Return the white that is named, else titanium white, else the first white there is.

    Raises
    ------
    NotationError : if there is no such paint
    LadderError : if it is not white, or there is no white at all
    """
    if name is not None:
        if not (paint := table[name]).is_white:
            raise LadderError(f"{paint.id} is not a white; give one, such as {WHITE_ID}")
        return paint
    whites = [paint for paint in table if paint.is_white]
    if not whites:
        raise LadderError("there is no white among the paints; name what to go toward")
    return next((paint for paint in whites if paint.id == WHITE_ID), whites[0])


def black_of(table: PigmentTable | Palette, name: str | None = None) -> Paint:
    """Return the paint that is named, else bone black, else the darkest near-neutral one.

    Raises
    ------
    NotationError : if there is no such paint
    LadderError : if there is no black at all
    """
    if name is not None:
        return table[name]
    if BLACK_ID in table.ids:
        return table[BLACK_ID]
    blacks = [p for p in table if p.lab[0] < 30 and np.hypot(*p.lab[1:]) < 5]
    if not blacks:
        raise LadderError("there is no black among the paints; name one")
    return min(blacks, key=lambda paint: float(paint.lab[0]))


def grey_of(white: Paint, black: Paint, like: Mixture, value: float | None = None) -> Mixture:
    """Return a mix of a white and a black of a Munsell value.

    Unless a value is told it is that of `like`, or as near to it as the two come.

    Raises
    ------
    LadderError : if the two do not reach the value that was told
    """
    path = Path(Mixture((black,), (1.0,), like.view), Mixture((white,), (1.0,), like.view))
    reached = lab_to_value(path.grid[1], like.view)
    if value is not None and not 0 <= value <= 10:
        raise LadderError(f"value {value:g}: a Munsell value lies from 0 (black) to 10 (white)")
    if value is None:
        value = float(lab_to_value(like.lab, like.view).clip(reached.min(), reached.max()))
    made = path.mixture(at_value(path, value))
    least = min(made.amounts)
    return Mixture(made.paints, tuple(n / least for n in made.amounts), like.view)


def at_value(path: Path, value: float) -> float:
    """Return the first share at which the path is of a Munsell value.

    Raises
    ------
    LadderError : if it never is
    """
    grid, labs = path.grid
    off = lab_to_value(labs, path.start.view) - value
    crossed = np.flatnonzero((off[:-1] <= 0) != (off[1:] <= 0))
    if not crossed.size:
        if abs(off).min() < 0.005:
            return float(grid[abs(off).argmin()])
        low, high = off.min() + value, off.max() + value
        raise LadderError(
            f"value {value:.1f} is not between {path.start} and {path.toward}, "
            f"which go from {low:.1f} to {high:.1f}"
        )
    left, right = grid[crossed[0]], grid[crossed[0] + 1]
    rises = off[crossed[0]] <= 0
    for _ in range(4):  # each zooms in by 32
        shares = np.linspace(left, right, 33)
        below = lab_to_value(path.lab(shares), path.start.view) <= value
        at = int(np.argmax(below != rises))
        left, right = shares[max(at - 1, 0)], shares[at]
    share = float((left + right) / 2)
    return 0.0 if share < 1e-9 else 1.0 if share > 1 - 1e-9 else share
