"""Severities of findings, and the severity from which a check fails."""

from typing import Literal

Severity = Literal["violation", "warning", "info"]
SEVERITIES: tuple[Severity, ...] = ("info", "warning", "violation")
"""From the mildest to the gravest."""

Threshold = Literal["violation", "warning", "info", "never"]
THRESHOLDS: tuple[Threshold, ...] = (*SEVERITIES, "never")
"""The mildest severity that makes a check fail."""


def rank(severity: Severity) -> int:
    """The rank of a severity; higher is graver."""
    return SEVERITIES.index(severity)


def failing(threshold: Threshold) -> frozenset[Severity]:
    """Return the severities that make a check fail.

    >>> sorted(failing("warning"))
    ['violation', 'warning']
    """
    return frozenset() if threshold == "never" else frozenset(SEVERITIES[rank(threshold) :])
