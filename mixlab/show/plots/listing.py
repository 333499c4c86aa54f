"""A list with swatches: in each row a number, patches side by side, and words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from mixlab.colour.spaces import Viewing, lab_to_value
from mixlab.paint.paints import Paint
from mixlab.show.plots import style
from mixlab.show.plots.forms import Form
from mixlab.show.plots.text import folded, whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_GAP = 0.5  # letters between patches and words
_TALLEST = 9.0  # letters that a row is high at most
_LINE = 1.12  # letters from line to line
_LOW = 0.35  # of the figure, below which a list goes down to its foot


@dataclass(frozen=True, eq=False)
class Row:
    """One row of a list.

    Attributes
    ----------
    number : "" for none
    labs : CIELAB (k, 3) of patches that touch
    under : what stands in each patch, () for nothing
    name, words : the first in bold, above the second
    """

    number: str
    labs: ArrayLike
    name: str = ""
    words: str = ""
    under: Sequence[str] = ()


class _Places(NamedTuple):
    """Where in a row the patches begin, how wide each is, where the words begin [points]."""

    patches: float
    patch: float
    words: float


def listing(
    axes: "Axes", rows: Sequence[Row], view: Viewing, form: Form, columns: int = 1,
    touching: bool = False,
) -> None:  # fmt: skip
    """Fill axes with a list; words become smaller where they need to.

    The layout of the figure is settled by it: what moves the axes is to be drawn before.

    Parameters
    ----------
    columns : down which the rows go
    touching : whether the patches of a row touch those of the next; where such rows are low, only
        some have words
    """
    from matplotlib.patches import Rectangle

    made: Any = axes.figure
    axes.set_axis_off()
    style.settle(made)
    place, foot = axes.get_position(), 1.9 * form.letters / 72 / made.get_figheight()
    if place.y0 < _LOW:  # down to the foot
        axes.set_position((place.x0, foot, place.width, place.y1 - foot))
    wide, high = (72 * side for side in axes.get_position().size * made.get_size_inches())
    axes.set(xlim=(0, wide), ylim=(0, high))
    each = -(-len(rows) // columns)
    row_high = min(high / each, _TALLEST * form.letters)
    column = wide / columns
    at = _places(rows, column, row_high, form, touching)
    every = int(np.ceil(form.letters / row_high)) if touching else 1
    if every > 1:
        rows = [row if i % every == 0 else Row("", row.labs, "") for i, row in enumerate(rows)]
    size, words = _fitted(rows, column - at.words - form.letters, every * row_high, form)
    rim = 0.15 * form.letters
    patches = max(len(np.atleast_2d(row.labs)) for row in rows)
    if touching:
        axes.add_patch(Rectangle((at.patches - rim, high - row_high * each - rim),
                                 patches * at.patch + 2 * rim, row_high * each + 2 * rim,
                                 facecolor=style.SURROUND, edgecolor="none", clip_on=False))
    for i, (row, lines) in enumerate(zip(rows, words, strict=True)):
        x, top = column * (i // each), high - row_high * (i % each)
        middle = top - row_high / 2
        if row.number:
            axes.text(x + 0.5 * at.patches, middle, row.number, fontsize=form.letters,
                      weight="bold", ha="center", va="center")  # fmt: skip
        tall = row_high + 2 * rim if touching else 0.84 * row_high
        _patches(axes, row, view, (x + at.patches, middle), (at.patch, tall), rim, not touching)
        down = middle + (len(lines) / 2 - 0.5) * _LINE * size
        for text, bold in lines:
            axes.text(x + at.words, down, text, fontsize=size, va="center",
                      weight="bold" if bold else "normal")  # fmt: skip
            down -= _LINE * size


def short_name(paint: Paint) -> str:
    """Return the Colour Index name of a paint of one pigment, else its id."""
    return paint.colour_index[0] if len(paint.colour_index) == 1 else paint.id


def fits(rows: Sequence[Row], wide: float, high: float, form: Form) -> bool:
    """Return whether rows can be read in a list of a width and a height [points]."""
    at = _places(rows, wide, high / len(rows), form, False)
    return _fitted(rows, wide - at.words - form.letters, high / len(rows), form)[0] >= form.least


def _places(
    rows: Sequence[Row], column: float, high: float, form: Form, touching: bool
) -> _Places:
    patches = max(len(np.atleast_2d(row.labs)) for row in rows)
    longest = max((len(word) for row in rows for word in row.under), default=0)
    least = form.letters * (3.3 if longest > 4 else 2.0 if touching else 2.4)
    tall = 0.0 if touching else 0.8 * high - 2 * form.letters
    patch = min(max(least, tall), 0.32 * column / patches)
    number = 1.3 * form.letters if any(row.number for row in rows) else 0.2 * form.letters
    return _Places(number, patch, number + patches * patch + _GAP * form.letters)


def _fitted(
    rows: Sequence[Row], room: float, high: float, form: Form
) -> tuple[float, list[list[tuple[str, bool]]]]:
    """Return the greatest size of letters in which all rows fit, and their lines.

    The name stands above the words, or before them where that is too high.
    """
    sizes = np.linspace(form.letters, form.least, 4)
    ways = [(size, joined) for size in sizes for joined in (False, True)]
    for size, joined in [*ways, *((part * form.least, True) for part in (0.85, 0.7, 0.5))]:
        words = [_lines(row, room, size, joined) for row in rows]
        if max(map(len, words)) * _LINE * size <= high and all(
            whole(row.name, room, size, not joined) and whole(row.words, room, size)
            for row in rows
        ):
            break
    return float(size), words


def _lines(row: Row, room: float, size: float, joined: bool) -> list[tuple[str, bool]]:
    """Return the lines of a row, and whether each is bold."""
    if joined and row.name and row.words:
        return [(line, False) for line in folded(f"{row.name}: {row.words}", room, size)]
    return [(line, bold) for text, bold in ((row.name, True), (row.words, False)) if text
            for line in folded(text, room, size, bold)]  # fmt: skip


def _patches(
    axes: "Axes", row: Row, view: Viewing, at: tuple[float, float], size: tuple[float, float],
    rim: float, surrounded: bool,
) -> None:  # fmt: skip
    """Draw the patches of a row on the grey surround, from its left and its middle on."""
    from matplotlib import rcParams
    from matplotlib.patches import Rectangle

    labs = np.atleast_2d(np.asarray(row.labs, dtype=float))
    (left, middle), (across, high) = at, size
    if surrounded:
        axes.add_patch(Rectangle((left - rim, middle - high / 2), len(labs) * across + 2 * rim,
                                 high, facecolor=style.SURROUND, edgecolor="none"))  # fmt: skip
    values = lab_to_value(labs, view)
    letters = min(rcParams["font.size"] / 1.2, 0.8 * high)
    for i, lab in enumerate(labs):
        corner = left + i * across, middle - high / 2 + rim
        style.patch(axes, corner, (across, high - 2 * rim), lab, view)
        if row.under:
            axes.text(corner[0] + across / 2, middle, row.under[i], fontsize=letters, ha="center",
                      va="center", color="white" if values[i] < 5.5 else "black", zorder=5)
