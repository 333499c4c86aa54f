"""Own tubes from readings, on invented ones of which the truth is known: no proof about paint."""

import csv
import json
import math
from dataclasses import replace

import numpy as np
import pytest

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.errors import MixlabError, ReadingError
from mixlab.measure.advice import MOST
from mixlab.measure.characterise import characterise
from mixlab.measure.drawdowns import BELIEFS, Model
from mixlab.measure.films import films
from mixlab.measure.predictions import predict
from mixlab.measure.readings import Reading, Readings
from mixlab.paint import optics
from mixlab.paint.optics import Surface
from mixlab.paint.tables import PigmentTable
from mixlab.paint.trust import THEORY

TABLE = mixlab.read_table()
SURFACE = Surface(BELIEFS.k1, BELIEFS.k2)
# the tubes of the brick kiln yard
TRUE = {
    id: replace(TABLE[of], surface=SURFACE)
    for id, of in {
        "yard-white": "titanium-white", "kiln-blue": "ultramarine-blue",
        "brick-orange": "cadmium-orange", "soot": "bone-black",
    }.items()
}  # fmt: skip
GROUNDS = {"white": 0.85, "black": 0.05}
LADDERS = [
    {"yard-white": 1},
    *({id: 1} for id in ("kiln-blue", "brick-orange", "soot")),
    *({id: 1, "yard-white": n} for id in ("kiln-blue", "brick-orange", "soot") for n in (1, 9, 40)),
]
UNSEEN = [
    {"kiln-blue": 1, "brick-orange": 2, "yard-white": 3},
    {"kiln-blue": 1, "yard-white": 3},
    {"brick-orange": 3, "soot": 1},
    {"kiln-blue": 1, "brick-orange": 1, "soot": 1, "yard-white": 30},
]


def reflectance(parts, thickness, ground, surface):
    """A film as an instrument would read it, without noise; an opaque layer where no ground is."""
    total = sum(parts.values())
    k, s = (
        sum(n / total * getattr(TRUE[id], quantity) for id, n in parts.items())
        for quantity in "KS"
    )
    if ground is None:
        return surface.measured(optics.opaque(k, s))
    return surface.measured(optics.film(k, s, thickness, surface.internal(ground)))


def drawn(mixes, surfaces=("over-white", "over-black"), noise=0.0003, seed=1, names="D",
          surface=SURFACE):  # fmt: skip
    """Readings of drawdowns whose thickness differs and is not told."""
    rng = np.random.default_rng(seed)
    made = []
    for number, parts in enumerate(mixes):
        sample = f"{names}{number}"
        thickness = 15 * np.exp(0.3 * rng.standard_normal())
        mixture = " + ".join(f"{n:g} {id}" for id, n in parts.items())
        for where in surfaces:
            ground = None if where == "opaque" else GROUNDS[where[5:]]
            seen = reflectance(parts, thickness, ground, surface)
            seen = seen + noise * rng.standard_normal(len(WAVELENGTHS))
            made.append(Reading(sample, dict(parts), mixture, where, seen, (380.0, 730.0)))
            if ground is not None:
                bare = np.full(len(WAVELENGTHS), ground)
                made.append(
                    Reading(sample, {}, "", f"bare-{where[5:]}", bare, (380.0, 730.0))
                )
    return Readings(tuple(made), (), "yard.csv")


def misses(found, readings):
    table = PigmentTable(found.paints, "yard-table.csv")
    return np.array([one.miss for one in predict(table, readings)])


@pytest.fixture(scope="module")
def found():
    return characterise(drawn(LADDERS))


# --- what is found ------------------------------------------------------------------------------


def test_mixes_that_were_not_read_are_predicted(found):
    # the spreads leave room for what real films differ by, most in the dark: the mix of an orange
    # and a black, of which nothing like it was read
    assert found.misses.mean() < 0.5
    unseen = misses(found, drawn(UNSEEN, seed=9))
    assert unseen[[0, 1, 3]].max() < 0.5 and unseen[2] < 4


