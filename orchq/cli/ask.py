"""``orchq ask``: questions to the graph."""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct, field

from orchq.cli.output import check_out, deliver, look
from orchq.errors import OrchqError, known
from orchq.lazily import lazily
from orchq.questions import (
    Answer,
    Answers,
    Question,
    catalogue,
    load_graph,
)
from orchq.questions.graph import Graph
from orchq.questions.pitch_languages import from_german
from orchq.questions.pitch_names import parse_pitches
from orchq.report.answer_report import (
    answers_json,
    answers_text,
    known_values,
    question_lines,
    question_list,
    question_page,
)

if TYPE_CHECKING:
    from orchq.report import plots
else:
    (plots,) = lazily("orchq.report", "plots")

_SWITCHES = {
    "--list": "listed",
    "--json": "as_json",
    "--german": "german",
    "-h": "explained",
    "--help": "explained",
}
_WITH_VALUE = {
    "--plot": "plot",
    "--level": "level",
    "--trust": "trust",
    "--with": "extensions",
    "--out": "out",
    "-o": "out",
    "--format": "format",
}
"""Options of every question with a value, and what holds it."""
_PITCHES = ("pitch", "pitches", "passage")
"""Kinds of parameters that hold pitches."""
_USAGE = """\
usage: orchq ask QUESTION [value ...] [--name value ...]
       orchq ask --list               every question with an example
       orchq ask QUESTION --help      what a question takes, and the values that it accepts

Values without a name are taken in the order of the parameters: orchq ask techniques violin ff.
Names may be Italian, French, German or English, as scores print them; pitches A4, a', Bb4,
B flat 4, fis', H4, la4, sol dièse 4 or MIDI numbers, with octaves counted as in A4 = 440 Hz;
dynamics as printed. B is B natural; beside H or fis it must be said which. Pitches are sounding,
but those of sounds, which are as printed. Every answer names its sources.

With any question:
  --json            write JSON, as does --format json
  -o, --out OUT     write the answer to this file
  --german          read B as in German: B flat
  --level LEVEL     who plays: student, orchestral or soloist
  --trust SOURCE    follow this authority where sources disagree
  --plot FILE.svg   draw the answer as well (techniques, dynamics, strings, harmonics,
                    stops, fingering), or engrave it (notation, sounds)
  --with EXT        add a folder or file of your own, or a shipped extension by name; repeatable

The questions:
"""


class _Call(Struct):
    """The parsed command line; the parameters of the question are not yet read."""

    name: str | None = None
    listed: bool = False
    as_json: bool = False
    explained: bool = False
    plot: Path | None = None
    out: Path | None = None
    format: str | None = None
    german: bool = False
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
        deliver(question_page(asked, lambda kind: known_values(graph, kind), **look(None)), None)
        return
    check_out(call.out, [*map(Path, call.extensions)])
    if call.plot is not None:
        if call.plot.suffix.lower() != ".svg":
            raise OrchqError(f"{call.plot}: drawings are SVG; name it {call.plot.stem}.svg")
        check_out(call.plot, [*map(Path, call.extensions)])
        plots.check_drawn(asked.name)
    answers = _answers(graph, asked, call)
    if call.plot is not None:
        deliver(plots.plot_svg(answers, graph), call.plot)
    text = answers_json(answers) if call.as_json else answers_text(answers, **look(call.out))
    deliver(text, call.out)


def _read_call(words: Sequence[str]) -> _Call:
    """Take out the options of every question; the rest are parameters of the one asked."""
    call = _Call()
    waiting = list(words)
    while waiting:
        word = waiting.pop(0)
        name, _, given = word.partition("=")
        if word in _SWITCHES:
            setattr(call, _SWITCHES[word], True)
        elif name in _WITH_VALUE:
            value = given if "=" in word else _value(name, waiting)
            attribute = _WITH_VALUE[name]
            if name == "--with":
                call.extensions.append(value)
            elif getattr(call, attribute) is not None:
                raise OrchqError(f"{name} is given twice")
            else:
                setattr(call, attribute, Path(value) if attribute in {"plot", "out"} else value)
        elif word.startswith("--"):
            call.rest.append(word)
            if "=" not in word and waiting and not waiting[0].startswith("--"):
                call.rest.append(waiting.pop(0))
        elif call.name is None:
            call.name = word
        else:
            call.rest.append(word)
    if call.format is not None:
        form = known("format", call.format, ("text", "json"))
        call.as_json = call.as_json or form == "json"
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
    alone: list[str] = []
    for key, word in _pairs(asked, call.rest):
        if not key:
            alone.append(str(word))
        elif key in parameters:
            raise OrchqError(f"--{key} is given twice")
        else:
            parameters[key] = word
    parameters |= _in_order(asked, alone, parameters)
    for each in asked.parameters if call.german else ():
        given_word = parameters.get(each.name)
        if each.kind in _PITCHES and isinstance(given_word, str):
            parameters[each.name] = from_german(given_word)
    return graph.ask.question(asked.name, parameters)


def _pairs(asked: Question, words: Sequence[str]) -> Iterator[tuple[str, object]]:
    """The parameters on the command line: ``--name value``, ``--name=value`` or a flag."""
    flags = {each.name for each in asked.parameters if each.kind == "flag"}
    waiting = list(words)
    while waiting:
        word = waiting.pop(0)
        name, given, value = word.removeprefix("--").partition("=")
        if not word.startswith("--"):
            yield "", word
        elif not name:
            raise OrchqError(f"{word!r} names no parameter; they are given as --name value")
        elif name in flags and not given:
            yield name, True
        elif name in flags:
            raise OrchqError(f"--{name} takes no value")
        elif given:
            yield name, value
        elif not waiting:
            raise OrchqError(f"--{name} lacks its value")
        else:
            yield name, waiting.pop(0)


def _in_order(
    asked: Question, words: Sequence[str], named: Mapping[str, object]
) -> dict[str, object]:
    """Values without a name, in the order of the parameters that have none yet.

    Several pitches may stand as words of their own.
    """
    free = [each for each in asked.parameters if each.kind != "flag" and each.name not in named]
    given: dict[str, object] = {}
    waiting = list(words)
    for parameter in free:
        if not waiting:
            break
        value = waiting.pop(0)
        while parameter.kind == "pitches" and waiting and _is_pitch(waiting[0]):
            value += f" {waiting.pop(0)}"
        given[parameter.name] = value
    if waiting:
        raise OrchqError(
            f"{waiting[0]!r} is one value too many; {asked.name} takes"
            f" {', '.join(f'--{each.name}' for each in free) or 'no more'}"
        )
    return given


def _is_pitch(word: str) -> bool:
    try:
        parse_pitches(word)
    except OrchqError:
        return False
    return True
