"""Faults that hide one another, corrected together: each by its own counterpart.

Where the stages of a chain are wrong, correcting one alone can make the reading worse.
So one set of changes is proposed for all of them, which was put to the meter as a
whole. What is read off a plate is right; where nothing but the plant says which of two
settings is, there is a set for either.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from typing import NamedTuple

from configlint.axes import setting_of
from configlint.choices import options_of
from configlint.levers import ChoiceLever
from configlint.proposals import COUNTERPART, Advice, Change
from configlint.rules import MeterRule
from configlint.stages import Group, groups_of
from configlint.trial import Trial
from configlint.units import Quantity
from configlint.variation import Fixed

__all__ = ["Joint", "changes_of"]


class _Correction(NamedTuple):
    """Values that meet the rule of one stage, and the setting they take for right."""

    values: Fixed
    if_right: str = ""


class Joint:
    """A meter with broken nets, and the sets of changes that settle each as a whole."""

    def __init__(self, trial: Trial) -> None:
        self.trial = trial
        self.groups = groups_of(trial.free.book, trial.broken)
        self.known: dict[int, tuple[Advice, ...]] = {}

    def advise(self, rule: str) -> tuple[Advice, ...]:
        """Propose the changes for a net or one of its stages, none for another rule.

        Those of a stage name the net that they belong to.
        """
        for number, group in enumerate(self.groups):
            if rule in group.members:
                if number not in self.known:
                    self.known[number] = tuple(self.ways(group))
                nets = [each.id for each in group.nets]
                net = "" if rule in nets else nets[0]
                return tuple(each._replace(net=net) for each in self.known[number])
        return ()

    def ways(self, group: Group) -> Iterator[Advice]:
        """Give the sets of changes that settle a group, with what rules out others."""
        if self.is_withheld(group):
            return
        sets = [_joined(each) for each in product(*map(self.corrections, group.stages))]
        good = [
            each for each in sets if self.trial.is_settled(group.members, each.values)
        ]
        failed = (each.values for each in sets if each not in good)
        free, broken = self.trial.free, self.trial.broken
        new = {one.id for each in failed for one in free.broken_with(each)} - broken
        unless = tuple(sorted(new))
        for values, right in good:
            changes = changes_of(values)
            yield Advice(COUNTERPART, changes, if_right=right, unless=unless)

    def is_withheld(self, group: Group) -> bool:
        """Whether a broken rule that is no net wants no value for one of the stages."""
        settings = {path for each in group.stages for path in each.settings}
        return any(
            not settings.isdisjoint(each.settings)
            for each in self.trial.free.book.meter_rules
            if each.id in self.trial.broken
            and not (each.proposes_values or each.is_net)
        )

    def corrections(self, rule: MeterRule) -> list[_Correction]:
        """Give what would correct a stage: what a plate says, or either of two."""
        trial = self.trial
        agreed = trial.agreed([rule], rule.settings)
        plates = [each for each in agreed if not trial.is_adjustable(each.counterpart)]
        if plates:
            return [_Correction(plates[0].values)]
        if agreed:
            return [_Correction(each.values, each.counterpart) for each in agreed]
        return list(self.choices(rule))

    def choices(self, rule: MeterRule) -> Iterator[_Correction]:
        """Give the only choice, such as a size, that meets the rule of a stage."""
        free = self.trial.free
        for path in filter(self.trial.is_adjustable, rule.settings):
            setting = setting_of(free.book, path)
            if any(options_of(free, setting)):
                lever = ChoiceLever(free, setting, {})
                only = lever.variation.set_of([rule.id])
                yield from (_Correction(o.values) for o in lever.offers(only, False))


def _joined(corrections: Sequence[_Correction]) -> _Correction:
    """Join what corrects each stage to one set of values."""
    values = {path: v for each in corrections for path, v in each.values.items()}
    right = dict.fromkeys(each.if_right for each in corrections if each.if_right)
    return _Correction(values, " and ".join(right))


def changes_of(values: Fixed) -> tuple[Change, ...]:
    """Write values as their texts would stand in a file.

    >>> changes_of({"pulse_output.scaled": True})
    (Change(setting='pulse_output.scaled', value='true'),)
    """
    return tuple(Change(path, _text(value)) for path, value in values.items())


def _text(value: Quantity | str | bool) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return value.text if isinstance(value, Quantity) else value
