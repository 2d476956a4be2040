"""Laws of what is told of a concession: that it is of no use, too wide, and where."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.check import check
from tests.conceding import TODAY, TWO, Check, checks_in, entry, meter, of, told

SMALL = {"north/a.yaml": meter("FT-1", "10 m3/h")}
NOTHING = "no meter that it is of breaks the rule."


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Check:
    """Give a way to check a workspace of some meters with some concessions."""
    return checks_in(tmp_path, monkeypatch)


# --- of use -----------------------------------------------------------------


@pytest.mark.parametrize("tag", ["FT-1", "FT-9", "FT-*"])
def test_a_concession_of_nothing_is_told(run: Check, tag: str) -> None:
    """Over a whole workspace, a concession of nothing is told at its line."""
    report = run(SMALL, entry("own-range-small", tag))
    (found,) = told(report)
    assert found[:2] == ("concession-used", 2)
    assert found[2].endswith(NOTHING)


@pytest.mark.parametrize(
    ("tag", "path", "count"),
    [
        ("FT-1", "north/a.yaml", 1),
        ("FT-2", "north/a.yaml", 0),
        ("FT-*", "north/a.yaml", 0),
        ("FT-*", "north", 0),
        ("FT-*", "", 1),
    ],
)
def test_what_was_not_looked_at_is_not_told_as_unused(
    run: Check, tag: str, path: str, count: int
) -> None:
    """A concession is told as unused only if all that it may be of was looked at."""
    files = {**SMALL, "south/b.yaml": meter("FT-2", "10 m3/h")}
    report = run(files, entry("own-range-small", tag), paths=(path,))
    assert len(told(report)) == count


@pytest.mark.parametrize("text", ["meter: 'FT-3\n", "meter: FT-3\n"])
def test_a_meter_that_could_not_be_read_may_be_the_one(run: Check, text: str) -> None:
    """A pattern is not told as unused while a meter that it may be of is unread."""
    files = {**SMALL, "north/b.yaml": text}
    assert told(run(files, entry("own-range-small", "FT-*"))) == []


def test_a_rule_that_could_not_be_assessed_may_be_broken(run: Check) -> None:
    """While an input is missing, nobody knows whether the concession is of use."""
    files = {"north/a.yaml": "meter: FT-1\nprinciple: electromagnetic\n"}
    assert told(run(files, entry("own-range-small"))) == []
    assert [each[0] for each in told(run(files, entry("key-known")))] == [
        "concession-used"
    ]


def test_a_file_of_the_run_reached_by_a_link_counts(run: Check, tmp_path: Path) -> None:
    """A file is the same by whatever name the run came to it."""
    run(SMALL)
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "north", target_is_directory=True)
    report = run(SMALL, entry("own-range-small", "FT-*"), paths=("link", "south", ""))
    assert len(told(report)) == 1


def test_a_fingerprint_that_two_findings_have_concedes_neither(run: Check) -> None:
    """Two meters of one tag can't be told apart, so none of them is conceded."""
    one = {"north/a.yaml": meter("FT-1")}
    (found,) = of(run(one), "own-range-small")
    mark = entry("own-range-small", more=f"    fingerprint: '{found.fingerprint}'\n")
    assert run(one, mark).conceded == 1
    files = {**one, "north/b.yaml": meter("FT-1")}
    report = run(files, mark)
    assert report.conceded == 0
    (said,) = told(report)
    assert said[0] == "concession-used"
    assert f"{found.fingerprint}, which 2 findings have" in said[2]
    # One that names the tag is of both, and takes over.
    report = run(files, mark, entry("own-range-small"))
    assert report.conceded == 2


# --- narrow -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("tag", "more"), [(None, ""), ("*", ""), ("**", "    site: '*'\n")]
)
def test_a_concession_of_any_meter_concedes_nothing(
    run: Check, tag: str | None, more: str
) -> None:
    """What names neither a meter nor a site is a policy, and is told as too wide."""
    report = run(TWO, entry("own-range-small", tag, more=more))
    assert report.conceded == 0
    (found,) = told(report)
    assert found[:2] == ("concession-narrow", 2)
    assert "names neither a meter nor a site" in found[2]


@pytest.mark.parametrize(("count", "wide"), [(10, 0), (11, 1)])
def test_a_concession_of_many_meters_is_told(run: Check, count: int, wide: int) -> None:
    """A concession of too many meters is told, and those that conform count too."""
    files = {
        f"north/{n}.yaml": meter(f"FT-{n}", "100 m3/h" if n else "10 m3/h")
        for n in range(count)
    }
    for own in (entry("own-range-small", "FT-*"), entry("own-range-small", None)):
        site = own + "    site: north\n"
        report = run(files, site)
        assert report.conceded == count - 1
        assert [each[0] for each in told(report)] == ["concession-narrow"] * wide
    assert all("is of 11 meters, more than 10." in each[2] for each in told(report))


# --- findings about concessions ---------------------------------------------


def test_a_finding_of_a_concession_is_known_by_what_it_is_of(run: Check) -> None:
    """Entries that change places keep their findings; each has one of its own."""
    entries = [entry("own-range-small", tag) for tag in ("FT-8", "FT-9")]
    first, second = (run(TWO, *order) for order in (entries, entries[::-1]))
    prints = [
        {each.message: each.fingerprint for each in of(report, "concession-used")}
        for report in (first, second)
    ]
    assert prints[0] == prints[1]
    assert len(set(prints[0].values())) == 2
    (one, _) = of(first, "concession-used")
    assert (one.pointer, one.place.file[-16:]) == ("/concessions/0", "concessions.yaml")
    assert (one.subject.meter, one.subject.workspace) == ("", "works")


@pytest.mark.parametrize(
    ("folder", "path", "name"),
    [
        (".", ".", "concessions.yaml"),
        ("north", ".", "../concessions.yaml"),
        ("north", "a.yaml", "../concessions.yaml"),
        ("south", "../north/a.yaml", "../concessions.yaml"),
    ],
)
def test_the_file_is_named_as_the_meter_files_are(
    run: Check,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    folder: str,
    path: str,
    name: str,
) -> None:
    """A conceded finding and an expired entry name the file as the run sees it."""
    run(TWO, entry("own-range-small"), entry("key-known", last="2026-02-01"))
    monkeypatch.chdir(tmp_path / folder)
    report = check([Path(path)], run_date=TODAY)
    (late,) = of(report, "concession-in-date")
    (conceded,) = [each for each in report.findings if not each.is_open]
    assert conceded.concession is not None
    assert late.place.file == conceded.concession.place.file == name
