"""Laws of what is said of a setting with a list of values."""

from __future__ import annotations

import pytest

from configlint.choices import Choices, Option
from configlint.sheets.window_words import choice_notes


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
