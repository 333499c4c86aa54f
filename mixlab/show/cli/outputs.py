"""``mixlab help outputs``: every key of the JSON and column of the CSV, from their declarations."""

import pkgutil
from collections.abc import Iterable
from importlib import import_module
from pathlib import Path

from mixlab.show import fields
from mixlab.show.cli import options
from mixlab.show.report import UNITS, Field, Output, Page, Report, column, rows, show, text, texts

_KINDS = {
    "numbers": "list of numbers",
    "texts": "list of texts",
    "truths": "list of true/false",
    "by name": "numbers by name",
    "group": "object",
    "rows": "list of objects",
}

_KEYS = (
    text("key", "key of the JSON with its path; [] is every one of a list", lambda row: row[0]),
    text("kind", "number, text, true/false, an object, or a list",
         lambda row: _kind(row[1])),
    text("unit", "unit of a number", lambda row: row[1].unit or None),
    text("meaning", "what it says", lambda row: row[1].meaning),
)  # fmt: skip

OUTPUT = Output(
    "help outputs",
    (
        rows(
            "outputs",
            (text("of", "the command", lambda output: output.command),
             rows("keys", _KEYS, "of its JSON", lambda output: output.reference()),
             texts("columns", "of its CSV", lambda output: output.columns())),
            "what each command writes",
        ),
    ),
    colours=False,
)  # fmt: skip


def declared() -> list[Output]:
    """Return what every command declares to write, in the order of their names."""
    found: list[Output] = []
    for module in pkgutil.iter_modules([str(Path(__file__).parent)]):
        for value in vars(import_module(f"mixlab.show.cli.{module.name}")).values():
            found += [
                one for one in (value.values() if isinstance(value, dict) else [value])
                if isinstance(one, Output) and one not in found
            ]  # fmt: skip
    return sorted(found, key=lambda output: output.command)


def outputs(json: options.Json = False) -> None:
    """List every JSON key and CSV column that the commands write, with unit and meaning."""
    show(Report(OUTPUT, {"outputs": declared()}, _tell), json)


# --- for a person -------------------------------------------------------------------------------

_COLOUR = fields.colour()
_TABLE = (
    column("key", lambda row: row[0]),
    column("unit or kind", lambda row: row[1].unit or _kind(row[1])),
    column("meaning", lambda row: row[1].meaning),
)


def _tell(page: Page, made: dict[str, list[Output]]) -> None:
    page.line("Every JSON object names the command, the light and the observer of its colours, and "
              "the units of its numbers, by key; every row of a CSV the last three. Shares are 0 "
              "to 1; what is not known is null, or an empty cell.")  # fmt: skip
    page.head("A colour")
    page.table(_TABLE, [(one.key, one) for one in _COLOUR])
    page.say("A CSV has L, a, b, C, h in place of lab and lch.")
    for output in made["outputs"]:
        page.head(f"mixlab {output.command}")
        page.table(_TABLE, list(_short(output.fields, {})))
        if columns := output.columns():
            page.say(f"CSV: {', '.join(columns[: -len(output.head)])}.", 4)


def _short(
    some: Iterable[Field], told: dict[object, str], depth: int = 0, path: str = ""
) -> Iterable[tuple[str, Field]]:
    """Return the keys, each under its object; a colour, or an object told before, in one line."""
    some = [one for one in some if one.key]
    colour = [_said(one) for one in _COLOUR]
    while some:
        one, *some = some
        if [_said(other) for other in (one, *some)][: len(colour)] == colour:
            some = some[len(colour) - 1 :]
            yield "  " * depth + "lab .. in_gamut", UNITS.but(kind="colour", meaning="a colour")
            continue
        said, place = _said(one)[-1], path + one.key
        before = told.get(said) if len(one.fields) > 2 else None
        meaning = f"{one.meaning}; as {before}" if before else one.meaning
        yield "  " * depth + one.key, one.but(meaning=meaning)
        if before is None:
            told[said] = place
            yield from _short(one.fields, told, depth + 1, f"{place}.")


def _kind(one: Field) -> str:
    return _KINDS.get(one.kind, one.kind)


def _said(one: Field) -> tuple[object, ...]:
    """Return what the reference says of a field."""
    return (one.key, one.kind, one.unit, one.meaning, tuple(map(_said, one.fields)))
