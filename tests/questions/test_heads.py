"""A question's file, its function and its answers say the same."""

import inspect
import re
from typing import get_args, get_type_hints

import pytest
from msgspec import Struct
from pyoxigraph import Store

from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.questions import Ask, catalogue
from orchq.questions.head import read_question
from orchq.report.questions_page import ask_example

QUESTIONS = pytest.mark.parametrize("question", catalogue(), ids=lambda each: each.name)
MAIN = {
    "techniques", "dynamics", "strings", "stops", "harmonics", "players", "colours", "terms",
    "changes", "bow", "rates", "divisi", "compass", "section", "sources",
}  # fmt: skip


def test_all_that_is_promised_can_be_asked():
    assert {question.name for question in catalogue()} >= MAIN
    assert len(catalogue()) >= 27


def function_of(question):
    return getattr(Ask, question.method)


@QUESTIONS
def test_the_function_takes_what_the_file_says(question):
    parameters = list(inspect.signature(function_of(question)).parameters.values())[1:]
    assert {each.name: each.default is each.empty for each in parameters} == {
        each.keyword: each.required for each in question.parameters
    }
    assert all(each.kind is each.KEYWORD_ONLY for each in parameters)
    assert {each.name for each in parameters if each.annotation is bool} == {
        each.keyword for each in question.parameters if each.kind == "flag"
    }


@QUESTIONS
def test_the_answers_have_the_columns_that_the_file_says(question):
    (answer,) = get_args(get_type_hints(function_of(question))["return"])
    assert issubclass(answer, Struct)
    assert answer.__struct_config__.frozen
    names = list(answer.__struct_fields__)
    assert names == [*(column.name for column in question.columns), "evidence"]


@QUESTIONS
def test_the_function_is_documented_with_an_example(question):
    assert ">>> " in inspect.getdoc(function_of(question))


@QUESTIONS
def test_the_query_reads_declared_terms_only(graph, question):
    names = set(re.findall(r"\boq:([\w-]+)", question.query))
    assert {f"https://w3id.org/orchq/{name}" for name in names} <= graph.declared
    assert question.computed_by
    if question.query:
        assert question.query.startswith("SELECT ")
        assert not re.search(r"\b(SERVICE|FROM|GRAPH)\b", question.query)
        Store().query(PROLOGUE + question.query)


@QUESTIONS
def test_every_example_has_an_answer(graph, question):
    for example in question.examples:
        assert ask_example(graph, question, example.arguments)
        assert example.words.endswith("?")


@pytest.mark.parametrize(
    "text",
    [
        "SELECT * {}",
        "# words\n",
        "# words\n#\n# parameters\n#   on\n# examples\n#   a | b\n",
        "# words\n#\n# parameters\n#   on thimble   a thing\n# examples\n#   a | b\n",
        "# words\n#\n# examples\n#   no bar\n",
    ],
)
def test_a_broken_head_is_refused(text):
    with pytest.raises(OrchqError, match="question broken"):
        read_question("broken", text)
