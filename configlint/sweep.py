"""The numbers that an amount may be, cut into runs in which the same rules are broken.

The search looks at some numbers of each decade, ten unless told otherwise, and at the
numbers that other values of the same kind suggest. Between two neighbours it finds
every turn: a number at which some difference that the rules compare changes its sign,
or something rounded goes on to its next step. What it can miss is this: two changes of
sign of one difference between two neighbours where no turn of another parts them,
steps of which there are more than `MOST_STEPS` between two neighbours, and what comes
after `MOST_TURNS` turns in all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import groupby, pairwise
from typing import NamedTuple

from configlint.candidates import LARGEST, Domain, distance, written
from configlint.roots import crossing, middle
from configlint.turns import Step
from configlint.units import TOLERANCE, Quantity, Unit
from configlint.variation import Variation

__all__ = ["Axis", "Follower", "Look", "Reach", "Run", "sweep"]

SMALLEST_DECADE = -25

BESIDE = 4 * TOLERANCE
"""How far beside a limit, relative to it, every comparison has made up its mind."""

NARROW = 3 * BESIDE
AROUND = 1e-6
"""How far around a turn, relative to it, a difference is clear of the noise."""

NOISE = 1e-11
"""How near to a limit, relative to it, arithmetic can't tell which side is which."""

GLANCE = 1e6
"""How many times nearer to zero than the decades searched a last look is taken.

Nothing is searched between it and zero, since there is no end of decades there.
"""

MOST_TURNS = 2000
MOST_STEPS = 64


class Look(NamedTuple):
    """A number that was looked at, the rules broken there, the numbers that decide.

    `turn` is the position of a turn that it stands on: it is then a limit itself, not
    a number near one.
    """

    number: float
    broken: int
    turns: tuple[float, ...]
    turn: int | None = None


class Run(NamedTuple):
    """Neighbouring looks at which the same rules are broken, in rising order.

    `before` and `after` are the looks beyond it, none at the ends of the search.
    """

    broken: int
    looks: tuple[Look, ...]
    before: tuple[Look, ...]
    after: tuple[Look, ...]


class Follower(NamedTuple):
    """An amount that is changed along: path, unit, and the SI amount of one of it."""

    path: str
    unit: Unit
    factor: float


class Axis(NamedTuple):
    """One amount that is varied: its path, and the numbers it may be in its unit.

    `factor` is the SI amount that rules compute with for one of the unit. `along` are
    the amounts that are the same then, in units of their own.
    """

    variation: Variation
    path: str
    unit: Unit
    factor: float
    domain: Domain
    along: tuple[Follower, ...] = ()

    def put(self, amount: Quantity) -> None:
        """Write an amount as the value, and the same for those that follow."""
        variation = self.variation
        variation.write(self.path, amount)
        value = variation.facts.values[self.path]
        if isinstance(value, float) and math.isfinite(value):
            for path, unit, factor in self.along:
                variation.write(path, written(value / factor, unit))
        variation.recompute()

    def size(self, number: float) -> float:
        """The amount of a number, as many units from its absolute zero."""
        if not self.unit.offset:
            return abs(number)
        return abs(number + float(self.unit.offset / self.unit.factor))

    def is_beside(self, first: Look, second: Look) -> bool:
        """Whether two looks are next to each other, as far as comparisons can tell."""
        size = max(self.size(first.number), self.size(second.number))
        return abs(first.number - second.number) <= NARROW * size

    def is_limit(self, look: Look, end: Look) -> bool:
        """Whether a look is the limit that an end of a run is at, within tolerance."""
        if look.turn is None:
            return False
        return self.is_beside(look, end) or end.turns[look.turn] == 0

    def broken_at(self, number: float) -> int:
        """Give the set of rules that a number of the unit breaks by its amount."""
        self.put(written(number, self.unit))
        return self.variation.broken() & self.variation.by_amount

    def look(self, number: float, turn: int | None = None) -> Look:
        """Ask at a number of the unit, which may stand on a turn."""
        number = float(written(number, self.unit).number)
        broken = self.broken_at(number)
        return Look(number, broken, self.variation.turns(), turn)


class Reach(NamedTuple):
    """How far a search goes: decades beyond where it starts, and below zero or not.

    It looks at so many numbers of each decade. One that is not `mirrored` only glances
    below zero unless it starts there too.
    """

    decades: int = 5
    per_decade: int = 10
    mirrored: bool = True


