"""Laws of how a meter stands on its sheet: as in a check of its whole workspace."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from configlint.check import check
from configlint.laying import lay_out
from configlint.sheets import phrases, summary_words
from configlint.sheets.standing import Gap, Standing, standings
from tests.sheets import METER, checked, entries, use
from tests.workspaces import write

WORKSPACE = """\
workspace: Two works
sites:
  north: {folder: north}
  south: {folder: south}
"""
SERIAL = "sensor: {serial: S-1}\nprinciple: electromagnetic\n"
CONCESSIONS = """\
concessions:
  - rule: velocity-at-span-in-band
    meter: FT-1
    reason: The pump is to be changed.
    granted_by: Ruth Notreal
    granted_on: 2026-01-05
    expires_on: 2026-06-30
"""
DAY = date(2026, 5, 4)
FAST = METER.replace("sensor:\n", "sensor:\n  serial: S-1\n").replace("100 m", "900 m")
FILES = {
    "configlint.yaml": WORKSPACE,
    "concessions.yaml": CONCESSIONS,
    "north/site.yaml": "site: north\n",
    "south/site.yaml": "site: south\n",
    "north/FT-1.yaml": FAST,
    "north/two.yaml": f"meter: FT-2\n{SERIAL}---\nmeter: FT-3\nprinciple: vortex\n",
    "south/FT-4.yaml": "meter: FT-4\nprinciple: turbine\nsensor: {bore: 8}\n",
    "south/broken.yaml": "meter: [\n",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace in which two meters share a serial number."""
    return write(tmp_path_factory.mktemp("standing"), FILES)


def standing_of(named: Path, run_date: date | None = None) -> list[Standing]:
    """Give how the meters stand that a path names."""
    return standings(lay_out(str(named), run_date=run_date), run_date)


def held(standing: Standing) -> list[tuple[str, bool]]:
    """Give the rules of the findings, and which are conceded."""
    return [(each.rule, bool(each.conceded)) for each in standing.findings]


def test_a_meter_stands_as_in_the_check_of_its_workspace(folder: Path) -> None:
    """Findings, counts and open rules are those of the check, also across files."""
    report = check([folder], run_date=DAY, advise=False)
    for tag, name, place in (
        ("FT-1", "FT-1", 0),
        ("FT-2", "two", 0),
        ("FT-3", "two", 1),
    ):
        standing = standing_of(folder / "north" / f"{name}.yaml", DAY)[place]
        mine = [each for each in report.findings if each.subject.meter == tag]
        assert sorted(held(standing)) == sorted(
            (each.rule, not each.is_open) for each in mine
        )
        (result,) = (each for each in report.meters if each.subject.meter == tag)
        assert standing.outcomes == result.outcomes
        assert {each.rule for each in standing.gaps} == {
            each.rule for each in result.left_open
        }
        assert standing.met == tuple(sorted(result.met))
        assert len(standing.not_applicable) == result.outcomes["not-applicable"]


def test_what_is_conceded_comes_last_and_says_by_whom(folder: Path) -> None:
    """A conceded finding stands behind those to be closed, with its reason."""
    (standing,) = standing_of(folder / "north" / "FT-1.yaml", DAY)
    is_conceded = [conceded for _, conceded in held(standing)]
    assert is_conceded == sorted(is_conceded)
    last = standing.findings[-1]
    assert last.rule == "velocity-at-span-in-band"
    assert last.conceded == (
        "Conceded until 2026-06-30 by Ruth Notreal: The pump is to be changed."
    )
    (sheet,) = checked(folder / "north" / "FT-1.yaml", DAY)
    velocity = use(entries(sheet)["velocity_at_span"], "velocity-at-span-in-band")
    assert (velocity.outcome, velocity.holds) == ("conceded", False)
    assert phrases.NOT_MET in dict(phrases.use_notes([velocity]))
    label, text = list(summary_words.outcome(sheet))[len(standing.findings) - 1]
    assert label == "Conceded, B"
    assert text.endswith("by Ruth Notreal: The pump is to be changed.")


