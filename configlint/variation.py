"""A meter with some of its settings free: what the rules say of it for other values.

The compiled rules themselves are asked, those alone that the settings sway. A rule
counts as met unless it is nonconforming.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from configlint.compiler import Function
from configlint.dependence import Dependence
from configlint.engine import Derived, Judge, derive, recompute
from configlint.facts import NEEDED, Facts, put
from configlint.rules import MeterRule, RuleBook
from configlint.scalars import Scalar
from configlint.settings import mark_of
from configlint.stages import LeftOut
from configlint.units import TOLERANCE, Quantity

__all__ = ["Fixed", "Free", "Variation"]


NOISE = 1e-12

Fixed = Mapping[str, Quantity | str | bool]
"""Values of some settings, by their paths."""


class Free(NamedTuple):
    """A meter that can be varied: its facts, and the rules that hold for it.

    Rules that are `left_out` are not asked about its settings.
    """

    dependence: Dependence
    judge: Judge
    facts: Facts
    left_out: tuple[LeftOut, ...] = ()

    @property
    def book(self) -> RuleBook:
        """The rules that hold for it."""
        return self.dependence.book

    def mark(self, path: str) -> Scalar | None:
        """What the text of a value can be; None where there is no such value."""
        return mark_of(path, self.book.site_data)

    def derived(self) -> Free:
        """Give the same meter with the quantities that rules judge by computed."""
        facts = self.facts.copy()
        derive(self.book, facts)
        return self._replace(facts=facts)

    def broken_with(self, values: Fixed) -> tuple[MeterRule, ...]:
        """Ask all rules of the meter with some values changed; give those not met."""
        return tuple(self.judge.not_met(self.with_values(values)))

    def with_values(self, values: Fixed) -> Derived:
        """Give the meter's quantities as they are with some values changed."""
        facts = self.facts.copy()
        for path, value in values.items():
            put(facts, path, value)
        return derive(self.book, facts)

    def vary(self, settings: Iterable[str], fixed: Fixed | None = None) -> Variation:
        """Make some settings free, others being fixed at values of their own."""
        fixed = fixed or {}
        variation = Variation(self, {*settings, *fixed})
        for path, value in fixed.items():
            variation.put(path, value)
        return variation


class _Asked(NamedTuple):
    """A rule with its condition, its question, and the limits of both."""

    rule: MeterRule
    applies: Function
    applied: Mapping[str, float]
    accept: Function
    limits: Mapping[str, float]


