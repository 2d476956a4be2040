"""Every operator and function of the rule language, in one table.

Each has one small function that computes it and one that says which kinds it
takes and gives. All of them are total: an amount that is missing or can't be
computed is NaN, any other missing value is None, and both travel through a
formula to the outcome. Truth is three-valued after Kleene: None is undecided,
and `and`, `or` and `not` decide only what the known parts settle.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from configlint import units
from configlint.diagnosis import digit_slip
from configlint.kinds import UNREADABLE, Kind, Sort
from configlint.operator_kinds import (
    kind_of_agreement,
    kind_of_choice,
    kind_of_difference,
    kind_of_equality,
    kind_of_figure,
    kind_of_number,
    kind_of_one_amount,
    kind_of_order,
    kind_of_product,
    kind_of_question,
    kind_of_quotient,
    kind_of_root,
    kind_of_slip,
    kind_of_sum,
    kind_of_truths,
    kind_of_unit,
    takes,
)
from configlint.units import NONE, Quantity

__all__ = [
    "OPERATORS",
    "Operator",
    "is_missing",
]

NAN = math.nan
FLOWS = ("volume flow", "mass flow", "velocity")
LAST_LETTERS = {"s": "s", "m": "min", "h": "h", "d": "d", "D": "d"}


def is_missing(value: Any) -> bool:
    """Whether a value is missing: None, or NaN where an amount is expected.

    >>> is_missing(None), is_missing(float("nan")), is_missing(0.0)
    (True, True, False)
    """
    return value is None or value != value


# --- what each operator computes ------------------------------------------


def divide(dividend: float, divisor: float) -> float:
    """Divide; a division by zero gives no amount."""
    return dividend / divisor if divisor else NAN


def power(base: float, exponent: float) -> float:
    """Raise to a power; NaN where the result is no real, finite amount."""
    try:
        result = base**exponent
    except (OverflowError, ZeroDivisionError):
        return NAN
    return NAN if isinstance(result, complex) else result


def negate(value: float) -> float:
    """Change the sign."""
    return -value


def same(left: Any, right: Any) -> bool | None:
    """Equality: of amounts within the tolerance, of anything else exactly."""
    if left == right:
        return None if left is None else True
    if is_missing(left) or is_missing(right):
        return None
    return isinstance(left, float) and units.equal(left, right)


def different(left: Any, right: Any) -> bool | None:
    """The opposite of `same`."""
    return deny(same(left, right))


def at_most(left: float, right: float) -> bool | None:
    """Whether left <= right; amounts within the tolerance count as equal."""
    if left <= right:
        return True
    return units.at_most(left, right) if left > right else None


def below(left: float, right: float) -> bool | None:
    """Whether left < right; amounts within the tolerance are not below."""
    if left >= right:
        return False
    return units.below(left, right) if left < right else None


def at_least(left: float, right: float) -> bool | None:
    """Whether left >= right, with the tolerance of `at_most`."""
    return at_most(right, left)


def above(left: float, right: float) -> bool | None:
    """Whether left > right, with the tolerance of `below`."""
    return below(right, left)


def within(text: str | None, texts: Sequence[str] | None) -> bool | None:
    """Whether a text is one of a list."""
    return None if is_missing(text) or texts is None else text in texts


def outside(text: str | None, texts: Sequence[str] | None) -> bool | None:
    """The opposite of `within`."""
    return deny(within(text, texts))


def deny(truth: bool | None) -> bool | None:
    """Not; what is undecided stays undecided."""
    return None if truth is None else not truth


def every(*parts: bool | None) -> bool | None:
    """Kleene's and: false once a part is false, else undecided once one is."""
    if False in parts:
        return False
    return None if None in parts else True


def some(*parts: bool | None) -> bool | None:
    """Kleene's or: true once a part is true, else undecided once one is."""
    if True in parts:
        return True
    return None if None in parts else False


