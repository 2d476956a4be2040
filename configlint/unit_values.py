"""A unit, and an amount that is written in one, as values."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from configlint.dimensions import NONE, Dimension

__all__ = ["DIMENSIONLESS", "Quantity", "Unit", "decades_apart"]


@dataclass(frozen=True, slots=True)
class Unit:
    """A spelling and its meaning: SI amount = number * `factor` + `offset`.

    `factor` is in SI base units; `offset`, in kelvin, is other than zero for
    degrees Celsius and Fahrenheit only. `kind` names the dimension. `system` is
    "SI", "US", "imperial" or "any". `open` is empty, or says why the spelling
    is ambiguous, beginning with the thing that is: "gallon …" or "barrel …".
    `shared` is true for a US unit that is an imperial one too, such as the inch.
    """

    spelling: str
    kind: str
    dimension: Dimension
    factor: Fraction
    offset: Fraction
    system: str
    open: str
    shared: bool = False

    @property
    def systems(self) -> frozenset[str]:
        """The systems it is part of; units mix well where these have one in common."""
        if self.system == "any":
            return frozenset({"SI", "US", "imperial"})
        return frozenset({self.system, "imperial"} if self.shared else {self.system})


DIMENSIONLESS = Unit("", "ratio", NONE, Fraction(1), Fraction(0), "any", "")
"""The unit of a bare number."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount as a file states it: SI value, number as written, and unit.

    `si` is in SI base units, at most two units in the last place off.

    >>> Quantity(0.155, "0.1550", DIMENSIONLESS).step
    Fraction(1, 10000)
    """

    si: float
    number: str
    unit: Unit

    @property
    def text(self) -> str:
        """The amount as written, such as "0.1550 A"."""
        return f"{self.number} {self.unit.spelling}".rstrip()

    @property
    def exact(self) -> Fraction:
        """The exact amount in SI base units."""
        return Fraction(self.number) * self.unit.factor + self.unit.offset

    @property
    def step(self) -> Fraction:
        """What one unit in the last digit written stands for, in SI base units."""
        mantissa, _, exponent = self.number.lower().partition("e")
        decimals = len(mantissa.partition(".")[2])
        return Fraction(10) ** (int(exponent or 0) - decimals) * self.unit.factor

    def __str__(self) -> str:
        """The amount as written."""
        return self.text


@lru_cache(maxsize=1024)
def decades_apart(first: Fraction, second: Fraction) -> bool:
    """Whether one amount above zero is the other with its decimal point moved.

    >>> decades_apart(Fraction(1, 1000), Fraction(1))
    True
    """
    ratio = first / second
    larger, smaller = sorted((ratio.numerator, ratio.denominator), reverse=True)
    return smaller == 1 and set(str(larger).rstrip("0")) == {"1"}