def test_k1_is_what_the_darkest_films_come_down_to():
    levels = np.concatenate([np.full(3, 0.02), np.linspace(0.03, 0.5, 27)])
    dark = [
        Reading(f"D{i}", {"soot": 1}, "1 soot", "opaque", np.full(36, r), (380.0, 730.0))
        for i, r in enumerate(levels)
    ]
    # three of thirty may be mat; of few films one
    for count, k1 in ((30, 0.03), (5, 0.02)):
        model = Model(films(Readings(tuple(dark[:count]), (), "yard.csv")), BELIEFS, 0, None, {})
        assert model.surface == Surface(k1, BELIEFS.k2)


@pytest.mark.parametrize("other", [Surface(0.03, 0.65), Surface(0.036, 0.3)])
def test_paint_of_another_surface_is_predicted_nearly_as_well(other):
    # K2 is not found, as on measured paint that predicts no better
    found = characterise(drawn(LADDERS, surface=other), leave_out=False)
    unseen = misses(found, drawn(UNSEEN, seed=9, surface=other))
    assert unseen[[0, 1, 3]].max() < 1 and unseen[2] < 5


def test_stated_surface_is_kept_and_curves_are_the_true_ones():
    found = characterise(drawn(LADDERS), surface=SURFACE, leave_out=False)
    assert found.surface == SURFACE
    blue = next(p for p in found.paints if p.id == "kiln-blue")
    white = next(p for p in found.paints if p.id == "yard-white")
    assert np.interp(550, WAVELENGTHS, white.S) == pytest.approx(1)
    clear = slice(4, 31)  # titanium white's own edge is where the blue is seen least well
    # a quarter off at most where the absorption of a tint is well seen
    true = TRUE["kiln-blue"].K[clear] / np.interp(550, WAVELENGTHS, TRUE["yard-white"].S)
    strong = true > 0.05
    np.testing.assert_allclose(blue.K[clear][strong], true[strong], rtol=0.25)


def test_curves_are_positive_finite_and_of_one_unit(found):
    for paint in found.paints:
        assert np.isfinite([paint.K, paint.S]).all() and (paint.K > 0).all() and (paint.S > 0).all()
        assert (paint.unit, paint.basis) == ("yard-white", "measured")


def test_left_out_drawdowns_say_how_well_it_predicts(found):
    # a masstone left out would have to be foretold from less of the paint than it holds
    masstones = [one.sample for one in found.drawdowns if not one.predictable]
    assert masstones == ["D0", "D1", "D2", "D3"]
    assert all(one.cross_validated_miss >= 0 for one in found.drawdowns)
    assert found.cross_validated.mean() > np.mean([o.miss for o in found.drawdowns if o.tried])
    # invented paint obeys theory better than any real one
    assert all(THEORY < paint.uncertainty < 3.5 for paint in found.paints)


def test_more_noise_is_predicted_less_well(found):
    noisy = characterise(drawn(LADDERS, noise=0.004))
    assert found.cross_validated.max() < noisy.cross_validated.max()


def test_the_same_readings_give_the_same_curves():
    first, second = (characterise(drawn(LADDERS[:6]), leave_out=False) for _ in range(2))
    for one, other in zip(first.paints, second.paints, strict=True):
        np.testing.assert_array_equal(one.K, other.K)


# --- less to go by ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("surfaces", "word"), [(("over-white",), "all films over-white"), (("opaque",), "all layers")]
)
def test_one_ground_or_none_will_do(surfaces, word):
    found = characterise(drawn(LADDERS, surfaces), leave_out=False)
    assert any(word in note for note in found.notes)
    unseen = misses(found, drawn(UNSEEN, ("opaque",), seed=9))
    # measured: 2.1 at most in mixes with white; 9 in the one without, as a clear orange over white
    # may scatter more and be thinner, or less and be thicker
    assert unseen[[0, 1, 3]].max() < 2.5 and unseen[2] < 11


