"""The calculation sheets as JSON, byte-identical for the same input.

The typed dictionaries here are their shape; its JSON Schema is generated from them.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal

from pydantic import WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint import __version__
from configlint.effects import rounded
from configlint.outputs.json import (
    CLOSED,
    AmountObject,
    Category,
    OutcomeWord,
    RuleSetObject,
    to_text,
)
from configlint.outputs.text import CAUTIONS
from configlint.printed import SYSTEMS
from configlint.sheets.shown import Amount
from configlint.sheets.standing_json import OutcomeObject, outcome_object
from configlint.sheets.summary_json import (
    EndsObject,
    IdentityObject,
    ends_object,
    identity_object,
)
from configlint.sheets.uses import ROLES, Use
from configlint.sheets.worksheet_values import Entry, Open, Sheet

__all__ = ["FORMAT", "WorksheetObject", "worksheet_object", "write"]

FORMAT: Literal["configlint-worksheet/1"] = "configlint-worksheet/1"

Role = Annotated[str, WithJsonSchema({"type": "string", "enum": list(ROLES)})]
System = Annotated[str, WithJsonSchema({"type": "string", "enum": list(SYSTEMS)})]


@with_config(CLOSED)
class InputObject(TypedDict):
    """An input that formulas or limits of the sheet name."""

    path: str
    """Path in the meter file, the type sheet or the site file."""
    symbol: str
    """Its symbol in the formulas."""
    means: str
    """What it is."""
    shown: str
    """The value in the units of the sheet."""
    written: str
    """The value as its file writes it."""
    origin: str
    """Where it is written: a line of the meter file, the type sheet or the site."""


@with_config(CLOSED)
class LookedObject(TypedDict):
    """A figure that a formula takes from a table."""

    words: str
    """What it is, as the formula calls it."""
    table: str
    """Name of the table."""
    row: str
    """Name of the row."""
    written: str
    """The figure as the table writes it."""
    source: str
    """Where the row's figures are from."""


@with_config(CLOSED)
class BoundObject(TypedDict):
    """A comparison of a rule with the quantity."""

    condition: str
    """The comparison, in symbols."""
    numbers: str
    """Both sides as amounts, with the sign that is true of them."""
    limit: str
    """The side that is the limit, as an amount."""
    margin: float | None
    """Distance to the limit relative to it, negative where it is not met."""
    distance: str
    """The distance in words, empty where there is nothing to tell."""
    is_met: bool
    """Whether the comparison holds."""


@with_config(CLOSED)
class UseObject(TypedDict):
    """A rule that uses the quantity, and what it says of the meter."""

    rule: str
    """Id of the rule."""
    category: Category
    """A: close before service; B: close before acceptance; C: when convenient."""
    asks: str
    """The question that the rule asks."""
    role: Role
    """Whether the rule judges by the quantity, or asks or tells of it alone."""
    outcome: OutcomeWord
    """What the rule says of the meter."""
    condition: str
    """What the rule asks of the quantity, in symbols, empty where it is not decided."""
    margin: float | None
    """Distance of the whole rule to its limit, as a finding tells it."""
    limits: list[BoundObject]
    """The comparisons that the quantity takes part in and that decide."""
    notes: list[str]
    """Limits that a policy has changed, each with the reason."""


@with_config(CLOSED)
class QuantityObject(TypedDict):
    """A computed quantity with all that belongs to it."""

    name: str
    """Its name in the rule set."""
    symbol: str
    """Its symbol in print."""
    means: str
    """What it is."""
    formula: str
    """The formula in symbols, of every choice the branch that holds."""
    numbers: str
    """The formula with the numbers put in, empty where it is a value as it stands."""
    result: str
    """The result as printed."""
    value: AmountObject | None
    """The result to twelve significant digits; null for what is no amount."""
    figures: int | None
    """How many figures of the result are significant; null where all of them are."""
    since: list[str]
    """Why those branches of the formula were taken that stand in the numbers."""
    tables: list[LookedObject]
    """The figures that it takes from tables."""
    assumed: str
    """What was assumed for an input that is not written, empty for nothing."""
    basis: str
    """What it rests on, and how far that was verified, or where it is stated."""
    used_for: list[str]
    """Symbols of the quantities that are computed from it."""
    rules: list[UseObject]
    """The rules that use it by itself."""


@with_config(CLOSED)
class PartObject(TypedDict):
    """The quantities whose inputs a section of the meter file completes."""

    title: str
    """Name of the section."""
    quantities: list[QuantityObject]
    """The quantities, each after those it is computed from."""


@with_config(CLOSED)
class NotComputedObject(TypedDict):
    """A quantity that can't be computed."""

    name: str
    """Its name in the rule set."""
    symbol: str
    """Its symbol in print."""
    means: str
    """What it is."""
    formula: str
    """The formula in symbols."""
    missing: list[str]
    """Paths of the inputs it lacks; empty where the values give no number."""
    no_number: str
    """Which part of the formula gives no number; empty where inputs are missing."""
    instead: list[str]
    """Paths of inputs that would do in their place."""
    rules: list[UseObject]
    """The rules that use it by itself."""


@with_config(CLOSED)
class LeftOutCounts(TypedDict):
    """How many quantities do not stand on the sheet."""

    not_applicable: int
    """Those that do not apply to the meter."""
    silent: int
    """Those that only name the cause of a fault, where there is none to name."""
    not_needed: int
    """Those that can't be computed, and that no rule needs for its answer."""


