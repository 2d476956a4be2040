"""Laws of effects: what a fault costs in percent, in flow and over a year."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from configlint.bench import Bench
from configlint.compiler import make_formula
from configlint.effects import (
    LOST,
    Amount,
    Effect,
    Net,
    effect_of,
    effect_words,
)
from configlint.engine import Derived
from configlint.errors import RunError
from configlint.findings import Finding
from configlint.proofs import prove
from configlint.rule_book import load_rule_book
from configlint.rules import FLOW, EffectFormula
from configlint.workspace import find_sources
from tests.builders import (
    EFFECT,
    SOUND_RULES,
    make_facts,
    make_scope,
    write_folder,
)
from tests.builders import FLOW as VOLUME_FLOW

FLOWS = {
    "process.flow.minimum": "10 m3/h",
    "process.flow.normal": "100 m3/h",
    "process.flow.maximum": "200 m3/h",
}


def formula_of(text: str, measure: str = "reading error") -> EffectFormula:
    """Make an effect of a formula that may name the flow."""
    scope = make_scope({FLOW: VOLUME_FLOW})
    return EffectFormula("The receiver", measure, make_formula(text, scope))


def effect(
    text: str, changes: Mapping[str, str] = FLOWS, measure: str = "reading error"
) -> Effect | None:
    """Compute an effect for a bare meter with some values."""
    known = make_facts(changes)
    derived = Derived(known.values, known.written, known.causes)
    return effect_of(formula_of(text, measure), derived, {})


def words(text: str, changes: Mapping[str, str] = FLOWS, measure: str = "") -> str:
    """Say an effect that there is."""
    found = effect(text, changes, measure or "reading error")
    assert found is not None
    return effect_words(found)


def test_an_error_of_every_flow_is_told_in_flow_and_over_a_year() -> None:
    """An error that no flow changes is told at normal flow and over 8 760 hours."""
    found = effect("0.2")
    assert found == EFFECT
    assert found is not None
    assert effect_words(found) == (
        "The receiver reads 20 % high: 20 m3/h too much at normal flow, 175000 m3 in a "
        "year of 8760 h, as none are stated."
    )


def test_millions_are_told_in_words() -> None:
    """A large amount is told in millions, to three figures."""
    said = words("0.2", {"process.flow.normal": "10000 m3/h"})
    assert ", 17.5 million m3 in a year of " in said


def test_hours_that_are_stated_count() -> None:
    """The hours that a meter states are those of its year."""
    stated = {**FLOWS, "process.hours_per_year": "1000"}
    assert words("0.2", stated).endswith("20000 m3 in a year of 1000 h of flow.")


def test_without_a_normal_flow_the_percentage_alone_is_told() -> None:
    """Nothing is told in flow where no flow is known."""
    assert words("-0.2", {}) == "The receiver reads 20 % low."


@pytest.mark.parametrize(
    ("formula", "said"),
    [
        ("0.00041", "reads 0.041 % high"),
        ("1", "reads 100 % high"),
        ("2.7854", "reads 3.79 times the flow"),
        ("-0.5", "reads 50 % low"),
        ("-0.736", "reads 0.264 of the flow"),
    ],
)
def test_the_direction_and_the_size_are_in_words(formula: str, said: str) -> None:
    """An error is high or low, and a large one is told as a multiple of the flow."""
    assert words(formula, {}) == f"The receiver {said}."


def test_a_lost_share_makes_the_reading_low() -> None:
    """What is lost is missing from the reading."""
    found = effect("0.25", FLOWS, LOST)
    assert found is not None
    assert found.relative == -0.25
    assert found.per_year == Amount(-219000.0, "m3")
    assert effect_words(found).startswith(
        "The receiver loses 25 % of the flow: 25 m3/h too little at normal flow, "
    )


def test_an_effect_that_depends_on_flow_is_asked_at_three_flows() -> None:
    """It is told at minimum, normal and maximum flow, and over a year at normal."""
    said = words("0.02[m/s] * 0.05[m2] / flow")
    assert said == (
        "The receiver reads 36 % high at minimum flow, 3.6 m3/h too much; reads 3.6 % "
        "high at normal flow, 3.6 m3/h too much; reads 1.8 % high at maximum flow, "
        "3.6 m3/h too much. At normal flow that is 31500 m3 in a year of 8760 h, as "
        "none are stated."
    )


def test_an_effect_that_is_right_at_normal_flow_tells_the_largest() -> None:
    """Where normal flow is read right, the largest error stands for the effect."""
    found = effect("1 if flow < 0.01[m/s] * 1[m2] else 0", FLOWS, LOST)
    assert found is not None
    assert (found.relative, found.told_at) == (-1.0, "minimum")
    assert effect_words(found) == (
        "The receiver loses 100 % of the flow at minimum flow, 10 m3/h too little; is "
        "right at normal flow; is right at maximum flow."
    )


def test_an_effect_that_comes_out_alike_at_every_flow_is_told_once() -> None:
    """A formula that names the flow and does not depend on it is told shortly."""
    assert words("flow / flow - 0.9").startswith("The receiver reads 10 % high: 10 ")


@pytest.mark.parametrize(
    ("formula", "changes"),
    [
        ("0", FLOWS),
        ("1 if flow < 0[m/s] * 1[m2] else 0", FLOWS),
        ("flow / flow - 1", {}),
        ("n - 1", FLOWS),
        ("n - flow / flow", FLOWS),
    ],
)
def test_no_effect_is_told_where_nothing_is_wrong_or_known(
    formula: str, changes: Mapping[str, str]
) -> None:
    """An error of nothing, or one that can't be computed, is no effect."""
    derived = Derived({**make_facts(changes).values, "n": float("nan")}, {}, {})
    assert effect_of(formula_of(formula), derived, {}) is None


