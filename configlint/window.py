"""The values that a setting may take with every rule still met, all else as it is.

Asked are the compiled rules themselves, and only those that the setting sways; a rule
counts as met unless it is nonconforming. Rules that look at the figures of a value,
such as whether it is round, hold for single values and take no part in a window's
intervals: the preferred values are asked of them too. How far the search for the
intervals can be trusted stands in `sweep`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from typing import NamedTuple

from configlint.axes import (
    amount_at,
    axis_of,
    is_amount,
    is_in_use,
    number_of,
    offered_texts,
    setting_of,
    starts_of,
)
from configlint.candidates import LARGEST, amount_of, distance, preferred_figures
from configlint.choices import Choices, choices_of, shown
from configlint.conflicts import smallest_conflict
from configlint.engine import NOT_APPLICABLE, derive
from configlint.kinds import Sort
from configlint.rules import MeterRule, Preferred, RuleBook, Setting
from configlint.scalars import WELL_FORMED
from configlint.stages import LeftOut, stood_by
from configlint.sweep import Axis, Look, Run, sweep
from configlint.units import Quantity, Unit
from configlint.variation import Free

__all__ = [
    "MOST_PREFERRED",
    "NARROWEST",
    "Interval",
    "Solution",
    "Stated",
    "Tied",
    "Window",
    "intervals_of",
    "is_permissible",
    "nearest",
    "settable_paths",
    "settings_of",
    "solution_of",
    "ties_of",
]

ELSEWHERE = ("site.", "type_sheet.", "notation.", "run.")
NARROWEST = 0.01
"""A rule that leaves less than this share of a value ties it to another value."""

MOST_PREFERRED = 40
MOST_TRIED = 400


class Interval(NamedTuple):
    """Numbers of a setting's unit, from one end to the other, in one piece.

    An end that nothing bounds as far as was searched is None. The rules at the ends
    are broken right beyond them; `value-well-formed` is the bound of what a file may
    hold at all. An end may be a limit that is itself not permissible.
    """

    start: float | None
    end: float | None
    start_rule: str
    end_rule: str
    start_included: bool
    end_included: bool

    def holds(self, number: float) -> bool:
        """Whether a number of the setting's unit lies inside."""
        start, end = self.start, self.end
        above = (
            start is None or number > start or (self.start_included and number == start)
        )
        return above and (
            end is None or number < end or (self.end_included and number == end)
        )

    @property
    def is_narrow(self) -> bool:
        """Whether it is a value with its tolerance rather than a span of values."""
        if self.start is None or self.end is None:
            return False
        size = max(abs(self.start), abs(self.end))
        return self.end - self.start <= NARROWEST * size


class Tied(NamedTuple):
    """What a setting may be if others that must agree with it are changed along.

    `preferred` are figures inside, as those of a window.
    """

    rules: tuple[str, ...]
    others: tuple[str, ...]
    intervals: tuple[Interval, ...]
    preferred: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Window:
    """The numbers of its unit that an amount may be, all other inputs being fixed.

    `intervals` lie in rising order; where there is none, `conflict` names the fewest
    rules that can't be met together. `preferred` are figures inside that meet
    `figure_rules` as well. `rules` are those asked, `not_assessed` those left open,
    `broken` those not met by the present value, `not_counted` those left out.
    `elsewhere` names other settings by which a conflict can be ended.
    """

    setting: str
    unit: Unit
    present: Quantity | None
    intervals: tuple[Interval, ...]
    preferred: tuple[str, ...]
    tied: Tied | None
    conflict: tuple[str, ...]
    broken: tuple[str, ...]
    rules: tuple[str, ...]
    figure_rules: tuple[str, ...]
    not_assessed: tuple[str, ...]
    not_counted: tuple[LeftOut, ...] = ()
    elsewhere: tuple[str, ...] = ()


class Stated(NamedTuple):
    """A setting that is not solved for, since a person reads it somewhere."""

    setting: str
    present: str
    where: str


Solution = Window | Choices | Stated


def settings_of(free: Free) -> tuple[str, ...]:
    """Name the settings in use that a rule which speaks of the meter would change.

    They come in the order in which rule files declare them.
    """
    book, known = free.book, settable_paths(free.book)
    outcomes = free.judge.judge(derive(book, free.facts.copy()))
    named = dict.fromkeys(
        path
        for outcome in outcomes
        if outcome.word != NOT_APPLICABLE
        for path in outcome.rule.settings
    )
    order = {path: position for position, path in enumerate(book.settings)}
    return tuple(
        path
        for path in sorted(named, key=lambda path: order.get(path, len(order)))
        if path in known and is_in_use(book, free.facts, path)
    )


