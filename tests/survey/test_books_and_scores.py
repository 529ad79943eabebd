"""The page of books and scores shows what the graph holds.

Run as a program, this file writes the page and its drawings anew.
"""

from pathlib import Path

import orchq
from orchq.report.books_and_scores import BooksAndScores

FOLDER = Path(__file__).parents[2] / "orchq" / "docs"
PAGE = FOLDER / "books-and-scores.md"


def test_the_page_is_what_the_graph_holds():
    made = BooksAndScores(orchq.load())
    stale = "python tests/survey/test_books_and_scores.py renews the page"
    assert PAGE.read_text(encoding="utf-8") == made.page(), stale
    for name, drawing in made.drawings().items():
        assert (FOLDER / name).read_text(encoding="utf-8") == drawing, stale


def test_every_attested_limit_has_its_line():
    graph = orchq.load()
    text = PAGE.read_text(encoding="utf-8")
    labels = [
        graph.label(limit.iri).removesuffix(", attested").removesuffix(", all parts")
        for limit in graph.limits
        if limit.basis == "attested" and limit.level == "https://w3id.org/orchq/soloist"
    ]
    assert len(labels) > 20
    assert [label for label in labels if f"| {label} |" not in text] == []


def write() -> None:
    """Write the page and its drawings."""
    made = BooksAndScores(orchq.load())
    PAGE.write_text(made.page(), encoding="utf-8")
    for name, drawing in made.drawings().items():
        (FOLDER / name).write_text(drawing, encoding="utf-8")


if __name__ == "__main__":
    write()
