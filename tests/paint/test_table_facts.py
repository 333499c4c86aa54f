"""The bundled table against what is known of pigments and of artists' paints.

Where a fact has no source beside it, it is common practice, no source, and the bounds are ours.
"""

import re
from dataclasses import replace

import numpy as np
import pytest

import mixlab
from data.making import modelled, trial
from data.making import table as making
from mixlab.colour.difference import ciede2000
from mixlab.colour.spaces import WAVELENGTHS, lab_to_lch, viewing
from mixlab.errors import NotationError
from mixlab.paint.trust import THEORY, TYPICAL, sensitivities

TABLE = mixlab.read_table()
MEASURED = viewing(finish="matt")
WHITE = TABLE["titanium-white"]
COLOURS = [paint for paint in TABLE if not paint.is_white]
SEEN = (WAVELENGTHS >= 420) & (WAVELENGTHS <= 700)


def tint(id, white="titanium-white"):
    """CIELCh of one part in ten of white."""
    return TABLE.mix({id: 1.0, white: 9.0}, MEASURED).lch


def between(hue, low, high):
    return (hue - low) % 360 <= (high - low) % 360


# --- what is there ------------------------------------------------------------------------------


def test_every_family_of_the_palette_is_there():
    families = {
        "whites": "titanium-white zinc-white mixing-white lead-white",
        "yellows": "lemon-yellow cadmium-yellow-light cadmium-yellow-medium arylide-yellow "
                   "diarylide-yellow bismuth-yellow yellow-ochre yellow-iron-oxide "
                   "transparent-yellow-oxide raw-sienna naples-yellow",
        "reds": "cadmium-orange pyrrole-orange cadmium-red-light pyrrole-red quinacridone-red "
                "quinacridone-magenta alizarin-crimson permanent-alizarin indian-red "
                "cadmium-red-medium cadmium-red-deep red-iron-oxide burnt-sienna venetian-red",
        "violets": "dioxazine-violet manganese-violet cobalt-violet quinacridone-violet",
        "blues": "ultramarine-blue cobalt-blue cerulean-blue cerulean-blue-chromium "
                 "phthalo-blue-red-shade phthalo-blue-green-shade prussian-blue indanthrone-blue",
        "greens": "phthalo-green-blue-shade phthalo-green-yellow-shade viridian "
                  "chromium-oxide-green green-earth cobalt-teal",
        "browns and blacks": "raw-umber burnt-umber transparent-red-oxide bone-black lamp-black "
                             "mars-black",
        "mixtures": "paynes-grey sap-green-hue naples-yellow-hue titanium-buff",
    }  # fmt: skip
    wanted = " ".join(families.values()).split()
    assert sorted(wanted) == sorted(TABLE.ids)
    assert len(wanted) >= 54


# the Colour Index: P for pigment, the hue, a number, and a colon with another for a variety
NAME = re.compile(r"^P(W|Y|O|R|V|B|G|Br|Bk)[1-9]\d{0,2}(:[1-9])?$")
# CIELAB hue angles of each family; of the masstone, or of the tint where that is near black
HUES = {"Y": (60, 115), "O": (40, 70), "R": (340, 50), "V": (280, 30), "B": (215, 315),
        "G": (110, 215), "Br": (25, 95)}  # fmt: skip


@pytest.mark.parametrize("paint", TABLE.paints, ids=TABLE.ids)
def test_colour_index_names_are_well_formed_and_of_the_right_hue(paint):
    assert paint.colour_index
    for name in paint.colour_index:
        family = NAME.match(name)
        assert family, name
        if paint.basis == "mixture":  # pigments of any hue
            continue
        if family[1] == "W":
            assert paint.is_white
        elif family[1] == "Bk":
            assert lab_to_lch(paint.lab)[1] < 2 and paint.lab[0] < 30
        else:
            lch = lab_to_lch(paint.lab)
            hue = lch[2] if lch[1] > 15 else tint(paint.id)[2]
            assert between(hue, *HUES[family[1]]), hue


def test_a_name_stands_for_the_pigment_alone_before_a_blend():
    assert TABLE["mixing-white"].colour_index == ("PW6", "PW4")
    assert TABLE["PW6"].id == "titanium-white" and TABLE["PW4"].id == "zinc-white"


def test_a_name_that_several_paints_share_offers_all():
    with pytest.raises(NotationError, match="quinacridone-red, quinacridone-violet; write the id"):
        TABLE["PV19"]
    assert TABLE["PV19 violet"].id == "quinacridone-violet"