def test_masstone_alone_tells_its_colour_and_says_what_it_cannot_tell():
    found = characterise(drawn([{"kiln-blue": 1}]))
    assert found.misses.max() < 1
    (paint,) = found.paints
    assert paint.unit == "kiln-blue" and not len(found.cross_validated)
    assert any(note.startswith("no mix of kiln-blue") for note in found.notes)
    assert "no mix with the others" in paint.source and paint.uncertainty > 5

    both = characterise(drawn([{"yard-white": 1}, {"kiln-blue": 1}]))
    assert any("strength" in note and "kiln-blue" in note for note in both.notes)
    tinted = characterise(drawn([{"yard-white": 1}, {"kiln-blue": 1}, LADDERS[5]]))
    assert not any("strength" in note for note in tinted.notes)
    # what nothing links is far less sure
    blue = [next(p for p in f.paints if p.id == "kiln-blue") for f in (both, tinted)]
    assert blue[0].uncertainty > 1.5 * blue[1].uncertainty


def test_groups_that_no_mix_links_are_named():
    other = {"brick-orange": 1, "soot": 1}
    found = characterise(
        drawn([*LADDERS[:2], LADDERS[5], {"brick-orange": 1}, {"soot": 1}, other]), leave_out=False
    )
    (note,) = [note for note in found.notes if "no mix links" in note]
    assert "brick-orange, soot with yard-white, kiln-blue" in note
    likely = {paint.id: paint.uncertainty for paint in found.paints}
    assert min(likely["brick-orange"], likely["soot"]) > 5 > likely["kiln-blue"]


def test_what_readings_of_a_kind_cannot_tell_is_kept_with_the_paint():
    def blue(*readings):
        paints = characterise(drawn(*readings), leave_out=False).paints
        return next(paint for paint in paints if paint.id == "kiln-blue")

    row = [{"yard-white": 1}, {"kiln-blue": 1}, {"kiln-blue": 1, "yard-white": 9}]
    both, white, opaque = (
        blue(row, surfaces)
        for surfaces in (("over-white", "over-black"), ("over-white",), ("opaque",))
    )
    # the covariance knows how much less one ground tells
    assert both.source == white.source == opaque.source == "readings yard.csv"
    assert both.uncertainty < min(opaque.uncertainty, white.uncertainty)
    tint = blue([row[0], row[2]])
    assert tint.source.endswith("no masstone") and tint.uncertainty > white.uncertainty


def test_masstone_and_one_tint():
    found = characterise(drawn([{"yard-white": 1}, {"kiln-blue": 1}, LADDERS[5]]))
    unseen = misses(found, drawn([{"kiln-blue": 1, "yard-white": 1}], seed=9))
    assert unseen.max() < 2


def test_tint_alone_against_a_white_that_is_known():
    white = replace(TRUE["yard-white"], id="yard-white")
    known = PigmentTable((white,), "whites.csv")
    tint = {"kiln-blue": 1, "yard-white": 9}
    found = characterise(drawn([tint]), known=known)
    assert found.paints[1 - [p.id for p in found.paints].index("kiln-blue")] is white
    assert found.surface == SURFACE
    blue = next(p for p in found.paints if p.id == "kiln-blue")
    assert blue.unit == white.unit == ""
    assert any("no masstone of kiln-blue" in note for note in found.notes)
    unseen = misses(found, drawn([{"kiln-blue": 1, "yard-white": 20}], seed=9))
    assert unseen.max() < 1.5


def test_paints_of_a_table_are_held_by_id_or_index_name_and_named(monkeypatch):
    known = PigmentTable((TRUE["yard-white"], TRUE["soot"]), "known.csv")
    mixes = [{"PW6": 1}, {"kiln-blue": 1}, {"kiln-blue": 1, "PW6": 9}, {"bone-black": 1, "PW6": 9}]
    monkeypatch.setitem(TRUE, "PW6", TRUE["yard-white"])
    monkeypatch.setitem(TRUE, "bone-black", TRUE["soot"])
    readings = drawn(mixes)
    found = characterise(readings, known=known, leave_out=False)
    assert [paint.id for paint in found.paints] == ["titanium-white", "kiln-blue", "bone-black"]
    assert "held as the table has them: PW6, its titanium-white, bone-black" in found.notes
    only = characterise(readings, known=known, fixed=["PW6"], leave_out=False)
    assert "held as the table has them: PW6, its titanium-white" in only.notes
    assert only.paints[2].source.startswith("readings")
    with pytest.raises(MixlabError, match="no paint"):
        characterise(readings, known=known, fixed=["mud"])


