"""Laws of the diagnosis: which slips are named, in which words, and when none is."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from configlint.diagnosis import (
    CLOSE,
    TOLERANCE,
    Support,
    Suspect,
    digit_slip,
    is_made_of,
    ratio_slip,
    weigh,
)

CAUSES: Mapping[str, float] = {
    "hours for days": 24.0,
    "litres for gallons": 3.785411784,
    "a point": 10.0,
    "two points": 100.0,
    "zero left out": 1.25,
    "overload": 1.25,
    "acid": 1.22,
    "gallons": 1.2009,
}
RULED_OUT, UNSEEN, IN_PLAY, WRITTEN, COMPARED = Support


def suspect(
    cause: str, ratio: float, support: Support = IN_PLAY, *, converts: bool = False
) -> Suspect:
    """Make a suspect of which so much speaks for it."""
    return Suspect(cause, ratio, converts, lambda: support)


ROWS = tuple(
    suspect(cause, ratio, converts=cause == "hours for days")
    for cause, ratio in CAUSES.items()
)


@pytest.mark.parametrize(
    ("ratio", "sentence"),
    [
        (24.0, "Possible cause: hours for days (24)."),
        (1 / 24, "Possible cause: hours for days (24)."),
        (24**2, "Possible cause: twice over: hours for days (576)."),
        (24**-2, "Possible cause: twice over: hours for days (576)."),
        (3.785411784, "Possible cause: litres for gallons (3.78541)."),
        (3.785411784**2, ""),
        (10.0, "Possible cause: a point (10)."),
        (0.1, "Possible cause: a point (10)."),
        (5.0, ""),
        (1.0, ""),
        (1.004, ""),
        (1 / 1.004, ""),
    ],
)
def test_a_known_ratio_has_its_cause(ratio: float, sentence: str) -> None:
    """A ratio and its inverse are named by their cause, squares of conversions too."""
    assert ratio_slip(ratio, ROWS) == sentence


def test_two_causes_of_one_ratio_are_both_named() -> None:
    """Near collisions are left to the reader: all causes in reach are named."""
    both = "Possible cause: overload (1.25) or zero left out (1.25)."
    assert ratio_slip(1.25, ROWS) == both
    wide = (suspect("one", 2.0), suspect("other", 2.01))
    assert ratio_slip(2.005, wide) == "Possible cause: one (2) or other (2.01)."


def test_what_the_units_speak_for_is_named_first() -> None:
    """Of two causes the one whose units are written comes before, whatever its name."""
    rows = (suspect("a", 2.0), suspect("z", 2.0, WRITTEN), suspect("b", 2.0, UNSEEN))
    assert ratio_slip(2.0, rows) == "Possible cause: z (2) or a (2)."


def test_what_the_two_figures_are_written_in_is_named_alone() -> None:
    """Where the units of the two figures tell the slip, no other is guessed at."""
    rows = (suspect("a", 2.0, WRITTEN), suspect("z", 2.0, COMPARED))
    assert ratio_slip(2.0, rows) == "Possible cause: z (2)."


def test_what_nothing_speaks_for_is_told_as_less_likely() -> None:
    """A cause whose units are not seen is told in other words, and only alone."""
    rows = (suspect("b", 2.0, UNSEEN), suspect("a", 2.0, UNSEEN))
    weak = "It would also be the ratio of {}, but the file shows no such unit."
    assert ratio_slip(2.0, rows) == weak.format("a (2) or b (2)")
    likelier = suspect("c", 2.0)
    assert ratio_slip(2.0, (*rows, likelier)) == "Possible cause: c (2)."


@pytest.mark.parametrize("side", [-1, 1])
def test_what_nothing_speaks_for_must_fit_closely(side: int) -> None:
    """A cause whose units are not seen reaches a tenth as far as others."""
    rows = (suspect("a", 2.0, UNSEEN, converts=True),)
    inside, outside = (2 * (1 + side * CLOSE * part) for part in (0.999, 1.001))
    assert ratio_slip(inside, rows).startswith("It would also be the ratio of a (2)")
    assert ratio_slip(outside, rows) == ratio_slip(4.0, rows) == ""
    assert CLOSE == TOLERANCE / 10


def test_what_is_ruled_out_is_never_named() -> None:
    """A cause that can't be meant is not told, alone, squared or beside another."""
    out = suspect("a", 2.0, RULED_OUT, converts=True)
    assert ratio_slip(2.0, (out,)) == ratio_slip(4.0, (out,)) == ""
    assert ratio_slip(2.0, (out, suspect("b", 2.0))) == "Possible cause: b (2)."


@pytest.mark.parametrize("ratio", [math.nan, 0.0, -2.0, math.inf, 1.0, 1.003])
def test_a_suspect_without_a_ratio_is_never_named(ratio: float) -> None:
    """A ratio that a meter does not give, or one near 1, suspects nothing."""
    assert ratio_slip(1.0055, (suspect("a", ratio),)) == ""
    assert ratio_slip(2.0, (suspect("a", ratio),)) == ""


