"""Laws of rules across meters: who is compared with whom, and what is said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from configlint.engine import (
    CONFORMS,
    NONCONFORMING,
    NOT_APPLICABLE,
    NOT_ASSESSED,
    Outcome,
)
from configlint.ledger import MOST_OTHERS, Ledger
from tests.builders import make_book, make_derived

RULES = """\
ruleset: made
edition: "1"
quantities:
  double:
    means: Twice the bore
    symbol: D
    formula: 2 * sensor.bore
    unit: mm
    basis: {practice: Geometry}
rules:
  made-rule:
    category: B
    asks: Is it right?
    across: {ACROSS}
    APPLIES
    finding: "{others} too."
    remedy: Correct it.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""

SERIAL = "sensor.serial"


def settled(
    folder: Path,
    across: str,
    meters: Sequence[tuple[str, Mapping[str, str]]],
    applies: str = "",
) -> list[Outcome]:
    """Enter meters, each with its site, and give their outcomes of one rule."""
    text = RULES.replace("{ACROSS}", f"{{{across}}}")
    text = text.replace("APPLIES", f"applies: {applies}" if applies else "")
    book = make_book(folder, text)
    ledger = Ledger(book)
    for number, (site, meter) in enumerate(meters):
        ledger.enter(number, site, make_derived(book, meter))
    outcomes = ledger.settle()
    assert all(len(each) == 1 for each in outcomes.values())
    return [outcomes[number][0] for number in range(len(meters))]


def words(outcomes: Sequence[Outcome]) -> list[str]:
    """Give the words of some outcomes."""
    return [outcome.word for outcome in outcomes]


def test_a_value_that_must_be_unique_is_told_with_all_who_share_it(
    tmp_path: Path,
) -> None:
    """Without `agree` no two meters may share the value, and each names the others."""
    meters = [("a", {SERIAL: serial}) for serial in ("1", "2", "1", "1")]
    found = settled(tmp_path, "scope: all sites, same: [sensor.serial]", meters)
    bad = NONCONFORMING
    assert words(found) == [bad, CONFORMS, bad, bad]
    assert [outcome.others for outcome in found] == [(2, 3), (), (0, 3), (0, 2)]


@pytest.mark.parametrize(
    ("scope", "expected"), [("site", CONFORMS), ("all sites", NONCONFORMING)]
)
def test_meters_are_compared_within_the_scope(
    tmp_path: Path, scope: str, expected: str
) -> None:
    """Meters of two sites are compared only where the scope is all sites."""
    meters = [("a", {SERIAL: "1"}), ("b", {SERIAL: "1"})]
    found = settled(tmp_path, f"scope: {scope}, same: [sensor.serial]", meters)
    assert words(found) == [expected, expected]


def test_meters_that_share_a_value_must_agree_on_the_other(tmp_path: Path) -> None:
    """With `agree` meters of one value must share the other; those that differ tell."""
    meters = [
        ("a", {SERIAL: "1", "sensor.lining": "x"}),
        ("a", {SERIAL: "1", "sensor.lining": "x"}),
        ("a", {SERIAL: "1", "sensor.lining": "y"}),
        ("a", {SERIAL: "2", "sensor.lining": "z"}),
        ("a", {SERIAL: "3", "sensor.lining": "z"}),
        ("a", {SERIAL: "3", "sensor.lining": "z"}),
    ]
    across = "scope: site, same: [sensor.serial], agree: sensor.lining"
    found = settled(tmp_path, across, meters)
    assert words(found) == [NONCONFORMING] * 3 + [CONFORMS] * 3
    assert [outcome.others for outcome in found[:3]] == [(2,), (2,), (0, 1)]


def test_meters_come_together_only_when_all_values_are_the_same(
    tmp_path: Path,
) -> None:
    """Of several values that bring meters together, each must be shared."""
    meters = [
        ("a", {SERIAL: "1", "sensor.lining": "x"}),
        ("a", {SERIAL: "1", "sensor.lining": "y"}),
        ("a", {SERIAL: "1", "sensor.lining": "x"}),
    ]
    across = "scope: site, same: [sensor.serial, sensor.lining]"
    found = settled(tmp_path, across, meters)
    assert words(found) == [NONCONFORMING, CONFORMS, NONCONFORMING]


