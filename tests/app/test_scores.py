"""Scores that are dropped and opened: checked, judged anew, accepted, followed, forgotten."""

import re
from concurrent.futures import ThreadPoolExecutor
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

import orchq
from orchq.app import shelf
from orchq.settings import read_settings

from .conftest import DEMO, SMALL


def findings(html):
    """The findings on a page, as sets of (rule, severity, part)."""
    cards = re.findall(r'data-severity="([a-z]+)" data-part="([^"]*)" data-rule="([a-z-]+)"', html)
    return {(rule, severity, unescape(part)) for severity, part, rule in cards}


def expected(data=SMALL, **options):
    with TemporaryDirectory() as folder:
        path = Path(folder) / "score.musicxml"
        path.write_bytes(data)
        report = orchq.check(path, **options)
    return {(each.rule, each.severity, each.part) for each in report.findings}


@pytest.mark.long
def test_a_dropped_score_is_reported_as_check_reports_it(page):
    address = page.drop("lantern.musicxml", DEMO)
    assert page.settled(address) == "ready"
    shown = page.get(address)
    assert findings(shown.text) == expected(DEMO)
    assert '<svg class="music"' in shown.text
    assert "Open now" in page.get().text


@pytest.mark.long
def test_the_findings_come_before_the_engraving(page):
    address = page.drop("lantern.musicxml", DEMO)
    while not page.version(address):
        pass
    early = page.get(address)
    page.settled(address)
    late = page.get(address)
    assert findings(early.text) == findings(late.text)
    assert '<svg class="music"' not in early.text


def test_a_page_does_not_wait_for_the_graph(page, monkeypatch):
    address = page.drop("small.musicxml")
    page.settled(address)
    assert 'class="app-choices"' in page.get(address).text
    monkeypatch.setattr("orchq.app.crew.Crew.offers", None)
    shown = page.get(address).text
    assert 'class="app-panel"' in shown
    assert 'class="app-choices"' not in shown


@pytest.mark.long
def test_choices_are_judged_at_once(page):
    address = page.drop("lantern.musicxml", DEMO)
    page.settled(address)
    page.again(address, "choices", data={"level": "student"})
    shown = page.get(address).text
    assert findings(shown) == expected(DEMO, level="student") != expected(DEMO)
    assert "appeared" in shown
    assert '<option value="student" selected>' in shown


@pytest.mark.long
def test_players_and_extensions_are_choices(page):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    part = page.desk.shelf.get(address.split("/")[1]).parts[0]["id"]
    page.again(address, "choices", data={f"players-{part}": "1", "with": "mandolin"})
    shown = page.get(address).text
    assert findings(shown) == expected(players={part: 1}, knowledge=orchq.load(["mandolin"]))
    assert "Extension in force: mandolin" in shown


@pytest.mark.sampled(3)
@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"level": "god"}, "no level is called"),
        ({"trust": "nobody"}, "no source is called"),
        ({"with": "../../no/such/place"}, "no extension is called"),
    ],
)
def test_a_choice_that_does_not_exist_is_named_and_the_report_stands(page, form, words):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    assert page.again(address, "choices", data=form) == "failed"
    shown = page.get(address).text
    assert words in unescape(shown)
    assert findings(shown) == expected()


@pytest.mark.sampled(5)
@pytest.mark.parametrize("players", ["0", "-1", "1e9", "10000", "x"])
def test_a_number_of_players_that_cannot_be_is_refused(page, players):
    address = page.drop("lantern.musicxml")
    assert page.post(f"{address}choices", data={"players-P1": players}).status_code == 400


def test_an_accepted_finding_is_written_to_the_settings(page):
    (page.folder / "orchq.toml").write_text('# ours\nlevel = "orchestral"\n')
    address = page.drop("a [new] lantern.musicxml")
    page.settled(address)
    before = findings(page.get(address).text)
    reason = 'agreed with "the" cellos \\ as is'
    page.again(address, "accept", data={"number": "1", "reason": reason})
    shown = page.get(address).text
    assert len(findings(shown)) == len(before) - 1
    assert unescape(shown).count(reason) >= 2
    text = (page.folder / "orchq.toml").read_text()
    assert text.startswith('# ours\nlevel = "orchestral"\n')
    settings = read_settings(page.folder / "orchq.toml")
    assert {place.reason for place in settings.accepted} == {reason}
    copy = page.folder / "a [new] lantern.musicxml"
    copy.write_bytes(SMALL)
    outcome = orchq.Project(settings=settings).check(copy)
    assert len(outcome.reports[0].accepted) == 1


