"""What names and messages become before a terminal, a picture or a page shows them."""

import json

import pytest

from mixlab.errors import MixlabError, suggestion
from mixlab.text import json_text, one_line, shown, visible

NASTY = "Harmless\rFAKE \x1b[2J\x9b31m \u202egnorw\u2066 \u2028 \udcff"


def test_what_a_terminal_obeys_is_written_out():
    text = visible(NASTY)
    assert text.isprintable() and visible(text) == text
    assert text.startswith(r"Harmless\rFAKE \x1b[2J\x9b31m \u202egnorw")
    for plain in ("жжёная умбра", "群青", "terre d'ombre brûlée", "ß\u200d\u200f", "a\\b", "6 µm²"):
        assert visible(plain) == plain


@pytest.mark.parametrize("name", ["x" * 10_000_000, "a b " * 2_500_000, "it's " * 900])
def test_a_long_name_is_told_by_its_beginning(name):
    told = str(MixlabError(f"no paint {name!r}{suggestion(name, [name])}, as 'burnt-umber'"))
    assert len(told) < 130 and told.endswith(", as 'burnt-umber'") and told[10:20] in name
    assert len(str(MixlabError(name))) < 1_000


def test_what_is_no_name_stays_whole():
    message = (
        "a paint's id is lower-case words joined by hyphens, and no painter's own word for it, so "
        "that each stands for one paint: 'burnt umber' is none"
    )
    assert one_line(message) == str(MixlabError(message)) == message
    assert shown("  3 zinc-white\n ") == "'3 zinc-white'"


def test_json_is_exact_and_plain():
    text = json_text({"name": NASTY}, indent=1)
    assert json.loads(text) == {"name": NASTY} and text.replace("\n", "").isprintable()
