"""The page's engine is the twin of the Python: the same colours, differences, names, recipes."""

import itertools

import numpy as np
import pytest

from mixlab.colour import difference as apart
from mixlab.colour import munsell, spaces
from mixlab.colour.words import directions
from mixlab.files import bundled
from mixlab.mixing.ladders import ladder
from mixlab.mixing.recipes import find_recipe
from mixlab.paint.tables import read_palette
from mixlab.picture.key import key_of
from mixlab.show import page
from mixlab.show.cli.recipe_output import given_up
from mixlab.targets.photo_files import read_photo, write_picture
from mixlab.targets.photos import photo_lab
from tests.outside.test_colorimetry_reference import PAIRS

TIE = 1e-3  # CIEDE2000 within which two recipes are as near


class Engine:
    """The engine in a blank tab of the browser, started with a palette."""

    def __init__(self, tab, data):
        self.tab, self.data = tab, data
        tab.add_script_tag(content=page.joined(page.WORKER))
        self.run("data => { globalThis.data = data; }", data)
        self.run("() => { globalThis.seen = viewOf(data, data.view.finish); "
                 "globalThis.table = renotationOf(data.munsell); }")  # fmt: skip

    def run(self, script, given=None):
        return self.tab.evaluate(script, given)

    def ask(self, what, **question):
        reply = self.run("question => replyTo(question)", {"id": 1, "ask": what, **question})
        assert reply["id"] == 1
        if "error" in reply:
            raise ValueError(reply["error"])
        return reply["result"]

    def start(self, finish="gloss", **more):
        tubes, settings = self.data["palette"]["tubes"], self.data["settings"]
        asked = {"tubes": tubes, "finish": finish, "tolerance": settings["tolerance"],
                 "most": settings["tubes"], "parts": settings["parts"], **more}  # fmt: skip
        return self.run(
            "question => replyTo({id: 1, ask: 'start', data, ...question}).result", asked
        )


@pytest.fixture(scope="module")
def palette():
    return read_palette("studio")


@pytest.fixture(scope="module")
def engine(chromium, palette):
    tab = chromium.new_page()
    yield Engine(tab, page.pack(palette, spaces.viewing(), all_paints=True))
    tab.close()


def random_mixes(palette, count, seed):
    """Return parts (n, p) of mixes of one to four paints, in any shares."""
    rng = np.random.default_rng(seed)
    parts = np.zeros((count, len(palette)))
    for row in parts:
        paints = rng.choice(len(palette), rng.integers(1, 5), replace=False)
        row[paints] = rng.uniform(0.05, 1, len(paints)) ** 2
    return parts


# --- colour -------------------------------------------------------------------------------------


@pytest.mark.parametrize("finish", spaces.FINISHES)
def test_colours_of_mixes(engine, palette, finish):
    view = spaces.viewing(finish=finish)
    engine.start(finish, most=1)
    mixes = [
        {id: float(n) for id, n in zip(palette.ids, row, strict=True) if n}
        for row in random_mixes(palette, 200, seed=1)
    ]
    told = [engine.ask("mix", parts=parts) for parts in mixes[:20]]
    labs = engine.run(
        "mixes => mixes.map((parts) => labOf(search.palette, mixOf(search.palette, parts)))", mixes
    )
    expected = [palette.mix(parts, view) for parts in mixes]
    np.testing.assert_allclose(labs, [mix.lab for mix in expected], rtol=0, atol=1e-6)
    for one, mix in zip(told, expected, strict=False):
        np.testing.assert_allclose(one["lab"], mix.lab, rtol=0, atol=1e-6)
        assert (one["hex"], one["munsell"]) == (mix.hex, mix.munsell)
        assert one["value"] == pytest.approx(spaces.lab_to_value(mix.lab, view), abs=1e-6)


def test_differences_of_the_published_pairs(engine):
    pairs = [(list(row[:3]), list(row[3:6])) for row in PAIRS]
    found = engine.run("pairs => pairs.map(([one, other]) => ciede2000(one, other))", pairs)
    own = [float(apart.ciede2000(one, other)) for one, other in pairs]
    np.testing.assert_allclose(found, own, rtol=0, atol=1e-9)
    # source: Sharma, Wu, Dalal 2005, table 1, to four decimals
    np.testing.assert_allclose(found, [row[6] for row in PAIRS], rtol=0, atol=5.1e-5)


