"""Rules across meters: uniqueness and agreement over a site or a whole run.

The ledger keeps, for each such rule, which meters share a value, and settles
all of them once every meter has been entered. Only the compared values are
kept, never a meter, so that it stays small over many thousand meters.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from decimal import Decimal
from itertools import islice
from typing import Any, NamedTuple

from configlint.compiler import Values
from configlint.engine import (
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    Causes,
    Derived,
    Outcome,
)
from configlint.formula import Name, Node, Span
from configlint.operators import is_missing
from configlint.rules import AcrossRule, RuleBook
from configlint.templates import LISTED
from configlint.units import Quantity

__all__ = ["NO_LINE", "Ledger", "Line"]

Key = tuple[Any, ...]

MOST_OTHERS = LISTED + 1
"""How many other meters an outcome names, as many as a finding can show at most."""


class Line(NamedTuple):
    """What rules across meters look at of one meter.

    `outcomes` are those that no other meter can change. `compared` holds, for each of
    the other rules, its id, what the meter is grouped by, and what must agree, which is
    None where no other meter may be of the group.
    """

    outcomes: tuple[Outcome, ...]
    compared: tuple[tuple[str, Key, Any], ...]


NO_LINE = Line((), ())
"""What is left of a line once it is entered."""


class Ledger:
    """The meters of a run, entered one by one and settled at the end."""

    def __init__(self, book: RuleBook) -> None:
        self.rules = book.across_rules
        self.scope = book.scope
        self.quantities = book.quantity_of
        self.groups: dict[str, dict[Key, list[tuple[int, Any]]]] = {
            rule.id: defaultdict(list) for rule in self.rules
        }
        self.settled: dict[int, list[Outcome]] = {}

    def enter(self, meter: int, site: str, derived: Derived) -> None:
        """Enter one meter under its number in the run."""
        self.put(meter, self.line(site, derived))

    def put(self, meter: int, line: Line) -> None:
        """Enter the line of a meter under its number in the run."""
        self.settled[meter] = [*line.outcomes]
        for rule, key, agreed in line.compared:
            alike = meter if agreed is None else agreed
            self.groups[rule][key].append((meter, alike))

    def line(self, site: str, derived: Derived) -> Line:
        """Give what the rules look at of one meter of a site, without entering it."""
        outcomes, compared = [], []
        for rule in self.rules:
            outcome = self._preliminary(rule, derived)
            if outcome is not None:
                outcomes.append(outcome)
                continue
            where = site if rule.scope == "site" else ""
            key = (where, *(_figure(path, derived) for path in rule.same))
            agreed = _figure(rule.agree, derived) if rule.agree else None
            compared.append((rule.id, key, agreed))
        return Line(tuple(outcomes), tuple(compared))

    def _preliminary(self, rule: AcrossRule, derived: Derived) -> Outcome | None:
        """Give the outcome of a meter that can't be compared, else None."""
        values, written = derived.values, derived.written
        undecided: list[Node] = []
        if rule.applies is not None:
            applies = rule.applies.function(values, written, {})
            if applies is False:
                return Outcome(rule, NOT_APPLICABLE)
            if applies is None:
                undecided.append(rule.applies.tree)
        missing = [path for path in rule.reads if is_missing(values[path])]
        undecided += [Name(path, Span(0, 0)) for path in missing]
        if not undecided:
            return None
        seen = Values(values, written)
        causes = Causes(self.scope, seen, derived, self.quantities)
        return Outcome(rule, NOT_ASSESSED, causes.of(undecided))

    def settle(self) -> dict[int, list[Outcome]]:
        """Give every entered meter its outcomes of the rules across meters."""
        for rule in self.rules:
            for members in self.groups[rule.id].values():
                for meter, outcome in _settle_group(rule, members):
                    self.settled[meter].append(outcome)
        return self.settled


def _settle_group(
    rule: AcrossRule, members: list[tuple[int, Any]]
) -> Iterator[tuple[int, Outcome]]:
    """Every member conforms where all agree; else each is told the others."""
    counts = Counter(agreed for _, agreed in members)
    if len(counts) == 1:
        conforms = Outcome(rule, CONFORMS)
        yield from ((meter, conforms) for meter, _ in members)
        return
    told: dict[Any, Outcome] = {}
    for meter, agreed in members:
        if agreed not in told:
            others = (other for other, their in members if their != agreed)
            named = tuple(islice(others, MOST_OTHERS))
            more = len(members) - counts[agreed] - len(named)
            told[agreed] = Outcome(rule, NONCONFORMING, others=named, more=more)
        yield meter, told[agreed]


def _figure(path: str, derived: Derived) -> Any:
    """Give a value as the rule compares it: an amount exactly, in SI, with its kind.

    A decimal number and a fraction of the same amount are equal and have one
    hash; the decimal is made in a tenth of the time.
    """
    written = derived.written.get(path)
    if isinstance(written, Quantity):
        plain = written.unit.factor == 1 and not written.unit.offset
        amount = Decimal(written.number) if plain else written.exact
        return (amount, written.unit.kind)
    return derived.values[path]
