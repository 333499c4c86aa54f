"""The reach: time of the body, its edge, its chips, and of each tube; how sure they are.

Run by hand: PYTHONPATH=. python tests/benchmarks/bench_reach.py [mixes]

With "mixes", only how many of 20,000 fresh mixes of each palette are found, gloss and matt.

The general-purpose way to a volume is a hull; to the nearest mix, the exact search of recipes, one
colour at a time.
"""

import sys
import time

import numpy as np
from scipy.spatial import ConvexHull

import mixlab
from mixlab.colour.spaces import lab_to_lch, viewing
from mixlab.nearest.exact import Search
from mixlab.nearest.many import Seeds
from mixlab.nearest.medium import Medium, medium_of
from mixlab.nearest.sets import all_subsets
from mixlab.palette.coverage import coverage, each_tube
from mixlab.palette.reach import Reach, reach
from mixlab.targets.standards import munsell_chips
from tests.palette.cases import fresh_mixes


def found(name: str, finish: str) -> None:
    """Print how many of 20,000 random mixes the search for the nearest misses."""
    medium = medium_of(mixlab.read_palette(name), viewing(finish=finish))
    labs = medium.lab(fresh_mixes(medium.pull, 20_000, time.time_ns()))
    seeds, start = Seeds.of(medium, None), time.process_time()
    miss = seeds.nearest(labs)[2]
    print(f"{name}, {finish}: {len(labs)} fresh mixes in {time.process_time() - start:.1f} s of "
          f"processor; {(miss > 0.05).sum()} more than 0.05 off, {(miss > 0.5).sum()} more than "
          f"0.5, the worst {miss.max():.2f}", flush=True)  # fmt: skip


def main() -> None:
    for name in mixlab.palette_names():
        for finish in ("gloss", "matt"):
            found(name, finish)
    if sys.argv[1:] == ["mixes"]:
        return
    chips = munsell_chips()
    for name in mixlab.palette_names():
        start = time.perf_counter()
        made = reach(mixlab.read_palette(name))
        taken = time.perf_counter() - start
        hull = ConvexHull(made.seeds.lab).volume
        print(f"{name}, {len(made.palette)} tubes: {taken:.1f} s; volume {made.volume:.0f} "
              f"+/- {made.volume_error:.0f}, dents {100 * (1 - made.filled):.2f} %; "
              f"a hull says {hull / made.volume:.2f} times as much")
        start = time.perf_counter()
        told = coverage(made, chips)
        print(f"  {len(chips)} chips: {time.perf_counter() - start:.1f} s, "
              f"{told.within_tolerance.sum()} within 2")
        monte_carlo(made)
    studio = reach(mixlab.read_palette("studio"))
    exactness(studio)
    start = time.perf_counter()
    each_tube(coverage(studio, chips))
    print(f"studio, each tube: {time.perf_counter() - start:.1f} s")


def monte_carlo(made: Reach) -> None:
    """Print how far random mixes of all tubes lie beyond the edge, and how many are missed."""
    rng = np.random.default_rng(0)
    n, pull = len(made.palette), made.seeds.medium.pull
    shares = np.concatenate([rng.dirichlet(np.full(n, a), 2500) for a in (0.05, 0.15, 0.4, 1.0)])
    labs = made.seeds.medium.lab(np.concatenate([shares, shares / pull]))
    lightness, chroma, hue = lab_to_lch(labs).T
    beyond = chroma - made.greatest_chroma(lightness, hue).chroma
    miss = made.nearest(labs)[2]
    print(f"  {len(labs)} random mixes: beyond the edge by at most {np.nanmax(beyond):.2f} C*, "
          f"{np.isnan(beyond).sum()} where it has none; nearest mix within 0.05 in "
          f"{100 * (miss < 0.05).mean():.2f} %, worst {miss.max():.2f}")


def exactness(made: Reach) -> None:
    """Print how near the nearest mix comes to that of the exact search, in and out of reach."""
    medium = Medium(made.palette.K, made.palette.S, made.palette.paints[0].surface, viewing())
    search, seeds = Search(medium, all_subsets(len(made.palette), 4)), Seeds.of(medium, 4)
    rng = np.random.default_rng(1)
    labs = np.stack(
        [rng.uniform(20, 95, 300), rng.uniform(-70, 70, 300), rng.uniform(-70, 90, 300)], axis=1
    )
    start = time.perf_counter()
    exact = np.array([min(f.miss.min() for f in search.solve(lab)) for lab in labs])
    one_by_one = time.perf_counter() - start
    start = time.perf_counter()
    miss = seeds.nearest(labs)[2]
    taken = time.perf_counter() - start
    off = miss - exact
    flips = ((miss <= 2) != (exact <= 2)).sum()
    print(f"300 colours all over: {one_by_one:.1f} s by the exact search, {taken:.2f} s here; off "
          f"by 0.05 or more in {100 * (off > 0.05).mean():.1f} %, at most {off.max():.2f}; "
          f"{flips} of 300 change sides of 2 CIEDE2000")


if __name__ == "__main__":
    main()
