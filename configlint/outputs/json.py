"""The findings report as JSON, byte-identical for the same input.

Numbers have all the digits that they were computed with, twelve significant ones, so
that software loses nothing; it is for the formats for people to round them. The typed
dictionaries here are the report's shape; its JSON Schema is generated from them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NotRequired

from pydantic import with_config
from typing_extensions import TypedDict

from configlint import __version__
from configlint.concessions import Concession
from configlint.findings import Amount, Finding
from configlint.outputs.json_advice import AdviceObject, advice_object
from configlint.outputs.json_effect import (
    CLOSED,
    AmountObject,
    EffectObject,
    amount_object,
    effect_object,
)
from configlint.outputs.json_excuse import ExcuseObject, excuse_objects
from configlint.outputs.json_summary import (
    Category,
    HoldObject,
    LeftOutObject,
    OutcomeWord,
    PositiveWhole,
    SummaryObject,
    summary_object,
)
from configlint.outputs.json_text import to_text
from configlint.report import Commit, MeterResult, Report, Since

__all__ = [
    "CLOSED",
    "FORMAT",
    "AmountObject",
    "Category",
    "FindingObject",
    "HoldObject",
    "LeftOutObject",
    "MeterObject",
    "OutcomeWord",
    "PositiveWhole",
    "ReportObject",
    "RevisionObject",
    "RuleSetObject",
    "SinceObject",
    "SummaryObject",
    "ToolObject",
    "finding_object",
    "meter_object",
    "report_object",
    "revision_object",
    "since_object",
    "summary_object",
    "to_text",
    "tool_object",
    "write",
]

FORMAT: Literal["configlint-findings/1"] = "configlint-findings/1"

Value = AmountObject | str | bool


@with_config(CLOSED)
class RuleSetObject(TypedDict):
    """A rule set that judged, with a digest of its files."""

    name: str
    """Name of the rule set."""
    edition: str
    """Edition of the rule set."""
    digest: str
    """The first 16 digits of the SHA-256 of all its files."""


@with_config(CLOSED)
class ToolObject(TypedDict):
    """What made the report."""

    version: str
    """Version of configlint."""
    rulesets: list[RuleSetObject]
    """The rule sets that judged, of every workspace in the run."""


@with_config(CLOSED)
class NotAssessedObject(TypedDict):
    """A rule that could not be assessed, and the inputs it lacks."""

    rule: str
    """Id of the rule."""
    missing: list[str]
    """Paths of the inputs that the rule lacks."""


@with_config(CLOSED)
class MeterObject(TypedDict):
    """One meter: how many rules came to which outcome, and what was left open."""

    meter: str
    """Tag of the meter."""
    site: str
    """Name of its site, empty where it belongs to none."""
    file: str
    """Name of its file, as seen from where the run was started."""
    outcomes: dict[OutcomeWord, int]
    """How many rules came to each outcome."""
    not_assessed: list[NotAssessedObject]
    """The rules that could not be assessed."""


@with_config(CLOSED)
class ConcessionObject(TypedDict):
    """What a finding is conceded by."""

    granted_by: str
    """Who has granted it."""
    reason: str
    """Why the meter may be used as it is."""
    granted_on: str
    """First day on which it holds."""
    expires_on: str | None
    """Last day on which it holds; null where it has no end."""
    file: str
    """Name of the file of concessions, as seen from where the run was started."""
    line: PositiveWhole
    """Line of the entry, from 1."""


@with_config(CLOSED)
class FindingObject(TypedDict):
    """One nonconformity with its place, numbers, remedy and basis."""

    fingerprint: str
    """What stays the same when lines move, keys are reordered or, for a finding of a
    meter, the file is renamed; no two findings of a report have the same."""
    meter: str
    """Tag of the meter, empty where the finding is of a file alone."""
    site: str
    """Name of its site, empty where it belongs to none."""
    file: str
    """Name of its file, as seen from where the run was started."""
    line: PositiveWhole
    """Line of the value, from 1."""
    column: PositiveWhole
    """Column of the value in code points, from 1."""
    pointer: str
    """JSON Pointer (RFC 6901) to the value in its document."""
    rule: str
    """Id of the rule."""
    category: Category
    """A: close before service; B: close before acceptance; C: when convenient."""
    outcome: OutcomeWord
    """What the rule says of the meter: nonconforming, or conceded."""
    concession: ConcessionObject | None
    """What it is conceded by; null where it is open."""
    message: str
    """What is wrong, in words, with the figures."""
    values: dict[str, Value]
    """Inputs as the file writes them, and quantities in their own units, by name."""
    limits: dict[str, AmountObject]
    """The limits that judged, by name."""
    margin: float | None
    """Distance to the limit relative to it, negative where it is not met."""
    effect: EffectObject | None
    """What the fault costs; null where the rule computes none, or nothing is lost."""
    assumptions: list[str]
    """What else the finding rests on: limits of a policy, values taken for others."""
    remedy: str
    """What to do about it."""
    advice: list[AdviceObject]
    """Values that would settle it; none where no setting that can be chosen would."""
    basis: str
    """Why the rule holds, and how far that was verified."""


@with_config(CLOSED)
class RevisionObject(TypedDict):
    """A revision of the repository."""

    revision: str
    """Its name, as it was given."""
    commit: str
    """Digest of its commit."""


@with_config(CLOSED)
class SinceObject(RevisionObject):
    """What a report of changed files alone is since, and what is new since then."""

    new: list[str]
    """Fingerprints of the findings that were not there then."""
    excuses: list[ExcuseObject]
    """The findings that the change would excuse by itself, by its own concessions,
    rules or policy."""
    trusted: bool
    """Whether it was asked for to accept these excuses; else they do not count."""
    rules_and_policy: list[str]
    """What has changed of rules, policies and concessions, a sentence each."""


@with_config(CLOSED)
class ReportObject(TypedDict):
    """The findings of a run, sorted by file, line and rule."""

    format: Literal["configlint-findings/1"]
    """The report's format and its version."""
    tool: ToolObject
    """The program and the rule sets that judged."""
    summary: SummaryObject
    """Counts over the whole run."""
    meters: list[MeterObject]
    """Every meter judged, sorted by workspace, site and tag."""
    findings: list[FindingObject]
    """Every finding, sorted by file, line and rule."""
    since: NotRequired[SinceObject]
    """Since when the reported files have changed, where that was asked for."""
    rules_from: NotRequired[RevisionObject]
    """The revision whose rules judged, where that was asked for."""


