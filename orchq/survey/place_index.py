"""The index of places in scores, from the tables of surveys.

    python -m orchq.survey.place_index TABLES...

writes ``ontology/places/open-scores.ttl`` anew from directories that ``orchq survey`` wrote. The
index holds where something is found, and no music. It has every place of what is rare, and enough
places of what is common that every composer has a turn.
"""

import hashlib
import re
import sys
from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path, PurePosixPath

from msgspec import Struct
from pyoxigraph import Literal, NamedNode

from orchq.errors import OrchqError
from orchq.knowledge import Knowledge, load
from orchq.knowledge.data_files import data_directory
from orchq.notation import Pitch
from orchq.questions.examples import in_turn, sounding_of, spelled
from orchq.survey.rows import (
    ChangeRow,
    HarmonicRow,
    PassageRow,
    Row,
    RowPlace,
    StopRow,
    TempoKind,
    Work,
)
from orchq.survey.stored_surveys import read_surveys
from orchq.terms import OQ, PREFIXES, local_name, oq, slug_of

INDEX = data_directory("ontology") / "places" / "open-scores.ttl"
MOST_PLACES = {"passages": 30, "stops": 3, "harmonics": 20, "changes": 40}
"""Places of one kind, such as one technique at one dynamic on one instrument, by table."""

_HEAD = """\
# Where composers asked for what, in scores that were surveyed: places, and no music. Written by
# `python -m orchq.survey.place_index`: not to be edited. The vocabulary is in examples.ttl."""
_BY, _IN = OQ + "composer/", OQ + "places/"
_USED = ("dcterms", "oq", "skos")

_Cell = tuple[str | bool, ...]
_PartKey = tuple[int, str, str]
_Position = tuple[str, int, int, float]


class _Filed(Struct, frozen=True):
    """A work as its data set files it; ``composer`` is a key."""

    data_set: str
    file: str
    composer: str
    composer_name: str
    title: str
    movement: str


class _Shown(Struct, frozen=True):
    """A place with its facts in the index; places of one ``cell`` are alike.

    ``order`` puts first what is shown first.
    """

    place: RowPlace
    cell: _Cell
    order: tuple[float, ...]
    kind: str
    facts: tuple[str, ...]


def examples_turtle(tables: Mapping[str, Sequence[Row]], knowledge: Knowledge) -> str:
    """Write the index as Turtle, in the form in which the graph's own modules stand.

    Raises ``OrchqError`` for a work that lies in no folder of a data set of the graph.
    """
    data_sets = _data_sets(knowledge)
    works = {
        work.work: _filed(work, data_sets) for work in tables["works"] if isinstance(work, Work)
    }
    rows = (row for row in tables["passages"] if isinstance(row, PassageRow))
    passages = _Passages(rows, knowledge)
    found: dict[str, list[_Shown]] = defaultdict(list)
    for name in MOST_PLACES:
        for row in tables[name]:
            found[name] += _shown(row, passages)
    chosen = [
        shown
        for name, every in found.items()
        for shown in _chosen(every, MOST_PLACES[name], lambda each: works[each.place.work].composer)
    ]
    return "\n".join(_turtle(chosen, works))


def _chosen(
    every: Iterable[_Shown], most: int, composer: Callable[[_Shown], str]
) -> Iterator[_Shown]:
    """Of each cell as many as may be, composers in turn, and of each composer the works in turn."""
    cells: dict[_Cell, list[_Shown]] = defaultdict(list)
    for shown in every:
        cells[shown.cell].append(shown)
    for alike in cells.values():
        alike.sort(key=lambda each: (*each.order, _position(each.place)))
        by_work = in_turn(alike, whose=lambda each: each.place.work)
        yield from in_turn(by_work, whose=composer)[:most]


# ------------------------------------------------------------------- what places show


