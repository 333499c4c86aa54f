"""A sheet, printed, painted and photographed, tells what was put into it."""

import json
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text
from PIL import Image

import mixlab
from mixlab.colour.difference import ciede2000
from mixlab.colour.words import beside
from mixlab.lesson import layout
from mixlab.lesson.marks import find_sheet
from mixlab.lesson.reading import read_sheet
from mixlab.lesson.scoring import score
from mixlab.lesson.sheet import lesson_sheet, numbered, sheet_of
from mixlab.mixing.value_chroma import report
from mixlab.show.cli.lesson import SHEET
from mixlab.show.lesson_words import came_out, guesses, next_time
from mixlab.show.plots import lesson_sheet as drawing
from mixlab.show.plots import pages
from mixlab.show.plots.forms import PRINT, SCREEN
from mixlab.show.plots.lesson_score import class_chart, student_page
from mixlab.show.report import Report
from mixlab.targets.photo_files import read_photo
from tests.lesson import photographs as making
from tests.measure.card import own_tube

SATIN = mixlab.viewing(finish="satin")
SIZE = (1200, 1600)
SLIP = (4, 0, 2)  # square 5, of the blue, two parts too many
TICKED = (1, 5, 0)


@pytest.fixture(scope="module")
def sheet(table):
    return lesson_sheet(table.mix("PB29", SATIN), table.mix("PW6", SATIN))


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("lesson")


@pytest.fixture(scope="module")
def painted(table, sheet, folder):
    """The page as the command draws and describes it, painted with a stronger tube."""
    page = folder / "sheet.png"
    pages.save([drawing.lesson_sheet(sheet)], page)
    told = Report(SHEET, sheet, lambda page, made: None, SATIN).data()
    boxes = [square["box"] for square in told["squares"]]
    ticked = [guess["boxes"][i]["box"]
              for guess, i in zip(told["guesses"], TICKED, strict=True)]  # fmt: skip
    tube, white = own_tube(table["PB29"], "ultramarine-blue", 1.3, 2.0, 0.1), table["PW6"]
    parts = [[square["parts_of_mix"], square["parts_added"]] for square in told["squares"]]
    parts[SLIP[0]][SLIP[1]] += SLIP[2]
    mixtures = [
        mixlab.Mixture(*zip(*[(p, n) for p, n in zip((tube, white), both, strict=True) if n],
                            strict=True)) for both in parts
    ]  # fmt: skip
    truth = np.array([making.true_lab(mixture, 0.6) for mixture in mixtures])
    grey = making.grey_page(page)
    return making.painted_page(grey, boxes, mixtures, 0.6, ticked), truth


SCENE = making.Scene(tilt=24, toward=200, turn=8, size=SIZE, orientation=6, slope=0.25)


@pytest.fixture(scope="module")
def photo(painted, folder):
    file = folder / "lena.jpg"
    making.photograph(painted[0], SCENE, file)
    return file


@pytest.fixture(scope="module")
def read(photo, table):
    return read_sheet(photo, table, SATIN)


def test_every_square_is_found_and_its_colour_read(read, painted, sheet):
    assert (read.sheet.code, read.sheet.parts) == (sheet.code, sheet.parts)
    assert all(square.lab is not None and not square.note for square in read.squares)
    errors = ciede2000(painted[1], np.array([square.lab for square in read.squares]))
    assert errors.mean() < 1.5 and errors.max() < 3
    assert 1.05 < read.light < 1.6


def test_ticked_boxes_are_read_and_judged(read, sheet):
    assert read.ticked == TICKED
    scored = score(read)
    chroma = np.hypot(*sheet.lab[:, 1:].T)
    assert scored.guessed == [chroma[1] > chroma.max() - 1, abs(sheet.munsell[3, 1] - 6) <= 0.75,
                              scored.guessed[2]]  # fmt: skip
    turn = (sheet.munsell[-2, 0] - sheet.munsell[0, 0] + 50) % 100 - 50
    assert scored.guessed[2] == (turn < -2.5)  # toward blue, from purple blue


