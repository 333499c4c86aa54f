"""Text from files, and names, as a terminal, a picture and a page may bear them."""

import json
import re
from typing import Any

LONGEST_NAME = 80
"""Letters of a name that a message repeats; the rest of a longer one is left out."""

_LONGEST_LINE = 1_000
# what a terminal obeys or cannot print, line ends, what turns the order of letters, half characters
_OBEYED = re.compile("[\0-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
# quoted, as repr() has it; an apostrophe within a word is none. Each letter is read in one way
# only: else the time doubles with every one that is written out.
_LETTER = r"(?>\\.|(?!\1)[^\\])"
_LONG_NAME = re.compile(
    rf"""(?<![\w\\])(['"])({_LETTER}{{{LONGEST_NAME - 3}}}){_LETTER}{{4,}}+\1(?!\w)"""
)


def visible(text: str) -> str:
    r"""Return text with each character that a terminal would obey written out, as ``\x1b``.

    Control characters, line ends, what turns the order of writing, and bytes of a file name that
    are no text. What is written out already stays.
    """
    return _OBEYED.sub(lambda found: repr(found[0])[1:-1], text)


def one_line(message: str) -> str:
    """Return a message on one line, its long names shortened."""
    line = _LONG_NAME.sub(r"\1\2...\1", visible(message))
    return line if len(line) <= _LONGEST_LINE else f"{line[:800]} ... {line[-150:]}"


def shown(text: str) -> str:
    """Return a text from a file as a message can bear it: quoted, on one line, not too long."""
    line = " ".join(text.split())
    return repr(line if len(line) <= LONGEST_NAME else line[: LONGEST_NAME - 3] + "...")


def json_text(content: Any, **style: Any) -> str:
    """Return JSON that a terminal can bear: exact, as what it would obey stands as its number."""
    text = json.dumps(content, ensure_ascii=False, **style)
    return re.sub(
        "[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]",
        lambda found: f"\\u{ord(found[0]):04x}", text,
    )  # fmt: skip
