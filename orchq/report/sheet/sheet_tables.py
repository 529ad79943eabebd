"""The contents of a sheet, as tables: the answers to the graph's questions, with their sources."""

import re
from collections.abc import Callable, Iterable, Sequence
from typing import TypedDict

from msgspec import Struct, field
from msgspec.structs import replace

from orchq.derive.states import ARCO
from orchq.errors import OrchqError
from orchq.evidence import Evidence
from orchq.knowledge import Instrument, Technique
from orchq.notation import Pitch
from orchq.questions import Answer, Answers, Graph
from orchq.questions.answers import NOTHING, cell
from orchq.questions.naming import LANGUAGES
from orchq.questions.printing import PrintedExample
from orchq.report.tables import Table, TableRow
from orchq.report.wording import one_line
from orchq.terms import OQ

_AFTER = "SELECT DISTINCT ?after WHERE { ?limit a oq:ChangeTime ; oq:changesTo ?after }"
_CLEFS = "SELECT $on ?clef WHERE { $on oq:readsClef ?clef } ORDER BY ?clef"
_CLEF = re.compile("[GFC][1-5]")
_LONGEST_PRINTED = 900
_MOST_DRAWN = 12
"""Open strings drawn on a staff; of more only the lowest and the highest are."""
_MOST_FORMS, _MOST_SHORT = 4, 3
"""Words of one language that a sheet shows; ``orchq ask terms`` has them all."""


class Citations(Struct):
    """The sources on a page, numbered from 1 in the order of the page."""

    numbers: dict[Evidence, int] = field(default_factory=dict)

    def cite(self, evidence: Iterable[Evidence]) -> tuple[int, ...]:
        """Number the evidence; the same words of the same source are listed once."""
        plain = (replace(each, limit="") for each in evidence)
        found = [self.numbers.setdefault(each, len(self.numbers) + 1) for each in plain]
        return tuple(dict.fromkeys(found))


class Follows(TypedDict):
    """Who plays, and the authority to follow where sources disagree, as questions take them."""

    level: str | None
    trust: str | None


