"""The sheet of an instrument: one page for students and copyists, made from the graph."""

from orchq.report.sheet.sheet_page import instrument_sheet

__all__ = ["instrument_sheet"]
