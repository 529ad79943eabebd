"""The house of an invented orchestra, whole or spoilt, and a passage that its rule is about."""

import shutil
from pathlib import Path

import pytest

from orchq.cli.app import main

HOUSE = Path(__file__).with_name("house")
RULE, FACTS, QUESTION = "no-col-legno.ttl", "ours.ttl", "our-loudness.rq"
PASSAGE = """\
@prefix ex: <https://example.org/passage#> .
@prefix oq: <https://w3id.org/orchq/> .

ex:passage a oq:Excerpt ; oq:hasPart ex:violins .
ex:violins a oq:Part ; oq:partName "Violins" ; oq:forInstrument oq:violin ; oq:isSection true ;
    oq:hasEvent ex:struck , ex:drawn , ex:bounced .
ex:struck a oq:Event ; oq:measureIndex 0 ; oq:beat 1 ; oq:onset 0 ; oq:duration 1 ;
    oq:marked oq:col-legno-battuto ; oq:hasNote ex:a .
ex:drawn a oq:Event ; oq:measureIndex 0 ; oq:beat 2 ; oq:onset 1 ; oq:duration 1 ;
    oq:marked oq:col-legno-tratto ; oq:hasNote ex:b .
ex:bounced a oq:Event ; oq:measureIndex 0 ; oq:beat 3 ; oq:onset 2 ; oq:duration 1 ;
    oq:marked oq:spiccato ; oq:hasNote ex:c .
ex:a a oq:Note ; oq:pitch "A4" .
ex:b a oq:Note ; oq:pitch "A4" .
ex:c a oq:Note ; oq:pitch "A4" .
"""


@pytest.fixture
def house(tmp_path):
    """A maker of the house; what is given as (old, new) is changed in a file, ``None`` left out."""

    def make(**changes):
        folder = tmp_path / "house"
        if folder.exists():
            shutil.rmtree(folder)
        shutil.copytree(HOUSE, folder)
        for name, change in changes.items():
            path = folder / {"rule": RULE, "facts": FACTS, "question": QUESTION}[name]
            if change is None:
                path.unlink()
                continue
            text = path.read_text(encoding="utf-8")
            old, new = change
            assert old in text
            path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return folder

    return make


@pytest.fixture
def passage(tmp_path):
    """A passage struck with the stick, drawn with the stick, and bounced."""
    path = tmp_path / "passage.ttl"
    path.write_text(PASSAGE, encoding="utf-8")
    return path


@pytest.fixture
def run(capfd, monkeypatch, tmp_path):
    """Call the command line in a folder without settings: exit code, output, errors."""
    monkeypatch.chdir(tmp_path)

    def call(*words):
        code = main([str(word) for word in words])
        out, err = capfd.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return call