def test_progress_is_told():
    told = []
    characterise(drawn(LADDERS[:6]), progress=told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) == 6


def test_constants_that_cannot_be_are_refused():
    with pytest.raises(ReadingError, match=r"K1 0.9 is more than half of the films read"):
        characterise(drawn(LADDERS[:6]), surface=Surface(0.9, 0.9))


def test_readings_on_part_of_the_grid_hold_their_ends():
    cut = drawn(LADDERS)
    cut = replace(
        cut, readings=tuple(replace(r, covered=(400.0, 700.0)) for r in cut.readings)
    )
    found = characterise(cut, leave_out=False)
    for paint in found.paints:
        assert paint.K[0] == paint.K[1] == paint.K[2] and paint.S[-1] == paint.S[-4]


# --- what to draw down next ---------------------------------------------------------------------


def test_what_is_advised_lowers_the_error_as_it_says():
    few = [*LADDERS[:4], *LADDERS[4:6]]  # the orange and the black are in no mix
    before = characterise(drawn(few), leave_out=False, advise=True)
    assert before.advice[0].words == "one mix of soot and brick-orange with yard-white, 1 to 1"
    assert sum(len(one.mixtures) for one in before.advice) == MOST
    errors = [one.likely_error for one in before.advice]
    assert errors == sorted(errors, reverse=True)
    mixes = [
        {id: float(n) for n, id in (term.split() for term in text.split(" + "))}
        for one in before.advice for text in one.mixtures
    ]
    after = characterise(drawn([*few, *mixes]), leave_out=False, advise=True)
    unseen = drawn(UNSEEN, seed=9)
    # what it was told to read tells more than as many masstones read again
    again = characterise(
        drawn([*few, *(LADDERS[2:4] * len(mixes))[: len(mixes)]]), leave_out=False
    )
    own, other = (misses(found, unseen).mean() for found in (after, again))
    assert own < 0.5 * other
    assert after.advice[0].likely_error < errors[0]


def test_without_a_white_or_a_black_there_is_advice_as_well():
    found = characterise(drawn([{"kiln-blue": 1}, {"brick-orange": 1}]), leave_out=False,
                         advise=True)  # fmt: skip
    assert found.advice and not any("soot" in one.words for one in found.advice)


# --- readings that are wrong --------------------------------------------------------------------


@pytest.mark.parametrize("bad", [5, 11])
def test_a_bad_drawdown_is_found_named_and_does_no_harm(bad):
    # its parts were written down wrong: 2.5 where there was one
    readings = drawn(LADDERS)
    parts = dict(LADDERS[bad])
    colour = next(iter(parts))
    wrong = tuple(
        replace(r, parts={**parts, colour: parts[colour] * 2.5})
        if r.sample == f"D{bad}" and r.parts else r
        for r in readings.readings
    )  # fmt: skip
    found = characterise(replace(readings, readings=wrong))
    assert [one.sample for one in found.drawdowns if one.contradicts] == [f"D{bad}"]
    assert any(note.startswith(f"D{bad} (") and "contradicts" in note for note in found.notes)
    unseen = misses(found, drawn(UNSEEN, seed=9))
    assert unseen[[0, 1, 3]].max() < 1.0 and unseen[2] < 4


@pytest.fixture
def rose(monkeypatch):
    """Mixes with a rose, which no other test has."""
    monkeypatch.setitem(TRUE, "pond-rose", replace(TABLE["quinacridone-magenta"], surface=SURFACE))
    return [{"pond-rose": 1}, {"pond-rose": 1, "yard-white": 1}, {"pond-rose": 1, "yard-white": 9},
            {"pond-rose": 9, "soot": 1}]  # fmt: skip


