"""Laws of turns: no number of the rule language makes a step that is not known."""

from __future__ import annotations

import math

import pytest

from configlint.operators import OPERATORS, Operator
from configlint.turns import ARITHMETIC, SMOOTH

NEARLY_WHOLE = [(1 + 1e-9, 1 - 1e-9), (3 + 1e-9, 3 - 1e-9), (10 + 1e-8, 10 - 1e-8)]
NEARLY_HALF = [(2.5 + 1e-9, 2.5 - 1e-9)]

OF_NUMBERS = [
    operator
    for operator in OPERATORS.values()
    if not (operator.of_names or operator.as_written)
]


def given(operator: Operator, number: float) -> object:
    """Give what an operator makes of a number, beside twos for its other operands."""
    try:
        return operator.evaluate(number, *[2.0] * (operator.fewest - 1))
    except (AttributeError, TypeError):
        return None  # It takes texts or truths.


@pytest.mark.parametrize("operator", OF_NUMBERS, ids=lambda each: each.symbol)
def test_what_gives_a_number_is_arithmetic(operator: Operator) -> None:
    """An operator of numbers that gives one is known as such, or bounds no window."""
    result = given(operator, 3.5)
    is_number = isinstance(result, float) and operator.symbol != "if"
    assert is_number == (operator.symbol in ARITHMETIC)


@pytest.mark.parametrize(
    "operator",
    [each for each in OF_NUMBERS if each.symbol in SMOOTH],
    ids=lambda each: each.symbol,
)
@pytest.mark.parametrize(("above", "below"), NEARLY_WHOLE + NEARLY_HALF)
def test_what_is_smooth_makes_no_step(
    operator: Operator, above: float, below: float
) -> None:
    """What is declared to have no turn of its own goes on alike at every number."""
    left, right = given(operator, below), given(operator, above)
    assert isinstance(left, float)
    assert isinstance(right, float)
    assert math.isclose(left, right, rel_tol=1e-6, abs_tol=1e-6)
