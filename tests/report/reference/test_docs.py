"""The committed pages of rules and words are what the graph says.

Run as a program, this file writes them anew.
"""

from pathlib import Path

import pytest

import orchq
from orchq.report.reference import glossary_text, rules_text

DOCS = Path(__file__).parents[3] / "orchq" / "docs"
PAGES = {"rules.md": rules_text, "glossary.md": glossary_text}


@pytest.mark.parametrize("name", PAGES)
def test_the_page_is_what_the_graph_says(name):
    assert (DOCS / name).read_text(encoding="utf-8") == PAGES[name](orchq.load()), (
        f"orchq/docs/{name} is stale: python tests/report/reference/test_docs.py renews it"
    )


def test_the_tables_are_whole():
    """Every row has as many cells as the head, whatever its words hold."""
    rows = [
        line.replace("\\|", "")
        for line in (DOCS / "glossary.md").read_text(encoding="utf-8").splitlines()
        if line.startswith("|")
    ]
    assert len(rows) > 200
    assert {row.count("|") for row in rows} == {6}


if __name__ == "__main__":
    for page, text in PAGES.items():
        (DOCS / page).write_text(text(orchq.load()), encoding="utf-8")
