"""Reads MusicXML into ``Score``."""

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

from orchq.inputs import content_name
from orchq.knowledge import InstrumentMatch, Knowledge
from orchq.readers.alignment import TimedPart, aligned, common_lengths, short_measures
from orchq.readers.container import chunks_in, chunks_of
from orchq.readers.headings import heading_of
from orchq.readers.iri_names import DistinctNames
from orchq.readers.measures import PartReader, Shared
from orchq.readers.parts import ListedPart, Recognised, bear_out, listed_parts, recognised
from orchq.readers.pitches import is_written_at_pitch, moved_by_octaves
from orchq.readers.printed_text import cleaned
from orchq.readers.read_limits import ReadLimits
from orchq.readers.seating import is_orchestral, seats_by_marks, seats_of
from orchq.readers.signs import Signs
from orchq.readers.skipped import SkippedPart
from orchq.readers.source import Element, InputFile
from orchq.readers.stream import steps_of
from orchq.score import LOOSE_TIES, Event, Heading, Part, Score, without_loose_ties


def read_musicxml(path: Path, knowledge: Knowledge, limits: ReadLimits | None = None) -> Score:
    """Read a MusicXML file, plain or compressed.

    Parts whose instrument the graph does not know are listed without events and keep only their
    tempo marks. Raises ``ReadError`` naming the file and, where there is one, the line.
    """
    limits = limits or ReadLimits()
    source = InputFile(str(path))
    return _Reading(path, knowledge, source, limits).read(chunks_of(path, source, limits))


def read_musicxml_bytes(
    data: bytes, path: Path, knowledge: Knowledge, limits: ReadLimits | None = None
) -> Score:
    """Read MusicXML converted from another file, which errors name and IRIs follow from."""
    limits = limits or ReadLimits()
    source = InputFile(str(path), has_lines=False)
    return _Reading(path, knowledge, source, limits).read(chunks_in(data, source, limits))


