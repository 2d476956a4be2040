"""Changes put to a meter on trial: what they settle, and what they would break.

All rules are asked of the meter with the changes made.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from configlint.agreement import Agreement, agreements
from configlint.axes import is_in_use, setting_of
from configlint.compiler import Values
from configlint.engine import margin
from configlint.rules import MeterRule
from configlint.variation import Fixed, Free

__all__ = ["Trial"]

HARDLY = 1e-9
"""By how much a margin may shrink without a rule being broken by more."""


@dataclass(frozen=True, slots=True)
class Trial:
    """A meter with the rules that it does not meet; its quantities must be derived."""

    free: Free
    broken: frozenset[str]

    def is_settled(self, rules: Collection[str], values: Fixed) -> bool:
        """Whether values meet some rules, and break none anew, nor a grave one by more.

        A rule is grave where it is as urgent as one of those.
        """
        left = self.free.broken_with(values)
        if not {each.id for each in left} <= self.broken - set(rules):
            return False
        judged = self.free.book.judged_rules
        category = max(each.category for each in judged if each.id in rules)
        grave = [each for each in left if each.category <= category]
        before, after = self.margins(grave, {}), self.margins(grave, values)
        return all(
            now >= then - HARDLY for then, now in zip(before, after, strict=True)
        )

    def margins(self, rules: Sequence[MeterRule], values: Fixed) -> list[float]:
        """Give how far values keep from the limits of rules, 0 where nothing says."""
        if not rules:
            return []
        known, judge = self.free.with_values(values), self.free.judge
        rooms = (
            margin(
                rule.accept.tree,
                judge.scopes[rule.id],
                Values(known.values, known.written, judge.limits[rule.id]),
            )
            for rule in rules
        )
        return [room or 0.0 for room in rooms]

    def is_adjustable(self, path: str) -> bool:
        """Whether a setting is one that can be chosen, in a part that is in use."""
        book = self.free.book
        return setting_of(book, path).adjustable and is_in_use(
            book, self.free.facts, path
        )

    def agreed(
        self, rules: Iterable[MeterRule], settings: Iterable[str]
    ) -> list[Agreement]:
        """Give the values that rules want settings of theirs to have like others."""
        free = self.free
        paths = tuple(filter(self.is_adjustable, settings))
        return [
            each
            for rule in rules
            for path in paths
            if path in rule.settings
            for each in agreements(free, rule, path)
        ]
