"""Every reader as a function of bytes: what it makes of them is a value or a MixlabError."""

import contextlib
import os
import tempfile
from pathlib import Path

from mixlab.colour.munsell import parse_munsell
from mixlab.colour.spaces import viewing
from mixlab.errors import MixlabError
from mixlab.measure.card_layout import read_layout
from mixlab.measure.readings import read_readings
from mixlab.paint.add import strength_of
from mixlab.paint.names import parse_mix
from mixlab.paint.tables import read_palette, read_table
from mixlab.targets.many import from_list
from mixlab.targets.one import from_spectrum, from_text
from mixlab.targets.photo_files import read_photo
from mixlab.targets.photos import place
from mixlab.targets.places import read_places
from mixlab.text import json_text, visible

VIEW, TABLE = viewing(), read_table()
_FOLDER = tempfile.TemporaryDirectory(dir="/dev/shm" if os.path.isdir("/dev/shm") else None)
_FILE = Path(_FOLDER.name) / "file"


def file_of(data):
    """Return the path of a file of these bytes; the next one takes its place."""
    _FILE.write_bytes(data)
    return _FILE


def _picture(data):
    photo = read_photo(file_of(data))
    with contextlib.suppress(MixlabError):  # it may be transparent there
        place(photo, 0, 0)


def _typed(data):
    text = data.decode(errors="replace")
    for read in (
        lambda: parse_munsell(text), lambda: from_text(text, VIEW),
        lambda: parse_mix(text, TABLE.names), lambda: TABLE.mix(text).lab,
        lambda: strength_of(text),
    ):  # fmt: skip
        with contextlib.suppress(MixlabError):
            read()
    json_text({"name": text})


def _companion(data):
    read_readings(_readings(), file_of(data))


def _readings():
    path = Path(_FOLDER.name) / "readings.csv"
    if not path.exists():
        curve = ",".join(map(str, range(400, 710, 10)))
        path.write_text(f"sample,{curve}\nkiln 1,{'0.2,' * 30}0.2\n")
    return path


READERS = {
    "readings": lambda data: read_readings(file_of(data)),
    "companion": _companion,
    "table": lambda data: read_table(file_of(data), with_bundled=True),
    "palette": lambda data: read_palette(file_of(data), TABLE),
    "card": lambda data: read_layout(file_of(data)),
    "list": lambda data: from_list(file_of(data)),
    "spectrum": lambda data: from_spectrum(file_of(data), VIEW),
    "places": lambda data: read_places(file_of(data), VIEW),
    "typed": _typed,
    "picture": _picture,
}
"""What reads each kind of file, or of text that is typed."""


def fed(kind, data):
    """Feed a reader; a MixlabError is an answer, if it is one line and short."""
    try:
        READERS[kind](data)
    except MixlabError as error:
        for fault in error.faults:
            assert len(fault.splitlines()) == 1 and len(fault) <= 1000, fault
            assert visible(fault) == fault, fault
        return str(error)
    return ""

