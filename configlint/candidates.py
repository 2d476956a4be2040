"""Values that a setting might be given, written as a person would write them.

A number here is the one in front of the unit that the file uses, or would use: a
candidate is always judged as the text that would be entered.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import NamedTuple

from configlint.amounts import Measured, Number
from configlint.rules import Preferred
from configlint.scalars import Scalar
from configlint.units import Quantity, Unit, from_si

__all__ = [
    "LARGEST",
    "Domain",
    "amount_of",
    "close_figures",
    "distance",
    "domain_of",
    "figure_of",
    "nearest_figures",
    "plainest_figures",
    "preferred_figures",
    "shorter_figures",
    "written",
]

DIGITS = 15
"""Significant digits of a candidate, one fewer than a float holds for certain."""

CLOSE = 2e-4
"""How far a figure of four digits may be from what it stands for, relative to it."""

CLEAR = 1e-3
"""How far to keep clear of a limit that is itself not permissible, relative to it."""

LARGEST = 1e15
"""The largest number that a file may hold."""

ABSOLUTE_ZERO = 0.0
DECADES = 1
"""How many decades above and below a value's own preferred ones are looked for."""


class Domain(NamedTuple):
    """Which numbers a file may hold for a setting; `open` leaves the lowest out."""

    lowest: float
    highest: float
    open: bool

    def holds(self, number: float) -> bool:
        """Whether a number of the setting's unit lies inside."""
        above = number > self.lowest if self.open else number >= self.lowest
        return above and number <= self.highest


def domain_of(mark: Scalar | None, unit: Unit) -> Domain:
    """Give the numbers that a file may hold in a unit for values of a mark.

    >>> from configlint.units import unit_named
    >>> domain_of(Measured("volume", above_zero=True), unit_named("l"))
    Domain(lowest=0.0, highest=1000000000000000.0, open=True)
    """
    if isinstance(mark, Measured):
        if mark.above_zero or mark.not_negative:
            return Domain(0.0, LARGEST, mark.above_zero)
        if unit.kind == "temperature":
            return Domain(from_si(ABSOLUTE_ZERO, unit), LARGEST, open=False)
    if isinstance(mark, Number):
        highest = LARGEST if mark.most is None else mark.most
        if mark.above is not None:
            return Domain(mark.above, highest, open=True)
        if mark.least is not None:
            return Domain(mark.least, highest, open=False)
    return Domain(-LARGEST, LARGEST, open=False)


def figure_of(number: float) -> str:
    """Write a number of any unit with all the digits that can be trusted, and no more.

    >>> figure_of(0.1 + 0.2), figure_of(1e-7), figure_of(250.0)
    ('0.3', '0.0000001', '250')
    """
    return plain(Decimal(f"{number:.{DIGITS}g}"))


def plain(figure: Decimal) -> str:
    """Write a figure without exponent or closing zeros."""
    text = f"{figure:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def written(number: float, unit: Unit) -> Quantity:
    """Give the amount of a number, as the file would state it.

    >>> from configlint.units import unit_named
    >>> written(69.44444444444446, unit_named("l/s")).text
    '69.4444444444445 l/s'
    """
    return amount_of(f"{number:.{DIGITS}g}", unit)


def amount_of(figure: str, unit: Unit) -> Quantity:
    """Give the amount of a figure's text in a unit, as reading a file would.

    >>> from configlint.units import unit_named
    >>> amount_of("0.1850", unit_named("A")).text
    '0.1850 A'
    """
    offset = float(unit.offset)
    return Quantity(float(figure) * float(unit.factor) + offset, figure, unit)


def rounded(number: float, digits: int, rounding: str) -> Decimal:
    """Round a number to some significant digits, up, down or to the nearest."""
    exact = Decimal(f"{number:.{DIGITS}g}")
    place = Decimal(1).scaleb(exact.adjusted() - digits + 1)
    return exact.quantize(place, rounding)