def test_a_paint_that_fluoresces_is_recognised_and_its_error_is_large(rose):
    readings = drawn([*LADDERS, *rose])
    taken = (WAVELENGTHS > 475) & (WAVELENGTHS < 575)
    glow = np.exp(-(((WAVELENGTHS - 600) / 25) ** 2))

    def glowing(r):
        share = r.parts.get("pond-rose", 0) / sum(r.parts.values(), 1e-9)
        # dense dye quenches itself
        light = (1 - r.reflectance[taken].mean()) / (1 + 3 * share) if share else 0
        return replace(r, reflectance=r.reflectance + 0.8 * light * glow)

    plain = characterise(readings)
    found = characterise(replace(readings, readings=tuple(map(glowing, readings.readings))))
    said = "no curves of K and S explain the readings of pond-rose"
    assert any(note.startswith(said) for note in found.notes)
    assert not any("no curves" in note for note in plain.notes)
    assert not any(one.contradicts for one in found.drawdowns)
    likely, before = ({p.id: p.uncertainty for p in one.paints} for one in (found, plain))
    assert likely["pond-rose"] > 5 > before["pond-rose"] and likely["kiln-blue"] < 3.5
    assert next(p for p in found.paints if p.id == "pond-rose").source.endswith("explain it")


def test_good_readings_are_not_called_bad(found):
    assert not any(one.contradicts for one in found.drawdowns)
    assert not any("contradicts" in note for note in found.notes)


def test_readings_without_the_glare_are_told_by_their_darkest():
    # 45/0: what the surface reflects is not read, from dark films or light ones
    bare = Surface(0.04, BELIEFS.k2, specular=0.0)
    found = characterise(drawn(LADDERS, surface=bare), leave_out=False)
    assert found.surface.outside == 0
    assert any("specular excluded" in note for note in found.notes)
    assert not any("mat" in note for note in found.notes)
    unseen = misses(found, drawn(UNSEEN, seed=9, surface=bare))
    assert unseen[[0, 1, 3]].max() < 1.0 and unseen[2] < 6


def test_a_mat_film_is_named():
    readings = drawn(LADDERS)
    mat = tuple(
        replace(r, reflectance=r.reflectance - 0.012) if r.sample == "D1" and r.parts else r
        for r in readings.readings
    )
    found = characterise(replace(readings, readings=mat), leave_out=False)
    assert any(note.startswith("D1 reads") and "mat" in note for note in found.notes)


def test_grounds_that_are_missing():
    readings = drawn(LADDERS[:2])
    films_only = tuple(r for r in readings.readings if r.surface != "bare-black")
    with pytest.raises(ReadingError, match="no bare black ground"):
        characterise(replace(readings, readings=films_only))
    # the ground of another drawdown stands in
    fewer = tuple(r for r in readings.readings if (r.sample, r.surface) != ("D0", "bare-black"))
    np.testing.assert_array_equal(
        films(replace(readings, readings=fewer)).ground, films(readings).ground
    )


def test_what_cannot_be_characterised():
    bare = tuple(r for r in drawn(LADDERS[:1]).readings if not r.parts)
    with pytest.raises(ReadingError, match="no paint"):
        characterise(Readings(bare, (), "yard.csv"))
    with pytest.raises(ReadingError, match="none of its paints"):
        characterise(drawn(LADDERS[:2]), known=TABLE)
    white = PigmentTable((replace(TRUE["yard-white"], id="yard-white"),), "whites.csv")
    with pytest.raises(ReadingError, match="none to find"):
        characterise(drawn(LADDERS[:1]), known=white)


# --- predicting ---------------------------------------------------------------------------------


def true_table():
    return PigmentTable(tuple(replace(p, id=id) for id, p in TRUE.items()), "true.csv")


def test_the_true_curves_predict_all_but_noise():
    readings = drawn(UNSEEN, noise=0)
    made = predict(true_table(), readings)
    assert [p.sample for p in made] == ["D0", "D1", "D2", "D3"]
    assert max(p.miss for p in made) < 0.01
    rng = np.random.default_rng(1)
    true = 15 * np.exp(0.3 * rng.standard_normal())
    assert made[0].thickness == pytest.approx(true, rel=0.05)


