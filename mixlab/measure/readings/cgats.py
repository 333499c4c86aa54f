"""Readings in CGATS.17 text, as ISO 28178 has it.

A file is a run of tables. Each has keywords with a value, then the names of its fields between
BEGIN_DATA_FORMAT and END_DATA_FORMAT, then its sets, one for each reading, between BEGIN_DATA and
END_DATA. Words are parted by spaces, tabs and line ends; a text with spaces stands in double
quotes; a # begins a comment. A later table without field names of its own has those of the one
before.

Spectral fields are read in the spellings seen in practice, from memory: SPECTRAL_NM400,
SPECTRAL_NM_400, SPECTRAL_400, nm400, SPEC_400 and R400, and the standard's pairs SPECTRAL_NM and
SPECTRAL_PCT or SPECTRAL_DEC, of which each set bears its own wavelengths.

References
----------
.. [1] ANSI CGATS.17, Exchange format for colour and process control data using XML or ASCII text;
       ISO 28178. What is said of them here is from memory.
"""


import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from mixlab import limits
from mixlab.errors import ReadingError
from mixlab.measure.readings.curves import (
    Curve,
    curve_of,
    listed,
    number,
    spectral,
)
from mixlab.text import shown

_WORD = re.compile(r'"((?:[^"]|"")*)"|#|([^\s"]+)')
_BEGIN = re.compile(r"^[ \t]*BEGIN_DATA(?:_FORMAT)?\b", re.MULTILINE)
_FIRST = re.compile(r"\s*(?:CGATS|ISO ?28178|IT8\.)", re.IGNORECASE)
_PAIRED = {"SPECTRALPCT": 100.0, "SPECTRALDEC": 1.0}
_BEGIN_LINE = re.compile(r"\s*BEGIN_(DATA_FORMAT|DATA)((?:\s.*)?)")
_END_LINE = re.compile(r"(.*\s|)END_(DATA_FORMAT|DATA)\s*(?:#.*)?")
_KIND = re.compile(r"MEASUREMENT|INSTRUMENT|DEVICE|MODE|TYPE")
_NOT_REFLECTANCE = re.compile(r"transmi(ss|tt)|emissi|radianc", re.IGNORECASE)

_Lines = list[tuple[int, str]]


def is_cgats(text: str) -> bool:
    """Return whether a text looks like CGATS.17."""
    return bool(_FIRST.match(text) or _BEGIN.search(text))


# --- text to tables -----------------------------------------------------------------------------


@dataclass
class _Table:
    """One table: its keywords, fields, and sets, each with the line that it begins on."""

    number: int
    keywords: dict[str, str] = field(default_factory=dict)
    fields: list[str] = field(default_factory=list)
    sets: list[tuple[int, list[str]]] = field(default_factory=list)

    @property
    def plain(self) -> list[str]:
        """Names of the fields, in capitals and without underlines."""
        return [re.sub("[_ ]", "", name.upper()) for name in self.fields]


def _words(file: Path, line: int, text: str) -> list[str]:
    """Return the words of a line up to a comment; ReadingError if a quote is not closed."""
    words: list[str] = []
    at = 0
    for match in _WORD.finditer(text):
        if text[at : match.start()].strip():
            break
        if match[0] == "#":
            return words
        words.append(match[2] if match[1] is None else match[1].replace('""', '"'))
        at = match.end()
    if text[at:].strip():
        raise ReadingError(f'{file}, line {line}: a quotation mark " is not closed')
    return words


def _cells(text: str, width: int) -> list[str]:
    """Return the cells of a line that tabs part into as many as there are fields, else none.

    Names with spaces are often left without quotes between tabs.
    """
    cells = [cell.strip() for cell in text.split("\t")]
    while len(cells) > width and not cells[-1]:
        cells.pop()
    if len(cells) != width or width < 2:
        return []
    return [
        cell[1:-1].replace('""', '"') if len(cell) > 1 and cell[0] == cell[-1] == '"' else cell
        for cell in cells
    ]


