"""Laws of a comparison for people: all is told, in words, in lines that fit."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.effects import Amount
from configlint.outputs.text import WIDTH
from configlint.report import Commit
from configlint.review.change_words import limit_words
from configlint.review.changes import Consequence, MeterChange, Setting
from configlint.review.compare import Comparison, compare
from configlint.review.compare_markdown import write as write_markdown
from configlint.review.compare_text import MOST_CONSEQUENCES, write
from configlint.review.limit_changes import LimitChange
from configlint.review.sides import Side, judge
from configlint.review.words import (
    consequence_words,
    figures,
    kind_words,
    setting_words,
)
from tests.builders import FINDING
from tests.comparisons import (
    FILE,
    compared,
    concession,
    eventful,
    meter_text,
    without_changes,
)
from tests.workspaces import write as write_files


@pytest.fixture(scope="module")
def comparison(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """Give a comparison with something of every kind in it."""
    return eventful(tmp_path_factory.mktemp("plant"))


def flowed(comparison: Comparison, hold_at: str = "B") -> str:
    """Give the text with its lines joined."""
    return " ".join(write(comparison, hold_at).split())


def test_every_line_fits_a_terminal(comparison: Comparison) -> None:
    """No line is longer than 80 columns but one that a single long name makes."""
    lines = write(comparison, "B").splitlines()
    long = [line for line in lines if len(line) > WIDTH]
    assert all("/" in line for line in long)
    assert lines[0].startswith("From before to after")


@pytest.mark.parametrize(
    "words",
    [
        "transmitter.calibration_factor: 1.1, now 1.2",
        "current_output.upper_range_value: 250 m3/h, now 300 m3/h",
        "velocity at span 3.93 to 4.72 m/s; ",
        "more (all in the json report)",
        "Not changed with it: receiver.analogue.upper_scale, still 250 m3/h "
        "(receiver-scale-agrees does not conform now)",
        "sensor.bore: 0.15 m, now 150 mm (written otherwise, same value)",
        "process.batch_volume: 20 m3, now not written",
        "servise: water, now not written",
        "A receiver-scale-agrees, line",
        ", new The meter sends 20 mA at 300 m3/h",
        "B key-known, gone",
        "A calibration-factor-agrees, with other figures",
        "Effect: The receiver reads",
        "Its site was north.",
        "can't be read any more",
        "could not be read before",
        "added",
        "removed",
        "north, plant in ",
        "(workspace file) changed",
        "highest at plant: the standard, now 9 m/s (tighter): Sand",
        "Rules and policy changed by this change",
        "other/x.yaml: it lies in no site's folder.",
        "Meters: 2 changed, 3 added, 3 removed; 5 judged before, 5 now",
        "The files were checked, not the meters.",
    ],
)
def test_everything_is_told_in_words(comparison: Comparison, words: str) -> None:
    """Each change, what follows from it, and each finding is told in a sentence."""
    assert words in flowed(comparison)


def test_the_last_line_is_the_verdict(comparison: Comparison) -> None:
    """The text ends with whether the comparison is held, and by how many findings."""
    counts = comparison.new_by_category
    new = counts["A"] + counts["B"]
    assert f"Held at B: {new} new findings to close." in flowed(comparison)
    last = write(comparison, "never").splitlines()[-1]
    assert last == "No hold was asked for."


def test_nothing_is_told_where_nothing_changed(tmp_path: Path) -> None:
    """Two states that are one give a sentence, the counts and the verdict, no more."""
    files = {FILE: meter_text()}
    lines = write(compared(tmp_path, files, files), "B").splitlines()
    assert lines[2:] == [
        "No setting, finding or rule has changed.",
        "Meters: 0 changed, 0 added, 0 removed; 1 judged before, 1 now",
        "Findings: 0 new, 0 gone, 0 on both sides",
        "Not held: no new finding at or above category B.",
    ]


def test_a_file_of_no_meter_is_told_by_its_name(tmp_path: Path) -> None:
    """What is found in a file that belongs to nothing stands under a heading too."""
    write_files(tmp_path, {"before.yaml": "a: b\n", "after.yaml": "meter: [\n"})
    one, other = (
        judge(Side(name, tmp_path / name, tmp_path / name))
        for name in ("before.yaml", "after.yaml")
    )
    lines = write(compare(one, other), "B").splitlines()
    assert lines[2] == "Of no meter that could be read"
    assert lines[3].endswith("/after.yaml")


def test_concessions_that_come_and_go_are_told(tmp_path: Path) -> None:
    """What is conceded now, and what is no longer, is told in words, in every form."""
    wrong = {FILE: meter_text({"transmitter.calibration_factor": "1.1"})}
    conceded = {**wrong, "concessions.yaml": concession("FT-2104")}
    come = compared(tmp_path / "a", wrong, conceded, trusted=True)
    assert "A calibration-factor-agrees, conceded now The" in flowed(come)
    assert "Conceded until 2026-02-01 by invented engineer: Known" in flowed(come)
    assert "calibration-factor-agrees, conceded now: The" in write_markdown(come, "B")
    gone = compared(tmp_path / "b", conceded, wrong)
    assert ", no longer conceded The transmitter" in flowed(gone)
    assert "Held at B: 1 new finding to close." in flowed(gone)


def test_no_line_comes_from_a_file(comparison: Comparison) -> None:
    """Control and direction characters of a file are shown, not sent."""
    assert write(comparison, "B").replace("\n", "").isprintable()


def test_the_judging_revision_is_named(comparison: Comparison) -> None:
    """Where another revision's rules judged, the head of the text says which."""
    commit = Commit("base", "0123456789abcdef")
    judged = without_changes(comparison, commit)
    assert "Judged by the rules of base (0123456789)" in write(judged, "B")


