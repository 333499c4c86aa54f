"""Piles that grow: each child recomputed, the tree against brute force, amounts that cover."""

import itertools
import re

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import TOLERANCE, ciede2000
from mixlab.colour.spaces import lab_to_value
from mixlab.errors import PhotoError, SearchError
from mixlab.nearest.medium import medium_of
from mixlab.picture import growth
from mixlab.picture.amounts import SMALLEST, WASTE, amounts_of, left_over
from mixlab.picture.growth import MOST_ADDED, additions
from mixlab.picture.piles import grow
from mixlab.picture.tree import SWAPPED, TOO_MANY, Forest, cheapest

VIEW = mixlab.viewing()
TUBES = mixlab.read_palette("mill-pond").table.palette(
    ["titanium-white", "yellow-ochre", "pyrrole-red", "ultramarine-blue"]
)
# eight passages of the bundled picture, dark to light: a pond to a sky
WANTED = np.array([
    [26.2, 8.7, 8.2], [31.3, 11.6, 9.5], [42.5, 14.5, 24.8], [46.2, 3.3, 29.6],
    [55.5, 12.3, 37.5], [58.0, 26.0, 24.0], [84.8, 2.3, 24.8], [87.2, -0.9, 10.2],
])  # fmt: skip
LIGHT = [False] * 4 + [True] * 4


@pytest.fixture(scope="module")
def made():
    return grow(WANTED, TUBES, VIEW, light=LIGHT, tolerance=3.0)


def kubelka_munk(parts):
    """CIELAB of parts by paint: the optics written out anew, for glossy paint.

    K and S add up by parts (Duncan 1940); a layer that hides (Kubelka 1948); the surface
    (Saunderson 1942), of whose own reflection the eye gets 5 %; CIE 15 for the rest.
    """
    paints = {id: TUBES[id] for id in parts}
    k = sum(n * paints[id].K for id, n in parts.items())
    s = sum(n * paints[id].S for id, n in parts.items())
    r = 1 + k / s - np.sqrt((k / s) ** 2 + 2 * k / s)
    surface = paints[next(iter(parts))].surface
    k1, k2 = surface.outside, surface.inside
    seen = (1 - k1) * (1 - k2) * r / (1 - k2 * r) + 0.05 * k1
    x, y, z = seen @ VIEW.weights / VIEW.white
    fx, fy, fz = (t ** (1 / 3) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116
                  for t in (x, y, z))  # fmt: skip
    return np.array([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)])


def whole(piles, mass):
    """Parts by paint of a pile, out of its parent's and what is added, as a reader would."""
    pile = piles.piles[mass]
    parts = dict(pile.add)
    if pile.parent is not None:
        before = whole(piles, pile.parent)
        total = sum(before.values())
        for id, n in before.items():
            parts[id] = parts.get(id, 0.0) + pile.from_parts * n / total
    return parts


def test_every_child_is_its_parent_and_what_is_added(made):
    for mass, pile in enumerate(made.piles):
        lab = kubelka_munk(whole(made, mass))
        assert ciede2000(lab, pile.lab) < 0.01
        assert ciede2000(kubelka_munk(pile.mixture.parts), pile.lab) < 0.01
        assert ciede2000(WANTED[mass], lab) == pytest.approx(pile.miss, abs=0.01)


def test_the_rules_of_a_tree_hold(made):
    assert made.amiss == 0 and made.proven and made.bound == pytest.approx(made.cost, abs=1e-3)
    assert len(made.fresh) <= 3 and made.order_holds
    assert max(pile.miss for pile in made.piles) <= 3
    for pile in made.piles:
        if pile.parent is not None:
            assert 1 <= len(pile.add) <= 2 and pile.from_parts >= 1
            assert sum(pile.add.values()) <= MOST_ADDED * pile.from_parts
        assert all(n >= 0.25 and (4 * n) % 1 == 0 for n in pile.add.values())
    # each pile comes after the one that it grows out of, and each comes once
    place = {mass: i for i, mass in enumerate(made.mixing_order)}
    assert sorted(place) == list(range(8))
    for mass, pile in enumerate(made.piles):
        assert pile.parent is None or place[pile.parent] < place[mass]
    # shadows from a shadow, lights from a light
    assert all(LIGHT[i] == LIGHT[pile.parent] for i, pile in enumerate(made.piles)
               if pile.parent is not None)  # fmt: skip
    words = made.piles[made.mixing_order[1]].words([f"pile {i}" for i in range(8)])
    assert words.split(" + ")[0].split(" of ")[1].startswith("pile ")


def test_a_wider_search_gains_next_to_nothing(made, monkeypatch):
    monkeypatch.setattr(growth, "_PARENTS", 3 * growth._PARENTS)
    wider = grow(WANTED, TUBES, VIEW, light=LIGHT, tolerance=3.0)
    assert wider.candidates > 1.5 * made.candidates
    assert wider.cost <= made.cost + 1e-6 and wider.cost > made.cost - 2


