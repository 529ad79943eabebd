"""Which pitches instruments are given, in which way of playing."""

from collections.abc import Iterable, Iterator

from orchq.derive.placed import InForce, Placed
from orchq.derive.states import ARCO
from orchq.knowledge import Knowledge
from orchq.notation import Pitch
from orchq.survey.rows import PitchRow, PlayersSetting
from orchq.survey.surveyed import At, SurveyedStaff

_Key = tuple[str, PlayersSetting, str, int]
"""Instrument, setting, way of playing and pitch."""


def pitch_rows(staves: Iterable[SurveyedStaff]) -> Iterator[PitchRow]:
    """Yield how often each pitch is given, over all staves of a work."""
    counts: dict[_Key, int] = {}
    first: dict[_Key, tuple[At, str]] = {}
    for staff in staves:
        instrument = staff.judged.around.instrument.slug
        for item, way, pitch in _heads(staff):
            key = instrument, staff.players(item.in_force), way, pitch.midi
            counts[key] = counts.get(key, 0) + 1
            if key not in first:
                first[key] = staff.at(item), pitch.name
    for key in sorted(counts):
        place, name = first[key]
        yield PitchRow(*place, way=key[2], midi=key[3], pitch=name, notes=counts[key])


def _heads(staff: SurveyedStaff) -> Iterator[tuple[Placed, str, Pitch]]:
    """Every notehead with its way of playing; of harmonics, those whose meaning is clear.

    Under a mere word for harmonics that no head bears out, notes are as they are printed.
    """
    harmonics = {item.event.iri: readings for item, readings in staff.harmonics if readings}
    for item in staff.placed:
        readings = harmonics.get(item.event.iri)
        if readings is None:
            way = _way(item.in_force, staff.knowledge)
            yield from ((item, way, note.pitch) for note in item.event.notes)
        else:
            known = (each.harmonic for each in readings if each.harmonic is not None)
            yield from ((item, "harmonic", harmonic.sounding) for harmonic in known)


def _way(in_force: InForce, knowledge: Knowledge) -> str:
    techniques = knowledge.techniques
    kinds = {k for iri in in_force.techniques if iri in techniques for k in techniques[iri].kinds}
    if "StickTechnique" in kinds:
        return "stick"
    return "pizzicato" if "PluckedTechnique" in kinds or ARCO not in in_force.techniques else "arco"