@pytest.mark.parametrize("paint", TABLE.paints, ids=TABLE.ids)
def test_basis_source_and_uncertainty_are_stated(paint):
    assert paint.basis in ("fitted", "modelled", "mixture") and len(paint.source) > 30
    assert THEORY <= paint.uncertainty <= 10
    if paint.basis == "mixture":
        parts = TABLE.mix(paint.source.removeprefix("mixture of ").split(";")[0]).parts
        named = {name for id in parts for name in TABLE[id].colour_index}
        assert set(paint.colour_index) <= named and len(paint.colour_index) == len(parts)
    if "memory" in paint.source and paint.id != "titanium-white":
        assert paint.basis == "modelled"


@pytest.mark.parametrize(
    ("word", "ids"),
    [
        ("cadmium", "cadmium-yellow-light cadmium-yellow-medium cadmium-orange cadmium-red-light "
                    "cadmium-red-medium cadmium-red-deep"),
        ("cobalt", "cobalt-blue cerulean-blue cerulean-blue-chromium cobalt-teal cobalt-violet"),
        ("lead, which is poisonous", "lead-white"),
        ("antimony", "naples-yellow"),
        ("lead antimonate", "naples-yellow"),
        ("chromium", "naples-yellow viridian chromium-oxide-green"),
        ("manganese", "manganese-violet raw-umber burnt-umber"),
        ("copper", "phthalo-blue-red-shade phthalo-blue-green-shade phthalo-green-blue-shade "
                   "phthalo-green-yellow-shade sap-green-hue"),
        ("zinc", "zinc-white mixing-white"),
        ("safety data sheet", " ".join(TABLE.ids)),
    ],
)  # fmt: skip
def test_what_is_hazardous_says_so(word, ids):
    for id in ids.split():
        assert word in TABLE[id].cautions


# --- opaque and transparent ---------------------------------------------------------------------


@pytest.mark.parametrize("paint", TABLE.paints, ids=TABLE.ids)
def test_every_class_is_that_of_the_label(paint):
    assert paint.opacity_class == paint.transparency


# --- tinting strength ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("strong", "weak", "times"),
    [
        ("phthalo-blue-green-shade", "prussian-blue", 1.2),
        # of fitted paints, the published strength: 4.75 and 4.0 times ultramarine
        ("phthalo-blue-red-shade", "ultramarine-blue", 4),
        ("prussian-blue", "ultramarine-blue", 3),
        ("indanthrone-blue", "ultramarine-blue", 2),
        ("ultramarine-blue", "cobalt-blue", 1.1),
        ("ultramarine-blue", "cerulean-blue", 1.1),
        ("phthalo-green-blue-shade", "viridian", 5),
        ("phthalo-green-yellow-shade", "chromium-oxide-green", 3),
        ("viridian", "green-earth", 1.5),
        ("chromium-oxide-green", "green-earth", 1.5),
        ("dioxazine-violet", "quinacridone-magenta", 2),
        ("dioxazine-violet", "manganese-violet", 8),
        ("pyrrole-red", "cadmium-red-light", 1.2),
        ("alizarin-crimson", "cadmium-red-light", 1.2),
        ("arylide-yellow", "cadmium-yellow-light", 1.5),
        ("diarylide-yellow", "cadmium-yellow-medium", 1.5),
        ("cadmium-yellow-medium", "naples-yellow", 2),
        ("raw-sienna", "yellow-ochre", 1.1),
        ("red-iron-oxide", "venetian-red", 1.2),
        ("red-iron-oxide", "burnt-sienna", 1.2),
        ("burnt-umber", "raw-umber", 1.1),
        ("lamp-black", "mars-black", 1.2),
        ("mars-black", "bone-black", 1.2),
    ],
)
def test_tinting_strengths_are_in_the_order_of_the_trade(strong, weak, times):
    assert TABLE.strength(TABLE[strong]) > times * TABLE.strength(TABLE[weak])


# --- hue and value ------------------------------------------------------------------------------

