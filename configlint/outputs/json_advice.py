"""The values that would settle a finding, as a part of the findings report in JSON."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, WithJsonSchema, with_config
from typing_extensions import TypedDict

from configlint.proposals import KINDS, Advice, Change
from configlint.units import QuantityError, parse_quantity

__all__ = ["AdviceObject", "ChangeObject", "advice_object"]

CLOSED = ConfigDict(extra="forbid", use_attribute_docstrings=True)


@with_config(CLOSED)
class ChangeObject(TypedDict):
    """A setting and what its file would hold for it."""

    setting: str
    """Path of the setting."""
    value: float | str
    """The number in front of the unit; for what is no amount, its text."""
    unit: str
    """The unit's spelling; empty for a plain number or a text."""


@with_config(CLOSED)
class AdviceObject(TypedDict):
    """Changes, made together, by which the rule is met and no other one broken."""

    kind: Annotated[str, WithJsonSchema({"type": "string", "enum": list(KINDS)})]
    """What the values are proposed as."""
    changes: list[ChangeObject]
    """The changes, the one that the others go with first."""
    within: str
    """What the first setting may be then, in words; empty for no amount."""
    if_right: str
    """Path of the setting whose value is then right, several joined by "and".

    It is empty where there is no doubt.
    """
    unless: list[str]
    """Rules that would be broken if the other one of the two were right."""
    bound: str
    """The rule that bounds the value, where that is not the finding's own."""
    net: str
    """The rule whose finding the changes settle as a whole; empty for one by itself."""


def advice_object(advice: Advice) -> AdviceObject:
    """Give advice as plain dicts and lists, in the order of its schema."""
    changes = [_change(each) for each in advice.changes]
    return {
        "kind": advice.kind,
        "changes": changes,
        "within": advice.within,
        "if_right": advice.if_right,
        "unless": list(advice.unless),
        "bound": advice.bound,
        "net": advice.net,
    }


def _change(change: Change) -> ChangeObject:
    try:
        amount = parse_quantity(change.value)
    except QuantityError:
        return {"setting": change.setting, "value": change.value, "unit": ""}
    number, unit = float(amount.number), amount.unit.spelling
    return {"setting": change.setting, "value": number, "unit": unit}