class _Reading:
    """One file being read."""

    def __init__(
        self, path: Path, knowledge: Knowledge, source: InputFile, limits: ReadLimits
    ) -> None:
        self._stem = path.stem
        self._knowledge = knowledge
        self._source = source
        self._limits = limits
        self._iri = content_name(path)
        self._names = DistinctNames()
        self._remarks = source.remarks
        self._shared = Shared(Signs(knowledge), source, limits)
        self._title = path.stem
        self._heading = Heading()
        self._listed: dict[str, Recognised] = {}
        self._readers: dict[str, tuple[str, Recognised, PartReader | SkippedPart]] = {}

    def read(self, chunks: Iterable[bytes]) -> Score:
        for step in steps_of(chunks, self._source, self._limits):
            if step.kind == "measure":
                self._readers[step.part_id][2].read_measure(step.element, step.content)
            elif step.kind == "part":
                self._begin_part(step.part_id)
            else:
                self._header(step.element, step.content)
        parts = self._parts()
        remarks = tuple(self._remarks.sentences())
        return Score(self._iri, self._title, parts, remarks, heading=self._heading)

    def _header(self, root: Element, part_list: Element) -> None:
        self._heading = heading_of(root)
        titles = (root.findtext("work/work-title"), root.findtext("movement-title"))
        distinct = dict.fromkeys(title for text in titles if (title := cleaned(text).strip()))
        self._title = ": ".join(distinct) or self._stem
        for part in listed_parts(part_list).values():
            self._listed[part.id] = recognised(part, self._knowledge)
        bear_out([*self._listed.values()], self._knowledge)

    def _begin_part(self, part_id: str) -> None:
        listed = self._listed.get(part_id)
        if listed is None:
            listed = Recognised(ListedPart(part_id), InstrumentMatch(None, section=False))
            listed.remarks.append("the part is not in the list of parts")
        iri = f"{self._iri}#{self._names.name(part_id, 'P')}"
        instrument = self._knowledge.instruments.get(listed.match.instrument or "")
        reader = (
            PartReader(iri, listed.name, instrument, self._shared)
            if instrument is not None
            else SkippedPart(iri, self._shared)
        )
        for remark in listed.remarks:
            self._remarks.add(listed.name, remark)
        self._readers[part_id] = (iri, listed, reader)

    def _parts(self) -> tuple[Part, ...]:
        for _, listed, reader in self._readers.values():
            if isinstance(reader, PartReader) and listed.shares_name and reader.is_sung:
                listed.leave("words are sung to it", self._knowledge)
                self._remarks.add(listed.name, listed.remarks[-1])
        orchestral = is_orchestral([listed for _, listed, _ in self._readers.values()])
        lengths = common_lengths(
            [r.measures for _, _, r in self._readers.values() if isinstance(r, PartReader)]
        )
        return tuple(
            self._part_read(index, iri, listed, reader, lengths, orchestral=orchestral)
            if isinstance(reader, PartReader)
            else self._skipped_part(index, iri, listed, reader, lengths)
            for index, (iri, listed, reader) in enumerate(self._readers.values())
        )

    def _part_read(
        self,
        index: int,
        iri: str,
        listed: Recognised,
        reader: PartReader,
        lengths: list[Fraction],
        *,
        orchestral: bool,
    ) -> Part:
        self._remark_leftovers(listed.name, reader, lengths)
        events, loose = without_loose_ties(self._in_sounding_octave(listed.name, reader))
        if loose:
            self._remarks.add(listed.name, LOOSE_TIES, times=loose)
        timed = aligned(
            TimedPart(reader.measures, events, reader.marks.found, reader.marks.hairpins.found),
            lengths,
        )
        if listed.match.instrument is None:
            tempi = tuple(mark for mark in timed.marks if mark.tempo is not None)
            return Part(iri, listed.part.id, index, listed.name, instrument=None, marks=tempi)
        seats = seats_by_marks(
            seats_of(listed, self._knowledge, orchestral=orchestral), reader.marks.found
        )
        return Part(
            iri=iri,
            id=listed.part.id,
            index=index,
            name=listed.name,
            instrument=reader.instrument.iri,
            section=seats.section,
            players=seats.players,
            measures=tuple(timed.measures),
            events=tuple(timed.events),
            marks=tuple(timed.marks),
            slurs=tuple(reader.events.slurs.found),
            hairpins=tuple(timed.hairpins),
        )

    def _in_sounding_octave(self, name: str, reader: PartReader) -> list[Event]:
        """The events, moved by octaves if the instrument transposes and the file did not."""
        events = reader.events.found
        instrument = reader.instrument
        if not instrument.octaves_above or reader.has_transpose or not events:
            return events
        if is_written_at_pitch(events, instrument, octave_clef=reader.has_octave_clef):
            self._remarks.add(name, "no <transpose>: read at sounding pitch")
            return events
        self._remarks.add(name, f"no <transpose>: read in the usual octave of a {instrument.label}")
        return moved_by_octaves(events, instrument.octaves_above)

    def _skipped_part(
        self,
        index: int,
        iri: str,
        listed: Recognised,
        reader: SkippedPart,
        lengths: list[Fraction],
    ) -> Part:
        return Part(
            iri=iri,
            id=listed.part.id,
            index=index,
            name=listed.name,
            instrument=None,
            marks=tuple(reader.marks(lengths)),
        )

    def _remark_leftovers(self, name: str, reader: PartReader, lengths: list[Fraction]) -> None:
        reader.events.slurs.end_movement()
        reader.marks.hairpins.end_movement()
        leftovers = {
            "slurs with only one end are ignored": reader.events.slurs.unmatched,
            "wedges with only one end are ignored": reader.marks.hairpins.unmatched,
            "small notes in full-size chords are ignored": reader.events.small,
            "notes printed small are read as cues and not checked": reader.events.small_cues,
        }
        for message, count in leftovers.items():
            if count:
                self._remarks.add(name, message, times=count)
        short = short_measures(reader.measures, lengths)
        if short:
            message = "is shorter than in another part; read as equally long"
            self._remarks.add(name, message, short[0].number, len(short))
