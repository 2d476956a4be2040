"""Laws of hostile input: what files hold does nothing in any output of the command.

Everything that a pull request can write is taken to be hostile: names of meters, sites
and files, keys, reasons of policies and concessions, and the texts of a site's rules.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from configlint.documents import BOUNDS
from configlint.outputs import FORMATS
from tests.readers import (
    assert_lines_inert,
    read_annotations,
    read_code_quality,
    read_csv,
    read_html_of,
    read_json,
    read_json_lines,
    read_junit,
    read_sarif,
)
from tests.reports import HOSTILE

# What no file system takes in a name, and what only some do not; a lone surrogate
# stands for a byte that is no text where it is one of the upper half.
IN_NO_NAME = frozenset("/\x00") | {chr(code) for code in range(0xD800, 0xDC80)}
IN_NO_WINDOWS_NAME = frozenset('<>:"\\|?*') | {chr(code) for code in range(0x20)}
LONGEST_NAME = 40
LONGEST_KEY = 300

RULE = """\
ruleset: own
edition: {text}
rules:
  own-rule:
    category: C
    asks: {text}
    limits: {{longest: 1 s}}
    accept: transmitter.damping <= longest
    finding: The damping of {{meter}} is {{transmitter.damping}}.
    remedy: {remedy}
    basis: {{practice: {text}}}
    proof:
      - {{gives: nonconforming}}
      - {{with: {{transmitter.damping: 1 s}}, gives: conforms}}
      - {{with: {{transmitter.damping: 1.005 s}}, gives: nonconforming}}
      - {{without: [transmitter.damping], gives: not-assessed}}
"""

WRONG = """\
principle: electromagnetic
type_sheet: {text}
service: {text}
sensor: {{serial: {text}, nominal_size: DN 100, lining: {text}}}
transmitter: {{nominal_size: DN 150, damping: 9 s}}
current_output: {{lower_range_value: 0 m3/h, upper_range_value: 900 m3/h}}
receiver:
  name: {text}
  analogue: {{lower_scale: 0 m3/h, upper_scale: 800 m3/h}}
  bus: {{name: {text}, address: {text}}}
process: {{fluid: {text}, duty: {text}, hours_per_year: {text}}}
{key}: {text}
"""


def quoted(text: str) -> str:
    """Write a text as YAML in double quotes, all but ASCII by its number."""
    return json.dumps(text)


def key(text: str) -> str:
    """Write as much of a text as YAML takes for a key."""
    return quoted(text[:LONGEST_KEY].strip())


def file_name(text: str) -> str:
    """Make as much of a text a file's name as the system takes."""
    refused = IN_NO_NAME | (IN_NO_WINDOWS_NAME if os.name == "nt" else frozenset())
    return "".join(each for each in text if each not in refused)[:LONGEST_NAME]


# YAML can't write half a pair of surrogates; names of files have it all the same.
WRITABLE = {name: text for name, text in HOSTILE.items() if name != "half a pair"}


def policy(text: str) -> str:
    """Write a policy that changes a limit for a hostile reason."""
    change = f"{{highest: {{value: 3 m/s, reason: {quoted(text)}}}}}"
    return f"policy: {{velocity-at-span-in-band: {change}}}\n"


def concession(number: int, text: str) -> str:
    """Write a concession that was granted for a hostile reason by a hostile person."""
    return (
        f"- rule: receiver-scale-agrees\n  meter: W-{number}\n"
        f"  reason: {quoted(text)}\n  granted_by: {quoted(text)}\n"
        "  granted_on: 2026-01-01\n  expires_on: 2026-12-31\n"
    )


def write(file: Path, text: str) -> None:
    """Write a file, with the folders above it."""
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, "utf-8")


