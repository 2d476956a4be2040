"""Laws of the report for software: of its schema, sorted, and the same every time."""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configlint import __version__
from configlint.check import check
from configlint.data import data_folder
from configlint.findings import Amount, Finding, Subject
from configlint.meters import UnreadMeter
from configlint.outputs import FORMATS
from configlint.outputs.json import FORMAT, report_object, to_text, write
from configlint.report import HOLDS, LeftOpen, MeterResult, Report
from configlint.rules import Edition
from configlint.workspace import LeftOut
from tests.builders import EFFECT, FINDING
from tests.reports import UNREAD

# Invented meters of two sites, two of them wrong in several ways.
WORKSPACE = """\
workspace: plant
sites:
  north: {folder: north}
  south: {folder: south}
"""
FAULTY = """\
meter: FT-1
principle: electromagnetic
servise: water
sensor:
  nominal_size: DN 100
  serial: S-1
  bore: 100 mm
  nameplate: {calibration_factor: "1.0230", excitation_current: 0.1550 A}
  calibration: {date: 2019-02-03}
transmitter:
  nominal_size: DN 150
  calibration_factor: "1.0320"
  excitation_current: 155 mA
  low_flow_cutoff: 5 gal/min
current_output: {lower_range_value: 0 m3/h, upper_range_value: 900 m3/h}
receiver: {analogue: {lower_scale: 0 m3/h, upper_scale: 800 m3/h}}
"""
FILES = {
    "configlint.yaml": WORKSPACE,
    "north/FT-1.yaml": FAULTY,
    "south/FT-1.yaml": FAULTY,
    "north/FT-2.yaml": "meter: FT-2\nprinciple: electromagnetic\n",
    "north/broken.yaml": "meter: [\n",
    "south/site.yaml": "site: south\nmains_frequency: 50 Hz\n",
    "other/FT-4.yaml": "meter: FT-4\n",
}

Json = dict[str, Any]


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace with meters that have findings of many rules."""
    folder = tmp_path_factory.mktemp("plant")
    for name, text in FILES.items():
        file = folder / name
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, "utf-8")
    return folder


@pytest.fixture(scope="module")
def content(plant: Path) -> Json:
    """Give the report of the workspace, read back from its text."""
    content: Json = json.loads(write(check([plant]), "B"))
    return content


@pytest.fixture(scope="module")
def schema() -> Draft202012Validator:
    """Give the published schema of the report."""
    file = data_folder("schemas") / "findings.schema.json"
    return Draft202012Validator(json.loads(file.read_text("utf-8")))


def parts_of(value: object) -> Iterable[object]:
    """Give what an object or a list holds."""
    if isinstance(value, dict):
        return value.values()
    return value if isinstance(value, list) else ()


def objects(value: object) -> Iterator[Json]:
    """Give every object in a JSON value."""
    if isinstance(value, dict):
        yield value
    for part in parts_of(value):
        yield from objects(part)


def made_report(finding: Finding = FINDING) -> Report:
    """Make a report with something in each of its parts."""
    counts = {"conforms": 1, "nonconforming": 1, "not-assessed": 1}
    left_open = (LeftOpen("bore-known", ("sensor.bore", "sensor.serial")),)
    result = MeterResult(FINDING.subject, counts, left_open)
    left_out = (LeftOut("pumps.yaml", "it lies in no site's folder"),)
    editions = (Edition("own", "7", "0f"),)
    return Report(editions, (result,), (finding,), 2, left_out)


def test_the_report_of_a_run_is_of_its_schema(
    content: Json, schema: Draft202012Validator
) -> None:
    """A report of many findings has the shape that its schema describes."""
    assert len(content["findings"]) > 10
    assert list(schema.iter_errors(content)) == []


def test_the_schema_is_closed(schema: Draft202012Validator) -> None:
    """A key too many or too few, in any object of the report, is refused."""
    amounts = {"sensor.bore": Amount(80.0, "mm")}
    finding = replace(FINDING, values=amounts, limits=amounts, effect=EFFECT)
    content = json.loads(write(made_report(finding), "B"))
    assert list(schema.iter_errors(content)) == []
    for at, each in enumerate(list(objects(content))):
        more = json.loads(json.dumps(content))
        list(objects(more))[at]["more"] = None
        assert list(schema.iter_errors(more)), each
    for key in content["findings"][0]:
        fewer = json.loads(json.dumps(content))
        del fewer["findings"][0][key]
        assert list(schema.iter_errors(fewer)), key


def test_findings_are_sorted_by_file_line_and_rule(content: Json) -> None:
    """The findings stand in the order of their files, lines and rules."""
    keys = [(each["file"], each["line"], each["rule"]) for each in content["findings"]]
    assert keys == sorted(keys)


def test_meters_are_sorted_by_site_and_tag(content: Json) -> None:
    """The meters of a workspace stand in the order of their sites and tags."""
    keys = [(each["site"], each["meter"]) for each in content["meters"]]
    assert keys == [("north", "FT-1"), ("north", "FT-2"), ("south", "FT-1")]


def test_fingerprints_are_unique(content: Json) -> None:
    """No two findings of a report have one fingerprint."""
    found = [each["fingerprint"] for each in content["findings"]]
    assert len(set(found)) == len(found)


def test_the_summary_adds_up(content: Json) -> None:
    """The counts of the summary are those of the findings and the meters."""
    summary = content["summary"]
    assert sum(summary["categories"].values()) == len(content["findings"])
    for word, count in summary["outcomes"].items():
        assert count == sum(each["outcomes"][word] for each in content["meters"])
    assert summary["meters"] == len(content["meters"])
    assert summary["files"] == 4
    (left_out,) = summary["left_out"]
    assert left_out["file"].endswith("other/FT-4.yaml")
    for meter in content["meters"]:
        assert len(meter["not_assessed"]) == meter["outcomes"]["not-assessed"]
        assert all(each["missing"] for each in meter["not_assessed"])


def test_two_runs_give_the_same_bytes(plant: Path) -> None:
    """The same files give the same report, to the byte."""
    assert write(check([plant]), "B") == write(check([plant]), "B")


def test_the_verdict_is_that_of_the_hold(plant: Path) -> None:
    """The report says at which category the run was to be held, and whether it is."""
    report = check([plant])
    for hold_at in HOLDS:
        hold = json.loads(write(report, hold_at))["summary"]["hold"]
        assert hold == {"at": hold_at, "held": report.held(hold_at)}
    assert report.held("C")
    assert not report.held("never")


def test_the_order_of_paths_changes_no_byte(plant: Path) -> None:
    """Paths in any order, some of them twice, give the same report."""
    files = [plant / name for name in FILES if "FT-" in name or "broken" in name]
    expected = write(check(files), "B")
    for seed in range(4):
        shuffled = [*files, files[seed]]
        random.Random(seed).shuffle(shuffled)
        assert write(check(shuffled), "B") == expected


def test_every_part_of_a_finding_is_written() -> None:
    """A finding's values, limits, margin and the rest come through as they are."""
    finding = replace(
        FINDING,
        values={"sensor.bore": Amount(80.0, "mm"), "meter": "FT-1", "locked": False},
        limits={"lowest": Amount(0.1, "")},
        margin=-0.25,
        assumptions=("By policy.",),
    )
    content = json.loads(write(made_report(finding), "B"))
    assert content["findings"] == [
        {
            "fingerprint": "0123456789abcdef",
            "meter": "FT-1",
            "site": "north",
            "file": "FT-1.yaml",
            "line": 3,
            "column": 5,
            "pointer": "/sensor/bore",
            "rule": "bore-right",
            "category": "B",
            "outcome": "nonconforming",
            "concession": None,
            "message": "The bore is wrong.",
            "values": {
                "sensor.bore": {"value": 80.0, "unit": "mm"},
                "meter": "FT-1",
                "locked": False,
            },
            "limits": {"lowest": {"value": 0.1, "unit": ""}},
            "margin": -0.25,
            "effect": None,
            "assumptions": ["By policy."],
            "remedy": "Correct it.",
            "advice": [],
            "basis": "Common (common practice)",
        }
    ]


