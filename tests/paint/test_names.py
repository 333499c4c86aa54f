"""Names as people type them, and every fault of a file at once."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

import mixlab
from mixlab.errors import NotationError, PaletteError, TableError
from mixlab.paint.names import find_name, names_of, plain

TABLE = mixlab.read_table()
PALETTES = [mixlab.read_palette(name) for name in mixlab.palette_names()]


@given(st.data())
def test_case_and_hyphens_do_not_matter(data):
    paint = data.draw(st.sampled_from(TABLE.paints))
    index = [n for n in paint.colour_index if TABLE.names[n.lower()] == [paint.id]]
    name = data.draw(st.sampled_from([paint.id, paint.name, *index]))
    case = data.draw(st.sampled_from([str.lower, str.upper, str.title, str]))
    gap = data.draw(st.sampled_from([" ", "-", "  ", "_", "\u2010"]))
    typed = case(re.sub(r"[ -]", gap, name))
    assert TABLE[typed] is paint and typed in TABLE
    assert TABLE.mix(typed).parts == {paint.id: 1.0}
    other = "PB29" if paint.is_white else "Titanium White"
    assert TABLE.mix(f"2 {typed} + {other}").parts == {paint.id: 2.0, TABLE[other].id: 1.0}


@given(st.sampled_from(PALETTES), st.data())
def test_some_words_do_where_they_fit_one_paint_only(palette, data):
    paint = data.draw(st.sampled_from(palette.paints))
    words = data.draw(st.lists(st.sampled_from(paint.id.split("-")), min_size=1, unique=True))
    fits = [
        one.id for one in palette
        if set(words) <= set("-".join([one.id, plain(one.name)]).split("-"))
    ]  # fmt: skip
    typed = " ".join(words)
    if len(fits) == 1 or typed.replace(" ", "-") in palette.ids:
        assert palette[typed].id in fits
    else:
        with pytest.raises(NotationError, match=r"may be|is borne by") as caught:
            palette[typed]
        assert all(id in str(caught.value) for id in fits)


@given(st.text(max_size=30))
def test_any_text_is_a_paint_or_a_line_that_says_why_not(text):
    try:
        assert TABLE[text] in TABLE.paints
    except NotationError as error:
        assert "\n" not in str(error) and ("no paint" in str(error) or "write the id" in str(error))


def test_white_is_the_white_of_a_palette():
    studio = mixlab.read_palette("mill-pond")
    assert studio["white"].id == "titanium-white"
    with pytest.raises(NotationError, match="white may be titanium-white, zinc-white"):
        TABLE["white"]


@pytest.mark.parametrize(
    ("typed", "id"),
    [
        ("PB15:3", "phthalo-blue-green-shade"), ("pb15:1", "phthalo-blue-red-shade"),
        ("PB15:6", "phthalo-blue-red-shade"), ("PB15 red shade", "phthalo-blue-red-shade"),
        ("PR101 transparent", "transparent-red-oxide"), ("ivory black", "bone-black"),
        ("PB 29", "ultramarine-blue"), ("ultramarine", "ultramarine-blue"),
        ("soft mixing white (titanium and zinc)", "mixing-white"),
        ("Naples Yellow", "naples-yellow"),
    ],
)  # fmt: skip
def test_names_of_tubes(typed, id):
    assert TABLE[typed].id == id


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("PB15", "PB15 is borne by phthalo-blue-red-shade, phthalo-blue-green-shade; write the id"),
        ("PB15:9", "no paint 'PB15:9'; PB15 is borne by phthalo-blue-red-shade, "
                   "phthalo-blue-green-shade"),
        ("PB27:1", "no paint 'PB27:1'; PB27 is borne by prussian-blue"),
        ("PB99:1", "no paint 'PB99:1'"),
        ("mud", "no paint 'mud'; 'mixlab paints' lists the bundled ones"),
    ],
)  # fmt: skip
def test_a_pigment_with_varieties_offers_them(typed, said):
    # PB15:1 is a red shade and PB15:3 a green one: the number after the colon tells
    with pytest.raises(NotationError, match=re.escape(said)):
        TABLE.mix(f"2 {typed} + 1 PW6")


@pytest.mark.parametrize("id", ["phthalo-blue-red-shade", "phthalo-blue-green-shade"])
def test_the_one_variety_of_a_palette_goes_by_the_name_of_its_pigment(id):
    own = TABLE.palette(["titanium-white", id])
    assert own.mix("1 PB15 + 2 PW6").parts == {id: 1.0, "titanium-white": 2.0}
    other = "PB15:3" if "red" in id else "PB15:1"
    with pytest.raises(NotationError, match=f"no paint '{other}'; PB15 is borne by {id}"):
        own[other]


def test_an_id_comes_before_a_common_name():
    umber = TABLE["burnt-umber"]
    mine = mixlab.add_paint(umber, "my-umber", 0.5)
    assert find_name("Burnt Umber", names_of([mine, umber])) == "burnt-umber"
    assert find_name("Burnt Umber", names_of([mine])) == "my-umber"
    assert plain("  Burnt_Umber ") == "burnt-umber" and plain("PB15:3") == "pb15:3"


# --- every fault --------------------------------------------------------------------------------

GRID = range(380, 731, 10)
HEADER = ",".join(["id", "transparency", *(f"K{w}" for w in GRID), *(f"S{w}" for w in GRID)])


def row(id, transparency="", k="0.5"):
    return ",".join([id, transparency, k, *["0.5"] * 35, *["1"] * 36])


def test_every_fault_of_a_table(run, tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text("\n".join([
        HEADER, row("brick"), row("Bark"), row("ash", "clear", "x"), row("brick", k="-1"), "c,1",
    ]))  # fmt: skip
    wrong = [
        "row 3, column id: 'Bark'", "row 4, column transparency: 'clear'",
        "row 4, column K380: 'x' is not a number", "row 5, column K380: -1 is not between",
        "row 5, column id: 'brick' is there twice", "row 6: 2 cells under 74 columns",
    ]  # fmt: skip
    with pytest.raises(TableError) as caught:
        mixlab.read_table(file)
    assert str(caught.value) == caught.value.faults[0]
    for json in ([], ["--json"]):
        ran = run("paints", "--check", file, *json)
        assert (ran.status, ran.out) == (2, "")
        lines = ran.err.splitlines()
        assert len(lines) == len(wrong) == len(caught.value.faults)
        for line, part in zip(lines, wrong, strict=True):
            assert line.startswith(f"mixlab: {file}, ") and part in line


def test_every_fault_of_a_header(tmp_path):
    file = tmp_path / "mine.csv"
    file.write_text(HEADER.replace("id,", "ident,").replace("K400", "K390") + "\n" + row("a"))
    with pytest.raises(TableError) as caught:
        mixlab.read_table(file)
    faults = " ".join(caught.value.faults)
    for part in ("'ident': not a column", "K390: it is there twice", "column id is missing",
                 "same wavelengths; 400"):  # fmt: skip
        assert part in faults


def test_every_fault_of_a_palette(run, tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text('name = 5\npaint = 1\npaints = ["PB29", "viridan", "ultramarine blue", "PBr7"]')
    wrong = ["'paint' is not a key", "name must be a text", "no paint 'viridan'",
             "ultramarine-blue is listed twice", "PBr7 is borne by"]  # fmt: skip
    with pytest.raises(PaletteError) as caught:
        mixlab.read_palette(file)
    assert len(caught.value.faults) == len(wrong)
    ran = run("paints", "--check", file)
    assert (ran.status, ran.out) == (2, "")
    for line, part in zip(ran.err.splitlines(), wrong, strict=True):
        assert line.startswith(f"mixlab: {file}: ") and part in line
