"""The windows of one meter's settings, solved, as every format of a sheet has them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from configlint.axes import is_in_use
from configlint.bench import Laid
from configlint.choices import Choices
from configlint.dependence import Dependence
from configlint.findings import Subject
from configlint.rules import Edition
from configlint.variation import Free
from configlint.window import (
    Interval,
    Solution,
    Stated,
    Window,
    settable_paths,
    settings_of,
    solution_of,
)

__all__ = ["WindowSheet", "make_sheets", "margins", "nearest_first"]

NOT_USED = "The meter has none, or its part is not in use"


@dataclass(frozen=True, slots=True)
class WindowSheet:
    """What the settings of a meter may be; `means` says by its path what each is."""

    subject: Subject
    editions: tuple[Edition, ...]
    means: Mapping[str, str]
    solutions: tuple[Solution, ...]

    @property
    def windows(self) -> tuple[Window, ...]:
        """The amounts that were solved for."""
        return tuple(each for each in self.solutions if isinstance(each, Window))

    @property
    def choices(self) -> tuple[Choices, ...]:
        """The settings with a list of values."""
        return tuple(each for each in self.solutions if isinstance(each, Choices))

    @property
    def stated(self) -> tuple[Stated, ...]:
        """The settings that a person states."""
        return tuple(each for each in self.solutions if isinstance(each, Stated))


def make_sheets(
    laid: Iterable[Laid], settings: Sequence[str] = ()
) -> tuple[WindowSheet, ...]:
    """Solve for the settings of some meters: those that are named, or else all.

    The name of a part, such as `pulse_output`, stands for what rules would change in
    it. A setting that is named is solved for even where it is a person's to state.
    """
    known: dict[int, Dependence] = {}
    sheets = []
    for each in laid:
        dependence = known.setdefault(id(each.book), Dependence(each.book))
        free = Free(dependence, each.judge, each.facts).derived()
        sheets.append(_sheet(each, free, settings))
    return tuple(sheets)


def _sheet(laid: Laid, free: Free, settings: Sequence[str]) -> WindowSheet:
    named = dict.fromkeys(path for name in settings for path in _named(free, name))
    paths = tuple(named) if settings else settings_of(free)
    return WindowSheet(
        laid.subject,
        laid.book.editions,
        {path: laid.book.inputs[path].means for path in paths},
        tuple(_solution(free, path, path in settings) for path in paths),
    )


def _named(free: Free, name: str) -> list[str]:
    if name in settable_paths(free.book):
        return [name]
    return [path for path in settings_of(free) if path.startswith(f"{name}.")]


def _solution(free: Free, path: str, named: bool) -> Solution:
    if not is_in_use(free.book, free.facts, path):
        return Stated(path, "", NOT_USED)
    return solution_of(free, path, even_stated=named)


def margins(window: Window, interval: Interval) -> tuple[float | None, float | None]:
    """Give how far the present value is inside each end, relative to that end.

    Where it lies beyond one, the margin there is negative, and the other end has none.
    There is none without an end or a present value either, nor of a temperature,
    whose zero means nothing.

    >>> from configlint.units import parse_quantity, unit_named
    >>> span = Interval(5.0, 20.0, "slow", "fast", True, True)
    >>> parts = ((span,), (), None, (), (), (), (), ())
    >>> window = Window("a", unit_named("l"), parse_quantity("10 l"), *parts)
    >>> margins(window, span)
    (1.0, 0.5)
    """
    if window.present is None or window.unit.offset:
        return None, None
    number = float(window.present.number)
    start, end = interval.start, interval.end
    lower = (number - start) / abs(start) if start else None
    upper = (end - number) / abs(end) if end else None
    if start is not None and number < start:
        return lower, None
    return (None, upper) if end is not None and number > end else (lower, upper)


def nearest_first(window: Window, intervals: Iterable[Interval]) -> list[Interval]:
    """Sort intervals by how far they are from the present value."""
    if window.present is None:
        return list(intervals)
    number = float(window.present.number)

    def off(interval: Interval) -> float:
        ends = [each for each in interval[:2] if each is not None]
        inside = interval.holds(number)
        return 0.0 if inside else min((abs(each - number) for each in ends), default=0)

    return sorted(intervals, key=off)