def nearest_figures(end: float, rising: bool, included: bool = True) -> Iterator[str]:
    """Round an end of a window into it, to fewer and fewer digits, then to more.

    `rising` says that the window lies above the end, a dimensionless number in the
    setting's unit. Four digits come first, as a person would write them; clear of an
    end that is not included, two.

    >>> list(nearest_figures(706.858347057, rising=False))[:4]
    ['706.8', '706', '700', '700']
    >>> next(nearest_figures(3.2, rising=False, included=False))
    '3.1'
    """
    if not end:
        yield "0"
        return
    rounding = ROUND_CEILING if rising else ROUND_FLOOR
    clear = end if included else end + (CLEAR if rising else -CLEAR) * abs(end)
    for digits in (4, 3, 2, 1) if included else (2, 1, 3, 4):
        yield plain(rounded(clear, digits, rounding))
    for digits in (6, 9, 12, DIGITS):
        yield plain(rounded(end, digits, rounding))


def shorter_figures(number: float) -> Iterator[str]:
    """Round a number to the nearest figure of four digits, then of more and more.

    It is a dimensionless number in front of a unit.

    >>> next(shorter_figures(194.444444444444))
    '194.4'
    """
    for digits in (4, 5, 6, 9, 12, DIGITS):
        yield plain(rounded(number, digits, ROUND_HALF_EVEN))


def close_figures(number: float) -> Iterator[str]:
    """Give the figures that stand for a number to four digits, the shortest first.

    It is a dimensionless number in front of a unit.

    >>> list(close_figures(6.25))[0], list(close_figures(16.6666666667))[0]
    ('6.25', '16.67')
    """
    for digits in range(1, DIGITS + 1):
        figure = rounded(number, digits, ROUND_HALF_EVEN)
        if abs(float(figure) - number) <= CLOSE * abs(number):
            yield plain(figure)


def plainest_figures(low: float, high: float) -> Iterator[str]:
    """Give the figures of fewest digits inside a narrow window, the middle one first.

    Both ends are dimensionless numbers in the setting's unit.

    >>> next(plainest_figures(249.975, 250.025)), next(plainest_figures(6.231, 6.269))
    ('250', '6.25')
    """
    middle = (low + high) / 2
    for digits in range(1, DIGITS + 1):
        figure = rounded(middle, digits, ROUND_HALF_EVEN)
        if low <= float(figure) <= high:
            yield plain(figure)


def preferred_figures(preferred: Preferred, unit: Unit, near: float) -> Iterator[str]:
    """Give preferred figures in a unit, the nearest to a number of that unit first.

    Figures that every decade repeats are given over some decades on either side;
    zero is round in every unit, and comes last.

    >>> from configlint.units import unit_named
    >>> series = Preferred(figures=(Decimal(1), Decimal(2), Decimal(5)))
    >>> next(preferred_figures(series, unit_named("l"), 12.0))
    '10'
    """
    amounts = [
        figure_of(from_si(each.si, unit))
        for each in preferred.amounts
        if each.unit.dimension == unit.dimension
    ]
    yield from sorted(amounts, key=lambda text: distance(float(text), near))
    if preferred.figures:
        yield from _of_decades(preferred.figures, near or 1.0)
        yield "0"


def _of_decades(figures: tuple[Decimal, ...], near: float) -> Iterator[str]:
    sign = Decimal(math.copysign(1, near))
    middle = math.floor(math.log10(abs(near)))
    series = [
        sign * figure.scaleb(decade)
        for decade in range(middle - DECADES, middle + DECADES + 1)
        for figure in figures
    ]
    yield from map(plain, sorted(series, key=lambda each: distance(float(each), near)))


def distance(number: float, near: float) -> float:
    """How far a number is from another: by their ratio, where both have one sign.

    Both are dimensionless numbers in front of one unit; others lie further off.

    >>> distance(20.0, 10.0) == distance(5.0, 10.0) < distance(-1.0, 1.0)
    True
    """
    if number * near > 0:
        return abs(math.log(number / near))
    return abs(number - near) + math.log(LARGEST)
