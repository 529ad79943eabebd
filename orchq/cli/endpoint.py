"""``orchq endpoint``: the rules run where excerpts live in a store."""

import json
from typing import Annotated, Literal

import typer

import orchq
from orchq.cli.options import Extensions, Rules
from orchq.cli.streams import say
from orchq.errors import known
from orchq.report.wording import one_line
from orchq.rules.at_endpoint import Endpoint, found_at
from orchq.rules.checking import rules_of


def endpoint(
    address: Annotated[
        str, typer.Argument(metavar="URL", help="The address for queries of a SPARQL 1.1 server.")
    ],
    form: Annotated[
        Literal["text", "json"], typer.Option("--format", help="Format of the report.")
    ] = "text",
    extensions: Extensions = None,
    rules: Rules = None,
    seconds: Annotated[
        float,
        typer.Option(
            "--time-limit", min=0.1, metavar="SECONDS", help="Give up waiting for an answer."
        ),
    ] = 60.0,
) -> None:
    """Run the rules on a SPARQL server that holds what orchq export --derived writes.

    Only this address is opened; no redirection is followed. The exit code is 1 when there are
    violations.
    """
    infos, shapes = rules_of(orchq.load(extensions or ()))
    if rules is not None:
        slugs = [info.slug for info in infos]
        chosen = {known("rule", slug.strip(), slugs) for slug in rules.split(",")}
        shapes = tuple(shape for shape in shapes if shape.rule_slug in chosen)
    found = found_at(Endpoint(address, seconds), shapes)
    if form == "json":
        say(json.dumps([each.as_object() for each in found], indent=2) + "\n")
    else:
        for each in found:
            place = f"{each.part}, m. {each.measure}, beat {each.beat:g}"
            say(f"{each.severity:<9}  {one_line(place, 60)}  {each.rule}\n")
        say(f"{len(found)} findings\n")
    raise typer.Exit(int(any(each.severity == "violation" for each in found)))
