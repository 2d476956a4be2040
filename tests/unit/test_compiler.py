"""Laws of checked formulas: kinds fit, names exist, and what they compute."""

from __future__ import annotations

import math
from fractions import Fraction
from types import FunctionType
from typing import Any

import pytest

from configlint.compiler import (
    Scope,
    Values,
    compile_tree,
    evaluate,
    exponent_of,
    make_formula,
    offer_names,
)
from configlint.formula import Apply, FormulaError
from configlint.kinds import Kind, Sort
from configlint.parser import parse_formula
from configlint.units import NONE, parse_quantity
from tests.builders import FLOW, LENGTH, TIME, VELOCITY, make_scope

LIMITS = {"lowest": VELOCITY, "share": NONE}

VALUES: dict[str, Any] = {
    "v": 3.0,
    "w": math.nan,
    "d": 0.1,
    "pipe.bore": 0.2,
    "n": 5.0,
    "m": 2.0,
    "day": 86_400.0 * 10,
    "other_day": 86_400.0,
    "tag": "FT-1",
    "duty": "water",
    "flag": True,
    "other_flag": None,
    "output": True,
    "places": ("a", "b"),
    "systems": ("SI", "US"),
}
WRITTEN = {"d": parse_quantity("100 mm"), "pipe.bore": parse_quantity("20 cm")}
SEEN = Values(VALUES, WRITTEN, {"lowest": 1.0, "share": 0.5})


def both(text: str) -> Any:
    """Compute a formula compiled and walked, and give the value they agree on."""
    scope = make_scope(LIMITS)
    formula = make_formula(text, scope)
    compiled = formula.function(SEEN.values, SEEN.written, SEEN.limits)
    walked = evaluate(formula.tree, scope, SEEN)
    assert compiled is walked or compiled == walked or math.isnan(compiled + walked)
    return compiled


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("1 + 2", NONE, 3.0),
        ("2[%]", NONE, 0.02),
        ("3 * v", VELOCITY, 9.0),
        ("v * 2[s] - d", LENGTH, 5.9),
        ("pi/4 * d**2 * v", FLOW, math.pi / 4 * 0.1**2 * 3.0),
        ("sqrt(d**2)", LENGTH, 0.1),
        ("d**0.5 * d**0.5", LENGTH, 0.1),
        ("d / v", TIME, 0.1 / 3.0),
        ("day - other_day", TIME, 86_400.0 * 9),
        ("lowest <= v <= 10[m/s]", Sort.TRUTH, True),
        ("v > share * 10[m/s]", Sort.TRUTH, False),
        ("w < v", Sort.TRUTH, None),
        ("w < v and v < lowest", Sort.TRUTH, False),
        ("w < v or v > lowest", Sort.TRUTH, True),
        ("not (w < v)", Sort.TRUTH, None),
        ("tag == 'FT-1'", Sort.TRUTH, True),
        ("'SI' in systems", Sort.TRUTH, True),
        ("duty in ['slurry']", Sort.TRUTH, False),
        ("duty not in ['slurry', 'water']", Sort.TRUTH, False),
        ("matches(duty, 'w.*')", Sort.TRUTH, True),
        ("flag", Sort.TRUTH, True),
        ("flag and other_flag", Sort.TRUTH, None),
        ("used(output)", Sort.TRUTH, True),
        ("given(w)", Sort.TRUTH, False),
        ("count(places)", NONE, 2.0),
        ("agrees(d, pipe.bore)", Sort.TRUTH, False),
        ("agrees(d, d)", Sort.TRUTH, True),
        ("agrees(d, tag) if flag else flag", None, None),
        ("agrees(v, w)", Sort.TRUTH, None),
        ("d if flag else pipe.bore", LENGTH, 0.1),
        ("d if v < lowest else pipe.bore", LENGTH, 0.2),
        ("sizes['DN 100'].bore", LENGTH, 0.1),
        ("sizes['DN 100'].word", Sort.TEXT, "small"),
        ("sizes['DN 300'].word", Sort.TEXT, None),
        ("sizes[tag].bore", LENGTH, math.nan),
        ("n / 0", NONE, math.nan),
        ("-d", LENGTH, -0.1),
        ("ten_to(n)", NONE, 1e5),
        ("max(n, m, 3)", NONE, 5.0),
        ("floor(n / m) + round(n / m)", NONE, 4.0),
    ],
)
def test_a_formula_has_a_kind_and_a_value(
    text: str, kind: Kind | None, value: Any
) -> None:
    """A formula that fits has the kind and value that its arithmetic says."""
    if kind is None:
        with pytest.raises(FormulaError, match="a length and a text do not go"):
            make_formula(text, make_scope(LIMITS))
        return
    assert make_formula(text, make_scope(LIMITS)).kind == kind
    found = both(text)
    if isinstance(value, float):
        assert found == pytest.approx(value, rel=1e-12, nan_ok=True)
    else:
        assert found is value or found == value


