"""Laws of settling a formula: what is left is arithmetic, with the reasons told."""

from __future__ import annotations

import math

import pytest

from configlint.compiler import Values, make_formula
from configlint.settling import Cell, Settled, decided, settle, without_number
from configlint.units import parse_quantity
from configlint.worked import in_symbols
from tests.builders import make_scope

SYMBOLS = {"n": "tau_T"}
VALUES = {"v": 2.0, "w": 3.0, "d": 0.08, "n": 4.0, "m": 5.0, "tag": "DN 100"}


def settled(text: str, **values: object) -> Settled:
    """Settle a formula for some values."""
    scope = make_scope()
    written = {"v": parse_quantity("2.00 m/s")}
    seen = Values({**VALUES, "places": ("a", "b"), **values}, written)
    return settle(make_formula(text, scope).tree, scope, seen, SYMBOLS)


def test_of_a_conditional_the_branch_taken_stays() -> None:
    """A settled tree has no conditional, and says why each branch was taken."""
    taken = settled("(v if n > 1 else w) + (v if flag else w)", flag=False)
    assert in_symbols(taken.tree, SYMBOLS) == "v + w"
    assert taken.reasons == ("τ_T > 1", "not flag")
    assert taken.paths == ("v", "w")
    assert not taken.is_value


def test_a_condition_that_does_not_hold_is_told_by_its_contrary() -> None:
    """Where the other branch was taken, the reason is what holds in its place."""
    assert settled("v if n > 7 else w").reasons == ("τ_T ≤ 7",)


@pytest.mark.parametrize(
    ("condition", "reason"),
    [
        ("n > 1 or flag", "τ_T > 1"),
        ("n > 7 or m > 1", "m > 1"),
        ("n > 7 or m > 7", "τ_T ≤ 7 and m ≤ 7"),
        ("n > 1 and m > 1", "τ_T > 1 and m > 1"),
        ("n > 1 and m > 7", "m ≤ 7"),
        ("not (n > 1 and m > 1)", "τ_T > 1 and m > 1"),
        ("tag in ['DN 100', 'DN 150']", "tag = “DN 100”"),
        ("tag not in ['DN 80', 'DN 150']", "tag = “DN 100”"),
        ("not flag", "flag"),
    ],
)
def test_a_reason_is_no_longer_than_what_decides(condition: str, reason: str) -> None:
    """Of alternatives the one that holds is told, and a text by what it is."""
    assert settled(f"v if {condition} else w", flag=True).reasons == (reason,)


@pytest.mark.parametrize(
    ("flag", "left"),
    [
        (True, "v / w + 1"),
        (False, "w / v + 1"),
        (None, "(v / w where flag, otherwise w / v) + 1"),
    ],
)
def test_a_choice_is_decided_where_that_is_known(flag: bool | None, left: str) -> None:
    """A decided tree has the branch that holds; of an open choice both stay."""
    scope, values = make_scope(), Values({**VALUES, "flag": flag}, {})
    tree = make_formula("(v / w if flag else w / v) + 1", scope).tree
    assert in_symbols(decided(tree, scope, values), {}) == left


@pytest.mark.parametrize(
    ("formula", "values", "part", "reason"),
    [
        ("2 * (v / w)", {"w": 0.0}, "v / w", "divides by zero"),
        ("log10(n - 4) + 1", {}, "lg(τ_T − 4)", "is a logarithm of no positive number"),
        ("sqrt(n - 5)", {}, "√(τ_T − 5)", "is a root of a negative number"),
        ("(n - 5)**0.5", {}, "√(τ_T − 5)", "has no value for that power"),
        ("1 / (n if n > 7 else m - 5)", {}, "1 / (n where", "divides by zero"),
        ("significand(n - 4)", {}, "significand(τ_T − 4)", "has no first figure"),
        ("m * n * n", {"n": 1e300}, "m · τ_T · τ_T", "is beyond what can be computed"),
        ("m * n", {"n": math.nan}, "τ_T", "can't be computed itself"),
        ("n if m > 7 else n / (m - 5)", {}, "τ_T / (m − 5)", "divides by zero"),
    ],
)
def test_what_gives_no_number_is_found(
    formula: str, values: dict[str, float], part: str, reason: str
) -> None:
    """The innermost part that fails is named, of a choice the branch taken, and why."""
    seen = Values({**VALUES, **values}, {})
    scope = make_scope()
    node, why = without_number(make_formula(formula, scope).tree, scope, seen)
    assert in_symbols(node, SYMBOLS).replace("τ_T where", "n where").startswith(part)
    assert why.startswith(reason)


def test_a_looked_up_value_stands_under_its_row() -> None:
    """A look-up becomes a value of its own, with the row and the column it is from."""
    found = settled("sizes[tag].bore")
    assert found.is_value
    assert found.paths == ("sizes[DN 100].bore",)
    words = "bore of tag"
    assert found.cells == (Cell(found.paths[0], words, "sizes", "DN 100", "bore"),)


def test_what_is_read_off_the_file_is_a_number() -> None:
    """The figure of a value and the number of places stand as the numbers they are."""
    assert in_symbols(settled("figure(v) + count(places)").tree, {}) == "2 + 2"


def test_a_constant_is_no_value() -> None:
    """The number pi alone is computed, and no value of the meter."""
    assert not settled("pi").is_value
    assert settled("2 * pi").paths == ()
