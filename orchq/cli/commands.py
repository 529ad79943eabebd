"""All commands: each is loaded when it is called; ``ask`` bypasses this module."""

from collections.abc import Callable, Sequence
from typing import Annotated, Any

import typer
from typer.core import TyperGroup

from orchq.cli.failure import BROKEN_CALL, INTERRUPTED, fail
from orchq.cli.streams import say
from orchq.lazily import loaded
from orchq.version import program_version

COMMANDS = {
    "check": "Report mistakes in scores.",
    "library": "Check many scores, in several processes, into one file of records.",
    "open": "Open a page on this machine.",
    "ask": "Ask what can be played, and who says so.",
    "sheet": "Write a page about an instrument.",
    "lesson": "Write a teacher's sheet: places in scores, exercises, a quiz.",
    "reference": "Write pages about the graph.",
    "sparql": "Query the graph with SPARQL.",
    "endpoint": "Run the rules on a SPARQL server that holds derived triples.",
    "export": "Write a score, or the graph, as triples.",
    "attest": "Write what surveyed scores attest as limits.",
    "fingering": "Finger a score: strings, positions and fingers.",
    "difficulty": "Grade the parts of a score by difficulty.",
    "rules": "List the rules, or show one.",
    "lint": "Check an extension of the graph.",
    "new": "Start an extension of the graph.",
    "survey": "Measure what scores ask of players.",
    "demo": "Check the packaged piece.",
}
"""Every command with its short help; each is the function of its name in a module of its name."""


class _Loading(TyperGroup):
    """The commands by name; only the one that is called is loaded."""

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        name, _, rest = super().resolve_command(ctx, args)
        return name, name and _command(name), rest


def _typer(*, completing: bool = False, **options: Any) -> typer.Typer:
    return typer.Typer(
        add_completion=completing,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"]},
        **options,
    )


def _command(name: str) -> Any:
    found: Callable[..., None] | typer.Typer = getattr(loaded(f"orchq.cli.{name}"), name)
    if not isinstance(found, typer.Typer):
        alone = _typer()
        alone.command(name)(found)
        found = alone
    return typer.main.get_command(found)


app = _typer(
    completing=True,
    cls=_Loading,
    name="orchq",
    help="Find mistakes in string parts before the players do, and show the sources.",
    epilog="Exit code: 0 when nothing was found, 1 with findings, 2 for bad input or usage.",
)
for _name, _short_help in COMMANDS.items():
    app.command(_name, short_help=_short_help)(lambda: None)


def _show_version(asked: bool) -> None:
    if asked:
        say(f"orchq {program_version()}\n")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    _version: Annotated[
        bool,
        typer.Option("--version", help="Print the version.", callback=_show_version, is_eager=True),
    ] = False,
) -> None:
    """Find mistakes in string parts before the players do, and show the sources."""
    if context.invoked_subcommand is None:
        say(context.get_help() + "\n")


def run_command(words: Sequence[str]) -> int:
    """Run a command and return its exit code; wrong usage is reported in one sentence."""
    try:
        code = app(args=words, prog_name="orchq", standalone_mode=False)
    except typer.TyperException as error:
        fail(error.format_message().replace("Value error, ", ""))  # a word of the library's
        return BROKEN_CALL
    except typer.Abort:
        return INTERRUPTED
    return code if isinstance(code, int) else 0