class _Passages:
    """What the passages of the survey show about any place."""

    def __init__(self, rows: Iterable[PassageRow], knowledge: Knowledge) -> None:
        self._begun: dict[tuple[str, int], list[tuple[int, float, str]]] = defaultdict(list)
        self._words: dict[tuple[_Position, str], str] = {}
        self._turns: dict[tuple[_Position, str], int] = {}
        excludes = {
            each.slug: {slug_of(iri) for iri in each.excludes}
            for each in knowledge.techniques.values()
        }
        counts = Counter[tuple[str, int, str]]()
        for row in sorted(rows, key=lambda row: (_position(row), row.technique, row.dynamic)):
            part, key = (row.work, row.part_index), (_position(row), row.technique)
            self._begun[part].append((row.measure_index, row.beat, row.dynamic))
            self._words[key] = row.text
            self._turns[key] = counts[*part, row.technique]
            counts[*part, row.technique] += 1
            for other in excludes.get(row.technique, ()):
                counts[*part, other] = 0

    def dynamic_at(self, place: RowPlace) -> str:
        """The slug of the dynamic in force, or the empty string."""
        begun = self._begun.get((place.work, place.part_index), [])
        before = bisect_right(begun, (place.measure_index, place.beat, "~"))
        return begun[before - 1][2] if before else ""

    def words(self, place: RowPlace, technique: str) -> str:
        """What is printed for a technique whose passage begins there, or the empty string."""
        return self._words.get((_position(place), technique), "")

    def turn(self, row: PassageRow) -> int:
        """How many passages with its technique lie between it and the last that excludes it.

        Those that follow the words at once show best what they ask for.
        """
        return self._turns[_position(row), row.technique]


def _shown(row: Row, passages: _Passages) -> Iterator[_Shown]:
    if isinstance(row, PassageRow):
        yield _Shown(
            row,
            (row.technique, row.dynamic, row.instrument),
            (not row.text, passages.turn(row), -row.notes),
            "Passage",
            (
                f"oq:showsTechnique oq:{row.technique}",
                *_dynamic(row.dynamic),
                *_printed(row.text),
                f"oq:eventCount {row.notes}",
                *_time(row.seconds, row.tempo),
            ),
        )
    elif isinstance(row, StopRow):
        sounding = _sounding(row.pitches)
        yield _Shown(
            row,
            (sounding, row.struck, row.bowed, row.shared, row.instrument),
            (not row.dynamic,),
            "Stop",
            (
                f'oq:showsSounding "{sounding}"',
                *(() if row.struck else ("oq:isBroken true",)),
                *(() if row.bowed else ("oq:isUnbowed true",)),
                *(("oq:mayBeDivided true",) if row.shared else ()),
                *_dynamic(row.dynamic),
                *_printed(row.pitches if row.pitches != spelled(sounding) else ""),
            ),
        )
    elif isinstance(row, HarmonicRow):
        sounding = _sounding(row.sounding)
        yield _Shown(
            row,
            (row.kind, sounding, row.instrument),
            (),
            f"{row.kind.capitalize()}Harmonic",
            (f'oq:showsSounding "{sounding}"', *_dynamic(passages.dynamic_at(row))),
        )
    elif isinstance(row, ChangeRow) and row.before and row.into and row.before != row.into:
        yield _Shown(
            row,
            (row.before, row.into, row.instrument),
            (row.seconds is None, row.seconds or 0),
            "Change",
            (
                f"oq:showsBefore oq:{row.before}",
                f"oq:showsAfter oq:{row.into}",
                *_dynamic(passages.dynamic_at(row)),
                *_printed(passages.words(row, row.into)),
                *_time(row.seconds, row.tempo),
            ),
        )


def _sounding(names: str) -> str:
    return sounding_of(map(Pitch.parse, names.split()))


def _dynamic(slug: str) -> tuple[str, ...]:
    return (f"oq:showsDynamic oq:{slug}",) if slug else ()


def _printed(text: str) -> tuple[str, ...]:
    return (f"oq:asPrinted {Literal(text)}",) if text else ()


def _time(seconds: float | None, tempo: TempoKind) -> tuple[str, ...]:
    if seconds is None:
        return ()
    return (
        f"oq:exampleSeconds {_decimal(seconds, 2)}",
        *(("oq:assumesTempo true",) if tempo == "assumed" else ()),
    )


def _decimal(number: float, places: int) -> str:
    text = f"{number:.{places}f}".rstrip("0")
    return f"{text}0" if text.endswith(".") else text


# ----------------------------------------------------------------------------- Turtle


