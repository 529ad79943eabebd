"""The reference of the graph, generated: vocabulary, rules, printed words, limits by source."""

from orchq.report.reference.markdown import glossary_text, rules_text
from orchq.report.reference.reference_html import reference_pages

__all__ = ["glossary_text", "reference_pages", "rules_text"]
