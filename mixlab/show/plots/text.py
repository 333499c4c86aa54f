"""Text in pictures: cleaned, measured, folded to its place, in letters that the machine has."""

import textwrap
from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from mixlab.show.terminal import fold
from mixlab.text import visible

FAMILY = "sans-serif"
FAMILIES = ("DejaVu Sans", "Verdana")  # of one width; the first comes with the library that draws
CAPITAL = 0.729
"""Height of a capital as a share of the size of the letters, of the first of `FAMILIES`."""

_UNKNOWN = "\N{REPLACEMENT CHARACTER}"
_FEWEST = 6  # letters to a line


def clean(text: str) -> str:
    """Return text, its lines kept, with what does not print or steers other letters replaced."""
    lines = (visible(line) for line in text.split("\n"))
    return "\n".join("".join(c if c.isprintable() else _UNKNOWN for c in line) for line in lines)


def width(text: str, size: float, bold: bool = False) -> float:
    """Return how wide the widest line of a text is [points], in letters of a size [points]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    family: list[str] = [FAMILY, *families_for(text)]
    font = FontProperties(family=family, size=size, weight="bold" if bold else "normal")
    return max(
        float(text_to_path.get_text_width_height_descent(line, font, False)[0]) if line else 0.0
        for line in text.split("\n")
    )


def folded(text: str, room: float, size: float, bold: bool = False) -> list[str]:
    """Return text in lines no wider than `room` [points]; a word is broken only if it must be."""
    text = " ".join(clean(text).split())
    wide = width(text, size, bold)
    if wide <= room:
        return [text]
    letters = max(int(1.15 * len(text) * room / wide), _FEWEST)
    kept = whole(text, room, size, bold)
    while letters >= _FEWEST:
        lines = fold(text, letters) if kept else textwrap.wrap(text, letters)
        if max(width(line, size, bold) for line in lines) <= room:
            break
        letters -= max(1, letters // 24)
    return lines


def whole(text: str, room: float, size: float, bold: bool = False) -> bool:
    """Return whether no word of a text is wider than `room` [points]."""
    return all(width(word, size, bold) <= room for word in clean(text).split())


def fitted(
    text: str, room: float, sizes: Iterable[float], most: int, bold: bool = False
) -> tuple[str, float]:
    """Return text in lines within `room` [points], and the first size with at most so many lines.

    The last of the sizes is taken, whatever the number of lines, where none does.
    """
    for size in sizes:
        lines = folded(text, room, size, bold)
        if len(lines) <= most and whole(text, room, size, bold):
            break
    return "\n".join(lines), size


def families_for(text: str) -> tuple[str, ...]:
    """Return fonts of this machine that have the letters of a text which the usual one lacks."""
    lacking = _lacking(frozenset(text) - {"\n"})
    return _found(lacking)[0] if lacking else ()


def unknown(text: str) -> bool:
    """Return whether no font of this machine has all letters of a text."""
    lacking = _lacking(frozenset(text) - {"\n"})
    return bool(lacking and _found(lacking)[1])


@lru_cache(maxsize=256)
def _lacking(letters: frozenset[str]) -> frozenset[str]:
    from matplotlib.font_manager import FontProperties, findfont

    return letters - _letters(findfont(FontProperties(family=FAMILIES[0])))


@lru_cache(maxsize=64)
def _letters(path: str) -> frozenset[str]:
    """Return all letters of a font; none where it cannot be read."""
    from matplotlib.font_manager import get_font

    try:
        return frozenset(map(chr, get_font(path).get_charmap()))
    except (OSError, RuntimeError):
        return frozenset()


@lru_cache(maxsize=64)
def _found(lacking: frozenset[str]) -> tuple[tuple[str, ...], frozenset[str]]:
    """Return families that have letters, the plain and regular ones first, and what is left."""
    from matplotlib.font_manager import fontManager

    def plain(font: Any) -> tuple[bool, bool, str]:
        return "Sans" not in font.name and "Gothic" not in font.name, font.weight != 400, font.name

    found: list[str] = []
    for font in sorted(fontManager.ttflist, key=plain):
        if font.name in found or font.style != "normal" or font.name.startswith("Last Resort"):
            continue
        if lacking & _letters(font.fname):
            found.append(font.name)
            lacking -= _letters(font.fname)
        if not lacking:
            break
    return tuple(found), lacking
