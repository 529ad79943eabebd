"""Loads the facts of the graph into the values of ``model``."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType

from msgspec.structs import replace

from orchq.errors import OrchqError
from orchq.exact import Fraction
from orchq.knowledge.facts import Facts
from orchq.knowledge.model import (
    Claim,
    Directive,
    DoubtGround,
    Dynamic,
    Instrument,
    InstrumentString,
    Limit,
    Pedal,
    Register,
    Remedy,
    Source,
    Technique,
    Tuning,
)
from orchq.knowledge.weighing import Ladder, Yardstick
from orchq.notation import Pitch
from orchq.severity import SEVERITIES, Severity
from orchq.terms import DCTERMS, OQ, RDFS, local_name, slug_of


def load_tuning(facts: Facts, iri: str) -> Tuning:
    """Read a tuning with its strings, highest first."""
    strings = [
        InstrumentString(
            iri=string,
            number=facts.number(string, "stringNumber") or 0,
            pitch=_pitch(facts, string, "openPitch"),
            outside_pedals=facts.truth(string, "isOutsidePedals"),
        )
        for string in facts.objects(iri, "hasString")
    ]
    return Tuning(
        iri,
        facts.label(iri),
        tuple(sorted(strings, key=lambda s: s.number)),
        when_printed=facts.truth(iri, "isSetWhenPrinted"),
    )


def load_instruments(facts: Facts) -> dict[str, Instrument]:
    """Read every instrument that has a standard tuning."""
    instruments = {}
    for iri in facts.members("Instrument"):
        standard = facts.one(iri, "hasStandardTuning")
        if standard is None:
            continue
        instruments[iri] = Instrument(
            iri=iri,
            slug=slug_of(iri),
            label=facts.label(iri),
            family=facts.one(iri, "belongsToFamily") or "",
            standard=load_tuning(facts, standard),
            variants=tuple(load_tuning(facts, v) for v in facts.objects(iri, "hasVariantTuning")),
            octaves_above=facts.number(iri, "soundsOctavesAbove") or 0,
            sounds=tuple(facts.objects(iri, "musicxmlSound")),
            registers=tuple(_register(facts, r) for r in facts.objects(iri, "hasRegister")),
            clefs=tuple(facts.objects(iri, "readsClef")),
            doubtful_after=facts.one(iri, "readsInDoubtAfter"),
            frets=facts.number(iri, "fretCount"),
            open_only=facts.truth(iri, "playsOpenStringsOnly"),
            lacks=frozenset(facts.objects(iri, "lacksTechnique")),
            bows_one_string=any(
                facts.truth(exciter, "soundsOneStringAtATime")
                for exciter in facts.objects(iri, "excitedBy")
            ),
            pedals=_pedals(facts, iri),
        )
    return instruments


def load_directives(facts: Facts) -> dict[str, Directive]:
    """Read everything that a printed word or sign can ask for."""
    return {
        iri: Directive(
            iri=iri,
            slug=slug_of(iri),
            label=facts.label(iri),
            kinds=facts.kinds(iri),
            persists=facts.truth(iri, "persists"),
            lasts_for_passage=facts.truth(iri, "lastsForPassage"),
            cancels=frozenset(facts.objects(iri, "cancels")),
            elements=tuple(facts.objects(iri, "musicxmlElement")),
            glyphs=tuple(facts.objects(iri, "smuflGlyph")),
            parts=facts.number(iri, "callsParts"),
            seats=facts.number(iri, "seatsPlayers"),
            string_number=facts.number(iri, "callsStringNumber"),
            string_name=facts.one(iri, "callsStringNamed"),
            falls_to=facts.one(iri, "fallsTo"),
            clef=facts.one(iri, "printsClef"),
            tuning=facts.one(iri, "callsTuning"),
        )
        for iri in facts.members("Directive")
    }


def load_techniques(facts: Facts) -> dict[str, Technique]:
    """Read every technique; symmetric properties go both ways, and ``implies`` is transitive."""
    members = facts.members("Technique")
    excludes = _both_ways(facts, members, "excludes")
    stand_for = _both_ways(facts, members, "canStandFor")
    return {
        iri: Technique(
            iri=iri,
            slug=slug_of(iri),
            label=facts.label(iri),
            kinds=facts.kinds(iri),
            excludes=frozenset(excludes[iri]),
            implies=facts.closure(iri, "implies"),
            can_stand_for=frozenset(stand_for[iri]),
            available_on=frozenset(facts.objects(iri, "availableOn")),
            colours=tuple(facts.objects(iri, "hasColour")),
            rank=facts.number(iri, "rank"),
            many_notes=facts.truth(iri, "makesManyNotes"),
            ends_early=facts.truth(iri, "endsEarly"),
            no_pitch=facts.truth(iri, "hasNoPitch"),
        )
        for iri in members
    }


def _both_ways(facts: Facts, members: Iterable[str], name: str) -> dict[str, set[str]]:
    pairs: dict[str, set[str]] = {iri: set() for iri in members}
    for iri in members:
        for other in facts.objects(iri, name):
            pairs[iri].add(other)
            pairs.setdefault(other, set()).add(iri)
    return pairs


def load_dynamics(facts: Facts) -> dict[str, Dynamic]:
    """Read the degrees of loudness, softest first."""
    dynamics = [
        Dynamic(
            iri,
            local_name(iri),
            facts.label(iri),
            facts.number(iri, "rank") or 0,
            Fraction(facts.one(iri, "degree") or 0),
        )
        for iri in facts.members("Dynamic")
    ]
    return {dynamic.iri: dynamic for dynamic in sorted(dynamics, key=lambda d: d.rank)}


def load_judged(facts: Facts) -> dict[str, Decimal]:
    """Read the numbers that this project judges, by IRI."""
    return {
        iri: Decimal(value)
        for iri in facts.members("JudgedNumber")
        if (value := facts.one(iri, "judgedAs")) is not None
    }


def load_remedies(facts: Facts) -> dict[str, Remedy]:
    """Read the remedies, those that change least of the music first."""
    remedies = [
        Remedy(
            iri,
            local_name(iri).removeprefix("remedy-"),
            facts.label(iri),
            facts.number(iri, "changesMusic") or 0,
            facts.truth(iri, "isLastResort"),
        )
        for iri in facts.members("Remedy")
    ]
    return {each.iri: each for each in sorted(remedies, key=lambda each: each.changes_music)}


def load_doubt_grounds(facts: Facts) -> tuple[DoubtGround, ...]:
    """Read the grounds on which an instruction is doubtful."""
    return tuple(
        DoubtGround(
            iri=iri,
            label=facts.label(iri),
            casts_doubt_on=frozenset(facts.objects(iri, "castsDoubtOn")),
            marks=frozenset(facts.objects(iri, "arisesAt")),
            signs=frozenset(facts.objects(iri, "arisesAtSign")),
            after=facts.one(iri, "arisesAfter"),
            reminders=tuple(facts.objects(iri, "reminderWord")),
            rest_measures=facts.number(iri, "restMeasures"),
            note_quarters=Decimal(quarters)
            if (quarters := facts.one(iri, "noteQuarters"))
            else None,
            after_measures=facts.number(iri, "afterMeasures") or 0,
            fewest_others=facts.number(iri, "fewestOthersReleased"),
            at_slur=facts.truth(iri, "arisesAtSlur"),
            at_repetition=facts.truth(iri, "arisesAtRepetition"),
            at_height=facts.truth(iri, "arisesAtHeight"),
            needs_signature=facts.truth(iri, "needsNewSignature"),
            contradicts=facts.truth(iri, "contradicts"),
        )
        for iri in facts.members("DoubtGround")
    )


def load_sources(facts: Facts) -> dict[str, Source]:
    """Read the sources."""
    return {
        iri: Source(
            iri,
            local_name(iri),
            facts.label(iri),
            facts.text(iri, DCTERMS + "title"),
            address=facts.text(iri, RDFS + "seeAlso"),
            pages=facts.one(iri, "hasPagesFrom") or "",
        )
        for iri in facts.members("Source")
    }


def load_limits(facts: Facts, sources: dict[str, Source]) -> tuple[Limit, ...]:
    """Read every limit; one that names several levels becomes one value for each."""
    kinds = {local_name(iri) for iri in facts.subclasses("Limit")}
    topics = facts.subproperties("isAbout")
    return tuple(
        replace(_limit(facts, iri, kinds, topics, sources), level=level)
        for iri in facts.members("Limit")
        for level in tuple(facts.objects(iri, "forLevel")) or (None,)
    )


_USUAL = OQ + "usual-range"
_CLAIMS: Mapping[str, Claim] = {
    OQ + "bound": "bound",
    _USUAL: "usual range",
    OQ + "at-least-so-far": "at least so far",
}


def load_yardsticks(facts: Facts) -> tuple[Yardstick, ...]:
    """Read the yardsticks: one for each figure that is weighed against limits."""
    return tuple(
        Yardstick(
            iri=iri,
            kind=local_name(facts.one(iri, "measuresKind") or ""),
            name=local_name(facts.one(iri, "measuresFigure") or ""),
            usual=(usual := facts.one(iri, "measuresUsual")) and local_name(usual),
            is_ceiling=facts.truth(iri, "isCeiling"),
            is_ratio=facts.truth(iri, "isRatio"),
            step=Fraction(facts.one(iri, "stepSize") or 1),
            near=Fraction(facts.one(iri, "nearUpTo") or 0),
            far=Fraction(facts.one(iri, "farBeyond") or 0),
            gravest=_severity(facts, iri, "gravest"),
            gravest_for_technique=_severity(facts, iri, "gravestForTechnique"),
            says_beyond=facts.one(iri, "saysBeyond") or "",
            says_disputed=facts.one(iri, "saysDisputed") or "",
        )
        for iri in facts.members("Yardstick")
    )


def _severity(facts: Facts, iri: str, name: str) -> Severity:
    stated = local_name(facts.one(iri, name) or facts.one(iri, "gravest") or "")
    found = next((each for each in SEVERITIES if each == stated), None)
    if found is None:
        raise OrchqError(f"{local_name(iri)} names no severity: {', '.join(SEVERITIES)}")
    return found


def load_ladder(facts: Facts) -> Ladder:
    """Read the order of the levels of player, and which is assumed where none is named."""
    ranks = {iri: facts.number(iri, "rank") or 0 for iri in facts.members("Level")}
    assumed = [rank for iri, rank in ranks.items() if facts.truth(iri, "isAssumed")]
    return Ladder(MappingProxyType(ranks), min(assumed, default=0))


def _limit(
    facts: Facts, iri: str, kinds: set[str], topics: tuple[str, ...], sources: dict[str, Source]
) -> Limit:
    basis = facts.one(iri, "hasBasis") or ""
    kind = min(facts.kinds(iri) & kinds)
    return Limit(
        iri=iri,
        kind=kind,
        technique=facts.one(iri, "limitsTechnique"),
        instrument=facts.one(iri, "onInstrument"),
        family=facts.one(iri, "inFamily"),
        level=None,
        tuning=facts.one(iri, "withTuning"),
        register=facts.one(iri, "inRegister"),
        role=facts.one(iri, "forRole"),
        basis=local_name(basis),
        condemns=facts.truth(basis, "condemns"),
        source=sources.get(facts.one(iri, "accordingTo") or ""),
        locator=facts.one(iri, "locator") or "",
        statement=facts.one(iri, "statement") or "",
        values=MappingProxyType(facts.values(iri)),
        topics=MappingProxyType(
            {topic: about for topic in topics if (about := facts.one(iri, topic)) is not None}
        ),
        claim=_CLAIMS[facts.one(iri, "makesClaim") or facts.one(basis, "makesClaim") or _USUAL],
        disputes=facts.truth(basis, "disputes"),
    )


def _pedals(facts: Facts, instrument: str) -> tuple[Pedal, ...]:
    """The pedals of an instrument, from the player's left to the right."""
    pedals = facts.objects(instrument, "hasPedal")
    return tuple(
        Pedal(
            iri=pedal,
            letter=facts.one(pedal, "pedalMovesLetter") or "",
            foot=facts.label(facts.one(pedal, "workedByFoot") or ""),
            alterations=tuple(
                sorted(
                    facts.number(position, "altersBySemitones") or 0
                    for position in facts.objects(pedal, "takesPosition")
                )
            ),
        )
        for pedal in sorted(pedals, key=lambda each: facts.number(each, "pedalPlace") or 0)
    )


def _register(facts: Facts, iri: str) -> Register:
    lowest, highest = facts.one(iri, "lowestPitch"), facts.one(iri, "highestPitch")
    return Register(
        iri=iri,
        label=facts.label(iri),
        lowest=Pitch.parse(lowest) if lowest else None,
        highest=Pitch.parse(highest) if highest else None,
        mainly_solo=facts.truth(iri, "isMainlySolo"),
    )


def _pitch(facts: Facts, iri: str, name: str) -> Pitch:
    text = facts.one(iri, name)
    if text is None:
        raise OrchqError(f"{local_name(iri)} has no {name}")
    try:
        return Pitch.parse(text)
    except ValueError as error:
        raise OrchqError(f"{local_name(iri)}: {error}") from error
