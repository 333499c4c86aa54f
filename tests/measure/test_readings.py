"""Readings from an instrument: what is read of each format, what is said, and what is refused.

Every figure is invented: panels of a brick kiln yard and a birch wood across a mill pond.
"""

import codecs
import csv
import io
import sys

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from mixlab import limits
from mixlab.colour.spaces import WAVELENGTHS
from mixlab.errors import ReadingError
from mixlab.measure.readings import read_readings
from mixlab.measure.readings.names import SURFACES

GRID = np.arange(400, 701, 10)
BRICK = "3 lime-white + 1 kiln-red"
BIRCH = "1 birch-grey"


def curve(level=0.4, slope=0.3, grid=GRID):
    """Return an invented reflectance on a grid [nm], rounded as instruments write it."""
    return np.round(level + slope * (np.asarray(grid) - 550) / 150, 4)


def rows_of(*readings, grid=GRID, full=1.0):
    """Return the cells of our CSV; a reading is (sample, mixture, surface, level)."""
    cells = [["sample", "mixture", "surface", *(f"{w:g}" for w in grid)]]
    for sample, mixture, surface, level in readings:
        values = [f"{v * full:.6g}" for v in curve(level, 0.1, grid)]
        cells.append([sample, mixture, surface, *values])
    return cells


YARD = (
    ("k1", BRICK, "over-white", 0.45),
    ("k1", BRICK, "over-black", 0.40),
    ("k1", BRICK, "bare-white", 0.85),
    ("k1", BRICK, "bare-black", 0.15),
    ("b1", BIRCH, "opaque", 0.30),
)


def text_of(cells, mark=","):
    text = io.StringIO()
    csv.writer(text, delimiter=mark, lineterminator="\n").writerows(cells)
    return text.getvalue()


def changed(row, column, cell, cells=None):
    """Return the cells of the yard's file with one of them changed; row 1 is the header."""
    cells = [list(r) for r in (cells or rows_of(*YARD))]
    cells[row - 1][cells[0].index(column)] = cell
    return cells


def read(folder, content, samples=None, name="yard.txt"):
    path = folder / name
    if isinstance(content, list):
        content = text_of(content)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    if samples is not None:
        (folder / "samples.csv").write_text(samples, encoding="utf-8")
        return read_readings(path, folder / "samples.csv")
    return read_readings(path)


def refusal(folder, content, samples=None):
    """Return the message with which a file is refused, which must be one line and name it."""
    with pytest.raises(ReadingError) as caught:
        read(folder, content, samples)
    message = str(caught.value)
    assert len(message.splitlines()) == 1 and message.isprintable()
    assert "yard.txt" in message or "samples.csv" in message
    return message


def noted(readings, words):
    """Return whether a note has these words."""
    return any(words in note for note in readings.notes)


# --- our CSV ------------------------------------------------------------------------------------


def test_our_csv_is_read_whole(tmp_path):
    found = read(tmp_path, rows_of(*YARD))
    assert [(r.sample, r.mixture, r.surface) for r in found.readings] == [y[:3] for y in YARD]
    film = found.readings[0]
    assert film.parts == {"lime-white": 3, "kiln-red": 1}
    assert film.reflectance.shape == WAVELENGTHS.shape
    assert film.covered == (400, 700)
    np.testing.assert_allclose(film.reflectance[2:-3], curve(0.45, 0.1), atol=1e-12)
    # the end values are held where the file covers nothing
    assert (film.reflectance[:2] == film.reflectance[2]).all()
    assert (film.reflectance[-3:] == film.reflectance[-4]).all()
    assert found.path.endswith("yard.txt")
    assert found.paints == ("lime-white", "kiln-red", "birch-grey")
    assert found.notes[0] == "taken from CSV: 5 readings of 2 drawdowns, 3 paints"
    assert noted(found, "fractions of 1")
    assert noted(found, "covered: 400-700 nm")


@pytest.mark.parametrize("surface", SURFACES)
def test_every_surface_is_known(tmp_path, surface):
    found = read(tmp_path, rows_of(("k1", BRICK, surface.replace("-", " ").upper(), 0.4),))
    assert found.readings[0].surface == surface


@pytest.mark.parametrize(
    "grid", [np.arange(380, 731, 10), np.arange(360, 741, 10), np.arange(400, 701, 5),
             np.arange(380, 731, 1), np.arange(396.5, 708, 3.5)]
)  # fmt: skip
def test_any_regular_grid_is_brought_to_ours(tmp_path, grid):
    film = read(tmp_path, rows_of(("k1", BRICK, "opaque", 0.4), grid=grid)).readings[0]
    inside = (grid[0] <= WAVELENGTHS) & (grid[-1] >= WAVELENGTHS)
    expected = 0.4 + 0.1 * (WAVELENGTHS - 550) / 150
    np.testing.assert_allclose(film.reflectance[inside], expected[inside], atol=1e-4)
    assert film.covered == (grid[0], grid[-1])


def test_steps_of_20_nm_are_filled_in_smoothly_and_said(tmp_path):
    def hump(w):
        return 0.1 + 0.6 * np.exp(-(((w - 560) / 60) ** 2))

    def cells(grid):
        head = ["sample", "mixture", "surface", *map(str, grid)]
        return [head, ["k1", BRICK, "opaque", *(f"{v:.6f}" for v in hump(grid))]]

    grid = np.arange(400, 701, 20)
    found = read(tmp_path, cells(grid))
    assert noted(found, "steps of 20 nm; what lies between is filled in smoothly")
    film, inside = found.readings[0].reflectance, (WAVELENGTHS >= 400) & (WAVELENGTHS <= 700)
    off = np.abs(film - hump(WAVELENGTHS))[inside].max()
    lines = np.abs(np.interp(WAVELENGTHS, grid, hump(grid)) - hump(WAVELENGTHS))[inside].max()
    assert off < 0.002 < lines
    assert (film[:2] == film[2]).all() and (film[-3:] == film[-4]).all()
    assert not noted(read(tmp_path, cells(np.arange(400, 701, 10))), "filled in")


