"""A sheet to pin up beside the easel: numbered places on the picture, and what mixes each."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from mixlab.arrays import Array
from mixlab.colour.spaces import Viewing, encode_srgb
from mixlab.errors import PlotError
from mixlab.paint.paints import Paint
from mixlab.picture.passages import Passage, in_order
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT, SCREEN, Form
from mixlab.show.plots.listing import Row, fits, listing
from mixlab.show.plots.text import fitted, folded
from mixlab.targets.photo_files import Photo

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

A4 = PRINT.size
EDGE = 0.45  # inches that printers leave white
PATCH = 0.85  # inches, the width of a patch
_LETTERS = ((11.5, False), (10.5, False), (10.5, True), (9.5, True))
"""Sizes [points], and whether the name stands in the recipe's line: the first that leaves room for
the picture. Smaller letters are not read at arm's length."""
_LEAST = 3.6  # inches that a picture is high, if letters can be smaller instead
_SHOWN = 1600  # pixels of the longer side of a picture on paper
MOST_ON_A_SHEET = 18
MOST_ON_SCREEN = 9


@style.drawn
def sheet(
    passages: Sequence[Passage], photo: Photo | None, palette: str, *, form: Form = PRINT
) -> "Figure":
    """Return an A4 page: the picture with its places numbered in the order in which they are mixed.

    Under it a row for each: the wanted patch and the mixed one side by side with their Munsell
    values, which tell them apart in a grey print; name, recipe in words, and the miss. On the
    screen the same as a list beside the picture.

    Raises
    ------
    PlotError : for more passages than can be read on one page
    """
    if form.on_screen:
        listed = [
            Row(str(one.order), [one.place.target.lab, one.answer.recipe.lab],
                f"{one.place.name}: {_miss(one)}", str(one.answer.recipe),
                [f"{value:.1f}" for value in one.values])
            for one in in_order(passages)
        ]  # fmt: skip
        marks = [(str(one.order), one.place.at) for one in in_order(passages)]
        return passages_on_screen(f"{_capital(palette)}: wanted, mixed, and their values", listed,
                                  photo, marks, passages[0].place.target.view)  # fmt: skip
    if len(passages) > MOST_ON_A_SHEET:
        raise PlotError(
            f"a sheet holds {MOST_ON_A_SHEET} passages, and these are {len(passages)}: part them"
        )
    made, (wide, high) = blank(), A4
    ordered = in_order(passages)
    places = [one for one in ordered if one.place.at is not None]
    top = high - EDGE
    top -= headline(made, f"{_capital(palette)}: mix in this order, darks first")
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


def blank() -> "Figure":
    """Return an empty A4 page, on which everything has its place in inches."""
    from matplotlib.figure import Figure

    return Figure(figsize=A4, dpi=PRINT.dots)


def headline(made: "Figure", title: str) -> float:
    """Write the title of a sheet, folded and smaller where it is long; return its height [in]."""
    (wide, high), sizes = A4, (15.0, 13.0, 11.0, 9.0, 7.0, 5.0)
    words, size = fitted(title, 72 * (wide - 2 * EDGE), sizes, 2, bold=True)
    made.text(EDGE / wide, 1 - EDGE / high, words, fontsize=size, weight="bold", va="top",
              color=style.INK)  # fmt: skip
    return 0.13 + 1.25 * size / 72 * (words.count("\n") + 1)