def test_the_head_of_a_report_says_what_made_it() -> None:
    """Format, version, rule sets and what was left out are told."""
    content = report_object(made_report(), "B")
    assert content["format"] == FORMAT == "configlint-findings/1"
    assert content["tool"] == {
        "version": __version__,
        "rulesets": [{"name": "own", "edition": "7", "digest": "0f"}],
    }
    assert content["summary"]["left_out"] == [
        {"file": "pumps.yaml", "reason": "it lies in no site's folder"}
    ]
    assert content["meters"][0]["not_assessed"] == [
        {"rule": "bore-known", "missing": ["sensor.bore", "sensor.serial"]}
    ]


@pytest.mark.parametrize(
    ("not_judged", "day", "as_of"),
    [((), None, None), (UNREAD, date(2026, 5, 4), "2026-05-04")],
)
def test_the_summary_tells_what_was_not_judged_and_the_day(
    schema: Draft202012Validator,
    not_judged: tuple[UnreadMeter, ...],
    day: date | None,
    as_of: str | None,
) -> None:
    """Meters not judged are listed; the day is an ISO date, or null without one."""
    made = replace(made_report(), not_judged=not_judged, run_date=day)
    content = json.loads(write(made, "B"))
    assert content["summary"]["not_judged"] == [
        {
            "meter": each.tag,
            "file": each.place.file,
            "line": each.place.line,
            "column": each.place.column,
            "reason": each.reason,
        }
        for each in not_judged
    ]
    assert content["summary"]["as_of"] == as_of
    schema.validate(content)


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_number_is_never_written(number: float) -> None:
    """NaN and infinities, which JSON does not have, are refused and never written."""
    finding = replace(FINDING, values={"sensor.bore": Amount(number, "mm")})
    with pytest.raises(ValueError, match="JSON compliant"):
        write(made_report(finding), "B")


@pytest.mark.parametrize(
    "text",
    [
        "\x1b[31m\x00",
        "\x7f\x9b2J",
        "right\u202eleft\u2066",
        "line\u2028end",
        "half\ud800pair\udcff",
        "beyond \U000e0041",
    ],
)
def test_no_control_character_is_sent(text: str) -> None:
    """Characters that a terminal acts on are escaped, and read back as they were."""
    subject = Subject(text, text, text, text)
    finding = replace(FINDING, subject=subject, message=text)
    written = write(made_report(finding), "B")
    assert written.replace("\n", "").isprintable()
    assert written.encode("utf-8")
    found = json.loads(written)["findings"][0]
    assert (found["message"], found["meter"]) == (text, text)


def test_readable_text_stays_readable() -> None:
    """Letters and units of any script stand for themselves."""
    assert to_text(["größe 1 µS/cm"]) == '[\n  "größe 1 µS/cm"\n]\n'


def test_the_text_ends_in_one_line_feed() -> None:
    """The report is a text of whole lines, and one of the formats."""
    written = FORMATS["json"](made_report(), "never")
    assert written.endswith("}\n")