def test_what_is_filled_in_never_falls_below_zero(tmp_path):
    grid = np.arange(400, 701, 20)
    cells = rows_of(("k1", BRICK, "opaque", 0.4), grid=grid)
    cells[1][3:] = ["0" if w < 560 else "0.8" for w in grid]  # a cubic swings at such a step
    film = read(tmp_path, cells).readings[0].reflectance
    assert film.min() == 0 and film.max() < 1


def test_wavelengths_may_fall_from_red_to_violet(tmp_path):
    rising = rows_of(*YARD)
    falling = [[*row[:3], *row[:2:-1]] for row in rising]
    assert falling[0][3] == "700"
    one, other = read(tmp_path, rising), read(tmp_path, falling)
    for a, b in zip(one.readings, other.readings, strict=True):
        np.testing.assert_array_equal(a.reflectance, b.reflectance)
        assert a.covered == b.covered == (400, 700)


def test_percent_is_told_from_the_level_of_the_readings(tmp_path):
    fraction = read(tmp_path, rows_of(*YARD))
    percent = read(tmp_path, rows_of(*YARD, full=100))
    assert noted(percent, "taken as percent")
    for a, b in zip(fraction.readings, percent.readings, strict=True):
        np.testing.assert_allclose(a.reflectance, b.reflectance, rtol=1e-9)


def test_a_black_among_percent_readings_is_read_and_named(tmp_path):
    cells = rows_of(*YARD, full=100)
    cells[2][3:] = ["0.9"] * len(GRID)
    found = read(tmp_path, cells)
    assert found.readings[1].reflectance.max() == pytest.approx(0.009)
    assert noted(found, "darker than 1.5 % throughout, if they are percent too: row 3")


def test_one_mistyped_figure_does_not_turn_fractions_to_percent(tmp_path):
    one = rows_of(("k1", BRICK, "opaque", 0.4))
    message = refusal(tmp_path, changed(2, "550", "4.0", one))
    assert "row 2, column '550': 4 is not between 0 and 1.5" in message
    message = refusal(tmp_path, changed(2, "550", "400", rows_of(*YARD, full=100)))
    assert "row 2, column '550': 400 is not between 0 and 150" in message


def test_percent_signs_settle_it(tmp_path):
    cells = rows_of(("k1", BRICK, "opaque", 0.008), full=100)
    cells[1][3:] = ["0.8%"] * len(GRID)
    found = read(tmp_path, cells)
    np.testing.assert_allclose(found.readings[0].reflectance, 0.008)
    assert noted(found, "scale 0..100, as the file says")
    cells[1][5] = "0.8"
    message = refusal(tmp_path, cells)
    assert "row 2, column '420': a percent sign follows some of the numbers only" in message


def test_a_little_below_zero_is_taken_as_zero_and_said(tmp_path):
    found = read(tmp_path, changed(2, "400", "-0.0021"))
    assert found.readings[0].reflectance[2] == 0
    assert noted(found, "1 reading a little below zero")
    assert "-0.1 is not between 0 and 1.5" in refusal(tmp_path, changed(2, "400", "-0.1"))


def test_above_a_perfect_reflector_is_kept_and_said(tmp_path):
    found = read(tmp_path, changed(4, "400", "1.04"))
    assert found.readings[2].reflectance[2] == 1.04
    assert noted(found, "1 reading above a perfect reflector")


def test_rows_may_cover_less_than_the_columns(tmp_path):
    cells = rows_of(*YARD, grid=np.arange(360, 741, 10))
    for column in (3, 4, 5, 6, -1, -2, -3, -4):
        cells[2][column] = ""
    found = read(tmp_path, cells)
    assert found.readings[0].covered == (360, 740)
    assert found.readings[1].covered == (400, 700)
    message = refusal(tmp_path, changed(2, "550", ""))
    assert "row 2, column '550': it is empty" in message


@pytest.mark.parametrize("mark, word", [(";", "semicolons"), ("\t", "tabs")])
def test_spreadsheets_with_other_marks_and_decimal_commas(tmp_path, mark, word):
    cells = [[cell.replace(".", ",") for cell in row] for row in rows_of(*YARD)]
    cells[5][1] = "9,9 birch-grey + 90,1 lime-white"
    found = read(tmp_path, text_of(cells, mark).replace("\n", "\r\n"))
    plain = read(tmp_path, rows_of(*YARD))
    for a, b in zip(found.readings, plain.readings, strict=True):
        np.testing.assert_array_equal(a.reflectance, b.reflectance)
    assert found.readings[4].parts == {"birch-grey": 9.9, "lime-white": 90.1}
    assert noted(found, f"parted by {word}, decimals with commas")


def test_a_first_line_may_name_the_mark(tmp_path):
    found = read(tmp_path, "sep=;\r\n" + text_of(rows_of(*YARD), ";"))
    assert len(found.readings) == 5
    message = refusal(tmp_path, "sep=;\n" + text_of(changed(3, "400", "pond"), ";"))
    assert "row 4, column '400': 'pond' is not a number" in message


@pytest.mark.parametrize(
    "head", ["{} nm", "{}nm", "R{}", "nm{}", "SPECTRAL_NM{}", "spectral_{}", "SPECTRAL_NM_{}",
             "SPEC_{}"]
)  # fmt: skip
def test_spellings_of_wavelengths(tmp_path, head):
    cells = rows_of(*YARD)
    cells[0][3:] = [head.format(w) for w in GRID]
    assert read(tmp_path, cells).readings[0].covered == (400, 700)


@pytest.mark.parametrize(
    "encode",
    [
        lambda t: t.encode("utf-8-sig"),
        lambda t: t.encode("utf-16"),
        lambda t: codecs.BOM_UTF16_BE + t.encode("utf-16-be"),
        lambda t: t.encode("utf-16-le"),
        lambda t: t.encode("utf-16-be"),
        lambda t: t.encode("utf-32"),
        lambda t: t.encode("cp1252"),
    ],
)
def test_encodings(tmp_path, encode):
    cells = changed(6, "sample", "Mühle 1")
    found = read(tmp_path, encode(text_of(cells)))
    assert found.readings[4].sample == "Mühle 1"
    assert noted(found, "Windows-1252") == (encode("ü") == b"\xfc")