def passages_on_screen(
    title: str, rows: Sequence[Row], photo: Photo | None,
    marks: Sequence[tuple[str, Array | None]], view: Viewing,
) -> "Figure":  # fmt: skip
    """Return a list of passages 16:9, beside the picture where they can be read beside it.

    No more than can be read from the back row; the title says so.
    """
    if len(rows) > MOST_ON_SCREEN:
        title = f"{title} ({MOST_ON_SCREEN} of {len(rows)})"
        rows, marks = rows[:MOST_ON_SCREEN], marks[:MOST_ON_SCREEN]
    wide, high = (72 * side for side in SCREEN.size)
    parts: tuple[float, ...] = (0.55, 0.35) if photo is not None else ()
    part = next((part for part in parts if fits(
        rows, wide / (1 + part) - SCREEN.letters, high - 3.6 * SCREEN.letters, SCREEN)), None)
    figure, axes = style.figure(
        title=title, layout=[["picture", "list"] if part else ["list"]],
        widths=(part, 1.0) if part else None, form=SCREEN,
    )  # fmt: skip
    if part and photo is not None:
        panel = axes["picture"]
        draw_photo(panel, photo)
        panel.set_axis_off()
        for number, at in marks:
            if at is not None:
                disc(panel, number, at, SCREEN.least)
    listing(axes["list"], rows, view, SCREEN)
    return figure


def disc(axes: "Axes", number: str, at: ArrayLike, size: float) -> None:
    """Write a number in a white disc at a place of a picture, in letters of a size [points]."""
    x, y = np.asarray(at, dtype=float)
    axes.annotate(number, (x, y), fontsize=size, weight="bold", ha="center", va="center",
                  color="black", zorder=5,
                  bbox={"boxstyle": "circle,pad=0.2", "facecolor": "white", "edgecolor": "black",
                        "linewidth": 0.06 * size})  # fmt: skip


def _capital(name: str) -> str:
    return name[:1].upper() + name[1:]


def _miss(one: Passage) -> str:
    miss = f"miss {one.answer.recipe.miss:.1f}"
    return miss + ("" if one.answer.in_reach else ", out of reach")


def _words(one: Passage, size: float, short: bool) -> list[str]:
    """Return what stands beside the patches, in lines: name and miss, then the recipe."""
    recipe = one.answer.recipe
    room = (A4[0] - 2 * EDGE - 0.6 - 2 * PATCH) * 72
    name = f"{one.place.name} ({_miss(one)})"
    if short:
        return folded(f"{name}: {recipe}", room, size)
    return [*folded(name, room, size), *folded(str(recipe), room, size)]


@style.drawn
def marked(
    photo: Photo, places: Sequence[tuple[str, Array | None]], *, form: Form = PRINT
) -> "Figure":
    """Return a picture with a grid in pixels and a name where each place (2,) of it lies."""
    figure, axes = style.figure(form=form.wide if photo.width > photo.height else form)
    panel = axes[0, 0]
    draw_photo(panel, photo)
    step = _round(max(photo.width, photo.height) / 12)
    panel.set_xticks(np.arange(0, photo.width, step))
    panel.set_yticks(np.arange(0, photo.height, step))
    if form.on_screen:
        panel.tick_params(axis="x", rotation=90)
    panel.tick_params(top=True, labeltop=True, right=True, labelright=True)
    panel.set_axisbelow(False)
    panel.grid(True, color="white", linewidth=1.6, alpha=0.45)
    for x in panel.get_xticks():
        panel.axvline(x, color="black", linewidth=0.5, alpha=0.6)
    for y in panel.get_yticks():
        panel.axhline(y, color="black", linewidth=0.5, alpha=0.6)
    _named_places(panel, photo, places, form.letters)
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
        axes.plot(*at, "+", color="white", markersize=size, markeredgewidth=0.3 * size, zorder=3)
        axes.plot(*at, "+", color="black", markersize=0.9 * size, markeredgewidth=0.12 * size,
                  zorder=4)  # fmt: skip
        side = (1.2 * size if at[0] < photo.width / 2 else -1.2 * size,
                size if at[1] > photo.height / 2 else -size)  # fmt: skip
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
        lines = folded(note, 72 * (A4[0] - 2 * EDGE), 8.0)
        axes.text(EDGE, 0.3, "\n".join(lines), fontsize=8, va="bottom",
                  color=style.INK)  # fmt: skip
