"""The findings report as JSON, byte-identical for the same input.

The typed dictionaries here are the report's shape; its JSON Schema is generated
from them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, with_config
from typing_extensions import TypedDict

from configlint import __version__
from configlint.findings import Amount, Finding
from configlint.report import MeterResult, Report

__all__ = ["FORMAT", "ReportObject", "report_object", "write"]

FORMAT: Literal["configlint-findings/1"] = "configlint-findings/1"

CLOSED = ConfigDict(extra="forbid")
Category = Literal["A", "B", "C"]
OutcomeWord = Literal[
    "conforms", "nonconforming", "not-assessed", "not-applicable", "conceded"
]
PositiveWhole = Annotated[int, Field(ge=1)]


@with_config(CLOSED)
class AmountObject(TypedDict):
    """A number with its unit; an empty unit for a plain number."""

    value: float
    unit: str


Value = AmountObject | str | bool


@with_config(CLOSED)
class RuleSetObject(TypedDict):
    """A rule set that judged, with a digest of its files."""

    name: str
    edition: str
    digest: str


@with_config(CLOSED)
class ToolObject(TypedDict):
    """What made the report."""

    version: str
    rulesets: list[RuleSetObject]


@with_config(CLOSED)
class LeftOutObject(TypedDict):
    """A file that was not read, and why."""

    file: str
    reason: str


@with_config(CLOSED)
class SummaryObject(TypedDict):
    """Counts over the whole run, and the files that were not read."""

    categories: dict[Category, int]
    outcomes: dict[OutcomeWord, int]
    meters: int
    files: int
    left_out: list[LeftOutObject]


@with_config(CLOSED)
class NotAssessedObject(TypedDict):
    """A rule that could not be assessed, and the inputs it lacks."""

    rule: str
    missing: list[str]


@with_config(CLOSED)
class MeterObject(TypedDict):
    """One meter: how many rules came to which outcome, and what was left open."""

    meter: str
    site: str
    file: str
    outcomes: dict[OutcomeWord, int]
    not_assessed: list[NotAssessedObject]


@with_config(CLOSED)
class FindingObject(TypedDict):
    """One nonconformity with its place, numbers, remedy and basis.

    `fingerprint` stays the same when lines move, keys are reordered or the file
    is renamed. `pointer` is a JSON Pointer (RFC 6901) into the document. `margin`
    is the distance to the limit relative to it, negative where it is not met.
    """

    fingerprint: str
    meter: str
    site: str
    file: str
    line: PositiveWhole
    column: PositiveWhole
    pointer: str
    rule: str
    category: Category
    outcome: OutcomeWord
    message: str
    values: dict[str, Value]
    limits: dict[str, AmountObject]
    margin: float | None
    assumptions: list[str]
    remedy: str
    basis: str


@with_config(CLOSED)
class ReportObject(TypedDict):
    """The findings of a run, sorted by file, line and rule."""

    format: Literal["configlint-findings/1"]
    tool: ToolObject
    summary: SummaryObject
    meters: list[MeterObject]
    findings: list[FindingObject]


def write(report: Report, hold_at: str) -> str:
    """Write the report as one JSON object, ending in a line feed."""
    content = report_object(report)
    return json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def report_object(report: Report) -> ReportObject:
    """Give the report as plain dicts and lists, in the order of its schema."""
    return {
        "format": FORMAT,
        "tool": {
            "version": __version__,
            "rulesets": [
                {"name": each.name, "edition": each.edition, "digest": each.digest}
                for each in report.editions
            ],
        },
        "summary": {
            "categories": report.by_category,
            "outcomes": report.by_outcome,
            "meters": len(report.meters),
            "files": report.files,
            "left_out": [{"file": e.file, "reason": e.reason} for e in report.left_out],
        },
        "meters": [_meter(meter) for meter in report.meters],
        "findings": [_finding(finding) for finding in report.findings],
    }


def _meter(meter: MeterResult) -> MeterObject:
    return {
        "meter": meter.subject.meter,
        "site": meter.subject.site,
        "file": meter.subject.file,
        "outcomes": meter.outcomes,
        "not_assessed": [
            {"rule": left_open.rule, "missing": list(left_open.missing)}
            for left_open in meter.left_open
        ],
    }


def _finding(finding: Finding) -> FindingObject:
    return {
        "fingerprint": finding.fingerprint,
        "meter": finding.subject.meter,
        "site": finding.subject.site,
        "file": finding.place.file,
        "line": finding.place.line,
        "column": finding.place.column,
        "pointer": finding.pointer,
        "rule": finding.rule,
        "category": finding.category,
        "outcome": finding.outcome,
        "message": finding.message,
        "values": _values(finding.values),
        "limits": {name: _amount(each) for name, each in finding.limits.items()},
        "margin": finding.margin,
        "assumptions": list(finding.assumptions),
        "remedy": finding.remedy,
        "basis": finding.basis,
    }


def _values(values: Mapping[str, Amount | str | bool]) -> dict[str, Value]:
    return {
        name: _amount(value) if isinstance(value, Amount) else value
        for name, value in values.items()
    }


def _amount(amount: Amount) -> AmountObject:
    return {"value": amount.value, "unit": amount.unit}
