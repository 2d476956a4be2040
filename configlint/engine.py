"""One meter against the rules: quantities, then an outcome for every rule.

An outcome is one of five words. A rule that lacks an input is `not-assessed`
and names what is missing; it is never silently met.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from configlint.compiler import CONSTANTS, Function, Scope, Values, evaluate
from configlint.facts import Facts
from configlint.formula import Apply, LookUp, Name, Node, Number, children, names
from configlint.operators import is_missing
from configlint.rules import AcrossRule, DerivedQuantity, MeterRule, RuleBook

__all__ = [
    "CONCEDED",
    "CONFORMS",
    "NONCONFORMING",
    "NOT_APPLICABLE",
    "NOT_ASSESSED",
    "NO_NUMBER",
    "OUTCOMES",
    "Causes",
    "Derived",
    "Judge",
    "Outcome",
    "derive",
    "derive_told",
    "recompute",
]

CONFORMS = "conforms"
NONCONFORMING = "nonconforming"
NOT_ASSESSED = "not-assessed"
NOT_APPLICABLE = "not-applicable"
CONCEDED = "conceded"
NO_NUMBER = "a value that can't be computed"
"""What is missing where nothing is, and yet the values give no number."""
OUTCOMES = (CONFORMS, NONCONFORMING, NOT_ASSESSED, NOT_APPLICABLE, CONCEDED)


class Outcome(NamedTuple):
    """What one rule says of one meter.

    `missing` names the inputs that a `not-assessed` outcome lacks; `margin` is
    the relative distance to the limit that decided, negative when it is not met.
    `others` numbers the meters that one is in conflict with, the first of them and
    how many `more`.
    """

    rule: MeterRule | AcrossRule
    word: str
    missing: tuple[str, ...] = ()
    margin: float | None = None
    others: tuple[int, ...] = ()
    more: int = 0


@dataclass(frozen=True, slots=True)
class Derived:
    """A meter's inputs together with the quantities derived from them.

    `lacking` keeps, once it has been asked, which inputs a missing quantity lacks.
    """

    values: Mapping[str, Any]
    written: Mapping[str, Any]
    causes: Mapping[str, str]
    assumed: Mapping[str, str] = field(default_factory=dict)
    lacking: dict[str, set[str]] = field(default_factory=dict)


def derive(book: RuleBook, facts: Facts) -> Derived:
    """Compute the quantities that rules judge by, in an order that needs no other.

    A quantity whose own formula lacks an input takes its fallback; what was
    assumed then is told under `assumed`. Nothing stands in for an input that is
    written but unreadable. `derive_told` adds what only findings show.
    """
    return recompute(book.judging, facts)


def derive_told(book: RuleBook, facts: Facts) -> Derived:
    """Compute every quantity of the rule set, those that only findings show too."""
    return recompute(book.quantities, facts)


def recompute(quantities: Iterable[DerivedQuantity], facts: Facts) -> Derived:
    """Compute some quantities over a meter's facts, in the order given.

    None may need a later one; those before them stand as they are.
    """
    values, written = facts.values, facts.written
    assumed: dict[str, str] = {}
    for quantity in quantities:
        value = quantity.formula.function(values, written, {})
        fallback = quantity.fallback
        if fallback and is_missing(value) and not _unreadable(quantity, facts):
            value = fallback.function(values, written, {})
            if not is_missing(value):
                assumed[quantity.name] = quantity.note
        values[quantity.name] = value
    return Derived(values, written, facts.causes, assumed)


def _unreadable(quantity: DerivedQuantity, facts: Facts) -> bool:
    """Whether an input of a quantity is written, but nobody can tell what it is."""
    return not facts.unreadable.isdisjoint(names(quantity.formula.tree))


class Judge:
    """The rules that speak of a single meter, ready to judge many of them.

    `changed` holds, by rule and limit, the SI limits that a site's policy has
    changed; `limits` then holds all those that judge, in the same way.
    """

    def __init__(
        self, book: RuleBook, changed: Mapping[str, Mapping[str, float]] | None = None
    ) -> None:
        self.book = book
        self.quantities = book.quantity_of
        # Rules share few conditions, so each condition is asked but once a meter.
        places: dict[str, int] = {}
        self.conditions: list[tuple[Function, Mapping[str, float]]] = []
        self.plan = []
        self.limits: dict[str, Mapping[str, float]] = {}
        for rule in book.meter_rules:
            limits = {**rule.limit_values, **(changed or {}).get(rule.id, {})}
            self.limits[rule.id] = limits
            key = _condition_key(rule)
            if key not in places:
                places[key] = len(places)
                condition = rule.applies.function if rule.applies else _always
                self.conditions.append((condition, limits))
            self.plan.append(
                (
                    rule,
                    places[key],
                    rule.accept.function,
                    limits,
                    Outcome(rule, CONFORMS),
                    Outcome(rule, NOT_APPLICABLE),
                )
            )
        self.scopes = {
            rule.id: book.scope.with_limits(rule.limit_kinds)
            for rule in book.meter_rules
        }

    def judge(self, derived: Derived) -> list[Outcome]:
        """Give one outcome for every rule."""
        values, written = derived.values, derived.written
        outcomes = []
        answers = [ask(values, written, limits) for ask, limits in self.conditions]
        for rule, place, accept, limits, conforms, not_applicable in self.plan:
            asked = answers[place]
            if asked is False:
                outcomes.append(not_applicable)
                continue
            accepted = accept(values, written, limits)
            if asked and accepted:
                outcomes.append(conforms)
                continue
            seen = Values(values, written, limits)
            if asked and accepted is False:
                room = margin(rule.accept.tree, self.scopes[rule.id], seen)
                outcomes.append(Outcome(rule, NONCONFORMING, (), room))
            else:
                missing = self.missing(rule, derived, seen, asked, accepted)
                outcomes.append(Outcome(rule, NOT_ASSESSED, missing))
        return outcomes

    def not_met(self, derived: Derived) -> Iterator[MeterRule]:
        """Give the rules that are nonconforming, without saying by how much."""
        values, written = derived.values, derived.written
        answers = [ask(values, written, limits) for ask, limits in self.conditions]
        for rule, place, accept, limits, *_ in self.plan:
            if answers[place] and accept(values, written, limits) is False:
                yield rule

    def missing(
        self,
        rule: MeterRule,
        derived: Derived,
        seen: Values,
        asked: bool | None,
        accepted: bool | None,
    ) -> tuple[str, ...]:
        """Name the inputs that leave a rule's condition or its question undecided."""
        trees = [rule.accept.tree] if accepted is None else []
        if asked is None and rule.applies is not None:
            trees.append(rule.applies.tree)
        causes = Causes(self.scopes[rule.id], seen, derived, self.quantities)
        return causes.of(trees)


