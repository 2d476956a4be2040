"""Laws of concessions in a run: what they concede, in which meters, and what never."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.errors import RunError
from tests.conceding import TWO, Check, checks_in, entry, meter, of, told, words_of


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Check:
    """Give a way to check a workspace of some meters with some concessions."""
    return checks_in(tmp_path, monkeypatch)


@pytest.mark.parametrize("rule", ["own-range-small", "own-range-urgent"])
def test_a_finding_is_conceded_in_one_meter_by_one_rule(run: Check, rule: str) -> None:
    """The named meter's finding of the rule is conceded, and no other is."""
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
    """One outcome of the meter becomes conceded that was nonconforming."""
    before, after = (run(TWO, *each) for each in ((), (entry("own-range-small"),)))
    first, second = (each.meters[0].outcomes for each in (before, after))
    assert second == {
        **first,
        "conceded": 1,
        "nonconforming": first["nonconforming"] - 1,
    }
    assert after.meters[1] == before.meters[1]


def test_a_conceded_finding_is_counted_apart(run: Check) -> None:
    """A conceded finding counts in no category, and is ranked behind all others."""
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
    """An unknown type sheet is conceded as other faults of reading are."""
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
    """A fingerprint concedes its own finding alone, beside a tag or without one."""
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


def test_a_faulty_file_of_concessions_stops_the_run(run: Check) -> None:
    """What nobody can read aright concedes nothing, and nothing is judged."""
    with pytest.raises(RunError, match="There is no rule 'own-range-smal'"):
        run(TWO, entry("own-range-smal"))
