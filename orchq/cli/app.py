"""The commands together, and how any of them ends."""

import gc
import io
import sys
from collections.abc import Sequence
from typing import Annotated

import typer

from orchq.cli.check import check
from orchq.cli.demo import demo
from orchq.cli.export import export
from orchq.cli.failure import BROKEN_CALL, explain, fail
from orchq.cli.rules import rules
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
app.command(short_help="Write a score as triples.")(export)
app.command(short_help="List the rules, or show one.")(rules)
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


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code.

    Whatever goes wrong becomes one sentence on stderr. With ``ORCHQ_TRACEBACK`` set, an error
    of the program itself is raised for those who mend it.
    """
    # A command makes hundreds of thousands of values that live to its end: looking for cycles
    # among them often takes a tenth of its time and finds none.
    gc.set_threshold(200_000, 20, 20)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")
    try:
        code = app(args=arguments, prog_name="orchq", standalone_mode=False)
    except typer.TyperException as error:
        fail(error.format_message())
        return BROKEN_CALL
    except Exception as error:  # noqa: BLE001 - a newcomer must never meet a traceback
        fail(explain(error))
        return BROKEN_CALL
    return code if isinstance(code, int) else 0