@with_config(CLOSED)
class SheetObject(TypedDict):
    """The calculation sheet of one meter."""

    meter: str
    """Tag of the meter."""
    site: str
    """Name of its site, empty where it belongs to none."""
    workspace: str
    """Name of its workspace, empty where it belongs to none."""
    file: str
    """Name of its file, as seen from where the run was started."""
    service: str
    """What the meter measures, empty where that is not written."""
    identity: IdentityObject
    """What identifies the meter and its record."""
    outcome: OutcomeObject | None
    """What a check says of the meter; null where none was made."""
    both_ends: list[EndsObject]
    """The settings that two devices must hold alike, as each has them."""
    key_figures: list[str]
    """Names of the quantities that the sheet is summed up by, computed or not."""
    units: System
    """The system of units that the sheet is in."""
    as_of: str | None
    """Day that dates were judged as of; null where none was given."""
    rulesets: list[RuleSetObject]
    """The rule sets that hold for the meter."""
    inputs: list[InputObject]
    """The inputs that formulas or limits name and that are written."""
    parts: list[PartObject]
    """The computed quantities, section by section."""
    not_computed: list[NotComputedObject]
    """The quantities that can't be computed."""
    unreadable: list[str]
    """Paths of values that are written and faulty."""
    left_out: LeftOutCounts
    """What does not stand on the sheet."""


@with_config(CLOSED)
class WorksheetObject(TypedDict):
    """Calculation sheets of meters."""

    format: Literal["configlint-worksheet/1"]
    """The format and its version."""
    version: str
    """Version of configlint."""
    cautions: str
    """What to bear in mind before acting on the sheets."""
    sheets: list[SheetObject]
    """One sheet a meter."""


def write(sheets: Iterable[Sheet]) -> str:
    """Write the sheets as one JSON object, ending in a line feed."""
    return to_text(worksheet_object(sheets))


def worksheet_object(sheets: Iterable[Sheet]) -> WorksheetObject:
    """Give the sheets as plain dicts and lists, in the order of their schema."""
    return {
        "format": FORMAT,
        "version": __version__,
        "cautions": CAUTIONS,
        "sheets": [_sheet(sheet) for sheet in sheets],
    }


def _sheet(sheet: Sheet) -> SheetObject:
    subject = sheet.subject
    return {
        "meter": subject.meter,
        "site": subject.site,
        "workspace": subject.workspace,
        "file": subject.file,
        "service": sheet.service,
        "identity": identity_object(sheet.identity),
        "outcome": None if sheet.standing is None else outcome_object(sheet.standing),
        "both_ends": [ends_object(each) for each in sheet.ends],
        "key_figures": [each.name for each in sheet.keys],
        "units": sheet.system,
        "as_of": sheet.run_date.isoformat() if sheet.run_date else None,
        "rulesets": [
            {"name": each.name, "edition": each.edition, "digest": each.digest}
            for each in sheet.editions
        ],
        "inputs": [
            {
                "path": each.path,
                "symbol": each.symbol,
                "means": each.means,
                "shown": each.shown,
                "written": each.written,
                "origin": each.origin,
            }
            for each in sheet.inputs
        ],
        "parts": [
            {"title": part.title, "quantities": [_quantity(e) for e in part.entries]}
            for part in sheet.parts
        ],
        "not_computed": [_not_computed(gap) for gap in sheet.open],
        "unreadable": list(sheet.unreadable),
        "left_out": {
            "not_applicable": sheet.not_applicable,
            "silent": sheet.silent,
            "not_needed": sheet.unwanted,
        },
    }


def _quantity(entry: Entry) -> QuantityObject:
    amount = entry.amount
    return {
        "name": entry.name,
        "symbol": entry.symbol,
        "means": entry.means,
        "formula": entry.formula,
        "numbers": entry.numbers,
        "result": entry.result,
        "value": None if amount is None else _amount(amount),
        "figures": None if amount is None else amount.figures,
        "since": list(entry.reasons),
        "tables": [
            {
                "words": each.words,
                "table": each.table,
                "row": each.row,
                "written": each.written,
                "source": each.source,
            }
            for each in entry.looked
        ],
        "assumed": entry.assumed,
        "basis": entry.basis,
        "used_for": list(entry.feeds),
        "rules": [_use(use) for use in entry.uses],
    }


def _amount(amount: Amount) -> AmountObject:
    return {"value": rounded(amount.number), "unit": amount.unit.spelling}


def _not_computed(gap: Open) -> NotComputedObject:
    return {
        "name": gap.name,
        "symbol": gap.symbol,
        "means": gap.means,
        "formula": gap.formula,
        "missing": [each.path for each in gap.missing],
        "no_number": gap.why,
        "instead": [each.path for each in gap.instead],
        "rules": [_use(use) for use in gap.uses],
    }


def _use(use: Use) -> UseObject:
    return {
        "rule": use.rule,
        "category": use.category,
        "asks": use.asks,
        "role": use.role,
        "outcome": use.outcome,
        "condition": use.condition,
        "margin": use.margin,
        "limits": [
            {
                "condition": bound.condition,
                "numbers": bound.numbers,
                "limit": bound.limit,
                "margin": bound.margin,
                "distance": bound.distance,
                "is_met": bound.is_met,
            }
            for bound in use.bounds
        ],
        "notes": list(use.notes),
    }
