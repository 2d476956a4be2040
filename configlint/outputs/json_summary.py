"""The counts of a whole run as a part of the reports in JSON."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint.engine import OUTCOMES
from configlint.findings import CATEGORIES
from configlint.meters import UnreadMeter
from configlint.outputs.json_effect import CLOSED, CostObject, cost_object
from configlint.report import HOLDS, Report

__all__ = [
    "Category",
    "HoldObject",
    "LeftOutObject",
    "OutcomeWord",
    "PositiveWhole",
    "SummaryObject",
    "summary_object",
]

Category = Annotated[str, WithJsonSchema({"type": "string", "enum": list(CATEGORIES)})]
OutcomeWord = Annotated[str, WithJsonSchema({"type": "string", "enum": list(OUTCOMES)})]
PositiveWhole = Annotated[int, Field(ge=1)]


@with_config(CLOSED)
class LeftOutObject(TypedDict):
    """A file that was not read, and why."""

    file: str
    """Name of the file, as seen from where the run was started."""
    reason: str
    """Why it was not read, as the end of a sentence."""


@with_config(CLOSED)
class NotJudgedObject(TypedDict):
    """A meter that could not be read far enough to be judged, and why."""

    meter: str
    """Its tag, empty where none is written."""
    file: str
    """Name of its file, as seen from where the run was started."""
    line: PositiveWhole
    """Line of what keeps it from being judged, from 1."""
    column: PositiveWhole
    """Column of it in code points, from 1."""
    reason: str
    """What keeps it from being judged."""


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
    """How many findings there are of each category, without the conceded ones."""
    conceded: int
    """How many findings are conceded."""
    worst_first: list[str]
    """Fingerprints of the findings by category, in each those that cost most first,
    and behind all others those that are conceded. A share ranks by its net."""
    costs: list[CostObject]
    """What open findings cost, by category, then the largest first. Each net that is
    known stands for its shares, so that nothing is counted twice."""
    outcomes: dict[OutcomeWord, int]
    """How many outcomes there are of each word, over all rules and meters."""
    meters: int
    """How many meters were judged."""
    not_judged: list[NotJudgedObject]
    """The further meters that could not be read far enough to be judged."""
    files: int
    """How many files were read."""
    as_of: str | None
    """Day that dates were judged as of."""
    left_out: list[LeftOutObject]
    """The files that were not read."""


def summary_object(report: Report, hold_at: str) -> SummaryObject:
    """Give a report's counts as plain dicts and lists."""
    return {
        "hold": {"at": hold_at, "held": report.held(hold_at)},
        "categories": report.by_category,
        "conceded": report.conceded,
        "worst_first": [each.fingerprint for each in report.worst_first],
        "costs": [cost_object(each) for each in report.costs],
        "outcomes": report.by_outcome,
        "meters": len(report.meters),
        "not_judged": [_not_judged(each) for each in report.not_judged],
        "files": report.files,
        "as_of": report.run_date.isoformat() if report.run_date else None,
        "left_out": [{"file": e.file, "reason": e.reason} for e in report.left_out],
    }


def _not_judged(meter: UnreadMeter) -> NotJudgedObject:
    return {
        "meter": meter.tag,
        "file": meter.place.file,
        "line": meter.place.line,
        "column": meter.place.column,
        "reason": meter.reason,
    }