def test_without_a_day_nothing_is_conceded_and_that_is_said(folder: Path) -> None:
    """A concession holds as of a day alone: without one its finding is open."""
    (standing,) = standing_of(folder / "north" / "FT-1.yaml")
    assert not any(conceded for _, conceded in held(standing))
    assert standing.undated == ("velocity-at-span-in-band",)
    (sheet,) = checked(folder / "north" / "FT-1.yaml")
    said = dict(summary_words.outcome(sheet))["Concessions"]
    assert said.startswith("Whether velocity-at-span-in-band is conceded depends")


def test_rules_across_meters_stand_by_their_values(folder: Path) -> None:
    """A rule across meters has its outcome, and one that does not apply has none."""
    first, second = (
        standing_of(folder / "north" / f"{name}.yaml", DAY)[0]
        for name in ("FT-1", "two")
    )
    assert first.across["sensor-serial-unique"] == "nonconforming"
    assert second.across["sensor-serial-unique"] == "nonconforming"
    assert first.across["tag-unique"] == "conforms"
    assert "k-factor-not-shared" not in first.across
    assert (first.workspace, first.others) == ("Two works", 3)


def test_a_meter_of_no_workspace_is_compared_with_those_named(tmp_path: Path) -> None:
    """Without a workspace the sheets of one call are compared, and it is said."""
    write(
        tmp_path,
        {"a.yaml": f"meter: FT-1\n{SERIAL}", "b.yaml": f"meter: FT-2\n{SERIAL}"},
    )
    both, alone = checked(tmp_path), checked(tmp_path / "a.yaml")
    assert [sheet.standing.others for sheet in both if sheet.standing] == [1, 1]
    said = [dict(summary_words.outcome(sheet)) for sheet in (*both, *alone)]
    assert said[0]["Other meters"] == (
        "Compared with 1 other meter on these sheets; it is in no workspace."
    )
    assert said[2]["Other meters"].startswith("Compared with none: ")
    assert "sensor-serial-unique" in said[1]["Nonconforming, A"]


def test_a_sheet_without_a_check_says_so(folder: Path) -> None:
    """A sheet that is made of a meter alone does not head that no rule is broken."""
    (sheet,) = checked(folder / "north" / "FT-1.yaml")
    said = list(summary_words.outcome(sheet._replace(standing=None)))
    assert said == [("Rules", "No check of the meter was made for this sheet.")]


def test_a_sound_meter_says_so_and_what_is_open(folder: Path) -> None:
    """Where nothing is broken that stands first, behind it what was not assessed."""
    (sheet,) = checked(folder / "north" / "FT-1.yaml")
    assert sheet.standing is not None
    gaps = [Gap("B", each, ("run.date",)) for each in ("first", "second")]
    sound = sheet.standing._replace(findings=(), gaps=tuple(gaps), undated=())
    said = list(summary_words.outcome(sheet._replace(standing=sound)))
    assert said[0] == ("Nonconforming", "No rule.")
    assert said[1] == (
        "Not assessed, B",
        "first, second. Missing: the day to judge by; give it by --as-of DATE. "
        "`check` judges this by the day on which it runs.",
    )
    assert said[-1] == (
        "Other meters",
        "Compared with 3 other meters of the workspace Two works.",
    )


def test_a_file_beside_its_workspace_is_compared_too(folder: Path) -> None:
    """A file that no folder of the workspace leads to is judged with all the others."""
    write(folder, {".hidden/a.yaml": f"meter: FT-9\n{SERIAL}"})
    (standing,) = standing_of(folder / ".hidden" / "a.yaml")
    assert standing.others == 4
    assert ("sensor-serial-unique", False) in held(standing)


def test_a_meter_is_not_told_the_fault_of_its_namesake(tmp_path: Path) -> None:
    """Of two meters with one tag in a file, each is told what it breaks itself."""
    twice = {
        "configlint.yaml": "workspace: One\nsites:\n  north: {folder: north}\n",
        "north/site.yaml": "site: north\n",
        "north/two.yaml": f"{METER.replace('100 m', '900 m')}---\n{METER}",
    }
    fast, sound = standing_of(write(tmp_path, twice) / "north" / "two.yaml")
    rule = "velocity-at-span-in-band"
    assert rule in [each.rule for each in fast.findings]
    assert rule not in [each.rule for each in sound.findings]
    assert "tag-unique" in [each.rule for each in sound.findings]
