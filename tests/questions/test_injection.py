"""What a user types is a name of the graph or refused; it never becomes part of a query."""

from pathlib import Path

import pytest

import orchq
from orchq import load
from orchq.errors import OrchqError
from orchq.knowledge.store import PROLOGUE
from orchq.questions import Ask, asking, catalogue, examples, sound_words
from orchq.questions.typed_numbers import parse_seconds

HOSTILE = [
    '"', "'", "\\", "`", '" . ?s ?p ?o . "', "'''", '"""', "}", "{", "} UNION { ?s ?p ?o",
    "violin } #", "violin\n} SELECT *", "spiccato\r\n# x", "violin\x00", "ff\u2028}", "\x1b[2J",
    "<https://w3id.org/orchq/violin>", "https://w3id.org/orchq/violin> ?p ?o",
    "http://example.org/", "https://w3id.org/orchq/nothing", "oq:nothing", "_:b0", "?on", "$on",
    "SELECT", "DROP ALL", "SERVICE <http://example.org/> { ?s ?p ?o }", "FROM <http://a/>",
    "INSERT DATA { <a:a> <a:b> <a:c> }", "1; DROP", "%s", "{0}", "${on}", "A4; DROP",
    "A" * 5000, "(" * 3000,
]  # fmt: skip
SOUND = {
    "instrument": "violin",
    "technique": "spiccato",
    "techniques": "spiccato",
    "directive": "pizz.",
    "thing": "arco",
    "dynamic": "ff",
    "pitch": "A4",
    "pitches": "G3 D4",
    "colour": "dark",
    "language": "de",
    "level": "student",
    "source": "berlioz",
    "harmonic-kind": "natural",
    "harmonic": "E6",
    "change": "pizz. arco",
    "composer": "Brahms",
    "seconds": "1s",
    "count": "3",
    "tempo": "96",
    "passage": "C4 E4 | C#4",
    "setting": "D C B",
    "directives": "con sord., pizz.",
    "colours": "dark, singing",
    "role": "melody",
    "instruments": "viola, cello",
    "file": str(Path(orchq.__file__).parent / "demo" / "lantern-street.musicxml"),
}
SPECIAL = {"touched": "D5"}
PEDALLED = {"on": "harp"}
CASES = [
    pytest.param(question, parameter, id=f"{question.name}-{parameter.name}")
    for question in catalogue()
    for parameter in question.parameters
    if parameter.kind not in {"flag", "text"}  # a text is looked for in a file, not in the graph
]


@pytest.fixture(scope="module")
def listened():
    """Questions whose queries are noted."""
    texts = set()

    class Listening(Ask):
        def select(self, query, *store, **bound):
            texts.add(query)
            return super().select(query, *store, **bound)

    return Listening(load(["harp"])), texts


@pytest.mark.sampled(10)
@pytest.mark.parametrize(("question", "parameter"), CASES)
def test_hostile_values_are_refused(listened, question, parameter):
    ask, texts = listened
    sound = {each.name: SOUND.get(each.kind) for each in question.parameters} | SPECIAL
    if question.name == "pedals":
        sound |= PEDALLED
    given = {each.name: sound[each.name] for each in question.parameters if each.required}
    ask.question(question.name, given | {parameter.name: sound[parameter.name]})
    for value in HOSTILE:
        with pytest.raises(OrchqError) as refused:
            ask.question(question.name, given | {parameter.name: value})
        assert "\n" not in str(refused.value) or "\n" in value or "\r" in value
    own = {each.query for each in catalogue()}
    own |= {vars(asking)[name] for name in ("_COMPOSERS", "_FORMS", "_EVIDENCE", "_NOTES")}
    own |= {examples._DATA_SET, examples._TECHNIQUES, sound_words._TEXTS}
    assert texts <= own


@pytest.mark.parametrize("value", [None, 3.5, b"violin", ["violin"], object(), True])
def test_what_is_no_text_is_refused(ask, value):
    for call in (
        lambda: ask.compass(on=value),
        lambda: ask.strings(on="violin", pitch=value),
        lambda: ask.stops(on="violin", pitches=value),
        lambda: ask.terms(for_=value),
    ):
        with pytest.raises(OrchqError):
            call()


@pytest.mark.parametrize("tempo", ["0", "-5", "nan", "inf", "1e9", "", "x", [], True])
def test_tempi_that_are_none_are_refused(ask, tempo):
    with pytest.raises(OrchqError):
        ask.bow(on="violin", at="ff", tempo=tempo)


@pytest.mark.parametrize("seconds", ["-1", "nan", "inf", "1e9", "", "s", "1 m", [], True, None])
def test_times_that_are_none_are_refused(seconds):
    with pytest.raises(OrchqError):
        parse_seconds(seconds)


@pytest.mark.parametrize("count", ["0", "-1", "1.5", "", "x", "1e3", "99999999", True, None])
def test_counts_that_are_none_are_refused(ask, count):
    with pytest.raises(OrchqError):
        ask.divisi(players=count, into=2)
    with pytest.raises(OrchqError):
        ask.divisi(players=8, into=count)


def test_prefixes_are_all_that_stands_before_a_query(graph):
    assert all(line.startswith("PREFIX ") for line in PROLOGUE.splitlines())