# L* and hue of the masstone, hue of the tint; None where it is too near neutral to have one
COLOUR_OF = {
    "yellow-iron-oxide": ((55, 68), (62, 80), (68, 88)),
    "transparent-yellow-oxide": ((40, 55), (58, 75), (75, 95)),
    "cadmium-red-medium": ((40, 50), (24, 40), (5, 28)),
    "cadmium-red-deep": ((30, 40), (15, 35), (0, 22)),
    "permanent-alizarin": ((25, 36), (12, 32), (345, 15)),
    "indian-red": ((28, 40), (18, 38), (10, 35)),
    "cobalt-violet": ((32, 45), (305, 335), (300, 325)),
    "cobalt-teal": ((50, 65), (185, 215), (185, 215)),
    "paynes-grey": ((18, 28), None, (255, 285)),
    "sap-green-hue": ((30, 45), (100, 135), (85, 120)),
    "naples-yellow-hue": ((70, 85), (60, 85), (70, 95)),
    "titanium-buff": ((80, 92), (70, 95), (75, 100)),
    "lemon-yellow": ((85, 95), (90, 110), (95, 112)),
    "cadmium-yellow-light": ((80, 92), (82, 98), (88, 105)),
    "arylide-yellow": ((80, 92), (82, 98), (88, 105)),
    "cadmium-yellow-medium": ((74, 86), (74, 88), (78, 96)),
    "bismuth-yellow": ((86, 96), (90, 105), (98, 112)),
    "diarylide-yellow": ((68, 82), (65, 85), (70, 90)),
    "naples-yellow": ((65, 85), (65, 90), (68, 95)),
    "yellow-ochre": ((50, 66), (60, 82), (68, 88)),
    "raw-sienna": ((38, 55), (58, 80), (65, 88)),
    "cadmium-orange": ((58, 72), (45, 65), (38, 62)),
    "pyrrole-orange": ((52, 64), (38, 55), (10, 45)),
    "cadmium-red-light": ((45, 58), (28, 48), (12, 38)),
    "pyrrole-red": ((38, 50), (20, 42), (355, 25)),
    "quinacridone-red": ((32, 45), (5, 35), (335, 5)),
    "quinacridone-magenta": ((26, 40), (340, 25), (325, 350)),
    "alizarin-crimson": ((20, 33), (5, 30), (340, 10)),
    "red-iron-oxide": ((30, 44), (25, 48), (22, 45)),
    "venetian-red": ((35, 48), (28, 50), (25, 50)),
    "transparent-red-oxide": ((24, 38), (43, 52), (52, 62)),
    "burnt-sienna": ((27, 40), (30, 55), (38, 62)),
    "raw-umber": ((24, 36), (55, 90), (80, 95)),
    "burnt-umber": ((22, 34), (35, 70), (40, 68)),
    "quinacridone-violet": ((22, 34), (345, 20), (325, 345)),
    "dioxazine-violet": ((18, 28), None, (285, 315)),
    "manganese-violet": ((27, 42), (300, 335), (295, 330)),
    "ultramarine-blue": ((18, 32), (280, 310), (265, 285)),
    "cobalt-blue": ((28, 45), (275, 305), (255, 275)),
    "cerulean-blue": ((40, 55), (235, 265), (225, 255)),
    "cerulean-blue-chromium": ((33, 50), (245, 280), (235, 260)),
    "phthalo-blue-red-shade": ((18, 30), (270, 310), (245, 270)),
    "phthalo-blue-green-shade": ((18, 30), (270, 310), (235, 255)),
    "prussian-blue": ((17, 28), None, (245, 270)),
    "indanthrone-blue": ((18, 30), None, (262, 280)),
    "phthalo-green-blue-shade": ((20, 32), None, (170, 200)),
    "phthalo-green-yellow-shade": ((20, 34), (150, 180), (158, 182)),
    "viridian": ((22, 36), (150, 200), (165, 195)),
    "chromium-oxide-green": ((38, 52), (120, 150), (125, 155)),
    "green-earth": ((34, 50), (115, 150), (115, 155)),
    "bone-black": ((18, 28), None, None),
    "lamp-black": ((18, 26), None, None),
    "mars-black": ((18, 30), None, None),
}


def test_the_colour_of_every_paint_is_held():
    assert sorted(COLOUR_OF) == sorted(paint.id for paint in COLOURS)


@pytest.mark.parametrize("id", COLOUR_OF)
def test_masstone_and_tint_are_of_the_family_that_the_name_says(id):
    value, hue, hue_of_tint = COLOUR_OF[id]
    masstone, pale = lab_to_lch(TABLE[id].lab), tint(id)
    assert value[0] <= masstone[0] <= value[1]
    if hue is not None:
        assert between(masstone[2], *hue)
    if hue_of_tint is not None:
        assert between(pale[2], *hue_of_tint)
    else:
        assert pale[1] < 5
    # from masstone to a pale tint the value only rises
    assert masstone[0] < pale[0] < TABLE.mix({id: 1.0, "titanium-white": 49.0}, MEASURED).lch[0]


