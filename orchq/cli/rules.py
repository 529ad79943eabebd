"""``orchq rules``: what is checked, and why."""

from typing import Annotated

import typer

import orchq
from orchq.cli.options import Extensions
from orchq.cli.output import deliver, look
from orchq.errors import known
from orchq.knowledge import load
from orchq.report.rule_pages import catalogue_json, catalogue_table, rule_page


def rules(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="Show this rule in full.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write JSON.")] = False,
    extensions: Extensions = None,
) -> None:
    """List the rules, or show one: why it matters, what to write instead, who says so."""
    catalogue = orchq.catalogue(load(extensions or ()))
    if name is not None:
        known("rule", name, (rule.slug for rule in catalogue))
        catalogue = tuple(rule for rule in catalogue if rule.slug == name)
    if as_json:
        deliver(catalogue_json(catalogue), None)
    elif name is not None:
        deliver(rule_page(catalogue[0], **look(None)), None)
    else:
        deliver(catalogue_table(catalogue, **look(None)), None)
