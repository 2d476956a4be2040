"""The dimension of an amount: exponents over five base quantities.

The base quantities are those a flow meter's settings need: length, mass, time,
electric current and temperature, with the SI base units m, kg, s, A and K.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

__all__ = ["NONE", "Dimension", "write_dimension"]

_BASE_UNITS = ("m", "kg", "s", "A", "K")


@dataclass(frozen=True, slots=True)
class Dimension:
    """The exponents over length, mass, time, current and temperature.

    >>> length = Dimension((Fraction(1), *NONE.exponents[1:]))
    >>> length**2 / length == length
    True
    """

    exponents: tuple[Fraction, ...]

    def __mul__(self, other: Dimension) -> Dimension:
        """The dimension of a product."""
        pairs = zip(self.exponents, other.exponents, strict=True)
        return Dimension(tuple(mine + theirs for mine, theirs in pairs))

    def __truediv__(self, other: Dimension) -> Dimension:
        """The dimension of a quotient."""
        return self * other**-1

    def __pow__(self, power: int | Fraction) -> Dimension:
        """The dimension of a power, whole or fractional."""
        return Dimension(tuple(each * power for each in self.exponents))


NONE = Dimension((Fraction(0),) * len(_BASE_UNITS))
"""The dimension of a bare number and of a ratio."""


def write_dimension(dimension: Dimension) -> str:
    """Write a dimension as its SI unit, such as "m2/s3".

    >>> write_dimension(NONE)
    '1'
    """
    powers = tuple(zip(_BASE_UNITS, dimension.exponents, strict=True))
    above = [_power(base, each) for base, each in powers if each > 0]
    below = [_power(base, -each) for base, each in powers if each < 0]
    divisor = f"({'.'.join(below)})" if len(below) > 1 else "".join(below)
    return (".".join(above) or "1") + (f"/{divisor}" if below else "")


def _power(base: str, exponent: Fraction) -> str:
    if exponent.denominator != 1:
        return f"{base}^({exponent})"
    return base if exponent == 1 else f"{base}{exponent}"
