"""Attested limits as Turtle, in the form in which the graph's own modules stand."""

from collections.abc import Iterable, Iterator
from pathlib import Path

from pyoxigraph import Literal, NamedNode

from orchq.errors import OrchqError
from orchq.knowledge import Dynamic, Knowledge, Source
from orchq.notation import Pitch
from orchq.survey.attesting import COMPOSERS, ORCHESTRAL, PASSAGES, Attested, attest
from orchq.survey.sightings import Sightings, Subject
from orchq.survey.stored_surveys import read_surveys
from orchq.terms import DCTERMS, OQ, OWL, PREFIXES, slug_of

_MODULE = "ontology/measured/attested"
_HEAD = """\
# Written by `orchq attest` from the tables of `orchq survey`: not to be edited. Each figure is the
# most extreme that at least five passages by at least three composers reach; an orchestral player's
# comes from section parts alone, a soloist's from all parts."""

_NAMES = {
    "ChangeTime": ("change", "change{about}", "{about}"),
    "CompassLimit": ("compass", "highest note{technique}{holder}", "{technique}{holder}"),
    "DoubleStopRate": (
        "double-stop-rate",
        "double stops in succession{holder}",
        "double stops in succession{holder}",
    ),
    "DurationLimit": (
        "duration",
        "unbroken length{technique}{about}{holder}",
        "{technique}{about}{holder}",
    ),
    "DynamicEnvelope": ("dynamics", "dynamics{technique}{holder}", "{technique}{holder}"),
    "FingerboardEnd": (
        "fingerboard-end",
        "highest stop on the top string{holder}",
        "top string{holder}",
    ),
    "HandSpan": (
        "hand",
        "fingers{about} in the easiest fingering of chords{holder}",
        "fingers{about} in chords{holder}",
    ),
    "HandTravel": ("hand-travel", "travel of the hand{holder}", "hand{holder}"),
    "HarmonicLimit": ("partial", "partials{technique}{holder}", "{technique}{holder}"),
    "RateLimit": ("rate", "rate{technique}{holder}", "{technique}{holder}"),
    "SecureHeight": ("secure-height", "height of chords{holder}", "chords{holder}"),
}
"""Each kind of limit: in IRIs, in labels, and as its statement begins."""

_FIGURES = {
    "highestPitch": "{} or higher",
    "softest": "{} or softer",
    "loudest": "{} or louder",
    "slowestRate": "{} notes a second or fewer",
    "fastestRate": "{} notes a second or more",
    "shortestSeconds": "in {} s or less",
    "longestSeconds": "{} s or longer",
    "fastestHandTravel": "{} mm a second or faster",
    "mostStopsPerSecond": "{} a second or more",
    "spanMillimetres": "{} mm apart or more",
    "highestSemitone": "{} semitones above the open string or higher",
    "highestPartial": "partial {} or higher",
}
"""Each property in words, in the order in which figures are written."""

_WHOLE = frozenset({"highestSemitone", "highestPartial"})
_ABOUT = {
    "changesFrom": "from {}",
    "changesTo": "to {}",
    "limitsDynamic": "at {}",
    "spansFingers": "{}",
}


def attested_turtle(limits: Iterable[Attested], knowledge: Knowledge, source: Source) -> str:
    """Write the limits as Turtle; their names stand beside that of the source, a data set."""
    return _Writer(knowledge, source).module(limits)


def surveys_as_turtle(directories: Iterable[Path], knowledge: Knowledge, source: Source) -> str:
    """Measure limits on what ``orchq survey`` wrote into directories, and write them as Turtle.

    Raises ``OrchqError`` when tables cannot be read or too little is seen for any limit.
    """
    limits = attest(Sightings(knowledge).of(read_surveys(directories)))
    if not limits:
        raise OrchqError(
            f"nothing is attested: no limit is reached by {PASSAGES} passages of "
            f"{COMPOSERS} composers whose names the scores give"
        )
    return attested_turtle(limits, knowledge, source)


