"""A comparison of a rule as a sheet tells it: in symbols, in numbers, and how far off.

Of what a rule asks, a sheet shows the part that speaks of a value, with the choices
settled, and the comparisons in it that have decided.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import NamedTuple

from configlint.compiler import CONSTANTS, Scope, Values, evaluate, make_formula
from configlint.effects import rounded
from configlint.formula import (
    Apply,
    LookUp,
    Name,
    Node,
    Number,
    Span,
    children,
    names,
)
from configlint.kinds import Sort
from configlint.settling import Settled, decided, settle
from configlint.sheets.distances import distance, in_relation
from configlint.sheets.shown import Amount, Shown, print_amount
from configlint.units import DIMENSIONLESS, Quantity, Unit, unit_named
from configlint.worked import in_symbols

__all__ = ["Asked", "Bound", "Bounds"]

SIDES = {"<": 1.0, "<=": 1.0, ">": -1.0, ">=": -1.0}
SIGNS = {"<": "<", "<=": "≤", ">": ">", ">=": "≥", "==": "="}
NOT_MET = {"<": "≥", "<=": ">", ">": "≤", ">=": "<", "==": "≠"}

NOWHERE = Span(0, 0)
MOST_IN_PERCENT = 100.0
"""From here on a plain number is none that people read in percent."""


class Bound(NamedTuple):
    """A comparison of a rule with a value: in symbols, its limit, and how far inside.

    `left`, `sign` and `right` are both sides as amounts, and which is the greater;
    `is_plain` is true where the symbols say as much. `margin` is relative to the limit,
    negative where it is not met, None where the limit is zero or an equality is asked;
    `distance` tells it in words, "" where there is nothing to tell. `paths` are all
    values that it names.
    """

    condition: str
    left: str
    sign: str
    right: str
    is_plain: bool
    limit: str
    margin: float | None
    distance: str
    is_met: bool
    paths: tuple[str, ...]

    @property
    def numbers(self) -> str:
        """Both sides as amounts, with the sign that is true of them."""
        return f"{self.left} {self.sign} {self.right}"


class Asked(NamedTuple):
    """What a rule asks of one meter: its tree and text, and what they are asked with.

    `limits` are the amounts of its limits as they are written. `are_set` says of some
    values whether they depend on a setting that a person would change for the rule.
    """

    tree: Node
    text: str
    scope: Scope
    values: Values
    limits: Mapping[str, Quantity]
    are_set: Callable[[Iterable[str]], bool]


class Bounds:
    """Tells what a rule asks of a value of a sheet."""

    def __init__(self, asked: Asked, shown: Shown, symbols: Mapping[str, str]) -> None:
        self.asked = asked
        self.shown = shown
        limits = {name: print_amount(made) for name, made in asked.limits.items()}
        self.symbols = {**symbols, **limits}
        tree = decided(asked.tree, asked.scope, asked.values)
        self.parts = tuple(_conjuncts(tree))

    def condition(self, name: str) -> str:
        """Write what is asked of a value in symbols, of each choice what holds here.

        It is "" where nothing but the value is asked for, a truth.
        """
        part = self._part(name)
        return "" if isinstance(part, Name) else in_symbols(part, self.symbols)

    def holds(self, name: str) -> bool:
        """Whether what is asked of a value is not broken, whatever else is asked."""
        part = self._part(name)
        return evaluate(part, self.asked.scope, self.asked.values) is not False

    def _part(self, name: str) -> Node:
        """Give the part of the rule that speaks of a value."""
        parts = tuple(part for part in self.parts if name in names(part))
        return parts[0] if len(parts) == 1 else Apply("and", parts, NOWHERE)

    def of(self, name: str) -> Iterator[Bound]:
        """Give the comparisons that a value takes part in and that decide."""
        for part in self.parts:
            for node in self._comparisons(part):
                if name in names(node):
                    yield self._bound(name, node)

    def _comparisons(self, node: Node) -> Iterator[Apply]:
        """Give the comparisons that decide a truth, in their order."""
        if not isinstance(node, Apply):
            return
        scope, values = self.asked.scope, self.asked.values
        if node.symbol in ("and", "or"):
            parts = node.operands
            if node.symbol == "or":
                # Where one holds, the others have not decided.
                hold = [part for part in parts if evaluate(part, scope, values) is True]
                parts = tuple(hold) or parts
            for part in parts:
                yield from self._comparisons(part)
        elif node.symbol in SIGNS:
            sides = [evaluate(side, scope, values) for side in node.operands]
            if all(map(_is_told, sides)):
                yield node

    def _bound(self, name: str, node: Apply) -> Bound:
        """Hold the sides of a comparison against each other."""
        scope, values = self.asked.scope, self.asked.values
        is_met = evaluate(node, scope, values) is True
        sign = (SIGNS if is_met else NOT_MET)[node.symbol]
        left, right = (evaluate(side, scope, values) for side in node.operands)
        if isinstance(left, float):
            return self._of_amounts(name, node, sign, is_met)
        condition, paths = in_symbols(node, self.symbols), tuple(names(node))
        said = (f"“{left}”", sign, f"“{right}”")
        return Bound(condition, *said, False, said[2], None, "", is_met, paths)

    def _of_amounts(self, name: str, node: Apply, sign: str, is_met: bool) -> Bound:
        left, right = self._sides(name, node)
        on_left = self._is_limit_left(node)
        held, limit = (right, left) if on_left else (left, right)
        room = None
        side = SIDES.get(node.symbol)
        if side is not None and limit.si:
            room = rounded(side * (right.si - left.si) / abs(limit.si))
        said = in_relation(left, sign, right)
        return Bound(
            in_symbols(node, self.symbols),
            said[0],
            sign,
            said[1],
            self._is_plain(name, node),
            self._limit(node.operands[0 if on_left else 1], limit),
            room,
            "" if side is None or self._is_day(node) else distance(held, limit),
            is_met,
            tuple(names(node)),
        )

    def _is_limit_left(self, node: Apply) -> bool:
        """Whether the limit of a comparison stands on its left.

        A limit is made of limits and constants alone, or else of a limit or a figure
        of a table, or does not depend on what would be changed; else it is the right.
        """
        for is_limit in (self._is_fixed, self._is_given, self._is_apart):
            left, right = map(is_limit, node.operands)
            if left != right:
                return left
        return False

    def _is_fixed(self, node: Node) -> bool:
        return all(e in self.asked.limits or e in CONSTANTS for e in names(node))

    def _is_given(self, node: Node) -> bool:
        is_limit = isinstance(node, Name) and node.path in self.asked.limits
        below = any(map(self._is_given, children(node)))
        return is_limit or isinstance(node, LookUp) or below

    def _is_apart(self, node: Node) -> bool:
        return not self.asked.are_set(names(node))

    def _is_day(self, node: Apply) -> bool:
        """Whether a comparison is one of days, of which none is a share of another."""
        kinds = (self.asked.scope.names.get(path) for path in names(node))
        return Sort.DAY in kinds

    def _is_plain(self, name: str, node: Apply) -> bool:
        """Whether a comparison holds a value against a limit of the sheet's units."""
        first, second = node.operands
        side = second if isinstance(first, Name) and first.path == name else first
        if side is first and not (isinstance(second, Name) and second.path == name):
            return False
        if isinstance(side, Number):
            return not side.unit
        limit = self.asked.limits.get(side.path) if isinstance(side, Name) else None
        return bool(limit and self.shown.of_written(limit).text)

    def _limit(self, node: Node, amount: Amount) -> str:
        """Write a limit as an amount, one of the rule or a table as that writes it."""
        settled = self._settled(node)
        written = {**self.shown.cells, **self.asked.limits}
        if settled.is_value and settled.paths[0] in written:
            return self.shown.as_written(written[settled.paths[0]])
        return amount.said

    def _sides(self, name: str, node: Apply) -> tuple[Amount, Amount]:
        """Give both sides as amounts; a computed one in a unit like the other's."""
        settled = [self._settled(side) for side in node.operands]
        whole = [self._whole(each) for each in settled]
        known = [each.unit for each in whole if each is not None]
        unit = known[0] if known else self._unit(name, node.operands[0])
        left, right = (
            amount or self._computed(each, side, unit)
            for amount, each, side in zip(whole, settled, node.operands, strict=True)
        )
        return left, right

    def _settled(self, node: Node) -> Settled:
        settled = settle(node, self.asked.scope, self.asked.values, self.symbols)
        self.shown.take_cells(settled.cells)
        return settled

    def _whole(self, settled: Settled) -> Amount | None:
        """Give the amount of a side that is a single value; None for a computed one."""
        tree = settled.tree
        if isinstance(tree, Number):
            unit = unit_named(tree.unit) if tree.unit else DIMENSIONLESS
            return self.shown.computed(tree.value, unit, ())
        return self._amount(settled.paths[0]) if settled.is_value else None

    def _amount(self, path: str) -> Amount:
        limit = self.asked.limits.get(path)
        return (
            self.shown.amount(path) if limit is None else self.shown.of_written(limit)
        )

    def _computed(self, settled: Settled, node: Node, unit: Unit) -> Amount:
        amounts = map(self._amount, settled.paths)
        value = evaluate(node, self.asked.scope, self.asked.values)
        if unit.dimension == DIMENSIONLESS.dimension and abs(value) >= MOST_IN_PERCENT:
            unit = DIMENSIONLESS
        return self.shown.computed(value, unit, amounts)

    def _unit(self, name: str, node: Node) -> Unit:
        """Find a unit for a comparison of two computed sides."""
        start, end = node.span
        kind = make_formula(self.asked.text[start:end], self.asked.scope).kind
        own = self.shown.amount(name).unit
        return own if own.dimension == kind else DIMENSIONLESS


def _is_told(value: object) -> bool:
    """Whether a side of a comparison is a text, or an amount that can be printed."""
    return isinstance(value, str) or (isinstance(value, float) and math.isfinite(value))


def _conjuncts(node: Node) -> Iterator[Node]:
    """Give the parts of a truth that must hold together."""
    if isinstance(node, Apply) and node.symbol == "and":
        for part in node.operands:
            yield from _conjuncts(part)
    else:
        yield node