def settable_paths(book: RuleBook) -> tuple[str, ...]:
    """Name the values that a meter's file may hold, as far as rules can name them."""
    return tuple(
        path
        for path, given in book.inputs.items()
        if given.kind is not Sort.SECTION and not path.startswith(ELSEWHERE)
    )


def solution_of(free: Free, path: str, even_stated: bool = False) -> Solution:
    """Find what a setting may be; `even_stated` solves for what a person states too.

    A meter must have its quantities derived.
    """
    setting = setting_of(free.book, path)
    broken = [rule.id for rule in free.broken_with({})]
    free = free._replace(left_out=tuple(stood_by(free.book, path, broken)))
    if setting.adjustable or even_stated:
        if is_amount(free.mark(path)) and not offered_texts(free.facts, path):
            return _window_of(free, setting)
        choices = choices_of(free, setting)
        if choices is not None:
            return choices
    return Stated(path, shown(free.facts, path), setting.where)


def _window_of(free: Free, setting: Setting) -> Window:
    axis = axis_of(free, setting.path)
    variation = axis.variation
    runs = sweep(axis, starts_of(free, axis))
    found = tuple(intervals_of(axis, runs, variation.by_amount))
    present = amount_at(free.facts, setting.path)
    broken = (variation.named(run.broken) for run in runs)
    rules = variation.named(variation.by_amount)
    conflict = () if found else smallest_conflict(broken, rules)
    preferred = tuple(_preferred(axis, setting.preferred, present, found))
    tied = _tied(free, axis, runs)
    # The present value comes last, so that what is left open is told for it.
    _settle(axis, present, found)
    figures = variation.of_figures & variation.applying()
    return Window(
        setting=setting.path,
        unit=axis.unit,
        present=present,
        intervals=found,
        preferred=preferred,
        tied=tied,
        conflict=conflict,
        broken=variation.named(variation.broken()) if present else (),
        rules=variation.named(variation.applying()),
        figure_rules=variation.named(figures),
        not_assessed=variation.named(variation.left_open()),
        not_counted=variation.passed_over,
        elsewhere=_elsewhere(free, setting.path, conflict),
    )


def _elsewhere(free: Free, path: str, conflict: Sequence[str]) -> tuple[str, ...]:
    """Name what the rules of a conflict would change that do not name a setting."""
    rules = (each for each in free.book.meter_rules if each.id in conflict)
    others = (each.settings for each in rules if path not in each.settings)
    return tuple(dict.fromkeys(other for each in others for other in each))


def _settle(
    axis: Axis, present: Quantity | None, intervals: Sequence[Interval]
) -> None:
    """Write the present value, or one that the window suggests in its place."""
    if present is not None:
        axis.put(present)
        return
    ends = (end for each in intervals for end in each[:2] if end is not None)
    axis.put(amount_of(repr(next(ends, 1.0)), axis.unit))


def intervals_of(axis: Axis, runs: Sequence[Run], rules: int) -> Iterator[Interval]:
    """Join the runs in which no rule of a set is broken to intervals.

    The set is one of the axis's variation, with a bit for each of its rules.
    """
    groups = [
        (met, list(group))
        for met, group in groupby(runs, key=lambda run: not run.broken & rules)
    ]
    for met, group in groups:
        if met:
            looks = [look for run in group for look in run.looks]
            before, after = group[0].before, group[-1].after
            start, low_rule, has_start = (
                _end(axis, rules, looks, before[::-1]) if before else _lowest(axis)
            )
            end, high_rule, has_end = (
                _end(axis, rules, looks[::-1], after) if after else _highest(axis)
            )
            yield Interval(start, end, low_rule, high_rule, has_start, has_end)


_End = tuple[float | None, str, bool]
NO_END: _End = (None, "", False)


