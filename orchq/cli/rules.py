"""``orchq rules``: what is checked, and why."""

from pathlib import Path
from typing import Annotated

import typer

import orchq
from orchq.cli.options import AsJson, Extensions, Out, TextOrJson
from orchq.cli.output import check_out, deliver, look
from orchq.errors import known
from orchq.knowledge import load
from orchq.report.rule_pages import catalogue_json, catalogue_table, rule_page


def rules(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Show this rule in full.")
    ] = None,
    out: Out = None,
    result_format: TextOrJson = "text",
    as_json: AsJson = False,
    extensions: Extensions = None,
) -> None:
    """List the rules, or show one: why it matters, what to write instead, who says so."""
    check_out(out, [*map(Path, extensions or ())])
    catalogue = orchq.catalogue(load(extensions or ()))
    if name is not None:
        known("rule", name, (rule.slug for rule in catalogue))
        catalogue = tuple(rule for rule in catalogue if rule.slug == name)
    if as_json or result_format == "json":
        deliver(catalogue_json(catalogue), out)
    elif name is not None:
        deliver(rule_page(catalogue[0], **look(out)), out)
    else:
        deliver(catalogue_table(catalogue, **look(out)), out)