FAR = Reach()


def sweep(axis: Axis, starts: Iterable[float], reach: Reach = FAR) -> tuple[Run, ...]:
    """Cut the numbers of an amount into runs, in rising order.

    `starts` are numbers of the setting's unit to search around. A run reaches as far
    as the rules' comparisons do, which hold to a relative 1e-9: the limit itself is a
    look on a turn near its end, in the run or, where it is not part of it, behind it.

    >>> from configlint.data import data_folder
    >>> from configlint.dependence import Dependence
    >>> from configlint.engine import Judge
    >>> from configlint.facts import facts
    >>> from configlint.meters import Meter
    >>> from configlint.rule_book import load_rule_book
    >>> from configlint.units import unit_named
    >>> from configlint.variation import Free
    >>> book = load_rule_book(data_folder("rules"))
    >>> bare = facts(Meter(meter="FT-1", principle="electromagnetic"))
    >>> free = Free(Dependence(book), Judge(book), bare).derived()
    >>> path, unit = "transmitter.low_flow_cutoff", unit_named("l/s")
    >>> axis = Axis(free.vary([path]), path, unit, 0.001, Domain(0.0, 1e15, False))
    >>> zero, others = sweep(axis, [1.0])
    >>> zero.looks[0].number, bool(zero.broken), bool(others.broken)
    (0.0, True, False)
    """
    suggested = [each for each in starts if axis.domain.holds(each)]
    looks = _Looks(axis, {*suggested, *_grid(axis.domain, suggested, reach)})
    looks.find_turns(suggested[0] if suggested else 1.0)
    looks.settle_limits()
    looks.find_flips()
    return tuple(_runs(looks.in_order()))


def _grid(domain: Domain, starts: list[float], reach: Reach) -> Iterator[float]:
    """Give some numbers a decade around the starts, with both signs where wanted."""
    decades = [math.log10(abs(each)) for each in starts if each] or [0.0]
    lowest = max(math.floor(min(decades)) - reach.decades, SMALLEST_DECADE)
    highest = math.ceil(max(decades)) + reach.decades
    steps = range(lowest * reach.per_decade, highest * reach.per_decade + 1)
    sizes = [10 ** (step / reach.per_decade) for step in steps]
    sizes.insert(0, sizes[0] / GLANCE)
    below = reach.mirrored or any(each < 0 for each in starts)
    mirrored = [-each for each in (sizes if below else (sizes[0], sizes[-1]))]
    ends = [each for each in domain[:2] if abs(each) < LARGEST]
    for number in (*sizes, *mirrored, 0.0, *ends):
        if domain.holds(number):
            yield number


def _runs(looks: list[Look]) -> Iterator[Run]:
    groups = [tuple(group) for _, group in groupby(looks, key=lambda each: each.broken)]
    around: list[tuple[Look, ...]] = [(), *groups, ()]
    for position, group in enumerate(groups):
        before, after = around[position], around[position + 2]
        yield Run(group[0].broken, group, before, after)


