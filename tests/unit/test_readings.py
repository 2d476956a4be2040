"""Laws of what a change makes of a meter's net reading, and of its revision."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.review.changes import MeterChange
from configlint.review.compare_markdown import write as write_markdown
from configlint.review.readings import Reading
from configlint.review.words import reading_words, stale_words
from tests.comparisons import FILE, compared, meter_text

Values = Mapping[str, str | None]
FACTOR = "transmitter.calibration_factor"
SCALE = "receiver.analogue.upper_scale"
RANGE = "current_output.upper_range_value"


def changed(folder: Path, before: Values, after: Values) -> MeterChange:
    """Give the change of the sound meter from some values to others."""
    one, other = ({FILE: meter_text(values)} for values in (before, after))
    (change,) = compared(folder, one, other).meters
    return change


def told(change: MeterChange) -> list[str]:
    """Give what is told of the readings."""
    return [reading_words(each) for each in change.readings]


def test_the_net_reading_is_told_before_and_after(tmp_path: Path) -> None:
    """All wrong stages are told together: what the receiver read, and what it reads."""
    change = changed(tmp_path, {SCALE: "300 m3/h"}, {FACTOR: "0.9927"})
    assert told(change) == ["The receiver read 20 % high; it now reads 3 % low."]


def test_faults_that_hide_one_another_read_right(tmp_path: Path) -> None:
    """A second fault that makes up for the first is told by what both come to."""
    change = changed(
        tmp_path, {FACTOR: "2.0468"}, {FACTOR: "2.0468", SCALE: "125 m3/h"}
    )
    assert told(change) == ["The receiver read 100 % high; it now reads right."]


def test_what_does_not_move_is_not_told(tmp_path: Path) -> None:
    """Both ends changed together, or a setting outside the chain, move no reading."""
    both = changed(tmp_path / "a", {}, {SCALE: "300 m3/h", RANGE: "300 m3/h"})
    assert both.readings == ()
    assert changed(tmp_path / "b", {}, {"transmitter.damping": "4 s"}).readings == ()


def test_what_is_not_known_on_both_sides_is_not_told(tmp_path: Path) -> None:
    """Without the factor that is stamped nobody can say what the receiver reads."""
    stamped = "sensor.nameplate.calibration_factor"
    change = changed(tmp_path, {stamped: None}, {stamped: None, SCALE: "300 m3/h"})
    assert "The receiver read" not in " ".join(told(change))


def test_a_fault_outside_the_chain_leaves_the_reading_untold(tmp_path: Path) -> None:
    """What the chain says is not what is read where another fault bears on it too."""
    zero = {"receiver.analogue.lower_scale": "-50 m3/h"}
    change = changed(tmp_path / "a", zero, {**zero, SCALE: "300 m3/h"})
    assert change.readings == ()
    mended = changed(tmp_path / "b", {**zero, SCALE: "300 m3/h"}, {})
    assert mended.readings == ()


def test_what_only_orders_the_stages_of_a_chain_does_not_follow(tmp_path: Path) -> None:
    """A quantity that a chain is asked by is no consequence; the reading tells it."""
    change = changed(tmp_path, {FACTOR: "1.1", SCALE: "300 m3/h"}, {FACTOR: "1.1"})
    told_ones = {each.quantity for one in change.settings for each in one.consequences}
    assert told_ones
    assert not {name for name in told_ones if name.startswith("second_")}


def test_an_output_that_is_not_used_reads_nothing(tmp_path: Path) -> None:
    """A chain that one side does without is not told, though its numbers are there."""
    off = {"receiver.analogue": "not used"}
    change = changed(tmp_path, off, {**off, FACTOR: "1.1"})
    assert [each.of for each in change.readings] == ["The meter"]


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (0.0, 0.2, "read right; it now reads 20 % high"),
        (-0.25, 0.0, "read 25 % low; it now reads right"),
        (1.5, -0.6, "read 2.5 times the flow; it now reads 0.4 of the flow"),
        (0.2001, 0.2002, "read 20.01 % high; it now reads 20.02 % high"),
    ],
)
def test_readings_are_told_in_figures_that_differ(
    before: float, after: float, words: str
) -> None:
    """Errors are told in percent, large ones as a part or a multiple of the flow."""
    assert reading_words(Reading("It", "q", before, after)) == f"It {words}."


# --- the revision of the records --------------------------------------------

REVISION = "records.revision"


@pytest.mark.parametrize(
    ("before", "after", "revision"),
    [
        ({REVISION: "3"}, {REVISION: "3", SCALE: "300 m3/h"}, "3"),
        ({REVISION: "3"}, {REVISION: "4", SCALE: "300 m3/h"}, ""),
        ({REVISION: None}, {REVISION: None, SCALE: "300 m3/h"}, ""),
        ({REVISION: "3"}, {REVISION: None, SCALE: "300 m3/h"}, ""),
        ({REVISION: "3"}, {REVISION: "3", SCALE: "250000 l/h"}, ""),
        ({REVISION: "3"}, {REVISION: "3", "records.approved_by": "Bea"}, ""),
    ],
)
def test_settings_that_change_raise_the_revision(
    tmp_path: Path, before: Values, after: Values, revision: str
) -> None:
    """A revision that stays while settings don't is told, where there is one at all."""
    change = changed(tmp_path, before, after)
    assert change.revision == revision
    words = f"Settings changed, but records.revision is still {revision}."
    assert stale_words(change) == (words if revision else "")


def test_a_reviewer_reads_of_a_meter_only_what_there_is(tmp_path: Path) -> None:
    """In a comment a meter has an entry where reading or revision are to be told."""
    before = {FILE: meter_text({REVISION: "3"})}
    damped = {REVISION: "4", "transmitter.damping": "4 s"}
    quiet = compared(tmp_path / "quiet", before, {FILE: meter_text(damped)})
    assert "#### Meters" not in write_markdown(quiet, "B")
    moved = {REVISION: "3", SCALE: "300 m3/h"}
    told = write_markdown(compared(tmp_path, before, {FILE: meter_text(moved)}), "B")
    assert "Settings changed, but records.revision is still 3; The receiver" in told
    assert "read right; it now reads 20 % high" in told
