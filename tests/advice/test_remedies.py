"""Each remedy is offered where it helps, and is not where it would not."""

import pytest

from orchq.advice import Workbench, verified_rewritings
from orchq.knowledge import Knowledge
from orchq.rules.checking import check_score, rules_of
from orchq.terms import oq

from .conftest import line, score

RUN = " ".join(["A4:1/4 B4:1/4 C5:1/4 B4:1/4"] * 3)
QUICK = {2: ["pizzicato"], 3: ["arco"]}
PLUCKED_OPEN = line("violin", "A4:1/2 B4:1/2 D4:1/2 B4:1/2 A4:2", words=QUICK, tempo=300)
PLUCKED_STOPPED = line("violin", "A4:1/2 B4:1/2 C5:1/2 B4:1/2 A4:2", words=QUICK, tempo=300)

HELPS = {
    "take-sign-away": (
        line("violin", "A4:1 B4:1 r:2 A4:4", signs={1: ["open-string"]}),
        "open-string-mark-on-stopped-pitch",
    ),
    "take-word-away": (
        line("violin", "D4:2 E4:2", words={0: ["on-a-string"], 1: ["on-d-string"]}),
        "string-cannot-sound-pitch",
    ),
    "print-what-sounds": (
        line("violin", "B4:2 *C5-oC6:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "fewer-parts": (
        line("violin", "A4:2 B4:2 A4:4", words={0: ["divisi", 6]}, section=True, players=4),
        "more-divisi-than-players",
    ),
    "print-arco": (
        line("violin", "A4:1 B4:1 C5:1 D5:1", words={0: ["pizzicato"]}, signs={2: ["down-bow"]}),
        "arco-missing-after-pizzicato",
    ),
    "end-string-call": (
        line("violin", "A4:1 B4:1 C5:1 E4:1", words={0: ["on-a-string"]}),
        "string-cannot-sound-pitch",
    ),
    "take-up-bow": (
        line("violin", "A4:1 B4:1 C5:1 D5:1", words={0: ["pizzicato"]}, swells=[1]),
        "swell-on-one-plucked-note",
    ),
    "left-hand-pizzicato": (PLUCKED_OPEN, "pluck-bow-change-too-quick"),
    "half-and-half": (
        line("violin", "A4:1/2 B4:1/2 C5:1/2 B4:1/2 A4:2", words=QUICK, tempo=160, section=True),
        "pluck-bow-change-too-quick",
    ),
    "in-alternation": (
        line("violin", RUN, words={0: ["pizzicato"]}, tempo=160, section=True),
        "pizzicato-too-fast",
    ),
    "mute-by-desks": (
        line("violin", "A4:4 B4:4 A4:4 C5:4 D5:1", words={4: ["con-sordino"]}, section=True),
        "mute-change-too-quick",
    ),
    "other-string": (
        line("violin", "D4:1 E4:1 D4:2", words={0: ["on-a-string"]}),
        "string-cannot-sound-pitch",
    ),
    "change-bow": (
        line("violin", "A4:8 B4:8 C5:8 D5:8 E5:8", words={0: ["ff"]}, slurs=[(0, 4)]),
        "slur-longer-than-bow",
    ),
    "leave-vibrato-off": (
        line("violin", "A4:2 G3:2 A4:4", words={0: ["molto-vibrato"]}),
        "vibrato-on-open-string",
    ),
    "nearest-dynamic": (
        line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: ["spiccato", "ff"]}),
        "dynamic-outside-envelope",
    ),
    "divide": (
        line("violin", "A4:2 G3-A3:2 A4:4", section=True),
        "stop-impossible",
    ),
    "break-chord": (
        line("violin", "A4:2 D4-G4-D5-B5:1 D4-B4:1 A4:4", words={0: ["f"]}),
        "stop-hard",
    ),
    "hold-upper-notes": (
        line("violin", "A4:2 G3-D4-B4-G5:4 r:2 A4:4", words={0: ["mf"]}),
        "chord-held-too-long",
    ),
    "move-change": (
        line(
            "violin",
            "A4:1 B4:1 r:16 A4:1 C5:1 D5:1 E5:1",
            words={3: ["con-sordino"]},
        ),
        "mute-change-too-quick",
    ),
    "natural-harmonic": (
        line("violin", "B4:2 *B4-oA5:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "artificial-harmonic": (
        line("violin", "B4:2 *C5-oC6:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "stopped-note": (
        line("violin", "B4:2 *C5-oC6:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "like-technique": (
        line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: ["spiccato", "ff"]}),
        "dynamic-outside-envelope",
    ),
    "give-technique-up": (
        line("violin", RUN, words={0: ["pizzicato"]}, tempo=160),
        "pizzicato-too-fast",
    ),
    "slur-in-pairs": (
        line("violin", RUN, tempo=230),
        "stroke-too-fast",
    ),
    "leave-note-out": (
        line("violin", "A4:2 G3-B3-D4:2 A4:4", words={0: ["f"]}),
        "stop-impossible",
    ),
    "rest-before-change": (
        line("violin", "A4:4 B4:4 A4:4 C5:4 D5:1", words={4: ["con-sordino"]}),
        "mute-change-too-quick",
    ),
    "octave-meant": (
        line("cello", "C3:1 E6:1 F6:1 E6:1", words={0: ["clef-bass"], 1: ["clef-treble"]}),
        "octave-of-treble-clef-in-doubt",
    ),
    "other-octave": (
        line("violin", "A4:1 F3:1 A4:2"),
        "note-below-lowest-string",
    ),
    "other-part": (
        line("violin", "A4:1 F3:1 A4:2"),
        "note-below-lowest-string",
    ),
}
"""By remedy a line in which it helps against a finding of this rule."""

