"""A sheet to pin up beside the easel: numbered places on the picture, and what mixes each."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, encode_srgb
from mixlab.errors import PlotError
from mixlab.paint.paints import Paint
from mixlab.picture.passages import Passage, in_order
from mixlab.show.plots import style
from mixlab.show.terminal import fold
from mixlab.targets.photo_files import Photo

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

A4 = (8.27, 11.69)  # inches
EDGE = 0.45  # inches that printers leave white
PATCH = 0.85  # inches, the width of a patch
_LETTERS = ((11.5, False), (10.5, False), (10.5, True), (9.5, True))
"""Sizes [points], and whether the name stands in the recipe's line: the first that leaves room for
the picture. Smaller letters are not read at arm's length."""
_LEAST = 3.6  # inches that a picture is high, if letters can be smaller instead
_SHOWN = 1600  # pixels of the longer side of a picture on paper
MOST_ON_A_SHEET = 18


def sheet(passages: Sequence[Passage], photo: Photo | None, palette: str) -> "Figure":
    """Return an A4 page: the picture with its places numbered in the order in which they are mixed.

    Under it a row for each: the wanted patch and the mixed one side by side with their Munsell
    values, which tell them apart in a grey print; name, recipe in words, and the miss.

    Raises
    ------
    PlotError : for more passages than can be read on one page
    """
    from matplotlib.figure import Figure

    if len(passages) > MOST_ON_A_SHEET:
        raise PlotError(
            f"a sheet holds {MOST_ON_A_SHEET} passages, and these are {len(passages)}: part them"
        )
    made, (wide, high) = Figure(figsize=A4), A4
    ordered = in_order(passages)
    places = [one for one in ordered if one.place.at is not None]
    top = high - EDGE
    made.text(EDGE / wide, top / high, f"{palette[:1].upper()}{palette[1:]}: mix in this order, "
              "darks first", fontsize=15, weight="bold", va="top", color=style.INK)  # fmt: skip
    top -= 0.42
    least = _LEAST if photo is not None and places else 0.0
    for size, short in _LETTERS:
        words = [_words(one, size, short) for one in ordered]
        rows = [max(0.42, (0.2 + len(lines) * 1.2 * size) / 72 + 0.06) for lines in words]
        left = top - EDGE - 0.45 - sum(rows)
        if left >= least:
            break
    if photo is not None and places:
        shown = min((wide - 2 * EDGE) * photo.height / photo.width, left)
        across = shown * photo.width / photo.height
        axes = made.add_axes(
            ((wide - across) / 2 / wide, (top - shown) / high, across / wide, shown / high)
        )
        draw_photo(axes, photo)
        _named_places(axes, photo, [(str(one.order), one.place.at) for one in places],
                 13 if shown > 3 else 10)  # fmt: skip
        axes.set_axis_off()
        top -= shown + 0.15
    axes = made.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, wide), ylim=(0, high))
    axes.set_axis_off()
    for one, lines, row in zip(ordered, words, rows, strict=True):
        _row(axes, one, lines, top, row, size)
        top -= row
    draw_cautions(axes, [paint for one in ordered for paint in one.answer.recipe.mixture.paints])
    return made


def _words(one: Passage, size: float, short: bool) -> list[str]:
    """Return what stands beside the patches, in lines: name and miss, then the recipe."""
    recipe = one.answer.recipe
    miss = f"miss {recipe.miss:.1f}" + ("" if one.answer.in_reach else ", out of reach")
    width = int((A4[0] - 2 * EDGE - 0.6 - 2 * PATCH) * 72 / (0.52 * size))
    name = f"{one.place.name} ({miss})"
    return fold(f"{name}: {recipe}", width) if short else [name, *fold(str(recipe), width)]


def marked(photo: Photo, places: Sequence[tuple[str, Array | None]]) -> "Figure":
    """Return a picture with a grid in pixels and a name where each place (2,) of it lies."""
    wide = photo.width / photo.height
    size = 11.0
    figure, axes = style.figure(width=size * min(1, wide), height=size / max(1, wide) + 0.3)
    panel = axes[0, 0]
    draw_photo(panel, photo)
    step = _round(max(photo.width, photo.height) / 12)
    panel.set_xticks(np.arange(0, photo.width, step))
    panel.set_yticks(np.arange(0, photo.height, step))
    panel.tick_params(labelsize=9, top=True, labeltop=True, right=True, labelright=True)
    panel.set_axisbelow(False)
    panel.grid(True, color="white", linewidth=1.6, alpha=0.45)
    for x in panel.get_xticks():
        panel.axvline(x, color="black", linewidth=0.5, alpha=0.6)
    for y in panel.get_yticks():
        panel.axhline(y, color="black", linewidth=0.5, alpha=0.6)
    _named_places(panel, photo, places, 11)
    return figure


