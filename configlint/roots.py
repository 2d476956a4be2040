"""Where a function of one number changes its sign."""

from __future__ import annotations

import math
from collections.abc import Callable

__all__ = ["crossing", "middle"]

FINEST = 1e-13
"""How near to each other, relative to them, two numbers in a row end a search."""

MOST_SECANTS = 20


def middle(low: float, high: float) -> float:
    """Halve the way by the ratio where two numbers of one unit lie far apart.

    >>> middle(1.0, 1.5), middle(1.0, 10000.0), middle(-1.0, 10.0)
    (1.25, 100.0, 4.5)
    """
    if low * high > 0 and not 0.5 < low / high < 2:
        return math.copysign(math.sqrt(low * high), low)
    return low + (high - low) / 2


def crossing(
    off: Callable[[float], float],
    low: tuple[float, float],
    high: tuple[float, float],
) -> float:
    """Find where a function changes its sign, by the Illinois form of false position.

    `low` and `high` are numbers of any unit with the function's value there, of
    opposite sign. Where the function jumps over zero, the jump is found, by halving in
    the end.

    >>> crossing(lambda x: x * x - 2, (1.0, -1.0), (2.0, 2.0))
    1.414213562373095
    """
    (a, at_a), (b, at_b) = low, high
    number, side, trial = a, 0, 0
    while True:
        before, trial = number, trial + 1
        number = b - at_b * (b - a) / (at_b - at_a)
        if trial > MOST_SECANTS or not a < number < b:
            number = middle(a, b)
        value = off(number)
        if not value or abs(number - before) <= FINEST * abs(number):
            return number
        if (value < 0) is (at_a < 0):
            a, at_a, at_b = number, value, at_b / 2 if side < 0 else at_b
            side = -1
        else:
            b, at_b, at_a = number, value, at_a / 2 if side > 0 else at_a
            side = 1