def write_plant(folder: Path) -> None:
    """Write a workspace with a site for each hostile text, and the text all over."""
    every = " ".join(WRITABLE.values())[:2000]
    sites = "".join(
        f"  {key(text)}: {{folder: sites/{number}}}\n"
        for number, text in enumerate(WRITABLE.values())
    )
    head = f"workspace: {quoted(every)}\nrules: rules\nsites:\n{sites}"
    write(folder / "configlint.yaml", head)
    remedy = "".join(each for each in every if each not in "{}[]")
    rule = RULE.format(text=quoted(every), remedy=quoted(remedy))
    write(folder / "rules" / "own.yaml", rule)
    granted = []
    for number, text in enumerate(WRITABLE.values()):
        site = folder / "sites" / str(number)
        write(site / "site.yaml", f"site: {key(text)}\n{policy(text)}")
        wrong = WRONG.format(text=quoted(text), key=key(text))
        write(site / f"{file_name(text)}.yaml", f"meter: {quoted(text)}\n{wrong}")
        write(site / "conceded.yaml", f"meter: W-{number}\n{wrong}")
        write(site / f"cut {file_name(text)}.yaml", f"meter: {quoted(text)}\nsensor: [")
        granted.append(concession(number, text))
    write(folder / "sites" / "0" / f"{file_name(HOSTILE['half a pair'])}.yaml", "a: [")
    write(folder / "concessions.yaml", f"concessions:\n{''.join(granted)}")
    write(folder / f"{file_name(every)} outside.yaml", "meter: FT-1\n")


class Told(NamedTuple):
    """What the command printed, and its reports by their formats."""

    printed: str
    reports: Mapping[str, str]


def run(folder: Path, environment: dict[str, str], *arguments: str) -> str:
    """Run the real command and give what it printed."""
    done = subprocess.run(
        (sys.executable, "-m", "configlint", "check", ".", *arguments),
        cwd=folder,
        env=environment,
        capture_output=True,
        check=False,
        timeout=120,
    )
    printed = (done.stdout + done.stderr).decode("utf-8")
    assert done.returncode == 1, printed
    assert "Traceback" not in printed
    return printed


