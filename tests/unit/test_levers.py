"""Laws of one setting as a means to an end: what it offers, and in which order."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from configlint.axes import setting_of
from configlint.levers import AmountLever, ChoiceLever
from configlint.units import Quantity
from tests.free_meters import free_meter, rule, rule_book

DAMPING = "transmitter.damping"
SPAN = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
FACTOR = "transmitter.calibration_factor"
PLATE = "sensor.nameplate.calibration_factor"
LOCKED = "transmitter.settings_locked"
SERIES = {"preferred": {"figures": ["1", "2", "5"]}}


def lever(
    folder: Path,
    accept: str,
    written: Mapping[str, str],
    path: str = DAMPING,
    said: Mapping[str, Any] | None = None,
    along: tuple[str, ...] = (),
) -> AmountLever:
    """Make a lever of an amount under one rule."""
    book = rule_book(folder, {"one": rule(accept)}, {path: said or {}})
    return AmountLever(free_meter(book, written), setting_of(book, path), {}, along)


def offered(lever: AmountLever, preferred: bool = False) -> list[str]:
    """Give the texts that a lever offers for its own setting, in their order."""
    offers = lever.offers(lever.variation.all_rules, preferred)
    texts = []
    for offer in offers:
        value = offer.values[lever.axis.path]
        assert isinstance(value, Quantity)
        texts.append(value.text)
    return texts


def test_the_nearest_value_is_the_end_rounded_inwards(tmp_path: Path) -> None:
    """A value outside is moved to the limit, as a person would write it."""
    limits = f"{DAMPING} <= 5.67891[s]"
    assert offered(lever(tmp_path / "a", limits, {DAMPING: "9 s"}))[0] == "5.678 s"
    limits = f"{DAMPING} >= 5.67891[s]"
    assert offered(lever(tmp_path / "b", limits, {DAMPING: "1 s"}))[0] == "5.679 s"


def test_a_value_keeps_clear_of_a_limit_that_is_left_out(tmp_path: Path) -> None:
    """Next to a limit that is not permissible a value of two digits is offered."""
    made = lever(tmp_path, f"{DAMPING} < 5[s]", {DAMPING: "9 s"})
    assert offered(made)[0] == "4.9 s"


def test_a_tolerance_is_not_used_up(tmp_path: Path) -> None:
    """Where a rule allows a deviation, the value without deviation is offered."""
    accept = f"abs({DAMPING} - receiver.analogue.damping) <= 0.5[s]"
    written = {DAMPING: "9 s", "receiver.analogue.damping": "4.25 s"}
    assert offered(lever(tmp_path, accept, written))[0] == "4.25 s"


def test_the_middle_of_a_narrow_window_is_offered(tmp_path: Path) -> None:
    """A value with its tolerance is offered in the fewest digits."""
    accept = f"4.99[s] <= {DAMPING} <= 5.012[s]"
    assert offered(lever(tmp_path, accept, {DAMPING: "9 s"}))[0] == "5 s"


def test_a_stamped_figure_is_offered_with_every_digit(tmp_path: Path) -> None:
    """A figure that must agree with another is written as the file writes that."""
    written = {FACTOR: "1", PLATE: "1.0250"}
    made = lever(tmp_path, f"agrees({FACTOR}, {PLATE})", written, FACTOR)
    assert offered(made) == ["1.0250"]


def test_a_point_that_stands_nowhere_is_written_out(tmp_path: Path) -> None:
    """A single value that the file does not hold is written with its own digits."""
    made = lever(tmp_path, f"{DAMPING} == 7.5[s]", {DAMPING: "9 s"})
    assert offered(made)[0] == "7.5 s"


def test_preferred_values_come_in_the_order_of_their_distance(tmp_path: Path) -> None:
    """Of the preferred figures inside the nearest to the present value is first."""
    accept = f"1.5[s] <= {DAMPING} <= 30[s]"
    made = lever(tmp_path, accept, {DAMPING: "90 s"}, said=SERIES)
    assert offered(made, preferred=True)[:3] == ["20 s", "10 s", "5 s"]


def test_no_value_is_offered_that_a_file_may_not_hold(tmp_path: Path) -> None:
    """Preferred figures beyond the bounds of a value are passed over."""
    hours = "process.hours_per_year"
    said = {"preferred": {"digits": "1"}}
    made = lever(tmp_path, f"{hours} >= 7500", {hours: "100"}, hours, said)
    assert offered(made, preferred=True) == ["8000"]


def test_a_value_inside_is_only_rounded(tmp_path: Path) -> None:
    """Where a rule on figures is broken, the nearest rounder figure is best."""
    accept = f"significand(figure({DAMPING})) * 10 == "
    accept += f"round(significand(figure({DAMPING})) * 10)"
    made = lever(tmp_path, accept, {DAMPING: "7.4321 s"})
    assert offered(made)[0] == "7.4 s"


def test_nothing_is_nearest_to_zero(tmp_path: Path) -> None:
    """Where any value above zero would do, none is proposed."""
    made = lever(tmp_path, f"{DAMPING} > 0[s]", {DAMPING: "0 s"}, said=SERIES)
    assert offered(made) == []
    assert offered(made, preferred=True) == []


def test_nothing_is_offered_where_nothing_helps(tmp_path: Path) -> None:
    """A rule that no value meets gets no offer."""
    made = lever(tmp_path, f"{DAMPING} < 0[s]", {DAMPING: "9 s"})
    assert offered(made) == []


def test_without_a_present_value_only_aims_are_offered(tmp_path: Path) -> None:
    """Where nothing is written, there is nothing to be nearest to but an aim."""
    written = {"transmitter.flow_direction": "forward"}
    accept = f"{DAMPING} <= 5[s]"
    assert offered(lever(tmp_path / "a", accept, written)) == []
    accept = f"abs({DAMPING} - 4[s]) <= 2[s]"
    assert offered(lever(tmp_path / "b", accept, written))[0] == "4 s"


def test_what_must_agree_is_offered_along(tmp_path: Path) -> None:
    """The other setting gets the same amount in its own unit, in few digits."""
    accept = f"abs({SCALE} / {SPAN} - 1) <= 0.0001 and {SPAN} >= 500[m3/h]"
    written = {SPAN: "100 m3/h", SCALE: "30 l/s"}
    made = lever(tmp_path, accept, written, SPAN, along=(SCALE,))
    offer = next(made.offers(made.variation.all_rules, preferred=False))
    texts = {path: getattr(each, "text", "") for path, each in offer.values.items()}
    assert texts == {SPAN: "500 m3/h", SCALE: "138.9 l/s"}
    assert offer.within is not None
    assert offer.within.start == pytest.approx(500)


def test_what_is_changed_along_has_no_aim(tmp_path: Path) -> None:
    """A deviation that is none at every value gives no value to aim at."""
    accept = f"abs({SCALE} / {SPAN} - 1) <= 0.0001 and {SPAN} >= 500[m3/h]"
    written = {SPAN: "100 m3/h", SCALE: "100 m3/h"}
    made = lever(tmp_path, accept, written, SPAN, along=(SCALE,))
    assert offered(made)[0] == "500 m3/h"


def test_what_follows_may_need_all_its_digits(tmp_path: Path) -> None:
    """Where rounding would break the rule, the other amount keeps more digits."""
    accept = f"abs({SCALE} / {SPAN} - 1) <= 0.0000001 and {SPAN} >= 500[m3/h]"
    written = {SPAN: "100 m3/h", SCALE: "30 l/s"}
    made = lever(tmp_path / "a", accept, written, SPAN, along=(SCALE,))
    offer = next(made.offers(made.variation.all_rules, preferred=False))
    assert getattr(offer.values[SCALE], "text", "") == "138.888889 l/s"


def choice(folder: Path, accept: str, path: str, written: Mapping[str, str]) -> Any:
    """Give what a lever of a choice offers, None for nothing."""
    book = rule_book(folder, {"one": rule(accept)}, {path: {}})
    made = ChoiceLever(free_meter(book, written), setting_of(book, path), {})
    offer = next(made.offers(made.variation.all_rules, preferred=False), None)
    return None if offer is None else offer.values[path]


def test_a_choice_is_offered_where_there_is_but_one(tmp_path: Path) -> None:
    """The only permissible value is offered; of two nobody can say which is meant."""
    direction = "transmitter.flow_direction"
    assert choice(tmp_path / "a", LOCKED, LOCKED, {LOCKED: "false"}) is True
    accept = f"{direction} != 'both'"
    assert choice(tmp_path / "b", accept, direction, {direction: "both"}) is None
    accept = f"{direction} == 'reverse'"
    assert choice(tmp_path / "c", accept, direction, {}) == "reverse"


def test_of_the_amounts_that_are_offered_the_nearest_comes_first(
    tmp_path: Path,
) -> None:
    """Any amount of a list would do, so that several are no reason to be silent."""
    book = rule_book(tmp_path, {"one": rule(f"{DAMPING} <= 5[s]")}, {DAMPING: {}})
    free = free_meter(book, {DAMPING: "20 s"})
    free.facts.values[f"type_sheet.offers.{DAMPING}"] = ("1 s", "3 s", "10 s")
    made = ChoiceLever(free, setting_of(book, DAMPING), {})
    offers = [*made.offers(made.variation.all_rules, preferred=False)]
    assert [str(each.values[DAMPING]) for each in offers] == ["3 s", "1 s"]


def test_of_the_amounts_that_are_offered_none_is_guessed(tmp_path: Path) -> None:
    """Where no amount is written yet, one is offered only if it is the only one."""
    book = rule_book(tmp_path, {"one": rule(f"{DAMPING} <= 5[s]")}, {DAMPING: {}})
    free = free_meter(book)
    free.facts.values[f"type_sheet.offers.{DAMPING}"] = ("1 s", "3 s", "10 s")
    made = ChoiceLever(free, setting_of(book, DAMPING), {})
    assert list(made.offers(made.variation.all_rules, preferred=False)) == []
