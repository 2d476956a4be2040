"""A site's policy over the standard rules: limits changed, each with a reason."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TypeGuard

from configlint.errors import Fault, RunError
from configlint.kinds import kind_name
from configlint.rules import AnyRule, Limit, MeterRule, ReadingRule, RuleBook
from configlint.sites import Change, Policy
from configlint.units import QuantityError, parse_quantity

__all__ = ["ChangedLimit", "Changes", "changed_limits", "nearest"]

POLICY_FAULT = "policy-sound"


@dataclass(frozen=True, slots=True)
class ChangedLimit:
    """A limit as a policy sets it, beside the standard one, with the reason."""

    limit: Limit
    standard: Limit
    reason: str

    @property
    def note(self) -> str:
        """What a finding that rests on the changed limit says of it."""
        return (
            f"The limit {self.limit.name} is {self.limit.text} by policy "
            f"(standard {self.standard.text}): {self.reason}"
        )


Changes = Mapping[str, Mapping[str, ChangedLimit]]
"""Changed limits by rule and by the limit's name."""


def changed_limits(book: RuleBook, *policies: Policy) -> Changes:
    """Give the changed limits; a later policy goes over an earlier one.

    The first is the workspace's, which alone changes limits of reading rules. Raises
    `RunError` naming each unknown rule or limit and each value of a wrong kind, at its
    place.
    """
    rules = {rule.id: rule for rule in book.all_rules if _has_limits(rule)}
    changes: dict[str, dict[str, ChangedLimit]] = {}
    faults: list[Fault] = []
    for number, change in _numbered(policies):
        changed = _changed(rules, change, is_site=number > 0)
        if isinstance(changed, Fault):
            faults.append(changed)
        else:
            changes.setdefault(change.rule, {})[change.limit] = changed
    if faults:
        raise RunError(*faults)
    return changes


def _has_limits(rule: AnyRule) -> TypeGuard[MeterRule | ReadingRule]:
    """Whether limits of a rule can be changed, if it has any."""
    is_reading = isinstance(rule, ReadingRule) and bool(rule.limits)
    return isinstance(rule, MeterRule) or is_reading


def _numbered(policies: Iterable[Policy]) -> Iterator[tuple[int, Change]]:
    for number, policy in enumerate(policies):
        yield from ((number, change) for change in policy)


def _changed(
    rules: Mapping[str, MeterRule | ReadingRule], change: Change, is_site: bool
) -> ChangedLimit | Fault:
    rule = rules.get(change.rule)
    if rule is None:
        problem = f"There is no rule {change.rule!r} with limits."
        return Fault(POLICY_FAULT, change.place, problem, nearest(change.rule, rules))
    if is_site and isinstance(rule, ReadingRule):
        problem = f"The limits of {rule.id} are those of a whole workspace."
        advice = "Write this into the policy of the workspace file."
        return Fault(POLICY_FAULT, change.place, problem, advice)
    standard = rule.limits.get(change.limit)
    if standard is None:
        problem = f"The rule {rule.id} has no limit {change.limit!r}."
        return Fault(
            POLICY_FAULT, change.place, problem, nearest(change.limit, rule.limits)
        )
    try:
        quantity = parse_quantity(change.value)
    except QuantityError as error:
        return Fault(POLICY_FAULT, change.place, error.problem, error.advice)
    unit = quantity.unit
    if unit.dimension != standard.kind:
        problem = (
            f"The limit {standard.name} is {kind_name(standard.kind)}, "
            f"{change.value!r} is {kind_name(unit.dimension)}."
        )
        advice = f"Write it like the standard one, {standard.text}."
        return Fault(POLICY_FAULT, change.place, problem, advice)
    limit = Limit(
        standard.name, quantity.si, change.value, unit.spelling, unit.dimension
    )
    return ChangedLimit(limit, standard, change.reason)


def nearest(word: str, known: Iterable[str]) -> str:
    """Advise the rules or limits nearest to a wrong one, or how to see them all.

    >>> nearest("highst", ["highest", "lowest"])
    'The nearest known are highest.'
    """
    near = difflib.get_close_matches(word, list(known), 3, 0.4)
    if near:
        return f"The nearest known are {', '.join(near)}."
    return "`configlint rules list` and `configlint rules show ID` show what there is."
