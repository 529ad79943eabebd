"""Reads the list of parts: the name of each and its instrument in the graph."""

import re
from collections.abc import Sequence

from msgspec import Struct, field
from msgspec.structs import replace

from orchq.knowledge import InstrumentMatch, Knowledge
from orchq.knowledge.lexicon import words_of
from orchq.readers.numbers import whole
from orchq.readers.printed_text import cleaned
from orchq.readers.source import Element, text_of
from orchq.terms import OQ

_AND = re.compile(r"\s+(?:e|ed|et|und|and)\s+|[/,;&+]|\n", re.IGNORECASE)
_BOWED_STRINGS = OQ + "bowed-strings"
# General MIDI Level 1, from 1: the bowed strings alone, tremolo, plucked, in ensembles; voices.
_STRING_PROGRAMS = frozenset({*range(41, 47), *range(49, 53)})
_VOICE_PROGRAMS = frozenset(range(53, 56))
_OTHER_SOUNDS = ("voice.", "pluck.bass")  # "Alto" sings, "Basso" may be plucked
# Placeholders that programs write where a part has no name.
_NAMELESS = re.compile(
    r"(?:musicxml part|part|staff|instrument|unnamed|untitled)?[\s\d.-]*", re.IGNORECASE
)


class Player(Struct, frozen=True):
    """A ``<score-instrument>``: its name, standard sound, and players.

    ``solo`` and ``ensemble`` are as in the file; an ensemble without a count is 0.
    """

    name: str = ""
    sound: str | None = None
    solo: bool = False
    ensemble: int | None = None


class ListedPart(Struct, frozen=True):
    """A part as the part list describes it; ``programs`` are General MIDI numbers from 1."""

    id: str
    name: str = ""
    abbreviation: str = ""
    players: tuple[Player, ...] = ()
    programs: tuple[int, ...] = ()


class Recognised(Struct):
    """A listed part with its instrument in the graph, if there is one.

    ``shares_name`` is true where the name may mean something else, such as a voice.
    """

    part: ListedPart
    match: InstrumentMatch
    remarks: list[str] = field(default_factory=list)
    shares_name: bool = False

    @property
    def name(self) -> str:
        """The name printed before the part, or a substitute."""
        return self.part.name or self.part.abbreviation or self.part.id

    def leave(self, reason: str, knowledge: Knowledge) -> None:
        """Treat the part as one of an unknown instrument after all."""
        label = knowledge.instruments[self.match.instrument or ""].label
        self.match = InstrumentMatch(None, section=False)
        self.remarks.append(f"the name may mean a {label}, but {reason}: not checked")


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
    """Look up the instrument of the part in the graph.

    The whole name is tried first, with the sound and the abbreviation; then the instruments that
    the name joins, all of which must be known; then the further instruments of the player.
    """
    sounds = [player.sound for player in part.players] or [None]
    if (sounds[0] or "").startswith(_OTHER_SOUNDS):
        return Recognised(part, InstrumentMatch(None, section=False))
    found = Recognised(part, knowledge.instrument_named(part.name, part.abbreviation, sounds[0]))
    named = [knowledge.instrument_named(piece) for piece in _AND.split(part.name) if piece.strip()]
    known = [match for match in named if match.instrument is not None]
    if found.match.instrument is None and len(known) == len(named) > 1:
        found.match = known[0]
    others = [
        knowledge.instrument_named(player.name, None, player.sound)
        for player in part.players[1:]
        if player.name or player.sound
    ]
    if found.match.instrument is None:
        found.match = next((other for other in others if other.instrument), found.match)
    elif len({match.instrument for match in known}) > 1:
        found.remarks.append("the name is that of two instruments: read as the first")
    if found.match.instrument and any(o.instrument != found.match.instrument for o in others):
        found.remarks.append("several instruments share the part: read as one throughout")
    return found


def bear_out(parts: Sequence[Recognised], knowledge: Knowledge) -> None:
    """Resolve names that other music uses for something else, such as "Alto".

    Such a name means the instrument where the program of the part is one of strings, or where the
    part stands in the order of strings, from high to low: right below a higher part of strings or
    right above a lower one. Otherwise the part is not checked, and a remark reports it.
    """
    doubtful = {place: part for place, part in enumerate(parts) if part.match.ambiguous}
    waiting = dict(doubtful)
    while borne_out := [place for place in waiting if _is_borne_out(parts, place, knowledge)]:
        for place in borne_out:
            part = waiting.pop(place)
            part.match = replace(part.match, ambiguous=False)
    for part in waiting.values():
        part.leave("no sound, program or neighboring string part confirms it", knowledge)
    for part in doubtful.values():
        part.shares_name = True


def _is_borne_out(parts: Sequence[Recognised], place: int, knowledge: Knowledge) -> bool:
    part = parts[place]
    if not _STRING_PROGRAMS.isdisjoint(part.part.programs):
        return True
    if not _VOICE_PROGRAMS.isdisjoint(part.part.programs):
        return False
    above = parts[place - 1] if place else None
    below = parts[place + 1] if place + 1 < len(parts) else None
    return _goes_down(above, part, knowledge) or _goes_down(part, below, knowledge)


def _goes_down(above: Recognised | None, below: Recognised | None, knowledge: Knowledge) -> bool:
    """Whether two neighboring parts are strings in score order, one of them known to be.

    Two of the same name, such as "Altos I" and "Altos II", are in order too; an "Alto" above a
    "Viola" is not.
    """
    if above is None or below is None or (above.match.ambiguous and below.match.ambiguous):
        return False
    high = knowledge.instruments.get(above.match.instrument or "")
    low = knowledge.instruments.get(below.match.instrument or "")
    if high is None or low is None or {high.family, low.family} != {_BOWED_STRINGS}:
        return False
    if high is low:
        return words_of(above.name)[:1] == words_of(below.name)[:1]
    return high.standard.lowest.pitch.midi > low.standard.lowest.pitch.midi


def _line(text: str | None) -> str:
    return cleaned(text).strip()
