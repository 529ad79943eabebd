"""What a web server makes of the redirects in ``versions.md``.

As much of Apache's mod_rewrite as they use, in a folder (``.htaccess``): the first rule that fits
answers, after https://httpd.apache.org/docs/2.4/mod/mod_rewrite.html.
"""

import re
from dataclasses import dataclass
from pathlib import Path

POLICY = Path(__file__).parents[3] / "orchq" / "docs" / "versions.md"
_LINE = re.compile(r"(RewriteCond|RewriteRule|RewriteEngine) (.+)")


@dataclass(frozen=True)
class Rule:
    """A rule with the conditions before it."""

    conditions: tuple[tuple[str, str], ...]
    pattern: str
    target: str
    flags: frozenset[str]


def _rules(block: str) -> list[Rule]:
    rules, conditions = [], []
    for line in block.splitlines():
        kind, rest = _LINE.fullmatch(line).groups()
        if kind == "RewriteCond":
            tested, pattern = rest.split(" ", 1)
            conditions.append((tested, pattern))
        elif kind == "RewriteRule":
            pattern, target, flags = rest.split(" ")
            rules.append(
                Rule(tuple(conditions), pattern, target, frozenset(flags.strip("[]").split(",")))
            )
            conditions = []
    return rules


_BLOCKS = re.findall(r"```apache\n(.*?)```", POLICY.read_text(encoding="utf-8"), re.DOTALL)
FOLDERS = dict(zip(("orchq", "orchq-extensions"), map(_rules, _BLOCKS), strict=True))
"""The rules of each folder, by its name."""


def redirected(folder: str, address: str, accept: str = "text/html") -> str:
    """Where an address below a folder leads a client that asks for a format."""
    known = {"%{HTTP_ACCEPT}": accept}
    for rule in FOLDERS[folder]:
        tested = [re.search(each, known.get(name, "")) for name, each in rule.conditions]
        match = re.search(rule.pattern, address)
        if match is None or not all(tested):
            continue
        for flag in rule.flags:
            if flag.startswith("E="):
                name, _, value = flag.removeprefix("E=").partition(":")
                known[f"%{{ENV:{name}}}"] = value
        if rule.target == "-":
            continue
        target = re.sub(r"\$(\d)", lambda number, of=match: of[int(number[1])], rule.target)
        if tested:
            target = re.sub(r"%(\d)", lambda number, of=tested[-1]: of[int(number[1])], target)
        assert {"R=303", "L"} <= rule.flags
        assert "#" not in target or "NE" in rule.flags, "a # would be escaped"
        return target
    raise KeyError(f"nothing redirects {address}")