def _sections(file: Path, text: str) -> Iterator[tuple[str, _Lines]]:
    """Yield the sections in order: "DATA_FORMAT", "DATA", or "" for the keywords between them.

    With each come its numbered lines.

    Raises
    ------
    ReadingError : if a section is not closed, or not opened
    """
    kind, lines = "", _Lines()
    all_lines = re.split(r"\r\n|\r|\n", text, maxsplit=limits.LINES)
    if len(all_lines) > limits.LINES:
        raise ReadingError(f"{file}: more than {limits.LINES} lines")
    for at, line in enumerate(all_lines, start=1):
        if begin := _BEGIN_LINE.fullmatch(line):
            if kind:
                raise ReadingError(
                    f"{file}, line {at}: BEGIN_{begin[1]} before the END_{kind} of line "
                    f"{lines[0][0]}"
                )
            yield "", lines
            kind, lines, line = begin[1], [], begin[2]
        end = _END_LINE.fullmatch(line)
        lines.append((at, end[1] if end else line))
        if end:
            if end[2] != kind:
                raise ReadingError(f"{file}, line {at}: END_{end[2]} without its BEGIN_{end[2]}")
            yield kind, lines
            kind, lines = "", []
    if kind:
        raise ReadingError(
            f"{file}: the BEGIN_{kind} of line {lines[0][0]} has no END_{kind}; "
            "the file may be cut short"
        )


def _tables(file: Path, text: str) -> Iterator[_Table]:
    """Yield the tables of a text; ReadingError if one does not hold what it says."""
    table, fields = _Table(1), list[str]()
    for kind, lines in _sections(file, text):
        if kind == "DATA":
            if not fields:
                raise ReadingError(
                    f"{file}, line {lines[0][0]}: BEGIN_DATA before any BEGIN_DATA_FORMAT: "
                    "no fields are named"
                )
            table.fields, table.sets = fields, _sets(file, lines, len(fields))
            _check(file, table, "SETS", len(table.sets), lines[-1][0])
            yield table
            table = _Table(table.number + 1)
            continue
        words = [_words(file, *line) for line in lines]
        if kind == "DATA_FORMAT":
            fields = [word for line in words for word in line]
            if not 0 < len(fields) <= limits.COLUMNS:
                why = f"more than {limits.COLUMNS} fields" if fields else "no fields are named"
                raise ReadingError(f"{file}, line {lines[0][0]}: {why}")
            _check(file, table, "FIELDS", len(fields), lines[-1][0])
        else:
            table.keywords |= {line[0].upper(): " ".join(line[1:]) for line in words if line}


def _sets(file: Path, lines: _Lines, width: int) -> list[tuple[int, list[str]]]:
    """Return the sets of `width` words, each with the line it begins on.

    A set may run over several lines, and a line may hold several sets.

    Raises
    ------
    ReadingError : if the words do not come out even; names the first line that is odd
    """
    sets: list[tuple[int, list[str]]] = []
    pending, begun, odd = list[str](), 0, ""
    for line, text in lines:
        words = (not pending and _cells(text, width)) or _words(file, line, text)
        if len(words) % width:
            odd = odd or (
                f"{file}, line {line}: {len(words)} words for {width} fields; a text with spaces "
                "stands in double quotes"
            )
            if len(words) > width and not pending:
                raise ReadingError(odd)
        begun = begun if pending else line
        pending += words
        whole = len(pending) // width * width
        for at in range(0, whole, width):
            sets.append((begun, pending[at : at + width]))
            begun = line
        pending = pending[whole:]
        if len(sets) > limits.READINGS:
            raise ReadingError(f"{file}, line {line}: more than {limits.READINGS} sets")
    if pending:
        raise ReadingError(odd)
    return sets


def _check(file: Path, table: _Table, what: str, there: int, line: int) -> None:
    """Raise ReadingError if a table does not hold as many of something as it says."""
    keyword = f"NUMBER_OF_{what}"
    said = table.keywords.get(keyword, str(there)).strip()
    if said == str(there):
        return
    fault = f"{file}, line {line}: {there} {what.lower()}"
    if said.isdecimal() and len(said) < 9 and there > int(said):
        spaces = "; a name with a space must stand in quotation marks" if what == "FIELDS" else ""
        raise ReadingError(f"{fault}, more than the {shown(said)} of {keyword}{spaces}")
    raise ReadingError(f"{fault}, where {keyword} says {shown(said)}; the file may be cut short")


# --- tables to curves ---------------------------------------------------------------------------


