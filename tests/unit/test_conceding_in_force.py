"""Laws of when a concession is in force: on its days, and while its values hold."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from configlint.check import check
from configlint.errors import RunError
from tests.conceding import (
    TWO,
    WHILE,
    WORKSPACE,
    Check,
    checks_in,
    entry,
    meter,
    of,
    told,
    words_of,
)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Check:
    """Give a way to check a workspace of some meters with some concessions."""
    return checks_in(tmp_path, monkeypatch)


# --- from when and until when -----------------------------------------------


@pytest.mark.parametrize(
    ("day", "outcome", "said"),
    [
        (date(2026, 1, 30), "nonconforming", "begins on 2026-01-31, and this run is"),
        (date(2026, 1, 31), "conceded", ""),
        (date(2026, 12, 31), "conceded", ""),
        (date(2027, 1, 1), "nonconforming", "ran out on 2026-12-31"),
    ],
)
def test_a_concession_holds_from_its_first_to_its_last_day(
    run: Check, day: date, outcome: str, said: str
) -> None:
    """Outside of its days a concession concedes nothing, which is told at its line."""
    report = run(TWO, entry("own-range-small"), day=day)
    assert words_of(report, "own-range-small")[0] == ("FT-1", outcome)
    found = told(report)
    assert len(found) == bool(said)
    assert all((f[0], f[1]) == ("concession-in-date", 2) for f in found)
    assert all(said in f[2] for f in found)


def test_without_a_day_nothing_is_conceded(run: Check) -> None:
    """A run as of no day can't tell what is in force, and says nothing of it."""
    late = entry("own-range-urgent", last=None)
    report = run(TWO, entry("own-range-small"), late, day=None)
    assert all(each.is_open for each in report.findings)
    assert told(report) == []


@pytest.mark.parametrize(
    ("rule", "last", "said"),
    [
        ("own-range-urgent", "2027-01-31", ""),
        ("own-range-urgent", "2027-02-01", "for 366 days"),
        ("own-range-urgent", None, "no end"),
        ("own-services-differ", "2029-01-30", ""),
        ("own-services-differ", "2029-02-01", "category B is conceded for 3 year"),
        ("own-services-differ", None, "no end"),
        ("own-range-small", "2099-12-31", ""),
        ("own-range-small", None, ""),
    ],
)
def test_the_more_urgent_the_shorter(
    run: Check, rule: str, last: str | None, said: str
) -> None:
    """What is of category A or B has an end within its limit, or concedes nothing."""
    files = {
        f"north/{tag}.yaml": meter(tag, more="service: wash\n")
        for tag in ("FT-1", "FT-2")
    }
    report = run(files, entry(rule, last=last))
    assert words_of(report, rule)[0][1] == ("nonconforming" if said else "conceded")
    assert [said in each[2] for each in told(report)] == [True] * bool(said)


def test_a_leap_day_does_not_shorten_a_year(run: Check) -> None:
    """A year is as long as a year is, whether or not a leap day lies in it."""
    for first, last, conceded in (
        ("2028-02-29", "2029-02-28", True),
        ("2027-03-01", "2028-03-01", True),
        ("2027-03-01", "2028-03-02", False),
        ("2028-03-01", "2029-03-02", False),
    ):
        text = entry("own-range-urgent", last=last).replace("2026-01-31", first)
        report = run(TWO, text, day=date.fromisoformat(first) + timedelta(days=9))
        assert report.conceded == conceded


def test_a_policy_sets_how_long_is_too_long(run: Check) -> None:
    """A workspace's policy changes the limit, and the finding repeats its reason."""
    policy = (
        "policy:\n  concession-in-date:\n"
        "    longest_of_A: {value: 30 d, reason: Monthly review}\n"
    )
    report = run(TWO, entry("own-range-urgent"), workspace=WORKSPACE + policy)
    assert report.conceded == 0
    (found,) = of(report, "concession-in-date")
    assert "conceded for 30 d at most" in found.message
    assert found.assumptions == (
        "The limit longest_of_A is 30 d by policy (standard 1 year): Monthly review",
    )


def test_a_site_can_not_set_how_long_is_too_long(run: Check, tmp_path: Path) -> None:
    """A site's policy on the limit is refused, since it would have no effect."""
    run(TWO)
    (tmp_path / "north" / "site.yaml").write_text(
        "site: north\npolicy:\n  concession-narrow:\n"
        '    most_meters: {value: "20", reason: Many}\n',
        "utf-8",
    )
    with pytest.raises(RunError, match="those of a whole workspace"):
        check([tmp_path])


# --- while the values are those ---------------------------------------------


def test_a_bound_concession_holds_while_the_value_is_the_one(run: Check) -> None:
    """A bound concession concedes the same amount alone, and is told for another."""
    bound = entry("own-range-small", more=WHILE)
    for span, outcome in (("0.1 ML/h", "conceded"), ("101 m3/h", "nonconforming")):
        report = run({"north/a.yaml": meter("FT-1", span)}, bound)
        assert words_of(report, "own-range-small") == [("FT-1", outcome)]
        assert [each[0] for each in told(report)] == (
            [] if outcome == "conceded" else ["concession-used"]
        )
    assert told(report)[0][2].endswith(
        "concedes nothing: for FT-1, current_output.upper_range_value is 101 m3/h, "
        "and was 100 m3/h when conceded."
    )


def test_a_value_that_has_changed_in_one_of_several_meters_is_no_fault(
    run: Check,
) -> None:
    """A concession that is of use for one meter is used, though not for another."""
    files = {**TWO, "north/b.yaml": meter("FT-2", "101 m3/h")}
    report = run(files, entry("own-range-small", "FT-*", more=WHILE))
    assert words_of(report, "own-range-small") == [
        ("FT-1", "conceded"),
        ("FT-2", "nonconforming"),
    ]
    assert told(report) == []


def test_faults_of_reading_and_across_meters_are_bound_as_well(run: Check) -> None:
    """What is bound is looked up in the meter that has the finding."""
    more = "servise: a\nservice: wash\n"
    files = {
        "north/a.yaml": meter("FT-1", more=more),
        "north/b.yaml": meter("FT-2", "101 m3/h", more=more),
    }
    rules = ("key-known", "own-services-differ")
    report = run(files, *(entry(each, "FT-*", more=WHILE) for each in rules))
    for rule in rules:
        assert [word for _, word in words_of(report, rule)] == [
            "conceded",
            "nonconforming",
        ]
