"""Laws of the rules on a calculation sheet: what they ask, and how far off it is."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.check import check
from configlint.sheets.uses import ASKS, JUDGES, TELLS
from configlint.sheets.worksheet_values import Sheet
from tests.sheets import (
    METER,
    entries,
    sheet_of,
    use,
    write_works,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace with a meter, rules of its own and a changed limit."""
    return write_works(tmp_path_factory.mktemp("sheet"))


@pytest.fixture(scope="module")
def sheet(folder: Path) -> Sheet:
    """Give the sheet of the meter."""
    return sheet_of(folder)


def test_a_rule_stands_with_outcome_limits_and_margins(sheet: Sheet) -> None:
    """Each comparison is told with its limit, how far inside, and the policy's note."""
    velocity = entries(sheet)["velocity_at_span"]
    span = use(velocity, "velocity-at-span-in-band")
    assert (span.role, span.outcome, span.category) == (JUDGES, "conforms", "B")
    low, high = span.bounds
    assert (low.condition, low.limit) == ("0.3 m/s ≤ v_URV", "0.3 m/s")
    assert (low.numbers, low.distance) == ("0.3 m/s ≤ 1.57 m/s", "5.24 times the limit")
    assert low.margin == pytest.approx(1.571901 / 0.3 - 1, rel=1e-6)
    assert (high.condition, high.limit) == ("v_URV ≤ 6 m/s", "6 m/s")
    assert (high.numbers, high.distance) == (
        "1.57 m/s ≤ 6 m/s",
        "73.8 % below the limit",
    )
    assert high.margin == pytest.approx(1 - 1.571901 / 6, rel=1e-6)
    assert span.margin == high.margin
    assert span.condition == "0.3 m/s ≤ v_URV ≤ 6 m/s"
    assert low.is_met
    assert high.is_met
    assert span.notes == (
        "The limit highest is 6 m/s by policy (standard 10 m/s): Abrasive sludge",
    )


def test_a_limit_that_is_computed_is_told_as_an_amount(sheet: Sheet) -> None:
    """A side of a comparison stands in symbols, and its amount as the limit."""
    velocity = entries(sheet)["velocity_at_normal_flow"]
    low, high = use(velocity, "velocity-at-normal-flow").bounds
    assert low.condition == "(lowest at normal of duty) ≤ v_n"
    assert (low.limit, high.limit) == ("0.5 m/s", "10 ft/s (3.05 m/s)")


def test_a_rule_that_is_not_met_is_off_by_its_margin(folder: Path) -> None:
    """A limit that is not met has a margin below zero, the same as in the finding."""
    text = METER.replace("upper_range_value: 100 m3/h", "upper_range_value: 500 m3/h")
    file = folder / "north" / "other.yaml"
    file.write_text(text, "utf-8")
    velocity = entries(sheet_of(folder, text))["velocity_at_span"]
    span = use(velocity, "velocity-at-span-in-band")
    found = {each.rule: each for each in check([file]).findings}
    assert span.outcome == "nonconforming"
    assert [each.is_met for each in span.bounds] == [True, False]
    assert span.margin == span.bounds[1].margin == pytest.approx(-0.309918, rel=1e-5)
    assert span.margin == found["velocity-at-span-in-band"].margin


ABOVE, BELOW = "18.5 K above the limit", "66.7 % below the limit"
ROOM = 0.666666666667


def test_every_kind_of_comparison_is_told(sheet: Sheet) -> None:
    """Equality has no margin, nor has a limit of zero; only the branch taken speaks."""
    found = entries(sheet)
    spread = use(found["spread"], "own-spread")
    assert spread.condition == (
        "Δ_T = 18.5 K and 0 K < Δ_T and (Δ_T < 18.5 K · 3 or Δ_T ≤ 0 K)"
    )
    named = ("spread", "agreed", "turned")
    assert [each[:-1] for each in spread.bounds] == [
        (*said, True)
        for said in (
            ("Δ_T = 18.5 K", "18.5 K", "=", "18.5 K", True, "18.5 K", None, ""),
            ("0 K < Δ_T", "0 K", "<", "18.5 K", True, "0 K", None, ABOVE),
            ("Δ_T < 18.5 K · 3", "18.5 K", "<", "55.5 K", False, "55.5 K", ROOM, BELOW),
        )
    ]
    assert [each.paths for each in spread.bounds] == [
        named[:2],
        ("least", "spread"),
        named,
    ]
    (hot,) = use(found["hottest"], "own-spread").bounds
    assert (hot.condition, hot.limit) == ("T_hot ≤ 25 °C", "25 °C")
    assert use(found["half"], "own-spread").bounds == ()


