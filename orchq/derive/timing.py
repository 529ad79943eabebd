"""Facts about the clock and the bow, gathered for one part."""

from collections.abc import Callable, Iterator, Sequence

from pyoxigraph import Quad

from orchq.derive.bowing import Bowing
from orchq.derive.changes import Changes
from orchq.derive.hand import HandModel, StopSolver
from orchq.derive.leaps import leap_quads
from orchq.derive.lines import lines
from orchq.derive.rates import Rates
from orchq.derive.setting import Setting
from orchq.derive.states import InForce, Placed
from orchq.derive.tremolo import Tremolos


class Timing:
    """Works out time and bow of one part.

    ``solver_of`` gives the hand for what is in force, or ``None`` where the graph has none.
    """

    def __init__(self, setting: Setting, solver_of: Callable[[InForce], StopSolver | None]) -> None:
        self._setting = setting
        self._solver_of = solver_of
        self._changes = Changes(setting)
        self._bowing = Bowing(setting)
        self._rates = Rates(setting)
        self._tremolos = Tremolos(setting, solver_of)

    def quads(self, placed: Sequence[Placed]) -> Iterator[Quad]:
        """Yield the triples of one staff, each at a node that names its event."""
        yield from self._changes.quads(placed)
        voices = lines(self._setting.part, placed, self._bowing.directions)
        yield from self._bowing.quads(voices)
        yield from self._rates.quads(voices)
        yield from self._tremolos.quads(voices)
        yield from leap_quads(self._setting, voices, self._model)

    def _model(self, in_force: InForce) -> HandModel | None:
        solver = self._solver_of(in_force)
        return solver.model if solver else None
