"""Laws of the coverage report: what could be assessed, and what would help."""

from __future__ import annotations

from dataclasses import replace

import pytest

from configlint.findings import Subject
from configlint.outputs import FORMATS
from configlint.outputs.coverage import best_input, share_assessed, write
from configlint.report import LeftOpen, MeterResult, Report
from tests.reports import UNREAD

WORDS = ("conforms", "nonconforming", "not-assessed", "not-applicable", "conceded")


def result(tag: str, counts: tuple[int, ...], *left_open: LeftOpen) -> MeterResult:
    """Make a meter's result from the counts of the five outcomes."""
    outcomes = dict(zip(WORDS, counts, strict=True))
    return MeterResult(Subject("w", "north", tag, f"{tag}.yaml"), outcomes, left_open)


def report_of(*meters: MeterResult) -> Report:
    """Make a report of some meters and no findings."""
    return Report((), meters, (), len(meters))


@pytest.mark.parametrize(
    ("counts", "share"),
    [
        ((3, 0, 1, 0, 0), 0.75),
        ((1, 1, 1, 9, 1), 0.75),
        ((0, 0, 4, 0, 0), 0.0),
        ((0, 0, 0, 7, 0), 1.0),
    ],
)
def test_the_share_is_of_the_rules_that_apply(
    counts: tuple[int, ...], share: float
) -> None:
    """What does not apply counts neither for nor against a meter."""
    assert share_assessed(result("FT-1", counts)) == share


def test_the_best_input_opens_most_rules_by_itself() -> None:
    """An input counts for a rule only where the rule lacks nothing else."""
    meter = result(
        "FT-1",
        (0, 0, 4, 0, 0),
        LeftOpen("a", ("sensor.bore",)),
        LeftOpen("b", ("sensor.bore", "process.duty")),
        LeftOpen("c", ("process.flow.minimum",)),
        LeftOpen("d", ("process.flow.minimum",)),
    )
    assert best_input(meter) == ("process.flow.minimum", 2)


def test_of_equally_good_inputs_the_first_by_name_is_named() -> None:
    """The report is the same for the same input whatever the order of rules."""
    left = [LeftOpen("b", ("sensor.bore",)), LeftOpen("a", ("process.duty",))]
    assert best_input(result("FT-1", (0, 0, 2, 0, 0), *left)) == ("process.duty", 1)


def test_no_single_input_helps_where_every_rule_lacks_several() -> None:
    """Where two inputs are lacking everywhere, none is named as the one."""
    meter = result("FT-1", (1, 0, 1, 0, 0), LeftOpen("a", ("x", "y")))
    assert best_input(meter) == ("", 0)
    assert "each lacks several inputs" in write(report_of(meter), "B")


def test_meters_stand_in_order_of_what_is_left_open() -> None:
    """The least assessed meter comes first, and the whole run last."""
    whole = result("FT-1", (4, 0, 0, 2, 0))
    half = result("FT-2", (1, 1, 2, 0, 0), LeftOpen("a", ("sensor.bore",)))
    lines = FORMATS["coverage"](report_of(whole, half), "B").splitlines()
    assert lines[2] == " 50 %  FT-2, north: 2 left open; sensor.bore alone opens 1"
    assert lines[3] == "100 %  FT-1, north"
    assert lines[-1] == "2 meters: 6 of 8 outcomes assessed (75 %)"


def test_a_run_that_asks_nothing_has_no_share() -> None:
    """Without an outcome to assess no share is made up."""
    text = write(report_of(result("FT-1", (0, 0, 0, 3, 0))), "B")
    assert text.splitlines()[-1].endswith("(nothing was asked)")


def test_meters_that_were_not_judged_are_named_last() -> None:
    """A meter of which nothing could be assessed is not left out of the coverage."""
    made = replace(report_of(result("FT-1", (4, 0, 0, 2, 0))), not_judged=UNREAD)
    assert write(made, "B").splitlines()[-3:] == [
        "Not judged, since it could not be read: 2 meters",
        "  FT-2, FT-2.yaml, line 2: principle is not written.",
        "  A meter without a tag, pumps.yaml, line 1: meter is not written.",
    ]


def test_a_hostile_tag_is_made_inert() -> None:
    """A control character of a file never reaches the screen."""
    assert "\x1b" not in write(report_of(result("FT\x1b[31m", (1, 0, 0, 0, 0))), "B")
