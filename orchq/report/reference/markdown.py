"""The rules and the glossary as Markdown, for readers on the web."""

from collections.abc import Iterator

from orchq.questions import Graph
from orchq.questions.naming import LANGUAGES
from orchq.report.reference.glossary import Chapter, PrintedForms, glossary
from orchq.report.reference.rule_entries import RuleEntry, rule_entries
from orchq.report.reference.term_links import TermLinks
from orchq.report.wording import counted

_RULES = """\
# Rules

{count}: what is reported, why, what to write instead, and who says so. Beside the sources named
here, findings name the limits of the graph that they apply, each with its source. Where a hand is
stretched or a string retuned, ask the player. This page is generated (see DEVELOPERS.md); a test
fails when it is stale.
"""
_GLOSSARY = """\
# Words in scores

Full forms first, then abbreviations and plurals (pl.), as scores print them. A name in brackets is
where words were read; words without one are from memory and were not looked up. This page is
generated (see DEVELOPERS.md); a test fails when it is stale.
"""


def rules_text(graph: Graph) -> str:
    """Return the rule catalogue in Markdown."""
    entries = rule_entries(graph, TermLinks(graph, {}))
    head = _RULES.format(count=counted(len(entries), "rule"))
    return "\n".join([head, *map(_rule, entries)])


def _rule(entry: RuleEntry) -> str:
    info = entry.info
    lines = [
        f"## {info.slug}\n",
        f"{info.label[:1].upper()}{info.label[1:]} ({', '.join(info.severities)}).\n",
        f"- **Why:** {info.why}",
        f"- **Instead:** {info.instead}",
        f"- **Wrong:** {info.bad}",
        f"- **Right:** {info.good}",
    ]
    if entry.remedies:
        lines.append(f"- **Remedies:** {', '.join(link.text for link in entry.remedies)}")
    lines.append(f"- **Who says so:** {'; '.join(entry.sources)}\n")
    return "\n".join(lines)


def glossary_text(graph: Graph) -> str:
    """Return the words that scores print in Markdown, a table for each kind of thing."""
    chapters = glossary(graph, TermLinks(graph, {}))
    return "\n".join([_GLOSSARY, *(line for each in chapters for line in _chapter(each))])


def _chapter(chapter: Chapter) -> Iterator[str]:
    yield f"## {chapter.title[:1].upper()}{chapter.title[1:]}\n"
    yield f"| meaning | {' | '.join(LANGUAGES.values())} |"
    yield "|---" * (len(LANGUAGES) + 1) + "|"
    for each in chapter.named:
        cells = ("; ".join(map(_words, each.words[tag])) for tag in LANGUAGES)
        yield f"| {each.thing.text} | {' | '.join(cells)} |"
    yield ""


def _words(words: PrintedForms) -> str:
    ground = f" ({words.ground})" if words.ground else ""
    return ", ".join(words.forms).replace("|", "\\|") + ground
