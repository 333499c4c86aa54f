"""Where everything lies on the sheet that a class paints.

An A4 page, 210 x 297; places are in millimetres from its upper left corner, a box is left, top,
right, bottom. Between the squares there is paper enough that paint may run over their edges.
"""

from collections.abc import Sequence

Box = tuple[float, float, float, float]

WIDE, HIGH = 210.0, 297.0
EDGE = 20.0  # where writing begins and squares stand

MARK = 14.0
MARKS: tuple[Box, ...] = tuple(
    (x, y, x + MARK, y + MARK) for x, y in ((10, 10), (186, 10), (186, 273), (10, 273))
)
"""Corner marks, clockwise from the upper left one."""
CORNERS = ("upper left", "upper right", "lower right", "lower left")

CODES: tuple[Box, ...] = ((156, 9, 182, 35), (156, 262, 182, 288))
"""What sheet it is, in two places: paint may fall on one."""

NAME: Box = (28, 22, 152, 36)
"""The line for the student's name."""

GREYS = (0.0, 0.2, 0.4, 0.6, 0.8)
"""Of the strip, as they are printed: share of white, 0 for black."""
STRIP: tuple[Box, ...] = tuple((30.0 + 16 * i, 267, 46.0 + 16 * i, 278) for i in range(len(GREYS)))

ACROSS, SQUARE, APART, FIRST, PITCH = 4, 28.0, 45.0, 117.0, 45.0
LABEL = 10.0  # above a square
TICK = 5.0
GUESSES = (72.0, 83.0, 94.0)  # where the rows of boxes to tick begin

LEAST, MOST = 3, 12
"""Squares on a sheet."""

_PATCH = 5.0  # of bare paper that is read
_COLUMNS = (9.0, 56.5, 101.5, 146.5, 201.0)


def square(i: int) -> Box:
    """Return the square of step `i`, from 0."""
    row, column = divmod(i, ACROSS)
    left, top = EDGE + APART * column, FIRST + PITCH * row
    return left, top, left + SQUARE, top + SQUARE


def rows(steps: int) -> int:
    """Return in how many rows so many squares stand."""
    return -(-steps // ACROSS)


def ticks(row: int, count: int) -> list[Box]:
    """Return the boxes of a guess, of which one is ticked."""
    top = GUESSES[row]
    width = min(18.0, 170 / count) if row < 2 else 44.0
    return [(EDGE + i * width, top, EDGE + i * width + TICK, top + TICK) for i in range(count)]


def paper(steps: int) -> list[Box]:
    """Return places that stay bare paper: about each row of squares and in the margins."""
    middles = [FIRST + PITCH * row + SQUARE / 2 for row in range(rows(steps))]
    margins = [(x, y) for y in (45.0, 85.0) for x in (_COLUMNS[0], _COLUMNS[-1])]
    if rows(steps) < rows(MOST):
        margins += [(x, FIRST + PITCH * 2 + SQUARE / 2) for x in (_COLUMNS[0], _COLUMNS[-1])]
    between = [(x, y) for y in (*middles, 256.0) for x in _COLUMNS]
    return [around(x, y, _PATCH) for x, y in (*margins, *between)]


def around(x: float, y: float, side: float) -> Box:
    """Return a box about its middle."""
    return x - side / 2, y - side / 2, x + side / 2, y + side / 2


def inner(box: Box, share: float) -> Box:
    """Return the box within a box that has this share of its sides."""
    left, top, right, bottom = box
    by = (1 - share) / 2
    return (
        left + by * (right - left), top + by * (bottom - top),
        right - by * (right - left), bottom - by * (bottom - top),
    )  # fmt: skip


def quarters(box: Box) -> list[Box]:
    """Return the four quarters of a box."""
    left, top, right, bottom = box
    x, y = (left + right) / 2, (top + bottom) / 2
    return [(left, top, x, y), (x, top, right, y), (left, y, x, bottom), (x, y, right, bottom)]


def scaled(box: Sequence[float], by: float) -> Box:
    """Return a box in other units."""
    left, top, right, bottom = box
    return left * by, top * by, right * by, bottom * by