def test_the_miss_is_over_white_and_the_thickness_serves_both_grounds():
    # a film of white over black that is too light for its reading over white: no thickness fits
    parts = {"yard-white": 1}
    readings = drawn([parts], noise=0)
    wrong = tuple(
        replace(r, reflectance=r.reflectance * 0.8) if r.surface == "over-black" else r
        for r in readings.readings
    )
    (one,) = predict(true_table(), replace(readings, readings=wrong))
    given = next(r for r in wrong if r.surface == "over-white").reflectance
    ours = reflectance(parts, one.thickness, GROUNDS["white"], SURFACE)
    labs = reflectance_to_lab(np.array([given, ours]), viewing())
    assert one.surface == "over-white"
    assert one.miss == pytest.approx(float(ciede2000(labs[0], labs[1])), abs=1e-6)
    assert one.miss > 0.2


def test_opaque_layers_have_no_free_number():
    (one,) = predict(true_table(), drawn([UNSEEN[0]], ("opaque",), noise=0))
    assert math.isinf(one.thickness) and one.miss < 0.01 and one.surface == "opaque"


def test_paints_that_the_table_lacks():
    with pytest.raises(ReadingError, match="kiln-blue"):
        predict(TABLE, drawn([{"kiln-blue": 1}]))


def test_colour_index_names_will_do():
    readings = drawn([{"kiln-blue": 1}], noise=0, surface=TABLE.paints[0].surface)
    named = tuple(
        replace(r, parts={"PB29": 1.0}) if r.parts else r for r in readings.readings
    )
    (one,) = predict(TABLE, replace(readings, readings=named))
    assert one.miss < 0.01


# --- the command line ---------------------------------------------------------------------------


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    def write(readings, name="yard.csv"):
        path = tmp_path_factory.mktemp("readings") / name
        with open(path, "w", newline="") as stream:
            writer = csv.writer(stream)
            writer.writerow(["sample", "mixture", "surface", *(f"{w:g}" for w in WAVELENGTHS)])
            mixture = {r.sample: r.mixture for r in readings.readings if r.mixture}
            for r in readings.readings:
                figures = [f"{v:.4f}" for v in r.reflectance]
                writer.writerow([r.sample, mixture[r.sample], r.surface, *figures])
        return path

    return write


def test_characterise_and_predict(run, file, tmp_path):
    out, rows = tmp_path / "own.csv", tmp_path / "rows.csv"
    readings = file(drawn(LADDERS))
    ran = run("characterise", readings, "--out", out, "--json", "--csv", rows)
    assert ran.status == 0, ran.err
    told = json.loads(ran.out)
    count = len(rows.read_text().splitlines()) - 1
    assert told["cross_validated"]["count"] == len(LADDERS) - len(TRUE) and count == len(LADDERS)
    assert told["misses"]["mean"] < 0.5
    table = mixlab.read_table(out)
    assert table.ids == list(TRUE)
    assert table["kiln-blue"].uncertainty == pytest.approx(
        next(p for p in told["paints"] if p["id"] == "kiln-blue")["uncertainty"], abs=1e-3
    )

    ran = run("predict", out, file(drawn(UNSEEN, seed=9)), "--json")
    assert ran.status == 0, ran.err
    told = json.loads(ran.out)
    assert told["light"] == "D65" and told["units"]["miss"] == "CIEDE2000"
    assert {"sample", "mixture", "miss"} <= set(told["readings"][0])
    each = [one["miss"] for one in told["readings"]]
    assert told["misses"]["mean"] == pytest.approx(np.mean(each), abs=1e-3)
    assert told["misses"]["median"] == pytest.approx(np.median(each), abs=1e-3)
    assert told["misses"]["largest"] == max(each) < 4

    assert run("mix", "1 kiln-blue + 3 yard-white", "--table", out, "--only").status == 0


