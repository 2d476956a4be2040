"""Laws of the SARIF report: of the standard's schema, at its places, the same again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from configlint import __version__
from configlint.check import check
from configlint.errors import Place
from configlint.meters import UnreadMeter
from configlint.outputs import FORMATS
from configlint.outputs.sarif import write
from configlint.outputs.sarif_rules import remedy_words, rule_descriptor
from configlint.report import Report
from configlint.workspace import LeftOut
from tests.builders import FINDING, SOUND_RULES, make_book
from tests.readers import read_sarif
from tests.reports import (
    CONCEDED_FINDING,
    FULL,
    WORST,
    make_findings,
    make_report,
)


def results(report: Report) -> list[dict[str, Any]]:
    """Give the results of a report, read back by the schema."""
    found: list[dict[str, Any]] = read_sarif(write(report, "B"))["results"]
    return found


def result(*findings: Any) -> dict[str, Any]:
    """Give the one result of a finding."""
    (found,) = results(make_report(*findings))
    return found


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["sarif"] is write


def test_a_report_of_all_parts_is_of_the_schema() -> None:
    """A report with something in every part is valid, and names what made it."""
    run = read_sarif(write(FULL, "B"))
    driver = run["tool"]["driver"]
    assert (driver["name"], driver["version"]) == ("configlint", __version__)
    assert run["columnKind"] == "unicodeCodePoints"
    assert len(run["results"]) == len(FULL.findings)


def test_a_report_of_nothing_is_of_the_schema() -> None:
    """A run without findings is told as done, with no result."""
    run = read_sarif(write(make_report(), "B"))
    assert run["results"] == []
    (invocation,) = run["invocations"]
    assert invocation["executionSuccessful"] is True
    assert invocation["toolExecutionNotifications"] == []


def test_the_standard_rules_are_described(root: Path) -> None:
    """Each rule that judged is described by its question, its remedy and its basis."""
    report = check([root / "examples" / "water" / "sites" / "marsh"])
    run = read_sarif(write(report, "B"))
    described = run["tool"]["driver"]["rules"]
    assert [each["id"] for each in described] == [each.id for each in report.rules]
    for each, rule in zip(described, report.rules, strict=True):
        assert each["shortDescription"]["text"] == rule.asks
        assert each["fullDescription"]["text"].startswith(rule.asks)
        for part in ("Asks", "To do", "Basis"):
            assert f"{part}: " in each["help"]["text"]
            assert f"**{part}:** " in each["help"]["markdown"]
    assert all("ruleIndex" in each for each in run["results"])


@pytest.mark.parametrize(
    ("category", "level"), [("A", "error"), ("B", "warning"), ("C", "note")]
)
def test_the_level_is_that_of_the_category(category: str, level: str) -> None:
    """A category is told in the standard's own words; the properties have it too."""
    found = result(*make_findings(1, category))
    assert found["level"] == level
    assert found["properties"]["category"] == category


@pytest.mark.parametrize(
    ("file", "uri"),
    [
        ("sites/north/FT-1.yaml", "sites/north/FT-1.yaml"),
        ("north works/FT:1 (a).yaml", "north%20works/FT%3A1%20%28a%29.yaml"),
        ("größe.yaml", "gr%C3%B6%C3%9Fe.yaml"),
        ("100%.yaml", "100%25.yaml"),
        ("byte\udcff.yaml", "byte%FF.yaml"),
        ("half\ud800pair.yaml", "half%ED%A0%80pair.yaml"),
        ("a\nb.yaml", "a%0Ab.yaml"),
        ("sites/../FT-1.yaml", "FT-1.yaml"),
    ],
)
def test_a_place_is_a_uri_below_the_root(file: str, uri: str) -> None:
    """A file is named by a relative URI from the root of the repository."""
    place = Place(file, 8, 3)
    found = result(replace(FINDING, place=place))["locations"][0]["physicalLocation"]
    assert found["artifactLocation"] == {"uri": uri, "uriBaseId": "REPOSITORY"}
    assert found["region"] == {"startLine": 8, "startColumn": 3}