def _turtle(chosen: Iterable[_Shown], works: Mapping[str, _Filed]) -> Iterator[str]:
    by_work: dict[str, list[_Shown]] = defaultdict(list)
    for shown in chosen:
        by_work[shown.place.work].append(shown)
    prefixes = {"by": _BY, "in": _IN} | {name: PREFIXES[name] for name in _USED}
    yield from (f"@prefix {name}: <{prefixes[name]}> ." for name in sorted(prefixes))
    yield f"\n{_HEAD}\n"
    names: dict[str, Counter[str]] = defaultdict(Counter)
    for work in sorted(by_work):
        names[works[work].composer][works[work].composer_name] += 1
    for key in sorted(names):
        # Capitals distinguish a name that a person wrote from that of a folder.
        name = max(names[key], key=lambda each: (not each.islower(), names[key][each], each))
        yield _node(_composer(key), "a oq:Composer", f"skos:prefLabel {Literal(name)}")
    for work in sorted(by_work):
        yield from _work(works[work], by_work[work])


def _work(work: _Filed, examples: Sequence[_Shown]) -> Iterator[str]:
    digest = hashlib.sha256(f"{work.data_set} {work.file}".encode()).hexdigest()[:8]
    keys = sorted({_part_key(each.place) for each in examples})
    parts = {key: f"in:{digest}-{number}" for number, key in enumerate(keys, start=1)}
    yield _node(
        f"in:{digest}",
        "a oq:Work",
        f"oq:composedBy {_composer(work.composer)}",
        f"dcterms:title {Literal(work.title)}",
        *((f"oq:movement {Literal(work.movement)}",) if work.movement else ()),
        f"oq:inDataSet oq:{work.data_set}",
        f"oq:scoreFile {Literal(work.file)}",
        f"oq:hasPart {' , '.join(parts.values())}",
    )
    called = {_part_key(each.place): each.place.part for each in examples}
    for key, iri in parts.items():
        index, instrument, setting = key
        yield _node(
            iri,
            "a oq:Part",
            f"oq:partName {Literal(called[key])}",
            f"oq:partIndex {index}",
            f"oq:forInstrument oq:{instrument}",
            f"oq:isSection {'true' if setting == 'section' else 'false'}",
        )
    for each in sorted(examples, key=lambda each: (_position(each.place), each.kind, each.facts)):
        place = each.place
        printed = place.measure != str(place.measure_index + 1)
        facts = (
            f"a oq:{each.kind}Example",
            f"oq:inPart {parts[_part_key(place)]}",
            f"oq:measureIndex {place.measure_index}",
            *((f"oq:measureNumber {Literal(place.measure)}",) if printed else ()),
            f"oq:beat {_decimal(place.beat, 4)}",
            *each.facts,
        )
        yield f"[ {' ; '.join(facts)} ] .\n"


def _node(iri: str, *facts: str) -> str:
    separator = " ;\n    "
    return f"{iri} {separator.join(facts)} .\n"


def _composer(key: str) -> str:
    return "by:" + (re.sub(r"[^a-z0-9]+", "-", key).strip("-") or "unknown")


def _part_key(place: RowPlace) -> _PartKey:
    return place.part_index, place.instrument, place.setting


def _position(place: RowPlace) -> _Position:
    return place.work, place.part_index, place.measure_index, place.beat


def _data_sets(knowledge: Knowledge) -> dict[str, str]:
    """The local names of data sets, by the folder of their files."""
    return {
        quad.object.value: local_name(quad.subject.value)
        for quad in knowledge.quads
        if quad.predicate == oq("inFolder")
        and isinstance(quad.subject, NamedNode)
        and isinstance(quad.object, Literal)
    }


def _filed(work: Work, data_sets: Mapping[str, str]) -> _Filed:
    """Find the data set of a work, and supply what its file lacks.

    The folder of the data set is the one that was surveyed, that of the tables, or one below.
    """
    of_tables, *below = PurePosixPath(work.work).parts
    for depth, folder in enumerate((work.collection, of_tables, *below)):
        if folder in data_sets:
            path = PurePosixPath(*below[max(depth - 1, 0) :])
            break
    else:
        known = ", ".join(sorted(data_sets))
        raise OrchqError(f"{work.work}: is in the folder of no data set; they are {known}")
    surname, _, given = work.composer_name.partition(", ")
    title = work.title if work.title != path.stem else str(path.with_suffix(""))
    return _Filed(
        data_sets[folder],
        str(path),
        work.composer,
        f"{given} {surname}".strip(),
        title,
        work.movement if work.movement != work.title else "",
    )


if __name__ == "__main__":
    if not sys.argv[1:]:
        sys.exit(__doc__)
    tables = read_surveys(map(Path, sys.argv[1:]), ("works", *MOST_PLACES))
    turtle = examples_turtle(tables, load())
    INDEX.write_text(turtle, encoding="utf-8")
