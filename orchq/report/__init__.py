"""Findings and the rule catalogue, written for people and for programs."""

from orchq.report.catalogue import catalogue_json, catalogue_table, rule_page
from orchq.report.changes import change_report
from orchq.report.machine import json_report, program_version
from orchq.report.text import text_report
from orchq.report.wording import one_line

__all__ = [
    "catalogue_json",
    "catalogue_table",
    "change_report",
    "json_report",
    "one_line",
    "program_version",
    "rule_page",
    "text_report",
]
