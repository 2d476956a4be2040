"""Laws of how a comparison tells what a change excuses and changes of its own rules."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from configlint.data import data_folder
from configlint.review.compare import Comparison, compare
from configlint.review.compare_json import write as write_json
from configlint.review.compare_markdown import write as write_markdown
from configlint.review.compare_text import write as write_text
from configlint.review.differences import NO_DIFFERENCES, Own
from configlint.review.sides import judge
from configlint.review.words import gone_mark
from tests.comparisons import (
    DAY,
    FILE,
    SITES,
    WORKSPACE,
    compared,
    concession,
    make_side,
    meter_text,
)

SOUND = {FILE: meter_text()}
WRONG = {FILE: meter_text({"transmitter.calibration_factor": "1.1"})}
FACTOR = "calibration-factor-agrees"
KNOWN = concession("FT-2104")
CONCEDED = {"concessions.yaml": KNOWN}
LATER = {"concessions.yaml": KNOWN.replace("2026-02-01", "2026-03-01")}
RULES = {"configlint.yaml": f"{WORKSPACE}rules: rules\n"}
OWN_RULE = """\
ruleset: own
edition: "1"
rules:
  own-damping:
    category: C
    asks: Is the damping short?
    accept: transmitter.damping <= 9[s]
    finding: The damping is {transmitter.damping}.
    remedy: Shorten it.
    settings: [transmitter.damping]
    basis: {practice: Common}
    proof:
      - {with: {transmitter.damping: 1 s}, gives: conforms}
      - {with: {transmitter.damping: 99 s}, gives: nonconforming}
"""

Files = Mapping[str, str]


def content_of(comparison: Comparison) -> dict[str, Any]:
    """Give the JSON of a comparison, which is of its schema."""
    content: dict[str, Any] = json.loads(write_json(comparison, "B"))
    file = data_folder("schemas") / "comparison.schema.json"
    schema = json.loads(file.read_text("utf-8"))
    assert list(Draft202012Validator(schema).iter_errors(content)) == []
    return content


@pytest.mark.parametrize(
    ("before", "heading", "verdict"),
    [
        (SOUND, "new, conceded by this very change", "Held at B: 1 finding to close"),
        (WRONG, "conceded by this very change", "Held at B: 1 finding to close"),
    ],
)
def test_a_self_granted_concession_is_told_first_and_last(
    tmp_path: Path, before: Files, heading: str, verdict: str
) -> None:
    """Whether or not the finding is new, its concession heads the report and holds."""
    found = compared(tmp_path, before, {**WRONG, **CONCEDED})
    lines = write_text(found, "B").splitlines()
    told = "Conceded by this very change, not accepted yet (--trust-change): 1 finding"
    assert lines[2] == told
    assert any(line.endswith(heading) for line in lines)
    assert lines[-1] == f"{verdict}, of which 1 conceded by this very change."
    written = write_markdown(found, "B").splitlines()
    assert written[2] == f"**{lines[-1]}**"
    sections = [line for line in written if line.startswith("#### ")]
    assert sections[0] == f"#### {told}"
    assert sections[1] == "#### Rules and policy changed by this change"


def test_what_is_trusted_is_said_in_the_verdict(tmp_path: Path) -> None:
    """A reviewer who reads the verdict alone learns what was accepted."""
    found = compared(tmp_path, WRONG, {**WRONG, **CONCEDED}, trusted=True)
    verdict = write_text(found, "B").splitlines()[-1]
    assert verdict == (
        "Not held: no new finding at or above category B. Accepted by --trust-change: "
        "1 conceded by this very change."
    )
    assert content_of(found)["trusted"] is True


def test_what_goes_by_relaxed_rules_is_told_so(tmp_path: Path) -> None:
    """A finding that only another limit takes away is not told as if it were mended."""
    scale = {FILE: meter_text({"receiver.analogue.upper_scale": "300 m3/h"})}
    policy = "policy:\n  receiver-scale-agrees: {tolerance: {value: 50 %, reason: x}}\n"
    relaxed = {**scale, "configlint.yaml": WORKSPACE + policy}
    found = compared(tmp_path / "relaxed", scale, relaxed)
    mark = "receiver-scale-agrees, gone by the change's own rules"
    assert mark in " ".join(write_text(found, "B").split())
    mended = compared(tmp_path / "mended", scale, SOUND)
    assert "receiver-scale-agrees, gone\n" in write_text(mended, "B")


def test_a_mended_finding_is_not_told_as_let_pass_at_another_site(
    tmp_path: Path,
) -> None:
    """Of two meters of one tag only that whose site relaxes its policy is told so."""
    scale = meter_text({"receiver.analogue.upper_scale": "300 m3/h"})
    policy = "policy:\n  receiver-scale-agrees: {tolerance: {value: 50 %, reason: x}}\n"
    site = SITES["north/site.yaml"] + policy
    before = {FILE: scale, "south/FT-2104.yaml": scale}
    after = {**before, "south/FT-2104.yaml": meter_text(), "north/site.yaml": site}
    found = compared(tmp_path, before, after)
    marks = {
        each.subject.site: gone_mark(found, each)
        for each in found.gone
        if each.rule == "receiver-scale-agrees"
    }
    assert marks == {"north": ", gone by the change's own rules", "south": ", gone"}


def test_software_is_told_all_that_changes_of_what_judges(tmp_path: Path) -> None:
    """Concessions with their terms and rules with their parts are in the JSON."""
    before = {**WRONG, **RULES, **CONCEDED, "rules/own.yaml": OWN_RULE}
    later = OWN_RULE.replace("9[s]", "10[s]")
    after = {**WRONG, **RULES, **LATER, "rules/own.yaml": later}
    judging = content_of(compared(tmp_path, before, after))["judging"]
    (changed,) = judging["concessions"]
    assert (changed["change"], changed["rule"], changed["meter"]) == (
        "extended",
        FACTOR,
        "FT-2104",
    )
    ends = [changed[side]["expires_on"] for side in ("before", "after")]
    assert ends == ["2026-02-01", "2026-03-01"]
    assert changed["after"]["granted_by"] == "invented engineer"
    (rule,) = judging["rules"]
    assert (rule["name"], rule["change"], rule["looser"]) == (
        "own-damping",
        "changed",
        False,
    )
    assert "10[s]" in rule["details"][0]


def test_a_concession_that_goes_has_no_terms_now(tmp_path: Path) -> None:
    """What is removed has terms before and none now."""
    judging = content_of(compared(tmp_path, {**WRONG, **CONCEDED}, WRONG))["judging"]
    (gone,) = judging["concessions"]
    assert (gone["change"], gone["after"]) == ("removed", None)
    assert gone["before"]["reason"] == "Known"


def test_what_other_rules_judged_is_told_as_it_is_given(tmp_path: Path) -> None:
    """Where others judged, the sides' own rules are told as they were read."""
    one, other = (
        judge(make_side(tmp_path / name, files), DAY)
        for name, files in (("before", SOUND), ("after", SOUND))
    )
    own = Own(NO_DIFFERENCES, ("concessions.yaml:1:1: The file is faulty.",))
    found = compare(one, other, own=own)
    assert found.judging == own
    assert "Can't be taken: concessions.yaml:1:1:" in write_text(found, "B")
    assert content_of(found)["judging"]["not_taken"] == list(own.untaken)
