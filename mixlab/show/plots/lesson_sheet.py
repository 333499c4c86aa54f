"""The sheet that a class paints, in black and grey, for any printer."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from mixlab.lesson import layout
from mixlab.lesson.marks import code_mark, corner_mark
from mixlab.lesson.sheet import Sheet
from mixlab.show.plots import pages, style
from mixlab.show.terminal import fold

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_HOW = (
    "Guess first, with a pen. Then mix each square by parts of equal size, measured with care, and "
    "paint it so thick that the paper does not show. Leave the paper between the squares bare. "
    "When it is dry, photograph the whole sheet from above: all four corner marks, even daylight, "
    "no shine, sharp."
)


@style.drawn
def lesson_sheet(sheet: Sheet) -> "Figure":
    """Return the page to print."""
    made, axes = pages.page(layout.WIDE, layout.HIGH)
    for i, at in enumerate(layout.MARKS):
        _modules(axes, corner_mark(i), at)
    code = code_mark(sheet.code)
    for at in layout.CODES:
        _modules(axes, code, at)
    _head(axes, sheet)
    for row, guess in enumerate(sheet.guesses):
        _guess(axes, row, guess.question, guess.choices)
    for i, parts in enumerate(sheet.parts):
        _square(axes, i, sheet, parts)
    below = layout.FIRST + layout.PITCH * layout.rows(sheet.steps) - 7
    if layout.rows(sheet.steps) < layout.rows(layout.MOST):
        axes.text(layout.EDGE, below, "What did you see? What surprised you?", fontsize=10,
                  va="top", color=style.INK)  # fmt: skip
        for y in np.arange(below + 13, 250, 9):
            axes.plot([layout.EDGE, 190], [y, y], color=style.QUIET, linewidth=0.5)
    _foot(axes, sheet)
    return made


def _modules(axes: "Axes", black: NDArray[np.bool_], at: layout.Box) -> None:
    """Draw a mark of black modules, sharp at any size."""
    from matplotlib.collections import PolyCollection

    left, top, right, _ = at
    side = (right - left) / len(black)
    rows, columns = np.nonzero(black)
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
    # a hair more, so that none shows between two
    squares = (np.stack([columns, rows], axis=1)[:, None] + corners * 1.02) * side + [left, top]
    axes.add_collection(PolyCollection(list(squares), facecolor="black", edgecolor="none",
                                       linewidth=0))  # fmt: skip


def _head(axes: "Axes", sheet: Sheet) -> None:
    start, toward = (name.replace("-", " ") for name in sheet.names)
    title = f"{start[:1].upper()}{start[1:]} toward {toward}"
    size = min(15.0, 15 * 42 / max(len(title), 1))
    pages.title(axes, 28, 16, title, fontsize=size)
    left, _, right, bottom = layout.NAME
    axes.text(left, bottom - 1.5, "Name", fontsize=9, color=style.QUIET)
    axes.plot([left + 11, right], [bottom - 1, bottom - 1], color=style.INK, linewidth=0.7)
    top = 44.0
    if "pile A" in sheet.names or "pile B" in sheet.names:
        piles = zip(sheet.names, (sheet.start, sheet.toward), strict=True)
        for name, pile in piles:
            if name.startswith("pile"):
                axes.text(layout.EDGE, top, f"First mix {name}: {pile}", fontsize=9.5, va="top",
                          weight="bold", color=style.INK)  # fmt: skip
                top += 4.5
    axes.text(layout.EDGE, top, "\n".join(fold(_HOW, 108)), fontsize=8.6, va="top",
              color=style.INK, linespacing=1.25)  # fmt: skip


def _guess(axes: "Axes", row: int, question: str, choices: tuple[str, ...]) -> None:
    boxes = layout.ticks(row, len(choices))
    look: dict[str, Any] = {"facecolor": "none", "edgecolor": "black", "linewidth": 0.9}
    axes.text(layout.EDGE, boxes[0][1] - 1.4, f"{row + 1}.  {question} Tick one.", fontsize=9,
              color=style.INK)  # fmt: skip
    for at, choice in zip(boxes, choices, strict=True):
        pages.box(axes, at, **look)
        axes.text(at[2] + 1.5, (at[1] + at[3]) / 2, choice, fontsize=9, va="center",
                  color=style.INK)  # fmt: skip


def _square(axes: "Axes", i: int, sheet: Sheet, parts: tuple[int, int]) -> None:
    at = layout.square(i)
    pages.box(axes, at, facecolor="none", edgecolor=style.QUIET, linewidth=0.8)
    axes.text(at[0], at[1] - 2, str(i + 1), fontsize=15, weight="bold", va="bottom",
              color=style.INK)  # fmt: skip
    lines = [f"{n}  {name.replace('-', ' ')}" for n, name in zip(parts, sheet.names, strict=True)
             if n]  # fmt: skip
    longest = max(map(len, lines))
    axes.text(at[0] + (7 if i < 9 else 10), at[1] - 2, "\n".join(lines),
              fontsize=min(8.5, 8.5 * 17 / longest), va="bottom", color=style.INK,
              linespacing=1.1)  # fmt: skip


def _foot(axes: "Axes", sheet: Sheet) -> None:
    for at, grey in zip(layout.STRIP, layout.GREYS, strict=True):
        pages.box(axes, at, facecolor=str(grey), edgecolor="none", linewidth=0)
    left, top, _, bottom = layout.STRIP[0]
    axes.text(left, top - 1.2, "Leave this strip bare.", fontsize=7.5, color=style.QUIET)
    axes.text(left, bottom + 3.2, sheet.code, fontsize=min(6.0, 6 * 95 / len(sheet.code)),
              va="center", color=style.INK)  # fmt: skip
    paints = {p.id: p for pile in (sheet.start, sheet.toward) for p in pile.paints}.values()
    if careful := [paint.id for paint in paints if paint.cautions]:
        note = f"Read the maker's safety data sheet: {', '.join(careful)}. No food at the table."
        axes.text(left, bottom + 6.5, "\n".join(fold(note, 84)), fontsize=6.5, va="top",
                  color=style.INK)  # fmt: skip
