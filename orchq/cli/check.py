"""``orchq check``: findings in scores."""

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Literal

import typer

from orchq.baseline import baseline_of, read_baseline
from orchq.cli.failure import fail
from orchq.cli.given_scores import given_scores
from orchq.cli.options import AsJson, Extensions, Level, Out, Rules, Trust
from orchq.cli.output import check_out, deliver, deliver_bytes, look
from orchq.cli.progress import with_progress
from orchq.cli.take_home import chosen_proposals, write_applied, write_stripped
from orchq.cli.watch import watch
from orchq.errors import OrchqError
from orchq.project import Outcome, Project
from orchq.report.formats import FOR_PROGRAMS, ReportFormat, check_format, format_report
from orchq.settings import Settings, read_settings, settings_of
from orchq.severity import Threshold

CheckFormat = Literal[ReportFormat, "musicxml"]


def check(
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE|DIR|-",
            help="MusicXML scores or excerpts as triples, folders of scores, - for standard input.",
        ),
    ],
    report_format: Annotated[
        CheckFormat,
        typer.Option(
            "--format",
            help="Format of the report; musicxml is the score with each finding at its note.",
        ),
    ] = "text",
    as_json: AsJson = False,
    out: Out = None,
    apply: Annotated[
        str | None,
        typer.Option(
            metavar="N[,N...]",
            help="Carry out proposals in a copy of the score (OUT): 4 is the first proposal of"
            " finding 4, 4.2 its second.",
        ),
    ] = None,
    strip: Annotated[
        bool,
        typer.Option("--strip", help="Take the findings of --format musicxml off again."),
    ] = False,
    level: Level = None,
    trust: Trust = None,
    extensions: Extensions = None,
    rules: Rules = None,
    fail_on: Annotated[
        Threshold | None,
        typer.Option(help="The mildest finding that makes the exit code 1; by default violation."),
    ] = None,
    engine: Annotated[
        Literal["fast", "pyshacl"],
        typer.Option(help="The engine: fast, or pyshacl as the slow reference."),
    ] = "fast",
    baseline: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Accept the findings recorded in this file."),
    ] = None,
    write_baseline: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Record all findings in this file, to be accepted from now on."
        ),
    ] = None,
    watching: Annotated[
        bool, typer.Option("--watch", help="Check again whenever a file is saved.")
    ] = False,
    settings_file: Annotated[
        Path | None,
        typer.Option(
            "--settings", metavar="FILE", help="Read the project settings from this file."
        ),
    ] = None,
    no_settings: Annotated[
        bool, typer.Option("--no-settings", help="Ignore project settings.")
    ] = False,
    allow_override: Annotated[
        bool,
        typer.Option(
            "--allow-override", help="Allow extensions that change the core, and report it."
        ),
    ] = False,
    all_pages: Annotated[
        bool, typer.Option("--all-pages", help="Engrave the whole score (with --format html).")
    ] = False,
    fingering: Annotated[
        bool,
        typer.Option(
            "--fingering",
            help="Draw the likeliest strings, positions and fingers (with --format html).",
        ),
    ] = False,
    advice: Annotated[
        bool,
        typer.Option(
            "--advice/--no-advice", help="Suggest what to write instead, each suggestion tried out."
        ),
    ] = True,
) -> None:
    """Report what string players cannot play as written, and who says so."""
    settings = _settings(settings_file, none=no_settings)
    if baseline and write_baseline:
        raise OrchqError("give either --baseline or --write-baseline")
    own = (*(settings.files if settings else ()), *map(Path, extensions or ()))
    known = read_baseline(baseline) if baseline else None
    check_out(out, [*files, *own, *([baseline] if baseline else ())])
    check_out(write_baseline, [*files, *own])
    if as_json:
        report_format = "json"
    with given_scores(files) as scores:
        if strip:
            write_stripped(scores, out)
            return
        chosen = chosen_proposals(apply, report_format, scores, out)
        if watching and (out or write_baseline or apply or report_format != "text"):
            raise OrchqError(
                "--watch only writes text to the terminal: it takes no output file or format"
            )
        if report_format != "musicxml":
            check_format(report_format)
        with _collector_paused():
            project = Project(
                settings=settings,
                baseline=known,
                extensions=extensions or (),
                level=level,
                trust=trust,
                rules=None if rules is None else [slug.strip() for slug in rules.split(",")],
                engine=engine,
                advice=advice,
                fail_on=fail_on,
                allow_override=allow_override,
            )
            if watching:
                watch(scores, project)
                return
            if chosen and out is not None:
                raise typer.Exit(write_applied(project, scores[0], out, chosen))
            outcome = project.check(_in_turn(scores))
        outcome = _told(outcome, write_baseline)
        if report_format == "musicxml":
            if outcome.reports and out is not None:
                deliver_bytes(outcome.annotated(), out)
        elif outcome.reports or report_format in FOR_PROGRAMS:
            report = format_report(
                outcome, report_format, all_pages=all_pages, fingering=fingering, **look(out)
            )
            deliver(report, out)
        raise typer.Exit(outcome.exit_code)


def _told(outcome: Outcome, write_baseline: Path | None) -> Outcome:
    """Report what could not be checked; with a new baseline its findings are accepted."""
    for fault in (fault for unread in outcome.unread for fault in unread.faults):
        fail(fault.sentence)
    for report in outcome.unchecked:
        fail(f"{report.file}: no part is for an instrument of the graph: nothing was checked")
    if write_baseline and outcome.unread:
        fail(f"{write_baseline}: not written, since not all files could be checked")
    elif write_baseline:
        written = baseline_of(outcome.reports, write_baseline)
        deliver(written.text(), write_baseline)
        return outcome.accepting(written)
    return outcome


def _settings(file: Path | None, *, none: bool) -> Settings | None:
    """Return the settings of this file, or of the working directory, or none."""
    if file is not None and none:
        raise OrchqError("give either --settings or --no-settings")
    if none:
        return None
    return settings_of(Path()) if file is None else read_settings(file)


def _in_turn(files: Sequence[Path]) -> Iterator[Path]:
    """Yield the files; garbage left by one of several is collected before the next."""
    for file in with_progress(files):
        yield file
        if len(files) > 1:
            gc.collect(0)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Pause the garbage collector.

    A check makes hundreds of thousands of small objects that live until its report, and the
    collector would look at them again and again: a tenth of the whole time.
    """
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()