def test_tubes_bear_their_names_and_cautions(run, file, tmp_path):
    out = tmp_path / "own.csv"
    readings = file(drawn(LADDERS[:6]))
    words = ["characterise", readings, "--out", out, "--quick"]
    ran = run(*words, "--tube", "kiln-blue=PB28", "--tube", "yard-white=PW1", "--advise", "--json")
    assert ran.status == 0, ran.err
    first = json.loads(ran.out)["further_drawdowns"][0]
    assert first["draw_down"] == "one mix of soot and brick-orange with yard-white, 1 to 1"
    assert first["mixtures"] == ["1 soot + 1 yard-white", "1 brick-orange + 1 yard-white"]
    assert 2 < first["likely_error"] < 6
    table = mixlab.read_table(out)
    assert table["PB28"].id == "kiln-blue" and "cobalt" in table["kiln-blue"].cautions
    said = run("mix", "1 kiln-blue + 3 yard-white", "--table", out, "--only").out
    assert "lead" in said and "cobalt" in said


def test_only_some_paints_of_a_table_are_held(run, file, tmp_path):
    known, out = tmp_path / "known.csv", tmp_path / "own.csv"
    white, soot = TRUE["yard-white"], TRUE["soot"]
    mixlab.write_table([replace(white, id="yard-white"), replace(soot, id="soot")], known)
    readings = file(drawn(LADDERS))
    words = ["characterise", readings, "--table", known, "--out", out, "--quick"]
    assert "held as the table has them: yard-white, soot" in " ".join(run(*words).out.split())
    some = run(*words, "--fixed", "yard-white")
    assert "has them: yard-white" in " ".join(some.out.split()) and "white, soot" not in some.out
    assert mixlab.read_table(out)["soot"].source.startswith("readings")


def test_pages_for_a_person(run, file, tmp_path):
    out = tmp_path / "own.csv"
    readings = file(drawn(LADDERS[:6]))
    ran = run("characterise", readings, "--out", out, "--k1", "0.037", "--k2", "0.5",
              "--quick")  # fmt: skip
    assert ran.status == 0, ran.err
    for word in ("K1 0.037, K2 0.50", "kiln-blue", "Written", str(out)):
        assert word in ran.out
    ran = run("predict", out, readings)
    assert ran.status == 0 and "mean" in ran.out and "D5" in ran.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["{readings}", "--k1", "0.04"], "--k1 and --k2 go together"),
        (["{readings}", "--fixed", "soot"], "--fixed names paints of a table"),
        (["{readings}", "--tube", "soot"], "write an id and a name, as kiln-blue=PB29"),
        (["{readings}", "--tube", "mud=PB29"], "no paint 'mud' was read"),
        (["{readings}", "--tube", "yard-white=blue"], "'blue' is not a Colour Index name"),
        (["{readings}", "--k1", "0.04", "--k2", "1.5"], "--k2 1.5"),
        (["{readings}", "--table", "{oddity}"], "no-table.csv"),
        (["no-readings.csv"], "no-readings.csv"),
        (["card.toml", "--quick"], "not for a card"),
        (["card.toml"], "card.toml"),
    ],
)
def test_mistakes_are_one_line(run, file, tmp_path, words, said):
    places = {"readings": file(drawn(LADDERS[:1])), "oddity": tmp_path / "no-table.csv"}
    out = tmp_path / "own.csv"
    ran = run("characterise", *(w.format(**places) for w in words), "--out", out)
    assert ran.status == 2 and said in ran.err and ran.err.count("\n") == 1
    assert not out.exists() and not ran.out


def test_a_table_that_lacks_the_paint_is_one_line(run, file):
    from mixlab.files import bundled

    ran = run("predict", bundled("paints.csv"), file(drawn([{"kiln-blue": 1}])))
    assert ran.status == 2 and "kiln-blue" in ran.err and ran.err.count("\n") == 1


def test_errors_are_of_the_house():
    assert issubclass(ReadingError, MixlabError)


def test_the_help_shows_how_readings_are_written(run):
    out = run("characterise", "--help").out
    assert "A2,1 kiln-blue + 9 yard-white,opaque,0.535" in out
    assert all(len(line) <= 80 for line in out.splitlines())


def test_a_paint_that_is_called_white_is_the_unit():
    found = characterise(drawn([{"kiln-blue": 1}, LADDERS[5]]), leave_out=False)
    assert {paint.unit for paint in found.paints} == {"yard-white"}
    assert "no reading of yard-white by itself: its own colour is a guess" in found.notes