def test_pairs_stand_to_each_other_as_their_names_say():
    # red shade bluer than green shade; blue shade bluer than yellow shade; light, then medium
    assert tint("phthalo-blue-red-shade")[2] > tint("phthalo-blue-green-shade")[2] + 3
    assert tint("phthalo-green-blue-shade")[2] > tint("phthalo-green-yellow-shade")[2] + 5
    hues = [
        lab_to_lch(TABLE[id].lab)[2]
        for id in ("lemon-yellow", "cadmium-yellow-light", "cadmium-yellow-medium",
                   "cadmium-orange", "cadmium-red-light")
    ]  # fmt: skip
    assert (np.diff(hues) < -5).all()
    # a transparent oxide is darker by itself and more orange in tints than an opaque one
    transparent, opaque = TABLE["transparent-red-oxide"], TABLE["red-iron-oxide"]
    assert transparent.lab[0] < opaque.lab[0]
    assert tint(transparent.id)[2] > tint(opaque.id)[2] + 5
    # Venetian red is the lighter and the more orange of the two reds
    assert TABLE["venetian-red"].lab[0] > opaque.lab[0] + 2
    # of the two kinds of PV19 the violet is darker, and its tint more violet
    violet, red = (TABLE[f"quinacridone-{kind}"] for kind in ("violet", "red"))
    assert violet.lab[0] < red.lab[0] - 5 and tint(violet.id)[2] < tint(red.id)[2] - 5
    # cerulean is greener than cobalt, and cobalt than ultramarine
    hues = [tint(id)[2] for id in ("cerulean-blue", "cobalt-blue", "ultramarine-blue")]
    assert (np.diff(hues) > 5).all()


# --- curves -------------------------------------------------------------------------------------


@pytest.mark.parametrize("paint", TABLE.paints, ids=TABLE.ids)
def test_every_curve_is_smooth_positive_and_finite(paint):
    for curve in (paint.K, paint.S):
        assert np.isfinite(curve).all() and (curve > 0).all()
        # of the natural logarithm, from step to step of 10 nm. The steepest there is: the edge of
        # rutile in the violet, 2.8 a step
        assert np.abs(np.diff(np.log(curve))).max() < 3
        assert np.abs(np.diff(np.log(curve), 2)).max() < 1.5


@pytest.mark.parametrize("id", modelled.NEIGHBOURS)
def test_scattering_beside_a_neighbour_is_the_neighbours_moved_along(id):
    # so that it falls behind the edge as the published one does: nothing bends it
    own, other = TABLE[id].S, TABLE[modelled.NEIGHBOURS[id].neighbour].S
    apart = [np.log(own / modelled.shifted(other, by)) for by in np.arange(-110, 60, 0.5)]
    assert min(np.std(one) for one in apart) < 0.03


@pytest.mark.parametrize(("id", "other"), [
    ("cerulean-blue", "cerulean-blue-chromium"), ("cobalt-teal", "cerulean-blue-chromium"),
    ("cobalt-violet", "cobalt-blue"), ("lamp-black", "bone-black"), ("mars-black", "bone-black"),
])  # fmt: skip
def test_scattering_does_not_rise_where_that_of_a_published_relative_falls(id, other):
    # of like pigments, as powers of wavelength: behind their bands, and over all that is seen
    for part in (WAVELENGTHS >= 550) & SEEN, SEEN:
        ours, theirs = (
            np.polyfit(np.log(WAVELENGTHS[part]), np.log(TABLE[one].S[part]), 1)[0]
            for one in (id, other)
        )
        assert ours <= 0 or theirs > 0


# --- the method of the models, tried on paints whose curves are published -----------------------


@pytest.fixture(scope="module")
def known():
    return {paint.id: paint for paint in TABLE if paint.basis == "fitted"}


@pytest.fixture(scope="module")
def tried(known):
    return trial.trials(known)


def test_the_uncertainty_of_modelled_paints_is_what_the_method_missed_by_kind(tried):
    for kind in trial.KINDS:
        alike = [one for one in tried if one.kind == kind]
        each = np.concatenate([one.misses for one in alike or tried])
        missed = trial.doubt(tried, kind)
        print(f"{kind}, {len(alike)} paints: {missed:.1f}; median {np.median(each):.1f}, nine in "
              f"ten within {np.quantile(each, 0.9):.1f}")  # fmt: skip
        for id in making.KINDS[kind].split():
            assert TABLE[id].basis == "modelled"
            assert TABLE[id].uncertainty == pytest.approx(np.hypot(THEORY, missed), abs=0.06)
    of_kinds = {id for ids in making.KINDS.values() for id in ids.split()}
    others = {paint.id for paint in TABLE if paint.basis == "modelled"} - of_kinds
    assert all("Geldof" in TABLE[id].source for id in others)


