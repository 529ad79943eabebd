"""The question where composers asked for something: places in scores that were surveyed."""

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import replace
from pyoxigraph import Literal

from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.notation import Pitch, beat_name, measure_name
from orchq.questions.answers import Answers
from orchq.questions.asking import Asking, Row
from orchq.questions.grips import KINDS
from orchq.questions.pitch_names import parse_pitch, parse_pitches
from orchq.questions.typed_numbers import parse_seconds, whole_number
from orchq.terms import OQ

USUAL_LIMIT, MOST_PLACES = 10, 1000
"""Places that are shown by default, and at most."""

_NEAREST = 5
_PASSAGE, _STOP, _CHANGE = (OQ + f"{each}Example" for each in ("Passage", "Stop", "Change"))
_HARMONICS: Mapping[str, str] = {kind: OQ + f"{kind.capitalize()}HarmonicExample" for kind in KINDS}
_STOPS = {2: "double stop", 3: "triple stop", 4: "quadruple stop"}

_WHAT_TO_ASK = (
    "Say what to look for: --technique, --stop, --harmonic or --change, or a dynamic with --at."
)
_SAMPLED = (
    "The index holds every place of what is rare, and some of what is common. Transcriptions have "
    "gaps, such as a mute that is never taken off: look a place up before you rely on it."
)
_OTHERWISE = {
    "at": "at other dynamics",
    "within": "in more time",
    "on": "on other instruments",
    "composer": "by other composers",
}

_DATA_SET = """
SELECT $thing ?title ?version ?issued ?rights WHERE {
    $thing dcterms:title ?title ;
        dcterms:hasVersion ?version ;
        oq:yearIssued ?issued ;
        dcterms:rights/skos:prefLabel ?rights .
}"""
_TECHNIQUES = """
SELECT DISTINCT ?technique WHERE {
    ?place oq:showsTechnique ?technique .
}"""
T = TypeVar("T")


class ScorePlace(Struct, frozen=True):
    """A place in a score: ``part_index`` and ``measure_index`` count from 0, ``beat`` from 1."""

    part: str
    part_index: int
    measure: str
    measure_index: int
    beat: float

    def __str__(self) -> str:
        part = self.part or f"part {self.part_index + 1}"
        measure = measure_name(self.measure, self.measure_index)
        return f"{part}, {measure}, beat {beat_name(self.beat)}"


class ExampleAnswer(Struct, frozen=True):
    """A place where a composer asked for it, in a ``file`` of the data set that evidence names."""

    composer: str
    work: str
    movement: str
    place: ScorePlace
    players: str
    shows: str
    at: str | None
    printed: str
    notes: int | None
    seconds: float | None
    tempo: str | None
    file: str
    evidence: tuple[Evidence, ...]


class _Where(Struct, frozen=True):
    """Further conditions: IRIs, and seconds."""

    at: str | None = None
    within: float | None = None
    on: str | None = None
    composer: str | None = None

    def without(self) -> Iterator[tuple[str, "_Where"]]:
        """Each condition by name, and the others without it."""
        if self.at is not None:
            yield "at", replace(self, at=None)
        if self.within is not None:
            yield "within", replace(self, within=None)
        if self.on is not None:
            yield "on", replace(self, on=None)
        if self.composer is not None:
            yield "composer", replace(self, composer=None)


class _Wanted(Struct, frozen=True):
    """What is looked for: the classes of example, and what it shows; ``None`` leaves open."""

    kinds: tuple[str, ...]
    techniques: tuple[str | None, ...] = (None,)
    before: str | None = None
    after: str | None = None
    sounding: str | None = None


def examples(
    self: Asking,
    *,
    technique: str | None = None,
    at: str | None = None,
    stop: str | None = None,
    harmonic: str | int | None = None,
    change: str | None = None,
    within: float | str | None = None,
    on: str | None = None,
    composer: str | None = None,
    limit: int | str | None = None,
) -> Answers[ExampleAnswer]:
    """Return places in scores where composers asked for a technique, stop, harmonic or change.

    The index holds every place of what is rare and some of what is common; composers take turns in
    it and in the answers. An edition is not a performance: that something was written does not
    show how it sounded. Raises ``OrchqError`` for an unknown name, and when
    several things are asked for at once.

    >>> import orchq
    >>> found = orchq.load().ask.examples(change="pizz. arco", within="1s", limit=3)
    >>> [(each.shows, each.seconds <= 1) for each in found]
    [('pizzicato to arco', True), ('pizzicato to arco', True), ('pizzicato to arco', True)]
    """
    asked = {"technique": technique, "stop": stop, "harmonic": harmonic, "change": change}
    topics = [name for name, value in asked.items() if value is not None]
    if len(topics) > 1:
        raise OrchqError(f"ask for one thing at a time, not {' and '.join(topics)}")
    wanted, topic = _topic(self, technique, stop, harmonic, change)
    where = _Where(
        at=None if at is None else self.names.dynamic(at).iri,
        within=None if within is None else parse_seconds(within),
        on=None if on is None else self.names.instrument(on).iri,
        composer=None if composer is None else self.names.composer(composer, self.composers),
    )
    most = USUAL_LIMIT if limit is None else whole_number("limit", limit, MOST_PLACES)
    parameters = {
        **topic,
        "at": where.at and self.knowledge.label(where.at),
        "within": where.within,
        "on": where.on and self.knowledge.label(where.on),
        "composer": where.composer and self.composers[where.composer],
        "limit": None if limit is None else most,
    }
    if not topic and where.at is None:
        return self.answer("examples", parameters, (), (_WHAT_TO_ASK,))
    rows = _found(self, wanted, where)
    answers = [_answer(self, row) for row in rows[:most]]
    remarks = _more(len(rows) - most) if rows else _nearest(self, wanted, where)
    return self.answer("examples", parameters, answers, remarks)


