"""A formula's tree settled for one meter, before its numbers are put in.

Of each conditional the branch taken stays, and a look-up becomes the value of its
cell, so that what is left is arithmetic on values.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from configlint.compiler import CONSTANTS, Scope, Values, evaluate
from configlint.formula import (
    Apply,
    LookUp,
    Name,
    Node,
    Number,
    Text,
    children,
    names,
)
from configlint.operators import is_missing
from configlint.worked import in_symbols

__all__ = ["Cell", "Settled", "decided", "settle", "without_number"]


class Cell(NamedTuple):
    """A value that a formula looks up: what it is called, its table, row and column."""

    path: str
    words: str
    table: str
    row: str
    column: str


class Settled(NamedTuple):
    """A tree for one meter: without conditionals, its look-ups named as values.

    `reasons` say in words why the branches that stayed were taken, `cells` what the
    look-ups found.
    """

    tree: Node
    cells: tuple[Cell, ...]
    reasons: tuple[str, ...]

    @property
    def paths(self) -> tuple[str, ...]:
        """The values that the tree is computed from, each once."""
        found = dict.fromkeys(names(self.tree))
        return tuple(path for path in found if path not in CONSTANTS)

    @property
    def is_value(self) -> bool:
        """Whether nothing is computed: the tree is another value as it stands."""
        return isinstance(self.tree, Name) and self.tree.path not in CONSTANTS


def settle(
    tree: Node, scope: Scope, values: Values, symbols: Mapping[str, str]
) -> Settled:
    """Settle the tree of an amount for a meter of which nothing is missing in it."""
    settler = _Settler(scope, values, symbols)
    settled = settler.of(tree)
    return Settled(settled, tuple(settler.cells), tuple(settler.reasons))


class _Settler:
    """Takes branches and looks values up, and notes which and why."""

    def __init__(
        self, scope: Scope, values: Values, symbols: Mapping[str, str]
    ) -> None:
        self.scope = scope
        self.values = values
        self.symbols = symbols
        self.cells: dict[Cell, None] = {}
        self.reasons: dict[str, None] = {}

    def of(self, node: Node) -> Node:
        if isinstance(node, LookUp):
            return self.cell(node)
        if not isinstance(node, Apply):
            return node
        if node.symbol == "if":
            return self.branch(node)
        if node.symbol in READ_AS_WRITTEN:
            number = evaluate(node, self.scope, self.values)
            return Number(number, "", node.span)
        return replace(node, operands=tuple(self.of(each) for each in node.operands))

    def branch(self, node: Apply) -> Node:
        condition, chosen, other = node.operands
        holds = evaluate(condition, self.scope, self.values)
        reason = self.reason(condition, bool(holds))
        self.reasons[in_symbols(reason, self.symbols)] = None
        return self.of(chosen if holds else other)

    def reason(self, node: Node, holds: bool) -> Node:
        """Give the part of a condition that decides it, as what is true here."""
        if isinstance(node, Apply):
            if node.symbol == "not":
                return self.reason(node.operands[0], not holds)
            if node.symbol in ("and", "or"):
                return self.deciding(node, holds)
            if node.symbol in ("in", "not in"):
                found = evaluate(node.operands[0], self.scope, self.values)
                operands = (node.operands[0], Text(str(found), node.span))
                return Apply("==", operands, node.span)
        return node if holds else Apply("not", (node,), node.span)

    def deciding(self, node: Apply, holds: bool) -> Node:
        """Give the parts that decide a connective: one where one is enough, or all."""
        told = [
            self.reason(part, holds)
            for part in node.operands
            if evaluate(part, self.scope, self.values) is holds
        ]
        is_one_enough = (node.symbol == "or") is holds
        return told[0] if is_one_enough else Apply("and", tuple(told), node.span)

    def cell(self, node: LookUp) -> Name:
        row = evaluate(node.key, self.scope, self.values)
        path = f"{node.table}[{row}].{node.column}"
        words = in_symbols(node, self.symbols)
        self.cells[Cell(path, words, node.table, row, node.column)] = None
        return Name(path, node.span)


def decided(tree: Node, scope: Scope, values: Values) -> Node:
    """Take of each choice in a tree the branch that holds, where that is known."""
    if not isinstance(tree, Apply):
        return tree
    if tree.symbol == "if":
        holds = evaluate(tree.operands[0], scope, values)
        if holds is not None:
            return decided(tree.operands[1 if holds else 2], scope, values)
    parts = tuple(decided(part, scope, values) for part in tree.operands)
    return tree if parts == tree.operands else replace(tree, operands=parts)


READ_AS_WRITTEN = frozenset({"figure", "count"})
"""Operators that give a number not computed but read off the file."""


# --- where a formula gives no number ---------------------------------------


def without_number(tree: Node, scope: Scope, values: Values) -> tuple[Node, str]:
    """Find the innermost part of a formula that gives no number, and say why.

    The formula as a whole gives none, missing or beyond all numbers, though no input
    of it is missing.
    """
    parts = tuple(children(tree))
    if isinstance(tree, Apply) and tree.symbol == "if":
        parts = parts[1:2] if evaluate(parts[0], scope, values) else parts[2:]
    for part in parts:
        if _is_without(evaluate(part, scope, values)):
            return without_number(part, scope, values)
    if isinstance(tree, Name):
        return tree, "can't be computed itself"
    is_beyond = not is_missing(evaluate(tree, scope, values))
    symbol = tree.symbol if isinstance(tree, Apply) and not is_beyond else ""
    return tree, REASONS.get(symbol, "is beyond what can be computed")


def _is_without(value: object) -> bool:
    return is_missing(value) or (isinstance(value, float) and math.isinf(value))


REASONS = {
    "/": "divides by zero",
    "significand": "has no first figure, for zero has none",
    "log10": "is a logarithm of no positive number",
    "sqrt": "is a root of a negative number",
    "**": "has no value for that power",
}
"""By operator, why it can give no number of numbers."""
