"""Laws of dimensions: they calculate like amounts, and are written as SI units."""

from __future__ import annotations

from fractions import Fraction

import pytest

from configlint.dimensions import NONE, Dimension, write_dimension


def dimension(*exponents: int | Fraction) -> Dimension:
    """Make a dimension of exponents over m, kg, s, A and K."""
    return Dimension(tuple(Fraction(each) for each in exponents))


VOLT = dimension(2, 1, -3, -1, 0)
AMPERE = dimension(0, 0, 0, 1, 0)
OHM = dimension(2, 1, -3, -2, 0)


def test_dimensions_calculate_like_amounts() -> None:
    """A product adds exponents, a quotient subtracts them, a power multiplies them."""
    assert VOLT / AMPERE == OHM
    assert OHM * AMPERE == VOLT
    assert VOLT / VOLT == NONE
    assert VOLT**2 == VOLT * VOLT
    assert VOLT**0 == NONE
    assert (VOLT**2) ** Fraction(1, 2) == VOLT
    assert len({VOLT, OHM * AMPERE, OHM}) == 2


@pytest.mark.parametrize(
    ("exponents", "written"),
    [
        ((0, 0, 0, 0, 0), "1"),
        ((1, 0, 0, 0, 0), "m"),
        ((3, 0, -1, 0, 0), "m3/s"),
        ((0, 0, -2, 0, 0), "1/s2"),
        ((2, 1, -3, -2, 0), "m2.kg/(s3.A2)"),
        ((0, 0, 0, 0, Fraction(1, 2)), "K^(1/2)"),
        ((Fraction(-3, 2), 0, 0, 0, 1), "K/m^(3/2)"),
    ],
)
def test_a_dimension_is_written_as_its_si_unit(
    exponents: tuple[int | Fraction, ...], written: str
) -> None:
    """A dimension is written as a product of SI base units over another."""
    assert write_dimension(dimension(*exponents)) == written