def test_of_many_quantities_the_first_are_told(comparison: Comparison) -> None:
    """A setting tells so many quantities and how many more there are."""
    (change,) = (each for each in comparison.meters if each.subject.meter == "FT-2104")
    path = "current_output.upper_range_value"
    (setting,) = (each for each in change.settings if each.path == path)
    more = len(setting.consequences) - MOST_CONSEQUENCES
    assert more > 0
    assert f"; and {more} more (all" in flowed(comparison)


@pytest.mark.parametrize(
    ("before", "after", "texts"),
    [
        (3.14159, 3.77, ("3.14", "3.77")),
        (1.00001, 1.00002, ("1.00001", "1.00002")),
        (0.0, 5e-7, ("0", "0.0000005")),
        (1234567.0, 1234568.0, ("1.234567 million", "1.234568 million")),
        (-2.0, 2.0, ("-2", "2")),
        (7.0, 7.0, ("7", "7")),
        (1.0, 1.0 + 2e-9, ("1.000000000", "1.000000002")),
        (1.0, 1.0 + 1e-15, ("1.00", "1.00")),
    ],
)
def test_figures_show_what_differs(
    before: float, after: float, texts: tuple[str, str]
) -> None:
    """Two numbers are written to three figures, or to as many as they differ in."""
    assert [float(each.split()[0]) for each in figures(before, after)] == [
        pytest.approx(float(each.split()[0]), rel=1e-12) for each in texts
    ]
    assert ["million" in each for each in figures(before, after)] == [
        "million" in each for each in texts
    ]


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (Amount(1.0, "m/s"), None, "a b 1 m/s, unknown now"),
        (None, Amount(2.5, ""), "a b 2.5, unknown before"),
        (Amount(1.0, ""), Amount(2.0, ""), "a b 1 to 2"),
    ],
)
def test_what_can_not_be_computed_is_called_unknown(
    before: Amount | None, after: Amount | None, words: str
) -> None:
    """A quantity that only one side has is told with what it was or is."""
    assert consequence_words(Consequence("a_b", "", before, after, ())) == words


def test_what_is_not_written_is_said_so() -> None:
    """A setting that comes is told as one that was not written."""
    said = setting_words(Setting("a.b", "", "1 m", False))
    assert said == "a.b: not written, now 1 m"
    assert kind_words(MeterChange(FINDING.subject, "changed")) == ""
    dropped = LimitChange("plant", "north", "rule", "highest", "5 m", "", "")
    assert limit_words(dropped) == "rule, highest at north: 5 m, now the standard"
