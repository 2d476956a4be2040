"""The scale that a window is drawn on: logarithmic, or linear where it must be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from configlint.sheets.window import nearest_first
from configlint.window import Interval, Window

__all__ = ["Scale", "Tick", "scale_of"]

MOST_SPANS = 5
MOST_DECADES = 9
ROOM = 0.12
"""How much of a scale is left free on either side of what it shows."""

FEWEST_DECADES = 1.0
LINEAR_TICKS = 4
TOLD = ((1.2, range(1, 10)), (2.5, (1, 2, 5)), (math.inf, (1,)))
"""Which figures of a decade are told on a scale of at most so many decades."""


class Tick(NamedTuple):
    """A mark of the scale: where it stands, from 0 to 1, and what it is, if told."""

    at: float
    label: str


class Scale(NamedTuple):
    """A scale from its left to its right end, both numbers of the setting's unit."""

    left: float
    right: float
    logarithmic: bool

    def at(self, number: float | None, otherwise: float) -> float:
        """Give where a number stands, from 0 at the left end to 1 at the right one.

        What lies beyond stands at the end, and no number where it is told to.

        >>> Scale(1.0, 100.0, True).at(10.0, 0.0)
        0.5
        """
        if number is None:
            return otherwise
        left, right = self.left, self.right
        if self.logarithmic:
            if number <= 0:
                return 0.0
            number, left, right = map(math.log10, (number, left, right))
        return min(1.0, max(0.0, (number - left) / (right - left)))

    def holds(self, interval: Interval) -> bool:
        """Whether a part of an interval can be seen."""
        start, end = interval.start, interval.end
        below = end is not None and end < self.left
        return not below and (start is None or start <= self.right)

    def ticks(self) -> Iterator[Tick]:
        """Give the marks of the scale, in rising order."""
        if not self.logarithmic:
            step = _round_step((self.right - self.left) / LINEAR_TICKS)
            first = math.ceil(self.left / step)
            for place in range(first, math.floor(self.right / step) + 1):
                yield Tick(self.at(place * step, 0.0), f"{place * step:.6g}")
            return
        low, high = math.log10(self.left), math.log10(self.right)
        told = next(each for most, each in TOLD if high - low <= most)
        for decade in range(math.floor(low), math.ceil(high) + 1):
            for figure in range(1, 10):
                mark = figure * 10.0**decade
                if self.left <= mark <= self.right:
                    label = f"{mark:.6g}" if figure in told else ""
                    yield Tick(self.at(mark, 0.0), label)


def _round_step(length: float) -> float:
    """Round a length up to a figure that people count in.

    >>> _round_step(0.3), _round_step(7.0)
    (0.5, 10.0)
    """
    decade = 10.0 ** math.floor(math.log10(length))
    return next(each * decade for each in (1, 2, 5, 10) if each * decade >= length)


def scale_of(window: Window) -> Scale:
    """Choose the scale for a window: around its ends, its present value and others.

    It is logarithmic but where there are numbers below zero, or none but zero.
    """
    numbers = list(_numbers(window))
    if any(each < 0 for each in numbers) or not any(numbers):
        size = max(map(abs, numbers), default=0.0) or 1.0
        low, high = min(numbers, default=-size), max(numbers, default=size)
        room = max(ROOM * (high - low), ROOM * size)
        if low == high:
            room = size
        return Scale(low - room, high + room, False)
    logs = [math.log10(each) for each in numbers if each]
    low, high = min(logs), max(logs)
    room = max(ROOM * (high - low), (FEWEST_DECADES - high + low) / 2, ROOM)
    low, high = max(low - room, high + room - MOST_DECADES), high + room
    return Scale(10**low, 10**high, True)


def _numbers(window: Window) -> Iterator[float]:
    """Give the numbers that the drawing must show."""
    if window.present is not None:
        yield float(window.present.number)
    tied = window.tied.intervals if window.tied is not None else ()
    for intervals in (window.intervals, tied):
        for interval in nearest_first(window, intervals)[:MOST_SPANS]:
            yield from (end for end in interval[:2] if end is not None)
    if not window.intervals:
        yield from (float(figure) for figure in window.preferred)