def test_one_addition_of_each_proportion():
    table = additions(3)
    ratio = np.round(table.added / table.taken[:, None], 6)
    assert len(np.unique(ratio, axis=0)) == len(ratio)
    assert (table.added > 0).sum(axis=1).max() == 2
    assert (table.added.sum(axis=1) <= MOST_ADDED * table.taken).all()
    # of 2 of the pile + 2 and 1 of the pile + 1 the smaller stands
    one = (ratio == [1, 0, 0]).all(axis=1)
    assert table.taken[one].tolist() == [1] and table.added[one].tolist() == [[1, 0, 0]]


def test_a_pale_tint_takes_two_steps_that_come_to_its_parts():
    made = grow([[91.0, -1, -8]], TUBES, VIEW, light=[True])
    (pile,) = made.piles
    begun, then = re.fullmatch(r"first (.+); then 1 of that (\+ \d+ titanium-white)",
                               pile.words(["pile 1"])).groups()  # fmt: skip
    first = TUBES.mix(begun).shares
    whole = dict(first)
    whole["titanium-white"] = whole.get("titanium-white", 0.0) + float(then.split()[1])
    assert pile.miss <= TOLERANCE and pile.first
    assert ciede2000(kubelka_munk(whole), pile.lab) < 0.01
    assert ciede2000(kubelka_munk(pile.add), pile.lab) < 0.01


def test_colours_that_make_no_sense_are_refused():
    with pytest.raises(SearchError):
        grow([50, 0, 0], TUBES)


# --- the programme against brute force ----------------------------------------------------------


def some_forest(seed, masses=4):
    """A forest of candidates by chance, with parents before children."""
    random = np.random.default_rng(seed)
    mass, parent = [*range(masses), *random.integers(0, masses, masses)], [-1] * 2 * masses
    for _ in range(5 * masses):
        above = int(random.integers(0, len(mass)))
        own, up = int(random.integers(0, masses)), above
        while up >= 0 and mass[up] != own:
            up = parent[up]
        if up < 0:
            mass.append(own)
            parent.append(above)
    level = np.linspace(3, 5, masses)[np.array(mass)]
    return Forest(np.array(mass), np.array(parent), random.uniform(0, 9, len(mass)) + 5.0 * (
        np.array(parent) < 0), level + random.normal(0, 0.5, len(mass)))  # fmt: skip


def by_brute_force(forest, wanted, fresh):
    """The least that any choice costs: every one is tried, and those whose parents are in it."""
    order, best = np.argsort(wanted, kind="stable"), np.inf
    nodes = [np.flatnonzero(forest.mass == mass) for mass in range(forest.masses)]
    for chosen in itertools.product(*nodes):
        parents = forest.parent[list(chosen)]
        if not set(parents[parents >= 0].tolist()) <= set(map(int, chosen)):
            continue
        values, apart = forest.value[list(chosen)][order], np.diff(wanted[order])
        short = np.maximum(np.minimum(apart / 2, 0.05) - np.diff(values), 0)
        cost = forest.cost[list(chosen)].sum() + SWAPPED * ((short > 1e-9).sum() + short.sum())
        best = min(best, cost + TOO_MANY * max((parents < 0).sum() - fresh, 0))
    return best


@pytest.mark.parametrize("seed", range(12))
def test_the_programme_finds_what_brute_force_finds(seed):
    forest, wanted, fresh = some_forest(seed), np.array([3.0, 3.8, 4.0, 5.0]), 1 + seed % 3
    chosen = cheapest(forest, wanted, fresh, 20.0)
    assert chosen.proven
    assert chosen.cost == pytest.approx(by_brute_force(forest, wanted, fresh), abs=1e-3)
    assert forest.mass[chosen.of].tolist() == [0, 1, 2, 3]
    parents = forest.parent[chosen.of]
    assert set(parents[parents >= 0].tolist()) <= set(chosen.of.tolist())


def test_without_time_a_fresh_pile_each_is_better_than_nothing():
    forest = some_forest(1)
    chosen = cheapest(forest, np.array([3.0, 3.8, 4.0, 5.0]), 1, 0.0)
    assert chosen.cost >= chosen.bound and sorted(forest.mass[chosen.of]) == [0, 1, 2, 3]


def test_a_tree_of_three_against_all_trees():
    # three colours, two tubes: every fresh mix and every tree of them that the rules allow
    few = TUBES.table.palette(["titanium-white", "ultramarine-blue"])
    wanted = np.array([few.mix(parts).lab for parts in ("1 PW6 + 2 PB29", "1 PW6 + 1 PB29",
                                                        "2 PW6 + 1 PB29")])  # fmt: skip
    made = grow(wanted, few, VIEW, light=[True] * 3, tolerance=1.0)
    # one pile, and a tube to each of the others: 3 tubes for the first two, 1 for the last
    assert len(made.fresh) == 1 and made.amiss == 0
    table = additions(2)
    best = np.inf
    for root in range(3):
        # whole-part mixes of up to 12 parts within the tolerance, as the first pile
        for a, b in itertools.product(range(13), repeat=2):
            if not 0 < a + b <= 12 or np.gcd(a, b) != 1:
                continue
            lab = kubelka_munk_of(few, a, b)
            miss = float(ciede2000(wanted[root], lab))
            if miss > 1.0:
                continue
            own = growth.FRESH + (a > 0) + (b > 0) + growth.PER_PART * (a + b) + miss
            best = min(best, own + rest_of(few, wanted, {root: (a, b)}, table, 1.0))
    assert made.cost == pytest.approx(best, abs=0.01)


