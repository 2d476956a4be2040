"""Laws of effects in rule files and findings: they load, are proven, and are told."""

from __future__ import annotations

from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.effects import effect_of, effect_words
from configlint.engine import Derived
from configlint.errors import RunError
from configlint.findings import Finding
from configlint.proofs import prove
from configlint.rule_book import load_rule_book
from configlint.workspace import find_sources
from tests.builders import SOUND_RULES, make_facts, write_folder

RULE = SOUND_RULES.replace(
    "    basis: {practice: Common}\n",
    "    effect: {of: The meter, reading_error: speed / highest}\n"
    "    basis: {practice: Common}\n",
    1,
).replace("mm}, gives: nonconforming}", "mm}, gives: nonconforming, effect: 3537 %}")


def faults_of(folder: Path, rules: str) -> str:
    """Load rules that are refused, and give what is said."""
    with pytest.raises(RunError) as refused:
        load_rule_book(write_folder(folder, rules))
    return "\n".join(fault.sentence for fault in refused.value.faults)


def test_a_rule_tells_its_effect_with_the_limits_that_judged(tmp_path: Path) -> None:
    """A finding carries the effect, computed with the rule's own limits."""
    book = load_rule_book(write_folder(tmp_path, RULE))
    (rule,) = book.meter_rules
    assert rule.effect is not None
    known = make_facts({"current_output.upper_range_value": "1 m3/s"})
    values = {**known.values, "speed": 5.0}
    found = effect_of(rule.effect, Derived(values, {}, {}), {"highest": 20.0})
    assert found is not None
    assert found.relative == 0.25


def test_proofs_pin_the_effect(tmp_path: Path) -> None:
    """A proof whose effect comes to another figure fails and says both."""
    assert not next(prove(load_rule_book(write_folder(tmp_path, RULE)))).failures
    wrong = write_folder(tmp_path, RULE.replace("3537 %", "3530 %"))
    (said,) = next(prove(load_rule_book(wrong))).failures
    assert said == "proof 2: the effect comes to 3537 %, must be 3530 %"


def test_a_proof_of_an_effect_needs_a_rule_with_one(tmp_path: Path) -> None:
    """A proof that tells an effect of a rule without one fails."""
    rules = RULE.replace(
        "    effect: {of: The meter, reading_error: speed / highest}\n", ""
    )
    (said,) = next(prove(load_rule_book(write_folder(tmp_path, rules)))).failures
    assert said == "proof 2: tells an effect, but the rule has none"


def test_an_effect_without_an_error_fails_a_proof_that_tells_one(
    tmp_path: Path,
) -> None:
    """An effect that comes to nothing is 0 % to a proof."""
    rules = RULE.replace("speed / highest}", "0 * speed / highest}")
    (said,) = next(prove(load_rule_book(write_folder(tmp_path, rules)))).failures
    assert said == "proof 2: the effect comes to 0 %, must be 3537 %"


@pytest.mark.parametrize(
    ("written", "instead", "said"),
    [
        ("speed / highest", "speed", "gives a velocity, not a plain number"),
        ("speed / highest", "spee / highest", "There is no value 'spee'"),
        ("reading_error: speed / highest", "lost_share: flow", "a volume flow"),
        (", reading_error: speed / highest", "", "An effect is one formula"),
        ("speed / highest}", "'1', lost_share: '1'}", "An effect is one formula"),
        (", effect: 3537 %", "", "No proof says what the effect comes to."),
        ("highest: 10 m/s", "flow: 1 m/s, highest: 10 m/s", "a limit named flow"),
    ],
)
def test_a_faulty_effect_is_refused_at_load(
    tmp_path: Path, written: str, instead: str, said: str
) -> None:
    """An effect of a wrong kind, form or name is refused when the rules load."""
    assert written in RULE
    assert said in faults_of(tmp_path, RULE.replace(written, instead))


def test_a_rule_across_meters_has_no_effect(tmp_path: Path) -> None:
    """An effect is of one meter's reading."""
    rules = RULE.replace(
        "    basis: {standard",
        "    effect: {of: The meter, reading_error: '1'}\n    basis: {standard",
    )
    assert "a rule about one meter" in faults_of(tmp_path, rules)


def findings_of(folder: Path, meter: str, site: str = "") -> list[Finding]:
    """Check one meter of a workspace with one site by the standard rules."""
    (folder / "north").mkdir()
    (folder / "configlint.yaml").write_text(
        "workspace: Invented works\nsites:\n  north: {folder: north}\n"
    )
    (folder / "north" / "site.yaml").write_text(f"site: north\n{site}")
    (folder / "north" / "FT-1.yaml").write_text(meter)
    (source,) = find_sources([folder]).files
    bench = Bench(source.workspace)
    bench.take(source)
    return bench.close()[1]


METER = """\
meter: FT-1
principle: electromagnetic
process: {flow: {minimum: 10 m3/h, normal: 100 m3/h, maximum: 200 m3/h}}
current_output: {lower_range_value: 0 m3/h, upper_range_value: 250 m3/h}
receiver:
  analogue: {lower_scale: 0 m3/h, upper_scale: 300 m3/h}
"""


def test_a_site_states_the_hours_of_its_meters(tmp_path: Path) -> None:
    """Hours of the site's file count where the meter states none."""
    found = findings_of(tmp_path, METER, 'hours_per_year: "4000"\n')
    (effect,) = [each.effect for each in found if each.rule == "receiver-scale-agrees"]
    assert effect is not None
    assert effect_words(effect) == (
        "The receiver reads 20 % high: 20 m3/h too much at normal flow, 80000 m3 in a "
        "year of 4000 h of flow."
    )
