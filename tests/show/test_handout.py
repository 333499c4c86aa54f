"""The handout of a lesson: one A4 page."""

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from PIL import Image

import mixlab
from mixlab.errors import PlotError
from mixlab.show.plots import style
from mixlab.show.plots.handout import handout

TABLE = mixlab.read_table()
BLUE = TABLE.mix("1 PB29 + 3 PW6")


LONG = ("White raises value always; chroma only while the reflectance maximum rises more than the "
        "minimum.")


def page(squares=3, words=1):
    return handout("Title", "A question?", ["My guess:"], lambda axes: axes.plot([0, 1], [0, 1]),
                   f"Paint. {LONG}", [("1 : 3", BLUE)] * squares, ["To keep.", LONG] * words)


def test_a_handout_is_one_a4_page_with_its_true_colours(tmp_path):
    made = page()
    style.save(made, tmp_path / "page.png", BLUE.view)
    with Image.open(tmp_path / "page.png") as picture:
        assert picture.size[1] / picture.size[0] == pytest.approx(297 / 210, rel=0.002)
        colours = {f"#{r:02x}{g:02x}{b:02x}" for _, (r, g, b) in
                   picture.convert("RGB").getcolors(10**7)}  # fmt: skip
    assert BLUE.hex in colours
    words = [text.get_text() for axes in made.axes for text in axes.texts]
    assert {"Title", "With real paint", "To take along", "1 : 3"} <= set(words)
    assert any("safety data sheets of ultramarine-blue" in text for text in words)
    # nothing is cut, and words and picture do not lie upon one another
    renderer = FigureCanvasAgg(made).get_renderer()
    boxes = [text.get_window_extent(renderer) for text in made.axes[0].texts]
    wide, high = made.get_size_inches() * made.dpi
    edge = 0.4 * made.dpi  # what printers leave white
    assert all(box.x0 > edge and box.x1 < wide - edge for box in boxes if box is not boxes[-1])
    assert all(box.y0 > 0 and box.y1 < high for box in boxes)
    drawn = made.axes[1].get_tightbbox(renderer)
    assert not any(box.overlaps(drawn) for box in boxes)


@pytest.mark.parametrize(("squares", "words", "message"), [
    (9, 1, "a handout holds 8 squares, and these are 9"),
    (3, 60, "no room for its picture"),
])  # fmt: skip
def test_what_does_not_fit_a_page_is_refused(squares, words, message):
    with pytest.raises(PlotError, match=message):
        page(squares, words)
