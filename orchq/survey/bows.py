"""What one bow is given: slurs, and tremolo that goes on."""

from collections.abc import Iterator, Sequence

from orchq.derive.lines import Attack
from orchq.derive.rates import LEGATO, SLURRED_STACCATO, STACCATO
from orchq.derive.tremolo import unbroken
from orchq.survey.rows import SlurRow, TremoloRow
from orchq.survey.surveyed import SurveyedStaff
from orchq.terms import oq, slug_of

PORTATO, TENUTO = oq("portato").value, oq("tenuto").value


def slur_rows(staff: SurveyedStaff) -> Iterator[SlurRow]:
    """Yield the slurs of a staff that show one bow."""
    for line in staff.lines:
        for slur in staff.judged.bowing.bows(line):
            attacks = line.attacks[slur.first : slur.last + 1]
            first, last = attacks[0], attacks[-1]
            dynamic, rank = staff.dynamic(first.in_force)
            seconds, tempo = staff.least(first.onset, last.end)
            yield SlurRow(
                *staff.at(first.item),
                stroke=slug_of(_stroke(attacks)),
                dynamic=dynamic,
                rank=rank,
                notes=len(attacks),
                seconds=seconds,
                tempo=tempo,
            )


def _stroke(attacks: Sequence[Attack]) -> str:
    """The stroke that signs over every note under a slur ask for."""
    shared = frozenset.intersection(*(attack.in_force.techniques for attack in attacks))
    if not shared.isdisjoint({PORTATO, TENUTO}):
        return PORTATO
    return SLURRED_STACCATO if STACCATO in shared else LEGATO


def tremolo_rows(staff: SurveyedStaff) -> Iterator[TremoloRow]:
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
