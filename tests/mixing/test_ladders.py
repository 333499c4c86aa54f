"""Ladders: even steps, whole parts, what they go toward."""

import pickle

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import lab_to_lch, lab_to_value
from mixlab.errors import LadderError, NotationError
from mixlab.mixing.complements import complements, let_down
from mixlab.mixing.ladders import (
    LOOKS_LIKE,
    Path,
    at_value,
    black_of,
    drift,
    grey_of,
    ladder,
    white_of,
)
from mixlab.nearest.medium import medium_of

TABLE = mixlab.read_table()
WHITE = TABLE.mix("1 titanium-white")
BLACK = TABLE.mix("1 bone-black")
COLOURED = [paint.id for paint in TABLE if not paint.is_white]


@pytest.mark.parametrize("paint", COLOURED)
@pytest.mark.parametrize("steps", [5, 9])
def test_steps_of_tints_are_even_in_value(paint, steps):
    made = ladder(TABLE.mix({paint: 1}), WHITE, steps)
    apart = np.diff(made.munsell[:, 1])
    assert np.ptp(apart) < 0.02
    even = np.linspace(made.munsell[0, 1], made.munsell[-1, 1], steps)
    np.testing.assert_allclose(made.munsell[:, 1], even, atol=0.02)


def test_steps_of_shades_are_even_in_value():
    made = ladder(TABLE.mix("1 PY74"), BLACK, 7)
    apart = np.diff(made.munsell[:, 1])
    np.testing.assert_allclose(apart, apart[0], atol=2e-3)


def test_a_value_that_turns_on_the_way_goes_down_and_up():
    # a yellow and a blue of one value mix darker than either
    light = TABLE.mix({"ultramarine-blue": 1, "titanium-white": 6})
    other = TABLE.mix("1 arylide-yellow")
    made = ladder(light, other, 9)
    way = np.abs(np.diff(lab_to_value(made.path.lab(np.linspace(0, 1, 5001)), light.view))).sum()
    apart = np.abs(np.diff(made.munsell[:, 1]))
    assert apart.max() < way / 8 + 0.01
    assert (np.diff(made.munsell[:, 1]) < 0).any() and (np.diff(made.munsell[:, 1]) > 0).any()
    shares = np.linspace(0, 1, 5001)
    darkest = shares[lab_to_value(made.path.lab(shares), light.view).argmin()]
    assert made.path.turn == pytest.approx(darkest, abs=0.01)
    assert ladder(light, WHITE, 9).path.turn is None


@pytest.mark.parametrize("paint", ["ultramarine-blue", "phthalo-green-blue-shade", "PO20"])
def test_steps_even_in_difference(paint):
    made = ladder(TABLE.mix({paint: 1}), WHITE, 8, "difference")
    apart = ciede2000(made.lab[1:], made.lab[:-1])
    assert np.ptp(apart) < 0.01 * apart.mean()


def test_steps_even_in_parts():
    np.testing.assert_array_equal(
        ladder(TABLE.mix("1 PB29"), WHITE, 5, "parts").shares, [0, 0.25, 0.5, 0.75, 1]
    )


def test_the_ends_are_the_two_mixes():
    made = ladder(TABLE.mix("3 PBr7 + 1 PB29".replace("PBr7", "burnt-sienna")), WHITE, 4)
    np.testing.assert_allclose(made.lab[[0, -1]], [made.path.start.lab, WHITE.lab])
    assert made.mixtures[0].shares == made.path.start.shares
    assert made.mixtures[-1].parts == {"titanium-white": 1.0}
    assert made.drift[0] == 0


@given(
    st.sampled_from(COLOURED), st.integers(2, 12), st.sampled_from(["value", "difference", "parts"])
)
def test_every_ladder_goes_one_way(paint, steps, even):
    made = ladder(TABLE.mix({paint: 1}), WHITE, steps, even)
    assert len(made.shares) == len(made.whole) == len(made.mixtures) == steps
    assert (np.diff(made.shares) > 0).all()
    for step, lab in zip(made.whole, made.lab, strict=True):
        assert step.start + step.toward <= made.parts
        assert ciede2000(step.mixture.lab, lab) == pytest.approx(step.miss, abs=1e-9)


