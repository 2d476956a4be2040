"""Laws of where a function of one number changes its sign."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from configlint.roots import crossing, middle

NUMBERS = st.floats(1e-6, 1e6)


@given(NUMBERS, st.floats(1.0001, 1e3), st.floats(0.001, 0.999), st.floats(-3, 3))
def test_the_root_of_a_power_is_found(
    low: float, ratio: float, share: float, power: float
) -> None:
    """A power that passes a level is followed to where it does, exactly."""
    if abs(power) < 0.01:
        power = 1.0
    root = low * ratio**share
    level = root**power

    def off(number: float) -> float:
        return float(number**power - level)

    high = low * ratio
    if off(low) * off(high) < 0:
        found = crossing(off, (low, off(low)), (high, off(high)))
        assert found == pytest.approx(root, rel=1e-9 / abs(power))


@given(NUMBERS, st.floats(0.001, 0.999))
def test_a_jump_is_found_where_it_is(low: float, share: float) -> None:
    """A function that jumps over zero is followed to the jump."""
    jump = low * (1 + share)
    found = crossing(
        lambda number: -1.0 if number < jump else 1e9, (low, -1.0), (2 * low, 1e9)
    )
    assert found == pytest.approx(jump, rel=1e-11)


def test_a_value_without_end_is_halved() -> None:
    """Where a function is infinite at an end, no secant is drawn from there."""
    found = crossing(lambda x: math.log(x - 1), (1.5, math.log(0.5)), (4.0, math.inf))
    assert found == pytest.approx(2.0)


@given(NUMBERS, NUMBERS)
def test_the_middle_lies_between(first: float, second: float) -> None:
    """Halving the way leads to a number between two others, of either sign."""
    low, high = sorted((first, second))
    assert low <= middle(low, high) <= high
    assert -high <= middle(-high, -low) <= -low
    assert -low <= middle(-low, high) <= high
