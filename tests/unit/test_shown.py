"""Laws of the amounts of a sheet: as written where they can be, rounded where not."""

from __future__ import annotations

import math

import pytest

from configlint.sheets.shown import Amount, print_amount
from configlint.units import DIMENSIONLESS, parse_quantity, unit_named


@pytest.mark.parametrize(
    ("amount", "figures", "computed", "printed", "si"),
    [
        (Amount(0.15, unit_named("mm"), 3, "150 mm"), 9, True, "150 mm", 0.15),
        (Amount(1 / 3, unit_named("m"), 3), 0, True, "0.333 m", 0.333),
        (Amount(1 / 3, unit_named("m"), 3), 5, True, "0.33333 m", 0.33333),
        (Amount(1 / 3, unit_named("m"), 6), 4, True, "0.333333 m", 0.333333),
        (Amount(419.0, DIMENSIONLESS, None), 3, True, "419", 419.0),
        (Amount(295.65, unit_named("degC"), 3, "22.5 °C"), 4, False, "22.5 °C", 295.65),
        (Amount(295.65, unit_named("degC"), 3, "22.5 °C"), 5, True, "295.65 K", 295.65),
        (Amount(295.65, unit_named("degF"), 3), 3, False, "72.5 °F", 295.65),
        (Amount(0.0, unit_named("m3/h"), None), 3, True, "0 m³/h", 0.0),
    ],
)
def test_a_figure_stands_for_what_it_prints(
    amount: Amount, figures: int, computed: bool, printed: str, si: float
) -> None:
    """The SI amount of a figure is that of its print, not of the value behind it."""
    figure = amount.figure(figures, computed)
    assert figure.text == printed
    assert figure.si == pytest.approx(si, rel=1e-12)


def test_an_amount_shows_what_rounds_to_it() -> None:
    """Another value is shown as an amount where it prints the same, and zero nearly."""
    velocity = Amount(1.5719, unit_named("m/s"), 3)
    assert velocity.shows(1.5651)
    assert not velocity.shows(1.5649)
    assert not velocity.shows(math.nan)
    assert not velocity.shows(math.inf)
    zero = Amount(0.0, unit_named("%"), None)
    assert zero.shows(9e-7)
    assert not zero.shows(2e-6)
    assert not Amount(0.0, unit_named("m"), None).shows(9e-7)


def test_a_written_amount_keeps_its_figures_in_print() -> None:
    """An amount of a file has its own figures, and the signs of print."""
    assert print_amount(parse_quantity("0.1550 uA")) == "0.1550 \u00b5A"
    assert print_amount(parse_quantity("-1.0")) == "−1.0"
