"""Own tubes from an instrument, on published readings of oil paint.

Source: Geldof, Proano Gaibor, Ligterink, Hendriks, Kirchner, "Reconstructing Van Gogh's palette to
determine the optical characteristics of his paints", Heritage Science 6:17 (2018), CC0.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

import mixlab
from data.making.oils import PAINTS
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import WAVELENGTHS, reflectance_to_lab, viewing
from mixlab.files import bundled
from mixlab.measure.characterise import characterise
from mixlab.measure.drawdowns import BELIEFS
from mixlab.measure.films import films
from mixlab.measure.predictions import predict
from mixlab.measure.readings import Reading, Readings, read_readings
from mixlab.paint.optics import SURFACE as OF_BOOKS
from mixlab.paint.optics import Surface
from mixlab.paint.tables import PigmentTable
from mixlab.paint.trust import THEORY as LEAST


@pytest.fixture(scope="module")
def readings(oil_readings):
    return read_readings(oil_readings)


@pytest.fixture(scope="module")
def all_readings(all_oil_readings):
    return read_readings(all_oil_readings)


@pytest.fixture(scope="module")
def found(readings):
    return characterise(readings)


def test_all_thirteen_paints_and_their_drawdowns(found):
    assert sorted(paint.id for paint in found.paints) == sorted(PAINTS)
    assert len(found.drawdowns) == 26


def test_the_readings_are_fitted(found):
    # measured: mean 0.93, median 0.58; the largest is the mat ultramarine, which no surface that
    # reflects as the others do can explain
    assert found.misses.mean() < 1.1 and np.median(found.misses) < 0.7
    worst = max(found.drawdowns, key=lambda one: one.miss)
    assert worst.mixture == "100 ultramarine-blue" and worst.miss < 7
    assert any("mat" in note and worst.sample in note for note in found.notes)


def test_left_out_drawdowns_are_predicted(found):
    # measured: greys of zinc white and bone black, 2.2 and 1.4; every fit from a cold start
    told = [one for one in found.drawdowns if one.predictable]
    assert [one.sample for one in told] == ["07C", "07D"]
    assert found.cross_validated.max() < 2.5


def test_no_reading_is_called_bad(found):
    assert not any(one.contradicts for one in found.drawdowns)


def test_a_wrong_weight_in_the_grey_series_is_found(readings):
    wrong = replace(readings, readings=tuple(
        replace(r, parts={**r.parts, "bone-black": 3 * r.parts["bone-black"]})
        if r.sample == "07D" and r.parts else r
        for r in readings.readings
    ))  # fmt: skip
    # the greys, and a few colours beside them
    found = characterise(some(wrong, {
        r.sample for r in readings.readings if r.sample[:2] in ("04", "05", "07", "12")
    }))  # fmt: skip
    assert [one.sample for one in found.drawdowns if one.contradicts] == ["07D"]


# --- drawdowns that were not read ---------------------------------------------------------------


def some(readings, samples):
    return replace(readings, readings=tuple(r for r in readings.readings if r.sample in samples))


def split(readings, seed):
    """26 samples at random: every masstone, a mix with white of every other paint, and more."""
    rng = np.random.default_rng(seed)
    of = films(readings)
    white = of.shares[:, [of.ids.index("zinc-white"), of.ids.index("lead-white")]]
    kept = set(np.flatnonzero(of.shares.max(axis=1) == 1))
    for i, id in enumerate(of.ids):
        if id not in ("zinc-white", "lead-white"):
            tints = set(np.flatnonzero((of.shares[:, i] >= 0.05) & (white.sum(axis=1) >= 0.3)))
            kept.add(rng.choice(sorted(tints - kept)))
    rest = sorted(set(range(len(of.samples))) - kept)
    kept |= set(rng.choice(rest, 26 - len(kept), replace=False))
    return {of.samples[d] for d in kept}


THEORY = replace(BELIEFS, theory=0.4, noise=0.002, slip=1e-4)
"""Plain theory: parts as they were weighed, readings as they were read; with K1 = 0.04 and
K2 = 0.596, Fresnel and Judd 1942 for n = 1.5."""


def rest_of(readings, samples, **how):
    """What a fit to some samples misses the others by, and what is stated of them."""
    fitted = characterise(some(readings, samples), leave_out=False, **how)
    rest = some(readings, {r.sample for r in readings.readings} - samples)
    table, view = PigmentTable(fitted.paints, "some.csv"), viewing(finish="matt")
    return np.transpose([
        (one.miss, table.mix(one.mixture, view).likely_error) for one in predict(table, rest)
    ])  # fmt: skip


def shares_within(misses, stated):
    """How many misses lie within what was stated, and within twice that."""
    return np.mean(misses <= stated), np.mean(misses <= 2 * stated)


def test_26_drawdowns_predict_36_others(readings, all_readings):
    samples = {r.sample for r in readings.readings}
    misses, _ = rest_of(all_readings, samples)
    plain, _ = rest_of(all_readings, samples, beliefs=THEORY, surface=OF_BOOKS)
    print(f"26 to 36: mean {misses.mean():.2f}, median {np.median(misses):.2f}, "
          f"largest {misses.max():.1f}; plain theory {plain.mean():.2f}")  # fmt: skip
    # measured: 2.13, 1.92, 5.5; plain theory 2.29
    assert misses.mean() < 2.2 and misses.max() < 7 and len(misses) == 36
    assert misses.mean() < 0.95 * plain.mean()


@pytest.mark.slow
def test_random_splits_are_predicted_better_than_by_plain_theory(all_readings):
    # seeds on which nothing was chosen; what stands in BELIEFS was tried on others
    splits = [split(all_readings, seed) for seed in range(840, 848)]
    misses, stated = np.hstack([rest_of(all_readings, samples) for samples in splits])
    plain, _ = np.hstack([
        rest_of(all_readings, samples, beliefs=THEORY, surface=OF_BOOKS) for samples in splits
    ])  # fmt: skip
    once, twice = shares_within(misses, stated)
    print(f"{misses.size} mixes: {misses.mean():.2f}, plain theory {plain.mean():.2f}; within what "
          f"is stated {once:.0%}, within twice {twice:.0%}")  # fmt: skip
    # measured: 2.59 and 2.95, 73 and 94 %
    assert misses.mean() < 0.95 * plain.mean() and misses.mean() < 3.3
    assert 0.6 < once < 0.76 and twice >= 0.93


@pytest.mark.slow
def test_splits_over_one_ground_are_predicted_as_well_as_is_stated(all_readings):
    made = []
    for seed in range(900, 904):
        samples = split(all_readings, seed)
        made.append(rest_of(replace(all_readings, readings=tuple(
            r for r in all_readings.readings
            if r.sample not in samples or r.surface.endswith("white")
        )), samples))  # fmt: skip
    misses, stated = np.hstack(made)
    once, twice = shares_within(misses, stated)
    print(f"{misses.size} mixes over white: {misses.mean():.2f}; within what is stated "
          f"{once:.0%}, within twice {twice:.0%}")  # fmt: skip
    # measured: 2.92, 74 and 97 %
    assert misses.size == 144 and 0.6 < once < 0.76 and twice >= 0.93


def without(readings, lacks, seed):
    """A split without what would tell of four colours: masstones and shades, or mixes."""
    of, rng = films(readings), np.random.default_rng(seed)
    colours = [i for i, id in enumerate(of.ids) if id[-5:] not in ("white", "black")]
    some = rng.choice(colours, 4, replace=False)
    share = of.shares[:, some]
    gone = (share >= 0.5) if lacks == "no masstone" else (share > 0) & (share < 1)
    left = split(readings, seed) - {of.samples[d] for d in np.flatnonzero(gone.any(axis=1))}
    told = np.array([sample in left for sample in of.samples])
    asked = (share[:, (share[told] > 0).any(axis=0)] > 0).any(axis=1)
    known = (of.shares[told] > 0).any(axis=0)
    return left, {of.samples[d] for d in np.flatnonzero(asked & ~(of.shares[:, ~known] > 0).any(1))}


@pytest.mark.slow
@pytest.mark.parametrize("lacks", ["no masstone", "no mix with the others"])
def test_what_readings_lack_is_stated(all_readings, lacks):
    made = []
    for seed in range(900, 903):
        left, asked = without(all_readings, lacks, seed)
        made.append(rest_of(some(all_readings, left | asked), left))
    misses, stated = np.hstack(made)
    once, twice = shares_within(misses, stated)
    print(f"{lacks}: {misses.size} mixes: {misses.mean():.2f}; within what is stated {once:.0%}, "
          f"within twice {twice:.0%}")  # fmt: skip
    # measured: without a masstone 6.9, 41 and 100 %; in no mix 8.0, 63 and 92 %
    assert misses.size > 30 and once > 0.35 and twice > 0.9


def test_a_paint_of_which_a_masstone_and_a_tint_were_read_is_predicted(all_readings):
    # each colour in turn beside the greys: what a painter has of a new tube
    of = films(all_readings)
    white, black, lead = map(of.ids.index, ("zinc-white", "bone-black", "lead-white"))
    made = []
    for i in set(range(len(of.ids))) - {white, black, lead}:
        own = np.flatnonzero(of.shares[:, [i, white, black]].sum(axis=1) > 0.999)
        share = of.shares[own, i]
        tint = np.where(of.shares[own, white] > 0, abs(share - 0.1), 1)
        read = {*own[share == 0], own[share.argmax()], own[tint.argmin()]}
        every = some(all_readings, {of.samples[d] for d in own})
        made.append(rest_of(every, {of.samples[d] for d in read}))
    misses, stated = np.hstack(made)
    once, twice = shares_within(misses, stated)
    print(f"{misses.size} mixes: mean {misses.mean():.2f}; within what is stated {once:.0%}, "
          f"within twice {twice:.0%}")  # fmt: skip
    # measured: 2.17 (plain theory 2.44), 67 and 97 %
    assert misses.mean() < 2.5 and misses.size == 30 and once > 0.6 and twice > 0.9


# --- sets simulated from published curves -------------------------------------------------------

# K and S of Berns, Artist Paint Spectral Database (2016); parts, films and noise are ours
SURFACE = Surface(0.04, 0.5)
PLAIN = {"white": np.full(36, 0.8), "black": np.full(36, 0.05)}


@pytest.fixture(scope="module")
def paints(artist_figures):
    rows = pd.read_csv(artist_figures).set_index(["paint", "quantity"])
    grid = [f"{w:.0f}" for w in WAVELENGTHS]
    return {
        id: np.maximum([rows.loc[(id, q), grid].to_numpy(float) for q in "KS"], 1e-6)
        for id in rows.index.get_level_values("paint").unique()
    }


def looks(paints, parts):
    """Opaque reflectance and CIELAB of a mix by the published curves."""
    k, s = sum(n * paints[id] for id, n in parts.items()) / sum(parts.values())
    return k, s, reflectance_to_lab(SURFACE.measured(mixlab.paint.optics.opaque(k, s)), viewing())


def read_set(paints, colours, tints, surfaces, rng, wrong=""):
    """Readings of a white, and of masstone and tints of each colour; slips of 3 %, noise, gloss."""
    mixes = [("W", {"titanium-white": 1.0})]
    for n, id in enumerate(colours):
        mixes.append((f"{n}A", {id: 1.0}))
        mixes += [(f"{n}T{tint}", {id: 1.0, "titanium-white": float(tint)}) for tint in tints]
    made = []
    for sample, parts in mixes:
        real = {id: n * np.exp(0.03 * rng.standard_normal()) for id, n in parts.items()}
        k, s, _ = looks(paints, real)
        thick = 6 * np.exp(0.3 * rng.standard_normal())
        said = dict(parts)
        if sample == wrong:
            said["titanium-white"] *= 2
        for surface in surfaces:
            ground = PLAIN.get(surface[5:], np.zeros(36))
            layer = mixlab.paint.optics.film(
                k, s, np.array(np.inf if surface == "opaque" else thick), SURFACE.internal(ground)
            )
            seen = SURFACE.measured(layer) * (1 + 0.005 * rng.standard_normal())
            seen = seen + 0.0005 * rng.standard_normal(36)
            made.append(Reading(sample, said, sample, surface, seen, (400.0, 700.0)))
            if surface != "opaque":
                made.append(Reading(sample, {}, "", f"bare-{surface[5:]}", ground, (400.0, 700.0)))
    return Readings(tuple(made), (), "set.csv")


KINDS = {
    "two grounds": ((1, 9), ("over-white", "over-black")),
    "opaque": ((1, 4, 16), ("opaque",)),
    "one ground": ((1, 9), ("over-white",)),
}


@pytest.fixture(scope="module", params=KINDS)
def sets(request, paints):
    """Some sets of one kind, characterised: the colours, and what was found."""
    tints, surfaces = KINDS[request.param]
    made = []
    for seed in range(3 if request.param == "two grounds" else 2):
        rng = np.random.default_rng(seed)
        colours = list(rng.choice([id for id in paints if id != "titanium-white"], 5, False))
        made.append((colours, characterise(read_set(paints, colours, tints, surfaces, rng))))
    return request.param, made


def test_honest_drawdowns_are_not_called_bad(sets):
    assert not [one.mixture for _, found in sets[1] for one in found.drawdowns if one.contradicts]


def test_what_is_stated_of_the_error_is_so(sets, paints):
    misses, stated = [], []
    for colours, found in sets[1]:
        of = PigmentTable(found.paints, "set.csv")
        pairs = [{a: 1.0, b: 1.0} for a in colours for b in colours if a < b]
        tints = [{id: 1.0, "titanium-white": n} for id in colours for n in (0.3, 3.0, 30.0)]
        for parts in [*({id: 1.0} for id in colours), *tints, *pairs]:
            made = of.mix(parts, viewing(finish="matt"))
            misses.append(float(ciede2000(looks(paints, parts)[2], made.lab)))
            stated.append(made.likely_error)
    within = np.mean(np.array(misses) <= 2 * np.array(stated))
    print(
        f"{sets[0]}: miss {np.sqrt(np.mean(np.square(misses))):.2f} root mean square, stated "
        f"{np.sqrt(np.mean(np.square(stated))):.2f}; within twice {within:.0%}"
    )
    # 19 in 20, as trust.py has it, or nearly; over one ground measured oils, of which 97 % do, hold
    # what is stated, and these thinner films do less well
    assert within > (0.78 if sets[0] == "one ground" else 0.88)
    assert np.mean(stated) < 6 * np.mean(misses)


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "seeds"), [("two grounds", (0, 3)), ("opaque", (1, 2))])
def test_a_mislabelled_tint_is_found(paints, kind, seeds):
    tints, surfaces = KINDS[kind]
    for seed in seeds:
        rng = np.random.default_rng(10 + seed)
        colours = list(rng.choice([id for id in paints if id != "titanium-white"], 5, False))
        wrong = f"{seed}T{tints[seed % len(tints)]}"
        found = characterise(read_set(paints, colours, tints, surfaces, rng, wrong))
        (note,) = [note for note in found.notes if "contradicts" in note]
        # of three drawdowns of a paint, each may be the one that is off: it is said which
        assert wrong in note and f"{seed}T" in note.split(" ")[0]


# --- the table that is kept ---------------------------------------------------------------------


def test_the_bundled_table_of_oils_is_that_fit(all_readings):
    table = mixlab.read_table(bundled("oils.csv"))
    fitted = {p.id: p for p in characterise(all_readings, leave_out=False).paints}
    for paint in table:
        # digits of the file, and of a sum of squares that has settled
        np.testing.assert_allclose(paint.S, fitted[paint.id].S, rtol=0.05, atol=1e-3)
        assert paint.uncertainty > LEAST


def test_the_bundled_table_predicts_the_readings(all_readings):
    made = predict(mixlab.read_table(bundled("oils.csv")), all_readings)
    misses = np.array([one.miss for one in made])
    print(f"fitted to all 62: mean {misses.mean():.2f}")
    assert misses.mean() < 1.5 and len(misses) == 62


def test_facts_of_the_table():
    # Colour Index names: common knowledge of the trade, from memory
    table = mixlab.read_table(bundled("oils.csv"))
    assert {p.id: p.colour_index for p in table} == {id: (i,) for id, (i, _) in PAINTS.items()}
    assert {p.basis for p in table} == {"measured"} and {p.unit for p in table} == {"zinc-white"}
    for id, word in {
        "lead-white": "lead", "red-lead": "lead", "vermilion": "mercury",
        "emerald-green": "arsenic", "chrome-yellow": "chromate", "chrome-yellow-light": "chromate",
        "cobalt-blue": "cobalt",
    }.items():  # fmt: skip
        assert word in table[id].cautions
    assert all("safety data sheet" in p.cautions for p in table)
    assert all("Heritage Science 6:17 (2018), CC0" in p.source for p in table)


def test_the_miss_is_that_of_the_film_over_white(readings):
    # written out anew, with the thickness that was found
    table = mixlab.read_table(bundled("oils.csv"))
    both = {one.sample: one for one in predict(table, readings)}
    own = films(readings, table.ids)
    k, s = table.K, table.S
    surface = table.paints[0].surface
    for d, sample in enumerate(own.samples):
        at = own.shown[d]
        x = both[sample].thickness
        ground = np.clip(surface.internal(own.ground[at]), 0, 1)
        share = own.shares[d]
        seen = surface.measured(mixlab.paint.optics.film(share @ k, share @ s, x, ground))
        labs = reflectance_to_lab(np.array([seen, own.reflectance[at]]), viewing())
        assert float(ciede2000(*labs)) == pytest.approx(both[sample].miss, abs=1e-6)
