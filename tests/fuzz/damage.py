"""Damage done to an input at random, the same for the same seed."""

import random
import re

_PIECES = re.compile(rb"<[^<>]*>|\"[^\"\n]*\"|[\w.:-]+|\s+|[^\w\s]")
_LEAVES = re.compile(rb"<([\w-]+)[^<>]*>[^<>]*</\1>|<[\w-][^<>]*/>")
_LINES = re.compile(rb"[^\n]*\n")
_TEXTS = re.compile(rb"[>\"]([^<>\"\n]+)[<\"]")
_NUMBERS = re.compile(rb"-?\d+(?:\.\d+)?")
_STRANGE = (
    *(b"", b"0", b"-1", b"1e400", b"1e-999999999", b"NaN", b"INF", b"9" * 400, b"1/0", b"0.234"),
    *("\u202e".encode(), b"\x00", b"\xff\xfe", "\u00b2".encode(), b"]]>", b"<!--", b"&amp;"),
    *(b"/dev/zero", b"../../etc/passwd", b"http://127.0.0.1:9/", b"A" * 5000, b"[" * 500),
    *(b"{" * 300, b'"', b"'", b"\\", b"\r", b"#", b"?x", b"SERVICE <http://127.0.0.1:9/> {}"),
)


def damaged(whole: bytes, seed: object) -> bytes:
    """A copy with one to six wounds; in most copies those that leave it well formed."""
    dice = random.Random(repr(seed))  # noqa: S311 - no secret
    content = whole
    wounds = _ROUGH if dice.random() < _ROUGH_SHARE else _FINE
    for _ in range(dice.choice((1, 1, 2, 3, 6))):
        content = dice.choice(wounds)(content, dice)
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


def _units(content: bytes) -> list[tuple[int, int]]:
    """Where elements without others in them stand, or lines where there is no mark-up."""
    pattern = _LEAVES if content.lstrip()[:1] == b"<" and b"</" in content else _LINES
    return [unit.span() for unit in pattern.finditer(content)] or [(0, len(content))]


def _unit_removed(content: bytes, dice: random.Random) -> bytes:
    start, end = dice.choice(_units(content))
    return content[:start] + content[end:]


def _unit_moved(content: bytes, dice: random.Random) -> bytes:
    units = _units(content)
    start, end = dice.choice(units)
    place = dice.choice(units)[0]
    return content[:place] + content[start:end] * dice.choice((1, 1, 2, 30)) + content[place:]


def _unit_replaced(content: bytes, dice: random.Random) -> bytes:
    units = _units(content)
    (start, end), (first, last) = dice.choice(units), dice.choice(units)
    return content[:start] + content[first:last] + content[end:]


def _text_replaced(content: bytes, dice: random.Random) -> bytes:
    """A text between tags or quotes becomes another of the same input, or a strange one."""
    texts = [text.span(1) for text in _TEXTS.finditer(content)]
    if not texts:
        return _number_changed(content, dice)
    (start, end), (first, last) = dice.choice(texts), dice.choice(texts)
    new = dice.choice((content[first:last], content[first:last], *_STRANGE[:11], b"A4", b"C10"))
    return content[:start] + new + content[end:]


_ROUGH_SHARE = 0.35
_FINE = (
    *(_number_changed, _unit_removed, _unit_moved, _unit_replaced, _text_replaced),
    *(_number_changed, _text_replaced),
)
_ROUGH = (
    *(_bytes_changed, _cut_short, _piece_removed, _piece_moved),
    *(_piece_strange, _number_changed, _pieces_exchanged),
)