@pytest.fixture(scope="module")
def plant(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a workspace of hostile files."""
    folder = tmp_path_factory.mktemp("plant")
    write_plant(folder)
    return folder


@pytest.fixture(scope="module")
def told(plant: Path, environment: dict[str, str]) -> Told:
    """Check the hostile files once, with a report in each format."""
    wanted = [f"--report={form}={form}.out" for form in FORMATS]
    printed = run(plant, environment, "--as-of", "2026-05-04", *wanted)
    # Line ends are looked at, so that they must not be made alike.
    reports = {
        form: (plant / f"{form}.out").read_bytes().decode("utf-8") for form in FORMATS
    }
    return Told(printed, reports)


@pytest.fixture(scope="module")
def content(told: Told) -> dict[str, Any]:
    """Give the report for software, which the others are held against."""
    found: dict[str, Any] = read_json(told.reports["json"])
    return found


def test_every_hostile_text_is_told(content: dict[str, Any]) -> None:
    """Each text came through to the findings, as it was written."""
    meters = {each["meter"] for each in content["findings"]}
    assert {text.strip() for text in WRITABLE.values()} <= meters
    assert content["summary"]["conceded"] == len(WRITABLE)
    assert len(content["summary"]["left_out"]) == 1


@pytest.mark.parametrize("form", ["text", "coverage"])
def test_a_terminal_and_a_log_are_not_commanded(told: Told, form: str) -> None:
    """Every character can be seen, and no line is one that a log acts on."""
    assert_lines_inert(told.printed)
    assert_lines_inert(told.reports[form])


def test_no_text_forges_the_verdict(told: Told) -> None:
    """The one line that says whether the run is held is the last."""
    lines = told.reports["text"].splitlines()
    assert [line for line in lines if line.startswith("Held at")] == lines[-1:]


def test_json_lines_are_as_many_as_the_objects(
    told: Told, content: dict[str, Any]
) -> None:
    """No text makes a line of its own, and each object is that of the json report."""
    lines = read_json_lines(told.reports["ndjson"])
    assert len(lines) == len(content["findings"]) + len(content["meters"]) + 1
    told_findings = [
        {key: value for key, value in each.items() if key != "kind"}
        for each in lines
        if each["kind"] == "finding"
    ]
    assert told_findings == content["findings"]


def test_sarif_is_valid_and_has_every_finding(
    told: Told, content: dict[str, Any]
) -> None:
    """No text breaks the schema, a URI or a message."""
    results = read_sarif(told.reports["sarif"])["results"]
    assert len(results) == len(content["findings"])
    suppressed = [each for each in results if each["suppressions"]]
    assert len(suppressed) == content["summary"]["conceded"]


def test_the_xml_is_well_formed_and_has_every_outcome(
    told: Told, content: dict[str, Any]
) -> None:
    """No text ends an element or begins one, and none is lost."""
    root = read_junit(told.reports["junit"])
    summary = content["summary"]
    assert int(root.attrib["failures"]) == sum(summary["categories"].values())
    skipped = sum(int(suite.attrib["skipped"]) for suite in root)
    assert skipped == summary["outcomes"]["not-assessed"]
    assert len(list(root.iter("system-out"))) == summary["conceded"]


def test_code_quality_has_every_finding(told: Told, content: dict[str, Any]) -> None:
    """Each finding is one object of the host's fields."""
    found = read_code_quality(told.reports["gitlab"])
    expected = [each["fingerprint"] for each in content["findings"]]
    assert [each["fingerprint"] for each in found] == expected


def test_annotations_are_those_that_were_meant(told: Told) -> None:
    """No text makes a command of its own, or changes the level, file or line of one."""
    found = read_annotations(told.reports["github"])
    assert len(found) <= 30
    assert {each.level for each in found} <= {"error", "warning", "notice"}
    for each in found[:-1]:
        assert each.properties.keys() == {"file", "line", "col", "title"}
        assert each.properties["title"][:2] in ("A,", "B,", "C,")
        assert each.properties["file"].startswith("sites/")
    assert found[-1].properties.keys() == {"title"}


def test_markdown_shows_text_alone(told: Told) -> None:
    """No text makes a link, a picture, a table or markup, or calls anybody."""
    written = told.reports["markdown"]
    html = read_html_of(written)
    assert len(written) <= 65_536
    assert html.count("<table>") == 1
    for shown in ("=cmd", "&lt;script&gt;", "::error file=a.yaml", "../../etc"):
        assert shown in html


def test_no_cell_is_a_formula(told: Told, content: dict[str, Any]) -> None:
    """A spreadsheet runs nothing, and has a line for each finding."""
    rows = read_csv(told.reports["csv"])
    assert len(rows) == len(content["findings"])
    assert any(row["meter"].startswith("'=cmd") for row in rows)


def test_two_runs_give_the_same_bytes(
    told: Told, plant: Path, environment: dict[str, str]
) -> None:
    """The same files give the same report, to the byte, in every format."""
    wanted = [f"--report={form}={form}.again" for form in FORMATS]
    run(plant, environment, "--as-of", "2026-05-04", *wanted)
    for form, text in told.reports.items():
        assert (plant / f"{form}.again").read_bytes() == text.encode()


def test_a_report_on_the_screen_is_the_one_in_a_file(
    told: Told, plant: Path, environment: dict[str, str]
) -> None:
    """What goes to a job's log has the bytes of the file, line ends and all."""
    for form in ("github", "csv"):
        printed = run(plant, environment, "--as-of", "2026-05-04", f"--report={form}")
        assert printed == told.reports[form]


def test_a_huge_file_is_told_and_not_read(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    """A file beyond all bounds is a finding in every format, and stops no other."""
    write(tmp_path / "FT-1.yaml", f"meter: FT-1\n{WRONG.format(text='x', key='x')}")
    with (tmp_path / "huge.yaml").open("wb") as file:
        file.seek(5 * BOUNDS.bytes)
        file.write(b"\n")
    asked = [f"--report={form}=report.{form}" for form in FORMATS]
    run(tmp_path, environment, "--hold-at", "C", *asked)
    for form in set(FORMATS) - {"coverage"}:
        report = (tmp_path / f"report.{form}").read_text("utf-8")
        assert "huge.yaml" in report, form
        assert "size-agrees" in report, form
        assert len(report) < 1_000_000, form