FAILS = {
    "take-sign-away": (
        line("violin", "A4:2 G3:2 A4:4", words={0: ["molto-vibrato"]}),
        "vibrato-on-open-string",
    ),
    "take-word-away": (
        line("violin", "A4:2 B4:2 A4:4", signs={1: ["double-tongue"]}),
        "technique-not-on-instrument",
    ),
    "print-what-sounds": (
        line("violin", "B4:2 oC#4:2 B4:4", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "fewer-parts": (
        line("violin", "A4:2 B4:2 A4:4", words={0: ["divisi", 3]}, players=1),
        "more-divisi-than-players",
    ),
    "print-arco": (
        line("violin", "A4:1 B4:1/8 C5:1 D5:1", words={0: ["pizzicato"]}, signs={2: ["down-bow"]}),
        "arco-missing-after-pizzicato",
    ),
    "end-string-call": (
        line("violin", "D4:1 E4:1 D4:2", words={0: ["on-a-string"]}),
        "string-cannot-sound-pitch",
    ),
    "take-up-bow": (
        line(
            "violin",
            "A4:1/4 B4:1/4 C5:1/4 D5:1/4",
            words={0: ["pizzicato"]},
            swells=[1],
            tempo=200,
        ),
        "swell-on-one-plucked-note",
    ),
    "left-hand-pizzicato": (PLUCKED_STOPPED, "pluck-bow-change-too-quick"),
    "half-and-half": (PLUCKED_STOPPED, "pluck-bow-change-too-quick"),
    "in-alternation": (
        line("violin", RUN, words={0: ["pizzicato"]}, tempo=400, section=True),
        "pizzicato-too-fast",
    ),
    "mute-by-desks": (
        line("violin", "A4:4 B4:4 A4:4 C5:4 D5:1", words={4: ["con-sordino"]}),
        "mute-change-too-quick",
    ),
    "other-string": (
        line("violin", "D4:1 F3:1 D4:2", words={0: ["on-a-string"]}),
        "string-cannot-sound-pitch",
    ),
    "change-bow": (
        line("violin", "A4:8 B4:8 C5:8 D5:8 E5:8", words={0: ["ff"]}, slurs=[(0, 4)], section=True),
        "slur-longer-than-bow",
    ),
    "leave-vibrato-off": (
        line("violin", "A4:2 G3:2 A4:4", signs={1: ["molto-vibrato"]}),
        "vibrato-on-open-string",
    ),
    "nearest-dynamic": (
        line("violin", "A4:8 B4:8 C5:8 D5:8 E5:8", words={0: ["ff"]}, slurs=[(0, 4)]),
        "slur-longer-than-bow",
    ),
    "divide": (line("violin", "A4:2 G3-A3:2 A4:4"), "stop-impossible"),
    "break-chord": (line("violin", "A4:2 G3-A3:2 A4:4"), "stop-impossible"),
    "hold-upper-notes": (
        line("violin", "A4:2 G3-D4-B4-G5:4~ G3-D4-B4-G5:4 A4:2", words={0: ["mf"]}),
        "chord-held-too-long",
    ),
    "move-change": (
        line("violin", "A4:4 B4:4 A4:4 C5:4 D5:1", words={4: ["con-sordino"]}),
        "mute-change-too-quick",
    ),
    "natural-harmonic": (
        line("violin", "B4:2 *C5-oC6:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "artificial-harmonic": (
        line("double-bass", "B2:2 *G#2-oC4:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    "stopped-note": (
        line("violin", "B4:2 *C5-oC8:2", signs={1: ["natural-harmonic"]}),
        "harmonic-has-no-node",
    ),
    # A chop is as dry, and no stroke to play a line with.
    "like-technique": (
        line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: ["col-legno-battuto", "fff"]}),
        "dynamic-outside-envelope",
    ),
    "give-technique-up": (
        line("violin", "A4:1 B4:1 A4:2", words={0: ["spiccato", "ff"]}),
        "dynamic-outside-envelope",
    ),
    "slur-in-pairs": (
        line("violin", "A4:1/4 B4:1/4 C5:1/4 B4:1/4 A4:1/4", words={0: ["martele"]}, tempo=190),
        "stroke-too-fast",
    ),
    "leave-note-out": (line("violin", "A4:2 G3-A3:2~ G3-A3:4"), "stop-impossible"),
    "rest-before-change": (
        line("violin", "A4:1 B4:1 C5:1 D5:1", words={2: ["con-sordino"]}),
        "mute-change-too-quick",
    ),
    "octave-meant": (
        line("cello", "C3:1 A5:1 D2:1 A5:1", words={0: ["clef-bass"], 1: ["clef-treble"]}),
        "octave-of-treble-clef-in-doubt",
    ),
    "other-octave": (line("violin", "A4:1 B9:1 A4:2", section=True), "note-above-compass"),
    "other-part": (line("violin", "A4:1 E3:1 A4:2"), "note-below-lowest-string"),
}
"""By remedy a line in which it is no help against a finding of this rule, which names it."""

RESTING = line("viola", "r:4 A4:4")
PLAYING = line("viola", "A4:4 A4:4")


def _of(offered, whole, rule):
    """The remedies offered against the findings of a rule."""
    told = offered(whole)
    assert rule in {found for found, _ in told}
    return {slug for (found, _), slugs in told.items() if found == rule for slug in slugs}


@pytest.mark.parametrize("slug", HELPS)
def test_a_remedy_is_offered_where_it_helps(offered, slug):
    part, rule = HELPS[slug]
    beside = [RESTING] if slug == "other-part" else []
    assert slug in _of(offered, score(part, *beside), rule)


@pytest.mark.parametrize("slug", FAILS)
def test_a_remedy_is_not_offered_where_it_does_not_help(offered, slug):
    part, rule = FAILS[slug]
    beside = [PLAYING] if slug == "other-part" else []
    assert slug not in _of(offered, score(part, *beside), rule)


def test_every_remedy_of_the_graph_is_tried_on_both_sides(knowledge: Knowledge):
    slugs = {remedy.slug for remedy in knowledge.remedies.values()}
    assert set(HELPS) == set(FAILS) == slugs


def test_every_remedy_is_named_by_a_rule_that_it_fails(knowledge: Knowledge):
    """A remedy that the rule does not name would not be offered in any case."""
    rules = {rule.slug: rule for rule in rules_of(knowledge)[0]}
    for slug, (_, rule) in (*HELPS.items(), *FAILS.items()):
        assert slug in {knowledge.remedies[iri].slug for iri in rules[rule].remedies}, slug


def test_what_changes_least_of_the_music_is_offered_first(offered):
    part, rule = HELPS["take-word-away"]
    slugs = offered(score(part))[rule, "violation"][:3]
    assert slugs == ["take-word-away", "other-string", "other-octave"]
    part, rule = HELPS["nearest-dynamic"]
    assert offered(score(part))[rule, "warning"] == ["nearest-dynamic", "like-technique"]
    part, rule = HELPS["fewer-parts"]
    assert offered(score(part))[rule, "violation"] == ["fewer-parts", "take-word-away"]


@pytest.mark.parametrize(
    ("slug", "left"),
    [
        # The bow never stopped: neither the pizzicato nor the arco that ended it is wanted.
        ("left-hand-pizzicato", []),
        ("take-word-away", ["on-d-string"]),
        ("print-arco", ["pizzicato", "arco"]),
        ("take-up-bow", ["pizzicato", "arco", "pizzicato"]),
    ],
)
def test_words_that_are_printed_once_it_is_rewritten(knowledge: Knowledge, slug, left):
    part, rule = HELPS[slug]
    whole = score(part)
    report = check_score(whole, knowledge, file="")
    found = verified_rewritings(report, Workbench(whole, knowledge), most=99)
    (rewriting,) = {
        each.candidate.do: each
        for number, finding in enumerate(report.findings)
        for each in found.get(number, ())
        if finding.rule == rule and each.remedy == slug
    }.values()
    (after,) = rewriting.apply(whole).parts
    words = [(mark.onset, iri) for mark in after.marks for iri in mark.directives]
    assert [iri for _, iri in sorted(words)] == [oq(name).value for name in left]


@pytest.fixture
def sentences(knowledge: Knowledge):
    """What is offered against the findings of a rule, in words."""

    def ask(whole, rule):
        report = check_score(whole, knowledge, file="")
        found = verified_rewritings(report, Workbench(whole, knowledge), most=99)
        return [
            each.candidate.do
            for number, finding in enumerate(report.findings)
            if finding.rule == rule
            for each in found.get(number, ())
        ]

    return ask


@pytest.mark.parametrize(
    "word", ["con-sordino", "sul-ponticello", "flautando", "col-legno-battuto"]
)
def test_nobody_is_asked_to_give_up_what_a_passage_was_written_for(sentences, word):
    whole = score(line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: [word, "fff"]}))
    assert not any("leave out" in do for do in sentences(whole, "dynamic-outside-envelope"))


