"""Laws of advice: a proposed value settles its finding and breaks nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from configlint.advice import Adviser
from configlint.proposals import Advice, Change, advice_words
from configlint.rules import MeterRule, RuleBook
from tests.free_meters import free_meter, rule, rule_book

SPAN = "current_output.upper_range_value"
SCALE = "receiver.analogue.upper_scale"
LOWER = "current_output.lower_range_value"
DAMPING = "transmitter.damping"
WEIGHT = "pulse_output.pulse_weight"
COUNTED = "receiver.counter.pulse_weight"
WIDTH = "pulse_output.pulse_width"
LOCKED = "transmitter.settings_locked"
SERIES = {"preferred": {"figures": ["1", "2", "5"]}}
PERMISSIBLE, PREFERRED = "nearest permissible", "nearest preferred"
COUNTERPART = "as its counterpart"
PLATE, FACTOR = "sensor.nameplate.calibration_factor", "transmitter.calibration_factor"
AGREE = rule(f"abs({SCALE} / {SPAN} - 1) <= 0.0001", settings=[SCALE, SPAN])


def advise(
    book: RuleBook, written: Mapping[str, str], rule_id: str
) -> tuple[Advice, ...]:
    """Ask for advice on one rule that a meter does not meet."""
    free = free_meter(book, written)
    broken = {each.id for each in free.broken_with({})}
    assert rule_id in broken
    (asked,) = (each for each in book.meter_rules if each.id == rule_id)
    return Adviser(free, broken).advise(asked)


def changes(advice: tuple[Advice, ...], kind: str = PERMISSIBLE) -> dict[str, str]:
    """Give the changes of one kind of advice, none where there is none."""
    found = [dict(each.changes) for each in advice if each.kind == kind]
    return found[0] if found else {}


def limited(
    folder: Path, accept: str, said: Mapping[str, Any] | None = None
) -> RuleBook:
    """Load one rule on the damping."""
    rules = {"one": rule(accept, settings=[DAMPING])}
    return rule_book(folder, rules, {DAMPING: said or {}})


def test_the_nearest_value_and_the_nearest_preferred_one(tmp_path: Path) -> None:
    """Both kinds are proposed, each with the span that the setting may be moved in."""
    book = limited(tmp_path, f"{DAMPING} <= 6.7891[s]", SERIES)
    advice = advise(book, {DAMPING: "30 s"}, "one")
    assert advice == (
        Advice(PERMISSIBLE, (Change(DAMPING, "6.789 s"),), "0 to 6.789 s"),
        Advice(PREFERRED, (Change(DAMPING, "5 s"),), "0 to 6.789 s"),
    )


def test_without_a_preference_there_is_one_kind(tmp_path: Path) -> None:
    """Where no values are preferred, only the nearest permissible one is proposed."""
    book = limited(tmp_path, f"{DAMPING} <= 6.7891[s]")
    assert [each.kind for each in advise(book, {DAMPING: "30 s"}, "one")] == [
        PERMISSIBLE
    ]


def test_no_preferred_value_may_be_permissible(tmp_path: Path) -> None:
    """Where none of the preferred values is inside, none is proposed."""
    book = limited(tmp_path, f"6[s] <= {DAMPING} <= 7[s]", SERIES)
    assert [each.kind for each in advise(book, {DAMPING: "30 s"}, "one")] == [
        PERMISSIBLE
    ]


def test_what_a_person_reads_is_never_proposed(tmp_path: Path) -> None:
    """A setting that nobody can choose gets no value, whatever the rule asks."""
    book = limited(tmp_path, f"{DAMPING} <= 6[s]", {"adjustable": "false"})
    assert advise(book, {DAMPING: "30 s"}, "one") == ()


def test_a_part_that_is_not_used_gets_no_value(tmp_path: Path) -> None:
    """Nothing is proposed for a part of the meter that is not in use."""
    asked = rule(f"{DAMPING} <= 6[s]", settings=[WEIGHT])
    book = rule_book(tmp_path, {"one": asked}, {WEIGHT: {}})
    written = {DAMPING: "30 s", "pulse_output": "not used"}
    assert advise(book, written, "one") == ()


def test_the_first_setting_that_helps_is_moved(tmp_path: Path) -> None:
    """A rule's settings are tried in the order in which it names them."""
    accept = f"{DAMPING} + receiver.analogue.damping <= 6[s]"
    settings = ["receiver.analogue.damping", DAMPING]
    book = rule_book(
        tmp_path,
        {"one": rule(accept, settings=settings)},
        {path: {} for path in settings},
    )
    written = {DAMPING: "8 s", "receiver.analogue.damping": "1 s"}
    # The receiver's filter alone can't make up for the transmitter's.
    assert changes(advise(book, written, "one")) == {DAMPING: "5 s"}