@pytest.mark.long
def test_an_acceptance_is_withdrawn(page):
    ours = """# ours
level = "orchestral"

[[accepted]]  # agreed last week
rule = "note-below-lowest-string"
part = "Viola"
measure = "1"
reason = "another file"
file = "other.mxl"

# how grave
[severities]
high-tutti-register = "warning"
"""
    (page.folder / "orchq.toml").write_text(ours)
    address = page.drop("small.musicxml")
    page.settled(address)
    page.again(address, "accept", data={"number": "1", "reason": "because"})
    assert not findings(page.get(address).text)
    page.again(address, "withdraw", data={"number": "1"})
    assert len(findings(page.get(address).text)) == 1
    assert (page.folder / "orchq.toml").read_text().rstrip() == ours.rstrip()
    for number in ("1", "0", "x"):
        assert page.post(f"{address}withdraw", data={"number": number}).status_code == 400


@pytest.mark.long
def test_a_fingering_is_drawn_when_it_is_asked_for(page):
    address = page.drop("lantern.musicxml", DEMO)
    page.settled(address)
    assert 'class="fing"' not in page.get(address).text
    page.again(address, "choices", data={"fingering": "on"})
    assert page.get(address).text.count('class="fing"') > 100


@pytest.mark.sampled(7)
@pytest.mark.parametrize("number", ["0", "99", "-1", "1.5", "", "x", "\uff11"])
def test_a_finding_that_does_not_exist_cannot_be_accepted(page, number):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    answer = page.post(f"{address}accept", data={"number": number, "reason": "because"})
    assert answer.status_code == (200 if number == "\uff11" else 400)
    assert (page.folder / "orchq.toml").exists() == (number == "\uff11")


@pytest.mark.long
def test_an_accepted_finding_needs_a_reason(page):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    assert page.post(f"{address}accept", data={"number": "1", "reason": " "}).status_code == 400


def test_a_followed_score_is_checked_when_it_is_saved(page):
    score = page.folder / "lantern.musicxml"
    score.write_bytes(SMALL)
    answer = page.post("open", data={"path": str(score)})
    address = answer.url.path.split("/", 2)[2]
    page.settled(address)
    before = page.version(address)
    score.write_bytes(SMALL.replace(b"<octave>3", b"<octave>4"))
    page.settled(address, before)
    shown = page.get(address).text
    assert re.search("Saved anew: 0 findings appeared, 1 went", shown)
    assert findings(shown) != expected()


@pytest.mark.long
def test_a_dropped_score_is_renewed_by_its_page(page):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    page.again(address, "file", content=SMALL.replace(b"<octave>3", b"<octave>2"))
    assert "Saved anew" in page.get(address).text


def test_what_is_no_score_is_named(page):
    address = page.drop("broken.musicxml", b"<score-partwise><part>")
    assert page.settled(address) == "failed"
    assert "broken.musicxml" in page.get(address).text
    assert 'class="app-error"' in page.get(address).text


@pytest.mark.sampled(9)
@pytest.mark.parametrize(
    "name",
    [
        "../../../escaped.musicxml",
        "/etc/escaped.musicxml",
        "..",
        "",
        "a/../../b.musicxml",
        "..\\..\\escaped.musicxml",
        "C:\\escaped.musicxml",
        "x\x00y.musicxml",
        "a" * 5000 + ".xml",
        "<img src=x onerror=alert(1)>.musicxml",
        "\u202elxm.musicxml",
    ],
)
def test_the_name_of_a_dropped_score_leads_nowhere(page, name):
    address = page.drop(name)
    (score,) = page.desk.shelf
    assert score.path.parent.parent == page.desk.shelf.folder
    assert list(score.path.parent.iterdir()) == [score.path]
    assert list(page.folder.iterdir()) == []
    assert "<img" not in page.get(address).text


