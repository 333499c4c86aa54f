"""Pages to print: drawn in millimetres of a sheet of A4, and written as PDF, PNG or SVG."""

import io
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mixlab.errors import PlotError
from mixlab.show.plots import style
from mixlab.show.plots.forms import PRINT
from mixlab.writing import writable, write_whole

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

KINDS = (".pdf", ".png", ".svg")
_DOTS = 300
MM = 25.4


def page(wide: float, high: float) -> tuple["Figure", "Axes"]:
    """Return a page [mm] and axes over all of it, in millimetres from its upper left corner."""
    from matplotlib.figure import Figure

    made = Figure(figsize=(wide / MM, high / MM))
    axes = made.add_axes((0, 0, 1, 1))
    axes.set(xlim=(0, wide), ylim=(high, 0))
    axes.set_axis_off()
    return made, axes


def box(axes: "Axes", at: Sequence[float], **look: Any) -> None:
    """Draw a box left, top, right, bottom."""
    from matplotlib.patches import Rectangle

    left, top, right, bottom = at
    axes.add_patch(Rectangle((left, top), right - left, bottom - top, **look))


def checked(path: str | os.PathLike[str], pages: int = 1) -> Path:
    """Return the path of pages to be written; PlotError if it cannot be one."""
    kind = Path(path).suffix.lower()
    if kind not in KINDS:
        raise PlotError(f"{path}: a page is written as .pdf, .png or .svg; end its name so")
    if pages > 1 and kind != ".pdf":
        raise PlotError(f"{path}: {pages} pages go into one .pdf; end its name so")
    return writable(path, PlotError)


def save(figures: Sequence["Figure"], path: str | os.PathLike[str]) -> None:
    """Write pages, several as PDF; whole or not at all."""
    from matplotlib import rcParams
    from matplotlib.backends.backend_pdf import PdfPages

    target = checked(path, len(figures))
    kind, stream = target.suffix.lower()[1:], io.BytesIO()
    with style.look(PRINT):
        rcParams["pdf.fonttype"] = 42  # letters stay letters: a page can be searched, read aloud
        if kind == "pdf":
            with PdfPages(stream, metadata={"CreationDate": None}) as file:
                for one in figures:
                    file.savefig(one, facecolor="white")
        else:
            dated = {"Date": None} if kind == "svg" else {"Software": None}
            figures[0].savefig(stream, format=kind, dpi=_DOTS, facecolor="white", metadata=dated)
    write_whole(target, stream.getvalue(), PlotError)


def title(axes: "Axes", x: float, y: float, text: str, **look: Any) -> None:
    """Write a title."""
    axes.text(x, y, text, weight="bold", color=style.INK, va="baseline", **look)
