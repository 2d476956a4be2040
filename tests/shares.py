"""A meter whose stages are set by hand, and what its findings tell of their costs."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from configlint.effects import Effect, effect_words
from configlint.engine import NONCONFORMING, Judge, derive_told
from configlint.errors import Place
from configlint.findings import Finding, Located, Subject, outcome_finding
from configlint.nets import Nets
from configlint.rules import Limit, MeterRule, RuleBook
from tests.builders import make_facts, standard_book

__all__ = ["SOUND", "effect", "made_rule", "nets", "standard_book", "told", "words"]

SOUND: Mapping[str, str] = {
    "sensor.nominal_size": "DN 150",
    "sensor.nameplate.calibration_factor": "1.0000",
    "transmitter.nominal_size": "DN 150",
    "transmitter.calibration_factor": "1.0000",
    "current_output.lower_range_value": "0 m3/h",
    "current_output.upper_range_value": "200 m3/h",
    "receiver.analogue.lower_scale": "0 m3/h",
    "receiver.analogue.upper_scale": "200 m3/h",
    "receiver.analogue.lower_current": "4 mA",
    "receiver.analogue.upper_current": "20 mA",
    "pulse_output": "not used",
    "process.flow.minimum": "10 m3/h",
    "process.flow.normal": "100 m3/h",
    "process.flow.maximum": "200 m3/h",
}
"""What decides the gain of the chain, each stage passing the flow on as it is."""


@cache
def standard_nets() -> Nets:
    """Give which of the standard rules count the faults of which."""
    return Nets(standard_book())


def told(
    changes: Mapping[str, str],
    without: tuple[str, ...] = (),
    book: RuleBook | None = None,
    limits: Mapping[str, Mapping[str, float]] | None = None,
) -> dict[str, Finding]:
    """Give the findings that cost something of a meter with some values changed.

    `without` are values that it lacks, `limits` those that a policy changes.
    """
    rules = book or standard_book()
    texts = {**SOUND, **changes}
    known = make_facts({name: texts[name] for name in texts if name not in without})
    derived, judge = derive_told(rules, known), Judge(rules, limits)
    outcomes = judge.judge(derived)
    subject = Subject("works", "north", "FT-1", "FT-1.yaml")
    located = Located(Place("FT-1.yaml"), "")
    found = [
        outcome_finding(
            outcome, subject, derived, located, rules, standard_limits(rule)
        )
        for outcome in outcomes
        if outcome.word == NONCONFORMING and isinstance(rule := outcome.rule, MeterRule)
    ]
    nets = standard_nets() if book is None else Nets(book)
    shares = nets.told(found, outcomes, derived, judge.limits)
    return {each.rule: each for each in shares if each.effect is not None}


def standard_limits(rule: MeterRule) -> Mapping[str, Limit]:
    """Give the limits of a rule as its file has them."""
    return rule.limits


def effect(finding: Finding) -> Effect:
    """Give the effect that a finding has."""
    assert finding.effect is not None
    return finding.effect


def words(finding: Finding) -> str:
    """Say the effect of a finding."""
    return effect_words(effect(finding))


def nets(finding: Finding) -> list[tuple[str, tuple[str, ...], float | None]]:
    """Give the nets a finding is part of: rule, faults counted, error."""
    return [
        (net.rule, net.counted, net.effect and round(net.effect.relative, 9))
        for net in effect(finding).nets
    ]


RULE = """\
  {name}:
    category: B
    asks: Is it right?
    accept: {accept}
    finding: It is wrong.
    remedy: Correct it.
    settings: [{settings}]
    effect: {{of: The meter, reading_error: "{error}"}}
    net: {net}
    basis: {{practice: Common}}
    proof:
      - {{gives: conforms}}
      - {{gives: nonconforming, effect: 1 %}}
"""


def made_rule(
    name: str, accept: str, settings: str, error: str, net: str = "false"
) -> str:
    """Write a rule with an effect."""
    return RULE.format(
        name=name, accept=accept, settings=settings, error=error, net=net
    )
