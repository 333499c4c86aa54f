"""The lattice: time and memory to build it, and recipes for 100,000 colours.

Run by hand: python tests/benchmarks/bench_lattice.py

The general-purpose way is brute force: CIEDE2000 from a colour to every mix of the lattice, timed
on a few colours and scaled.
"""

import resource
import time

import numpy as np

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import rgb_to_lab, viewing
from mixlab.nearest.medium import Medium
from mixlab.nearest.whole import Lattice

SOME = 200  # colours asked by brute force


def main() -> None:
    palette = mixlab.read_palette("studio")
    medium = Medium(palette.K, palette.S, palette.paints[0].surface, viewing())
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    start = time.perf_counter()
    lattice = Lattice(medium)
    built = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"lattice of {len(lattice)} mixes: {built:.2f} s, peak {peak:.0f} MB "
          f"(the interpreter and numpy: {before:.0f} MB)")

    rng = np.random.default_rng(0)
    colours = {
        "100,000 distinct sRGB colours": rgb_to_lab(rng.random((100_000, 3)) ** 2.2, viewing()),
        "100,000 mixes of the palette": medium.lab(rng.dirichlet(np.full(12, 0.3), 100_000)),
    }
    mixlab.find_recipes([[50, 0, 0]], palette)
    for name, labs in colours.items():
        start = time.perf_counter()
        many = mixlab.find_recipes(labs, palette)
        taken = time.perf_counter() - start
        every = np.vstack([lattice.lab(n) for n in range(1, lattice.tubes + 1)])
        start = time.perf_counter()
        least = np.array([ciede2000(lab, every).min() for lab in labs[:SOME]])
        brute = (time.perf_counter() - start) / SOME * len(labs)
        print(f"{name}: {taken:.2f} s, {many.within_tolerance.mean():.0%} within tolerance; "
              f"brute force would take {brute:.0f} s, ratio {brute / taken:.0f}")
        far = least > 2
        if far.any():
            over = (lattice.nearest_of_all(labs[:SOME])[2] - least)[far]
            print(f"  out of reach the nearest is the very nearest in {np.mean(over < 1e-9):.1%}, "
                  f"{over.mean():.3f} off in the mean, {over.max():.2f} at most")


if __name__ == "__main__":
    main()