def test_no_stroke_of_another_family_stands_for_one(knowledge: Knowledge):
    """Chops and spiccato are both called dry."""
    strokes = {technique.slug: technique for technique in knowledge.techniques.values()}
    assert set(strokes["chop"].colours) & set(strokes["spiccato"].colours)
    assert not strokes["chop"].can_stand_for
    assert strokes["sautille"].iri in strokes["spiccato"].can_stand_for
    assert strokes["spiccato"].iri in strokes["sautille"].can_stand_for


@pytest.mark.parametrize(
    ("stroke", "tempo", "instead"), [("spiccato", 180, "sautillé"), ("sautille", 80, "spiccato")]
)
def test_spiccato_and_sautille_change_places_with_the_tempo(sentences, stroke, tempo, instead):
    whole = score(line("violin", RUN, words={0: [stroke, "p"]}, tempo=tempo))
    rule = "stroke-too-fast" if stroke == "spiccato" else "stroke-too-slow"
    (first, *_) = sentences(whole, rule)
    assert first.startswith(f"write {instead} instead of")


def test_harmonics_are_offered_only_where_they_are_in_tune(sentences):
    """C7 of the viola is a seventh partial, 31 cents flat: 1200 log2(7/4) - 1000."""
    flat = score(line("viola", "A4:2 C7:4 A4:2", section=True))
    offered = [do for do in sentences(flat, "note-above-compass") if "harmonic" in do]
    assert offered
    assert not any("natural" in do for do in offered)
    true = score(line("cello", "A3:2 E6:4 A3:2", section=True))
    assert any("natural harmonic" in do for do in sentences(true, "note-above-compass"))


