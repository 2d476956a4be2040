"""Laws of what can be varied, in which unit, and from where a search starts."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from configlint.axes import (
    amount_at,
    axis_of,
    is_in_use,
    number_of,
    offered_texts,
    setting_of,
    starts_of,
)
from configlint.rules import RuleBook
from tests.free_meters import free_meter, rule, rule_book

SPAN = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
WEIGHT = "pulse_output.pulse_weight"


@pytest.fixture
def book(tmp_path: Path) -> RuleBook:
    """Load a rule with a limit that is a flow, and one that is none."""
    limits = {"most": "90 m3/h", "share": "50 %"}
    accept = f"{SPAN} * share <= most + 0 * 54[m3/h] and 3 > 0[s] / 1[s]"
    return rule_book(tmp_path, {"one": rule(accept, limits=limits)}, {SPAN: {}})


def test_an_undeclared_setting_is_a_persons_to_state(book: RuleBook) -> None:
    """What no rule file declares is never chosen."""
    assert setting_of(book, SPAN).adjustable
    assert not setting_of(book, WEIGHT).adjustable


def test_a_part_that_is_not_used_is_not_in_use(book: RuleBook) -> None:
    """A value is in use where every section around it is, and is not left out."""
    used = {"receiver.analogue.upper_scale": "1 m3/h", "sensor.bore": "10 mm"}
    facts = free_meter(book, {**used, "pulse_output": "not used"}).facts
    paths = (SCALE, WEIGHT, SPAN, "sensor.bore", "meter")
    assert [is_in_use(book, facts, path) for path in paths] == [
        *(True, False, False),
        *(True, True),
    ]


def test_a_text_is_no_amount(book: RuleBook) -> None:
    """Only what is written as an amount is one."""
    facts = free_meter(book, {SPAN: "10 l/s"}).facts
    amount = amount_at(facts, SPAN)
    assert amount is not None
    assert amount.text == "10 l/s"
    assert amount_at(facts, "meter") is None
    assert amount_at(facts, WEIGHT) is None


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ({SPAN: "10 l/s"}, "l/s"),
        ({}, "m3/h"),
        ({"sensor.bore": "4 in"}, "US_gal/min"),
        ({"sensor.bore": "4 in", SPAN: "1 m/s"}, "m/s"),
    ],
)
def test_the_unit_is_the_files_or_that_of_its_people(
    book: RuleBook, written: dict[str, str], unit: str
) -> None:
    """A value keeps its unit; one that is missing gets the one that is usual there."""
    assert axis_of(free_meter(book, written), SPAN).unit.spelling == unit


def test_a_plain_number_has_no_unit(book: RuleBook) -> None:
    """A number without dimension is varied as it is."""
    axis = axis_of(free_meter(book), "transmitter.calibration_factor")
    assert axis.unit.spelling == ""
    assert axis.factor == 1


def test_a_velocity_stands_for_a_flow_by_the_bore(book: RuleBook) -> None:
    """One of the unit is worth what rules compute with, by what the file states."""
    free = free_meter(book, {SPAN: "2 m/s", "sensor.bore": "100 mm"})
    assert axis_of(free, SPAN).factor == pytest.approx(math.pi / 4 * 0.01)


def test_without_a_bore_a_velocity_is_what_it_is(book: RuleBook) -> None:
    """Where nothing can be converted the unit's own factor stands."""
    assert axis_of(free_meter(book, {SPAN: "2 m/s"}), SPAN).factor == 1


def test_a_search_starts_at_amounts_and_limits_of_the_kind(book: RuleBook) -> None:
    """Every flow of the meter is a start, and every limit that is a flow."""
    written = {SPAN: "10 l/s", SCALE: "72 m3/h", "sensor.bore": "100 mm"}
    free = free_meter(book, written)
    starts = list(starts_of(free, axis_of(free, SPAN)))
    assert starts[0] == 10
    assert sorted(set(starts)) == [10, 15, 20, 25]


def test_a_policys_limit_is_a_start(book: RuleBook) -> None:
    """It is the limit that holds which a search starts at."""
    free = free_meter(book, {SPAN: "36 m3/h"}, {"one": {"most": 0.02}})
    assert 72 in starts_of(free, axis_of(free, SPAN))


def test_a_temperature_is_a_number_of_degrees(book: RuleBook) -> None:
    """An amount of a unit with an offset is converted with it."""
    free = free_meter(book, {"process.temperature.maximum": "20 degC"})
    axis = axis_of(free, "process.temperature.maximum")
    assert list(number_of(axis, 373.15)) == [100]
    assert list(number_of(axis, math.nan)) == []
    assert list(number_of(axis, "text")) == []


def test_what_the_principle_does_not_know_is_not_in_use(book: RuleBook) -> None:
    """An electromagnetic meter has no K-factor, whatever rules would change there."""
    facts = free_meter(book).facts
    assert not is_in_use(book, facts, "transmitter.k_factor")
    assert is_in_use(book, facts, "transmitter.calibration_factor")
    facts.values["principle"] = "turbine"
    assert is_in_use(book, facts, "transmitter.k_factor")


def test_a_type_offers_what_its_sheet_lists(book: RuleBook) -> None:
    """Without a list in the type sheet any amount is offered, and none is named."""
    facts = free_meter(book).facts
    assert offered_texts(facts, "transmitter.damping") == ()
    assert offered_texts(facts, SPAN) == ()
    facts.values["type_sheet.offers.transmitter.damping"] = ("1 s", "3 s")
    assert offered_texts(facts, "transmitter.damping") == ("1 s", "3 s")