def test_other_columns_are_left_and_said(tmp_path):
    cells = [[*row, cell] for row, cell in
             zip(rows_of(*YARD), ["L*", "51", "49", "93", "40", "62"], strict=True)]  # fmt: skip
    found = read(tmp_path, cells)
    assert len(found.readings) == 5
    assert noted(found, "left: columns 'L*'")


def test_true_repeats_are_kept_apart_and_copies_left(tmp_path):
    cells = rows_of(*YARD, ("k1", BRICK, "over-white", 0.46), ("b1", BIRCH, "opaque", 0.30))
    found = read(tmp_path, cells)
    assert len(found.readings) == 6
    assert noted(found, "'k1' over-white 2 times")
    assert noted(found, "row 8 (as row 6)")


def test_a_ground_read_once_stands_for_every_drawdown_without_its_own(tmp_path):
    cells = rows_of(
        ("", "", "bare white", 0.80),
        ("", "", "bare-white", 0.84),
        ("card", "", "bare-black", 0.15),
        ("k1", BRICK, "over-white", 0.45),
        ("k1", "", "bare-white", 0.70),
        ("b1", BIRCH, "over-white", 0.30),
        ("b1", BIRCH, "over-black", 0.28),
    )
    found = read(tmp_path, cells)
    level = {(r.sample, r.surface): r.reflectance[17] for r in found.readings}
    assert level == {
        ("k1", "over-white"): 0.45, ("k1", "bare-white"): 0.70, ("b1", "over-white"): 0.30,
        ("b1", "over-black"): 0.28, ("b1", "bare-white"): pytest.approx(0.82),
        ("b1", "bare-black"): 0.15,
    }  # fmt: skip
    assert all(r.parts for r in found.readings)
    assert noted(found, "the bare white ground (2 readings without a drawdown, their mean)")
    assert noted(found, "stands for 1 drawdown")