def kubelka_munk_of(few, a, b):
    return few.mix({id: n for id, n in zip(few.ids, (a, b), strict=True) if n}).lab


def rest_of(few, wanted, there, table, tolerance):
    """The least that the masses cost that are not there yet, grown out of those that are."""
    left = [mass for mass in range(len(wanted)) if mass not in there]
    if not left:
        return 0.0
    best = np.inf
    for mass, parent in itertools.product(left, there):
        a, b = there[parent]
        parts = table.taken[:, None] * np.array([a, b]) / (a + b) + table.added
        miss = ciede2000(wanted[mass], medium_of(few, VIEW).lab(parts))
        for i in np.flatnonzero(miss <= tolerance):
            cost = table.cost[i] + miss[i]
            strained = table.added[i, 1] > table.taken[i]
            if cost + growth.STRAINED * strained >= best:
                continue
            more = rest_of(few, wanted, there | {mass: tuple(parts[i])}, table, tolerance)
            best = min(best, cost + growth.STRAINED * strained + more)
    return best


# --- amounts ------------------------------------------------------------------------------------


def test_amounts_are_area_times_thickness_and_cover_the_children(made):
    shares = np.array([0.3, 0.1, 0.1, 0.1, 0.1, 0.05, 0.05, 0.2])
    amounts = amounts_of(made, shares, (30.0, 40.0), 0.15)
    # 1200 cm2 x 0.015 cm = 18 ml
    np.testing.assert_allclose(amounts.on_panel, 18 * shares)
    np.testing.assert_allclose(amounts.own, 18 * shares * (1 + WASTE))
    for mass, pile in enumerate(made.piles):
        taken = sum(amounts.ml[child] * made.piles[child].from_parts / made.piles[child].total
                    for child in made.children(mass))  # fmt: skip
        assert amounts.ml[mass] >= amounts.own[mass] + taken - 1e-9
        assert (amounts.ml[mass] - taken) * pile.smallest_share >= SMALLEST - 1e-9
    # what is squeezed out is what all piles hold, each tube once, and what is left of first mixes
    held = sum(amounts.ml[mass] * sum(pile.add.values()) / pile.total
               for mass, pile in enumerate(made.piles))  # fmt: skip
    over = sum(sum(left_over(pile, ml).values())
               for pile, ml in zip(made.piles, amounts.ml, strict=True))  # fmt: skip
    assert sum(amounts.squeeze.values()) == pytest.approx(held + over)
    # a string 8 mm wide: 0.5027 cm2, so that 1 ml is 1.99 cm of it
    for id, ml in amounts.squeeze.items():
        assert amounts.strings[id] == pytest.approx(1.9894 * ml, rel=1e-3)
        assert amounts.of_a_tube[id] == pytest.approx(ml / 37)
    twice = amounts_of(made, shares, (30.0, 40.0), 0.3)
    np.testing.assert_allclose(twice.own, 2 * amounts.own)


def test_a_pale_tint_takes_no_more_than_can_be_measured():
    made = grow([[91.0, -1, -8]], TUBES, VIEW, light=[True])
    (pile,), (small,) = made.piles, amounts_of(made, [1.0], (2.0, 2.0), 0.01).ml
    whites = sum(pile.two_steps.parts)
    # a peppercorn of the first mix, and the white to it; not of each tube in the whole
    assert small == pytest.approx(SMALLEST * (1 + whites))
    begun = SMALLEST / min(n for n in pile.two_steps.first.shares.values() if n)
    assert sum(left_over(pile, small).values()) == pytest.approx(begun - SMALLEST)
    assert left_over(pile, 1000.0) == dict.fromkeys(pile.two_steps.first.shares, 0.0)


@pytest.mark.parametrize(
    ("panel", "thickness", "words"),
    [((0.5, 40), 0.15, "panel: 0.5 cm"), ((30, 4000), 0.15, "panel: 4000 cm"),
     ((30, 40), 9.0, "thickness: 9 mm")],
)  # fmt: skip
def test_measures_that_make_no_sense_are_refused(made, panel, thickness, words):
    with pytest.raises(PhotoError, match=words):
        amounts_of(made, [1 / 8] * 8, panel, thickness)


def test_the_order_of_value_is_kept_where_it_could_be_lost():
    # two greys 0.15 of value apart: nearest mixes by themselves may swap, a plan's never do
    wanted = np.array([[50.0, 2, 6], [51.5, 2, 6], [53.0, 2, 6]])
    made = grow(wanted, TUBES, VIEW, light=[True] * 3)
    values = lab_to_value(np.array([pile.lab for pile in made.piles]), VIEW)
    assert (np.diff(values) > 0).all() and made.order_holds
