"""The server put together, and run until it is ended."""

import asyncio
import contextlib
import secrets
import signal
import socket
from collections.abc import AsyncIterator, Callable, Sequence
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Mount
from starlette.types import ASGIApp

from orchq.app.desk import Desk
from orchq.app.guard import LOOPBACK, Guard
from orchq.app.own_pages import own_page
from orchq.app.page_routes import PageRoutes
from orchq.app.score_routes import ScoreRoutes
from orchq.app.shell import framed
from orchq.errors import OrchqError

_TOKEN_BYTES = 24


def server_app(
    desk: Desk,
    token: str,
    port: int,
    folder: Path,
    files: Sequence[Path] = (),
    end: Callable[[], None] = lambda: None,
) -> ASGIApp:
    """The application: every address lies below the token.

    ``folder`` is the one whose scores the first page lists, ``files`` are opened at once, and
    ``end`` is called when a page asks the server to end.
    """
    root = f"/{token}/"
    scores = ScoreRoutes(desk, root, folder, end)
    pages = PageRoutes(desk.crew, root)

    @contextlib.asynccontextmanager
    async def lifespan(_: Starlette) -> AsyncIterator[None]:
        desk.crew.warm_up()
        for file in files:
            desk.open(file)
        following = asyncio.create_task(desk.follow())
        try:
            yield
        finally:
            following.cancel()
            await desk.end()

    async def refused(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 400
        sentence = error.detail if isinstance(error, HTTPException) else str(error)
        if "text/html" not in request.headers.get("accept", ""):
            return PlainTextResponse(f"{sentence}\n", status)
        page = own_page("refused", title="This cannot be shown", sentence=sentence, root=root)
        return framed(page, root, "refused", status=status)

    app = Starlette(
        routes=[Mount(f"/{token}", routes=[*scores.table(), *pages.table()])],
        exception_handlers={HTTPException: refused, OrchqError: refused},
        lifespan=lifespan,
    )
    return Guard(app, token, port)


async def serve(
    desk: Desk,
    files: Sequence[Path],
    folder: Path,
    *,
    port: int,
    ready: Callable[[str], None],
) -> None:
    """Serve pages on this machine until they, or a signal, end it.

    ``ready`` is called with the address of the first page, or of the first file, as soon as it
    can be opened. ``port`` is any free one when 0. Raises ``OrchqError`` when it is taken.
    """
    with _listening(port) as listener:
        port = listener.getsockname()[1]
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        server: uvicorn.Server

        def end() -> None:
            server.should_exit = True

        app = server_app(desk, token, port, folder, files, end)
        server = _Server(
            uvicorn.Config(app, log_level="error", access_log=False, server_header=False),
            lambda: ready(f"http://{LOOPBACK}:{port}/{token}/{desk.first_address}"),
        )
        if hasattr(signal, "SIGHUP"):  # the terminal is closed
            signal.signal(signal.SIGHUP, lambda *_: end())
        await server.serve(sockets=[listener])


class _Server(uvicorn.Server):
    """Says when it has begun to listen."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            self._ready()


def _listening(port: int) -> socket.socket:
    try:
        return socket.create_server((LOOPBACK, port))
    except OSError as error:
        raise OrchqError(f"port {port} cannot be used: {error.strerror}") from error
