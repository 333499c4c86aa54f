"""Films that take a ground to a colour: against brute force, and what only a layer can do."""

import itertools

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import hex_to_lab, viewing
from mixlab.errors import LayerError
from mixlab.mixing.glazing import find_layer, is_transparent, miss_of_mixes
from mixlab.nearest.medium import film_medium
from mixlab.paint.layers import layer
from mixlab.paint.paints import COAT

VIEW = viewing()
TABLE = mixlab.read_table()
MILL = mixlab.read_palette("mill-pond")
GREY_GREEN, DARK_WOOD = hex_to_lab("#a9b5a4", VIEW), hex_to_lab("#3a2a1e", VIEW)


def test_films_of_a_medium_are_layers_and_their_slopes():
    made = layer(MILL.mix("1 PY43 + 3 PB29"), GREY_GREEN, [0.3])
    for medium in (film_medium(MILL, made.ground, 2 * COAT, VIEW),
                   film_medium(MILL, made.ground, 2 * COAT, VIEW).even):  # fmt: skip
        amounts = np.zeros(len(MILL) + 1)
        amounts[[MILL.ids.index("yellow-ochre"), MILL.ids.index("ultramarine-blue"), -1]] = (
            0.075, 0.225, 1.7
        )  # fmt: skip
        shares = amounts / medium.volume
        np.testing.assert_allclose(medium.lab(7 * shares), made.lab[0], atol=1e-9)
        rng = np.random.default_rng(0)
        many = rng.random((5, len(amounts))) ** 3
        lab, slopes = medium.lab_slopes(many)
        step = 1e-6
        nudged = np.stack([medium.lab(many + step * one) - lab for one in np.eye(len(amounts))])
        np.testing.assert_allclose(slopes.transpose(2, 0, 1), nudged / step, rtol=1e-3, atol=5e-3)


@pytest.mark.parametrize(
    ("target", "over"),
    [([62, 2, 5], DARK_WOOD), ([30, -10, -30], GREY_GREEN)],
)
def test_no_film_of_one_or_two_tubes_comes_nearer(target, over):
    found = find_layer(target, over, MILL)
    coats = np.concatenate([[0], np.geomspace(1e-3, 2, 80)])
    best = {1: np.inf, 2: np.inf}
    ground = layer(MILL.mix("PY43"), over).ground
    medium = film_medium(MILL, ground, 2 * COAT, VIEW)
    for i, j in itertools.combinations(range(len(MILL)), 2):
        amounts = np.zeros((len(coats), len(coats), len(MILL) + 1))
        amounts[..., i], amounts[..., j] = coats[:, None], coats
        amounts[..., -1] = 2 - amounts.sum(axis=-1)
        off = ciede2000(target, medium.lab(np.clip(amounts, 0, None)))
        off[coats[:, None] + coats > 2] = np.inf
        best[1] = min(best[1], off[0].min(), off[:, 0].min())
        best[2] = min(best[2], off.min())
    exact = {len(one.mixture.paints): one.exact for one in found.films}
    for tubes, miss in best.items():
        assert exact.get(tubes, exact[1]) <= miss + 0.05
    for film in (*found.films, *found.glazes):
        again = layer(film.mixture, over, [film.coats])
        assert film.miss == pytest.approx(float(ciede2000(target, again.lab[0])))
        assert film.miss >= film.exact - 0.02 and film.coats <= 2
    assert all(is_transparent(p) for film in found.glazes for p in film.mixture.paints)


def test_the_film_that_made_a_colour_is_found():
    red_oxide = TABLE.mix("transparent-red-oxide")
    target = layer(red_oxide, GREY_GREEN, [0.05]).lab[0]
    palette = TABLE.palette([*MILL.ids, "transparent-red-oxide"])
    found = find_layer(target, GREY_GREEN, palette)
    assert str(found.film.mixture) == "1 transparent-red-oxide"
    assert found.film.coats == pytest.approx(0.05, rel=0.05) and found.film.miss < 0.5
    assert found.film.kind == "glaze" and found.bare > 30
    # the colour that is there already needs no film; one far off no film can make
    assert find_layer(GREY_GREEN, GREY_GREEN, MILL).film is None


def test_what_only_a_layer_can_do():
    # common practice, no source: an ultramarine glaze over white is purer than any of its tints
    blue, white = MILL.mix("ultramarine-blue"), MILL.mix("titanium-white")
    over = layer(blue, white, [0.01, 0.2, 100])
    near = miss_of_mixes(over, MILL)
    assert near[0] > 3 and near[1] > 5 and near[2] < near[1]
    scumble = layer(MILL.mix("4 titanium-white + 1 yellow-ochre"), DARK_WOOD)
    assert miss_of_mixes(scumble, MILL).max() < 0.1
    found = find_layer(over.lab[1], white, MILL)
    assert found.only_a_layer and found.mix_miss == pytest.approx(near[1], abs=0.02)
    assert found.film.mixture.parts == {"ultramarine-blue": 1.0}
    assert not found.mix.in_reach
    # the film's own tube, and the ground's, are at hand for the mixes
    earths = mixlab.read_palette("kiln-earths")
    assert miss_of_mixes(over, earths)[2] < 3
    warm = layer(blue, MILL.mix("arylide-yellow"), [0.02])
    assert miss_of_mixes(warm, earths, TABLE.mix("PY74").paints) < miss_of_mixes(warm, earths)


def test_layers_that_make_no_sense():
    for settings, why in (
        ({"max_tubes": 4}, "4 tubes in a film"),
        ({"thickest": 0}, "a thickest film of 0 coats"),
        ({"tolerance": 0}, "a tolerance of 0"),
    ):
        with pytest.raises(mixlab.MixlabError, match=why):
            find_layer([50, 0, 0], GREY_GREEN, MILL, **settings)
    with pytest.raises(LayerError, match="three finite numbers"):
        find_layer([50, 0], GREY_GREEN, MILL)
