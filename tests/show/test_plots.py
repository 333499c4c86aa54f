"""Every picture in its two forms: sizes, letters, what is told apart in grey, strange names."""

import re
import subprocess
import sys
from inspect import signature
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

import mixlab
from mixlab.errors import PlotError
from mixlab.mixing.constancy import constancy
from mixlab.mixing.distance import seen_from
from mixlab.mixing.ladders import Path, ladder
from mixlab.mixing.planes import planes
from mixlab.mixing.value_chroma import report
from mixlab.picture.passages import passages
from mixlab.show.cli import app
from mixlab.show.plots import constancy as lights
from mixlab.show.plots import distance, ladders, layers, sheet, style
from mixlab.show.plots.forms import FORMS, PRINT, SCREEN, form_named
from mixlab.show.plots.listing import Row, listing
from mixlab.show.plots.spectra import spectrum
from mixlab.show.plots.text import CAPITAL, clean, families_for, folded, unknown, width
from mixlab.targets.one import from_munsell
from mixlab.targets.places import Place

TABLE = mixlab.read_table()
VIEW = mixlab.viewing()
BLUE, WHITE, SIENNA = TABLE.mix("1 PB29"), TABLE.mix("1 PW6"), TABLE.mix("1 burnt-sienna")
POND = mixlab.read_palette("mill-pond")
SVG = "{http://www.w3.org/2000/svg}"
BOTH = pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)


def _far():
    view, horizon = VIEW, from_munsell("5PB 8/2", VIEW).lab
    labs = seen_from(SIENNA.lab, horizon, np.array([0.0, 0.5, 1.0]), view)
    few = TABLE.palette(["titanium-white", "ultramarine-blue", "burnt-sienna"], "few")
    found = planes(SIENNA, horizon, few, [0.0, 0.5, 1.0])
    return found, horizon, labs


def _passages():
    named = (("kiln brick in shadow", "2.5YR 3/4"), ("sky near the horizon", "5PB 8/2"))
    places = [Place(name, from_munsell(text, VIEW)) for name, text in named]
    return passages(places, POND, max_tubes=3)


@pytest.fixture(scope="module")
def drawings():
    """Return a drawing by its name; each takes a form."""
    tints, told = ladder(BLUE, WHITE, 6), report(BLUE, WHITE)
    blend, neutral = ladder(SIENNA, BLUE, 6, even="difference"), report(SIENNA, BLUE)
    lanes = [ladders.Lane(name, Path(TABLE.mix(f"1 {name}"), WHITE),
                          ladder(TABLE.mix(f"1 {name}"), WHITE, 6).lab)
             for name in ("PB29", "PB28", "PB15:3")]  # fmt: skip
    seen = [mixlab.viewing("A"), mixlab.viewing("D50")]
    mixes = [TABLE.mix(f"2 {name} + 1 PW6") for name in ("PB29", "PB28", "PG18")]
    under = constancy(mixes, seen, VIEW)
    far, horizon, labs = _far()
    wanted = _passages()
    films = mixlab.layer(TABLE.mix("4 PW6 + 1 PY43"), over=[25, 5, 8], coats=[0.01, 0.1, 0.5, 2])
    return {
        "tints": lambda form: ladders.ladder(tints, told, "1 PB29 toward white", form=form),
        "blend": lambda form: ladders.ladder(blend, neutral, "To blue", across=True, form=form),
        "curves": lambda form: ladders.curves(tints, "Curves", form=form),
        "munsell": lambda form: ladders.munsell_page(blend, "On its page", form=form),
        "several": lambda form: ladders.together(lanes, "Toward white", form=form),
        "lights": lambda form: lights.under_lights(under, ["lamp", "noon"], form=form),
        "planes": lambda form: distance.planes(far, horizon, VIEW, "Far", form=form),
        "path": lambda form: distance.path(labs[:2], labs[2], VIEW, ["the pile", "+ 1 PW6"],
                                           "Lighten", form=form),
        "films": lambda form: layers.films(films, VIEW, "Over brown", WHITE, form=form),
        "wanted": lambda form: layers.films(films, VIEW, "Over", None,
                                            [("wanted", labs[0]), ("layer", labs[1])], form=form),
        "passages": lambda form: sheet.sheet(wanted, None, "few", form=form),
    }  # fmt: skip


