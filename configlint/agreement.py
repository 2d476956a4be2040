"""Values that must be the same as others, each as the other one is written.

Where two settings of a chain disagree, the one that is wrong is given what the other
one says, figure and unit, as it would be read off there. A rule holds two values to be
the same where it is met when one is written like the other, and broken as soon as it is
somewhat less or somewhat more.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from configlint.amounts import Measured, Number
from configlint.axes import amount_at
from configlint.candidates import written
from configlint.rules import MeterRule
from configlint.units import DIMENSIONLESS, Quantity, from_si
from configlint.variation import Fixed, Free
from configlint.window import settable_paths

__all__ = ["Agreement", "agreements", "ways_back"]

SOMEWHAT = 0.1
"""How far off a value must be to show that a rule wants it neither less nor more."""

VELOCITY = "velocity"


class Agreement(NamedTuple):
    """A value that a setting is to have since another one, its counterpart, has it."""

    setting: str
    value: Quantity
    counterpart: str

    @property
    def values(self) -> Fixed:
        """The value by its setting's path."""
        return {self.setting: self.value}


def agreements(free: Free, rule: MeterRule, setting: str) -> Iterator[Agreement]:
    """Give the values that a setting would have to agree with others by a rule.

    The quantities of the meter must be derived.

    >>> from configlint.data import data_folder
    >>> from configlint.dependence import Dependence
    >>> from configlint.engine import Judge
    >>> from configlint.facts import facts
    >>> from configlint.meters import Meter
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> bare = facts(Meter(meter="FT-1", principle="electromagnetic"))
    >>> free = Free(Dependence(book), Judge(book), bare).derived()
    >>> rule = next(each for each in book.meter_rules if each.id == "size-agrees")
    >>> list(agreements(free, rule, "transmitter.nominal_size"))
    []
    """
    for other in dict.fromkeys((*rule.settings, *rule.reads)):
        amount = amount_at(free.facts, other)
        if other == setting or amount is None or not _is_alike(free, setting, other):
            continue
        if not _may_be_written(free, setting, amount):
            continue
        if _is_held_to(free, rule, setting, amount):
            yield Agreement(setting, amount, other)


def ways_back(agreements: Sequence[Agreement]) -> Iterator[tuple[str, str]]:
    """Give the settings that would have to follow another one, and do not yet.

    >>> from configlint.units import parse_quantity
    >>> value = parse_quantity("1 l")
    >>> one = Agreement("a", value, "b")
    >>> list(ways_back([one])), list(ways_back([one, Agreement("b", value, "a")]))
    ([('b', 'a')], [])
    """
    following = {each.setting for each in agreements}
    for each in agreements:
        if each.counterpart not in following:
            yield each.counterpart, each.setting


def _is_alike(free: Free, setting: str, other: str) -> bool:
    """Whether a value is of a setting's kind, and one that a meter's own file holds."""
    inputs = free.book.inputs
    own = other in settable_paths(free.book)
    return own and inputs[other].kind == inputs[setting].kind


def _may_be_written(free: Free, setting: str, amount: Quantity) -> bool:
    """Whether a file may write a setting as an amount is written.

    A transmitter may show its range as a velocity; nothing else is scaled in one.
    """
    mark = free.mark(setting)
    if isinstance(mark, Measured):
        return amount.unit.kind in mark.kinds and amount.unit.kind != VELOCITY
    return isinstance(mark, Number) and amount.unit is DIMENSIONLESS


def _is_held_to(free: Free, rule: MeterRule, setting: str, amount: Quantity) -> bool:
    """Whether a rule wants a setting to be an amount, and not less or more."""
    variation = free.vary([setting])
    own = variation.set_of([rule.id])
    present = amount_at(free.facts, setting)
    near = [each for each in (amount, present) if each is not None and each.si]
    if not own or not near:
        return False
    step = SOMEWHAT * abs(near[0].si)
    others = (amount.si - step, amount.si + step)
    variation.put(setting, amount)
    if variation.broken() & own:
        return False
    for other in others:
        variation.put(setting, written(from_si(other, amount.unit), amount.unit))
        if not variation.broken() & own:
            return False
    return True
