"""How a meter stands in the check of its workspace, as plain dicts of JSON."""

from __future__ import annotations

from pydantic import with_config
from typing_extensions import TypedDict

from configlint.outputs.json import CLOSED, Category, OutcomeWord
from configlint.sheets.standing import Standing

__all__ = ["OutcomeObject", "outcome_object"]


@with_config(CLOSED)
class SheetFindingObject(TypedDict):
    """A finding of the meter, in a check of its whole workspace."""

    rule: str
    """Id of the rule."""
    category: Category
    """A: close before service; B: close before acceptance; C: when convenient."""
    line: int
    """Line of the meter's file, from 1."""
    message: str
    """What is wrong."""
    conceded: str
    """By whom, why and until when it is conceded; empty where it is to be closed."""


@with_config(CLOSED)
class NotAssessedObject(TypedDict):
    """A rule that could not be assessed."""

    rule: str
    """Id of the rule."""
    category: Category
    """A: close before service; B: close before acceptance; C: when convenient."""
    missing: list[str]
    """What it lacks."""


@with_config(CLOSED)
class OutcomeObject(TypedDict):
    """What a check of the whole workspace says of the meter."""

    findings: list[SheetFindingObject]
    """Those still to be closed first, each group by category and line."""
    not_assessed: list[NotAssessedObject]
    """The rules that lack an input."""
    counts: dict[OutcomeWord, int]
    """How many rules came to each outcome, those across meters among them."""
    conforming: list[str]
    """Ids of the rules that the meter conforms to, in the order of their names."""
    not_applicable: list[str]
    """Ids of the rules that do not apply to it, in the order of their names."""
    compared_with: int
    """How many other meters the rules across meters compared it with."""
    concession_needs_day: list[str]
    """Rules not met that a concession may be of; it is judged as of a day alone."""


def outcome_object(standing: Standing) -> OutcomeObject:
    """Give how a meter stands as plain dicts and lists, in the order of the schema."""
    return {
        "findings": [
            {
                "rule": each.rule,
                "category": each.category,
                "line": each.line,
                "message": each.message,
                "conceded": each.conceded,
            }
            for each in standing.findings
        ],
        "not_assessed": [
            {
                "rule": each.rule,
                "category": each.category,
                "missing": list(each.missing),
            }
            for each in standing.gaps
        ],
        "counts": dict(standing.outcomes),
        "conforming": list(standing.met),
        "not_applicable": list(standing.not_applicable),
        "compared_with": standing.others,
        "concession_needs_day": list(standing.undated),
    }