def test_the_slip_is_named(read, sheet):
    found = score(read).mismeasured
    assert (found.square, found.pile, found.parts) == (5, "ultramarine-blue", 2)
    assert str(found).startswith("square 5: 2 parts of ultramarine-blue too many")


def test_without_a_slip_none_is_named(read, painted):
    a, b = read.sheet.parts[SLIP[0]]
    parts = list(read.sheet.parts)
    parts[SLIP[0]] = a + SLIP[2], b
    as_painted = replace(read, sheet=replace(read.sheet, parts=tuple(parts)))
    assert score(as_painted).mismeasured is None


def test_it_says_what_came_out_and_what_to_do_better(read, painted, sheet):
    scored = score(read)
    hits = sum(miss <= 2 for miss in scored.misses)
    assert came_out(scored)[0].startswith(
        f"{hits} of 7 squares came out as predicted. Most are darker than predicted. Farthest off "
        "is square 5: darker, higher in chroma")  # fmt: skip
    assert guesses(scored)[0].startswith(sheet.guesses[0].question + " You said 2: right; you")
    slip, strength = next_time(scored)
    assert "Mix it again, 1 ultramarine-blue to 4 titanium-white" in slip
    assert 1.2 < scored.strength < 1.5  # 1.3 was put in
    assert f"about {scored.strength:.2g} times as strong" in strength
    assert next_time(replace(scored, strength=1.1)) == [slip]
    hit = replace(scored, mismeasured=None)
    hit.__dict__["misses"] = [1.0] * 7
    (said,) = next_time(hit)
    assert said.startswith("The squares agree with one another")
    assert scored.misses[4] == max(scored.misses) > 4
    assert scored.words[4][0] == "darker" and "darker" in scored.came_out  # a stronger tube
    assert beside(np.array([50.0, 0, -30]), np.array([50.0, 10, -30]))[0] == "greener"
    assert beside(np.array([50.0, 20, 20]), np.array([50.0, 20, 20])) == ()
    assert beside(np.array([50.0, 30, 0]), np.array([50.0, 20, 0])) == ("higher in chroma",)
    assert beside(np.array([50.0, 20, 0]), np.array([50.0, 30, 0])) == ("lower in chroma",)


