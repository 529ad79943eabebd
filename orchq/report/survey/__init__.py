"""The page that sums up a survey: what scores do, beside what books say."""

from orchq.report.survey.survey_html import survey_page

__all__ = ["survey_page"]