@pytest.mark.parametrize(
    "path",
    [
        "score/../../etc/passwd",
        "score/%2e%2e%2f%2e%2e/",
        "reference/../../etc/passwd",
        "reference/..%2f..%2fetc%2fpasswd",
        "instruments/sheet?name=../../etc/passwd",
    ],
)
def test_an_address_leads_to_no_file(page, path):
    answer = page.get(path)
    assert answer.status_code in (400, 403, 404)
    assert "root:" not in answer.text


@pytest.mark.parametrize(
    "path", ["/dev/zero", "/dev/stdin", "", "missing.mxl", "\x00", "~nobody/x"]
)
def test_only_an_ordinary_file_can_be_opened(page, path):
    answer = page.post("open", data={"path": path})
    assert answer.status_code == 400
    assert 'role="alert"' in answer.text
    assert len(page.desk.shelf) == 0


@pytest.mark.long
def test_ten_scores_at_once_are_all_checked(page):
    with ThreadPoolExecutor(10) as pool:
        addresses = list(pool.map(page.drop, [f"score {n}.musicxml" for n in range(10)]))
    assert len(set(addresses)) == 10
    assert {page.settled(address) for address in addresses} == {"ready"}
    assert len(page.desk.crew.pids) <= 4


@pytest.mark.long
def test_slow_scores_block_neither_pages_nor_the_end(slow_page):
    page = slow_page
    slow = [page.drop(f"slow {n}.musicxml") for n in range(5)]
    assert page.get("instruments/sheet", params={"name": "viola"}).status_code == 200
    assert page.get().status_code == 200
    assert [page.get(f"{each}state").json()["state"] for each in slow].count("waiting") >= 3
    page.post(f"{slow[0]}close")
    page.post(f"{slow[1]}close")
    assert len(page.desk.shelf) == 3


@pytest.mark.long
def test_a_slow_score_leaves_room_for_another(slow_page):
    page = slow_page
    page.drop("slow.musicxml")
    assert page.settled(page.drop("quick.musicxml")) == "ready"


@pytest.mark.long
def test_a_score_that_takes_too_long_is_ended(slow_page, monkeypatch):
    monkeypatch.setattr("orchq.app.desk.LONGEST_CHECK", 0.3)
    page = slow_page
    address = page.drop("endless.musicxml")
    assert page.settled(address) == "failed"
    assert "took longer than 0.3 s" in page.get(address).text


@pytest.mark.long
def test_a_score_that_takes_all_memory_is_ended(slow_page):
    page = slow_page
    address = page.drop("greedy.musicxml")
    assert page.settled(address) == "failed"
    assert "memory" in page.get(address).text
    assert page.settled(page.drop("quick.musicxml")) == "ready"


@pytest.mark.long
def test_not_more_scores_are_open_than_there_is_room_for(page, monkeypatch):
    monkeypatch.setattr(shelf, "MOST_SCORES", 2)
    page.drop("a.musicxml")
    page.drop("b.musicxml")
    answer = page.post("scores", params={"name": "c.musicxml"}, content=SMALL)
    assert answer.status_code == 400
    assert "close one first" in answer.text
    assert len(list(page.desk.shelf.folder.iterdir())) == 2


@pytest.mark.long
def test_a_closed_score_is_forgotten(page):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    assert (
        page.get(f"{address}report.html").content
        == page.desk.shelf.get(address.split("/")[1]).report.encode()
    )
    page.post(f"{address}close")
    assert page.get(address).status_code == 404
    assert list(page.desk.shelf.folder.iterdir()) == []


def test_a_saved_report_stands_alone(page):
    address = page.drop("lantern.musicxml")
    page.settled(address)
    saved = page.get(f"{address}report.html")
    assert saved.headers["content-disposition"].endswith("lantern-report.html")
    assert "app-" not in saved.text
    assert "token" not in saved.text
