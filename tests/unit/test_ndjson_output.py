"""Laws of the report as JSON Lines: the objects of the json report, a line each."""

from __future__ import annotations

import json
from collections import Counter
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configlint.data import data_folder
from configlint.outputs import FORMATS
from configlint.outputs.json import report_object
from configlint.outputs.ndjson import FORMAT, write
from configlint.report import Report
from tests.readers import read_json_lines
from tests.reports import FULL, make_report


@pytest.fixture(scope="module")
def schema() -> Draft202012Validator:
    """Give the published schema of a line."""
    file = data_folder("schemas") / "finding-lines.schema.json"
    return Draft202012Validator(json.loads(file.read_text("utf-8")))


def lines(report: Report, kind: str) -> list[dict[str, Any]]:
    """Give the lines of a kind, without it."""
    found = read_json_lines(write(report, "B"))
    return [each for each in found if each.pop("kind") == kind]


def test_it_is_one_of_the_formats() -> None:
    """The command offers it by its name."""
    assert FORMATS["ndjson"] is write


def test_findings_and_meters_are_those_of_the_json_report() -> None:
    """A line holds the object that the json report has for the same."""
    content = report_object(FULL, "B")
    assert lines(FULL, "finding") == content["findings"]
    assert lines(FULL, "meter") == content["meters"]


def test_the_last_line_is_the_summary() -> None:
    """The counts come last, so that a report that is cut short is told from a whole."""
    content = dict(report_object(FULL, "B"))
    found = read_json_lines(write(FULL, "B"))
    kinds = [each["kind"] for each in found]
    assert kinds == ["finding"] * 3 + ["meter"] + ["summary"]
    last = found[-1]
    assert last.pop("format") == FORMAT
    assert last.pop("kind") == "summary"
    del content["format"], content["meters"], content["findings"]
    assert last == content


@pytest.mark.parametrize("report", [FULL, make_report()])
def test_each_line_is_of_its_schema(
    schema: Draft202012Validator, report: Report
) -> None:
    """Every line has the shape that the schema of a line describes."""
    for each in read_json_lines(write(report, "B")):
        assert list(schema.iter_errors(each)) == []


def test_the_schema_is_closed(schema: Draft202012Validator) -> None:
    """A line with a key too many, or of a kind that is none, is refused."""
    kinds: Counter[str] = Counter()
    for each in read_json_lines(write(FULL, "B")):
        kinds[each["kind"]] += 1
        assert list(schema.iter_errors({**each, "more": None}))
        assert list(schema.iter_errors({**each, "kind": "pump"}))
    assert set(kinds) == {"finding", "meter", "summary"}


def test_the_same_report_gives_the_same_bytes() -> None:
    """There is no clock in it."""
    assert write(FULL, "B") == write(FULL, "B")
