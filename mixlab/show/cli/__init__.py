"""The command line: one file a command; each reads words, computes, and reports."""


import io
import os
import sys
import threading
import tomllib
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import Any

import typer
from typer.core import TyperGroup

from mixlab.errors import CheckError, MixlabError
from mixlab.palette.programme import SOLVER
from mixlab.show.cli import (
    add,
    adjust,
    cards,
    characterise,
    demo,
    distance,
    fewest,
    ladders,
    layer,
    lesson,
    lights,
    mix,
    options,
    outputs,
    page,
    paints,
    photo,
    plan,
    predict,
    reach,
    recipe,
)
from mixlab.show.cli.console import one_stop
from mixlab.text import one_line

_STOPPED = 130  # the status of a program that Ctrl-C ended


class _Words(TyperGroup):
    """Commands of one word or of two: ``paints add`` stands beside ``paints``."""

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the command that the words name, and what follows it; help where they ask it."""
        first, *rest = args
        if (both := " ".join(args[:2])) in self.commands:
            return super().resolve_command(ctx, [both, *rest[1:]])
        bare = set(rest) <= set(ctx.help_option_names)
        if first == "help" and not bare:
            return self.resolve_command(ctx, [*rest, "--help"])
        of = [name for name in self.commands if name.startswith(f"{first} ")]
        if not bare or first in self.commands or not of:
            return super().resolve_command(ctx, args)
        formatter = ctx.make_formatter()
        with formatter.section("Commands"):
            formatter.write_dl([(name, self.commands[name].short_help) for name in of])
        print(ctx.get_help() if first == "help" else formatter.getvalue().rstrip())
        ctx.exit()


app = typer.Typer(
    name="mixlab",
    cls=_Words,
    help="Recipes for painters who work with few tubes, from real paint optics.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
# the mark keeps the lines of an example as they are
_HELP = f"{characterise.HELP.strip()}\n\n{cards.HELP.strip()}"
_AFTER = {
    name: "\n\n".join("\b\n" + part for part in help.strip().split("\n\n"))
    for name, help in (("characterise", _HELP), ("lesson score", lesson.HELP))
}

for _name, _command, _help in (
    ("demo", demo.demo, "Recipes for places in the bundled picture."),
    ("recipe", recipe.recipe, "The fewest tubes that hit a colour."),
    ("mix", mix.mix, "What a mix looks like, the order to add."),
    ("tints", ladders.tints, "Ladder toward white, and why it lowers chroma."),
    ("shades", ladders.shades, "Ladder toward black."),
    ("tones", ladders.tones, "Ladder toward a grey."),
    ("blend", ladders.blend, "Ladder to another mix; where complements cancel."),
    ("adjust", adjust.adjust, "The smallest addition that mends a pile."),
    ("layer", layer.layer, "A glaze or a scumble over a dry ground."),
    ("distance", distance.distance, "Recipes from the foreground to the horizon."),
    ("lights", lights.lights, "What other lights do to mixes."),
    ("reach", reach.reach_, "What a palette mixes, and what it lacks."),
    ("fewest", fewest.fewest, "The fewest tubes that do, proven."),
    ("photo", photo.photo, "A photo as a palette gives it, and its recipes."),
    ("plan", plan.plan, "A picture before the first stroke: values to piles."),
    ("page", page.page, "One HTML file that is the whole recipe tool."),
    ("lesson sheet", lesson.sheet, "A page that a class paints by parts."),
    ("lesson score", lesson.score_, "Photographs of painted sheets, scored."),
    ("paints", paints.paints, "The paints, one of them, or a check of a file."),
    ("paints add", add.add, "A paint under your own name and strength."),
    ("characterise", characterise.characterise, "Your own tubes from readings or a card."),
    ("predict", predict.predict, "How well a table predicts readings."),
    ("help outputs", outputs.outputs, "What --json and --csv write, key by key."),
):
    _careful = options.apart(_command, "table" if _name == "paints add" else "")
    app.command(_name, short_help=_help, epilog=_AFTER.get(_name))(_careful)


@app.callback(invoke_without_command=True)
def _start(
    context: typer.Context,
    version: bool = typer.Option(False, "--version", help="Print the version."),
) -> None:
    if version:
        print(f"mixlab {_version()}")
        raise typer.Exit
    if context.invoked_subcommand is None:
        print(context.get_help())


commands = typer.main.get_command(app)
"""What :func:`main` asks: made once, as making it takes longer than to refuse a line."""


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("mixlab")
    except PackageNotFoundError:  # a checkout that is not installed
        project = Path(__file__).parents[3] / "pyproject.toml"
        return str(tomllib.loads(project.read_text(encoding="utf-8"))["project"]["version"])


def main() -> None:
    """Run the command line: one line on stderr and status 2 for a mistake in what was asked."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed by whoever started us
            setattr(sys, name, io.StringIO())
        if hasattr(stream := getattr(sys, name), "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        with one_stop():
            status = commands(standalone_mode=False)
        sys.stdout.flush()
        if status == _STOPPED:  # typer makes a status of Ctrl-C
            raise KeyboardInterrupt
    except CheckError as error:
        _end(error.faults, 2)
    except MixlabError as error:
        _end([str(error)], 2)
    except typer.TyperException as error:
        _end([_mistyped(error)], 2)
    except (typer.Abort, KeyboardInterrupt):
        _end(["stopped"], _STOPPED)
    except (BrokenPipeError, SystemExit):  # typer makes the one into the other
        # whoever read the output has gone: nothing is wrong, and nothing more can be said
        _silence()
        sys.exit(0)
    except OSError as error:
        _silence()
        what = error.filename or "the output cannot be written"
        _end([f"{what}: {error.strerror or error}"], 1)
    except MemoryError:
        _end(["not enough memory; fewer --tubes or --parts, or a smaller palette, need less"], 1)
    except Exception as error:
        _end([f"a fault in mixlab itself, please report it: {type(error).__name__}: {error}"], 1)
    else:
        sys.exit(status or 0)


def _mistyped(error: typer.TyperException) -> str:
    """Return what is wrong with the words, and where it stands what would be right."""
    said, context = error.format_message(), getattr(error, "ctx", None)
    if context is None or not said.startswith(("Missing", "Got unexpected")):
        return said
    return f"{said.rstrip('.')}; see 'mixlab {context.command.name} --help'"


def _silence() -> None:
    """Let what is still to be written to stdout go nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _end(messages: Iterable[str], status: int) -> None:
    for message in messages:
        print(f"mixlab: {one_line(' '.join(message.split()))}", file=sys.stderr)
    if any(thread.name == SOLVER for thread in threading.enumerate()):
        # it would be torn down at its work, which ends in an abort
        with suppress(OSError, ValueError):
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(status)
    sys.exit(status)
