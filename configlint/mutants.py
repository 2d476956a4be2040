"""Rules changed in one small way, to ask whether their proofs would notice.

Every limit, constant and looked-up amount is moved by one percent either way;
every comparison is turned round and its boundary moved in or out; every `and`,
`or`, `not` and `if` is swapped. A proof set that notices none of one change does
not pin the rule there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from configlint.compiler import Formula, Scope, compile_tree
from configlint.formula import Apply, LookUp, Name, Node, Number, children, names
from configlint.kinds import Sort
from configlint.rules import AcrossRule, DerivedQuantity, Limit, MeterRule
from configlint.units import unit_named

__all__ = ["STEP", "across_mutants", "meter_mutants", "quantity_mutants"]

STEP = 0.01
"""How far a limit is moved, as a share of it."""

TURNED = {
    "<": ("<=", ">="),
    "<=": ("<", ">"),
    ">": (">=", "<="),
    ">=": (">", "<"),
    "==": ("!=",),
    "!=": ("==",),
    "in": ("not in",),
    "not in": ("in",),
    "and": ("or",),
    "or": ("and",),
}
ORDERED = frozenset({"<", "<=", ">", ">="})
TRUTHS = frozenset({"agrees", "decimal_units", "given", "matches", "same_unit", "used"})


def meter_mutants(rule: MeterRule, scope: Scope) -> Iterator[tuple[str, MeterRule]]:
    """Give every changed form of a rule about one meter, with what was changed."""
    inner = scope.with_limits(rule.limit_kinds)
    for name, limit in rule.limits.items():
        for said, moved in _moves(rule, limit, inner):
            limits = {**rule.limits, name: moved}
            yield f"limit {name} {said}", replace(rule, limits=limits)
    for said, formula in _changed(rule.accept, inner):
        yield f"accept: {said}", replace(rule, accept=formula)
    if rule.applies is not None:
        for said, formula in _changed(rule.applies, inner):
            yield f"applies: {said}", replace(rule, applies=formula)


def _moves(rule: MeterRule, limit: Limit, scope: Scope) -> Iterator[tuple[str, Limit]]:
    """Move a limit by one percent either way, or to the neighbouring rows.

    What is compared with a table's column meets no values but those of its rows.
    """
    rows = sorted(_values_met(rule.accept.tree, limit.name, scope))
    if rule.applies is not None:
        rows += sorted(_values_met(rule.applies.tree, limit.name, scope))
    if not rows:
        for factor in (1 - STEP, 1 + STEP):
            yield f"times {factor:g}", _moved(limit, factor)
        return
    below = [row for row in rows if row < limit.value]
    above = [row for row in rows if row > limit.value]
    for said, values in (("below", below[-1:]), ("above", above[:1])):
        for value in values:
            yield f"moved to the row {said}", replace(limit, value=value)


def _values_met(node: Node, limit: str, scope: Scope) -> set[float]:
    """The values of the columns that a limit is compared with, all rows."""
    met = {
        value for child in children(node) for value in _values_met(child, limit, scope)
    }
    if _is_threshold(node, scope) and limit in names(node):
        for operand in children(node):
            if isinstance(operand, LookUp):
                rows = scope.tables[operand.table].rows.values()
                met.update(row[operand.column] for row in rows)
    return {value for value in met if math.isfinite(value)}


def _is_threshold(node: Node, scope: Scope) -> bool:
    """Whether a node compares a looked-up amount with a limit and nothing else."""
    if not isinstance(node, Apply) or node.symbol not in ORDERED:
        return False
    sides = node.operands
    limited = any(isinstance(s, Name) and s.path in scope.limits for s in sides)
    return limited and any(isinstance(s, LookUp) for s in sides)


def _moved(limit: Limit, factor: float) -> Limit:
    if limit.value:
        return replace(limit, value=limit.value * factor)
    return replace(limit, value=_small(limit.unit) * (1 if factor > 1 else -1))


def _small(unit: str) -> float:
    """One percent of a unit: how far a limit or constant of zero is moved."""
    return STEP * (float(unit_named(unit).factor) if unit else 1.0)


def _changed(formula: Formula, scope: Scope) -> Iterator[tuple[str, Formula]]:
    for said, tree in _trees(formula.tree, scope):
        yield said, replace(formula, tree=tree, function=compile_tree(tree, scope))


def _trees(node: Node, scope: Scope) -> Iterator[tuple[str, Node]]:
    """Every tree with one node changed."""
    yield from _changed_node(node, scope)
    yield from _below(node, scope)


def _below(node: Node, scope: Scope) -> Iterator[tuple[str, Node]]:
    """Every tree with one node below a node changed."""
    if isinstance(node, LookUp):
        for said, key in _trees(node.key, scope):
            yield said, replace(node, key=key)
    if isinstance(node, Apply):
        for position, operand in enumerate(node.operands):
            if node.symbol == "**" and position == 1:
                continue
            # A row's amount beside a limit is moved by moving the limit.
            row = isinstance(operand, LookUp) and _is_threshold(node, scope)
            change = _below if row else _trees
            for said, changed in change(operand, scope):
                operands = list(node.operands)
                operands[position] = changed
                yield said, replace(node, operands=tuple(operands))


def _changed_node(node: Node, scope: Scope) -> Iterator[tuple[str, Node]]:
    if isinstance(node, Number):
        yield from _moved_number(node)
    elif isinstance(node, LookUp):
        column = scope.tables[node.table].columns[node.column]
        if not isinstance(column.kind, Sort):
            for factor in (1 - STEP, 1 + STEP):
                said = f"{node.table} {node.column} times {factor:g}"
                yield said, _product(node, factor)
    elif isinstance(node, Apply):
        yield from _changed_application(node)


def _moved_number(node: Number) -> Iterator[tuple[str, Node]]:
    for factor in (1 - STEP, 1 + STEP):
        value = node.value * factor
        if not node.value:
            value = _small(node.unit) * (1 if factor > 1 else -1)
        said = f"constant at column {node.span.start + 1} times {factor:g}"
        yield said, replace(node, value=value)


def _product(node: Node, factor: float) -> Apply:
    span = node.span
    return Apply("*", (node, Number(factor, "", span)), span)


def _changed_application(node: Apply) -> Iterator[tuple[str, Node]]:
    at = f"at column {node.span.start + 1}"
    for symbol in TURNED.get(node.symbol, ()):
        yield f"{node.symbol} {at} turned to {symbol}", replace(node, symbol=symbol)
    if node.symbol == "not":
        yield f"not {at} taken away", node.operands[0]
    if node.symbol in TRUTHS:
        yield f"{node.symbol} {at} denied", Apply("not", (node,), node.span)
    if node.symbol == "if":
        condition, chosen, other = node.operands
        swapped = replace(node, operands=(condition, other, chosen))
        yield f"if {at} swapped", swapped


def quantity_mutants(
    quantity: DerivedQuantity, scope: Scope
) -> Iterator[tuple[str, DerivedQuantity]]:
    """Give every changed form of a quantity, with what was changed."""
    for said, formula in _changed(quantity.formula, scope):
        yield f"formula: {said}", replace(quantity, formula=formula)
    if quantity.fallback is not None:
        for said, formula in _changed(quantity.fallback, scope):
            yield f"fallback: {said}", replace(quantity, fallback=formula)


def across_mutants(rule: AcrossRule, scope: Scope) -> Iterator[tuple[str, AcrossRule]]:
    """Give every changed form of a rule across meters, with what was changed."""
    other = "site" if rule.scope == "all sites" else "all sites"
    yield f"scope turned to {other}", replace(rule, scope=other)
    yield "never found", replace(rule, agree=rule.same[0])
    for path in rule.same if len(rule.same) > 1 else ():
        fewer = tuple(each for each in rule.same if each != path)
        yield f"{path} no longer compared", replace(rule, same=fewer)
    if rule.agree:
        yield "agreement taken away", replace(rule, agree="")
    if rule.applies is not None:
        for said, formula in _changed(rule.applies, scope):
            yield f"applies: {said}", replace(rule, applies=formula)
