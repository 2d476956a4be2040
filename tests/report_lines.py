"""Small reports for the tests of the report for people, and its lines."""

from __future__ import annotations

from configlint.engine import OUTCOMES
from configlint.findings import Finding, Subject
from configlint.outputs.text import write
from configlint.report import LeftOpen, MeterResult, Report

__all__ = ["lines_of", "meter", "report", "subject"]


def subject(tag: str, file: str = "") -> Subject:
    """Make the subject of a meter in a file of its own."""
    return Subject("plant", "north", tag, file or f"{tag}.yaml")


def meter(tag: str, *counts: int, left_open: tuple[LeftOpen, ...] = ()) -> MeterResult:
    """Make a meter's result of the counts of some outcomes."""
    given = dict(zip(OUTCOMES, counts, strict=False))
    return MeterResult(subject(tag), dict.fromkeys(OUTCOMES, 0) | given, left_open)


def report(*findings: Finding, meters: tuple[MeterResult, ...] = ()) -> Report:
    """Make a report of findings."""
    return Report((), meters, findings, 1)


def lines_of(made: Report, hold_at: str = "B") -> list[str]:
    """Give the lines of a report."""
    text = write(made, hold_at)
    assert text.endswith("\n")
    return text.removesuffix("\n").split("\n")
