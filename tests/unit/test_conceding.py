"""Laws of concessions in a run: what they concede, and what is wrong with them.

They are held here against a whole run over a workspace, whose meters break a rule of
its own, a rule across meters, and rules of reading.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest

from configlint.check import check
from configlint.data import data_folder
from configlint.errors import RunError
from configlint.findings import Finding
from configlint.report import Report
from configlint.rule_book import load_rule_book
from configlint.rules import RuleBook

TODAY = date(2026, 6, 1)

OWN = """\
ruleset: own
edition: "7"
rules:
  own-range-small:
    category: C
    asks: Is the range small?
    limits: {highest: 50 m3/h}
    accept: current_output.upper_range_value <= highest
    finding: "{current_output.upper_range_value} is above {highest}."
    remedy: Make it smaller.
    settings: [current_output.upper_range_value]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-range-urgent:
    category: A
    asks: Is the range small?
    limits: {highest: 50 m3/h}
    accept: current_output.upper_range_value <= highest
    finding: "{current_output.upper_range_value} is above {highest}."
    remedy: Make it smaller.
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
  own-services-differ:
    category: B
    asks: Is every service that of one meter?
    across: {scope: site, same: [service]}
    finding: "{others} has this service too."
    remedy: Correct it.
    settings: [service]
    basis: {practice: Common}
    proof: [{gives: conforms}, {gives: nonconforming}]
"""
WORKSPACE = """\
workspace: works
sites:
  north: {folder: north}
  south: {folder: south}
rules: rules
"""
Check = Callable[..., Report]


def meter(tag: str, span: str = "100 m3/h", more: str = "") -> str:
    """Write a meter whose range is too large for the workspace's rules."""
    return (
        f"meter: {tag}\nprinciple: electromagnetic\n"
        f"current_output: {{upper_range_value: {span}}}\n{more}"
    )


def entry(
    rule: str, tag: str | None = "FT-1", last: str | None = "2026-12-31", more: str = ""
) -> str:
    """Write an entry of the file of concessions."""
    named = "" if tag is None else f"    meter: '{tag}'\n"
    end = "" if last is None else f"    expires_on: {last}\n"
    return (
        f"  - rule: {rule}\n{named}    reason: It is old\n    granted_by: A. Nobody\n"
        f"    granted_on: 2026-01-31\n{end}{more}"
    )


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> RuleBook:
    """Give the standard rules and the workspace's own, loaded once for all runs."""
    folder = tmp_path_factory.mktemp("rules")
    (folder / "own.yaml").write_text(OWN, "utf-8")
    return load_rule_book(data_folder("rules"), folder)


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, book: RuleBook) -> Check:
    """Give a way to check a workspace of some meters with some concessions."""
    monkeypatch.setattr("configlint.bench.load_rule_book", lambda *folders: book)

    def check_files(
        files: Mapping[str, str],
        *entries: str,
        paths: tuple[str, ...] = ("",),
        day: date | None = TODAY,
        workspace: str = WORKSPACE,
    ) -> Report:
        own = {"configlint.yaml": workspace, "rules/own.yaml": OWN}
        listed = {"concessions.yaml": f"concessions:\n{''.join(entries)}"}
        sites = {"north/site.yaml": "site: north\n", "south/site.yaml": "site: south\n"}
        for name, text in {**own, **sites, **files, **listed}.items():
            file = tmp_path / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(text, "utf-8")
        return check([tmp_path / path for path in paths], run_date=day)

    return check_files


def of(report: Report, *rules: str) -> list[Finding]:
    """Give the findings of some rules."""
    return [each for each in report.findings if each.rule in rules]


def words_of(report: Report, rule: str) -> list[tuple[str, str]]:
    """Give the meters that a rule finds something in, each with the outcome."""
    found = sorted(of(report, rule), key=lambda each: each.subject.meter)
    return [(each.subject.meter, each.outcome) for each in found]


def told(report: Report) -> list[tuple[str, int, str]]:
    """Give what is told of concessions: the rule, the line, and the message."""
    rules = ("concession-in-date", "concession-used", "concession-narrow")
    return [(each.rule, each.place.line, each.message) for each in of(report, *rules)]


