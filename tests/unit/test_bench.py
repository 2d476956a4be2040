"""Laws of the bench: which limits judge a meter, and what a workspace gets wrong."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.errors import RunError
from configlint.findings import Amount
from configlint.sites import NO_WORKSPACE
from configlint.workspace import find_sources
from tests.benches import (
    METER,
    OWN,
    PLANT,
    SHEET,
    SOUTH,
    WORKSPACE,
    Make,
    made_in,
    of_rule,
    open_bench,
)
from tests.workspaces import write


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """Give a way to check files in a workspace of two sites."""
    return made_in(tmp_path)


def test_each_site_is_judged_by_its_own_limits(make: Make) -> None:
    """A site's policy goes over the workspace's, and its findings say so."""
    ranged = f"{METER}current_output: {{upper_range_value: 75 m3/h}}\n"
    _, _, findings = make({"north/a.yaml": ranged, "south/b.yaml": ranged})
    found, *others = of_rule(findings, "own-range-small")
    assert others == []
    assert found.subject.site == "north"
    assert found.limits == {"highest": Amount(60.0, "m3/h")}
    assert found.message == "75 m3/h is above 60 m3/h."
    assert found.remedy == "Make the range smaller than 60 m3/h."
    (note,) = found.assumptions
    assert "60 m3/h" in note
    assert "50 m3/h" in note
    assert "Larger pumps" in note


def test_without_a_site_the_workspace_policy_holds(tmp_path: Path) -> None:
    """A meter outside every site is judged by the limits of the workspace."""
    workspace = WORKSPACE.replace("  south: {folder: south}\n", "")
    ranged = f"{METER}current_output: {{upper_range_value: 75 m3/h}}\n"
    files = {**PLANT, "configlint.yaml": workspace, "other/a.yaml": ranged}
    sources = find_sources([write(tmp_path, files) / "other" / "a.yaml"])
    bench = Bench(sources.workspaces[0])
    for source in sources.files:
        assert source.site is None
        bench.take(source)
    (found,) = of_rule(bench.close()[1], "own-range-small")
    assert found.subject.site == ""
    assert found.limits["highest"] == Amount(60.0, "m3/h")


def test_standard_limits_hold_without_a_policy(make: Make) -> None:
    """Where no policy speaks, the finding shows the rule's own limit and no note."""
    plain = WORKSPACE.partition("policy:")[0]
    ranged = f"{METER}current_output: {{upper_range_value: 75 m3/h}}\n"
    _, _, findings = make({"configlint.yaml": plain, "north/a.yaml": ranged})
    (found,) = of_rule(findings, "own-range-small")
    assert found.limits == {"highest": Amount(50.0, "m3/h")}
    assert found.assumptions == ()
    assert found.margin == -0.5


def test_an_unknown_type_sheet_is_told_where_it_is_named(make: Make) -> None:
    """A type sheet that is nowhere is a finding that offers the nearest."""
    files = {
        "north/a.yaml": f"{METER}type_sheet: own-typ\n",
        "north/b.yaml": f"{METER}type_sheet: own-type\n",
    }
    _, _, findings = make(files)
    (found,) = of_rule(findings, "type-sheet-known")
    assert found.place[1:] == (4, 13)
    assert found.place.file.endswith("north/a.yaml")
    assert "'own-typ'" in found.message
    assert found.remedy == "Write own-type, if that is meant."


def test_a_bench_names_the_rule_sets_that_judge(make: Make) -> None:
    """The workspace's own rule set stands among the standard ones."""
    bench, _, _ = make({"north/a.yaml": METER})
    editions = {each.name: each.edition for each in bench.editions}
    assert editions["own"] == "7"
    assert "reading" in editions


@pytest.mark.parametrize(
    ("file", "text", "problem"),
    [
        ("types/own.yaml", f"{SHEET}mean: A slip\n", "own.yaml:5:1"),
        ("types/own.yaml", "[\n", "own.yaml:1:1"),
        ("rules/own.yaml", OWN.replace("highest: 50", "highest: fifty"), "own.yaml:18"),
        ("south/site.yaml", SOUTH.replace("25 l/s", "25 m/s"), "site.yaml:4:22"),
    ],
)
def test_what_the_workspace_gets_wrong_stops_the_bench(
    tmp_path: Path, file: str, text: str, problem: str
) -> None:
    """Faulty type sheets, rules and policies are refused before a meter is read."""
    with pytest.raises(RunError, match=problem):
        open_bench(tmp_path, {file: text, "north/a.yaml": METER})


def test_dates_are_judged_as_of_the_day_of_the_run() -> None:
    """Dates are judged as of the day that the bench was made with."""
    day = date(2026, 5, 4)
    assert Bench(NO_WORKSPACE, day).run_date == day
    assert Bench(NO_WORKSPACE).run_date is None