NAMES = ("tints", "blend", "curves", "munsell", "several", "lights", "planes", "path", "films",
         "wanted", "passages")  # fmt: skip


def texts(path):
    """Return the text of an SVG, each with its size and its colour."""
    root = ElementTree.parse(path).getroot()
    found = []
    for one in root.iter(f"{SVG}text"):
        look = one.get("style") or ""
        size = re.search(r"(?:font:|font-size:)[^;]*?([\d.]+)px", look)
        fill = re.search(r"fill: (#\w+)", look)
        found.append(("".join(one.itertext()), float(size[1]), fill[1] if fill else "#000000"))
    return root, found


def luminance(hex):
    return float(mixlab.colour.spaces.rgb_to_xyz(mixlab.colour.spaces.decode_srgb(
        np.array(list(bytes.fromhex(hex[1:]))) / 255))[1]) / 100  # fmt: skip


# --- the two forms --------------------------------------------------------------------------------


@BOTH
def test_letters_rest_on_the_distance_from_which_they_are_read(form):
    """A capital of the smallest letters is a 200th of the distance, in the size that is shown."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    letter = TextPath((0, 0), "H", prop=FontProperties(family="DejaVu Sans", size=100))
    assert letter.get_extents().height / 100 == pytest.approx(CAPITAL, abs=0.002)
    metres = form.least * CAPITAL / 72 / form.size[1] * form.shown
    assert metres == pytest.approx(form.distance / 200)
    assert form.letters / 1.2 >= form.least  # the smallest that is used
    assert form.wide.least == pytest.approx(form.least)


def test_the_forms_are_16_9_and_a4():
    assert SCREEN.size[0] / SCREEN.size[1] == pytest.approx(16 / 9, abs=1e-3)
    assert np.round(np.multiply(SCREEN.size, SCREEN.dots)).tolist() == [1920, 1080]
    np.testing.assert_allclose(np.multiply(PRINT.size, 25.4), (210, 297), atol=0.2)
    assert form_named(None) is PRINT
    with pytest.raises(PlotError, match="a picture is for print or screen"):
        form_named("wall")


@pytest.mark.parametrize("name", NAMES)
@BOTH
def test_a_picture_has_its_form_real_text_and_letters_that_are_read(
    drawings, name, form, tmp_path
):
    made = drawings[name](form)
    style.save(made, tmp_path / "a.svg", VIEW)
    root, found = texts(tmp_path / "a.svg")
    sides = [float(root.get(side)[:-2]) / 72 for side in ("width", "height")]
    assert sorted(sides) == pytest.approx(sorted(form.size), abs=0.01)
    assert sides[0] > sides[1] or not form.on_screen
    assert any("2 degree observer" in text for text, _, _ in found)
    small = [(text, size) for text, size, _ in found if size < 0.99 * form.least and text.strip()]
    assert small == []
    for text, _, fill in found:  # on white; in a patch it is black or white
        assert fill in ("#ffffff", "#000000") or 1.05 / (luminance(fill) + 0.05) >= 4.5, text
    made.draw_without_rendering()
    whole = made.bbox.padded(1)
    every = [text for axes in made.axes if axes.axison or axes.texts
             for text in (*axes.texts, axes.xaxis.label, axes.yaxis.label)]  # fmt: skip
    for text in (*every, made._suptitle, made._supxlabel):
        if text is not None and text.get_text().strip() and text.get_visible():
            box = text.get_window_extent()
            assert box.x0 >= whole.x0 and box.x1 <= whole.x1, text.get_text()
            assert box.y0 >= whole.y0 and box.y1 <= whole.y1, text.get_text()


def test_every_command_that_draws_offers_both_forms(run, tmp_path):
    drawing = []
    for one in app.registered_commands:
        options = signature(one.callback).parameters
        assert ("plot" in options) == ("form" in options), one.name
        drawing += [one.name] if "plot" in options else []
    assert {"tints", "recipe", "plan", "photo", "reach", "fewest", "lights", "layer", "distance",
            "adjust", "blend", "shades", "tones"} <= set(drawing)  # fmt: skip
    ran = run("tints", "--help")
    assert "--for" in ran.out and "A4" in ran.out and "16:9" in ran.out
    for words, says in (
        (("--plot", tmp_path / "a.png", "--for", "wall"), "a picture is for print or screen"),
        (("--for", "screen"), "name its file with --plot"),
    ):
        ran = run("tints", "PB29", *words)
        assert (ran.status, ran.out) == (2, "") and says in ran.err
        assert ran.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


# --- ladders --------------------------------------------------------------------------------------


def drawn(run, tmp_path, *words):
    """Return the texts of what a command draws, joined."""
    ran = run(*words, "--plot", tmp_path / "a.svg")
    assert (ran.status, ran.err) == (0, "")
    return " | ".join(text for text, _, _ in texts(tmp_path / "a.svg")[1])


def test_several_paints_stand_on_one_chart_and_side_by_side(run, tmp_path):
    words = drawn(run, tmp_path, "tints", "PB29", "PB28", "2 PB15:3 + 1 PW6", "--steps", "4")
    for name in ("ultramarine blue", "cobalt blue", "2 phthalo-blue-green-shade"):
        assert name in words
    assert "Burnt sienna toward titanium white" in drawn(run, tmp_path, "tints", "burnt", "sienna",
                                          "--steps", "3")  # fmt: skip
    ran = run("tints", "PB29", "PB28", "--compare", "PW4")
    assert ran.status == 2 and "whites of one mix" in ran.err
    ran = run("tints", *["PB29", "PB28", "PB27", "PG7", "PG18", "PY43", "PV19"])
    assert ran.status == 2 and "at most 6" in ran.err
    ran = run("shades", "PB29", "nothing-like-it")
    assert ran.status == 2 and "nothing-like-it" in ran.err


def test_whites_that_are_compared_are_in_the_picture(run, tmp_path):
    words = drawn(run, tmp_path, "tints", "PB29", "--compare", "PW4", "--steps", "5")
    assert "titanium white" in words and "zinc white" in words and "equal values" in words


def test_the_munsell_page_and_the_curves_are_asked_for(run, tmp_path):
    assert "to the left" in drawn(run, tmp_path, "blend", "cadmium-orange", "PB29", "--munsell",
                                  "--steps", "4")  # fmt: skip
    assert "wavelength" in drawn(run, tmp_path, "tints", "PB29", "--curves", "--steps", "3")
    for words, says in (
        (("PB29", "--munsell"), "say what --plot draws"),
        (("PB29", "--munsell", "--curves", "--plot", tmp_path / "b.png"), "two pictures"),
        (("PB29", "PB28", "--munsell", "--plot", tmp_path / "b.png"), "draw one ladder"),
    ):
        ran = run("tints", *words)
        assert (ran.status, ran.out) == (2, "") and says in ran.err, ran.err
    assert not (tmp_path / "b.png").exists()


def test_a_blend_has_neutral_in_the_middle_of_a_plane(drawings):
    axes = drawings["blend"](SCREEN).axes[0]
    assert any(text.get_text() == "neutral" and text.xy == (0, 0) for text in axes.texts)
    line = max(axes.lines, key=lambda one: len(one.get_xdata()))
    labs = ladder(SIENNA, BLUE, 6, even="difference").lab
    for lab in labs:  # the steps lie on the way, in a* and b*
        assert np.hypot(*(line.get_xydata() - lab[1:]).T).min() < 1.0


def test_curves_are_coloured_named_and_over_a_spectrum(drawings):
    from matplotlib.colors import to_hex

    made = ladder(BLUE, WHITE, 6)
    axes = drawings["curves"](SCREEN).axes[0]
    curves = [line for line in axes.lines if len(line.get_xdata()) == 36]
    assert [to_hex(line.get_color()) for line in curves] == made.hex
    named = [text.get_text() for text in axes.texts]
    assert set("123456") <= set(named)
    rgb = spectrum(VIEW)
    at = dict(zip(range(380, 731, 10), rgb, strict=True))
    assert at[460].argmax() == 2 and at[530].argmax() == 1 and at[620].argmax() == 0
    assert rgb.min() >= 0 and rgb.max() <= 1


def test_swatches_lie_on_neutral_grey_and_what_is_near_to_it_or_to_paper_has_an_edge():
    assert mixlab.colour.spaces.hex_to_lab(style.SURROUND, VIEW)[0] == pytest.approx(50, abs=0.5)
    with style.look(PRINT):
        figure, axes = style.figure()
        style.swatches(axes[0, 0], [[97, 0, 0], [52, 1, 1], [40, 40, 30]], VIEW, "abc")
    from matplotlib.colors import to_hex

    assert to_hex(axes[0, 0].get_facecolor()) == style.SURROUND
    edges = [patch.get_edgecolor()[3] for patch in axes[0, 0].patches]
    assert edges == [1.0, 1.0, 0.0]
    assert figure is not None


# --- in grey --------------------------------------------------------------------------------------


def test_lines_are_told_apart_without_hue():
    looks = [look for look, _ in zip(style.lines(), range(6), strict=False)]
    assert len({str(look["linestyle"]) for look in looks}) == 6
    assert len({look["marker"] for look in looks}) == 6
    for look in looks:
        assert 1.05 / (luminance(look["color"]) + 0.05) >= 3  # a line on white


@pytest.mark.parametrize("gap", [0.1, 1.0])
def test_names_are_spread_in_order_and_no_farther_than_they_need(gap):
    random = np.random.default_rng(1)
    for places in (random.uniform(0, 3, 9), np.zeros(4), np.array([0.0, 10.0, 20.0]), np.zeros(0)):
        moved = style.spread(places, gap)
        order = np.argsort(places, kind="stable")
        assert (np.diff(moved[order]) >= gap - 1e-9).all()
        assert moved.mean() == pytest.approx(places.mean()) if len(places) else moved.size == 0
    np.testing.assert_allclose(style.spread([0.0, 10.0], gap), [0, 10])


# --- names ----------------------------------------------------------------------------------------

STRANGE = (
    "Four for the far bank",
    "$100_and_$200",
    r"$a^$ \frac{",
    "mix \x01\x1b[31m\x9b \udcff\ufffe",
    "\u202egnikcah",
    "\u79cb\u306e\u6797 \u6c60\u5858",
    "a palette of the lower valley, " * 12,
    "without_any_space_" * 20,
    "\u6c60" * 40,
)


@pytest.mark.parametrize("name", STRANGE)
def test_no_title_is_cut_and_every_name_is_shown_as_it_is(name, tmp_path, recwarn, caplog):
    form = SCREEN if len(name) % 2 else PRINT
    made = distance.path([[50, 10, 10], [60, 5, 5]], [70, 0, 0], VIEW, [name, "after"], name,
                         form=form)  # fmt: skip
    for kind in ("svg", "png"):
        style.save(made, tmp_path / f"a.{kind}", VIEW)
    with Image.open(tmp_path / "a.png") as picture:
        assert picture.size in ((1920, 1080), (2338, 1654))
    if "\u6c60" in name:  # shown, or said that it cannot be
        has = bool(families_for(name)) and not unknown(name)
        assert has or "an .svg shows them" in made._supxlabel.get_text()
    with style.look(form):
        made.draw_without_rendering()
        foot = made._supxlabel.get_window_extent()
        title = made._suptitle.get_window_extent()
    assert foot.x0 >= made.bbox.x0
    whole = made.bbox
    assert title.x0 >= whole.x0 and title.x1 <= whole.x1
    assert title.y0 >= whole.y0 and title.y1 <= whole.y1
    _, found = texts(tmp_path / "a.svg")  # well formed
    letters = "".join("".join(text for text, _, _ in found).split())
    assert "".join(clean(name).split()) in letters
    assert not recwarn.list and not caplog.records
    assert clean(name) == name or not set(clean(name)) & set(name) & set("\x01\x1b\x9b\u202e\udcff")


def test_lines_are_folded_between_words_where_they_can_be():
    with style.look(PRINT):
        for text in ("3 of that + 0.25 burnt-sienna + 12 titanium-white", "phthalo-green " * 5):
            for room in (90, 140, 300):
                lines = folded(text, room, 9.0)
                assert max(width(line, 9.0) for line in lines) <= room
                assert " ".join(lines).split() == text.split()


def test_words_of_a_list_become_smaller_before_they_are_broken():
    with style.look(SCREEN):
        made, axes = style.figure(layout=[["list"]], form=SCREEN)
        word = "quinacridone-magenta-of-the-kiln-yard"
        listing(axes["list"], [Row("1", [50, 0, 0], "", f"1 {word}")] * 6, VIEW, SCREEN, columns=2)
    said = [text for text in axes["list"].texts if word in text.get_text()]
    assert len(said) == 6 and said[0].get_fontsize() < SCREEN.letters
    assert made.get_size_inches()[0] > 13


@pytest.mark.parametrize("content", [
    b"font.size: 40\naxes.facecolor: red\ntext.usetex: True\nsvg.fonttype: path\n", b"\xff\xfe\x00"
])  # fmt: skip
def test_the_settings_of_a_stranger_are_not_obeyed(content, tmp_path):
    draw = (
        "import mixlab\nfrom mixlab.show.plots import distance, style\n"
        "view = mixlab.viewing()\n"
        "made = distance.path([[50, 10, 10]], [70, 0, 0], view, ['one'], 'A title')\n"
        "style.save(made, 'a.svg', view)\n"
    )
    (tmp_path / "matplotlibrc").write_bytes(content)
    ran = subprocess.run([sys.executable, "-c", draw], cwd=tmp_path, capture_output=True, text=True,
                         check=True)  # fmt: skip
    assert ran.stderr == ""
    made = distance.path([[50, 10, 10]], [70, 0, 0], VIEW, ["one"], "A title")
    style.save(made, tmp_path / "b.svg", VIEW)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


@pytest.mark.parametrize(("start", "toward"), [
    ("1 PB29", "1 PW6"), ("1 PO20", "1 PW6"), ("1 PO20", "3 PBk9 + 5 PW6"), ("1 PG7", "1 PW6"),
])  # fmt: skip
def test_no_number_of_a_step_lies_on_the_way(start, toward):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    way = [TABLE.mix(start), TABLE.mix(toward)]
    made = ladders.ladder(ladder(*way), report(*way), "Steps", form=SCREEN)
    canvas = FigureCanvasAgg(made)
    canvas.draw()
    axes = next(a for a in made.axes if a.get_xlabel() == "chroma, C*")
    line = axes.transData.transform(np.stack(axes.lines[0].get_data(), axis=-1))
    numbers = [text for text in axes.texts if text.get_text().isdigit()]
    assert len(numbers) == 9
    for text in numbers:
        box = text.get_window_extent(canvas.get_renderer())
        assert not any(box.contains(x, y) for x, y in line), text.get_text()


def test_a_stroke_is_explained_at_the_foot(run, tmp_path):
    assert "stroke: a screen" in drawn(run, tmp_path, "tints", "PB29", "--for", "screen")
    assert "stroke" not in drawn(run, tmp_path, "tints", "burnt-umber", "--for", "screen")
