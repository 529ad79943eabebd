"""How things are printed: every technique, in words that players know, with an example in notes."""

from collections import Counter

import pytest
from lxml import etree

from orchq.report.plots import plot_svg

SVG = {"svg": "http://www.w3.org/2000/svg"}


def techniques(graph):
    return [t for t in graph.techniques.values() if "ForeignTechnique" not in t.kinds]


def printed(ask, technique):
    [answer] = ask.notation(technique=technique)
    return answer


def test_every_technique_has_words_place_end_example_and_faults(graph):
    """SHACL demands it; the answers hold it all."""
    for technique in techniques(graph):
        answer = printed(graph.ask, technique.iri)
        words = (answer.italian, answer.french, answer.german, answer.english)
        assert all((*words, answer.placed, answer.ends, answer.shown, answer.wrong)), technique
        assert all(": " in wrong for wrong in answer.wrong)
        persists = graph.directives[technique.iri].persists
        assert ("with the words that cancel it" in answer.ends[0]) <= persists, technique


@pytest.mark.long
def test_every_example_is_engraved_with_its_words_and_its_sign(graph):
    for technique in techniques(graph):
        answers = graph.ask.notation(technique=technique.iri)
        _style, *drawn = etree.fromstring(plot_svg(answers, graph).encode())
        [answer] = answers
        assert len(drawn) == len(answer.examples)
        for example, system in zip(answer.examples, drawn, strict=True):
            music = etree.fromstring(f"<music>{example.measures}</music>")
            assert "{" not in example.measures
            counts = Counter(group.get("class") for group in system.iterfind(".//svg:g", SVG))
            assert counts["note"] == len(music.findall(".//note")), technique
            said = [each for each in music.findall(".//dir") if "".join(each.itertext())]
            texts = " ".join("".join(system.itertext()).split())
            assert all("".join(each.itertext()).split()[0] in texts for each in said), technique
            assert counts["artic"] == sum(
                len(each.get("artic").split()) for each in music.findall(".//artic")
            )
            for sign, drawn_as in (("slur", "slur"), ("bTrem", "bTrem"), ("fTrem", "fTrem")):
                assert counts[drawn_as] == len(music.findall(f".//{sign}")), technique


def test_the_sign_of_a_snap_and_what_ends_it(ask):
    """SMuFL 1.4, plucked techniques; MEI 5 data.ARTICULATION "snap"."""
    answer = printed(ask, "snap pizzicato")
    assert {"SMuFL pluckedSnapPizzicatoAbove", "MEI snap"} <= set(answer.sign)
    assert 'artic="snap"' in answer.examples[0].measures
    assert any("arco" in end for end in answer.ends)


def test_harmonics_are_shown_in_both_notations(ask):
    """Grove, pages 664-665: a diamond where it is touched, a small circle at what sounds."""
    natural = "".join(each.measures for each in printed(ask, "natural harmonic").examples)
    assert 'artic="harm"' in natural
    assert 'head.shape="diamond"' in natural
    stopped = [each.measures for each in printed(ask, "artificial harmonic").examples]
    # Berlioz, djvu/29: B4 stopped, E5 touched sounds B6, which stands in brackets above.
    assert 'head.mod="paren"' in stopped[1]
    assert {a.heard for a in ask.sounds(on="violin", base="B4", touch="E5")} == {"B6"}
    [bracketed] = [
        note
        for note in etree.fromstring(stopped[1]).iter("note")
        if note.get("head.mod") == "paren"
    ]
    assert (bracketed.get("pname"), bracketed.get("oct")) == ("b", "6")


def test_the_notes_of_a_natural_harmonic_sound_what_they_say(ask):
    """The circle stands over E6, which the violin sounds; the diamond D5 on A sounds A6."""
    circle = {a.heard for a in ask.sounds(on="violin", pitch="E6") if a.printed == "small circle"}
    assert circle == {"E6"}
    assert [a.heard for a in ask.sounds(on="violin", touch="D5", string="sul A")] == ["A6"]


@pytest.mark.parametrize(
    ("together", "words", "sign"),
    [
        ("sul ponticello, tremolo", "sul ponticello", "bTrem"),
        ("con sordino, pizzicato", "con sordino, pizzicato", "note"),
        ("pizzicato, natural harmonic", "pizzicato", "artic"),
        ("natural harmonic, glissando", "sul G", "gliss"),
        ("sul tasto, non vibrato", "sul tasto, non vibrato", "note"),
    ],
)
def test_what_is_played_at_once_is_printed_together(ask, together, words, sign):
    [example] = printed(ask, together).examples
    music = etree.fromstring(f"<music>{example.measures}</music>")
    assert any(words in "".join(each.itertext()) for each in music.iter("dir"))
    assert music.find(f".//{sign}") is not None


def test_what_excludes_each_other_is_not_printed(ask):
    found = ask.notation(technique="pizzicato, arco")
    assert not found
    assert "exclude each other" in found.remarks[0]


@pytest.mark.parametrize("thing", ["divisi", "unisono", "scordatura", "sul G"])
def test_what_is_no_technique_is_printed_too(graph, thing):
    answer = printed(graph.ask, thing)
    assert answer.placed
    assert answer.wrong
    assert plot_svg(graph.ask.notation(technique=thing), graph)


def test_divided_parts_stand_on_one_staff_or_two(ask):
    staves = [example.staves for example in printed(ask, "divisi").examples]
    assert sorted(staves) == [1, 1, 2]
