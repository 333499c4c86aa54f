"""Pigment tables and palettes: what is read, what is written, and what is refused, and how."""

import csv
import os
from dataclasses import replace

import numpy as np
import pytest

import mixlab
from mixlab import limits
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.errors import NotationError, PaletteError, TableError
from mixlab.files import bundled
from mixlab.paint.optics import Surface
from mixlab.paint.paints import TRANSPARENCIES

GRID = [int(w) for w in WAVELENGTHS]


def cells(wavelengths=GRID, ids=("brick", "bark"), k=lambda w: w / 1000, s=lambda w: 2 - w / 1000):
    """Return the cells of a small table, the header first; K and S run straight by default."""
    header = ["id", *(f"K{w:g}" for w in wavelengths), *(f"S{w:g}" for w in wavelengths)]
    curves = [f"{k(w)!r}" for w in wavelengths] + [f"{s(w)!r}" for w in wavelengths]
    return [header, *([id, *curves] for id in ids)]


def with_column(name, *values):
    """Return the cells of a small table with one more column."""
    return [
        [*row, cell] for row, cell in zip(cells(), (name, *values), strict=True)
    ]


def changed(row, column, cell):
    """Return the cells of a small table with one of them changed; row 1 is the header."""
    rows = cells()
    rows[row - 1][rows[0].index(column)] = cell
    return rows


def text_of(rows):
    return "".join(",".join(map(str, row)) + "\n" for row in rows)


def read(tmp_path, content):
    """Write a table, given as cells, text or bytes, and read it."""
    path = tmp_path / "mine.csv"
    if isinstance(content, list):
        content = text_of(content)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return mixlab.read_table(path)


def refusal(mistake, call, *args):
    """Return the message with which something is refused, which must be one line."""
    with pytest.raises(mistake) as caught:
        call(*args)
    message = str(caught.value)
    assert len(message.splitlines()) == 1
    assert message.isprintable()
    return message


# --- the bundled table --------------------------------------------------------------------------


def test_the_bundled_table_is_whole(table):
    assert len(table) == len(set(table.ids)) == 57
    assert table.K.shape == table.S.shape == (57, 36)
    assert np.isfinite(table.K).all() and (table.K >= 0).all() and (table.S > 0).all()
    assert table.notes == ()
    assert table.path == str(bundled("paints.csv"))
    for paint in table:
        assert paint.basis in ("fitted", "modelled", "mixture")
        assert paint.transparency in TRANSPARENCIES
        assert paint.source and paint.name and paint.colour_index
        assert "safety data sheet" in paint.cautions
        assert 2 <= paint.uncertainty <= 10
        assert paint.unit == ""
        if paint.basis == "fitted":
            assert 0 <= paint.masstone_miss < 0.2 and 0 <= paint.tint_miss < 0.2


@pytest.mark.parametrize(
    ("id", "word"),
    [
        ("cadmium-orange", "cadmium"),
        ("cadmium-red-light", "cadmium"),
        ("cobalt-blue", "cobalt"),
        ("viridian", "chromium"),
        ("burnt-umber", "manganese"),
        ("titanium-white", "dust"),
    ],
)
def test_what_can_hurt_is_said(table, id, word):
    assert word in table[id].cautions


def test_a_paint_is_found_by_id_and_by_colour_index_name(table):
    assert table["PB29"] is table["pb29"] is table["ultramarine-blue"] is table["ULTRAMARINE-BLUE"]
    assert "PB29" in table and "ultramarine-blue" in table
    assert "PB99" not in table and "Ultramarine Blue" in table and "ultramarine" not in table


def test_a_name_that_several_paints_bear_is_refused(table):
    message = refusal(NotationError, lambda: table["PBr7"])
    assert message == (
        "PBr7 is borne by raw-sienna, burnt-sienna, raw-umber, burnt-umber; write the id"
    )


def test_a_name_that_none_bears_brings_near_ones(table):
    assert refusal(NotationError, lambda: table["cobalt-blu"]).startswith(
        "no paint 'cobalt-blu'; near names: cobalt-blue"
    )
    listed = "; 'mixlab paints' lists the bundled ones"
    assert refusal(NotationError, lambda: table["zzz"]) == f"no paint 'zzz'{listed}"


