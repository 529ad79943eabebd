"""Events with the instructions in force for them."""

from msgspec import Struct, field

from orchq.knowledge import InstrumentString
from orchq.score import Event


class InForce(Struct, frozen=True):
    """The instructions in force for an event, including marks at the event itself.

    ``dynamic`` is ``None`` while nothing has been printed or loudness is changing; ``parts`` is
    the number of divisi parts or ``None`` in unison; ``strings`` are those in use, as tuned.
    ``doubtful`` are techniques and dynamics that nobody cancelled and that may no longer be meant;
    they are excluded from the other fields.
    """

    techniques: frozenset[str]
    dynamic: str | None
    string_call: str | None
    parts: int | None
    solo: bool
    strings: tuple[InstrumentString, ...]
    retuned: bool
    doubtful: frozenset[str] = frozenset()


class PluckedPassage(Struct):
    """The events under a printed pizzicato (an IRI); ``returned`` when a printed arco ends it."""

    technique: str
    events: list[Event] = field(default_factory=list)
    returned: bool = False


class Placed(Struct, frozen=True):
    """An event with what is in force for it.

    ``passage`` changes with every printed change; ``bow_signs`` are directives at a plucked
    event that only a bow can do; ``standing`` are the directives that hold beyond the event.
    ``arco_missing`` is true where the bow is in hand although the pizzicato still stands;
    ``leaves`` is the string of a call that has been followed and that this event ends implicitly.
    """

    event: Event
    in_force: InForce
    passage: int
    plucked_passage: PluckedPassage | None
    bow_signs: frozenset[str]
    doubtful_clef: str | None = None
    standing: frozenset[str] = frozenset()
    arco_missing: bool = False
    leaves: InstrumentString | None = None