class _Looks:
    """All looks so far by their number, with the search between them."""

    def __init__(self, axis: Axis, numbers: Iterable[float]) -> None:
        self.axis = axis
        self.found: dict[float, Look] = {}
        self.settled: set[tuple[float, int]] = set()
        self.steps = [
            (position, turn.step)
            for position, turn in enumerate(axis.variation.turning)
            if turn.step is not None
        ]
        for number in numbers:
            self.add(number)

    def add(self, number: float) -> Look:
        """Look at one more number."""
        look = self.axis.look(number)
        return self.found.setdefault(look.number, look)

    def in_order(self) -> list[Look]:
        """Give all looks in rising order."""
        return [self.found[number] for number in sorted(self.found)]

    def find_turns(self, near: float) -> None:
        """Look at every turn, and on either side of it, those near a number first."""
        waiting = list(pairwise(self.in_order()))
        waiting.sort(key=lambda pair: -distance(pair[0].number, near))
        left = MOST_TURNS
        while waiting and left:
            low, high = waiting.pop()
            found = self.turn_between(low, high)
            if found is None:
                continue
            left -= 1
            number, position = found
            self.add_turn(number, position)
            margin = BESIDE * self.axis.size(number)
            below, above = self.add(number - margin), self.add(number + margin)
            if below.number > low.number:
                waiting.append((low, below))
            if above.number < high.number:
                waiting.append((above, high))

    def add_turn(self, number: float, position: int) -> None:
        """Look at a turn, as the round number that it stands for where it can be."""
        look = self.axis.look(float(f"{number:.12g}"), position)
        if self.axis.broken_at(number) != look.broken:
            look = self.axis.look(number, position)
        self.found[look.number] = look

    def turn_between(self, low: Look, high: Look) -> tuple[float, int] | None:
        """Find a turn between two looks that are not beside each other, or at one.

        Gives the number and the position of the turn.
        """
        if self.axis.is_beside(low, high) or 0 in (low.number, high.number):
            return None
        levels = {
            position: _level(step, low.turns[position], high.turns[position])
            for position, step in self.steps
        }
        if math.inf in levels.values():
            return None
        sides = zip(low.turns, high.turns, strict=True)
        for position, (first, last) in enumerate(sides):
            if first == last:
                continue
            level = levels.get(position, 0.0)
            if (first < level < last) or (first > level > last):
                return self.solve(position, level, low, high), position
            if level in (first, last):
                look = low if first == level else high
                if self.is_alone(look, position):
                    return look.number, position
        return None

    def is_alone(self, look: Look, position: int) -> bool:
        """Whether a look on a turn is a new one, and no part of a stretch of them."""
        if (look.number, position) in self.settled:
            return False
        self.settled.add((look.number, position))
        margin = AROUND * self.axis.size(look.number)
        for side in (-margin, margin):
            self.axis.put(written(look.number + side, self.axis.unit))
            if self.axis.variation.is_on_turn(position):
                return False
        return True

    def solve(self, position: int, level: float, low: Look, high: Look) -> float:
        """Find where the number of a turn passes a level."""

        def off(number: float) -> float:
            self.axis.put(written(number, self.axis.unit))
            return self.axis.variation.turn(position) - level

        return crossing(
            off,
            (low.number, low.turns[position] - level),
            (high.number, high.turns[position] - level),
        )

    def settle_limits(self) -> None:
        """Move a limit that arithmetic puts just outside to the last number inside.

        Where a small difference of large numbers is compared, the limit itself may be
        off by more than the tolerance of the comparison.
        """
        looks = self.in_order()
        for before, limit, after in zip(looks, looks[1:], looks[2:], strict=False):
            for inside in (before, after):
                if limit.turn is not None and limit.broken & ~inside.broken:
                    self.settle(limit, inside)

    def settle(self, limit: Look, inside: Look) -> None:
        """Move a limit to the last number on one side, where that is next to it."""
        rules, outside = limit.broken & ~inside.broken, limit
        noise = NOISE * self.axis.size(limit.number)
        while abs(outside.number - limit.number) <= noise:
            between = self.axis.look(middle(inside.number, outside.number))
            if between.number in (inside.number, outside.number):
                self.found[inside.number] = inside._replace(turn=limit.turn)
                self.found[limit.number] = limit._replace(turn=None)
                return
            if between.broken & rules:
                outside = between
            else:
                inside = between

    def find_flips(self) -> None:
        """Close in on each change of outcome that no turn explains."""
        waiting = list(pairwise(self.in_order()))
        while waiting:
            low, high = waiting.pop()
            alike = low.broken == high.broken or 0 in (low.number, high.number)
            if not alike and not self.axis.is_beside(low, high):
                waiting.append((self.close_in(low, high), high))

    def close_in(self, low: Look, high: Look) -> Look:
        """Halve the way between two looks of different outcome to next to nothing.

        Gives the look behind the first change of outcome.
        """
        outcome = low.broken
        while True:
            between = self.axis.look(middle(low.number, high.number))
            if between.number in (low.number, high.number):
                break
            if between.broken == outcome:
                low = between
            else:
                high = between
        for look in (low, high):
            self.found.setdefault(look.number, look)
        return high


def _level(step: Step, first: float, last: float) -> float:
    """Give the value at which the next step begins on the way from one to another.

    It is NaN where there is no other step, and infinity where there are too many.
    """
    if not (math.isfinite(first) and math.isfinite(last)):
        return math.nan
    here, there = step.of(first), step.of(last)
    if here == there or here != here or there != there:
        return math.nan
    if abs(there - here) > MOST_STEPS:
        return math.inf
    return step.begins(here + 1 if there > here else here)
