"""A page as lines within the terminal, with swatches where it can show them."""

import re
import shutil
import sys
import textwrap

from mixlab.show.report import Block, Head, Line, Page, Rows
from mixlab.text import visible

WIDEST = 80
_PATCH = 6
_LEAST = 6  # columns that the last cell of a row needs
_LAST = 20  # columns that are left to the last cell of a row that is folded
_TIE = "\N{NO-BREAK SPACE}"
_TIED = re.compile(
    r"((?<![\w.])\d+(?:\.\d+)?%?) (?=%|[^\W\d])"  # a number and what it counts
    r"|\d[A-Z]{1,2} (?=\d[\d.]*/)"  # Munsell hue and value
    r"|([LabC]\*|\bmiss) (?=-?\d)"  # a name and its number
)


def write(page: Page) -> None:
    """Print a page; a terminal of true colour gets swatches, a pipe text alone."""
    lines = Lines()
    for block in page.blocks:
        for line in lines.of(block):
            print(line)


class Lines:
    """Blocks to lines, for the terminal that stdout is."""

    def __init__(self) -> None:
        self.width, self.colour = WIDEST, False
        if sys.stdout.isatty():
            from rich.console import Console

            console = Console()
            self.colour = console.color_system == "truecolor" and not console.no_color
            self.width = max(30, min(shutil.get_terminal_size().columns, WIDEST))

    def of(self, block: Block) -> list[str]:
        """Return the lines of a block."""
        match block:
            case Head(text):
                folded = fold(visible(text), self.width)
                return ["", *(f"\x1b[1m{line}\x1b[0m" if self.colour else line for line in folded)]
            case Line(text, hang, hex):
                lines = fold(visible(text), self.width, hang)
                lines[0] += self._swatch(hex, len(lines[0]))
                return lines
            case Rows():
                return self._table(block)

    def _swatch(self, hex: str | None, taken: int) -> str:
        """Return a patch of a colour in what is left of a line of which `taken` is in use."""
        left = min(_PATCH, self.width - taken - 2)
        if hex is None or not self.colour or left < 2:
            return ""
        r, g, b = bytes.fromhex(hex[1:])
        return f"  \x1b[48;2;{r};{g};{b}m{' ' * left}\x1b[0m"

    def _table(self, table: Rows) -> list[str]:
        """Return a table; spare columns go where it is too wide, then the last one is folded."""
        every = range(len(table.columns))
        headings = tuple(one.heading or "" for one in table.columns)
        headed = [headings] if any(headings) else []
        cells = [*headed, *(tuple(map(visible, row)) for row in table.cells)]
        widths = [max(len(row[i]) for row in cells) for i in every]

        def width(columns: list[int]) -> int:
            return table.indent + sum(widths[i] + 2 for i in columns) - 2

        kept = list(every)
        for i in reversed(every):
            if width(kept) > self.width and table.columns[i].spare:
                kept.remove(i)
        if headed and width(kept[:-1]) > self.width - _LEAST:
            return self._by_row(table, kept)
        hang = max(table.indent + 2, min(width(kept[:-1]) + 2, self.width - _LAST))
        lines = []
        for row, hex in zip(cells, [None] * len(headed) + list(table.hexes), strict=True):
            set_ = [f"{row[i]:{'>' if table.columns[i].right else '<'}{widths[i]}}" for i in kept]
            first, *rest = fold(" " * table.indent + "  ".join(set_).rstrip(), self.width, hang)
            if self.colour and hex and width(kept) <= self.width:
                first = first.ljust(width(kept))
            lines += [first + self._swatch(hex, len(first)), *rest]
        return lines

    def _by_row(self, table: Rows, kept: list[int]) -> list[str]:
        """Return a table of which not even the first columns fit: each cell beside its heading."""
        lines = []
        for row, hex in zip(table.cells, table.hexes, strict=True):
            cells = (f"{table.columns[i].heading}{_TIE}{visible(row[i])}".strip()
                     for i in kept if row[i])  # fmt: skip
            first, *rest = fold(" " * table.indent + ", ".join(cells), self.width, table.indent + 4)
            lines += [first + self._swatch(hex, len(first)), *rest]
        return lines


def fold(text: str, width: int, hang: int = 0) -> list[str]:
    """Return text in lines; none ends between a number and what it counts.

    Words are never broken, so that a path can be copied: the later lines of one that would not fit
    hang less.
    """
    longest = max(map(len, text.split()), default=0)
    hang = min(hang, max(2, width - longest))
    lines = textwrap.wrap(
        _TIED.sub(lambda found: found[0][:-1] + _TIE, text), width, subsequent_indent=" " * hang,
        break_on_hyphens=False, break_long_words=False, replace_whitespace=False,
    )  # fmt: skip
    return [line.replace(_TIE, " ") for line in lines] or [""]