def _end(
    axis: Axis, rules: int, inside: Sequence[Look], outside: Sequence[Look]
) -> _End:
    """Find an end of an interval from the looks on both sides, the nearest first."""
    last, beyond = inside[0], outside[0]
    rule = axis.variation.named(beyond.broken & rules)[0]
    for looks, end, included in ((inside, last, True), (outside, beyond, False)):
        limits = (look.number for look in looks if axis.is_limit(look, end))
        # Nothing is searched next to zero, so that an end there is zero itself.
        limit = 0.0 if end.number == 0 and not included else next(limits, None)
        if limit is not None:
            return limit, rule, included
    return last.number, rule, True


def _lowest(axis: Axis) -> _End:
    """Give the least that a file may hold at all, where there is such a bound."""
    lowest, _, is_open = axis.domain
    return (lowest, WELL_FORMED, not is_open) if lowest > -LARGEST else NO_END


def _highest(axis: Axis) -> _End:
    """Give the most that a file may hold at all, where there is such a bound."""
    highest = axis.domain.highest
    return (highest, WELL_FORMED, True) if highest < LARGEST else NO_END


def is_permissible(axis: Axis, figure: str) -> bool:
    """Whether a figure may stand in a file, and breaks no rule that it sways."""
    if not axis.domain.holds(float(figure)):
        return False
    axis.put(amount_of(figure, axis.unit))
    return not axis.variation.broken()


def _preferred(
    axis: Axis,
    preferred: Preferred,
    present: Quantity | None,
    intervals: Sequence[Interval],
) -> list[str]:
    """Give the preferred figures that every rule lets through, in rising order.

    There can be any number; these are the ones nearest to the present value.
    """
    if not intervals:
        return []
    near = nearest(intervals, None if present is None else float(present.number))
    figures = islice(preferred_figures(preferred, axis.unit, near), MOST_TRIED)
    good = (figure for figure in figures if is_permissible(axis, figure))
    return sorted(set(islice(good, MOST_PREFERRED)), key=float)


def nearest(intervals: Sequence[Interval], number: float | None) -> float:
    """Give a number itself where it lies inside, else the nearest end of an interval.

    All are numbers of the setting's unit. Where there is nothing to be near to, it is
    the first end there is, or 1.

    >>> nearest([Interval(10.0, 20.0, "", "", True, True)], 22.0)
    20.0
    """
    ends = [end for each in intervals for end in each[:2] if end is not None]
    if number is None:
        return next((end for end in ends if end), 1.0)
    if not ends or any(each.holds(number) for each in intervals):
        return number
    return min(ends, key=lambda end: distance(end, number))


def _tied(free: Free, axis: Axis, runs: Sequence[Run]) -> Tied | None:
    """Find what a setting may be if those it must agree with are changed as well."""
    ties = ties_of(free, axis, runs)
    along = tuple(dict.fromkeys(path for paths in ties.values() for path in paths))
    if not along:
        return None
    joint = axis_of(free, axis.path, along)
    runs = sweep(joint, starts_of(free, joint))
    wider = tuple(intervals_of(joint, runs, joint.variation.by_amount))
    present = amount_at(free.facts, axis.path)
    preferences = setting_of(free.book, axis.path).preferred
    preferred = tuple(_preferred(joint, preferences, present, wider))
    return Tied(tuple(ties), along, wider, preferred)


def ties_of(free: Free, axis: Axis, runs: Sequence[Run]) -> dict[str, tuple[str, ...]]:
    """Find the rules that make a setting agree with others, and those others."""
    found = {
        rule.id: _counterparts(free, axis, runs, rule)
        for rule in axis.variation.rules
        if axis.path in rule.settings
    }
    return {rule: paths for rule, paths in found.items() if paths}


def _counterparts(
    free: Free, axis: Axis, runs: Sequence[Run], rule: MeterRule
) -> tuple[str, ...]:
    """Name the settings with which a rule makes one agree, within a tolerance."""
    only = axis.variation.set_of([rule.id]) & axis.variation.by_amount
    left = list(intervals_of(axis, runs, only))
    if not all(each.is_narrow for each in left):
        return ()
    return tuple(
        path
        for path in rule.settings
        if path != axis.path
        and setting_of(free.book, path).adjustable
        and is_in_use(free.book, free.facts, path)
        and any(each.holds(number) for each in left for number in _as(free, axis, path))
    )


def _as(free: Free, axis: Axis, path: str) -> Iterator[float]:
    """Give another amount of the same kind as a number of the setting's unit."""
    inputs = free.book.inputs
    if inputs[path].kind == inputs[axis.path].kind:
        yield from number_of(axis, free.facts.values[path])
