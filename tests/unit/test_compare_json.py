"""Laws of a comparison for software: of its schema, complete, the same every time."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configlint.data import data_folder
from configlint.report import Commit
from configlint.review.compare import Comparison
from configlint.review.compare_json import FORMAT, write
from tests.comparisons import compared, eventful, meter_text, without_changes

Json = dict[str, Any]


@pytest.fixture(scope="module")
def comparison(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """Give a comparison with something of every kind in it."""
    return eventful(tmp_path_factory.mktemp("plant"))


@pytest.fixture(scope="module")
def content(comparison: Comparison) -> Json:
    """Give the report, read back from its text."""
    content: Json = json.loads(write(comparison, "B"))
    return content


def test_the_report_is_of_its_schema(comparison: Comparison) -> None:
    """Whatever has changed, the report has the shape that its schema describes."""
    file = data_folder("schemas") / "comparison.schema.json"
    schema = Draft202012Validator(json.loads(file.read_text("utf-8")))
    for hold_at in ("A", "never"):
        assert list(schema.iter_errors(json.loads(write(comparison, hold_at)))) == []


def test_every_finding_is_counted_once(content: Json, comparison: Comparison) -> None:
    """New, gone, altered and unchanged findings are all there are, each once."""
    findings = content["findings"]
    later = [each["fingerprint"] for each in findings["new"]]
    later += [each["after"]["fingerprint"] for each in findings["altered"]]
    later += findings["unchanged"]
    assert len(later) == len(set(later)) == len(comparison.new) + len(comparison.kept)
    assert len(findings["gone"]) == len(comparison.gone)
    assert content["hold"] == {"at": "B", "held": True}
    assert content["format"] == FORMAT


def test_a_setting_tells_both_sides_and_what_follows(content: Json) -> None:
    """A setting is given with its texts, its consequences and what has stayed."""
    (meter,) = (each for each in content["meters"] if each["meter"] == "FT-2104")
    settings = {each["setting"]: each for each in meter["settings"]}
    changed = settings["current_output.upper_range_value"]
    assert (changed["before"], changed["after"]) == ("250 m3/h", "300 m3/h")
    rate = {each["quantity"]: each for each in changed["consequences"]}
    assert rate["pulse_rate_at_span"]["after"]["unit"] == "Hz"
    assert changed["not_changed_with_it"][0]["rule"] == "receiver-scale-agrees"
    assert settings["process.batch_volume"]["after"] is None
    assert settings["sensor.bore"]["same_value"] is True


def test_what_is_not_known_is_null(tmp_path: Path) -> None:
    """A quantity that can't be computed on a side is null there."""
    weight = "pulse_output.pulse_weight"
    found = compared(
        tmp_path,
        {"north/a.yaml": meter_text()},
        {"north/a.yaml": meter_text({weight: None})},
    )
    (setting,) = json.loads(write(found, "B"))["meters"][0]["settings"]
    assert [each["after"] for each in setting["consequences"]].count(None) > 0


def test_two_runs_give_one_text(comparison: Comparison) -> None:
    """The same comparison is the same text to the byte."""
    assert write(comparison, "B") == write(comparison, "B")


def test_revisions_are_told_with_their_commits(comparison: Comparison) -> None:
    """A side that is a revision, and the one whose rules judged, name their commits."""
    commit = Commit("main", "ab" * 20)
    before = comparison.before._replace(commit=commit)
    one = replace(comparison, before=before)
    judged = without_changes(one, commit)
    told = {"revision": "main", "commit": "ab" * 20}
    content = json.loads(write(judged, "B"))
    assert content["before"]["revision"] == content["rules_from"] == told
    assert content["after"]["revision"] is None
