"""Reads a sheet and holds every figure on it against limits, strings and arithmetic.

Nothing here knows how a sheet is made: figures come from the limits of the graph and from formulas.
"""

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from copy import deepcopy
from functools import lru_cache
from math import gcd, log2

from lxml.html import HtmlElement, fromstring

from orchq.derive.hand import hand_model, solver_for
from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Knowledge, Limit
from orchq.notation import Pitch
from orchq.questions.naming import LANGUAGES
from orchq.terms import OQ

NUMBER = re.compile(r"\d+(?:\.\d+)?")
FORMS = {"hasForm", "hasPlural", "hasAbbreviation"}
Rows = Iterable[tuple[object, ...]]


def text_of(element: HtmlElement) -> str:
    return " ".join(element.text_content().split())


class Statements:
    """The triples of a graph in the three orders that an audit asks for, sorted once."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.values: dict[tuple[str, str], list[str]] = defaultdict(list)
        """By subject and property."""
        self.forms: set[tuple[str, str]] = set()
        """Printed words with a figure, and their languages."""
        words = set()
        for quad in knowledge.quads:
            self.values[quad.subject.value, quad.predicate.value].append(quad.object.value)
            if hasattr(quad.object, "datatype") and NUMBER.search(quad.object.value):
                if len(quad.object.value) > 2:
                    words.add(" ".join(quad.object.value.split()))
                if quad.predicate.value.removeprefix(OQ) in FORMS:
                    self.forms.add((quad.object.language, quad.object.value))
        self.words = sorted(words, key=len, reverse=True)
        """The texts with a figure (statements, places, sources, terms), longest first."""


@lru_cache(maxsize=2)
def statements(knowledge: Knowledge) -> Statements:
    return Statements(knowledge)


class Audit:
    """What is wrong with the sheet of an instrument: ``complaints`` is empty when nothing is."""

    def __init__(self, knowledge: Knowledge, instrument: Instrument, page: str) -> None:
        self.knowledge = knowledge
        self.statements = statements(knowledge)
        self.instrument = instrument
        self.document = fromstring(page)
        self.held = [
            limit
            for limit in knowledge.limits
            if limit.instrument == instrument.iri
            or (limit.instrument is None and limit.family == instrument.family)
        ]
        self.said = self.document.xpath("//section[@id='who']//li")
        self.version = self.document.xpath("string(//meta[@name='generator']/@content)")

    def complaints(self) -> list[str]:
        """Every figure that has no ground, in the order of the checks."""
        return [*self._tables(), *self._citations(), *self._drawings(), *self._rest()]

    # ------------------------------------------------------------------------ tables

    def rows(self, name: str) -> list[tuple[str, ...]]:
        """The cells of a table, without drawings and citations; none where it is missing."""
        return [
            tuple(
                text_of(cell)
                for cell in row.xpath("./th|./td")
                if not cell.xpath(".//a[@class='cite']|.//svg")
            )
            for row in self.document.xpath(f"//table[@id='{name}']/tbody/tr")
        ]

    def _tables(self) -> Iterator[str]:
        expected: dict[str, Rows] = {
            "tunings": self._tunings(),
            "lengths": self._values("StringLength", "shortestMillimetres", "longestMillimetres"),
            "ceilings": self._ceilings(),
            "envelopes": self._envelopes(),
            "harmonics": self._harmonics(),
            "stops": self._stops(),
            "bow": self._bow(),
            "sections": self._sections(),
        }
        for name, rows in expected.items():
            stated = Counter(tuple(map(shown, row)) for row in rows)
            read = Counter(self.rows(name))
            if stated != read:
                yield f"{name}: {read - stated} for {stated - read}"
        for name, figures in (
            ("compass", self._compass()),
            ("registers", self._registers()),
            ("changes", self._values("ChangeTime", "shortestSeconds", "longestSeconds")),
            ("rates", self._rates()),
        ):
            wanted = {tuple(shown(each) for each in row if each is not None) for row in figures}
            found = {tuple(filter(is_figure, row)) for row in self.rows(name)}
            if wanted - {()} != found - {()}:
                yield f"{name}: {found - wanted} for {wanted - found}"
        yield from self._terms()

    def _limits(self, kind: str) -> list[Limit]:
        return list({each.iri: each for each in self.held if each.kind == kind}.values())

    def _opinions(self, kind: str) -> list[Limit]:
        """Those that speak to an orchestral player, what scores attest among them."""
        heard = {
            limit.iri: limit
            for technique in {each.technique for each in self._limits(kind)}
            for limit in self.knowledge.heard(kind, self.instrument, technique=technique)
            if limit.level in (None, OQ + "orchestral")
        }
        return list(heard.values())

    def _values(self, kind: str, *names: str) -> Rows:
        for limit in self._opinions(kind):
            yield tuple(limit.values.get(name) for name in names)

    def _tunings(self) -> Rows:
        """Strings, courses, sympathetic strings, order and frets, as far as they are stated."""
        rows = []
        for tuning in (self.instrument.standard, *self.instrument.variants):
            strings = [string.iri for string in reversed(tuning.strings)]
            counts = [next(iter(self._stated(iri, "stringsInCourse")), None) for iri in strings]
            courses = " ".join(count or "1" for count in counts) if any(counts) else None
            along = sorted(
                self._stated(tuning.iri, "hasSympatheticString"),
                key=lambda iri: -int(self._stated(iri, "stringNumber")[0]),
            )
            rows.append(
                (
                    tuning.label,
                    " ".join(self._stated(iri, "openPitch")[0] for iri in strings),
                    courses,
                    " ".join(self._stated(iri, "openPitch")[0] for iri in along) or None,
                    "re-entrant" if self._stated(tuning.iri, "isReentrant") == ["true"] else None,
                    next(iter(self._stated(self.instrument.iri, "fretCount")), None),
                )
            )
        columns = [column for column in zip(*rows, strict=True) if any(column)]
        return zip(*columns, strict=True)

    def _stated(self, iri: str, name: str) -> list[str]:
        return self.statements.values.get((iri, OQ + name), [])

    def _envelopes(self) -> Rows:
        labels = {iri: dynamic.label for iri, dynamic in self.knowledge.dynamics.items()}
        heard = self._opinions("DynamicEnvelope")
        for limit in self._limits("DynamicEnvelope"):
            about = self.knowledge.label(limit.technique) if limit.technique else "as a whole"
            ends = (labels.get(str(limit.values.get(end))) for end in ("softest", "loudest"))
            held = "yes" if limit in heard else "no"
            yield about, *ends, limit.basis.replace("-", " "), held

    def _compass(self) -> Rows:
        for limit in self._limits("CompassLimit"):
            if limit.technique is None:
                names = ("lowestPitch", "highestPitch", "usualHighestPitch")
                yield tuple(limit.values.get(name) for name in names)

    def _ceilings(self) -> Rows:
        for limit in self._opinions("CompassLimit"):
            if limit.technique and "highestPitch" in limit.values:
                about = self.knowledge.label(limit.technique)
                yield about, limit.values["highestPitch"], limit.basis.replace("-", " ")

    def _registers(self) -> Rows:
        """Their pitches; one that lies high begins beyond a fifth above the highest open string."""
        opened = max(string.pitch.midi for string in self.instrument.standard.strings)
        for register in self.instrument.registers:
            high = "true" in self.statements.values[register.iri, f"{OQ}liesHigh"]
            ends = (Pitch.from_midi(opened + 8) if high else register.lowest, register.highest)
            yield tuple(end.name for end in ends if end)

    def _rates(self) -> Rows:
        for limit in self._opinions("RateLimit"):
            slowest, fastest = limit.values.get("slowestRate"), limit.values.get("fastestRate")
            # Four semiquavers are a crotchet, and a minute has sixty seconds.
            yield slowest, fastest, None if fastest is None else float(fastest) * 60 / 4

    def _bow(self) -> Rows:
        """Hair by the fast end at a dynamic, and by the slow end at the next softer one."""
        speeds = []
        for speed in self._limits("BowSpeed"):
            (at,) = {iri for iri in speed.values.values() if iri in self.knowledge.dynamics}
            ends = (speed.values[f"{end}MetresPerSecond"] for end in ("slowest", "fastest"))
            speeds.append((self.knowledge.dynamics[at].rank, at, *map(float, ends)))
        speeds.sort()
        for length in self._limits("BowLength"):
            hair = float(length.values["usableMetres"])
            for (_, _, slow, _), (_, at, _, fast) in zip(
                [*speeds[:1], *speeds], speeds, strict=False
            ):
                label = self.knowledge.dynamics[at].label
                yield label, hair / fast, hair / slow, hair, slow, fast

    def _sections(self) -> Rows:
        roles = self._stated(self.instrument.iri, "playsInSection")
        for limit in {each.iri: each for each in self.knowledge.limits}.values():
            if limit.kind == "SectionSize" and limit.role in roles and "most" in limit.values:
                values = (limit.values.get(name) for name in ("ensemble", "fewest", "most"))
                basis = limit.basis.replace("-", " ")
                yield self.knowledge.label(limit.role), *values, basis

    def _harmonics(self) -> Rows:
        """A string touched at k/n of its length sounds n times its lowest frequency."""
        granted = {
            int(limit.values["highestPartial"])
            for limit in self._limits("HarmonicLimit")
            if limit.technique == OQ + "natural-harmonic" and limit.claim != "at least so far"
        }
        for n in range(2, max(granted, default=0) + 1):
            for k in range(1, n // 2 + 1):
                if gcd(k, n) == 1:
                    ways = (
                        f"{tempered(open_ + 12 * log2(n / (n - k)))} sounds "
                        f"{tempered(open_ + 12 * log2(n))}"
                        for open_ in (each.pitch.midi for each in self.instrument.standard.strings)
                    )
                    yield n, f"{k}/{n}", *ways, "good" if n <= min(granted) else "uncertain"

    def _stops(self) -> Rows:
        try:
            hand = hand_model(self.knowledge, self.instrument, level="orchestral")
        except OrchqError:  # no hand, no stops
            return
        (table,) = self.document.xpath("//table[@id='stops']")
        intervals = [semitones(text_of(head)) for head in table.xpath("./thead/tr/th")[1:]]
        solver = solver_for(hand)
        signs = {
            "easy": "●",
            "usable": "○",
            "hard": "▲",
            "impractical": "△",
            "impossible": "\N{MULTIPLICATION SIGN}",
        }
        arco = self.knowledge.techniques[OQ + "arco"].available_on
        bowed = bool(arco & {self.instrument.iri, self.instrument.family})
        opened = sorted(each.pitch.midi for each in self.instrument.standard.strings)
        for low in range(opened[0], opened[-2] + 13):
            stops = (solver.solve([low, low + each]) for each in intervals)
            grades = ((stop.struck if bowed else stop.plucked).grade.label for stop in stops)
            yield Pitch.from_midi(low).name, *(signs[grade] + grade for grade in grades)

    def _terms(self) -> Iterator[str]:
        """Figures in printed words, such as those of players and desks, are of the graph."""
        forms = self.statements.forms
        for label, *cells in self.rows("terms"):
            for tag, cell in zip(LANGUAGES, cells, strict=True):
                for figure in NUMBER.findall(cell):
                    if not any(tag == language and figure in form for language, form in forms):
                        yield f"terms: {figure} in {label}"

    # ------------------------------------------------------------------ who says so

    def _citations(self) -> Iterator[str]:
        places = {each.get("id"): each for each in self.said}
        for link in self.document.xpath("//a[@class='cite']"):
            number = link.xpath("string(text())")
            if link.get("href") != f"#said-{number}" or f"said-{number}" not in places:
                yield f"no {number} among those who say so"
        for each in self.said:
            text = text_of(each)
            known = [words for words in self.statements.words if words in text]
            for words in known:
                text = text.replace(words, "")
            if NUMBER.search(text):
                yield f"who: nobody states {text}"

    # ---------------------------------------------------------------------- drawings

    def _lanes(self) -> Iterator[str]:
        """Marks at the ends of registers, read by where the lanes of two open strings begin."""
        opened = sorted(string.pitch.midi for string in self.instrument.standard.strings)
        for row in self.document.xpath("//table[@id='registers']/tbody/tr[.//svg]"):
            first = sorted(float(d[1:].split()[0]) for d in row.xpath(".//*[@class='string']/@d"))
            step = (first[-1] - first[0]) / (opened[-1] - opened[0])
            drawn = {
                Pitch.from_midi(round(opened[0] + (float(d[1:].split()[0]) - first[0]) / step)).name
                for d in row.xpath(".//*[@class='end sure']/@d")
            }
            if not drawn <= {text_of(cell) for cell in row.xpath("./td")}:
                yield f"registers: {text_of(row)} has ends at {drawn}"

    def _drawings(self) -> Iterator[str]:
        dynamics = [dynamic.label for dynamic in self.knowledge.dynamics.values()]
        for row in self.document.xpath("//table[@id='envelopes']/tbody/tr"):
            softest, loudest = (text_of(cell) for cell in row.xpath("./td")[1:3])
            marks = [float(d[1:-4]) for d in row.xpath(".//path[@class='end']/@d")]
            ends = [label for label in (softest, loudest) if label != "-"]
            places = [(dynamics.index(end) + 0.5) * 100 / len(dynamics) for end in ends]
            if [round(mark, 3) for mark in marks] != [round(place, 3) for place in places]:
                yield f"envelopes: a bar from {softest} to {loudest} is drawn at {marks}"
        for image in self.document.xpath("//td[@class='staff']/span[@role='img']"):
            row = next(image.iterancestors("tr"))
            named = image.get("aria-label").removeprefix("On the staff: ").split(", ")
            cells = " ".join(text_of(each) for each in row.xpath("./th|./td")).split()
            heads = image.xpath(".//use[starts-with(@href, '#E0A2')]")
            if len(heads) != len(named) or not set(named) <= set(cells):
                yield f"staff: {named} beside {cells}"
        yield from self._lanes()
        music = " ".join(
            value
            for (_, name), values in self.statements.values.items()
            if name == f"{OQ}meiMeasures"
            for value in values
        )
        fingers = set(re.findall(r">(\d)</fing>", music))
        for drawn in self.document.xpath("//td[@class='example']//svg"):
            shown = {number for text in drawn.xpath(".//text()") for number in NUMBER.findall(text)}
            if alien := shown - fingers:
                yield f"examples: {alien}"
        partials = self.document.xpath("//svg[contains(@class, 'nodes')]//text/text()")
        nodes = {row[1] for row in self.rows("harmonics")}
        mirrored = {f"{int(n) - int(k)}/{n}" for k, n in (each.split("/") for each in nodes)}
        named = {f"partial {row[0]}" for row in self.rows("harmonics")}
        if alien := set(partials) - nodes - mirrored - named - {"nut", "bridge"}:
            yield f"nodes: {alien}"
        yield from self._map()

    def _map(self) -> Iterator[str]:
        """A node of the n-th partial sounds the open string and 12 log2 n semitones more.

        The map ends two thirds along the string, or at the last fret.
        """
        drawn = self.document.xpath("//svg[@class='board-map']//text/text()")
        if not drawn:
            return
        frets = self.instrument.frets
        nodes = [row[1].split("/") for row in self.rows("harmonics") if row[-1] == "good"]
        touched = {(int(k), int(n)) for k, n in nodes}
        touched |= {(n - k, n) for k, n in touched}
        expected = Counter(
            round(string.pitch.midi + 12 * log2(n))
            for string in self.instrument.standard.strings
            for k, n in touched
            if k / n < 1 - 2 ** (-(frets or 19.2) / 12) + 0.001
        )
        found = Counter(Pitch.parse(each).midi for each in drawn if is_figure(each))
        if found != expected:
            yield f"map: {found - expected} for {expected - found}"

    def _rest(self) -> Iterator[str]:
        """No figure stands outside the tables but those of pitches' octaves and the version."""
        rest = deepcopy(self.document)
        for gone in rest.xpath("//style|//tbody|//svg|//section[@id='who']|//a[@class='cite']"):
            gone.drop_tree()
        text = text_of(rest).replace(self.version, "")
        octaves = abs(self.instrument.octaves_above)
        text = text.replace(f"Sounds {octaves} octave", "")
        # The names of intervals are checked by their grades.
        text = re.sub(r"\b[mMP]\d{1,2}\b", "", text)
        if figures := NUMBER.findall(text):
            yield f"outside the tables: {figures}"


def shown(value: object) -> str:
    """A value as a table shows it: two decimals at most."""
    if value is None:
        return "-"
    if isinstance(value, str):
        return value
    return f"{float(value):.2f}".rstrip("0").rstrip(".")  # type: ignore[arg-type]


def is_figure(text: str) -> bool:
    """Whether a cell is a number or a pitch."""
    return bool(re.fullmatch(r"\d+(\.\d+)?|[A-G](#|b)?\d", text))


def tempered(height: float) -> str:
    """The nearest tempered pitch and the cents off it."""
    cents = round((height - round(height)) * 100)
    return Pitch.from_midi(round(height)).name + (f" {cents:+d}" if cents else "")


def semitones(interval: str) -> int:
    """The size of an interval by its short name: minor, major, perfect; tritone."""
    if interval == "TT":
        return 6
    kind, number = interval[0], int(interval[1:])
    octaves, step = divmod(number - 1, 7)
    size = (0, 2, 4, 5, 7, 9, 11)[step] + 12 * octaves
    return size - (kind == "m")
