"""The findings as SARIF 2.1.0 (OASIS), which code hosts and editors show at the lines.

A result's place is a URI below the root of the repository; a file outside has a whole
one. There is no clock in it, so that the same input gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from configlint import __version__
from configlint.concessions import Concession
from configlint.engine import NOT_ASSESSED
from configlint.errors import Place
from configlint.findings import Finding
from configlint.outputs.json import (
    finding_object,
    revision_object,
    summary_object,
    tool_object,
)
from configlint.outputs.json_text import to_line
from configlint.outputs.names import Root, find_root
from configlint.outputs.sarif_rules import LEVELS, message, rule_descriptor
from configlint.outputs.text import counted, finding_words, hold_words, inert
from configlint.report import Report

__all__ = ["SCHEMA", "write"]

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/"
    "sarif-schema-2.1.0.json"
)
ROOT = "REPOSITORY"
"""The name of the root that relative URIs are below."""

KEPT = (
    *("category", "meter", "site", "pointer", "values", "limits", "margin"),
    *("effect", "assumptions", "remedy", "advice"),
)
"""What a result keeps of a finding as the json report has it."""

COUNTS = (
    *("hold", "categories", "conceded", "outcomes", "meters", "not_judged", "files"),
    "as_of",
)
"""What a run keeps of the summary as the json report has it."""


def write(report: Report, hold_at: str) -> str:
    """Write the findings as one run in SARIF, on one line that ends in a line feed."""
    root = find_root()
    run = {
        "tool": {"driver": _driver(report)},
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {
            ROOT: {"description": message("The root of the repository.")}
        },
        "invocations": [_invocation(report, hold_at, root)],
        "properties": _properties(report, hold_at),
        "results": list(_results(report, root)),
    }
    return to_line({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _driver(report: Report) -> dict[str, Any]:
    return {
        "name": "configlint",
        "version": __version__,
        "language": "en",
        "rules": [rule_descriptor(rule) for rule in report.rules],
    }


def _invocation(report: Report, hold_at: str, root: Root) -> dict[str, Any]:
    return {
        "executionSuccessful": True,
        "exitCode": 1 if report.held(hold_at) else 0,
        "exitCodeDescription": hold_words(report, hold_at),
        "toolExecutionNotifications": list(_notifications(report, root)),
    }


def _notifications(report: Report, root: Root) -> Iterator[dict[str, Any]]:
    """Say what was not checked, so that no result is not taken for nothing wrong."""
    for each in report.left_out:
        said = message(f"Not read: {each.file}: {each.reason}.")
        place = {"physicalLocation": {"artifactLocation": _artifact(each.file, root)}}
        yield {**_notification("file-left-out", said), "locations": [place]}
    if report.not_judged:
        meters = counted(report.not_judged, "meter")
        said = message(f"Not judged, since it could not be read: {meters}.")
        yield _notification("meter-not-judged", said)
    not_assessed = report.by_outcome[NOT_ASSESSED]
    if not_assessed:
        said = message(f"Not assessed, which is not passed: {not_assessed} outcomes.")
        yield _notification("outcome-not-assessed", said, "note")


def _notification(
    name: str, said: dict[str, str], level: str = "warning"
) -> dict[str, Any]:
    return {"descriptor": {"id": name}, "level": level, "message": said}


def _properties(report: Report, hold_at: str) -> dict[str, Any]:
    """Give the counts of the run; what was not read is told by the notifications."""
    summary = summary_object(report, hold_at).items()
    content: dict[str, Any] = {"rulesets": tool_object(report)["rulesets"]}
    content |= {key: value for key, value in summary if key in COUNTS}
    if report.since is not None:
        content["since"] = revision_object(report.since.base)
    if report.rules_from is not None:
        content["rules_from"] = revision_object(report.rules_from)
    return content


def _results(report: Report, root: Root) -> Iterator[dict[str, Any]]:
    rules = {rule.id: number for number, rule in enumerate(report.rules)}
    new = report.new
    for finding in report.findings:
        result = _result(finding, root)
        if finding.rule in rules:
            result["ruleIndex"] = rules[finding.rule]
        if report.since is not None:
            is_new = finding.fingerprint in new
            result["baselineState"] = "new" if is_new else "unchanged"
        yield result


def _result(finding: Finding, root: Root) -> dict[str, Any]:
    content = finding_object(finding).items()
    return {
        "ruleId": finding.rule,
        "level": LEVELS[finding.category],
        "message": message(*finding_words(finding)),
        "locations": [_location(finding, root)],
        "partialFingerprints": {
            "findingFingerprint/v1": finding.fingerprint,
            # The one name that a code host goes by (its documentation).
            "primaryLocationLineHash": f"{finding.fingerprint}:1",
        },
        # The standard wants it of all results or of none.
        "suppressions": list(_suppressions(finding.concession, root)),
        "properties": {key: value for key, value in content if key in KEPT},
    }


def _location(finding: Finding, root: Root) -> dict[str, Any]:
    location: dict[str, Any] = {"physicalLocation": _physical(finding.place, root)}
    if finding.pointer:
        location["logicalLocations"] = [{"fullyQualifiedName": finding.pointer}]
    return location


def _physical(place: Place, root: Root) -> dict[str, Any]:
    region = {"startLine": place.line, "startColumn": place.column}
    return {"artifactLocation": _artifact(place.file, root), "region": region}


def _artifact(file: str, root: Root) -> dict[str, str]:
    uri = {"uri": root.uri(file)}
    return uri if root.name(file) is None else {**uri, "uriBaseId": ROOT}


def _suppressions(
    concession: Concession | None, root: Root
) -> Iterator[dict[str, Any]]:
    if concession is not None:
        yield {
            "kind": "external",
            "status": "accepted",
            "justification": inert(concession.words),
            "location": {"physicalLocation": _physical(concession.place, root)},
        }