def test_strength_is_relative_to_ultramarine(table):
    assert table.strength(table["ultramarine-blue"]) == pytest.approx(1)
    # phthalo blues are several times as strong as ultramarine; common practice, no source
    assert table.strength(table["phthalo-blue-green-shade"]) > 5
    assert np.isnan(table.strength(table["titanium-white"]))


# --- a user's table -----------------------------------------------------------------------------


def test_only_ids_and_curves_must_be_there(tmp_path):
    mine = read(tmp_path, cells())
    assert mine.ids == ["brick", "bark"]
    np.testing.assert_allclose(mine["brick"].K, WAVELENGTHS / 1000)
    np.testing.assert_allclose(mine["brick"].S, 2 - WAVELENGTHS / 1000)
    paint = mine["bark"]
    assert (paint.name, paint.colour_index, paint.transparency, paint.basis) == ("bark", (), "", "")
    assert np.isnan([paint.masstone_miss, paint.tint_miss, paint.uncertainty]).all()
    assert paint.unit == ""
    assert paint.surface == mixlab.read_table()["PW6"].surface
    assert mine.notes == ()
    assert mine.path == str(tmp_path / "mine.csv")
    assert mixlab.read_table(str(tmp_path / "mine.csv")).ids == mine.ids
    assert np.isnan(mine.strength(paint))


def test_facts_are_read(tmp_path):
    rows = cells(ids=("brick",))
    facts = {
        "name": '"brick red,  from the kiln"', "colour_index": "PR101 PBr7",
        "transparency": "opaque", "basis": "measured", "source": "own drawdowns",
        "masstone_miss": "0.25", "tint_miss": "", "uncertainty": "1.5", "unit": "kiln-white",
        "cautions": " dust ",
        "saunderson_k1": "0.02", "saunderson_k2": "0.5",
    }  # fmt: skip
    paint = read(tmp_path, [rows[0] + list(facts), rows[1] + list(facts.values())])["PR101"]
    assert paint.id == "brick"
    assert paint.name == "brick red, from the kiln"
    assert paint.colour_index == ("PR101", "PBr7")
    assert (paint.transparency, paint.basis) == ("opaque", "measured")
    assert paint.source == "own drawdowns"
    assert paint.masstone_miss == 0.25 and np.isnan(paint.tint_miss)
    assert (paint.uncertainty, paint.unit) == (1.5, "kiln-white")
    assert paint.cautions == "dust"
    assert (paint.surface.outside, paint.surface.inside) == (0.02, 0.5)


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(lambda text: "\ufeff" + text, id="byte order mark"),
        pytest.param(lambda text: text.replace("\n", "\r\n"), id="CRLF"),
        pytest.param(lambda text: text.replace("\n", "\r"), id="CR"),
        pytest.param(lambda text: text.replace("\n", "\n\n , ,\n"), id="blank lines"),
        pytest.param(lambda text: text.replace(",", " , "), id="spaces"),
        pytest.param(lambda text: text.rstrip("\n"), id="no end of line"),
        pytest.param(lambda text: text.replace("K380", "K380.0"), id="wavelength with decimals"),
    ],
)
def test_the_same_table_in_other_dress(tmp_path, change):
    mine = read(tmp_path, change(text_of(cells())))
    assert mine.ids == ["brick", "bark"]
    np.testing.assert_allclose(mine["bark"].K, WAVELENGTHS / 1000)
    np.testing.assert_allclose(mine["bark"].S, 2 - WAVELENGTHS / 1000)


@pytest.mark.parametrize(
    "wavelengths",
    [range(380, 731), range(360, 781, 5), range(375, 736, 10), [380, 385, *range(390, 731, 10)]],
)
def test_other_grids_are_brought_to_ours_with_a_note(tmp_path, wavelengths):
    mine = read(tmp_path, cells(list(wavelengths)))
    np.testing.assert_allclose(mine["brick"].K, WAVELENGTHS / 1000)
    np.testing.assert_allclose(mine["brick"].S, 2 - WAVELENGTHS / 1000)
    first, last = wavelengths[0], wavelengths[-1]
    assert mine.notes == (
        f"curves on {first}-{last} nm were brought to the grid 380-730 nm by 10",
    )