def test_other_rules_are_met_as_well(tmp_path: Path) -> None:
    """The nearest value is one that no other rule forbids."""
    rules = {
        "one": rule(f"{DAMPING} <= 6[s]", settings=[DAMPING]),
        "two": rule(f"{DAMPING} <= 4[s] or {DAMPING} > 7[s]"),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}})
    assert changes(advise(book, {DAMPING: "30 s"}, "one")) == {DAMPING: "4 s"}


def test_what_is_broken_anyway_may_stay_so(tmp_path: Path) -> None:
    """A rule that can't be met by the setting does not keep another from being met."""
    rules = {
        "one": rule(f"{DAMPING} <= 6[s]", settings=[DAMPING]),
        "never": rule(f"{DAMPING} < 0[s]"),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}})
    assert changes(advise(book, {DAMPING: "30 s"}, "one")) == {DAMPING: "6 s"}


def test_all_that_can_be_met_is_met(tmp_path: Path) -> None:
    """A value that meets the other broken rule too goes before a nearer one."""
    rules = {
        "one": rule(f"{DAMPING} <= 6[s]", settings=[DAMPING]),
        "two": rule(f"{DAMPING} <= 2[s]"),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}})
    assert changes(advise(book, {DAMPING: "30 s"}, "one")) == {DAMPING: "2 s"}


def test_settings_that_must_agree_are_changed_together(tmp_path: Path) -> None:
    """Where a single change would break their agreement, both ends are changed."""
    rules = {"reach": rule(f"{SPAN} >= 200[m3/h]", settings=[SPAN]), "agree": AGREE}
    book = rule_book(tmp_path, rules, {SPAN: SERIES, SCALE: {}})
    written = {SPAN: "120 m3/h", SCALE: "33.3333 l/s"}
    advice = advise(book, written, "reach")
    assert changes(advice) == {SPAN: "200 m3/h", SCALE: "55.56 l/s"}
    assert changes(advice, PREFERRED) == {SPAN: "200 m3/h", SCALE: "55.56 l/s"}
    assert advice[0].within == "200 m3/h or more"


def test_either_end_of_two_that_disagree_may_be_right(tmp_path: Path) -> None:
    """Each is proposed as the other is written, figure and unit, if that is right."""
    book = rule_book(tmp_path, {"agree": AGREE}, {SPAN: {}, SCALE: SERIES})
    advice = advise(book, {SPAN: "120.0 m3/h", SCALE: "40 l/s"}, "agree")
    assert advice == (
        Advice(COUNTERPART, (Change(SCALE, "120.0 m3/h"),), "", SPAN),
        Advice(COUNTERPART, (Change(SPAN, "40 l/s"),), "", SCALE),
    )
    assert advice_words(advice) == (
        f"if {SPAN} is right, {SCALE} 120.0 m3/h; if {SCALE} is right, {SPAN} 40 l/s."
    )


@pytest.mark.parametrize("taken", ["40 l/s", "144 m3/h"])
def test_an_end_that_can_not_be_right_is_told_with_the_rules(
    tmp_path: Path, taken: str
) -> None:
    """Only the other way is proposed, and what speaks against this one is named."""
    most = rule(f"{SPAN} <= 130[m3/h]", settings=[SPAN])
    rules = {"agree": AGREE, "most": most}
    book = rule_book(tmp_path, rules, {SPAN: {}, SCALE: {}})
    advice = advise(book, {SPAN: "120 m3/h", SCALE: taken}, "agree")
    assert advice == (
        Advice(COUNTERPART, (Change(SCALE, "120 m3/h"),), "", SPAN, ("most",)),
    )
    assert advice_words(advice) == (
        f"if {SPAN} is right, {SCALE} 120 m3/h. The other way round would break most."
    )


