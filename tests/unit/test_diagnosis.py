"""Laws of the diagnosis: which slips are named, in which words, and when none is."""

from __future__ import annotations

import math

import pytest

from configlint.diagnosis import TOLERANCE, digit_slip, ratio_slip

ROWS = (
    ("hours for days", 24.0),
    ("litres for gallons", 3.785411784),
    ("a point", 10.0),
    ("two points", 100.0),
    ("zero left out", 1.25),
    ("overload", 1.25),
    ("acid", 1.22),
    ("gallons", 1.2009),
)


@pytest.mark.parametrize(
    ("ratio", "sentence"),
    [
        (24.0, "Possible cause: hours for days (24)."),
        (1 / 24, "Possible cause: hours for days (24)."),
        (24**2, "Possible cause: twice over: hours for days (576)."),
        (24**-2, "Possible cause: twice over: hours for days (576)."),
        (3.785411784, "Possible cause: litres for gallons (3.78541)."),
        (10.0, "Possible cause: a point (10)."),
        (0.1, "Possible cause: a point (10)."),
        (5.0, ""),
        (1.0, ""),
        (1.004, ""),
        (1 / 1.004, ""),
    ],
)
def test_a_known_ratio_has_its_cause(ratio: float, sentence: str) -> None:
    """A ratio, its inverse and its square are named by their cause, others are not."""
    assert ratio_slip(ratio, ROWS) == sentence


def test_two_causes_of_one_ratio_are_both_named() -> None:
    """Near collisions are left to the reader: all causes in reach are named."""
    both = "Possible cause: overload (1.25) or zero left out (1.25)."
    assert ratio_slip(1.25, ROWS) == both
    wide = (("one", 2.0), ("other", 2.01))
    assert ratio_slip(2.005, wide) == "Possible cause: one (2) or other (2.01)."


def test_a_square_is_named_only_where_nothing_matches_as_it_is() -> None:
    """A hundred is two points moved, not one point moved twice over."""
    assert ratio_slip(100.0, ROWS) == "Possible cause: two points (100)."
    assert ratio_slip(1e4, ROWS) == "Possible cause: twice over: two points (10000)."


def test_near_causes_are_told_apart() -> None:
    """The gallons, the acid and the live zero lie close, and each is named alone."""
    assert ratio_slip(1.2009, ROWS) == "Possible cause: gallons (1.2009)."
    assert ratio_slip(1.22, ROWS) == "Possible cause: acid (1.22)."


@pytest.mark.parametrize("side", [-1, 1])
def test_a_match_reaches_as_far_as_the_tolerance(side: int) -> None:
    """Just inside half a percent is a match, just outside is none."""
    inside, outside = (24 * (1 + side * TOLERANCE * part) for part in (0.999, 1.001))
    assert ratio_slip(inside, ROWS) == "Possible cause: hours for days (24)."
    assert ratio_slip(outside, ROWS) == ""


@pytest.mark.parametrize("ratio", [0.0, -3.6, -0.0, math.nan, math.inf, -math.inf])
def test_what_is_no_ratio_has_no_cause(ratio: float) -> None:
    """Zero, negative, missing and infinite ratios name nothing and raise nothing."""
    assert ratio_slip(ratio, ROWS) == ""


def test_the_order_of_the_rows_changes_nothing() -> None:
    """The same causes are named in the same words whichever row comes first."""
    assert ratio_slip(1.25, ROWS[::-1]) == ratio_slip(1.25, ROWS)


@pytest.mark.parametrize(
    ("stamped", "entered", "causes"),
    [
        ("1.0234", "1.0243", "two digits exchanged"),
        ("1.0234", "1.2034", "two digits exchanged"),
        ("1.0234", "0.1234", "two digits exchanged"),
        ("1.0234", "1.0432", ""),
        ("1.0234", "1.0235", ""),
        ("1.0234", "2.1034", ""),
        ("1.0234", "1.034", "a digit dropped"),
        ("1.0234", "1.023", "a digit dropped"),
        ("1.0234", "1.02334", "a digit doubled"),
        ("1.0234", "1.02344", "a digit doubled"),
        ("1.0234", "11.0234", "a digit doubled"),
        ("1.0234", "1.02374", "a digit too many"),
        ("1.0234", "10.234", "the decimal point moved"),
        ("1.0234", "0.10234", "the decimal point moved"),
        ("1.0234", "10234", "the decimal point moved"),
        ("250", "2500", "a digit doubled or the decimal point moved"),
        ("250", "25", "a digit dropped or the decimal point moved"),
        ("250", "520", "two digits exchanged"),
        ("250", "205", "two digits exchanged"),
        ("-2", "2", ""),
        ("-23", "-32", "two digits exchanged"),
        ("+23", "32", "two digits exchanged"),
        ("1e3", "1e5", ""),
        ("1E-3", "1e3", ""),
        ("0.0", "0.00", "a digit doubled"),
        ("0.1850", "0.185", "a digit dropped"),
        ("0.0185", ".0185", "a digit dropped"),
        ("0.0185", "0.00185", "a digit doubled or the decimal point moved"),
        ("1.0234", "1.0234", ""),
        ("", "", ""),
    ],
)
def test_a_slip_of_the_hand_has_its_name(
    stamped: str, entered: str, causes: str
) -> None:
    """Exchanged, dropped and doubled digits and a moved point are named, no more."""
    found = digit_slip(stamped, entered)
    assert found == (f"Possible cause: {causes}." if causes else "")
