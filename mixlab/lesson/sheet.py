"""The sheet that a class paints: squares, the parts to mix, and what is guessed beforehand.

What stands on a sheet follows from its code, a line of text that it bears as a QR code (ISO/IEC
18004): ``mixlab sheet 1|1 ultramarine-blue|1 titanium-white|1:0 1:1 0:1|3``, the two piles, parts
of each in every square and, where sheets are numbered, the number.
"""

import re
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, lab_to_lch, lab_to_munsell
from mixlab.errors import LessonError
from mixlab.lesson import layout
from mixlab.mixing.ladders import NEUTRAL, Path, ladder
from mixlab.paint.mixtures import Mixture, together
from mixlab.paint.tables import PigmentTable

HEAD = "mixlab sheet 1"
PARTS = 24
"""Greatest total of parts of a square, unless told: more are not measured with a knife."""

MOST_COPIES = 60
ANY_SQUARE = 1.0
"""Squares whose C* lies this near to the highest are right answers as well."""
NEAR_VALUE = 0.75  # of the guessed Munsell value
TURNS = 2.5  # Munsell hue steps, of a hundred in the circle, from which on a hue turns
LONGEST = 150  # characters of a code: more make modules too small for a telephone

_FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
_HUES = ("red", "orange", "yellow", "yellow green", "green", "blue green", "blue", "blue violet",
         "purple", "red violet")  # fmt: skip