def _condition_key(rule: MeterRule) -> str:
    """A text that is the same for rules whose conditions always agree."""
    if rule.applies is None:
        return ""
    own = not rule.limits.keys().isdisjoint(names(rule.applies.tree))
    return f"{rule.applies.text}\n{rule.id}" if own else rule.applies.text


def _always(*_: Any) -> bool:
    return True


class Causes:
    """Why a truth is undecided: the inputs that are missing, by their paths."""

    def __init__(
        self,
        scope: Scope,
        values: Values,
        derived: Derived,
        quantities: Mapping[str, DerivedQuantity],
    ) -> None:
        self.scope = scope
        self.values = values
        self.derived = derived
        self.quantities = quantities

    def of(self, trees: Iterable[Node]) -> tuple[str, ...]:
        """Name, in alphabetical order, the inputs that some undecided trees lack."""
        missing = {path for tree in trees for path in self._undecided(tree)}
        return tuple(sorted(missing)) or (NO_NUMBER,)

    def _undecided(self, tree: Node) -> set[str]:
        """What a tree lacks that is known to be undecided as a whole."""
        if isinstance(tree, Apply) and tree.symbol in CONNECTIVES:
            return set().union(*(self._missing(part) for part in tree.operands))
        return self._missing(tree)

    def _missing(self, node: Node) -> set[str]:
        if isinstance(node, Name):
            return self._name(node.path)
        if isinstance(node, LookUp):
            return self._look_up(node)
        if isinstance(node, Apply):
            return self._applied(node)
        return set()

    def _name(self, path: str) -> set[str]:
        if path in self.scope.limits or not is_missing(self.values.values.get(path, 0)):
            return set()
        quantity = self.quantities.get(path)
        if quantity is None:
            return {self.derived.causes.get(path, path)}
        lacking = self.derived.lacking
        if path not in lacking:
            lacking[path] = self._missing(quantity.formula.tree)
        return lacking[path]

    def _look_up(self, node: LookUp) -> set[str]:
        key = evaluate(node.key, self.scope, self.values)
        if is_missing(key):
            return self._missing(node.key)
        value = evaluate(node, self.scope, self.values)
        return {f"{node.table}[{key}].{node.column}"} if is_missing(value) else set()

    def _applied(self, node: Apply) -> set[str]:
        parts = node.operands
        if node.symbol == "if":
            condition = evaluate(parts[0], self.scope, self.values)
            if condition is not None:
                parts = parts[1:2] if condition else parts[2:]
        missing = set().union(*(self._missing(part) for part in parts))
        if missing and node.symbol in DECIDED_WITHOUT:
            settled = evaluate(node, self.scope, self.values) is not None
            return set() if settled else missing
        return missing


CONNECTIVES = frozenset({"and", "or"})
DECIDED_WITHOUT = frozenset({"and", "or", "given", "count"})
"""What may be decided though something in it is missing."""


def margin(node: Node, scope: Scope, values: Values) -> float | None:
    """How far inside its limit a truth is, relative to the limit; None without one.

    Several limits joined by `and` give the smallest margin, by `or` the largest.
    """
    if not isinstance(node, Apply):
        return None
    if node.symbol in ("and", "or"):
        parts = [margin(part, scope, values) for part in node.operands]
        known = [part for part in parts if part is not None]
        best = min if node.symbol == "and" else max
        return best(known) if known else None
    if node.symbol == "not":
        inner = margin(node.operands[0], scope, values)
        return None if inner is None else -inner
    return _distance(node, scope, values)


SIDES = {"<": 1.0, "<=": 1.0, ">": -1.0, ">=": -1.0, "==": 0.0}


def _distance(node: Apply, scope: Scope, values: Values) -> float | None:
    if node.symbol not in SIDES:
        return None
    left, right = (evaluate(operand, scope, values) for operand in node.operands)
    if not (isinstance(left, float) and isinstance(right, float)):
        return None
    limit = left if _is_limit(node.operands[0], scope) else right
    side = SIDES[node.symbol]
    room = side * (right - left) if side else -abs(right - left)
    return room / abs(limit) if limit and math.isfinite(room) else None


def _is_limit(node: Node, scope: Scope) -> bool:
    """Whether a side of a comparison is made of limits and constants alone."""
    if isinstance(node, Name):
        return node.path in scope.limits or node.path in CONSTANTS
    if isinstance(node, Number):
        return True
    below = list(children(node))
    return bool(below) and all(_is_limit(part, scope) for part in below)