def test_the_way_that_leaves_less_broken_comes_first(tmp_path: Path) -> None:
    """Of two ways the one that settles another finding as well is told first."""
    least = rule(f"{SPAN} >= 130[m3/h]", settings=[SPAN])
    rules = {"agree": AGREE, "least": least}
    book = rule_book(tmp_path, rules, {SPAN: {}, SCALE: {}})
    advice = advise(book, {SPAN: "120 m3/h", SCALE: "150 m3/h"}, "agree")
    assert [each.if_right for each in advice] == [SCALE, SPAN]


def test_a_unit_that_a_rule_does_not_let_through_is_converted(tmp_path: Path) -> None:
    """What can't be copied as it is written is proposed as the same amount."""
    keep = rule(f"unit_of({SCALE}) == 'm3/h'", settings=[SCALE])
    book = rule_book(tmp_path, {"agree": AGREE, "keep": keep}, {SPAN: {}, SCALE: {}})
    advice = advise(book, {SPAN: "40 l/s", SCALE: "120 m3/h"}, "agree")
    assert [(each.kind, each.changes[0].value, each.if_right) for each in advice] == [
        (PERMISSIBLE, "144 m3/h", SPAN),
        (COUNTERPART, "120 m3/h", SCALE),
    ]


def test_a_range_shown_as_a_velocity_is_not_copied(tmp_path: Path) -> None:
    """A receiver is scaled in flow: it gets the flow that the velocity stands for."""
    book = rule_book(tmp_path, {"agree": AGREE}, {SPAN: {}, SCALE: {}})
    written = {"sensor.bore": "100 mm", SPAN: "2 m/s", SCALE: "50 m3/h"}
    advice = advise(book, written, "agree")
    assert [(each.kind, each.changes[0].value, each.if_right) for each in advice] == [
        (COUNTERPART, "50 m3/h", SCALE),
        (PERMISSIBLE, "56.55 m3/h", SPAN),
    ]


def test_what_is_stamped_is_right(tmp_path: Path) -> None:
    """A plate's figure is proposed with all its digits, for other findings as well."""
    rules = {
        "agree": rule(f"agrees({FACTOR}, {PLATE})", settings=[FACTOR, PLATE]),
        "band": rule(f"{FACTOR} <= 2", settings=[FACTOR]),
    }
    book = rule_book(tmp_path, rules, {FACTOR: {}, PLATE: {"adjustable": "false"}})
    written = {PLATE: "0.98120", FACTOR: "9.812"}
    for each in rules:
        advice = advise(book, written, each)
        assert advice == (Advice(COUNTERPART, (Change(FACTOR, "0.98120"),)),)
    assert advice_words(advice) == f"{FACTOR} 0.98120."


def test_a_rule_can_want_no_value_proposed(tmp_path: Path) -> None:
    """Then none is for its own findings, nor for others on what it would change."""
    rules = {
        "none": rule(f"{DAMPING} <= 6[s]", settings=[DAMPING], proposes_values=False),
        "same": rule(f"{DAMPING} <= 7[s]", settings=[DAMPING]),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}})
    for each in rules:
        assert advise(book, {DAMPING: "30 s"}, each) == ()


def test_a_grave_fault_is_not_made_worse(tmp_path: Path) -> None:
    """No value is proposed that takes the meter further from a rule as urgent."""
    weight = "pulse_output.pulse_weight"
    rules = {
        "few": rule(f"{weight} >= 5[l]", settings=[weight], category="B"),
        "many": rule(f"{weight} <= 1[l]", settings=[weight], category="C"),
    }
    book = rule_book(tmp_path, rules, {weight: {}})
    assert changes(advise(book, {weight: "2 l"}, "few")) == {weight: "5 l"}
    assert advise(book, {weight: "2 l"}, "many") == ()


