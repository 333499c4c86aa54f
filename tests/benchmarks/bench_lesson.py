"""Painted sheets read from rendered photographs, and the part that was mismeasured. Run by hand.

    python tests/benchmarks/bench_lesson.py [COUNT] [--camera]

Each sheet: a paint of the table toward titanium white in seven squares, painted from a tube that
another maker might sell (load, shift, bend), at a sheen and with small slips of the knife at
random, and in one square two parts of one tube too many or too few, drawn at random among slips
that move its colour by 3 CIEDE2000 or more. Photographed by 12 megapixels aslant to 25 degrees,
turned, in a light of a cast, warm from one side, uneven; grain, JPEG 85. `--camera`: one that does
not see as the observer does. Invented data: no proof about paint.
"""

import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

import numpy as np

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.lesson import layout
from mixlab.lesson.reading import read_sheet
from mixlab.lesson.scoring import score
from mixlab.lesson.sheet import lesson_sheet
from mixlab.show.plots import lesson_sheet as drawing
from mixlab.show.plots import pages
from tests.lesson import photographs as making
from tests.measure.card import own_tube

TABLE = mixlab.read_table()
SATIN = mixlab.viewing(finish="satin")
PAINTS = ("ultramarine-blue", "yellow-ochre", "burnt-sienna", "viridian", "pyrrole-red",
          "cobalt-blue", "burnt-umber", "cadmium-yellow-medium", "raw-sienna",
          "phthalo-blue-green-shade")  # fmt: skip
SEEN = 3.0


def one_sheet(folder, number, colorimetric=True, slipped=True, size=(3000, 4000)):
    """What a photographed sheet was: the file, the sheet, its true CIELAB, and the slip."""
    random = np.random.default_rng(1000 + number)
    paint, white = TABLE[PAINTS[number % len(PAINTS)]], TABLE["titanium-white"]
    sheet = lesson_sheet(TABLE.mix(paint.id, SATIN), TABLE.mix(white.id, SATIN))
    page = folder / f"{paint.id}.png"
    if not page.exists():
        pages.save([drawing.lesson_sheet(sheet)], page)
    tube = own_tube(
        paint, paint.id, load=float(np.exp(random.normal(0, 0.3))),
        shift=float(random.normal(0, 2)), bend=float(random.normal(0, 0.1)),
    )  # fmt: skip
    sheen = float(random.uniform(0.3, 0.8))

    def mixed(a, b):
        return mixlab.Mixture(*zip(*[(p, n) for p, n in ((tube, a), (white, b)) if n], strict=True))

    parts = [list(p) for p in sheet.parts]
    slip = _slip(random, parts, mixed, sheen) if slipped else None
    if slip:
        square, at, by = slip
        parts[square][at] += by
    off = np.exp(random.normal(0, 0.03, len(parts)))
    mixtures = [mixed(a * o, b) for (a, b), o in zip(parts, off, strict=True)]
    ticked = [layout.ticks(row, len(guess.choices))[int(random.integers(len(guess.choices)))]
              for row, guess in enumerate(sheet.guesses)]  # fmt: skip
    painted = making.painted_page(
        making.grey_page(page), [layout.square(i) for i in range(sheet.steps)], mixtures, sheen,
        ticked, number,
    )  # fmt: skip
    scene = making.Scene(
        tilt=float(random.uniform(5, 25)), toward=float(random.uniform(0, 360)),
        turn=float(random.uniform(-12, 12)), cast=tuple(random.uniform(0.78, 1.0, 3)),
        slope=float(random.uniform(0.05, 0.25)), warm=float(random.uniform(0, 0.08)),
        exposure=float(random.uniform(0.6, 0.8)), orientation=int(random.choice([1, 3, 6])),
        colorimetric=colorimetric, seed=number, size=size, blur=0.7 * size[1] / 4000,
    )  # fmt: skip
    file = folder / f"student-{number}.jpg"
    making.photograph(painted, scene, file)
    truth = np.array([making.true_lab(mixture, sheen) for mixture in mixtures])
    return file, sheet, truth, slip, ticked


def _slip(random, parts, mixed, sheen):
    while True:
        square = int(random.choice([i for i, p in enumerate(parts) if min(p) > 0]))
        at, by = int(random.integers(2)), int(random.choice([-2, 2]))
        changed = list(parts[square])
        changed[at] += by
        if changed[at] < 1:
            continue
        labs = [making.true_lab(mixed(*p), sheen) for p in (parts[square], changed)]
        if ciede2000(*labs) >= SEEN:
            return square, at, by


def named(found, sheet, slip):
    """Whether a slip was named: its square, tube and parts, or one that makes the same mix."""
    if found is None or slip is None:
        return found is None and slip is None
    square, at, by = slip
    true, told = (list(sheet.parts[square]) for _ in range(2))
    true[at] += by
    told[sheet.names.index(found.pile)] += found.parts
    return found.square == square + 1 and Fraction(*true) == Fraction(*told)


def main():
    count = int(sys.argv[1]) if len(sys.argv) > 1 and sys.argv[1].isdigit() else 20
    observer = "--camera" not in sys.argv
    errors, right, false_alarms = [], 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(count):
            file, sheet, truth, slip, _ = one_sheet(Path(folder), number, observer)
            start = time.process_time()
            painted = read_sheet(file, TABLE, SATIN)
            read = time.process_time() - start
            scored = score(painted)
            took = time.process_time() - start
            assert painted.sheet.parts == sheet.parts
            seen = [s.lab for s in painted.squares]
            unread = sum(lab is None for lab in seen)
            off = [float(ciede2000(true, lab)) for true, lab in zip(truth, seen, strict=True)
                   if lab is not None]  # fmt: skip
            errors += off
            right += named(scored.mismeasured, sheet, slip)
            square, at, by = slip
            print(f"{number} {sheet.names[0]} {sheet.parts[square]}: square {square + 1}, {by:+d} "
                  f"{sheet.names[at]}; told {scored.mismeasured}; error {np.mean(off):.2f}, most "
                  f"{max(off):.2f}, unread {unread}; light {painted.light:.2f}, sheen "
                  f"{scored.sheen:.2f}; {read:.1f} + {took - read:.1f} s", flush=True)  # fmt: skip
        for number in range(100, 100 + count // 2):
            file, *_ = one_sheet(Path(folder), number, observer, slipped=False)
            found = score(read_sheet(file, TABLE, SATIN)).mismeasured
            false_alarms += found is not None
            print(number, "without a slip: told", found, flush=True)
    print(f"{count} sheets: mean {np.mean(errors):.2f}, most {max(errors):.2f} CIEDE2000; "
          f"{right} slips named; {false_alarms} told of {count // 2} without")  # fmt: skip


if __name__ == "__main__":
    main()