def test_short_curves_keep_their_ends_with_a_note(tmp_path):
    mine = read(tmp_path, cells(list(range(400, 701, 10))))
    np.testing.assert_allclose(mine["brick"].K, np.clip(WAVELENGTHS, 400, 700) / 1000)
    np.testing.assert_allclose(mine["brick"].S, 2 - np.clip(WAVELENGTHS, 400, 700) / 1000)
    assert len(mine.notes) == 2
    assert "400-700 nm" in mine.notes[0]
    assert "keep their last values" in mine.notes[1]


def test_a_unit_is_kept(tmp_path):
    mine = read(tmp_path, with_column("unit", "brick", "brick"))
    assert [paint.unit for paint in mine] == ["brick", "brick"]
    mixlab.write_table(mine, tmp_path / "copy.csv")
    assert mixlab.read_table(tmp_path / "copy.csv")["bark"].unit == "brick"
    assert mine.palette(["brick", "bark"]).mix("1 brick + 1 bark").parts == {"brick": 1, "bark": 1}


def test_a_palette_of_two_units_is_refused(table):
    other = replace(table["PB29"], unit="zinc-white")
    message = refusal(TableError, mixlab.Palette, (table["PW6"], other), table)
    assert message == (
        "K and S of titanium-white stand in the unit of the bundled table's titanium white, "
        "those of ultramarine-blue in that of zinc-white; such paints cannot be mixed"
    )


def test_a_colour_index_name_stands_for_the_pigment_alone(tmp_path):
    mine = read(tmp_path, with_column("colour_index", "PR101 PBk9", "PR101"))
    assert mine["PR101"].id == "bark"
    assert mine["PBk9"].id == "brick"


def test_an_id_stands_for_its_own_paint(tmp_path):
    mine = read(tmp_path, with_column("colour_index", "", "BRICK"))
    assert mine["brick"].id == "brick"
    assert mine["bark"].id == "bark"


def test_zero_is_a_figure(tmp_path):
    mine = read(tmp_path, cells(ids=("glaze", "chalk"), k=lambda w: 1, s=lambda w: 0))
    assert (mine["glaze"].S <= 1e-9).all()
    np.testing.assert_allclose(mine["glaze"].reflectance, mine["glaze"].surface.outside)
    mine = read(tmp_path, cells(k=lambda w: 0, s=lambda w: 1))
    np.testing.assert_allclose(mine["brick"].reflectance, 1)