def write(report: Report, hold_at: str) -> str:
    """Write the report as one JSON object, ending in a line feed."""
    return to_text(report_object(report, hold_at))


def report_object(report: Report, hold_at: str) -> ReportObject:
    """Give the report as plain dicts and lists, in the order of its schema."""
    content: ReportObject = {
        "format": FORMAT,
        "tool": tool_object(report),
        "summary": summary_object(report, hold_at),
        "meters": [meter_object(meter) for meter in report.meters],
        "findings": [finding_object(finding) for finding in report.findings],
    }
    if report.since is not None:
        content["since"] = since_object(report.since)
    if report.rules_from is not None:
        content["rules_from"] = revision_object(report.rules_from)
    return content


def tool_object(report: Report) -> ToolObject:
    """Give what made a report as a plain dict."""
    return {
        "version": __version__,
        "rulesets": [
            {"name": each.name, "edition": each.edition, "digest": each.digest}
            for each in report.editions
        ],
    }


def since_object(since: Since) -> SinceObject:
    """Give what a report is since as a plain dict."""
    return {
        **revision_object(since.base),
        "new": list(since.new),
        "excuses": excuse_objects(since.excuses),
        "trusted": since.trusted,
        "rules_and_policy": list(since.changes),
    }


def revision_object(commit: Commit) -> RevisionObject:
    """Give a revision as a plain dict."""
    return {"revision": commit.revision, "commit": commit.digest}


def meter_object(meter: MeterResult) -> MeterObject:
    """Give a meter's outcomes as plain dicts and lists."""
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


def finding_object(finding: Finding) -> FindingObject:
    """Give a finding as plain dicts and lists, in the order of its schema."""
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
        "concession": _concession(finding.concession),
        "message": finding.message,
        "values": _values(finding.values),
        "limits": {name: amount_object(each) for name, each in finding.limits.items()},
        "margin": finding.margin,
        "effect": None if finding.effect is None else effect_object(finding.effect),
        "assumptions": list(finding.assumptions),
        "remedy": finding.remedy,
        "advice": [advice_object(each) for each in finding.advice],
        "basis": finding.basis,
    }


def _concession(concession: Concession | None) -> ConcessionObject | None:
    if concession is None:
        return None
    last = concession.expires_on
    return {
        "granted_by": concession.granted_by,
        "reason": concession.reason,
        "granted_on": concession.granted_on.isoformat(),
        "expires_on": None if last is None else last.isoformat(),
        "file": concession.place.file,
        "line": concession.place.line,
    }


def _values(values: Mapping[str, Amount | str | bool]) -> dict[str, Value]:
    return {
        name: amount_object(value) if isinstance(value, Amount) else value
        for name, value in values.items()
    }