@pytest.mark.parametrize(
    "cells, words",
    [
        ([], "the file is empty"),
        (rows_of(), "it has a header but no readings"),
        ([r[1:] for r in rows_of(*YARD)], "the column sample is missing"),
        ([[r[0], *r[2:]] for r in rows_of(*YARD)], "the column mixture is missing"),
        ([r[:2] + r[3:] for r in rows_of(*YARD)], "the column surface is missing"),
        (changed(1, "surface", "surfaces"), "the column surface is missing; near names: surfaces"),
        ([r[:3] for r in rows_of(*YARD)], "no column is a wavelength"),
        ([r[:20] for r in rows_of(*YARD)], "covers 400-560 nm; at least 400-700 nm"),
        ([r[:9] + r[11:] for r in rows_of(*YARD)], "nothing between 450 and 480 nm"),
        (changed(1, "450", "440.0"), "column '440.0': 440 nm is there twice"),
        (changed(1, "450", "435"), "column '435': 435 nm follows 440; wavelengths must rise"),
        (changed(1, "400", "Surface"), "column Surface: it is there twice"),
        (changed(3, "500", "nan"), "row 3, column '500': 'nan' is not a number"),
        (changed(3, "500", "inf"), "row 3, column '500': 'inf' is not a number"),
        (changed(3, "500", "1e999"), "row 3, column '500': inf is not between"),
        (changed(3, "500", "0.4.1"), "row 3, column '500': '0.4.1' is not a number"),
        (changed(3, "500", "1.7"), "row 3, column '500': 1.7 is not between 0 and 1.5"),
        (changed(3, "sample", " "), "row 3, column sample: it is empty"),
        (changed(3, "surface", ""), "row 3, column surface: it is empty"),
        (changed(3, "surface", "over-wite"), "'over-wite' is not a surface (over-white,"),
        (changed(6, "mixture", ""), "row 6, column mixture: it is empty"),
        (changed(3, "mixture", "kiln-red"), "row 3, column mixture: term 1 ('kiln-red')"),
        (changed(3, "mixture", "0 kiln-red"), "parts must be above zero"),
        (changed(3, "mixture", "2 Kiln Red"), "'kiln red' is not a paint's id"),
        (changed(3, "mixture", "1.500,0 kiln-red"), "'1.500,0' is not a number of parts"),
        (changed(3, "mixture", "1 x + 1 x"), "x is in the mix already"),
        (changed(3, "mixture", "2 kiln-red"), "row 3: sample 'k1' is '2 kiln-red' here and"),
        (changed(3, "mixture", "1 x + " * 400 + "1 y"), "a mix of more than 2000 letters"),
        ([*rows_of(*YARD), ["k1", BRICK]], "row 7: 2 cells under 34 columns"),
        (rows_of(("", "", "bare-white", 0.8)), "it holds bare grounds only"),
        ([[*r, *[""] * 6000] for r in rows_of(*YARD)], "more than 5000 columns"),
        ("sample,mixture,surface\x00,400\n", "not a text file"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0d", "not a text file"),
        (b"sample\x81,mixture", "it is not text; save it as UTF-8"),
        (b"\xff\xfes", "it is not text"),
        (b"   \r\n\r\n", "the file is empty"),
        (f'sample,mixture,surface,{"x" * 200_000}\n', "field larger than field limit"),
    ],
)
def test_what_our_csv_is_refused_for(tmp_path, cells, words):
    assert words in refusal(tmp_path, cells)


def test_files_that_cannot_be_read(tmp_path):
    for path, words in (
        (tmp_path / "none.csv", "No such file"),
        (tmp_path, "it is a folder"),
        ("yard\0.csv", "cannot be read"),
    ):
        with pytest.raises(ReadingError, match=words):
            read_readings(path)
    big = tmp_path / "big.csv"
    with open(big, "wb") as stream:
        stream.truncate(limits.TEXT_BYTES + 1)
    with pytest.raises(ReadingError, match="larger than 16 MB"):
        read_readings(big)


def test_too_many_readings(tmp_path, monkeypatch):
    monkeypatch.setattr("mixlab.limits.READINGS", 4)
    assert "more than 4 readings" in refusal(tmp_path, rows_of(*YARD))


# --- CGATS.17 -----------------------------------------------------------------------------------

NAMED = (
    ("1", f"k1: {BRICK}, over white", 0.45),
    ("2", f"k1: {BRICK}, over black", 0.40),
    ("3", "k1 bare-white", 0.85),
    ("4", BIRCH, 0.30),
)


def cgats(readings=NAMED, head="SPECTRAL_NM{}", grid=GRID, full=1.0, mark="\t", more=(), counts=1):
    """Return a CGATS.17 text; `more` are fields with one cell for all sets."""
    fields = ["SAMPLE_ID", "SAMPLE_NAME", *(name for name, _ in more)]
    fields += [head.format(f"{w:g}") for w in grid]
    lines = ["CGATS.17", 'ORIGINATOR\t"kiln yard"', 'DESCRIPTOR\t"radiant bricks"  # October']
    lines += [f"NUMBER_OF_FIELDS\t{len(fields)}"] * counts
    lines += ["BEGIN_DATA_FORMAT", mark.join(fields), "END_DATA_FORMAT"]
    lines += [f"NUMBER_OF_SETS\t{len(readings)}"] * counts + ["BEGIN_DATA"]
    for id, name, level in readings:
        values = [f"{v * full:.6g}" for v in curve(level, 0.1, grid)]
        lines.append(mark.join([id, f'"{name}"', *(cell for _, cell in more), *values]))
    return "\n".join([*lines, "END_DATA", ""])


def check_named(found):
    """Check that the readings are those of NAMED."""
    assert [(r.sample, r.surface) for r in found.readings] == [
        ("k1", "over-white"), ("k1", "over-black"), ("k1", "bare-white"),
        ("1 birch-grey", "opaque"),
    ]  # fmt: skip
    assert [r.mixture for r in found.readings] == [BRICK, BRICK, BRICK, BIRCH]
    for reading, (_, _, level) in zip(found.readings, NAMED, strict=True):
        np.testing.assert_allclose(reading.reflectance[2:-3], curve(level, 0.1), rtol=1e-6)
    assert noted(found, "1 reading without a surface, taken as opaque")


@pytest.mark.parametrize("head", ["SPECTRAL_NM{}", "SPECTRAL_NM_{}", "SPECTRAL_{}", "nm{}"])
@pytest.mark.parametrize("mark", ["\t", " ", "   "])
@pytest.mark.parametrize("full", [1, 100])
def test_cgats_in_its_spellings(tmp_path, head, mark, full):
    found = read(tmp_path, cgats(head=head, mark=mark, full=full))
    check_named(found)
    assert noted(found, "taken from CGATS.17: 4 readings")
    assert noted(found, "percent") == (full == 100)


def test_cgats_names_without_quotes_between_tabs(tmp_path):
    check_named(read(tmp_path, cgats().replace('"', "")))
    message = refusal(tmp_path, cgats(mark=" ").replace(f'"k1: {BRICK}, over white"', "k1: a b"))
    assert "line 10: 35 words for 33 fields; a text with spaces stands in double quotes" in message


def test_cgats_with_decimal_commas_and_other_line_ends(tmp_path):
    text = cgats()
    head, data = text.split("BEGIN_DATA\n")
    data = "\n".join(
        "\t".join(c.replace(".", ",") if i > 1 else c for i, c in enumerate(line.split("\t")))
        for line in data.split("\n")
    )
    for end in ("\r\n", "\r"):
        check_named(read(tmp_path, (head + "BEGIN_DATA\n" + data).replace("\n", end)))


def test_cgats_sets_may_run_over_lines_or_share_one(tmp_path):
    head, data = cgats(mark=" ").split("BEGIN_DATA\n")
    data = data.replace("END_DATA\n", "").strip()
    for joined in (data.replace("\n", " "), data.replace(" 0.", "\n0.")):
        check_named(read(tmp_path, f"{head}BEGIN_DATA {joined} END_DATA\n"))


def test_cgats_wavelengths_may_fall_from_red_to_violet(tmp_path):
    def named(r):
        return (r.sample, r.surface)

    one, other = read(tmp_path, cgats()), read(tmp_path, cgats(grid=GRID[::-1]))
    for a, b in zip(one.readings, other.readings, strict=True):
        assert named(a) == named(b)
        np.testing.assert_array_equal(a.reflectance, b.reflectance)


def test_cgats_several_tables(tmp_path):
    lab = (
        'CGATS.17\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\n'
        'END_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n1 50 20 10\nEND_DATA\n'
    )  # fmt: skip
    again = 'NUMBER_OF_SETS 1\nBEGIN_DATA\n9 "k1, over black" ' + " ".join(["0.41"] * 31)
    found = read(tmp_path, lab + cgats() + again + "\nEND_DATA\n")
    assert len(found.readings) == 5
    assert found.readings[4].mixture == BRICK and found.readings[4].surface == "over-black"
    assert noted(found, "table 1: left: fields 'LAB_L', 'LAB_A', 'LAB_B'")
    assert noted(found, "'k1' over-black 2 times")


def test_cgats_takes_names_from_another_table_by_id(tmp_path):
    names = "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME XYZ_X\nEND_DATA_FORMAT\n"
    names += "BEGIN_DATA\n"
    names += "".join(f'{id} "{name}" 20\n' for id, name, _ in NAMED) + "END_DATA\n"
    spectra = "\n".join(
        line if line.count('"') != 2 or not line[0].isdigit() else
        line.split('"')[0] + line.split('"')[2].lstrip("\t")
        for line in cgats(counts=0).replace("SAMPLE_NAME\t", "").split("\n")
    )  # fmt: skip
    check_named(read(tmp_path, names + spectra))


def test_cgats_what_is_no_reflectance_is_left(tmp_path):
    more = [("LAB_L", "50"), ("XYZ_Y", "20"), ("D_VIS", "0.7")]
    found = read(tmp_path, cgats(more=more))
    check_named(found)
    assert noted(found, "left: fields 'LAB_L', 'XYZ_Y', 'D_VIS'")
    film = cgats().replace("ORIGINATOR", 'MEASUREMENT_TYPE "transmission"\nORIGINATOR')
    message = refusal(tmp_path, film)
    assert "no reflectance spectra" in message and "'transmission'" in message
    check_named(read(tmp_path, film + cgats()))


def test_cgats_pairs_of_wavelength_and_percent(tmp_path):
    for kind, full in (("SPECTRAL_PCT", 100), ("SPECTRAL_DEC", 1)):
        fields = " ".join(["SAMPLE_NAME", *[f"SPECTRAL_NM {kind}"] * len(GRID)])
        text = f"CGATS.17\nBEGIN_DATA_FORMAT\n{fields}\nEND_DATA_FORMAT\nBEGIN_DATA\n"
        for _, name, level in NAMED:
            values = curve(level, 0.1) * full
            pairs = " ".join(f"{w} {v:.6g}" for w, v in zip(GRID, values, strict=True))
            text += f'"{name}" {pairs}\n'
        found = read(tmp_path, text + "END_DATA\n")
        check_named(found)
        assert noted(found, f"scale 0..{full}, as the file says")
        message = refusal(tmp_path, text.replace(" 410 ", " red ", 1) + "END_DATA\n")
        assert "'red' is not a wavelength" in message
        message = refusal(tmp_path, text.replace(" 410 ", " 430 ", 1) + "END_DATA\n")
        assert "column 'SPECTRAL_NM 430': 430 nm is there twice" in message


def test_cgats_says_its_scale(tmp_path):
    dark = (("1", BIRCH, 0.008),)
    flat = cgats(dark, full=1).split("BEGIN_DATA\n")[0] + "BEGIN_DATA\n1 x " + "0.8 " * 31
    text = flat.replace("x 0.8", f'"{BIRCH}" 0.8') + "\nEND_DATA\n"
    assert read(tmp_path, text).readings[0].reflectance[0] == pytest.approx(0.8)
    said = text.replace("ORIGINATOR", "SPECTRAL_NORM 100.0\nORIGINATOR")
    assert read(tmp_path, said).readings[0].reflectance[0] == pytest.approx(0.008)
    assert "neither 1 nor 100" in refusal(tmp_path, said.replace("100.0", "7"))


def test_what_bears_no_mixture_is_left_and_said(tmp_path):
    found = read(tmp_path, cgats((*NAMED, ("5", "White tile", 0.9), ("6", "Oven 3", 0.2))))
    check_named(found)
    assert noted(found, "left, as nothing tells their mixture: 'White tile', 'Oven 3'")
    message = refusal(tmp_path, cgats((("5", "White tile", 0.9),)))
    assert "no reading tells its mixture" in message and "'White tile'" in message


@pytest.mark.parametrize(
    "name, sample, mixture, surface",
    [
        (f"{BRICK}, over white", "1 kiln-red + 3 lime-white", BRICK, "over-white"),
        (f"{BRICK} over-black", "1 kiln-red + 3 lime-white", BRICK, "over-black"),
        (f"{BRICK}; Bare_White", "1 kiln-red + 3 lime-white", BRICK, "bare-white"),
        (f"{BRICK} (over white)", "1 kiln-red + 3 lime-white", BRICK, "over-white"),
        (f"Pond 4: {BRICK}", "Pond 4", BRICK, "opaque"),
        (f"Pond 4:  {BRICK} , opaque", "Pond 4", BRICK, "opaque"),
        ("9,5 lime-white + 0,5 kiln-red", "0.5 kiln-red + 9.5 lime-white",
         "9,5 lime-white + 0,5 kiln-red", "opaque"),
    ],
)  # fmt: skip
def test_names_tell_mixture_and_surface(tmp_path, name, sample, mixture, surface):
    reading = read(tmp_path, cgats((("1", name, 0.4),))).readings[0]
    assert (reading.sample, reading.mixture, reading.surface) == (sample, mixture, surface)


@pytest.mark.parametrize(
    "text, words",
    [
        ("CGATS.17\n", "it has no BEGIN_DATA"),
        (cgats().replace("END_DATA\n", ""), "has no END_DATA; the file may be cut short"),
        (cgats().replace("END_DATA_FORMAT\n", ""), "BEGIN_DATA before the END_DATA_FORMAT"),
        (cgats().replace("BEGIN_DATA\n", ""), "END_DATA without its BEGIN_DATA"),
        (cgats().replace("BEGIN_DATA_FORMAT\n", ""), "END_DATA_FORMAT without its"),
        (cgats().replace("SETS\t4", "SETS\t5"), "4 sets, where NUMBER_OF_SETS says '5'"),
        (cgats().replace("FIELDS\t33", "FIELDS\t36"), "'36'; the file may be cut short"),
        (cgats().replace("FIELDS\t33", "FIELDS\t3"), "33 fields, more than the '3' of NUMBER_OF"),
        (cgats(head="R{} nm", mark=" "), "a name with a space must stand in quotation marks"),
        (cgats().replace("SETS\t4", "SETS\t3"), "4 sets, more than the '3' of NUMBER_OF_SETS"),
        ("CGATS.17\nBEGIN_DATA\n1 2\nEND_DATA\n", "before any BEGIN_DATA_FORMAT"),
        ("CGATS.17\nBEGIN_DATA_FORMAT\nEND_DATA_FORMAT\n", "line 2: no fields are named"),
        (cgats(mark=" ").replace(" 0.45", "", 1), "line 10: 32 words for 33 fields"),
        (cgats(mark=" ").replace(f'"{BIRCH}"', f'"{BIRCH}'), "line 13: a quotation mark"),
        (cgats(mark=" ").replace("0.3 ", "", 1), "line 11: 32 words for 33"),
        (cgats().replace("NM500", "NM490"), "table 1, column 'SPECTRAL_NM490': 490 nm is there"),
        (cgats().replace("NM500", "NM485"), "485 nm follows 490; wavelengths must rise"),
        (cgats().replace("SAMPLE_ID", "SAMPLE_NAME"), "the field SAMPLENAME is there twice"),
        (cgats(grid=np.arange(420, 701, 10)), "at least 400-700 nm are needed"),
        (cgats(grid=np.arange(400, 701, 30)), "nothing between 400 and 430 nm"),
        (cgats().replace("\t0.45\t", "\tkiln\t"), "line 10, column 'SPECTRAL_NM550': 'kiln'"),
        (cgats((("1", "1 a + b", 0.4),)), "line 10, name '1 a + b': term 2 ('b')"),
        (cgats().replace("SPECTRAL_NM", "LIGHT_"), "it has no reflectance spectra"),
        (cgats(more=[("SPECTRAL_NM", "400"), ("SPECTRAL_PCT", "4")]), "one way of writing"),
        ("CGATS.17\n" + "\n" * 1_000_001, "more than 100000 lines"),
        ("CGATS.17\nBEGIN_DATA_FORMAT\n" + "A " * 5001 + "END_DATA_FORMAT\n",
         "more than 5000 fields"),
    ],
)  # fmt: skip
def test_what_cgats_is_refused_for(tmp_path, text, words):
    assert words in refusal(tmp_path, text)


# --- a companion file ---------------------------------------------------------------------------

PLAIN = (("1", "k1 over white", 0.45), ("2", "k1 over black", 0.40), ("3", "tile", 0.85),
         ("4", "b1", 0.30))  # fmt: skip


def test_a_companion_tells_mixtures_by_sample(tmp_path):
    samples = f"sample,mixture\nk1,{BRICK}\nb1,{BIRCH}\nz9,1 lime-white\n"
    found = read(tmp_path, cgats(PLAIN), samples)
    assert [(r.sample, r.mixture, r.surface) for r in found.readings] == [
        ("k1", BRICK, "over-white"), ("k1", BRICK, "over-black"), ("b1", BIRCH, "opaque"),
    ]  # fmt: skip
    assert noted(found, "left, as nothing tells their mixture: 'tile'")
    assert noted(found, "no reading is named 'z9'")


def test_a_companion_tells_everything_by_id(tmp_path):
    samples = (
        f"id;sample;mixture;surface\n1;k1;{BRICK};over-white\n2;k1;{BRICK};over black\n"
        f"3;k1;;bare white\n4;b1;{BIRCH};\n"
    )
    found = read(tmp_path, cgats(PLAIN), samples)
    assert [(r.sample, r.surface) for r in found.readings] == [
        ("k1", "over-white"), ("k1", "over-black"), ("k1", "bare-white"), ("b1", "opaque"),
    ]  # fmt: skip


def test_a_companion_serves_our_csv_too(tmp_path):
    cells = [[row[0], *row[2:]] for row in rows_of(*YARD)]
    found = read(tmp_path, cells, f"sample,mixture\nk1,{BRICK}\nb1,{BIRCH}\n")
    assert [r.mixture for r in found.readings] == [y[1] for y in YARD]
    assert [r.surface for r in found.readings] == [y[2] for y in YARD]


@pytest.mark.parametrize(
    "samples, words",
    [
        ("", "samples.csv: the file is empty"),
        ("sample\nk1\n", "the column mixture is missing"),
        ("sample,mixture\n", "it has a header but no samples"),
        (f"sample,mixture\nk1,{BRICK}\nk1,{BIRCH}\n", "row 3: 'k1' is there twice"),
        ("sample,mixture\nk1,red\n", "row 2, column mixture: term 1 ('red')"),
        ("sample,mixture\nk1,\n", "row 2, column mixture: an empty mix"),
        ("sample,mixture,surface\nk1,1 a,under\n", "row 2, column surface: 'under' is not"),
        ("sample,mixture\n,1 a\n", "row 2, column sample: it is empty"),
        ("sample,mixture\nk9,1 a\n", "no reading tells its mixture"),
        ("sample,mixture\nk9,1 a,x,y\n", "row 2: 4 cells under 2 columns"),
    ],
)
def test_what_a_companion_is_refused_for(tmp_path, samples, words):
    assert words in refusal(tmp_path, cgats(PLAIN), samples)


def test_a_companion_that_is_not_there(tmp_path):
    (tmp_path / "yard.txt").write_text(cgats(PLAIN))
    with pytest.raises(ReadingError, match=r"none\.csv: cannot be read"):
        read_readings(tmp_path / "yard.txt", tmp_path / "none.csv")


# --- CxF3 ---------------------------------------------------------------------------------------

CORE = "http://colorexchangeformat.com/CxF3-core"


def spectrum(level, full=1.0, specification="s1", start='StartWL="400" ', kind="Reflectance"):
    values = " ".join(f"{v * full:.6g}" for v in curve(level, 0.1))
    return f'<{kind}Spectrum {start}ColorSpecification="{specification}">{values}</{kind}Spectrum>'


def specification(id="s1", kind="Spectrum_Reflectance", span=True):
    range_ = '<WavelengthRange StartWL="400" Increment="10"/>' if span else ""
    return (
        f'<ColorSpecification Id="{id}"><MeasurementSpec><MeasurementType>{kind}</MeasurementType>'
        "<GeometryChoice><SphereGeometry>Specular_Included</SphereGeometry></GeometryChoice>"
        f"{range_}</MeasurementSpec></ColorSpecification>"
    )


def cxf(objects=None, specifications=None, before="", **kind):
    """Return a CxF3 document of (name, id, the elements in ColorValues, others) objects."""
    if objects is None:
        objects = [(name, id, spectrum(level, **kind), "") for id, name, level in NAMED]
    items = "".join(
        f'<Object ObjectType="Standard" Name="{name}" Id="{id}">'
        "<CreationDate>2026-10-09T10:00:00+02:00</CreationDate>"
        f"<ColorValues>{values}</ColorValues>{others}</Object>"
        for name, id, values, others in objects
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{before}<CxF xmlns="{CORE}">'
        "<FileInformation><Creator>kiln yard</Creator></FileInformation><Resources>"
        f"<ObjectCollection>{items}</ObjectCollection><ColorSpecificationCollection>"
        f"{specifications or specification()}</ColorSpecificationCollection></Resources></CxF>"
    )


@pytest.fixture
def cxf_extra():
    for package in ("colour_cxf", "defusedxml", "xsdata"):
        pytest.importorskip(package, reason="the extra mixlab[cxf] is not installed")


needs_cxf = pytest.mark.usefixtures("cxf_extra")


@needs_cxf
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_cxf_is_read_whole(tmp_path, encoding):
    document = cxf().replace("UTF-8", encoding.replace("-sig", ""))
    found = read(tmp_path, document.encode(encoding))
    check_named(found)
    assert noted(found, "taken from CxF3: 4 readings")
    assert noted(found, "geometry: specular included")


@needs_cxf
def test_cxf_wavelengths_from_the_specification_and_percent(tmp_path):
    check_named(read(tmp_path, cxf(start="")))
    found = read(tmp_path, cxf(full=100))
    check_named(found)
    assert noted(found, "taken as percent")


@needs_cxf
def test_cxf_points_with_their_own_wavelengths(tmp_path):
    points = "".join(
        f'<SpectralPoint WL="{w}">{v}</SpectralPoint>'
        for w, v in zip(GRID, curve(0.3, 0.1), strict=True)
    )
    custom = f'<CustomSpectrum ColorSpecification="s1">{points}</CustomSpectrum>'
    found = read(tmp_path, cxf([(BIRCH, "1", custom, "")]))
    np.testing.assert_allclose(found.readings[0].reflectance[2:-3], curve(0.3, 0.1))
    message = refusal(tmp_path, cxf([(BIRCH, "1", custom.replace(' WL="410"', ""), "")]))
    assert "without a wavelength WL" in message


@needs_cxf
def test_cxf_tags_say_what_the_name_does_not(tmp_path):
    def tags(**words):
        inside = "".join(f'<Tag Name="{k}" Value="{v}"/>' for k, v in words.items())
        return f'<TagCollection Name="panel">{inside}</TagCollection>'

    found = read(tmp_path, cxf([
        ("Panel 1", "1", spectrum(0.4), tags(Mixture=BRICK, Surface="over white", Sample="k1")),
        (f"k1: {BRICK}", "2", spectrum(0.35), tags(Surface="over-black")),
    ]))  # fmt: skip
    assert [(r.sample, r.mixture, r.surface) for r in found.readings] == [
        ("k1", BRICK, "over-white"), ("k1", BRICK, "over-black"),
    ]  # fmt: skip


@needs_cxf
def test_cxf_leaves_what_is_no_reflectance(tmp_path):
    lab = '<ColorCIELab ColorSpecification="s1"><L>50</L><A>1</A><B>2</B></ColorCIELab>'
    two = specification() + specification("s2") + specification("t1", "Spectrum_Transmittance")
    objects = [
        (BIRCH, "1", lab + spectrum(0.3) + spectrum(0.31, specification="s2"), ""),
        (BRICK, "2", spectrum(0.4), ""),
        (BRICK, "3", spectrum(0.5, specification="t1"), ""),
        (BRICK, "4", spectrum(0.5, kind="Transmittance"), ""),
    ]
    found = read(tmp_path, cxf(objects, two))
    assert [r.mixture for r in found.readings] == [BIRCH, BRICK]
    assert found.readings[0].reflectance[17] == pytest.approx(0.3)
    assert noted(found, "1 ColorCielab") and noted(found, "1 TransmittanceSpectrum")
    assert noted(found, "spectra of the same objects under other specifications: 1")


@needs_cxf
def test_cxf_with_elements_of_a_makers_own(tmp_path):
    odd = cxf().replace("</FileInformation>", "<Moss><Fern a='1'/></Moss></FileInformation>")
    check_named(read(tmp_path, odd.replace("2026-10-09T10:00:00+02:00", "an October morning")))


BOMB = '<!DOCTYPE CxF [<!ENTITY a "brick"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
OUTSIDE = '<!DOCTYPE CxF [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


@needs_cxf
@pytest.mark.parametrize(
    "document, words",
    [
        (cxf(before=BOMB).replace("kiln yard", "&b;"), "document type or entities"),
        (cxf(before=OUTSIDE).replace("kiln yard", "&a;"), "document type or entities"),
        (cxf(before='<!DOCTYPE CxF SYSTEM "yard.dtd">'), "document type or entities"),
        (cxf().replace("kiln yard", "<x>" * 70 + "</x>" * 70), "more than 64 deep"),
        (cxf().replace("kiln yard", "&pond;"), "not well-formed XML"),
        (cxf()[:-20], "not well-formed XML"),
        (cxf() + "<more/>", "not well-formed XML"),
        (cxf().replace("UTF-8", "UTF-7"), "not well-formed XML"),
        (cxf().replace("UTF-8", "moss"), "not well-formed XML"),
        ("<html><body/></html>", "XML, but not CxF3: its root is 'html'"),
        (cxf().replace("CxF3-core", "CxF2"), "XML, but not CxF3"),
        (f'<CxF xmlns="{CORE}"/>', "it has no reflectance spectra"),
        (cxf(kind="Transmittance"), "no reflectance spectra (only 4 TransmittanceSpectrum)"),
        (cxf(specifications=specification(span=False)), "no WavelengthRange with StartWL and"),
        (cxf(specifications=specification("s7")), "in its specification 's1'"),
        (cxf().replace('Increment="10"', 'Increment="30"'), "nothing between 400 and 430 nm"),
        (cxf().replace('Increment="10"', 'Increment="0"'), "no WavelengthRange"),
        (cxf().replace(">0.35 ", ">red "), "column '400 nm': 'red' is not a number"),
        (cxf([(BIRCH, "1", spectrum(-0.4), "")]), "object '1 birch-grey', column '400 nm': -0.5"),
        (cxf([(BIRCH, "1", spectrum(0.4).split(">")[0] + "/>", "")]), "it has no reflectance"),
        (cxf([("1 a + b", "1", spectrum(0.4), "")]), "object '1 a + b', name '1 a + b': term 2"),
    ],
)
def test_what_cxf_is_refused_for(tmp_path, document, words):
    assert words in refusal(tmp_path, document)


@needs_cxf
def test_cxf_with_too_many_elements(tmp_path, monkeypatch):
    monkeypatch.setattr("mixlab.limits.ELEMENTS", 20)
    assert "more than 20 elements" in refusal(tmp_path, cxf())


@needs_cxf
def test_no_unsafe_document_reaches_the_parser(tmp_path, monkeypatch):
    from xsdata.formats.dataclass.parsers import XmlParser

    def seen(*_):
        raise AssertionError("the parser saw it")

    monkeypatch.setattr(XmlParser, "from_bytes", seen)
    refusal(tmp_path, cxf(before=BOMB).replace("kiln yard", "&b;"))
    with pytest.raises(AssertionError):
        read(tmp_path, cxf())


@pytest.mark.parametrize("package", ["defusedxml.ElementTree", "colour_cxf.cxf3"])
def test_without_the_extra_one_line_says_what_to_install(tmp_path, monkeypatch, package):
    monkeypatch.setitem(sys.modules, package, None)
    assert "pip install 'mixlab[cxf]'" in refusal(tmp_path, cxf())


# --- whatever comes -----------------------------------------------------------------------------

ids = st.from_regex(r"[a-z0-9]{1,6}(-[a-z0-9]{1,6}){0,2}", fullmatch=True)
mixes = st.dictionaries(ids, st.integers(1, 99_999).map(lambda n: n / 100), min_size=1, max_size=4)
samples_ = st.text(st.characters(codec="latin-1", categories=("L", "N")), min_size=1, max_size=8)
levels = st.integers(0, 2**32 - 1).map(
    lambda seed: np.random.default_rng(seed).integers(1, 10_000, 31) / 10_000
)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    readings=st.lists(
        st.tuples(samples_, mixes, st.sampled_from(SURFACES), levels),
        min_size=1, max_size=4, unique_by=lambda r: r[0],
    ),
    form=st.sampled_from(["own", "cgats", "percent", "comma"]),
)  # fmt: skip
def test_what_is_written_is_read(tmp_path, readings, form):
    cells, text = [["sample", "mixture", "surface", *map(str, GRID)]], ""
    for sample, parts, surface, values in readings:
        mixture = " + ".join(f"{n:g} {paint}" for paint, n in parts.items())
        figures = [f"{v:.4f}" for v in values]
        if form == "percent":
            figures = [f"{100 * v:.2f}%" for v in values]
        cells.append([sample, mixture, surface, *figures])
        text += f'"{sample}: {mixture}, {surface}"\t' + "\t".join(figures) + "\n"
    if form == "cgats":
        heads = "\t".join(["SAMPLE_NAME", *(f"SPECTRAL_NM{w}" for w in GRID)])
        text = (f"CGATS.17\nBEGIN_DATA_FORMAT\n{heads}\nEND_DATA_FORMAT\nBEGIN_DATA\n{text}"
                "END_DATA\n")  # fmt: skip
    elif form == "comma":
        text = text_of([[c.replace(".", ",") for c in row] for row in cells], ";")
    else:
        text = text_of(cells)
    found = read(tmp_path, text).readings
    assert len(found) == len(readings)
    for got, (sample, parts, surface, values) in zip(found, readings, strict=True):
        assert (got.sample, got.surface) == (sample, surface)
        assert got.parts == {paint: float(f"{n:g}") for paint, n in parts.items()}
        np.testing.assert_allclose(got.reflectance[2:-3], values, atol=1e-12)