def test_a_rule_can_ask_or_only_tell(sheet: Sheet) -> None:
    """A rule that applies by a value asks it; one whose text shows it tells it."""
    velocity = entries(sheet)["velocity_at_span"]
    assert use(velocity, "velocity-at-normal-flow").role == ASKS
    assert use(entries(sheet)["bore"], "velocity-at-span-in-band").role == TELLS


def test_a_value_that_is_the_limit_itself_is_not_mistaken(sheet: Sheet) -> None:
    """Where the quantity is the limit, what is held against it is told as that."""
    lowest = use(entries(sheet)["lowest_calibration_factor"], PLAUSIBLE).bounds
    highest = use(entries(sheet)["highest_calibration_factor"], PLAUSIBLE).bounds
    said = [(each.condition, each.numbers, each.limit) for each in (*lowest, *highest)]
    assert said == [
        ("K_min ≤ K_T", "0.5 ≤ 1.0234", "0.5"),
        ("K_T ≤ K_max", "1.0234 ≤ 2.0", "2.0"),
    ]
    assert lowest[0].distance == "2.05 times the limit"
    assert highest[0].distance == "48.8 % below the limit"


PLAUSIBLE = "calibration-factor-plausible"


def test_a_rule_that_another_value_breaks_says_so(folder: Path) -> None:
    """Of a rule that is not met, a value that meets its part is told as such."""
    text = METER.replace("  calibration_factor: 1.0234\n", "  calibration_factor: 3\n")
    found = entries(sheet_of(folder, text))
    held = {
        name: use(found[f"{name}_calibration_factor"], PLAUSIBLE).holds
        for name in ("lowest", "highest")
    }
    assert held == {"lowest": True, "highest": False}


def test_of_alternatives_those_that_hold_are_told(folder: Path) -> None:
    """Where a rule is met one way, the other ways are no comparisons that decide."""
    used = METER.replace("analogue: {", "use: monitoring\n  analogue: {")
    slow = used.replace("damping: 3 s", "damping: 20 s")
    time = use(entries(sheet_of(folder, slow))["filter_time"], "damping-suits-duty")
    assert time.outcome == "conforms"
    assert [each.condition for each in time.bounds] == ["τ ≤ 60 s"]
    assert "τ ≤ 5 s" in time.condition


def test_texts_are_held_against_each_other(folder: Path) -> None:
    """Two texts that a rule compares stand in quotes, with the sign that is true."""
    text = METER.replace("flow_unit: m3/h", "flow_unit: l/s")
    base = use(entries(sheet_of(folder, text))["display_time_base"], "one-time-base")
    assert [(each.numbers, each.is_met) for each in base.bounds] == [
        ("“h” ≠ “s”", False)
    ]
    assert (base.bounds[0].margin, base.bounds[0].distance) == (None, "")


def test_days_have_no_share(folder: Path) -> None:
    """One day is no share of another, so that no distance of two days is told."""
    left = use(entries(sheet_of(folder))["left_on"], "own-days").bounds
    assert [(each.numbers, each.distance) for each in left] == [
        ("2026-01-02 ≤ 2026-01-02", ""),
    ]


def test_two_computed_sides_have_a_unit(folder: Path) -> None:
    """Where neither side of a comparison is a single value, both are amounts still."""
    found = entries(sheet_of(folder))
    (half,) = use(found["half"], "own-sides").bounds
    assert half.numbers == "1.5 ≤ 55.5"
    (spread,) = use(found["spread"], "own-sides-of-kelvins").bounds
    assert spread.numbers == "37.0 K ≤ 55.5 K"
    assert spread.limit == "55.5 K"


def test_a_choice_that_nobody_needs_stays_a_choice(sheet: Sheet) -> None:
    """A choice without its input is written whole where a rule is met without it."""
    spread = use(entries(sheet)["spread"], "own-ways")
    assert spread.outcome == "conforms"
    assert "5 K where" in spread.condition
    assert spread.bounds == ()


def test_what_holds_together_within_a_choice_is_told(sheet: Sheet) -> None:
    """Of ways to meet a rule, one that asks for several things is told with all."""
    spread = use(entries(sheet)["spread"], "own-nests")
    assert [each.numbers for each in spread.bounds] == ["1 K < 18.5 K", "18.5 K < 25 K"]


def test_a_part_that_is_not_decided_is_not_broken(sheet: Sheet) -> None:
    """Where one value breaks a rule, another that lacks an input is not blamed."""
    found = entries(sheet)
    spread, half = (use(found[name], "own-parts") for name in ("spread", "half"))
    assert (spread.outcome, spread.holds) == ("nonconforming", False)
    assert (half.outcome, half.holds, half.bounds) == ("nonconforming", True, ())
