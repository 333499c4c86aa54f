"""What can go wrong, one class per kind of mistake.

Every message is a single line for the person who typed: what was wrong, where, and what would
be right. The command line prints it on stderr and ends with status 2.
"""


from collections.abc import Iterable
from difflib import get_close_matches

from mixlab.text import LONGEST_NAME, one_line


class MixlabError(Exception):
    """Base of every mistake that a user can make.

    `faults` holds every line where a file has several; the message is the first. Whatever a name
    in it holds, each is one line: see :func:`mixlab.text.one_line`.
    """

    def __init__(self, message: str = "", faults: Iterable[str] = ()) -> None:
        super().__init__(one_line(message))
        self.faults = tuple(map(one_line, faults)) or (str(self),)


class LightError(MixlabError):
    """A light or observer that is not known."""


class MunsellError(MixlabError):
    """Text that is not Munsell notation, or a notation outside the renotation."""


class TableError(MixlabError):
    """A pigment table that cannot be read or does not make sense."""


class CheckError(MixlabError):
    """A file that was checked; each of its faults is a line for the person."""


class PaletteError(MixlabError):
    """A palette file that cannot be read, or that names paints the table lacks."""


class NotationError(MixlabError):
    """A mix written in a way that cannot be read."""


class TargetError(MixlabError):
    """A target colour that cannot be understood."""


class PhotoError(MixlabError):
    """A picture file, or a place in it, that cannot be used."""


class SearchError(MixlabError):
    """Settings under which no recipe can be searched for."""


class LadderError(MixlabError):
    """A ladder, or a change of a mix, that cannot be made as asked."""


class DistanceError(MixlabError):
    """A horizon, a distance or a visibility that does not make sense."""


class LayerError(MixlabError):
    """A ground, a thickness or a wanted colour that no layer can be asked about."""


class ReachError(MixlabError):
    """Targets or tubes that cannot be asked about as given."""


class ReadingError(MixlabError):
    """Readings of paint that cannot be read or do not make sense."""


class CardError(MixlabError):
    """A photographed swatch card that cannot be used, or a part of it."""


class LessonError(MixlabError):
    """A sheet that cannot be made, or a photograph of one that cannot be read."""


class PlotError(MixlabError):
    """A picture that cannot be drawn to the file that was named."""


def suggestion(word: str, known: Iterable[str]) -> str:
    """Return "; near names: a, b" for the known names closest to `word`, or "" if none is near."""
    if len(word) > LONGEST_NAME:
        return ""
    as_written = {name.lower(): name for name in known}
    near = get_close_matches(word.lower(), list(as_written), n=3, cutoff=0.6)
    return f"; near names: {', '.join(as_written[name] for name in near)}" if near else ""