def read_cgats(file: Path, text: str) -> tuple[list[Curve], list[str]]:
    """Return the reflectance curves of a CGATS.17 text, and notes.

    Names of a reading are its SAMPLE_NAME and its SAMPLE_ID. A table that bears ids only takes
    the names of another that bears both.

    Raises
    ------
    ReadingError : names the line and the field
    """
    curves: list[Curve] = []
    notes: list[str] = []
    tables = list(_tables(file, text))
    if not tables:
        raise ReadingError(f"{file}: it has no BEGIN_DATA, and so no readings")
    called: dict[str, str] = {}
    for table in tables:
        if {"SAMPLEID", "SAMPLENAME"} <= set(table.plain):
            a, b = table.plain.index("SAMPLEID"), table.plain.index("SAMPLENAME")
            for _, cells in table.sets:
                called.setdefault(cells[a], cells[b])
    for table in tables:
        found, left = _curves(file, table, called)
        if left:
            notes.append((f"table {table.number}: " if len(tables) > 1 else "") + left)
        curves += found
        if len(curves) > limits.READINGS:
            raise ReadingError(f"{file}: more than {limits.READINGS} readings")
    if not curves:
        raise ReadingError(
            f"{file}: it has no reflectance spectra; export them with fields as SPECTRAL_NM400"
            + (f" ({notes[0]})" if notes else "")
        )
    return curves, notes


def _curves(file: Path, table: _Table, called: dict[str, str]) -> tuple[list[Curve], str]:
    """Return the curves of one table, and in words what of it was left."""
    kinds = [value for keyword, value in table.keywords.items() if _KIND.search(keyword)]
    other = next((kind for kind in kinds if _NOT_REFLECTANCE.search(kind)), "")
    if other and not any("reflect" in kind.lower() for kind in kinds):
        return [], f"left, as its keywords say that it is no reflectance: {shown(other)}"
    names, place = table.plain, f"{file}, table {table.number}"
    for name in ("SAMPLEID", "SAMPLENAME"):
        if names.count(name) > 1:
            raise ReadingError(f"{place}: the field {name} is there twice")
    columns = spectral(place, table.fields)
    pairs = [
        i for i, name in enumerate(names[1:], 1) if name in _PAIRED and names[i - 1] == "SPECTRALNM"
    ]
    used = {*columns, *pairs, *(i - 1 for i in pairs)}
    rest = [
        shown(table.fields[i]) for i, name in enumerate(names)
        if i not in used and name not in ("SAMPLEID", "SAMPLENAME")
    ]  # fmt: skip
    left = f"left: fields {listed(rest, 8)}" if rest else ""
    if not columns and not pairs:
        return [], left
    if columns and pairs:
        raise ReadingError(
            f"{place}: it has both {table.fields[min(columns)]} and {table.fields[pairs[0]]}; "
            "one way of writing spectra is wanted"
        )
    full = _PAIRED[names[pairs[0]]] if pairs else _full(place, table)
    curves = []
    for line, cells in table.sets:
        where, heads = f"line {line}", list(columns.values())
        if pairs:
            heads = [_wavelength(f"{file}, {where}", cells[i - 1]) for i in pairs]
        figures = [cells[i] for i in pairs or columns]
        curves.append(
            curve_of(file, where, heads, figures, full, _names(names, cells, called))
        )
    return curves, left


def _names(fields: list[str], cells: list[str], called: dict[str, str]) -> tuple[str, ...]:
    """Return what a set is called, the most telling first."""
    id = cells[fields.index("SAMPLEID")] if "SAMPLEID" in fields else ""
    name = cells[fields.index("SAMPLENAME")] if "SAMPLENAME" in fields else called.get(id, "")
    return tuple(text for text in (name, id) if text)


def _full(place: str, table: _Table) -> float | None:
    """Return what a perfect reflector reads, by the keyword SPECTRAL_NORM; None without it."""
    said = table.keywords.get("SPECTRAL_NORM")
    if said is None:
        return None
    found = number(said)
    if found is None or found[0] not in (1.0, 100.0):
        raise ReadingError(f"{place}: SPECTRAL_NORM {shown(said)} is neither 1 nor 100")
    return found[0]


def _wavelength(place: str, cell: str) -> tuple[str, float]:
    """Return the wavelength in a cell of a set that bears its own, and what to call it."""
    found = number(cell)
    if found is None or found[1]:
        raise ReadingError(f"{place}, column SPECTRAL_NM: {shown(cell)} is not a wavelength")
    return f"SPECTRAL_NM {cell.strip()[:20]}", found[0]
