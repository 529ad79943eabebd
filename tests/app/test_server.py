"""The server in a process of its own: what it listens at, bounds, and leaves behind."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.request import Request, urlopen

import pytest

import orchq

from .conftest import DEMO, HOPELESS

pytestmark = pytest.mark.loopback
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="it is looked up in /proc")
MEGABYTE = bytes(1_000_000)


@pytest.fixture(scope="module")
def server(start_server):
    return start_server()


def resident(pid):
    """The megabytes of memory that a process holds."""
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


def refused_upload(server, head):
    """Send 300 MB, or as much as is taken, and return what is answered."""
    host = f"127.0.0.1:{server.port}"
    path = server.address.split(host)[1]
    with socket.create_connection(("127.0.0.1", server.port), 30) as peer:
        start = f"POST {path}scores?name=a.mxl HTTP/1.1\r\nHost: {host}\r\n{head}\r\n\r\n"
        peer.sendall(start.encode())
        sent = 0
        try:
            while sent < 300:
                chunk = MEGABYTE
                if "chunked" in head:
                    chunk = b"%x\r\n%b\r\n" % (len(chunk), chunk)
                peer.sendall(chunk)
                sent += 1
        except ConnectionError:
            pass
        try:
            return sent, peer.recv(100)
        except ConnectionError:
            return sent, b""


@LINUX
@pytest.mark.parametrize(
    ("head", "most"), [("Content-Length: 300000000", 60), ("Transfer-Encoding: chunked", 260)]
)
def test_a_score_of_300_megabytes_is_refused(server, head, most):
    before = resident(server.process.pid)
    sent, answer = refused_upload(server, head)
    assert answer.startswith(b"HTTP/1.1 413") or (not answer and sent < most)
    assert resident(server.process.pid) < before + 50
    kept = [path for path in (server.folder / "temporary").rglob("*") if path.is_file()]
    assert kept == []
    with urlopen(server.address) as start:  # noqa: S310 - our own
        assert start.status == 200


@LINUX
def test_it_listens_at_loopback_alone(server):
    listening = [
        line.split()[1]
        for line in Path("/proc/net/tcp").read_text().splitlines()
        if line.split()[1].endswith(f":{server.port:04X}")
    ]
    assert listening
    assert set(listening) == {f"0100007F:{server.port:04X}"}


@LINUX
@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_nothing_is_kept_and_no_process_stays(start_server, by):
    server = start_server()
    posted = Request(f"{server.address}scores?name=a.musicxml", DEMO)  # noqa: S310 - our own
    urlopen(posted).read()  # noqa: S310 - our own
    assert list((server.folder / "temporary").rglob("*.musicxml"))
    pid = server.process.pid
    children = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    assert children
    server.end(by)
    assert list((server.folder / "temporary").iterdir()) == []
    gone = time.monotonic() + HOPELESS
    while any(Path(f"/proc/{pid}").exists() for pid in children):
        assert time.monotonic() < gone
        time.sleep(0.05)
    assert [path.name for path in server.folder.iterdir()] == ["temporary"]


def test_a_page_ends_it(start_server):
    server = start_server(os.fspath(orchq.demo_path()))
    root = server.address.split("score/")[0]
    posted = Request(f"{root}end", b"")  # noqa: S310 - our own
    with urlopen(posted) as answer:  # noqa: S310 - our own
        assert b"has ended" in answer.read()
    assert server.process.wait(20) == 0


def test_a_port_in_use_is_named(server):
    ended = subprocess.run(
        [sys.executable, "-m", "orchq", "open", "--no-browser", "--port", str(server.port)],
        capture_output=True,
        text=True,
        check=False,
        env=os.environ | {"PYTHONPATH": str(Path(orchq.__file__).parents[1])},
    )
    assert ended.returncode == 2
    assert ended.stderr.startswith(f"orchq: port {server.port} cannot be used")
