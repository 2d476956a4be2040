"""Laws of the sheet on random meters: nothing raises, and by hand it adds up."""

from __future__ import annotations

import copy
import json
import math
import re
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from configlint.bench import Bench
from configlint.data import data_folder
from configlint.printed import SYSTEMS
from configlint.sheets import (
    worksheet_html,
    worksheet_json,
    worksheet_markdown,
    worksheet_text,
)
from configlint.sheets.worksheet import make_sheet
from configlint.sheets.worksheet_values import Sheet
from configlint.sites import NO_WORKSPACE
from configlint.workspace import Source
from tests.builders import validator_of
from tests.reading_back import read_amount, read_back

METERS: list[dict[str, Any]] = [
    yaml.load(file.read_text("utf-8"), yaml.BaseLoader)["meter"]
    for file in sorted((data_folder("rules") / "sound").glob("*.yaml"))
]
VALUES = st.sampled_from(
    (
        *("0 m3/h", "1e15 m3/h", "-5 m3/h", "2 m/s", "7 kg/h", "5 gal/min", "3 %"),
        *("1e-30 l", "10 US_gal", "0 s", "1e9 s", "not used", "true", "0.1", "1e15"),
        *("DN 9999", "NPS 1/2", "reverse", "0 mA", "100 A", "0 mm", "400 degC", ""),
        *("1 imp_gal", "2 t/h", "17.50 mA", "1e-9", "-40 degF", "nonsense", "8", "0"),
        *("1.50e3 mm", "26 pulses/US_gal", "0.38 Pa.s", "62.4 lb/ft3", "2026-01-02"),
    )
)
CHANGES = st.lists(
    st.tuples(st.integers(0, 400), VALUES | st.none()), min_size=1, max_size=12
)


@cache
def bench() -> Bench:
    """Give a bench of the standard rules, which are loaded once."""
    return Bench(NO_WORKSPACE)


def changed(meter: dict[str, Any], changes: list[tuple[int, str | None]]) -> bytes:
    """Write values over some of a meter's settings, or take them out, by number."""
    made = copy.deepcopy(meter)
    for number, value in changes:
        places = list(leaves(made))
        section, key = places[number % len(places)]
        if value is None:
            del section[key]
        else:
            section[key] = value
    return yaml.safe_dump(made).encode()


def leaves(section: dict[str, Any]) -> list[tuple[dict[str, Any], str]]:
    """Give every setting of a meter as its section and its key there."""
    found: list[tuple[dict[str, Any], str]] = []
    for key, value in section.items():
        found += leaves(value) if isinstance(value, dict) else [(section, key)]
    return [each for each in found if each[1] not in ("meter", "principle")]


def sheets_of(data: bytes, system: str) -> list[Sheet]:
    """Make the sheets of what a file holds."""
    source = Source("m.yaml", Path("m.yaml"), NO_WORKSPACE, None, data)
    return [make_sheet(laid, system) for laid in bench().lay_out(source)]


@settings(max_examples=50)
@given(st.sampled_from(METERS), CHANGES, st.sampled_from(("", *SYSTEMS)))
def test_every_meter_has_a_sheet_that_can_be_followed(
    meter: dict[str, Any], changes: list[tuple[int, str | None]], system: str
) -> None:
    """Whatever a meter's settings are, its sheet is whole, valid, and adds up."""
    sheets = sheets_of(changed(meter, changes), system)
    content = json.loads(worksheet_json.write(sheets))
    assert list(validator_of("worksheet").iter_errors(content)) == []
    for writer in (worksheet_text, worksheet_markdown, worksheet_html):
        assert writer.write(sheets).replace("\n", "").isprintable()
    for sheet in content["sheets"]:
        for part in sheet["parts"]:
            for quantity in part["quantities"]:
                if quantity["value"] is not None and quantity["numbers"]:
                    assert adds_up(quantity), quantity
                for limit in (
                    each for use in quantity["rules"] for each in use["limits"]
                ):
                    assert is_true(limit["numbers"]), limit


def adds_up(quantity: dict[str, Any]) -> bool:
    """Say whether the numbers of a quantity give its printed result."""
    shown = read_amount(quantity["result"])
    computed = read_back(quantity["numbers"])
    if not shown:
        return abs(computed) < 1e-6
    # One in the last place: by hand, a half may be rounded either way.
    place = 10.0 ** (1 - (quantity["figures"] or 12))
    return math.isclose(computed, shown, rel_tol=place)


SIGNS: Mapping[str, Callable[[float, float], bool]] = {
    "=": lambda left, right: math.isclose(left, right, rel_tol=5e-3),
    "≠": lambda left, right: left != right,
    "<": lambda left, right: left < right,
    ">": lambda left, right: left > right,
    "≤": lambda left, right: left < right or math.isclose(left, right, rel_tol=1e-9),
    "≥": lambda left, right: left > right or math.isclose(left, right, rel_tol=1e-9),
}
"""Of what is printed on both sides, each sign is true; equal ones may be rounded."""


def is_true(numbers: str) -> bool:
    """Say whether a comparison in numbers is true of what is printed."""
    left, sign, right = re.split(f" ([{''.join(SIGNS)}]) ", numbers)
    if left.startswith("“"):
        return (left == right) is (sign == "=")
    return SIGNS[sign](read_amount(left), read_amount(right))


def test_the_sound_meters_have_no_gap_of_arithmetic() -> None:
    """On the sheet of a sound meter whatever is open names the inputs it lacks."""
    for meter in METERS:
        (sheet,) = sheets_of(changed(meter, []), "")
        assert [gap.name for gap in sheet.open if not gap.missing] in (
            [],
            ["lower_range_digits"],
        )
        assert sum(len(part.entries) for part in sheet.parts) > 20
