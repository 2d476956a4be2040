"""What a setting sways: quantities to compute anew, rules to ask anew, their turns."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from configlint.compiler import Scope
from configlint.formula import Node, Number, children
from configlint.rules import DerivedQuantity, MeterRule, RuleBook
from configlint.turns import Turn, Turning, named, turnings

__all__ = ["Dependence", "Sway"]


class _Reads(NamedTuple):
    """The names that something reads: by their amount, and by their figures."""

    amounts: frozenset[str]
    figures: frozenset[str]

    def is_swayed(self, swayed: set[str]) -> bool:
        """Whether some of the names are read in any way."""
        apart = swayed.isdisjoint(self.amounts) and swayed.isdisjoint(self.figures)
        return not apart

    def by_figures(self, swayed: set[str], of_figures: set[str]) -> bool:
        """Whether figures are read, of the names or of what hangs on theirs."""
        apart = of_figures.isdisjoint(self.amounts) and swayed.isdisjoint(self.figures)
        return not apart


class _Part:
    """A rule or a quantity with what it reads, and its turns as they are asked for."""

    def __init__(self, trees: list[Node], scope: Scope, rule: str = "") -> None:
        self.trees = trees
        self.scope = scope
        self.rule = rule
        self.reads = _reads(trees)
        self.compiled: dict[int, Turn] = {}

    @cached_property
    def turnings(self) -> tuple[tuple[frozenset[str], Turning], ...]:
        """All turns, each with the names that decide it."""
        return tuple((each.names, each) for each in turnings(self.trees, self.scope))

    def turns(self, swayed: frozenset[str]) -> Iterator[Turn]:
        """Give the turns that some names decide, each compiled once."""
        for position, (names, turning) in enumerate(self.turnings):
            if swayed.isdisjoint(names):
                continue
            if position not in self.compiled:
                self.compiled[position] = turning.compile(self.scope, self.rule)
            yield self.compiled[position]

    @cached_property
    def constants(self) -> tuple[Number, ...]:
        """The constants in the formulas."""
        return tuple(each for tree in self.trees for each in _constants(tree))


@dataclass(frozen=True)
class Sway:
    """What some inputs sway, in the order it is computed.

    `of_figures` holds the ids of the rules that look at the figures of such an
    input, as whether it is round; they are asked of single values only.
    `conditional` holds the ids of those whose condition is swayed as well. `parts`
    are those that have turns.
    """

    quantities: tuple[DerivedQuantity, ...]
    rules: tuple[MeterRule, ...]
    of_figures: frozenset[str]
    conditional: frozenset[str]
    names: frozenset[str]
    parts: tuple[_Part, ...]

    @cached_property
    def turns(self) -> tuple[Turn, ...]:
        """The numbers at which an outcome of the rules may change."""
        return tuple(turn for part in self.parts for turn in part.turns(self.names))

    @cached_property
    def constants(self) -> tuple[Number, ...]:
        """The constants that stand in formulas of the rules and quantities."""
        return tuple(constant for part in self.parts for constant in part.constants)


class Dependence:
    """Which quantities and rules of a book depend on which inputs."""

    def __init__(self, book: RuleBook) -> None:
        self.book = book
        self.known: dict[frozenset[str], Sway] = {}

    @cached_property
    def quantities(self) -> list[tuple[DerivedQuantity, _Part]]:
        """The quantities that rules judge by, in their order, with what they read."""
        scope = self.book.scope
        return [(each, _Part(_formulas(each), scope)) for each in self.book.judging]

    @cached_property
    def rules(self) -> list[tuple[MeterRule, _Part]]:
        """The rules on single meters, with what they read."""
        return [
            (rule, _Part(_trees(rule), _scope(self.book, rule), rule.id))
            for rule in self.book.meter_rules
        ]

    @cached_property
    def conditions(self) -> dict[str, _Reads]:
        """What the condition of each rule reads, by the rule's id."""
        return {
            rule.id: _reads([rule.applies.tree] if rule.applies else [])
            for rule in self.book.meter_rules
        }

    def sway(self, inputs: Iterable[str]) -> Sway:
        """Give what some inputs sway, through quantities of quantities too.

        >>> from configlint.data import data_folder
        >>> from configlint.rule_book import load_rule_book
        >>> dependence = Dependence(load_rule_book(data_folder("rules")))
        >>> [rule.id for rule in dependence.sway(["totalizer.digits"]).rules]
        ['totalizer-rollover', 'totalizer-rollover-advised']
        """
        key = frozenset(inputs)
        if key not in self.known:
            self.known[key] = self._find(key)
        return self.known[key]

    def _find(self, inputs: frozenset[str]) -> Sway:
        swayed, of_figures = set(inputs), set[str]()
        quantities = []
        for quantity, part in self.quantities:
            if part.reads.is_swayed(swayed):
                quantities.append((quantity, part))
                if part.reads.by_figures(swayed, of_figures):
                    of_figures.add(quantity.name)
                swayed.add(quantity.name)
        rules = [each for each in self.rules if each[1].reads.is_swayed(swayed)]
        by_figures = frozenset(
            rule.id for rule, part in rules if part.reads.by_figures(swayed, of_figures)
        )
        parts = [part for _, part in quantities]
        parts += [part for rule, part in rules if rule.id not in by_figures]
        return Sway(
            quantities=tuple(quantity for quantity, _ in quantities),
            rules=tuple(rule for rule, _ in rules),
            of_figures=by_figures,
            conditional=frozenset(
                rule.id
                for rule, _ in rules
                if self.conditions[rule.id].is_swayed(swayed)
            ),
            names=frozenset(swayed),
            parts=tuple(parts),
        )


def _scope(book: RuleBook, rule: MeterRule) -> Scope:
    return book.scope.with_limits(rule.limit_kinds)


def _formulas(quantity: DerivedQuantity) -> list[Node]:
    fallback = quantity.fallback
    return [quantity.formula.tree, *([fallback.tree] if fallback is not None else [])]


def _trees(rule: MeterRule) -> list[Node]:
    applies = rule.applies
    return [rule.accept.tree, *([applies.tree] if applies is not None else [])]


def _reads(trees: Iterable[Node]) -> _Reads:
    found = [each for tree in trees for each in named(tree)]
    return _Reads(
        frozenset(path for path, by_figures in found if not by_figures),
        frozenset(path for path, by_figures in found if by_figures),
    )


def _constants(node: Node) -> Iterator[Number]:
    if isinstance(node, Number):
        yield node
    for child in children(node):
        yield from _constants(child)
