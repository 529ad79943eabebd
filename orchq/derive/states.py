"""Resolves the instructions in force at each event from the printed marks, in time order."""

from collections.abc import Iterator, Sequence

from orchq.derive.placed import InForce, Placed, PluckedPassage
from orchq.exact import Fraction
from orchq.knowledge import Directive, Instrument, InstrumentString, Knowledge
from orchq.notation import Pitch
from orchq.score import Event, Hairpin, Mark, Part
from orchq.terms import oq

ARCO = oq("arco").value
DIVISI = oq("divisi").value
UNISON = oq("unison").value
NON_DIVISI = oq("non-divisi").value
SOLO = oq("solo").value
SOLI = oq("soli").value
TUTTI = oq("tutti").value
NATURAL_HARMONIC = oq("natural-harmonic").value
OPEN_STRING = oq("open-string").value
DOUBLE_BARLINE = oq("double-barline").value
FINAL_BARLINE = oq("final-barline").value

_NONE: frozenset[str] = frozenset()  # each empty set would be an object of its own
_NO_STATE = frozenset({"ClefSign", "TempoWord"})
_PLUCKED_KINDS = frozenset({"PluckedTechnique", "StickTechnique"})


class StateWalk:
    """Walks one staff of a part, mark by mark and event by event."""

    def __init__(self, knowledge: Knowledge, instrument: Instrument, part: Part) -> None:
        self._knowledge = knowledge
        self._instrument = instrument
        self._part = part
        bowed = knowledge.techniques[ARCO].is_on(instrument)
        self._unmarked = frozenset({ARCO} if bowed else ())
        self._directions = frozenset(
            iri for iri, each in knowledge.techniques.items() if "BowDirection" in each.kinds
        )
        self._strings = _strings_in_use(instrument, part.tuning, part.iri)
        self._retuned = bool(part.tuning)
        self._since: dict[str, Fraction] = {}
        self._dynamic: str | None = None
        self._dynamic_since = Fraction(0)
        self._hairpins: list[Hairpin] = []
        self._printed: list[Mark] = []
        self._falls_to: str | None = None
        self._stress_due = False
        self._stressed_at: Fraction | None = None
        self._changing = False
        self._string_call: str | None = None
        self._call_used = self._call_served = False
        self._parts: int | None = None
        self._solo = False
        self._passage = 0
        self._clef: str | None = None
        self._doubtful_clef: str | None = None
        self._plucked: PluckedPassage | None = None
        self._line_end = Fraction(0)
        self._once: set[str] = set()
        self._sets: dict[frozenset[str], frozenset[str]] = {}
        self._states: dict[object, InForce] = {}
        self._unsigned: dict[frozenset[str], frozenset[str]] = {}

    def walk(self, staff: int) -> Iterator[Placed]:
        """Yield the events of one staff that are played, in time order."""
        marks = [mark for mark in self._part.marks if mark.staff in (None, staff)]
        marks.sort(key=lambda mark: mark.onset)
        self._printed = marks
        hairpins = [pin for pin in self._part.hairpins if pin.staff in (None, staff)]
        self._hairpins = sorted(hairpins, key=lambda pin: pin.onset, reverse=True)
        place = 0
        for event in self._part.events:
            if event.staff != staff or event.cue:
                continue
            while place < len(marks) and marks[place].onset <= event.onset:
                self._apply(marks[place])
                place += 1
            yield self._placed(event)
        if self._plucked is not None:
            self._end_plucked(returned=False)

    # ------------------------------------------------------------------ marks

    def _apply(self, mark: Mark) -> None:
        for iri in mark.directives:
            directive = self._knowledge.directives.get(iri)
            if directive is not None:
                self._direct(directive, mark)
        if mark.retuned:
            self._retune(mark.retuned, mark.iri)

    def _direct(self, directive: Directive, mark: Mark) -> None:
        if "ClefSign" in directive.kinds:
            self._change_clef(directive)
        if directive.iri == DOUBLE_BARLINE or not directive.kinds.isdisjoint(_NO_STATE):
            return
        self._passage += 1
        for other in directive.cancels:
            if self._since.get(other, mark.onset) < mark.onset:
                self._cancel(other)
        if directive.cancels and self._string_call in directive.cancels:
            self._string_call = None
        if directive.iri == FINAL_BARLINE:
            self._reset()
        elif "Dynamic" in directive.kinds:
            self._dynamic, self._changing, self._falls_to = directive.iri, False, None
            self._dynamic_since = mark.onset
        elif "DynamicAccent" in directive.kinds:
            self._falls_to, self._stress_due = directive.falls_to, True
        elif "DynamicChange" in directive.kinds:
            self._changing = True
        elif "StringCall" in directive.kinds:
            self._string_call = directive.iri
            self._call_used = self._call_served = False
        elif "PlayerCall" in directive.kinds:
            self._call_players(directive, mark)
        elif directive.iri in self._knowledge.techniques and directive.iri not in self._unmarked:
            self._use(directive, mark.onset)

    def _use(self, directive: Directive, onset: Fraction) -> None:
        if not directive.persists:
            if not directive.cancels:
                self._once.add(directive.iri)
            return
        technique = self._knowledge.techniques[directive.iri]
        for other in [o for o, since in self._since.items() if since < onset]:
            if other in technique.excludes and self._same_kind(directive.iri, other):
                self._cancel(other)
        if "PluckedTechnique" in directive.kinds:
            if self._plucked is not None:
                self._end_plucked(returned=False)
            self._plucked = PluckedPassage(directive.iri)
        self._since.setdefault(directive.iri, onset)

    def _change_clef(self, directive: Directive) -> None:
        doubtful_after = self._instrument.doubtful_after
        if directive.clef != "G2" or doubtful_after is None:
            self._doubtful_clef = None
        elif self._clef in (None, doubtful_after):
            self._doubtful_clef = directive.iri
        self._clef = directive.iri

    def _same_kind(self, one: str, other: str) -> bool:
        techniques = self._knowledge.techniques
        return techniques[one].kinds == techniques[other].kinds

    def _cancel(self, iri: str) -> None:
        del self._since[iri]
        kinds = self._knowledge.techniques[iri].kinds
        if "PluckedTechnique" in kinds and self._plucked is not None:
            self._end_plucked(returned=True)

    def _end_plucked(self, *, returned: bool) -> None:
        assert self._plucked is not None
        self._plucked.returned = returned
        self._plucked = None

    def _call_players(self, directive: Directive, mark: Mark) -> None:
        if directive.iri == DIVISI:
            self._parts = mark.number or directive.parts or 2
        elif directive.iri in (UNISON, TUTTI, NON_DIVISI):
            self._parts, self._solo = None, False
        elif directive.iri == SOLO:
            self._parts, self._solo = None, True
        elif directive.iri == SOLI and mark.number:
            self._parts, self._solo = mark.number, True

    def _retune(self, strings: tuple[tuple[int, Pitch], ...], owner: str) -> None:
        self._passage += 1
        changed = {
            number: InstrumentString(f"{owner}.string{number}", number, pitch)
            for number, pitch in strings
        }
        self._strings = tuple(changed.get(s.number, s) for s in self._strings)
        self._retuned = True

    def _reset(self) -> None:
        """End a movement: nothing printed before remains in force."""
        if self._plucked is not None:
            self._end_plucked(returned=False)
        self._since.clear()
        self._once.clear()
        self._dynamic = self._falls_to = self._string_call = None
        self._changing = self._solo = False
        self._parts = None

    # ----------------------------------------------------------------- events

    def _placed(self, event: Event) -> Placed:
        if event.onset > self._line_end and self._call_used:
            # Parts print where a string is called for, rarely where the call ends: a rest ends it.
            self._string_call, self._call_used = None, False
            self._passage += 1
        self._line_end = max(self._line_end, event.end)
        leaves = self._leave_call(event)
        self._call_used = self._string_call is not None
        self._follow_hairpins(event)
        if self._stress_due:
            self._stress_due, self._stressed_at = False, event.onset
        # How loud a sforzato is, nobody prints.
        unstated = self._changing or self._falls_to or event.onset == self._stressed_at
        base = self._shared_set(frozenset(self._since))
        words, self._once = frozenset(self._once), set()
        marks = self._marks(event)
        techniques, bow_signs = self._techniques(base, marks | words)
        if event.state is not None:
            asserted = event.state
            techniques, bow_signs = self._techniques(asserted.techniques, marks)
            in_force = self._shared_state(
                techniques=techniques,
                dynamic=asserted.dynamic,
                string_call=asserted.string_call,
                parts=asserted.divisi_parts if (asserted.divisi_parts or 1) > 1 else None,
                solo=False,
            )
        else:
            in_force = self._shared_state(
                techniques=techniques,
                dynamic=None if unstated else self._dynamic,
                string_call=self._string_call,
                parts=self._parts,
                solo=self._solo,
            )
        placed = Placed(
            event,
            in_force,
            self._passage,
            self._plucked,
            bow_signs,
            self._doubtful_clef,
            base,
            leaves=leaves,
        )
        if self._plucked is not None and event.state is None:
            self._plucked.events.append(event)
        if self._falls_to is not None:
            self._dynamic, self._falls_to, self._changing = self._falls_to, None, False
            self._dynamic_since = event.onset
            self._passage += 1
        return placed

    def _shared_set(self, names: frozenset[str]) -> frozenset[str]:
        return self._sets.setdefault(names, names)

    def _shared_state(
        self,
        techniques: frozenset[str],
        dynamic: str | None,
        string_call: str | None,
        parts: int | None,
        *,
        solo: bool,
    ) -> InForce:
        """What is in force, in one object for all events with the same."""
        key = techniques, dynamic, string_call, parts, solo, id(self._strings)
        if (found := self._states.get(key)) is None:
            found = self._states[key] = InForce(
                techniques, dynamic, string_call, parts, solo, self._strings, self._retuned
            )
        return found

    def _leave_call(self, event: Event) -> InstrumentString | None:
        """End a string call, once followed, at the first note that the string lacks.

        Where a printed end is still to come, such as a loco, the call holds up to it.
        """
        string = None
        if self._string_call is not None and event.state is None:
            call = self._knowledge.directives[self._string_call]
            string = called_string(call, self._strings, self._instrument)
        if string is None or all(note.tied_back for note in event.notes):
            return None
        highest = max(note.pitch.midi for note in event.notes)
        if highest >= string.pitch.midi:
            self._call_served = True
        elif (
            self._call_served
            and highest >= min(s.pitch.midi for s in self._strings)
            and not self._call_ends_in_print(event.onset)
        ):
            self._string_call = None
            self._passage += 1
            return string
        return None

    def _call_ends_in_print(self, onset: Fraction) -> bool:
        """Whether a word for its end is printed after a place, and no other call before that."""
        coming = (mark for mark in self._printed if mark.onset > onset)
        for iri in (iri for mark in coming for iri in mark.directives):
            directive = self._knowledge.directives.get(iri)
            if directive is not None and "StringCall" in directive.kinds:
                return False
            if directive is not None and self._string_call in directive.cancels:
                return True
        return False

    def _marks(self, event: Event) -> frozenset[str]:
        """The signs at an event; a harmonic's circle over an open string means the open string.

        Where there is no bow, its signs over a chord show which way to strum.
        """
        marks = event.marks
        if not self._unmarked and len(event.notes) > 1:
            marks -= self._directions
        if NATURAL_HARMONIC not in marks or self._instrument.open_only:
            return marks
        opened = {string.pitch.midi for string in self._strings}
        plain = all(note.role is None and note.notehead is None for note in event.notes)
        if plain and all(note.pitch.midi in opened for note in event.notes):
            return marks - {NATURAL_HARMONIC} | {OPEN_STRING}
        return marks

    def _follow_hairpins(self, event: Event) -> None:
        """From a hairpin on, loudness is open until a dynamic is printed."""
        while self._hairpins and self._hairpins[-1].onset < event.onset:
            hairpin = self._hairpins.pop()
            if self._dynamic_since <= hairpin.onset and not self._changing:
                self._changing = True
                self._passage += 1

    def _techniques(
        self, base: frozenset[str], marks: frozenset[str]
    ) -> tuple[frozenset[str], frozenset[str]]:
        """Join what holds with what is printed at the event.

        A sign at the note outranks a bow stroke in force; a sign that needs the bow does not
        end a pizzicato in force, it contradicts it, and is returned separately. Where there
        is no bow, its directions are ordinary techniques, available on the instrument or not.
        """
        known = self._knowledge.techniques
        if not marks and base in self._unsigned:
            return self._unsigned[base], _NONE
        signs = frozenset(m for m in marks if m in known)
        directions = signs & self._directions
        needs_bow = frozenset(m for m in signs if ARCO in known[m].implies) | directions
        added = signs - directions
        if any("PluckedTechnique" in known[b].kinds for b in base if b in known):
            return self._shared_set(base | (added - needs_bow)), needs_bow
        if any(known[m].kinds & _PLUCKED_KINDS for m in added):
            base = frozenset(b for b in base if "BowStroke" not in known[b].kinds)
            return self._shared_set(base | (added - needs_bow)), needs_bow
        used = base | (added if self._unmarked else signs)
        if not any(known[t].kinds & _PLUCKED_KINDS for t in used if t in known):
            used |= self._unmarked
        used = self._shared_set(used)
        if not marks:
            self._unsigned[base] = used
        return used, _NONE


def called_string(
    call: Directive, strings: Sequence[InstrumentString], instrument: Instrument
) -> InstrumentString | None:
    """Return the string in use that a string call names, or ``None``.

    A retuned string keeps its usual letter. Where two strings share a name the call means the
    lower of them too.
    """
    usual = {string.number: string.name for string in instrument.standard.strings}
    called = [
        string
        for string in strings
        if string.number == call.string_number
        or (
            call.string_name is not None
            and call.string_name in (string.name, usual.get(string.number))
        )
    ]
    return min(called, key=lambda string: string.pitch, default=None)


def walk_part(
    part: Part, instrument: Instrument, knowledge: Knowledge
) -> dict[int, tuple[Placed, ...]]:
    """Walk through all staves of a part that have anything to play, in order."""
    staves = sorted({event.staff for event in part.events if not event.cue})
    return {staff: tuple(StateWalk(knowledge, instrument, part).walk(staff)) for staff in staves}


def _strings_in_use(
    instrument: Instrument, tuning: tuple[tuple[int, Pitch], ...], owner: str
) -> tuple[InstrumentString, ...]:
    if not tuning:
        return instrument.standard.strings
    return tuple(InstrumentString(f"{owner}.string{n}", n, pitch) for n, pitch in tuning)