class Variation:
    """A copy of a meter to be written over; it is meant for one thread of thought.

    `rules` are those that the free settings sway and that may speak of the meter. A
    set of them is a whole number with a bit for each, in their order. `of_figures` is
    the set of those that look at the figures of a value, `by_amount` of all others.
    Those that would speak but are left out stand in `passed_over`.
    """

    def __init__(self, free: Free, settings: Iterable[str]) -> None:
        self.facts = free.facts.copy()
        inputs = set(settings)
        for path, amount in sorted(self.facts.converted.items(), key=_is_ratio):
            if NEEDED[amount.unit.kind] in inputs:
                inputs.add(path)
        self.sway = free.dependence.sway(inputs)
        asked = tuple(filter(self._may_speak, _asked(free.judge, self.sway.rules)))
        out = {each.rule for each in free.left_out}
        spoken = {each.rule.id for each in asked}
        self.passed_over = tuple(e for e in free.left_out if e.rule in spoken)
        self.asked = tuple(each for each in asked if each.rule.id not in out)
        self.rules = tuple(each.rule for each in self.asked)
        self.limits = {each.rule.id: each.limits for each in self.asked} | {"": {}}
        self.turning = tuple(
            turn for turn in self.sway.turns if turn.rule in self.limits
        )
        self.sides = tuple(
            (turn.left, turn.right, self.limits[turn.rule], turn.step is not None)
            for turn in self.turning
        )
        self.of_figures = self.set_of(self.sway.of_figures)
        self.all_rules = (1 << len(self.rules)) - 1
        self.by_amount = self.all_rules & ~self.of_figures

    def _may_speak(self, asked: _Asked) -> bool:
        if asked.rule.id in self.sway.conditional:
            return True
        values, written = self.facts.values, self.facts.written
        return asked.applies(values, written, asked.applied) is not False

    def put(self, path: str, value: Quantity | str | bool) -> None:
        """Write a value of a free setting, and compute what hangs on it."""
        self.write(path, value)
        self.recompute()

    def write(self, path: str, value: Quantity | str | bool) -> None:
        """Write a value of a free setting, before others that go with it."""
        put(self.facts, path, value)

    def recompute(self) -> None:
        """Compute what hangs on the free settings."""
        recompute(self.sway.quantities, self.facts)

    def broken(self) -> int:
        """Give the set of rules that the values now written do not meet."""
        values, written = self.facts.values, self.facts.written
        found, bit = 0, 1
        for _, applies, applied, accept, limits in self.asked:
            if applies(values, written, applied) and (
                accept(values, written, limits) is False
            ):
                found |= bit
            bit <<= 1
        return found

    def left_open(self) -> int:
        """Give the set of rules that can't be assessed with the values now written."""
        values, written = self.facts.values, self.facts.written
        found = 0
        for position, (_, applies, applied, accept, limits) in enumerate(self.asked):
            asked = applies(values, written, applied)
            if asked is None or (asked and accept(values, written, limits) is None):
                found |= 1 << position
        return found

    def applying(self) -> int:
        """Give the set of rules that are asked of the meter, or may be."""
        values, written = self.facts.values, self.facts.written
        found = 0
        for position, (_, applies, applied, _, _) in enumerate(self.asked):
            if applies(values, written, applied) is not False:
                found |= 1 << position
        return found

    def turns(self) -> tuple[float, ...]:
        """Give the numbers that decide, in the order of `turning`."""
        values, written = self.facts.values, self.facts.written
        found = []
        for left, right, limits, in_steps in self.sides:
            number = left(values, written, limits)
            if right is not None:
                other = right(values, written, limits)
                close = not in_steps and math.isclose(number, other, rel_tol=TOLERANCE)
                # A difference that no comparison sees is none.
                number = 0.0 if close else number - other
            found.append(number)
        return tuple(found)

    def turn(self, position: int) -> float:
        """Give one of them to the last digit, to find where it is zero."""
        values, written = self.facts.values, self.facts.written
        left, right, limits, _ = self.sides[position]
        number = float(left(values, written, limits))
        return number if right is None else number - right(values, written, limits)

    def is_on_turn(self, position: int) -> bool:
        """Whether one of them is zero but for the noise of arithmetic.

        What goes in steps is on a turn where its next step begins.
        """
        values, written = self.facts.values, self.facts.written
        left, right, limits, _ = self.sides[position]
        number = left(values, written, limits)
        other = 0.0 if right is None else right(values, written, limits)
        return math.isclose(number, other, rel_tol=NOISE)

    def set_of(self, ids: Iterable[str]) -> int:
        """Give the set of the rules of some ids, as far as they are swayed."""
        wanted = set(ids)
        return sum(
            1 << position
            for position, rule in enumerate(self.rules)
            if rule.id in wanted
        )

    def named(self, rules: int) -> tuple[str, ...]:
        """Name the rules of a set, by urgency, then in the order they are asked."""
        those = [
            rule for position, rule in enumerate(self.rules) if rules >> position & 1
        ]
        return tuple(rule.id for rule in sorted(those, key=_urgency))


def _urgency(rule: MeterRule) -> str:
    return rule.category


def _is_ratio(converted: tuple[str, Quantity]) -> bool:
    return converted[1].unit.kind == "ratio"


def _asked(judge: Judge, rules: Iterable[MeterRule]) -> Iterator[_Asked]:
    plan: dict[str, Any] = {rule.id: rest for rule, *rest in judge.plan}
    for rule in rules:
        place, accept, limits, *_ = plan[rule.id]
        applies, applied = judge.conditions[place]
        yield _Asked(rule, applies, applied, accept, limits)
