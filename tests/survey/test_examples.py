"""The index of places: what it takes from the tables, and that it is well formed."""

from collections import Counter

import pytest
from msgspec.structs import replace
from pyoxigraph import Literal, RdfFormat, Store, parse

import orchq
from orchq.errors import OrchqError
from orchq.survey.place_index import INDEX, MOST_PLACES, examples_turtle
from orchq.survey.rows import ChangeRow, HarmonicRow, PassageRow, StopRow, Work
from orchq.terms import OQ, RDF_TYPE, oq

LARGEST = 3_000_000
"""Bytes that the index may take in the package."""

COMPOSERS = ("haydn", "mozart", "bridge")


@pytest.fixture(scope="module")
def knowledge():
    return orchq.load()


def work(composer, number=1):
    return Work(
        f"tables/{composer}/{number}.mxl", composer, composer.title(), f"Quartet {number}", "",
        "quartets", 100, 4, "marked",
    )  # fmt: skip


def place(work, measure, kind, *values):
    return kind(work.work, "Viola", 2, "viola", "solo", str(measure), measure - 1, 1.0, *values)


def passage(work, measure, *, technique="pizzicato", dynamic="ff", notes=4, text="pizz."):
    return place(work, measure, PassageRow, technique, dynamic, 8, notes, 2.5, "assumed", text)


def change(work, measure, seconds):
    values = ("pluck-bow", "pizzicato", "arco", seconds, 1.0, "marked")
    return place(work, measure, ChangeRow, *values)


def index(knowledge, works, **tables):
    """The triples of an index of these rows, and its text."""
    rows = {name: [] for name in MOST_PLACES} | tables | {"works": works}
    text = examples_turtle(rows, knowledge)
    store = Store()
    store.load(text.encode(), format=RdfFormat.TURTLE)
    return store, text


def measures(store, kind):
    """By file, the measures of a kind of example, in order."""
    found = store.query(
        f"PREFIX oq: <{OQ}> SELECT ?file ?index WHERE {{ ?place a oq:{kind} ; oq:inPart ?part ; "
        "oq:measureIndex ?index . ?work oq:hasPart ?part ; oq:scoreFile ?file } ORDER BY ?index"
    )
    return [(row["file"].value, int(row["index"].value)) for row in found]


def test_what_is_rare_is_all_there(knowledge):
    works = [work("haydn"), work("mozart")]
    rows = [passage(works[0], 3), passage(works[0], 9), passage(works[1], 5)]
    store, _ = index(knowledge, works, passages=rows)
    assert measures(store, "PassageExample") == [
        ("haydn/1.mxl", 2), ("mozart/1.mxl", 4), ("haydn/1.mxl", 8),
    ]  # fmt: skip


