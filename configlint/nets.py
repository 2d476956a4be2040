"""Faults of one meter that add up or cancel: what each comes to with the others.

The effect of a rule counts the fault of another rule where its formula reads all that
the other would change. So it is read off the formulas which rules are the stages of a
net, such as the gain of the chain from the sensor to the receiver's reading.

A fault bears on its own reading and on those that are fed by it, as rule files declare
them: what is wrong with the meter is wrong with the receiver too. Faults bear on one
another where they bear on one reading, those that are conceded too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from configlint.effects import FLOWS, SMALLEST, Effect, Net, effect_of
from configlint.engine import (
    NO_NUMBER,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    Derived,
    Outcome,
)
from configlint.findings import Finding
from configlint.rules import EffectFormula, FedReading, MeterRule, RuleBook
from configlint.stages import counted_by

__all__ = ["Nets"]

Limits = Mapping[str, Mapping[str, float]]
"""The limits in SI that judge a meter, by rule and by name."""


class _Costly(NamedTuple):
    """A rule about one meter that has an effect, and the rules that it counts."""

    rule: MeterRule
    effect: EffectFormula
    counts: frozenset[str]


class Nets:
    """The rules of a book that have an effect, and which counts the faults of which."""

    def __init__(self, book: RuleBook) -> None:
        self.rules = {each.rule.id: each for each in _costly(book)}
        self.readings = book.readings

    def told(
        self,
        findings: Sequence[Finding],
        outcomes: Iterable[Outcome],
        derived: Derived,
        limits: Limits,
    ) -> tuple[Finding, ...]:
        """Tell the effects of one meter's findings as shares, where they are.

        `outcomes` are those of all rules about the meter.
        """
        effects = {
            each.rule: each.effect for each in findings if each.effect is not None
        }
        if len(effects) < 2:
            return tuple(findings)
        asked = {each.rule.id: each for each in outcomes if each.rule.id in self.rules}
        fed = _fed(self.readings.values(), derived)
        meter = _Meter(self.rules, fed, effects, asked, derived, limits)
        return tuple(_with_share(each, meter) for each in findings)


def _costly(book: RuleBook) -> Iterator[_Costly]:
    for rule in book.meter_rules:
        if rule.effect is not None:
            counts = frozenset(each.id for each in counted_by(book, rule))
            yield _Costly(rule, rule.effect, counts)


def _fed(readings: Iterable[FedReading], derived: Derived) -> dict[str, frozenset[str]]:
    """Give, for each reading of a meter that feeds others, these others.

    Where nobody can tell whether one feeds another, it is taken to.
    """
    fed: dict[str, set[str]] = {}
    values, written = derived.values, derived.written
    for reading in readings:
        applies = reading.applies
        if applies is None or applies.function(values, written, {}) is not False:
            for feeder in reading.fed_by:
                fed.setdefault(feeder, set()).add(reading.name)
    return {feeder: frozenset(names) for feeder, names in fed.items()}


def _with_share(finding: Finding, meter: _Meter) -> Finding:
    if finding.effect is None:
        return finding
    together = ", ".join(meter.cancelling(finding.rule))
    remedy = f"{finding.remedy} {CANCELLING.format(together)}" if together else ""
    effect = meter.share(finding.rule, finding.effect)
    return replace(finding, effect=effect, remedy=remedy or finding.remedy)


CANCELLING = (
    "Correct all of these together: {}. Correcting one alone can make the reading "
    "worse."
)


class _Meter:
    """A meter with several findings that have an effect, `effects` by their rules.

    `fed` gives the readings that each one feeds. `asked` holds the outcomes of all
    rules with an effect, by the rules' ids. `in_use` names the rules that are nets of
    others and may apply; `faults` gives the readings that each fault bears on.
    """

    def __init__(
        self,
        rules: Mapping[str, _Costly],
        fed: Mapping[str, frozenset[str]],
        effects: Mapping[str, Effect],
        asked: Mapping[str, Outcome],
        derived: Derived,
        limits: Limits,
    ) -> None:
        self.rules = rules
        self.fed = fed
        self.effects = effects
        self.asked = asked
        self.derived = derived
        self.limits = limits
        self.in_use = tuple(
            name
            for name, costly in rules.items()
            if costly.rule.is_net and asked[name].word != NOT_APPLICABLE
        )
        faults = (name for name in effects if not rules[name].rule.is_net)
        self.faults = {name: self.readings(name) for name in sorted(faults)}
        self.nets = tuple(self.all_nets())

    def readings(self, name: str) -> frozenset[str]:
        """Give the readings that the effect of a rule bears on, its own among them."""
        found: set[str] = set()
        waiting = {self.rules[name].effect.of}
        while waiting:
            found |= waiting
            fed = (self.fed.get(reading, frozenset()) for reading in waiting)
            waiting = set().union(*fed) - found
        return frozenset(found)

    def all_nets(self) -> Iterator[Net]:
        """Give the nets, and of other rules the effects that count several faults."""
        for name in self.in_use:
            counted = self.among_faults(self.rules[name].counts)
            if counted:
                yield self.net(name, counted)
        for name in self.faults:
            counted = self.among_faults({name, *self.rules[name].counts})
            if len(counted) > 1:
                yield self.net(name, counted)

    def net(self, name: str, counted: tuple[str, ...]) -> Net:
        """Make the net that a rule tells of the faults that it counts."""
        of = self.rules[name].effect.of
        left_out = (
            each
            for each, readings in self.faults.items()
            if of in readings and each not in counted
        )
        effect = self.effect(name)
        lacks = () if effect else self.asked[name].missing or (NO_NUMBER,)
        return Net(of, name, counted, tuple(left_out), effect, lacks)

    def effect(self, name: str) -> Effect | None:
        """Give the effect of a rule, also of one that is met; None if not known."""
        if name in self.effects:
            return self.effects[name]
        if self.asked[name].word == NOT_ASSESSED:
            return None
        formula = self.rules[name].effect
        return effect_of(formula, self.derived, self.limits[name], is_net=True)

    def among_faults(self, names: Collection[str]) -> tuple[str, ...]:
        """Give those of some rules that are faults of the meter, in their order."""
        return tuple(name for name in self.faults if name in names)

    def share(self, name: str, effect: Effect) -> Effect:
        """Say of the effect of a rule what others add to it."""
        readings = self.readings(name)
        others = tuple(
            each
            for each, theirs in self.faults.items()
            if each != name
            and not readings.isdisjoint(theirs)
            and self.meet(name, each)
        )
        counts = self.among_faults(self.rules[name].counts)
        share = effect._replace(others=others, counts=counts)
        nets = [each for each in self.nets if self.is_told(each, name, share)]
        if any(each.effect for each in nets if len(each.counted) > 1):
            nets = [each for each in nets if not self.is_undecided(each)]
        return share._replace(nets=tuple(sorted(nets, key=_rank)))

    def meet(self, name: str, fault: str) -> bool:
        """Whether a reading is wrong by a fault at a flow at which another's is too.

        A net that comes to nothing has faults all the same.
        """
        if name not in self.faults:
            return True
        one, other = self.effects[name], self.effects[fault]
        return any(_sides(one, at) and _sides(other, at) for at in FLOWS)

    def is_told(self, net: Net, name: str, share: Effect) -> bool:
        """Whether a net says more of a fault than the effect of its own rule does.

        Of two effects that count the same faults the first stands for both.
        """
        if name not in net.counted:
            return False
        if net.rule in self.faults:
            own, counted = {name, *share.counts}, set(net.counted)
            return net.rule < name if own == counted else not own > counted
        if len(net.counted) > 1:
            return True
        if net.rule in self.effects:
            return True
        return bool(net.effect and share.others and not net.left_out)

    def is_undecided(self, net: Net) -> bool:
        """Whether nobody has stated that the reading of a net is in use."""
        applies = self.rules[net.rule].rule.applies
        if net.effect is not None or applies is None:
            return False
        values, written = self.derived.values, self.derived.written
        return applies.function(values, written, self.limits[net.rule]) is None

    def cancelling(self, name: str) -> tuple[str, ...]:
        """Name the faults that hide one another, where one of a rule is among them.

        They bear on one reading, and to correct one alone can make it worse.
        """
        hiding: set[str] = set()
        for reading in self.faults.get(name, ()):
            group = [each for each, theirs in self.faults.items() if reading in theirs]
            if self.hide(group):
                hiding.update(group)
        return self.among_faults(hiding)

    def hide(self, group: Sequence[str]) -> bool:
        """Whether to correct one of some faults of a reading alone can make it worse.

        Errors of one side only shrink by each correction. Where an effect counts
        another of the faults, it does not tell on which side its own fault is.
        """
        if any(self.rules[each].counts.intersection(group) for each in group):
            return True
        effects = [self.effects[each] for each in group]
        sides = (set().union(*(_sides(each, at) for each in effects)) for at in FLOWS)
        return len(group) > 1 and any(len(each) > 1 for each in sides)


def _sides(effect: Effect, flow: str) -> set[bool]:
    """Say on which side of the true flow a reading is at a flow, True for high.

    What reads backwards is on both: what makes the reading smaller, makes its error so.
    """
    told = (each.relative for each in effect.at if each.name == flow)
    error = next(told, effect.relative)
    if error < -1:
        return {True, False}
    return {error > 0} if abs(error) > SMALLEST else set()


def _rank(net: Net) -> tuple[bool, bool, tuple[float, float], str]:
    rank = (0.0, 0.0) if net.effect is None else net.effect.rank
    return net.effect is None, len(net.counted) == 1, rank, net.rule
