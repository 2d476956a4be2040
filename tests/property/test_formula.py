"""Laws of the rule language on random trees, random values and random text."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from configlint.compiler import CONSTANTS, Scope, Values, evaluate, make_formula
from configlint.formula import FormulaError
from configlint.kinds import Kind, Sort
from configlint.operators import is_missing
from configlint.parser import parse_formula
from configlint.units import NONE, parse_quantity
from tests.builders import joined, make_scope

SCOPE = make_scope()

TRUE_OR_NOT = st.sampled_from([True, False, None])
AMOUNTS = st.one_of(
    st.just(math.nan),
    st.floats(allow_nan=False),
    st.sampled_from([0.0, 1.0, -1.0, 1.0 + 1e-12]),
)
TEXTS = st.sampled_from([None, "DN 100", "DN 200", "water", "slurry", ""])


def value_of(kind: Kind) -> st.SearchStrategy[Any]:
    """Draw a value of a kind, often a missing one."""
    if kind in (Sort.TRUTH, Sort.SECTION):
        return TRUE_OR_NOT
    if kind is Sort.TEXT:
        return TEXTS
    if kind in (Sort.PATHS, Sort.TEXTS):
        return st.lists(st.sampled_from(["a", "water"]), max_size=3).map(tuple)
    return AMOUNTS


VALUES = st.fixed_dictionaries(
    {path: value_of(kind) for path, kind in SCOPE.names.items()}
)
WRITTEN = st.dictionaries(
    st.sampled_from(["v", "w", "d", "pipe.bore"]),
    st.sampled_from(["1 m", "100 cm", "1.00 m", "2 m/s"]).map(parse_quantity),
)


def amounts(leaves: tuple[str, ...], depth: int) -> st.SearchStrategy[str]:
    """Draw a formula that gives an amount of the kind of its leaves."""
    leaf = st.sampled_from(leaves)
    if not depth:
        return leaf
    inner, number = amounts(leaves, depth - 1), numbers(depth - 1)
    return st.one_of(
        leaf,
        joined(inner, inner, form="({} + {})"),
        joined(inner, inner, form="({} - {})"),
        joined(inner, number, form="({} * {})"),
        joined(inner, number, form="({} / {})"),
        joined(inner, form="(-{})"),
        joined(inner, form="abs({})"),
        joined(inner, inner, form="min({}, {})"),
        joined(inner, inner, form="max({}, {})"),
        joined(inner, form="sqrt({}**2)"),
        joined(inner, truths(depth - 1), inner, form="({} if {} else {})"),
    )


@cache
def numbers(depth: int) -> st.SearchStrategy[str]:
    """Draw a formula that gives a plain number."""
    leaf = st.sampled_from(["n", "m", "2", "0", "3[%]", "pi", "count(places)"])
    if not depth:
        return leaf
    inner = numbers(depth - 1)
    return st.one_of(
        leaf,
        joined(inner, inner, form="({} + {})"),
        joined(inner, inner, form="({} / {})"),
        joined(inner, form="({})**-0.5"),
        joined(inner, form="floor({})"),
        joined(inner, form="round({})"),
        joined(inner, form="log10({})"),
        joined(inner, form="ten_to({})"),
        joined(inner, form="({})**6"),
    )


@cache
def truths(depth: int) -> st.SearchStrategy[str]:
    """Draw a formula that gives a truth."""
    leaf = st.sampled_from(
        [
            *("flag", "other_flag", "used(output)", "given(v)", "given(tag)"),
            *("tag == duty", "tag != 'a'", "duty in ['water']", "tag in systems"),
            *("duty not in ['slurry', 'water']", "matches(tag, 'DN [0-9]+')"),
            *("agrees(v, w)", "agrees(d, pipe.bore)", "day < other_day"),
            "sizes[tag].word == duty",
        ]
    )
    if not depth:
        return leaf
    inner = truths(depth - 1)
    velocity = amounts(("v", "w", "2[m/s]", "0[m/s]"), depth - 1)
    length = amounts(("d", "pipe.bore", "80[mm]", "sizes[tag].bore"), depth - 1)
    symbol = st.sampled_from(["<", "<=", ">", ">=", "==", "!="])
    return st.one_of(
        leaf,
        joined(velocity, symbol, velocity, form="({} {} {})"),
        joined(length, symbol, length, symbol, length, form="({} {} {} {} {})"),
        joined(inner, inner, form="({} and {})"),
        joined(inner, inner, inner, form="({} or {} or {})"),
        joined(inner, form="(not {})"),
        joined(inner, inner, inner, form="({} if {} else {})"),
    )


FORMULAS = st.one_of(
    truths(3), numbers(3), amounts(("v", "2[m/s]"), 3), amounts(("d", "1[mm]"), 3)
).filter(lambda text: len(text) <= 800)


def agree(left: Any, right: Any) -> bool:
    """Say whether two results are the same, missing amounts included."""
    return left is right or left == right or (left != left and right != right)


@given(FORMULAS, VALUES, WRITTEN)
def test_compiled_and_walked_formulas_agree(
    text: str, values: dict[str, Any], written: dict[str, Any]
) -> None:
    """A compiled formula gives what walking its tree gives, and neither raises."""
    formula = make_formula(text, SCOPE)
    compiled = formula.function(values, written, {})
    assert agree(compiled, evaluate(formula.tree, SCOPE, Values(values, written)))
    if formula.kind is Sort.TRUTH:
        assert compiled is None or isinstance(compiled, bool)
    else:
        assert isinstance(compiled, float)


@given(truths(3), VALUES, VALUES)
def test_filling_in_a_missing_value_flips_no_decided_truth(
    text: str, values: dict[str, Any], others: dict[str, Any]
) -> None:
    """What is decided without a value stays so whatever the value turns out to be."""
    if "given(" in text:
        # Whether a value is given is a question about the file, not about the value.
        text = text.replace("given(v)", "flag").replace("given(tag)", "other_flag")
    formula = make_formula(text, SCOPE)
    filled = {
        path: others[path] if is_missing(value) else value
        for path, value in values.items()
    }
    before = formula.function(values, {}, {})
    after = formula.function(filled, {}, {})
    assert before is None or before is after


@given(truths(2), truths(2), VALUES)
def test_de_morgan_holds_for_what_is_undecided_too(
    left: str, right: str, values: dict[str, Any]
) -> None:
    """Not (a and b) is (not a or not b), and the other way round, in three values."""
    for inner, outer in (("and", "or"), ("or", "and")):
        one = make_formula(f"not ({left} {inner} {right})", SCOPE)
        two = make_formula(f"(not {left}) {outer} (not {right})", SCOPE)
        assert one.function(values, {}, {}) is two.function(values, {}, {})


@given(truths(2), truths(2), truths(2), VALUES)
def test_and_and_or_are_commutative_associative_and_absorbing(
    a: str, b: str, c: str, values: dict[str, Any]
) -> None:
    """The order and grouping of parts changes no truth, and `a or (a and b)` is a."""

    def truth(text: str) -> Any:
        return make_formula(text, SCOPE).function(values, {}, {})

    for word, other in (("and", "or"), ("or", "and")):
        assert truth(f"{a} {word} {b}") is truth(f"{b} {word} {a}")
        grouped = truth(f"({a} {word} {b}) {word} {c}")
        assert grouped is truth(f"{a} {word} ({b} {word} {c})")
        assert grouped is truth(f"{a} {word} {b} {word} {c}")
        assert truth(f"{a} {other} ({a} {word} {b})") is truth(f"({a})")


LANGUAGE = st.lists(
    st.sampled_from(
        [
            *"()[]{}'\"\\#.,:;=<>!+-*/%&|^~@ \n\t\0",
            *("and", "or", "not", "in", "is", "if", "else", "lambda", "for", "await"),
            *("v", "n", "0", "1e5", "3[m/s]", "1_0", "0x1", "sizes[tag].bore", "**"),
            *("min(", "given(", "matches(", "f'", "b'", ":=", "yield", "µ", "٣", "…"),
        ]
    ),
    max_size=30,
).map(" ".join)


def error_of(text: str) -> FormulaError | None:
    """Give the error for which a formula is refused, None where it is taken."""
    try:
        make_formula(text, SCOPE)
    except FormulaError as error:
        return error
    return None


@given(st.one_of(st.text(), LANGUAGE, LANGUAGE.map(lambda t: t.replace(" ", ""))))
def test_random_text_is_taken_or_refused_and_nothing_else(text: str) -> None:
    """Any text at all is a formula or a `FormulaError` whose mark lies in the text."""
    error = error_of(text)
    if error is not None:
        assert 0 <= error.span.start <= len(error.text)
        assert error.span.end <= len(error.text) + 1
        assert error.problem
        assert error.advice


HOSTILE = [
    "__import__('os').system('true')",
    "().__class__.__bases__[0].__subclasses__()",
    "v.__class__.__mro__",
    "(lambda: v)()",
    "[v for v in w]",
    "{v for v in w}",
    "(v for v in w)",
    "f'{v}'",
    "f'{__import__}'",
    "eval('1')",
    "exec('1')",
    "open('/etc/passwd')",
    "getattr(v, 'x')",
    "operator_0(v, w)",
    "table_sizes('a', 'b')",
    "values",
    "written.get('v')",
    "(v := 1)",
    "9**9**9**9**9",
    "9**99999999",
    "ten_to(9)**ten_to(9)",
    "'a' * 999999999",
    "[1] * 999999999",
    "1 << 999999999",
    "v if",
    "*v",
    "(" * 10**6,
    "[" * 10**6,
    "-" * 10**6 + "v",
    "not " * 10**6 + "v",
    "v" * 10**6,
    "'" + "a" * 10**6 + "'",
    "v + " * 250_000 + "v",
    "9" * 10**6,
    "(" * 399 + "v" + ")" * 399,
    "-" * 790 + "v",
    "v" + ".v" * 390,
    "sizes[" * 130 + "v",
    "min(v, " * 100 + "v" + ")" * 100,
    "v if flag else " * 50 + "v",
    "1[" * 400,
    "'1[' " * 160,
    "matches(tag, '" + "(" * 700 + "')",
    "matches(tag, 'a{1,999999}{1,999999}')",
    "\0" * 800,
    "\ud800" * 800,
    "٣" * 800,
    "\n" * 10**6 + "v",
]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_a_hostile_formula_is_refused_within_bounds(text: str) -> None:
    """What reaches out of the language, or is too large, gets one short error."""
    with pytest.raises(FormulaError) as caught:
        make_formula(text, SCOPE)
    assert len(str(caught.value)) < 3000


# --- the dimension check against pint --------------------------------------

# Units of the rule language, in pint's own spelling.
IN_PINT = {
    **{unit: unit for unit in ("m", "s", "kg", "mm", "bar", "m/s")},
    "A": "ampere",
    "V": "volt",
    "m3/h": "m**3/hour",
    "%": "percent",
}


@cache
def registry() -> Any:
    """Give one registry of pint."""
    return pint.UnitRegistry()


@cache
def arithmetic(depth: int) -> st.SearchStrategy[str]:
    """Draw arithmetic on constants with units, many of which does not fit."""
    leaf = st.sampled_from([f"2[{unit}]" for unit in IN_PINT])
    if not depth:
        return leaf
    inner = arithmetic(depth - 1)
    power = st.sampled_from(["2", "-1", "0.5", "3"])
    return st.one_of(
        leaf,
        joined(inner, inner, form="({} * {})"),
        joined(inner, inner, form="({} / {})"),
        joined(inner, inner, form="({} + {})"),
        joined(inner, inner, form="({} - {})"),
        joined(inner, power, form="({})**{}"),
        joined(inner, form="sqrt({})"),
        joined(inner, form="abs({})"),
        # The same on both sides fits always, so that sums are not all refused.
        inner.map(lambda text: f"({text} + {text})"),
    )


def in_pint(text: str) -> Mapping[str, Any] | None:
    """Give pint's dimensionality of the same arithmetic, None where it refuses it."""
    names: dict[str, Any] = {
        "amount": lambda unit: registry().Quantity(2.0, IN_PINT[unit]),
        "sqrt": lambda amount: amount**0.5,
        "abs": abs,
    }
    # A difference has the dimension of a sum, and here no divisor that is zero.
    summed = text.replace(" - ", " + ")
    expression = re.sub(r"2\[(.*?)\]", r"amount('\1')", summed)
    try:
        amount = eval(expression, {"__builtins__": {}}, names)
    except pint.DimensionalityError:
        return None
    return dict(amount.dimensionality)


BASES = ("[length]", "[mass]", "[time]", "[current]", "[temperature]")


@given(arithmetic(3))
def test_the_dimension_check_agrees_with_pint(text: str) -> None:
    """Arithmetic that pint refuses is refused, any other has pint's dimension."""
    expected = in_pint(text)
    if expected is None:
        with pytest.raises(FormulaError):
            make_formula(text, SCOPE)
        return
    kind = make_formula(text, SCOPE).kind
    assert not isinstance(kind, Sort)
    exponents = [Fraction(expected.get(base, 0)) for base in BASES]
    assert [float(each) for each in kind.exponents] == pytest.approx(exponents)


def test_a_scope_without_names_has_the_constants() -> None:
    """Of a scope without names a formula can use the constants alone."""
    for name, value in CONSTANTS.items():
        formula = make_formula(name, Scope({}))
        assert formula.kind == NONE
        assert formula.function({}, {}, {}) == value
    assert evaluate(parse_formula("pi"), Scope({}), Values({}, {})) == math.pi
