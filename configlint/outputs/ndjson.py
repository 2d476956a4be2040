"""The report as JSON Lines: an object a line, so that a reader need not hold it all.

The `kind` of each says what it is: every finding, then every meter, then a summary. A
report without its summary is cut short. Numbers have all their digits, as in the json
report. The typed dictionaries here are their shape; their JSON Schema is generated from
them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, NotRequired

from pydantic import ConfigDict, TypeAdapter, with_config
from typing_extensions import TypedDict

from configlint.outputs.json import (
    CLOSED,
    FindingObject,
    MeterObject,
    RevisionObject,
    SinceObject,
    SummaryObject,
    ToolObject,
    finding_object,
    meter_object,
    revision_object,
    since_object,
    summary_object,
    tool_object,
)
from configlint.outputs.json_text import to_line
from configlint.report import Report

__all__ = ["FORMAT", "LineObject", "line_objects", "write"]

FORMAT: Literal["configlint-finding-lines/1"] = "configlint-finding-lines/1"


def _explained(base: type) -> ConfigDict:
    """Describe the keys of an object that adds some to another's as that one does."""

    def explain(schema: dict[str, Any]) -> None:
        described = TypeAdapter(base).json_schema()["properties"]
        for key, each in schema["properties"].items():
            if key in described:
                each["description"] = described[key]["description"]

    return ConfigDict(**CLOSED, json_schema_extra=explain)


@with_config(_explained(FindingObject))
class FindingLine(FindingObject):
    """A finding, as the findings report has it."""

    kind: Literal["finding"]
    """What the line is."""


@with_config(_explained(MeterObject))
class MeterLine(MeterObject):
    """A meter, as the findings report has it."""

    kind: Literal["meter"]
    """What the line is."""


@with_config(CLOSED)
class SummaryLine(TypedDict):
    """The counts of the whole run, on the last line."""

    kind: Literal["summary"]
    """What the line is."""
    format: Literal["configlint-finding-lines/1"]
    """The format of all lines and its version."""
    tool: ToolObject
    """The program and the rule sets that judged."""
    summary: SummaryObject
    """Counts over the whole run."""
    since: NotRequired[SinceObject]
    """Since when the reported files have changed, where that was asked for."""
    rules_from: NotRequired[RevisionObject]
    """The revision whose rules judged, where that was asked for."""


LineObject = FindingLine | MeterLine | SummaryLine


def write(report: Report, hold_at: str) -> str:
    """Write the report as JSON Lines, each ending in a line feed."""
    return "".join(map(to_line, line_objects(report, hold_at)))


def line_objects(report: Report, hold_at: str) -> Iterator[LineObject]:
    """Give each line as plain dicts and lists, its kind first."""
    for finding in report.findings:
        yield {"kind": "finding", **finding_object(finding)}
    for meter in report.meters:
        yield {"kind": "meter", **meter_object(meter)}
    summary: SummaryLine = {
        "kind": "summary",
        "format": FORMAT,
        "tool": tool_object(report),
        "summary": summary_object(report, hold_at),
    }
    if report.since is not None:
        summary["since"] = since_object(report.since)
    if report.rules_from is not None:
        summary["rules_from"] = revision_object(report.rules_from)
    yield summary
