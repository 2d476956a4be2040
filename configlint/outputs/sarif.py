"""The findings as SARIF 2.1.0 (OASIS), which code hosts and editors show at the lines.

A result's place is a URI below the root of the repository; a file outside has a whole
one. There is no clock in it, so that the same input gives the same bytes.

The worst results come first, and no more of them are written than a code host takes
(`sarif_bounds`); how many are left out stands in a notification and in the properties
of the run. Texts that are too long end in an ellipsis.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
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
from configlint.outputs.sarif_bounds import (
    LONGEST,
    MOST_RESULTS,
    MOST_RULES,
    bounded,
    fitting,
    message,
)
from configlint.outputs.sarif_rules import LEVELS, rule_descriptor
from configlint.outputs.summary import counted, unread_words
from configlint.outputs.text import category_words, finding_words, hold_words, inert
from configlint.report import Report
from configlint.rules import AnyRule

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

COUNTS = ("hold", "categories", "conceded", "outcomes", "meters", "files", "as_of")
"""What a run keeps of the summary as the json report has it."""

MOST_NOTIFIED = 100
"""How many files, and meters, notifications name before the others are counted."""


def write(report: Report, hold_at: str) -> str:
    """Write the findings as one run in SARIF, on one line that ends in a line feed."""
    root, ranked = find_root(), report.worst_first
    first = ranked[:MOST_RESULTS]
    rules = _described(report, first)
    driver = _driver(rules)
    results = fitting(driver, _results(report, first, rules, root))
    left = ranked[len(results) :]
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {
            ROOT: {"description": message("The root of the repository.")}
        },
        "invocations": [_invocation(report, hold_at, root, left)],
        "properties": _properties(report, hold_at, left),
        "results": results,
    }
    return to_line({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _described(report: Report, findings: Sequence[Finding]) -> Sequence[AnyRule]:
    """Give the rules that judged; where they are too many, those of some findings."""
    if len(report.rules) <= MOST_RULES:
        return report.rules
    broken = {finding.rule for finding in findings}
    return [rule for rule in report.rules if rule.id in broken]


def _driver(rules: Sequence[AnyRule]) -> dict[str, Any]:
    return {
        "name": "configlint",
        "version": __version__,
        "language": "en",
        "rules": [rule_descriptor(rule) for rule in rules],
    }


def _invocation(
    report: Report, hold_at: str, root: Root, left: Sequence[Finding]
) -> dict[str, Any]:
    return {
        "executionSuccessful": True,
        "exitCode": 1 if report.held(hold_at) else 0,
        "exitCodeDescription": hold_words(report, hold_at),
        "toolExecutionNotifications": [*_left_out(left), *_notifications(report, root)],
    }


def _left_out(left: Sequence[Finding]) -> Iterator[dict[str, Any]]:
    """Say how many findings have no result, so that no one takes the others for all."""
    if left:
        findings = f"{counted(len(left), 'finding')} ({category_words(left)})"
        words = f"Left out, so that a code host takes the file: {findings}."
        said = message(f"{words} They are the least urgent; the json report has all.")
        yield _notification("result-left-out", said)


def _notifications(report: Report, root: Root) -> Iterator[dict[str, Any]]:
    """Say what was not checked, so that no result is not taken for nothing wrong."""
    for each in report.left_out[:MOST_NOTIFIED]:
        said = message(f"Not read: {each.file}: {each.reason}.")
        place = {"artifactLocation": _artifact(each.file, root)}
        yield _notification("file-left-out", said, place=place)
    yield from _more("file-left-out", report.left_out)
    for meter in report.not_judged[:MOST_NOTIFIED]:
        said = message(f"Not judged: {unread_words(meter)}")
        place = _physical(meter.place, root)
        yield _notification("meter-not-judged", said, place=place)
    yield from _more("meter-not-judged", report.not_judged)
    not_assessed = report.by_outcome[NOT_ASSESSED]
    if not_assessed:
        said = message(f"Not assessed, which is not passed: {not_assessed} outcomes.")
        yield _notification("outcome-not-assessed", said, "note")


def _more(name: str, entries: Sequence[object]) -> Iterator[dict[str, Any]]:
    more = len(entries) - MOST_NOTIFIED
    if more > 0:
        yield _notification(name, message(f"And {more} more; the json report has all."))


def _notification(
    name: str,
    said: dict[str, str],
    level: str = "warning",
    place: dict[str, Any] | None = None,
) -> dict[str, Any]:
    told = {"descriptor": {"id": name}, "level": level, "message": said}
    return (
        told if place is None else {**told, "locations": [{"physicalLocation": place}]}
    )


def _properties(
    report: Report, hold_at: str, left: Sequence[Finding]
) -> dict[str, Any]:
    """Give the counts of the run; what was not read is told by the notifications."""
    summary = summary_object(report, hold_at).items()
    content: dict[str, Any] = {"rulesets": tool_object(report)["rulesets"]}
    content |= {key: value for key, value in summary if key in COUNTS}
    content["not_judged"] = len(report.not_judged)
    content["results_left_out"] = len(left)
    if report.since is not None:
        content["since"] = revision_object(report.since.base)
    if report.rules_from is not None:
        content["rules_from"] = revision_object(report.rules_from)
    return content


def _results(
    report: Report, findings: Sequence[Finding], rules: Sequence[AnyRule], root: Root
) -> Iterator[dict[str, Any]]:
    numbers = {rule.id: number for number, rule in enumerate(rules)}
    new = report.new
    for finding in findings:
        result = _result(finding, root)
        if finding.rule in numbers:
            result["ruleIndex"] = numbers[finding.rule]
        if report.since is not None:
            is_new = finding.fingerprint in new
            result["baselineState"] = "new" if is_new else "unchanged"
        yield result


def _result(finding: Finding, root: Root) -> dict[str, Any]:
    content = finding_object(finding).items()
    return {
        "ruleId": finding.rule,
        "level": LEVELS[finding.category],
        "message": message(*_words(finding)),
        "locations": [_location(finding, root)],
        "partialFingerprints": {
            "findingFingerprint/v1": finding.fingerprint,
            "primaryLocationLineHash": _host_fingerprint(finding),
        },
        # The standard wants it of all results or of none.
        "suppressions": list(_suppressions(finding.concession, root)),
        "properties": {key: bounded(each) for key, each in content if key in KEPT},
    }


def _words(finding: Finding) -> Sequence[str]:
    """Say a finding, without the basis if it is too long: its rule's help has that."""
    *words, basis = finding_words(finding)
    whole = sum(len(each) + 1 for each in (*words, basis))
    return words if whole > LONGEST else (*words, basis)


def _host_fingerprint(finding: Finding) -> str:
    """Give a fingerprint under the one name, and in the form, that a host goes by.

    That is a digest, a colon and which of several equal ones it is, from 1 (GitHub's
    documentation; the form from memory). A host digests the line's text for want of a
    fingerprint; ours is that of the finding, which stays when the line is moved or
    another wrong value is written there.
    """
    digest, _, number = finding.fingerprint.partition("-")
    return f"{digest}:{number or 1}"


def _location(finding: Finding, root: Root) -> dict[str, Any]:
    location: dict[str, Any] = {"physicalLocation": _physical(finding.place, root)}
    if finding.pointer:
        location["logicalLocations"] = [
            {"fullyQualifiedName": bounded(finding.pointer)}
        ]
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
            "justification": bounded(inert(concession.words)),
            "location": {"physicalLocation": _physical(concession.place, root)},
        }
