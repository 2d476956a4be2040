"""Laws of the diagnosis on random input: slips are recognised, chance seldom is.

What is named is a possible cause, so the share of chance matches is part of the
promise. Of two unlike figures of four digits, at most 3 in 8999, 0.034 %, look like a
slip of the hand. Of ratios spread evenly over the decades from 1 to 1000, less than
1.6 % have a cause in the flows of a meter that keeps to SI units, less than 3.2 % in
one of US units; were every row of the table told of every meter, it would be 5.4 %.
Small ratios are denser with causes: from 1 to 2 it is less than 3.2 %, 6.2 % and 12 %.
A cause that no unit speaks for, which is told as the less likely, comes to another
0.4 % at most, and to 0.6 % from 1 to 2.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from functools import cache

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from configlint.data import data_folder
from configlint.diagnosis import (
    LEAST_SQUARED,
    TOLERANCE,
    Support,
    Suspect,
    digit_slip,
    ratio_slip,
)
from configlint.rule_book import load_rule_book
from configlint.tables import Table
from tests.builders import make_facts

FIGURES = st.builds(
    lambda whole, decimals: f"{whole}.{decimals}",
    st.integers(0, 99).map(str),
    st.text("0123456789", min_size=1, max_size=5),
)
SLIP_WORDS = {
    "exchanged": "two digits exchanged",
    "dropped": "a digit dropped",
    "doubled": "a digit doubled",
    "moved": "the decimal point moved",
}


@cache
def fingerprints() -> Table:
    """Give the table of fingerprints that stands beside the rules."""
    return load_rule_book(data_folder("rules")).scope.tables["ratio_fingerprints"]


@cache
def rows() -> tuple[Suspect, ...]:
    """Give every cause that has one ratio, with as much speaking for each."""
    return tuple(
        Suspect(row.texts["cause"], row.ratio, bool(row.between), in_play)
        for row in fingerprints().fingerprints.values()
        if row.computed is None
    )


def in_play() -> Support:
    """Say that a cause can be meant."""
    return Support.IN_PLAY


def near_an_edge(ratio: float) -> bool:
    """Whether a rounding could carry a ratio over the end of a match's reach."""
    size = max(ratio, 1 / ratio)
    known = [1.0, *(each.ratio**power for each in rows() for power in (1, 2))]
    return any(math.isclose(abs(size / k - 1), TOLERANCE, rel_tol=1e-9) for k in known)


@given(FIGURES, st.data())
def test_digits_exchanged_by_hand_are_recognised(
    figure: str, data: st.DataObject
) -> None:
    """Any two neighbouring digits exchanged, over the point too, are named so."""
    places = [i for i, each in enumerate(figure) if each != "."]
    first = data.draw(st.integers(0, len(places) - 2))
    left, right = places[first], places[first + 1]
    assume(figure[left] != figure[right])
    digits = list(figure)
    digits[left], digits[right] = digits[right], digits[left]
    assert SLIP_WORDS["exchanged"] in digit_slip(figure, "".join(digits))


@given(FIGURES, st.data())
def test_a_digit_dropped_by_hand_is_recognised(
    figure: str, data: st.DataObject
) -> None:
    """Any digit left out is named so, whichever it is."""
    at = data.draw(st.sampled_from([i for i, c in enumerate(figure) if c != "."]))
    assert SLIP_WORDS["dropped"] in digit_slip(figure, figure[:at] + figure[at + 1 :])


@given(FIGURES, st.data())
def test_a_digit_doubled_by_hand_is_recognised(
    figure: str, data: st.DataObject
) -> None:
    """Any digit written twice is named so, whichever it is."""
    at = data.draw(st.sampled_from([i for i, c in enumerate(figure) if c != "."]))
    assert SLIP_WORDS["doubled"] in digit_slip(
        figure, figure[:at] + figure[at : at + 1] + figure[at:]
    )


@given(st.integers(1, 999_999), st.integers(-3, 5), st.integers(-3, 5))
def test_a_point_moved_by_hand_is_recognised(digits: int, one: int, two: int) -> None:
    """The same digits with the point elsewhere are named so, however many places."""
    assume(one != two)
    first, second = (plain(digits, places) for places in (one, two))
    assert SLIP_WORDS["moved"] in digit_slip(first, second)


def plain(digits: int, places: int) -> str:
    """Write digits with so many places behind the point, or noughts behind them."""
    if places <= 0:
        return f"{digits}{'0' * -places}"
    text = f"{digits:0{places + 1}d}"
    return f"{text[:-places]}.{text[-places:]}"


@given(FIGURES, FIGURES)
def test_a_slip_is_one_both_ways(stamped: str, entered: str) -> None:
    """Exchanges and moves are the same from either side; a drop turns to a surplus."""
    there, back = digit_slip(stamped, entered), digit_slip(entered, stamped)
    assert bool(there) == bool(back)
    for words in (SLIP_WORDS["exchanged"], SLIP_WORDS["moved"]):
        assert (words in there) == (words in back)


@given(st.text(max_size=12), st.text(max_size=12))
def test_any_text_can_be_compared(stamped: str, entered: str) -> None:
    """No text raises anything, and a text has no slip from itself."""
    assert isinstance(digit_slip(stamped, entered), str)
    assert digit_slip(stamped, stamped) == ""


@settings(max_examples=8)
@given(st.integers(1000, 9999))
@example(1234)
@example(1000)
def test_figures_of_four_digits_seldom_look_like_a_slip(stamped: int) -> None:
    """Of the 8999 other figures of four digits at most 3 are an exchange away."""
    others = (number for number in range(1000, 10_000) if number != stamped)
    found = [
        n for n in others if digit_slip(f"{stamped / 1000:.3f}", f"{n / 1000:.3f}")
    ]
    assert len(found) <= 3
    assert all(sorted(str(n)) == sorted(str(stamped)) for n in found)


