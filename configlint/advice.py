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
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple, cast

from configlint.agreement import Agreement, agreements, ways_back
from configlint.axes import amount_at, is_amount, is_in_use, offered_texts, setting_of
from configlint.compiler import Values
from configlint.engine import margin
from configlint.levers import AmountLever, ChoiceLever, Lever, Offer
from configlint.rules import AcrossRule, MeterRule
from configlint.spans import span_words
from configlint.templates import listed
from configlint.units import Quantity
from configlint.variation import Fixed, Free
from configlint.window import NARROWEST, ties_of

__all__ = ["KINDS", "Advice", "Adviser", "Change", "advice_words"]

COUNTERPART = "as its counterpart"
PERMISSIBLE = "nearest permissible"
PREFERRED = "nearest preferred"
KINDS = (COUNTERPART, PERMISSIBLE, PREFERRED)
"""What values are proposed as."""

HARDLY = 1e-9
"""By how much a margin may shrink without a rule being broken by more."""

MOST_SETTINGS = 3
MOST_SEARCHES = 6
"""How many settings a finding may have searched that no other has had searched."""


class Change(NamedTuple):
    """A setting by its path, and the text that its file would hold for it."""

    setting: str
    value: str


class Advice(NamedTuple):
    """Changes, made together, that settle a finding.

    `within` says in words what the first setting may be, the others going with it;
    it is empty for one that is no amount. `if_right` names the setting whose value the
    changes take for right, where nothing but the plant says which of two is; and
    `unless` names the rules that would be broken if it were the other one.
    """

    kind: str
    changes: tuple[Change, ...]
    within: str = ""
    if_right: str = ""
    unless: tuple[str, ...] = ()


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
        self.levers: dict[tuple[str, tuple[str, ...], str], Lever] = {}
        self.left = 0

    def advise(self, rule: MeterRule | AcrossRule) -> tuple[Advice, ...]:
        """Propose values that settle a finding of a rule, as far as there are any."""
        if self.is_withheld(rule):
            return ()
        self.left = MOST_SEARCHES
        agreeing = self.agreeing(rule) if isinstance(rule, MeterRule) else ()
        if agreeing:
            return agreeing
        leads = tuple(filter(self.is_adjustable, rule.settings))
        for goal, size in self.goals(rule.id):
            offer = self.settle(goal, leads, {}, size)
            if offer is not None:
                return (_advice(PERMISSIBLE, offer), *self.preferred(goal, offer, size))
        return ()

    def is_withheld(self, rule: MeterRule | AcrossRule) -> bool:
        """Whether a broken rule wants no value proposed for what the rule would change.

        Where several faults hide one another, correcting one makes the reading worse.
        """
        settings = set(rule.settings)
        broken = (r for r in self.free.book.meter_rules if r.id in self.broken)
        withholding = (each for each in broken if not each.proposes_values)
        return any(not settings.isdisjoint(each.settings) for each in withholding)

    def agreeing(self, rule: MeterRule) -> tuple[Advice, ...]:
        """Propose the values of counterparts, those that leave the least broken first.

        What is read off a plate is right, and settles other findings as well.
        """
        own = self.agreed([rule], rule.settings)
        others = own or self.agreed(self.free.broken_with({}), rule.settings)
        plates = [each for each in others if not self.is_adjustable(each.counterpart)]
        if plates:
            good = (each for each in plates if self.is_settled(rule.id, each.values))
            return tuple(Advice(COUNTERPART, (_copied(each),)) for each in good)[:1]
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
        if not self.is_settled(rule.id, agreement.values):
            present = amount_at(self.free.facts, setting)
            if present is not None and present.unit is value.unit:
                return None
            return self.converted(rule, setting, right)
        left = len(self.free.broken_with(agreement.values))
        return _Way(left, Advice(COUNTERPART, (_copied(agreement),), "", right))

    def converted(self, rule: MeterRule, setting: str, right: str) -> _Way | None:
        """Propose the amount of another setting in the unit of one that can't copy it.

        A rule, or the kind of unit, may forbid to write it as it is written there.
        """
        for goal, size in self.goals(rule.id):
            if size == 1 and not goal.together:
                offer = self.settle(goal, (setting,), {}, size)
                if offer is not None and self.is_same(offer, setting, right):
                    left = len(self.free.broken_with(offer.values))
                    advice = _advice(PERMISSIBLE, offer)
                    return _Way(left, advice._replace(if_right=right))
        return None

    def is_same(self, offer: Offer, setting: str, right: str) -> bool:
        """Whether an offer makes a setting the amount of another, but for rounding."""
        made = self.free.with_values(offer.values).values[setting]
        other = cast(float, self.free.facts.values[right])
        return math.isclose(made, other, rel_tol=NARROWEST)

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
                yield _advice(PREFERRED, found)

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
            if self.is_settled(goal.rule, values):
                return Offer(values, None if fixed else offer.within)
        return None

    def is_settled(self, rule: str, values: Fixed) -> bool:
        """Whether values meet a rule, and break none anew, nor a grave one by more."""
        left = self.free.broken_with(values)
        if not {each.id for each in left} <= self.broken - {rule}:
            return False
        category = next(e.category for e in self.free.book.judged_rules if e.id == rule)
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

    def is_adjustable(self, path: str) -> bool:
        """Whether a setting is one that can be chosen, in a part that is in use."""
        book = self.free.book
        return setting_of(book, path).adjustable and is_in_use(
            book, self.free.facts, path
        )

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
            for path in filter(self.is_adjustable, rule.settings)
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


