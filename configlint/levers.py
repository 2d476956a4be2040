"""One setting as a means to an end: the values at which some rules are met, in order.

A lever is a setting, alone or with others that must agree with it. What it offers
first is the best of its kind: the nearest value, or the nearest preferred one.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import NamedTuple, Protocol, cast

from configlint.axes import amount_at, axis_of, starts_of
from configlint.candidates import (
    amount_of,
    close_figures,
    distance,
    figure_of,
    nearest_figures,
    plainest_figures,
    preferred_figures,
    shorter_figures,
)
from configlint.choices import options_of, value_of
from configlint.rules import Setting
from configlint.sweep import Axis, Reach, Run, sweep
from configlint.units import Quantity, Unit
from configlint.variation import Fixed, Free, Variation
from configlint.window import Interval, intervals_of, nearest

__all__ = ["AmountLever", "ChoiceLever", "Lever", "Offer"]

MOST_TRIED = 60
NEAR = Reach(decades=1, per_decade=4, mirrored=False)
"""A value is looked for among those of the size that a meter's others of its kind have.
"""


class Offer(NamedTuple):
    """Values of one or more settings, and the span that the first may be moved in."""

    values: Fixed
    within: Interval | None = None


class Lever(Protocol):
    """A setting that is moved to have rules met."""

    @property
    def variation(self) -> Variation:
        """The meter with the setting free."""

    def offers(self, rules: int, preferred: bool) -> Iterator[Offer]:
        """Give values at which none of a set of rules is broken, the best ones first.

        The set has a bit for each rule of the variation. `preferred` asks for
        preferred values only, where some are declared.
        """


class ChoiceLever:
    """A setting with a list of values; it offers one where there is but one.

    Of amounts the nearest comes first, since any of them would do.
    """

    def __init__(self, free: Free, setting: Setting, fixed: Fixed) -> None:
        self.free = free
        self.path = setting.path
        self.texts = tuple(options_of(free, setting))
        self.variation = free.vary([setting.path], fixed)

    def offers(self, rules: int, preferred: bool) -> Iterator[Offer]:
        """Give the only value at which none of a set of rules is broken, or amounts."""
        good: list[Quantity | str | bool] = []
        for text in self.texts:
            value = value_of(self.free, self.path, text)
            self.variation.put(self.path, value)
            if not self.variation.broken() & rules:
                good.append(value)
        present = amount_at(self.free.facts, self.path)
        amounts = [each for each in good if isinstance(each, Quantity)]
        if present is not None and amounts:
            near = present.si
            amounts.sort(key=lambda each: distance(each.si, near))
            yield from (Offer({self.path: each}) for each in amounts)
        elif len(good) == 1:
            yield Offer({self.path: good[0]})


class AmountLever:
    """An amount, alone or with others that are the same amount then."""

    def __init__(
        self,
        free: Free,
        setting: Setting,
        fixed: Fixed,
        along: tuple[str, ...] = (),
    ) -> None:
        self.free = free
        self.preferred = setting.preferred
        self.only_preferred = setting.only_preferred
        self.axis: Axis = axis_of(free, setting.path, along, fixed)
        self.variation = self.axis.variation
        starts = starts_of(free, self.axis)
        self.runs: tuple[Run, ...] = sweep(self.axis, starts, NEAR)

    def offers(self, rules: int, preferred: bool) -> Iterator[Offer]:
        """Give amounts at which none of a set of rules is broken, the best first."""
        by_amount = rules & self.variation.by_amount
        intervals = tuple(intervals_of(self.axis, self.runs, by_amount))
        if not intervals:
            return
        for figure in islice(self.figures(intervals, preferred), MOST_TRIED):
            if self.axis.domain.holds(float(figure)):
                self.axis.put(amount_of(figure, self.axis.unit))
                if not self.variation.broken() & rules:
                    number = float(figure)
                    around = (each for each in intervals if each.holds(number))
                    yield Offer(self.values(rules), next(around, None))

    def figures(
        self, intervals: tuple[Interval, ...], preferred: bool
    ) -> Iterator[str]:
        """Give the figures to be tried, the best ones first."""
        present = amount_at(self.free.facts, self.axis.path)
        number = None if present is None else float(present.number)
        near = nearest(intervals, number)
        inside = any(each.holds(near) for each in intervals)
        if not near and not inside:
            # Any amount above zero would do: there is none nearest to it.
            return
        preferred = preferred or self.only_preferred
        if not preferred and near == number and inside:
            both = (*nearest_figures(near, True), *nearest_figures(near, False))
            yield from sorted(both, key=lambda figure: distance(float(figure), near))
        elif not preferred:
            ends = (each for each in intervals if near in (each.start, each.end))
            yield from self.at_end(next(ends, intervals[0]), near, number)
        yield from preferred_figures(self.preferred, self.axis.unit, near)

    def at_end(
        self, interval: Interval, near: float, number: float | None
    ) -> Iterator[str]:
        """Give the figures of an interval that are nearest to its end, or to its aim.

        Where rules leave a tolerance around a value, that value comes first.
        """
        start, end = interval.start, interval.end
        if start is not None and start == end:
            yield _as_written(self.free, self.axis.unit, start)
            return
        for aim in self.aims(interval):
            yield from close_figures(aim)
        if start is not None and end is not None and interval.is_narrow:
            yield from plainest_figures(start, end)
        elif number is not None and near == start:
            yield from nearest_figures(near, True, interval.start_included)
        elif number is not None:
            yield from nearest_figures(near, False, interval.end_included)

    def aims(self, interval: Interval) -> list[float]:
        """Give the numbers of an interval from which a rule takes the deviation.

        Where a deviation is none on one side as well, as of what is changed along,
        it has no aim.
        """
        deviations = [
            position
            for position, turn in enumerate(self.variation.turning)
            if turn.deviation
        ]
        looks = [look for run in self.runs for look in run.looks]
        return [
            look.number
            for before, look, after in zip(looks, looks[1:], looks[2:], strict=False)
            if look.turn is not None and interval.holds(look.number)
            for position in deviations
            if look.turns[position] == 0
            and before.turns[position] * after.turns[position] < 0
        ]

    def values(self, rules: int) -> Fixed:
        """Give the values now written, each in as few digits as it can be."""
        written = self.variation.facts.written
        for path, unit, _ in self.axis.along:
            figures = shorter_figures(float(cast(Quantity, written[path]).number))
            # What was tried last is written: the first that is met, else all digits.
            any(self.is_met(path, amount_of(each, unit), rules) for each in figures)
        paths = (self.axis.path, *(each.path for each in self.axis.along))
        return {path: written[path] for path in paths}

    def is_met(self, path: str, amount: Quantity, rules: int) -> bool:
        """Write an amount, and say whether none of a set of rules is broken then."""
        self.variation.put(path, amount)
        return not self.variation.broken() & rules


def _as_written(free: Free, unit: Unit, number: float) -> str:
    """Write a number as the file writes it elsewhere, with all the digits stamped."""
    alike = (
        each.number
        for each in free.facts.written.values()
        if isinstance(each, Quantity)
        and each.unit is unit
        and float(each.number) == number
    )
    return next(alike, figure_of(number))