@pytest.mark.parametrize(
    ("text", "problem", "marked", "advice"),
    [
        ("velocity < v", "there is no value 'velocity'", "velocity", "rules names"),
        ("pipe.bor < d", "there is no value 'pipe.bor'", "pipe.bor", "pipe.bore"),
        ("lowst < v", "there is no value 'lowst'", "lowst", "lowest"),
        ("v < d", "a velocity and a length do not go together", "v < d", "one kind"),
        ("n + (v < w < d)", "a velocity and a length do not", "w < d", "one kind"),
        (
            "1 < v",
            "a plain number and a velocity do not go together",
            "1 < v",
            "one kind",
        ),
        ("v < 3[mm]", "a velocity and a length do not", "v < 3[mm]", "one kind"),
        ("log10(v)", "this takes a plain number, not a velocity", "*", "Divide"),
        ("tag**2", "this takes amounts, not a text", "*", "a number and a unit"),
        ("flag and v", "this takes true or false, not a velocity", "*", "functions"),
        ("output == output", "a section can't be compared", "*", "used(…)"),
        ("sizs['a'].bore", "there is no table 'sizs'", "*", "sizes"),
        ("sizes['a'].bor", "the table 'sizes' has no column 'bor'", "*", "bore"),
        ("sizes['a'] == tag", "a look-up names a column", "sizes['a']", "bore, word"),
        ("sizes[v].bore", "this table's key is a text", "v", "of that kind"),
        (
            "duty == 'sludge'",
            "this input is never 'sludge'",
            "'sludge'",
            "water, slurry",
        ),
        ("'oil' != duty", "this input is never 'oil'", "'oil'", "water, slurry"),
        ("duty in ['water', 'oil']", "this input is never 'oil'", "*list*", "slurry"),
    ],
)
def test_a_formula_that_does_not_fit_is_refused(
    text: str, problem: str, marked: str, advice: str
) -> None:
    """A wrong name, kind or choice is refused with a mark and what to do."""
    with pytest.raises(FormulaError) as caught:
        make_formula(text, make_scope(LIMITS))
    error = caught.value
    expected = {"*": text, "*list*": "['water', 'oil']"}.get(marked, marked)
    assert error.problem.startswith(problem)
    assert text[slice(*error.span)] == expected
    assert advice in error.advice


def test_an_open_text_is_compared_with_anything() -> None:
    """Only a text whose model closes the list of choices is held to them."""
    assert both("tag == 'anything'") is False
    assert both("duty == tag") is False


def test_a_limit_goes_before_a_value_of_its_name() -> None:
    """A rule's own limit is what its formula means, compiled and walked alike."""
    scope = make_scope().with_limits({"v": VELOCITY})
    tree = parse_formula("v")
    seen = Values(VALUES, {}, {"v": 7.0})
    assert compile_tree(tree, scope)(seen.values, {}, seen.limits) == 7.0
    assert evaluate(tree, scope, seen) == 7.0
    other = make_scope().with_limits({"v": LENGTH})
    assert make_formula("v", other).kind == LENGTH


def test_a_power_is_a_fraction() -> None:
    """The exponent of a power is exact, so that kinds stay exact."""
    for text, exponent in (("d**-0.5", (-1, 2)), ("d**0.3333333333", (1, 3))):
        tree = parse_formula(text)
        assert isinstance(tree, Apply)
        assert exponent_of(tree) == Fraction(*exponent)


def test_a_compiled_formula_sees_no_builtins() -> None:
    """The function of a formula can reach the table of operators and nothing else."""
    function = make_formula("min(n, m)", make_scope()).function
    assert isinstance(function, FunctionType)
    reached = function.__globals__
    assert reached["__builtins__"] == {}
    assert all(name.startswith(("operator_", "table_", "__")) for name in reached)


def test_every_name_is_offered_when_none_is_near() -> None:
    """A wrong name gets the nearest ones, or the way to see them all."""
    assert offer_names("sensr", ["sensor", "tag"]) == "The nearest known are sensor."
    assert "configlint rules names" in offer_names("x", Scope({}).names)