@dataclass(frozen=True, eq=False)
class Guess:
    """A question of the sheet.

    Attributes
    ----------
    question : as it is printed
    choices : the words beside the boxes
    right : which boxes are right by the prediction
    """

    question: str
    choices: tuple[str, ...]
    right: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Sheet:
    """A sheet: two piles, and parts of each in every square.

    Attributes
    ----------
    start, toward : the two piles
    parts : (start, toward) of each square
    number : of the sheet, from 1; None where sheets are not numbered
    """

    start: Mixture
    toward: Mixture
    parts: tuple[tuple[int, int], ...]
    number: int | None = None

    @property
    def steps(self) -> int:
        """How many squares."""
        return len(self.parts)

    @cached_property
    def code(self) -> str:
        """What the sheet bears to be known again."""
        squares = " ".join(f"{a}:{b}" for a, b in self.parts)
        number = [] if self.number is None else [str(self.number)]
        return "|".join([HEAD, str(self.start), str(self.toward), squares, *number])

    @property
    def names(self) -> tuple[str, str]:
        """What the two piles are called: the paint, or "pile A", "pile B"."""
        one, other = (
            pile.paints[0].id if len(pile.paints) == 1 else f"pile {letter}"
            for pile, letter in ((self.start, "A"), (self.toward, "B"))
        )
        return one, other

    def mixture(self, start: float, toward: float) -> Mixture:
        """Return so many parts of the two piles."""
        piles = ((start, self.start), (toward, self.toward))
        return together(
            ((paint, n * share) for n, pile in piles
             for paint, share in zip(pile.paints, pile.shares.values(), strict=True)),
            self.start.view,
        )  # fmt: skip

    @cached_property
    def mixtures(self) -> tuple[Mixture, ...]:
        """What is in each square."""
        return tuple(self.mixture(*parts) for parts in self.parts)

    @cached_property
    def lab(self) -> Array:
        """CIELAB (n, 3) that is predicted."""
        return np.array([mixture.lab for mixture in self.mixtures])

    @cached_property
    def munsell(self) -> Array:
        """Munsell hue number, value and chroma (n, 3) that are predicted."""
        return lab_to_munsell(self.lab, self.start.view)

    @cached_property
    def guesses(self) -> tuple[Guess, ...]:
        """What is to be guessed before anything is mixed."""
        chroma = lab_to_lch(self.lab)[:, 1]
        best = tuple(int(i) for i in np.flatnonzero(chroma > chroma.max() - ANY_SQUARE))
        squares = tuple(str(i + 1) for i in range(self.steps))
        made = [Guess("In which square will chroma be highest, the colour farthest from grey?",
                      squares, best)]  # fmt: skip
        at = self.steps // 2
        values = np.arange(1, 10)
        off = np.abs(values - self.munsell[at, 1])
        near = np.flatnonzero(off <= max(NEAR_VALUE, off.min()))
        made.append(Guess(
            f"How light will square {at + 1} be, in Munsell value: 1 nearly black, 9 nearly white?",
            tuple(map(str, values)), tuple(map(int, near)),
        ))  # fmt: skip
        if min(chroma[0], chroma[-2]) > 2 * NEUTRAL:
            made.append(self._of_hue())
        return tuple(made)

    def _of_hue(self) -> Guess:
        family = int(self.munsell[0, 0] % 100 // 10)
        before, after = (_HUES[(family + by) % 10] for by in (-1, 1))
        turn = (self.munsell[-2, 0] - self.munsell[0, 0] + 50) % 100 - 50
        right = 1 if abs(turn) < TURNS else 0 if turn < 0 else 2
        return Guess(
            f"Square {self.steps - 1} beside square 1: which way will its hue turn?",
            (f"toward {before}", "hardly", f"toward {after}"), (right,),
        )  # fmt: skip


def lesson_sheet(
    start: Mixture, toward: Mixture, steps: int = 7, even: str = "value", parts: int = PARTS
) -> Sheet:
    """Return the sheet of a ladder in whole parts.

    Raises
    ------
    LadderError : if there is no such ladder
    LessonError : if a page does not hold it, or whole parts make two of its squares alike
    """
    if not layout.LEAST <= steps <= layout.MOST:
        raise LessonError(
            f"{steps} squares: a sheet holds from {layout.LEAST} to {layout.MOST}"
        )
    made = ladder(start, toward, steps, even, parts)
    sheet = Sheet(start, toward, tuple((one.start, one.toward) for one in made.whole))
    shares = {b / (a + b) for a, b in sheet.parts}
    if len(shares) < steps:
        raise LessonError(
            f"with at most {parts} parts two of {steps} squares are one mix; "
            "allow more (--parts), or fewer squares (--steps)"
        )
    if len(sheet.code) > LONGEST:
        raise LessonError(
            f"the two piles take {len(sheet.code)} characters to write, and a sheet's code holds "
            f"{LONGEST}; take fewer tubes"
        )
    return sheet


def numbered(sheet: Sheet, copies: int) -> list[Sheet]:
    """Return the sheet as often as a class needs it, numbered from 1 if there are several."""
    if not 1 <= copies <= MOST_COPIES:
        raise LessonError(f"{copies} copies: from 1 to {MOST_COPIES} are drawn at a time")
    return [sheet] if copies == 1 else [replace(sheet, number=i + 1) for i in range(copies)]


def sheet_of(code: str, table: PigmentTable, view: Viewing) -> Sheet:
    """Return the sheet of a code, its piles from a table.

    Raises
    ------
    LessonError : if it is no code of a sheet
    NotationError : if the table lacks one of its paints
    """
    head, *rest = code.strip().split("|")
    fields = re.fullmatch(r"(\d+:\d+(?: \d+:\d+)*)", rest[2]) if len(rest) in (3, 4) else None
    number = rest[3] if len(rest) == 4 else "1"
    if head != HEAD or fields is None or not re.fullmatch(r"[1-9]\d{0,3}", number):
        raise LessonError(
            f"{code[:60]!r} is not the code of a sheet, as \"{HEAD}|1 ultramarine-blue|"
            '1 titanium-white|1:0 1:1 0:1"'
        )
    parts = tuple((int(a), int(b)) for a, b in (p.split(":") for p in fields[1].split()))
    right = layout.LEAST <= len(parts) <= layout.MOST and all(0 < a + b <= 2000 for a, b in parts)
    if not right:
        raise LessonError(
            f"{code[:60]!r}: a sheet has from {layout.LEAST} to {layout.MOST} squares, each of "
            "parts such as 1:4"
        )
    start, toward = (table.mix(text, view) for text in rest[:2])
    Path(start, toward)  # refuses piles that are one and the same, or cannot be mixed
    return Sheet(start, toward, parts, int(number) if len(rest) == 4 else None)
