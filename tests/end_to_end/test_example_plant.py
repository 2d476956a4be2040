"""The example plant gives exactly the findings that were put into it, and no others.

What it must give stands in `examples/expected/`, a file for each company, with the
mistake behind each finding in words. The certificates of the plant grow old, so dates
are judged as of one day.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from configlint.meters import PRINCIPLES
from configlint.rule_book import load_rule_book

COMPANIES = ("dairy", "water")
AS_OF = ("--as-of", "2026-11-25")


class Found(NamedTuple):
    """A finding as the expectation knows it."""

    company: str
    file: str
    meter: str
    rule: str
    category: str


def run_check(folder: Path, environment: dict[str, str], *paths: str) -> bytes:
    """Run the command in a folder and give its report; findings end it with 1."""
    options = ("--report", "json", *AS_OF)
    done = subprocess.run(
        (sys.executable, "-m", "configlint", "check", *paths, *options),
        cwd=folder,
        env=environment,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 1, done.stderr.decode()
    assert done.stderr == b""
    return done.stdout


def company_and_file(name: str) -> tuple[str, str]:
    """Split a file's name, of whatever folder the run was started in."""
    parts = Path(name).parts
    at = parts.index("sites")
    return parts[at - 1], "/".join(parts[at:])


def findings_of(report: dict[str, Any]) -> list[Found]:
    """Give the findings of a report, sorted."""
    return sorted(
        Found(
            *company_and_file(each["file"]),
            each["meter"],
            each["rule"],
            each["category"],
        )
        for each in report["findings"]
    )


def fingerprints_of(report: bytes) -> set[str]:
    """Give the fingerprints of all findings of a report."""
    return {each["fingerprint"] for each in json.loads(report)["findings"]}


@pytest.fixture(scope="module")
def expected(root: Path) -> dict[str, dict[str, Any]]:
    """Give what each company's files must give."""
    folder = root / "examples" / "expected"
    return {
        name: json.loads((folder / f"{name}.json").read_text("utf-8"))
        for name in COMPANIES
    }


@pytest.fixture(scope="module")
def printed(root: Path, environment: dict[str, str]) -> bytes:
    """Give the report of a run over all examples, as it was printed."""
    return run_check(root, environment, "examples")


@pytest.fixture(scope="module")
def report(printed: bytes) -> dict[str, Any]:
    """Give the report of a run over all examples."""
    content: dict[str, Any] = json.loads(printed)
    return content


def expected_findings(expected: dict[str, dict[str, Any]]) -> Iterator[Found]:
    """Give every finding that the files must give."""
    for company, content in expected.items():
        for file, findings in content["findings"].items():
            for each in findings:
                rule, category = each["rule"], each["category"]
                yield Found(company, file, each["meter"], rule, category)


def test_exactly_the_planted_mistakes_are_found(
    report: dict[str, Any], expected: dict[str, dict[str, Any]]
) -> None:
    """Every mistake put into the plant is found in its meter, and nothing else is."""
    found, wanted = findings_of(report), sorted(expected_findings(expected))
    assert sorted(set(found) - set(wanted)) == []
    assert sorted(set(wanted) - set(found)) == []
    assert len(found) == len(wanted)


def test_what_the_companies_concede_is_told_as_conceded(
    report: dict[str, Any], expected: dict[str, dict[str, Any]]
) -> None:
    """The findings that concessions.yaml names are conceded, and no others."""
    wanted = {
        (each["meter"], each["rule"])
        for content in expected.values()
        for findings in content["findings"].values()
        for each in findings
        if each.get("conceded")
    }
    found = {
        (each["meter"], each["rule"])
        for each in report["findings"]
        if each["outcome"] == "conceded"
    }
    assert found == wanted
    assert report["summary"]["conceded"] == len(found) == 2


def test_each_finding_says_which_mistake_is_behind_it(
    expected: dict[str, dict[str, Any]],
) -> None:
    """The expectation gives the mistake behind each finding in words."""
    for content in expected.values():
        for findings in content["findings"].values():
            assert all(each["why"].strip() for each in findings)