def test_of_what_is_common_every_composer_and_work_has_a_turn(knowledge):
    works = [work("haydn", n) for n in range(1, 31)] + [work("mozart"), work("bridge")]
    rows = [passage(each, n) for each in works for n in range(1, 100)]
    store, _ = index(knowledge, works, passages=rows)
    told = Counter(file for file, _ in measures(store, "PassageExample"))
    most = MOST_PLACES["passages"]
    assert sum(told.values()) == most
    by_composer = Counter()
    for file, count in told.items():
        by_composer[file.partition("/")[0]] += count
    assert set(by_composer.values()) == {most // 3}
    assert max(n for file, n in told.items() if file.startswith("haydn")) == 1


def test_each_dynamic_and_technique_is_counted_apart(knowledge):
    works = [work("haydn")]
    rows = [passage(works[0], n) for n in range(1, 100)]
    rows += [passage(works[0], 200, dynamic="pp"), passage(works[0], 201, technique="arco")]
    store, _ = index(knowledge, works, passages=rows)
    assert {200 - 1, 201 - 1} <= {index for _, index in measures(store, "PassageExample")}


def test_passages_right_after_their_words_come_first(knowledge):
    works = [work("haydn")]
    long_after = [passage(works[0], n, notes=90) for n in range(3, 90)]
    rows = [passage(works[0], 2, notes=1), *long_after, passage(works[0], 91, technique="arco"),
            passage(works[0], 92, notes=1)]  # fmt: skip
    store, _ = index(knowledge, works, passages=rows)
    assert {1, 91} <= {index for _, index in measures(store, "PassageExample")}


def test_the_quickest_changes_come_first(knowledge):
    works = [work("haydn")]
    rows = [change(works[0], n, 50 - n / 2) for n in range(1, 100)]
    store, _ = index(knowledge, works, changes=[*rows, change(works[0], 100, None)])
    found = [index + 1 for _, index in measures(store, "ChangeExample")]
    assert found == list(range(100 - MOST_PLACES["changes"], 100))


def test_a_place_is_told_with_what_is_there(knowledge):
    works = [work("haydn")]
    stop = place(works[0], 7, StopRow, "G3 D4 A#4", "7 8", False, False, True, "ff", 8, "easy",
                 1.0, "marked")  # fmt: skip
    harmonic = place(works[0], 8, HarmonicRow, "natural", 1, 2, "A5", "A5")
    store, _ = index(knowledge, works, stops=[stop], harmonics=[harmonic],
                     changes=[change(works[0], 9, 1.5)],
                     passages=[passage(works[0], 6),
                               passage(works[0], 9, technique="arco", dynamic="p", text="col arco"),
                               ])  # fmt: skip

    def facts(kind):
        [node] = (quad.subject for quad in store.quads_for_pattern(None, RDF_TYPE, oq(kind)))
        return {
            (quad.predicate.value.removeprefix(OQ), quad.object.value.removeprefix(OQ))
            for quad in store.quads_for_pattern(node, None, None)
        }

    assert facts("StopExample") >= {
        ("showsSounding", "55 62 70"), ("asPrinted", "G3 D4 A#4"), ("isBroken", "true"),
        ("isUnbowed", "true"), ("mayBeDivided", "true"), ("showsDynamic", "ff"),
    }  # fmt: skip
    # The dynamic of the passage that holds it.
    assert facts("NaturalHarmonicExample") >= {("showsSounding", "81"), ("showsDynamic", "ff")}
    assert facts("ChangeExample") >= {
        ("showsBefore", "pizzicato"), ("showsAfter", "arco"), ("exampleSeconds", "1.5"),
        ("showsDynamic", "p"), ("asPrinted", "col arco"),
    }  # fmt: skip
    store, _ = index(knowledge, works, passages=[passage(works[0], 6)])
    assert facts("PassageExample") >= {
        ("showsTechnique", "pizzicato"), ("eventCount", "4"), ("exampleSeconds", "2.5"),
        ("assumesTempo", "true"), ("asPrinted", "pizz."),
    }  # fmt: skip


def test_the_order_of_rows_does_not_count(knowledge):
    works = [work(composer, n) for composer in COMPOSERS for n in (1, 2)]
    rows = [passage(each, n) for each in works for n in range(1, 40)]
    _, text = index(knowledge, works, passages=rows)
    _, again = index(knowledge, works[::-1], passages=rows[::-1])
    assert text == again


def test_what_a_score_prints_cannot_break_out(knowledge):
    hostile = 'Quartet" . oq:x oq:y "\\ \n\u2028<b>'
    works = [replace(work("haydn"), title=hostile)]
    store, text = index(knowledge, works, passages=[passage(works[0], 1, text=hostile)])
    assert len(list(store.quads_for_pattern(None, None, Literal(hostile)))) == 2
    assert "oq:y" not in {quad.predicate.value for quad in store}
    assert "\nQuartet" not in text


def test_a_file_of_no_data_set_is_refused(knowledge):
    works = [replace(work("haydn"), collection="attic")]
    with pytest.raises(OrchqError, match="data set"):
        index(knowledge, works, passages=[passage(works[0], 1)])


# -------------------------------------------------------- the index that is shipped


@pytest.fixture(scope="module")
def shipped():
    return list(parse(INDEX.read_bytes(), RdfFormat.TURTLE))


def test_the_index_is_small_enough():
    assert INDEX.stat().st_size <= LARGEST


def test_every_term_of_the_index_is_declared(knowledge, shipped):
    used = {
        node.value
        for quad in shipped
        for node in (quad.predicate, quad.object)
        if not isinstance(node, Literal) and node.value.startswith(OQ)
    }
    made = {quad.subject.value for quad in shipped if quad.predicate == RDF_TYPE}
    assert used - made <= knowledge.declared


def test_examples_show_what_the_graph_knows(knowledge, shipped):
    known = {
        "showsTechnique": knowledge.techniques,
        "showsDynamic": knowledge.dynamics,
        "showsBefore": knowledge.directives,
        "showsAfter": knowledge.directives,
        "forInstrument": knowledge.instruments,
        "inDataSet": knowledge.sources,
    }
    for name, kinds in known.items():
        shown = {quad.object.value for quad in shipped if quad.predicate == oq(name)}
        assert shown
        assert shown <= set(kinds)


def test_the_index_tells_places_and_no_music(shipped):
    """No example tells more than one event: none has notes one after another."""
    allowed = {
        "inPart", "measureIndex", "measureNumber", "beat", "showsTechnique", "showsDynamic",
        "showsBefore", "showsAfter", "showsSounding", "isBroken", "isUnbowed", "mayBeDivided",
        "asPrinted", "eventCount", "exampleSeconds", "assumesTempo",
    }  # fmt: skip
    places = {q.subject for q in shipped if q.predicate == oq("inPart")}
    told = Counter((q.subject, q.predicate) for q in shipped if q.subject in places)
    assert set(told.values()) == {1}
    names = {predicate.value.removeprefix(OQ) for _, predicate in told} - {RDF_TYPE.value}
    assert names <= allowed
