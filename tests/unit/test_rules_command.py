"""Laws of the command `rules` in this process: listed, shown and proven."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from configlint.commands import rules as rules_module
from tests.builders import DAMPING_RULE, SOUND_METER
from tests.commanding import Start, start_in
from tests.workspaces import write

# A rule of each kind, one of them weakly proven.
RULES = (
    DAMPING_RULE
    + """\
  own-service:
    category: C
    asks: Has each service one bore?
    applies: given(service)
    across: {scope: site, same: [service, process.fluid], agree: sensor.bore}
    finding: "{others} differ."
    remedy: Correct it.
    basis: {practice: Common}
    proof: &proof
      - {meters: [{gives: conforms}]}
      - {meters: [{gives: nonconforming}, {gives: nonconforming}]}
  own-name:
    category: C
    asks: Is each service served once?
    across: {scope: all sites, same: [service]}
    finding: "{others} too."
    remedy: Correct it.
    basis: {practice: Common}
    proof: *proof
reading:
  own-reading:
    category: C
    asks: Can it be read?
    limits: {longest: 1 year}
    remedy: Mend it.
    basis: {published: A handbook}
"""
)
HEADS = ("A  ", "B  ", "C  ")


@pytest.fixture
def start(monkeypatch: pytest.MonkeyPatch) -> Start:
    """Give the command in this process, by its exit code."""
    return start_in(monkeypatch)


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """Give a folder of rules."""
    return write(tmp_path / "own", {"own.yaml": RULES})


@pytest.fixture
def alone(own: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a folder of rules that stands where the standard ones would."""
    monkeypatch.setattr(rules_module, "data_folder", lambda name: own)
    return own


@pytest.mark.parametrize(
    ("rule", "lines"),
    [
        (
            "own-damping",
            (
                "own-damping (category C, rule set own)",
                "Applies: to every meter",
                "Accept: transmitter.damping <= longest",
                "Limit longest: 5 s",
                "Finding: The damping is {transmitter.damping}.",
                "Settings: transmitter.damping",
                "Basis: Common (common practice)",
                "Proofs: 2",
            ),
        ),
        (
            "own-service",
            (
                "Asks: Has each service one bore?",
                "Applies: given(service)",
                "Accept: meters of one site with the same service and process.fluid "
                "agree in sensor.bore",
                "Settings: none a person would change",
            ),
        ),
        (
            "own-name",
            ("Accept: meters of all sites with the same service are not allowed",),
        ),
        (
            "own-reading",
            (
                "Accept: told while the files are read",
                "Remedy: Mend it.",
                "Basis: A handbook",
            ),
        ),
    ],
)
def test_a_rule_is_shown_in_words(
    start: Start,
    own: Path,
    capsys: pytest.CaptureFixture[str],
    rule: str,
    lines: tuple[str, ...],
) -> None:
    """Of a rule of any kind all that it says is shown, at 80 columns."""
    assert start("rules", "show", rule, "--rules", str(own)) == 0
    said = capsys.readouterr().out
    assert max(map(len, said.splitlines()[:-1])) <= 80
    whole = said.replace("\n  ", " ").splitlines()
    assert [line for line in lines if line not in whole] == []


def test_rules_are_listed_in_words_and_as_json(
    start: Start, own: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every rule is listed once, in both formats, with category and question."""
    assert start("rules", "list", "--rules", str(own)) == 0
    text = capsys.readouterr().out
    assert "C  own-damping\n   Is the damping short?\n" in text
    assert start("rules", "list", "--report", "json", "--rules", str(own)) == 0
    listed = {each["id"]: each for each in json.loads(capsys.readouterr().out)}
    ids = [line[3:] for line in text.splitlines() if line[:3] in HEADS]
    assert sorted(listed) == ids
    assert listed["own-damping"] == {
        "id": "own-damping",
        "ruleset": "own",
        "category": "C",
        "asks": "Is the damping short?",
        "basis": "Common (common practice)",
        "accept": "transmitter.damping <= longest",
        "limits": {"longest": "5 s"},
        "applies": "",
        "settings": ["transmitter.damping"],
        "proofs": 2,
    }
    assert listed["own-service"]["applies"] == "given(service)"
    assert "proofs" not in listed["own-reading"]
    assert listed["own-reading"]["limits"] == {"longest": "1 year"}
    assert "limits" not in listed["own-name"]


def test_values_are_listed_with_their_meaning(
    start: Start, capsys: pytest.CaptureFixture[str]
) -> None:
    """Inputs, quantities and the columns of tables are listed for rule writers."""
    assert start("rules", "names") == 0
    said = capsys.readouterr().out
    assert "sensor.bore: Inside diameter of the sensor (a length)\n" in said
    assert "\nspan: " in said
    assert "nominal_sizes[…]." in said


def test_a_weak_proof_ends_with_1(
    start: Start, alone: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Proofs that fail and changes unnoticed are named and counted, and end with 1."""
    write(alone, {"sound/separate.yaml": SOUND_METER})
    assert start("rules", "prove") == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "own-damping (" in said
    assert "own.yaml:4:3): no proof notices this change: " in said
    assert "own.yaml:" in said
    assert "3 rules, 6 proofs, " in said


def test_a_rule_that_is_not_there_is_not_proven(
    start: Start, capsys: pytest.CaptureFixture[str]
) -> None:
    """An unknown id is refused, with how to find the ones there are."""
    assert start("rules", "prove", "tag-uniqe") == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "there is no rule 'tag-uniqe'" in said


def test_only_the_rules_named_are_proven(
    start: Start, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of the rules there are, those that are named are proven, and no other."""
    assert start("rules", "prove", "tag-unique", "barrel-kind-stated") == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.startswith("2 rules, 7 proofs, ")


def test_rules_without_a_limit_need_no_score(
    start: Start, alone: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where nothing can be changed, no share of changes noticed is made up."""
    write(alone, {"own.yaml": RULES.partition("rules:")[0]})
    assert start("rules", "prove") == 0
    said = " ".join(capsys.readouterr().out.split())
    assert said.endswith("Mutation score none tried: 0 of 0 changes noticed.")
