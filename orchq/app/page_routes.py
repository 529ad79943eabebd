"""The addresses of what can be leafed through: sheets, words, rules and sources."""

import asyncio
from collections.abc import Mapping
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from orchq.app.crew import Crew
from orchq.app.own_pages import own_page
from orchq.app.shell import CHAPTERS, framed
from orchq.errors import OrchqError

LONGEST_PAGE = 60.0
"""Seconds that a page may take to be made."""


class PageRoutes:
    """The handlers of pages that need no score; what all may ask for is made once."""

    def __init__(self, crew: Crew, root: str) -> None:
        self._crew = crew
        self._root = root
        self._reference: asyncio.Task[Mapping[str, str]] | None = None

    def table(self) -> list[BaseRoute]:
        """Every address with its handler."""
        pages = {
            "/questions/": self.questions,
            "/questions/{name}": self.question,
            "/questions/{name}/drawing.svg": self.drawing,
            "/instruments/": self.instruments,
            "/instruments/sheet": self.sheet,
            "/reference/{name}": self.reference,
        }
        return [Route(path, handler, methods=["GET"]) for path, handler in pages.items()]

    async def questions(self, _: Request) -> Response:
        """Every question, with examples."""
        message = await self._answer({"do": "questions", "root": self._root})
        return framed(message["page"], self._root, "questions/")

    async def question(self, request: Request) -> Response:
        """The form of a question, and the answers when it was sent."""
        message = await self._answer(self._asked(request, "question"))
        return framed(message["page"], self._root, "questions/", status=message["status"])

    async def drawing(self, request: Request) -> Response:
        """The answers as a drawing, which may have styles of its own and nothing else."""
        message = await self._answer(self._asked(request, "drawing"))
        policy = "default-src 'none'; style-src 'unsafe-inline'; font-src data:"
        headers = {"Content-Security-Policy": policy}
        return Response(message["svg"], media_type="image/svg+xml", headers=headers)

    def _asked(self, request: Request, do: str) -> Mapping[str, Any]:
        """The job of answering what a form asks; fields that were left empty are not given."""
        given = {name: text for name, text in request.query_params.items() if text.strip()}
        name = request.path_params["name"]
        return {"do": do, "root": self._root, "name": name, "given": given}

    async def instruments(self, _: Request) -> Response:
        """The instruments whose sheets there are."""
        offered = await self._crew.offered()
        page = own_page("instruments", title="Instruments", root=self._root, offered=offered)
        return framed(page, self._root, "instruments/")

    async def sheet(self, request: Request) -> Response:
        """The sheet of an instrument; one beside the core brings its extension along."""
        asked = request.query_params
        name = asked.get("name", "")
        shipped = {slug for slug, _ in (await self._crew.offered())["extensions"]}
        job = {
            "do": "sheet",
            "instrument": name,
            "extensions": [name] if name in shipped else [],
            "level": asked.get("level", ""),
            "trust": asked.get("trust", ""),
        }
        message = await self._answer(job)
        return framed(message["page"], self._root, "instruments/")

    async def reference(self, request: Request) -> Response:
        """A page about the graph."""
        name = request.path_params["name"]
        if self._reference is None or (self._reference.done() and self._reference.exception()):
            self._reference = asyncio.create_task(self._reference_pages())
        pages = await asyncio.shield(self._reference)
        if name not in pages:
            raise HTTPException(404, "There is no such page.")
        chapter = f"reference/{name}"
        return framed(pages[name], self._root, chapter if chapter in CHAPTERS else "reference")

    async def _reference_pages(self) -> Mapping[str, str]:
        pages: Mapping[str, str] = (await self._answer({"do": "reference", "extensions": []}))[
            "pages"
        ]
        return pages

    async def _answer(self, job: Mapping[str, Any]) -> Mapping[str, Any]:
        """The one message with which a job is answered.

        Raises ``OrchqError`` when it failed.
        """
        messages: list[Mapping[str, Any]] = []
        await self._crew.run("pages", job, messages.append, seconds=LONGEST_PAGE)
        (message,) = messages
        if "error" in message:
            raise OrchqError(message["error"])
        return message
