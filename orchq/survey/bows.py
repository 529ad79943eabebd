"""What one bow is given: slurs, and tremolo that goes on."""

from collections.abc import Iterator

from orchq.derive.tremolo import unbroken
from orchq.survey.model import SlurRow, TremoloRow
from orchq.survey.staff import Staff
from orchq.terms import slug_of


def slur_rows(staff: Staff) -> Iterator[SlurRow]:
    """Yield the slurs of a staff that show one bow."""
    for line in staff.lines:
        for slur in staff.bowing.bows(line):
            first, last = line.attacks[slur.first], line.attacks[slur.last]
            dynamic, rank = staff.dynamic(first.in_force)
            seconds, tempo = staff.least(first.onset, last.end)
            yield SlurRow(
                *staff.at(first.item),
                dynamic=dynamic,
                rank=rank,
                notes=slur.last - slur.first + 1,
                seconds=seconds,
                tempo=tempo,
            )


def tremolo_rows(staff: Staff) -> Iterator[TremoloRow]:
    """Yield the stretches of a staff in which one written note is many that sound."""
    techniques = staff.knowledge.techniques
    for iri in sorted(iri for iri, technique in techniques.items() if technique.many_notes):
        for stretch in (found for line in staff.lines for found in unbroken(line, iri)):
            seconds, tempo = staff.least(stretch[0].onset, stretch[-1].end)
            yield TremoloRow(
                *staff.at(stretch[0].item),
                technique=slug_of(iri),
                notes=len(stretch),
                seconds=seconds,
                tempo=tempo,
            )
