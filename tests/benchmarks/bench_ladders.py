"""Ladders and reports: how long they take, against one mix at a time. Run by hand.

    python tests/benchmarks/bench_ladders.py
"""

import statistics
import time

import numpy as np
from scipy.optimize import minimize_scalar

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import lab_to_lch
from mixlab.mixing.ladders import Path, ladder
from mixlab.mixing.value_chroma import report

PAINTS, STEPS, RUNS = 40, 24, 7


def timed(work):
    """Return the median seconds of `work` over some runs, after one to warm up."""
    work()
    seconds = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - begun)
    return statistics.median(seconds), min(seconds), max(seconds)


def main():
    """Print the figures."""
    table = mixlab.read_table()
    white = table.mix("1 titanium-white")
    paints = [paint.id for paint in table if not paint.is_white]
    starts = [table.mix({paints[i % len(paints)]: 1}) for i in range(PAINTS)]

    def ladders():
        for start in starts:
            made = ladder(start, white, STEPS)
            _ = made.lab, made.munsell, made.drift, made.contrast_ratio, made.hex, made.in_gamut

    def whole():
        for start in starts:
            _ = ladder(start, white, STEPS).whole

    def reports():
        for start in starts:
            report(start, white)

    def one_at_a_time():
        """Find four peaks with scipy's bounded search from many starts, a mix at a time."""
        for start in starts[:4]:
            path = Path(start, white)
            for left in np.linspace(0, 0.9, 10):
                minimize_scalar(
                    lambda t, path=path: -float(lab_to_lch(path.mixture(float(t)).lab)[1]),
                    bounds=(left, left + 0.1), method="bounded",
                )  # fmt: skip

    for name, work in (
        (f"{PAINTS} ladders of {STEPS} steps", ladders),
        ("their whole parts", whole),
        (f"{PAINTS} value/chroma reports", reports),
    ):
        median, least, most = timed(work)
        print(f"{name}: {1000 * median:.0f} ms ({1000 * least:.0f}-{1000 * most:.0f})")
    ours, theirs = timed(reports)[0] / PAINTS, timed(one_at_a_time)[0] / 4
    print(f"a peak by scipy's bounded search, one mix at a time / a whole report: "
          f"{theirs / ours:.1f}")  # fmt: skip

    worst = max(
        float(np.ptp(np.diff(ladder(start, white, STEPS).munsell[:, 1]))) for start in starts
    )
    chords = ladder(starts[0], white, STEPS, "difference").lab
    apart = ciede2000(chords[1:], chords[:-1])
    print(f"steps even in value to {worst:.4f}, in CIEDE2000 to {np.ptp(apart):.4f}")


if __name__ == "__main__":
    main()