def advice_words(advice: Sequence[Advice]) -> str:
    """Say what to enter, the preferred values where there are some.

    Of two values that disagree it says which one is taken for right.

    >>> nearest = Advice(PERMISSIBLE, (Change("a", "6.3 l"),), "6.22 to 20 l")
    >>> preferred = Advice(PREFERRED, (Change("a", "10 l"),), "6.22 to 20 l")
    >>> advice_words([nearest, preferred])
    'a 10 l. Permissible: 6.22 to 20 l, the nearest 6.3 l.'
    """
    best, nearest = advice[-1], advice[0]
    if nearest.if_right:
        return _either_words(advice)
    words = " together with ".join(
        f"{change.setting} {change.value}" for change in best.changes
    )
    value = best.changes[0].value
    if best.within in ("", value):
        return f"{words}."
    other = nearest.changes[0].value
    nearer = f", the nearest {other}" if other != value else ""
    return f"{words}. Permissible: {best.within}{nearer}."


def _either_words(advice: Sequence[Advice]) -> str:
    """Say what to enter if one of two values is right, and if the other one is.

    >>> one = Advice(COUNTERPART, (Change("a", "1 l"),), "", "b", ("too-small",))
    >>> _either_words([one])
    'if b is right, a 1 l. The other way round would break too-small.'
    """
    words = "; ".join(
        f"if {each.if_right} is right, {each.changes[0].setting} "
        f"{each.changes[0].value}"
        for each in advice
    )
    unless = listed(advice[0].unless)
    return (
        f"{words}. The other way round would break {unless}." if unless else f"{words}."
    )


def _copied(agreement: Agreement) -> Change:
    return Change(agreement.setting, agreement.value.text)


def _advice(kind: str, offer: Offer) -> Advice:
    """Write an offer as its texts would stand in the file."""
    changes = tuple(Change(path, _text(value)) for path, value in offer.values.items())
    lead = next(iter(offer.values.values()))
    if offer.within is None or not isinstance(lead, Quantity):
        return Advice(kind, changes)
    return Advice(kind, changes, span_words(offer.within, lead.unit))


def _text(value: Quantity | str | bool) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return value.text if isinstance(value, Quantity) else value
