"""Laws of a site's own rules about its own quantities, through the real command."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from tests.commanding import Run, command_in

ROOT = Path(__file__).resolve().parents[2]

WORKSPACE = """\
workspace: Invented Marsh
sites: {works: {folder: works}}
rules: rules
"""

RULES = """\
ruleset: marsh
edition: "1"
site_data:
  pump_capacity: {means: Capacity of the duty pump, unit: m3/h}
  pump_number: {means: Number of the duty pump}
rules:
  range-holds-the-pump:
    category: B
    asks: Does the range hold the full capacity of the duty pump?
    limits: {headroom: "1.1"}
    accept: >-
      current_output.upper_range_value >= headroom * site_data.pump_capacity
    finding: >-
      The duty pump[[ {site_data.pump_number}]] gives {site_data.pump_capacity}, and the
      range ends at {current_output.upper_range_value}.
    remedy: Raise the range, at both ends.
    settings: [current_output.upper_range_value]
    basis: {practice: A range that the pump exceeds is cut off, status: site practice}
    proof:
      - with:
          site_data.pump_capacity: 200 m3/h
          current_output.upper_range_value: 220 m3/h
        gives: conforms
      - with:
          site_data.pump_capacity: 200 m3/h
          current_output.upper_range_value: 219 m3/h
        gives: nonconforming
      - gives: not-assessed
        missing: [site_data.pump_capacity]
"""

METER = """\
meter: TAG
principle: electromagnetic
current_output: {lower_range_value: 0 m3/h, upper_range_value: 250 m3/h}
"""
CONFORMING = "site_data: {pump_capacity: 60 l/s, pump_number: P-1, paint: blue}\n"
NONCONFORMING = 'site_data:\n  pump_number: "7"\n  pump_capacity: 240 m3/h\n'
LACKING = "site_data: {pump_number: P-3, paint: 3 mm}\n"
OF_WRONG_UNIT = "site_data:\n  pump_capacity: 240 mm\n"


@pytest.fixture
def run(tmp_path: Path, environment: dict[str, str]) -> Run:
    """Give the real command, run in the folder of the workspace."""
    meters = {
        f"works/{tag}.yaml": METER.replace("TAG", tag) + text
        for tag, text in {
            "FT-1": CONFORMING,
            "FT-2": NONCONFORMING,
            "FT-3": LACKING,
            "FT-4": OF_WRONG_UNIT,
        }.items()
    }
    write(tmp_path, {"configlint.yaml": WORKSPACE, "rules/own.yaml": RULES, **meters})
    return command_in(tmp_path, environment)


def write(folder: Path, files: Mapping[str, str]) -> None:
    """Write files below a folder."""
    for name, text in files.items():
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")


def reported(run: Run) -> tuple[dict[str, Any], dict[str, list[dict[str, Any]]]]:
    """Give the report, and by the meter's tag the findings about its own values."""
    done = run("check", ".", "--report", "json")
    assert (done.stderr, done.returncode) == ("", 1)
    report: dict[str, Any] = json.loads(done.stdout)
    found: dict[str, list[dict[str, Any]]] = {}
    for each in report["findings"]:
        if each["rule"] == "range-holds-the-pump" or "site_data" in each["pointer"]:
            found.setdefault(each["meter"], []).append(each)
    return report, found


def left_open(report: dict[str, Any], tag: str) -> list[str]:
    """Give what the rule of the site's own lacks at a meter."""
    (meter,) = (each for each in report["meters"] if each["meter"] == tag)
    return [
        name
        for each in meter["not_assessed"]
        if each["rule"] == "range-holds-the-pump"
        for name in each["missing"]
    ]


def test_a_rule_of_the_site_judges_its_own_quantity(run: Run) -> None:
    """Where the value is beyond the rule's limit, the finding says so and where."""
    report, found = reported(run)
    (finding,) = found["FT-2"]
    assert finding["message"] == (
        "The duty pump 7 gives 240 m3/h, and the range ends at 250 m3/h."
    )
    assert finding["file"] == "works/FT-2.yaml"
    assert (finding["line"], finding["pointer"]) == (
        3,
        "/current_output/upper_range_value",
    )
    assert finding["values"]["site_data.pump_capacity"] == {
        "value": 240.0,
        "unit": "m3/h",
    }
    assert finding["values"]["site_data.pump_number"] == "7"
    assert "FT-1" not in found
    assert left_open(report, "FT-1") == left_open(report, "FT-2") == []


def test_a_meter_that_lacks_the_quantity_is_not_assessed(run: Run) -> None:
    """The rule names the value that is missing, and nothing is found."""
    report, found = reported(run)
    assert "FT-3" not in found
    assert left_open(report, "FT-3") == ["site_data.pump_capacity"]


def test_a_unit_of_the_wrong_kind_is_found_at_its_place(run: Run) -> None:
    """A value of another kind of unit is a finding, and leaves the rule open."""
    report, found = reported(run)
    (finding,) = found["FT-4"]
    assert finding["rule"] == "unit-of-right-kind"
    assert (finding["line"], finding["pointer"]) == (5, "/site_data/pump_capacity")
    assert "'240 mm' is a length" in finding["message"]
    assert finding["remedy"] == "Write a volume flow such as 250 m3/h."
    assert left_open(report, "FT-4") == ["site_data.pump_capacity"]


def test_the_rules_are_proven_and_their_names_listed(run: Run) -> None:
    """A rule about the site's own quantity is proven like any other."""
    done = run("rules", "prove", "range-holds-the-pump", "--rules", "rules")
    assert done.returncode == 0
    assert "3 proofs, 0 of them failed" in done.stdout
    assert "Mutation score 100 %" in done.stdout
    names = run("rules", "names", "--rules", "rules").stdout
    assert (
        "site_data.pump_capacity: Capacity of the duty pump (a volume flow)\n" in names
    )
    assert "site_data.pump_number: Number of the duty pump (a text)\n" in names
    assert "site_data" not in run("rules", "names").stdout


def test_files_that_disagree_are_refused(run: Run, tmp_path: Path) -> None:
    """Two files that declare one name differently stop the run, with both places."""
    other = RULES[: RULES.index("rules:\n")].replace("unit: m3/h", "unit: mm")
    write(tmp_path, {"rules/zz.yaml": other})
    done = run("check", ".")
    assert (done.returncode, done.stdout) == (2, "")
    said = " ".join(done.stderr.split())
    assert "rules/zz.yaml:4:3: site_data.pump_capacity is declared otherwise" in said
    assert "rules/own.yaml:4:3" in said


def test_without_a_declaration_a_quantity_stays_free(run: Run, tmp_path: Path) -> None:
    """What no rule file declares may be written in any unit."""
    write(tmp_path, {"configlint.yaml": WORKSPACE.replace("rules: rules\n", "")})
    done = run("check", "works/FT-4.yaml", "--report", "json")
    pointers = [each["pointer"] for each in json.loads(done.stdout)["findings"]]
    assert pointers
    assert not any(each.startswith("/site_data") for each in pointers)