class _Writer:
    """Writes limits in the namespace of their source."""

    def __init__(self, knowledge: Knowledge, source: Source) -> None:
        self._knowledge = knowledge
        self._source = source
        self._base = source.iri.removesuffix(slug_of(source.iri))
        self._prefix = "oq:" if self._base == OQ else ":"

    def module(self, limits: Iterable[Attested]) -> str:
        core = self._base == OQ
        own = {"dcterms": PREFIXES["dcterms"]} if core else {"": self._base}
        prefixes = own | {name: PREFIXES[name] for name in ("oq", "owl", "rdfs", "skos")}
        module = self._base + (_MODULE if core else "attested")
        label = _text(f"orchq: limits attested by {self._source.label}", "en")
        lines = [
            *(f"@prefix {name}: <{iri}> ." for name, iri in prefixes.items()),
            "",
            _HEAD,
            "",
            f"<{module}> a owl:Ontology ;",
            f"    rdfs:label {label} {';' if core else '.'}",
            *(self._version() if core else ()),
        ]
        for limit in limits:
            lines += ["", *self._limit(limit)]
        return "\n".join(lines) + "\n"

    def _version(self) -> Iterator[str]:
        """A module of the core has creator, licence and version of the whole."""
        whole = NamedNode(f"{OQ}ontology")
        head = {q.predicate.value: q.object for q in self._knowledge.quads if q.subject == whole}
        version = head[f"{OWL}versionInfo"]
        assert isinstance(version, Literal)
        yield f"    dcterms:creator {head[f'{DCTERMS}creator']} ;"
        yield f"    dcterms:license {head[f'{DCTERMS}license']} ;"
        yield f"    owl:versionIRI <{OQ}{version.value}/{_MODULE}> ;"
        yield f"    owl:versionInfo {version} ."

    def _limit(self, limit: Attested) -> Iterator[str]:
        subject, counts = limit.subject, limit.counts
        label = f"{self._words(subject)}, {_parts(limit)}, attested"
        properties = [("skos:prefLabel", _text(label, "en"))]
        if subject.technique:
            properties.append(("oq:limitsTechnique", self._term(subject.technique)))
        on = "onInstrument" if subject.holder in self._knowledge.instruments else "inFamily"
        properties += [
            (f"oq:{on}", self._term(subject.holder)),
            ("oq:forLevel", self._term(limit.level)),
            *((f"oq:{name}", self._topic(value)) for name, value in subject.about),
            *((f"oq:{name}", self._value(name, value)) for name, value in _ordered(limit)),
            ("oq:statement", _text(self._statement(limit))),
            ("oq:hasBasis", "oq:attested"),
            ("oq:accordingTo", self._term(self._source.iri)),
            ("oq:locator", _text(_parts(limit))),
            ("oq:attestedNotes", str(counts.notes)),
            ("oq:attestedPassages", str(counts.passages)),
            ("oq:attestedWorks", str(counts.works)),
            ("oq:attestedComposers", str(counts.composers)),
            ("oq:attestedQuantile", _decimal(counts.quantile)),
            ("oq:reachingPassages", str(counts.reaching_passages)),
            ("oq:reachingComposers", str(counts.reaching_composers)),
        ]
        yield f"{self._prefix}{_slug(limit)} a oq:{subject.kind} ;"
        for place, (name, value) in enumerate(properties, start=1):
            yield f"    {name} {value} {'.' if place == len(properties) else ';'}"

    # ------------------------------------------------------------------ words

    def _words(self, subject: Subject) -> str:
        """What a limit is about, as its label says it."""
        of = f" of {self._knowledge.label(subject.technique)}" if subject.technique else ""
        return self._filled(_NAMES[subject.kind][1], subject, of)

    def _filled(self, template: str, subject: Subject, technique: str) -> str:
        label = self._knowledge.label
        about = [
            _ABOUT[name].format(label(value) if ":" in value else value)
            for name, value in subject.about
        ]
        the = "the " * (subject.holder in self._knowledge.instruments)
        return template.format(
            technique=technique,
            about="".join(f" {each}" for each in about),
            holder=f" on {the}{label(subject.holder)}",
        )

    def _statement(self, limit: Attested) -> str:
        """How rare it is: in how many places of those where it could have been."""
        subject, counts = limit.subject, limit.counts
        technique = self._knowledge.label(subject.technique) if subject.technique else ""
        words = self._filled(_NAMES[subject.kind][2], subject, technique).strip()
        figures = [
            _FIGURES[name].format(self._named(name, value)) for name, value in _ordered(limit)
        ]
        between = " " if subject.kind == "ChangeTime" else ", "
        sections = " in section parts" if limit.level == ORCHESTRAL else ""
        assumed = ", some tempi assumed from words" if limit.tempo == "assumed" else ""
        places = "works" if counts.passages == counts.works else "places"
        rarer = " at the rarer end" if len(figures) > 1 else ""
        return (
            f"{words[0].upper()}{words[1:]}{sections}{between}{' and '.join(figures)}{assumed}: "
            f"{counts.reaching_passages} of {counts.passages} {places}{rarer}, "
            f"by {counts.reaching_composers} composers."
        )

    # ----------------------------------------------------------------- values

    def _term(self, iri: str) -> str:
        return f"oq:{iri.removeprefix(OQ)}" if iri.startswith(OQ) else f"<{iri}>"

    def _topic(self, value: str) -> str:
        return self._term(value) if ":" in value else _text(value)

    def _value(self, name: str, figure: float) -> str:
        if name == "highestPitch":
            return _text(self._named(name, figure))
        if name in ("softest", "loudest"):
            return self._term(self._dynamic(figure).iri)
        return str(int(figure)) if name in _WHOLE else _decimal(figure)

    def _named(self, name: str, figure: float) -> str:
        """A figure as musicians name it."""
        if name == "highestPitch":
            return Pitch.from_midi(int(figure)).name
        if name in ("softest", "loudest"):
            return self._dynamic(figure).label
        return f"{figure:g}"

    def _dynamic(self, rank: float) -> Dynamic:
        return next(each for each in self._knowledge.dynamics.values() if each.rank == rank)


def _slug(limit: Attested) -> str:
    subject = limit.subject
    about = "-to-".join(slug_of(value).lower() for _, value in subject.about)
    technique = slug_of(subject.technique) if subject.technique else ""
    pieces = (
        "limit",
        _NAMES[subject.kind][0],
        technique,
        about,
        slug_of(subject.holder),
        slug_of(limit.level),
        "attested",
    )
    return "-".join(filter(None, pieces))


def _ordered(limit: Attested) -> Iterator[tuple[str, float]]:
    figures = dict(limit.figures)
    return ((name, figures[name]) for name in _FIGURES if name in figures)


def _parts(limit: Attested) -> str:
    return "section parts" if limit.level == ORCHESTRAL else "all parts"


def _decimal(figure: float) -> str:
    text = f"{figure:.4f}".rstrip("0")
    return f"{text}0" if text.endswith(".") else text


def _text(words: str, language: str | None = None) -> str:
    return str(Literal(words, language=language))
