"""The look that all pictures share: two forms, sizes, lines told apart without hue, true swatches.

On the screen a picture is 16:9 and is read from the back row; in print it is an A4 page that stays
readable in grey. Dark ink on white. No line is told from another by hue alone: every line has its
own dashes and marker as well.
"""


import io
import logging
import os
import re
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import chdir, contextmanager, suppress
from functools import wraps
from itertools import cycle
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec

import numpy as np
from numpy.typing import ArrayLike

from mixlab.colour.difference import ciede2000
from mixlab.colour.munsell import write_munsell
from mixlab.colour.spaces import Viewing, in_gamut, lab_to_hex, lab_to_munsell
from mixlab.errors import PlotError
from mixlab.show.plots.forms import FORMS, PRINT, Form
from mixlab.show.plots.text import FAMILIES, FAMILY, clean, families_for, fitted, unknown
from mixlab.writing import writable, write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

P = ParamSpec("P")

INK = "#22252a"
QUIET = "#5d626b"
FAINT = "#d9dce1"
SURROUND = "#777777"
"""The grey around swatches, L* 50: the background for which CIEDE2000 was made; CIE 142-2001."""

_EDGED = 12.0  # CIEDE2000 from the surround, below which a swatch needs an edge
_LIGHT = 90.0  # L* from which it needs one too, for a page on which the grey does not print
_STROKE = "stroke: a screen (sRGB) cannot show it"
_NEUTRAL = 0.3  # Munsell chroma below which a colour is written as a neutral

# even in lightness steps, so that they part in a grey print and for every kind of colour vision
_COLOURS = ("#14213d", "#b4531f", "#3d7ea6", "#8a6a00", "#7a3b69", "#5f7f3a")
_DASHES = ("-", "--", "-.", ":", (0, (5, 1, 1, 1, 1, 1)), (0, (8, 3)))
_MARKERS = ("o", "s", "^", "D", "v", "P")

KINDS = (".png", ".svg")


# --- the look ------------------------------------------------------------------------------------


def _rc(form: Form) -> dict[str, Any]:
    size = form.letters
    return {
        "figure.dpi": form.dots,
        "font.family": [FAMILY],
        "font.sans-serif": list(FAMILIES),
        "font.size": size,
        "axes.titlesize": "medium",
        "axes.titleweight": "bold",
        "axes.titlelocation": "left",
        "axes.labelsize": "small",
        "axes.edgecolor": QUIET,
        "axes.labelcolor": INK,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "text.color": INK,
        "text.parse_math": False,
        "text.usetex": False,
        "xtick.labelsize": "small",
        "ytick.labelsize": "small",
        "xtick.color": INK,
        "ytick.color": INK,
        "grid.color": FAINT,
        "axes.grid": True,
        "axes.axisbelow": True,
        "lines.linewidth": 0.5 + 0.13 * size,
        "lines.markersize": 0.6 * size,
        "legend.frameon": False,
        "legend.fontsize": "small",
        "figure.constrained_layout.h_pad": 0.008 * size,
        "figure.constrained_layout.w_pad": 0.008 * size,
        "svg.hashsalt": "mixlab",
        "svg.fonttype": "none",
    }


@contextmanager
def look(form: Form) -> Iterator[None]:
    """Draw in the look of a form, whatever a ``matplotlibrc`` says, here or at home."""
    with suppress(OSError), chdir(os.path.dirname(__file__)):  # the one in this folder is not read
        import matplotlib
    import matplotlib  # where the folder is gone there is none to be read

    with matplotlib.rc_context(), warnings.catch_warnings():
        # the letters that no font has are told of in the picture
        warnings.filterwarnings("ignore", "Glyph .* missing")
        matplotlib.rcdefaults()
        rc: Any = matplotlib.rcParams
        rc.update(_rc(form))
        log = logging.getLogger("matplotlib.font_manager")
        level = log.level
        log.setLevel(logging.ERROR)
        try:
            yield
        finally:
            log.setLevel(level)


