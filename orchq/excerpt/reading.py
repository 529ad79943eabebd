"""Excerpt triples as a score, whoever wrote them."""

import re
from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from fractions import Fraction
from pathlib import Path

from pyoxigraph import BlankNode, Literal, NamedNode, Quad

from orchq.errors import ReadError, UnknownTermError
from orchq.knowledge.facts import Facts
from orchq.knowledge.lines import Lines
from orchq.knowledge.store import read_triples
from orchq.notation import Pitch, parse_letters
from orchq.score import (
    Acceptance,
    Event,
    Hairpin,
    HarmonicRole,
    Mark,
    Measure,
    Note,
    Part,
    Score,
    Slur,
    State,
)
from orchq.terms import OQ, RDFS, undeclared

_ROLES: tuple[HarmonicRole, ...] = ("base", "touching", "sounding")


def read_excerpt_quads(path: Path) -> list[Quad]:
    """Parse a file of excerpt triples; blank nodes get names, so that findings can point to them.

    Raises ``ReadError`` when the file cannot be parsed.
    """
    stem = re.sub(r"[^A-Za-z0-9_.-]+", "-", path.stem)
    names: dict[str, NamedNode] = {}

    def named(node: NamedNode | BlankNode | Literal) -> NamedNode | Literal:
        if isinstance(node, BlankNode):
            iri = f"tag:w3id.org,2026:orchq/{stem}#unnamed{len(names) + 1}"
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


def check_terms(quads: Iterable[Quad], declared: AbstractSet[str], path: Path) -> None:
    """Raise ``UnknownTermError`` for the first term of our namespace that is not ``declared``."""
    for quad in quads:
        for node in (quad.subject, quad.predicate, quad.object):
            if (
                isinstance(node, NamedNode)
                and node.value.startswith(OQ)
                and node.value not in declared
            ):
                raise UnknownTermError(_unknown(node.value, declared, path))


def _unknown(iri: str, declared: AbstractSet[str], path: Path) -> str:
    number = Lines(path).of_name(iri)
    line = f":{number}" if number else ""
    return f"{path}{line}: {undeclared(iri, declared)}"


def score_from_quads(quads: Sequence[Quad], path: Path) -> Score:
    """Read excerpt triples as a score; IRIs of events and notes are kept.

    Raises ``ReadError`` for a value that cannot be understood.
    """
    return _ExcerptReader(Facts(quads), path).score()