def test_differences_and_even_coordinates_of_many_colours(engine):
    rng = np.random.default_rng(2)
    labs = rng.uniform([0, -100, -100], [100, 100, 100], (2, 500, 3))
    found = engine.run(
        "([one, other]) => one.map((lab, i) => [ciede2000(lab, other[i]), "
        "ciede2000(lab, other[i], 0.5), ...evenOf(lab)])", labs.tolist(),
    )  # fmt: skip
    own = np.column_stack(
        [apart.ciede2000(*labs), apart.ciede2000(*labs, kl=0.5), apart.uniform(labs[0])]
    )
    np.testing.assert_allclose(found, own, rtol=0, atol=1e-9)


def test_hex_and_back(engine):
    view = spaces.viewing()
    rng = np.random.default_rng(3)
    hexes = ["#" + "".join(f"{n:02x}" for n in row) for row in rng.integers(0, 256, (200, 3))]
    labs = engine.run("hexes => hexes.map((hex) => hexToLab(hex, seen))", hexes)
    own = [spaces.hex_to_lab(hex, view) for hex in hexes]
    np.testing.assert_allclose(labs, own, rtol=0, atol=1e-6)
    assert engine.run("labs => labs.map((lab) => labToHex(lab, seen))", labs) == hexes
    short, long = engine.run("() => [hexToLab('#0Fa', seen), hexToLab('#00ffaa', seen)]")
    assert short == long
    assert engine.run("() => ['12345', 'fff', '#ffff'].map((text) => hexToLab(text, seen))") == (
        [None] * 3
    )


def test_directions_in_words(engine):
    rng = np.random.default_rng(4)
    labs = rng.uniform([0, -60, -60], [100, 60, 60], (2, 100, 3))
    found = engine.run(
        "([one, other]) => one.map((lab, i) => directionsOf(lab, other[i]))", labs.tolist()
    )
    assert [tuple(words) for words in found] == [
        directions(one, other) for one, other in zip(*labs, strict=True)
    ]


# --- Munsell ------------------------------------------------------------------------------------


def apart_in_munsell(one, other):
    """Return how far hue, value and chroma (n, 3) lie apart; hue as it counts at that chroma."""
    turn = (np.subtract(one, other)[:, 0] + 50) % 100 - 50
    chroma = np.array(one)[:, 2]
    return np.column_stack([turn * np.minimum(chroma, 1), np.subtract(one, other)[:, 1:]])


@pytest.mark.parametrize("light", ["D65", "A"])
def test_munsell_of_colours(engine, palette, light):
    view = spaces.viewing(light)
    labs = palette_labs = [palette.mix(dict(zip(palette.ids, row, strict=True))).lab
                           for row in random_mixes(palette, 150, 5) + 1e-9]  # fmt: skip
    labs = np.concatenate([palette_labs, [[0, 0, 0], [100, 0, 0], [97, 2, 6], [1, 2, -1]]])
    found = engine.run(
        "([labs, white]) => labs.map((lab) => labToMunsell(lab, {white}, table))",
        [labs.tolist(), view.white.tolist()],
    )
    own = spaces.lab_to_munsell(labs, view)
    np.testing.assert_allclose(apart_in_munsell(found, own), 0, atol=0.01)


def test_colours_of_munsell(engine):
    view = spaces.viewing()
    places = [
        [hue, value, chroma]
        for hue, value in itertools.product(np.arange(0, 100, 3.7), [0.1, 0.7, 3, 5.5, 8.2, 9.6])
        for chroma in (0, 1, 0.7 * munsell.greatest_chroma(hue, value))
    ]
    places = [[float(n) for n in place] for place in places]
    labs = engine.run(
        "places => places.map((hvc) => munsellToLab(hvc, seen, table))", places
    )
    np.testing.assert_allclose(labs, spaces.munsell_to_lab(places, view), rtol=0, atol=1e-6)
    back = engine.run("labs => labs.map((lab) => labToMunsell(lab, seen, table))", labs)
    np.testing.assert_allclose(apart_in_munsell(places, back), 0, atol=0.01)


def test_munsell_in_writing(engine):
    engine.start(most=1)
    for text in ("7.5YR 4/6", "N 5", "10RP 3.2/4", "0R 5/2", "2.5g 8/2"):
        own = spaces.munsell_to_lab(munsell.parse_munsell(text), spaces.viewing())
        np.testing.assert_allclose(engine.ask("munsell", text=text)["lab"], own, atol=1e-6)
    places = np.random.default_rng(6).uniform([0, 0, 0], [100, 10, 12], (300, 3)).tolist()
    written = engine.run("places => places.map(writeMunsell)", places)
    assert written == [munsell.write_munsell(place) for place in places]


