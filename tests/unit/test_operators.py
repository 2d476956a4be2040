"""Laws of the rule language's operators: totality, comparisons, three-valued truth."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest

from configlint.operators import is_missing
from configlint.units import parse_quantity
from tests.builders import computed

NAN, INF = math.nan, math.inf
TRUTHS = (True, False, None)


def test_missing_is_none_or_nan_alone() -> None:
    """None and NaN are missing, and no value that a meter can have is."""
    assert is_missing(None)
    assert is_missing(NAN)
    there = (0.0, INF, False, "", ("a",), parse_quantity("1 m"))
    assert not any(map(is_missing, there))


@pytest.mark.parametrize(
    ("symbol", "operands", "result"),
    [
        ("+", (1.5, 2.0), 3.5),
        ("-", (1.5, 2.0), -0.5),
        ("*", (1.5, 2.0), 3.0),
        ("/", (3.0, 2.0), 1.5),
        ("**", (3.0, 2.0), 9.0),
        ("**", (9.0, 0.5), 3.0),
        ("**", (4.0, -1.0), 0.25),
        ("negative", (2.0,), -2.0),
        ("abs", (-2.0,), 2.0),
        ("min", (3.0, 1.0, 2.0), 1.0),
        ("max", (3.0, 1.0, 2.0), 3.0),
        ("sqrt", (9.0,), 3.0),
        ("sqrt", (0.0,), 0.0),
        ("log10", (1000.0,), 3.0),
        ("ten_to", (8.0,), 1e8),
        ("significand", (250.0,), 2.5),
        ("significand", (1000.0,), 1.0),
        ("significand", (0.001,), 1.0),
        ("significand", (0.3,), 3.0),
        ("significand", (-0.25,), -2.5),
        ("floor", (2.9,), 2.0),
        ("floor", (-2.1,), -3.0),
        ("round", (2.5,), 2.0),
        ("round", (2.6,), 3.0),
        ("count", (("a", "b"),), 2.0),
        ("count", ((),), 0.0),
        ("if", (True, 1.0, 2.0), 1.0),
        ("if", (False, "a", "b"), "b"),
        ("if", (None, "a", "b"), None),
        ("used", (True,), True),
        ("used", (None,), None),
        ("given", (0.0,), True),
        ("given", (NAN,), False),
        ("given", (None,), False),
        ("matches", ("FT-12", "FT-[0-9]+"), True),
        ("matches", ("FT-12 ", "FT-[0-9]+"), False),
        ("matches", (None, "x"), None),
        ("in", ("a", ("a", "b")), True),
        ("not in", ("a", ("a", "b")), False),
        ("in", (None, ("a",)), None),
        ("not in", ("a", None), None),
        ("in", (NAN, ("a",)), None),
        ("not in", (NAN, ("a",)), None),
        ("matches", (NAN, "x"), None),
        ("same_unit", (NAN, "m3"), None),
        ("decimal_units", ("m3", NAN), None),
        ("time_base", (NAN,), None),
    ],
)
def test_an_operator_gives_its_result(
    symbol: str, operands: tuple[Any, ...], result: Any
) -> None:
    """Each operator gives what its name says."""
    assert computed(symbol, *operands) == result


@pytest.mark.parametrize(
    ("symbol", "operands"),
    [
        ("/", (1.0, 0.0)),
        ("/", (1.0, NAN)),
        ("**", (-8.0, 0.5)),
        ("**", (0.0, -1.0)),
        ("**", (1e200, 6.0)),
        ("**", (NAN, 2.0)),
        ("sqrt", (-1.0,)),
        ("sqrt", (NAN,)),
        ("log10", (0.0,)),
        ("log10", (-1.0,)),
        ("log10", (NAN,)),
        ("ten_to", (400.0,)),
        ("significand", (0.0,)),
        ("significand", (NAN,)),
        ("significand", (INF,)),
        ("floor", (NAN,)),
        ("floor", (INF,)),
        ("round", (NAN,)),
        ("round", (-INF,)),
        ("min", (1.0, NAN)),
        ("max", (NAN, 1.0)),
        ("if", (None, 1.0, 2.0)),
        ("abs", (NAN,)),
        ("negative", (NAN,)),
        ("+", (NAN, 1.0)),
    ],
)
def test_what_can_not_be_computed_is_no_amount(
    symbol: str, operands: tuple[Any, ...]
) -> None:
    """An amount that is missing or can't be computed is NaN, and nothing is raised."""
    assert math.isnan(computed(symbol, *operands))


@pytest.mark.parametrize("left", [1.0, 1.0 + 1e-12, 2.0, 0.0, -1.0, INF])
@pytest.mark.parametrize("right", [1.0, 1.0 + 1e-12, 2.0, 0.0, -1.0, INF])
def test_comparisons_agree_with_one_another(left: float, right: float) -> None:
    """Of less, equal and more exactly one holds, and the others follow from it."""
    less, equal, more = (computed(s, left, right) for s in ("<", "==", ">"))
    assert [less, equal, more].count(True) == 1
    assert computed("<=", left, right) is (less or equal)
    assert computed(">=", left, right) is (more or equal)
    assert computed("!=", left, right) is (not equal)


def test_amounts_within_the_tolerance_are_equal() -> None:
    """A difference far below what can be written changes no comparison."""
    assert computed("==", 1.0, 1.0 + 1e-12)
    assert computed("<=", 1.0 + 1e-12, 1.0)
    assert computed("<", 1.0, 1.0 + 1e-12) is False
    assert computed("<", 1.0, 1.0 + 1e-6) is True


@pytest.mark.parametrize("symbol", ["<", "<=", ">", ">=", "==", "!="])
@pytest.mark.parametrize("operands", [(NAN, 1.0), (1.0, NAN), (NAN, NAN)])
def test_a_comparison_with_a_missing_amount_is_undecided(
    symbol: str, operands: tuple[float, float]
) -> None:
    """No comparison with a missing amount is true or false."""
    assert computed(symbol, *operands) is None


def test_other_values_are_equal_exactly() -> None:
    """Texts and truths are compared as they are, and missing ones are undecided."""
    assert computed("==", "a", "a") is True
    assert computed("==", "a", "A") is False
    assert computed("!=", True, False) is True
    assert computed("==", None, "a") is None
    assert computed("!=", "a", None) is None


@pytest.mark.parametrize("parts", list(itertools.product(TRUTHS, repeat=2)))
def test_truth_is_that_of_kleene(parts: tuple[bool | None, bool | None]) -> None:
    """`and` is the least and `or` the greatest of false < undecided < true."""
    rank = {False: 0, None: 1, True: 2}
    assert computed("and", *parts) is min(parts, key=rank.__getitem__)
    assert computed("or", *parts) is max(parts, key=rank.__getitem__)


def test_not_turns_what_is_decided() -> None:
    """Not true is false, not false is true, not undecided is undecided."""
    assert [computed("not", truth) for truth in TRUTHS] == [False, True, None]