def test_only_preferred_values_where_no_others_can_be_set(tmp_path: Path) -> None:
    """A setting that goes in steps is proposed at a step, or not at all."""
    steps = {**SERIES, "only_preferred": "true"}
    book = limited(tmp_path / "a", f"{DAMPING} <= 6.7891[s]", steps)
    found = [each.changes[0].value for each in advise(book, {DAMPING: "30 s"}, "one")]
    assert found == ["5 s", "5 s"]
    book = limited(tmp_path / "b", f"6[s] <= {DAMPING} <= 7[s]", steps)
    assert advise(book, {DAMPING: "30 s"}, "one") == ()


def test_settings_that_depend_on_each_other_are_solved_together(
    tmp_path: Path,
) -> None:
    """Where a change breaks a rule, a setting which that rule names is moved too."""
    rules = {
        "order": rule(f"{LOWER} < {SPAN}", settings=[LOWER, SPAN]),
        "span": rule(f"{SPAN} - {LOWER} >= 50[m3/h]", settings=[LOWER]),
        "most": rule(f"{SPAN} <= 100[m3/h]", settings=[SPAN]),
    }
    book = rule_book(tmp_path, rules, {SPAN: {}, LOWER: {}})
    advice = advise(book, {SPAN: "200 m3/h", LOWER: "120 m3/h"}, "most")
    assert changes(advice) == {SPAN: "100 m3/h", LOWER: "50 m3/h"}
    assert advice[0].within == ""


CHAIN = {
    "most": rule(f"{SPAN} <= 100[m3/h]", settings=[SPAN]),
    "second": rule(f"{SCALE} <= 0.9 * {SPAN}", settings=[SCALE]),
    "third": rule(
        f"process.flow.maximum <= 0.9 * {SCALE}", settings=["process.flow.maximum"]
    ),
    "fourth": rule(
        "process.flow.normal <= 0.9 * process.flow.maximum",
        settings=["process.flow.normal"],
    ),
}


def chained(folder: Path, length: int) -> tuple[Advice, ...]:
    """Ask for advice where one change makes the next necessary."""
    paths = (SPAN, SCALE, "process.flow.maximum", "process.flow.normal")
    rules = dict(list(CHAIN.items())[:length])
    book = rule_book(folder, rules, {path: {} for path in paths})
    flows = ("200 m3/h", "180 m3/h", "160 m3/h", "140 m3/h")
    return advise(book, dict(zip(paths, flows, strict=True)), "most")


def test_three_settings_are_changed_at_most(tmp_path: Path) -> None:
    """A change may take two more with it, and where a fourth is needed none is made."""
    assert len(changes(chained(tmp_path / "2", 2))) == 2
    assert len(changes(chained(tmp_path / "3", 3))) == 3
    assert chained(tmp_path / "4", 4) == ()


def test_a_setting_that_cannot_help_is_not_searched(tmp_path: Path) -> None:
    """A rule that looks at the unit alone is not settled by another number."""
    asked = rule(f"unit_of({SPAN}) == 'l/s'", settings=[SPAN, SCALE])
    book = rule_book(tmp_path, {"one": asked}, {SPAN: {}, SCALE: {}})
    assert advise(book, {SPAN: "120 m3/h", SCALE: "120 m3/h"}, "one") == ()


def test_a_search_comes_to_an_end(tmp_path: Path) -> None:
    """Of many settings only some are searched before a rule is given up."""
    paths = [DAMPING, "receiver.analogue.damping", SPAN, SCALE, LOWER, WIDTH, WEIGHT]
    parts = [f"0 * figure({path})" for path in paths]
    rules = {"one": rule(f"{' + '.join(parts)} > 1", settings=paths)}
    book = rule_book(tmp_path, rules, {path: {} for path in paths})
    units = ("s", "s", "m3/h", "m3/h", "m3/h", "ms", "l")
    written = {path: f"1 {unit}" for path, unit in zip(paths, units, strict=True)}
    assert advise(book, written, "one") == ()


