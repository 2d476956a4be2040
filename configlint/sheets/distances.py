"""Two amounts of a sheet held against each other: in numbers, and how far apart.

A distance is told from a limit: by an amount where the limit is zero, negative or a
temperature, whose number depends on where its scale begins; else by a share of it, or
as so many times it, whichever people read more easily.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Mapping

from configlint.printed import FEWEST_FIGURES, print_number, print_unit
from configlint.sheets.shown import Amount
from configlint.units import from_si
from configlint.worked import MOST_FIGURES

__all__ = ["distance", "in_relation"]

SAME = 1e-9
"""Amounts this close to each other are one: the tolerance of a comparison."""
TWICE, THOUSAND = 2.0, 1e3
"""From the first on so many times the limit is told; from the second, no more."""
LEAST_SHARE, LEAST_TOLD = 0.01, 0.001
"""Below the first share the rest is told, not the way; below the second, neither."""


def in_relation(left: Amount, sign: str, right: Amount) -> tuple[str, str]:
    """Print two amounts with so many figures that the sign between them is right.

    >>> from configlint.units import unit_named
    >>> metres = unit_named("m")
    >>> in_relation(Amount(10.004, metres, 3), ">", Amount(10, metres, None, "10 m"))
    ('10.004 m', '10 m')
    """
    for figures in range(FEWEST_FIGURES, MOST_FIGURES + 1):
        first, second = (each.figure(figures, False) for each in (left, right))
        if RELATIONS[sign](first.si, second.si):
            break
    return first.text, second.text


def _is_same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=SAME)


def _unlike(holds: Callable[[float, float], bool]) -> Callable[[float, float], bool]:
    return lambda left, right: holds(left, right) and not _is_same(left, right)


def _or_same(holds: Callable[[float, float], bool]) -> Callable[[float, float], bool]:
    return lambda left, right: holds(left, right) or _is_same(left, right)


RELATIONS: Mapping[str, Callable[[float, float], bool]] = {
    "=": lambda _left, _right: True,
    "≠": _unlike(operator.ne),
    "<": _unlike(operator.lt),
    ">": _unlike(operator.gt),
    "≤": _or_same(operator.lt),
    "≥": _or_same(operator.gt),
}
"""When a printed sign is right for what is printed on both sides of it."""


def distance(held: Amount, limit: Amount) -> str:
    """Say how far an amount is from its limit, "" for nothing that is below it.

    >>> from configlint.units import DIMENSIONLESS, unit_named
    >>> celsius, plain = unit_named("degC"), DIMENSIONLESS
    >>> distance(Amount(295.15, celsius, 2), Amount(355.35, celsius, 3))
    '60.2 °C below the limit'
    >>> distance(Amount(0.9, plain, 2), Amount(1.0, plain, None))
    '10.0 % below the limit'
    >>> distance(Amount(12.5, plain, 3), Amount(1.0, plain, None))
    '12.5 times the limit'
    """
    if _is_same(held.si, limit.si):
        return "at the limit"
    way = "above the limit" if held.si > limit.si else "below the limit"
    if limit.unit.offset or limit.si <= 0 or held.si < 0:
        return f"{_difference(held, limit)} {way}"
    share = held.si / limit.si
    if share >= THOUSAND:
        return "more than a thousand times the limit"
    if share >= TWICE:
        return f"{print_number(share, FEWEST_FIGURES)} times the limit"
    if share >= LEAST_SHARE:
        percent = print_number(100 * abs(share - 1), FEWEST_FIGURES)
        return f"{percent} % {way}"
    if share >= LEAST_TOLD:
        return f"{print_number(100 * share, FEWEST_FIGURES)} % of the limit"
    return "less than a thousandth of the limit" if share else ""


def _difference(one: Amount, other: Amount) -> str:
    """Print how far two amounts are apart, in the unit of the first.

    On a scale with a zero of its own, a difference has a degree's size and no zero.
    """
    apart = abs(from_si(one.si, one.unit) - from_si(other.si, one.unit))
    said = print_number(apart, FEWEST_FIGURES)
    return f"{said} {print_unit(one.unit.spelling)}".rstrip()