TWO = {"north/a.yaml": meter("FT-1"), "north/b.yaml": meter("FT-2")}

# --- what is conceded -------------------------------------------------------


@pytest.mark.parametrize("rule", ["own-range-small", "own-range-urgent"])
def test_a_finding_is_conceded_in_one_meter_by_one_rule(run: Check, rule: str) -> None:
    """The meter's finding of the rule is conceded; all others are as without it."""
    without = run(TWO)
    report = run(TWO, entry(rule))
    (conceded,) = [each for each in report.findings if not each.is_open]
    assert (conceded.rule, conceded.subject.meter) == (rule, "FT-1")
    assert conceded.outcome == "conceded"
    assert conceded.concession is not None
    assert conceded.concession.granted_by == "A. Nobody"
    assert len(report.findings) == len(without.findings)
    assert told(report) == []


def test_a_conceded_outcome_is_counted_as_such(run: Check) -> None:
    """The meter has one outcome more that is conceded, and one less nonconforming."""
    before, after = (run(TWO, *each) for each in ((), (entry("own-range-small"),)))
    first, second = (each.meters[0].outcomes for each in (before, after))
    assert second == {
        **first,
        "conceded": 1,
        "nonconforming": first["nonconforming"] - 1,
    }
    assert after.meters[1] == before.meters[1]


def test_a_conceded_finding_is_counted_apart(run: Check) -> None:
    """It is no longer one of its category, and is ranked behind all others."""
    one = {"north/a.yaml": meter("FT-1")}
    open_run, conceded = run(one), run(one, entry("own-range-urgent"))
    assert conceded.by_category["A"] == open_run.by_category["A"] - 1
    assert (open_run.conceded, conceded.conceded) == (0, 1)
    assert conceded.worst_first[-1].rule == "own-range-urgent"


def test_a_rule_across_meters_is_conceded_for_one_of_them(run: Check) -> None:
    """Of two meters in conflict the one that is named is conceded, the other not."""
    files = {
        f"north/{tag}.yaml": meter(tag, more="service: wash\n")
        for tag in ("FT-1", "FT-2")
    }
    report = run(files, entry("own-services-differ"))
    assert words_of(report, "own-services-differ") == [
        ("FT-1", "conceded"),
        ("FT-2", "nonconforming"),
    ]
    assert [each.outcomes["conceded"] for each in report.meters] == [1, 0]


def test_a_fault_of_reading_is_conceded(run: Check) -> None:
    """A fault that leaves the meter to be judged is conceded, and is no outcome."""
    files = {"north/a.yaml": meter("FT-1", more="servise: wash\n")}
    report = run(files, entry("key-known"))
    assert words_of(report, "key-known") == [("FT-1", "conceded")]
    assert report.by_outcome["conceded"] == 0
    assert report.conceded == 1


def test_an_unknown_type_sheet_is_conceded(run: Check) -> None:
    """So is the name of a type sheet that there is not."""
    files = {"north/a.yaml": meter("FT-1", more="type_sheet: of-no-device\n")}
    report = run(files, entry("type-sheet-known"))
    assert words_of(report, "type-sheet-known") == [("FT-1", "conceded")]


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("meter: FT-1\nprinciple: none\n", "meter-identified"),
        ("meter: 'FT-1\n", "file-readable"),
        ("meter: FT-1\nservice: a\nservice: b\n", "key-written-once"),
    ],
)
def test_a_fault_that_keeps_a_meter_from_being_judged_is_not_conceded(
    run: Check, text: str, rule: str
) -> None:
    """Nobody can grant leave to use what could not be looked at."""
    files = {"north/a.yaml": text, "north/b.yaml": meter("FT-2")}
    report = run(files, entry(rule))
    assert of(report, rule)
    assert all(each.is_open for each in report.findings)


def test_meters_of_a_pattern_and_a_site_are_conceded(run: Check) -> None:
    """A star takes in several meters, a site those of that site alone."""
    names = ("north/a", "north/b", "south/a")
    files = {f"{name}.yaml": meter(f"FT-{n}") for n, name in enumerate(names)}
    report = run(files, entry("own-range-small", "FT-*", more="    site: no*\n"))
    assert words_of(report, "own-range-small") == [
        ("FT-0", "conceded"),
        ("FT-1", "conceded"),
        ("FT-2", "nonconforming"),
    ]


