"""The page of a survey tells what rows hold, counted here by hand, beside what others state."""

import re
from base64 import b64decode

import pytest

import orchq
from orchq.report.survey import survey_page
from orchq.report.survey.survey_tables import SurveyTables
from orchq.survey.rows import TABLES, ChangeRow, PassageRow, PitchRow, WordRow, Work

HERE = ("one.musicxml", "Violin <b>", 0, "violin", "solo", "1", 0, 1.0)
THERE = ("two.musicxml", "Violin", 0, "violin", "solo", "1", 0, 1.0)
SECONDS = (0.2, 0.4, 0.6, 0.8, 3.0)


@pytest.fixture(scope="module")
def graph():
    return orchq.load()


@pytest.fixture(scope="module")
def tables():
    made = dict.fromkeys(TABLES, ())
    made["works"] = [
        Work("one.musicxml", "haydn", "Haydn", "A <script>", "", "few", 120, 1, "marked"),
        Work("two.musicxml", "bridge", "Bridge", "B", "", "few", 80, 2, "none"),
    ]
    made["pitches"] = [
        *(PitchRow(*HERE, "arco", midi, name, 20) for midi, name in ((67, "G4"), (69, "A4"))),
        *(PitchRow(*THERE, "arco", midi, name, 500) for midi, name in ((71, "B4"), (72, "C5"))),
        PitchRow(*THERE, "arco", 100, "E7", 1),
    ]
    made["passages"] = [
        *[PassageRow(*HERE, "pizzicato", "p", 4, 8, 2.0, "marked", "pizz.")] * 4,
        PassageRow(*THERE, "pizzicato", "ff", 8, 8, 2.0, "marked", "pizz."),
        *[PassageRow(*THERE, "pizzicato", "", None, 8, 2.0, "marked", "pizz.")] * 9,
        *[PassageRow(*HERE, "spiccato", "p", 4, 8, 2.0, "marked", "")] * 4,
    ]
    made["changes"] = [
        *(ChangeRow(*HERE, "pluck-bow", "arco", "pizzicato", s, 1.0, "marked") for s in SECONDS),
        ChangeRow(*HERE, "pluck-bow", "arco", "pizzicato", None, 1.0, "none"),
    ]
    made["words"] = [
        WordRow(*HERE, "pizz.", "pizzicato", "", 9, technique_words=True),
        WordRow(*HERE, "sul <i>crusto", "", "crusto", 1, technique_words=True),
        WordRow(*HERE, "Fine", "", "fine", 7, technique_words=False),
    ]
    return made


@pytest.fixture(scope="module")
def page(tables, graph):
    return survey_page(tables, graph)


@pytest.mark.long
def test_broken_lines_are_named_and_no_box_is_white_in_the_dark(page):
    drawn = [b64decode(data).decode() for data in re.findall(r"svg\+xml;base64,([\w+/=]+)", page)]
    assert len(drawn) == 2
    for svg in drawn:
        assert "prefers-color-scheme:dark" in svg
        assert not re.search(r"#000000|fill: ?#ffffff", svg)
    for who in ("memory", "Berlioz"):
        assert re.search(rf"<text[^>]*>{who}", drawn[0])


@pytest.fixture
def rows(tables, graph):
    made = {table.key: table for table in SurveyTables(tables, graph).all()}
    return lambda key: [
        dict(zip(made[key].heads, row.cells, strict=True)) for row in made[key].rows
    ]


def test_what_was_read_is_counted(rows):
    [row] = rows("collections")
    assert (row["files"], row["composers"], row["string parts"], row["notes"]) == (
        *("2", "2"),
        *("3", "200"),
    )
    assert row["tempo"] == "1 marked, 1 none"


def test_the_compass_stands_beside_that_of_books(rows):
    [row] = rows("compass")
    assert (row["lowest"], row["highest"], row["999 of 1,000 up to"]) == ("G4", "E7", "C5")
    assert (row["notes"], row["composers"]) == ("1,041", "2")
    assert "C7 (Berlioz" in row["highest that others state"]


def test_techniques_are_told_by_printed_dynamic_and_only_where_there_are_five(rows):
    [row] = rows("dynamics")
    assert (row["technique"], row["p"], row["ff"], row["f"]) == ("pizzicato", "4", "1", "")
    assert "(common practice)" in row["what others state"]


def test_times_go_from_the_usual_to_the_least(rows):
    [row] = rows("changes")
    assert (row["passages"], row["median"], row["extreme"]) == ("5", "0.60", "0.20")
    assert row["what others state"] == "0.5 (memory)"


def test_only_words_for_ways_of_playing_count_as_not_known(tables, graph):
    [table] = [each for each in SurveyTables(tables, graph).all() if each.key == "words"]
    assert [row.cells for row in table.rows] == [("sul <i>crusto", "1")]
    assert "90.0% of 10" in table.lead


def test_nothing_from_a_score_becomes_part_of_the_page(page):
    assert "<i>" not in page
    assert "<script" not in page
    assert "sul &lt;i&gt;crusto" in page


def test_a_survey_of_nothing_has_a_page(graph):
    page = survey_page(dict.fromkeys(TABLES, ()), graph)
    assert "0 files" in page


def test_every_link_leads_to_a_section(page):
    assert set(re.findall(r'href="#([\w-]+)"', page)) <= set(re.findall(r'id="([\w-]+)"', page))


@pytest.mark.loopback
@pytest.mark.parametrize("width", [390, 1400])
def test_it_opens_quietly_and_is_no_wider_than_the_window(
    open_page, requested, page, tmp_path, width
):
    path = tmp_path / "index.html"
    path.write_text(page, encoding="utf-8")
    browser = open_page(path, width=width)
    assert browser.get_log("browser") == []
    assert requested(browser) == [browser.current_url]
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width


@pytest.mark.loopback
@pytest.mark.parametrize("colours", ["light", "dark"])
def test_no_fault_of_accessibility(open_page, faults, page, tmp_path, colours):
    path = tmp_path / "index.html"
    path.write_text(page, encoding="utf-8")
    open_page(path, colours=colours)
    assert faults() == []