class _ExcerptReader:
    def __init__(self, facts: Facts, path: Path) -> None:
        self._facts = facts
        self._path = path
        self._states: dict[str, State] = {}
        self._lines = Lines(path).subjects if path.suffix.lower() == ".ttl" else {}

    def score(self) -> Score:
        excerpts = self._facts.members("Excerpt")
        if excerpts:
            parts = [part for iri in excerpts for part in self._facts.objects(iri, "hasPart")]
        else:
            parts = self._facts.members("Part")
        if not parts:
            raise ReadError(f"{self._path}: there is no oq:Part in this file, so nothing to check")
        order = sorted(parts, key=lambda iri: (self._facts.number(iri, "partIndex") or 0, iri))
        title = self._facts.text(excerpts[0], RDFS + "label") if excerpts else ""
        return Score(
            iri=excerpts[0] if excerpts else parts[0],
            title=title or self._path.stem,
            parts=tuple(self._part(iri, index) for index, iri in enumerate(order)),
            acceptances=tuple(map(self._acceptance, self._facts.members("Acceptance"))),
        )

    def _part(self, iri: str, index: int) -> Part:
        facts = self._facts
        instrument = facts.one(iri, "forInstrument")
        events = sorted(
            (self._event(event) for event in facts.objects(iri, "hasEvent")),
            key=lambda event: (event.onset, event.staff, not event.grace, event.iri),
        )
        spans = facts.objects(iri, "hasSpan")
        players = facts.number(iri, "playerCount")
        section = facts.one(iri, "isSection")
        return Part(
            iri=iri,
            id=facts.one(iri, "partId") or iri,
            index=index,
            name=facts.one(iri, "partName") or facts.text(iri, RDFS + "label") or iri,
            instrument=instrument,
            section=facts.truth(iri, "isSection") if section else (players or 1) > 1,
            players=players,
            tuning=self._strings(iri, "hasTunedString"),
            measures=_measures(events),
            events=tuple(events),
            marks=tuple(
                sorted((self._mark(m) for m in facts.objects(iri, "hasMark")), key=_mark_order)
            ),
            slurs=tuple(self._slur(s) for s in spans if "Slur" in facts.kinds(s)),
            hairpins=tuple(self._hairpin(h) for h in spans if "Hairpin" in facts.kinds(h)),
        )

    def _event(self, iri: str) -> Event:
        facts = self._facts
        index = facts.number(iri, "measureIndex") or 0
        beat = self._time(iri, "beat")
        state = facts.one(iri, "inState")
        return Event(
            iri=iri,
            measure_index=index,
            measure_number=facts.one(iri, "measureNumber") or str(index + 1),
            offset=(beat or Fraction(1)) - 1,
            onset=self._time(iri, "onset") or Fraction(0),
            duration=self._time(iri, "duration") or Fraction(0),
            notes=tuple(self._note(note) for note in facts.objects(iri, "hasNote")),
            voice=facts.one(iri, "voice") or "1",
            staff=facts.number(iri, "staff") or 1,
            marks=frozenset(facts.objects(iri, "marked")),
            grace=facts.truth(iri, "isGrace"),
            cue=facts.truth(iri, "isCue"),
            state=self._state(state) if state else None,
            strokes=facts.number(iri, "tremoloStrokes") or 0,
            line=self._lines.get(iri),
        )

    def _note(self, iri: str) -> Note:
        facts = self._facts
        role = facts.one(iri, "harmonicRole")
        return Note(
            iri=iri,
            pitch=self._pitch(iri, "pitch"),
            tie_forward=facts.truth(iri, "tiesForward"),
            tied_back=facts.truth(iri, "tiedBack"),
            string=facts.number(iri, "printedString"),
            finger=facts.one(iri, "printedFinger"),
            role=next((known for known in _ROLES if known == role), None),
            notehead=facts.one(iri, "notehead"),
        )

    def _state(self, iri: str) -> State:
        if iri not in self._states:
            facts = self._facts
            self._states[iri] = State(
                iri=iri,
                techniques=frozenset(facts.objects(iri, "usesTechnique")),
                dynamic=facts.one(iri, "atDynamic"),
                string_call=facts.one(iri, "callsString"),
                divisi_parts=facts.number(iri, "divisiParts"),
            )
        return self._states[iri]

    def _mark(self, iri: str) -> Mark:
        facts = self._facts
        index = facts.number(iri, "measureIndex") or 0
        return Mark(
            iri=iri,
            measure_index=index,
            measure_number=facts.one(iri, "measureNumber") or str(index + 1),
            offset=(self._time(iri, "beat") or Fraction(1)) - 1,
            onset=self._time(iri, "onset") or Fraction(0),
            directives=tuple(facts.objects(iri, "asksFor")),
            text=facts.one(iri, "printedText") or "",
            staff=facts.number(iri, "staff"),
            voice=facts.one(iri, "voice"),
            number=facts.number(iri, "callsPlayers"),
            tempo=self._time(iri, "quartersPerMinute"),
            retuned=self._strings(iri, "retunesString"),
            signature=facts.number(iri, "keySignature"),
            pedals=self._pedals(iri),
        )

    def _slur(self, iri: str) -> Slur:
        first, last = self._facts.one(iri, "startsAt"), self._facts.one(iri, "endsAt")
        if first is None or last is None:
            raise ReadError(f"{self._path}: the slur {iri} needs oq:startsAt and oq:endsAt")
        return Slur(iri, first, last)

    def _hairpin(self, iri: str) -> Hairpin:
        return Hairpin(
            iri=iri,
            grows=self._facts.truth(iri, "grows"),
            onset=self._time(iri, "onset") or Fraction(0),
            end=self._time(iri, "endOnset") or Fraction(0),
            staff=self._facts.number(iri, "staff"),
        )

    def _acceptance(self, iri: str) -> Acceptance:
        return Acceptance(
            iri=iri,
            rules=tuple(self._facts.objects(iri, "acceptsRule")),
            events=tuple(self._facts.objects(iri, "acceptedOn")),
            reason=self._facts.one(iri, "reason") or "",
        )

    def _strings(self, iri: str, name: str) -> tuple[tuple[int, Pitch], ...]:
        strings = self._facts.objects(iri, name)
        return tuple(
            sorted(
                (self._facts.number(string, "stringNumber") or 0, self._pitch(string, "openPitch"))
                for string in strings
            )
        )

    def _pitch(self, iri: str, name: str) -> Pitch:
        text = self._facts.one(iri, name)
        if text is None:
            raise ReadError(f"{self._path}: {iri} has no oq:{name}")
        try:
            return Pitch.parse(text)
        except ValueError as error:
            raise ReadError(f"{self._path}: {iri}: {error}") from error

    def _pedals(self, iri: str) -> tuple[tuple[str, int], ...]:
        try:
            return tuple(parse_letters(self._facts.one(iri, "setsPedals") or "").items())
        except ValueError as error:
            raise ReadError(f"{self._path}: {iri}: {error}") from error

    def _time(self, iri: str, name: str) -> Fraction | None:
        text = self._facts.one(iri, name)
        if text is None:
            return None
        try:
            return Fraction(text).limit_denominator(10080)
        except (ValueError, ZeroDivisionError) as error:
            raise ReadError(f"{self._path}: {iri}: oq:{name} is {text!r}, no number") from error


def _mark_order(mark: Mark) -> tuple[Fraction, str]:
    return mark.onset, mark.iri


def _measures(events: Sequence[Event]) -> tuple[Measure, ...]:
    """The measures that events lie in; a last one is as long as what it holds."""
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
