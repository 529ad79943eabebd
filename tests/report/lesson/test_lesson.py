"""A teacher's sheet: places with measures, exercises with caution, a quiz whose answers hold."""

from importlib.resources import files
from pathlib import Path

import pytest
from lxml.html import fromstring

import orchq
from orchq.errors import OrchqError
from orchq.report.lesson import LessonPlan, lesson_page
from orchq.report.lesson.quiz import quiz

GRAPH = orchq.load()
DEMO = Path(str(files("orchq") / "demo" / "lantern-street.musicxml"))
ASKED = ["pizzicato", "sul ponticello", "con sordino", "spiccato", "natural harmonic"]


@pytest.fixture(scope="module")
def demo():
    return {"demo": orchq.read(DEMO, GRAPH)}


def page(plan, scores=None):
    return fromstring(lesson_page(GRAPH, plan, scores))


def texts(document, path):
    return [" ".join(each.text_content().split()) for each in document.xpath(path)]


@pytest.mark.long
def test_a_technique_is_found_in_scores(demo):
    """The demo's cellos pluck from measures 9, 15 and 18 on, as its MusicXML prints."""
    found = page(LessonPlan("pizzicato", on="cello"), demo)
    places = texts(found, "//table[@id='places']/tbody/tr/th")
    assert places == [f"demo: Cellos, m. {number}, beat 1" for number in (9, 15, 18)]
    assert "pizz." in texts(found, "//table[@id='places']/tbody/tr[1]/td[2]")


def test_a_register_is_found_in_scores(demo):
    found = page(LessonPlan(register="G string of the violin"), demo)
    places = texts(found, "//table[@id='places']/tbody/tr/th")
    assert places[0] == "demo: Violins I, m. 5 to m. 8"
    assert not any("Viola" in place for place in places)


@pytest.mark.long
def test_without_scores_the_index_answers():
    places = texts(page(LessonPlan("con sordino")), "//table[@id='places']/tbody/tr/th")
    index = GRAPH.ask.examples(technique="con sordino", limit=12)
    assert len(places) == len(index) > 0
    assert all(str(answer.place) in place for answer, place in zip(index, places, strict=True))


@pytest.mark.long
def test_exercises_defer_to_player_and_teacher():
    found = page(LessonPlan("spiccato"))
    assert any("bow fall on an open string" in each for each in texts(found, "//ul/li"))
    assert any(
        "without pain" in each or "none with pain" in each for each in texts(found, "//ul/li")
    )
    assert "teacher" in texts(found, "//p[@class='caution']")[0]


@pytest.mark.long
@pytest.mark.parametrize("technique", ASKED)
def test_the_quiz_has_one_right_answer_and_its_sources(technique):
    found = page(LessonPlan(technique))
    asked = found.xpath("//ol[@class='quiz']/li")
    answers = texts(found, "//section[@id='answers']/ol[1]/li")
    assert len(asked) == len(answers) >= 6
    sources = {f"#{each}" for each in found.xpath("//section[@id='answers']//@id")}
    for item, answer in zip(asked, answers, strict=True):
        choices = [" ".join(each.text_content().split()) for each in item.xpath("./ol/li")]
        letter, _, said = answer.partition(": ")
        assert len(choices) == len(set(choices)) == 4
        assert said.startswith(choices["abcd".index(letter)])
    cited = found.xpath("//section[@id='answers']/ol[1]/li//a/@href")
    assert cited
    assert set(cited) <= sources


@pytest.mark.sampled(9, "nightly")
@pytest.mark.parametrize("slug", ASKED)
def test_what_the_quiz_calls_right_is_what_the_graph_answers(slug):
    technique = GRAPH.ask.names.technique(slug)
    cello = GRAPH.ask.names.instrument("cello")
    for seed in range(5):
        for item in quiz(GRAPH, cello, technique, seed=seed, most=30):
            right = item.choices[item.right]
            wrong = [each for each in item.choices if each != right]
            if "words ask for" in item.question:
                meant = [GRAPH.recognise(each).directives for each in (right, *wrong)]
                assert [technique.iri in each for each in meant] == [True, False, False, False]
            elif item.question.startswith("Which part"):
                [part] = GRAPH.ask.parts(part=right)
                assert technique.label in part.techniques


@pytest.mark.long
def test_the_seed_decides_the_quiz():
    technique = GRAPH.ask.names.technique("pizzicato")
    violin = GRAPH.ask.names.instrument("violin")
    one, same, other = (quiz(GRAPH, violin, technique, seed=seed, most=10) for seed in (7, 7, 8))
    assert one == same != other


@pytest.mark.long
def test_the_answers_are_no_hint_on_the_page_of_the_questions():
    """The right letters are not always the same, and stand on a page of their own in print."""
    found = lesson_page(GRAPH, LessonPlan("pizzicato"))
    letters = {each[0] for each in texts(fromstring(found), "//section[@id='answers']/ol[1]/li")}
    assert len(letters) > 1
    assert "#quiz, #answers { break-before: page; }" in found


@pytest.mark.parametrize(
    "plan",
    [LessonPlan(), LessonPlan("pizzicato", "G string of the violin"), LessonPlan("kazoo"),
     LessonPlan(register="H string"), LessonPlan("pizzicato", on="kazoo")],
)  # fmt: skip
def test_what_no_lesson_is_about(plan):
    with pytest.raises(OrchqError):
        lesson_page(GRAPH, plan)
