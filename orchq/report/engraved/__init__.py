"""The report as one page of HTML, with the score engraved and the notes concerned marked."""

from orchq.report.engraved.report_page import html_report
from orchq.report.web import check_installed

__all__ = ["check_installed", "html_report"]