def test_a_suspect_may_have_its_ratio_either_way_round() -> None:
    """A ratio computed of a meter is taken the larger way round."""
    assert ratio_slip(1.25, (suspect("a", 0.8),)) == "Possible cause: a (1.25)."


def test_only_what_a_ratio_lies_near_is_asked() -> None:
    """What speaks for a cause is asked of those in reach alone, since it takes time."""
    asked: list[float] = []

    def ask(ratio: float) -> Suspect:
        def support() -> Support:
            asked.append(ratio)
            return IN_PLAY

        return Suspect("a", ratio, False, support)

    ratio_slip(2.0, map(ask, (1.5, 2.0, 4.0)))
    assert asked == [2.0]


def test_a_square_is_named_only_where_nothing_matches_as_it_is() -> None:
    """A plain cause goes before a conversion made twice over."""
    rows = (suspect("ten", 10.0, converts=True), suspect("hundred", 100.0))
    assert ratio_slip(100.0, rows) == "Possible cause: hundred (100)."
    assert ratio_slip(100.0, rows[:1]) == "Possible cause: twice over: ten (100)."


def test_a_small_ratio_is_not_squared() -> None:
    """The squares of ratios below 2 lie where two sound round figures may meet."""
    assert ratio_slip(1.44, (suspect("a", 1.2, converts=True),)) == ""


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
    ("unit", "part", "is_so"),
    [
        ("US_gal", "US_gal", True),
        ("US_gal/min", "US_gal", True),
        ("US_MGD", "US_gal", True),
        ("gpm", "US_gal", True),
        ("pulses/US_gal", "US_gal", True),
        ("US_gal/min", "US_gal/min", True),
        ("US_MGD", "US_gal/min", False),
        ("imp_gal", "US_gal", False),
        ("oil_bbl/d", "US_gal", False),
        ("ft3/s", "US_gal", False),
        ("HCF", "ft3", True),
        ("m3/year", "l", True),
        ("m3/h", "l/s", False),
        ("m3/s", "l/s", True),
        ("l/min", "min", True),
        ("m3/h", "min", False),
        ("m3/h", "h", True),
        ("ms", "s", True),
        ("in", "in2", True),
        ("mm", "in2", False),
        ("kg/m3", "kg", False),
        ("t/h", "kg", True),
        ("lb", "kg", False),
        ("%", "l", False),
    ],
)
def test_a_unit_is_made_of_others(unit: str, part: str, is_so: bool) -> None:
    """A flow is made of its volume and of its time, whatever its decimal prefix."""
    assert is_made_of(unit, part) is is_so


GALLONS, LITRES = ("imp_gal", "US_gal"), ("US_gal", "l")


@pytest.mark.parametrize(
    ("between", "written", "compared", "convention", "support"),
    [
        ((), (), (), "SI", IN_PLAY),
        (GALLONS, (), ("US_gal/min", "imp_gal/min"), "US", COMPARED),
        (GALLONS, ("US_gal", "imp_gal/d"), ("US_gal", "US_gal"), "US", WRITTEN),
        (GALLONS, ("US_gal", "m3/h"), ("US_gal", "m3/h"), "US", UNSEEN),
        (GALLONS, ("m3/h", "l"), ("m3/h", "m3/h"), "imperial", UNSEEN),
        (GALLONS, ("US_gal", "m3/h"), ("m3/h", "m3/h"), "imperial", IN_PLAY),
        (LITRES, ("US_gal",), ("US_gal", "US_gal"), "SI", IN_PLAY),
        (LITRES, ("m3/h",), ("m3/h", "m3/h"), "US", IN_PLAY),
        (LITRES, ("m3/h",), ("m3/h", "m3/h"), "imperial", UNSEEN),
        (LITRES, ("m3/h",), ("m3/h", "m3/h"), "SI", UNSEEN),
        (("l", "m3"), ("l",), ("l", "l"), "SI", WRITTEN),
        (("l", "m3"), ("l", "m3"), ("l", "m3"), "SI", COMPARED),
        (("min", "h"), (), (), "SI", IN_PLAY),
        (("US_gal", "ft3"), ("US_gal",), (), "imperial", IN_PLAY),
        (("US_gal/min", "m3/h"), ("US_gal/d",), (), "SI", IN_PLAY),
        (("US_gpm", "m3/h"), ("US_gal/d",), (), "SI", UNSEEN),
    ],
)
def test_the_units_of_a_meter_speak_for_a_slip(
    between: tuple[str, ...],
    written: tuple[str, ...],
    compared: tuple[str, ...],
    convention: str,
    support: Support,
) -> None:
    """Units compared, written and usual speak for a slip, in this order; others not."""
    assert weigh(between, written, compared, convention) is support


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