def drawn(draw: "Callable[P, Figure]") -> "Callable[P, Figure]":
    """Let a function draw in the look of its `form`, a keyword; A4 unless given."""

    @wraps(draw)
    def made(*args: P.args, **given: P.kwargs) -> "Figure":
        form = given.get("form", PRINT)
        assert isinstance(form, Form)
        with look(form):
            figure = draw(*args, **given)
            _plain(figure)
        return figure

    return made


# --- a figure -------------------------------------------------------------------------------------


def figure(
    rows: int = 1, columns: int = 1, title: str = "", height: float = 3.6, width: float = 5.4,
    layout: Sequence[Sequence[str]] = (), heights: Sequence[float] = (),
    widths: Sequence[float] | None = None, form: Form | None = None,
) -> tuple["Figure", Any]:  # fmt: skip
    """Return a figure and its axes; no window is opened and no state is kept.

    Parameters
    ----------
    rows, columns : of panels
    height, width : of a panel where there is no form [in]
    layout : names of the panels row by row; one that stands in several cells spans them
    heights, widths : of the rows and the columns, relative to each other
    form : whose size the figure has

    Returns
    -------
    figure, and axes (rows, columns), or the axes by name where there is a layout
    """
    from matplotlib.figure import Figure

    if layout:
        rows, columns = len(layout), len(layout[0])
    size = (width * columns, height * rows) if form is None else form.size
    made = Figure(figsize=size, layout="constrained", dpi=(form or PRINT).dots)
    if layout:
        axes: Any = made.subplot_mosaic(
            [list(row) for row in layout], height_ratios=heights or None, width_ratios=widths
        )
    else:
        axes = made.subplots(rows, columns, squeeze=False, height_ratios=heights or None,
                             width_ratios=widths)  # fmt: skip
    if title:
        entitle(made, title, form)
    if form is not None:
        _foot(made, " ")  # its place is kept
    return made, axes


def _foot(made: "Figure", words: str) -> None:
    """Write at the foot of a figure."""
    made.supxlabel(words, fontsize="small", x=0.99, ha="right", color=QUIET)


def entitle(made: "Figure", title: str, form: Form | None = None) -> None:
    """Write the title over a figure: folded, then in smaller letters, never cut."""
    large, least = 14.0, 6.0
    if form is not None:
        large, least = 1.2 * form.letters, form.least
    room = 72 * (made.get_figwidth() - 0.4)
    sizes = [*np.linspace(large, least, 5), 0.75 * least, 0.5 * least, 0.25 * least]
    words, size = fitted(title, room, sizes, 2, bold=True)
    made.suptitle(words, fontsize=size, x=0.2 / made.get_figwidth(), ha="left", weight="bold")


def key(axes: "Axes", looks: Sequence[dict[str, Any]], columns: int, title: str = "") -> None:
    """Fill empty axes with what marks and lines mean."""
    from matplotlib.lines import Line2D

    axes.set_axis_off()
    handles = [Line2D([], [], **look) for look in looks]
    axes.legend(handles=handles, loc="upper left", ncols=columns, title=title or None,
                alignment="left", borderaxespad=0.0)  # fmt: skip


def settle(made: "Figure") -> None:
    """Let the layout find every place, and keep it."""
    made.draw_without_rendering()
    made.set_layout_engine("none")


def _plain(made: "Figure") -> None:
    """Hold every text of a figure to letters that print, in fonts that have them."""
    for text in _texts(made):
        words = text.get_text()
        text.set_parse_math(False)
        if words != (cleaned := clean(words)):
            text.set_text(cleaned)
        if more := families_for(cleaned):
            text.set_fontfamily([FAMILY, *more])


def _texts(made: "Figure") -> "list[Text]":
    from matplotlib.text import Text

    return [text for text in made.findobj(Text) if isinstance(text, Text) and text.get_text()]


# --- marks ----------------------------------------------------------------------------------------


