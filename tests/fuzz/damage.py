"""Damage done to an input at random, the same for the same seed."""

import random
import re

_PIECES = re.compile(rb"<[^<>]*>|\"[^\"\n]*\"|[\w.:-]+|\s+|[^\w\s]")
_NUMBERS = re.compile(rb"-?\d+(?:\.\d+)?")
_STRANGE = (
    *(b"", b"0", b"-1", b"1e400", b"1e-999999999", b"NaN", b"INF", b"9" * 400, b"1/0", b"0.234"),
    *("\u202e".encode(), b"\x00", b"\xff\xfe", "\u00b2".encode(), b"]]>", b"<!--", b"&amp;"),
    *(b"/dev/zero", b"../../etc/passwd", b"http://127.0.0.1:9/", b"A" * 5000, b"[" * 500),
    *(b"{" * 300, b'"', b"'", b"\\", b"\r", b"#", b"?x", b"SERVICE <http://127.0.0.1:9/> {}"),
)


def damaged(whole: bytes, seed: object) -> bytes:
    """A copy with one to six wounds."""
    dice = random.Random(repr(seed))  # noqa: S311 - no secret
    content = whole
    for _ in range(dice.choice((1, 1, 2, 3, 6))):
        content = dice.choice(_WOUNDS)(content, dice)
    return content


def _bytes_changed(content: bytes, dice: random.Random) -> bytes:
    changed = bytearray(content)
    for _ in range(dice.randint(1, 8)):
        if changed:
            changed[dice.randrange(len(changed))] = dice.randrange(256)
    return bytes(changed)


def _cut_short(content: bytes, dice: random.Random) -> bytes:
    return content[: dice.randint(0, len(content))]


def _piece_removed(content: bytes, dice: random.Random) -> bytes:
    start, end = _span(content, dice)
    return content[:start] + content[end:]


def _piece_moved(content: bytes, dice: random.Random) -> bytes:
    start, end = _span(content, dice)
    place = dice.randint(0, len(content))
    return content[:place] + content[start:end] * dice.choice((1, 1, 3, 40)) + content[place:]


def _piece_strange(content: bytes, dice: random.Random) -> bytes:
    start, end = _span(content, dice)
    return content[:start] + dice.choice(_STRANGE) + content[end:]


def _number_changed(content: bytes, dice: random.Random) -> bytes:
    found = list(_NUMBERS.finditer(content))
    if not found:
        return _piece_strange(content, dice)
    place = dice.choice(found)
    number = dice.choice((*_STRANGE[:10], str(dice.randint(-(10**9), 10**9)).encode()))
    return content[: place.start()] + number + content[place.end() :]


def _pieces_exchanged(content: bytes, dice: random.Random) -> bytes:
    first, second = sorted((_span(content, dice), _span(content, dice)))
    if first[1] > second[0]:
        return content
    before, between = content[: first[0]], content[first[1] : second[0]]
    one, other = content[slice(*first)], content[slice(*second)]
    return before + other + between + one + content[second[1] :]


def _span(content: bytes, dice: random.Random) -> tuple[int, int]:
    """Where a piece stands: a tag, a word, a quoted text; or several that follow."""
    spans = [piece.span() for piece in _PIECES.finditer(content)]
    if not spans:
        return 0, 0
    first = dice.randrange(len(spans))
    last = min(first + dice.choice((0, 0, 0, 1, 5, 30)), len(spans) - 1)
    return spans[first][0], spans[last][1]


_WOUNDS = (
    *(_bytes_changed, _cut_short, _piece_removed, _piece_moved),
    *(_piece_strange, _number_changed, _number_changed, _pieces_exchanged),
)
