"""Facts about time and bow, collected for one staff."""

from collections.abc import Iterator

from pyoxigraph import Quad

from orchq.derive.busy_hands import busy_hand_quads
from orchq.derive.changes import Changes
from orchq.derive.harmonic_runs import harmonic_run_quads
from orchq.derive.leaps import leap_quads
from orchq.derive.motion import motion_quads
from orchq.derive.mutes import mute_quads
from orchq.derive.rates import Rates
from orchq.derive.signs_in_slurs import sign_in_slur_quads
from orchq.derive.sonorities import undivided
from orchq.derive.staves import Staff
from orchq.derive.string_skips import string_skip_quads
from orchq.derive.tremolo import Tremolos


def timing_quads(staff: Staff) -> Iterator[Quad]:
    """Yield the triples about time and bow on a staff, each at a node that names its event."""
    yield from Changes(staff.around).quads(staff.placed)
    yield from staff.bowing.quads(staff.lines)
    yield from Rates(staff.around).quads(
        staff.lines, undivided(staff.part, staff.placed, staff.knowledge)
    )
    yield from harmonic_run_quads(staff)
    yield from Tremolos(staff.around, staff.solver_of).quads(staff.lines)
    yield from leap_quads(staff)
    yield from busy_hand_quads(staff)
    yield from motion_quads(staff)
    yield from mute_quads(staff)
    if staff.around.has_bow:
        yield from sign_in_slur_quads(staff)
        yield from string_skip_quads(staff)