@given(st.floats(1e-7, 1e7))
def test_a_ratio_and_its_inverse_have_the_same_causes(ratio: float) -> None:
    """Which figure stands above the line changes nothing."""
    assume(not near_an_edge(ratio))
    assert ratio_slip(ratio, rows()) == ratio_slip(1 / ratio, rows())


@given(
    st.sampled_from(rows()),
    st.sampled_from([1, 2]),
    st.floats(-0.0049, 0.0049),
    st.booleans(),
)
def test_every_slip_of_a_unit_is_recognised(
    row: Suspect, power: int, off: float, inverted: bool
) -> None:
    """A known ratio has its cause, inverted and rounded too; of conversions, squared.

    Where the square of one is near another that is the plainer cause, and named.
    """
    assume(power == 1 or (row.is_conversion and row.ratio >= LEAST_SQUARED))
    size = row.ratio**power * (1 + off)
    plainer = [e.cause for e in rows() if abs(size / e.ratio - 1) <= TOLERANCE]
    said = ratio_slip(1 / size if inverted else size, rows())
    assert all(words in said for words in plainer or [row.cause])


@given(
    st.floats(allow_nan=True, allow_infinity=True),
    st.lists(st.tuples(st.floats(0.1, 1e6), st.sampled_from(Support), st.booleans())),
)
def test_any_number_can_be_looked_up(
    ratio: float, known: list[tuple[float, Support, bool]]
) -> None:
    """Every float gives a sentence of one of two forms, or nothing."""

    def speaking(support: Support) -> Callable[[], Support]:
        return lambda: support

    suspects = [Suspect("a", r, c, speaking(support)) for r, support, c in known]
    said = ratio_slip(ratio, suspects)
    told = said.startswith("Possible cause: ") and said.endswith(").")
    weaker = said.startswith("It would also be the ratio of a (")
    assert said == "" or told or weaker
    assert not (weaker and Support.UNSEEN not in {each for _, each, _ in known})


FLOWS = ("receiver.analogue.upper_scale", "current_output.upper_range_value")
METERS: dict[str, dict[str, str]] = {
    "SI": {
        "process.fluid": "drinking water",
        "sensor.nominal_size": "DN 100",
        "sensor.bore": "100 mm",
        "current_output.upper_range_value": "100 m3/h",
        "receiver.analogue.upper_scale": "100 m3/h",
        "pulse_output.pulse_weight": "10 l",
    },
    "US": {
        "process.fluid": "drinking water",
        "sensor.nominal_size": "NPS 4",
        "sensor.bore": "4 in",
        "current_output.upper_range_value": "400 US_gal/min",
        "receiver.analogue.upper_scale": "400 US_gal/min",
        "pulse_output.pulse_weight": "10 US_gal",
    },
}


def looked_up(meter: str, highest: float, number: int = 5000) -> tuple[float, float]:
    """Give the shares of ratios of a meter that are told, and told as weaker.

    The ratios are random, one in each of as many equal parts of the decades.
    """
    facts = make_facts(METERS[meter])
    chance = random.Random(20456)
    told = weaker = 0
    for part in range(number):
        ratio = highest ** (2 * (part + chance.random()) / number - 1)
        said = fingerprints().match(ratio, "cause", FLOWS, facts.values, facts.written)
        told += said.startswith("Possible cause: ")
        weaker += said.startswith("It would also be")
    return told / number, weaker / number


@pytest.mark.parametrize(
    ("meter", "highest", "told", "weaker"),
    [
        ("SI", 1000.0, 0.016, 0.004),
        ("SI", 2.0, 0.032, 0.006),
        ("US", 1000.0, 0.032, 0.004),
        ("US", 2.0, 0.062, 0.006),
    ],
)
def test_ratios_of_a_meter_seldom_match_by_chance(
    meter: str, highest: float, told: float, weaker: float
) -> None:
    """The shares of chance matches in a meter's flows are below their bounds."""
    found = looked_up(meter, highest)
    assert 0 < found[0] < told
    assert found[1] < weaker


def share_by_measure(highest: float) -> float:
    """Share of the decades from 1 to a ratio that lies in reach of a fingerprint."""
    reach = sorted(
        (
            math.log(row.ratio**power * (1 - TOLERANCE)),
            math.log(row.ratio**power * (1 + TOLERANCE)),
        )
        for row in rows()
        for power in (1, 2)
        if row.ratio**power <= highest
        and (power == 1 or (row.is_conversion and row.ratio >= LEAST_SQUARED))
    )
    covered, end = 0.0, math.log(1 + TOLERANCE)
    for low, high in reach:
        covered += max(0.0, high - max(low, end))
        end = max(end, high)
    return covered / math.log(highest)


@pytest.mark.parametrize(
    ("highest", "bound"), [(1000.0, 0.055), (10.0, 0.081), (2.0, 0.12)]
)
def test_ratios_seldom_match_by_chance(highest: float, bound: float) -> None:
    """Were every row told, the share of chance matches would be below its bound."""
    assert share_by_measure(highest) < bound


@pytest.mark.parametrize("highest", [1000.0, 10.0, 2.0])
def test_the_share_of_chance_matches_is_the_one_computed(highest: float) -> None:
    """Random ratios match as often as the computed share says."""
    chance = random.Random(20456)
    ratios = [highest ** chance.uniform(-1, 1) for _ in range(5000)]
    found = sum(bool(ratio_slip(each, rows())) for each in ratios)
    assert found / len(ratios) == pytest.approx(share_by_measure(highest), abs=0.02)
