"""``orchq ask``: questions to the graph."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from orchq.cli.output import check_out, deliver, look
from orchq.errors import OrchqError
from orchq.lazily import lazily
from orchq.questions import (
    Answer,
    Answers,
    Question,
    catalogue,
    load_graph,
)
from orchq.questions.graph import Graph
from orchq.questions.sound_words import colour_words
from orchq.report.answer_report import (
    answers_json,
    answers_text,
    question_lines,
    question_list,
    question_page,
)

if TYPE_CHECKING:
    from orchq.report import plots
else:
    (plots,) = lazily("orchq.report", "plots")

_SWITCHES = {"--list": "listed", "--json": "as_json", "-h": "explained", "--help": "explained"}
_USAGE = """\
usage: orchq ask QUESTION [--name value ...]
       orchq ask --list               every question with an example
       orchq ask QUESTION --help      what a question takes, and the values that it accepts

Names may be Italian, French, German or English, as scores print them; pitches A4, a',
Bb4, B flat 4 or MIDI numbers; dynamics as printed. Pitches are sounding, but those of sounds,
which are as printed. Every answer names its sources.

With any question:
  --json            write JSON
  --level LEVEL     who plays: student, orchestral or soloist
  --trust SOURCE    follow this authority where sources disagree
  --plot FILE.svg   draw the answer as well (techniques, dynamics, strings, harmonics), or
                    engrave it (notation, sounds)
  --with EXT        add a folder or file of your own, or a shipped extension by name; repeatable

The questions:
"""


@dataclass(slots=True)
class _Call:
    """The parsed command line; the parameters of the question are not yet read."""

    name: str | None = None
    listed: bool = False
    as_json: bool = False
    explained: bool = False
    plot: Path | None = None
    level: str | None = None
    trust: str | None = None
    extensions: list[str] = field(default_factory=list)
    rest: list[str] = field(default_factory=list)


def ask_words(words: Sequence[str]) -> None:
    """Answer the question asked on the command line.

    Raises ``OrchqError`` when the call is wrong.
    """
    call = _read_call(words)
    if call.name is None:
        if not (call.listed or call.explained):
            raise OrchqError("no question given; orchq ask --list shows them")
        shown = look(None)
        every = load_graph(call.extensions).ask.catalogue() if call.extensions else catalogue()
        lines = question_lines(every, width=shown["width"])
        deliver(question_list(every, **shown) if call.listed else _USAGE + lines, None)
        return
    graph = load_graph(call.extensions)
    asked = graph.ask.asked(call.name)
    if call.explained or call.listed:
        deliver(question_page(asked, lambda kind: _known(graph, kind), **look(None)), None)
        return
    if call.plot is not None:
        check_out(call.plot, [*map(Path, call.extensions)])
        plots.check_drawn(asked.name)
    answers = _answers(graph, asked, call)
    if call.plot is not None:
        deliver(plots.plot_svg(answers, graph), call.plot)
    deliver(answers_json(answers) if call.as_json else answers_text(answers, **look(None)), None)


def _read_call(words: Sequence[str]) -> _Call:
    """Take out the options of every question; the rest are parameters of the one asked."""
    call = _Call()
    waiting = list(words)
    while waiting:
        word = waiting.pop(0)
        name, _, given = word.partition("=")
        if word in _SWITCHES:
            setattr(call, _SWITCHES[word], True)
        elif name in ("--plot", "--level", "--trust", "--with"):
            value = given if "=" in word else _value(name, waiting)
            if name == "--with":
                call.extensions.append(value)
            elif getattr(call, name[2:]) is not None:
                raise OrchqError(f"{name} is given twice")
            else:
                setattr(call, name[2:], Path(value) if name == "--plot" else value)
        elif word.startswith("--"):
            call.rest.append(word)
            if "=" not in word and waiting and not waiting[0].startswith("--"):
                call.rest.append(waiting.pop(0))
        elif call.name is None:
            call.name = word
        else:
            raise OrchqError(f"{word!r} stands alone; parameters are given as --name value")
    return call


def _value(name: str, waiting: list[str]) -> str:
    if not waiting:
        raise OrchqError(f"{name} lacks its value")
    return waiting.pop(0)


def _answers(graph: Graph, asked: Question, call: _Call) -> Answers[Answer]:
    graph.ask.standpoint(call.level, call.trust)  # reports a wrong name in any case
    takes = {each.name for each in asked.parameters}
    given = {"level": call.level, "trust": call.trust}
    parameters: dict[str, object] = {
        name: value for name, value in given.items() if name in takes and value is not None
    }
    for key, word in _pairs(asked, call.rest):
        if key in parameters:
            raise OrchqError(f"--{key} is given twice")
        parameters[key] = word
    return graph.ask.question(asked.name, parameters)


def _pairs(asked: Question, words: Sequence[str]) -> Iterator[tuple[str, object]]:
    """The parameters on the command line: ``--name value``, ``--name=value`` or a flag."""
    flags = {each.name for each in asked.parameters if each.kind == "flag"}
    waiting = list(words)
    while waiting:
        word = waiting.pop(0)
        name, given, value = word.removeprefix("--").partition("=")
        if not word.startswith("--") or not name:
            raise OrchqError(f"{word!r} stands alone; parameters are given as --name value")
        if name in flags and not given:
            yield name, True
        elif name in flags:
            raise OrchqError(f"--{name} takes no value")
        elif given:
            yield name, value
        elif not waiting:
            raise OrchqError(f"--{name} lacks its value")
        else:
            yield name, waiting.pop(0)


def _known(graph: Graph, kind: str) -> Sequence[str]:
    if kind == "composer":
        return tuple(graph.ask.composers.values())
    return colour_words(graph.ask) if kind == "colour" else graph.ask.names.known(kind)
