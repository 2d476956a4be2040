"""The findings report as JSON, byte-identical for the same input.

The typed dictionaries here are the report's shape; its JSON Schema is generated
from them.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint import __version__
from configlint.effects import FLOWS, MEASURES, Effect
from configlint.engine import OUTCOMES
from configlint.findings import CATEGORIES, Amount, Finding
from configlint.report import HOLDS, MeterResult, Report

__all__ = ["FORMAT", "ReportObject", "report_object", "to_text", "write"]

FORMAT: Literal["configlint-findings/1"] = "configlint-findings/1"

CLOSED = ConfigDict(extra="forbid", use_attribute_docstrings=True)
Category = Annotated[str, WithJsonSchema({"type": "string", "enum": list(CATEGORIES)})]
OutcomeWord = Annotated[str, WithJsonSchema({"type": "string", "enum": list(OUTCOMES)})]
PositiveWhole = Annotated[int, Field(ge=1)]


@with_config(CLOSED)
class AmountObject(TypedDict):
    """A number with its unit; an empty unit for a plain number."""

    value: float
    """The number, to twelve significant digits where it is computed."""
    unit: str
    """The unit's spelling."""


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
class LeftOutObject(TypedDict):
    """A file that was not read, and why."""

    file: str
    """Name of the file, as seen from where the run was started."""
    reason: str
    """Why it was not read, as the end of a sentence."""


@with_config(CLOSED)
class HoldObject(TypedDict):
    """Whether the run is held, and at which category."""

    at: Annotated[str, WithJsonSchema({"type": "string", "enum": list(HOLDS)})]
    """Category that was asked for, or never."""
    held: bool
    """Whether a finding is of that category or a more urgent one."""


@with_config(CLOSED)
class SummaryObject(TypedDict):
    """Counts over the whole run, and the files that were not read."""

    hold: HoldObject
    """Whether the run is held."""
    categories: dict[Category, int]
    """How many findings there are of each category."""
    worst_first: list[str]
    """Fingerprints of the findings by category, in each those that cost most first."""
    outcomes: dict[OutcomeWord, int]
    """How many outcomes there are of each word, over all rules and meters."""
    meters: int
    """How many meters were judged."""
    not_judged: int
    """How many further meters could not be read far enough to be judged."""
    files: int
    """How many files were read."""
    as_of: str | None
    """Day that dates were judged as of."""
    left_out: list[LeftOutObject]
    """The files that were not read."""


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
class AtFlowObject(TypedDict):
    """The error of a reading at one flow of the process."""

    name: Annotated[str, WithJsonSchema({"type": "string", "enum": list(FLOWS)})]
    """Which flow it is."""
    flow: AmountObject
    """The flow."""
    reading_error: float
    """Error of the reading over the flow, more than 0 where it reads high."""
    error: AmountObject
    """Error of the reading, as a flow."""


@with_config(CLOSED)
class EffectObject(TypedDict):
    """What a fault costs: the error of a reading, in share, in flow, over a year."""

    of: str
    """What reads wrong."""
    measure: Annotated[str, WithJsonSchema({"type": "string", "enum": list(MEASURES)})]
    """Whether the reading is wrong or a share of the flow is lost from it."""
    reading_error: float
    """Error of the reading over the flow, more than 0 where it reads high."""
    told_at: str
    """The flow at which it has this error; empty where it has it at all flows."""
    at: list[AtFlowObject]
    """The error at the flows of the process that are known."""
    volume_per_year: AmountObject | None
    """What is read too much in a year, less than 0 too little; null if not known."""
    hours_per_year: float
    """Hours of flow in the year."""
    hours_assumed: bool
    """Whether nobody has stated the hours, so that those of a whole year are taken."""


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
    """What the rule says of the meter."""
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
    basis: str
    """Why the rule holds, and how far that was verified."""


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


def write(report: Report, hold_at: str) -> str:
    """Write the report as one JSON object, ending in a line feed."""
    return to_text(report_object(report, hold_at))


def to_text(content: object) -> str:
    r"""Write any content as JSON, ending in a line feed.

    Characters that a terminal would act on, or that are no text, are escaped; all
    others stand for themselves.

    >>> to_text(["1 \u00b5S/cm", "\x9b31m"])
    '[\n  "1 µS/cm",\n  "\\u009b31m"\n]\n'
    """
    text = json.dumps(content, indent=2, ensure_ascii=False, allow_nan=False)
    odd = {each for each in set(text) if not each.isprintable() and each != "\n"}
    escapes = {ord(each): json.dumps(each).strip('"') for each in odd}
    return f"{text.translate(escapes)}\n"


def report_object(report: Report, hold_at: str) -> ReportObject:
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
            "hold": {"at": hold_at, "held": report.held(hold_at)},
            "categories": report.by_category,
            "worst_first": [each.fingerprint for each in report.worst_first],
            "outcomes": report.by_outcome,
            "meters": len(report.meters),
            "not_judged": report.not_judged,
            "files": report.files,
            "as_of": report.run_date.isoformat() if report.run_date else None,
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
        "effect": None if finding.effect is None else _effect(finding.effect),
        "assumptions": list(finding.assumptions),
        "remedy": finding.remedy,
        "basis": finding.basis,
    }


def _effect(effect: Effect) -> EffectObject:
    return {
        "of": effect.of,
        "measure": effect.measure,
        "reading_error": effect.relative,
        "told_at": effect.told_at,
        "at": [
            {
                "name": each.name,
                "flow": _amount(each.flow),
                "reading_error": each.relative,
                "error": _amount(each.error),
            }
            for each in effect.at
        ],
        "volume_per_year": None
        if effect.per_year is None
        else _amount(effect.per_year),
        "hours_per_year": effect.hours,
        "hours_assumed": effect.hours_assumed,
    }


def _values(values: Mapping[str, Amount | str | bool]) -> dict[str, Value]:
    return {
        name: _amount(value) if isinstance(value, Amount) else value
        for name, value in values.items()
    }


def _amount(amount: Amount) -> AmountObject:
    return {"value": amount.value, "unit": amount.unit}