def choose(condition: bool | None, chosen: Any, other: Any) -> Any:
    """Take one of two by a condition; an undecided condition gives neither."""
    if condition is None:
        return NAN if isinstance(chosen, float) else None
    return chosen if condition else other


def least(*values: float) -> float:
    """Take the smallest of several amounts, none where one is missing."""
    return NAN if any(map(is_missing, values)) else min(values)


def greatest(*values: float) -> float:
    """Take the largest of several amounts, none where one is missing."""
    return NAN if any(map(is_missing, values)) else max(values)


def square_root(value: float) -> float:
    """Take the square root; a negative amount has none."""
    return math.sqrt(value) if value >= 0 else NAN


def decade(value: float) -> float:
    """Take the logarithm to base 10; only amounts above zero have one."""
    return math.log10(value) if value > 0 else NAN


def ten_to(exponent: float) -> float:
    """Ten to a power, for the capacity of a register with so many digits."""
    return power(10.0, exponent)


def significand(value: float) -> float:
    """Give the figures of a number as one from 1 up to 10; zero has none."""
    if not value or not math.isfinite(value):
        return NAN
    return float(f"{value:.15e}".partition("e")[0])


def whole_below(value: float) -> float:
    """Round down to a whole number."""
    return float(math.floor(value)) if math.isfinite(value) else NAN


def whole_nearest(value: float) -> float:
    """Round to the nearest whole number; halves to the even one."""
    return float(round(value)) if math.isfinite(value) else NAN


def given(value: Any) -> bool | None:
    """Whether a value is there: undecided where it is written but unreadable."""
    return None if value is UNREADABLE else not is_missing(value)


def used(section: bool | None) -> bool | None:
    """Whether a section is in use: undecided where the file does not say."""
    return section


def count(places: Sequence[str]) -> float:
    """How many places a list names."""
    return float(len(places))


def agree(left: Quantity | str | None, right: Quantity | str | None) -> bool | None:
    """Whether two written figures are the same to the digits written."""
    if left is None or right is None:
        return None
    if isinstance(left, Quantity) and isinstance(right, Quantity):
        return units.agrees(left, right)
    return left == right


def figure(amount: Quantity | None) -> float:
    """Give the number of an amount as it is written, without its unit."""
    return NAN if amount is None else float(amount.number)


def unit_of(amount: Quantity | None) -> str | None:
    """Give the unit of an amount as it is written; "" for a bare number."""
    return None if amount is None else amount.unit.spelling


def same_unit(left: str | None, right: str | None) -> bool | None:
    """Whether two spellings mean one unit; an unknown spelling is none."""
    if is_missing(left) or is_missing(right):
        return None
    first, second = _unit(left), _unit(right)
    if first is None or second is None:
        return False
    return (first.kind, first.factor) == (second.kind, second.factor)


def decimal_units(left: str | None, right: str | None) -> bool | None:
    """Whether one unit is the other with its decimal point moved, as l is m3."""
    if is_missing(left) or is_missing(right):
        return None
    first, second = _unit(left), _unit(right)
    if first is None or second is None or first.kind != second.kind:
        return False
    return units.decades_apart(first.factor, second.factor)


def time_base(spelling: str | None) -> str | None:
    """Give the time that a unit of flow or velocity is per; else nothing.

    A spelling without a stroke tells it by its last letter, as gpm and MGD do.
    """
    unit = _unit(spelling)
    if unit is None or unit.kind not in FLOWS:
        return None
    _, stroke, time = unit.spelling.rpartition("/")
    return time if stroke else LAST_LETTERS[unit.spelling[-1]]


def _unit(spelling: str | None) -> units.Unit | None:
    return units.spellings().get(spelling or "")


def slip_between(
    stamped: Quantity | str | None, entered: Quantity | str | None
) -> str | None:
    """Name the slip of the hand between two written figures; "" for none."""
    if stamped is None or entered is None:
        return None
    return digit_slip(_digits_of(stamped), _digits_of(entered))


