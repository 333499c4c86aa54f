"""A painted sheet beside its prediction and its guesses; which part was likely mismeasured.

The squares of a sheet check one another as the swatches of a card do (:mod:`mixlab.measure.cards`):
one fit explains them all by the table's paints, a little changed as another maker's may be, and the
share of shine that the camera saw. A square that the fit explains far better with other whole parts
was likely mismeasured.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

import numpy as np

from mixlab.arrays import Array, one_thread
from mixlab.colour.difference import ciede2000
from mixlab.colour.words import beside
from mixlab.errors import LessonError
from mixlab.lesson.reading import Painted
from mixlab.lesson.sheet import Sheet
from mixlab.measure.card_fit import CardModel, SolvedCard
from mixlab.measure.card_layout import Card, Swatch
from mixlab.measure.card_priors import A_WHITE, SAME_PIGMENT, Prior
from mixlab.measure.cards import characterise_card
from mixlab.paint.paints import ID, Paint, tinting_strength
from mixlab.paint.tables import PigmentTable

CLEARLY = 5.0
"""By how much other parts of a square must raise twice the logarithm of the evidence for all: they
are one guess of some fifty. Chosen on simulated sheets: none without a slip came to 1."""

_MOST = 4  # parts too many or too few that are tried
_TRIED = 3  # squares that agree least with the others


@dataclass(frozen=True)
class Mismeasured:
    """Parts of a square that were likely not as the sheet says.

    Attributes
    ----------
    square : its number, from 1
    pile : what was mismeasured, by name
    parts : too many, or, below zero, too few
    same : other slips that make the very same mix, in words
    """

    square: int
    pile: str
    parts: int
    same: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"square {self.square}: " + ", or ".join(
            [_in_words(self.pile, self.parts), *self.same]
        )


def _in_words(pile: str, parts: int) -> str:
    count = f"{abs(parts)} part{'s' if abs(parts) > 1 else ''} of {pile}"
    return f"{count} too {'many' if parts > 0 else 'few'}"


@dataclass(frozen=True, eq=False)
class Scored:
    """A sheet that was read, beside its prediction.

    Attributes
    ----------
    painted : what was read
    mismeasured : the part that was likely mismeasured; None if none stands out
    sheen : share of the surface's reflection that the camera saw, by the fit
    strength : how strong the first paint is beside the table's, by the fit (1 = as strong; ASTM
        D4838); None where it is not of one paint toward a white
    """

    painted: Painted
    mismeasured: Mismeasured | None
    sheen: float
    strength: float | None

    @property
    def label(self) -> str:
        """What the student is called: the name of the photo, and the number of the sheet."""
        number = self.painted.sheet.number
        return self.painted.path.stem + ("" if number is None else f", sheet {number}")

    @cached_property
    def lab(self) -> list[Array | None]:
        """CIELAB (3,) of each square as it was painted; None where it was not read."""
        return self.painted.lab(self.painted.sheet.start.view)

    @cached_property
    def misses(self) -> list[float | None]:
        """CIEDE2000 of each square from the prediction."""
        pairs = zip(self.lab, self.painted.sheet.lab, strict=True)
        return [None if lab is None else float(ciede2000(wanted, lab)) for lab, wanted in pairs]

    @cached_property
    def words(self) -> list[tuple[str, ...]]:
        """How each square looks beside the prediction."""
        pairs = zip(self.lab, self.painted.sheet.lab, strict=True)
        return [() if lab is None else beside(lab, wanted) for lab, wanted in pairs]

    @property
    def came_out(self) -> list[str]:
        """What most squares came out as beside the prediction: lighter, higher in chroma ..."""
        read = sum(lab is not None for lab in self.lab)
        counts: dict[str, int] = {}
        for word in (word for words in self.words for word in words):
            counts[word] = counts.get(word, 0) + 1
        return [word for word, n in sorted(counts.items(), key=lambda p: -p[1]) if 2 * n > read]

    @property
    def highest(self) -> int:
        """The square, from 0, that was painted highest in chroma."""
        chroma = [-1.0 if lab is None else math.hypot(*lab[1:]) for lab in self.lab]
        return int(np.argmax(chroma))

    @property
    def guessed(self) -> list[bool | None]:
        """Whether each guess is right by the prediction; None where none was made."""
        pairs = zip(self.painted.ticked, self.painted.sheet.guesses, strict=True)
        return [None if tick is None else tick in guess.right for tick, guess in pairs]


def score(painted: Painted) -> Scored:
    """Return a painted sheet beside its prediction, and what was likely mismeasured."""
    read = [i for i, square in enumerate(painted.squares) if square.lab is not None]
    with one_thread():
        found, solved = _mismeasured(painted, read, _model(painted, read, {}).solve())
    return Scored(painted, found, float(solved.model.sheen(solved.unknowns)),
                  _strength(painted.sheet, solved))  # fmt: skip


def _strength(sheet: Sheet, solved: SolvedCard) -> float | None:
    if not _lets_down(sheet):
        return None
    paint, white = sheet.start.paints[0], sheet.toward.paints[0]
    k, s = solved.model.curves(solved.unknowns)
    at = list(solved.model.priors).index(paint.id)
    return tinting_strength(replace(paint, K=k[at], S=s[at]), paint, white)


def _lets_down(sheet: Sheet) -> bool:
    """Return whether a sheet is of one paint toward a white."""
    piles = sheet.start.paints, sheet.toward.paints
    return all(len(pile) == 1 for pile in piles) and piles[1][0].is_white


def _model(painted: Painted, read: Sequence[int], parts: dict[int, tuple[int, int]]) -> CardModel:
    """Return the model of the squares that were read, some with other parts."""
    sheet = painted.sheet
    paints = {paint.id: paint for pile in (sheet.start, sheet.toward) for paint in pile.paints}
    white = next((id for id in reversed(paints) if paints[id].is_white), None)
    priors = {
        id: Prior.about(paint, A_WHITE if id == white else SAME_PIGMENT)
        for id, paint in paints.items()
    }
    swatches = [_swatch(painted, i, parts.get(i)) for i in read]
    return CardModel(swatches, priors, painted.white, sheet.start.paints[0].surface)


def _swatch(painted: Painted, i: int, parts: tuple[int, int] | None = None) -> Swatch:
    square = painted.squares[i]
    assert square.rgb is not None and square.lab is not None
    mixture = painted.sheet.mixture(*(parts or painted.sheet.parts[i]))
    return Swatch(str(mixture), mixture.parts, square.at, square.rgb, square.lab, square.spread)


def _mismeasured(
    painted: Painted, read: Sequence[int], solved: SolvedCard
) -> tuple[Mismeasured | None, SolvedCard]:
    """Return the change of whole parts in one square that explains all far better, and the fit."""
    sheet = painted.sheet
    distances = solved.cross_validated[1]
    mixed = [n for n, i in enumerate(read) if min(sheet.parts[i]) > 0]
    tried = sorted(mixed, key=lambda n: -distances[n])[:_TRIED]
    best, least = None, solved.unlikely - CLEARLY
    for i in (read[n] for n in tried):
        for changed in dict.fromkeys(_others(sheet.parts[i])):
            fit = _model(painted, read, {i: changed}).solve(12)
            if fit.unlikely < least - 1e-6:
                best, least, solved = (i, changed), fit.unlikely, fit
    if best is None:
        return None, solved
    i, (a, b) = best
    alike = [c for c in _others(sheet.parts[i]) if Fraction(*c) == Fraction(a, b)]
    alike.sort(key=lambda c: abs(sum(c) - sum(sheet.parts[i])))
    slips = [
        (name, now - was)
        for c in alike
        for name, now, was in zip(sheet.names, c, sheet.parts[i], strict=True) if now != was
    ]  # fmt: skip
    return Mismeasured(i + 1, *slips[0], tuple(_in_words(*one) for one in slips[1:])), solved


def _others(parts: tuple[int, int]) -> Iterator[tuple[int, int]]:
    a, b = parts
    for by in range(-_MOST, _MOST + 1):
        if by and a + by > 0:
            yield a + by, b
        if by and b + by > 0:
            yield a, b + by


def painted_tube(scored: Scored, table: PigmentTable, id: str) -> Paint:
    """Return the tube that was painted, its curves found as a swatch card's, under its own id.

    A square that was likely mismeasured is left out.

    Raises
    ------
    LessonError : if the sheet is not of one paint toward a white
    CardError : if the squares contradict one another
    """
    painted = scored.painted
    sheet = painted.sheet
    piles = sheet.start.paints, sheet.toward.paints
    if not _lets_down(sheet):
        raise LessonError("only a sheet of one paint toward a white shows a tube that can be kept")
    if not ID.fullmatch(id):
        raise LessonError(f"{id!r}: an id is lower-case words joined by hyphens, as my-blue")
    if id == piles[1][0].id:
        raise LessonError(f"{id} is the sheet's white; take another id")
    bad = None if scored.mismeasured is None else scored.mismeasured.square - 1
    swatches = []
    for i, square in enumerate(painted.squares):
        if square.lab is not None and i != bad:
            swatch, own = _swatch(painted, i), piles[0][0].id
            parts = {id if name == own else name: n for name, n in swatch.parts.items()}
            mixture = " + ".join(f"{n:g} {name}" for name, n in parts.items())
            swatches.append(replace(swatch, mixture=mixture, parts=parts))
    tubes = {id: piles[0][0].colour_index, piles[1][0].id: piles[1][0].colour_index}
    card = Card(painted.path, painted.path, tubes, tuple(swatches), painted.white, painted.light,
                (), painted.notes)  # fmt: skip
    return characterise_card(card, table).paints[0]