def test_the_flat_sheet_is_upright(read, photo):
    """Marks stand where they were printed, to a third of a millimetre."""
    flat = find_sheet(read.flat)
    matrix = flat.matrix / flat.matrix[2, 2]
    corners = np.array([[x, y, 1] for x in (0, layout.WIDE) for y in (0, layout.HIGH)])
    there = corners @ matrix.T
    off = there[:, :2] / there[:, 2:] + 0.5 - 8 * corners[:, :2]
    assert np.abs(off).max() < 8 / 3
    assert read_photo(photo).width == SIZE[0]  # as a viewer shows it


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"away": (0.12, 0.0)}, "right corner mark is not seen"),
        ({"blur": 9.0}, "blurred|cannot be read|not seen"),
        ({"near": 0.3}, "small in the picture|cannot be read|not seen|no sheet"),
        ({"slope": 0.75}, "light is uneven|even light"),
        ({"exposure": 1.5}, "clipped"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_line(painted, table, folder, change, says):
    file = folder / "bad.jpg"
    making.photograph(painted[0], replace(SCENE, size=(900, 1200), orientation=1, **change), file)
    with pytest.raises(mixlab.MixlabError, match=says) as told:
        read_sheet(file, table, SATIN)
    assert "\n" not in str(told.value) and file.name in str(told.value)


def test_a_picture_without_a_sheet_is_refused(table, folder):
    noise = np.random.default_rng(0).integers(0, 255, (300, 400, 3)).astype(np.uint8)
    Image.fromarray(noise).save(folder / "cat.png")
    with pytest.raises(mixlab.MixlabError, match="no sheet is found"):
        read_sheet(folder / "cat.png", table, SATIN)


def test_glare_and_shadow_are_told(painted, table, folder):
    file = folder / "shine.jpg"
    left, top, _, bottom = layout.square(1)
    scene = replace(SCENE, glare=(left + 3, top + 3, left + 13, bottom - 3),
                    shadow=(140, 150, 215, 210))  # fmt: skip
    making.photograph(painted[0], scene, file)
    read = read_sheet(file, table, SATIN)
    assert "glare" in read.squares[1].note and read.squares[1].lab is not None
    assert ciede2000(painted[1][1], read.squares[1].lab) < 3
    assert [i for i, square in enumerate(read.squares) if not square.note] == [0, 2, 3, 4, 5, 6]


def test_measured_greys_take_the_contrast_out(painted, table, folder):
    """A telephone's steeper tones, from which unknown greys cannot save the reading."""
    file = folder / "steep.jpg"
    scene = replace(SCENE, size=(900, 1200), orientation=1, contrast=1.15)
    making.photograph(painted[0], scene, file)
    greys = making.print_of(making.decode_srgb(np.array(layout.GREYS)))
    errors = []
    for known in ((), tuple(greys)):
        read = read_sheet(file, table, SATIN, paper=0.86, neutrals=known)
        errors.append(ciede2000(painted[1], np.array([s.lab for s in read.squares])).mean())
    assert errors[1] < 1.5 < errors[0]


def test_a_code_is_the_sheet(table, sheet):
    (one, two) = numbered(sheet, 2)
    again = sheet_of(two.code, table, SATIN)
    assert (again.number, again.parts, again.code) == (2, sheet.parts, two.code)
    assert np.allclose(again.lab, sheet.lab) and one.code != sheet.code
    pile = lesson_sheet(table.mix("3 burnt-sienna + 1 PB29", SATIN), table.mix("PW6", SATIN), 5)
    assert sheet_of(pile.code, table, SATIN).names == ("pile A", "titanium-white")
    for bad in ("", "PB29", sheet.code.replace("1:0", "0:0"), sheet.code + "|x", "a|b|c|d|e",
                sheet.code.replace("ultramarine-blue", "nothing")):  # fmt: skip
        with pytest.raises(mixlab.MixlabError):
            sheet_of(bad, table, SATIN)


def test_a_sheet_that_cannot_be_is_refused(table):
    blue, white = table.mix("PB29", SATIN), table.mix("PW6", SATIN)
    for given, says in (
        ((blue, white, 2), "from 3 to 12"),
        ((blue, white, 12, "value", 3), "--parts"),
        ((blue, blue), "no steps"),
    ):
        with pytest.raises(mixlab.MixlabError, match=says):
            lesson_sheet(*given)


def test_the_class_is_scored(run, photo, folder, table):
    (folder / "dog.png").write_bytes((folder / "sheet.png").read_bytes()[:5000])
    leaves, chart, rows = folder / "pages.pdf", folder / "chart.png", folder / "rows.csv"
    ran = run("lesson", "score", photo, folder / "dog.png", "--pages", leaves, "--plot",
              chart, "--csv", rows, "--json")  # fmt: skip
    assert (ran.status, ran.err) == (0, "")
    told = json.loads(ran.out)
    assert 1.2 < told["sheets"][0]["times_as_strong"] < 1.5
    assert len(told["sheets"]) == 1 and "dog.png" in told["not_read"][0]["file"]
    assert told["sheets"][0]["mismeasured"]["parts_too_many"] == 2
    assert leaves.read_bytes().startswith(b"%PDF") and rows.read_text().count("\n") == 8
    with Image.open(chart) as image:
        assert image.width > image.height > 2000


def test_no_words_of_a_student_page_lie_upon_one_another(read):
    """Every square off in two words, as much as is written."""
    scored = score(read)
    scored.__dict__["words"] = [("darker", "higher in chroma", "redder")] * 7
    made = student_page(scored)
    canvas = FigureCanvasAgg(made)
    canvas.draw()
    renderer = canvas.get_renderer()
    page, plot = made.axes
    words = [*page.texts, *plot.texts, plot.title, plot.xaxis.label, plot.yaxis.label,
             *plot.get_xticklabels(), *plot.get_yticklabels()]  # fmt: skip
    boxes = [text.get_window_extent(renderer) for text in words]
    wide, high = made.get_size_inches() * made.dpi
    assert all(b.x0 > 0 and b.x1 < wide and b.y0 > 0 and b.y1 < high for b in boxes)
    assert len(boxes) > 30 and not any(a.overlaps(b) for a, b in combinations(boxes, 2))


def test_a_chart_for_the_back_row(read):
    """One idea, in letters that are read at 8 m."""
    made = class_chart([score(read)] * 3, form=SCREEN)
    sizes = [text.get_fontsize() for text in made.findobj(Text) if text.get_text()]
    assert min(sizes) >= 0.8 * SCREEN.least and np.allclose(made.get_size_inches(), SCREEN.size)


def test_a_chart_says_when_it_leaves_sheets_out(read):
    for form, most in ((PRINT, 24), (SCREEN, 12)):
        made = class_chart([score(read)] * (most + 1), form=form)
        words = " ".join(text.get_text() for text in made.axes[0].texts)
        assert f"the first {most} of {most + 1} sheets" in words



def test_a_painted_tube_is_kept(run, photo, folder, table):
    mine = folder / "mine.csv"
    ran = run("lesson", "score", photo, "--keep", mine, "--id", "class-blue")
    bad = run("lesson", "score", photo, "--keep", folder / "no.csv", "--id", "My Blue")
    assert bad.status == 2 and "as my-blue" in bad.err and not (folder / "no.csv").exists()
    assert ran.status == 0 and "Likely mismeasured, square 5" in ran.out
    tube = mixlab.read_table(mine)["class-blue"]
    white = table["titanium-white"]
    view = mixlab.viewing(finish="matt")
    true = own_tube(table["PB29"], "ultramarine-blue", 1.3, 2.0, 0.1)
    for n in (1, 4, 16):
        kept, was, bundled = (
            mixlab.Mixture((one, white), (1.0, float(n)), view).lab
            for one in (tube, true, table["PB29"])
        )
        assert ciede2000(kept, was) < 0.6 * ciede2000(bundled, was)


@pytest.mark.parametrize(
    "words",
    [
        ["lesson", "sheet", "PB29", "--out", "sheet.doc"],
        ["lesson", "sheet", "PB29", "--copies", "3", "--out", "sheet.png"],
        ["lesson", "sheet", "PB29", "--copies", "0"],
        ["lesson", "score", "nowhere.jpg"],
        ["lesson", "score", "nowhere.jpg", "--neutrals", "dark"],
        ["lesson", "score", "nowhere.jpg", "--paper", "8"],
        ["lesson", "score", "a.jpg", "b.jpg", "--keep", "mine.csv"],
        ["lesson", "score", "a.jpg", "b.jpg", "--pages", "two.png"],
    ],
)
def test_a_mistake_is_one_line(run, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    ran = run(*words)
    assert ran.status == 2 and ran.err.count("\n") == 1 and not list(tmp_path.iterdir())


def test_what_the_finish_does_to_the_first_lesson(table):
    """The figures of the README."""
    told = []
    for finish in ("gloss", "satin", "matt"):
        view = mixlab.viewing(finish=finish)
        found = report(table.mix("PB29", view), table.mix("PW6", view))
        told.append((round(found.start.chroma), float(f"{100 * found.peak.share:.2g}")))
    assert told == [(63, 3.6), (47, 6.0), (38, 8.0)]
