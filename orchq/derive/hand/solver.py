"""All ways to lay notes on strings, and the grade of the best one, struck, broken or plucked."""

from collections.abc import Iterable, Mapping
from functools import lru_cache

from msgspec import Struct

from orchq.derive.hand.effort import Efforts
from orchq.derive.hand.finger_fits import Fingers, Fit, Layout, Stopped, neighbours
from orchq.derive.hand.geometry import span_mm
from orchq.derive.hand.grades import Grade, grade_of
from orchq.derive.hand.hand_frames import Finger, HandModel
from orchq.derive.hand.reach import NEVER
from orchq.derive.hand.reasons import Reason, failure, merits, set_anew, troubles
from orchq.errors import OrchqError

_CACHE = 1 << 17


class Placement(Struct, frozen=True):
    """One note on its string.

    ``pitch`` is a MIDI number, ``string`` counts from 1, the highest; ``semitones`` and ``mm``
    give the height above the open string; ``finger`` is ``None`` on an open string, and where
    the hand moves between the notes.
    """

    pitch: int
    string: int
    semitones: int
    mm: float
    finger: Finger | None

    @property
    def open(self) -> bool:
        """Whether the string sounds unstopped."""
        return self.semitones == 0


class Playing(Struct, frozen=True):
    """How one player can take the notes in one way.

    ``effort`` is the measure behind the ``grade`` (infinite when impossible); ``fingering``
    goes from the lowest note up and is empty when there is none; ``reasons`` start with the
    gravest and end with the advantages of the shape.
    """

    grade: Grade
    effort: float
    fingering: tuple[Placement, ...]
    reasons: tuple[Reason, ...]

    @property
    def reason(self) -> str:
        """The gravest reason in words; empty when there is none."""
        return self.reasons[0].text if self.reasons else ""

    @property
    def stopped(self) -> int:
        """How many notes are stopped."""
        return sum(not place.open for place in self.fingering)

    @property
    def height(self) -> int:
        """How high the hand stands: semitones of the highest stop above its open string."""
        return max((place.semitones for place in self.fingering), default=0)


class Stop(Struct, frozen=True):
    """What one player can do with simultaneous notes.

    ``struck``: one bow stroke, all fingers down, on neighbouring strings. ``paired``: the lower
    two notes and then the upper two, on neighbouring strings, the hand at rest and fingers reset
    between; with fewer than three notes it equals ``struck``. ``broken``: one
    note after another under the bow, the hand free to move. ``plucked``: all fingers down, on
    any strings. ``sustains``: one bow holds all notes; ``wants_forte``: bowed together they want
    a forte. The last two are independent of whether the notes can be taken at all.
    """

    pitches: tuple[int, ...]
    struck: Playing
    paired: Playing
    broken: Playing
    plucked: Playing
    sustains: bool
    wants_forte: bool


class _Best(Struct):
    effort: float = NEVER
    layout: Layout = ()
    stopped: Stopped = ()


