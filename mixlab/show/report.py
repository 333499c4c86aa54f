"""One report: what a command writes, declared once, as text, JSON and CSV.

A command declares its :class:`Output` at the top of its file: a tree of :class:`Field`, each with
key, unit, meaning and how its value is read off what was computed. JSON and CSV follow from that,
and so does the reference of ``mixlab help outputs``. What a person reads is laid out in blocks on a
:class:`Page`; a renderer makes of them lines in a terminal.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from mixlab.colour.spaces import Viewing
from mixlab.text import json_text
from mixlab.writing import csv_text, settle, together, write_whole

# --- what is written, declared ------------------------------------------------------------------

Getter = Callable[[Any], Any]


@dataclass(frozen=True)
class Field:
    """One key of the JSON, column of the CSV or column of a table in text.

    Attributes
    ----------
    key : in JSON and CSV; "" for a column of text alone
    kind : number, text, true/false; numbers, texts, truths; by name (names to numbers), texts by
        name; group or rows
    meaning, unit : for the reference
    get : reads the value off the row; the attribute, or the entry, of the key's name unless given
    digits : that JSON and CSV keep
    heading : over the column of a table in text; None keeps it out of the table
    text : how text shows the value: a format such as ".1f", or a function
    right : set to the right in text
    spare : left out of a table in text that is too wide for the terminal
    columns : CSV names of the numbers of a list, "" for one that is left out
    csv : whether the CSV has it
    fields : what a group, or each of the rows, holds
    """

    key: str
    kind: str = "number"
    meaning: str = ""
    unit: str = ""
    get: Getter | None = None
    digits: int = 4
    heading: str | None = None
    text: str | Callable[[Any], str] = ""
    right: bool = False
    spare: bool = False
    columns: tuple[str, ...] = ()
    csv: bool = True
    fields: "tuple[Field, ...]" = ()

    def but(self, **changes: Any) -> "Field":
        """Return the same field with some attributes changed."""
        return replace(self, **changes)

    def of(self, first: Getter) -> "Field":
        """Return the same field, read off what `first` reads off the row."""
        return replace(self, get=_then(first, self.read))

    def shown(self, heading: str = "", text: str | Callable[[Any], str] = "",
              **more: Any) -> "Field":  # fmt: skip
        """Return the same field as a column of a table in text."""
        right = self.kind == "number"
        return replace(self, **{"heading": heading, "text": text, "right": right} | more)

    def read(self, row: Any) -> Any:
        """Return the value of a row; None where the row is None."""
        if row is None:
            return None
        if self.get is not None:
            return self.get(row)
        return row[self.key] if isinstance(row, Mapping) else getattr(row, self.key)

    def cell(self, row: Any) -> str:
        """Return the value of a row in text; "-" where there is none."""
        value = self.read(row)
        if value is None or (isinstance(value, float) and math.isnan(value)):
            return "-"
        if callable(self.text):
            return self.text(value)
        return format(value + 0.0 if isinstance(value, float) else value, self.text)

    def plain(self, row: Any) -> Any:
        """Return the value of a row as JSON has it."""
        value = self.read(row)
        if value is None:
            return None
        if self.kind == "group":
            return record(self.fields, value)
        if self.kind == "rows":
            return [record(self.fields, one) for one in value]
        one = partial(_ONE[self.kind], digits=self.digits)
        if self.kind.endswith("by name"):
            return {str(name): one(v) for name, v in value.items()}
        return one(value) if self.kind in _SINGLE else [one(v) for v in value]

    def flat(self, before: str = "") -> "Iterator[tuple[str, Getter]]":
        """Return the columns of the CSV that it makes: names, and what reads them off a row.

        The columns of a group are named for it: ``recipe_miss``. Names to numbers are written in
        the notation of mixes.
        """
        if not self.csv or not self.key:
            return
        if self.kind == "group":
            for one in self.fields:
                for name, get in one.flat(f"{before}{self.key}_"):
                    yield name, _then(self.read, get)
        elif self.columns:
            for i, name in enumerate(self.columns):
                if name:
                    yield before + name, _then(self.plain, _item(i))
        elif self.kind == "by name":
            yield before + self.key, _then(self.plain, _notation)
        elif self.kind == "texts":
            yield before + self.key, _then(self.plain, "; ".join)
        elif self.kind in _SINGLE:
            yield before + self.key, self.plain


def number(value: Any, digits: int = 4) -> float | int | None:
    """Return a number as JSON has it: rounded, no negative zero; None if it is not finite."""
    if isinstance(value, int):
        return int(value)
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def _string(value: Any, digits: int) -> str:
    return str(value)


def _yes(value: Any, digits: int) -> bool:
    return bool(value)


_SINGLE = ("number", "text", "true/false")
_ONE: dict[str, Callable[..., Any]] = {
    "number": number, "numbers": number, "by name": number,
    "text": _string, "texts": _string, "texts by name": _string,
    "true/false": _yes, "truths": _yes,
}  # fmt: skip


def record(fields: Iterable[Field], row: Any) -> dict[str, Any]:
    """Return what the fields read off a row, as a JSON object."""
    return {one.key: one.plain(row) for one in fields if one.key}


def _then(first: Getter, second: Getter) -> Getter:
    def both(row: Any) -> Any:
        value = first(row)
        return None if value is None else second(value)

    return both


def _item(i: int) -> Getter:
    return lambda values: values[i]


def _notation(parts: Mapping[str, float]) -> str:
    return " + ".join(f"{n:g} {id}" for id, n in parts.items())


def _declare(kind: str) -> Callable[..., Field]:
    """Return what declares fields of a kind: its key, meaning and, if not the key's, its getter."""
    def declare(key: str, meaning: str, get: Getter | None = None, **more: Any) -> Field:
        return Field(key, kind, meaning, get=get, **more)

    return declare


