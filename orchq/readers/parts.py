"""The list of parts: what each is called and which instrument of the graph it is for."""

import re
from dataclasses import dataclass, field

from orchq.knowledge import InstrumentMatch, Knowledge
from orchq.readers.numbers import whole
from orchq.readers.printed import cleaned
from orchq.readers.source import Element, text_of

_AND = re.compile(r"\s+(?:e|ed|et|und|and)\s+|[/,;&+]|\n", re.IGNORECASE)
_OTHER_SOUNDS = ("voice.", "pluck.bass")  # "Alto" sings, "Basso" may be plucked
# What programs write where a part has no name.
_NAMELESS = re.compile(
    r"(?:musicxml part|part|staff|instrument|unnamed|untitled)?[\s\d.-]*", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Player:
    """A ``<score-instrument>``: its name, standard sound, and who plays it.

    ``solo`` and ``ensemble`` are what the file says; an ensemble without a count is 0.
    """

    name: str = ""
    sound: str | None = None
    solo: bool = False
    ensemble: int | None = None


@dataclass(frozen=True, slots=True)
class ListedPart:
    """A part as the part list describes it; ``programs`` are General MIDI numbers from 1."""

    id: str
    name: str = ""
    abbreviation: str = ""
    players: tuple[Player, ...] = ()
    programs: tuple[int, ...] = ()


@dataclass(slots=True)
class Recognised:
    """A listed part with the instrument that the graph knows for it, if it knows one."""

    part: ListedPart
    match: InstrumentMatch
    remarks: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        """The name printed before the part, or what stands in for one."""
        return self.part.name or self.part.abbreviation or self.part.id


def listed_parts(part_list: Element) -> dict[str, ListedPart]:
    """Read ``<part-list>``; a part without a name takes that of the group it stands in."""
    groups: dict[str, str] = {}
    found: dict[str, ListedPart] = {}
    for child in part_list:
        if child.tag == "part-group":
            number = child.get("number") or "1"
            if child.get("type") == "stop":
                groups.pop(number, None)
            else:
                groups[number] = _line(child.findtext("group-name"))
        elif child.tag == "score-part":
            part = _listed_part(child, next((g for g in reversed(groups.values()) if g), ""))
            found.setdefault(part.id, part)
    return found


def _listed_part(element: Element, group: str) -> ListedPart:
    players = tuple(_player(player) for player in element.findall("score-instrument"))
    names = [
        _line(element.findtext("part-name")),
        _line("".join(t.text or "" for t in element.iterfind("part-name-display/display-text"))),
        group,
        *(player.name for player in players),
    ]
    programs = (whole(program.text) for program in element.iterfind("midi-instrument/midi-program"))
    return ListedPart(
        id=element.get("id") or "",
        name=next((name for name in names if not _NAMELESS.fullmatch(name)), names[0]),
        abbreviation=_line(element.findtext("part-abbreviation")),
        players=players,
        programs=tuple(program for program in programs if program is not None),
    )


def _player(element: Element) -> Player:
    ensemble = element.find("ensemble")
    return Player(
        name=_line(element.findtext("instrument-name")),
        sound=text_of(element.find("instrument-sound")) or None,
        solo=element.find("solo") is not None,
        ensemble=None if ensemble is None else whole(ensemble.text) or 0,
    )


def recognised(part: ListedPart, knowledge: Knowledge) -> Recognised:
    """Ask the graph which instrument the part is for.

    The whole name is asked first, with the sound and the abbreviation; then the instruments that
    the name joins, all of which must be known; then the further instruments of the player.
    """
    sounds = [player.sound for player in part.players] or [None]
    if (sounds[0] or "").startswith(_OTHER_SOUNDS):
        return Recognised(part, InstrumentMatch(None, section=False))
    found = Recognised(part, knowledge.instrument_named(part.name, part.abbreviation, sounds[0]))
    named = [knowledge.instrument_named(piece) for piece in _AND.split(part.name) if piece.strip()]
    known = [match for match in named if match.instrument is not None]
    if found.match.instrument is None and len(known) == len(named) > 0:
        found.match = known[0]
    others = [
        knowledge.instrument_named(player.name, None, player.sound)
        for player in part.players[1:]
        if player.name or player.sound
    ]
    if found.match.instrument is None:
        found.match = next((other for other in others if other.instrument), found.match)
    elif len({match.instrument for match in known}) > 1:
        found.remarks.append("the name is of two instruments: read as the first")
    if found.match.instrument and any(o.instrument != found.match.instrument for o in others):
        found.remarks.append("several instruments share the part: read as one throughout")
    return found


def _line(text: str | None) -> str:
    return cleaned(text).strip()
