"""Values that would settle a finding: its counterpart's, the nearest, a preferred one.

A value is proposed only after all the rules were asked of the meter with it: the
finding's rule is then met, none is broken that was not before, and none as urgent is
broken by more. What a person reads off a plate or the plant is never proposed. Where
two values disagree, each is proposed as the other is written, if nothing says which is
right. Where no single setting will do, settings that must agree are changed together,
then others that the rules in the way name, three at most.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple, cast

from configlint.agreement import Agreement, ways_back
from configlint.axes import amount_at, is_amount, offered_texts, setting_of
from configlint.joint import Joint, changes_of
from configlint.levers import AmountLever, ChoiceLever, Lever, Offer
from configlint.proposals import COUNTERPART, PERMISSIBLE, PREFERRED, Advice
from configlint.rules import AcrossRule, MeterRule
from configlint.scalars import WELL_FORMED
from configlint.spans import span_words
from configlint.trial import Trial
from configlint.units import Quantity
from configlint.variation import Fixed, Free
from configlint.window import NARROWEST, Interval, ties_of

__all__ = ["Adviser"]

MOST_SETTINGS = 3
MOST_SEARCHES = 6
"""How many settings a finding may have searched that no other has had searched."""


class _Goal(NamedTuple):
    """What a search is for: a rule to be met, and what may stay broken as it is.

    `preferred` asks for preferred values, `together` for settings that must agree to
    be changed together.
    """

    rule: str
    allowed: frozenset[str]
    preferred: bool
    together: bool


class _Way(NamedTuple):
    """Advice on one of two that disagree, and how many rules it leaves broken."""

    left: int
    advice: Advice


class Adviser:
    """A meter with findings, and the searches made for values that settle them.

    Its quantities must be derived; `broken` names the rules that it does not meet.
    """

    def __init__(self, free: Free, broken: Iterable[str]) -> None:
        self.free = free
        self.broken = frozenset(broken)
        self.trial = Trial(free, self.broken)
        self.joint = Joint(self.trial)
        self.levers: dict[tuple[str, tuple[str, ...], str], Lever] = {}
        self.left = 0

    def advise(self, rule: MeterRule | AcrossRule) -> tuple[Advice, ...]:
        """Propose values that settle a finding of a rule, as far as there are any."""
        if self.is_withheld(rule):
            return self.joint.advise(rule.id)
        self.left = MOST_SEARCHES
        agreeing = self.agreeing(rule) if isinstance(rule, MeterRule) else ()
        if agreeing:
            return agreeing
        leads = tuple(filter(self.trial.is_adjustable, rule.settings))
        for goal, size in self.goals(rule.id):
            offer = self.settle(goal, leads, {}, size)
            if offer is not None:
                nearest = self.advice(PERMISSIBLE, offer, rule.id)
                return (nearest, *self.preferred(goal, offer, size))
        return ()

    def is_withheld(self, rule: MeterRule | AcrossRule) -> bool:
        """Whether a broken rule wants no value proposed for what the rule would change.

        Where several faults hide one another, correcting one makes the reading worse,
        and they are corrected together or not at all.
        """
        settings = set(rule.settings)
        broken = (r for r in self.free.book.meter_rules if r.id in self.broken)
        withholding = (each for each in broken if not each.proposes_values)
        return any(not settings.isdisjoint(each.settings) for each in withholding)

    def agreeing(self, rule: MeterRule) -> tuple[Advice, ...]:
        """Propose the values of counterparts, those that leave the least broken first.

        What is read off a plate is right, and settles other findings as well.
        """
        own = self.trial.agreed([rule], rule.settings)
        others = own or self.trial.agreed(self.free.broken_with({}), rule.settings)
        plates = [
            each for each in others if not self.trial.is_adjustable(each.counterpart)
        ]
        if plates:
            good = (
                each for each in plates if self.trial.is_settled({rule.id}, each.values)
            )
            return tuple(Advice(COUNTERPART, changes_of(each.values)) for each in good)[
                :1
            ]
        ways = [(each, self.either(rule, each)) for each in own]
        back = (self.converted(rule, *each) for each in ways_back(own))
        found = [way for way in (*(way for _, way in ways), *back) if way is not None]
        failed = (each.values for each, way in ways if way is None)
        new = {one.id for each in failed for one in self.free.broken_with(each)}
        unless = tuple(sorted(new - self.broken))
        in_order = sorted(found, key=lambda way: way.left)
        return tuple(way.advice._replace(unless=unless) for way in in_order)

    def either(self, rule: MeterRule, agreement: Agreement) -> _Way | None:
        """Propose a value as its counterpart is written, else the nearest to it."""
        setting, value, right = agreement
        if not self.trial.is_settled({rule.id}, agreement.values):
            present = amount_at(self.free.facts, setting)
            if present is not None and present.unit is value.unit:
                return None
            return self.converted(rule, setting, right)
        left = len(self.free.broken_with(agreement.values))
        return _Way(
            left, Advice(COUNTERPART, changes_of(agreement.values), if_right=right)
        )

    def converted(self, rule: MeterRule, setting: str, right: str) -> _Way | None:
        """Propose the amount of another setting in the unit of one that can't copy it.

        A rule, or the kind of unit, may forbid to write it as it is written there.
        """
        for goal, size in self.goals(rule.id):
            if size == 1 and not goal.together:
                offer = self.settle(goal, (setting,), {}, size)
                if offer is not None and self.is_same(offer, setting, right):
                    left = len(self.free.broken_with(offer.values))
                    advice = self.advice(PERMISSIBLE, offer, rule.id)
                    return _Way(left, advice._replace(if_right=right))
        return None

    def is_same(self, offer: Offer, setting: str, right: str) -> bool:
        """Whether an offer makes a setting the amount of another, but for rounding."""
        made = self.free.with_values(offer.values).values[setting]
        other = cast(float, self.free.facts.values[right])
        return math.isclose(made, other, rel_tol=NARROWEST)

    def goals(self, rule: str) -> Iterator[tuple[_Goal, int]]:
        """Give what to try for a rule, in order, each with the settings to be moved.

        At best nothing that the changes touch is left broken; else nothing but what
        is broken anyway.
        """
        for size in range(1, MOST_SETTINGS + 1):
            for together in (False, True):
                for allowed in (frozenset[str](), self.broken - {rule}):
                    yield _Goal(rule, allowed, False, together), size

    def preferred(self, goal: _Goal, offer: Offer, size: int) -> Iterator[Advice]:
        """Settle a goal by the same setting once more, with preferred values."""
        lead = next(iter(offer.values))
        if setting_of(self.free.book, lead).prefers_amounts:
            better = goal._replace(preferred=True)
            found = self.settle(better, (lead,), {}, size)
            if found is not None:
                yield self.advice(PREFERRED, found, goal.rule)

    def settle(
        self, goal: _Goal, paths: Iterable[str], fixed: Fixed, size: int
    ) -> Offer | None:
        """Move one of some settings, and others after it as far as a size allows."""
        for path in dict.fromkeys(paths):
            if path in fixed or not self.sways(path, goal, fixed):
                continue
            offer = (self.last if size == 1 else self.first)(goal, path, fixed)
            if offer is not None and size > 1:
                partners = self.partners(goal, offer.values)
                offer = self.settle(goal, partners, offer.values, size - 1)
            if offer is not None:
                return offer
        return None

    def last(self, goal: _Goal, path: str, fixed: Fixed) -> Offer | None:
        """Move a setting to where all is settled."""
        along = self.along(path, fixed) if goal.together else ()
        lever = None if along is None else self.lever(path, along, fixed)
        if lever is None:
            return None
        variation = lever.variation
        rules = variation.all_rules & ~variation.set_of(goal.allowed)
        for offer in lever.offers(rules, goal.preferred):
            values = {**fixed, **offer.values}
            if self.trial.is_settled({goal.rule}, values):
                return Offer(values, None if fixed else offer.within)
        return None

    def first(self, goal: _Goal, path: str, fixed: Fixed) -> Offer | None:
        """Move a setting to where the rules in the way that name it are met.

        At first that is the finding's own rule alone; what else breaks then is for
        other settings to make good.
        """
        lever = self.lever(path, (), fixed)
        if lever is None:
            return None
        in_the_way = self.free.broken_with(fixed) if fixed else ()
        own = [rule.id for rule in in_the_way if path in rule.settings]
        rules = lever.variation.set_of([goal.rule, *own])
        offer = next(lever.offers(rules, goal.preferred), None)
        return None if offer is None else Offer({**fixed, **offer.values})

    def sways(self, path: str, goal: _Goal, fixed: Fixed) -> bool:
        """Whether another value of a setting could meet a rule that is in the way."""
        rules = {rule.id for rule in self.free.dependence.sway([path]).rules}
        wanted = {rule.id for rule in self.free.broken_with(fixed)} if fixed else ()
        return goal.rule in rules or not rules.isdisjoint(wanted)

    def partners(self, goal: _Goal, values: Fixed) -> list[str]:
        """Name the settings that the rules broken by some changes would change."""
        return [
            path
            for rule in self.free.broken_with(values)
            if rule.id not in goal.allowed
            for path in filter(self.trial.is_adjustable, rule.settings)
        ]

    def along(self, path: str, fixed: Fixed) -> tuple[str, ...] | None:
        """Name the settings that must agree with one; None where there are none."""
        alone = self.lever(path, (), fixed)
        if not isinstance(alone, AmountLever):
            return None
        ties = ties_of(self.free, alone.axis, alone.runs)
        others = dict.fromkeys(each for paths in ties.values() for each in paths)
        return tuple(each for each in others if each not in fixed) or None

    def lever(self, path: str, along: tuple[str, ...], fixed: Fixed) -> Lever | None:
        """Search the values of a setting, unless that is known or grows too much."""
        key = (path, along, repr(fixed))
        if key not in self.levers:
            if not self.left:
                return None
            self.left -= 1
            setting = setting_of(self.free.book, path)
            self.levers[key] = (
                AmountLever(self.free, setting, fixed, along)
                if is_amount(self.free.mark(path))
                and not offered_texts(self.free.facts, path)
                else ChoiceLever(self.free, setting, fixed)
            )
        return self.levers[key]

    def advice(self, kind: str, offer: Offer, rule: str) -> Advice:
        """Write an offer as its texts would stand in the file.

        It is told which rule bounds it, where that is not the finding's own.
        """
        changes = changes_of(offer.values)
        setting, lead = next(iter(offer.values.items()))
        if offer.within is None or not isinstance(lead, Quantity):
            return Advice(kind, changes)
        present = amount_at(self.free.facts, setting)
        number = None if present is None else float(present.number)
        bound = _near_rule(offer.within, number)
        others = "" if bound in (rule, WELL_FORMED) else bound
        within = span_words(offer.within, lead.unit)
        return Advice(kind, changes, within, bound=others)


def _near_rule(interval: Interval, number: float | None) -> str:
    """Name the rule that keeps a number out of an interval, "" for one inside."""
    if number is None or interval.holds(number):
        return ""
    if interval.start is not None and number <= interval.start:
        return interval.start_rule
    return interval.end_rule