def _topic(
    self: Asking,
    technique: str | None,
    stop: str | None,
    harmonic: str | int | None,
    change: str | None,
) -> tuple[_Wanted, dict[str, str]]:
    """What is looked for, and how it was understood."""
    if technique is not None:
        way = self.names.technique(technique)
        ways = tuple(each.iri for each in self.ways(way))
        return _Wanted((_PASSAGE,), ways), {"technique": way.label}
    if stop is not None:
        chord = sorted(parse_pitches(stop))
        if len(chord) < 2:
            raise OrchqError(f"a stop has two notes or more, not {stop!r} alone")
        names = " ".join(pitch.name for pitch in chord)
        return _Wanted((_STOP,), sounding=sounding_of(chord)), {"stop": names}
    if harmonic is not None:
        kind = str(harmonic).strip().lower()
        if kind in _HARMONICS:
            return _Wanted((_HARMONICS[kind],)), {"harmonic": kind}
        pitch = parse_pitch(harmonic)
        wanted = _Wanted(tuple(_HARMONICS.values()), sounding=sounding_of([pitch]))
        return wanted, {"harmonic": pitch.name}
    if change is not None:
        before, after = self.names.change(change)
        wanted = _Wanted((_CHANGE,), before=before.iri, after=after.iri)
        return wanted, {"change": f"{before.label} to {after.label}"}
    return _Wanted((_PASSAGE,)), {}


def in_turn(items: Iterable[T], whose: Callable[[T], Hashable]) -> list[T]:
    """Deal items out: the first of everyone, then the second, in the order in which they came.

    >>> in_turn(["a1", "a2", "b1", "a3", "b2"], whose=lambda item: item[0])
    ['a1', 'b1', 'a2', 'b2', 'a3']
    """
    had = Counter[Hashable]()
    turns = []
    for item in items:
        turns.append((had[whose(item)], item))
        had[whose(item)] += 1
    return [item for _, item in sorted(turns, key=lambda turn: turn[0])]


def _found(self: Asking, wanted: _Wanted, where: _Where) -> list[Row]:
    """The places that are wanted, composers in turn, and of each the quickest change first."""
    rows = [
        row
        for kind in wanted.kinds
        for technique in wanted.techniques
        for row in self.facts(
            "examples",
            self.places,
            kind=kind,
            technique=technique,
            before=wanted.before,
            after=wanted.after,
            sounding=None if wanted.sounding is None else Literal(wanted.sounding),
            on=where.on,
            composer=where.composer,
        )
        if where.at in (None, row.get("dynamic"))
        and (where.within is None or float(row.get("seconds", "inf")) <= where.within)
    ]
    if wanted.before:
        rows.sort(key=lambda row: float(row.get("seconds", "inf")))
    by_work = in_turn(rows, whose=lambda row: row["file"])
    return in_turn(by_work, whose=lambda row: row["composer"])


def _answer(self: Asking, row: Row) -> ExampleAnswer:
    index = int(row["index"])
    timed = "seconds" in row
    return ExampleAnswer(
        row["composer_name"],
        row["title"],
        row.get("movement", ""),
        ScorePlace(
            row["part"],
            int(row["part_index"]),
            row.get("number", str(index + 1)),
            index,
            float(row["beat"]),
        ),
        "section" if row["section"] == "true" else "solo",
        _shows(self, row),
        self.knowledge.label(row["dynamic"]) if "dynamic" in row else None,
        row.get("printed") or (spelled(row["sounding"]) if row["kind"] == _STOP else ""),
        int(row["notes"]) if "notes" in row else None,
        float(row["seconds"]) if timed else None,
        ("assumed" if "assumed" in row else "marked") if timed else None,
        row["file"],
        _evidence(self, row["data_set"]),
    )


