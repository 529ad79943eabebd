"""The environment with the lowest versions has those that pyproject.toml says are enough."""

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def pinned(name):
    """Versions of a file of constraints, by the name of the library."""
    lines = (ROOT / ".ci" / name).read_text(encoding="utf-8").splitlines()
    pins = (line.split("==") for line in lines if not line.startswith("#"))
    return {re.sub(r"[_.]", "-", name).lower(): version for name, version in pins}


def bounds():
    extras = PROJECT["optional-dependencies"].values()
    for each in {*PROJECT["dependencies"], *(one for extra in extras for one in extra)}:
        if ">=" in each:
            yield tuple(each.split(">="))


def test_every_lower_bound_is_tried():
    lowest = pinned("lowest.txt")
    assert len(set(bounds())) > 15
    for name, bound in bounds():
        assert lowest[name].startswith(bound), name
        assert lowest[name].removeprefix(bound).strip(".0") == "", name


def test_both_environments_hold_the_same_libraries():
    """But for what only some versions of others need."""
    lowest, usual = pinned("lowest.txt"), pinned("constraints.txt")
    direct = {re.split("[>=]", each)[0] for each in PROJECT["optional-dependencies"]["test"]}
    assert direct <= lowest.keys() & usual.keys()
