"""What is said to a student of a painted sheet, in sentences: on the page and in the terminal."""

from fractions import Fraction

import numpy as np

from mixlab.colour.difference import TOLERANCE
from mixlab.colour.spaces import lab_to_munsell
from mixlab.lesson.scoring import Scored

PREDICTS = (
    f"A miss is how far a square lies from the prediction [CIEDE2000]; one of up to {TOLERANCE:g} "
    "passes for the colour itself."
)
_ALIKE = 0.15  # logarithm of a strength that is not told: as strong, as far as a sheet says


def came_out(scored: Scored) -> list[str]:
    """Return how the squares came out beside the prediction, and what is to be known of them."""
    misses = [-1.0 if miss is None else miss for miss in scored.misses]
    read = sum(miss >= 0 for miss in misses)
    hits = sum(0 <= miss <= TOLERANCE for miss in misses)
    said = f"{hits} of {read} squares came out as predicted."
    if words := " and ".join(scored.came_out):
        said += f" Most are {words} than predicted."
    worst = int(np.argmax(misses))
    if misses[worst] > TOLERANCE:
        looks = ", ".join(scored.words[worst]) or "off"
        said += f" Farthest off is square {worst + 1}: {looks}, miss {misses[worst]:.1f}."
    squares = enumerate(scored.painted.squares, start=1)
    notes = [f"Square {i}: {square.note}." for i, square in squares if square.note]
    return [said, *notes]


def guesses(scored: Scored) -> list[str]:
    """Return each guess beside what is predicted and what was painted."""
    lines = []
    sheet = scored.painted.sheet
    for i, (guess, tick, right) in enumerate(
        zip(sheet.guesses, scored.painted.ticked, scored.guessed, strict=True)
    ):
        said = "No box was read" if tick is None else f"You said {guess.choices[tick]}"
        best = " or ".join(guess.choices[n] for n in guess.right)
        line = f"{guess.question} {said}: {'right' if right else f'the prediction says {best}'}"
        middle = scored.lab[sheet.steps // 2]
        if i == 0:
            line += f"; you painted it highest in {scored.highest + 1}"
        elif i == 1 and middle is not None:
            line += f"; you painted it {lab_to_munsell(middle, sheet.start.view)[1]:.1f}"
        lines.append(line + ".")
    return lines


def next_time(scored: Scored) -> list[str]:
    """Return what is to be done better: the square that is to be mixed again, and the strength."""
    sheet, found, said = scored.painted.sheet, scored.mismeasured, []
    if found is None:
        said.append("The squares agree with one another: no part stands out as mismeasured.")
    else:
        both = zip(sheet.parts[found.square - 1], sheet.names, strict=True)
        parts = " to ".join(f"{n} {name}" for n, name in both)
        said.append(f"Likely mismeasured, {found}. With that, all squares agree best. Mix it "
                    f"again, {parts}, and lay it beside.")  # fmt: skip
    strength, slip = scored.strength, 0 if found is None else found.square
    off = any(miss is not None and miss > TOLERANCE
              for i, miss in enumerate(scored.misses, start=1) if i != slip)  # fmt: skip
    if off and strength and abs(np.log(strength)) > _ALIKE:
        share = Fraction(1 / strength).limit_denominator(4)
        parts = f"{share.numerator} part{'s' if share.numerator > 1 else ''}"
        size = "larger" if strength > 1 else "smaller"
        said.append(
            f"By all squares together your {sheet.names[0]} is about {strength:.2g} times as "
            f"strong as the table's, or its parts were so much {size}. To hit the prediction take "
            f"{parts} of it where the sheet says {share.denominator}."
        )
    return said
