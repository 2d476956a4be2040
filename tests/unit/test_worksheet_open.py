"""Laws of what a calculation sheet can't compute, and of what it leaves out."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.laying import lay_out
from configlint.sheets.worksheet_values import Lack, Open, Sheet
from tests.sheets import (
    METER,
    entries,
    gaps,
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


def test_what_lacks_an_input_names_it(folder: Path) -> None:
    """An open quantity names the inputs it lacks, and those that would do instead."""
    text = METER.replace("  bore: 150 mm\n", "").replace("  nominal_size: DN 150\n", "")
    found = gaps(sheet_of(folder, text))
    inside, size = "Inside diameter of the sensor", "Nominal size of the sensor"
    assert found["bore"].missing == (Lack("sensor.bore", inside),)
    assert found["bore"].instead == (Lack("sensor.nominal_size", size),)
    assert found["bore"].why == ""
    assert lacks(found["velocity_at_span"]) == ["sensor.bore"]
    assert found["velocity_at_span"].formula == "Q_URV / A"
    assert use(found["velocity_at_span"], "velocity-at-span-in-band").bounds == ()
    assert lacks(found["turns"]) == ["site_data.pump_speed"]


def lacks(gap: Open) -> list[str]:
    """Give the paths of the inputs that a quantity lacks."""
    return [each.path for each in gap.missing]


def test_what_gives_no_number_says_why(folder: Path, sheet: Sheet) -> None:
    """A result that is no finite number is open, with the part that gives none."""
    found = gaps(sheet)
    assert found["vast"].missing == ()
    assert found["vast"].why.endswith(" is beyond what can be computed")
    assert found["vaster"].why == "V_vast can't be computed itself"
    still = METER.replace("maximum: 90 m3/h", "maximum: 0 m3/h")
    share = gaps(sheet_of(folder, still))["share_of_maximum"]
    assert share.missing == ()
    assert share.why == "60 m³/h / 0 m³/h divides by zero"


def test_an_unreadable_value_is_told_and_nothing_stands_in(folder: Path) -> None:
    """A faulty value is missing, named on the sheet, and has no fallback."""
    sheet = sheet_of(folder, METER.replace("bore: 150 mm", "bore: 150 millimetre"))
    assert sheet.unreadable == ("sensor.bore",)
    assert lacks(gaps(sheet)["bore"]) == ["sensor.bore"]
    assert gaps(sheet)["bore"].instead == ()


def test_what_does_not_apply_is_left_out_and_counted(
    folder: Path, sheet: Sheet
) -> None:
    """Without a pulse output its quantities are gone, by its rules or by its inputs."""
    shown = entries(sheet).keys() | gaps(sheet).keys()
    assert shown.isdisjoint({"pulse_rate_at_span", "counter_error", "pulses_a_turn"})
    total = len(shown) + sheet.not_applicable + sheet.silent + sheet.unwanted
    (laid,) = lay_out(str(folder / "north" / "FT-1.yaml"))
    assert total == len(laid.book.quantities)
    used = METER.replace("pulse_output: not used", "pulse_output: {pulse_weight: 1 l}")
    more = sheet_of(folder, used)
    assert more.not_applicable < sheet.not_applicable
    assert entries(more)["pulse_rate_at_span"].result == "27.8 Hz"
    assert lacks(gaps(more)["pulses_a_turn"]) == ["site_data.pump_speed"]


def test_what_no_rule_needs_is_left_out(folder: Path) -> None:
    """What can't be computed stands on the sheet only while a rule waits for it."""
    used, batching = (
        sheet_of(folder, METER.replace("analogue: {", f"use: {way}\n  analogue: {{"))
        for way in ("monitoring", "batching")
    )
    assert "batch_time" not in gaps(used)
    assert lacks(gaps(batching)["batch_time"]) == ["process.batch_volume"]
    assert used.unwanted == batching.unwanted + 1


def test_what_serves_a_silent_text_alone_is_silent(folder: Path, sheet: Sheet) -> None:
    """A quantity that only the cause of a fault is found from stands by it alone."""
    assert sheet.silent > 0
    assert "bore_over_nominal_size" not in entries(sheet)
    wide = METER.replace("bore: 150 mm", "bore: 5.9 mm")
    assert entries(sheet_of(folder, wide))["bore_over_nominal_size"].result == "0.0393"
