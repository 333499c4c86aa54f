"""The two forms of every picture: for a class that sees it on the wall, and for paper."""

from dataclasses import dataclass, replace

from mixlab.errors import PlotError
from mixlab.show.plots.text import CAPITAL


@dataclass(frozen=True)
class Form:
    """What a picture is made for.

    A capital is at least 1/200 of the distance from which it is read, 17 minutes of arc: common
    practice; ISO 9241-303 asks for 16 at least (from memory).

    Attributes
    ----------
    name : "screen" or "print"
    size : width and height [inches]
    letters : size of the usual letter [points]; the smallest are five sixths of it
    dots : to the inch, of a PNG
    shown : height at which the picture is seen [m]
    distance : from which it is read [m]
    """

    name: str
    size: tuple[float, float]
    letters: float
    dots: int
    shown: float
    distance: float

    @property
    def least(self) -> float:
        """The smallest size of letters that is read [points]."""
        return self.distance / 200 / self.shown * 72 * self.size[1] / CAPITAL

    @property
    def on_screen(self) -> bool:
        """Whether it is the projector's."""
        return self.name == "screen"

    @property
    def wide(self) -> "Form":
        """The same, wider than high."""
        across, high = max(self.size), min(self.size)
        return replace(self, size=(across, high), shown=self.shown * high / self.size[1])


SCREEN = Form("screen", (40 / 3, 7.5), 24.0, 144, 1.5, 8.0)
"""A picture 1.5 m high, as a class sees it, read at 8 m; 1920 x 1080 pixels."""
PRINT = Form("print", (8.27, 11.69), 10.0, 200, 0.297, 0.4)
"""A4, read in the hand."""
FORMS = {form.name: form for form in (PRINT, SCREEN)}


def form_named(name: str | None) -> Form:
    """Return the form of a name, print unless there is one; PlotError for another."""
    if name is None:
        return PRINT
    if name not in FORMS:
        raise PlotError(f"--for {name!r}: a picture is for {' or '.join(FORMS)}")
    return FORMS[name]
