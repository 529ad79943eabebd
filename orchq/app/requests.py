"""What a request holds: forms, choices, the open score that it is about."""

from collections.abc import Mapping, Sequence
from urllib.parse import parse_qs, quote

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from orchq.app.shelf import Choices
from orchq.errors import OrchqError
from orchq.inputs import without_controls
from orchq.settings import MOST_PLAYERS

LARGEST_FORM = 100_000
"""Bytes of a form that is sent."""

_PLAYERS = "players-"
Form = Mapping[str, Sequence[str]]


async def form_of(request: Request) -> Form:
    """The fields of a form that was sent, each with its values.

    Raises ``HTTPException`` (413) for a larger one than any page sends.
    """
    data = bytearray()
    async for chunk in request.stream():
        data += chunk
        if len(data) > LARGEST_FORM:
            raise HTTPException(413, "A form is larger than any here.")
    return parse_qs(data.decode("utf-8", "replace"), max_num_fields=2000)


def field(form: Form, name: str) -> str:
    """The first value of a field, without characters that nobody sees; empty when there is none."""
    return without_controls(next(iter(form.get(name, ())), "")).strip()


def choices_of(form: Form) -> Choices:
    """What a score is to be judged by.

    Raises ``OrchqError`` for a number of players that cannot be.
    """
    return Choices(
        level=field(form, "level"),
        trust=field(form, "trust"),
        extensions=tuple(sorted(set(form.get("with", ())))),
        players={
            name.removeprefix(_PLAYERS): _number(field(form, name))
            for name in form
            if name.startswith(_PLAYERS) and field(form, name)
        },
        fingering=bool(field(form, "fingering")),
    )


def length_of(request: Request) -> int:
    """How many bytes the body of a request is said to have."""
    stated = request.headers.get("content-length", "0")
    return int(stated) if stated.isdecimal() else 0


def download(content: str | bytes, name: str, kind: str) -> Response:
    """A file that the browser saves under this name."""
    disposition = f"attachment; filename*=UTF-8''{quote(name, safe='')}"
    return Response(content, media_type=kind, headers={"Content-Disposition": disposition})


def _number(text: str) -> int:
    if not (text.isdecimal() and len(text) < 6 and 1 <= int(text) <= MOST_PLAYERS):
        raise OrchqError(f"a part has from 1 to {MOST_PLAYERS} players, not {text!r}")
    return int(text)
