"""The fewest tubes: time and memory, and equality with every set tried by scipy's SLSQP.

Run by hand: python tests/benchmarks/bench_fewest.py [cases, 50 by default] [processes, 2]

First 24 colours, 24 paints and three in a mix, in one process and in several. Then random cases of
8 paints and 6 targets in which a general-purpose method does the same: for every set of up to three
tubes a dense grid and, where that leaves it open, SLSQP; then every set of tubes tried, with
CIEDE2000 of colour-science (``tests/outside/test_fewest_reference.py``). Last, what one target
costs in larger catalogues, by which the time of a large task is told.
"""

import resource
import sys
import time
from pathlib import Path

import numpy as np

import mixlab
from mixlab.colour.spaces import viewing
from mixlab.nearest.medium import Medium, medium_of
from mixlab.palette.fewest import fewest_tubes
from mixlab.palette.small_sets import Kit, misses
from mixlab.palette.work import processes

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))


def peak() -> str:
    own, others = (resource.getrusage(who).ru_maxrss / 1024
                   for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))  # fmt: skip
    return f"peak memory {own:.0f} MB here, {others:.0f} MB in the largest other process"


def colours(paints: mixlab.Palette, n: int) -> np.ndarray:
    kit = Kit(medium_of(paints, viewing()), 3, 2.0)
    return kit.medium.lab(np.random.default_rng(1).dirichlet(np.full(len(paints), 0.15), n))


def twenty_four(table: mixlab.PigmentTable, jobs: int) -> None:
    paints = table.palette(table.ids[:24])
    labs = colours(paints, 24)
    told = []
    for number in (1, jobs):
        with processes(number) as executor:
            begun, used = time.perf_counter(), time.process_time()
            answer = fewest_tubes(labs, paints, executor=executor)
            told.append(answer.sets)
            print(f"24 colours, 24 paints, 3 in a mix, {number} process(es): "
                  f"{time.perf_counter() - begun:.1f} s ({time.process_time() - used:.1f} s of "
                  f"this one's processor); {answer.counted} tubes, proven {answer.proven}, "
                  f"{answer.compared} sets as small")
    same = [(s.tubes, s.mean_miss) for s in told[0]] == [(s.tubes, s.mean_miss) for s in told[1]]
    print(f"the same to the digit: {same}; {peak()}")


def cases(table: mixlab.PigmentTable, number: int) -> None:
    from test_fewest_reference import a_case, compared

    equal, missed, ours, theirs = 0, 0, 0.0, 0.0
    for seed in range(number):
        palette, labs = a_case(table, seed)
        begun = time.process_time()
        answer = fewest_tubes(labs, palette, sets=1000)
        ours += time.process_time() - begun
        begun = time.process_time()
        same, more = compared(answer, palette, labs)
        theirs += time.process_time() - begun
        equal += same
        missed += more
        if not same:
            print(f"case {seed} is not equal")
    print(f"{number} cases of 8 paints and 6 targets: {equal} equal; {missed} of the sets of the "
          "fewest were missed by SLSQP, and are right by their mixes")
    print(f"{ours / number:.2f} s of processor a case against {theirs / number:.2f} s, "
          f"ratio {theirs / ours:.1f}")


def larger(table: mixlab.PigmentTable) -> None:
    random = np.random.default_rng(2)
    for number in (24, 48, 120):
        # further paints as mixes of two of the table, so that none is like another
        pairs = random.dirichlet(np.full(len(table), 0.1), max(number - len(table), 0))
        k, s = (np.vstack([curves, pairs @ curves])[:number] for curves in (table.K, table.S))
        kit = Kit(Medium(k, s, table.paints[0].surface, viewing()), 3, 2.0)
        labs = kit.medium.lab(random.dirichlet(np.full(number, 0.1), 9))
        begun = time.process_time()
        misses((kit, labs[:1]))
        first = time.process_time() - begun
        begun = time.process_time()
        misses((kit, labs[1:]))
        rest = time.process_time() - begun
        print(f"{number} paints, {len(kit.subsets)} sets of up to 3: a piece of one target "
              f"{first:.1f} s of processor, of eight {rest:.1f} s; {peak()}")


def main() -> None:
    number, jobs = (int(sys.argv[i]) if len(sys.argv) > i else usual
                    for i, usual in ((1, 50), (2, 2)))  # fmt: skip
    table = mixlab.read_table()
    twenty_four(table, jobs)
    cases(table, number)
    larger(table)


if __name__ == "__main__":
    main()
