"""The page of competency questions: each in words, the command, the real answer."""

import shlex
from collections.abc import Iterator

from orchq.questions import Answer, Answers, Graph, Question, catalogue, load_graph
from orchq.report.answer_report import answers_text, command

MOST_LINES = 40
"""Lines of an answer that the page shows."""

_HEAD = """\
# Questions

What the graph answers: each question in words, the command that asks it, and the real answer,
or its beginning where it is long. This page is generated (see DEVELOPERS.md); a test
fails when it is stale.

`orchq ask QUESTION --help` shows the parameters of a question. Sources are listed by number below
the answers; where they disagree, all are listed. What rests on memory alone can dispute a mark but
never forbid it. Where a hand is stretched or a string retuned, ask the player, and for students
the teacher: their word comes before any answer here.
"""


def questions_page(graph: Graph) -> str:
    """Return the page in Markdown."""
    return "\n".join([_HEAD, *(line for each in catalogue() for line in _chapter(graph, each))])


def _chapter(graph: Graph, question: Question) -> Iterator[str]:
    yield f"## {question.name}\n"
    for example in question.examples:
        yield f"### {example.words}\n"
        yield f"```sh\n{command(question, example.arguments)}\n```\n"
        answer = answers_text(ask_example(graph, question, example.arguments))
        yield f"```text\n{_beginning(answer)}```\n"


def _beginning(text: str) -> str:
    """The first lines of an answer, and how many more there are."""
    lines = text.splitlines()
    more = len(lines) - MOST_LINES
    shown = lines[:MOST_LINES] + ([f"[... {more} more lines]"] if more > 1 else lines[MOST_LINES:])
    return "".join(f"{line}\n" for line in shown)


def ask_example(graph: Graph, question: Question, arguments: str) -> Answers[Answer]:
    """Ask what an example's arguments ask, of the graph or of one with a shipped extension."""
    words = shlex.split(arguments)
    parameters: dict[str, object] = {}
    while words:
        name = words.pop(0).removeprefix("--")
        if name == "with":
            graph = load_graph([words.pop(0)])
            continue
        flag = any(each.name == name and each.kind == "flag" for each in question.parameters)
        parameters[name] = True if flag else words.pop(0)
    return graph.ask.question(question.name, parameters)
