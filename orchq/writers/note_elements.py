"""Changes of one ``<note>`` element: pitch, signs, slurs; its children stay in their order."""

from collections.abc import Iterable, Iterator
from fractions import Fraction

from lxml import etree

from orchq.notation import Pitch
from orchq.readers.notes import NoteDraft, NoteParser
from orchq.readers.printed_text import NOTE_VALUES, with_dots
from orchq.readers.signs import ARTIFICIAL_HARMONIC, MEASURED, NATURAL_HARMONIC, UNMEASURED, Signs
from orchq.readers.source import Element, InputFile
from orchq.score import HarmonicRole, Note
from orchq.writers.score_text import NOTE_CHILDREN

# The groups of signs under the names of MusicXML 4.0.
_ARTICULATION_NAMES = (
    "accent strong-accent staccato tenuto detached-legato staccatissimo spiccato scoop plop doit"
    " falloff breath-mark caesura stress unstress soft-accent"
)
_ARTICULATIONS = frozenset(_ARTICULATION_NAMES.split())
_ORNAMENT_NAMES = (
    "trill-mark turn delayed-turn inverted-turn delayed-inverted-turn vertical-turn"
    " inverted-vertical-turn shake wavy-line mordent inverted-mordent schleifer tremolo haydn"
)
_ORNAMENTS = frozenset(_ORNAMENT_NAMES.split())
_OWN_NOTATIONS = frozenset({"tied", "glissando", "slide", "accidental-mark"})
"""Notations of one head; the others are of the whole chord."""
_OWN_TECHNICAL = frozenset({"string", "fingering", "harmonic"})
_KEPT_AT_REST = frozenset({"dynamics", "fermata"})
_ALONE = frozenset({"arpeggiate", "non-arpeggiate", "fermata", "glissando", "slide"})
_ROLES: dict[HarmonicRole, str] = {
    "base": "base-pitch",
    "touching": "touching-pitch",
    "sounding": "sounding-pitch",
}
_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_SHARPS = "FCGDAEB"
_STROKES = {MEASURED: "2", UNMEASURED: "3"}


def put(parent: Element, child: Element, order: Iterable[str] = NOTE_CHILDREN) -> None:
    """Put a child where the order of its parent's children has it."""
    names = list(order)
    rank = {name: place for place, name in enumerate(names)}
    at = sum(rank.get(str(each.tag), len(names)) <= rank[str(child.tag)] for each in parent)
    if at:
        child.tail = parent[at - 1].tail
    parent.insert(at, child)


def take(element: Element) -> None:
    """Take an element out of its parent, with the line that it stands in."""
    parent = element.getparent()
    assert parent is not None
    before = element.getprevious()
    if element.getnext() is None:  # the closing tag keeps its place
        if before is not None:
            before.tail = element.tail
        else:
            parent.text = None
    parent.remove(element)


def text_child(parent: Element, name: str, text: str) -> Element:
    """Set the text of a child, which is made where it is missing."""
    found = parent.find(name)
    if found is None:
        found = etree.SubElement(parent, name)
        parent.remove(found)
        put(parent, found)
    found.text = text
    return found


def take_all(note: Element, *names: str) -> None:
    """Take all children of these names away."""
    for name in names:
        for each in note.findall(name):
            take(each)


def leaves(note: Element) -> Iterator[Element]:
    """The signs of a note, by themselves and within their groups."""
    for notations in note.findall("notations"):
        for child in list(notations):
            yield from list(child) if child.tag in _GROUPS else [child]


_GROUPS = frozenset({"technical", "articulations", "ornaments"})


def take_leaf(leaf: Element) -> None:
    """Take a sign away, and the groups that it leaves empty."""
    while True:
        parent = leaf.getparent()
        take(leaf)
        if parent is None or len(parent) or parent.tag not in (*_GROUPS, "notations"):
            return
        leaf = parent


def add_leaf(note: Element, group: str | None, leaf: Element) -> None:
    """Put a sign into its group of notations, or right into them."""
    notations = note.find("notations")
    if notations is None:
        notations = etree.Element("notations")
        put(note, notations)
    home = notations
    if group is not None:
        found = notations.find(group)
        home = etree.SubElement(notations, group) if found is None else found
    home.append(leaf)


def written_pitch(note: Element) -> Pitch | None:
    """The pitch of a note as it is written, or ``None`` where it cannot be spelled."""
    step, octave = note.findtext("pitch/step"), note.findtext("pitch/octave")
    alter = (note.findtext("pitch/alter") or "0").strip()
    try:
        return Pitch.spelled((step or "").strip(), int(alter), int(octave or ""))
    except (KeyError, ValueError):
        return None


def write_pitch(note: Element, pitch: Pitch, signature: int) -> None:
    """Write a pitch, with the accidental that the key signature makes necessary."""
    old = written_pitch(note)
    step, alter, octave = pitch.spelling
    element = note.find("pitch")
    if element is None:
        element = etree.Element("pitch")
        put(note, element)
    take_all(element, "alter")
    order = ("step", "alter", "octave")
    for name, text in (("step", step), ("octave", str(octave))):
        if element.find(name) is None:
            put(element, etree.Element(name), order)
        found = element.find(name)
        assert found is not None
        found.text = text
    if alter:
        changed = etree.Element("alter")
        changed.text = str(alter)
        put(element, changed, order)
    in_key = _in_key(step, signature)
    if old is None or old.spelling[:2] != (step, alter):
        take_all(note, "accidental")
    if alter != in_key and note.find("accidental") is None:
        text_child(note, "accidental", _ACCIDENTALS[alter])
    take_all(note, "stem")