def dots(
    axes: "Axes", labs: ArrayLike, view: Viewing, places: ArrayLike, names: Sequence[str],
    aside: ArrayLike = (1.0, 0.0), marker: str = "o",
) -> None:  # fmt: skip
    """Draw colours (n, 3) as dots at places (n, 2), names beside them [letters]; axes from zero."""
    from matplotlib import rcParams

    hexes, _ = colours(labs, view)
    size = 1.05 * rcParams["font.size"]
    across, up = np.asarray(aside, dtype=float)
    for place, hex, name in zip(np.asarray(places), hexes, names, strict=True):
        axes.plot(*place, marker, color=hex, markeredgecolor=INK, markeredgewidth=0.08 * size,
                  markersize=size, zorder=2.5, clip_on=False)  # fmt: skip
        axes.annotate(name, place, (across, up), textcoords="offset fontsize", va="center",
                      ha="left" if across > 0 else "right" if across < 0 else "center",
                      fontsize="small", zorder=4)  # fmt: skip


def neutral(axes: "Axes", word: str = "neutral", aside: tuple[float, float] = (0, -1.1)) -> None:
    """Mark the middle of a plane of a* and b*, with a word beside it [letters]."""
    from matplotlib import rcParams

    size = rcParams["font.size"]
    axes.plot(0, 0, "+", color=INK, markersize=1.3 * size, markeredgewidth=0.12 * size, zorder=5)
    axes.annotate(word, (0, 0), aside, textcoords="offset fontsize", va="center", zorder=5,
                  ha="right" if aside[0] < 0 else "center", fontsize="small")  # fmt: skip


def lines() -> Iterator[dict[str, Any]]:
    """Return the looks of lines in turn, for ``axes.plot(x, y, **look)``."""
    for colour, dashes, marker in cycle(zip(_COLOURS, _DASHES, _MARKERS, strict=True)):
        yield {"color": colour, "linestyle": dashes, "marker": marker}


def spread(places: ArrayLike, gap: float) -> np.ndarray:
    """Return places (n,) moved as little as need be to lie `gap` apart, in the same order."""
    places = np.asarray(places, dtype=float)
    order = np.argsort(places, kind="stable")
    apart = gap * np.arange(len(places))
    blocks: list[tuple[float, int]] = []  # mean and count of what is pushed together
    for one in places[order] - apart:
        mean, count = float(one), 1
        while blocks and blocks[-1][0] > mean:
            other, more = blocks.pop()
            mean, count = (mean * count + other * more) / (count + more), count + more
        blocks.append((mean, count))
    moved = np.empty_like(places)
    means, counts = np.array(blocks).reshape(-1, 2).T
    moved[order] = np.repeat(means, counts.astype(int)) + apart
    return moved


# --- swatches -------------------------------------------------------------------------------------


def colours(labs: ArrayLike, view: Viewing) -> tuple[list[str], list[bool]]:
    """Return the sRGB colours "#rrggbb" of CIELAB (n, 3), and whether each is shown unclipped."""
    labs = np.atleast_2d(np.asarray(labs, dtype=float))
    return [lab_to_hex(lab, view) for lab in labs], [bool(g) for g in in_gamut(labs, view)]


def munsell(labs: ArrayLike, view: Viewing) -> list[str]:
    """Return the Munsell notation of CIELAB (n, 3), the nearly neutral ones as neutrals."""
    hvc = lab_to_munsell(np.atleast_2d(np.asarray(labs, dtype=float)), view)
    hvc[hvc[:, 2] < _NEUTRAL, 2] = 0.0
    return [write_munsell(one) for one in hvc]


def edge(lab: ArrayLike, view: Viewing) -> dict[str, Any]:
    """Return the edge of a swatch: a line where it is near to the surround, or to white paper."""
    grey = [50.0, 0.0, 0.0]
    needed = np.asarray(lab)[0] > _LIGHT or ciede2000(lab, grey) < _EDGED
    return {"edgecolor": INK if needed else "none", "linewidth": 0.8}


