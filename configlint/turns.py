"""Where a formula of amounts may go on otherwise: its turns.

A turn is a number at whose change of sign, or of whole step, an outcome may change:
the difference of two amounts that are compared, what an absolute value is taken of,
what is rounded. Between its turns a formula of amounts answers alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import combinations
from typing import NamedTuple

from configlint.compiler import Function, Scope, compile_tree
from configlint.dimensions import Dimension
from configlint.formula import Apply, LookUp, Name, Node, Number, children
from configlint.kinds import Sort

__all__ = ["Step", "Turn", "Turning", "named", "turnings"]

COMPARED = frozenset({"<", "<=", ">", ">=", "==", "!=", "agrees"})
EXTREMES = frozenset({"min", "max"})
SMOOTH = frozenset(
    {"+", "-", "*", "/", "**", "negative", "sqrt", "log10", "ten_to", "count", "figure"}
)
"""What gives a number that has no turn of its own."""

OF_FIGURES = frozenset({"significand", "slip_between"})
"""What looks at the figures of a value, and so answers by fits and starts."""

OF_NOTATION = frozenset({"unit_of", "used", "count"})
"""What another value in the same unit does not change."""


def _decade(value: float) -> float:
    return math.floor(math.log10(abs(value))) if value else math.nan


class Step(NamedTuple):
    """How a number goes in steps: which step it is on, and where a step begins."""

    of: Callable[[float], float]
    begins: Callable[[float], float]


STEPS: Mapping[str, Step] = {
    "floor": Step(math.floor, float),
    "round": Step(lambda value: math.floor(value + 0.5), lambda step: step - 0.5),
    "significand": Step(_decade, lambda step: 10.0**step),
}


ARITHMETIC = SMOOTH | EXTREMES | STEPS.keys() | {"abs"}
"""All that gives a number."""


class Turn(NamedTuple):
    """Two numbers whose order decides how a formula goes on, or one that goes in steps.

    The second is zero where there is none. `rule` is the id of the rule whose limits
    they are computed with, "" for none. A `deviation` is one that an absolute value is
    taken of: what it is the deviation from is the aim of the rule.
    """

    left: Function
    right: Function | None
    rule: str
    step: Step | None
    deviation: bool


class Turning(NamedTuple):
    """A turn that is not compiled yet: the trees that are compared, or the one tree."""

    trees: tuple[Node, ...]
    step: Step | None = None
    deviation: bool = False

    @property
    def names(self) -> frozenset[str]:
        """The names that decide it."""
        return frozenset(path for tree in self.trees for path, _ in named(tree))

    def compile(self, scope: Scope, rule: str) -> Turn:
        """Compile it, to be computed with the limits of a rule."""
        left, *others = (compile_tree(tree, scope) for tree in self.trees)
        right = others[0] if others else None
        return Turn(left, right, rule, self.step, self.deviation)


def named(node: Node, by_figures: bool = False) -> Iterator[tuple[str, bool]]:
    """Give the names that another value in the same unit may change.

    Each comes with whether it is read `by_figures`, digit by digit.
    """
    if isinstance(node, Name):
        yield node.path, by_figures
    if isinstance(node, Apply):
        if node.symbol in OF_NOTATION:
            return
        by_figures = by_figures or node.symbol in OF_FIGURES
    for child in children(node):
        yield from named(child, by_figures)


def turnings(trees: Iterable[Node], scope: Scope) -> Iterator[Turning]:
    """Give the turns of some trees, those of the innermost parts first.

    >>> from configlint.parser import parse_formula
    >>> from configlint.units import NONE
    >>> scope = Scope({"a": NONE, "b": NONE})
    >>> len(list(turnings([parse_formula("abs(a) < 1 and b > a")], scope)))
    3
    """
    for tree in trees:
        yield from turnings(children(tree), scope)
        if isinstance(tree, Apply):
            yield from _turnings(tree, scope)


def _turnings(node: Apply, scope: Scope) -> Iterator[Turning]:
    parts = node.operands
    if node.symbol in COMPARED and all(_is_amount(part, scope) for part in parts):
        yield Turning(parts)
    elif node.symbol in EXTREMES:
        yield from map(Turning, combinations(parts, 2))
    elif node.symbol == "abs":
        inner = parts[0]
        is_difference = isinstance(inner, Apply) and inner.symbol == "-"
        yield Turning(tuple(children(inner)) if is_difference else parts, None, True)
    elif node.symbol in STEPS:
        yield Turning(parts, STEPS[node.symbol])


def _is_amount(node: Node, scope: Scope) -> bool:
    """Whether a tree gives a number: an amount, or a date as one."""
    if isinstance(node, Name):
        kind = scope.limits.get(node.path) or scope.names.get(node.path)
        return kind is Sort.DAY or kind is None or isinstance(kind, Dimension)
    if isinstance(node, LookUp):
        return isinstance(scope.tables[node.table].columns[node.column].kind, Dimension)
    if isinstance(node, Apply):
        if node.symbol == "if":
            return _is_amount(node.operands[1], scope)
        return node.symbol in ARITHMETIC
    return isinstance(node, Number)
