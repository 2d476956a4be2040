"""Laws of what rules may name: each path with its kind, unit, meaning and choices."""

from __future__ import annotations

import math
from typing import get_args

import pytest

from configlint.fields import Choice, Day, Measured, Number, Scalar, Text, Truth
from configlint.inputs import declared_inputs, input_of, missing_value
from configlint.kinds import Kind, Sort
from configlint.units import NONE, dimension_named, unit_named
from configlint.workspace_files import Convention


def test_inputs_are_declared_with_kind_unit_and_choices() -> None:
    """An input tells its kind, the unit it is shown in, its meaning and choices."""
    inputs = declared_inputs()
    assert inputs["sensor.bore"].kind == dimension_named("length")
    assert inputs["sensor.bore"].unit == "mm"
    assert inputs["totalizer.digits"].kind == NONE
    assert inputs["current_output.upper_range_value"].kind == dimension_named(
        "volume flow"
    )
    assert inputs["pulse_output.pulse_weight"].kind == dimension_named("volume")
    assert inputs["transmitter.low_flow_cutoff"].kind == dimension_named("volume flow")
    assert inputs["construction"].choices == ("separate", "integral")
    assert inputs["records.as_left_on"].kind is Sort.DAY
    assert inputs["receiver.bus"].kind is Sort.SECTION
    assert inputs["type_sheet"].kind is Sort.TEXT
    assert inputs["type_sheet.delivered.pulse_weight"].means == (
        "Pulse weight as delivered"
    )
    assert "sensor" not in inputs
    assert "site_data" not in inputs


def test_inputs_are_shown_in_units_of_their_kind() -> None:
    """The unit that an amount is shown in is known, and of the amount's kind."""
    for path, each in declared_inputs().items():
        assert each.path == path
        assert each.means
        if each.unit:
            assert unit_named(each.unit).dimension == each.kind


def test_the_site_is_declared_with_the_conventions_of_site_files() -> None:
    """The unit conventions a rule may compare with are those a site file may name."""
    _, mark = get_args(Convention)
    assert declared_inputs()["site.unit_convention"].choices == mark.choices


@pytest.mark.parametrize(
    ("mark", "kind", "unit"),
    [
        (Measured("volume flow", unit="l/s"), dimension_named("volume flow"), "l/s"),
        (Measured("mass", "volume", unit="t"), dimension_named("mass"), "t"),
        (Number(), NONE, ""),
        (Truth(), Sort.TRUTH, ""),
        (Day(), Sort.DAY, ""),
        (Text(), Sort.TEXT, ""),
    ],
)
def test_an_input_is_what_its_mark_reads(mark: Scalar, kind: Kind, unit: str) -> None:
    """The kind and the unit of an input are those that its mark reads."""
    given = input_of("site_data.a", mark, "A value")
    assert (given.path, given.means) == ("site_data.a", "A value")
    assert (given.kind, given.unit, given.choices) == (kind, unit, ())


def test_a_closed_list_is_told() -> None:
    """The texts that a value can take are known where the list is closed."""
    assert input_of("a", Choice("one", "two"), "A").choices == ("one", "two")


@pytest.mark.parametrize("kind", [NONE, dimension_named("length"), Sort.DAY])
def test_a_missing_amount_is_no_number(kind: Kind) -> None:
    """What stands for an amount or a day that is not given is NaN."""
    value = missing_value(kind)
    assert isinstance(value, float)
    assert math.isnan(value)


def test_what_is_missing_is_empty() -> None:
    """A list that nothing is in is empty, and any other missing value is None."""
    assert missing_value(Sort.PATHS) == missing_value(Sort.TEXTS) == ()
    for kind in (Sort.TEXT, Sort.TRUTH, Sort.SECTION):
        assert missing_value(kind) is None
