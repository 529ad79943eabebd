"""No term that was released vanishes, and the list of the version in work is up to date.

Run as a program, this file writes the list of the version that pyproject.toml names.
"""

import tomllib
from itertools import pairwise
from pathlib import Path

import pytest
from pyoxigraph import RdfFormat, parse

from orchq.errors import OrchqError
from orchq.lint.releases import compare, present_terms, read_terms, releases, terms_of, written

ROOT = Path(__file__).parents[2]
VERSION = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["version"]
LIST = ROOT / "ontology" / "releases" / f"{VERSION}.txt"
HEAD = """@prefix oq: <https://w3id.org/orchq/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
"""
DEPRECATED = "owl:deprecated true ; dcterms:isReplacedBy oq:b"


def test_the_list_of_the_version_in_work_is_up_to_date():
    now, listed = present_terms(), read_terms(LIST)
    assert now == listed, (
        f"{LIST.name} is stale ({compare(listed, now)}): "
        "python tests/ontology/test_releases.py renews it"
    )


def test_no_released_term_is_lost():
    lists = list(releases().items())
    assert lists[-1][0] == VERSION
    lost = {new: compare(before, now).lost for (_, before), (new, now) in pairwise(lists)}
    assert not any(lost.values()), f"deprecate terms before they go: {lost}"


def test_a_list_says_what_it_was_written_from(tmp_path):
    path = tmp_path / "9.txt"
    path.write_text(written(present_terms()), encoding="utf-8")
    assert read_terms(path) == present_terms()
    path.write_text("oq:a Class 00000000\nnonsense\n", encoding="utf-8")
    with pytest.raises(OrchqError, match=r"9\.txt:2"):
        read_terms(path)


def _terms(turtle):
    return terms_of(list(parse(f"{HEAD}{turtle}".encode(), RdfFormat.TURTLE)))


@pytest.mark.parametrize(
    ("now", "changes"),
    [
        ("oq:a a oq:Level . oq:b a oq:Level .", {}),
        ("oq:a a oq:Level . oq:b a oq:Level . oq:c a oq:Level .", {"came": ("oq:c",)}),
        ("oq:b a oq:Level .", {"lost": ("oq:a",)}),
        ("oq:a a oq:Basis . oq:b a oq:Level .", {"changed": ("oq:a",)}),
        ("oq:a a oq:Level ; oq:rank 1 . oq:b a oq:Level .", {"changed": ("oq:a",)}),
        ("oq:a a oq:Level ; skos:definition 'A.' . oq:b a oq:Level .", {"changed": ("oq:a",)}),
        ("oq:a a oq:Level ; skos:note 'Hm.' . oq:b a oq:Level .", {}),
        (f"oq:a a oq:Level ; {DEPRECATED} . oq:b a oq:Level .", {"deprecated": ("oq:a",)}),
    ],
)
def test_what_differs_between_two_versions(now, changes):
    found = compare(_terms("oq:a a oq:Level . oq:b a oq:Level ."), _terms(now))
    assert {name: names for name in found.__slots__ if (names := getattr(found, name))} == changes


def test_what_was_deprecated_may_go():
    old = _terms(f"oq:a a oq:Level ; {DEPRECATED} . oq:b a oq:Level .")
    found = compare(old, _terms("oq:b a oq:Level ."))
    assert (found.gone, found.lost) == (("oq:a",), ())


if __name__ == "__main__":
    LIST.parent.mkdir(exist_ok=True)
    LIST.write_text(written(present_terms()), encoding="utf-8")