def test_whole_parts_are_the_smallest_that_look_like_the_step():
    made = ladder(TABLE.mix("1 PB29"), WHITE, 9, parts=60)
    for step, share, lab in zip(made.whole, made.shares, made.lab, strict=True):
        misses = {
            total: min(
                float(ciede2000(made.path.lab(n / total), lab))
                for n in {int(np.floor(share * total)), int(np.ceil(share * total))}
            )
            for total in range(1, 61)
        }
        total = step.start + step.toward
        if step.miss <= LOOKS_LIKE:
            assert all(misses[t] > LOOKS_LIKE - 0.05 for t in range(1, total))
        else:
            assert step.miss == pytest.approx(min(misses.values()), abs=0.05)


def test_whole_parts_of_a_pile_count_the_pile():
    pile = TABLE.mix({"burnt-sienna": 3, "ultramarine-blue": 1})
    step = ladder(pile, WHITE, 3, "parts").whole[1]
    assert (step.start, step.toward) == (1, 1)
    assert step.mixture.shares == pytest.approx(
        {"burnt-sienna": 0.375, "ultramarine-blue": 0.125, "titanium-white": 0.5}
    )


def test_a_paint_in_both_mixes_is_counted_once():
    made = Path(TABLE.mix({"PB29": 1, "PW6": 1}), WHITE).mixture(0.5)
    assert made.shares == pytest.approx({"ultramarine-blue": 0.25, "titanium-white": 0.75})


def test_the_path_is_what_mixing_gives():
    path = Path(TABLE.mix({"PB29": 1, "PW6": 2}), TABLE.mix({"PY43": 2, "PBk9": 1}))
    for share in (0.0, 0.2, 0.77, 1.0):
        np.testing.assert_allclose(path.lab(share), path.mixture(share).lab, atol=1e-9)


def test_drift_goes_the_short_way_and_needs_a_hue():
    red, violet, grey = [50, 40, 5], [50, 40, -5], [50, 0.5, 0]
    assert drift(red, violet) == pytest.approx(-2 * np.degrees(np.arctan2(5, 40)))
    assert np.isnan(drift(red, grey)) and np.isnan(drift(grey, red))


def test_a_grey_is_of_the_value_of_the_mix():
    red = TABLE.mix("1 PR254")
    grey = grey_of(TABLE["PW6"], TABLE["PBk9"], red)
    assert lab_to_value(grey.lab, grey.view) == pytest.approx(
        float(lab_to_value(red.lab, red.view)), abs=0.002
    )
    assert min(grey.amounts) == 1
    of_five = grey_of(TABLE["PW6"], TABLE["PBk9"], red, 5.0)
    assert lab_to_value(of_five.lab, of_five.view) == pytest.approx(5, abs=0.002)


def test_a_mix_darker_than_black_gets_the_black_itself():
    blue = TABLE.mix("1 phthalo-blue-green-shade")
    if lab_to_value(blue.lab, blue.view) < lab_to_value(BLACK.lab, BLACK.view):
        grey = grey_of(TABLE["PW6"], TABLE["PBk9"], blue)
        assert grey.lab[0] == pytest.approx(BLACK.lab[0], abs=0.1)
    with pytest.raises(LadderError, match=r"value 1\.0 is not between"):
        grey_of(TABLE["PW6"], TABLE["PBk9"], blue, 1.0)


def test_a_value_is_met_where_it_first_is():
    path = Path(TABLE.mix("1 PB29"), WHITE)
    share = at_value(path, 6.0)
    assert lab_to_value(path.lab(share), WHITE.view) == pytest.approx(6, abs=1e-4)


def test_whites_and_blacks_are_found():
    few = TABLE.palette(["zinc-white", "yellow-ochre", "lamp-black"])
    assert white_of(TABLE).id == "titanium-white" and white_of(few).id == "zinc-white"
    assert black_of(TABLE).id == "bone-black" and black_of(few).id == "lamp-black"
    assert white_of(TABLE, "PW4").id == "zinc-white"
    with pytest.raises(LadderError, match="yellow-ochre is not a white"):
        white_of(TABLE, "PY43")
    with pytest.raises(NotationError, match="no paint 'PW9'"):
        white_of(TABLE, "PW9")
    bare = TABLE.palette(["yellow-ochre", "ultramarine-blue"])
    for find in (white_of, black_of):
        with pytest.raises(LadderError, match="there is no"):
            find(bare)


