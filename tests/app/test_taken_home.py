"""Copies of a score that are taken home from the page: annotated, corrected, stripped again."""

import pytest

import orchq

from .conftest import DEMO, SMALL


def test_an_annotated_copy_is_the_score_once_it_is_stripped(page):
    address = page.drop("small.musicxml")
    page.settled(address)
    saved = page.get(f"{address}annotated.musicxml")
    assert "small-annotated.musicxml" in saved.headers["content-disposition"]
    assert saved.content != SMALL
    assert orchq.without_annotations(saved.content) == SMALL


@pytest.mark.long
def test_a_chosen_proposal_is_carried_out_in_a_copy(page):
    address = page.drop("lantern.musicxml", DEMO)
    page.settled(address)
    before = page.desk.shelf.get(address.split("/")[1])
    number = next(n for n, each in enumerate(before.found, 1) if each["proposals"])
    answer = page.post(f"{address}apply", data={"chosen": f"{number}.1"})
    corrected = answer.url.path.split("/", 2)[2]
    page.settled(corrected)
    after = page.desk.shelf.get(corrected.split("/")[1])
    assert "nothing left, nothing new" in after.remark
    assert len(after.found) == len(before.found) - 1
    assert page.get(f"{corrected}score").content != DEMO
    assert page.get(f"{address}score").content == DEMO


def test_a_proposal_that_does_not_exist_is_refused(page):
    address = page.drop("small.musicxml")
    page.settled(address)
    for chosen in ("99", "1.99", "x", "../1"):
        assert page.post(f"{address}apply", data={"chosen": chosen}).status_code == 400
    assert page.post(f"{address}apply", data={}).status_code == 400
    assert len(page.desk.shelf) == 1
