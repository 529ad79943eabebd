"""Reads excerpt triples, possibly untrusted, as a score."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

from pyoxigraph import BlankNode, Literal, NamedNode, Quad

from orchq.errors import MalformedError, ReadError, located
from orchq.excerpt import fields
from orchq.excerpt.fields import Field, Fields
from orchq.inputs import content_name
from orchq.knowledge.facts import Facts
from orchq.knowledge.line_numbers import Lines
from orchq.knowledge.store import read_triples
from orchq.notation import Pitch
from orchq.score import (
    Acceptance,
    Event,
    Hairpin,
    Mark,
    Measure,
    Note,
    Part,
    Score,
    Slur,
    State,
    in_figures,
    reading_order,
    without_loose_ties,
)
from orchq.terms import OQ, RDFS


def read_excerpt_quads(path: Path) -> list[Quad]:
    """Parse a file of excerpt triples; blank nodes get names, so that findings can point to them.

    Raises ``ReadError`` when the file cannot be parsed.
    """
    base = content_name(path)
    names: dict[str, NamedNode] = {}

    def named(node: NamedNode | BlankNode | Literal) -> NamedNode | Literal:
        if isinstance(node, BlankNode):
            iri = f"{base}#unnamed{len(names) + 1}"
            return names.setdefault(node.value, NamedNode(iri))
        return node

    quads = []
    for quad in read_triples(path):
        subject, value = quad.subject, quad.object
        if not isinstance(subject, NamedNode | BlankNode) or not isinstance(
            value, NamedNode | BlankNode | Literal
        ):
            raise ReadError(f"{path}: quoted triples are not part of the excerpt vocabulary")
        node = named(subject)
        assert isinstance(node, NamedNode)
        quads.append(Quad(node, quad.predicate, named(value)))
    return quads


def score_from_quads(quads: Sequence[Quad], path: Path) -> Score:
    """Read excerpt triples as a score; IRIs of events and notes are kept.

    Raises ``ReadError`` for an invalid value.
    """
    return _ExcerptReader(Facts(quads), path).score()


_LOOSE = "oq:tiedBack, but no earlier note of this pitch in the part has oq:tiesForward true"


class _ExcerptReader:
    def __init__(self, facts: Facts, path: Path) -> None:
        self._facts = facts
        self._path = path
        self._states: dict[str, State] = {}
        self._faults: list[tuple[str, str, str]] = []

    @cached_property
    def _subjects(self) -> Mapping[str, int]:
        return self._lines.subjects if self._path.suffix.lower() == ".ttl" else {}

    @cached_property
    def _lines(self) -> Lines:
        return Lines(self._path)

    def score(self) -> Score:
        excerpts = self._facts.members("Excerpt")
        if excerpts:
            parts = [part for iri in excerpts for part in self._facts.objects(iri, "hasPart")]
        else:
            parts = self._facts.members("Part")
        if not parts:
            raise ReadError(f"{self._path}: there is no oq:Part in this file, so nothing to check")
        for lost in {*self._facts.members("Part")} - {*parts}:
            self._faults.append((lost, "hasPart", "no oq:hasPart names this part, so it is lost"))
        order = sorted(parts, key=lambda iri: (self._facts.number(iri, "partIndex") or 0, iri))
        title = self._facts.text(excerpts[0], RDFS + "label") if excerpts else ""
        read = tuple(self._part(iri, index) for index, iri in enumerate(order))
        if self._faults:
            raise MalformedError(*(self._located(*fault) for fault in sorted(self._faults)))
        return Score(
            iri=excerpts[0] if excerpts else parts[0],
            title=title or self._path.stem,
            parts=read,
            acceptances=tuple(map(self._acceptance, self._facts.members("Acceptance"))),
        )

    def _located(self, iri: str, name: str, message: str) -> str:
        line = self._lines.of_value(iri, OQ + name, None)
        return located(self._path, line, f"{iri}: {message}")

    def _part(self, iri: str, index: int) -> Part:
        facts = self._facts
        values = self._values(iri, (*fields.PART, *fields.SEATS)) | {"index": index}
        if values["section"] is None:
            values["section"] = (values["players"] or 1) > 1
        name = values["name"] or facts.text(iri, RDFS + "label") or iri
        events = sorted(map(self._event, facts.objects(iri, "hasEvent")), key=reading_order)
        self._refuse_loose_ties(events)
        marks = (self._mark(mark) for mark in facts.objects(iri, "hasMark"))
        spans = facts.objects(iri, "hasSpan")
        slurs = (each for each in spans if "Slur" in facts.kinds(each))
        hairpins = (each for each in spans if "Hairpin" in facts.kinds(each))
        return Part(
            iri=iri,
            **values | {"id": values["id"] or iri, "name": name},
            tuning=self._strings(iri, "hasTunedString"),
            measures=_measures(events),
            events=tuple(events),
            marks=tuple(sorted(marks, key=lambda mark: (mark.onset, mark.iri))),
            slurs=tuple(Slur(each, **self._values(each, fields.SLUR)) for each in slurs),
            hairpins=tuple(
                Hairpin(each, **self._values(each, fields.HAIRPIN)) for each in hairpins
            ),
        )

    def _refuse_loose_ties(self, events: Sequence[Event]) -> None:
        """A note tied to nothing would be taken for one that sounds already."""
        for event, tied in zip(events, without_loose_ties(events)[0], strict=True):
            for note, read in zip(event.notes, tied.notes, strict=True):
                if note.tied_back and not read.tied_back:
                    self._faults.append((note.iri, "tiedBack", _LOOSE))

    def _event(self, iri: str) -> Event:
        state = self._facts.one(iri, "inState")
        return Event(
            iri=iri,
            **self._placed(iri, (*fields.EVENT_PLACE, *fields.EVENT)),
            notes=tuple(
                Note(note, **self._values(note, (*fields.NOTE_PITCH, *fields.NOTE)))
                for note in sorted(self._facts.objects(iri, "hasNote"), key=in_figures)
            ),
            state=self._state(state) if state else None,
            line=self._subjects.get(iri),
        )

    def _state(self, iri: str) -> State:
        if iri not in self._states:
            self._states[iri] = State(iri, **self._values(iri, fields.STATE))
        return self._states[iri]

    def _mark(self, iri: str) -> Mark:
        return Mark(
            iri=iri, **self._placed(iri, fields.MARK), retuned=self._strings(iri, "retunesString")
        )

    def _acceptance(self, iri: str) -> Acceptance:
        return Acceptance(iri, **self._values(iri, fields.ACCEPTANCE))

    def _strings(self, iri: str, name: str) -> tuple[tuple[int, Pitch], ...]:
        strings = (self._values(each, fields.STRING) for each in self._facts.objects(iri, name))
        return tuple(sorted((string["number"], string["pitch"]) for string in strings))

    def _placed(self, iri: str, table: Fields) -> dict[str, Any]:
        """The values of a node that has its place in a measure."""
        values = self._values(iri, table)
        number = values["measure_number"] or str(values["measure_index"] + 1)
        return values | {"measure_number": number}

    def _values(self, iri: str, table: Fields) -> dict[str, Any]:
        return {each.attribute: self._value(iri, each) for each in table}

    def _value(self, iri: str, field: Field) -> Any:
        texts = self._facts.objects(iri, field.name)
        if not texts and field.absent is fields.REQUIRED:
            raise ReadError(self._located(iri, field.name, f"there is no oq:{field.name}"))
        try:
            return field.kind.read(texts) if texts else field.absent
        except (ValueError, ZeroDivisionError) as error:
            fault = self._located(iri, field.name, f"oq:{field.name}: {error}")
            raise ReadError(fault) from error


def _measures(events: Sequence[Event]) -> tuple[Measure, ...]:
    """The measures of the events; the last one is as long as its contents."""
    starts: dict[int, tuple[str, Fraction, Fraction]] = {}
    for event in events:
        start = event.onset - event.offset
        end = (
            max(event.end, starts[event.measure_index][2])
            if (event.measure_index in starts)
            else event.end
        )
        starts[event.measure_index] = (event.measure_number, start, end)
    return tuple(
        Measure(index=index, number=number, onset=start, length=end - start)
        for index, (number, start, end) in sorted(starts.items())
    )
