"""The rules that use a value of a sheet: what they ask of it, and how far off it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import NamedTuple

from configlint.compiler import Values
from configlint.effects import rounded
from configlint.engine import (
    CONCEDED,
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    Derived,
    margin,
)
from configlint.formula import names
from configlint.judged import Laid
from configlint.rules import AcrossRule, MeterRule
from configlint.sheets.bounds import Asked, Bound, Bounds
from configlint.sheets.shown import Shown
from configlint.units import parse_quantity

__all__ = ["ASKS", "FAR", "JUDGES", "ROLES", "TELLS", "Use", "Uses"]

ROLES = JUDGES, ASKS, TELLS = ("judges", "asks", "tells")
"""What a rule can do with a value."""


FAR = 0.2
"""From this share of a limit on a value is far from it."""


class Use(NamedTuple):
    """What a rule does with a value, and what it says of the meter.

    `role` is `judges`, `asks` (whether the rule applies at all) or `tells` (in its
    finding alone). `condition` is what it asks of the value, in symbols, "" where
    nothing is decided, and `holds` whether that part of it is not broken. `margin` is
    that of the whole rule, as a finding tells it. `notes` are the limits that a policy
    has changed, with the reason.
    """

    rule: str
    category: str
    asks: str
    role: str
    outcome: str
    condition: str
    holds: bool
    margin: float | None
    bounds: tuple[Bound, ...]
    notes: tuple[str, ...]

    @property
    def is_far(self) -> bool:
        """Whether it is met by far, with the usual limits, or does not apply."""
        near = (e.margin is not None and e.margin < FAR for e in self.bounds)
        is_met = self.outcome == CONFORMS and not any(near) and not self.notes
        return is_met or self.outcome == NOT_APPLICABLE


class _Judged(NamedTuple):
    """A rule that speaks of the meter, with what it asks by the limits that hold.

    A rule across meters asks nothing of a value by itself.
    """

    rule: MeterRule | AcrossRule
    outcome: str
    asked: Asked | None = None
    notes: tuple[str, ...] = ()


class Uses:
    """What the rules do with the values of one meter.

    `across` gives, by rule, the outcome of those across meters; one that it does not
    name does not apply. `conceded` are the rules that it is conceded not to meet.
    """

    def __init__(
        self,
        laid: Laid,
        shown: Shown,
        across: Mapping[str, str],
        conceded: Collection[str],
    ) -> None:
        self.shown = shown
        self.conceded = conceded
        self.symbols = laid.book.symbols
        outcomes = laid.judge.judge(shown.derived)
        words = {outcome.rule.id: outcome.word for outcome in outcomes}
        self.judged = [
            _judge(laid, shown.derived, rule, words[rule.id])
            for rule in laid.book.meter_rules
        ] + [
            _Judged(rule, across.get(rule.id, NOT_APPLICABLE))
            for rule in laid.book.across_rules
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
        said = self._outcomes_by(name)
        return any(each != NOT_APPLICABLE for each in said) if said else None

    def is_wanted(self, name: str) -> bool:
        """Whether a rule that uses a value is not assessed, or no rule uses it."""
        said = self._outcomes_by(name)
        return not said or NOT_ASSESSED in said

    def _outcomes_by(self, name: str) -> set[str]:
        """Give what the rules have come to that use a value, or what is made of it."""
        return {
            each.outcome for each in self.judged if name in self.reached[each.rule.id]
        }

    def of(self, name: str) -> tuple[Use, ...]:
        """Give the rules that use a value by itself, in the order of the rule files."""
        roles = (
            (judged, self.roles[judged.rule.id].get(name)) for judged in self.judged
        )
        return tuple(self._use(name, judged, role) for judged, role in roles if role)

    def _use(self, name: str, judged: _Judged, role: str) -> Use:
        rule, asked, outcome = judged.rule, judged.asked, judged.outcome
        room, condition, holds = None, "", outcome == CONFORMS
        bounds: tuple[Bound, ...] = ()
        if asked is not None and outcome in (CONFORMS, NONCONFORMING):
            room = margin(asked.tree, asked.scope, asked.values)
            if role == JUDGES:
                told = Bounds(asked, self.shown, self.symbols)
                condition, bounds = told.condition(name), tuple(told.of(name))
                holds = told.holds(name)
        return Use(
            rule.id,
            rule.category,
            rule.asks,
            role,
            CONCEDED if rule.id in self.conceded else outcome,
            condition,
            holds,
            None if room is None else rounded(room),
            bounds,
            judged.notes,
        )


def _judge(laid: Laid, derived: Derived, rule: MeterRule, outcome: str) -> _Judged:
    """Put a rule together with the limits that a site's policy has given it."""
    changed = laid.changes.get(rule.id, {})
    limits = {**rule.limits, **{name: each.limit for name, each in changed.items()}}
    amounts = {name: each.value for name, each in limits.items()}
    settings = frozenset(rule.settings)
    asked = Asked(
        rule.accept.tree,
        rule.accept.text,
        laid.judge.scopes[rule.id],
        Values(derived.values, derived.written, amounts),
        {name: parse_quantity(each.text) for name, each in limits.items()},
        lambda paths: not settings.isdisjoint(laid.book.below([*paths])),
    )
    return _Judged(rule, outcome, asked, tuple(each.note for each in changed.values()))


def _roles(rule: MeterRule | AcrossRule) -> Mapping[str, str]:
    """What a rule does with each of the values that it names."""
    applies = () if rule.applies is None else names(rule.applies.tree)
    told = (*rule.finding.paths, *rule.remedy.paths, *rule.effect_reads)
    return {
        **dict.fromkeys(told, TELLS),
        **dict.fromkeys(applies, ASKS),
        **dict.fromkeys(rule.reads, JUDGES),
    }
