"""What is known of pigments: how long they hold in light, and their refractive index."""

import csv
import json
from dataclasses import replace

import pytest

import mixlab
from mixlab.files import bundled
from mixlab.paint.paints import INDEX_NAME
from mixlab.paint.pigments import LIGHTFASTNESS, index_base, known_pigments

TABLE = mixlab.read_table()
OILS = mixlab.read_table(bundled("oils.csv"))
with open(bundled("pigments.csv"), newline="", encoding="utf-8") as stream:
    NAMES = [row["colour_index"] for row in csv.DictReader(stream)]


def test_every_pigment_of_the_list_is_whole():
    assert len(NAMES) == len(set(NAMES)) > 150
    for name in NAMES:
        (one,) = known_pigments([name])
        assert INDEX_NAME.fullmatch(name) and one.name == name and index_base(name) == name.lower()
        assert one.lightfastness in LIGHTFASTNESS
        # every figure says where it is from
        assert any(word in one.lightfastness_source for word in ("memory", "19", "20"))
        assert bool(one.refractive_index) == bool(one.index_source)
        assert list(one.refractive_index) == sorted(one.refractive_index)


def test_every_bundled_pigment_is_known():
    for paint in (*TABLE, *OILS):
        assert {one.name.lower() for one in paint.pigments} == set(
            map(index_base, paint.colour_index)
        )


@pytest.mark.parametrize(
    ("name", "word"),
    [
        # PR83 is the one of the old red lakes that ASTM D4302 puts into III; eosin and carmine are
        # the fugitive ones of Van Gogh's reds (common practice, no source)
        ("PR83", "doubtful"), ("pr83:1", "doubtful"), ("NR4", "fugitive"), ("PR90", "fugitive"),
        ("NY24", "fugitive"), ("PB29", "excellent"), ("PB15:3", "excellent"), ("PY3", "very good"),
    ],
)  # fmt: skip
def test_what_light_does(name, word):
    (one,) = known_pigments([name])
    assert LIGHTFASTNESS[one.lightfastness] == word and word in one.light
    lasts = word in ("excellent", "very good")
    assert bool(one.fading) is not lasts
    assert lasts or one.fading.endswith("the maker's label has the last word")


def test_a_blend_lasts_as_long_as_its_worst_pigment():
    blend = replace(TABLE["PB29"], colour_index=("PB29", "NR4:1", "PW6"))
    assert [one.name for one in blend.pigments] == ["NR4", "PB29", "PW6"]
    assert "NR4" in blend.fading and TABLE["PB29"].fading == ""
    assert replace(blend, colour_index=("PB9999",)).fading == ""


def test_doubtful_and_fugitive_paints_say_so():
    assert [paint.id for paint in TABLE if paint.fading] == ["alizarin-crimson"]
    assert {paint.id for paint in OILS if paint.fading} >= {"cochineal-lake", "chrome-yellow"}
    assert OILS["cochineal-lake"].fading.startswith("lightfastness of NR4: IV, fugitive")


# refractive index and class agree where the pigment is ground as usual: in a binder of 1.5 what is
# above 2.3 hides, what is below 1.65 does not (common practice, no source)
@pytest.mark.parametrize("paint", TABLE.paints, ids=TABLE.ids)
def test_the_class_agrees_with_the_refractive_index(paint):
    index = paint.pigments[0].refractive_index if len(paint.pigments) == 1 else ()
    if paint.id == "transparent-red-oxide" or not index:  # ground too fine to scatter
        assert paint.transparency
    elif index[0] >= 2.3:
        assert paint.transparency == "opaque"
    elif index[1] <= 1.65:
        assert paint.transparency in ("transparent", "semi-transparent")


def test_paints_tell_what_is_known_of_their_pigment(run):
    out = " ".join(run("paints", "PB29").out.split())
    assert "refractive index 1.51 to 1.63 (Gettens and Stout 1942)" in out
    assert "In light I, excellent (ASTM D4302, from memory); the maker's label" in out
    told = {paint["id"]: paint for paint in json.loads(run("paints", "--json").out)["paints"]}
    for paint in TABLE:
        one = told[paint.id]
        assert (one["opacity_class"], one["label_class"]) == (
            paint.opacity_class, paint.transparency
        )  # fmt: skip
        assert one["lightfastness"] == paint.pigments[0].lightfastness
        assert one["let_down_contrast_ratio"] <= one["contrast_ratio"]
    assert told["ultramarine-blue"]["refractive_index"] == [1.51, 1.63]


def test_mixes_name_what_fades(run):
    crimson = TABLE["PR83"]
    out = " ".join(run("mix", "1 PR83 + 2 PW6").out.split())
    assert f"Cautions alizarin-crimson: {crimson.fading}." in out
    told = json.loads(run("mix", "1 PR83 + 2 PW6", "--json").out)
    assert told["fading"] == {"alizarin-crimson": crimson.fading}
    assert told["cautions"].keys() == {"alizarin-crimson", "titanium-white"}
    assert json.loads(run("mix", "1 PB29 + 2 PW6", "--json").out)["fading"] == {}
