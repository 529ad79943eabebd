"""A server within the test, and one in a process of its own."""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from starlette.testclient import TestClient

import orchq
from orchq.app.crew import Crew
from orchq.app.desk import Desk
from orchq.app.serving import server_app
from orchq.settings import settings_of
from tests.browsers import browser, faults, open_address, requested

__all__ = ["browser", "faults", "open_address", "requested"]

TOKEN = "token-of-a-test"  # noqa: S105 - of a server that lives within a test
PORT = 8000
HOPELESS = 60
"""Seconds after which a test that waits has failed."""
SLOW = "tests.app.slow_worker"
DEMO = orchq.demo_path().read_bytes()
SMALL = b"""<score-partwise version="4.0"><part-list>
<score-part id="P1"><part-name>Violin</part-name></score-part>
<score-part id="P2"><part-name>Viola</part-name></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions>
<clef><sign>G</sign><line>2</line></clef></attributes>
<note><pitch><step>F</step><octave>3</octave></pitch><duration>4</duration><type>whole</type></note>
</measure></part>
<part id="P2"><measure number="1"><attributes><divisions>1</divisions>
<clef><sign>C</sign><line>3</line></clef></attributes>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>
</measure></part></score-partwise>"""
"""A violin below its lowest string: one finding, found soon."""


@dataclass
class Page:
    """The pages of a server, as a browser asks for them."""

    client: TestClient
    desk: Desk
    folder: Path

    def get(self, path: str = "", **options):
        return self.client.get(f"/{TOKEN}/{path}", **options)

    def post(self, path: str, **options):
        return self.client.post(f"/{TOKEN}/{path}", **options)

    def drop(self, name: str, data: bytes = SMALL) -> str:
        """Drop a score, and return its address below the token."""
        answer = self.post("scores", params={"name": name}, content=data)
        assert answer.status_code == 201, answer.text
        return answer.text.removeprefix(f"/{TOKEN}/")

    def settled(self, address: str, after: int = 0) -> str:
        """Wait until a check has ended, and return how."""
        score = self.desk.shelf.get(address.split("/")[1])
        begun = time.monotonic()
        while score.state not in ("ready", "failed") or score.version <= after:
            assert time.monotonic() < begun + HOPELESS
            time.sleep(0.02)
        return self.get(f"{address}state").json()["state"]

    def again(self, address: str, path: str, **options) -> str:
        """Post to a score, and wait until the check that follows has ended."""
        before = self.version(address)
        answer = self.post(f"{address}{path}", **options)
        assert answer.status_code == 200, answer.text
        return self.settled(address, before)

    def version(self, address: str) -> int:
        return self.get(f"{address}state").json()["version"]


@pytest.fixture(scope="session")
def start_page(tmp_path_factory) -> Iterator[Callable[..., Page]]:
    """A starter of servers, each in an empty folder."""
    clients: list[TestClient] = []

    def make(**crew) -> Page:
        folder = tmp_path_factory.mktemp("project")

        def found() -> Path | None:
            settings = settings_of(folder)
            return None if settings is None else Path(settings.path)

        desk = Desk(found, folder / "orchq.toml", Crew(**crew))
        app = server_app(desk, TOKEN, PORT, folder)
        client = TestClient(app, base_url=f"http://127.0.0.1:{PORT}", follow_redirects=True)
        client.__enter__()
        clients.append(client)
        return Page(client, desk, folder)

    yield make
    for client in clients:
        client.__exit__(None, None, None)


@pytest.fixture(scope="session")
def _one_page(start_page) -> Page:
    return start_page()


@pytest.fixture(scope="session")
def _one_slow_page(start_page) -> Page:
    return start_page(module=SLOW, memory=1_000_000_000)


@pytest.fixture
def page(_one_page) -> Page:
    """A server with no score open, in an empty folder."""
    return cleared(_one_page)


@pytest.fixture
def slow_page(_one_slow_page) -> Page:
    """The same, with scores that take long or much, by their names."""
    return cleared(_one_slow_page)


def cleared(page: Page) -> Page:
    for score in page.desk.shelf:
        page.post(f"score/{score.key}/close")
    for path in page.folder.iterdir():
        path.unlink()
    return page


@dataclass
class Server:
    """A server in a process of its own, begun as from a terminal."""

    process: subprocess.Popen
    address: str
    folder: Path

    @property
    def port(self) -> int:
        return int(re.search(r":(\d+)/", self.address)[1])

    def end(self, by: int = signal.SIGTERM) -> None:
        self.process.send_signal(by)
        self.process.wait(20)


@pytest.fixture(scope="session")
def start_server(tmp_path_factory) -> Iterator[Callable[..., Server]]:
    """A starter of servers; those that still run are ended."""
    started: list[Server] = []

    def start(*words: str, folder: Path | None = None) -> Server:
        folder = folder or tmp_path_factory.mktemp("served")
        temporary = folder / "temporary"
        temporary.mkdir(exist_ok=True)
        process = subprocess.Popen(
            [sys.executable, "-m", "orchq", "open", "--no-browser", *words],
            cwd=folder,
            env=os.environ
            | {"TMPDIR": str(temporary), "PYTHONPATH": str(Path(orchq.__file__).parents[1])},
            stdout=subprocess.PIPE,
            text=True,
        )
        first = process.stdout.readline()
        server = Server(process, re.search(r"http://\S+", first)[0], folder)
        started.append(server)
        return server

    yield start
    for server in started:
        server.process.kill()
        server.process.wait()
        server.process.stdout.close()