def test_sound_meters_are_wholly_assessed_and_without_findings(
    report: dict[str, Any], expected: dict[str, dict[str, Any]]
) -> None:
    """A sound meter leaves no rule open and has no finding; all others have some."""
    results = {each["meter"]: each["outcomes"] for each in report["meters"]}
    faulty = {each["meter"] for each in report["findings"]} - {""}
    sound = {tag for each in expected.values() for tag in each["sound"]}
    incomplete = {tag for each in expected.values() for tag in each["incomplete"]}
    assert set(results) - faulty == sound | incomplete
    for tag in sorted(sound):
        assert results[tag]["nonconforming"] == 0, tag
        assert results[tag]["not-assessed"] == 0, tag
        assert results[tag]["conforms"] > 30, tag
    assert all(results[tag]["not-assessed"] > 0 for tag in incomplete)


def test_the_plant_is_large_enough_to_show_the_rules(
    report: dict[str, Any], expected: dict[str, dict[str, Any]]
) -> None:
    """The plant has many meters, sound and faulty, and breaks many different rules."""
    assert report["summary"]["meters"] >= 130
    assert sum(len(each["sound"]) for each in expected.values()) >= 24
    assert len({each["rule"] for each in report["findings"]}) >= 115
    assert {each["category"] for each in report["findings"]} == {"A", "B", "C"}
    assert report["summary"]["left_out"] == []


def test_the_plant_breaks_rules_of_every_rule_file(
    report: dict[str, Any], root: Path
) -> None:
    """Every rule file has a rule that some meter of the plant breaks."""
    found = {each["rule"] for each in report["findings"]}
    files: dict[str, set[str]] = {}
    for rule in load_rule_book(root / "rules").judged_rules:
        files.setdefault(rule.place.file, set()).add(rule.id)
    assert len(files) >= 15
    assert [file for file, rules in files.items() if not rules & found] == []


def test_every_rule_is_broken_by_some_meter(report: dict[str, Any], root: Path) -> None:
    """What a rule means can be seen from a meter of the plant that breaks it."""
    found = {each["rule"] for each in report["findings"]}
    rules = {rule.id for rule in load_rule_book(root / "rules").judged_rules}
    assert len(rules) > 100
    assert rules - found == set()


def test_every_principle_has_a_sound_and_a_faulty_meter(
    report: dict[str, Any], expected: dict[str, dict[str, Any]], root: Path
) -> None:
    """Each principle of measurement is shown as it should be and as it should not."""
    faulty = {each["meter"] for each in report["findings"]}
    sound = {tag for each in expected.values() for tag in each["sound"]}
    shown: dict[str, set[str]] = {"sound": set(), "faulty": set()}
    for each in report["meters"]:
        text = (root / each["file"]).read_text("utf-8")
        principles = set(re.findall(r"^ *principle: (.+)$", text, re.MULTILINE))
        shown["sound"] |= principles if each["meter"] in sound else set()
        shown["faulty"] |= principles if each["meter"] in faulty else set()
    assert shown == {"sound": set(PRINCIPLES), "faulty": set(PRINCIPLES)}


def test_the_same_files_give_the_same_bytes(
    printed: bytes, root: Path, environment: dict[str, str]
) -> None:
    """A second run over the same files prints the same report to the byte."""
    assert run_check(root, environment, "examples") == printed


def test_line_ends_change_nothing(
    report: dict[str, Any], root: Path, tmp_path: Path, environment: dict[str, str]
) -> None:
    """A copy of the plant with CR LF line ends gives the same findings and lines."""
    shutil.copytree(root / "examples", tmp_path / "examples")
    for file in (tmp_path / "examples").rglob("*.yaml"):
        text = file.read_bytes()
        assert b"\r" not in text
        file.write_bytes(text.replace(b"\n", b"\r\n"))
    other = json.loads(run_check(tmp_path, environment, "examples"))
    assert other["findings"] == report["findings"]


def test_the_folder_of_the_run_changes_no_fingerprint(
    printed: bytes, root: Path, tmp_path: Path, environment: dict[str, str]
) -> None:
    """Started from any folder, a run gives every finding the same fingerprint."""
    elsewhere = run_check(tmp_path, environment, str(root / "examples"))
    inside = run_check(root / "examples" / "water", environment, "sites", "../dairy")
    assert fingerprints_of(elsewhere) == fingerprints_of(printed)
    assert fingerprints_of(inside) == fingerprints_of(printed)


def test_every_file_says_that_it_is_invented(root: Path) -> None:
    """Each YAML file of the plant begins with a comment that says it is invented."""
    files = sorted((root / "examples").rglob("*.yaml"))
    assert len(files) >= 100
    for file in files:
        assert file.read_text("utf-8").startswith("# Invented"), file
