"""Values that would settle a finding: the nearest permissible and a preferred one.

A value is proposed only after all the rules were asked of the meter with it: the
finding's rule is then met, and none is broken that was not before. What a person
reads off a plate or the plant is never proposed. Where no single setting will do,
settings that must agree are changed together, then others that the rules in the way
name, three at most.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from configlint.axes import is_amount, is_in_use, setting_of
from configlint.levers import AmountLever, ChoiceLever, Lever, Offer
from configlint.rules import AcrossRule, MeterRule
from configlint.spans import span_words
from configlint.units import Quantity
from configlint.variation import Fixed, Free
from configlint.window import ties_of

__all__ = ["KINDS", "Advice", "Adviser", "Change", "advice_words"]

PERMISSIBLE = "nearest permissible"
PREFERRED = "nearest preferred"
KINDS = (PERMISSIBLE, PREFERRED)
"""What values are proposed as."""

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
    it is empty for one that is no amount.
    """

    kind: str
    changes: tuple[Change, ...]
    within: str = ""


class _Goal(NamedTuple):
    """What a search is for: a rule to be met, and what may stay broken as it is.

    `preferred` asks for preferred values, `together` for settings that must agree to
    be changed together.
    """

    rule: str
    allowed: frozenset[str]
    preferred: bool
    together: bool


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
            left = {rule.id for rule in self.free.broken_with(values)}
            if left <= self.broken - {goal.rule}:
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
                else ChoiceLever(self.free, setting, fixed)
            )
        return self.levers[key]


def advice_words(advice: Sequence[Advice]) -> str:
    """Say what to enter, the preferred values where there are some.

    >>> nearest = Advice(PERMISSIBLE, (Change("a", "6.3 l"),), "6.22 to 20 l")
    >>> preferred = Advice(PREFERRED, (Change("a", "10 l"),), "6.22 to 20 l")
    >>> advice_words([nearest, preferred])
    'a 10 l. Permissible: 6.22 to 20 l, the nearest 6.3 l.'
    """
    best, nearest = advice[-1], advice[0]
    words = " together with ".join(
        f"{change.setting} {change.value}" for change in best.changes
    )
    value = best.changes[0].value
    if best.within in ("", value):
        return f"{words}."
    other = nearest.changes[0].value
    nearer = f", the nearest {other}" if other != value else ""
    return f"{words}. Permissible: {best.within}{nearer}."


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