# --- mistakes in a table ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        # columns
        (with_column("colour_indx", "", ""), ["column 'colour_indx'", "near names: colour_index"]),
        (with_column("k380", "1", "1"), ["column 'k380'", "K380 .. K730"]),
        (with_column("", "1", "1"), ["column ''", "not a column"]),
        (with_column('"two\nlines"', "1", "1"), ["column 'two lines'"]),
        (with_column("K380", "1", "1"), ["column K380: it is there twice"]),
        (with_column("S380.0", "1", "1"), ["column S380.0: it is there twice"]),
        (with_column("id", "brick", "bark"), ["column id: it is there twice"]),
        (with_column("x" * 200, "", ""), ["column 'xxxxx"]),
        ([row[1:] for row in cells()], ["the column id is missing"]),
        ([row[:37] for row in cells()], ["the columns S380 .. S730 are missing"]),
        ([row[:1] for row in cells()], ["the columns K380 .. K730 are missing"]),
        ([[*row[:5], *row[6:]] for row in cells()], ["nothing between 410 and 430 nm"]),
        (cells(list(range(380, 741, 20))), ["nothing between 380 and 400", "too sparse"]),
        (cells(list(range(410, 731, 10))), ["covers 410-730 nm", "at least 400-700"]),
        (cells(list(range(380, 691, 10))), ["covers 380-690 nm", "at least 400-700"]),
        (cells(GRID[::-1]), ["column K720: 720 nm follows 730; wavelengths must rise"]),
        ([row[:-1] for row in cells()], ["K and S must stand at the same wavelengths", "730"]),
        (text_of(cells()).replace(",", ";"), ["parted by semicolons", "commas"]),
        (text_of(cells()).replace(",", "\t"), ["parted by tabs", "commas"]),
        # rows
        ([*cells(), ["c", "1", "2"]], ["row 4: 3 cells under 73 columns"]),
        ([*cells(), [*cells()[1], ""]], ["row 4: 74 cells under 73 columns"]),
        (text_of(cells()) + "\n\nc,1\n", ["row 6: 2 cells"]),
        (cells(ids=()), ["a header but no paints"]),
        # cells
        (changed(2, "K400", "x1"), ["row 2, column K400: 'x1' is not a number"]),
        (changed(3, "S730", ""), ["row 3, column S730: '' is not a number"]),
        (changed(3, "S730", '"0,5"'), ["row 3, column S730: '0,5' is not a number"]),
        (changed(3, "S500", "-0.1"), ["row 3, column S500: -0.1 is not between 0 and"]),
        (changed(2, "K500", "nan"), ["row 2, column K500: nan is not between"]),
        (changed(2, "K500", "inf"), ["row 2, column K500: inf is not between"]),
        (changed(2, "K500", "1e308"), ["row 2, column K500: 1e+308 is not between"]),
        (cells(ids=("brick", "brick")), ["row 3, column id: 'brick' is there twice"]),
        (cells(ids=("Burnt Umber",)), ["row 2, column id: 'Burnt Umber'", "as burnt-umber"]),
        (cells(ids=("",)), ["row 2, column id: ''", "as burnt-umber"]),
        (cells(ids=("-brick",)), ["row 2, column id: '-brick'"]),
        (cells(k=lambda w: 0, s=lambda w: 0), ["row 2, column S380", "both zero"]),
        (
            cells(list(range(395, 706, 10)), k=lambda w: 0, s=lambda w: int(w != 495)),
            ["row 2, column S495:", "both zero"],
        ),
        (with_column("transparency", "opaque", "clear"), ["row 3, column transparency", "semi"]),
        (with_column("basis", "guessed", ""), ["row 2, column basis: 'guessed'", "modelled"]),
        (with_column("tint_miss", "", "-1"), ["row 3, column tint_miss: -1 is not between"]),
        (with_column("masstone_miss", "good", ""), ["row 2, column masstone_miss: 'good'"]),
        (with_column("uncertainty", "", "some"), ["row 3, column uncertainty: 'some' is not a"]),
        (with_column("uncertainty", "-2", ""), ["row 2, column uncertainty: -2 is not between"]),
        (with_column("unit", "Lead White", ""), ["row 2, column unit: 'Lead White'", "zinc-white"]),
        (
            with_column("unit", "zinc-white", ""),
            ["K and S of brick stand in the unit of zinc-white, those of bark in that",
             "such paints cannot be mixed"],
        ),
        (with_column("saunderson_k1", "1", "1"), ["row 2, column saunderson_k1: 1 is not a share"]),
        (with_column("saunderson_k2", "0.6", "0.5"), ["and saunderson_k2 must be the same"]),
        (with_column("name", "x" * 200_000, ""), ["row 2: field larger than field limit"]),
        # files
        ("", ["the file is empty"]),
        ("\n , \n", ["the file is empty"]),
        (text_of(cells()).encode("utf-16"), ["byte 1 is not UTF-8", "save the file as UTF-8"]),
        (text_of(with_column("name", "Rötel", "")).encode("latin-1"), ["is not UTF-8 text"]),
        (b"\x89PNG\r\n\x1a\n" + bytes(100), ["byte 1 is not UTF-8 text"]),
        (bytes(100), ["it is not a text file"]),
        (text_of(with_column("name", "\x1b[31mred", "")), ["it is not a text file"]),
    ],
)
def test_mistakes_name_the_file_and_the_place(tmp_path, content, wrong):
    message = refusal(TableError, read, tmp_path, content)
    assert message.startswith(f"{tmp_path / 'mine.csv'}")
    for part in wrong:
        assert part in message
    assert len(message) < 200 + len(str(tmp_path))


