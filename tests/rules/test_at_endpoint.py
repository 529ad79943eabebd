"""The rules on a SPARQL 1.1 server: Oxigraph's own, from the PyPI package oxigraph."""

import http.server
import json
import shutil
import socket
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

import orchq
from orchq.cli.app import main
from orchq.errors import OrchqError
from orchq.rules.at_endpoint import Endpoint

HERE = "127.0.0.1"


def free_port() -> int:
    with socket.create_server((HERE, 0)) as server:
        return int(server.getsockname()[1])


@pytest.fixture
def store() -> Iterator[str]:
    """The address of a running server."""
    beside = Path(sys.executable).with_name("oxigraph")
    program = str(beside) if beside.exists() else shutil.which("oxigraph")
    if program is None:
        pytest.skip("the server is not installed: pip install oxigraph")
    bind = f"{HERE}:{free_port()}"
    with subprocess.Popen([program, "serve", "--bind", bind], stderr=subprocess.DEVNULL) as server:
        try:
            for _ in range(100):
                try:
                    urllib.request.urlopen(f"http://{bind}/store", timeout=5).close()
                    break
                except OSError:
                    time.sleep(0.1)
            yield f"http://{bind}"
        finally:
            server.terminate()


@pytest.mark.loopback
def test_a_server_finds_what_a_check_finds(store, capsys):
    """Events, rules and severities of the packaged piece, which breaks sixteen rules."""
    triples = orchq.export(orchq.demo_path(), format="nt", derived=True)
    request = urllib.request.Request(  # noqa: S310 - on this machine
        f"{store}/store?default", triples.encode(), {"Content-Type": "application/n-triples"}
    )
    urllib.request.urlopen(request, timeout=60).close()  # noqa: S310
    assert main(["endpoint", f"{store}/query", "--format", "json"]) == 1
    told = json.loads(capsys.readouterr().out)
    (report,) = orchq.Project(advice=False).check(orchq.demo_path()).reports
    expected = {
        (place.event, finding.rule, finding.severity)
        for finding in report.findings
        for place in finding.all_places
    }
    assert {(each["event"], each["rule"], each["severity"]) for each in told} == expected
    first = report.findings[0]
    assert {"part": first.part, "measure": first.measure, "beat": first.beat} in [
        {name: each[name] for name in ("part", "measure", "beat")} for each in told
    ]
    slug = first.rule
    main(["endpoint", f"{store}/query", "--rules", slug, "--format", "json"])
    assert {each["rule"] for each in json.loads(capsys.readouterr().out)} == {slug}


class Elsewhere(http.server.BaseHTTPRequestHandler):
    """Answers by sending the client to another address, or with what is no result."""

    def do_POST(self):
        self.server.asked.append(self.path)
        if self.path == "/moved":
            self.send_response(307)
            self.send_header("Location", "/other")
            self.end_headers()
        else:
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b"<html>")

    def log_message(self, *_):
        pass


@pytest.mark.loopback
@pytest.mark.parametrize("path", ["/moved", "/page"])
def test_a_server_that_answers_otherwise_is_named_and_no_other_is_opened(path):
    with http.server.HTTPServer((HERE, 0), Elsewhere) as server:
        server.asked = []
        threading.Thread(target=server.serve_forever, daemon=True).start()
        address = f"http://{HERE}:{server.server_port}{path}"
        with pytest.raises(OrchqError, match=path):
            list(Endpoint(address).select("SELECT * WHERE { ?a ?b ?c }"))
        server.shutdown()
        assert server.asked == [path]


@pytest.mark.loopback
def test_nobody_there_is_an_error_of_one_sentence(capsys):
    assert main(["endpoint", f"http://{HERE}:{free_port()}/query"]) == 2
    assert "does not answer" in capsys.readouterr().err


@pytest.mark.parametrize("address", ["file:///etc/passwd", "ftp://x/y", "query", "http:///x"])
def test_what_is_no_address_of_http_is_refused(address):
    with pytest.raises(OrchqError, match="http://"):
        Endpoint(address)
