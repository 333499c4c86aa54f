"""What the label of a tube tells."""

from dataclasses import replace

import pytest

import mixlab
from mixlab.errors import MixlabError
from mixlab.files import bundled
from mixlab.paint.labels import checked, labelled
from mixlab.paint.paints import INDEX_NAME

TABLE = mixlab.read_table()
OILS = mixlab.read_table(bundled("oils.csv"))
SHEET = "read the maker's safety data sheet"


def blank(id):
    return replace(TABLE["burnt-umber"], id=id, colour_index=(), cautions=SHEET)


def test_every_bundled_name_is_one():
    names = [name for table in (TABLE, OILS) for paint in table for name in paint.colour_index]
    assert len(names) > 40 and all(INDEX_NAME.fullmatch(name) for name in names)


@pytest.mark.parametrize("name", ["ultramarine", "29", "PB", "BP29", "PB29 ", "PX3", "PB15:"])
def test_what_is_none(name):
    assert not INDEX_NAME.fullmatch(name)


def test_cautions_come_with_the_name():
    red, white, plain = labelled(
        [blank("kiln-red"), blank("yard-white"), blank("mud")],
        {"kiln-red": "PR106", "yard-white": "PW1 PW6"},
    )
    assert red.colour_index == ("PR106",) and "mercury" in red.cautions
    assert white.colour_index == ("PW1", "PW6")
    assert "lead" in white.cautions and "dust" in white.cautions
    assert (plain.colour_index, plain.cautions) == ((), SHEET)


def test_a_variety_is_of_the_same_pigment():
    (blue,) = labelled([blank("kiln-blue")], {"kiln-blue": "PB15:9"})
    assert blue.colour_index == ("PB15:9",)
    assert blue.cautions == TABLE["phthalo-blue-green-shade"].cautions


def test_an_id_that_says_it_is_taken_at_its_word():
    lead, blue, phthalo, own = labelled(
        [blank("red-lead"), blank("pb28"), blank("pb15"), TABLE["cobalt-blue"]], {}
    )
    assert phthalo.colour_index == ("PB15",) and "copper" in phthalo.cautions
    assert lead.colour_index == ("PR105",) and "lead" in lead.cautions
    assert blue.colour_index == ("PB28",) and "cobalt" in blue.cautions
    assert own is TABLE["cobalt-blue"]


@pytest.mark.parametrize(
    ("index", "said"),
    [({"mud": "PB29"}, "no paint 'mud'"), ({"soot": "carbon"}, "'carbon' is not a Colour Index")],
)
def test_what_makes_no_sense_is_refused(index, said):
    with pytest.raises(MixlabError, match=said):
        checked(index, ["soot", "kiln-blue"])
