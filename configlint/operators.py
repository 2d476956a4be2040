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
from fractions import Fraction
from typing import Any

from configlint import units
from configlint.errors import ConfiglintError
from configlint.kinds import Kind, Sort, kind_name
from configlint.units import NONE, Dimension, Quantity, dimension_named

__all__ = [
    "OPERATORS",
    "KindError",
    "Operator",
    "is_missing",
    "power_kind",
]

NAN = math.nan
DAYS_APART = dimension_named("time")


class KindError(ConfiglintError):
    """Operands of kinds that do not go together."""

    def __init__(self, problem: str, advice: str) -> None:
        super().__init__(problem, advice)
        self.problem = problem
        self.advice = advice


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
    return None if text is None or texts is None else text in texts


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


def whole_below(value: float) -> float:
    """Round down to a whole number."""
    return float(math.floor(value)) if math.isfinite(value) else NAN


def whole_nearest(value: float) -> float:
    """Round to the nearest whole number; halves to the even one."""
    return float(round(value)) if math.isfinite(value) else NAN


def given(value: Any) -> bool:
    """Whether a value is there; never undecided."""
    return not is_missing(value)


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


def matches(text: str | None, pattern: str) -> bool | None:
    """Whether the whole text fits a regular expression."""
    return None if text is None else re.fullmatch(pattern, text) is not None


# --- which kinds each takes and gives -------------------------------------


def _amounts(kinds: Sequence[Kind]) -> list[Dimension]:
    for kind in kinds:
        if not isinstance(kind, Dimension):
            raise KindError(
                f"this takes amounts, not {kind_name(kind)}",
                "Use a value that has a number and a unit.",
            )
    return [kind for kind in kinds if isinstance(kind, Dimension)]


def _alike(kinds: Sequence[Kind]) -> Kind:
    first, *others = kinds
    for other in others:
        if other != first:
            raise KindError(
                f"{kind_name(first)} and {kind_name(other)} do not go together",
                "Both sides must be of one kind.",
            )
    return first


def _one_amount(kinds: Sequence[Kind]) -> Kind:
    _amounts(kinds)
    return _alike(kinds)


def _sum(kinds: Sequence[Kind]) -> Kind:
    return _one_amount(kinds)


def _difference(kinds: Sequence[Kind]) -> Kind:
    if list(kinds) == [Sort.DAY, Sort.DAY]:
        return DAYS_APART
    return _one_amount(kinds)


def _product(kinds: Sequence[Kind]) -> Kind:
    left, right = _amounts(kinds)
    return left * right


def _quotient(kinds: Sequence[Kind]) -> Kind:
    left, right = _amounts(kinds)
    return left / right


def power_kind(base: Kind, exponent: Fraction) -> Kind:
    """Give the kind of `base ** exponent` for a constant exponent.

    Raises `KindError` when the base is no amount.

    >>> power_kind(dimension_named("area"), Fraction(1, 2)) == dimension_named("length")
    True
    """
    (dimension,) = _amounts([base])
    return dimension**exponent


def _root(kinds: Sequence[Kind]) -> Kind:
    return power_kind(kinds[0], Fraction(1, 2))


def _number(kinds: Sequence[Kind]) -> Kind:
    for kind in _amounts(kinds):
        if kind != NONE:
            raise KindError(
                f"this takes a plain number, not {kind_name(kind)}",
                "Divide by an amount of the same kind first.",
            )
    return NONE


def _ordered(kinds: Sequence[Kind]) -> Kind:
    if _alike(kinds) is not Sort.DAY:
        _amounts(kinds)
    return Sort.TRUTH


def _comparable(kinds: Sequence[Kind]) -> Kind:
    kind = _alike(kinds)
    if kind in (Sort.SECTION, Sort.PATHS, Sort.TEXTS):
        raise KindError(
            f"{kind_name(kind)} can't be compared",
            "Ask `used(…)` of a section, `count(…)` of a list.",
        )
    return Sort.TRUTH


def _takes(*expected: Kind, gives: Kind) -> Callable[[Sequence[Kind]], Kind]:
    def rule(kinds: Sequence[Kind]) -> Kind:
        for kind, wanted in zip(kinds, expected, strict=True):
            if kind != wanted:
                raise KindError(
                    f"this takes {kind_name(wanted)}, not {kind_name(kind)}",
                    "See the table of functions in the guide for rule authors.",
                )
        return gives

    return rule


def _truths(kinds: Sequence[Kind]) -> Kind:
    return _takes(*[Sort.TRUTH] * len(kinds), gives=Sort.TRUTH)(kinds)


def _choice(kinds: Sequence[Kind]) -> Kind:
    condition, chosen, other = kinds
    _truths([condition])
    return _alike([chosen, other])


def _anything(kinds: Sequence[Kind]) -> Kind:
    return Sort.TRUTH


def _figures(kinds: Sequence[Kind]) -> Kind:
    if _alike(kinds) is not Sort.TEXT:
        _amounts(kinds)
    return Sort.TRUTH


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
    Operator("+", float.__add__, _sum),
    Operator("-", float.__sub__, _difference),
    Operator("*", float.__mul__, _product),
    Operator("/", divide, _quotient),
    Operator("**", power, _product),
    Operator("negative", negate, _one_amount, 1, 1),
    Operator("==", same, _comparable),
    Operator("!=", different, _comparable),
    Operator("<", below, _ordered),
    Operator("<=", at_most, _ordered),
    Operator(">", above, _ordered),
    Operator(">=", at_least, _ordered),
    Operator("in", within, _takes(Sort.TEXT, Sort.TEXTS, gives=Sort.TRUTH)),
    Operator("not in", outside, _takes(Sort.TEXT, Sort.TEXTS, gives=Sort.TRUTH)),
    Operator("not", deny, _truths, 1, 1),
    Operator("and", every, _truths, 2, 50),
    Operator("or", some, _truths, 2, 50),
    Operator("if", choose, _choice, 3, 3),
    Operator("abs", abs, _one_amount, 1, 1),
    Operator("min", least, _one_amount, 2, 20),
    Operator("max", greatest, _one_amount, 2, 20),
    Operator("sqrt", square_root, _root, 1, 1),
    Operator("log10", decade, _number, 1, 1),
    Operator("ten_to", ten_to, _number, 1, 1),
    Operator("floor", whole_below, _number, 1, 1),
    Operator("round", whole_nearest, _number, 1, 1),
    Operator("given", given, _anything, 1, 1, of_names=True),
    Operator("used", used, _takes(Sort.SECTION, gives=Sort.TRUTH), 1, 1, of_names=True),
    Operator("count", count, _takes(Sort.PATHS, gives=NONE), 1, 1, of_names=True),
    Operator("agrees", agree, _figures, of_names=True, as_written=True),
    Operator("matches", matches, _takes(Sort.TEXT, Sort.TEXT, gives=Sort.TRUTH)),
)
