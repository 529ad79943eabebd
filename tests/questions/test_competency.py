"""The competency questions of the page are answered by its queries, as it shows.

Run as a program, this file writes the answers anew.
"""

import re
from pathlib import Path

import pytest

import orchq

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "competency-questions.md"
ENTRY = re.compile(r"## (.+?)\n\n```sparql\n(.*?)```\n\n(\|.*?\n)(?=\n|\Z)", re.DOTALL)


def entries():
    return ENTRY.findall(PAGE.read_text(encoding="utf-8"))


def table(query):
    found = orchq.load().sparql(query)
    lines = [found.variables, ["---"] * len(found.variables), *found.rows]
    return "".join(
        f"| {' | '.join('' if cell is None else str(cell) for cell in line)} |\n" for line in lines
    )


@pytest.mark.parametrize("entry", entries(), ids=lambda entry: entry[0])
def test_a_question_is_answered_as_shown(entry):
    _, query, shown = entry
    answer = table(query)
    assert answer == shown, "python tests/questions/test_competency.py renews the answers"
    assert answer.count("\n") > 2, "there is no answer"


def test_every_question_has_query_and_answer():
    assert len(entries()) == PAGE.read_text(encoding="utf-8").count("\n## ") >= 8


if __name__ == "__main__":
    text = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(
        ENTRY.sub(lambda m: f"## {m[1]}\n\n```sparql\n{m[2]}```\n\n{table(m[2])}", text),
        encoding="utf-8",
    )
