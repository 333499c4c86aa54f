"""The command line: one file a command; each reads words, calls the rooms, and prints."""

import os
import sys

import typer

from mixlab.cli import demo, mix, paints, recipe
from mixlab.errors import MixlabError

app = typer.Typer(
    name="mixlab",
    help="Recipes for painters who work with few tubes, from real paint optics.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
app.command("demo")(demo.demo)
app.command("recipe")(recipe.recipe)
app.command("mix")(mix.mix)
app.command("paints")(paints.paints)


@app.callback(invoke_without_command=True)
def _start(
    context: typer.Context,
    version: bool = typer.Option(False, "--version", help="Print the version."),
) -> None:
    if version:
        from importlib.metadata import version as installed

        print(f"mixlab {installed('mixlab')}")
    elif context.invoked_subcommand is None:
        print(context.get_help())


def main() -> None:
    """Run the command line: one line on stderr and status 2 for a mistake in what was asked."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        status = app(standalone_mode=False)
        sys.stdout.flush()
    except MixlabError as error:
        _end(str(error), 2)
    except typer.TyperException as error:
        _end(error.format_message(), 2)
    except (typer.Abort, KeyboardInterrupt):
        _end("stopped", 130)
    except BrokenPipeError:
        # whoever read the output has gone: nothing is wrong, and nothing more can be said
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as error:
        _end(f"a fault in mixlab itself, please report it: {type(error).__name__}: {error}", 1)
    else:
        sys.exit(status or 0)


def _end(message: str, status: int) -> None:
    print("mixlab: " + " ".join(message.split()), file=sys.stderr)
    sys.exit(status)