def test_a_place_outside_has_a_whole_uri(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file outside the repository is named from no root, so that none is missed."""
    (tmp_path / "plant" / ".git").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "plant")
    found = result(replace(FINDING, place=Place("../other works/FT-1.yaml")))
    artifact = found["locations"][0]["physicalLocation"]["artifactLocation"]
    whole = (tmp_path / "other works" / "FT-1.yaml").as_uri()
    assert artifact == {"uri": whole}


def test_every_part_of_a_finding_comes_through() -> None:
    """What is wrong, the figures, the cost and the advice stand in the result."""
    found = result(WORST)
    for words in (
        "The bore is wrong.",
        "Effect: The receiver reads 20 % high",
        "To do:",
    ):
        assert words in found["message"]["text"]
    properties = found["properties"]
    assert properties["values"]["sensor.bore"] == {"value": -80.0, "unit": "mm"}
    assert properties["limits"] == {"lowest": {"value": 0.1, "unit": ""}}
    assert properties["margin"] == -0.25
    assert properties["effect"]["reading_error"] == 0.2
    assert properties["advice"][0]["kind"] == "nearest permissible"
    assert properties["assumptions"] == ["The limit is changed by policy."]
    (logical,) = found["locations"][0]["logicalLocations"]
    assert logical == {"fullyQualifiedName": "/sensor/bore"}


def test_a_finding_without_a_pointer_has_a_place_alone() -> None:
    """A finding of a whole file points at no value in it."""
    (location,) = result(replace(FINDING, pointer=""))["locations"]
    assert location.keys() == {"physicalLocation"}


def test_a_finding_is_known_by_its_fingerprint() -> None:
    """A code host that goes by one name of fingerprint finds the same again."""
    found = result(FINDING)["partialFingerprints"]
    assert found == {
        "findingFingerprint/v1": FINDING.fingerprint,
        "primaryLocationLineHash": f"{FINDING.fingerprint}:1",
    }


def test_one_of_several_alike_is_numbered_as_a_host_numbers_them() -> None:
    """Two meters of one tag give one digest, and which of them it is behind a colon."""
    found = result(replace(FINDING, fingerprint="0123456789abcdef-12"))
    fingerprints = found["partialFingerprints"]
    assert fingerprints["findingFingerprint/v1"] == "0123456789abcdef-12"
    assert fingerprints["primaryLocationLineHash"] == "0123456789abcdef:12"


def test_a_fingerprint_stays_with_the_finding(tmp_path: Path) -> None:
    """What a host knows a finding by stays when its line is moved or is still wrong.

    It is another for another finding, so that closing one does not close the other.
    """
    meter = "meter: FT-1\nprinciple: electromagnetic\n"
    wrong = "current_output: {upper_range_value: 80 m3/h, failure_current: %s}\n"
    file = tmp_path / "FT-1.yaml"

    def known_by(text: str) -> dict[str, str]:
        file.write_text(text, "utf-8")
        return {
            each["ruleId"]: each["partialFingerprints"]["primaryLocationLineHash"]
            for each in results(check([tmp_path]))
        }

    first = known_by(meter + wrong % "20.8 mA")
    assert first == known_by(f"# A note.\n\n{meter}{wrong % '4.2 mA'}")
    assert "failure-current-outside-measuring-band" in first
    both = known_by(meter + wrong % "20.8 mA" + "servise: water\n")
    assert both.items() > first.items()
    assert len(set(both.values())) == len(both)


def test_what_is_conceded_is_suppressed() -> None:
    """A conceded finding is a suppressed result, with who conceded it and where."""
    open_one, conceded = results(make_report(FINDING, CONCEDED_FINDING))
    assert open_one["suppressions"] == []
    (suppression,) = conceded["suppressions"]
    assert suppression["kind"] == "external"
    assert suppression["status"] == "accepted"
    words = "Conceded until 2026-06-30 by invented engineer: It is replaced in spring."
    assert suppression["justification"] == words
    place = suppression["location"]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "concessions.yaml"
    assert place["region"] == {"startLine": 4, "startColumn": 5}


def test_what_is_new_is_told() -> None:
    """In a run since a revision each result says whether it was there before."""
    states = [each["baselineState"] for each in results(FULL)]
    assert states == ["new", "unchanged", "unchanged"]
    assert "baselineState" not in result(FINDING)


def test_what_was_not_checked_is_notified() -> None:
    """Files not read, meters not judged and outcomes left open are told of the run."""
    run = read_sarif(write(FULL, "B"))
    (invocation,) = run["invocations"]
    told = invocation["toolExecutionNotifications"]
    assert [(each["descriptor"]["id"], each["level"]) for each in told] == [
        ("file-left-out", "warning"),
        ("meter-not-judged", "warning"),
        ("meter-not-judged", "warning"),
        ("outcome-not-assessed", "note"),
    ]
    place = told[0]["locations"][0]["physicalLocation"]["artifactLocation"]
    assert place["uri"] == "pumps.yaml"
    assert "it lies in no site's folder" in told[0]["message"]["text"]
    place = told[1]["locations"][0]["physicalLocation"]
    assert place["artifactLocation"]["uri"] == "FT-2.yaml"
    assert place["region"] == {"startLine": 2, "startColumn": 12}
    assert "FT-2, FT-2.yaml, line 2: principle" in told[1]["message"]["text"]


def test_of_many_not_checked_the_first_are_named() -> None:
    """A hundred files and meters are named, and it is told how many are not."""
    left_out = tuple(LeftOut(f"{number}.yaml", "no reason") for number in range(102))
    unread = tuple(
        UnreadMeter(Place(f"{number}.yaml"), "", "It is.") for number in range(101)
    )
    made = replace(make_report(), left_out=left_out, not_judged=unread)
    run = read_sarif(write(made, "B"))
    told = run["invocations"][0]["toolExecutionNotifications"]
    texts = [each["message"]["text"] for each in told]
    assert len(told) == 202
    assert texts[100] == "And 2 more; the json report has all."
    assert texts[201] == "And 1 more; the json report has all."
    assert run["properties"]["not_judged"] == 101


@pytest.mark.parametrize(
    ("hold_at", "code", "words"),
    [
        ("A", 1, "Held at A: 1 finding to close."),
        ("never", 0, "No hold was asked for."),
    ],
)
def test_the_exit_code_is_that_of_the_hold(hold_at: str, code: int, words: str) -> None:
    """The run's exit code, and why it is that, stand in the invocation."""
    (invocation,) = read_sarif(write(FULL, hold_at))["invocations"]
    assert invocation["exitCode"] == code
    assert invocation["exitCodeDescription"] == words


def test_the_run_says_what_judged_and_the_counts() -> None:
    """Rule sets, counts and revisions stand in the properties of the run."""
    properties = read_sarif(write(FULL, "B"))["properties"]
    assert properties["rulesets"] == [{"name": "own", "edition": "7", "digest": "0f"}]
    assert properties["categories"] == {"A": 1, "B": 1, "C": 0}
    assert properties["conceded"] == 1
    assert properties["results_left_out"] == 0
    assert properties["not_judged"] == 2
    assert properties["as_of"] == "2026-05-04"
    assert properties["since"]["revision"] == "main"
    assert properties["rules_from"]["revision"] == "release"


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")


def test_the_remedy_of_a_rule_names_values_and_shows_limits(tmp_path: Path) -> None:
    """Where a finding has a value, the description has its name, or the limit."""
    remedy = "remedy: Change it to {highest} or {speed [m/s] .2f}[[, {sensor.bore}]]."
    rules = SOUND_RULES.replace("remedy: Change the range.", f'"{remedy}"')
    rules = rules.replace('"remedy: ', 'remedy: "')
    by_id = {rule.id: rule for rule in make_book(tmp_path, rules).all_rules}
    words = remedy_words(by_id["speed-in-band"])
    assert words == "Change it to 10 m/s or speed, sensor.bore."
    assert remedy_words(by_id["serial-unique"]) == "Correct it."
    assert remedy_words(by_id["file-readable"]) == "Make it readable."
    described = rule_descriptor(by_id["serial-unique"])
    assert described["defaultConfiguration"] == {"level": "error"}
    assert "close a finding before the meter" in described["fullDescription"]["text"]
