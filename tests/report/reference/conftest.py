"""The reference pages, made once: with every shipped extension, so that all pages are there."""

from collections.abc import Mapping

import pytest
from lxml.html import HtmlElement, fromstring

from orchq.knowledge.data_files import shipped_extensions
from orchq.report.reference import reference_pages


@pytest.fixture(scope="session")
def pages() -> Mapping[str, str]:
    """The pages by file name."""
    return reference_pages(shipped_extensions())


@pytest.fixture(scope="session")
def documents(pages: Mapping[str, str]) -> Mapping[str, HtmlElement]:
    """The pages parsed."""
    return {name: fromstring(text) for name, text in pages.items()}