def swatches(
    axes: "Axes", labs: ArrayLike, view: Viewing, names: Sequence[str] = (), title: str = ""
) -> None:
    """Draw a row of swatches on neutral grey in true sRGB; one beyond sRGB bears a stroke.

    Parameters
    ----------
    labs : CIELAB (n, 3) seen under `view`
    names : what stands under each; one name may have several lines
    """
    labs = np.atleast_2d(np.asarray(labs, dtype=float))
    for i, lab in enumerate(labs):
        patch(axes, (i, 0), (1, 1), lab, view)
    count = len(labs)
    axes.set_facecolor(SURROUND)
    axes.set_xlim(-0.012 * count, 1.012 * count)
    axes.set_ylim(-0.12, 1.12)
    axes.grid(False)
    axes.set_yticks([])
    axes.set_xticks(np.arange(count) + 0.5, list(names) or [""] * count)
    axes.tick_params(length=0)
    for spine in axes.spines.values():
        spine.set_visible(False)
    if title:
        axes.set_title(title)
    _thin(axes, names)


def patch(
    axes: "Axes", corner: tuple[float, float], size: tuple[float, float], lab: ArrayLike,
    view: Viewing,
) -> None:  # fmt: skip
    """Draw a swatch, with a stroke if sRGB clips it; the foot of the figure then says so."""
    from matplotlib.patches import Rectangle

    (hex,), (unclipped,) = colours(lab, view)
    (x, y), (across, high) = corner, size
    axes.add_patch(Rectangle(corner, across, high, facecolor=hex, **edge(lab, view)))
    if not unclipped:
        axes.figure.set_label(_STROKE)
        for colour, line in (("white", 2.6), (INK, 1.0)):
            axes.plot([x, x + across], [y, y + high], color=colour, linewidth=line, marker="",
                      linestyle="-", zorder=3)  # fmt: skip


def _thin(axes: "Axes", names: Sequence[str]) -> None:
    """Leave out names under swatches, evenly, until none runs into the next."""
    from matplotlib import rcParams

    from mixlab.show.plots.text import width

    made: Any = axes.figure
    cell = 72 * made.get_figwidth() * axes.get_position(True).width / max(len(names), 1)
    size = rcParams["font.size"] / 1.2
    widest = max((width(clean(name), size) for name in names), default=0.0) + 0.4 * size
    step = int(np.ceil(widest / cell))
    if step > 1:
        axes.set_xticks(axes.get_xticks(), [name if i % step == 0 else ""
                                            for i, name in enumerate(names)])  # fmt: skip


# --- files ----------------------------------------------------------------------------------------


def checked(path: str | os.PathLike[str]) -> Path:
    """Return the path of a picture to be written; PlotError if it cannot be one."""
    if Path(path).suffix.lower() not in KINDS:
        raise PlotError(f"{path}: a picture is written as .png or .svg; end its name so")
    return writable(path, PlotError)


def save(made: "Figure", path: str | os.PathLike[str], view: Viewing) -> None:
    """Write a figure and how its colours are seen, as PNG or SVG by the name; whole or not at all.

    The text of an SVG stays text.

    Raises
    ------
    PlotError : for another ending, or a place that cannot be written
    """
    target = checked(path)
    kind = target.suffix.lower()[1:]
    form = next((form for form in FORMS.values() if form.dots == made.dpi), PRINT)
    note = "; ".join(filter(None, (str(made.get_label()), str(view))))
    if kind == "png" and any(unknown(text.get_text()) for text in _texts(made)):
        note = f"no font here has all these letters; an .svg shows them; {note}"
    stream = io.BytesIO()
    with look(form):
        _foot(made, note)
        _plain(made)
        made.savefig(
            stream, format=kind, dpi=made.dpi, facecolor="white",
            metadata={"Date": None} if kind == "svg" else {"Software": None},
        )  # fmt: skip
    content = stream.getvalue()
    if kind == "svg":  # a hundredth of a point is finer than any print; half the file
        content = re.sub(rb' d="[^"]*"', lambda d: re.sub(rb"(\.\d\d)\d+", rb"\1", d[0]), content)
        named: dict[bytes, bytes] = {}  # matplotlib names clips by where they lie in memory
        content = re.sub(rb'(?<=[#"])p[0-9a-f]{10}(?=[")])',
                         lambda p: named.setdefault(p[0], b"p%d" % len(named)), content)
    write_whole(target, content, PlotError)
