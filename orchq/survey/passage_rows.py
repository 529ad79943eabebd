"""Passages: under which technique and dynamic notes stand, and into how many parts they divide."""

from bisect import bisect_right
from collections.abc import Iterator
from fractions import Fraction

from msgspec import Struct

from orchq.derive.placed import Placed
from orchq.derive.states import FINAL_BARLINE
from orchq.survey.rows import DivisiRow, PassageRow
from orchq.survey.surveyed import SurveyedStaff
from orchq.terms import slug_of


class _Open(Struct):
    """A passage that goes on: what it has in common, where it began, how far it has come."""

    common: object
    dynamic: str | None
    first: Placed
    text: str
    notes: int = 0
    end: Fraction = Fraction(0)


def passage_rows(staff: SurveyedStaff) -> Iterator[PassageRow]:
    """Yield the passages of a staff, by where they begin.

    A passage goes on over rests, and over notes of no stated loudness (a sforzato, a swell) after
    which its dynamic holds again, until technique, dynamic or players change or a movement ends.
    """
    texts = _Texts(staff)
    movements = sorted(m.onset for m in staff.part.marks if FINAL_BARLINE in m.directives)
    found: list[tuple[str, _Open]] = []
    going: dict[str, _Open] = {}
    for item in staff.placed:
        in_force, event = item.in_force, item.event
        movement = bisect_right(movements, event.onset)
        common = in_force.solo, movement
        unstated = in_force.dynamic is None
        going = {
            technique: passage
            for technique, passage in going.items()
            if technique in in_force.techniques
            and passage.common == common
            and (unstated or passage.dynamic == in_force.dynamic)
        }
        for technique in sorted(in_force.techniques):
            passage = going.get(technique)
            if passage is None:
                text = texts.at(technique, item)
                passage = going[technique] = _Open(common, in_force.dynamic, item, text)
                found.append((technique, passage))
            elif unstated and passage.dynamic is not None:
                continue
            passage.notes += len(event.notes)
            passage.end = max(passage.end, event.end)
    for technique, passage in found:
        dynamic, rank = staff.dynamic(passage.first.in_force)
        seconds, tempo = staff.least(passage.first.event.onset, passage.end)
        yield PassageRow(
            *staff.at(passage.first),
            technique=slug_of(technique),
            dynamic=dynamic,
            rank=rank,
            notes=passage.notes,
            seconds=seconds,
            tempo=tempo,
            text=passage.text,
        )


class _Texts:
    """What is printed for techniques on a staff."""

    def __init__(self, staff: SurveyedStaff) -> None:
        self._onsets: dict[str, list[Fraction]] = {}
        self._texts: dict[str, list[str]] = {}
        number = staff.placed[0].event.staff
        for mark in sorted(staff.part.marks, key=lambda mark: mark.onset):
            if mark.text and mark.staff in (None, number):
                for directive in mark.directives:
                    self._onsets.setdefault(directive, []).append(mark.onset)
                    self._texts.setdefault(directive, []).append(mark.text)

    def at(self, technique: str, item: Placed) -> str:
        """The words by which a technique (an IRI) holds at an event; empty where a sign does."""
        onsets = self._onsets.get(technique, [])
        place = bisect_right(onsets, item.event.onset) - 1
        if place < 0 or not (technique in item.standing or onsets[place] == item.event.onset):
            return ""
        return self._texts[technique][place]


def divisi_rows(staff: SurveyedStaff) -> Iterator[DivisiRow]:
    """Yield the passages of a staff that are divided."""
    first: Placed | None = None
    events = 0
    for item in (*staff.placed, None):
        parts = item.in_force.parts if item is not None else None
        if first is not None and parts != first.in_force.parts:
            yield DivisiRow(*staff.at(first), parts=first.in_force.parts or 1, events=events)
            first = None
        if parts is None:
            continue
        if first is None:
            first, events = item, 0
        events += 1