@pytest.mark.parametrize("text", ["", "red", "7.5XR 4/6", "5R 11/2", "5R 4/90", "N 5/3", "5R 4",
                                  "R 4/6", "5R 4/6 x", "12R 4/6"])  # fmt: skip
def test_what_is_no_munsell_notation(engine, text):
    engine.start(most=1)
    with pytest.raises(ValueError, match="write"):
        engine.ask("munsell", text=text)


# --- mixes --------------------------------------------------------------------------------------


def test_steps_slips_and_likely_errors(engine, palette):
    engine.start(most=1)
    rng = np.random.default_rng(7)
    for row in random_mixes(palette, 25, seed=7):
        whole = {id: float(rng.integers(1, 9)) for id, n in zip(palette.ids, row, strict=True) if n}
        mix = palette.mix(whole)
        told = engine.run(
            "parts => { const { palette } = search, mix = mixOf(palette, parts); return {"
            "steps: stepsOf(palette, mix), worst: sensitivityOf(palette, mix), "
            "error: likelyErrorOf(palette, mix), words: notationOf(palette, mix)}; }", whole,
        )  # fmt: skip
        assert told["words"] == str(mix)
        assert told["worst"]["paint"] == mix.sensitivity.paint
        assert told["worst"]["moved"] == pytest.approx(mix.sensitivity.miss, abs=1e-6)
        assert told["error"] == pytest.approx(mix.likely_error, abs=1e-6)
        own = [(step.paint.id, step.parts, step.hex, step.munsell) for step in mix.steps]
        steps = [(one["paint"], one["parts"], one["hex"], one["munsell"]) for one in told["steps"]]
        assert steps == own


# --- recipes ------------------------------------------------------------------------------------