def test_a_choice_is_proposed_where_there_is_but_one(tmp_path: Path) -> None:
    """A truth or a choice is written as its file would hold it."""
    rules = {"locked": rule(LOCKED, settings=[LOCKED])}
    book = rule_book(tmp_path, rules, {LOCKED: {}})
    advice = advise(book, {LOCKED: "false"}, "locked")
    assert advice == (Advice(PERMISSIBLE, (Change(LOCKED, "true"),)),)


def test_a_choice_that_is_not_alone_is_not_changed_together(tmp_path: Path) -> None:
    """A setting that is no amount has none that is the same amount."""
    direction = "transmitter.flow_direction"
    rules = {"both": rule(f"{direction} != 'both'", settings=[direction])}
    book = rule_book(tmp_path, rules, {direction: {}})
    assert advise(book, {direction: "both"}, "both") == ()


def test_a_change_of_unit_is_judged_by_all_rules(tmp_path: Path) -> None:
    """A value that a rule outside the search would break is not proposed."""
    rules = {
        "there": rule(f"given({WEIGHT})", settings=[WEIGHT]),
        "unit": rule(f"unit_of({WEIGHT}) == 'l'"),
        "near": rule(f"abs({WEIGHT} - 10[l]) <= 1[l] or not given({WEIGHT})"),
    }
    book = rule_book(tmp_path, rules, {WEIGHT: {}})
    assert advise(book, {WIDTH: "10 ms"}, "there") == ()


def test_what_was_searched_is_kept_for_the_next_finding(tmp_path: Path) -> None:
    """Two findings on one setting share the search of it."""
    rules = {
        "one": rule(f"{DAMPING} <= 6[s]", settings=[DAMPING]),
        "two": rule(f"{DAMPING} <= 7[s]", settings=[DAMPING]),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}})
    adviser = Adviser(free_meter(book, {DAMPING: "30 s"}), {"one", "two"})
    for each in book.meter_rules:
        assert isinstance(each, MeterRule)
        assert changes(adviser.advise(each)) == {DAMPING: "6 s"}
    assert len(adviser.levers) == 1


def test_advice_is_said_in_a_sentence() -> None:
    """The preferred value is told first, the others with it, then the span."""
    both = (Change("a", "5 l"), Change("b", "5 l"))
    nearest = Advice(
        PERMISSIBLE, (Change("a", "6.2 l"), Change("b", "6.2 l")), "1 to 6 l"
    )
    assert advice_words([nearest, Advice(PREFERRED, both, "1 to 6 l")]) == (
        "a 5 l together with b 5 l. Permissible: 1 to 6 l, the nearest 6.2 l."
    )
    assert advice_words([Advice(PERMISSIBLE, both[:1], "1 to 6 l")]) == (
        "a 5 l. Permissible: 1 to 6 l."
    )
    assert advice_words([Advice(PERMISSIBLE, both[:1], "5 l")]) == "a 5 l."
    assert advice_words([Advice(PERMISSIBLE, both[:1])]) == "a 5 l."


def test_a_bound_of_another_rule_is_told(tmp_path: Path) -> None:
    """Where another rule asks for more than the finding's own, it is named."""
    rules = {
        "own": rule(f"{DAMPING} <= 6[s]", settings=[DAMPING]),
        "other": rule(f"{DAMPING} <= 4[s] or {DAMPING} > 6[s]"),
    }
    book = rule_book(tmp_path, rules, {DAMPING: {}})
    (advice,) = advise(book, {DAMPING: "30 s"}, "own")
    assert (advice.within, advice.bound) == ("0 to 4 s", "other")
    assert advice_words([advice]) == f"{DAMPING} 4 s. Permissible: 0 to 4 s by other."
    (own,) = advise(limited(tmp_path, f"{DAMPING} >= 6[s]"), {DAMPING: "1 s"}, "one")
    assert own.bound == ""


def test_nothing_keeps_out_a_value_that_is_not_written(tmp_path: Path) -> None:
    """Where nothing is written yet, no rule is named as the one that bounds it."""
    accept = f"given({DAMPING}) and 2[s] <= {DAMPING} <= 6[s]"
    advice = advise(limited(tmp_path, accept, SERIES), {}, "one")
    assert advice
    assert {each.bound for each in advice} == {""}
