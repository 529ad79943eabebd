"""Names stand once: one noun, one meaning."""

import ast
import re
from collections import defaultdict
from pathlib import Path

import pytest

import orchq

PACKAGE = Path(orchq.__file__).parent
GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"
MODULES = {
    path.relative_to(PACKAGE).as_posix(): ast.parse(path.read_text(encoding="utf-8"))
    for path in sorted(PACKAGE.rglob("*.py"))
}

ALLOWED_PAIRS = {
    # A command lives in the module of its name, and that is the noun for what it shows.
    "difficulty": {"cli/difficulty.py", "derive/path/difficulty.py"},
    "fingering": {"cli/fingering.py", "derive/path/fingering.py"},
    # The graph as it is loaded, and the same graph with its questions.
    "graph": {"knowledge/graph.py", "questions/graph.py"},
}


def _homes(named):
    """Where each name stands that stands more than once."""
    homes = defaultdict(list)
    for home, name in named:
        homes[name].append(home)
    return {name: places for name, places in homes.items() if len(places) > 1}


def _classes():
    for home, tree in MODULES.items():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                yield home, node.name


def _aliases():
    """Names that a module gives to types: in capitals as classes are, and assigned at its top."""
    for home, tree in MODULES.items():
        for node in tree.body:
            for target in getattr(node, "targets", ()):
                if isinstance(target, ast.Name) and re.match("[A-Z][a-z]", target.id):
                    yield home, target.id


def _nouns():
    text = GUIDE.read_text(encoding="utf-8").partition("\n## Glossary\n")[2].partition("\n## ")[0]
    return re.findall(r"^\| ([a-z]+) \| \S.* \|$", text, re.MULTILINE)[1:]


def _words_of_code():
    """The words that names of classes, functions, parameters and attributes are made of."""
    for tree in MODULES.values():
        for node in ast.walk(tree):
            name = next(
                (
                    getattr(node, field)
                    for kind, field in (
                        ((ast.ClassDef, ast.FunctionDef), "name"),
                        (ast.arg, "arg"),
                        (ast.Attribute, "attr"),
                        (ast.Name, "id"),
                    )
                    if isinstance(node, kind)
                ),
                "",
            )
            yield from (word.lower() for word in re.findall("[A-Z]?[a-z]+", name))


def test_the_name_of_a_module_stands_once():
    named = [(home, Path(home).stem) for home in MODULES if not Path(home).stem.startswith("__")]
    twice = {name: set(homes) for name, homes in _homes(named).items()}
    assert twice == ALLOWED_PAIRS


def test_the_name_of_a_public_class_stands_once():
    assert _homes(_classes()) == {}


def test_no_alias_is_called_as_a_class_elsewhere():
    classes = {name: home for home, name in _classes()}
    assert [(home, name) for home, name in _aliases() if classes.get(name, home) != home] == []


def test_the_glossary_is_sorted_and_each_noun_stands_once():
    nouns = _nouns()
    assert len(nouns) > 20
    assert nouns == sorted(set(nouns))


@pytest.fixture(scope="module")
def words():
    return set(_words_of_code())


@pytest.mark.parametrize("noun", _nouns())
def test_each_noun_of_the_glossary_names_something(noun, words):
    plural = f"{noun[:-1]}ies" if noun.endswith("y") else f"{noun}s"
    assert {noun, plural} & words
