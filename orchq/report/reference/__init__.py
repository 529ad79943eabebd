"""The reference of the graph, generated: vocabulary, rules, printed words, limits by source."""

from orchq.report.reference.page import reference_pages
from orchq.report.reference.text import glossary_text, rules_text

__all__ = ["glossary_text", "reference_pages", "rules_text"]
