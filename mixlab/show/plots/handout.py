"""A handout: one A4 page of a lesson, to print and to paint on."""

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from mixlab.colour.spaces import lab_to_value
from mixlab.errors import PlotError
from mixlab.paint.mixtures import Mixture
from mixlab.show.plots import style
from mixlab.show.plots.sheet import A4, EDGE, draw_cautions
from mixlab.show.plots.text import folded

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_SQUARES = 8
_SIZE, _LINE = 10.5, 0.19  # points, inches
_WIDTH = (A4[0] - 2 * EDGE) * 72  # points
_HANG = "- ", "  "
_SQUARE, _STRIP, _LABEL = 0.95, 0.3, 0.14  # inches; the last for each line
_FOOT = 1.0  # inches, for the cautions
_LEAST = 2.2  # inches that the picture is high


@style.drawn
def handout(
    title: str, question: str, guesses: Sequence[str], draw: "Callable[[Axes], None]",
    paint: str, squares: Sequence[tuple[str, Mixture]], keep: Sequence[str],
) -> "Figure":  # fmt: skip
    """Return an A4 page: question, guesses, a picture, squares to paint, what to take along.

    Parameters
    ----------
    guesses : each with a blank to write on behind it
    draw : draws the picture on axes
    paint : what to do with real paint
    squares : name and mix of each; the colour to expect stands as a strip over an empty square,
        with its Munsell value, which tells it in a grey print
    keep : what to take along, a sentence each

    Raises
    ------
    PlotError : for more squares or words than a page holds
    """
    from matplotlib.figure import Figure

    if len(squares) > MOST_SQUARES:
        raise PlotError(f"a handout holds {MOST_SQUARES} squares, and these are {len(squares)}")
    made, (wide, high) = Figure(figsize=A4), A4
    page = made.add_axes((0, 0, 1, 1))
    page.set(xlim=(0, wide), ylim=(0, high))
    page.set_axis_off()
    top = _say(page, high - EDGE, folded(title, _WIDTH, 15, True), 15, "bold")
    top = _say(page, top - 0.1, [*folded(question, _WIDTH, _SIZE), ""])
    for guess in guesses:
        top = _say(page, top - 0.06, [f"{guess}  ____________"])
    top -= 0.1
    page.plot([0, wide], [top, top], color=style.QUIET, linewidth=0.8, linestyle=(0, (6, 4)))
    page.text(wide / 2, top - 0.03, "fold back here until you have guessed", fontsize=8, va="top",
              ha="center", color=style.QUIET)  # fmt: skip
    top -= 0.32
    below = [_HANG[i > 0] + line for one in keep
             for i, line in enumerate(folded(one, _WIDTH - 2 * _SIZE, _SIZE))]
    doing = folded(paint, _WIDTH, _SIZE)
    label = 0.2 + _LABEL * max((name.count("\n") + 1 for name, _ in squares), default=0)
    rest = (len(below) + len(doing) + 3) * _LINE + _STRIP + _SQUARE + label + _FOOT
    picture = top - 0.75 - rest
    if picture < _LEAST:
        raise PlotError("a handout is one page, and these words leave no room for its picture")
    axes = made.add_axes(((EDGE + 0.75) / wide, (top - picture - 0.2) / high,
                          (wide - 2 * EDGE - 1.0) / wide, picture / high))  # fmt: skip
    draw(axes)
    top = _say(page, top - picture - 0.75, ["With real paint"], 12, "bold")
    top = _say(page, top, doing)
    top = _draw_squares(page, top - 0.1, squares)
    top = _say(page, top - label, ["To take along"], 12, "bold")
    _say(page, top, below)
    draw_cautions(page, [one for _, mix in squares for one in mix.paints])
    return made


def _say(
    page: "Axes", top: float, lines: Sequence[str], size: float = _SIZE, weight: str = "normal"
) -> float:
    """Write lines from `top` [inches] down; return where they end."""
    each = _LINE * size / _SIZE
    for line in lines:
        page.text(EDGE, top, line, fontsize=size, weight=weight, va="top", color=style.INK)
        top -= each
    return top


def _draw_squares(page: "Axes", top: float, squares: Sequence[tuple[str, Mixture]]) -> float:
    """Draw the squares from `top` [inches] down; return where they end, above their names."""
    from matplotlib.patches import Rectangle

    gap = (A4[0] - 2 * EDGE - len(squares) * _SQUARE) / max(len(squares) - 1, 1)
    left = EDGE
    for name, mix in squares:
        value = float(lab_to_value(mix.lab, mix.view))
        (hex,), _ = style.colours(mix.lab, mix.view)
        for bottom, height, colour in ((top - _STRIP, _STRIP, hex),
                                       (top - _STRIP - _SQUARE, _SQUARE, "white")):  # fmt: skip
            page.add_patch(Rectangle((left, bottom), _SQUARE, height, facecolor=colour,
                                     edgecolor=style.INK, linewidth=0.8))  # fmt: skip
        page.text(left + _SQUARE / 2, top - _STRIP / 2, f"value {value:.1f}", fontsize=8,
                  ha="center", va="center", color="white" if value < 5.5 else "black")  # fmt: skip
        page.text(left + _SQUARE / 2, top - _STRIP - _SQUARE - 0.06, name, fontsize=8, ha="center",
                  va="top", color=style.INK)  # fmt: skip
        left += _SQUARE + gap
    return top - _STRIP - _SQUARE
