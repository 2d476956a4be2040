"""Laws of what is said of a setting with a list of values."""

from __future__ import annotations

import pytest

from configlint.choices import Choices, Option
from configlint.sheets.window_words import choice_notes, window_notes
from configlint.stages import LeftOut
from configlint.units import parse_quantity
from configlint.window import Interval, Window


def test_no_choice_may_be_left() -> None:
    """Where every value breaks a rule, the conflict is named."""
    none = Choices("x", "", (Option("true", ("a",)),), ("a",), ("a",), ())
    assert list(choice_notes(none)) == [
        ("Now", "not written"),
        ("Permissible", "nothing. No value meets a."),
    ]
    free = Choices("x", "true", (Option("true", ()),), (), (), ())
    assert list(choice_notes(free)) == [
        ("Now", "true, permissible"),
        ("Permissible", "true"),
    ]


def test_a_value_that_is_no_choice_is_told_as_such() -> None:
    """A value that the list does not hold is not called permissible."""
    other = Choices("x", "7", (Option("8", ()),), (), (), ())
    words = dict(choice_notes(other))["Now"]
    assert words == "7, none of the values that there are to choose from"


@pytest.mark.parametrize(
    ("present", "words"),
    [
        ("1", "1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 8 more"),
        ("10", "4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15 and 8 more"),
        ("20", "9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20 and 8 more"),
        ("", "1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 8 more"),
    ],
)
def test_long_lists_of_choices_are_cut_around_the_present_one(
    present: str, words: str
) -> None:
    """Of many permissible choices those beside the present one are told."""
    options = tuple(Option(str(each), ()) for each in range(1, 21))
    choices = Choices("x", present, options, (), (), ())
    assert dict(choice_notes(choices))["Permissible"] == words


def test_what_does_not_count_is_told() -> None:
    """A rule that is left out of a choice is named with the faults behind it."""
    left_out = (LeftOut("net", ("one", "two")),)
    choices = Choices("x", "true", (Option("true", ()),), (), (), (), left_out)
    words = dict(choice_notes(choices))["Not counted"]
    assert words == "net, since other faults of this meter stand: one, two"


def test_margins_are_told_of_the_nearest_span_alone() -> None:
    """How far the value is from a span that it is not in says nothing of it."""
    spans = (
        Interval(3.5, 3.6, "low", "high", True, True),
        Interval(21.0, 22.0, "low", "high", True, True),
    )
    present = parse_quantity("21.5 mA")
    window = Window(
        "x", present.unit, present, spans, (), None, (), (), ("low", "high"), (), ()
    )
    words = [each for _, each in window_notes(window)]
    assert "from 3.5 mA by low" in words
    assert "to 3.6 mA by high" in words
    assert "from 21 mA by low, margin 2.38 %" in words
    assert not any("missed" in each for each in words)


def test_a_conflict_says_what_else_would_end_it() -> None:
    """Where rules leave no value, the other settings that would do are told."""
    window = Window(
        setting="x",
        unit=parse_quantity("1 mA").unit,
        present=None,
        intervals=(),
        preferred=(),
        tied=None,
        conflict=("a", "b"),
        broken=(),
        rules=("a", "b"),
        figure_rules=(),
        not_assessed=(),
        elsewhere=("y", "z"),
    )
    words = dict(window_notes(window))["Permissible"]
    assert words == "nothing. No value meets a and b at once. Change y, z too."
