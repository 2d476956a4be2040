"""Laws of effects: what a fault costs in percent, in flow and over a year."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

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
from configlint.rules import FLOW, EffectFormula
from tests.builders import (
    EFFECT,
    make_facts,
    make_scope,
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


@pytest.mark.parametrize(
    ("year", "said"),
    [
        (999_499.0, "999000 m3"),
        (999_600.0, "1 million m3"),
        (999_400_000.0, "999 million m3"),
        (999_600_000.0, "1 x 10^9 m3"),
        (4.87e15, "4.87 x 10^15 m3"),
        (-1e300, "1 x 10^300 m3"),
        (4.12e-7, "4.12 x 10^-7 m3"),
        (4.12e-6, "0.00000412 m3"),
        (math.inf, "infinite m3"),
        (math.nan, "no number m3"),
    ],
)
def test_every_amount_is_told_in_three_figures(year: float, said: str) -> None:
    """Beyond millions and millionths an amount is told by its power of ten."""
    found = effect_words(EFFECT._replace(per_year=Amount(year, "m3")))
    assert f", {said} in a year of " in found


def test_what_is_left_out_is_no_sign_of_a_single_fault() -> None:
    """A net of one finding that leaves another out does not tell that none is there."""
    net = Net("The receiver", "chain", ("own",), ("else",), EFFECT)
    said = effect_words(EFFECT._replace(others=("else",), nets=(net,)))
    assert "No other fault bears" not in said
    assert "By chain, but without else, the receiver reads 20 % high" in said


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
        ("-1", "reads nothing"),
        ("-1.0476", "reads backwards, by 0.0476 of the flow"),
        ("-19.4", "reads backwards, by 18.4 of the flow"),
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


def test_a_mass_ranks_by_the_volume_that_it_takes() -> None:
    """A tonne of a fluid is no more than as many litres as its density makes of it."""
    acid = EFFECT._replace(per_year=Amount(1420.0, "t"), density=1420.0)
    assert acid.rank == EFFECT._replace(per_year=Amount(1000.0, "m3")).rank
    unknown = EFFECT._replace(per_year=Amount(-1.0, "t"))
    assert unknown.rank == EFFECT._replace(per_year=Amount(1.0, "m3")).rank


@pytest.mark.parametrize(
    ("density", "expected"), [("1420 kg/m3", 1420.0), (None, 1000.0)]
)
def test_the_density_of_a_rank_is_the_fluid_s(
    density: str | None, expected: float
) -> None:
    """It is taken from the process where it is known, and is that of water else."""
    stated = {} if density is None else {"process.density": density}
    found = effect("0.2", {**FLOWS, **stated})
    assert found is not None
    assert found.density == expected


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


def test_without_any_flow_a_formula_can_say_what_it_knows() -> None:
    """An effect that is asked at no flow is told where its formula needs none then."""
    formula = "0.2 if not given(flow) else 0[m3/h] / flow"
    assert words(formula, {}) == "The receiver reads 20 % high."
    assert effect("max(1 - 1[m3/h] / flow, 0)", {}, LOST) is None