class SheetTables:
    """The tables of one instrument; ``level`` and ``trust`` are as in questions."""

    def __init__(
        self, graph: Graph, instrument: Instrument, level: str | None, trust: str | None
    ) -> None:
        self.instrument = instrument
        self.citations = Citations()
        self.ask = graph.ask
        self.stand = graph.ask.standpoint(level, trust)
        self.follows = Follows(level=level, trust=trust)
        self._graph = graph

    # ---------------------------------------------------------- strings and registers

    def clefs(self) -> tuple[str, ...]:
        """The clefs that players read, as sign and line (``G2``)."""
        stated = (row["clef"] for row in self.ask.select(_CLEFS, on=self.instrument.iri))
        return tuple(clef for clef in stated if _CLEF.fullmatch(clef))

    def tunings(self) -> Table:
        """The strings of every stringing, the last first: from the lowest, as a rule."""
        rows = []
        for answer in self.ask.stringing(on=self.instrument.iri):
            strings, courses, along = (
                " ".join(reversed(each)) or NOTHING
                for each in (answer.strings, answer.courses, answer.along)
            )
            order = "re-entrant" if answer.reentrant else NOTHING
            cells = (one_line(answer.tuning), strings, courses, along, order, cell(answer.frets))
            pitches = tuple(map(Pitch.parse, reversed(answer.strings)))
            if len(pitches) > _MOST_DRAWN:
                pitches = (pitches[0], pitches[-1])
            rows.append(TableRow(cells, self.citations.cite(answer.evidence), pitches))
        heads = ("tuning", "open strings", "in each course", "sympathetic", "order", "frets")
        return _table("Strings", heads, rows, missing="")

    def lengths(self) -> Table:
        """How long the strings are from nut to bridge."""
        rows = [
            TableRow(
                tuple(
                    cell(None if value is None else float(value))
                    for value in map(
                        limit.values.get, ("shortestMillimetres", "longestMillimetres")
                    )
                ),
                self.citations.cite(self.ask.evidence([limit])),
            )
            for limit in self.ask.in_force("StringLength", self.instrument, None, self.stand)
        ]
        return _table(
            "Length of the strings from nut to bridge",
            ("shortest (mm)", "longest (mm)"),
            rows,
            "The graph has no string lengths.",
        )

    def compass(self) -> Table:
        """How low and how high, by each opinion, and for which players."""
        answers = self.ask.compass(on=self.instrument.iri)
        spoken = [
            replace(answer, levels=self._levels(answer.evidence)) for answer in answers.answers
        ]
        table = self.table("Compass", answers.keeping(spoken))
        return _with_notes(table, ("lowest", "highest"))

    def zones(self) -> Table:
        """What the opinions about height come to: unopposed, granted by some, for soloists."""
        asked, solo = (
            self._graph.weighings(
                "CompassLimit", self.instrument, level=level, trust=self.stand.trust
            )
            for level in (self.stand.level, OQ + "soloist")
        )
        height = [zone for weighing in asked for zone in weighing.zones if zone.up_to is not None]
        granted = [zone for zone in height if zone.verdict in ("allowed", "disputed")]
        unopposed = [zone for zone in granted if not zone.opposed_by]
        alone = [
            zone
            for weighing in solo
            for zone in weighing.zones
            if zone.up_to is not None and zone.verdict in ("allowed", "disputed")
        ]
        tops = [zones[-1] if zones else None for zones in (unopposed, granted, alone)]
        missing = "The graph has no highest note."
        if not any(tops):
            return Table("Compass at a glance", missing=missing)
        pitches = [self.instrument.standard.lowest.pitch]
        pitches += [Pitch.from_midi(int(zone.up_to or 0)) for zone in tops if zone is not None]
        cells = (
            pitches[0].name,
            *(NOTHING if z is None else Pitch.from_midi(int(z.up_to or 0)).name for z in tops),
        )
        limits = [limit for zone in tops if zone is not None for limit in zone.permitted_by[:1]]
        row = TableRow(cells, self.citations.cite(self.ask.evidence(limits)), tuple(pitches))
        heads = ("lowest", "nobody objects up to", "some allow up to", "soloists up to")
        return _table("Compass at a glance", heads, [row], missing)

    def ceilings(self) -> Table:
        """How high single techniques go, by each opinion."""
        spoken = {each.technique for each in self._graph.limits if each.kind == "CompassLimit"}
        rows = [
            TableRow(
                (
                    one_line(self._graph.label(technique)),
                    one_line(str(limit.values["highestPitch"])),
                    limit.basis.replace("-", " "),
                ),
                self.citations.cite(self.ask.evidence([limit])),
            )
            for technique in sorted(filter(None, spoken))
            for limit in self.ask.opinions("CompassLimit", self.instrument, technique, self.stand)
            if "highestPitch" in limit.values
        ]
        missing = "The graph has no highest note for single techniques."
        table = _table(
            "Highest note of a technique", ("technique", "highest", "basis"), rows, missing
        )
        return _with_notes(table, ("highest",))

    def _levels(self, evidence: Iterable[Evidence]) -> tuple[str, ...]:
        """The levels that limits are stated for, by name; none for a limit for all."""
        stated = {each.limit for each in evidence}
        return tuple(
            self._graph.levels[limit.level]
            for limit in self._graph.limits
            if limit.iri in stated and limit.level is not None
        )

    def colours(self) -> Table:
        """What sounds how: the widest words of the thesaurus, with all that is a kind of them."""
        words = self._graph.thesaurus.words.values()
        rows = []
        for word in sorted(words, key=lambda each: each.label):
            if word.broader:
                continue
            asked = self.ask.colours(like=word.label, on=self.instrument.iri)
            found = [each for each in asked if each.fit in ("same", "narrower")]
            if not found:
                continue
            opposites = sorted(self._graph.label(iri) for iri in word.opposites)
            rows.append(
                TableRow(
                    (
                        one_line(word.label),
                        one_line(", ".join(each.what for each in found), _LONGEST_PRINTED),
                        one_line(", ".join(opposites) or NOTHING),
                    ),
                    self.citations.cite(
                        replace(each, statement="") for answer in found for each in answer.evidence
                    ),
                )
            )
        heads = ("", "techniques and registers", "opposite")
        return _table("Words for sound", heads, rows, "The graph has no words for its sound.")

    # ------------------------------------------------------------- loudness and time

    def loudness(self) -> Table:
        """What the opinions about loudness come to, one line for each technique."""
        middle = list(self._graph.dynamics.values())[len(self._graph.dynamics) // 2]
        answers = self.ask.techniques(
            on=self.instrument.iri, at=middle.iri, all=True, **self.follows
        )
        offered = {each.technique for each in self.ask.dynamics(on=self.instrument.iri)}
        rows = [
            TableRow(
                tuple(
                    one_line(each or NOTHING)
                    for each in (answer.technique, answer.softest, answer.loudest)
                ),
                self.citations.cite(answer.evidence[:2]),
            )
            for answer in sorted(answers, key=lambda each: each.technique)
            if answer.technique in offered
        ]
        heads = ("technique", "softest", "loudest")
        return _table("Softest and loudest at a glance", heads, rows, "The graph has no loudness.")

    def envelopes(self) -> Table:
        """How soft and how loud every technique goes, by each authority."""
        answers = self.ask.dynamics(on=self.instrument.iri, **self.follows)
        return self.table("Softest and loudest of every technique", answers)

    def bow(self) -> Table:
        """How long one bow lasts at each dynamic with a stated bow speed."""
        if not self.ask.knowledge.techniques[ARCO].is_on(self.instrument):
            missing = f"The {one_line(self.instrument.label)} is not bowed."
            return Table("One bow at a dynamic", missing=missing)
        return self._asked(
            "One bow at a dynamic",
            (
                _only(
                    self.ask.bow(on=self.instrument.iri, at=dynamic.iri, **self.follows),
                    dynamic.label,
                )
                for dynamic in self._graph.dynamics.values()
            ),
        )

    def changes(self) -> Table:
        """How long it takes to change the way of playing."""
        return self._asked(
            "Time for a change",
            (
                self.ask.changes(to=row["after"], on=self.instrument.iri, **self.follows)
                for row in self.ask.select(_AFTER)
            ),
        )

    def rates(self) -> Table:
        """How fast techniques can be repeated."""
        limited = {
            limit.technique for limit in self.ask.limits.values() if limit.kind == "RateLimit"
        }
        return self._asked(
            "Notes in a second",
            (
                self.ask.rates(on=self.instrument.iri, technique=iri, **self.follows)
                for iri in sorted(filter(None, limited))
            ),
        )

    def sections(self) -> Table:
        """How many players sections have."""
        return self.table("Players in a section", self.ask.section(on=self.instrument.iri))

    # -------------------------------------------------------------------------- words

    def terms(self) -> Table:
        """What prints the instrument and its techniques in each language."""
        able = [each for each in self._graph.techniques.values() if each.is_on(self.instrument)]
        things: list[Instrument | Technique] = [self.instrument]
        things += sorted(able, key=lambda each: each.label)
        rows = []
        for thing in things:
            answers = self.ask.terms(for_=thing.iri)
            words = {
                answer.language: one_line(
                    ", ".join(
                        (
                            *answer.forms[:_MOST_FORMS],
                            *answer.plurals[:_MOST_SHORT],
                            *answer.abbreviations[:_MOST_SHORT],
                        )
                    )
                )
                for answer in answers
            }
            # Only the source of a word is cited: the words are in the table.
            evidence = [replace(e, statement="") for answer in answers for e in answer.evidence]
            if words:
                cells = (words.get(language, NOTHING) for language in LANGUAGES.values())
                rows.append(
                    TableRow((one_line(thing.label), *cells), self.citations.cite(evidence))
                )
        missing = "The graph has no words."
        return _table("Words in print", ("", *LANGUAGES.values()), rows, missing)

    def notation(self) -> tuple[Table, tuple[tuple[PrintedExample, ...], ...]]:
        """Where techniques are printed, what ends them, what goes wrong; examples for each row."""
        able = [each for each in self._graph.techniques.values() if each.is_on(self.instrument)]
        answers = [
            answer
            for each in sorted(able, key=lambda each: each.label)
            for answer in self.ask.notation(technique=each.iri)
            if answer.examples
        ]
        rows = [
            TableRow(
                (
                    one_line(answer.technique),
                    *(
                        one_line("; ".join(each) or NOTHING, _LONGEST_PRINTED)
                        for each in (answer.placed, answer.ends[:1], answer.wrong)
                    ),
                ),
                self.citations.cite(replace(each, statement="") for each in answer.evidence),
            )
            for answer in answers
        ]
        heads = ("", "stands", "ends", "wrong, and how it is read")
        table = _table("How it is printed", heads, rows, "The graph has no printed techniques.")
        return table, tuple(answer.examples for answer in answers)

    # ----------------------------------------------------------------------- answers

    def table(self, caption: str, answers: Answers[Answer]) -> Table:
        """The table of an answer, without columns in which nothing is stated."""
        rows = [
            TableRow(tuple(map(one_line, cells)), self.citations.cite(answer.evidence))
            for cells, answer in zip(answers.rows(), answers, strict=True)
        ]
        missing = one_line(" ".join(answers.remarks)) or "The graph has nothing on this."
        return _table(caption, answers.heads(), rows, missing)

    def _asked(self, caption: str, asked: Iterable[Answers[Answer]]) -> Table:
        """One table of the answers to a question that is asked of many things."""
        answers = list(asked)
        every = [answer for each in answers for answer in each]
        if not every:
            return Table(caption, missing="The graph has nothing on this.")
        return self.table(caption, answers[0].keeping(dict.fromkeys(every)))


def attempt(caption: str, make: Callable[[], Table]) -> Table:
    """A table, or why there is none: an instrument of one's own may state little."""
    try:
        return make()
    except OrchqError as error:
        return Table(caption, missing=one_line(f"{str(error)[:1].upper()}{str(error)[1:]}."))


def _only(answers: Answers[Answer], dynamic: str) -> Answers[Answer]:
    """The answers about this very dynamic and not its neighbours."""
    kept = (each for each in answers if getattr(each, "dynamic", dynamic) == dynamic)
    return answers.keeping(kept)


def _table(caption: str, heads: Sequence[str], rows: Sequence[TableRow], missing: str) -> Table:
    if not rows:
        return Table(caption, missing=missing)
    kept = [
        place for place in range(len(heads)) if any(row.cells[place] != NOTHING for row in rows)
    ]
    return Table(
        caption,
        tuple(heads[place] for place in kept),
        tuple(replace(row, cells=tuple(row.cells[place] for place in kept)) for row in rows),
    )


def _with_notes(table: Table, heads: Sequence[str]) -> Table:
    """The table with the pitches of these columns as notes to draw."""
    places = [table.column(head) for head in heads if head in table.heads]
    rows = (
        replace(
            row,
            notes=tuple(
                Pitch.parse(row.cells[place]) for place in places if row.cells[place] != NOTHING
            ),
        )
        for row in table.rows
    )
    return replace(table, rows=tuple(rows))