def _measured(kind: str) -> Callable[..., Field]:
    """Return the same for fields that have a unit, which stands before the meaning."""
    def declare(key: str, unit: str, meaning: str, get: Getter | None = None, **more: Any) -> Field:
        return Field(key, kind, meaning, unit, get, **more)

    return declare


amount, numbers, by_name = map(_measured, ("number", "numbers", "by name"))
text, truth, texts = map(_declare, ("text", "true/false", "texts"))


def group(key: str, fields: Iterable[Field], meaning: str, get: Getter | None = None,
          **more: Any) -> Field:  # fmt: skip
    """Declare an object of its own."""
    return Field(key, "group", meaning, "", get, fields=tuple(fields), **more)


def rows(key: str, fields: Iterable[Field], meaning: str, get: Getter | None = None,
         **more: Any) -> Field:  # fmt: skip
    """Declare a list of objects, or the rows of a table."""
    return Field(key, "rows", meaning, "", get, fields=tuple(fields), **more)


def column(
    heading: str, get: Getter, text: str | Callable[[Any], str] = "", **more: Any
) -> Field:
    """Declare a column of a table in text alone."""
    return Field("", get=get, heading=heading, text=text, **more)


figures = partial(column, right=True)
"""The same, set to the right."""


COMMAND = text("command", "which command wrote it")
VIEW = (
    text("light", "CIE light that every colour is given for"),
    text("observer", "CIE observer, 2 or 10 degrees"),
    text("finish", "of the paint: gloss, satin or matt"),
)
UNITS = Field("units", "texts by name", "what the numbers are in, by key")


@dataclass(frozen=True)
class Output:
    """What a command writes.

    Attributes
    ----------
    command : its name
    fields : keys of its JSON object
    csv : the rows of its CSV; a field of kind "rows", often one of `fields`
    colours : whether it holds colours, so that light, observer and finish are named
    """

    command: str
    fields: tuple[Field, ...]
    csv: Field | None = None
    colours: bool = True

    @property
    def head(self) -> tuple[Field, ...]:
        """What stands first in every JSON object: command, light, observer and finish."""
        return (COMMAND, *(VIEW if self.colours else ()))

    def units(self, fields: Iterable[Field]) -> dict[str, str]:
        """Return the unit of each key that has one."""
        return {one.key: one.unit for _, one in _paths(fields) if one.unit}

    def reference(self) -> "Iterator[tuple[str, Field]]":
        """Return every key of the JSON with its path: ``recipe.miss``, ``steps[].paint``."""
        yield from _paths((*self.head, UNITS, *self.fields))

    def columns(self) -> list[str]:
        """Return the header of the CSV; empty if the command writes none."""
        if self.csv is None:
            return []
        made = [name for one in self.csv.fields for name, _ in one.flat()]
        return [*made, *(one.key for one in self.head[1:]), UNITS.key]


def _leaves(fields: Iterable[Field]) -> Iterator[Field]:
    """Return the fields that a CSV has columns of."""
    for one in fields:
        if one.key and one.csv:
            yield from _leaves(one.fields) if one.kind == "group" else (one,)


def _paths(fields: Iterable[Field], before: str = "") -> Iterator[tuple[str, Field]]:
    for one in fields:
        if one.key:
            yield before + one.key, one
            inside = "[]." if one.kind == "rows" else "."
            yield from _paths(one.fields, before + one.key + inside)


