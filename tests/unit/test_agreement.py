"""Laws of values that must be the same: found by asking the rule, copied as written."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.agreement import agreements
from configlint.rules import MeterRule
from tests.free_meters import free_meter, rule, rule_book

SPAN = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
ZERO, OWN_ZERO = "receiver.analogue.lower_scale", "current_output.lower_range_value"
MOST = "process.flow.maximum"
SAME = f"abs({SCALE} / {SPAN} - 1) <= 0.0001"


def found(
    folder: Path,
    accept: str,
    written: Mapping[str, str],
    setting: str = SCALE,
    settings: tuple[str, ...] = (SCALE, SPAN),
) -> list[tuple[str, str]]:
    """Give what a rule wants a setting to be, and which value it has that from."""
    content = {"one": rule(accept, settings=list(settings))}
    book = rule_book(folder, content, {path: {} for path in settings})
    (asked,) = book.meter_rules
    assert isinstance(asked, MeterRule)
    free = free_meter(book, written)
    return [
        (each.value.text, each.counterpart)
        for each in agreements(free, asked, setting)
        if each.values == {setting: each.value}
    ]


def test_a_value_is_wanted_as_its_counterpart_is_written(tmp_path: Path) -> None:
    """The figure keeps its digits and its unit."""
    written = {SPAN: "120.0 m3/h", SCALE: "40 l/s"}
    assert found(tmp_path / "a", SAME, written) == [("120.0 m3/h", SPAN)]
    assert found(tmp_path / "b", SAME, written, SPAN) == [("40 l/s", SCALE)]


def test_a_setting_that_is_not_written_has_a_counterpart(tmp_path: Path) -> None:
    """What is missing would be what the other one is."""
    assert found(tmp_path, SAME, {SPAN: "120 m3/h"}) == [("120 m3/h", SPAN)]


@pytest.mark.parametrize(
    "accept",
    [
        f"{SCALE} >= {SPAN}",
        f"{SCALE} <= {SPAN}",
        f"{SCALE} == 2 * {SPAN}",
        f"abs({SCALE} / {SPAN} - 1) <= 0.5",
        f"{SPAN} >= 200[m3/h]",
    ],
)
def test_a_limit_is_no_agreement(tmp_path: Path, accept: str) -> None:
    """A rule that lets a value be more or less does not want it to be the other."""
    assert found(tmp_path, accept, {SPAN: "120 m3/h", SCALE: "40 l/s"}) == []


def test_no_flow_is_an_amount_like_others(tmp_path: Path) -> None:
    """Zero is copied, and a value off zero is held against the present one."""
    accept = f"abs({ZERO} - {OWN_ZERO}) <= 0.001[m3/h]"
    settings = (ZERO, OWN_ZERO)
    written = {ZERO: "0 m3/h", OWN_ZERO: "50 m3/h"}
    both = [
        found(tmp_path / path, accept, written, path, settings) for path in settings
    ]
    assert both == [[("50 m3/h", OWN_ZERO)], [("0 m3/h", ZERO)]]
    written = {OWN_ZERO: "0 m3/h"}
    assert found(tmp_path / "c", accept, written, ZERO, settings) == []


def test_a_value_that_only_the_rule_reads_is_a_counterpart(tmp_path: Path) -> None:
    """It need not be among the settings that a person would change."""
    accept = f"abs({SCALE} / {MOST} - 1) <= 0.0001"
    written = {MOST: "120 m3/h", SCALE: "40 l/s"}
    assert found(tmp_path, accept, written, SCALE, (SCALE,)) == [("120 m3/h", MOST)]


def test_a_value_of_another_kind_is_no_counterpart(tmp_path: Path) -> None:
    """A velocity is no scale of a receiver, and a site's value no meter's."""
    accept = f"{SAME} and given(site.mains_frequency) and given(sensor.bore)"
    written = {"sensor.bore": "100 mm", SPAN: "2 m/s", SCALE: "50 m3/h"}
    assert found(tmp_path, accept, written) == []


def test_a_bare_number_stays_one(tmp_path: Path) -> None:
    """A factor has no unit, and is copied from one that has none."""
    plate, own = "sensor.nameplate.calibration_factor", "transmitter.calibration_factor"
    written = {plate: "1.0500", own: "1.5"}
    accept = f"agrees({plate}, {own})"
    assert found(tmp_path, accept, written, own, (own, plate)) == [("1.0500", plate)]


def test_what_is_no_amount_has_no_counterpart(tmp_path: Path) -> None:
    """A choice or a size is found among its values instead."""
    own, size = "transmitter.nominal_size", "sensor.nominal_size"
    written = {own: "DN 100", size: "DN 150"}
    assert found(tmp_path, f"{own} == {size}", written, own, (own, size)) == []
