"""The page of questions shows what the program really answers.

Run as a program, this file writes the page anew.
"""

from pathlib import Path

import pytest

import orchq
from orchq.questions import catalogue
from orchq.report.questions_page import questions_page

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "questions.md"


@pytest.mark.long
def test_the_page_is_what_the_program_answers():
    assert PAGE.read_text(encoding="utf-8") == questions_page(orchq.load()), (
        "orchq/docs/questions.md is stale: python tests/questions/test_page.py renews it"
    )


@pytest.mark.parametrize("question", catalogue(), ids=lambda each: each.name)
def test_the_page_has_every_question(question):
    text = PAGE.read_text(encoding="utf-8")
    assert f"## {question.name}\n" in text
    for example in question.examples:
        assert example.words in text


if __name__ == "__main__":
    PAGE.write_text(questions_page(orchq.load()), encoding="utf-8")
