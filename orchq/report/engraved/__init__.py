"""The report as one page of HTML, with the score engraved and the notes concerned marked."""

from orchq.report.engraved.engraving import check_installed
from orchq.report.engraved.report_page import html_report

__all__ = ["check_installed", "html_report"]