def _shows(self: Asking, row: Row) -> str:
    label = self.knowledge.label
    if row["kind"] == _STOP:
        size = len(row["sounding"].split())
        return ", ".join(
            (
                _STOPS.get(size, f"stop of {size} notes"),
                *(("broken",) if row.get("broken") == "true" else ()),
                *(("not bowed",) if row.get("unbowed") == "true" else ()),
                *(("or divided",) if row.get("shared") == "true" else ()),
            )
        )
    if row["kind"] == _CHANGE:
        return f"{label(row['before'])} to {label(row['after'])}"
    if row["kind"] == _PASSAGE:
        return label(row["technique"])
    [kind] = (kind for kind, iri in _HARMONICS.items() if iri == row["kind"])
    return f"{kind} harmonic {spelled(row['sounding'])}"


def _evidence(self: Asking, data_set: str) -> tuple[Evidence, ...]:
    """The data set that holds the score, with its version and licence."""
    return tuple(
        Evidence(
            limit=data_set,
            source=self.knowledge.label(data_set),
            locator=f"{row['version']}, {row['issued']}",
            basis="attested",
            statement=f"{row['title']}. Licence: {row['rights'].rstrip('.')}.",
        )
        for row in self.select(_DATA_SET, thing=data_set)
    )


def sounding_of(pitches: Iterable[Pitch]) -> str:
    """What the index calls pitches by, from the lowest up; their spelling does not count.

    >>> sounding_of([Pitch.parse("G3"), Pitch.parse("Gb4")])
    '55 66'
    """
    return " ".join(str(pitch.midi) for pitch in pitches)


def spelled(sounding: str) -> str:
    """The pitches that the index calls so, in their commonest spelling.

    >>> spelled("55 66")
    'G3 F#4'
    """
    return " ".join(Pitch.from_midi(midi).name for midi in _midis(sounding))


def _midis(sounding: str) -> list[int]:
    return [int(midi) for midi in sounding.split()]


def _more(left: int) -> tuple[str, ...]:
    return (f"{left} more in the index; --limit shows more.", _SAMPLED) if left > 0 else (_SAMPLED,)


# ------------------------------------------------------------------ nothing is found


def _nearest(self: Asking, wanted: _Wanted, where: _Where) -> Iterator[str]:
    """What there is instead: with each condition left out, with none, then what is most alike."""
    yield "The index holds no such place."
    any_found = False
    for name, others in where.without():
        rows = _found(self, wanted, others)
        if name == "at":
            ranks = self.knowledge.dynamics
            rows.sort(key=lambda row: ranks[row["dynamic"]].rank if "dynamic" in row else 0)
        values = dict.fromkeys(filter(None, (_value(self, name, row) for row in rows)))
        if values:
            any_found = True
            yield f"There are {_OTHERWISE[name]}: {', '.join(list(values)[:_NEAREST])}."
    rows = [] if any_found else _found(self, wanted, _Where())
    if rows:
        places = (f"{row['composer_name']} ({self.knowledge.label(row['on'])})" for row in rows)
        named = ", ".join(list(dict.fromkeys(places))[:_NEAREST])
        yield f"Without these conditions there are places by {named}."
    elif not any_found and wanted.sounding is not None:
        alike = _alike(self, wanted, wanted.sounding, _Where(on=where.on)) or _alike(
            self, wanted, wanted.sounding, _Where()
        )
        if alike:
            yield f"The nearest places: {'; '.join(alike)}."
    elif not any_found and wanted.kinds == (_PASSAGE,):
        labels = (
            self.knowledge.label(row["technique"]) for row in self.select(_TECHNIQUES, self.places)
        )
        yield f"It shows {', '.join(sorted(labels))}."


def _value(self: Asking, condition: str, row: Row) -> str | None:
    """What a place has where another was wanted."""
    if condition == "at":
        return self.knowledge.label(row["dynamic"]) if "dynamic" in row else None
    if condition == "within":
        return f"{float(row['seconds']):.3g} s" if "seconds" in row else None
    return self.knowledge.label(row["on"]) if condition == "on" else row["composer_name"]


def _alike(self: Asking, wanted: _Wanted, sounding: str, where: _Where) -> list[str]:
    """Of as many notes, those that are the fewest semitones away."""
    midis = _midis(sounding)
    others = {row["sounding"] for row in _found(self, replace(wanted, sounding=None), where)}
    far = {
        other: sum(abs(one - two) for one, two in zip(midis, _midis(other), strict=True))
        for other in others
        if len(_midis(other)) == len(midis)
    }
    return [spelled(other) for other in sorted(far, key=lambda o: (far[o], o))[:_NEAREST]]
