"""Each remedy is offered where it helps, and is not where it would not."""

import pytest

from orchq.knowledge import Knowledge
from orchq.rules.checking import rules_of

from .conftest import line, score

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
    "take-up-bow": (
        line("violin", "A4:1 B4:1 C5:1 D5:1", words={0: ["pizzicato"]}, signs={2: ["down-bow"]}),
        "arco-missing-after-pizzicato",
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
        line("violin", "A4:2 G3-D4-B4-G5:4 r:2 A4:4", words={0: ["f"]}),
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
        line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: ["spiccato", "ff"]}),
        "dynamic-outside-envelope",
    ),
    "slur-in-pairs": (
        line("violin", " ".join(["A4:1/4 B4:1/4 C5:1/4 B4:1/4"] * 3), tempo=225),
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
        line("cello", "C3:1 C6:1 D6:1 C6:1", words={0: ["clef-bass"], 1: ["clef-treble"]}),
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
    "take-up-bow": (
        line("violin", "A5:1 B5:1 E6:1 B5:1 A5:1 B5:1", words={0: ["pizzicato"]}, tempo=500),
        "note-above-technique-compass",
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
        line("violin", "A4:2 G3-D4-B4-G5:4~ G3-D4-B4-G5:4 A4:2", words={0: ["f"]}),
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
    # A word that says less than the one refused is no way out.
    "like-technique": (
        line("violin", "A4:1 B4:1 A4:1 B4:1", words={0: ["artificial-harmonic", "ff"]}),
        "dynamic-outside-envelope",
    ),
    "give-technique-up": (
        line("violin", "A4:1 B4:1 A4:2", words={0: ["ff"]}, signs={0: ["spiccato"]}),
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
    slugs = offered(score(part))[rule, "warning"]
    assert slugs == ["nearest-dynamic", "like-technique", "give-technique-up"]
    part, rule = HELPS["fewer-parts"]
    assert offered(score(part))[rule, "violation"] == ["fewer-parts", "take-word-away"]
