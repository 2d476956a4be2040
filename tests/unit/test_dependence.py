"""Laws of what a setting sways: quantities, rules, and where they may turn."""

from __future__ import annotations

from pathlib import Path

from configlint.dependence import Dependence, Sway
from configlint.rules import RuleBook
from tests.free_meters import rule, rule_book, standard_book

SPAN = "current_output.upper_range_value"
BORE = "sensor.bore"


def made(folder: Path) -> RuleBook:
    """Load rules that depend on a range in several ways."""
    rules = {
        "direct": rule(f"{SPAN} <= 10[m3/h]"),
        "through": rule("twice >= 1"),
        "apart": rule("sensor.bore > 1[mm]"),
        "round": rule(f"significand(figure({SPAN})) == 1"),
        "round-through": rule("digits < 5"),
        "asked": rule("sensor.bore > 2[mm]", applies=f"{SPAN} > 1[m3/h]"),
        "unit": rule(f"unit_of({SPAN}) == 'm3/h'"),
        "given": rule(f"given({SPAN})"),
    }
    quantities = {
        "twice": "thrice * 2 / 3",
        "thrice": f"3 * {SPAN} / 1[m3/h]",
        "digits": f"significand({SPAN} / 1[m3/h])",
    }
    return rule_book(folder, rules, {}, quantities)


def swayed(book: RuleBook, *inputs: str) -> Sway:
    """Give what some inputs of a book sway."""
    return Dependence(book).sway(inputs)


def ids(sway: Sway) -> set[str]:
    """Name the rules that are swayed."""
    return {each.id for each in sway.rules}


def test_rules_are_swayed_directly_and_through_quantities(tmp_path: Path) -> None:
    """A rule depends on what its formulas name, and on what those depend on."""
    sway = swayed(made(tmp_path), SPAN)
    assert {"direct", "through", "round", "round-through", "asked", "given"} == ids(
        sway
    )
    names = [each.name for each in sway.quantities]
    assert names.index("thrice") < names.index("twice")


def test_a_value_in_the_same_unit_changes_no_unit(tmp_path: Path) -> None:
    """A rule that only asks for the unit is left aside."""
    assert "unit" not in ids(swayed(made(tmp_path), SPAN))


def test_rules_on_figures_are_told_apart(tmp_path: Path) -> None:
    """What looks at the digits of a value is known, through quantities too."""
    sway = swayed(made(tmp_path), SPAN)
    assert sway.of_figures == {"round", "round-through"}


def test_a_swayed_condition_is_known(tmp_path: Path) -> None:
    """Whether a rule is asked at all may depend on the setting."""
    assert swayed(made(tmp_path), SPAN).conditional == {"asked"}


def test_a_fallback_counts_as_well() -> None:
    """A quantity is swayed by what its fallback names."""
    sway = swayed(standard_book(), "sensor.nominal_size")
    assert "bore" in {each.name for each in sway.quantities}
    assert "velocity-at-span-in-band" in ids(sway)


def test_what_is_known_is_not_searched_again() -> None:
    """The same inputs give the same object, in whatever order they are named."""
    dependence = Dependence(standard_book())
    assert dependence.sway([SPAN, BORE]) is dependence.sway([BORE, SPAN])


def turns_of(folder: Path, accept: str) -> int:
    """Count the turns of one rule that a range sways."""
    return len(swayed(rule_book(folder, {"one": rule(accept)}), SPAN).turns)


def test_what_is_compared_is_a_turn(tmp_path: Path) -> None:
    """Each comparison of amounts has one turn, one of texts or truths none."""
    one = f"{SPAN} > 1[m3/h]"
    assert turns_of(tmp_path / "a", one) == 1
    assert turns_of(tmp_path / "b", f"({one}) == (principle == 'vortex')") == 1
    assert turns_of(tmp_path / "c", "sensor.bore > 1[mm]") == 0


def test_extremes_turn_where_two_are_the_same(tmp_path: Path) -> None:
    """Of three values there are three pairs, but for those that are not swayed."""
    three = f"min({SPAN}, process.flow.normal, process.flow.maximum) > 1[m3/h]"
    assert turns_of(tmp_path, three) == 3


def test_a_choice_and_a_look_up_are_amounts(tmp_path: Path) -> None:
    """What is chosen by a condition, or found in a table, is compared as any other."""
    choice = f"({SPAN} if given(sensor.bore) else 1[m3/h]) > 2[m3/h]"
    assert turns_of(tmp_path / "a", choice) == 1
    size = "sizes[sensor.nominal_size].bore"
    found = f"{size} < {SPAN} / 1[m3/h] * 1[m]"
    assert turns_of(tmp_path / "b", found) == 1
    word = "sizes[sensor.nominal_size].word == 'small'"
    assert turns_of(tmp_path / "c", f"{word} or {SPAN} > 1[m3/h]") == 1


def test_dates_are_compared_as_numbers(tmp_path: Path) -> None:
    """Two dates have a turn where they are the same."""
    book = rule_book(
        tmp_path, {"one": rule("records.as_left_on <= sensor.calibration.date")}
    )
    assert len(swayed(book, "records.as_left_on").turns) == 1


def test_a_deviation_is_known_by_its_absolute_value(tmp_path: Path) -> None:
    """What an absolute value is taken of is a deviation, a comparison is none."""
    accept = f"abs({SPAN} - process.flow.normal) <= 1[m3/h] and abs({SPAN}) > 0[m3/h]"
    book = rule_book(tmp_path, {"one": rule(accept)})
    turns = swayed(book, SPAN).turns
    assert sorted(each.deviation for each in turns) == [False, False, True, True]
    assert sum(each.right is None for each in turns) == 1


def test_steps_begin_where_rounding_goes_on(tmp_path: Path) -> None:
    """Rounding steps at halves, rounding down at whole numbers, figures at decades."""
    number = f"{SPAN} / 1[m3/h]"
    accept = f"floor({number}) + round({number}) + significand({number}) > 0"
    book = rule_book(tmp_path, {"one": rule(accept)})
    quantity = swayed(book, SPAN)
    assert quantity.of_figures == {"one"}
    rounds = rule_book(
        tmp_path / "b",
        {"one": rule(f"floor({number}) + round({number}) > 0")},
        quantities={"decade": f"significand({number})"},
    )
    steps = [each.step for each in swayed(rounds, SPAN).turns if each.step]
    assert [(each.of(2.6), each.begins(3)) for each in steps] == [(2, 3.0), (3, 2.5)]


def test_figures_step_at_powers_of_ten(tmp_path: Path) -> None:
    """The decade of a number is a step of its figures; zero is on none."""
    number = f"{SPAN} / 1[m3/h]"
    book = rule_book(
        tmp_path,
        {"one": rule("digits > 1")},
        quantities={"digits": f"significand({number})"},
    )
    (step,) = (each.step for each in swayed(book, SPAN).turns if each.step)
    assert (step.of(250.0), step.begins(2)) == (2, 100.0)
    assert step.of(0.0) != step.of(0.0)
