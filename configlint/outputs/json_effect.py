"""Amounts, and what a fault costs, as parts of the reports in JSON."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint.effects import FLOWS, MEASURES, Amount, Effect

__all__ = [
    "CLOSED",
    "AmountObject",
    "AtFlowObject",
    "EffectObject",
    "amount_object",
    "effect_object",
]

CLOSED = ConfigDict(extra="forbid", use_attribute_docstrings=True)


@with_config(CLOSED)
class AmountObject(TypedDict):
    """A number with its unit; an empty unit for a plain number."""

    value: float
    """The number, to twelve significant digits where it is computed."""
    unit: str
    """The unit's spelling."""


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


def effect_object(effect: Effect) -> EffectObject:
    """Give an effect as plain dicts and lists, in the order of its schema."""
    return {
        "of": effect.of,
        "measure": effect.measure,
        "reading_error": effect.relative,
        "told_at": effect.told_at,
        "at": [
            {
                "name": each.name,
                "flow": amount_object(each.flow),
                "reading_error": each.relative,
                "error": amount_object(each.error),
            }
            for each in effect.at
        ],
        "volume_per_year": None
        if effect.per_year is None
        else amount_object(effect.per_year),
        "hours_per_year": effect.hours,
        "hours_assumed": effect.hours_assumed,
    }


def amount_object(amount: Amount) -> AmountObject:
    """Give an amount as a plain dict."""
    return {"value": amount.value, "unit": amount.unit}
