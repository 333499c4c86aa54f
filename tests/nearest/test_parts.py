import numpy as np

from mixlab.nearest.parts import first_within, parts_around, rounded


def test_amounts_become_multiples_of_the_smallest_part():
    exact = [[0.05, 1.3], [2.4, 3.37]]
    assert rounded(exact, least=0).tolist() == [[0, 1], [2, 3]]
    assert rounded(exact, least=1).tolist() == [[1, 1], [2, 3]]
    assert rounded(exact, least=1, smallest=0.25).tolist() == [[0.25, 1.25], [2.5, 3.25]]


def test_around_are_all_ways_to_move_and_none_below_the_least():
    tried = parts_around([[1.1, 0.3]], 1, least=1, smallest=0.5)
    assert tried.shape == (1, 9, 2)
    by_hand = {(a, b) for a in (0.5, 1.0, 1.5) for b in (0.5, 1.0)}
    assert {tuple(map(float, way)) for way in tried[0]} == by_hand


def test_the_first_that_passes_else_the_nearest():
    misses = np.array([[3.0, 1.5, 0.2], [5.0, 2.5, 4.0]])
    assert first_within(misses, 2.0).tolist() == [1, 1]
    assert first_within(misses[0], 0.5) == 2