def test_a_path_that_cannot_be_read_is_named(tmp_path):
    missing = tmp_path / "none.csv"
    assert refusal(TableError, mixlab.read_table, missing) == (
        f"{missing}: cannot be read: No such file or directory"
    )
    assert refusal(TableError, mixlab.read_table, tmp_path).endswith("it is a folder, and no file")
    assert "the name that was given is empty" in refusal(TableError, mixlab.read_table, "")
    assert "null" in refusal(TableError, mixlab.read_table, "a\0b.csv")


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser reads all")
def test_a_file_without_permission_is_named(tmp_path):
    path = tmp_path / "locked.csv"
    path.write_text("id")
    path.chmod(0)
    assert "Permission denied" in refusal(TableError, mixlab.read_table, path)


def test_a_huge_file_is_refused(tmp_path):
    path = tmp_path / "huge.csv"
    with open(path, "wb") as stream:
        stream.truncate(limits.TEXT_BYTES + 1)
    assert refusal(TableError, mixlab.read_table, path) == f"{path}: larger than 16 MB"


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="no endless device")
def test_an_endless_device_is_refused():
    assert "larger than 16 MB" in refusal(TableError, mixlab.read_table, "/dev/zero")


# --- writing ------------------------------------------------------------------------------------


def test_what_is_written_reads_back(table, tmp_path):
    path = tmp_path / "copy.csv"
    mixlab.write_table(table, path)
    copy = mixlab.read_table(path)
    np.testing.assert_allclose(copy.K, table.K, rtol=5e-5)
    np.testing.assert_allclose(copy.S, table.S, rtol=5e-5)
    facts = ("id", "name", "colour_index", "transparency", "basis", "source", "cautions", "surface",
             "uncertainty", "unit")  # fmt: skip
    for one, other in zip(table, copy, strict=True):
        for fact in facts:
            assert getattr(one, fact) == getattr(other, fact)
        np.testing.assert_allclose(other.tint_miss, one.tint_miss, atol=5e-4)
        np.testing.assert_allclose(other.masstone_miss, one.masstone_miss, atol=5e-4)
    again = tmp_path / "again.csv"
    mixlab.write_table(copy, again)
    assert again.read_bytes() == path.read_bytes()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["again.csv", "copy.csv"]


def test_what_cannot_be_read_is_not_written(table, tmp_path):
    path = tmp_path / "mine.csv"
    path.write_text("precious")
    white = table["PW6"]
    other = replace(table["PB29"], surface=Surface(0.1, 0.6))
    for paints, wrong in (
        ([], "no paints"),
        ([white, white], "'titanium-white' is there twice"),
        ([white, other], "must be the same for all paints"),
        ([white, replace(table["PB29"], unit="zinc-white")], "such paints cannot be mixed"),
        ([replace(white, K=np.full(36, np.nan))], "nan is not between"),
    ):
        assert wrong in refusal(TableError, mixlab.write_table, paints, path)
        assert path.read_text() == "precious"
    assert list(tmp_path.iterdir()) == [path]


def test_a_place_that_cannot_be_written_is_named(table, tmp_path):
    nowhere = tmp_path / "none" / "mine.csv"
    assert refusal(TableError, mixlab.write_table, table, nowhere) == (
        f"{nowhere}: there is no folder {nowhere.parent}"
    )
    folder = tmp_path / "folder"
    folder.mkdir()
    assert "it is a folder" in refusal(TableError, mixlab.write_table, table, folder)
    assert list(tmp_path.iterdir()) == [folder]


# --- palettes -----------------------------------------------------------------------------------


def palette(tmp_path, content, table=None):
    path = tmp_path / "mine.toml"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return mixlab.read_palette(path, table)


def test_bundled_palettes_read(table):
    assert mixlab.palette_names() == ["kiln-earths", "mill-pond", "studio", "warm-and-cool"]
    for name in mixlab.palette_names():
        bundled_one = mixlab.read_palette(name)
        assert bundled_one.name and bundled_one.about
        assert 4 <= len(bundled_one) <= 12
        assert "titanium-white" in bundled_one.ids
        assert set(bundled_one.ids) <= set(table.ids)
        np.testing.assert_array_equal(bundled_one.K, [table[id].K for id in bundled_one.ids])


