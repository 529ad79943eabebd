"""Every IRI that is published leads a browser and a program to where it is described."""

import http.client
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from pyoxigraph import NamedNode

import orchq
from orchq.knowledge.data_files import (
    data_directory,
    dataset_file,
    place_files,
    rule_files,
    shape_files,
    shipped_extensions,
)
from orchq.knowledge.store import read_triples
from orchq.questions.open_graph import weighed_quads
from orchq.report.reference import published
from tests.report.reference.redirects import FOLDERS, redirected

HOST = "https://w3id.org/"
ROOT = Path(__file__).parents[3]
TYPES = {
    "text/turtle": "ttl",
    "application/rdf+xml": "rdf",
    "application/ld+json": "jsonld",
    "application/n-triples": "nt",
}
BROWSER = "text/html,application/xhtml+xml,application/xml;q=0.9,image/avif,*/*;q=0.8"
GROUPS = ("orchq", "excerpt-vocabulary", "rules", "shapes", "places")


def addresses(iris):
    """Folder and address below it of each IRI, without what follows a ``#``."""
    found = set()
    for iri in iris:
        folder, _, address = iri.removeprefix(HOST).partition("#")[0].partition("/")
        found.add((folder, address))
    return found


@pytest.fixture(scope="module")
def iris():
    """All names of ours that the published files use."""
    files = (*rule_files(), *shape_files(), *place_files(), dataset_file())
    files = (*files, *shipped_extensions().values())
    quads = [*weighed_quads(orchq.load()), *(quad for file in files for quad in read_triples(file))]
    found = {
        node.value
        for quad in quads
        for node in (quad.subject, quad.predicate, quad.object)
        if isinstance(node, NamedNode) and node.value.startswith(f"{HOST}orchq")
    }
    return sorted(iri for iri in found if iri.rstrip("/") + "/" not in BASES)


BASES = {f"{HOST}orchq/{name}" for name in ("", "rule/", "shapes/", "places/", "composer/")}


@pytest.fixture(scope="module")
def there(documents):
    """Every place that a redirect may lead to: pages with their anchors, published files."""
    anchors = {
        f"https://PAGES/{page}#{anchor}"
        for page, document in documents.items()
        for anchor in document.xpath("//@id")
    }
    files = {f"https://PAGES/{name}.{end}" for name in GROUPS for end in TYPES.values()}
    single = {"https://PAGES/context.jsonld", "https://PAGES/dataset.ttl"}
    return {*anchors, *files, *single, *(f"https://PAGES/{page}" for page in documents)}


def exists(target, there):
    if target.startswith("https://FILES/"):
        inside = target.removeprefix("https://FILES/").partition("/")[2]
        return (ROOT / inside).is_file() or (data_directory("ontology").parent / inside).is_file()
    return target in there


@pytest.mark.long
def test_every_iri_leads_a_browser_to_what_is_there(iris, there):
    assert len(iris) > 9000
    lost = [
        at for at in sorted(addresses(iris)) if not exists(redirected(*at, accept=BROWSER), there)
    ]
    assert lost == []


@pytest.mark.parametrize("accept", TYPES)
def test_every_iri_leads_a_program_to_a_file(iris, there, accept):
    for at in sorted(addresses(iris)):
        target = redirected(*at, accept=accept)
        assert exists(target, there), at
        if at[0] == "orchq" and "/0." not in target and "FILES/v" not in target:
            right = (f".{TYPES[accept]}", "dataset.ttl", "CHANGELOG.md")
            assert target.endswith(right) or at[1].endswith(tuple(TYPES.values())), at


def test_what_a_file_describes_is_what_leads_there(iris):
    """The names of a kind lead to the file in which they are subjects."""
    homes = {
        "rules": {quad.subject for file in rule_files() for quad in read_triples(file)},
        "shapes": {quad.subject for file in shape_files() for quad in read_triples(file)},
        "places": {quad.subject for file in place_files() for quad in read_triples(file)},
    }
    for name, subjects in homes.items():
        for subject in subjects:
            if isinstance(subject, NamedNode) and subject.value.startswith(f"{HOST}orchq/"):
                at = subject.value.removeprefix(f"{HOST}orchq/")
                assert redirected("orchq", at, "text/turtle") == f"https://PAGES/{name}.ttl", at


