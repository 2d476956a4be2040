"""Laws of the window of a setting: what it may be, what bounds it, what conflicts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from configlint.choices import Choices
from configlint.window import (
    Interval,
    Stated,
    Window,
    nearest,
    settable_paths,
    settings_of,
    solution_of,
)
from tests.free_meters import broken_by, free_meter, rule, rule_book, standard_book

SPAN = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
DAMPING = "transmitter.damping"
WEIGHT = "pulse_output.pulse_weight"
WELL_FORMED = "value-well-formed"
TWO_DIGITS = {"preferred": {"digits": "2"}}
SERIES = {"preferred": {"figures": ["1", "2", "5"]}}


def window_of(
    folder: Path,
    rules: Mapping[str, Mapping[str, Any]],
    path: str,
    written: Mapping[str, str],
    settings: Mapping[str, Mapping[str, Any]] | None = None,
) -> Window:
    """Solve for one amount of a meter."""
    book = rule_book(folder, rules, settings or {path: {}})
    window = solution_of(free_meter(book, written), path)
    assert isinstance(window, Window)
    return window


def test_each_end_is_the_limit_of_the_rule_that_bounds_it(tmp_path: Path) -> None:
    """An interval ends with the limits themselves, and names their rules."""
    rules = {
        "slow": rule(f"{DAMPING} >= 1.234[s]"),
        "fast": rule(f"{DAMPING} <= 5.678[s]"),
        "faster": rule(f"{DAMPING} <= 9[s]"),
    }
    window = window_of(tmp_path, rules, DAMPING, {DAMPING: "3 s"})
    assert window.intervals == (Interval(1.234, 5.678, "slow", "fast", True, True),)
    assert window.present is not None
    assert (window.broken, window.conflict, window.tied) == ((), (), None)
    assert set(window.rules) == set(rules)


def test_a_window_is_in_the_unit_of_the_file(tmp_path: Path) -> None:
    """Limits in another unit are told in the unit that the file uses."""
    rules = {"fast": rule(f"{SPAN} <= 36[m3/h]")}
    window = window_of(tmp_path, rules, SPAN, {SPAN: "3 l/s"})
    assert window.unit.spelling == "l/s"
    assert window.intervals[0].end == pytest.approx(10, rel=1e-12)


def test_a_window_of_a_velocity_goes_by_the_bore(tmp_path: Path) -> None:
    """A range that is written as velocity has its window in velocity."""
    rules = {"fast": rule(f"{SPAN} <= 36[m3/h]")}
    written = {SPAN: "1 m/s", "sensor.bore": "100 mm"}
    window = window_of(tmp_path, rules, SPAN, written)
    expected = 0.01 / (math.pi / 4 * 0.01)
    assert window.intervals[0].end == pytest.approx(expected, rel=1e-9)


def test_a_bore_changes_what_is_written_as_velocity(tmp_path: Path) -> None:
    """A window of the bore knows that a range in m/s is another flow then."""
    path = "sensor.bore"
    rules = {"fast": rule(f"{SPAN} <= 36[m3/h]")}
    written = {SPAN: "1 m/s", path: "100 mm"}
    window = window_of(tmp_path, rules, path, written)
    expected = 1000 * math.sqrt(0.01 / (math.pi / 4))
    assert window.intervals[0].end == pytest.approx(expected, rel=1e-9)


def test_a_set_in_several_pieces_is_found_whole(tmp_path: Path) -> None:
    """A forbidden band parts a window, and its ends are not permissible."""
    rules = {"resonance": rule(f"{DAMPING} < 2[s] or {DAMPING} > 4[s]")}
    window = window_of(tmp_path, rules, DAMPING, {DAMPING: "3 s"})
    assert window.intervals == (
        Interval(0.0, 2.0, WELL_FORMED, "resonance", True, False),
        Interval(4.0, None, "resonance", "", False, False),
    )
    assert window.broken == ("resonance",)


def test_a_single_value_is_a_point(tmp_path: Path) -> None:
    """A figure that must agree with another leaves just that figure."""
    path, plate = (
        "transmitter.calibration_factor",
        "sensor.nameplate.calibration_factor",
    )
    rules = {"agree": rule(f"agrees({path}, {plate})")}
    window = window_of(tmp_path, rules, path, {path: "1", plate: "1.0234"})
    assert window.intervals == (Interval(1.0234, 1.0234, "agree", "agree", True, True),)


def test_figures_in_two_units_agree_within_the_last_digit(tmp_path: Path) -> None:
    """A converted figure may be off by half a digit, or by the worst rounding."""
    rules = {"agree": rule(f"agrees({SCALE}, {SPAN})")}
    written = {SCALE: "1 l/s", SPAN: "100 m3/h"}
    (interval,) = window_of(tmp_path, rules, SCALE, written).intervals
    assert interval.start == pytest.approx(99.95 / 3.6, rel=1e-9)
    assert interval.end == pytest.approx(100 / 0.9995 / 3.6, rel=1e-9)


def test_only_zero_may_be_permissible(tmp_path: Path) -> None:
    """A rule that asks for zero leaves zero, on both sides of which it is broken."""
    path = "current_output.lower_range_value"
    rules = {"zero": rule(f"{path} == 0[m3/h]")}
    window = window_of(tmp_path, rules, path, {path: "5 m3/h"})
    assert window.intervals == (Interval(0.0, 0.0, "zero", "zero", True, True),)


def test_what_must_not_be_zero_begins_above_it(tmp_path: Path) -> None:
    """A limit of zero that is left out is an open end."""
    path = "current_output.lower_range_value"
    rules = {"above": rule(f"{path} > 0[m3/h]")}
    window = window_of(tmp_path, rules, path, {path: "5 m3/h"})
    assert window.intervals == (Interval(0.0, None, "above", "", False, False),)


def test_a_file_bounds_what_it_may_hold(tmp_path: Path) -> None:
    """Where no rule bounds an amount, the least and the most of a file do."""
    hours = "process.hours_per_year"
    rules = {"open": rule(f"{hours} >= 0")}
    window = window_of(tmp_path, rules, hours, {hours: "8000"})
    assert window.intervals == (
        Interval(0, 8784, WELL_FORMED, WELL_FORMED, True, True),
    )
    other = {"open": rule(f"{WEIGHT} > 0[l] or {WEIGHT} <= 0[l]")}
    (interval,) = window_of(tmp_path / "b", other, WEIGHT, {WEIGHT: "1 l"}).intervals
    assert interval == Interval(0.0, None, WELL_FORMED, "", False, False)


def test_an_empty_window_names_the_rules_in_conflict(tmp_path: Path) -> None:
    """Of several rules the fewest are named that no value meets all of."""
    rules = {
        "high": rule(f"{DAMPING} >= 5[s]"),
        "low": rule(f"{DAMPING} <= 2[s]", category="A"),
        "lower": rule(f"{DAMPING} <= 100[s]"),
    }
    window = window_of(tmp_path, rules, DAMPING, {DAMPING: "3 s"})
    assert window.intervals == ()
    assert window.conflict == ("low", "high")
    assert window.preferred == ()


def test_what_is_not_assessed_rules_nothing_out(tmp_path: Path) -> None:
    """A rule that lacks an input is told, and bounds nothing."""
    rules = {
        "fast": rule(f"{DAMPING} <= 5[s]"),
        "open": rule(f"{DAMPING} <= receiver.analogue.damping"),
    }
    window = window_of(tmp_path, rules, DAMPING, {DAMPING: "3 s"})
    assert window.intervals[0].end == 5
    assert window.not_assessed == ("open",)


def test_rules_that_the_value_cannot_sway_are_left_aside(tmp_path: Path) -> None:
    """A rule on other inputs is not asked, even where it is broken."""
    rules = {"fast": rule(f"{DAMPING} <= 5[s]"), "other": rule("sensor.bore > 1[m]")}
    written = {DAMPING: "3 s", "sensor.bore": "1 mm"}
    assert window_of(tmp_path, rules, DAMPING, written).rules == ("fast",)


def test_rules_on_figures_hold_for_single_values(tmp_path: Path) -> None:
    """A rule on figures takes no part in the intervals, and judges single values."""
    rules = {
        "round": rule(f"significand(figure({SPAN})) == 1 or {SPAN} < 0[m3/h]"),
        "wide": rule(f"5[m3/h] <= {SPAN} <= 200[m3/h]"),
    }
    window = window_of(tmp_path, rules, SPAN, {SPAN: "7 m3/h"}, {SPAN: TWO_DIGITS})
    assert window.intervals == (Interval(5, 200, "wide", "wide", True, True),)
    assert window.preferred == ("10",)
    assert window.figure_rules == ("round",)
    assert window.broken == ("round",)


def test_preferred_values_lie_inside_and_are_the_nearest(tmp_path: Path) -> None:
    """Of the preferred figures those are given that every rule lets through."""
    rules = {"wide": rule(f"0.3[l] <= {WEIGHT} <= 30[l]")}
    window = window_of(tmp_path, rules, WEIGHT, {WEIGHT: "4 l"}, {WEIGHT: SERIES})
    assert window.preferred == ("0.5", "1", "2", "5", "10", "20")
    far = window_of(tmp_path / "b", rules, WEIGHT, {WEIGHT: "1 ml"}, {WEIGHT: SERIES})
    assert far.preferred[0] == "500"


def test_a_value_that_is_not_written_has_a_window_too(tmp_path: Path) -> None:
    """Where nothing is written yet, the window shows what could be."""
    rules = {
        "wide": rule(f"3[l] <= {WEIGHT} <= 30[l]"),
        "there": rule(f"given({WEIGHT})"),
    }
    written = {"pulse_output.pulse_width": "10 ms"}
    window = window_of(tmp_path, rules, WEIGHT, written, {WEIGHT: SERIES})
    assert window.present is None
    assert window.broken == ()
    (interval,) = window.intervals
    assert interval.start == pytest.approx(0.003)
    assert interval.end == pytest.approx(0.03)
    assert window.preferred == ("0.005", "0.01", "0.02")


def test_a_value_without_window_or_text_is_told(tmp_path: Path) -> None:
    """A window that is empty, of a value that is not written, is told as such."""
    rules = {"never": rule(f"{WEIGHT} > 3[l] and {WEIGHT} < 2[l]")}
    written = {"pulse_output.pulse_width": "10 ms"}
    window = window_of(tmp_path, rules, WEIGHT, written)
    assert (window.intervals, window.conflict) == ((), ("never",))


BOTH: Mapping[str, Mapping[str, Any]] = {SPAN: {}, SCALE: {}, DAMPING: {}}
AGREE = {
    "agree": rule(f"abs({SCALE} / {SPAN} - 1) <= 0.0001", settings=[SCALE, SPAN]),
    "reach": rule(f"{SPAN} >= 200[m3/h]"),
    "fine": rule(f"{SCALE} <= 500[m3/h]"),
}


def test_settings_that_must_agree_have_a_window_together(tmp_path: Path) -> None:
    """What one may be if the other is changed along is bounded by the rules of both."""
    settings = {SPAN: TWO_DIGITS, SCALE: {}}
    written = {SPAN: "100 m3/h", SCALE: "100 m3/h"}
    window = window_of(tmp_path, AGREE, SPAN, written, settings)
    assert window.intervals == ()
    assert window.conflict == ("agree", "reach")
    tied = window.tied
    assert tied is not None
    assert (tied.rules, tied.others) == (("agree",), (SCALE,))
    assert tied.intervals == (Interval(200, 500, "reach", "fine", True, True),)
    assert set(tied.preferred) >= {"200", "210"}


def test_settings_in_two_units_are_the_same_amount_together(tmp_path: Path) -> None:
    """The other setting keeps its own unit."""
    written = {SPAN: "100 m3/h", SCALE: "30 l/s"}
    tied = window_of(tmp_path, AGREE, SCALE, written, BOTH).tied
    assert tied is not None
    (interval,) = tied.intervals
    assert interval.start == pytest.approx(200 / 3.6)
    assert interval.end == pytest.approx(500 / 3.6)


def test_a_setting_is_not_tied_to_what_a_person_reads(tmp_path: Path) -> None:
    """A counterpart that nobody can choose is not changed along."""
    settings = {SPAN: {}, SCALE: {"adjustable": "false"}}
    written = {SPAN: "100 m3/h", SCALE: "100 m3/h"}
    assert window_of(tmp_path, AGREE, SPAN, written, settings).tied is None


def test_a_setting_is_not_tied_to_what_is_not_in_use(tmp_path: Path) -> None:
    """A counterpart in a part that is not used is not changed along."""
    written = {SPAN: "100 m3/h", "receiver.analogue": "not used"}
    assert window_of(tmp_path, AGREE, SPAN, written, BOTH).tied is None


def test_a_rule_that_leaves_a_span_ties_nothing(tmp_path: Path) -> None:
    """Only a rule that leaves next to nothing to choose makes settings agree."""
    loose = {"loose": rule(f"{SCALE} <= {SPAN}", settings=[SCALE, SPAN])}
    written = {SPAN: "100 m3/h", SCALE: "100 m3/h"}
    assert window_of(tmp_path, loose, SPAN, written, BOTH).tied is None


def test_settings_of_two_kinds_are_not_the_same_amount(tmp_path: Path) -> None:
    """A rule that leaves a point of one kind ties it to no amount of another."""
    point = {"point": rule(f"{SPAN} == 100[m3/h]", settings=[SPAN, DAMPING])}
    written = {SPAN: "100 m3/h", DAMPING: "3 s"}
    assert window_of(tmp_path, point, SPAN, written, BOTH).tied is None


def test_a_persons_setting_is_solved_for_only_on_demand(tmp_path: Path) -> None:
    """What a person reads is told with the place to read it, unless it is asked for."""
    said = {"adjustable": "false", "where": "On the plate"}
    rules = {"wide": rule("sensor.bore >= 10[mm]")}
    book = rule_book(tmp_path, rules, {"sensor.bore": said})
    free = free_meter(book, {"sensor.bore": "5 mm"})
    stated = Stated("sensor.bore", "5 mm", "On the plate")
    assert solution_of(free, "sensor.bore") == stated
    window = solution_of(free, "sensor.bore", even_stated=True)
    assert isinstance(window, Window)
    assert window.intervals[0].start == 10


def test_a_setting_with_a_list_has_choices(tmp_path: Path) -> None:
    """What is no amount is answered by its values, and an open text by a person."""
    rules = {"locked": rule("transmitter.settings_locked")}
    paths = ("transmitter.settings_locked", "records.as_left_by")
    free = free_meter(rule_book(tmp_path, rules, {path: {} for path in paths}))
    assert isinstance(solution_of(free, paths[0]), Choices)
    assert solution_of(free, paths[1]) == Stated(paths[1], "", "Menu")


def test_the_settings_of_a_meter_are_those_of_rules_that_speak_of_it(
    tmp_path: Path,
) -> None:
    """Only settings in use are named, in the order in which they are declared."""
    rules = {
        "one": rule(f"{SPAN} > 1[m3/h]", settings=[SPAN, DAMPING, "type_sheet.source"]),
        "two": rule(f"{WEIGHT} > 1[l]", settings=[WEIGHT]),
        "three": rule("sensor.bore > 1[mm]", settings=["sensor.bore"]),
        "four": rule(
            "sensor.serial == 'a'",
            applies="principle == 'vortex'",
            settings=["sensor.serial"],
        ),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}, SPAN: {}})
    written = {SPAN: "10 m3/h", "pulse_output": "not used"}
    assert settings_of(free_meter(book, written)) == (DAMPING, SPAN, "sensor.bore")


def test_only_a_meters_own_values_can_be_set() -> None:
    """What a site, a type or the run says, and a part as a whole, is no setting."""
    paths = settable_paths(standard_book())
    assert {SPAN, "meter", "sensor.bore"} <= set(paths)
    assert "pulse_output" not in paths
    assert not any(path.startswith(("site.", "type_sheet.")) for path in paths)


@pytest.mark.parametrize(
    ("number", "near"), [(5.0, 10.0), (15.0, 15.0), (22.0, 20.0), (38.0, 40.0)]
)
def test_the_nearest_number_is_itself_or_an_end(number: float, near: float) -> None:
    """A number inside stays; one outside goes to the end that is nearest by ratio."""
    intervals = [
        Interval(10.0, 20.0, "", "", True, True),
        Interval(40.0, None, "", "", True, False),
    ]
    assert nearest(intervals, number) == near


def test_without_a_number_or_an_end_there_is_something_to_be_near_to() -> None:
    """Where nothing is written it is an end, and without one it is 1."""
    anything = Interval(None, None, "", "", False, False)
    assert nearest([anything], 7.0) == 7.0
    assert nearest([anything], None) == 1.0
    assert nearest([Interval(0.0, 5.0, "", "", True, True)], None) == 5.0


@pytest.mark.parametrize(
    ("number", "inside"),
    [(0.9, False), (1.0, False), (1.1, True), (2.0, True), (2.1, False)],
)
def test_an_interval_holds_what_lies_inside(number: float, inside: bool) -> None:
    """An end that is not included is outside, one that is, inside."""
    assert Interval(1.0, 2.0, "", "", False, True).holds(number) is inside


def test_an_interval_is_narrow_by_its_size() -> None:
    """A hundredth of a value is a tolerance; a span without an end never is."""
    assert Interval(100.0, 100.9, "", "", True, True).is_narrow
    assert not Interval(100.0, 102.0, "", "", True, True).is_narrow
    assert not Interval(None, 1.0, "", "", True, True).is_narrow
    assert not Interval(1.0, None, "", "", True, True).is_narrow


def test_every_standard_window_holds_what_it_says() -> None:
    """For a whole meter, ends are permissible and what lies beyond them is not."""
    book = standard_book()
    written = {
        "sensor.bore": "150 mm",
        "sensor.nominal_size": "DN 150",
        SPAN: "250 m3/h",
        SCALE: "70 l/s",
        "current_output.lower_range_value": "0 m3/h",
        WEIGHT: "10 l",
        "receiver.counter.pulse_weight": "10 l",
        "pulse_output.pulse_width": "20 ms",
        "process.flow.maximum": "200 m3/h",
        "process.flow.minimum": "20 m3/h",
        "transmitter.low_flow_cutoff": "1 %",
        DAMPING: "3 s",
    }
    free = free_meter(book, written)
    solved = [solution_of(free, path) for path in settings_of(free)]
    windows = [each for each in solved if isinstance(each, Window)]
    assert len(windows) > 6
    for window in windows:
        mine = set(window.rules) - set(window.figure_rules)
        for interval in window.intervals:
            for end, rule_id in zip(interval[:2], interval[2:4], strict=True):
                if end and rule_id != WELL_FORMED:
                    text = f"{end:.15f} {window.unit.spelling}".rstrip()
                    included = (
                        interval.start_included
                        if end == interval.start
                        else interval.end_included
                    )
                    broken = broken_by(free, {window.setting: text}) & mine
                    assert (not broken) is included, (window.setting, end)


def test_an_end_at_zero_is_zero_itself(tmp_path: Path) -> None:
    """No other turn of the same comparison stands in for a limit of zero."""
    path = "current_output.lower_range_value"
    rules = {
        "below": rule(f"{path} < 0[m3/h] or {path} == {SPAN}"),
        "whole": rule(f"round({path} / 1[m3/h]) == round({path} / 1[m3/h])"),
    }
    written = {path: "-5 m3/h", SPAN: "100 m3/h"}
    first = window_of(tmp_path, rules, path, written).intervals[0]
    assert (first.end, first.end_included, first.end_rule) == (0.0, False, "below")
