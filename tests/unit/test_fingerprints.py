"""Laws of fingerprints: which facts of a meter speak for a slip, or rule it out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest

from configlint.diagnosis import Support
from configlint.fingerprints import Fingerprint, Seen
from configlint.units import parse_quantity

TEXTS = {"cause": "a slip"}
SCALE, RANGE = "receiver.analogue.upper_scale", "current_output.upper_range_value"


def seen(
    values: Mapping[str, Any] | None = None, compared: tuple[str, ...] = (SCALE, RANGE)
) -> Seen:
    """Give a meter whose scale is in l/s, whose range in m3/h, with more values."""
    written = {SCALE: parse_quantity("5 l/s"), RANGE: parse_quantity("9 m3/h")}
    known = {"notation.units": ("m3/h", "l/s"), "notation.open_gallons": ()}
    return Seen(compared, {**known, **(values or {})}, written)


def test_without_conditions_a_slip_can_be_meant_in_every_meter() -> None:
    """A row that names no unit and no condition is told of every meter."""
    assert Fingerprint(TEXTS, 10.0).support(seen()) is Support.IN_PLAY
    assert Fingerprint(TEXTS, 10.0).support(Seen((), {}, {})) is Support.IN_PLAY


@pytest.mark.parametrize(
    ("of", "support"),
    [
        ({SCALE}, Support.IN_PLAY),
        ({SCALE, "sensor.bore"}, Support.IN_PLAY),
        ({"sensor.bore"}, Support.RULED_OUT),
    ],
)
def test_a_slip_is_meant_of_the_inputs_it_names(of: set[str], support: Support) -> None:
    """A ratio of other inputs than those named does not mean the slip."""
    assert Fingerprint(TEXTS, 1.25, of=frozenset(of)).support(seen()) is support


@pytest.mark.parametrize(
    ("needs", "support"),
    [
        (("l",), Support.IN_PLAY),
        (("US_gal", "m3"), Support.IN_PLAY),
        (("US_gal",), Support.RULED_OUT),
    ],
)
def test_a_slip_is_meant_where_a_unit_it_needs_is_written(
    needs: tuple[str, ...], support: Support
) -> None:
    """One of the units that are needed must be in the file, by itself or in another."""
    assert Fingerprint(TEXTS, 42.0, needs=needs).support(seen()) is support


@pytest.mark.parametrize(
    ("truth", "support"),
    [
        (True, Support.IN_PLAY),
        (None, Support.IN_PLAY),
        (False, Support.RULED_OUT),
    ],
)
def test_only_what_is_known_to_be_false_rules_a_slip_out(
    truth: bool | None, support: Support
) -> None:
    """A condition that lacks an input leaves the slip possible."""
    found = Fingerprint(TEXTS, 1.22, when=lambda *_: truth)
    assert found.support(seen()) is support


def test_units_and_convention_of_the_meter_are_weighed() -> None:
    """The units compared come before those of the file, and these before the site's."""
    flows = Fingerprint(TEXTS, 3.6, between=("l/s", "m3/h"))
    gallons = Fingerprint(TEXTS, 3.785, between=("US_gal", "l"))
    assert flows.support(seen()) is Support.COMPARED
    assert flows.support(seen(compared=(SCALE, "absent"))) is Support.WRITTEN
    assert gallons.support(seen()) is Support.UNSEEN
    at_home = seen({"site.unit_convention": "US"})
    assert gallons.support(at_home) is Support.IN_PLAY


def test_a_gallon_of_which_the_kind_is_open_may_be_either() -> None:
    """Where a bare gallon is written, imperial and US gallons are both in play."""
    gallons = Fingerprint(TEXTS, 1.2, between=("imp_gal", "US_gal"))
    units = {"notation.units": ("gal/min",)}
    is_open = {**units, "notation.open_gallons": (RANGE,)}
    assert gallons.support(seen(is_open)) is Support.WRITTEN
    assert gallons.support(seen(units)) is Support.UNSEEN


def test_a_ratio_may_be_the_meters_own() -> None:
    """A computed ratio is that of the meter's values, and none where they lack."""
    found = Fingerprint(TEXTS, math.nan, computed=lambda v, *_: v["density"] / 1000)
    assert found.suspect("cause", seen({"density": 1420.0})).ratio == 1.42
    assert math.isnan(found.suspect("cause", seen({"density": math.nan})).ratio)


def test_a_suspect_asks_for_what_speaks_for_it() -> None:
    """A row gives its cause and ratio, and whether it takes one unit for another."""
    found = Fingerprint(TEXTS, 3.6, between=("l/s", "m3/h")).suspect("cause", seen())
    assert found[:3] == ("a slip", 3.6, True)
    assert found.support() is Support.COMPARED
    assert not Fingerprint(TEXTS, 10.0).suspect("cause", seen()).is_conversion
