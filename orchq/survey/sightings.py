"""What rows of the survey show about the limits of the graph: each row, one sighting or more."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from msgspec import Struct
from msgspec.structs import replace

from orchq.derive.hand import StopSolver, hand_model, solver_for
from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Knowledge
from orchq.notation import Pitch
from orchq.survey.rows import (
    ChangeRow,
    HarmonicRow,
    LeapRow,
    PassageRow,
    PitchRow,
    Row,
    RowPlace,
    RunRow,
    SlurRow,
    StopRow,
    StopRunRow,
    TremoloRow,
    Work,
)
from orchq.terms import oq

RowsByTable = Mapping[str, Sequence[Row]]
"""Rows by the name of their table, as ``orchq.survey.rows`` lists them."""

LEGATO = oq("legato").value
_SHORTEST = 4
"""The fewest notes under a slur from which a rate is taken."""
_ABOUT = ("changesFrom", "changesTo", "limitsDynamic", "spansFingers")
_TIMED = frozenset(
    {
        *("fastestRate", "slowestRate", "shortestSeconds", "longestSeconds"),
        *("fastestHandTravel", "mostStopsPerSecond"),
    }
)
"""Properties whose figures are in seconds, and so rest on a tempo."""
_BY_INSTRUMENT = frozenset(
    {"DoubleStopRate", "DurationLimit", "HandTravel", "HarmonicLimit", "RateLimit", "SecureHeight"}
)
"""Kinds that depend on lengths of strings and bows. Of a family most notes are violins', so that
its figure would say little about the others; degrees of loudness and the time for a change are
alike for all."""


class Subject(Struct, frozen=True):
    """What a limit is about: kind (local name of its class), holder and technique as IRIs.

    The holder is an instrument or a family; ``about`` are further properties with their values.
    """

    kind: str
    holder: str
    technique: str | None = None
    about: tuple[tuple[str, str], ...] = ()


class Sighting(Struct, frozen=True):
    """A passage that shows how far scores go.

    ``figures`` are by the property of the limit that they would be; dynamics as ranks, pitches as
    MIDI numbers. ``passage`` identifies the passage. ``tempo`` is the basis of seconds, ``marked``
    or ``assumed``, and empty where the figures are not in seconds. ``wider`` is the same subject
    for the whole family, which is left out where this one is attested.
    """

    subject: Subject
    wider: Subject | None
    figures: tuple[tuple[str, float], ...]
    passage: tuple[object, ...]
    work: str
    composer: str
    section: bool
    notes: int
    tempo: str


class _Claim(Struct, frozen=True):
    """What one row shows, whoever it would hold for.

    ``unasked`` counts although nobody else states such a limit.
    """

    kind: str
    figures: Mapping[str, float]
    notes: int
    technique: str | None = None
    about: tuple[tuple[str, str], ...] = ()
    unasked: bool = False


class Sightings:
    """Turns rows into sightings, for those subjects that others state limits for.

    An attested limit only permits what others forbid: where nobody else states a limit there is
    nothing to permit. How long a bow lasts is measured all the same: only scores show it.
    """

    def __init__(self, knowledge: Knowledge) -> None:
        self._knowledge = knowledge
        self._instruments = {each.slug: each for each in knowledge.instruments.values()}
        self._techniques = {each.slug: iri for iri, each in knowledge.techniques.items()}
        self._dynamics = {each.slug: iri for iri, each in knowledge.dynamics.items()}
        self._spoken = spoken_subjects(knowledge)
        self._solvers: dict[str, StopSolver | None] = {}

    def of(self, tables: RowsByTable) -> Iterator[Sighting]:
        """Yield the sightings in the rows of a survey; works without a composer are left out."""
        composers = {row.work: row.composer for row in tables["works"] if isinstance(row, Work)}
        for name, rows in tables.items():
            for place, row in enumerate(rows):
                if isinstance(row, RowPlace) and composers.get(row.work):
                    yield from self._of_row(row, composers[row.work], (name, place))

    def _of_row(
        self, row: RowPlace, composer: str, passage: tuple[object, ...]
    ) -> Iterator[Sighting]:
        instrument = self._instruments.get(row.instrument)
        if instrument is None:
            return
        if isinstance(row, PitchRow):
            # The pitches of one work may all stand in one run.
            passage = ()
        for claim in self._claims(row, instrument):
            family = Subject(claim.kind, instrument.family, claim.technique, claim.about)
            own = replace(family, holder=instrument.iri)
            apart = claim.kind in _BY_INSTRUMENT
            of_family = self._stated(claim, family)
            of_own = self._stated(claim, own) | (of_family if apart else frozenset())
            for subject, stated in ((own, of_own), (family, of_family)):
                figures = tuple((name, f) for name, f in claim.figures.items() if name in stated)
                if figures:
                    yield Sighting(
                        subject=subject,
                        wider=family if apart and subject is own else None,
                        figures=figures,
                        passage=(row.work, *passage),
                        work=row.work,
                        composer=composer,
                        section=row.setting == "section",
                        notes=claim.notes,
                        tempo="" if _TIMED.isdisjoint(claim.figures) else getattr(row, "tempo", ""),
                    )

    def _stated(self, claim: _Claim, subject: Subject) -> frozenset[str]:
        """The properties of a claim that count for a subject."""
        return frozenset(claim.figures) if claim.unasked else self._spoken.get(subject, frozenset())

    def _claims(self, row: RowPlace, instrument: Instrument) -> Iterator[_Claim]:
        match row:
            case PitchRow():
                yield from self._pitch(row, instrument)
            case PassageRow() if row.rank is not None:
                yield from self._passage(row, row.rank)
            case RunRow():
                yield from self._run(row)
            case ChangeRow() if row.seconds is not None:
                yield from self._change(row)
            case SlurRow():
                yield from self._slur(row)
            case TremoloRow() if row.seconds:
                technique = self._techniques.get(row.technique)
                longest = {"longestSeconds": row.seconds}
                yield _Claim("DurationLimit", longest, row.notes, technique)
            case LeapRow() if row.travel_speed:
                speed = {"fastestHandTravel": row.travel_speed}
                yield _Claim("HandTravel", speed, 2)
            case StopRunRow() if row.stops_per_second:
                stops = {"mostStopsPerSecond": row.stops_per_second}
                yield _Claim("DoubleStopRate", stops, row.stops)
            case HarmonicRow():
                yield from self._harmonic(row)
            case StopRow() if row.struck and not row.shared:
                yield from self._stop(row, instrument)

    def _pitch(self, row: PitchRow, instrument: Instrument) -> Iterator[_Claim]:
        highest = {"highestPitch": row.midi}
        if row.way == "arco":
            yield _Claim("CompassLimit", highest, row.notes)
            top = max(string.pitch.midi for string in instrument.standard.strings)
            yield _Claim("FingerboardEnd", {"highestSemitone": row.midi - top}, row.notes)
        elif row.way in self._techniques:
            yield _Claim("CompassLimit", highest, row.notes, self._techniques[row.way])

    def _passage(self, row: PassageRow, rank: int) -> Iterator[_Claim]:
        ranks = {"softest": rank, "loudest": rank}
        technique = self._techniques.get(row.technique)
        if technique is not None:
            yield _Claim("DynamicEnvelope", ranks, row.notes, technique)
        if row.technique == "arco":
            yield _Claim("DynamicEnvelope", ranks, row.notes)

    def _run(self, row: RunRow) -> Iterator[_Claim]:
        technique = self._techniques.get(row.stroke)
        if row.rank is not None and row.stroke not in ("legato", "pizzicato"):  # seen otherwise
            ranks = {"softest": row.rank, "loudest": row.rank}
            yield _Claim("DynamicEnvelope", ranks, row.notes, technique)
        if row.notes_per_second:
            rates = {"fastestRate": row.notes_per_second}
            if row.tempo == "marked":  # else only the fastest is certain
                rates["slowestRate"] = row.notes_per_second
            yield _Claim("RateLimit", rates, row.notes, technique)

    def _slur(self, row: SlurRow) -> Iterator[_Claim]:
        technique = self._techniques[row.stroke]
        if row.rank is not None:
            ranks = {"softest": row.rank, "loudest": row.rank}
            yield _Claim("DynamicEnvelope", ranks, row.notes, technique)
        if not row.seconds:
            return
        longest = {"longestSeconds": row.seconds}
        yield _Claim("DurationLimit", longest, row.notes, LEGATO, unasked=True)
        if row.dynamic in self._dynamics:
            about = (("limitsDynamic", self._dynamics[row.dynamic]),)
            yield _Claim("DurationLimit", longest, row.notes, LEGATO, about, unasked=True)
        if technique != LEGATO and row.notes >= _SHORTEST and row.tempo == "marked":
            rate = row.notes / row.seconds
            rates = {"fastestRate": rate, "slowestRate": rate}
            yield _Claim("RateLimit", rates, row.notes, technique)

    def _change(self, row: ChangeRow) -> Iterator[_Claim]:
        assert row.seconds is not None
        seconds = {"shortestSeconds": row.seconds}
        # the sign is repeated there, and the bow taken back for it
        into = ("changesTo", oq("bow-retake" if row.kind == "bow-return" else row.into).value)
        yield _Claim("ChangeTime", seconds, 1, about=(("changesFrom", oq(row.before).value), into))
        yield _Claim("ChangeTime", seconds, 1, about=(into,))

    def _harmonic(self, row: HarmonicRow) -> Iterator[_Claim]:
        technique = self._techniques[f"{row.kind}-harmonic"]
        yield _Claim("HarmonicLimit", {"highestPartial": row.node}, 1, technique)
        highest = {"highestPitch": Pitch.parse(row.sounding).midi}
        yield _Claim("CompassLimit", highest, 1, technique)

    def _stop(self, row: StopRow, instrument: Instrument) -> Iterator[_Claim]:
        """What the easiest way to take a chord asks of the hand."""
        solver = self._solver(instrument)
        if solver is None:
            return
        stop = solver.solve(Pitch.parse(name).midi for name in row.pitches.split())
        playing = stop.struck if row.bowed else stop.plucked
        stopped = [place for place in playing.fingering if place.finger is not None]
        if len(stopped) < 2:
            return
        yield _Claim("SecureHeight", {"highestSemitone": playing.height}, len(stopped))
        for one, other in combinations(sorted(stopped, key=lambda each: each.mm), 2):
            if one.finger != other.finger:
                spread = {"spanMillimetres": other.mm - one.mm}
                fingers = (("spansFingers", f"{one.finger}-{other.finger}"),)
                yield _Claim("HandSpan", spread, 2, about=fingers)

    def _solver(self, instrument: Instrument) -> StopSolver | None:
        if instrument.iri not in self._solvers:
            try:
                model = hand_model(self._knowledge, instrument, level="soloist")
            except OrchqError:
                self._solvers[instrument.iri] = None
            else:
                self._solvers[instrument.iri] = solver_for(model)
        return self._solvers[instrument.iri]


def spoken_subjects(knowledge: Knowledge) -> Mapping[Subject, frozenset[str]]:
    """What sources other than scores state limits for, with the properties that they give.

    A frame of the hand is a span between the same fingers.
    """
    found: dict[Subject, set[str]] = defaultdict(set)
    for limit in knowledge.limits:
        holder = limit.instrument or limit.family
        if limit.basis == "attested" or holder is None:
            continue
        names = {name for name in limit.values if not isinstance(limit.values[name], bool)}
        kind = limit.kind
        if kind == "HandFrame":
            kind = "HandSpan"
            names.add("spanMillimetres")
        about = tuple((name, str(limit.values[name])) for name in _ABOUT if name in limit.values)
        found[Subject(kind, holder, limit.technique, about)] |= names
    return {subject: frozenset(names) for subject, names in found.items()}