def test_a_palette_file_is_read(tmp_path, table):
    mine = palette(tmp_path, 'name = "Two"\nabout = "a\\n  b"\npaints = ["pb29", "titanium-white"]')
    assert mine.ids == ["ultramarine-blue", "titanium-white"]
    assert (mine.name, mine.about) == ("Two", "a b")
    assert len(mine) == 2 and [paint.id for paint in mine] == mine.ids
    assert "PB29" in mine and "PBk9" not in mine
    assert mine.mix("1 PB29 + 2 PW6").parts == {"ultramarine-blue": 1, "titanium-white": 2}
    with_mark = palette(tmp_path, b'\xef\xbb\xbfpaints = [\r\n"PB29",\r\n]\r\n')
    assert (with_mark.ids, with_mark.name, with_mark.about) == (["ultramarine-blue"], "mine", "")


def test_a_palette_looks_in_the_table_that_is_given(tmp_path):
    mine = read(tmp_path, cells())
    assert palette(tmp_path, 'paints = ["bark"]', mine).table is mine
    message = refusal(PaletteError, palette, tmp_path, 'paints = ["PW6"]', mine)
    assert "no paint 'PW6'" in message and message.endswith(f"the table is {tmp_path / 'mine.csv'}")


@pytest.mark.parametrize(
    ("content", "wrong"),
    [
        ('paints = ["PB29"', ["not TOML", "Unclosed array"]),
        ('paints = ["PB29"\n"PW6"]', ["not TOML", "line 2"]),
        ('paints = ["PB29"]\npaints = ["PW6"]', ["not TOML"]),
        ("paints = " + "[" * 20_000, ["not TOML"]),
        ("paints = " + "1" * 5000, ["not TOML"]),
        ('paint = ["PB29"]', ["'paint' is not a key of a palette", "paints"]),
        ('paints = ["PB29"]\ncolour = 1', ["'colour' is not a key"]),
        ("", ["paints must be a list"]),
        ('paints = "PB29"', ["paints must be a list"]),
        ('paints = [1, "PB29"]', ["paints must be a list"]),
        ("[paints]\na = 1", ["paints must be a list"]),
        ("paints = []", ["it lists no paints"]),
        ('paints = ["burnt-umbr"]', ["no paint 'burnt-umbr'", "near names: burnt-umber"]),
        ('paints = [""]', ["no paint ''"]),
        ('paints = ["a\\nb"]', [r"no paint 'a\nb'"]),
        ('paints = ["PBr7"]', ["PBr7 is borne by", "burnt-umber", "write the id"]),
        ('paints = ["PB29", "PW6", "pb29"]', ["ultramarine-blue is listed twice"]),
        ('paints = ["PB29", "ultramarine-blue"]', ["ultramarine-blue is listed twice"]),
        ('name = 5\npaints = ["PB29"]', ["name must be a text"]),
        ('name = "\\u001b[31m"\npaints = ["PB29"]', ["name must be a text"]),
        ('about = ["x"]\npaints = ["PB29"]', ["about must be a text"]),
        ('name = "Rötel"'.encode("latin-1"), ["is not UTF-8 text"]),
        (bytes(10), ["it is not a text file"]),
    ],
)
def test_mistakes_in_a_palette_are_told(tmp_path, content, wrong):
    message = refusal(PaletteError, palette, tmp_path, content)
    assert message.startswith(f"{tmp_path / 'mine.toml'}: ")
    for part in wrong:
        assert part in message


def test_a_palette_that_is_not_there_is_told(tmp_path):
    message = refusal(PaletteError, mixlab.read_palette, "mil-pond")
    assert "kiln-earths, mill-pond, studio, warm-and-cool" in message
    assert "near names: mill-pond" in message
    assert "path of a TOML file" in message
    missing = tmp_path / "none.toml"
    assert refusal(PaletteError, mixlab.read_palette, missing).startswith(f"{missing}: cannot be")
    assert "it is a folder" in refusal(PaletteError, mixlab.read_palette, tmp_path)
    assert "the name of a palette is empty" in refusal(PaletteError, mixlab.read_palette, "")


