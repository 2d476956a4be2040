"""Laws of what a fault costs in JSON: its own figures, its nets, and each once."""

from __future__ import annotations

import json
from typing import Any

from configlint.effects import Net
from configlint.outputs.json import write
from configlint.outputs.json_effect import effect_object, figures_object
from configlint.report import Report
from tests.builders import EFFECT, validator_of
from tests.shares import told

SCALE = "receiver.analogue.upper_scale"
FACTOR = "transmitter.calibration_factor"
STAGES = ["calibration-factor-agrees", "receiver-scale-agrees"]


def report(**changes: str) -> dict[str, Any]:
    """Give the report in JSON of a chain with a factor and a scale of its own."""
    names = {"factor": FACTOR, "scale": SCALE}
    findings = told({names[name]: text for name, text in changes.items()})
    written = write(Report((), (), tuple(findings.values()), 1), "B")
    content: dict[str, Any] = json.loads(written)
    assert list(validator_of("findings").iter_errors(content)) == []
    return content


def test_an_effect_of_its_own_is_part_of_nothing() -> None:
    """The keys about others are there, and empty."""
    assert effect_object(EFFECT) == {
        **figures_object(EFFECT),
        "alone": False,
        "others": [],
        "counts": [],
        "nets": [],
    }


def test_a_net_that_is_not_known_has_no_figures() -> None:
    """What it lacks stands in their place."""
    net = Net("The receiver", "chain", ("a", "b"), ("c",), None, ("sensor.bore",))
    (given,) = effect_object(EFFECT._replace(others=("b",), nets=(net,)))["nets"]
    assert given == {
        "of": "The receiver",
        "rule": "chain",
        "counted": ["a", "b"],
        "left_out": ["c"],
        "missing": ["sensor.bore"],
        "figures": None,
    }


def test_a_share_has_the_figures_of_its_net() -> None:
    """A share says that it is one, and its net is the effect of the net's finding."""
    content = report(factor="1.9600", scale="100 m3/h")
    effects = {each["rule"]: each["effect"] for each in content["findings"]}
    chain = effects["chain-gain-is-one"]
    assert (chain["alone"], chain["counts"], chain["nets"]) == (False, STAGES, [])
    for stage in STAGES:
        assert effects[stage]["alone"] is True
        assert effects[stage]["others"] == [each for each in STAGES if each != stage]
        (net,) = effects[stage]["nets"]
        assert (net["rule"], net["counted"]) == ("chain-gain-is-one", STAGES)
        assert net["figures"] == {key: chain[key] for key in net["figures"]}


def test_costs_have_each_net_once() -> None:
    """The summary gives the net alone, of three findings, with its finding."""
    content = report(factor="1.9600", scale="100 m3/h")
    assert len(content["findings"]) == 3
    (cost,) = content["summary"]["costs"]
    assert round(cost["reading_error"], 9) == -0.02
    (chain,) = [
        each for each in content["findings"] if each["rule"] == "chain-gain-is-one"
    ]
    assert cost["fingerprint"] == chain["fingerprint"]
    assert cost["volume_per_year"] == chain["effect"]["volume_per_year"]