def test_the_white_says_that_it_is_too_white():
    assert WHITE.lab[0] == pytest.approx(99.4, abs=0.05) and "L* of 99.4" in WHITE.source


def test_remembered_tints_stand_for_the_share_that_is_taken(known):
    share = trial.remembered_share(known)
    print(f"share {share:.3f}")
    assert share == pytest.approx(modelled.REMEMBERED_SHARE, abs=0.01)
    # blacks by bone black alone
    black = TABLE.mix({"bone-black": 0.6, "titanium-white": 0.4}, MEASURED).lab
    assert modelled.REMEMBERED_SHARE_OF_BLACK == 0.6
    assert ciede2000(black, np.array(trial.facts(0.1)["bone-black"].tint, dtype=float)) < 2
    # the earths' facts are stated for one part in ten of our white, and agree with that: burnt
    # sienna, ochre and iron oxide in one part in ten of memory's white
    for id, lab in (("yellow-ochre", (83, 6, 28)), ("burnt-sienna", (66, 13, 15)),
                    ("red-iron-oxide", (57, 27, 17))):  # fmt: skip
        ours = TABLE.mix({id: share, "titanium-white": 1 - share}, MEASURED).lab
        assert ciede2000(ours, np.array(lab, dtype=float)) < 4


def test_fitted_paints_are_as_uncertain_as_makers_differ(known):
    for paint in known.values():
        spread = trial.of_makers(known, paint)
        assert 1.5 < spread < 3.5
        assert paint.uncertainty == pytest.approx(np.hypot(THEORY, spread), abs=0.06)


def test_what_is_stated_of_modelled_paints_comes_true(known, tried):
    # each of the eighteen colours modelled without its figures, its doubt without its own misses:
    # of its mixes with the others, about two in three lie within the stated error, and nineteen in
    # twenty within twice
    told = [trial.foretold(known, tried, one) for one in tried]
    misses, stated = (np.concatenate(both) for both in zip(*told, strict=True))
    within, twice = np.mean(misses < stated), np.mean(misses < 2 * stated)
    print(f"{len(misses)} mixes: within {within:.0%}, within twice {twice:.0%}")
    assert len(misses) > 1000 and {one.id for one in tried} == {*known} - {"titanium-white"}
    assert 0.60 <= within <= 0.76 and twice >= 0.93
    # the theory left out of what is missed, not of what is stated: no great matter
    bare = np.concatenate([one.misses for one in tried])
    assert 0.60 <= np.mean(bare < stated) <= 0.80 and np.mean(bare < 2 * stated) >= 0.93


def test_the_typical_sensitivity_is_that_of_the_trial(known, tried):
    found = []
    for one in tried:
        ids, shares = trial.mixes(known, one.id)
        ks, ss = (np.array([trial.curves(known[id])[q] for id in ids]) for q in (0, 1))
        found.append(sensitivities(shares, ks, ss, WHITE.surface, viewing())[:, 0])
    typical = np.sqrt(np.mean(np.concatenate(found) ** 2))
    print(f"typical {typical:.2f}")
    assert typical == pytest.approx(TYPICAL, rel=0.03)


def test_curves_from_facts_lie_near_the_facts():
    for paint in TABLE:
        if not np.isnan(paint.masstone_miss) and paint.basis == "modelled":
            assert paint.masstone_miss < 5 and paint.tint_miss < 4


def test_what_stands_on_every_palette_is_reached_for_first():
    everyday = {paint.id for paint in TABLE if paint.reserve == 0}
    assert everyday >= {"titanium-white", "yellow-ochre", "raw-sienna", "burnt-sienna",
                        "burnt-umber", "venetian-red", "bone-black", "ultramarine-blue"}
    held = {id: TABLE[id].reserve for id in ("viridian", "cadmium-red-light", "alizarin-crimson")}
    assert 0 < held["viridian"] < held["cadmium-red-light"] < held["alizarin-crimson"]
    assert TABLE["phthalo-blue-green-shade"].reserve > held["viridian"]
    assert TABLE["lead-white"].reserve > 0 == TABLE["zinc-white"].reserve
    # a tube of which nothing is known is a colour like any other
    assert replace(TABLE["yellow-ochre"], colour_index=()).reserve == held["viridian"]
