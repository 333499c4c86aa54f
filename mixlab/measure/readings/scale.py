"""Percent or fraction: the numbers of a file to reflectance 0..1."""


from dataclasses import replace
from pathlib import Path

import numpy as np

from mixlab.errors import ReadingError
from mixlab.measure.readings.curves import Curve, count, listed, shown

GREATEST = 1.5
"""Greatest reflectance that can be: whites read above 1, by fluorescence or by calibration."""

NOISE = 0.005
"""How far below zero a reading of a dark film may lie, and is taken as zero."""


def _level(curve: Curve) -> float:
    """Return the third greatest value: the level of a reading whose one or two are mistyped."""
    return float(np.sort(curve.values)[-3])


def scaled(file: Path, curves: list[Curve]) -> tuple[list[Curve], list[str]]:
    """Return the curves as fractions 0..1, and how the file's numbers were taken.

    Where the file does not say what a perfect reflector reads, it is 100 if at least half of the
    readings reach above 1.5, else 1.
    """
    open_ = [curve for curve in curves if curve.full is None]
    guess, notes = 1.0, []
    if open_:
        above = sum(_level(curve) > GREATEST for curve in open_)
        guess = 100.0 if 2 * above >= len(open_) else 1.0
        greatest = max(float(curve.values.max()) for curve in open_)
        word = "percent" if guess == 100 else "fractions of 1"
        notes.append(f"taken as {word} (the greatest number is {greatest:g})")
        dark = [curve.where for curve in open_ if _level(curve) <= GREATEST]
        if guess == 100 and dark:
            notes.append(
                f"darker than {GREATEST:g} % throughout, if they are percent too: {listed(dark)}"
            )
    for full in sorted({curve.full for curve in curves if curve.full is not None}):
        notes.append(f"reflectance is on the scale 0..{full:g}, as the file says")
    scaled, below, bright = [], 0, 0
    for curve in curves:
        full = curve.full or guess
        r = curve.values / full
        wrong = ~((r >= -NOISE) & (r <= GREATEST))
        if wrong.any():
            at = int(np.argmax(wrong))
            hint = ""
            if curve.full is None and full == 1 and r[at] > GREATEST:
                hint = "; most readings here are fractions: if these are percent, write 85%"
            raise ReadingError(
                f"{file}, {curve.where}, column {shown(curve.columns[at])}: {curve.values[at]:g} "
                f"is not between 0 and {GREATEST * full:g}{hint}"
            )
        below += bool((r < 0).any())
        bright += bool((r > 1).any())
        scaled.append(replace(curve, values=np.maximum(r, 0)))
    if below:
        notes.append(f"{count(below, 'reading')} a little below zero, taken as zero there")
    if bright:
        notes.append(f"{count(bright, 'reading')} above a perfect reflector, kept as written")
    return scaled, notes
