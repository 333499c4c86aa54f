"""The exact search against scipy's SLSQP over all subsets, in one process.

Run by hand: python tests/benchmarks/bench_search.py [number of targets, 3 by default]

SLSQP minimises CIEDE2000 over the shares of each of the 793 subsets of one to four of the studio
palette's twelve tubes, from equal effect, with its own finite differences: what one would write
with a general-purpose method. Its best over all subsets is compared with the search's, by count.
"""

import sys
import time

import numpy as np
from scipy.optimize import minimize

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import viewing
from mixlab.nearest.exact import Search
from mixlab.nearest.medium import Medium
from mixlab.nearest.sets import all_subsets


def slsqp(medium: Medium, subset: np.ndarray, target: np.ndarray) -> float:
    """Return the least miss that SLSQP finds for one subset."""

    def miss(shares: np.ndarray) -> float:
        full = np.zeros(len(medium.k))
        full[subset] = np.maximum(shares, 1e-9)
        return float(ciede2000(target, medium.lab(full)))

    start = 1 / medium.pull[subset]
    start /= start.sum()
    if len(subset) == 1:
        return miss(start)
    total = {"type": "eq", "fun": lambda shares: shares.sum() - 1}
    bounds = [(0, 1)] * len(subset)
    return float(minimize(miss, start, method="SLSQP", bounds=bounds, constraints=total).fun)


def main() -> None:
    palette = mixlab.read_palette("studio")
    medium = Medium(palette.K, palette.S, palette.paints[0].surface, viewing())
    subsets = all_subsets(len(palette), 4)
    start = time.perf_counter()
    search = Search(medium, subsets)
    print(f"laying out {sum(map(len, subsets))} subsets: {time.perf_counter() - start:.3f} s, once")
    rng = np.random.default_rng(1)
    targets = medium.lab(rng.dirichlet(np.full(12, 0.4), 200))
    targets[1::2] += rng.normal(0, 15, targets[1::2].shape)
    search.solve(targets[0])
    times = []
    for target in targets:
        start = time.perf_counter()
        search.solve(target)
        times.append(time.perf_counter() - start)
    quarter, median, three = np.percentile(times, [25, 50, 75]) * 1000
    print(f"search, {len(targets)} targets: median {median:.1f} ms ({quarter:.1f}-{three:.1f})")
    mixlab.find_recipe(targets[0], palette)
    times = []
    for target in targets[::2]:
        start = time.perf_counter()
        mixlab.find_recipe(target, palette)
        times.append(time.perf_counter() - start)
    quarter, median, three = np.percentile(times, [25, 50, 75]) * 1000
    print(f"find_recipe, whole parts and alternatives too: median {median:.1f} ms "
          f"({quarter:.1f}-{three:.1f})")

    for target in targets[: int(sys.argv[1]) if len(sys.argv) > 1 else 3]:
        start = time.perf_counter()
        found = search.solve(target)
        ours = time.perf_counter() - start
        start = time.perf_counter()
        general = [min(slsqp(medium, s, target) for s in of_size) for of_size in subsets]
        theirs = time.perf_counter() - start
        mine = np.minimum.accumulate([f.miss.min() for f in found])
        worse = (mine - np.minimum.accumulate(general)).max()
        print(f"target {target.round(1)}: search {ours * 1000:.1f} ms, SLSQP {theirs:.1f} s, "
              f"ratio {theirs / ours:.0f}; search worse by at most {max(worse, 0):.4f}")


if __name__ == "__main__":
    main()
