"""Laws of the smallest set of rules that can't all be met."""

from __future__ import annotations

import pytest

from configlint.conflicts import smallest_conflict

ORDER = ("a", "b", "c", "x", "never")


@pytest.mark.parametrize(
    ("broken", "conflict"),
    [
        ([], ()),
        ([("a",), ()], ()),
        ([("a",)], ("a",)),
        ([("a", "b"), ("b", "c"), ("c", "a")], ("a", "b")),
        ([("a",), ("b",), ("c",)], ("a", "b", "c")),
        # A rule that is broken wherever another is says nothing more.
        ([("a", "x"), ("a",), ("b", "x"), ("b",)], ("a", "b")),
        # One rule alone is the smallest set, even where two others do as well.
        ([("a", "never"), ("b", "never")], ("never",)),
    ],
)
def test_the_fewest_rules_that_are_always_broken_are_named(
    broken: list[tuple[str, ...]], conflict: tuple[str, ...]
) -> None:
    """Of every value one of the rules named is broken, and no fewer would do."""
    assert smallest_conflict(broken, ORDER) == conflict


def test_the_more_urgent_of_equal_conflicts_is_named() -> None:
    """Of two smallest sets it is the one whose rules come first in their order."""
    assert smallest_conflict([("b", "a")], ORDER) == ("a",)
    assert smallest_conflict([("x", "a"), ("x", "b")], ORDER) == ("x",)
