"""The commands together, but for the questions, which are asked without them."""

from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from orchq.cli.check import check
from orchq.cli.demo import demo
from orchq.cli.export import export
from orchq.cli.failure import BROKEN_CALL, fail
from orchq.cli.lint import lint, new
from orchq.cli.reference import reference
from orchq.cli.rules import rules
from orchq.cli.sheet import sheet
from orchq.cli.sparql import sparql
from orchq.cli.survey import survey
from orchq.report import program_version

app = typer.Typer(
    name="orchq",
    help="Tell mistakes in string parts before the players do, and who says that they are.",
    epilog="Ends with 0 when nothing was found, 1 with findings, 2 when the input or the call "
    "is wrong.",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command(short_help="Report mistakes in scores.")(check)


@app.command(
    short_help="Ask what can be played, and who says so.",
    context_settings={"allow_extra_args": True, "ignore_unknown_options": True},
    add_help_option=False,
)
def ask(context: typer.Context) -> None:
    """Ask the graph; each question has options of its own."""
    import_module("orchq.cli.ask").ask_words(context.args)


app.command(short_help="Write a page about an instrument.")(sheet)
app.command(short_help="Write pages about the graph.")(reference)
app.command(short_help="Query the graph with SPARQL.")(sparql)
app.command(short_help="Write a score, or the graph, as triples.")(export)
app.command(short_help="List the rules, or show one.")(rules)
app.command(short_help="Check an extension of the graph.")(lint)
app.add_typer(new, name="new", short_help="Begin an extension of the graph.")
app.command(short_help="Measure what scores ask of players.")(survey)
app.command(short_help="Check the packaged piece.")(demo)


def _show_version(asked: bool) -> None:
    if asked:
        typer.echo(f"orchq {program_version()}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def start(
    context: typer.Context,
    _version: Annotated[
        bool,
        typer.Option("--version", help="Print the version.", callback=_show_version, is_eager=True),
    ] = False,
) -> None:
    """Tell mistakes in string parts before the players do, and who says that they are."""
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def run_command(words: Sequence[str]) -> int:
    """Run a command and return its exit code; a wrong call is told in one sentence."""
    try:
        code = app(args=words, prog_name="orchq", standalone_mode=False)
    except typer.TyperException as error:
        fail(error.format_message())
        return BROKEN_CALL
    return code if isinstance(code, int) else 0
