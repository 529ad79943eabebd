"""The page put together: template, style, tables, drawings."""

from base64 import b64encode
from collections.abc import Mapping, Sequence
from pathlib import Path

from orchq.questions import Graph
from orchq.report.survey.drawings import changes_svg, compass_svg, rates_svg
from orchq.report.survey.survey_tables import SurveyTables
from orchq.report.web import document
from orchq.survey.rows import Row

_HERE = Path(__file__).parent


def survey_page(tables: Mapping[str, Sequence[Row]], graph: Graph) -> str:
    """Return one HTML document that sums up the tables of a survey.

    What scores do stands beside what others state in the graph. The document fetches nothing and
    runs nothing. Raises ``OrchqError`` when Jinja2 or matplotlib is not installed.
    """
    content = SurveyTables(tables, graph)
    drawings = {
        "compass": compass_svg(content, graph),
        "rates": rates_svg(content, graph),
        "changes": changes_svg(content, graph),
    }
    return document(
        _HERE / "survey.html.jinja",
        works=content.works,
        notes=content.notes,
        composers=len(set(content.composers.values())),
        tables=tuple(content.all()),
        drawings={key: b64encode(svg.encode()).decode() for key, svg in drawings.items()},
    )
