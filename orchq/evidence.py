"""Who says so: what findings and answers rest on."""

from dataclasses import dataclass

from orchq.knowledge import Limit


@dataclass(frozen=True, slots=True)
class Evidence:
    """Who says so: a limit with its source, place in the source and basis."""

    limit: str
    source: str
    locator: str
    basis: str
    statement: str


def evidence_of(limit: Limit) -> Evidence:
    """Return the one who states a limit."""
    return Evidence(
        limit=limit.iri,
        source=limit.source.label if limit.source else "",
        locator=limit.locator,
        basis=limit.basis.replace("-", " "),
        statement=limit.statement,
    )
