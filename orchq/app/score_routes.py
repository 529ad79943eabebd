"""The addresses of scores: dropped, opened, judged, accepted, taken home."""

from collections.abc import Callable
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from orchq.app.desk import Desk
from orchq.app.own_pages import addition, own_page
from orchq.app.requests import choices_of, download, field, form_of, length_of
from orchq.app.shelf import LARGEST_UPLOAD, OpenedScore
from orchq.app.shell import framed
from orchq.errors import OrchqError
from orchq.inputs import read_whole
from orchq.knowledge.store import TRIPLE_SUFFIXES
from orchq.packaged import demo_path
from orchq.readers import FOREIGN_FORMATS, MUSICXML_SUFFIXES

MOST_LISTED = 60
"""Scores of the folder that the first page lists."""

SUFFIXES = (*sorted(MUSICXML_SUFFIXES), *sorted(FOREIGN_FORMATS), *sorted(TRIPLE_SUFFIXES))
"""Endings of the files that can be checked."""

_MUSICXML = "application/vnd.recordare.musicxml+xml"
_WORDS = {
    "waiting": "Waiting for another score",
    "checking": "Being read and checked",
    "engraving": "Being engraved",
}


class ScoreRoutes:
    """The handlers about scores.

    ``root`` is the address of all pages, ``folder`` the one whose scores the first page lists;
    ``end`` ends the server.
    """

    def __init__(self, desk: Desk, root: str, folder: Path, end: Callable[[], None]) -> None:
        self._desk = desk
        self._root = root
        self._folder = folder
        self._end = end

    def table(self) -> list[BaseRoute]:
        """Every address with its handler."""
        score = "/score/{key}"
        pages = {
            "/": self.start,
            f"{score}/": self.page,
            f"{score}/state": self.state,
            f"{score}/report.html": self.report,
            f"{score}/annotated.musicxml": self.annotated,
            f"{score}/score": self.music,
        }
        deeds = {
            "/scores": self.drop,
            "/open": self.open,
            "/demo": self.demo,
            "/end": self.end,
            f"{score}/file": self.renew,
            f"{score}/choices": self.choose,
            f"{score}/accept": self.accept,
            f"{score}/withdraw": self.withdraw,
            f"{score}/apply": self.apply,
            f"{score}/close": self.close,
        }
        return [
            *(Route(path, handler, methods=["GET"]) for path, handler in pages.items()),
            *(Route(path, handler, methods=["POST"]) for path, handler in deeds.items()),
        ]

    async def start(self, _: Request) -> Response:
        """The first page: where a score is dropped, and those that are open."""
        return self._start()

    async def drop(self, request: Request) -> Response:
        """Take in a score that is dropped; answers its address."""
        key, path = self._desk.shelf.place(request.query_params.get("name", ""))
        try:
            await self._written(request, path)
            return PlainTextResponse(self._address(self._desk.drop(key, path)), 201)
        finally:
            if self._desk.shelf.get(key) is None:
                self._desk.shelf.discard(key)

    async def renew(self, request: Request) -> Response:
        """Take in a dropped score again, which was saved anew."""
        score = self._score(request)
        if score.followed:
            raise HTTPException(409, "This score is read where it lies.")
        draft = score.path.with_name(f".{score.path.name}")
        try:
            await self._written(request, draft)
            draft.replace(score.path)
        finally:
            draft.unlink(missing_ok=True)
        self._desk.check(score, "Saved anew")
        return PlainTextResponse(self._address(score))

    async def open(self, request: Request) -> Response:
        """Open a file of this machine by its path, and follow it."""
        path = Path(field(await form_of(request), "path"))
        try:
            return self._to(self._desk.open(path.expanduser()))
        except (OrchqError, OSError, RuntimeError) as error:
            return self._start(refused=str(error))

    async def demo(self, _: Request) -> Response:
        """Open the packaged piece."""
        return self._to(self._desk.open(demo_path()))

    async def page(self, request: Request) -> Response:
        """The page about a score, or how far its check has come."""
        score = self._score(request)
        added = addition(
            "controls",
            root=self._root,
            score=score,
            offered=self._desk.crew.offers,
            settings=self._desk.settings_file,
            status=_WORDS.get(score.state, ""),
        )
        page = score.report or own_page("progress", title=score.name, failed=bool(score.error))
        return framed(page, self._root, "score", added)

    async def state(self, request: Request) -> Response:
        """How far a check has come."""
        score = self._score(request)
        return JSONResponse({"state": score.state, "version": score.version})

    async def choose(self, request: Request) -> Response:
        """Judge a score by other choices."""
        score = self._score(request)
        self._desk.choose(score, choices_of(await form_of(request)))
        return self._to(score)

    async def accept(self, request: Request) -> Response:
        """Accept a finding at all its places, with a reason, in the settings."""
        score = self._score(request)
        form = await form_of(request)
        self._desk.accept(score, field(form, "number"), field(form, "reason"))
        return self._to(score)

    async def withdraw(self, request: Request) -> Response:
        """Take an accepted finding out of the settings."""
        score = self._score(request)
        self._desk.withdraw(score, field(await form_of(request), "number"))
        return self._to(score)

    async def close(self, request: Request) -> Response:
        """Forget a score."""
        self._desk.close(self._score(request))
        return RedirectResponse(self._root, 303)

    async def report(self, request: Request) -> Response:
        """The report as a file to keep, as ``orchq check --format html`` writes it."""
        score = self._score(request)
        if not score.report:
            raise HTTPException(404, "There is no report yet.")
        return download(score.report, f"{score.path.stem}-report.html", "text/html")

    async def annotated(self, request: Request) -> Response:
        """A copy of the score with each finding at its note."""
        score = self._score(request)
        made = await self._desk.taken_home("annotate", score)
        return download(made["score"], f"{score.path.stem}-annotated.musicxml", _MUSICXML)

    async def apply(self, request: Request) -> Response:
        """Carry out the chosen proposals in a copy, which is opened."""
        chosen = (await form_of(request)).get("chosen", ())
        if not chosen:
            raise OrchqError("no proposal is chosen: tick one at a finding first")
        return self._to(await self._desk.correct(self._score(request), chosen))

    async def music(self, request: Request) -> Response:
        """The score itself, as it lies here."""
        score = self._score(request)
        return download(read_whole(score.path, LARGEST_UPLOAD, "scores"), score.name, _MUSICXML)

    async def end(self, _: Request) -> Response:
        """End the server, and with it all that is open."""
        self._end()
        return framed(own_page("ended", title="orchq has ended"), self._root, None)

    def _start(self, refused: str = "") -> Response:
        page = own_page(
            "start",
            title="Scores",
            root=self._root,
            most=LARGEST_UPLOAD,
            suffixes=SUFFIXES,
            scores=list(self._desk.shelf),
            here=_scores_in(self._folder),
            refused=refused,
        )
        return framed(page, self._root, "", status=400 if refused else 200)

    async def _written(self, request: Request, path: Path) -> None:
        """Write the body of a request to a file, and no more of it than there is room for."""
        room = self._desk.shelf.room()
        if length_of(request) > room:
            raise _too_large(room)
        left = room
        with path.open("wb") as stream:
            async for chunk in request.stream():
                left -= len(chunk)
                if left < 0:
                    raise _too_large(room)
                stream.write(chunk)

    def _score(self, request: Request) -> OpenedScore:
        score = self._desk.shelf.get(request.path_params["key"])
        if score is None:
            raise HTTPException(404, "This score is not open, or was closed.")
        return score

    def _address(self, score: OpenedScore) -> str:
        return f"{self._root}score/{score.key}/"

    def _to(self, score: OpenedScore) -> Response:
        return RedirectResponse(self._address(score), 303)


def _too_large(room: int) -> HTTPException:
    return HTTPException(413, f"The score is larger than the {room // 1_000_000} MB left for it.")


def _scores_in(folder: Path) -> list[Path]:
    try:
        every = sorted(folder.iterdir(), key=lambda path: path.name.casefold())
    except OSError:
        return []
    scores = (each for each in every if each.suffix.lower() in MUSICXML_SUFFIXES)
    return [each.absolute() for each in scores if each.is_file()][:MOST_LISTED]
