"""Queries that never end, or need more memory than there is, end within their bounds."""

from time import monotonic

import pytest

from orchq.sandbox import process

TRIPLES = "".join(f'<urn:{number}> <urn:p> "{"x" * 200}" .\n' for number in range(3000))
PAIRS = "{ ?a ?b ?c . ?d ?e ?f }"
DOUBLED = " ".join(f"BIND(CONCAT(?x{n},?x{n}) AS ?x{n + 1})" for n in range(34))
HUNGRY = {
    "rows": f"SELECT * {PAIRS}",
    "rows that differ": f"SELECT DISTINCT ?a ?d ?c ?f {PAIRS}",
    "rows in order": f"SELECT * {PAIRS} ORDER BY ?f ?a",
    "triples": "CONSTRUCT { ?a <urn:b> ?d . ?d <urn:c> ?f } " + PAIRS,
    "all in one text": f"SELECT (GROUP_CONCAT(?c) AS ?x) {PAIRS}",
    "a text doubled": f"SELECT (STRLEN(?x34) AS ?n) {{ BIND('aaaaaaaaaa' AS ?x0) {DOUBLED} }}",
    "paths": "SELECT (COUNT(*) AS ?n) { ?a (<urn:x>|!<urn:x>|^<urn:x>)* ?b . ?b (!<urn:q>)* ?d }",
    "a pattern": "ASK { FILTER REGEX('a', '(((a{1,900}){1,900}){1,900})') }",
    "a pattern that goes back": "ASK { FILTER REGEX('" + "a" * 40 + "!', '(a+)+$') }",
    "brackets": "ASK { FILTER" + "(" * 5000 + "true" + ")" * 5000 + " }",
    "negations": "ASK { FILTER(" + "!" * 50_000 + "true) }",
    "groups": "ASK " + "{" * 400 + "}" * 400,
}
SECONDS = 6
BYTES = 400_000_000


@pytest.mark.sampled(4)
@pytest.mark.parametrize("name", HUNGRY)
def test_a_query_ends_within_its_bounds(name):
    """It is answered, refused or ended; what was returned is whole."""
    asked = {"do": "result", "triples": TRIPLES, "query": HUNGRY[name], "form": "json"}
    started = monotonic()
    try:
        (answer,) = process.answered(asked, 1, SECONDS, BYTES)
    except process.StoppedError as stopped:
        answer = {"error": stopped.reason}
    assert monotonic() - started < SECONDS + 5
    assert answer.keys() & {"kind", "error"}
    assert len(str(answer)) < BYTES
