"""Results of SPARQL queries as a table."""

import json
from collections.abc import Mapping
from typing import Unpack

from rich.table import Column
from rich.text import Text

from orchq.report.text_page import Look, Page
from orchq.report.wording import counted, one_line
from orchq.terms import PREFIXES


def solutions_table(results: str, **look: Unpack[Look]) -> str:
    """Return solutions, given in the JSON of SPARQL 1.1, as a table; names are abbreviated."""
    document = json.loads(results)
    variables = document["head"]["vars"]
    rows = document["results"]["bindings"]
    page = Page(**look)
    if variables and rows:
        page.table(
            [Column(Text(one_line(variable)), overflow="fold") for variable in variables],
            ([Text(_term(row.get(variable))) for variable in variables] for row in rows),
        )
    page.line(counted(len(rows), "solution"))
    text = page.text()
    return text if look.get("unicode", True) else text.encode("ascii", "replace").decode()


def _term(term: Mapping[str, str] | None) -> str:
    """A term as a person writes it: ``oq:violin``, a text, a blank node."""
    if term is None:
        return ""
    value = one_line(term["value"], 1000)
    if term["type"] == "uri":
        for name, iri in PREFIXES.items():
            if value.startswith(iri) and "/" not in value[len(iri) :]:
                return f"{name}:{value[len(iri) :]}"
        return f"<{value}>"
    if term["type"] == "bnode":
        return f"_:{value}"
    language = term.get("xml:lang")
    return f"{value}@{language}" if language else value
