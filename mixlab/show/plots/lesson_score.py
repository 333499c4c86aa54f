"""What a class painted: a page for each student, and a chart of all."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from mixlab.arrays import Array
from mixlab.colour.difference import TOLERANCE
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, lab_to_munsell, lab_to_value
from mixlab.lesson import layout
from mixlab.lesson.scoring import Scored
from mixlab.mixing.ladders import Path
from mixlab.show.lesson_words import PREDICTS, came_out, guesses, next_time
from mixlab.show.plots import pages, style
from mixlab.show.plots.forms import PRINT, Form
from mixlab.show.plots.ladders import aside
from mixlab.show.plots.text import fitted
from mixlab.show.terminal import fold

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_GREY = "#c9c9c9"  # neutral: a swatch is judged by what surrounds it
_MOST_ON_A_CHART, _MOST_ON_A_WALL = 24, 12


@style.drawn
def student_page(scored: Scored) -> "Figure":
    """Return the page of one student: the squares beside the prediction, guesses, and the slip."""
    made, axes = pages.page(layout.WIDE, layout.HIGH)
    sheet = scored.painted.sheet
    _title(axes, scored)
    top = 50.0
    pages.title(axes, 15, top, "Predicted above, painted below", fontsize=11)
    top = _pairs(axes, scored, top + 4)
    for head, lines in (
        ("What came out", came_out(scored)),
        ("Your guesses", [f"{i}. {line}" for i, line in enumerate(guesses(scored), start=1)]),
        ("Next time", next_time(scored)),
    ):
        pages.title(axes, 15, top, head, fontsize=11)
        hang = 3 if len(lines) > 1 else 0
        written = [part for line in lines for part in fold(line, 100, hang)]
        axes.text(15, top + 2.5, "\n".join(written), fontsize=9.5, va="top", color=style.INK,
                  linespacing=1.3)  # fmt: skip
        top += 9.5 + 4.6 * len(written)
    room = (layout.HIGH - 18) - (top + 2)
    plot = made.add_axes((0.14, 30 / layout.HIGH, 0.76, (room - 18) / layout.HIGH))
    _paths(plot, [scored])
    note = fold(f"{PREDICTS} {_HONEST} {sheet.start.view}.", 130)
    axes.text(15, layout.HIGH - 8, "\n".join(note), fontsize=7, va="bottom",
              color=style.QUIET)  # fmt: skip
    return made


_HONEST = (
    "Colours of a photograph, beside the paper taken for white: good for comparing squares, not a "
    "measurement. The prediction is of the table's paint; a tube of another maker may be stronger "
    "or weaker."
)


def _title(axes: "Axes", scored: Scored) -> None:
    start, toward = (name.replace("-", " ") for name in scored.painted.sheet.names)
    pages.title(axes, 15, 18, f"{start[:1].upper()}{start[1:]} toward {toward}: what you painted",
                fontsize=15)  # fmt: skip
    axes.text(15, 24, scored.label, fontsize=9, color=style.QUIET)
    line = scored.painted.name_line
    high = 12.0
    wide = high * line.shape[1] / line.shape[0]
    axes.imshow(line, extent=(15, 15 + wide, 40, 28),
                interpolation="antialiased", aspect="auto")  # fmt: skip
    axes.set(xlim=(0, layout.WIDE), ylim=(layout.HIGH, 0))


def _pairs(axes: "Axes", scored: Scored, top: float) -> float:
    """Draw every square under what was predicted of it; return where that ends."""
    sheet = scored.painted.sheet
    view, count = sheet.start.view, sheet.steps
    across = count if count <= 7 else -(-count // 2)
    wide = 180 / across
    half = 15.0 if across == count else 10.0  # height of a swatch
    high, pitch = 2 * half + 3, 2 * half + 22
    for i, (wanted, lab) in enumerate(zip(sheet.lab, scored.lab, strict=True)):
        row, column = divmod(i, across)
        left, y = 15 + wide * column, top + pitch * row
        pages.box(axes, (left, y, left + wide, y + high), facecolor=_GREY)
        inside = left + 1.5, left + wide - 1.5
        slip = scored.mismeasured is not None and scored.mismeasured.square == i + 1
        for at, one in ((y + 1.5, wanted), (y + 1.5 + half, lab)):
            box = (inside[0], at, inside[1], at + half)
            if one is None:
                pages.box(axes, box, facecolor="white", edgecolor=style.QUIET, hatch="//",
                          linewidth=0.5)  # fmt: skip
            else:
                pages.box(axes, box, facecolor=style.colours(one, view)[0][0])
        if slip:
            pages.box(axes, (left, y, left + wide, y + high), facecolor="none",
                      edgecolor=style.INK, linewidth=2.5, zorder=5)  # fmt: skip
        a, b = sheet.parts[i]
        words = [f"{i + 1}:  {a} to {b}"]
        if lab is None:
            words.append("not read")
        else:
            words += [_munsell(wanted, view), _munsell(lab, view)]
            words += [f"miss {scored.misses[i]:.1f}", ",\n".join(scored.words[i][:2])]
        axes.text(left + wide / 2, y + high + 1, "\n".join(words), fontsize=7.6, ha="center",
                  va="top", color=style.INK, linespacing=1.2)  # fmt: skip
    for row in range(-(-count // across)):
        for y, word in ((half / 2 + 1.5, "predicted"), (1.5 * half + 1.5, "painted"),
                        (high + 6.2, "predicted"), (high + 9.7, "painted")):  # fmt: skip
            axes.text(14, top + pitch * row + y, word, fontsize=6, ha="right", va="center",
                      color=style.QUIET)  # fmt: skip
    return top + pitch * -(-count // across) + 10


def _munsell(lab: np.ndarray, view: object) -> str:
    return write_munsell(lab_to_munsell(lab, view))  # type: ignore[arg-type]


def _paths(plot: "Axes", all_scored: Sequence[Scored]) -> None:
    """Draw value against chroma: the prediction as a line, what was painted as true dots."""
    sheet = all_scored[0].painted.sheet
    view = sheet.start.view
    alone = len(all_scored) == 1
    way = _places(Path(sheet.start, sheet.toward).grid[1], view)
    plot.plot(*way.T, "-", color=style.INK, linewidth=1.4, zorder=2)
    predicted = _places(sheet.lab, view)
    plot.plot(*predicted.T, "s", color=style.INK, markersize=4, zorder=2, clip_on=False)
    every = [predicted]
    for scored in all_scored:
        read = np.array([lab for lab in scored.lab if lab is not None])
        every.append(_places(read, view))
        plot.plot(*every[-1].T, ":", color=style.QUIET, linewidth=0.9, zorder=1)
        plot.scatter(every[-1][:, 0], every[-1][:, 1], s=60 if alone else 34, edgecolors=style.INK,
                     c=style.colours(read, view)[0], linewidths=0.6, zorder=3,
                     clip_on=False)  # fmt: skip
    for i in range(sheet.steps):
        across, up = aside(np.concatenate(every), i, way)
        plot.annotate(str(i + 1), predicted[i], (across, up), textcoords="offset fontsize",
                      ha="left" if across > 0 else "right" if across < 0 else "center",
                      va="center", fontsize=9, color=style.INK)  # fmt: skip
    told, found = "Line: predicted. Dots: painted", all_scored[0].mismeasured
    if alone and found is not None and (lab := all_scored[0].lab[found.square - 1]) is not None:
        plot.plot(*_places(lab[None], view).T, "o", color="none", markeredgecolor=style.INK,
                  markersize=11, markeredgewidth=2.5, zorder=4, clip_on=False)  # fmt: skip
        told += f", in a thick ring square {found.square}"
    plot.set_xlim(left=0)
    plot.set_ylim(0, 10)
    plot.set_xlabel("chroma C*", fontsize=9)
    plot.set_ylabel("Munsell value", fontsize=9)
    plot.tick_params(labelsize=8)
    plot.grid(True, color=style.FAINT)
    plot.set_axisbelow(True)
    for side in ("top", "right"):
        plot.spines[side].set_visible(False)
    plot.set_title(f"{told}.", fontsize=9, loc="left", pad=12, weight="normal")


def _places(labs: Array, view: Viewing) -> Array:
    """Return chroma C* and Munsell value (n, 2) of CIELAB (n, 3)."""
    return np.stack([np.hypot(*labs[:, 1:].T), lab_to_value(labs, view)], axis=-1)


@style.drawn
def class_chart(all_scored: Sequence[Scored], *, form: Form = PRINT) -> "Figure":
    """Return the chart of a class: the prediction, and a row for each sheet under it."""
    if form.on_screen:
        return _on_the_wall(all_scored, form)
    sheet = all_scored[0].painted.sheet
    made, axes = pages.page(layout.HIGH, layout.WIDE)
    start, toward = (name.replace("-", " ") for name in sheet.names)
    shown = list(all_scored)[:_MOST_ON_A_CHART]
    pages.title(axes, 12, 14, f"{start[:1].upper()}{start[1:]} toward {toward}: "
                f"{_counted(shown, all_scored)}", fontsize=15)  # fmt: skip
    top = 26.0
    row = min(19.0, (layout.WIDE - 22 - top) / (len(shown) + 1.5))
    _rows(axes, shown, (52.0, top, 188.0), row, 9)
    _told(axes, all_scored, top)
    plot = made.add_axes((214 / layout.HIGH, 24 / layout.WIDE, 74 / layout.HIGH, 78 / layout.WIDE))
    _paths(plot, all_scored)
    note = (
        f"Thick frame: a part was likely mismeasured. Figures: the miss. {PREDICTS} {_HONEST} "
        f"{sheet.start.view}."
    )
    axes.text(12, layout.WIDE - 6, "\n".join(fold(note, 175)), fontsize=7, va="bottom",
              color=style.QUIET)  # fmt: skip
    return made


def _on_the_wall(all_scored: Sequence[Scored], form: Form) -> "Figure":
    """Return the chart for the back row of a class: the rows, and what they show in a line."""
    sheet = all_scored[0].painted.sheet
    wide, high = (pages.MM * side for side in form.size)
    made, axes = pages.page(wide, high)
    made.set_dpi(form.dots)
    start, toward = (name.replace("-", " ") for name in sheet.names)
    shown = list(all_scored)[:_MOST_ON_A_WALL]
    more = f": {_counted(shown, all_scored)}" if len(shown) < len(all_scored) else ""
    pages.title(axes, 10, 16, f"{start[:1].upper()}{start[1:]} toward {toward}{more}",
                fontsize=1.1 * form.letters)  # fmt: skip
    row = min(20.0, (high - 74) / (len(shown) + 1.3))
    _rows(axes, shown, (78, 36, wide - 10), row, form.least)
    best = " or ".join(sheet.guesses[0].choices[n] for n in sheet.guesses[0].right)
    told = [one.guessed[0] for one in all_scored if one.guessed[0] is not None]
    slips = sum(one.mismeasured is not None for one in all_scored)
    axes.text(10, high - 24, f"Chroma is highest in square {best}: {sum(map(bool, told))} of "
              f"{len(told)} guessed it.\nFigures: the miss; up to {TOLERANCE:g} is a hit. Framed: "
              f"likely mismeasured, {slips}.",
              fontsize=form.least, va="center", linespacing=1.25, color=style.INK)  # fmt: skip
    return made


def _counted(shown: Sequence[Scored], all_scored: Sequence[Scored]) -> str:
    """Return how many sheets there are, and that only the first are drawn where it is so."""
    of = f"the first {len(shown)} of " if len(shown) < len(all_scored) else ""
    return f"{of}{len(all_scored)} sheets"


def _rows(
    axes: "Axes", shown: Sequence[Scored], at: tuple[float, float, float], row: float, size: float
) -> None:
    """Draw the prediction and a row for each sheet; `at` is left, top and right."""
    left, top, right = at
    sheet = shown[0].painted.sheet
    wide = (right - left) / sheet.steps
    pages.box(axes, (left - 1, top - 1, right + 1, top + row * (len(shown) + 1.3) + 1),
              facecolor=_GREY)  # fmt: skip
    view = sheet.start.view
    for i, parts in enumerate(sheet.parts):
        x = left + wide * i
        axes.text(x + wide / 2, top - 2.2, f"{i + 1}:  {parts[0]} to {parts[1]}", ha="center",
                  fontsize=min(size, 5.2 * wide / 11 + 1), color=style.INK)  # fmt: skip
        pages.box(axes, (x, top, x + wide, top + row),
                  facecolor=style.colours(sheet.lab[i], view)[0][0])  # fmt: skip
    axes.text(left - 3, top + row / 2, "predicted", fontsize=size, weight="bold", ha="right",
              va="center", color=style.INK)  # fmt: skip
    for n, scored in enumerate(shown):
        y = top + row * (n + 1.3)
        room = (left - 14) * 72 / pages.MM
        words, letters = fitted(_short(scored.label), room, (size, 0.8 * size, 0.6 * size), 1)
        axes.text(left - 3, y + row / 2, words, fontsize=min(letters, row * 2.2), ha="right",
                  va="center", color=style.INK)  # fmt: skip
        _student_row(axes, scored, left, y, wide, row, size)


def _short(label: str) -> str:
    return label if len(label) <= 24 else label[:23] + "…"


def _student_row(
    axes: "Axes", scored: Scored, left: float, y: float, wide: float, row: float, size: float
) -> None:
    view = scored.painted.sheet.start.view
    gap = min(0.6, row / 10)
    for i, (lab, miss) in enumerate(zip(scored.lab, scored.misses, strict=True)):
        box = left + wide * i, y + gap, left + wide * (i + 1), y + row - gap
        if lab is None or miss is None:
            pages.box(axes, box, facecolor="white", hatch="//", edgecolor=style.QUIET,
                      linewidth=0.4)  # fmt: skip
            continue
        pages.box(axes, box, facecolor=style.colours(lab, view)[0][0])
        axes.text(box[0] + wide / 2, y + row / 2, f"{miss:.0f}", fontsize=min(size, row * 1.8),
                  ha="center", va="center", color="white" if lab[0] < 55 else "black")  # fmt: skip
    if scored.mismeasured is not None:
        x = left + wide * (scored.mismeasured.square - 1)
        pages.box(axes, (x, y, x + wide, y + row), facecolor="none", edgecolor="black",
                  linewidth=2.4, zorder=5)  # fmt: skip


def _told(axes: "Axes", all_scored: Sequence[Scored], top: float) -> None:
    """Write how the class guessed, and what was mismeasured."""
    sheet = all_scored[0].painted.sheet
    lines = []
    for i, guess in enumerate(sheet.guesses):
        made = [scored.guessed[i] for scored in all_scored if scored.guessed[i] is not None]
        best = " or ".join(guess.choices[n] for n in guess.right)
        lines += fold(f"{guess.question} {best[:1].upper()}{best[1:]}: {sum(map(bool, made))} of "
                      f"{len(made)} guessed it.", 46)  # fmt: skip
        lines.append("")
    slips = [s for s in all_scored if s.mismeasured is not None]
    lines += [*fold(f"Likely mismeasured on {len(slips)} of {len(all_scored)}:", 46)]
    for one in slips[:6]:
        lines += fold(f"{_short(one.label)}, {one.mismeasured}", 46, 2)
    axes.text(204, top, "\n".join(lines[:26]), fontsize=8, va="top", color=style.INK,
              linespacing=1.3)  # fmt: skip
