"""Results of SPARQL queries as a table."""

import json
from collections.abc import Mapping
from io import StringIO

from rich.console import Console
from rich.table import Table
from rich.text import Text

from orchq.report.page import NARROWEST, PLAIN_WIDTH
from orchq.report.wording import counted, one_line
from orchq.terms import PREFIXES


def solutions_table(
    results: str, *, width: int = PLAIN_WIDTH, colour: bool = False, unicode: bool = True
) -> str:
    """Return solutions, given in the JSON of SPARQL 1.1, as a table; names are abbreviated."""
    document = json.loads(results)
    variables = document["head"]["vars"]
    rows = document["results"]["bindings"]
    console = Console(
        file=StringIO(),
        width=max(width, NARROWEST),
        force_terminal=colour,
        no_color=None if colour else True,
        markup=False,
        emoji=False,
        highlight=False,
    )
    if variables and rows:
        table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        for variable in variables:
            table.add_column(Text(one_line(variable)), overflow="fold")
        for row in rows:
            table.add_row(*(Text(_term(row.get(variable))) for variable in variables))
        console.print(table)
    console.print(Text(f"{counted(len(rows), 'solution')}"))
    stream = console.file
    assert isinstance(stream, StringIO)
    text = "".join(f"{line.rstrip()}\n" for line in stream.getvalue().splitlines())
    return text if unicode else text.encode("ascii", "replace").decode()


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