def test_a_palette_from_names_is_checked(table):
    assert table.palette(["PW6", "viridian"], "Small").ids == ["titanium-white", "viridian"]
    assert "it lists no paints" in refusal(PaletteError, table.palette, [])
    assert "palette Small: viridian is listed twice" in refusal(
        PaletteError, table.palette, ["viridian", "PG18"], "Small"
    )


# --- writing ------------------------------------------------------------------------------------


def test_a_link_and_permissions_stay_and_a_pipe_is_written_to(tmp_path):
    import os
    import threading

    from mixlab.writing import write_whole

    own, link, pipe = (tmp_path / name for name in ("own.csv", "link.csv", "pipe"))
    own.write_text("old")
    own.chmod(0o600)
    link.symlink_to(own)
    write_whole(link, "new")
    assert link.is_symlink() and own.read_text() == "new" and own.stat().st_mode & 0o777 == 0o600

    os.mkfifo(pipe)
    got = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_text()))
    reader.start()
    write_whole(pipe, "through")
    reader.join(10)
    assert got == ["through"] and pipe.is_fifo()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["link.csv", "own.csv", "pipe"]


# --- own tubes before the bundled ones ------------------------------------------------------------


def own_file(tmp_path, *paints):
    mixlab.write_table(paints, tmp_path / "mine.csv")
    return tmp_path / "mine.csv"


def test_own_tubes_come_before_the_bundled_ones(tmp_path):
    bundled_table = mixlab.read_table()
    mine = mixlab.add_paint(bundled_table["ultramarine-blue"], "my-blue", 0.5)
    strong = replace(bundled_table["viridian"], source="my tube")
    table = mixlab.read_table(own_file(tmp_path, mine, strong), with_bundled=True)
    assert table.ids[:3] == ["my-blue", "viridian", "titanium-white"]
    assert sorted(table.ids) == sorted([*bundled_table.ids, "my-blue"])
    assert table.own == ("my-blue", "viridian") and table["viridian"].source == "my tube"
    # an own tube bears its Colour Index name alone; an id is that paint's, whatever others are
    # called
    assert table["PB29"].id == "my-blue"
    assert table["Ultramarine Blue"].id == table["ultramarine-blue"].id == "ultramarine-blue"
    palette = mixlab.read_palette("mill-pond", table)
    with_mine = table.palette(["my-blue", *palette.ids])
    assert len(with_mine) == len(palette) + 1
    assert table.mix("1 my-blue + 1 titanium-white").lab.shape == (3,)


def test_own_tubes_of_another_unit_are_refused_beside_the_bundled_ones(tmp_path, run):
    bundled_table = mixlab.read_table()
    oils = bundled("oils.csv")
    brick = replace(bundled_table["PB29"], id="brick", surface=Surface(0.04, 0.6))
    other = own_file(tmp_path, brick)
    for file, words in ((oils, "stand in the unit of zinc-white"), (other, "saunderson_k1")):
        with pytest.raises(TableError, match=words) as caught:
            mixlab.read_table(file, with_bundled=True)
        assert str(file) in str(caught.value) and "--only" in str(caught.value)
        ran = run("paints", "--table", file)
        assert ran.status == 2 and len(ran.err.splitlines()) == 1
        assert run("paints", "--table", file, "--only").status == 0


def test_a_formula_is_written_harmless_and_read_back(tmp_path):
    path, (paint, *_) = tmp_path / "own.csv", mixlab.read_table().paints
    for name in ('=HYPERLINK("x")', "+1", "-a", "@b", "'=quoted", "''+", "'tis no formula"):
        mixlab.write_table([replace(paint, name=name)], path)
        cells = next(iter(csv.DictReader(path.read_text(encoding="utf-8").splitlines())))
        assert cells["name"][0] not in "=+-@"
        assert mixlab.read_table(path).paints[0].name == name
