"""Amounts, and what a fault costs, as parts of the reports in JSON."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field, WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint.effects import FLOWS, MEASURES, Amount, Effect, Net
from configlint.report import Cost

__all__ = [
    "CLOSED",
    "AmountObject",
    "AtFlowObject",
    "CostObject",
    "EffectObject",
    "FiguresObject",
    "NetObject",
    "amount_object",
    "cost_object",
    "effect_object",
    "figures_object",
    "net_object",
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


# A class that is derived from another inherits descriptions, but no docstrings.
@with_config(CLOSED)
class FiguresObject(TypedDict):
    """The error of a reading: in share, in flow, over a year."""

    of: Annotated[str, Field(description="What reads wrong.")]
    measure: Annotated[
        str,
        WithJsonSchema({"type": "string", "enum": list(MEASURES)}),
        Field(
            description="Whether the reading is wrong or a share of the flow is lost "
            "from it."
        ),
    ]
    reading_error: Annotated[
        float,
        Field(
            description="Error of the reading over the flow, more than 0 where it "
            "reads high."
        ),
    ]
    told_at: Annotated[
        str,
        Field(
            description="The flow at which it has this error; empty where it has it at "
            "all flows."
        ),
    ]
    at: Annotated[
        list[AtFlowObject],
        Field(description="The error at the flows of the process that are known."),
    ]
    volume_per_year: Annotated[
        AmountObject | None,
        Field(
            description="What is read too much in a year, less than 0 too little; null "
            "if not known."
        ),
    ]
    hours_per_year: Annotated[float, Field(description="Hours of flow in the year.")]
    hours_assumed: Annotated[
        bool,
        Field(
            description="Whether nobody has stated the hours, so that those of a whole "
            "year are taken."
        ),
    ]


@with_config(CLOSED)
class NetObject(TypedDict):
    """What several faults of a meter come to together in a reading."""

    of: str
    """What reads wrong."""
    rule: str
    """Rule that computes it; its finding, where there is one, has the same figures."""
    counted: list[str]
    """Rules of the meter's findings whose faults are counted in it."""
    left_out: list[str]
    """Rules of those that bear on the reading too, and which no rule counts in."""
    missing: list[str]
    """Paths of the inputs that it lacks, where it is not known."""
    figures: FiguresObject | None
    """What it comes to; null if that is not known."""


@with_config(CLOSED)
class EffectObject(FiguresObject):
    """What a fault costs, and what it comes to with the meter's other faults."""

    alone: bool
    """Whether this is the fault's share, taken alone, of what the reading is off by."""
    others: list[str]
    """Rules of the meter's other findings whose faults bear on the same reading."""
    counts: list[str]
    """Rules of those whose faults these figures count as well."""
    nets: list[NetObject]
    """What it comes to with others. Such a share is not to be added to its net."""


@with_config(CLOSED)
class CostObject(FiguresObject):
    """What a meter's reading is off by, with all faults whose net is known."""

    fingerprint: str
    """Fingerprint of a finding that this comes from."""


def effect_object(effect: Effect) -> EffectObject:
    """Give an effect as plain dicts and lists, in the order of its schema."""
    return {
        **figures_object(effect),
        "alone": effect.is_share,
        "others": list(effect.others),
        "counts": list(effect.counts),
        "nets": [net_object(each) for each in effect.nets],
    }


def net_object(net: Net) -> NetObject:
    """Give a net as plain dicts and lists."""
    return {
        "of": net.of,
        "rule": net.rule,
        "counted": list(net.counted),
        "left_out": list(net.left_out),
        "missing": list(net.missing),
        "figures": None if net.effect is None else figures_object(net.effect),
    }


def cost_object(cost: Cost) -> CostObject:
    """Give a cost as plain dicts and lists."""
    fingerprint = cost.finding.fingerprint
    return {**figures_object(cost.effect), "fingerprint": fingerprint}


def figures_object(effect: Effect) -> FiguresObject:
    """Give the figures of an effect as plain dicts and lists."""
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
