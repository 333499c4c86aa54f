"""Percent or fraction: the numbers of a file to reflectance 0..1."""


from dataclasses import replace
from pathlib import Path

import numpy as np

from mixlab.errors import ReadingError
from mixlab.measure.readings.curves import Curve, count, listed
from mixlab.text import shown

GREATEST = 1.5
"""Greatest reflectance that can be: whites read above 1, by fluorescence or by calibration."""

NOISE = 0.005  # how far below zero a reading of a dark film may lie, and is taken as zero


def scaled(file: Path, curves: list[Curve]) -> tuple[list[Curve], list[str]]:
    """Return the curves as fractions 0..1, and how the file's numbers were taken.

    Where the file does not say what a perfect reflector reads, it is 100 if at least half of the
    readings reach above 1.5 with their third greatest value (one or two may be mistyped), else 1.
    """
    unsaid = [curve for curve in curves if curve.full is None]
    guess, notes = 1.0, []
    if unsaid:
        dark = [c.where for c in unsaid if np.sort(c.values)[-3] <= GREATEST]
        guess = 100.0 if 2 * len(dark) <= len(unsaid) else 1.0
        greatest = max(float(curve.values.max()) for curve in unsaid)
        word = "percent" if guess == 100 else "fractions of 1"
        notes.append(f"taken as {word} (the greatest number is {greatest:g})")
        if guess == 100 and dark:
            notes.append(
                f"darker than {GREATEST:g} % throughout, if they are percent too: {listed(dark)}"
            )
    for full in sorted({curve.full for curve in curves if curve.full is not None}):
        notes.append(f"reflectance is on the scale 0..{full:g}, as the file says")
    found, below, bright = [], 0, 0
    for curve in curves:
        full = curve.full or guess
        r = curve.values / full
        wrong = ~((r >= -NOISE) & (r <= GREATEST))
        if wrong.any():
            at = int(np.argmax(wrong))
            unlike = curve.full is None and full == 1 and r[at] > GREATEST
            raise ReadingError(
                f"{file}, {curve.where}, column {shown(curve.columns[at])}: {curve.values[at]:g} "
                f"is not between 0 and {GREATEST * full:g}"
                + ("; most readings here are fractions: if these are percent, write 85%"
                   if unlike else "")
            )  # fmt: skip
        below += bool((r < 0).any())
        bright += bool((r > 1).any())
        found.append(replace(curve, values=np.maximum(r, 0)))
    if below:
        notes.append(f"{count(below, 'reading')} a little below zero, taken as zero there")
    if bright:
        notes.append(f"{count(bright, 'reading')} above a perfect reflector, kept as written")
    return found, notes
