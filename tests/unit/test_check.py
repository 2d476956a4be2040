"""Laws of the whole flow: everything that is found arrives in the report, in order."""

from __future__ import annotations

import gc
from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.errors import RunError
from configlint.report import Report

DATED = """\
ruleset: own
edition: "1"
rules:
  own-day:
    category: C
    asks: Is it early yet?
    limits: {longest: 180 d}
    accept: run.date - sensor.calibration.date <= longest
    finding: It is {run.date}.
    remedy: Wait.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
METER = """\
meter: FT-1
principle: electromagnetic
servise: water
"""


def write(file: Path, text: str) -> Path:
    """Write a file and the folders it needs."""
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, "utf-8")
    return file


def tags(report: Report) -> list[str]:
    """Give the tags of the meters in the order of the report."""
    return [meter.subject.meter for meter in report.meters]


def test_every_meter_of_every_file_is_in_the_report(tmp_path: Path) -> None:
    """Files are counted, meters sorted by their tags, and findings by their places."""
    write(tmp_path / "a.yaml", f"{METER.replace('FT-1', 'FT-3')}---\n{METER}")
    write(tmp_path / "b.yaml", METER.replace("FT-1", "FT-2"))
    report = check([tmp_path])
    assert report.files == 2
    assert tags(report) == ["FT-1", "FT-2", "FT-3"]
    found = [each for each in report.findings if each.rule == "key-known"]
    assert [each.place.line for each in found] == [3, 7, 3]
    assert report.left_out == ()


def test_every_rule_has_an_outcome_for_every_meter(tmp_path: Path) -> None:
    """Each meter is told of the same number of outcomes, whatever it holds."""
    write(tmp_path / "a.yaml", METER)
    write(tmp_path / "b.yaml", f"{METER}sensor: {{bore: 80 mm}}\n")
    sums = [sum(meter.outcomes.values()) for meter in check([tmp_path]).meters]
    assert sums[0] == sums[1] > 0


def test_the_order_of_the_paths_changes_nothing(tmp_path: Path) -> None:
    """The same files give an equal report, in whatever order they are named."""
    files = [write(tmp_path / f"{name}.yaml", METER) for name in "cab"]
    assert check(files) == check(files[::-1]) == check([tmp_path])


def test_each_workspace_has_its_own_rules(tmp_path: Path) -> None:
    """Meters of two workspaces in one run are judged apart, each by its own book."""
    for name in ("east", "west"):
        write(tmp_path / name / "configlint.yaml", f"workspace: {name}\n")
        write(tmp_path / name / "FT-1.yaml", METER)
    report = check([tmp_path])
    assert [meter.subject.workspace for meter in report.meters] == ["east", "west"]
    assert not [each for each in report.findings if each.rule == "tag-unique"]
    assert len(report.editions) == len(set(report.editions))


def test_a_workspace_file_can_be_named(tmp_path: Path) -> None:
    """A workspace file that is named is taken for all files."""
    write(tmp_path / "here" / "configlint.yaml", "workspace: here\n")
    other = write(tmp_path / "there" / "other.yaml", "workspace: there\n")
    file = write(tmp_path / "here" / "FT-1.yaml", METER)
    assert check([file]).meters[0].subject.workspace == "here"
    assert check([file], other).meters[0].subject.workspace == "there"


def test_what_is_left_out_is_in_the_report(tmp_path: Path) -> None:
    """A file that is not read is named with the reason."""
    write(tmp_path / "FT-1.yaml", METER)
    write(tmp_path / "lost" / "site.yaml", "site: lost\n")
    (left_out,) = check([tmp_path]).left_out
    assert left_out.file.endswith("lost/site.yaml")
    assert left_out.reason


def test_each_file_that_is_done_is_told(tmp_path: Path) -> None:
    """The one who waits is told after each file how many of how many are done."""
    files = [write(tmp_path / f"{name}.yaml", METER) for name in "abc"]
    told: list[tuple[int, int]] = []
    check(files, advance=lambda done, total: told.append((done, total)))
    assert told == [(1, 3), (2, 3), (3, 3)]


def test_a_day_can_be_given_to_judge_dates_by(tmp_path: Path) -> None:
    """The same file has the same report on every day that the run states."""
    write(tmp_path / "configlint.yaml", "workspace: plant\nrules: rules\n")
    write(tmp_path / "rules" / "dated.yaml", DATED)
    dated = f"{METER}sensor: {{calibration: {{date: 2020-01-01}}}}\n"
    write(tmp_path / "FT-1.yaml", dated)
    early, late = (
        check([tmp_path], run_date=date(year, 2, 1)) for year in (2020, 2021)
    )
    assert early == check([tmp_path], run_date=date(2020, 2, 1))
    assert not [each for each in early.findings if each.rule == "own-day"]
    (found,) = (each for each in late.findings if each.rule == "own-day")
    assert found.message == "It is 2021-02-01."


def test_a_path_that_is_not_there_stops_the_run(tmp_path: Path) -> None:
    """A run that can't be done as asked is not done in part."""
    write(tmp_path / "FT-1.yaml", METER)
    with pytest.raises(RunError, match=r"nowhere\.yaml:1:1: There is no such file"):
        check([tmp_path, tmp_path / "nowhere.yaml"])


@pytest.mark.parametrize("searching", [True, False])
@pytest.mark.parametrize("stopped", [True, False])
def test_the_search_for_cycles_is_left_as_it_was(
    tmp_path: Path, searching: bool, stopped: bool
) -> None:
    """While files are read nothing searches for cycles; afterwards all is as before."""
    seen: list[bool] = []

    def advance(done: int, total: int) -> None:
        seen.append(gc.isenabled())
        if stopped:
            raise KeyboardInterrupt

    write(tmp_path / "FT-1.yaml", METER)
    before = gc.isenabled()
    (gc.enable if searching else gc.disable)()
    try:
        if stopped:
            with pytest.raises(KeyboardInterrupt):
                check([tmp_path], advance=advance)
        else:
            check([tmp_path], advance=advance)
        assert gc.isenabled() is searching
    finally:
        (gc.enable if before else gc.disable)()
    assert seen == [False]
