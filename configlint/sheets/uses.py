"""The rules that use a value of a sheet: what they ask of it, and how far off it is."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from configlint.bench import Laid
from configlint.compiler import Scope, Values, evaluate
from configlint.effects import rounded
from configlint.engine import (
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    Derived,
    margin,
)
from configlint.formula import Apply, Node, names
from configlint.rules import MeterRule
from configlint.settling import settle
from configlint.sheets.shown import Shown, print_amount
from configlint.units import Quantity, parse_quantity
from configlint.worked import in_symbols

__all__ = ["ASKS", "JUDGES", "ROLES", "TELLS", "Bound", "Use", "Uses"]

ROLES = JUDGES, ASKS, TELLS = ("judges", "asks", "tells")
"""What a rule can do with a value."""

SIDES = {"<": 1.0, "<=": 1.0, ">": -1.0, ">=": -1.0}


class Bound(NamedTuple):
    """A comparison of a rule with a value: in symbols, its limit, and how far inside.

    `margin` is relative to the limit, negative where it is not met, None where the
    limit is zero or an equality is asked. `paths` are all values that it names.
    """

    condition: str
    limit: str
    margin: float | None
    is_met: bool
    paths: tuple[str, ...]


class Use(NamedTuple):
    """What a rule does with a value, and what it says of the meter.

    `role` is `judges`, `asks` (whether the rule applies at all) or `tells` (in its
    finding alone). `margin` is that of the whole rule, as a finding tells it.
    `notes` are the limits that a policy has changed, with the reason.
    """

    rule: str
    category: str
    asks: str
    role: str
    outcome: str
    margin: float | None
    bounds: tuple[Bound, ...]
    notes: tuple[str, ...]


class _Judged(NamedTuple):
    """A rule that speaks of the meter, with the limits that hold for it."""

    rule: MeterRule
    outcome: str
    scope: Scope
    values: Values
    limits: Mapping[str, Quantity]
    notes: tuple[str, ...]

    @property
    def is_decided(self) -> bool:
        """Whether the rule has come to an answer."""
        return self.outcome in (CONFORMS, NONCONFORMING)


class Uses:
    """What the rules do with the values of one meter."""

    def __init__(self, laid: Laid, shown: Shown) -> None:
        self.shown = shown
        self.symbols = laid.book.symbols
        outcomes = laid.judge.judge(shown.derived)
        words = {outcome.rule.id: outcome.word for outcome in outcomes}
        self.judged = [
            _judge(laid, shown.derived, rule, words[rule.id])
            for rule in laid.book.meter_rules
        ]
        self.roles = {each.rule.id: _roles(each.rule) for each in self.judged}
        self.reached = {
            each.rule.id: frozenset(
                (*laid.book.needed_by(each.rule), *laid.book.shown[each.rule.id])
            )
            for each in self.judged
        }

    def applies(self, name: str) -> bool | None:
        """Whether a rule that uses a value applies; None where no rule uses it."""
        said = [
            each.outcome != NOT_APPLICABLE
            for each in self.judged
            if name in self.reached[each.rule.id]
        ]
        return any(said) if said else None

    def of(self, name: str) -> tuple[Use, ...]:
        """Give the rules that use a value by itself, in the order of the rule files."""
        roles = (
            (judged, self.roles[judged.rule.id].get(name)) for judged in self.judged
        )
        return tuple(self._use(name, judged, role) for judged, role in roles if role)

    def _use(self, name: str, judged: _Judged, role: str) -> Use:
        rule, room = judged.rule, None
        if judged.is_decided:
            room = margin(rule.accept.tree, judged.scope, judged.values)
        return Use(
            rule.id,
            rule.category,
            rule.asks,
            role,
            judged.outcome,
            None if room is None else rounded(room),
            tuple(self.bounds(name, judged)) if judged.is_decided else (),
            judged.notes,
        )

    def bounds(self, name: str, judged: _Judged) -> Iterator[Bound]:
        """Give the comparisons of a decided rule that a value takes part in."""
        for node in _comparisons(judged.rule.accept.tree, judged.scope, judged.values):
            if name in names(node):
                left, right = (
                    evaluate(side, judged.scope, judged.values)
                    for side in node.operands
                )
                if math.isfinite(left) and math.isfinite(right):
                    yield self._bound(name, node, judged, left, right)

    def _bound(
        self, name: str, node: Apply, judged: _Judged, left: float, right: float
    ) -> Bound:
        """Hold a value against the side of a comparison that it does not stand on."""
        on_right = name not in names(node.operands[0])
        side, limit = (
            (node.operands[0], left) if on_right else (node.operands[1], right)
        )
        limits = {each: print_amount(made) for each, made in judged.limits.items()}
        sign = SIDES.get(node.symbol)
        room = None
        if sign is not None and limit:
            room = rounded(sign * (right - left) / abs(limit))
        return Bound(
            in_symbols(node, {**self.symbols, **limits}),
            self._said(side, limit, name, judged),
            room,
            evaluate(node, judged.scope, judged.values) is True,
            tuple(names(node)),
        )

    def _said(self, side: Node, value: float, name: str, judged: _Judged) -> str:
        """Write a side of a comparison as an amount, a limit as the rule writes it."""
        settled = settle(side, judged.scope, judged.values, self.symbols)
        self.shown.take_cells(settled.cells)
        written = {**judged.limits, **self.shown.cells}
        paths = settled.paths
        if settled.is_value and paths[0] in written:
            return self.shown.as_written(written[paths[0]])
        amounts = [
            self.shown.of_written(judged.limits[path])
            if path in judged.limits
            else self.shown.amount(path)
            for path in paths
        ]
        if settled.is_value:
            return amounts[0].said
        unit = self.shown.amount(name).unit
        return self.shown.computed(value, unit, amounts).said


def _judge(laid: Laid, derived: Derived, rule: MeterRule, outcome: str) -> _Judged:
    """Put a rule together with the limits that a site's policy has given it."""
    changed = laid.changes.get(rule.id, {})
    limits = {**rule.limits, **{name: each.limit for name, each in changed.items()}}
    amounts = {name: each.value for name, each in limits.items()}
    return _Judged(
        rule,
        outcome,
        laid.judge.scopes[rule.id],
        Values(derived.values, derived.written, amounts),
        {name: parse_quantity(each.text) for name, each in limits.items()},
        tuple(each.note for each in changed.values()),
    )


def _roles(rule: MeterRule) -> Mapping[str, str]:
    """What a rule does with each of the values that it names."""
    applies = () if rule.applies is None else names(rule.applies.tree)
    told = (*rule.finding.paths, *rule.remedy.paths, *rule.effect_reads)
    return {
        **dict.fromkeys(told, TELLS),
        **dict.fromkeys(applies, ASKS),
        **dict.fromkeys(rule.reads, JUDGES),
    }


def _comparisons(node: Node, scope: Scope, values: Values) -> Iterator[Apply]:
    """Give the comparisons of amounts that decide a truth, in their order."""
    if not isinstance(node, Apply):
        return
    parts = node.operands
    if node.symbol == "if":
        holds = evaluate(parts[0], scope, values)
        parts = () if holds is None else parts[1:2] if holds else parts[2:]
    if node.symbol in ("and", "or", "if"):
        for part in parts:
            yield from _comparisons(part, scope, values)
    elif node.symbol in (*SIDES, "=="):
        left, right = (evaluate(side, scope, values) for side in parts)
        if isinstance(left, float) and isinstance(right, float):
            yield node
