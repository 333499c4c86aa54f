"""Mixes: the notation, the colour that follows, opacity, the steps, and a slip of the knife."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.munsell import parse_munsell
from mixlab.colour.spaces import (
    WAVELENGTHS,
    hex_to_lab,
    lab_to_lch,
    lab_to_value,
    munsell_to_lab,
    reflectance_to_lab,
    reflectance_to_xyz,
    viewing,
)
from mixlab.errors import LightError, MixlabError, NotationError, TableError
from mixlab.paint.mixtures import SLIP, STRONG, Mixture
from mixlab.paint.names import parse_mix
from mixlab.paint.optics import Surface, film
from mixlab.paint.paints import Paint, tinting_strength
from mixlab.paint.trust import THEORY, TYPICAL, about, grade

TABLE = mixlab.read_table()
MATT = viewing(finish="matt")


def refusal(mistake, call, *args):
    """Return the message with which something is refused, which must be one line."""
    with pytest.raises(mistake) as caught:
        call(*args)
    message = str(caught.value)
    assert len(message.splitlines()) == 1
    return message


# --- the notation -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (
            "2 ultramarine-blue + 1 burnt-umber + 4 titanium-white",
            {"ultramarine-blue": 2, "burnt-umber": 1, "titanium-white": 4},
        ),
        ("1 PB29", {"ultramarine-blue": 1}),
        ("4.5 PW6 + 0.25 pb29", {"titanium-white": 4.5, "ultramarine-blue": 0.25}),
        ("  .5   PW6  +  1. Ultramarine-Blue ", {"titanium-white": 0.5, "ultramarine-blue": 1}),
        ("1 PW6\n+ 2 PB29", {"titanium-white": 1, "ultramarine-blue": 2}),
        ("1\tPW6\t+\t2\u00a0PB29", {"titanium-white": 1, "ultramarine-blue": 2}),
        ("1e3 PW6 + +2 PB29", {"titanium-white": 1000, "ultramarine-blue": 2}),
        ("PB29", {"ultramarine-blue": 1}),
        ("2 Ultramarine Blue + 1 burnt umber", {"ultramarine-blue": 2, "burnt-umber": 1}),
        ("ultramarine\u2010blue + 3 Titanium  White", {"ultramarine-blue": 1, "titanium-white": 3}),
    ],
)
def test_notation_is_read(text, parts):
    assert parse_mix(text, TABLE.names) == parts
    assert TABLE.mix(text).parts == parts
    assert list(TABLE.mix(text).parts) == list(parts)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", ["an empty mix", "2 ultramarine-blue + 1 titanium-white"]),
        (" \n", ["an empty mix"]),
        ("2PB29", ["no paint '2PB29'", "near names: pb29"]),
        ("3", ["term 1 ('3')", "parts, a space and a paint"]),
        ("2 PB29 + 3", ["term 2 ('3')", "parts, a space and a paint"]),
        ("2 PB29 +", ["term 2 ('')", "parts, a space and a paint"]),
        ("2 PB29 + ", ["term 2 ('')"]),
        ("+ 2 PB29", ["term 1 ('')"]),
        ("2 PB29 + + 1 PW6", ["term 2 ('+ 1 PW6')", "parts, a space and a paint"]),
        ("two PB29", ["term 1", "no paint 'two PB29'"]),
        ("½ PB29", ["'½' is not a number of parts"]),
        ("1/2 PB29", ["'1/2' is not a number of parts"]),
        ("2,5 PB29", ["'2,5' is not a number of parts", "decimals have a point, as 2.5"]),
        ("ultramarine-blue 2", ["joined by a + with a space on either side"]),
        ("1 PW6 + 0 PB29", ["term 2 ('0 PB29')", "parts must be above zero"]),
        ("-1 PB29", ["term 1 ('-1 PB29')", "parts must be above zero"]),
        ("nan PB29", ["parts must be above zero"]),
        ("inf PB29", ["parts must be above zero, at least 1e-15 and at most 1e+09"]),
        ("1e-320 PB29", ["at least 1e-15"]),
        ("1e308 PB29 + 1e308 PW6", ["term 1", "at most 1e+09"]),
        ("2 PB29+1 PW6", ["term 1", "joined by a + with a space on either side"]),
        ("2 PB29 +1 PW6", ["joined by a + with a space on either side"]),
        ("2 PB29, 1 PW6", ["joined by a + with a space on either side"]),
        ("2 PB29 and 1 PW6", ["joined by a + with a space on either side"]),
        ("2 PB29 1 PW6", ["joined by a + with a space on either side"]),
        ("1 PW6 + 1 PBr7", ["term 2 ('1 PBr7')", "PBr7 is borne by raw-sienna, burnt-sienna"]),
        ("1 burnt umbr", ["no paint 'burnt umbr'", "near names: burnt-umber"]),
        ("1 PB29 + white", ["term 2", "white may be titanium-white, zinc-white, mixing-white"]),
        ("1 green", ["green may be phthalo-blue-green-shade, ", "write the id"]),
        ("1 синий", ["term 1 ('1 синий'): no paint 'синий'"]),
        ("1 PW6 + 2 viridan", ["term 2 ('2 viridan'): no paint 'viridan'; near names: viridian"]),
        ("1 PB29 + 1 PW6 + 1 ultramarine-blue", ["term 3", "is in the mix already"]),
        ("1 PB29 + 1 PB29", ["term 2", "is in the mix already; add its parts together"]),
    ],
)
def test_mistakes_in_notation_point_at_the_term(text, wrong):
    message = refusal(NotationError, TABLE.mix, text)
    for part in wrong:
        assert part in message


@pytest.mark.parametrize(
    ("parts", "wrong"),
    [
        ({}, "at least one paint"),
        ({"PB29": 0}, "0 parts of ultramarine-blue: parts must be above zero"),
        ({"PB29": -1, "PW6": 2}, "-1 parts of ultramarine-blue"),
        ({"PB29": float("nan")}, "nan parts of ultramarine-blue"),
        ({"PB29": float("inf")}, "inf parts of ultramarine-blue"),
        ({"PB29": "some"}, "must be numbers"),
        ({"PB29": None}, "must be numbers"),
        ({"PB29": 1, "ultramarine-blue": 2}, "twice"),
        ({"PBr7": 1}, "PBr7 is borne by"),
        ({"viridan": 1}, "near names: viridian"),
    ],
)
def test_mistakes_in_parts_are_told(parts, wrong):
    assert wrong in refusal(NotationError, TABLE.mix, parts)


def test_a_mix_writes_itself_as_it_is_read():
    for text in (
        "2 ultramarine-blue + 1 burnt-umber + 4 titanium-white",
        "0.25 phthalo-blue-green-shade + 12.5 titanium-white",
    ):
        assert str(TABLE.mix(text)) == text


# --- the colour of a mix ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def mixture():
    return TABLE.mix("3 titanium-white + 1 ultramarine-blue + 0.5 burnt-sienna")


def test_shares_sum_to_one(mixture):
    assert mixture.shares == pytest.approx(
        {"titanium-white": 3 / 4.5, "ultramarine-blue": 1 / 4.5, "burnt-sienna": 0.5 / 4.5}
    )


def test_the_reflectance_is_that_of_the_summed_curves(mixture):
    # Kubelka-Munk and Saunderson written out: sums by share (Duncan 1940), the thick layer
    # (Kubelka 1948), then the surface (Saunderson 1942)
    paints = [TABLE[id] for id in ("titanium-white", "ultramarine-blue", "burnt-sienna")]
    k = sum(n * paint.K for n, paint in zip((3, 1, 0.5), paints, strict=True)) / 4.5
    s = sum(n * paint.S for n, paint in zip((3, 1, 0.5), paints, strict=True)) / 4.5
    np.testing.assert_allclose(mixture.K, k)
    np.testing.assert_allclose(mixture.S, s)
    q = k / s
    r = 1 + q - np.sqrt(q**2 + 2 * q)
    k1, k2 = 0.03, 0.65
    body = (1 - k1) * (1 - k2) * r / (1 - k2 * r)
    assert mixture.view == viewing("D65", "2", "gloss")
    for finish, share in (("gloss", 0.05), ("satin", 0.5), ("matt", 1.0)):
        made, seen = mixture.under(finish=finish), share * k1 + body
        np.testing.assert_allclose(made.reflectance, seen, rtol=1e-9)
        np.testing.assert_allclose(made.lab, reflectance_to_lab(seen, viewing()), atol=1e-9)


def test_notations_of_the_colour_agree(mixture):
    np.testing.assert_allclose(mixture.lch, lab_to_lch(mixture.lab))
    read = munsell_to_lab(parse_munsell(mixture.munsell), viewing())
    assert ciede2000(read, mixture.lab) < 0.5
    assert mixture.in_gamut
    assert ciede2000(hex_to_lab(mixture.hex, viewing()), mixture.lab) < 0.75  # half of 1 in 255


def test_a_colour_beyond_the_screen_says_so():
    assert not TABLE.mix("2 phthalo-blue-green-shade + 1 PW6").in_gamut


def test_another_light_changes_the_colour_and_nothing_else():
    mixture = TABLE.mix("1 cobalt-blue + 1 titanium-white")
    other = mixture.under("A", "10")
    assert (other.view.light, other.view.observer) == ("A", "10")
    assert other.parts == mixture.parts
    np.testing.assert_array_equal(other.reflectance, mixture.reflectance)
    np.testing.assert_allclose(other.lab, reflectance_to_lab(mixture.reflectance, other.view))
    assert ciede2000(other.lab, mixture.lab) > 1
    np.testing.assert_allclose(other.under().lab, mixture.lab)
    assert "no light named 'moon'" in refusal(LightError, mixture.under, "moon")
    asked = TABLE.mix(mixture.parts, mixlab.viewing("A", "10"))
    np.testing.assert_array_equal(asked.lab, other.lab)


def test_another_light_keeps_the_finish():
    mixture = TABLE.mix("1 cobalt-blue + 1 titanium-white", MATT)
    assert mixture.under("A").view == viewing("A", "2", "matt")
    assert mixture.under("A", finish="satin").view == viewing("A", "2", "satin")
    assert "no finish 'dull'; the finish is gloss, satin, matt" in refusal(
        LightError, mixture.under, "A", "2", "dull"
    )


def test_sinking_in_lightens_darks_and_greys_them():
    umber = TABLE.mix("1 burnt-umber")
    assert umber.sunk.view == MATT
    np.testing.assert_allclose(umber.sunk.lab, TABLE["burnt-umber"].lab, atol=1e-9)
    value, chroma = umber.sinking
    gloss, matt = (lab_to_value(lab, MATT) for lab in (umber.lab, umber.sunk.lab))
    assert value == pytest.approx(matt - gloss, abs=1e-9) and value > 0.5
    assert chroma == pytest.approx(umber.sunk.lch[1] - umber.lch[1], abs=1e-9) and chroma < 0
    # the lighter the paint, the less there is to be seen of it
    pale, dark = (TABLE.mix(f"{n} titanium-white + 1 burnt-umber").sinking for n in (20, 0.1))
    assert 0 < pale[0] < dark[0] / 3
    assert umber.sunk.sinking == pytest.approx((0, 0), abs=1e-12)


def test_the_contrast_ratio_is_that_of_the_measured_film():
    # ISO 6504-3 is measured: how the paint is looked at changes nothing
    mixture = TABLE.mix("1 quinacridone-magenta + 1 titanium-white")
    assert mixture.contrast_ratio(0.2) == mixture.under(finish="matt").contrast_ratio(0.2)


def test_one_paint_is_its_masstone(table):
    for paint in table:
        np.testing.assert_allclose(table.mix({paint.id: 7}, MATT).lab, paint.lab, atol=1e-9)


def test_paints_of_different_surfaces_are_refused():
    other = replace(TABLE["PB29"], surface=Surface(0.04, 0.6))
    message = refusal(TableError, Mixture, (TABLE["PW6"], other), (1.0, 1.0), viewing())
    assert "saunderson_k1" in message and "cannot be mixed" in message


def test_paints_of_different_units_are_refused():
    other = replace(TABLE["PB29"], unit="zinc-white")
    message = refusal(TableError, Mixture, (TABLE["PW6"], other), (1.0, 1.0), viewing())
    assert "those of ultramarine-blue in that of zinc-white; such paints cannot be mixed" in message


def test_a_paint_twice_is_refused():
    paint = TABLE["PB29"]
    assert "twice" in refusal(NotationError, Mixture, (paint, paint), (1.0, 2.0), viewing())
    assert "parts for each" in refusal(NotationError, Mixture, (paint,), (1.0, 2.0), viewing())


_MIXES = st.dictionaries(
    st.sampled_from(TABLE.ids), st.floats(0.05, 50), min_size=2, max_size=6
)


@given(parts=_MIXES, factor=st.floats(1e-3, 1e3), data=st.data())
@settings(deadline=None)
def test_order_and_scale_change_nothing(parts, factor, data):
    mix = TABLE.mix(parts)
    order = data.draw(st.permutations(list(parts)))
    other = TABLE.mix({paint: factor * parts[paint] for paint in order})
    np.testing.assert_allclose(other.lab, mix.lab, atol=1e-8)
    assert other.contrast_ratio() == pytest.approx(mix.contrast_ratio(), abs=1e-8)
    assert other.shares == pytest.approx(mix.shares)


@given(parts=_MIXES, white=st.floats(0.01, 100))
@example(parts={"zinc-white": 1.0, "lemon-yellow": 0.05}, white=1.0)
@settings(deadline=None)
def test_white_never_lowers_value(parts, white):
    parts = {paint: n for paint, n in parts.items() if paint != "titanium-white"}
    assume(parts)
    lighter = TABLE.mix(parts | {"titanium-white": white})
    assert lighter.lab[0] >= TABLE.mix(parts).lab[0] - 1e-9


# --- opacity ------------------------------------------------------------------------------------


def test_a_coat_of_titanium_white_just_hides():
    # contrast ratio 0.98, ISO 6504-3
    assert TABLE.mix("1 PW6").contrast_ratio() == pytest.approx(0.98, abs=0.005)


@pytest.mark.parametrize("id", ["titanium-white", "ultramarine-blue", "yellow-ochre", "viridian"])
def test_a_thicker_film_hides_more(id):
    ratios = [TABLE.mix({id: 1}).contrast_ratio(coats) for coats in (0.01, 0.1, 0.5, 1, 2, 5, 50)]
    assert (np.diff(ratios) >= 0).all()
    assert ratios[0] < 0.5 < 0.97 < ratios[-1] <= 1
    assert TABLE.mix({id: 1}).contrast_ratio(float("inf")) == pytest.approx(1)


def test_the_contrast_ratio_is_that_of_luminances_over_black_and_white(mixture):
    # ISO 6504-3: over a black ground that reflects nothing and a white one that reflects 0.80,
    # in a fifth of a coat of 20 / S of titanium white
    over_black, over_white = (
        reflectance_to_xyz(
            mixture.paints[0].surface.measured(film(mixture.K, mixture.S, 0.2 * 20.0, ground)),
            viewing(),
        )[1]
        for ground in (0.0, 0.8)
    )
    assert mixture.contrast_ratio(0.2) == pytest.approx(over_black / over_white, abs=1e-12)
    assert mixture.contrast_ratio(0.2) < 0.98


def test_a_coat_of_another_unit_is_the_film_in_which_its_white_hides():
    # the same paints, their K and S in the unit of zinc white, S = 1 at 550 nm
    zinc = TABLE["zinc-white"]
    scale = zinc.S[17]
    other = replace(zinc, K=zinc.K / scale, S=zinc.S / scale, unit="zinc-white")
    made = Mixture((other,), (1.0,), MATT)
    assert made.contrast_ratio() == pytest.approx(0.98, abs=0.01)
    thicker = TABLE.mix({"zinc-white": 1}).contrast_ratio(1 / scale)
    assert made.contrast_ratio() == pytest.approx(thicker, abs=1e-9)
    np.testing.assert_allclose(made.lab, zinc.lab, atol=1e-9)


@pytest.mark.parametrize("coats", [0, -1, float("nan")])
def test_a_film_has_some_thickness(mixture, coats):
    assert "above zero" in refusal(MixlabError, mixture.contrast_ratio, coats)


@pytest.mark.parametrize("parts", ["1 PB29", "1 bone-black", "3 PW6 + 1 PB29", "1 PY74 + 1 PR122"])
def test_let_down_a_film_is_thin_and_seen_from_within(parts):
    mix = TABLE.mix(parts)
    seen = mix.K[(WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)]
    # a tenth of a coat, of a coloured paint as thin as makes K X = 1/2 where it absorbs most
    thickness = 2.0 if seen.min() > seen.max() / 2 else min(2.0, 0.5 / seen.max())
    black, white = (film(mix.K, mix.S, thickness, ground) for ground in (0.0, 0.8))
    weights = white * (viewing().weights / viewing().white).sum(axis=1)
    ratio = np.average(black, weights=weights) / np.average(white, weights=weights)
    assert mix.let_down_contrast_ratio == pytest.approx(ratio, abs=1e-9)


def test_a_class_is_the_lower_of_a_coat_and_let_down():
    blue, sky = TABLE.mix("1 PB60"), TABLE.mix("1 PB60 + 9 PW6")
    assert blue.contrast_ratio() > 0.98 and blue.opacity_class() == "transparent"
    assert sky.opacity_class() == "opaque" and sky.opacity_class(0.02) == "transparent"
    assert TABLE["PB60"].opacity_class == "transparent"


# --- slip and steps -----------------------------------------------------------------------------


def moved(parts, paint, by):
    """Return how far a mix moves if one paint is off, written out; less than nothing is nothing."""
    off = parts | {paint: parts[paint] + by}
    off = {id: n for id, n in off.items() if n > 0}
    return float(ciede2000(TABLE.mix(parts).lab, TABLE.mix(off).lab))


@pytest.mark.parametrize(
    "text",
    [
        "3 titanium-white + 1 ultramarine-blue + 0.5 burnt-sienna",
        "9 titanium-white + 1 phthalo-blue-green-shade",
        "8 titanium-white + 0.2 phthalo-green-blue-shade + 0.25 viridian",
        "1 PY74 + 2 PR254",
    ],
)
def test_the_slip_is_that_of_a_quarter_part(text):
    mix = TABLE.mix(text)
    expected = {
        id: max(moved(mix.parts, id, +0.25), moved(mix.parts, id, -0.25)) for id in mix.parts
    }
    assert mix.sensitivity.by_paint == pytest.approx(expected, abs=1e-6)
    assert mix.sensitivity.miss == max(mix.sensitivity.by_paint.values()) > 0
    assert mix.sensitivity.by_paint[mix.sensitivity.paint] == mix.sensitivity.miss
    assert SLIP == 0.25


def test_a_paint_by_itself_cannot_slip():
    assert TABLE.mix("2 PB29").sensitivity.miss == pytest.approx(0, abs=1e-9)


def test_phthalo_slips_most():
    # a strong blue in much white needs the most care; common practice, no source
    assert TABLE.mix("9 PW6 + 1 PB15:3 + 1 PBk9").sensitivity.paint == "phthalo-blue-green-shade"


@given(parts=_MIXES)
@settings(deadline=None, max_examples=25)
def test_steps_lead_to_the_mix(parts):
    mix = TABLE.mix(parts)
    added = dict.fromkeys(parts, 0.0)
    for step in mix.steps:
        added[step.paint.id] += step.parts
        sofar = TABLE.mix({id: n for id, n in added.items() if n > 0})
        np.testing.assert_allclose(step.lab, sofar.lab, atol=1e-8)
        assert (step.munsell, step.hex) == (sofar.munsell, sofar.hex)
    assert added == pytest.approx(parts)
    np.testing.assert_allclose(mix.steps[-1].lab, mix.lab, atol=1e-8)

    slips = [mix.sensitivity.by_paint[step.paint.id] for step in mix.steps]
    assert slips == sorted(slips)
    assert mix.steps[-1].paint.id == mix.sensitivity.paint or slips[-1] == mix.sensitivity.miss
    goes = [sum(step.paint.id == id for step in mix.steps) for id in parts]
    first = mix.steps[0].paint.id
    for id, count in zip(parts, goes, strict=True):
        assert count == (2 if mix.sensitivity.by_paint[id] > STRONG and id != first else 1)


def test_white_goes_first_and_phthalo_in_two_goes():
    mix = TABLE.mix("1 PB15:3 + 9 PW6", MATT)
    assert [(step.paint.id, step.parts) for step in mix.steps] == [
        ("titanium-white", 9),
        ("phthalo-blue-green-shade", 0.5),
        ("phthalo-blue-green-shade", 0.5),
    ]
    np.testing.assert_allclose(mix.steps[0].lab, TABLE["PW6"].lab, atol=1e-9)


def test_steps_are_seen_under_the_light_of_the_mix():
    mix = TABLE.mix("1 PB15:3 + 9 PW6").under("A")
    np.testing.assert_allclose(mix.steps[-1].lab, mix.lab)
    np.testing.assert_allclose(mix.steps[0].lab, TABLE.mix("1 PW6").under("A").lab)


def test_a_paint_that_adds_nothing_has_no_tinting_strength():
    white, blue = TABLE["titanium-white"], TABLE["ultramarine-blue"]
    clear = Paint("clear", "clear", (), K=white.K / 10, S=white.S / 10)
    assert tinting_strength(clear, blue, white) == 0
    assert np.isnan(tinting_strength(blue, clear, white))
    assert tinting_strength(blue, blue, white) == 1


# --- trust --------------------------------------------------------------------------------------


def with_uncertainty(parts, **uncertainty):
    """A mix of the bundled paints with other uncertainties, by id."""
    paints = tuple(
        replace(TABLE[id], uncertainty=uncertainty[id.replace("-", "_")]) for id in parts
    )
    return Mixture(paints, tuple(map(float, parts.values())))


def test_the_likely_error_is_that_of_the_guide():
    # JCGM 100:2008, 5.1, written out: squares of sensitivity times uncertainty; what the theory
    # misses is in both paints' figures and counts once
    parts = {"ultramarine-blue": 1.0, "titanium-white": 3.0}
    made = with_uncertainty(parts, ultramarine_blue=5.0, titanium_white=3.0)
    nudge = 0.2
    low, high = (1 / (1 + np.exp((np.arange(380, 731, 10) - edge) / 15)) for edge in (500, 600))
    squares = 0.0
    for paint, own in zip(made.paints, (5.0, 3.0), strict=True):
        by_k = [1, 0, low, high - low, 1 - high]
        by_s = [1, 1, 0, 0, 0]
        total = 0.0
        for k, s in zip(by_k, by_s, strict=True):
            moved = replace(paint, K=paint.K * np.exp(nudge * k), S=paint.S * np.exp(nudge * s))
            paints = tuple(moved if one is paint else one for one in made.paints)
            lab = Mixture(paints, made.amounts).lab
            total += float(ciede2000(made.lab, lab) / nudge) ** 2
        squares += total / TYPICAL**2 * (own**2 - THEORY**2)
    assert made.likely_error == pytest.approx(np.sqrt(THEORY**2 + squares), rel=1e-9)


def test_a_doubtful_paint_counts_by_what_it_does_to_the_mix():
    errors = [
        with_uncertainty(
            {"titanium-white": 100.0, "burnt-sienna": n}, titanium_white=2.0, burnt_sienna=8.0
        ).likely_error
        for n in (1e-4, 0.1, 2.0)
    ]
    assert errors[0] == pytest.approx(2, abs=0.1)
    assert errors[0] < errors[1] < errors[2]


def test_better_known_paints_make_a_surer_mix():
    parts = {"titanium-white": 3.0, "ultramarine-blue": 1.0}
    errors = [
        with_uncertainty(parts, titanium_white=u, ultramarine_blue=u).likely_error
        for u in (0.0, 1.0, 2.0, 4.0, 8.0)
    ]
    assert errors[:3] == pytest.approx([0, 1, 2])
    assert errors[2] < errors[3] < errors[4]


def test_a_mix_with_a_paint_of_unknown_uncertainty_is_of_unknown_trust():
    parts = {"titanium-white": 3.0, "ultramarine-blue": 1.0}
    made = with_uncertainty(parts, titanium_white=2.0, ultramarine_blue=float("nan"))
    assert np.isnan(made.likely_error) and made.trust == "unknown"


@pytest.mark.parametrize(
    ("error", "word", "text"),
    [
        (0.2, "close", "about 1 CIEDE2000"), (2.4, "close", "about 2 CIEDE2000"),
        (3.6, "fair", "about 4 CIEDE2000"), (5.8, "rough", "about 6 CIEDE2000"),
        (11.7, "guess", "about 12 CIEDE2000"),
    ],
)  # fmt: skip
def test_trust_is_told_in_words(error, word, text):
    assert (grade(error), about(error)) == (word, text)


@given(parts=_MIXES)
@settings(deadline=None, max_examples=50)
def test_every_mix_says_how_far_to_trust_it(parts):
    made = TABLE.mix(parts)
    assert made.likely_error >= THEORY
    assert made.trust == grade(made.likely_error)
    assert made.trust in ("close", "fair", "rough", "guess")
    assert TABLE.mix({id: 3 * n for id, n in parts.items()}).likely_error == pytest.approx(
        made.likely_error
    )


# --- trust, on the command line -----------------------------------------------------------------


@pytest.fixture
def own_table(tmp_path):
    """A file with a white and a blue in the unit of zinc white, the blue of unknown uncertainty."""
    paints = [
        replace(TABLE["zinc-white"], unit="zinc-white", uncertainty=1.5),
        replace(TABLE["ultramarine-blue"], unit="zinc-white", uncertainty=float("nan")),
    ]
    mixlab.write_table(paints, tmp_path / "own.csv")
    return tmp_path / "own.csv"


def test_a_mix_and_a_recipe_say_how_far_to_trust_them(run):
    text = "3 titanium-white + 1 ultramarine-blue"
    made = TABLE.mix(text)
    line = f"The paint itself likely comes within {about(made.likely_error)} of this: a fair guide."
    assert made.trust == "fair"
    status, out, err = run("mix", text)
    assert (status, err) == (0, "") and line in " ".join(out.split())
    told = json.loads(run("mix", text, "--json").out)
    assert told["trust"] == made.trust
    assert told["likely_error"] == pytest.approx(made.likely_error, abs=0.05)

    found = ("recipe", "--lab", ",".join(f"{v:.3f}" for v in made.lab))
    told = json.loads(run(*found, "--json").out)
    for recipe in (told["recipe"], *told["alternatives"]):
        mix = TABLE.mix(recipe["parts"])
        assert recipe["trust"] == mix.trust
        assert recipe["likely_error"] == pytest.approx(mix.likely_error, abs=0.05)
    out = " ".join(run(*found).out.split())
    assert f"within {about(TABLE.mix(told['recipe']['parts']).likely_error)} of this" in out


def test_a_masstone_says_how_far_to_trust_it(run):
    line = "The paint itself likely comes within about 2 CIEDE2000 of this: a close guide."
    assert line in " ".join(run("mix", "1 titanium-white").out.split())


def test_what_nobody_knows_is_said(run, own_table):
    out = " ".join(run("mix", "1 PB29 + 2 PW4", "--table", own_table, "--only").out.split())
    assert (
        "How near the paint itself comes is not known: no uncertainty is stated for "
        "ultramarine-blue." in out
    )
    assert "a coat is the film in which zinc-white hides" in out
    told = json.loads(run("mix", "1 PB29 + 2 PW4", "--table", own_table, "--only", "--json").out)
    assert (told["likely_error"], told["trust"]) == (None, "unknown")


def test_the_table_tells_its_basis_and_uncertainty(run, own_table):
    out = run("paints").out
    assert re.search(r"^titanium-white .* fitted 3$", out, re.M)
    likely = TABLE["yellow-ochre"].uncertainty
    assert re.search(rf"^yellow-ochre .* modelled {round(likely)}$", out, re.M)
    out = " ".join(run("paints", "yellow-ochre").out.split())
    assert f"a prediction with it likely comes within {about(likely)} of the" in out
    told = json.loads(run("paints", "--json").out)
    for paint in told["paints"]:
        assert paint["uncertainty"] == TABLE[paint["id"]].uncertainty
        assert (paint["trust"], paint["unit"]) == (grade(paint["uncertainty"]), "")

    words = ["--table", own_table, "--only"]
    assert "K and S stand in the unit of zinc-white." in run("paints", *words).out
    out = " ".join(run("paints", "PB29", *words).out.split())
    assert "Trust not known: no uncertainty is stated for it" in out
    assert "a coat is the film in which zinc-white hides" in out