def colours(palette, count):
    """Return half as many colours of random mixes as of the bundled picture, and some beyond."""
    mixed = [palette.mix({id: float(n) for id, n in zip(palette.ids, row, strict=True) if n}).lab
             for row in random_mixes(palette, count // 2, seed=8)]  # fmt: skip
    pixels = read_photo(bundled("scene.jpg")).pixels.reshape(-1, 3)
    some = np.random.default_rng(9).choice(len(pixels), count - len(mixed), replace=False)
    return np.concatenate([
        mixed, spaces.rgb_to_lab(spaces.decode_srgb(pixels[some] / 255), spaces.viewing()),
    ])  # fmt: skip


def same_recipe(found, own):
    """Whether two recipes are the same, or as near as two ways of counting tell apart."""
    recipe = found["recipe"]
    assert found["inReach"] == own.in_reach
    assert recipe["miss"] == pytest.approx(apart.ciede2000(own.target, recipe["lab"]), abs=1e-9)
    if recipe["parts"] != own.recipe.parts:
        return abs(recipe["miss"] - own.recipe.miss) <= TIE
    np.testing.assert_allclose(recipe["lab"], own.recipe.lab, rtol=0, atol=1e-6)
    assert recipe["miss"] == pytest.approx(own.recipe.miss, abs=1e-6)
    return (recipe["twoSteps"] is None) == (own.recipe.two_steps is None)


@pytest.mark.slow
def test_the_same_recipes(engine, palette):
    """In whole parts, in finer parts or in two steps, for 300 colours; and those of a tube less."""
    engine.start()
    labs = colours(palette, 300)
    found = [engine.ask("recipe", lab=lab.tolist()) for lab in labs]
    own = [find_recipe(lab, palette, alternatives=0) for lab in labs]
    differ = [
        (lab.round(3).tolist(), str(mine.recipe), theirs["recipe"]["words"])
        for lab, theirs, mine in zip(labs, found, own, strict=True)
        if not same_recipe(theirs, mine)
    ]
    assert not differ
    simpler = [(one["simpler"] and one["simpler"]["parts"], mine.simpler and mine.simpler.parts)
               for one, mine in zip(found, own, strict=True)
               if one["recipe"]["parts"] == mine.recipe.parts]  # fmt: skip
    assert all(theirs == mine for theirs, mine in simpler)
    assert sum(mine is not None for _, mine in simpler) >= 10
    assert sum(one["recipe"]["twoSteps"] is not None for one in found) >= 10


def helped(engine, lab):
    """Return the paint that would help, as the page asks for it: one after the other."""
    for turn in range(10):
        found = engine.ask("help", lab=lab, turn=turn)
        if not found["more"]:
            return found["helper"]
    raise AssertionError("no end of helpers")


@pytest.mark.parametrize(
    ("name", "settings"),
    [
        ("mill-pond", {}),
        ("mill-pond", {"must": ["viridian"], "parts": 8, "tolerance": 1.0}),
        ("kiln-earths", {"most": 3, "finish": "matt"}),
    ],
)
def test_the_same_recipes_beyond_reach(chromium, name, settings):
    """Whatever the colour and the settings: the compromise, what it lacks, the way to mix it."""
    palette, view = read_palette(name), spaces.viewing(finish=settings.get("finish", "gloss"))
    tab = chromium.new_page()
    engine = Engine(tab, page.pack(palette, view))
    engine.start(**settings)
    by_name = {"most": "max_tubes"}
    asked = {by_name.get(key, key): of for key, of in settings.items() if key != "finish"}
    labs = np.random.default_rng(10).uniform([0, -60, -60], [100, 60, 60], (15, 3))
    out = 0
    for lab in labs:
        own = find_recipe(lab, palette, view=view, alternatives=0, **asked)
        found = engine.ask("recipe", lab=lab.tolist())
        assert same_recipe(found, own), (lab, str(own.recipe), found["recipe"]["words"])
        if own.out_of_reach is not None:
            out += 1
            told = found["outOfReach"]
            assert told["miss"] == pytest.approx(own.out_of_reach.miss, abs=0.01)
            said = tuple(words.split(" (by ")[0] for words in told["directions"])
            assert said == own.out_of_reach.directions
            assert told["givenUp"] == given_up(lab, own.recipe)
            helper = helped(engine, lab.tolist())
            if (mine := own.out_of_reach.helper) is None:
                assert helper is None
            else:
                assert (helper["paint"], helper["notation"]) == (mine.paint, str(mine.mixture))
                assert helper["miss"] == pytest.approx(mine.miss, abs=1e-6)
    assert out >= 5
    tab.close()


def test_two_steps_as_they_are_told(engine, palette):
    """The first mix, what is taken of it, every addition with its colour, the slip that counts."""
    engine.start()
    for lab in ([85, -1, -8], [88, 4, 1]):
        own, told = find_recipe(lab, palette).recipe, engine.ask("recipe", lab=lab)["recipe"]
        way = own.two_steps
        assert told["twoSteps"] == {
            "first": way.first.parts, "taken": way.taken, "then": way.then
        }  # fmt: skip
        steps = [(one["paint"], one["parts"], one["hex"], one["munsell"]) for one in told["steps"]]
        assert steps == [(s.paint.id, s.parts, s.hex, s.munsell) for s in own.steps]
        assert {one["pile"] for one in told["steps"]} == {1, 2}
        assert told["sensitivity"]["paint"] == own.sensitivity.paint
        assert told["sensitivity"]["moved"] == pytest.approx(own.sensitivity.miss, abs=1e-6)
        assert told["likelyError"] == pytest.approx(own.mixture.likely_error, abs=1e-6)


def test_other_tubes(engine, palette):
    """Recipes with other tubes are within the tolerance, of no more than a tube more."""
    engine.start()
    found = engine.ask("recipe", lab=[45, 15, 20])
    taken = set(found["recipe"]["parts"])
    assert len(found["others"]) == 3
    for other in found["others"]:
        mix = palette.mix(other["notation"])
        assert other["miss"] == pytest.approx(apart.ciede2000([45, 15, 20], mix.lab), abs=1e-6)
        assert other["miss"] <= 2
        assert not taken <= set(mix.parts)
        assert len(mix.parts) <= len(taken) + 1


# --- the key of a picture -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "darker"), [("fit", 1.0), ("fit", 0.05), ("none", 1.0), ("3.5", 1.0), ("8", 0.05)]
)
def test_keys(engine, palette, asked, darker, tmp_path):
    pixels = read_photo(bundled("scene.jpg")).pixels[::8, ::8]
    pixels = np.rint(pixels * np.linspace(darker, 1, len(pixels))[:, None, None]).astype(np.uint8)
    file = tmp_path / "picture.png"
    write_picture(file, pixels)
    photo, view = read_photo(file), spaces.viewing()
    own = key_of(photo, palette, view, asked)
    labs = photo_lab(photo.linear(pixels.reshape(-1, 3)), view=view, highlights=True)
    engine.start(most=1)
    number = float(asked) if asked[0].isdigit() else asked
    told = engine.ask("key", labs=labs.ravel().tolist(), key=number)
    np.testing.assert_allclose(told["curve"], own.lightness(np.linspace(0, 100, 256)), atol=1e-6)
    np.testing.assert_allclose(told["ends"], own.ends, atol=1e-6)
    assert told["words"] == own.words
    some = labs[:: len(labs) // 200]
    found = engine.run("labs => labs.map((lab) => setInKey(key, lab))", some.tolist())
    np.testing.assert_allclose(found, own.set(some), rtol=0, atol=1e-6)
    recipe = engine.ask("recipe", lab=some[0].tolist(), keyed=True)  # of one tube, but keyed
    np.testing.assert_allclose(recipe["wanted"]["lab"], found[0], atol=1e-9)


# --- piles --------------------------------------------------------------------------------------


def parse(words, palette):
    """Return a mix that is written with the names of paints, as parts by id."""
    ids = {paint.name: paint.id for paint in palette.paints}
    terms = (term.split(" ", 1) for term in words.split(" + "))
    return {ids[name]: float(number) for number, name in terms}


def test_ladders(engine, palette):
    engine.start(most=1)
    pile = {"ultramarine-blue": 2, "burnt-sienna": 1.25}
    for toward in ("titanium-white", "bone-black", "burnt-sienna"):
        own = ladder(palette.mix(pile), palette.mix({toward: 1}), 9)
        told = engine.ask("ladder", pile=pile, toward=toward, steps=9)
        np.testing.assert_allclose([s["share"] for s in told["steps"]], own.shares, atol=0.002)
        np.testing.assert_allclose(
            [s["value"] for s in told["steps"]], own.munsell[:, 1], atol=0.02
        )
        assert told["peak"] == own.lch[:, 1].argmax()
    for toward in ("grey", "dark"):  # of these tubes, at the pile's value or as dark as they come
        told = engine.ask("ladder", pile=pile, toward=toward, steps=3)
        end = palette.mix(parse(told["toward"], palette))
        assert np.hypot(*end.lab[1:]) < (3 if toward == "grey" else 5)
        if toward == "grey":
            assert abs(end.lab[0] - palette.mix(pile).lab[0]) < 4
        else:
            assert end.lab[0] <= palette.mix({"bone-black": 1}).lab[0]
    both = engine.ask("ladder", pile={"bone-black": 1}, toward="bone-black", steps=5)
    assert [step["share"] for step in both["steps"]] == [0, 0.25, 0.5, 0.75, 1]


def test_the_smallest_addition(engine, palette):
    engine.start(most=1)
    pile = {"titanium-white": 5.0, "ultramarine-blue": 1.0}
    for added in ({}, {"titanium-white": 2.0}, {"burnt-sienna": 0.5},
                  {"burnt-sienna": 0.75, "titanium-white": 1.5}):  # fmt: skip
        parts = {id: pile.get(id, 0) + added.get(id, 0) for id in {**pile, **added}}
        wanted = palette.mix(parts).lab
        told = engine.ask("add", pile=pile, lab=wanted.tolist())
        after = {id: pile.get(id, 0) + told["add"].get(id, 0) for id in {**pile, **told["add"]}}
        assert told["miss"] == pytest.approx(apart.ciede2000(wanted, palette.mix(after).lab))
        assert told["miss"] <= 2
        assert sum(told["add"].values()) <= sum(added.values()) + 0.15 * 6
        assert all(n / 0.25 == round(n / 0.25) for n in told["add"].values())
    far = engine.ask("add", pile=pile, lab=[20, 40, 20])
    assert sum(far["add"].values()) <= 3
    assert "Better a fresh mix" in far["words"]


@pytest.mark.parametrize("question", [
    {"ask": "mix", "parts": {}}, {"ask": "mix", "parts": {"no-such": 1}},
    {"ask": "mix", "parts": {"bone-black": -1}}, {"ask": "nothing"},
    {"ask": "start", "tubes": []}, {"ask": "ladder", "pile": {"bone-black": 1}, "toward": "mud"},
])  # fmt: skip
def test_what_makes_no_sense_gives_one_line(engine, question):
    engine.start(most=1)
    reply = engine.run("question => replyTo({id: 7, data, finish: 'gloss', ...question})", question)
    assert reply["id"] == 7
    assert reply["error"]
    assert "\n" not in reply["error"]
