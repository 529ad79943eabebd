"""Who may ask: only a page of this server, with its token, in a browser on this machine."""

from hmac import compare_digest

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = "127.0.0.1"
"""The only address that is listened at."""

_NAMES = (LOOPBACK, "localhost")
_SAFE = {
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # With no referrer at all, browsers would not name the origin of a form either.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
"""Headers of every response; one that brings its own keeps it."""


class Guard:
    """Refuses what does not come from a page of this server, before anything looks at it.

    The token is the first part of every path. A page of another site could only ask under that
    site's name (``Host``, after its name was made to lead here) or name itself (``Origin``,
    ``Sec-Fetch-Site``).
    """

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self._app = app
        self._prefix = f"/{token}/".encode()
        self._hosts = frozenset(f"{name}:{port}" for name in _NAMES)
        self._origins = frozenset(f"http://{host}" for host in self._hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return  # nothing else is served
        refusal = self._refusal(scope)
        answer: ASGIApp = self._app
        if refusal:
            answer = PlainTextResponse(f"{refusal}\n", 403)
        await answer(scope, receive, lambda message: _send_safely(send, message))

    def _refusal(self, scope: Scope) -> str:
        headers = Headers(scope=scope)
        if len(headers.getlist("host")) != 1 or headers["host"] not in self._hosts:
            return "Only pages on this machine are served."
        if any(origin not in self._origins for origin in headers.getlist("origin")):
            return "Another page asked."
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin"):
            return "Another site asked."
        path = scope.get("raw_path") or scope["path"].encode()
        if not compare_digest(path[: len(self._prefix)], self._prefix):
            return "The address lacks the token that orchq printed when it started."
        return ""


async def _send_safely(send: Send, message: Message) -> None:
    if message["type"] == "http.response.start":
        headers = MutableHeaders(scope=message)
        for name, value in _SAFE.items():
            headers.setdefault(name, value)
    await send(message)