def test_complements_lie_across_the_hue_circle():
    ranked = complements(TABLE.mix("1 cadmium-red-light"), TABLE)
    names = [paint.id for paint, _ in ranked]
    assert not {"cadmium-red-light", "titanium-white", "bone-black", "lamp-black"} & set(names)
    best = ranked[0][0]
    tint = TABLE.mix({best.id: 1, "PW6": 5}).lch[2]
    assert 130 < (tint - TABLE.mix("1 cadmium-red-light").lch[2]) % 360 < 260
    left = [np.hypot(*found.let_down[1:]) for _, found in ranked]
    np.testing.assert_allclose(left, sorted(left), atol=1e-5)


def test_complements_are_judged_let_down_with_white():
    tubes = TABLE.palette(["titanium-white", "cadmium-orange", "ultramarine-blue", "cobalt-blue"])
    orange = tubes.mix("1 cadmium-orange")
    for paint, found in complements(orange, tubes):
        amounts = np.zeros((4001, 4))
        amounts[:, 0] = np.geomspace(0.01, 100, 4001)
        amounts[:, 1] = 1 - found.share
        amounts[:, tubes.ids.index(paint.id)] = found.share
        seen = medium_of(tubes, orange.view).lab(amounts)
        nearest = seen[np.abs(lab_to_value(seen, orange.view) - 5).argmin()]
        np.testing.assert_allclose(nearest, found.let_down, atol=0.2)
        undiluted = Path(orange, tubes.mix(paint.id)).lab(found.share)
        np.testing.assert_allclose(found.lab, undiluted, atol=1e-9)
        # no other share leaves less
        path = Path(orange, tubes.mix(paint.id))
        others = let_down(path, np.linspace(0.02, 0.98, 49), tubes["titanium-white"])
        assert np.hypot(*others[:, 1:].T).min() > np.hypot(*found.let_down[1:]) - 1e-6


def test_orange_and_ultramarine_cancel_undiluted_and_turn_blue_in_white():
    # in the masstone the two make a near black; white shows which of them is the stronger
    path = Path(TABLE.mix("1 cadmium-orange"), TABLE.mix("1 PB29"))
    grid, labs = path.grid
    dark = float(grid[1:-1][np.hypot(labs[1:-1, 1], labs[1:-1, 2]).argmin()])
    tint = let_down(path, dark, TABLE["titanium-white"])
    assert np.hypot(*path.lab(dark)[1:]) < 3 < 10 < np.hypot(*tint[1:])
    assert 250 < lab_to_lch(tint)[2] < 310


@pytest.mark.parametrize("start", ["1 viridian", "1 PB15:3", "1 bone-black"])
def test_between_the_ends_there_is_some_of_both(start):
    steps = ladder(TABLE.mix(start), WHITE, 12, "value", 40).whole
    assert (steps[0].toward, steps[-1].start) == (0, 0)
    assert all(step.start and step.toward for step in steps[1:-1])


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"steps": 1}, "from 2 to 60"),
        ({"steps": 61}, "from 2 to 60"),
        ({"even": "eyes"}, "give one of value, parts, difference"),
        ({"parts": 0}, "must be from 1 to 1000"),
    ],
)
def test_a_ladder_that_cannot_be_made_says_why(change, message):
    with pytest.raises(LadderError, match=message):
        ladder(TABLE.mix("1 PB29"), WHITE, **change)


def test_ends_that_are_alike():
    with pytest.raises(LadderError, match="to itself"):
        ladder(TABLE.mix("2 PW6"), WHITE)
    blue = TABLE.mix("1 PB29")
    with pytest.raises(LadderError, match="same light"):
        ladder(blue, WHITE.under("A"))


def test_a_mix_that_was_stored_makes_the_same_ladder():
    start = TABLE.mix("1 PB29", mixlab.viewing("A", "10"))
    white = TABLE.mix("1 titanium-white", mixlab.viewing("A", "10"))
    stored = pickle.loads(pickle.dumps(start))
    assert stored.view == start.view and hash(stored.view) == hash(start.view)
    np.testing.assert_array_equal(ladder(stored, white, 5).lab, ladder(start, white, 5).lab)
    with pytest.raises(LadderError, match="same light"):
        ladder(stored, WHITE)