WHOLE = [text_of(rows_of(*YARD)), cgats(), cgats(mark=" "), cxf(), text_of(rows_of(*YARD), ";")]
SCRAPS = st.sampled_from(
    [b'"', b",", b";", b"\t", b"\n", b"\r", b"#", b"<", b">", b"&", b"\0", b"\xff\xfe", b"%", b"-",
     b"END_DATA", b"BEGIN_DATA", b"BEGIN_DATA_FORMAT", b"nan", b"1e999", b" + ", b"\xe2\x80\xa8",
     b"over white", b"<!DOCTYPE a>", b"400", b":", b"</Object>", b"\xc2\x85", b"Spectrum", b"''"]
) | st.binary(max_size=4)  # fmt: skip


@settings(max_examples=250, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    whole=st.sampled_from(WHOLE),
    cuts=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 40), SCRAPS), min_size=1, max_size=5),
)
@example(WHOLE[0], [(0.0, 0, b"\xef\xbb\xbf<")])
def test_a_damaged_file_is_read_or_refused_with_one_line(tmp_path, whole, cuts):
    content = whole.encode()
    for place, length, scrap in cuts:
        at = int(place * len(content))
        content = content[:at] + scrap + content[at + length :]
    path = tmp_path / "yard.txt"
    path.write_bytes(content)
    try:
        found = read_readings(path)
    except ReadingError as error:
        message = str(error)
        assert len(message.splitlines()) == 1 and "yard.txt" in message and message.isprintable()
        return
    assert found.readings
    for reading in found.readings:
        assert reading.surface in SURFACES and reading.parts and reading.sample
        assert reading.reflectance.shape == WAVELENGTHS.shape
        assert (reading.reflectance >= 0).all() and (reading.reflectance <= 1.5).all()
    assert all(note.isprintable() for note in found.notes)


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300) | st.text(max_size=300).map(str.encode))
def test_any_bytes_are_refused_with_one_line(tmp_path, content):
    assert refusal(tmp_path, content)
