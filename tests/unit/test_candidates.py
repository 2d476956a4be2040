"""Laws of the figures that a setting is offered: as a person would write them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from configlint.amounts import Count, Measured, Number
from configlint.candidates import (
    LARGEST,
    Domain,
    amount_of,
    close_figures,
    distance,
    domain_of,
    figure_of,
    nearest_figures,
    plainest_figures,
    preferred_figures,
    shorter_figures,
    written,
)
from configlint.rules import Preferred
from configlint.scalars import Scalar, Text
from configlint.units import parse_quantity, unit_named

LITRE, CELSIUS = unit_named("l"), unit_named("degC")
ONE_TWO_FIVE = Preferred(figures=(Decimal(1), Decimal(2), Decimal(5)))


@pytest.mark.parametrize(
    ("mark", "domain"),
    [
        (Measured("volume", above_zero=True), (0.0, LARGEST, True)),
        (Measured("volume", not_negative=True), (0.0, LARGEST, False)),
        (Measured("volume"), (-LARGEST, LARGEST, False)),
        (Number(above=0), (0, LARGEST, True)),
        (Number(least=0, most=8784), (0, 8784, False)),
        (Number(), (-LARGEST, LARGEST, False)),
        (Count(1, most=20), (1, 20, False)),
        (Text(), (-LARGEST, LARGEST, False)),
        (None, (-LARGEST, LARGEST, False)),
    ],
)
def test_the_domain_is_what_a_file_may_hold(
    mark: Scalar | None, domain: tuple[float, float, bool]
) -> None:
    """The numbers of a setting are bounded as reading a file bounds them."""
    assert domain_of(mark, LITRE) == domain


def test_no_temperature_is_below_absolute_zero() -> None:
    """The lowest number of degrees Celsius is that of absolute zero."""
    assert domain_of(Measured("temperature"), CELSIUS).lowest == -273.15


@pytest.mark.parametrize(
    ("number", "inside"), [(0.0, False), (1e-9, True), (5.0, True), (5.1, False)]
)
def test_an_open_domain_leaves_its_lowest_number_out(
    number: float, inside: bool
) -> None:
    """A number above zero is not zero, and the highest number is part of the domain."""
    assert Domain(0.0, 5.0, open=True).holds(number) is inside


def test_a_candidate_is_the_amount_of_its_text() -> None:
    """What is judged is what reading the text in a file would give."""
    for number in (250.0, 0.1 + 0.2, 1 / 3, 1e-7, 123456789.123):
        amount = written(number, LITRE)
        assert amount == parse_quantity(f"{amount.number} l")
        assert float(amount.number) == pytest.approx(number, rel=1e-14)


def test_degrees_have_their_offset() -> None:
    """A candidate in degrees Celsius is judged in kelvin."""
    assert amount_of("20", CELSIUS).si == pytest.approx(293.15)


def test_a_figure_has_no_exponent_and_no_noise() -> None:
    """A number is written with the digits that stand for it, and no closing zeros."""
    assert [figure_of(each) for each in (0.30000000000000004, 1e-7, 1e6, 0.0)] == [
        "0.3",
        "0.0000001",
        "1000000",
        "0",
    ]


def test_an_end_is_rounded_into_the_window() -> None:
    """An upper end is rounded down and a lower end up, whatever its sign."""
    down = [Decimal(each) for each in nearest_figures(706.858347, rising=False)]
    up = [Decimal(each) for each in nearest_figures(-706.858347, rising=True)]
    assert all(each <= Decimal("706.858347") for each in down)
    assert [-each for each in up] == down


def test_zero_is_its_own_figure() -> None:
    """Nothing is rounded at zero."""
    assert list(nearest_figures(0.0, rising=True)) == ["0"]


def test_a_limit_that_is_not_permissible_is_kept_clear_of() -> None:
    """Next to an end that is not included a figure of two digits comes first."""
    assert next(nearest_figures(21.0, rising=True, included=False)) == "22"
    assert next(nearest_figures(3.2, rising=False, included=False)) == "3.1"


def test_the_plainest_figure_of_a_narrow_window_is_near_its_middle() -> None:
    """Figures come with more and more digits, all of them inside."""
    figures = list(plainest_figures(69.4375, 69.4514))
    assert figures[0] == "69.44"
    assert all(69.4375 <= float(each) <= 69.4514 for each in figures)


def test_a_figure_stands_for_a_number_to_four_digits() -> None:
    """The shortest figure comes first, and none is farther off than two in 10 000."""
    figures = list(close_figures(16.6666666666667))
    assert figures[0] == "16.67"
    assert all(abs(float(each) / 16.6666666666667 - 1) <= 2e-4 for each in figures)


def test_a_number_is_shortened_step_by_step() -> None:
    """A converted number is offered in few digits first, and whole in the end."""
    figures = list(shorter_figures(194.444444444444))
    assert (figures[0], figures[-1]) == ("194.4", "194.444444444444")


def test_the_nearest_preferred_figure_comes_first() -> None:
    """Figures of a decade are repeated by the next, and sorted by their ratio."""
    figures = list(preferred_figures(ONE_TWO_FIVE, LITRE, 12.0))
    assert figures[:4] == ["10", "20", "5", "50"]
    assert figures[-1] == "0"
    assert min(float(each) for each in figures[:-1]) <= 1.2
    assert max(float(each) for each in figures) >= 120


def test_preferred_figures_have_the_sign_of_what_they_are_near() -> None:
    """Near a number below zero the figures are below zero too."""
    assert next(preferred_figures(ONE_TWO_FIVE, LITRE, -220.0)) == "-200"


def test_preferred_figures_near_zero_are_those_around_one() -> None:
    """Where there is no size to go by, it is that of one unit."""
    assert next(preferred_figures(ONE_TWO_FIVE, LITRE, 0.0)) == "1"


def test_preferred_amounts_are_given_in_the_unit_of_the_file() -> None:
    """An amount is converted, and one of another kind of unit is left out."""
    texts = ("1 m3", "20 l", "5 mA")
    preferred = Preferred(amounts=tuple(map(parse_quantity, texts)))
    assert list(preferred_figures(preferred, LITRE, 10.0)) == ["20", "1000"]


def test_nothing_is_preferred_where_nothing_is_said() -> None:
    """Without figures or amounts there are no preferred ones."""
    assert list(preferred_figures(Preferred(), LITRE, 10.0)) == []


def test_numbers_of_one_sign_are_nearer_than_others() -> None:
    """A number of the other sign is farther off than any of the same one."""
    assert distance(1e6, 1.0) < distance(-1.0, 1.0)
    assert distance(20.0, 10.0) == distance(5.0, 10.0)


def test_a_written_amount_is_exact_to_a_few_units_in_the_last_place() -> None:
    """The SI amount of a candidate is that of the exact fraction of its text."""
    amount = written(69.4444, unit_named("l/s"))
    exact = Fraction(amount.number) / 1000
    assert amount.si == pytest.approx(float(exact), rel=1e-15)