# --- what a person reads, in blocks -------------------------------------------------------------


@dataclass(frozen=True)
class Head:
    """A heading."""

    text: str


@dataclass(frozen=True)
class Line:
    """A paragraph, its later lines indented by `hang`, and a swatch."""

    text: str
    hang: int = 0
    hex: str | None = None


@dataclass(frozen=True)
class Rows:
    """A table: columns (headings all empty for none), cells, a swatch a row."""

    columns: tuple[Field, ...]
    cells: tuple[tuple[str, ...], ...]
    hexes: tuple[str | None, ...]
    indent: int = 2


Block = Head | Line | Rows


class Page:
    """The blocks of a report, in order."""

    def __init__(self) -> None:
        self.blocks: list[Block] = []

    def head(self, text: str) -> None:
        """Add a heading."""
        self.blocks.append(Head(text))

    def line(self, text: str = "", hang: int = 0, hex: str | None = None) -> None:
        """Add a paragraph, and a swatch of the colour "#rrggbb"."""
        self.blocks.append(Line(text, hang, hex))

    def say(self, text: str, hang: int = 2, hex: str | None = None) -> None:
        """Add a paragraph under a heading, its later lines indented by `hang`."""
        self.line(f"  {text}", hang, hex)

    def entry(self, label: str, text: str, hex: str | None = None, indent: int = 12) -> None:
        """Add a label and its text beside it, and a swatch of the colour "#rrggbb"."""
        self.blocks.append(Line(f"{label:<{indent}}{text}", indent, hex))

    def light(self, view: Viewing, label: str = "Light") -> None:
        """Add the light, observer and finish of what follows."""
        self.entry(label, str(view))

    def table(
        self, fields: Iterable[Field], rows: Iterable[Any],
        hexes: Iterable[str | None] = (), indent: int = 2, numbered: bool = False,
    ) -> None:  # fmt: skip
        """Add a table of the fields that have a heading; `hexes` are the swatches of the rows."""
        columns = [one for one in fields if one.heading is not None]
        cells = [tuple(one.cell(row) for one in columns) for row in rows]
        if numbered:
            columns = [Field("", heading="", right=True), *columns]
            cells = [(f"{i}.", *row) for i, row in enumerate(cells, start=1)]
        if cells:
            patches = tuple(hexes) or (None,) * len(cells)
            self.blocks.append(Rows(tuple(columns), tuple(cells), patches, indent))


# --- the report, and how it is rendered ---------------------------------------------------------


@dataclass(frozen=True)
class Report:
    """What a command found: declarations, what they read, and how a person is told.

    Attributes
    ----------
    output : what is written
    made : what was computed; the fields of `output` read it
    tell : lays it out on a page
    view : light, observer and finish of the colours
    """

    output: Output
    made: Any
    tell: Callable[[Page, Any], None]
    view: Viewing | None = field(default=None)

    @property
    def _seen(self) -> dict[str, str]:
        if not self.output.colours:
            return {}
        if self.view is None:
            raise TypeError(f"{self.output.command}: colours without light and observer")
        return {key: getattr(self.view, key) for key in (one.key for one in VIEW)}

    def data(self) -> dict[str, Any]:
        """Return the JSON object."""
        output = self.output
        head = {"command": output.command, **self._seen}
        return head | {"units": output.units(output.fields)} | record(output.fields, self.made)

    def csv(self) -> str:
        """Return the CSV: the header is keys; how it is seen and units stand in every row."""
        table = self.output.csv
        if table is None:
            raise TypeError(f"{self.output.command} has no CSV")
        getters = [get for one in table.fields for _, get in one.flat()]
        units = "; ".join(dict.fromkeys(
            f"{', '.join(filter(None, one.columns)) or one.key} {one.unit}"
            for one in _leaves(table.fields) if one.unit
        ))  # fmt: skip
        ends: Sequence[str] = [*self._seen.values(), units]
        return csv_text(
            self.output.columns(),
            ([*(get(row) for get in getters), *ends] for row in table.read(self.made)),
        )

    def page(self) -> Page:
        """Return the blocks that a person reads."""
        page = Page()
        self.tell(page, self.made)
        return page


def show(report: Report, json: bool = False, csv: str | None = None) -> None:
    """Write a report: a CSV file if one is named; to stdout one JSON object, or text.

    All that the command writes is in its place before a word of it is said.
    """
    with together():
        if csv is not None:
            write_whole(csv, report.csv())
        told = json_text(report.data(), indent=1) if json else report.page()
        settle()
    if isinstance(told, str):
        print(told)
    else:
        from mixlab.show import terminal

        terminal.write(told)