def _digits_of(written: Quantity | str) -> str:
    return written.number if isinstance(written, Quantity) else written


def matches(text: str | None, pattern: str) -> bool | None:
    """Whether the whole text fits a regular expression."""
    if text is None or is_missing(text):
        return None
    return re.fullmatch(pattern, text) is not None


@dataclass(frozen=True, slots=True)
class Operator:
    """One entry of the language.

    `fewest` and `most` bound the number of operands. A function `of_names`
    takes the names of values instead of what a formula computes, and one
    `as_written` takes those values as the file writes them.
    """

    symbol: str
    evaluate: Callable[..., Any]
    kind: Callable[[Sequence[Kind]], Kind]
    fewest: int = 2
    most: int = 2
    of_names: bool = False
    as_written: bool = False


def _table(*operators: Operator) -> Mapping[str, Operator]:
    return {operator.symbol: operator for operator in operators}


OPERATORS: Mapping[str, Operator] = _table(
    Operator("+", float.__add__, kind_of_sum),
    Operator("-", float.__sub__, kind_of_difference),
    Operator("*", float.__mul__, kind_of_product),
    Operator("/", divide, kind_of_quotient),
    Operator("**", power, kind_of_product),
    Operator("negative", negate, kind_of_one_amount, 1, 1),
    Operator("==", same, kind_of_equality),
    Operator("!=", different, kind_of_equality),
    Operator("<", below, kind_of_order),
    Operator("<=", at_most, kind_of_order),
    Operator(">", above, kind_of_order),
    Operator(">=", at_least, kind_of_order),
    Operator("in", within, takes(Sort.TEXT, Sort.TEXTS, gives=Sort.TRUTH)),
    Operator("not in", outside, takes(Sort.TEXT, Sort.TEXTS, gives=Sort.TRUTH)),
    Operator("not", deny, kind_of_truths, 1, 1),
    Operator("and", every, kind_of_truths, 2, 50),
    Operator("or", some, kind_of_truths, 2, 50),
    Operator("if", choose, kind_of_choice, 3, 3),
    Operator("abs", abs, kind_of_one_amount, 1, 1),
    Operator("min", least, kind_of_one_amount, 2, 20),
    Operator("max", greatest, kind_of_one_amount, 2, 20),
    Operator("sqrt", square_root, kind_of_root, 1, 1),
    Operator("log10", decade, kind_of_number, 1, 1),
    Operator("ten_to", ten_to, kind_of_number, 1, 1),
    Operator("significand", significand, kind_of_number, 1, 1),
    Operator("floor", whole_below, kind_of_number, 1, 1),
    Operator("round", whole_nearest, kind_of_number, 1, 1),
    Operator("given", given, kind_of_question, 1, 1, of_names=True),
    Operator("used", used, takes(Sort.SECTION, gives=Sort.TRUTH), 1, 1, of_names=True),
    Operator("count", count, takes(Sort.PATHS, gives=NONE), 1, 1, of_names=True),
    Operator("agrees", agree, kind_of_agreement, of_names=True, as_written=True),
    Operator("figure", figure, kind_of_figure, 1, 1, True, True),
    Operator("unit_of", unit_of, kind_of_unit, 1, 1, True, True),
    Operator("same_unit", same_unit, takes(Sort.TEXT, Sort.TEXT, gives=Sort.TRUTH)),
    Operator(
        "decimal_units", decimal_units, takes(Sort.TEXT, Sort.TEXT, gives=Sort.TRUTH)
    ),
    Operator("time_base", time_base, takes(Sort.TEXT, gives=Sort.TEXT), 1, 1),
    Operator(
        "slip_between", slip_between, kind_of_slip, of_names=True, as_written=True
    ),
    Operator("matches", matches, takes(Sort.TEXT, Sort.TEXT, gives=Sort.TRUTH)),
)
