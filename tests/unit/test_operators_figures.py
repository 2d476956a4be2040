"""Laws of operators on what is written: figures, unit spellings, time bases, slips."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import yaml

from configlint import units
from configlint.units import parse_quantity
from tests.builders import computed

SPELLINGS = Path(units.__file__).with_name("spellings.yaml")
TIMES = {
    "second": "s",
    "minute": "min",
    "hour": "h",
    "day": "d",
    "(365*day)": "year",
}


@pytest.mark.parametrize(
    ("left", "right", "result"),
    [
        ("1.0230", "1.023", True),
        ("1.0230", "1.0231", False),
        ("250 m3/h", "69.44 l/s", True),
    ],
)
def test_figures_agree_to_the_digits_written(
    left: str, right: str, result: bool
) -> None:
    """Two amounts agree as written, to the digits of the coarser one."""
    figures = parse_quantity(left), parse_quantity(right)
    assert computed("agrees", *figures) is result


def test_texts_agree_when_they_are_the_same() -> None:
    """Texts agree when equal; with a missing one that is undecided."""
    assert computed("agrees", "DN 150", "DN 150") is True
    assert computed("agrees", "DN 150", "NPS 6") is False
    assert computed("agrees", "DN 150", parse_quantity("150 mm")) is False
    assert computed("agrees", None, "DN 150") is None
    assert computed("agrees", "DN 150", None) is None


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("440.29 US_gal/min", 440.29, "US_gal/min"),
        ("0.1550 A", 0.155, "A"),
        ("-2", -2.0, ""),
        ("1e3 m3/h", 1000.0, "m3/h"),
    ],
)
def test_a_figure_and_its_unit_are_those_written(
    text: str, number: float, unit: str
) -> None:
    """The figure of an amount is its number without its unit, as the file has it."""
    assert computed("figure", parse_quantity(text)) == number
    assert computed("unit_of", parse_quantity(text)) == unit


def test_what_is_not_written_has_no_figure_and_no_unit() -> None:
    """An amount that is not written has neither a figure nor a unit."""
    assert math.isnan(computed("figure", None))
    assert computed("unit_of", None) is None


@pytest.mark.parametrize(
    ("left", "right", "same", "decimal"),
    [
        ("m3", "m3", True, True),
        ("m3", "m³", True, True),
        ("m3", "kl", True, True),
        ("m3", "l", False, True),
        ("l", "m3", False, True),
        ("US_gal", "gal", True, True),
        ("US_Mgal", "US_gal", False, True),
        ("US_gal", "imp_gal", False, False),
        ("m3", "ft3", False, False),
        ("kg", "t", False, True),
        ("m3", "t", False, False),
        ("h", "min", False, False),
        ("hl", "dl", False, True),
        ("m3", "m4", False, False),
        ("m4", "m3", False, False),
        ("m4", "m4", False, False),
        (None, "m3", None, None),
        ("m3", None, None, None),
    ],
)
def test_units_are_compared_by_what_they_mean(
    left: str | None, right: str | None, same: bool | None, decimal: bool | None
) -> None:
    """Spellings are compared by their units, and a missing one leaves it undecided."""
    assert computed("same_unit", left, right) is same
    assert computed("decimal_units", left, right) is decimal


def test_a_time_base_is_that_of_the_definition() -> None:
    """Every flow and velocity is per the time that its definition divides by."""
    content = yaml.safe_load(SPELLINGS.read_text("utf-8"))["units"]
    tried = 0
    for kind in ("volume flow", "mass flow", "velocity"):
        for entries in content[kind].values():
            for keys, definition in entries.items():
                text = definition["is"] if isinstance(definition, dict) else definition
                for spelling in keys.split(", "):
                    base = TIMES[text.rpartition("/")[2]]
                    assert computed("time_base", spelling) == base
                    tried += 1
    assert tried > 100


@pytest.mark.parametrize("spelling", [None, "", "m3", "min", "kg/m3", "1/s", "m3/w"])
def test_what_is_no_flow_has_no_time_base(spelling: str | None) -> None:
    """Missing and unknown spellings, and units of other kinds, have no time base."""
    assert computed("time_base", spelling) is None


@pytest.mark.parametrize(
    ("stamped", "entered", "slip"),
    [
        ("1.0234", "1.0243", "Possible cause: two digits exchanged."),
        ("0.1850 A", "0.180 A", "Possible cause: a digit dropped."),
        ("0.1850 A", "0.1851 A", ""),
    ],
)
def test_a_slip_is_told_between_two_figures(
    stamped: str, entered: str, slip: str
) -> None:
    """The slip between two amounts is that between their numbers, units aside."""
    amounts = parse_quantity(stamped), parse_quantity(entered)
    assert computed("slip_between", *amounts) == slip


def test_a_slip_is_told_between_two_texts() -> None:
    """A slip between two texts is told as they are written, and none without one."""
    found = computed("slip_between", "S-20417", "S-20471")
    assert found == "Possible cause: two digits exchanged."
    assert computed("slip_between", None, "S-20471") is None
    assert computed("slip_between", parse_quantity("1.0234"), None) is None