def test_amounts_are_compared_exactly_in_any_unit(tmp_path: Path) -> None:
    """The same amount in two units is the same, a digit more is another."""
    bores = ("150 mm", "15 cm", "0.1500 m", "150.0000001 mm")
    meters = [("a", {"sensor.bore": bore}) for bore in bores]
    found = settled(tmp_path, "scope: site, same: [sensor.bore]", meters)
    assert [outcome.others for outcome in found] == [(1, 2), (0, 2), (0, 1), ()]


def test_amounts_of_two_kinds_are_never_the_same(tmp_path: Path) -> None:
    """A range in m3/s is not that of one in m/s with the same number."""
    path = "current_output.upper_range_value"
    bore = {"sensor.bore": "100 mm"}
    meters = [("a", {path: f"2 {unit}", **bore}) for unit in ("m3/s", "m/s", "m3/s")]
    found = settled(tmp_path, f"scope: site, same: [{path}]", meters)
    assert [outcome.others for outcome in found] == [(2,), (), (0,)]


def test_a_derived_value_is_compared_too(tmp_path: Path) -> None:
    """Meters may be brought together by a quantity."""
    meters = [("a", {"sensor.bore": bore}) for bore in ("150 mm", "150 mm", "1 m")]
    found = settled(tmp_path, "scope: site, same: [double]", meters)
    assert words(found) == [NONCONFORMING, NONCONFORMING, CONFORMS]


@pytest.mark.parametrize(
    ("same", "applies", "meter", "word", "missing"),
    [
        ("sensor.serial", "", {}, NOT_ASSESSED, ("sensor.serial",)),
        ("double", "", {}, NOT_ASSESSED, ("sensor.bore",)),
        (
            "current_output.upper_range_value",
            "",
            {"current_output.upper_range_value": "3 m/s"},
            NOT_ASSESSED,
            ("sensor.bore",),
        ),
        (
            "sensor.serial",
            "sensor.bore > 1[m]",
            {SERIAL: "1"},
            NOT_ASSESSED,
            ("sensor.bore",),
        ),
        (
            "sensor.serial",
            "sensor.bore > 1[m]",
            {},
            NOT_ASSESSED,
            ("sensor.bore", "sensor.serial"),
        ),
        ("sensor.serial", "meter != 'FT-1'", {}, NOT_APPLICABLE, ()),
        ("sensor.serial", "meter == 'FT-1'", {SERIAL: "1"}, CONFORMS, ()),
    ],
)
def test_a_meter_that_can_not_be_compared_says_why(
    tmp_path: Path,
    same: str,
    applies: str,
    meter: dict[str, str],
    word: str,
    missing: tuple[str, ...],
) -> None:
    """A meter without the value, or not asked, is left out and names what it lacks."""
    found = settled(
        tmp_path,
        f"scope: all sites, same: [{same}]",
        [("a", meter), ("a", {SERIAL: "1", "sensor.bore": "2 m", "meter": "FT-2"})],
        applies,
    )
    assert (found[0].word, found[0].missing) == (word, missing)


def test_a_missing_value_of_agreement_is_named(tmp_path: Path) -> None:
    """A meter that lacks what it must agree on can't be assessed."""
    across = "scope: site, same: [meter], agree: sensor.serial"
    (outcome,) = settled(tmp_path, across, [("a", {})])
    assert (outcome.word, outcome.missing) == (NOT_ASSESSED, ("sensor.serial",))


def test_of_many_others_the_first_are_numbered(tmp_path: Path) -> None:
    """A meter that shares a value with many names the first, and counts the rest."""
    meters = [("north", {SERIAL: "S-1"})] * (MOST_OTHERS + 4)
    first, *_, last = settled(tmp_path, f"scope: site, same: [{SERIAL}]", meters)
    assert first.others == tuple(range(1, MOST_OTHERS + 1))
    assert last.others == tuple(range(MOST_OTHERS))
    assert first.more == last.more == 3
