"""Every query of a question matters: changed in any one place, it changes an answer."""

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
from pyoxigraph import RdfFormat, Store

import orchq
from orchq.errors import OrchqError
from orchq.questions import Ask, catalogue
from orchq.questions.head import question
from orchq.questions.scoring_facts import scoring_facts

WITH_QUERY = [each for each in catalogue() if each.query]
DATA = Path(__file__).parent
PLACES = DATA / "places.ttl"
EXTENSIONS = ["harp", "soprano-ukulele", DATA / "house.ttl"]

FURTHER = {
    "changes": ['--to "snap pizzicato"'],
    "compass": ["--on cithara"],
    "dynamics": ["--on violin"],
    "examples": ['--technique "con sordino"', '--stop "G3 D4"', '--change "pizz. arco"'],
    "excludes": [
        *('--technique "open string"', '--technique "natural harmonic"'),
        '--technique "molto vibrato"',
    ],
    "instruments": [""],
    "encoding": ["--technique staccatissimo"],
    "rates": [
        '--on cello --technique "snap pizzicato"',
        '--on cello --technique "pizzicato with a plectrum"',
    ],
    "scoring": [
        '--like full --pitches "A4 E5" --at mf --only violin',
        '--like stormy --pitches "E5 G5" --at f',
        '--like sweet --pitches "E5 G5" --at f',
        '--like expressive --pitches "A3 C4" --at mf --only cello',
        '--like dark --pitches "G4 B4" --at mf --only violin',
        '--like radiant --pitches "F6 A6" --at f --only violin',
    ],
    "sources": ["--about viola"],
    "stringing": ["--on cithara", "--on ukulele"],
    "techniques": ["--on harp --at f"],
}
"""What is asked beside the examples of a question, as on the command line."""

EQUIVALENT = {
    ("changes", "without ?limit a oq:ChangeTime ;"): "the limits in force are of this kind",
    ("compass", "without ?limit a oq:CompassLimit ;"): "the limits in force are of this kind",
    **{
        ("instruments", f"without {each}"): "nothing else leads from an instrument to such a class"
        for each in (
            "?kind rdfs:subClassOf oq:Instrument ;",
            "owl:equivalentClass/owl:onProperty ?property ;",
            "?class owl:onProperty ?next ;",
            "owl:someValuesFrom ?last .",
            "?other a/rdfs:subClassOf* ?last .",
        )
    },
    ("rates", "without ?limit a oq:RateLimit ;"): "the limits in force are of this kind",
    ("section", "without ?limit a oq:SectionSize ;"): "no other limit for a role has a most",
}
"""Changes that no answer can show, by question and change: why not."""

_NAME = re.compile(r"(?<![\w:])(?:oq|skos|rdfs|owl|dcterms):[\w-]+|(?<=\s)a(?=[\s/])")
_LINE = re.compile(r"^ *(?P<subject>[?$][\w-]+ )? *\S+ [^{}\n]*? ?(?P<end>[.;])$", re.MULTILINE)
_GROUP = re.compile(r"\b(?:OPTIONAL|FILTER)\b(?: NOT EXISTS)?")


def mutants(query: str) -> Iterator[tuple[str, str]]:
    """Yield a description and the query with one thing changed or left out."""
    head, where, body = query.partition("WHERE {")
    tail = body[body.rfind("}") :]
    yield "nothing", f"{head}{where} FILTER (false) {body}"
    for match in _NAME.finditer(body):
        change = f"{match[0]} -> oq:none"
        yield change, f"{head}{where}{body[: match.start()]}oq:none{body[match.end() :]}"
    for match in _LINE.finditer(body[: -len(tail)]):
        subject = match["subject"] or ""
        rest = "" if match["end"] == ";" else "."
        if subject and match["end"] == ".":
            subject = rest = ""
        kept = f"{body[: match.start()]}{subject}{rest}{body[match.end() :]}"
        yield f"without {match[0].strip()}", f"{head}{where}{kept}"
    for match in _GROUP.finditer(body):
        end = end_of_group(body, match.end())
        change = " ".join(body[match.start() : end].split())
        yield f"without {change}", f"{head}{where}{body[: match.start()]}{body[end:]}"


def end_of_group(text: str, start: int) -> int:
    """The end of the bracketed group that begins at or after ``start``."""
    depth = 0
    for place in range(start, len(text)):
        depth += (text[place] in "({") - (text[place] in ")}")
        if depth == 0 and text[place] in ")}":
            return place + 1
    raise AssertionError(text)


class Changed(Ask):
    """Asks with the query of one question replaced, over a few places."""

    changed: tuple[str, str] = ("", "")

    def facts(self, name, store=None, /, **bound):
        asked, query = self.changed
        return self.select(query if name == asked else question(name).query, store, **bound)


@pytest.fixture(scope="module")
def changed():
    asking = Changed(orchq.load(EXTENSIONS))
    asking.places = Store()
    asking.places.bulk_load(path=PLACES, format=RdfFormat.TURTLE)
    return asking


def answered(asking, asked, arguments):
    """An answer as values, or why there is none."""
    words = shlex.split(arguments)
    flags = {f"--{each.name}" for each in asked.parameters if each.kind == "flag"}
    given = {}
    while words:
        name = words.pop(0)
        given[name.removeprefix("--")] = True if name in flags else words.pop(0)
    try:
        return asking.question(asked.name, given).to_dict()
    except (OrchqError, LookupError, SyntaxError, ValueError) as error:
        return repr(error)


SLOW = ("notation", "scoring")
"""Questions whose answers are engraved, or weigh hundreds of ways."""


@pytest.mark.sampled(30)
@pytest.mark.parametrize(
    "asked",
    [
        pytest.param(each, marks=pytest.mark.nightly if each.name in SLOW else ())
        for each in WITH_QUERY
    ],
    ids=[each.name for each in WITH_QUERY],
)
def test_every_part_of_a_query_is_needed(changed, asked):
    asks = [each.arguments for each in asked.examples] + FURTHER.get(asked.name, [])
    changed.changed = asked.name, asked.query
    usual = {each: answered(changed, asked, each) for each in asks}
    assert not [each for each in usual.values() if isinstance(each, str)]
    survivors = set()
    for change, query in mutants(asked.query):
        changed.changed = asked.name, query
        scoring_facts.cache_clear()
        if all(answered(changed, asked, each) == usual[each] for each in asks):
            survivors.add((asked.name, change))
    assert survivors == {each for each in EQUIVALENT if each[0] == asked.name}


def test_a_change_starts_from_what_was_asked(changed):
    """The mute goes on from an open string sound, whatever else the part did before."""
    changed.changed = "", ""
    assert changed.changes(to="con sordino")
    assert changed.changes(to="con sordino", from_="senza sordino")
    assert not changed.changes(to="con sordino", from_="pizzicato")


def test_courses_of_several_octaves_are_one_string(changed):
    [tuning] = changed.stringing(on="cithara")
    assert (tuning.strings, tuning.courses) == (("A4", "D4"), ("3 with A3 and A5", "1"))
    assert tuning.along == ("D3",)