def test_a_fingerprint_means_one_finding(run: Check) -> None:
    """With a fingerprint only that finding is conceded, without a meter as well."""
    prints = [each.fingerprint for each in of(run(TWO), "own-range-small")]
    for tag in (None, "FT-*"):
        more = f"    fingerprint: '{prints[1]}'\n"
        report = run(TWO, entry("own-range-small", tag, more=more))
        assert words_of(report, "own-range-small") == [
            ("FT-1", "nonconforming"),
            ("FT-2", "conceded"),
        ]
        assert told(report) == []


def test_the_first_of_several_concessions_is_told(run: Check) -> None:
    """A finding of two entries names the first; both are of use."""
    report = run(TWO, entry("own-range-small"), entry("own-range-small", "FT-*"))
    (one, other) = of(report, "own-range-small")
    assert one.concession is not None
    assert other.concession is not None
    assert (one.concession.number, other.concession.number) == (0, 1)
    assert told(report) == []


def test_no_comment_in_a_meter_file_silences_anything(run: Check) -> None:
    """Whatever a comment says, beside a value or above it, the findings stay."""
    plain = run({"north/a.yaml": meter("FT-1", more="servise: wash\n")})
    words = (
        *("concede", "conceded", "ignore", "disable", "skip", "allow", "accepted"),
        *("own-range-small", "off", "concession: own-range-small", "key-known: off"),
        *("configlint", "configlint: off", "configlint concede key-known"),
    )
    for word in words:
        text = meter("FT-1", more=f"servise: wash  # {word}\n").replace(
            "current_output", f"# {word}: own-range-small\ncurrent_output"
        )
        report = run({"north/a.yaml": f"# {word}\n{text}# {word}\n"})
        found = [(each.fingerprint, each.outcome) for each in report.findings]
        assert sorted(found) == sorted(
            (each.fingerprint, each.outcome) for each in plain.findings
        )


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
    """Outside of its days it concedes nothing, and that is told at its line."""
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
    """A year is one whatever its February, whichever side of it the days are on."""
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
    """A site's policy that changes it is refused, since it would have no effect."""
    run(TWO)
    (tmp_path / "north" / "site.yaml").write_text(
        "site: north\npolicy:\n  concession-narrow:\n"
        '    most_meters: {value: "20", reason: Many}\n',
        "utf-8",
    )
    with pytest.raises(RunError, match="those of a whole workspace"):
        check([tmp_path])


# --- while the values are those ---------------------------------------------

WHILE = "    while: {current_output.upper_range_value: 100 m3/h}\n"


def test_a_bound_concession_holds_while_the_value_is_the_one(run: Check) -> None:
    """The same amount is conceded, another is not, and that is told."""
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


# --- of use -----------------------------------------------------------------

SMALL = {"north/a.yaml": meter("FT-1", "10 m3/h")}
NOTHING = "no meter that it is of breaks the rule."


@pytest.mark.parametrize("tag", ["FT-1", "FT-9", "FT-*"])
def test_a_concession_of_nothing_is_told(run: Check, tag: str) -> None:
    """Over a whole workspace, one that concedes nothing is told at its line."""
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
    """Unless the run has read the meter that is named, or all of them, it says nothing.

    A run over a part of a workspace is no reason to delete a concession.
    """
    files = {**SMALL, "south/b.yaml": meter("FT-2", "10 m3/h")}
    report = run(files, entry("own-range-small", tag), paths=(path,))
    assert len(told(report)) == count


@pytest.mark.parametrize("text", ["meter: 'FT-3\n", "meter: FT-3\n"])
def test_a_meter_that_could_not_be_read_may_be_the_one(run: Check, text: str) -> None:
    """While a file or a meter can't be read, a concession of a pattern may be its."""
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
    """Above the limit the meters that it is of are counted, those that conform too."""
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


def test_a_faulty_file_of_concessions_stops_the_run(run: Check) -> None:
    """What nobody can read aright concedes nothing, and nothing is judged."""
    with pytest.raises(RunError, match="There is no rule 'own-range-smal'"):
        run(TWO, entry("own-range-smal"))
