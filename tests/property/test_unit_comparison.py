"""The law of comparison: amounts compare as their exact values do, in any two units.

A person writes decimal numbers. Of two of them in two units the exact fractions
say whether they are equal; plain floats say otherwise for a third of such pairs.
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

from hypothesis import assume, example, given
from hypothesis import strategies as st

from configlint.units import (
    TOLERANCE,
    Quantity,
    QuantityError,
    Unit,
    agrees,
    at_most,
    below,
    equal,
    from_si,
    nearest_spellings,
    parse_quantity,
    spellings,
)

UNITS = tuple(spellings().values())
KINDS = {
    kind: tuple(unit for unit in UNITS if unit.kind == kind)
    for kind in sorted({unit.kind for unit in UNITS})
}
PAIRS = st.sampled_from(sorted(KINDS)).flatmap(
    lambda kind: st.tuples(st.sampled_from(KINDS[kind]), st.sampled_from(KINDS[kind]))
)
NUMBERS = st.builds(
    lambda digits, places: plain(Decimal(digits).scaleb(-places)),
    st.integers(-999_999, 999_999),
    st.integers(0, 6),
)
# Relative differences well inside the tolerance, and well outside of it.
INSIDE = st.sampled_from([Fraction(part, 10**10) for part in (-4, -1, 0, 1, 4)])
OUTSIDE = st.sampled_from(
    [Fraction(part, 10**9) for part in (-5000, -30, -3, 3, 30, 5000)]
)


def plain(number: Decimal) -> str:
    """Write a number as a person does, without an exponent."""
    return f"{number:f}"


def decimal_text(value: Fraction, digits: int) -> str:
    """Write a fraction as a decimal number of so many significant digits."""
    if not value:
        return "0"
    places = digits - 1 - math.floor(math.log10(abs(value)))
    scaled = round(value * Fraction(10) ** places)
    return f"{Decimal(scaled).scaleb(-places):e}"


def read(number: str, unit: Unit) -> Quantity:
    """Read an amount, leaving aside what is beyond bounds or absolute zero."""
    try:
        return parse_quantity(f"{number} {unit.spelling}")
    except QuantityError as error:
        beyond = (
            "is below absolute zero.",
            "is outside the numbers that can be meant.",
        )
        assume(not error.problem.endswith(beyond))
        raise


def read_or_refuse(text: str) -> Quantity | QuantityError:
    """Read any text, and give its amount or the reason why it has none."""
    try:
        return parse_quantity(text)
    except QuantityError as error:
        return error


def exact_number(amount: Fraction, unit: Unit) -> Fraction:
    """Give the number that stands for an exact SI amount in a unit."""
    return (amount - unit.offset) / unit.factor


def apart(
    pair: tuple[Unit, Unit], number: str, difference: Fraction
) -> tuple[Quantity, Quantity]:
    """Read a number in a unit, and in another what differs from it by a share."""
    first = read(number, pair[0])
    target = exact_number(first.exact * (1 + difference), pair[1])
    return first, read(decimal_text(target, 17), pair[1])


@given(PAIRS, st.integers(1, 99_999), st.integers(-3, 3), st.sampled_from([1, -1]))
@example((spellings()["m3/h"], spellings()["l/s"]), 1, 0, 1)
def test_equal_amounts_compare_equal(
    pair: tuple[Unit, Unit], count: int, power: int, sign: int
) -> None:
    """Amounts that a person can write equal in two units compare equal."""
    ratio = pair[0].factor / pair[1].factor
    assume(pair[0].offset == pair[1].offset == 0)
    assume(max(ratio.as_integer_ratio()) < 10**9)
    scale = sign * count * Decimal(10) ** power
    first = read(plain(scale * ratio.denominator), pair[0])
    second = read(plain(scale * ratio.numerator), pair[1])
    assert first.exact == second.exact
    assert equal(first.si, second.si)
    assert at_most(first.si, second.si)
    assert at_most(second.si, first.si)
    assert not below(first.si, second.si)
    assert not below(second.si, first.si)
    assert agrees(first, second)


@given(PAIRS, NUMBERS, INSIDE)
def test_nearly_equal_amounts_compare_equal(
    pair: tuple[Unit, Unit], number: str, difference: Fraction
) -> None:
    """Amounts whose exact values differ by less than 5e-10 compare equal."""
    first, second = apart(pair, number, difference)
    larger = max(abs(first.exact), abs(second.exact))
    assume(abs(first.exact - second.exact) <= larger * Fraction(5, 10**10))
    assert equal(first.si, second.si)
    assert at_most(second.si, first.si)
    assert not below(first.si, second.si)


@given(PAIRS, NUMBERS, OUTSIDE)
def test_different_amounts_are_in_strict_order(
    pair: tuple[Unit, Unit], number: str, difference: Fraction
) -> None:
    """Amounts whose exact values differ by more than 2e-9 are in strict order."""
    first, second = apart(pair, number, difference)
    low, high = sorted((first, second), key=lambda each: each.exact)
    larger = max(abs(low.exact), abs(high.exact))
    assume(high.exact - low.exact > larger * Fraction(2, 10**9))
    assert not equal(low.si, high.si)
    assert below(low.si, high.si)
    assert at_most(low.si, high.si)
    assert not at_most(high.si, low.si)
    assert not below(high.si, low.si)


@given(st.sampled_from(UNITS), NUMBERS)
def test_the_si_value_is_the_exact_one(unit: Unit, number: str) -> None:
    """The SI value is within two units in the last place of the exact amount."""
    quantity = read(number, unit)
    gap = abs(Fraction(quantity.si) - quantity.exact)
    assert gap <= 2 * Fraction(math.ulp(float(quantity.exact)))


@given(PAIRS, NUMBERS)
def test_an_amount_comes_back_from_si(pair: tuple[Unit, Unit], number: str) -> None:
    """An amount turned into another unit of its kind and back is the same amount."""
    unit, other = pair
    amount = read(number, unit).si
    there = from_si(amount, other)
    back = there * float(other.factor) + float(other.offset)
    assert equal(back, amount) or abs(back - amount) <= 1e-12 * float(other.offset)


@given(st.sampled_from(UNITS), NUMBERS)
def test_an_amount_is_read_as_it_is_shown(unit: Unit, number: str) -> None:
    """The text of an amount is what was written, and reads as the same amount."""
    quantity = read(number, unit)
    assert quantity.text == f"{number} {unit.spelling}"
    assert parse_quantity(quantity.text) == quantity


@given(st.floats(allow_nan=False), st.floats(allow_nan=False))
def test_comparisons_fit_together(a: float, b: float) -> None:
    """Of any two numbers exactly one holds: below, equal, or the other is below."""
    assert [below(a, b), equal(a, b), below(b, a)].count(True) == 1
    assert at_most(a, b) is not below(b, a)
    assert equal(a, b) is equal(b, a)
    assert equal(a, b) is (abs(a - b) <= TOLERANCE * max(abs(a), abs(b)) or a == b) or (
        math.isinf(a) or math.isinf(b)
    )


@given(st.text(max_size=100))
def test_no_text_breaks_the_reader(text: str) -> None:
    """Any text is an amount, or is refused in words that name its fault."""
    result = read_or_refuse(text)
    if isinstance(result, QuantityError):
        assert result.kind in {"unit-known", "value-well-formed"}
        assert str(result).isprintable()
    else:
        assert result.text == text
        assert math.isfinite(result.si)


AMOUNT_LIKE = st.lists(
    st.sampled_from([*"0123456789.,_-+'’ eE\u00a0\u2212", *list(spellings())[:60]]),
    max_size=12,
).map("".join)


@given(AMOUNT_LIKE)
def test_what_is_read_is_what_python_reads(text: str) -> None:
    """A text that looks like an amount gets its exact decimal value, or advice."""
    result = read_or_refuse(text)
    if isinstance(result, QuantityError):
        assert result.advice.startswith("Write ") or "the sign" in result.advice
    else:
        number = Fraction(Decimal(text.partition(" ")[0]))
        assert result.exact == number * result.unit.factor + result.unit.offset


@given(st.text(max_size=60))
def test_every_offer_is_a_spelling(text: str) -> None:
    """Whatever is asked, only spellings that are understood are offered."""
    assert all(each in spellings() for each in nearest_spellings(text))
