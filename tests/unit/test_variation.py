"""Laws of a meter with some of its settings free."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from configlint.engine import derive
from configlint.facts import put
from configlint.units import parse_quantity
from configlint.variation import Free, Variation
from tests.free_meters import broken_by, free_meter, rule, rule_book, standard_book

SPAN = "current_output.upper_range_value"
CUTOFF = "transmitter.low_flow_cutoff"
BORE = "sensor.bore"
METER = {
    SPAN: "2 m/s",
    CUTOFF: "2 %",
    BORE: "100 mm",
    "process.flow.minimum": "1 t/h",
    "process.density": "1000 kg/m3",
}


@pytest.fixture
def free(tmp_path: Path) -> Free:
    """Give a meter whose flows are written as velocity, ratio and mass."""
    rules = {
        "fast": rule(f"{SPAN} <= 100[m3/h]"),
        "cut": rule(f"{CUTOFF} <= process.flow.minimum"),
        "asked": rule("sensor.bore < 1[m]", applies=f"{SPAN} >= 10[m3/h]"),
        "elsewhere": rule("sensor.bore < 1[m]", applies="principle == 'vortex'"),
        "open": rule("process.flow.normal > 1[m3/h] and sensor.bore > 1[mm]"),
        "round": rule(f"significand(figure({SPAN})) == 2", category="A"),
    }
    return free_meter(rule_book(tmp_path, rules), METER)


def flow(variation: Variation, path: str) -> float:
    """Give a flow in m3/h as rules know it now."""
    value = variation.facts.values[path]
    assert isinstance(value, float)
    return 3600 * value


def test_a_value_is_judged_as_if_the_file_held_it(free: Free) -> None:
    """What was written as velocity is a flow of the bore that now stands."""
    variation = free.vary([BORE])
    variation.put(BORE, parse_quantity("200 mm"))
    assert flow(variation, SPAN) == pytest.approx(2 * math.pi / 4 * 0.04 * 3600)
    assert flow(variation, CUTOFF) == pytest.approx(flow(variation, SPAN) / 50)


def test_a_density_sways_what_is_written_as_mass(free: Free) -> None:
    """A flow written as mass follows the density, and so do the rules on it."""
    variation = free.vary(["process.density"])
    variation.put("process.density", parse_quantity("500 kg/m3"))
    assert flow(variation, "process.flow.minimum") == pytest.approx(2)
    assert {each.id for each in variation.rules} == {"cut"}


def test_a_range_sways_a_cut_off_in_percent(free: Free) -> None:
    """A ratio follows the upper range value, and so do the rules on it."""
    variation = free.vary([SPAN])
    variation.put(SPAN, parse_quantity("50 m3/h"))
    assert flow(variation, CUTOFF) == pytest.approx(1)
    assert "cut" in {each.id for each in variation.rules}


def test_a_meter_is_not_changed_by_its_variation(free: Free) -> None:
    """The facts of the meter itself stay as they were read."""
    before = free.facts.copy()
    variation = free.vary([SPAN, BORE])
    variation.put(SPAN, parse_quantity("50 m3/h"))
    assert free.facts.written == before.written
    assert free.facts.values[SPAN] == before.values[SPAN]


def test_only_rules_that_may_speak_are_asked(free: Free) -> None:
    """A rule that does not apply, whatever the setting is, is left aside."""
    assert "elsewhere" not in {each.id for each in free.vary([BORE]).rules}
    assert "asked" in {each.id for each in free.vary([SPAN]).rules}


def test_rules_are_broken_open_and_applying(free: Free) -> None:
    """A set holds just the rules that are nonconforming, undecided, or asked."""
    variation = free.vary([SPAN, BORE])
    variation.put(SPAN, parse_quantity("120 m3/h"))
    variation.put(BORE, parse_quantity("2 m"))
    names = variation.named
    assert names(variation.broken()) == ("round", "fast", "cut", "asked")
    assert names(variation.left_open()) == ("open",)
    variation.put(SPAN, parse_quantity("5 m3/h"))
    assert "asked" not in names(variation.applying())
    assert names(variation.of_figures) == ("round",)
    assert variation.by_amount | variation.of_figures == variation.all_rules


def test_an_undecided_condition_leaves_a_rule_open(tmp_path: Path) -> None:
    """A rule of which nobody knows whether it applies is open, and breaks nothing."""
    asked = rule("sensor.bore < 1[m]", applies="process.flow.normal > 1[m3/h]")
    variation = free_meter(rule_book(tmp_path, {"asked": asked})).vary([BORE])
    variation.put(BORE, parse_quantity("2 m"))
    assert variation.named(variation.left_open()) == ("asked",)
    assert variation.broken() == 0


def test_a_set_is_made_of_ids(free: Free) -> None:
    """Ids that are not swayed make no part of a set."""
    variation = free.vary([SPAN])
    rules = variation.set_of(["fast", "elsewhere", "nothing"])
    assert variation.named(rules) == ("fast",)


def test_a_difference_that_no_comparison_sees_is_none(free: Free) -> None:
    """Within the tolerance a turn is at zero, and exact where that is asked for."""
    variation = free.vary([SPAN])
    variation.put(SPAN, parse_quantity("100.00000001 m3/h"))
    at_zero = [place for place, each in enumerate(variation.turns()) if each == 0]
    assert at_zero
    assert all(variation.turn(place) != 0 for place in at_zero)


def test_values_can_be_fixed_beforehand(free: Free) -> None:
    """A fixed setting has its new value while another is varied."""
    bore = parse_quantity("200 mm")
    variation = free.vary([SPAN], {BORE: bore})
    assert variation.facts.written[BORE] is bore
    assert flow(variation, SPAN) == pytest.approx(2 * math.pi / 4 * 0.04 * 3600)


def test_a_policys_limit_is_the_one_that_holds(tmp_path: Path) -> None:
    """Rules are asked with the limits that the site has changed."""
    limited = rule("sensor.bore <= most", limits={"most": "1 m"})
    changed = {"limited": {"most": 0.05}}
    free = free_meter(rule_book(tmp_path, {"limited": limited}), METER, changed)
    variation = free.vary([BORE])
    variation.put(BORE, parse_quantity("100 mm"))
    assert variation.named(variation.broken()) == ("limited",)


def test_what_is_broken_is_what_the_judge_says() -> None:
    """All rules asked of a changed meter give what judging it anew gives."""
    free = free_meter(standard_book(), METER)
    for text in ("0.1 m3/h", "20 m3/h", "2000 m3/h"):
        facts = free.facts.copy()
        put(facts, SPAN, parse_quantity(text))
        outcomes = free.judge.judge(derive(free.book, facts))
        wrong = {each.rule.id for each in outcomes if each.word == "nonconforming"}
        assert broken_by(free, {SPAN: text}) == wrong


def test_a_value_is_offered_where_an_unreadable_one_stood(tmp_path: Path) -> None:
    """A faulty value no longer counts as written once another is put there."""
    rules = {"there": rule("given(sensor.bore)")}
    free = free_meter(rule_book(tmp_path, rules))
    free.facts.unreadable.add(BORE)
    variation = free.vary([BORE])
    variation.put(BORE, parse_quantity("10 mm"))
    assert not variation.facts.unreadable
    assert variation.broken() == 0


def test_a_mark_tells_what_a_text_can_be(tmp_path: Path) -> None:
    """The mark of a path says how its text is read; of no path there is none."""
    free = free_meter(rule_book(tmp_path, {}))
    mark = free.mark(BORE)
    assert mark is not None
    assert mark.read("10 mm").si == 0.01
    assert free.mark("sensor.bored") is None