class StopSolver:
    """Solves shapes for one hand model; reuse it, since it caches them.

    >>> from orchq.derive.hand import hand_model
    >>> from orchq.knowledge import load
    >>> graph = load()
    >>> violin = graph.instruments["https://w3id.org/orchq/violin"]
    >>> StopSolver(hand_model(graph, violin)).solve([55, 62]).struck.grade.label
    'easy'
    """

    def __init__(self, model: HandModel) -> None:
        self.model = model
        self._fingers = Fingers(model)
        self._efforts = Efforts(model, self._fingers)
        self._solved = lru_cache(_CACHE)(self._solve)

    def solve(self, pitches: Iterable[int]) -> Stop:
        """Grade sounding pitches, given as MIDI numbers in any order; a pitch may come twice.

        Raises ``OrchqError`` when there are none.
        """
        return self._solved(tuple(sorted(pitches)))

    def ways(self, pitches: Iterable[int], *, plucked: bool = False) -> tuple[Playing, ...]:
        """Return every layout that can be held together, with its best fingers, easiest first.

        Layouts for the bow use neighbouring strings only; ``plucked`` drops that condition.
        """
        notes = tuple(sorted(pitches))
        found = []
        for layout in self._layouts(notes):
            if not plucked and not self._bowable(layout):
                continue
            stopped = _stopped(layout)
            fit = self._fingers.fit_of(layout, stopped)
            if fit is not None:
                effort = self._efforts.struck(self._efforts.posture(stopped), fit, len(notes))
                found.append(self._held(notes, effort, layout, stopped))
        return tuple(sorted(found, key=lambda playing: playing.effort))

    def nearest(self, pitches: Iterable[int]) -> tuple[Placement, ...]:
        """Return where notes lie, each on a string of its own, with the least span; no fingers.

        Neighbouring strings go before others. Empty where two notes need one string.
        """
        layouts = self._layouts(tuple(sorted(pitches)))
        best = min(layouts, key=lambda each: (not neighbours(each), self._span(each)), default=())
        return self._placements(best, {})

    def _span(self, layout: Layout) -> float:
        stopped = [height for _, height in layout if height] or [0]
        return span_mm(self.model.length_mm, min(stopped), max(stopped))

    def _solve(self, pitches: tuple[int, ...]) -> Stop:
        if not pitches:
            raise OrchqError("a stop needs at least one pitch")
        struck, plucked, broken, paired = _Best(), _Best(), _Best(), _Best()
        notes = len(pitches)
        for layout in self._layouts(pitches):
            stopped = _stopped(layout)
            posture = self._efforts.posture(stopped)
            effort = self._efforts.broken(posture, notes)
            if effort < broken.effort:
                broken.effort, broken.layout, broken.stopped = effort, layout, stopped
            if notes > 2 and self._bowable(layout):
                effort = self._in_pairs(layout, stopped, notes)
                if effort < paired.effort:
                    paired.effort, paired.layout, paired.stopped = effort, layout, stopped
            together = struck if self._bowable(layout) else plucked
            if posture.at_least >= together.effort:
                continue
            fit = self._fingers.fit_of(layout, stopped)
            if fit is None:
                continue
            effort = self._efforts.struck(posture, fit, notes)
            if effort < together.effort:
                together.effort, together.layout, together.stopped = effort, layout, stopped
        model = self.model
        bowed = self._together(pitches, struck, bowed=True)
        skips = plucked.effort < struck.effort or struck.effort == NEVER
        return Stop(
            pitches,
            bowed,
            bowed if struck.effort <= paired.effort else self._paired(pitches, paired),
            self._apart(pitches, broken),
            self._together(pitches, plucked, bowed=False) if skips else bowed,
            model.most_sustained is None or notes <= model.most_sustained,
            model.forte_from is not None and notes >= model.forte_from,
        )

    def _bowable(self, layout: Layout) -> bool:
        """Whether a bow can sound these strings together."""
        return neighbours(layout) and not (self.model.one_string_bow and len(layout) > 1)

    def _in_pairs(self, layout: Layout, stopped: Stopped, notes: int) -> float:
        """Effort of the lower two strings and then the upper two, fingers set anew between."""
        across = sorted(layout, reverse=True)
        apart = self._efforts.broken(self._efforts.posture(stopped), notes)
        worst = max(apart, self._efforts.set_anew(stopped, notes))
        for pair in (across[:2], across[-2:]):
            held = _stopped(tuple(pair))
            fit = self._fingers.fit_of(tuple(pair), held)
            if fit is None:
                return NEVER
            worst = max(worst, self._efforts.struck(self._efforts.posture(held), fit, len(pair)))
        return worst

    def _paired(self, pitches: tuple[int, ...], best: _Best) -> Playing:
        """The result for two pairs; fingers are those under which each note sounds last."""
        fingers: dict[int, Finger] = {}
        across = sorted(best.layout, reverse=True)
        for pair in (tuple(across[:2]), tuple(across[-2:])):
            held = _stopped(pair)
            fit = self._fingers.fit_of(pair, held)
            assert fit is not None
            fingers |= {s: finger for (_, s), finger in zip(held, fit.fingers, strict=True)}
        reasons = set_anew(self.model, len(pitches), best.stopped)
        reasons += merits(self.model, best.layout)
        grade = grade_of(best.effort, self.model.weights)
        return Playing(grade, best.effort, self._placements(best.layout, fingers), reasons)

    def _layouts(self, pitches: tuple[int, ...]) -> list[Layout]:
        """All ways to put the notes on strings of their own, as (string index, height)."""
        top = self.model.highest_stop
        partial: list[tuple[Layout, int]] = [((), 0)]
        for pitch in pitches:
            choices = [
                ((string, pitch - opened), 1 << string)
                for string, opened in enumerate(self.model.strings)
                if 0 <= pitch - opened <= top
            ]
            partial = [
                ((*layout, choice), used | bit)
                for layout, used in partial
                for choice, bit in choices
                if not used & bit
            ]
        return [layout for layout, _ in partial]

    def _together(self, pitches: tuple[int, ...], best: _Best, *, bowed: bool) -> Playing:
        if best.effort == NEVER:
            reason = failure(self.model, pitches, self._layouts(pitches), bowed=bowed)
            return Playing(Grade.IMPOSSIBLE, NEVER, (), (reason,))
        return self._held(pitches, best.effort, best.layout, best.stopped)

    def _held(
        self,
        pitches: tuple[int, ...],
        effort: float,
        layout: Layout,
        stopped: Stopped,
    ) -> Playing:
        fit = self._fingers.fit_of(layout, stopped)
        assert fit is not None
        posture = self._efforts.posture(stopped)
        grade = grade_of(effort, self.model.weights)
        reasons = troubles(self.model, len(pitches), stopped, posture, fit, grade)
        reasons += merits(self.model, layout)
        return Playing(grade, effort, self._placements(layout, _fingers(stopped, fit)), reasons)

    def _apart(self, pitches: tuple[int, ...], best: _Best) -> Playing:
        if best.effort == NEVER:
            reason = failure(self.model, pitches, (), bowed=False)
            return Playing(Grade.IMPOSSIBLE, NEVER, (), (reason,))
        fit = self._fingers.fit_of(best.layout, best.stopped)
        grade = grade_of(best.effort, self.model.weights)
        reasons = troubles(self.model, len(pitches), best.stopped, None, fit, grade)
        reasons += merits(self.model, best.layout)
        places = self._placements(best.layout, _fingers(best.stopped, fit))
        return Playing(grade, best.effort, places, reasons)

    def _placements(self, layout: Layout, fingers: Mapping[int, Finger]) -> tuple[Placement, ...]:
        place, strings = self._fingers.reach.place, self.model.strings
        return tuple(
            Placement(strings[s] + height, s + 1, height, place[height], fingers.get(s))
            for s, height in layout
        )


def _fingers(stopped: Stopped, fit: Fit | None) -> dict[int, Finger]:
    """The finger on each string that is stopped, by the string's index."""
    if fit is None:
        return {}
    return {string: finger for (_, string), finger in zip(stopped, fit.fingers, strict=True)}


def _stopped(layout: Layout) -> Stopped:
    stopped = [(height, string) for string, height in layout if height]
    stopped.sort(key=_from_nut)
    return tuple(stopped)


def _from_nut(note: tuple[int, int]) -> tuple[int, int]:
    return note[0], -note[1]


@lru_cache(64)
def solver_for(model: HandModel) -> StopSolver:
    """Return the solver of a hand model, the same one for equal models."""
    return StopSolver(model)


def solve(pitches: Iterable[int], model: HandModel) -> Stop:
    """Grade sounding pitches, given as MIDI numbers, on this hand model; see ``StopSolver``."""
    return solver_for(model).solve(pitches)
