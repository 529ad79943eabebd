"""Ways to score a line: which there are, what speaks for each and against it, and their order."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property, lru_cache

from orchq.derive.path import DifficultyGrade, hardest_usual
from orchq.knowledge import Instrument, Technique
from orchq.questions.asked_line import AskedLine
from orchq.questions.asking import Asking
from orchq.questions.judging import (
    ARTIFICIAL,
    NATURAL,
    Hands,
    Judgement,
    availability,
    depth,
    height,
    loudness,
    worst,
)
from orchq.questions.scoring_facts import ScoringFacts, Thing
from orchq.questions.scoring_places import LineOnStrings, registers_at
from orchq.questions.scoring_way import Way, Wish
from orchq.questions.scoring_words import DescribedBy, Description, fit_of
from orchq.terms import OQ

_ARCO = OQ + "arco"
_HARMONICS = frozenset({NATURAL, ARTIFICIAL})


class Ways:
    """Finds and weighs the ways to score a line."""

    def __init__(self, asking: Asking, facts: ScoringFacts, line: AskedLine, wish: Wish) -> None:
        self._asking = asking
        self._line = line
        self._wish = wish
        self._facts = facts
        self._hands = Hands(asking, wish.stand)
        self._lying: dict[tuple[LineOnStrings, str, bool], list[tuple[Thing, bool]]] = {}
        self._allowed = lru_cache(None)(self._judge)
        self._at_pitch = lru_cache(None)(self._judge_pitches)
        self._lying_on = lru_cache(None)(self._lie)
        self._graded = lru_cache(None)(self._grade)

    @cached_property
    def _ranks(self) -> Mapping[str, int]:
        return {each.iri: each.rank for each in self._asking.knowledge.dynamics.values()}

    @cached_property
    def _usual(self) -> DifficultyGrade:
        return hardest_usual(self._asking.knowledge, self._wish.stand.level)

    def best(self, most: int, alike: int = 2) -> list[Way]:
        """The best ways, at most ``alike`` of one grouping and of one manner on one string.

        Of two sections of one instrument that do equally well in one manner the first stands for
        both.
        """
        kept: list[Way] = []
        seen: set[tuple[object, ...]] = set()
        counts: dict[tuple[object, ...], int] = defaultdict(int)
        order = sorted(self._all(), key=lambda way: (-way.score, way.grouping.iri, way.manner.iri))
        for way in order:
            same = way.manner.iri, way.place, way.others, way.score, way.grouping.words
            if same in seen:
                continue
            seen.add(same)
            keys = (way.grouping.iri,), (way.manner.iri, way.place.instrument.iri, way.place.called)
            if len(kept) < most and all(counts[key] < alike for key in keys):
                kept.append(way)
                for key in keys:
                    counts[key] += 1
        return kept

    def _all(self) -> Iterator[Way]:
        for grouping in self._facts.groupings:
            parts = self._parts(grouping)
            if parts is None:
                continue
            lead, octaves = parts[0]
            line = self._line.moved(octaves)
            natural = self._lying_on(lead.iri, octaves)
            others = tuple(self._lying_on(each.iri, moved) for each, moved in parts[1:])
            for manner in self._facts.manners:
                techniques = self._techniques(manner)
                if not all(self._can(techniques, *part) for part in parts):
                    continue
                for place in self._places(natural, line, len(parts) == 1):
                    way = Way(grouping, manner, techniques, place, others)
                    if not self._worth_calling(way, natural):
                        continue
                    if self._weigh(way, parts) and (way.score > 0 or not self._wish.words):
                        yield way

    def _parts(self, grouping: Thing) -> tuple[tuple[Instrument, int], ...] | None:
        """The instruments with the octaves that they are moved; ``None`` where one has no part."""
        instruments = self._asking.knowledge.instruments
        parts = tuple(
            (instruments[iri], octaves)
            for name, octaves in (("playsAtPitch", 0), ("playsOctaveBelow", -1))
            for iri in sorted(grouping.all(name), key=self._depth_of)
        )
        if self._wish.only and not {each.iri for each, _ in parts} <= self._wish.only:
            return None
        return parts

    def _depth_of(self, instrument: str) -> int:
        """How low an instrument lies, by its highest string: the highest comes first."""
        strings = self._asking.knowledge.instruments[instrument].standard.strings
        return -max(each.pitch.midi for each in strings)

    def _lie(self, instrument: str, octaves: int) -> LineOnStrings:
        on = self._asking.knowledge.instruments[instrument]
        return LineOnStrings(on, self._line.moved(octaves).lies(on, self._wish.stand.level))

    def _techniques(self, manner: Thing) -> tuple[Technique, ...]:
        return tuple(self._asking.knowledge.techniques[iri] for iri in manner.all("playsWith"))

    def _places(
        self, natural: LineOnStrings, line: AskedLine, alone: bool
    ) -> Iterator[LineOnStrings]:
        """The line as it lies, and on each single string that may be called for."""
        yield natural
        if not alone:
            return
        lead = natural.instrument
        heights = self._asking.in_force("StringCallHeight", lead, None, self._wish.stand)
        top = max((int(each.values["highestSemitone"]) for each in heights), default=0)
        for string in lead.standard.strings:
            opened = string.pitch.midi
            reaches = opened <= line.low.midi and line.high.midi <= opened + top
            surely = (natural.on({string.iri}, note, surely=True) for note in natural.notes)
            if reaches and not all(surely):
                yield LineOnStrings(lead, natural.notes, string.number)

    def _worth_calling(self, way: Way, natural: LineOnStrings) -> bool:
        """Whether a string that is called for has a word of the wish that the line lacks unasked.

        Nobody calls for a string but for its sound.
        """
        if way.place.called is None or not self._wish.words:
            return way.place.called is None
        unasked = {each.iri for each, wholly in self._registers(way, natural) if wholly}
        nearness = self._asking.knowledge.thesaurus.nearness
        return any(
            nearness(word, own) in ("same", "narrower")
            for register, _ in self._registers(way, way.place)
            if register.iri not in unasked
            for own in (
                *register.words,
                *(each.word for each in self._facts.suggestions.get(register.iri, ())),
            )
            for word in self._wish.words
        )

    # ------------------------------------------------------------ what cannot be done

    def _can(self, techniques: Sequence[Technique], instrument: Instrument, octaves: int) -> bool:
        every = {each.iri for each in techniques} | {i for each in techniques for i in each.implies}
        if every & self._wish.without:
            return False
        able = (self._allowed(instrument.iri, each.iri) for each in techniques)
        if any(each.verdict in ("not allowed", "unusual") for each in able):
            return False
        if any(not self._in_time(instrument, each) for each in techniques):
            return False
        harmonics = tuple(sorted(_HARMONICS & every))
        beyond = ("not allowed",) if harmonics else ("not allowed", "unusual")
        return self._at_pitch(instrument.iri, octaves, harmonics).verdict not in beyond

    def _judge(self, instrument: str, technique: str) -> Judgement:
        """Whether an instrument has a technique at the dynamic."""
        asking, wish = self._asking, self._wish
        on, asked = asking.knowledge.instruments[instrument], asking.knowledge.techniques[technique]
        judged = [availability(asking, on, asked, wish.stand)]
        if wish.dynamic is not None:
            judged.append(loudness(asking, on, technique, wish.dynamic, wish.stand))
        return worst(judged)

    def _in_time(self, instrument: Instrument, technique: Technique) -> bool:
        """Whether some authority holds the stroke possible at the rate of the line."""
        rate = self._line.rate
        if rate is None or technique.many_notes:
            return True
        limits = self._asking.opinions("RateLimit", instrument, technique.iri, self._wish.stand)
        slowest = [float(v) for each in limits if (v := each.values.get("slowestRate")) is not None]
        fastest = [float(v) for each in limits if (v := each.values.get("fastestRate")) is not None]
        return min(slowest, default=0.0) <= rate <= max(fastest, default=rate)

    def _judge_pitches(
        self, instrument: str, octaves: int, harmonics: tuple[str, ...]
    ) -> Judgement:
        """Whether all pitches lie on an instrument, as stopped notes or as harmonics."""
        asking, stand = self._asking, self._wish.stand
        on = asking.knowledge.instruments[instrument]
        judged = []
        for pitch in {each.midi: each for each in self._line.moved(octaves).pitches}.values():
            if harmonics:
                judged += [self._hands.judge(on, kind, pitch) for kind in harmonics]
            else:
                judged += [depth(asking, on, pitch), height(asking, on, None, pitch, stand)]
        return worst(judged)

    # -------------------------------------------------------------------- the weighing

    def _weigh(self, way: Way, parts: Sequence[tuple[Instrument, int]]) -> bool:
        """Add what the rules give; false where the way contradicts the wish or meets none of it."""
        if not self._weigh_words(way):
            return False
        self._weigh_role(way)
        self._weigh_loudness(way, parts)
        self._weigh_hand(way, parts)
        way.against += [*way.grouping.all("speaksAgainst"), *way.manner.all("speaksAgainst")]
        way.grounds += [way.grouping.iri, way.manner.iri]
        way.weights.append(way.manner.number("instructionCount") * self._rule("instruction"))
        if way.grouping.number("addsStrength") < 0:
            way.weights.append(self._rule("few-players"))
        further = way.grouping.number("sectionCount") - 1
        if further > 0:
            way.weights.append(further * self._rule("section"))
        if way.place.called is not None:
            way.weights.append(self._rule("called-string"))
        if way.place.lies_high:
            way.weights.append(self._rule("high-on-instrument"))
        return True

    def _rule(self, name: str) -> float:
        return self._facts.rules[name].weight

    def _described(self, way: Way) -> list[Description]:
        found = [
            *(Description(word, way.grouping.label, way.grouping.iri, "grouping")
              for word in way.grouping.words),
            *(Description(word, way.manner.label, way.manner.iri, "manner")
              for word in way.manner.words),
            *(Description(word, each.label, each.iri, "manner")
              for each in way.techniques for word in each.colours),
            *self._suggested(way.grouping.iri, way.grouping.label, "grouping"),
            *self._suggested(way.manner.iri, way.manner.label, "manner"),
        ]  # fmt: skip
        for each in way.techniques:
            found += self._suggested(each.iri, each.label, "manner")
        for place in (way.place, *way.others):
            of: DescribedBy = "register" if place == way.place else "joined"
            for register, wholly in self._registers(way, place):
                partly = not wholly
                found += [
                    Description(word, register.label, register.iri, of, partly=partly)
                    for word in register.words
                ]
                found += self._suggested(register.iri, register.label, of, partly=partly)
        return found

    def _suggested(
        self, iri: str, label: str, of: DescribedBy, *, partly: bool = False
    ) -> Iterator[Description]:
        for each in self._facts.suggestions.get(iri, ()):
            yield Description(each.word, label, each.iri, of, suggested=True, partly=partly)

    def _registers(self, way: Way, place: LineOnStrings) -> list[tuple[Thing, bool]]:
        """The registers in which the line lies at a place, and whether all of it surely does."""
        section = way.grouping.number("sectionCount") > 0
        key = (place, way.manner.iri, section)
        if key not in self._lying:
            dynamic = self._wish.dynamic
            rank = None if dynamic is None else dynamic.rank
            self._lying[key] = registers_at(
                self._facts, place, way.techniques, rank, self._ranks, section=section
            )
        return self._lying[key]

    def _weigh_words(self, way: Way) -> bool:
        """Weigh each word of the wish; false where none is met, or one is contradicted."""
        described = self._described(way)
        met = [self._weigh_word(way, word, described) for word in self._wish.words]
        if None in met or (met and not any(met)):
            return False
        asked = way.manner.number("instructionCount") > 0
        if met and asked and not any(each and "manner" in each for each in met):
            way.weights.append(self._rule("unasked-colour"))
            way.against.append(f"{way.manner.label}: a colour that nobody asked for")
        return True

    def _weigh_word(
        self, way: Way, word: str, described: Sequence[Description]
    ) -> frozenset[DescribedBy] | None:
        """What meets the word: grouping, manner, register; ``None`` where it is contradicted."""
        fit = fit_of(word, described, self._asking.knowledge.thesaurus)
        if fit is None:
            return None
        way.weights += map(self._rule, fit.rules)
        way.why += fit.why
        way.against += fit.against
        way.grounds += fit.grounds
        return fit.met

    def _weigh_role(self, way: Way) -> None:
        role = self._wish.role
        if role is None:
            return
        label = self._asking.knowledge.label(role)
        suited = [each for each, _ in self._registers(way, way.place) if role in each.roles]
        if suited:
            way.weights.append(self._rule("role") / 2)
            way.why.append(f"{label}: {suited[0].label}")
            way.grounds.append(suited[0].iri)
        for thing in (way.grouping, way.manner):
            if role in thing.roles:
                way.weights.append(self._rule("role") / 2)
                way.why.append(f"{label}: {thing.label}")
            elif thing.roles:
                way.weights.append(self._rule("other-role"))
                way.against.append(f"{thing.label}: not for {label}")

    def _weigh_loudness(self, way: Way, parts: Sequence[tuple[Instrument, int]]) -> None:
        dynamic = self._wish.dynamic
        if dynamic is None:
            return
        judged = worst(
            self._allowed(each.iri, technique.iri)
            for each, _ in parts
            for technique in way.techniques
        )
        way.evidence += judged.evidence
        if judged.verdict == "disputed":
            way.weights.append(self._rule("disputed"))
            way.against.append(judged.because)
        strength = way.grouping.number("addsStrength") + way.manner.number("addsStrength")
        loud = dynamic.rank >= self._ranks[OQ + "f"]
        if loud and strength:
            way.weights.append(strength * self._rule("strong-when-loud"))
            (way.why if strength > 0 else way.against).append(
                f"{'strong' if strength > 0 else 'weak'} at {dynamic.label}"
            )
        elif dynamic.rank <= self._ranks[OQ + "p"] and strength > 0:
            way.weights.append(strength * self._rule("strong-when-soft"))

    def _weigh_hand(self, way: Way, parts: Sequence[tuple[Instrument, int]]) -> None:
        every = {each.iri for each in way.techniques}
        harmonics = tuple(sorted(_HARMONICS & every))
        judged = worst(self._at_pitch(each.iri, octaves, harmonics) for each, octaves in parts)
        if judged.verdict != "allowed":
            rule = "unsure-harmonic" if harmonics else "disputed"
            way.weights.append(self._rule(rule))
        if judged.because:
            way.against.append(judged.because)
            way.evidence += judged.evidence
        solo = [
            each
            for each, _ in self._registers(way, way.place)
            if each.one("isMainlySolo") == "true"
        ]
        if solo and way.grouping.number("sectionCount"):
            way.weights.append(self._rule("mainly-solo"))
            way.against.append(f"{solo[0].label}: mainly for one player")
        if harmonics:
            return
        grades = [each for part in parts if (each := self._graded(part[0].iri, part[1]))]
        if grades:
            way.difficulty = max(grades, key=lambda each: each.rank)
            beyond = way.difficulty.rank - self._usual.rank
            if beyond > 0:
                way.weights.append(beyond * self._rule("hard"))
                way.against.append(f"for the left hand: {way.difficulty.label}")

    def _grade(self, instrument: str, octaves: int) -> DifficultyGrade | None:
        on = self._asking.knowledge.instruments[instrument]
        return self._line.moved(octaves).difficulty(on, self._wish.stand.level)
