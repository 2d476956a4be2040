"""Laws of two amounts held against each other: true in print, and told in words."""

from __future__ import annotations

import pytest

from configlint.sheets.distances import distance, in_relation
from configlint.sheets.shown import Amount
from configlint.units import DIMENSIONLESS, unit_named

METRES = unit_named("m")
CELSIUS, FAHRENHEIT = unit_named("degC"), unit_named("degF")


def plain(value: float) -> Amount:
    """Give a plain number that nothing rounds."""
    return Amount(value, DIMENSIONLESS, None)


@pytest.mark.parametrize(
    ("left", "sign", "right", "printed"),
    [
        (1.2345, "≤", 2.0, ("1.23 m", "2.00 m")),
        (1.2341, ">", 1.234, ("1.2341 m", "1.2340 m")),
        (1.2345, "<", 1.2346, ("1.2345 m", "1.2346 m")),
        (1.2341, "≠", 1.234, ("1.2341 m", "1.2340 m")),
        (1.2341, "=", 1.2341, ("1.23 m", "1.23 m")),
        (1.234, "≥", 1.234, ("1.23 m", "1.23 m")),
        (1.2351, "≥", 1.2349, ("1.24 m", "1.23 m")),
        (1.234, "<", 1.234, ("1.2340000000000000 m", "1.2340000000000000 m")),
    ],
)
def test_the_sign_is_true_of_what_is_printed(
    left: float, sign: str, right: float, printed: tuple[str, str]
) -> None:
    """Figures are added until the two prints stand to each other as the sign says."""
    amounts = (Amount(each, METRES, 3) for each in (left, right))
    assert in_relation(next(amounts), sign, next(amounts)) == printed


@pytest.mark.parametrize(
    ("held", "limit", "said"),
    [
        (0.275, 1.0, "72.5 % below the limit"),
        (1.31, 1.0, "31.0 % above the limit"),
        (1.0 + 1e-10, 1.0, "at the limit"),
        (2.0, 1.0, "2.00 times the limit"),
        (999.0, 1.0, "999 times the limit"),
        (1250.0, 1.0, "more than a thousand times the limit"),
        (0.01, 1.0, "99.0 % below the limit"),
        (0.00999, 1.0, "0.999 % of the limit"),
        (0.00099, 1.0, "less than a thousandth of the limit"),
        (0.0, 1.0, ""),
        (3.0, 0.0, "3.00 above the limit"),
        (-3.0, -1.0, "2.00 below the limit"),
        (-3.0, 1.0, "4.00 below the limit"),
    ],
)
def test_a_distance_is_told_as_people_read_it(
    held: float, limit: float, said: str
) -> None:
    """Near by a share, far by how often; where neither fits, by an amount."""
    assert distance(plain(held), plain(limit)) == said


@pytest.mark.parametrize(
    ("held", "limit", "said"),
    [
        (Amount(295.15, CELSIUS, 2), Amount(355.15, CELSIUS, 2), "60.0 °C below"),
        (Amount(295.15, FAHRENHEIT, 2), Amount(285.15, FAHRENHEIT, 2), "18.0 °F above"),
        (Amount(295.15, FAHRENHEIT, 2), Amount(285.15, CELSIUS, 2), "18.0 °F above"),
        (Amount(263.15, CELSIUS, 2), Amount(268.15, CELSIUS, 2), "5.00 °C below"),
    ],
)
def test_a_distance_of_temperatures_has_no_zero_of_the_scale(
    held: Amount, limit: Amount, said: str
) -> None:
    """Degrees are told as degrees of the sheet, and 10 K are 18 °F, not 50 °F."""
    assert distance(held, limit) == f"{said} the limit"