def test_published_files_are_those_that_redirects_name():
    assert {*published._groups()} == {*GROUPS}
    assert {*published.ENDINGS.values()} == {*TYPES.values()}


class _Server(BaseHTTPRequestHandler):
    """Answers as the web server of the names does."""

    def do_GET(self):
        folder, _, address = self.path.lstrip("/").partition("/")
        try:
            target = redirected(folder, address, self.headers.get("Accept", ""))
        except KeyError:
            self.send_error(404)
            return
        self.send_response(303)
        self.send_header("Location", target)
        self.end_headers()

    def log_message(self, *_):
        """Nothing is printed."""


@pytest.fixture(scope="module")
def port():
    server = ThreadingHTTPServer(("127.0.0.1", 0), _Server)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server.server_address[1]
    server.shutdown()


KINDS = {
    "orchq/": ("index.html", "index.html"),
    "orchq/ontology": ("index.html", "orchq."),
    "orchq/violin": ("vocabulary.html#violin", "orchq."),
    "orchq/Note": ("vocabulary.html#Note", "orchq."),
    "orchq/limit-compass-violin-berlioz": ("limits.html#limit-compass-violin-berlioz", "orchq."),
    "orchq/term-it-arco": ("glossary.html#term-it-arco", "orchq."),
    "orchq/rule/stop-hard": ("rules.html#stop-hard", "rules."),
    "orchq/rule/note-below-lowest-string-violation": (
        "rules.html#note-below-lowest-string-violation",
        "rules.",
    ),
    "orchq/shapes/structure/event": ("shapes.ttl", "shapes."),
    "orchq/composer/bach": ("places.ttl", "places."),
    "orchq/scope/violin/orchestral": ("limits.html", "orchq."),
    "orchq/excerpt-vocabulary": ("index.html", "excerpt-vocabulary."),
    "orchq/ontology/instruments/viola": ("FILES/main/ontology/instruments/viola.ttl", "orchq."),
    "orchq/context.jsonld": ("context.jsonld", "context.jsonld"),
    "orchq-extensions/mandolin": ("mandolin.html", "FILES/main/ontology/extensions/mandolin.ttl"),
}


def asked(port, path, accept):
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    connection.request("GET", f"/{path}", headers={"Accept": accept})
    answer = connection.getresponse()
    connection.close()
    return answer.status, (answer.getheader("Location") or "").removeprefix("https://")


@pytest.mark.loopback
@pytest.mark.parametrize("path", KINDS)
def test_a_server_answers_for_every_kind_of_name(port, path):
    page, file = KINDS[path]
    browser = page if page.startswith("FILES") else f"PAGES/{page}"
    assert asked(port, path, BROWSER) == (303, browser)
    for accept, ending in TYPES.items():
        expected = file + ending if file.endswith(".") else file
        program = expected if expected.startswith("FILES") else f"PAGES/{expected}"
        assert asked(port, path, f"{accept}, */*;q=0.1") == (303, program)


@pytest.mark.loopback
def test_a_server_knows_no_other_names(port):
    assert asked(port, "orchq/ontology/a/b/c", BROWSER)[0] == 404
    assert {*FOLDERS} == {"orchq", "orchq-extensions"}


@pytest.mark.parametrize(
    ("folder", "address", "file"),
    [
        ("orchq", "0.1.0/ontology", "https://FILES/v0.1.0/ontology/orchq.ttl"),
        ("orchq", "0.1.0/ontology/words/clefs", "https://FILES/v0.1.0/ontology/words/clefs.ttl"),
        (
            *("orchq-extensions", "0.1.0/mandolin"),
            "https://FILES/v0.1.0/ontology/extensions/mandolin.ttl",
        ),
    ],
)
def test_versions_lead_to_files_that_are_there(folder, address, file):
    assert redirected(folder, address) == file
    inside = file.removeprefix("https://FILES/v0.1.0/ontology/")
    assert (data_directory("ontology") / inside).is_file()