def test_a_run_too_fast_to_pluck_is_bowed_at_most_for_its_own_length(sentences):
    notes = f"A4:1 {RUN} r:1 A4:1 B4:1 A4:1"
    whole = score(line("violin", notes, words={0: ["pizzicato"]}, tempo=160))
    (offered,) = sentences(whole, "pizzicato-too-fast")
    assert offered.startswith("print arco for this run")
    assert "pizzicato after it" in offered


def test_no_harmonic_is_put_into_a_run(sentences):
    run = score(line("cello", "A3:1/4 E6:1/4 A3:1/4 E6:1/4 A3:2", section=True, tempo=120))
    assert not any("harmonic" in do for do in sentences(run, "note-above-compass"))


def test_a_softer_mark_comes_with_what_only_some_grant(sentences):
    whole = score(line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: ["spiccato", "ff"]}))
    first = sentences(whole, "dynamic-outside-envelope")[0]
    assert "the nearest dynamic that all allow for spiccato" in first
    assert first.endswith("some allow f")


def test_the_bass_of_a_chord_moves_last(sentences):
    whole = score(line("violin", "A4:2 C4-E4-G4:2 A4:4", words={0: ["f"]}))
    moved = [do for do in sentences(whole, "stop-impossible") if "octave" in do]
    assert moved == ["write E5 instead of E4: the same note an octave higher"]


def test_a_run_of_double_stops_is_divided_as_a_whole_and_not_broken(sentences):
    notes = "A4:2 " + " ".join(["C5-E6:1/4"] * 8) + " A4:4"
    words = {1: ["non-divisi"]}
    whole = score(line("violin", notes, words=words, section=True, tempo=108))
    offered = sentences(whole, "stop-hard")
    assert any("divide into 2 parts" in do for do in offered)
    assert not any("arpeggio" in do for do in offered)