def _in_key(step: str, signature: int) -> int:
    if signature >= 0:
        return int(step in _SHARPS[:signature])
    return -int(step in _SHARPS[signature:])


def write_length(note: Element, quarters: Fraction, ticks: str) -> bool:
    """Write a duration with its shape; false where no shape with up to two dots has it."""
    shape = shape_of(quarters)
    if shape is None:
        return False
    take_all(note, "dot", "time-modification")
    text_child(note, "duration", ticks)
    name, dots = shape
    text_child(note, "type", name)
    for _ in range(dots):
        put(note, etree.Element("dot"))
    return True


def shape_of(quarters: Fraction) -> tuple[str, int] | None:
    """Name and dots of the note that lasts so many quarters."""
    for name, value in NOTE_VALUES.items():
        for dots in range(3):
            if with_dots(value, dots) == quarters:
                return name, dots
    return None


def make_rest(note: Element) -> None:
    """Turn a note into a rest of its length; loudness and fermatas stay."""
    take_all(note, "chord", "pitch", "tie", "accidental", "stem", "notehead", "notehead-text")
    take_all(note, "beam", "lyric", "play")
    for leaf in leaves(note):
        if leaf.tag not in _KEPT_AT_REST:
            take_leaf(leaf)
    for name in ("pizzicato", "dynamics", "attack", "release"):
        note.attrib.pop(name, "")
    put(note, etree.Element("rest"))


def make_pitched(note: Element, pitch: Pitch, signature: int) -> None:
    """Turn a rest into a note."""
    take_all(note, "rest")
    write_pitch(note, pitch, signature)


def join_chord(note: Element) -> None:
    """Make a note another head of a chord: what belongs to the chord as a whole goes."""
    if note.find("chord") is None:
        put(note, etree.Element("chord"))
    take_all(note, "lyric", "beam")
    for leaf in leaves(note):
        if leaf.tag not in _OWN_TECHNICAL | _OWN_NOTATIONS:
            take_leaf(leaf)


def lead_chord(note: Element, first: Element) -> None:
    """Make a note the first head of its chord, in place of the one that was."""
    take_all(note, "chord")
    for each in first.findall("beam"):
        put(note, each)
    for each in first.findall("lyric"):
        put(note, each)
    for leaf in leaves(first):
        if leaf.tag not in _OWN_TECHNICAL | _OWN_NOTATIONS:
            parent = leaf.getparent()
            group = str(parent.tag) if parent is not None and parent.tag in _GROUPS else None
            add_leaf(note, group, leaf)


class Signing:
    """Puts signs at notes and takes them away, as the reader of ``signs`` understands them."""

    def __init__(self, signs: Signs) -> None:
        self._signs = signs
        self._parser = NoteParser(signs, InputFile(""))

    def read(self, note: Element) -> NoteDraft:
        """A note as the reader sees it."""
        return self._parser.parse(note)

    def take(self, note: Element, sign: str) -> None:
        """Take a sign (the IRI of a directive) away wherever it is printed."""
        for leaf in leaves(note):
            if sign not in self.read(note).marks:
                return
            if self._prints(leaf, sign):
                take_leaf(leaf)
        if "pizzicato" in note.attrib and sign in self.read(note).marks:
            del note.attrib["pizzicato"]

    def _prints(self, leaf: Element, sign: str) -> bool:
        alone = etree.fromstring("<note><pitch/></note>")
        parent = leaf.getparent()
        group = str(parent.tag) if parent is not None and parent.tag in _GROUPS else None
        add_leaf(alone, group, etree.fromstring(etree.tostring(leaf, with_tail=False)))
        return sign in self.read(alone).marks

    def put(self, note: Element, sign: str) -> bool:
        """Put a sign at a note; false where MusicXML has none that is read as it."""
        if sign in self.read(note).marks:
            return True
        for group, leaf in self._drawn(sign):
            add_leaf(note, group, leaf)
            if sign in self.read(note).marks:
                return True
            take_leaf(leaf)
        return False

    def _drawn(self, sign: str) -> Iterator[tuple[str | None, Element]]:
        if sign in (NATURAL_HARMONIC, ARTIFICIAL_HARMONIC):
            harmonic = etree.Element("harmonic")
            kind = "natural" if sign == NATURAL_HARMONIC else "artificial"
            etree.SubElement(harmonic, kind)
            yield "technical", harmonic
        if sign in _STROKES:
            tremolo = etree.Element("tremolo", type="single")
            tremolo.text = _STROKES[sign]
            yield "ornaments", tremolo
        directive = self._signs.knowledge.directives.get(sign)
        for name in directive.elements if directive else ():
            yield _group_of(name), etree.Element(name)
        for glyph in directive.glyphs if directive else ():
            yield "technical", etree.Element("other-technical", smufl=glyph)

    def write_role(self, note: Element, new: Note, sign: str) -> None:
        """Mark what a head of a harmonic shows; without a role it is an ordinary head."""
        for leaf in leaves(note):
            if leaf.tag == "harmonic":
                take_leaf(leaf)
        take_all(note, "notehead", "notehead-text")
        if new.notehead is not None:
            text_child(note, "notehead", new.notehead)
        if new.role is None:
            return
        [(group, harmonic), *_] = self._drawn(sign)
        etree.SubElement(harmonic, _ROLES[new.role])
        add_leaf(note, group, harmonic)


def _group_of(name: str) -> str | None:
    if name in _ALONE:
        return None
    if name in _ARTICULATIONS:
        return "articulations"
    return "ornaments" if name in _ORNAMENTS else "technical"
