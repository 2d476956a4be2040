"""Laws of the operators' kinds: which operands go together, and what comes of them."""

from __future__ import annotations

from fractions import Fraction

import pytest

from configlint.kinds import Kind, Sort
from configlint.operator_kinds import KindError, power_kind
from configlint.operators import OPERATORS
from configlint.units import NONE
from tests.builders import LENGTH, TIME, VELOCITY

AREA = LENGTH**2


@pytest.mark.parametrize(
    ("symbol", "kinds", "result"),
    [
        ("+", (LENGTH, LENGTH), LENGTH),
        ("-", (LENGTH, LENGTH), LENGTH),
        ("-", (Sort.DAY, Sort.DAY), TIME),
        ("*", (LENGTH, LENGTH), AREA),
        ("/", (LENGTH, TIME), VELOCITY),
        ("negative", (LENGTH,), LENGTH),
        ("abs", (LENGTH,), LENGTH),
        ("min", (LENGTH, LENGTH, LENGTH), LENGTH),
        ("sqrt", (AREA,), LENGTH),
        ("log10", (NONE,), NONE),
        ("==", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("==", (Sort.TRUTH, Sort.TRUTH), Sort.TRUTH),
        ("<", (Sort.DAY, Sort.DAY), Sort.TRUTH),
        ("<=", (LENGTH, LENGTH), Sort.TRUTH),
        ("in", (Sort.TEXT, Sort.TEXTS), Sort.TRUTH),
        ("and", (Sort.TRUTH, Sort.TRUTH, Sort.TRUTH), Sort.TRUTH),
        ("if", (Sort.TRUTH, Sort.TEXT, Sort.TEXT), Sort.TEXT),
        ("given", (Sort.PATHS,), Sort.TRUTH),
        ("used", (Sort.SECTION,), Sort.TRUTH),
        ("count", (Sort.PATHS,), NONE),
        ("agrees", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("agrees", (LENGTH, LENGTH), Sort.TRUTH),
        ("matches", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("figure", (LENGTH,), NONE),
        ("unit_of", (LENGTH,), Sort.TEXT),
        ("same_unit", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("decimal_units", (Sort.TEXT, Sort.TEXT), Sort.TRUTH),
        ("time_base", (Sort.TEXT,), Sort.TEXT),
        ("slip_between", (LENGTH, LENGTH), Sort.TEXT),
        ("slip_between", (Sort.TEXT, Sort.TEXT), Sort.TEXT),
    ],
)
def test_kinds_that_go_together_give_a_kind(
    symbol: str, kinds: tuple[Kind, ...], result: Kind
) -> None:
    """Every operator says of what kind its result is."""
    assert OPERATORS[symbol].kind(kinds) == result


@pytest.mark.parametrize(
    ("symbol", "kinds", "problem"),
    [
        ("+", (LENGTH, TIME), "a length and a time do not go together"),
        ("+", (Sort.DAY, Sort.DAY), "this takes amounts, not a date"),
        ("-", (Sort.DAY, TIME), "this takes amounts, not a date"),
        ("*", (LENGTH, Sort.TEXT), "this takes amounts, not a text"),
        ("/", (Sort.TRUTH, LENGTH), "this takes amounts, not true or false"),
        ("log10", (LENGTH,), "this takes a plain number, not a length"),
        ("<", (Sort.TEXT, Sort.TEXT), "this takes amounts, not a text"),
        ("<", (VELOCITY, LENGTH), "a velocity and a length do not go together"),
        ("==", (Sort.SECTION, Sort.SECTION), "a section can't be compared"),
        ("==", (Sort.TEXT, LENGTH), "a text and a length do not go together"),
        ("in", (LENGTH, Sort.TEXTS), "this takes a text, not a length"),
        ("and", (Sort.TRUTH, LENGTH), "this takes true or false, not a length"),
        ("not", (Sort.TEXT,), "this takes true or false, not a text"),
        ("if", (LENGTH, LENGTH, LENGTH), "this takes true or false, not a length"),
        ("if", (Sort.TRUTH, LENGTH, TIME), "a length and a time do not go together"),
        ("used", (Sort.TRUTH,), "this takes a section, not true or false"),
        ("agrees", (Sort.DAY, Sort.DAY), "this takes amounts, not a date"),
        ("agrees", (LENGTH, Sort.TEXT), "a length and a text do not go together"),
        ("figure", (Sort.TEXT,), "this takes amounts, not a text"),
        ("unit_of", (Sort.DAY,), "this takes amounts, not a date"),
        ("same_unit", (LENGTH, Sort.TEXT), "this takes a text, not a length"),
        ("decimal_units", (Sort.TEXT, LENGTH), "this takes a text, not a length"),
        ("time_base", (LENGTH,), "this takes a text, not a length"),
        ("slip_between", (Sort.DAY, Sort.DAY), "this takes amounts, not a date"),
        ("slip_between", (LENGTH, TIME), "a length and a time do not go together"),
    ],
)
def test_kinds_that_do_not_go_together_are_refused(
    symbol: str, kinds: tuple[Kind, ...], problem: str
) -> None:
    """Operands of wrong kinds are refused with what was given, and with advice."""
    with pytest.raises(KindError) as caught:
        OPERATORS[symbol].kind(kinds)
    assert caught.value.problem == problem
    assert caught.value.advice.endswith(".")


def test_a_power_has_the_power_of_the_kind() -> None:
    """The exponents of a power are those of its base times the exponent."""
    assert power_kind(AREA, Fraction(1, 2)) == LENGTH
    assert power_kind(LENGTH, Fraction(-1)) == NONE / LENGTH
    with pytest.raises(KindError, match="this takes amounts"):
        power_kind(Sort.TEXT, Fraction(2))
