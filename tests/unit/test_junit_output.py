"""Laws of the test results in XML: a case an outcome, rightly counted, well-formed."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from configlint.findings import Finding, Subject
from configlint.outputs import FORMATS
from configlint.outputs.junit import MOST_CASES, write
from configlint.report import LeftOpen, MeterResult, Report
from tests.builders import FINDING
from tests.readers import read_junit
from tests.reports import (
    CONCEDED_FINDING,
    FULL,
    RULE,
    WORST,
    make_meter,
    make_report,
)

TOO_MANY = tuple(f"rule-{number}" for number in range(MOST_CASES))


def suites(report: Report) -> list[ElementTree.Element]:
    """Give the suites of a report, read strictly."""
    return list(read_junit(write(report, "B")))


def cases(report: Report) -> list[ElementTree.Element]:
    """Give the cases of a report with one suite."""
    (suite,) = suites(report)
    return list(suite)


def named(report: Report, name: str) -> ElementTree.Element:
    """Give the one case of a name."""
    (found,) = (each for each in cases(report) if each.attrib["name"] == name)
    return found


def result(case: ElementTree.Element) -> str:
    """Give what a case says besides that it was run."""
    return ", ".join(child.tag for child in case)


def made(*findings: Finding) -> Report:
    """Make a report of a meter with an outcome of each word, and some findings.

    The rules are about meters, but for one that is about reading them.
    """
    reading = replace(RULE, id="key-known")
    return replace(make_report(*findings, meters=(make_meter(),)), rules=(reading,))


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["junit"] is write


def test_every_outcome_is_a_case() -> None:
    """What is not met fails, what is left open is skipped, what is met passes."""
    found = {each.attrib["name"]: result(each) for each in cases(made(FINDING))}
    assert found == {
        "bore-right": "failure",
        "bore-known": "skipped",
        "size-agrees": "",
    }


def test_a_suite_is_a_meter() -> None:
    """Each meter is a suite of its own, with its site and its file."""
    other = Subject("plant", "", "FT-2", "FT-2.yaml")
    report = replace(made(FINDING), meters=(make_meter(), make_meter(other)))
    told = [
        (each.attrib["name"], each.attrib["file"], each.attrib["tests"])
        for each in suites(report)
    ]
    assert told == [("north FT-1", "FT-1.yaml", "3"), ("FT-2", "FT-2.yaml", "2")]


def test_a_failure_says_all_of_its_finding() -> None:
    """The message is what is wrong; the text adds place, cost, remedy and basis."""
    (failure,) = named(made(WORST), "scale-agrees")
    assert failure.attrib == {"type": "category A", "message": "The bore is wrong."}
    assert failure.text is not None
    lines = failure.text.splitlines()
    assert lines[0] == "A  scale-agrees, FT-1.yaml, line 3"
    assert lines[1] == "The bore is wrong."
    assert lines[-1] == "Basis: Common (common practice)"
    assert any(
        line.startswith("Effect: The receiver reads 20 % high") for line in lines
    )


def test_what_is_skipped_says_what_it_lacks() -> None:
    """A rule left open names the inputs that it lacks: that is not a pass."""
    (skipped,) = named(made(), "bore-known")
    assert skipped.attrib["message"] == "Not assessed: lacks sensor.bore"


def test_what_is_conceded_passes_and_says_so() -> None:
    """A conceded outcome does not fail, and tells until when, by whom and why."""
    (said,) = named(made(CONCEDED_FINDING), "bore-right")
    assert said.tag == "system-out"
    assert said.text is not None
    assert "Conceded until 2026-06-30 by invented engineer" in said.text


def test_what_does_not_apply_is_no_case() -> None:
    """Outcomes that do not apply are left out of the counts."""
    meter = make_meter()
    counts = {**meter.outcomes, "not-applicable": 50}
    report = replace(made(), meters=(meter._replace(outcomes=counts),))
    assert len(cases(report)) == 2


def test_a_finding_of_a_file_is_a_case() -> None:
    """A file without a meter is a suite by its name, so that its faults are seen."""
    subject = Subject("plant", "", "", "broken.yaml", "broken.yaml")
    report = make_report(replace(FINDING, subject=subject))
    (suite,) = suites(report)
    assert suite.attrib["name"] == suite.attrib["file"] == "broken.yaml"
    assert result(suite[0]) == "failure"


def test_a_rule_about_reading_has_a_case_for_each_place() -> None:
    """Several faults of one kind in a meter are told apart by what they point at."""
    faults = [
        replace(FINDING, rule="key-known", fingerprint=at, pointer=at)
        for at in ("/servise", "/sensor/boar", "")
    ]
    names = [each.attrib["name"] for each in cases(made(*faults))]
    assert names[:3] == ["key-known /servise", "key-known /sensor/boar", "key-known"]


def test_meters_of_one_tag_in_one_file_share_a_suite() -> None:
    """Cases of one name are numbered, so that none hides another."""
    report = replace(made(FINDING, WORST), meters=(make_meter(), make_meter()))
    report = replace(report, findings=(FINDING, replace(FINDING, fingerprint="b-2")))
    names = [each.attrib["name"] for each in cases(report)]
    assert sorted(names) == [
        *("bore-known", "bore-known (2)", "bore-right", "bore-right (2)"),
        *("size-agrees", "size-agrees (2)"),
    ]


def test_the_counts_are_those_of_the_cases() -> None:
    """The counts at the head are the sums of what the suites hold."""
    root = read_junit(write(made(FINDING, WORST, CONCEDED_FINDING), "B"))
    assert root.attrib == {
        "name": "configlint",
        "tests": "5",
        "failures": "2",
        "errors": "0",
    }


def test_a_report_of_nothing_is_well_formed() -> None:
    """A run of no meter has no suite, and is read all the same."""
    assert suites(make_report()) == []


@pytest.mark.parametrize(
    ("findings", "left_open", "expected"),
    [
        ((FINDING,), (), "failure"),
        ((CONCEDED_FINDING,), (), "system-out"),
        ((), (LeftOpen("bore-known", ("sensor.bore",)),), "skipped"),
        ((), (), ""),
        ((CONCEDED_FINDING, FINDING), (), "failure"),
    ],
)
def test_too_many_outcomes_are_a_case_a_meter(
    findings: tuple[Finding, ...], left_open: tuple[LeftOpen, ...], expected: str
) -> None:
    """Beyond the cases that are read there is one a meter, the worst that it has."""
    meter = make_meter(met=TOO_MANY, left_open=left_open)
    one = make_meter(met=("size-agrees",), left_open=())
    few = one._replace(subject=Subject("plant", "", "FT-2", "FT-2.yaml"))
    first, second = cases(make_report(*findings, meters=(meter, few, one)))
    assert first.attrib["name"] == "north FT-1 (FT-1.yaml)"
    assert (result(first), result(second)) == (expected, "")


def test_a_case_a_meter_counts_and_lists_what_is_wrong() -> None:
    """The most urgent is the message, and the text lists them all up to a bound."""
    meter = make_meter(met=TOO_MANY)
    many = tuple(replace(FINDING, fingerprint=str(number)) for number in range(30))
    (failure,) = cases(make_report(CONCEDED_FINDING, *many, WORST, meters=(meter,)))[0]
    assert failure.attrib["type"] == "category A"
    assert failure.attrib["message"] == "31 findings: The bore is wrong."
    assert failure.text is not None
    assert failure.text.startswith("A  scale-agrees, FT-1.yaml, line 3")
    assert failure.text.endswith("and 13 more")


def test_a_case_a_meter_says_what_is_left_open() -> None:
    """What was not assessed is listed with what it lacks."""
    (skipped,) = cases(make_report(meters=(make_meter(met=TOO_MANY),)))[0]
    assert skipped.attrib["message"] == "1 outcome not assessed"
    assert skipped.text == "bore-known lacks sensor.bore"


def test_exactly_as_many_as_are_read_are_told_apart() -> None:
    """At the bound each outcome is a case, and one above it each meter is."""
    meter = make_meter(met=TOO_MANY, left_open=())
    assert len(cases(make_report(meters=(meter,)))) == MOST_CASES
    assert len(cases(make_report(FINDING, meters=(meter,)))) == 1


def test_a_long_message_is_cut() -> None:
    """What stands in a list of cases is bounded; the text has it all."""
    long = replace(FINDING, message="long " * 5000)
    (failure,) = named(made(long), "bore-right")
    assert len(failure.attrib["message"]) == 1000
    assert failure.text is not None
    assert "long " * 5000 in failure.text


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")


def test_results_without_a_file_name_none() -> None:
    """A meter whose file is not known has a suite without one."""
    meter = MeterResult(Subject("", "", "FT-1", ""), {}, (), ("size-agrees",))
    assert "file" not in suites(make_report(meters=(meter,)))[0].attrib