@pytest.mark.parametrize(
    ("normal", "density", "error", "year"),
    [
        ("100 US_gal/min", None, Amount(10.0, "US_gal/min"), Amount(5256000, "US_gal")),
        ("1 imp_gal/h", None, Amount(0.1, "imp_gal/h"), Amount(876.0, "imp_gal")),
        ("2 t/h", "1000 kg/m3", Amount(0.2, "t/h"), Amount(1752.0, "t")),
        ("10 lb/h", "1000 kg/m3", Amount(1.0, "lb/h"), Amount(8760.0, "lb")),
        ("1 l/s", None, Amount(0.1, "l/s"), Amount(3153.6, "m3")),
    ],
)
def test_amounts_are_in_the_units_of_the_file(
    normal: str, density: str | None, error: Amount, year: Amount
) -> None:
    """An error is in the unit of the flow, a year's amount in its system of units."""
    changes = {"process.flow.normal": normal}
    if density:
        changes["process.density"] = density
    found = effect("0.1", changes)
    assert found is not None
    assert found.at[0].error == error
    assert found.per_year == year


def test_a_flow_written_as_a_velocity_is_told_as_a_flow() -> None:
    """A velocity through the bore is told in m3/h."""
    written = {"process.flow.normal": "1 m/s", "sensor.bore": "100 mm"}
    found = effect("0.1", written)
    assert found is not None
    assert found.at[0].flow.unit == "m3/h"
    assert found.at[0].flow.value == pytest.approx(28.2743338823)


def test_the_costliest_effect_ranks_first() -> None:
    """Effects rank by the amount of a year in any unit, then by percent."""
    most = effect("0.01", {"process.flow.normal": "100 m3/h"})
    less = effect("0.02", {"process.flow.normal": "100 US_gal/min"})
    high, low = effect("0.3", {}), effect("-0.2", {})
    found = [each for each in (low, less, high, most) if each is not None]
    assert sorted(found, key=lambda each: each.rank) == [most, less, high, low]


def test_a_net_of_nothing_is_an_effect() -> None:
    """Faults that cancel give an effect of nothing, unless no flow is known for it."""
    known = make_facts(FLOWS)
    derived = Derived(known.values, known.written, known.causes)
    nothing = effect_of(formula_of("0"), derived, {}, is_net=True)
    assert nothing is not None
    assert effect_words(nothing) == "The receiver reads right."
    nowhere = Derived({}, {}, {})
    assert effect_of(formula_of("flow / flow - 1"), nowhere, {}, is_net=True) is None


SHARE = EFFECT._replace(others=("size-agrees",))
NET = Net("The receiver", "chain", ("scale", "size-agrees"), (), EFFECT)


def said_of(effect: Effect) -> str:
    """Give what is said behind an effect's own figures."""
    return effect_words(effect).partition("none are stated. ")[2]


@pytest.mark.parametrize(
    ("of", "said"),
    [
        ("The meter", "Taken alone, the meter reads"),
        ("A meter", "Taken alone, a meter reads"),
        ("PLC 7", "Taken alone, PLC 7 reads"),
    ],
)
def test_a_share_is_told_as_taken_alone(of: str, said: str) -> None:
    """The words begin so, and a name keeps its capitals."""
    assert effect_words(SHARE._replace(of=of)).startswith(said)


def test_a_share_names_what_no_rule_computes() -> None:
    """Without any net, the others are named and the net is said not to be known."""
    assert said_of(SHARE) == (
        "What it comes to with size-agrees is not known: no rule computes it."
    )


def test_a_share_tells_its_net() -> None:
    """The net is told with the faults that are in it, and those left out of it."""
    high = EFFECT._replace(relative=0.4, at=(), per_year=None)
    known = NET._replace(effect=high)
    together = "Together with size-agrees"
    assert said_of(SHARE._replace(nets=(known,))) == (
        f"{together}, the receiver reads 40 % high."
    )
    without = known._replace(left_out=("cutoff",))
    assert said_of(SHARE._replace(nets=(without,))) == (
        f"{together}, but without cutoff, the receiver reads 40 % high."
    )
    unknown = NET._replace(effect=None, missing=("a", "b"))
    assert said_of(SHARE._replace(nets=(unknown,))) == (
        f"{together}, the net of the receiver is not known: lacks a, b."
    )


def test_a_net_of_a_single_finding_is_told_by_its_rule() -> None:
    """It is told where it differs, or said that nothing else bears on the reading."""
    single = NET._replace(counted=("scale",))
    assert said_of(SHARE._replace(nets=(single,))).startswith(
        "No other fault bears on the receiver, which reads 20 % high as well."
    )
    high = single._replace(effect=EFFECT._replace(relative=0.4, at=(), per_year=None))
    assert said_of(SHARE._replace(nets=(high,))).startswith(
        "By chain, the receiver reads 40 % high."
    )


def test_figures_that_count_the_others_are_told_once() -> None:
    """An effect that counts a fault is no share, and its net has nothing to add."""
    counting = SHARE._replace(counts=("size-agrees",), nets=(NET,))
    assert not counting.is_share
    assert said_of(counting) == "Counted in it: size-agrees."


# --- effects in rule files and findings -----------------------------------

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