def _round(step: float) -> int:
    """Return a step of a scale near to `step`: 1, 2 or 5 times a power of ten."""
    power = 10 ** int(np.floor(np.log10(max(step, 1))))
    return int(min((power * n for n in (1, 2, 5, 10)), key=lambda near: abs(near - step)))


def draw_photo(axes: "Axes", photo: Photo) -> None:
    """Fill axes with a picture; x and y are its pixels."""
    step = max(1, max(photo.width, photo.height) // _SHOWN)
    pixels = encode_srgb(np.clip(photo.linear(photo.pixels[::step, ::step]), 0, 1))
    axes.imshow(pixels, extent=(-0.5, photo.width - 0.5, photo.height - 0.5, -0.5),
                interpolation="antialiased")  # fmt: skip


def _named_places(
    axes: "Axes", photo: Photo, names: Sequence[tuple[str, Array | None]], size: float
) -> None:
    """Draw a cross at each place and its name beside it, in black on white, toward the middle."""
    for name, at in names:
        if at is None:
            continue
        axes.plot(*at, "+", color="white", markersize=11, markeredgewidth=3.4, zorder=3)
        axes.plot(*at, "+", color="black", markersize=10, markeredgewidth=1.4, zorder=4)
        side = (13 if at[0] < photo.width / 2 else -13, 11 if at[1] > photo.height / 2 else -11)
        axes.annotate(
            name, (at[0], at[1]), side, textcoords="offset points", fontsize=size, weight="bold",
            ha="center", va="center", zorder=5, color="black",
            bbox={"boxstyle": "round,pad=0.15", "facecolor": "white", "edgecolor": "black",
                  "linewidth": 0.8},
        )  # fmt: skip


def _row(
    axes: "Axes", one: Passage, words: list[str], top: float, height: float, size: float
) -> None:
    """Draw a passage within a row that begins at `top` [inches from the bottom of the sheet]."""

    left, middle, target = EDGE, top - height / 2, one.place.target
    axes.text(left + 0.2, middle, str(one.order), fontsize=17, weight="bold", ha="center",
              va="center", color=style.INK)  # fmt: skip
    labs = np.array([target.lab, one.answer.recipe.lab])
    left = draw_pair(axes, left + 0.45, top, height, labs, one.values, target.view)
    axes.text(left + 0.15, middle, "\n".join(words), fontsize=size, va="center", color=style.INK,
              linespacing=1.15)  # fmt: skip


def draw_pair(
    axes: "Axes", left: float, top: float, height: float, labs: Array, values: Sequence[float],
    view: Viewing,
) -> float:  # fmt: skip
    """Draw what is wanted and what is mixed side by side with their values; return where it ends.

    Parameters
    ----------
    left, top, height : [inches] of the row
    labs : CIELAB (2, 3)
    values : Munsell value of the two, which tells them apart in a grey print
    """
    from matplotlib.patches import Rectangle

    size = min(9.5, 72 * (height - 0.06) / 2.6)
    for hex, value, word in zip(
        style.colours(labs, view)[0], values, ("wanted", "mixed"), strict=True
    ):
        axes.add_patch(Rectangle((left, top - height + 0.03), PATCH, height - 0.06, facecolor=hex,
                                 edgecolor=style.INK, linewidth=0.6))  # fmt: skip
        axes.text(left + PATCH / 2, top - height / 2, f"{word}\n{value:.1f}", fontsize=size,
                  ha="center", va="center", color="white" if value < 5.5 else "black")  # fmt: skip
        left += PATCH
    return left


def draw_cautions(axes: "Axes", paints: Iterable[Paint]) -> None:
    """Write at the foot of a sheet whose safety data sheets are to be read."""
    some = {paint.id: paint for paint in paints}.values()
    if careful := [paint.id for paint in some if paint.cautions]:
        note = f"Cautions: read the maker's safety data sheets of {', '.join(careful)}."
        if fading := [paint.id for paint in some if paint.fading]:
            note += f" Doubtful or fugitive in light: {', '.join(fading)}."
        axes.text(EDGE, 0.3, "\n".join(fold(note, 105)), fontsize=8, va="bottom",
                  color=style.INK)  # fmt: skip
